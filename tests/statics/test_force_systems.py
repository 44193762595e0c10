"""Force systems: equivalence, invariants of the wrench, centres, refusals, mistakes."""

from __future__ import annotations

import random

import attrs
import pytest
from flint import fmpq
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from refsolver.arithmetic.double import DoubleArithmetic
from refsolver.arithmetic.exact import Constant
from refsolver.quantities.kinds import NoAnswer
from refsolver.quantities.leaves import ByRun, Components
from refsolver.quantities.views import View
from refsolver.statics.chapters.force_systems.forces_on_a_line import OnLine
from refsolver.statics.chapters.force_systems.parallel_components import TwoPlacesGivens
from refsolver.statics.chapters.force_systems.parallel_forces import (
    InSpace,
    InSpaceGivens,
    OnLineGivens,
)
from refsolver.statics.chapters.force_systems.reductions import (
    PlaneReductionGivens,
    SpaceReductionGivens,
)
from refsolver.statics.forces.systems import (
    PlaneCouple,
    PlaneForceAt,
    PlaneSystem,
    SpaceCouple,
    SpaceForceAt,
    SpaceSystem,
)
from refsolver.statics.prover import asks_of, prove
from refsolver.statics.reference import Proven, Word
from refsolver.statics.registry import family

PLANE, SPACE = family("force-systems/plane-reduction"), family("force-systems/space-reduction")
SINGLE, WRENCH = family("force-systems/single-force"), family("force-systems/wrench")
LINE, CENTRE = family("force-systems/parallel-line"), family("force-systems/parallel-space")
TWO = family("force-systems/two-parallel-components")
ALL = (PLANE, SPACE, SINGLE, WRENCH, LINE, CENTRE, TWO)
FAMILIES = pytest.mark.parametrize("owner", ALL, ids=lambda f: f.name)

small = st.integers(-30, 30).map(fmpq)
pairs = st.tuples(small, small)
triples = st.tuples(small, small, small)
plane_forces = st.lists(st.tuples(pairs, pairs), min_size=1, max_size=4)
space_forces = st.lists(st.tuples(triples, triples), min_size=1, max_size=4)
ORIGIN2, ORIGIN3 = (fmpq(0),) * 2, (fmpq(0),) * 3


def outcomes(owner, case, *views):
    found = prove(owner, case, list(views), strict=True).outcomes
    return [found[v] for v in views]


def values(owner, case, *views):
    found = outcomes(owner, case, *views)
    assert all(isinstance(x, Proven) for x in found), found
    return [x.enclosure.middle for x in found]


def components(answer, space=3):
    return [View(answer, "component", along=axis) for axis in ("+x", "+y", "+z")[:space]]


def intercept(along, at=None):
    return View("line", "intercept", along=along, at=at)


def plane_system(forces, couples=()):
    return {
        "forces": tuple(PlaneForceAt(Components(f), at) for f, at in forces),
        "couples": tuple(PlaneCouple(c) for c in couples),
    }


def space_system(forces, couples=()):
    return {
        "forces": tuple(SpaceForceAt(Components(f), at) for f, at in forces),
        "couples": tuple(SpaceCouple(Components(c)) for c in couples),
    }


def word_of(owner, case):
    (found,) = outcomes(owner, case, View("reduces to"))
    assert isinstance(found, Word)
    return found.word


@given(plane_forces, st.lists(small, max_size=2), pairs, pairs)
@settings(max_examples=30, deadline=None)
def test_reducing_twice_is_reducing_once(forces, couples, first, second):
    system = plane_system(forces, couples)
    views = [*components("resultant", 2), View("moment")]
    x, y, m = values(PLANE, PlaneReductionGivens(**system, about=first), *views)
    again = plane_system([((x, y), first)], [m])
    assert values(PLANE, PlaneReductionGivens(**again, about=second), *views) == values(
        PLANE, PlaneReductionGivens(**system, about=second), *views
    )


@given(space_forces, st.lists(triples, max_size=2), triples, triples)
@settings(max_examples=25, deadline=None)
def test_reducing_twice_in_space_is_reducing_once(forces, couples, first, second):
    system = space_system(forces, couples)
    views = components("resultant") + components("moment")
    *r, mx, my, mz = values(SPACE, SpaceReductionGivens(**system, about=first), *views)
    again = space_system([(tuple(r), first)], [(mx, my, mz)])
    assert values(SPACE, SpaceReductionGivens(**again, about=second), *views) == values(
        SPACE, SpaceReductionGivens(**system, about=second), *views
    )


@given(plane_forces, small)
@settings(max_examples=40, deadline=None)
def test_about_a_point_of_its_line_a_single_force_has_no_moment(forces, couple):
    system = plane_system(forces, [couple])
    single = PlaneSystem(**system)
    (x,) = outcomes(SINGLE, single, intercept("+x"))
    assume(isinstance(x, Proven))
    exact = x.enclosure.middle
    about = (fmpq(exact), fmpq(0))
    (left,) = outcomes(SINGLE, single, intercept("+x", fmpq(5)))
    (moment,) = values(PLANE, PlaneReductionGivens(**system, about=about), View("moment"))
    assert abs(moment) < fmpq(1, 10**20)
    (moment,) = values(
        PLANE,
        PlaneReductionGivens(**system, about=(fmpq(left.enclosure.middle), fmpq(5))),
        View("moment"),
    )
    assert abs(moment) < fmpq(1, 10**20)


