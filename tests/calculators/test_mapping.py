"""Handing a case over: every convention, and the reference solved for what was handed over."""

from __future__ import annotations

import math
from fractions import Fraction

import pytest
from flint import fmpq
from hypothesis import given, settings
from hypothesis import strategies as st

from refsolver.arithmetic.detached import exact_double
from refsolver.arithmetic.exact import Turn
from refsolver.calculators.file import read_calculator_file
from refsolver.calculators.mapping import NotApplicable, hand_over, places_of
from refsolver.calculators.partly_stated import assumed
from refsolver.catalogue.reading import read_case
from refsolver.catalogue.schema import CaseFileError
from refsolver.quantities.leaves import ByAngle, Components

PLANE = "concurrent-forces/plane-resultant"
SPACE = "concurrent-forces/space-resultant"


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("mapping")


def case_of(folder, *forces, family=PLANE, more=""):
    rows = "".join(f"[[given.forces]]\n{row}\n" for row in forces)
    path = folder / "case.toml"
    path.write_text(
        f'title = "x"\nfamily = "{family}"\nstatement = "A made-up case."\n{more}\n'
        f'[source]\nkind = "constructed"\nby = "a test"\n{rows}'
    )
    return read_case(path, f"{family}/case", {})


OUTPUT = """
[[family.output]]
answer = "resultant"
take = "magnitude"
unit = "lbf"
place = "r"
says = "r"
criterion = { absolute = "1 lbf", reason = "a test" }
"""
SIZE = 'given = "forces[*].force"\ntake = "magnitude"\nunit = "lbf"\nplace = "f[*].size"'
TURN = 'given = "forces[*].force"\ntake = "angle"\nunit = "deg"\nplace = "f[*].turn"'


def section_of(folder, *inputs, family=PLANE, more=""):
    lines = "".join(f'[[family.input]]\n{line}\nsays = "label"\n' for line in inputs)
    path = folder / "calculator.toml"
    path.write_text(
        '[calculator]\nname = "made up"\nversion = "1"\nowner = "nobody"\n'
        f'[python]\nfunction = "m:f"\n[[family]]\nname = "{family}"\n{more}\n{lines}{OUTPUT}'
    )
    return read_calculator_file(path).sections[0]


def force(size, rest):
    return f'force = {{ magnitude = "{size}", {rest} }}'


def values(handed):
    return {slot.place: slot.value for slot in handed.slots}


def numbers(handed):
    return {slot.place: float(Fraction(slot.value)) for slot in handed.slots if slot.value}


@pytest.mark.parametrize(
    ("place", "rows", "found"),
    [
        ("S!B5:B7", 2, ["S!B5", "S!B6", "S!B7"]),
        ("S!B5:B7", 4, None),
        ("'My Sheet'!Z1:AB1", 3, ["'My Sheet'!Z1", "'My Sheet'!AA1", "'My Sheet'!AB1"]),
        ("B2:C3", 4, ["B2", "C2", "B3", "C3"]),
        ("S!B1, S!D1", 2, ["S!B1", "S!D1"]),
        ("S!B1, S!D1", 3, None),
        ("'My, Sheet'!B1, 'It''s, me'!D1", 2, ["'My, Sheet'!B1", "'It''s, me'!D1"]),
        ("'My, Sheet'!B1", 1, ["'My, Sheet'!B1"]),
        ("pulls[*].size", 2, ["pulls[1].size", "pulls[2].size"]),
        ("size", 1, ["size"]),
        ("size", 2, None),
    ],
)
def test_places_of_the_rows_of_a_table(place, rows, found):
    assert places_of(place, rows) == found


def test_a_decimal_goes_over_as_text_digit_by_digit(folder):
    case = case_of(folder, force("12.3 lbf", 'angle = "45.7 deg"'))
    handed = hand_over(case, section_of(folder, SIZE, TURN), takes_doubles=False)
    assert values(handed) == {"f[1].size": "12.3", "f[1].turn": "45.7"}
    assert not handed.inexact and handed.given == case.given


def test_a_double_is_what_the_reference_is_solved_for(folder):
    case = case_of(folder, force("12.3 lbf", 'angle = "45 deg"'))
    handed = hand_over(case, section_of(folder, SIZE, TURN), takes_doubles=True)
    size, turn = handed.slots
    assert size.double == 12.3 and turn.double == 45.0
    solved = handed.given.forces[0].force
    assert solved.magnitude == exact_double(12.3) != fmpq(123, 10)
    assert solved.direction == ByAngle(Turn(fmpq(1, 8)))
    inexact, exact = handed.leaves
    assert not inexact.exact and exact.exact and handed.inexact
    assert inexact.case_value == "12.3" and inexact.unit == "lbf" and inexact.says == "label"


