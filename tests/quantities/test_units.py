from __future__ import annotations

import pickle

import pytest
from flint import fmpq
from hypothesis import given
from hypothesis import strategies as st

from refsolver.arithmetic.exact import Constant, Exact, Radian, Turn, product, square_root
from refsolver.quantities import dimensions as d
from refsolver.quantities.dimensions import Dimension
from refsolver.quantities.folding import PI, over
from refsolver.quantities.unit_table import AMBIGUOUS, UNITS, Unit
from refsolver.quantities.units import (
    NO_UNIT,
    UNITLESS,
    UnitError,
    UnitSystem,
    compose,
    read_angle,
    read_unit,
    require_dimension,
)

LBF = fmpq(45359237 * 980665, 10**13)
FOOT = fmpq(3048, 10**4)


@pytest.mark.parametrize(
    ("text", "name", "dimension", "factor"),
    [
        ("N", "N", d.FORCE, 1),
        ("lbf", "lbf", d.FORCE, LBF),
        ("kip", "kip", d.FORCE, 1000 * LBF),
        ("lbf/ft", "lbf/ft", d.LINE_LOAD, LBF / FOOT),
        ("kip ft", "kip·ft", d.MOMENT, 1000 * LBF * FOOT),
        ("kip*ft", "kip·ft", d.MOMENT, 1000 * LBF * FOOT),
        ("kip·ft", "kip·ft", d.MOMENT, 1000 * LBF * FOOT),
        ("kip-ft", "kip·ft", d.MOMENT, 1000 * LBF * FOOT),
        ("ft lbf", "ft·lbf", d.MOMENT, LBF * FOOT),
        ("lbf in", "lbf·in", d.MOMENT, LBF * FOOT / 12),
        ("N m", "N·m", d.MOMENT, 1),
        ("N.m", "N·m", d.MOMENT, 1),
        ("N × m", "N·m", d.MOMENT, 1),
        ("in^4", "in^4", d.SECOND_MOMENT, (FOOT / 12) ** 4),
        ("in4", "in^4", d.SECOND_MOMENT, (FOOT / 12) ** 4),
        ("in⁴", "in^4", d.SECOND_MOMENT, (FOOT / 12) ** 4),
        ("mm^2", "mm^2", d.AREA, fmpq(1, 10**6)),
        ("m^(3)", "m^3", d.VOLUME, 1),
        ("kN/m^2", "kN/m^2", d.PRESSURE, 1000),
        ("kg/m^3", "kg/m^3", d.DENSITY, 1),
        ("lbf/ft^3", "lbf/ft^3", d.SPECIFIC_WEIGHT, LBF / FOOT**3),
        ("m/s^2", "m/s^2", d.ACCELERATION, 1),
        ("m s^-2", "m/s^2", d.ACCELERATION, 1),
        ("m⁻¹", "m^-1", d.LENGTH**-1, 1),
        ("kN/(m s)", "kN/(m·s)", d.FORCE / d.LENGTH / d.TIME, 1000),
        ("psi", "psi", d.PRESSURE, LBF / (FOOT / 12) ** 2),
        ("plf", "plf", d.LINE_LOAD, LBF / FOOT),
        ("J", "J", d.ENERGY, 1),
        ("%", "%", d.NUMBER, fmpq(1, 100)),
        ("  kN ", "kN", d.FORCE, 1000),
        ("", "", d.NUMBER, 1),
    ],
)
def test_unit_expressions(text: str, name: str, dimension: Dimension, factor: fmpq):
    unit = read_unit(text)
    assert (unit.name, unit.dimension, unit.factor, unit.pi_power) == (name, dimension, factor, 0)