@given(space_forces, st.lists(triples, max_size=2), triples)
@settings(max_examples=30, deadline=None)
def test_a_wrench_does_not_care_for_the_origin(forces, couples, by):
    case = SpaceSystem(**space_system(forces, couples))
    shifted = [(f, tuple(a + b for a, b in zip(at, by, strict=True))) for f, at in forces]
    moved = SpaceSystem(**space_system(shifted, couples))
    views = [View("pitch"), View("axis", "foot", along="+x")]
    here, there = outcomes(WRENCH, case, *views), outcomes(WRENCH, moved, *views)
    if isinstance(here[0], NoAnswer):
        assert there[0].reason == "no wrench axis"
        return
    assert here[0].enclosure.middle == there[0].enclosure.middle
    assert word_of(WRENCH, case) == word_of(WRENCH, moved)


@given(triples.filter(any), triples, small)
@settings(max_examples=30, deadline=None)
def test_a_wrench_built_from_axis_and_pitch_is_found_again(force, at, pitch):
    couple = tuple(pitch * x for x in force)
    case = SpaceSystem(**space_system([(force, at)], [couple]))
    assert values(WRENCH, case, View("pitch")) == [pitch]
    assert values(WRENCH, case, *components("couple")) == list(couple)
    assert word_of(WRENCH, case) == ("single force" if pitch == 0 else "wrench")
    square = sum((x * x for x in force), fmpq(0))
    along = sum((x * a for x, a in zip(force, at, strict=True)), fmpq(0)) / square
    feet = [a - along * x for a, x in zip(at, force, strict=True)]
    views = [View("axis", "foot", along=axis) for axis in ("+x", "+y", "+z")]
    found = outcomes(WRENCH, case, *views)
    for foot, x in zip(feet, found, strict=True):
        assert abs(x.enclosure.middle - foot) <= abs(foot) / 10**25


def test_a_system_of_couples_reduces_to_their_sum_and_is_drawn_at_the_origin():
    case = SpaceSystem(
        **space_system([], [(fmpq(1), fmpq(-2), fmpq(3)), (fmpq(4), fmpq(2), fmpq(0))])
    )
    assert word_of(WRENCH, case) == "couple"
    assert values(WRENCH, case, *components("couple")) == [5, 0, 3]
    ar = DoubleArithmetic()
    drawing = WRENCH.figure(case, WRENCH.solve(case, ar, WRENCH.rule_set()).answers, ar)
    answers = [part for part in drawing.parts if getattr(part, "role", "") == "answer"]
    assert [(part.at, part.moment) for part in answers] == [((0, 0, 0), (5, 0, 3))]


def test_the_least_moment_is_the_least_of_all_points():
    case = WRENCH.propose((1, 10), random.Random(4))
    (least,) = values(WRENCH, case, View("moment", "size"))
    for about in (ORIGIN3, (fmpq(1), fmpq(-2), fmpq(7)), (fmpq(30), fmpq(3), fmpq(-9))):
        reduced = SpaceReductionGivens(case.forces, case.couples, about=about)
        (moment,) = values(SPACE, reduced, View("moment", "magnitude"))
        assert moment >= least


@pytest.mark.parametrize(
    ("forces", "couples", "word"),
    [
        ([((2, 0), (0, 0)), ((-2, 0), (0, 3))], [], "couple"),
        ([((2, 0), (0, 0)), ((-2, 0), (0, 3))], [-6], "equilibrium"),
        ([((2, 0), (0, 0))], [5], "single force"),
        ([], [5], "couple"),
        ([], [5, -5], "equilibrium"),
    ],
)
def test_what_a_plane_system_reduces_to(forces, couples, word):
    exact = [tuple(tuple(fmpq(x) for x in v) for v in pair) for pair in forces]
    case = PlaneSystem(**plane_system(exact, [fmpq(c) for c in couples]))
    assert word_of(SINGLE, case) == word
    line, direction = outcomes(SINGLE, case, View("line", "distance"), View("resultant", "angle"))
    if word == "single force":
        assert isinstance(line, Proven)
    else:
        assert line.reason == "no line of action"
        assert direction.reason == "no direction"


def test_a_system_needs_something():
    for givens in (PlaneSystem, SpaceSystem):
        with pytest.raises(ValueError, match="at least one force or couple"):
            givens()
    force = PlaneForceAt(Components(ORIGIN2), ORIGIN2, "couple 1")
    with pytest.raises(ValueError, match="two go by the name 'couple 1'"):
        PlaneSystem((force,), (PlaneCouple(fmpq(1)),))


loads = st.lists(st.tuples(small, small), min_size=1, max_size=5)