def test_another_unit_is_converted_exactly_where_it_can_be(folder):
    case = case_of(folder, force("2.5 kip", 'angle = "0.25 turn"'))
    handed = hand_over(case, section_of(folder, SIZE, TURN), takes_doubles=False)
    assert values(handed) == {"f[1].size": "2500", "f[1].turn": "90"}
    metric = case_of(folder, force("100 N", 'angle = "30 deg"'))
    handed = hand_over(metric, section_of(folder, SIZE, TURN), takes_doubles=False)
    # one pound-force is 4.4482216152605 N exactly (NIST SP 811, appendix B.8)
    sent = Fraction(handed.slots[0].value)
    assert abs(sent - Fraction(100) / Fraction("4.4482216152605")) < Fraction(1, 10**15)
    solved = handed.given.forces[0].force.magnitude
    assert Fraction(int(solved.p), int(solved.q)) == sent * Fraction("4.4482216152605")


def test_decimals_are_rounded_half_away_and_solved_for(folder):
    case = case_of(folder, force("12.25 lbf", 'angle = "-0.25 deg"'))
    rounded = section_of(folder, SIZE + "\ndecimals = 1", TURN + "\ndecimals = 1")
    handed = hand_over(case, rounded, takes_doubles=False)
    assert values(handed) == {"f[1].size": "12.3", "f[1].turn": "-0.3"}
    assert handed.given.forces[0].force.magnitude == fmpq(123, 10)
    assert handed.given.forces[0].force.direction.angle == Turn(fmpq(-3, 3600))
    assert [leaf.exact for leaf in handed.leaves] == [False, False]


def test_what_a_template_printed_overrides(folder):
    case = case_of(folder, force("12.34 lbf", 'angle = "30 deg"'))
    section = section_of(folder, SIZE, TURN)
    handed = hand_over(case, section, takes_doubles=False, as_sent={"f[1].size": "1.2E+01"})
    assert handed.given.forces[0].force.magnitude == 12
    assert handed.leaves[0].handed_value == "12" and not handed.leaves[0].exact


@pytest.mark.parametrize(
    ("rest", "turn"),
    [
        ('angle = "30 deg"', 30),
        ('angle = "30 deg", from = "+y", toward = "-x"', 120),
        ('angle = "30 deg", from = "-x", toward = "+y"', 150),
        ('run = ["3", "4"]', math.degrees(math.atan2(4, 3))),
        ('run = ["-3", "-4"]', math.degrees(math.atan2(-4, -3))),
    ],
)
def test_directions_in_every_form_become_the_calculator_s_angle(folder, rest, turn):
    case = case_of(folder, force("10 lbf", rest))
    handed = hand_over(case, section_of(folder, SIZE, TURN), takes_doubles=True)
    assert numbers(handed)["f[1].turn"] == pytest.approx(turn, abs=1e-12)


def test_components_become_magnitude_and_angle(folder):
    case = case_of(folder, 'force = { components = ["-3 lbf", "4 lbf"] }')
    handed = hand_over(case, section_of(folder, SIZE, TURN), takes_doubles=True)
    found = numbers(handed)
    assert found["f[1].size"] == 5
    assert found["f[1].turn"] == pytest.approx(math.degrees(math.atan2(4, -3)), abs=1e-12)


def test_a_vector_goes_over_by_components(folder):
    across = 'given = "forces[*].force"\ntake = "component"\nunit = "lbf"\n'
    section = section_of(
        folder,
        across + 'along = "+x"\nplace = "f[*].x"',
        across + 'along = "-y"\nplace = "f[*].down"',
    )
    case = case_of(folder, force("10 lbf", 'angle = "30 deg"'))
    handed = hand_over(case, section, takes_doubles=True)
    found = numbers(handed)
    assert found["f[1].x"] == pytest.approx(math.sqrt(75)) and found["f[1].down"] == -5
    solved = handed.given.forces[0].force
    assert solved == Components((exact_double(found["f[1].x"]), fmpq(5)))