def test_abbreviations_of_quotients_have_the_factor_of_what_they_stand_for():
    for unit in UNITS.values():
        if not unit.parts or unit.name in {"L", "mL", "hPa"}:
            continue
        spelled = compose(unit.parts)
        assert spelled.dimension == unit.dimension
        if unit.name in {"psi", "psf", "ksi", "ksf", "plf", "klf", "kPa", "MPa", "GPa", "rpm"}:
            assert (spelled.factor, spelled.pi_power) == (unit.factor, unit.pi_power)


def test_every_unit_has_a_positive_factor_and_names_its_source():
    assert all(unit.factor > 0 and unit.source for unit in UNITS.values())


@pytest.mark.parametrize(
    ("text", "force"),
    [("lb", "lbf"), ("kg", "kgf"), ("t", "tf"), ("oz", "ozf"), ("g", "gf"), ("ton-US", "tonf-US")],
)
def test_mass_words_are_masses_unless_said_to_be_forces(text: str, force: str):
    assert read_unit(text).dimension == d.MASS
    weight = read_unit(text, mass_words_are_force=True)
    assert weight == UNITS[force]
    assert weight.factor == read_unit(text).factor * UNITS["g_n"].factor


def test_mass_words_within_compound_units_become_forces_too():
    assert read_unit("lb/ft", mass_words_are_force=True) == read_unit("lbf/ft")
    assert read_unit("kg m", mass_words_are_force=True).dimension == d.MOMENT


def test_slugs_stay_a_mass():
    assert read_unit("slug", mass_words_are_force=True).dimension == d.MASS
    assert UNITS["slug"].factor == UNITS["lbf"].factor / UNITS["ft"].factor


@pytest.mark.parametrize(
    ("text", "position", "why", "mend"),
    [
        ("ton", 0, "'ton' has several meanings", "tonf-US (2000 lbf), tonf-UK (2240 lbf) or tf"),
        ("ton ft", 0, "'ton' has several meanings", "tonf-US"),
        ("gal", 0, "'gal' has several meanings", "gal-US"),
        ("'", 0, '"\'" has several meanings', "ft for feet"),
        ("k/ft", 0, "'k' has several meanings", "kip"),
        ("KN", 0, "'KN' is no unit known here", "did you mean kN?"),
        ("kN each", 3, "'each' is no unit known here", "use units such as"),
        ("tonn", 0, "'tonn' is no unit known here", "did you mean tonne"),
        ("m/s/s", 3, "a second / leaves open what is divided", "m/s^2"),
        ("N/m s", 3, "a product after / leaves open", "put the whole divisor in parentheses"),
        ("lbf /", 5, "a unit is expected here", "kN/m"),
        ("1/m", 0, "a unit is expected here", "kN/m"),
        ("m**2", 2, "a unit is expected here", "kN/m"),
        ("m^0", 1, "the power 0 makes no sense", "powers from 1 to 12"),
        ("m^13", 1, "the power 13 makes no sense", "powers from 1 to 12"),
        ("N/(m s", 6, "the parenthesis is not closed", "add )"),
        ("kN)", 2, "')' has no place here", "kN/m^2"),
        ("m/(s)^2", 5, "'^' has no place here", "kN/m^2"),
    ],
)
def test_refusals_say_where_why_and_how_to_mend(text: str, position: int, why: str, mend: str):
    with pytest.raises(UnitError) as caught:
        read_unit(text)
    error = caught.value
    assert error.position == position
    assert why in error.why
    assert mend in error.mend
    assert f"\n  {text}\n  {' ' * position}^\n" in str(error)


def test_every_ambiguous_word_is_refused_and_is_no_unit():
    for word in AMBIGUOUS:
        assert word not in UNITS
        with pytest.raises(UnitError, match="several meanings"):
            read_unit(word)


def test_a_mass_where_a_force_is_wanted_is_refused_with_both_ways_out():
    with pytest.raises(UnitError) as caught:
        read_unit("lb ft", wanted=d.MOMENT)
    assert "mass times length, wanted is moment" in caught.value.why
    assert "write lbf·ft, or say that mass words are forces" in caught.value.mend