@given(loads, small)
@settings(max_examples=30, deadline=None)
def test_a_centre_moves_with_its_forces(rows, by):
    assume(sum((f for f, _ in rows), fmpq(0)) != 0)
    here = OnLineGivens(tuple(OnLine(f, x) for f, x in rows))
    there = OnLineGivens(tuple(OnLine(f, x + by) for f, x in rows))
    a, b = (outcomes(LINE, case, View("position"))[0].enclosure for case in (here, there))
    assert a.lower + by <= b.upper and b.lower <= a.upper + by


@given(loads)
@settings(max_examples=30, deadline=None)
def test_forces_without_sum_have_no_centre(rows):
    total = sum((f for f, _ in rows), fmpq(0))
    case = OnLineGivens((*(OnLine(f, x) for f, x in rows), OnLine(-total, fmpq(3))))
    (found,) = outcomes(LINE, case, View("position"))
    assert isinstance(found, NoAnswer) and found.reason == "no point"
    space = InSpaceGivens(
        tuple(InSpace(x.force, (x.at, fmpq(1), fmpq(2))) for x in case.forces),
        ByRun((fmpq(1), fmpq(2), fmpq(2))),
    )
    (found,) = outcomes(CENTRE, space, View("centre", "coordinate", along="+x"))
    assert isinstance(found, NoAnswer) and found.reason == "no point"


def test_a_sum_that_vanishes_only_by_algebra_is_proven_zero():
    root = Constant("sqrt", (fmpq(8),))
    twice = Constant("product", (fmpq(-2), Constant("sqrt", (fmpq(2),))))
    case = OnLineGivens((OnLine(root, fmpq(0)), OnLine(twice, fmpq(1))))
    resultant, position = outcomes(LINE, case, View("resultant"), View("position"))
    assert resultant.how == "zero"
    assert position.reason == "no point"


@given(loads, triples.filter(any), triples.filter(any))
@settings(max_examples=20, deadline=None)
def test_a_centre_does_not_depend_on_the_direction(rows, one, other):
    assume(sum((f for f, _ in rows), fmpq(0)) != 0)
    placed = tuple(InSpace(f, (x, f * 2, x * f)) for f, x in rows)
    view = View("centre", "coordinate", along="+z")
    a, b = (outcomes(CENTRE, InSpaceGivens(placed, ByRun(run)), view)[0] for run in (one, other))
    assert a.enclosure.middle == b.enclosure.middle


@given(loads, small, small)
@settings(max_examples=30, deadline=None)
def test_two_shares_are_equal_to_the_loads(rows, first, second):
    case = TwoPlacesGivens(tuple(OnLine(f, x) for f, x in rows), first, second)
    found = outcomes(TWO, case, View("first"), View("second"))
    if first == second:
        turning = sum((f * (x - first) for f, x in rows), fmpq(0))
        reason = "no unique answer" if turning == 0 else "no solution"
        assert [x.reason for x in found] == [reason, reason]
        return
    total = sum((f for f, _ in rows), fmpq(0))
    moment = sum((f * x for f, x in rows), fmpq(0))
    one, two = (x.enclosure.middle for x in found)
    assert abs(one + two - total) < fmpq(1, 10**20)
    assert abs(one * first + two * second - moment) < fmpq(1, 10**20)


@FAMILIES
@pytest.mark.parametrize("kappa", [(1, 10), (1e4, 1e5), (1e9, 1e10)])
def test_generated_cases_are_proven_strictly_and_drawn(owner, kappa):
    for seed in range(6):
        case = owner.propose(kappa, random.Random(seed))
        reference = prove(owner, case, asks_of(owner, case), strict=True)
        assert all(isinstance(x, Proven | NoAnswer | Word) for x in reference.outcomes.values())
        ar = DoubleArithmetic(reference.decisions)
        drawing = owner.figure(case, owner.solve(case, ar, owner.rule_set()).answers, ar)
        assert drawing.caption and len(drawing.parts) > len(case.forces)


@FAMILIES
def test_every_filled_row_matters(owner):
    tables = {"forces": 5} if owner in (LINE, CENTRE, TWO) else {"forces": 4, "couples": 2}
    case = owner.filled(tables, random.Random(2))
    views = [v for v in asks_of(owner, case) if v.answer != "reduces to" and v.key is None]
    whole = values(owner, case, *views)
    for table, count in tables.items():
        rows = getattr(case, table)
        assert len(rows) == count
        for i in range(count):
            less = attrs.evolve(case, **{table: rows[:i] + rows[i + 1 :]})
            assert values(owner, less, *views) != whole


@FAMILIES
def test_a_wrong_rule_is_caught_by_the_second_method(owner):
    case = owner.propose((2, 3), random.Random(5))
    for mistake in owner.mistakes:
        reference = prove(owner, case, asks_of(owner, case), rules=mistake.rules)
        right = prove(owner, case, asks_of(owner, case))
        same = all(
            str(a) == str(b)
            for a, b in zip(right.outcomes.values(), reference.outcomes.values(), strict=True)
        )
        assert same or "does not close" in reference.residuals, mistake.name