def test_azimuth_and_elevation_in_space(folder):
    section = section_of(
        folder,
        SIZE,
        'given = "forces[*].force"\ntake = "azimuth"\nfrom = "+y"\ntoward = "+x"\nunit = "deg"\n'
        'range = "0..360"\nplace = "f[*].bearing"',
        'given = "forces[*].force"\ntake = "elevation"\nalong = "+z"\nunit = "deg"\n'
        'place = "f[*].rise"',
        family=SPACE,
    )
    case = case_of(folder, 'force = { components = ["3 N", "-4 N", "12 N"] }', family=SPACE)
    handed = hand_over(case, section, takes_doubles=True)
    found = numbers(handed)
    assert found["f[1].bearing"] == pytest.approx(math.degrees(math.atan2(3, -4)), abs=1e-12)
    assert found["f[1].rise"] == pytest.approx(math.degrees(math.atan2(12, 5)), abs=1e-12)
    assert parts_of(handed.given.forces[0].force) == pytest.approx((3, -4, 12), rel=1e-14)


def test_two_axis_angles_leave_the_sense_of_the_third_for_granted(folder):
    angles = [
        f'given = "forces[*].force"\ntake = "axis angle"\nalong = "+{axis}"\nunit = "deg"\n'
        f'place = "f[*].{axis}"'
        for axis in "xy"
    ]
    section = section_of(folder, SIZE, *angles, family=SPACE)
    case = case_of(folder, 'force = { components = ["3 N", "4 N", "12 N"] }', family=SPACE)
    handed = hand_over(case, section, takes_doubles=True)
    assert parts_of(handed.given.forces[0].force) == pytest.approx((3, 4, 12), rel=1e-13)
    other = case_of(folder, 'force = { components = ["3 N", "4 N", "-12 N"] }', family=SPACE)
    with pytest.raises(NotApplicable, match="no input for the sense along z .* negative here"):
        hand_over(other, section, takes_doubles=True)


DOWN = (
    'given = "forces[*].force"\ntake = "component"\nalong = "-y"\nunit = "lbf"\nplace = "f[*].down"'
)


@pytest.mark.parametrize(
    "rest", ['angle = "-90 deg"', 'angle = "270 deg"', 'run = ["0", "-2"]', 'angle = "90 deg"']
)
def test_a_calculator_that_takes_verticals_for_granted(folder, rest):
    """A single component: the number goes over with its sign, the other component is zero."""
    handed = hand_over(
        case_of(folder, force("12 lbf", rest)), section_of(folder, DOWN), takes_doubles=True
    )
    up = rest == 'angle = "90 deg"'
    assert numbers(handed) == {"f[1].down": -12.0 if up else 12.0}
    assert parts_of(handed.given.forces[0].force) == (0, 12 if up else -12)


@pytest.mark.parametrize("rest", ['angle = "-89.999 deg"', 'run = ["1", "-2"]', 'angle = "0 deg"'])
def test_an_inclined_load_is_not_put_to_a_calculator_of_verticals(folder, rest):
    case, section = case_of(folder, force("12 lbf", rest)), section_of(folder, DOWN)
    with pytest.raises(NotApplicable, match="no input for the component along x of forces"):
        hand_over(case, section, takes_doubles=True)


def test_an_azimuth_without_an_elevation_is_of_level_forces(folder):
    bearing = (
        'given = "forces[*].force"\ntake = "azimuth"\nfrom = "+y"\ntoward = "+x"\n'
        'unit = "deg"\nplace = "f[*].bearing"'
    )
    section = section_of(folder, SIZE, bearing, family=SPACE)
    level = case_of(folder, 'force = { components = ["3 N", "4 N", "0 N"] }', family=SPACE)
    handed = hand_over(level, section, takes_doubles=True)
    assert parts_of(handed.given.forces[0].force) == pytest.approx((3, 4, 0), rel=1e-14)
    rising = case_of(folder, 'force = { components = ["3 N", "4 N", "1 N"] }', family=SPACE)
    with pytest.raises(NotApplicable, match="no input for the elevation"):
        hand_over(rising, section, takes_doubles=True)


@pytest.mark.parametrize(
    ("lines", "said"),
    [
        ((SIZE,), "a size alone leaves the direction open"),
        ((TURN,), "a direction alone leaves the size open"),
    ],
)
def test_half_a_vector_is_refused_when_the_file_is_read(folder, lines, said):
    with pytest.raises(CaseFileError, match=said):
        section_of(folder, *lines)


