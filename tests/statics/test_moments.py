"""Moments and couples: what moving, turning and scaling may not change, refusals, mistakes."""

from __future__ import annotations

import random

import attrs
import pytest
from flint import fmpq
from hypothesis import given, settings
from hypothesis import strategies as st

from refsolver.arithmetic.double import DoubleArithmetic
from refsolver.quantities.kinds import NoAnswer
from refsolver.quantities.leaves import ByRun, Components, Polar
from refsolver.quantities.views import View
from refsolver.statics.chapters.moments.about_axes import AxisGivens
from refsolver.statics.chapters.moments.about_points import PlaneMomentGivens, SpaceMomentGivens
from refsolver.statics.chapters.moments.couples import PlaneCouples, PlanePair, SpaceCouples
from refsolver.statics.forces.systems import PlaneForceAt, SpaceForceAt
from refsolver.statics.prover import asks_of, prove
from refsolver.statics.reference import Proven
from refsolver.statics.registry import family

POINT, SPACE = family("moments/plane-point"), family("moments/space-point")
AXIS = family("moments/space-axis")
PAIRS, SPACE_PAIRS = family("moments/plane-couples"), family("moments/space-couples")
FAMILIES = pytest.mark.parametrize(
    "owner", [POINT, SPACE, AXIS, PAIRS, SPACE_PAIRS], ids=lambda f: f.name
)

ORIGIN = (fmpq(0), fmpq(0), fmpq(0))

small = st.integers(-40, 40).map(fmpq)
pairs = st.tuples(small, small)
triples = st.tuples(small, small, small)
plane_forces = st.lists(st.tuples(pairs, pairs), min_size=1, max_size=4)
space_forces = st.lists(st.tuples(triples, triples), min_size=1, max_size=4)


def values(owner, case, *views):
    outcomes = prove(owner, case, list(views), strict=True).outcomes
    assert all(isinstance(outcomes[v], Proven) for v in views), outcomes
    return [outcomes[v].enclosure.middle for v in views]


def components(answer):
    return [View(answer, "component", along=axis) for axis in ("+x", "+y", "+z")]


def plane(forces, about=ORIGIN[:2]):
    return PlaneMomentGivens(tuple(PlaneForceAt(Components(f), at) for f, at in forces), about)


def space(forces, about=ORIGIN):
    return SpaceMomentGivens(tuple(SpaceForceAt(Components(f), at) for f, at in forces), about)


def moved(at, by, times=1):
    return tuple(a + times * b for a, b in zip(at, by, strict=True))


@given(plane_forces, pairs, pairs)
@settings(max_examples=40, deadline=None)
def test_a_plane_moment_changes_with_the_point_by_the_moment_of_the_resultant(forces, a, b):
    at_a, at_b = (values(POINT, plane(forces, p), View("moment"))[0] for p in (a, b))
    x, y = (sum((f[i] for f, _ in forces), fmpq(0)) for i in (0, 1))
    assert at_a - at_b == (b[0] - a[0]) * y - (b[1] - a[1]) * x


@given(plane_forces, st.integers(-9, 9))
@settings(max_examples=30, deadline=None)
def test_a_force_may_be_moved_along_its_line(forces, times):
    slid = [(f, moved(at, f, times)) for f, at in forces]
    assert values(POINT, plane(forces), View("moment")) == values(
        POINT, plane(slid), View("moment")
    )


@given(plane_forces)
@settings(max_examples=30, deadline=None)
def test_a_mirror_turns_the_sign_of_a_plane_moment(forces):
    mirrored = [((-f[0], f[1]), (-at[0], at[1])) for f, at in forces]
    (one,) = values(POINT, plane(forces), View("moment"))
    assert values(POINT, plane(mirrored), View("moment")) == [-one]


@given(plane_forces)
@settings(max_examples=30, deadline=None)
def test_a_quarter_turn_of_everything_changes_nothing(forces):
    turned = [((-f[1], f[0]), (-at[1], at[0])) for f, at in forces]
    assert values(POINT, plane(forces), View("moment")) == values(
        POINT, plane(turned), View("moment")
    )


@given(plane_forces)
@settings(max_examples=20, deadline=None)
def test_the_plane_is_the_xy_plane_of_space(forces):
    (plane_moment,) = values(POINT, plane(forces), View("moment"))
    lifted = [((*f, fmpq(0)), (*at, fmpq(0))) for f, at in forces]
    assert values(SPACE, space(lifted), *components("moment")) == [0, 0, plane_moment]


@given(space_forces, triples)
@settings(max_examples=30, deadline=None)
def test_moments_add_force_by_force(forces, about):
    case = space(forces, about)
    whole = values(SPACE, case, *components("moment"))
    parts = [values(SPACE, space([one], about), *components("moment")) for one in forces]
    assert whole == [sum((p[i] for p in parts), fmpq(0)) for i in range(3)]