def test_another_dimension_is_refused_with_examples():
    with pytest.raises(UnitError) as caught:
        require_dimension(read_unit("m"), d.FORCE)
    assert caught.value.why == "its dimension is length, wanted is force"
    assert caught.value.position == 0
    assert "N or daN or kN" in caught.value.mend
    with pytest.raises(UnitError, match=r"the dimension force length\^2"):
        require_dimension(NO_UNIT, d.FORCE * d.AREA)


def test_errors_and_units_survive_pickling():
    with pytest.raises(UnitError) as caught:
        read_unit("ton")
    again = pickle.loads(pickle.dumps(caught.value))
    assert (str(again), again.position) == (str(caught.value), 0)
    unit = read_unit("kip·ft")
    assert pickle.loads(pickle.dumps(unit)) == unit


known_unit = st.sampled_from(sorted(set(UNITS.values()), key=lambda unit: unit.name))
distinct_factors = st.lists(
    st.tuples(known_unit, st.integers(-4, 4).filter(bool)),
    min_size=1,
    max_size=4,
    unique_by=lambda pair: pair[0],
)


@given(distinct_factors)
def test_the_name_of_a_composed_unit_reads_back_to_it(factors: list[tuple[Unit, int]]):
    unit = compose(factors)
    again = read_unit(unit.name)
    assert (again.name, again.dimension) == (unit.name, unit.dimension)
    assert (again.factor, again.pi_power) == (unit.factor, unit.pi_power)


@given(distinct_factors)
def test_composition_multiplies_dimensions_and_factors(factors: list[tuple[Unit, int]]):
    unit = compose(factors)
    expected = fmpq(1)
    for part, n in factors:
        expected *= part.factor**n
    assert unit.factor == expected
    assert unit.pi_power == sum(part.pi_power * n for part, n in factors)


def system(*names: str) -> UnitSystem:
    return UnitSystem.of([read_unit(name) for name in names])


@pytest.mark.parametrize(
    ("names", "force", "length"),
    [
        (("lbf", "ft"), "lbf", "ft"),
        (("ft", "lbf", "kip", "in"), "lbf", "ft"),
        (("lbf/ft",), "lbf", "ft"),
        (("deg", "kip in"), "kip", "in"),
        (("psi",), "lbf", "in"),
        (("MPa", "m"), "N", "mm"),
        (("kN",), "kN", "m"),
        (("kip",), "kip", "ft"),
        (("tf",), "tf", "m"),
        (("mm",), "N", "mm"),
        (("in",), "lbf", "in"),
        (("kg", "mm"), "N", "mm"),
        (("lb", "ft"), "lbf", "ft"),
        (("lb",), "lbf", "ft"),
        (("kg/m^3", "ft"), "N", "m"),
        (("s",), "N", "m"),
        (("g_n",), "N", "m"),
    ],
)
def test_the_system_takes_the_first_force_and_length(
    names: tuple[str, ...], force: str, length: str
):
    found = system(*names)
    assert (found.force.name, found.length.name) == (force, length)


@pytest.mark.parametrize("names", [(), ("",), ("deg",), ("%", "rad")])
def test_plain_numbers_and_angles_make_no_system(names: tuple[str, ...]):
    assert system(*names) == UNITLESS


def test_bringing_into_a_customary_system_is_exact():
    feet = system("lbf", "ft")
    assert feet.bring(fmpq(3), read_unit("kip")) == 3000
    assert feet.bring(fmpq(7), read_unit("in")) == fmpq(7, 12)
    assert feet.bring(fmpq(1), read_unit("psi")) == 144
    assert feet.bring(fmpq(1), read_unit("slug")) == 1
    assert feet.bring(fmpq(1), read_unit("hp")) == 550
    assert system("kN", "mm").factor(d.MOMENT) == 1