def test_what_is_taken_for_granted_stands_in_the_record(folder):
    section = section_of(folder, DOWN)
    assert list(assumed(section.inputs)) == [
        "Nothing states the component along x of forces[*].force: it is taken to be zero, and "
        "cases in which it is not are not applicable."
    ]
    assert list(assumed(section_of(folder, SIZE, TURN).inputs)) == []


def parts_of(leaf):
    """The components of a vector leaf in doubles, from the prover's own arithmetic."""
    from refsolver.arithmetic.enclosure import EnclosureArithmetic
    from refsolver.statics.vectors import vector

    return tuple(float(part.mid()) for part in vector(leaf, EnclosureArithmetic()))


AXES = ["+x", "-x", "+y", "-y"]


@settings(max_examples=60, deadline=None)
@given(
    x=st.integers(-999, 999),
    y=st.integers(-999, 999),
    start=st.sampled_from(AXES),
    turn=st.sampled_from([0, 1]),
    span=st.sampled_from(["-180..180", "0..360"]),
    negate=st.booleans(),
    unit=st.sampled_from(["deg", "rad", "turn"]),
    doubles=st.booleans(),
)
def test_what_is_solved_is_what_was_stated(folder, x, y, start, turn, span, negate, unit, doubles):
    """Whatever the convention: the force rebuilt from the numbers is the force of the case."""
    if x == y == 0:
        return
    toward = [axis for axis in AXES if axis[1] != start[1]][turn]
    line = TURN.replace('"deg"', f'"{unit}"')
    line += f'\nfrom = "{start}"\ntoward = "{toward}"\nrange = "{span}"'
    section = section_of(folder, SIZE, line + ("\nnegate = true" if negate else ""))
    case = case_of(folder, f'force = {{ components = ["{x} lbf", "{y} lbf"] }}')
    handed = hand_over(case, section, takes_doubles=doubles)
    rebuilt = parts_of(handed.given.forces[0].force)
    size = math.hypot(x, y)
    assert rebuilt == pytest.approx((x, y), abs=1e-14 * size)
    angle = numbers(handed).get("f[1].turn", 0.0) * (-1 if negate else 1)
    full = {"deg": 360, "rad": 2 * math.pi, "turn": 1}[unit]
    low, high = (-full / 2, full / 2) if span == "-180..180" else (0, full)
    assert low - 1e-9 <= angle <= high + 1e-9
    unit_x = {"+x": (1, 0), "-x": (-1, 0), "+y": (0, 1), "-y": (0, -1)}
    c, s = math.cos(angle * 2 * math.pi / full), math.sin(angle * 2 * math.pi / full)
    turned = tuple(
        size * (c * a + s * b) for a, b in zip(unit_x[start], unit_x[toward], strict=True)
    )
    assert turned == pytest.approx((x, y), abs=1e-12 * size)


def test_an_undirected_angle_cannot_state_a_pull_to_the_left(folder):
    section = section_of(folder, SIZE, TURN + '\nrange = "-90..90"')
    right = case_of(folder, force("10 lbf", 'angle = "-30 deg"'))
    assert numbers(hand_over(right, section, takes_doubles=True))["f[1].turn"] == -30
    left = case_of(folder, force("10 lbf", 'angle = "150 deg"'))
    with pytest.raises(NotApplicable, match=r"-90\.\.90 cannot state the direction"):
        hand_over(left, section, takes_doubles=True)


THREE = [force(f"{n} lbf", f'angle = "{n}0 deg"') for n in (1, 2, 3)]
ROWS = [
    SIZE.replace("f[*].size", "S!B1:B5"),
    TURN.replace("f[*].turn", "S!C1:C5"),
]


def test_rows_that_are_not_used_are_blank(folder):
    handed = hand_over(case_of(folder, *THREE), section_of(folder, *ROWS), takes_doubles=True)
    found = values(handed)
    assert [found[f"S!B{n}"] for n in range(1, 6)] == ["1", "2", "3", "", ""]
    assert {s.double for s in handed.slots if s.value == ""} == {None}
    assert len(found) == 10


def test_or_hold_what_the_calculator_wants_there(folder):
    section = section_of(folder, ROWS[0] + '\nblank = "0"', ROWS[1])
    handed = hand_over(case_of(folder, *THREE), section, takes_doubles=True)
    found = {slot.place: slot for slot in handed.slots}
    assert found["S!B4"].value == "0" and found["S!B4"].double == 0.0 and not found["S!B4"].given
    assert found["S!C4"].value == ""


