"""Many cases handed over at once: the very doubles, and the givens, of each by itself."""

from __future__ import annotations

import random

import attrs
import pytest
from flint import fmpq

from refsolver.arithmetic.columns import NotInColumns, at
from refsolver.arithmetic.exact import Turn
from refsolver.calculators.file import read_calculator_file
from refsolver.calculators.handing_columns import hand_over_columns
from refsolver.calculators.mapping import NotApplicable, hand_over
from refsolver.catalogue.schema import Case, Source
from refsolver.quantities.leaves import ByAngle, ByRun, Components, Polar
from refsolver.runs.questions import units_of
from refsolver.statics.columns import stacked
from refsolver.statics.forces.concurrent import PlaneForce, PlaneForces
from refsolver.statics.registry import family
from tests.calculators.test_mapping import section_of

PLANE = "concurrent-forces/plane-resultant"
SPACE = "concurrent-forces/space-resultant"
SIZE = 'given = "forces[*].force"\ntake = "magnitude"\nunit = "{}"\nplace = "f[*].size"'
TURN = 'given = "forces[*].force"\ntake = "angle"\nunit = "deg"\nplace = "f[*].turn"'


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("columns")


def case_of(given, section, name=PLANE):
    return Case(
        id="x", path=None, text="", sha256="", title="", statement="", family=name,
        source=Source("constructed", by="a test"), units=units_of(section), unit_words=False,
        given=given, literals={}, published=(),
    )  # fmt: skip


def same_as_each(section, givens, name=PLANE):
    """Hands the cases over in columns and one by one; how many went in columns."""
    groups, alone = stacked(list(enumerate(givens)))
    done = 0
    for cases in groups:
        count = len(cases.numbers)
        try:
            handed = hand_over_columns(case_of(cases.given, section, name), count, section)
        except NotInColumns:
            continue
        for position, number in enumerate(cases.numbers):
            case = case_of(givens[number], section, name)
            try:
                own = hand_over(case, section, takes_doubles=True)
            except NotApplicable:
                assert position in handed.outside
                continue
            assert position not in handed.outside
            put = {slot.place: slot.handed for slot in own.slots}
            assert handed.doubles(position) == put
            assert at(handed.given, position) == own.given
            done += 1
    return done


CONVENTIONS = [
    'from = "+x"\ntoward = "+y"',
    'from = "+y"\ntoward = "+x"\nrange = "0..360"',
    'from = "-x"\ntoward = "+y"',
    'from = "-y"\ntoward = "-x"\nrange = "0..360"',
    'from = "+x"\ntoward = "-y"\nnegate = true',
    "decimals = 1",
    "decimals = 0\nnegate = true",
]


@pytest.mark.parametrize("convention", CONVENTIONS)
@pytest.mark.parametrize("unit", ["kN", "lbf"])
@pytest.mark.parametrize("kappa", [(1.0, 100.0), (1e13, 1e17)])
def test_every_convention_hands_over_what_each_case_hands_over(folder, convention, unit, kappa):
    section = section_of(folder, SIZE.format(unit), f"{TURN}\n{convention}")
    owner = family(PLANE)
    givens = [owner.propose(kappa, random.Random(n)) for n in range(12)]
    axes = ["+x", "+y", "-x", "-y"]
    draw = random.Random(convention)

    def turned(force):
        start = draw.randrange(4)
        angle = attrs.evolve(
            force.force.direction, start=axes[start], toward=axes[(start + draw.choice((1, 3))) % 4]
        )
        return PlaneForce(attrs.evolve(force.force, direction=angle))

    givens += [PlaneForces(tuple(map(turned, given.forces))) for given in givens]
    quarters = [fmpq(n, 8) for n in range(-8, 9)]
    givens += [
        PlaneForces((PlaneForce(Polar(fmpq(n + 3), ByAngle(Turn(q)))),) * 2)
        for n, q in enumerate(quarters)
    ]
    assert same_as_each(section, givens) > 20


def test_azimuth_and_elevation(folder):
    section = section_of(
        folder, SIZE.format("N"),
        'given = "forces[*].force"\ntake = "azimuth"\nunit = "deg"\nplace = "f[*].way"\n'
        'from = "+y"\ntoward = "+x"\nrange = "0..360"',
        'given = "forces[*].force"\ntake = "elevation"\nalong = "-z"\nunit = "deg"\n'
        'place = "f[*].dip"',
        family=SPACE,
    )  # fmt: skip
    owner = family(SPACE)
    givens = [owner.propose((1.0, 100.0), random.Random(n)) for n in range(30)]
    assert same_as_each(section, givens, SPACE) > 20


def test_components_and_other_families(folder):
    section = section_of(
        folder,
        'given = "forces[*].force"\ntake = "component"\nalong = "+x"\nunit = "N"\nplace = "f[*].x"',
        'given = "forces[*].force"\ntake = "component"\nalong = "-y"\nunit = "lbf"\n'
        'place = "f[*].y"',
    )
    draw = random.Random(1)
    givens = [
        PlaneForces(
            tuple(
                PlaneForce(
                    Components((fmpq(draw.randint(-99, 99), 10), fmpq(draw.randint(-99, 99))))
                )
                for _ in range(3)
            )
        )
        for _ in range(10)
    ]
    assert same_as_each(section, givens) == 10


def test_limits_of_the_scope_leave_single_cases_out(folder):
    limit = (
        '[[family.scope]]\ninput = "forces[*].force magnitude"\nat_least = "100 kN"\nreason = "x"'
    )
    section = section_of(folder, SIZE.format("kN"), TURN, more=limit)
    owner = family(PLANE)
    givens = [owner.propose((1.0, 100.0), random.Random(n)) for n in range(40)]
    assert 0 < same_as_each(section, givens) < 40
    count = '[[family.scope]]\ncount = "forces"\nat_most = 1\nreason = "x"'
    section = section_of(folder, SIZE.format("kN"), TURN, more=count)
    (cases, *_), _ = stacked([(0, givens[0]), (1, givens[0])])
    with pytest.raises(NotApplicable, match="number of forces"):
        hand_over_columns(case_of(cases.given, section), 2, section)


def test_what_cannot_be_taken_exactly_is_not_put_in_columns(folder):
    section = section_of(folder, SIZE.format("kN"), TURN)
    slopes = [
        PlaneForces((PlaneForce(Polar(fmpq(n + 1), ByRun((fmpq(3), fmpq(n + 4))))),))
        for n in range(3)
    ]
    assert same_as_each(section, slopes) == 0
    radians = section_of(folder, SIZE.format("kN"), TURN.replace("deg", "rad"))
    owner = family(PLANE)
    givens = [owner.propose((1.0, 100.0), random.Random(n)) for n in range(6)]
    assert same_as_each(radians, givens) < 6  # those of one form alone


def test_a_blank_row_and_a_fixed_table(folder):
    section = section_of(
        folder, SIZE.format("kN").replace("f[*].size", "a, b, c, d, e, f, g, h"),
        f'{TURN.replace("f[*].turn", "i, j, k, l, m, n, o, p")}\nblank = "0"',
    )  # fmt: skip
    owner = family(PLANE)
    givens = [owner.propose((1.0, 100.0), random.Random(n)) for n in range(20)]
    assert same_as_each(section, givens) == 20


def test_the_file_is_read_once(folder):
    section = section_of(folder, SIZE.format("kN"), TURN)
    assert read_calculator_file(folder / "calculator.toml").sections[0].inputs == section.inputs
    assert list(section.lines_by_given) == ["forces[*].force"]