def test_coherent_units_are_named():
    assert system("kip", "ft").unit(d.MOMENT).name == "kip·ft"
    assert system("kip", "ft").unit(d.MASS).name == "kip·s^2/ft"
    assert system("N", "m").unit(d.TORSIONAL_STIFFNESS).name == "N·m/rad"
    assert UNITLESS.unit(d.MOMENT) == NO_UNIT
    assert UNITLESS.unit(d.ANGLE).name == "rad"


def test_the_unitless_system_leaves_numbers_alone_and_refuses_units():
    assert UNITLESS.bring(fmpq(5), NO_UNIT) == 5
    assert UNITLESS.bring(fmpq(5), read_unit("%")) == fmpq(1, 20)
    with pytest.raises(UnitError, match="no units"):
        UNITLESS.bring(fmpq(5), read_unit("kN"))


def test_angles_within_compound_units_bring_in_pi():
    metric = system("N", "m")
    assert metric.ratio(read_unit("rpm")) == product(fmpq(1, 30), PI)
    assert metric.ratio(read_unit("N m/deg")) == over(fmpq(180), PI)
    assert metric.ratio(read_unit("deg/turn")) == fmpq(1, 360)


forces = st.sampled_from([unit for unit in set(UNITS.values()) if unit.dimension == d.FORCE])
lengths = st.sampled_from([unit for unit in set(UNITS.values()) if unit.dimension == d.LENGTH])
rationals = st.builds(fmpq, st.integers(-(10**9), 10**9), st.integers(1, 10**6))


@given(forces, lengths, known_unit, rationals)
def test_a_value_brought_is_the_same_quantity(force: Unit, length: Unit, unit: Unit, value: fmpq):
    coherent = UnitSystem(force, length)
    brought = coherent.bring(value, unit)
    if unit.pi_power == 0:
        assert brought * coherent.factor(unit.dimension) == value * unit.factor


@given(forces, lengths, st.integers(-3, 3), st.integers(-3, 3))
def test_the_coherent_unit_has_the_factor_of_the_system(force: Unit, length: Unit, m: int, n: int):
    coherent = UnitSystem(force, length)
    dimension = d.FORCE**m * d.LENGTH**n
    assert coherent.unit(dimension).factor == coherent.factor(dimension)
    assert coherent.ratio(coherent.unit(dimension)) == 1


@pytest.mark.parametrize(
    ("value", "unit", "turns"),
    [
        (fmpq(30), "deg", fmpq(1, 12)),
        (fmpq(100), "gon", fmpq(1, 4)),
        (fmpq(1, 3), "turn", fmpq(1, 3)),
        (fmpq(90), "arcmin", fmpq(1, 240)),
        (fmpq(1), "arcsec", fmpq(1, 1296000)),
        (fmpq(0), "rad", fmpq(0)),
        (over(PI, fmpq(4)), "rad", fmpq(1, 8)),
        (PI, "rad", fmpq(1, 2)),
        (product(fmpq(250), PI), "mrad", fmpq(1, 8)),
    ],
)
def test_rational_parts_of_a_turn_are_recognised(value: Exact, unit: str, turns: fmpq):
    assert read_angle(value, read_unit(unit)) == Turn(turns)


def test_other_angles_are_in_radians():
    root = square_root(fmpq(2))
    assert read_angle(fmpq(7, 10), read_unit("rad")) == Radian(fmpq(7, 10))
    assert read_angle(fmpq(7), read_unit("mrad")) == Radian(fmpq(7, 1000))
    assert read_angle(root, read_unit("deg")) == Radian(
        product(fmpq(1, 180), Constant("product", (root, PI)))
    )


def test_only_units_of_angle_make_angles():
    with pytest.raises(UnitError, match="wanted is angle"):
        read_angle(fmpq(30), NO_UNIT)
    with pytest.raises(UnitError, match="wanted is angle"):
        read_angle(fmpq(30), read_unit("m"))