def test_rows_may_be_placed_with_gaps_and_in_any_order(folder):
    case, section = case_of(folder, *THREE), section_of(folder, *ROWS)
    handed = hand_over(case, section, takes_doubles=True, placement={"forces": (4, 0, 2)})
    found = values(handed)
    assert [found[f"S!B{n}"] for n in range(1, 6)] == ["2", "", "3", "", "1"]
    assert handed.given == hand_over(case, section, takes_doubles=True).given


def test_what_a_placement_sent_belongs_to_its_row(folder):
    case, section = case_of(folder, *THREE), section_of(folder, SIZE, TURN)
    handed = hand_over(
        case, section, takes_doubles=False, placement={"forces": (2, 1, 0)},
        as_sent={"f[3].size": "1.5"},
    )  # fmt: skip
    sizes = [item.force.magnitude for item in handed.given.forces]
    assert sizes == [fmpq(3, 2), 2, 3]


def scope(text):
    return f'[[family.scope]]\n{text}\nreason = "so it is"\n'


@pytest.mark.parametrize(
    ("more", "said"),
    [
        (scope('count = "forces"\nat_most = 2'), "number of forces: at most 2"),
        (scope('count = "forces"\nat_least = 4'), "at least 4"),
        (scope('input = "forces[*].force magnitude"\nat_most = "2.5 lbf"'), "at most 2.5 lbf"),
        (scope('input = "forces[*].force magnitude"\nat_most = "0.0025 kip"'), "0.0025 kip"),
        (scope('input = "forces[*].force magnitude"\nresolution = "2 lbf"'), "resolution 2 lbf"),
        (scope('input = "forces[*].force angle"\nat_least = "15 deg"'), "at least 15 deg"),
        (scope('without = "odd"'), "without cases that have: odd"),
        (scope(f'exclude = ["{PLANE}/case"]'), "excluded by name"),
    ],
)
def test_every_condition_of_the_scope_is_named(folder, more, said):
    case = case_of(folder, *THREE, more='features = ["odd"]')
    with pytest.raises(NotApplicable) as outside:
        hand_over(case, section_of(folder, SIZE, TURN, more=more), takes_doubles=True)
    assert said in str(outside.value) and "so it is" in str(outside.value)


def test_a_case_inside_the_scope_is_asked(folder):
    more = scope('count = "forces"\nat_most = 3') + scope(
        'input = "forces[*].force angle"\nat_least = "10 deg"\nat_most = "30 deg"\n'
        'resolution = "5 deg"'
    )
    case = case_of(folder, *THREE)
    assert hand_over(case, section_of(folder, SIZE, TURN, more=more), takes_doubles=True)


@pytest.mark.parametrize(
    ("limit", "asked"),
    [
        ('at_most = "0.1 lbf"', True),  # the double nearest to 0.1 lies above it
        ('at_least = "0.1 lbf"', True),
        ('resolution = "0.1 lbf"', True),
        ('at_most = "0.099 lbf"', False),
        ('resolution = "0.03 lbf"', False),
    ],
)
def test_the_double_nearest_to_a_limit_stands_for_it(folder, limit, asked):
    section = section_of(
        folder, SIZE, TURN, more=scope(f'input = "forces[*].force magnitude"\n{limit}')
    )
    case = case_of(folder, force("0.1 lbf", 'angle = "10 deg"'))
    for doubles in (True, False):
        if asked:
            assert hand_over(case, section, takes_doubles=doubles)
        else:
            with pytest.raises(NotApplicable, match="so it is"):
                hand_over(case, section, takes_doubles=doubles)


def test_more_rows_than_there_is_room_for(folder):
    section = section_of(folder, *[line.replace("5", "2") for line in ROWS])
    with pytest.raises(NotApplicable, match="3 forces asked, the calculator has 2 rows"):
        hand_over(case_of(folder, *THREE), section, takes_doubles=True)


def test_a_number_beyond_doubles_is_not_applicable(folder):
    case = case_of(folder, force("1e400 lbf", 'angle = "10 deg"'))
    section = section_of(folder, SIZE, TURN)
    with pytest.raises(NotApplicable, match="beyond the range of a double"):
        hand_over(case, section, takes_doubles=True)
    sent = hand_over(case, section, takes_doubles=False).slots[0].value
    assert Fraction(sent) == 10**400