@given(space_forces, triples, triples.filter(any))
@settings(max_examples=30, deadline=None)
def test_the_moment_about_an_axis_is_the_part_of_the_moment_about_any_of_its_points(
    forces, through, run
):
    placed = tuple(SpaceForceAt(Components(f), at) for f, at in forces)
    answers = []
    for times in (0, 3):
        start = moved(through, run, times)
        m = values(SPACE, space(forces, start), *components("moment"))
        answers.append(sum((a * b for a, b in zip(m, run, strict=True)), fmpq(0)))
    assert answers[0] == answers[1]
    (about,) = values(AXIS, AxisGivens(placed, through, ByRun(run)), View("moment"))
    square = sum((x * x for x in run), fmpq(0))
    assert abs(about * about * square - answers[0] ** 2) <= (1 + answers[0] ** 2) / 10**25
    (reversed_axis,) = values(
        AXIS, AxisGivens(placed, through, ByRun(tuple(-x for x in run))), View("moment")
    )
    assert reversed_axis == -about


@given(pairs.filter(any), pairs, pairs, pairs)
@settings(max_examples=30, deadline=None)
def test_a_couple_is_the_same_wherever_it_is(force, at, other, by):
    here = PlaneCouples((PlanePair(Components(force), at, other),))
    there = PlaneCouples((PlanePair(Components(force), moved(at, by), moved(other, by)),))
    assert values(PAIRS, here, View("moment")) == values(PAIRS, there, View("moment"))
    two = [(force, at), (tuple(-x for x in force), other)]
    assert values(POINT, plane(two, by), View("moment")) == values(PAIRS, here, View("moment"))


@pytest.mark.parametrize("owner", [POINT, SPACE, AXIS], ids=lambda f: f.name)
@pytest.mark.parametrize("stated", ["components", "magnitude"])
def test_a_zero_force_has_no_distance(owner, stated):
    case = owner.filled({"forces": 2}, random.Random(1))
    n = 2 if owner is POINT else 3
    zero = (
        Components((fmpq(0),) * n)
        if stated == "components"
        else Polar(fmpq(0), ByRun((fmpq(1),) * n))
    )
    idle = attrs.evolve(case.forces[0], force=zero, name="idle")
    case = attrs.evolve(case, forces=(idle, case.forces[1]))
    outcome = prove(owner, case, [View("distances", key="idle")]).outcomes
    (found,) = outcome.values()
    assert isinstance(found, NoAnswer) and found.reason == "not defined"
    assert values(owner, case, View("distances", key="force 2"))[0] >= 0


@pytest.mark.parametrize("givens", [PlaneCouples, SpaceCouples])
def test_couples_need_at_least_one(givens):
    with pytest.raises(ValueError, match="at least one couple"):
        givens()


@FAMILIES
@pytest.mark.parametrize("kappa", [(1, 10), (1e4, 1e5), (1e9, 1e10)])
def test_generated_cases_are_proven_strictly_and_drawn(owner, kappa):
    for seed in range(6):
        case = owner.propose(kappa, random.Random(seed))
        reference = prove(owner, case, asks_of(owner, case), strict=True)
        assert all(isinstance(x, Proven | NoAnswer) for x in reference.outcomes.values())
        ar = DoubleArithmetic(reference.decisions)
        drawing = owner.figure(case, owner.solve(case, ar, owner.rule_set()).answers, ar)
        assert drawing.caption and len(drawing.parts) >= len(case_rows(case))


def case_rows(case):
    return case.forces if hasattr(case, "forces") else case.pairs


@FAMILIES
def test_generated_cases_are_as_hard_as_asked(owner):
    """The sum of the parts is smaller than the parts by about the factor asked."""
    case = owner.propose((1e6, 1e6), random.Random(3))
    ar = DoubleArithmetic()
    answers = owner.solve(case, ar, owner.rule_set()).answers
    sizes = [_size(m) for m in answers["moments"].values()]
    assert 1e4 < max(sizes) / _size(answers["moment"]) < 1e8


def _size(moment):
    return max(abs(x) for x in moment) if isinstance(moment, tuple) else abs(moment)


@FAMILIES
def test_every_filled_row_matters(owner):
    table = "forces" if owner in (POINT, SPACE, AXIS) else "pairs"
    case = owner.filled({table: 5}, random.Random(2))
    rows = getattr(case, table)
    assert len(rows) == 5
    view = [v for v in asks_of(owner, case) if v.answer == "moment"]
    whole = values(owner, case, *view)
    for i in range(5):
        less = attrs.evolve(case, **{table: rows[:i] + rows[i + 1 :]})
        assert values(owner, less, *view) != whole


@FAMILIES
def test_a_wrong_rule_is_caught_by_the_second_method(owner):
    """The check knows nothing of the rules, so that a mistaken solve cannot pass it."""
    case = owner.propose((2, 3), random.Random(5))
    mistake = owner.mistakes[-1]
    reference = prove(owner, case, asks_of(owner, case), rules=mistake.rules)
    assert "does not close" in reference.residuals