def test_a_force_of_zero_has_some_direction(folder):
    case = case_of(folder, 'force = { components = ["0 lbf", "0 lbf"] }')
    handed = hand_over(case, section_of(folder, SIZE, TURN), takes_doubles=True)
    assert numbers(handed) == {"f[1].size": 0.0, "f[1].turn": 0.0}
    assert parts_of(handed.given.forces[0].force) == (0, 0)


AXIS_FAMILY = "components/plane-rectangular"


def components_case(folder, more=""):
    path = folder / "axis.toml"
    path.write_text(
        f'title = "x"\nfamily = "{AXIS_FAMILY}"\nstatement = "A made-up case."\n'
        '[source]\nkind = "constructed"\nby = "a test"\n'
        f'[given]\nforce = {{ magnitude = "10 lbf", angle = "50 deg" }}\n{more}'
    )
    return read_case(path, f"{AXIS_FAMILY}/axis", {})


def components_section(folder, more=""):
    path = folder / "axis-calculator.toml"
    lines = "".join(
        f'[[family.input]]\ngiven = "force"\ntake = "{take}"\nunit = "{unit}"\n'
        f'place = "{take}"\nsays = "label"\n'
        for take, unit in (("magnitude", "lbf"), ("angle", "deg"))
    )
    answer = OUTPUT.replace('"resultant"\ntake = "magnitude"', f'"{first_answer()}"')
    path.write_text(
        '[calculator]\nname = "made up"\nversion = "1"\nowner = "nobody"\n'
        f'[python]\nfunction = "m:f"\n[[family]]\nname = "{AXIS_FAMILY}"\n{more}\n{lines}{answer}'
    )
    return read_calculator_file(path).sections[0]


def first_answer():
    from refsolver.statics.registry import family

    return next(iter(family(AXIS_FAMILY).answers))


def test_a_given_left_at_its_default_needs_no_input(folder):
    """The axis is +x where a case does not state one; this calculator knows no other."""
    section = components_section(folder)
    assert hand_over(components_case(folder), section, takes_doubles=True)
    turned = components_case(folder, 'axis = { angle = "20 deg" }')
    with pytest.raises(NotApplicable, match="no input for axis"):
        hand_over(turned, section, takes_doubles=True)


KNOT = "particle-equilibrium/two-counterweights"


def knot(folder, fixed, more=""):
    """A case of a knot, put to a calculator that asks for the weights alone."""
    case = folder / "knot.toml"
    case.write_text(
        f'title = "x"\nfamily = "{KNOT}"\nstatement = "A made-up case."\n'
        '[source]\nkind = "constructed"\nby = "a test"\n[given]\n'
        f'left = "40 N"\nright = "30 N"\nload = "50 N"\nspan = "1.50 m"\n{more}'
    )
    lines = "".join(
        f'[[family.input]]\ngiven = "{name}"\nunit = "N"\nplace = "{name}"\nsays = "label"\n'
        for name in ("left", "right", "load")
    )
    calculator = folder / "knot-calculator.toml"
    calculator.write_text(
        '[calculator]\nname = "made up"\nversion = "1"\nowner = "nobody"\n'
        f'[python]\nfunction = "m:f"\n[[family]]\nname = "{KNOT}"\nfixed = {{ {fixed} }}\n{lines}'
        '[[family.output]]\nanswer = "between"\nunit = "deg"\nplace = "a"\nsays = "a"\n'
        'criterion = { absolute = "1 deg", reason = "a test" }\n'
    )
    section = read_calculator_file(calculator).sections[0]
    return hand_over(read_case(case, f"{KNOT}/x", {}), section, takes_doubles=True)


@pytest.mark.parametrize("granted", ["1.50 m", "1500 mm", "1.5 m"])
def test_a_given_taken_for_granted_must_be_the_case_s(folder, granted):
    assert len(knot(folder, f'span = "{granted}"').slots) == 3


@pytest.mark.parametrize(
    ("fixed", "more", "said"),
    [
        ('span = "1.51 m"', "", "takes span = 1.51 m for granted, not 1.50 m"),
        ('span = ["1.4 m", "1.6 m"]', "", "takes span = 1.4 m or 1.6 m for granted, not 1.50 m"),
        ("", "", "no input for span"),
        ('span = "1.5 m"', 'rise = "0.2 m"', "no input for rise"),
        ('span = "1.5 m", rise = "0.2 m"', "", "takes rise = 0.2 m for granted"),
    ],
)
def test_otherwise_the_case_is_not_applicable(folder, fixed, more, said):
    with pytest.raises(NotApplicable, match=said):
        knot(folder, fixed, more)
