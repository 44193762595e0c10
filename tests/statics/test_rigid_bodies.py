"""Rigid bodies: what turning, moving and adding may not change, refusals, mistakes, figures."""

from __future__ import annotations

import random

import attrs
import pytest
from flint import fmpq
from hypothesis import given, settings
from hypothesis import strategies as st

from refsolver.arithmetic.double import DoubleArithmetic
from refsolver.arithmetic.exact import Turn
from refsolver.quantities.kinds import NoAnswer
from refsolver.quantities.leaves import ByAngle, ByRun, Components, Polar
from refsolver.quantities.views import View
from refsolver.statics.bodies.loads import PlaneBody, PlaneCouple, PlaneLoad, SpaceBody, SpaceLoad
from refsolver.statics.bodies.supports import PlaneSupport, SpaceSupport
from refsolver.statics.givens import walk
from refsolver.statics.prover import asks_of, prove
from refsolver.statics.reference import Proven
from refsolver.statics.registry import family

PLANE = family("rigid-bodies/plane-reactions")
SPACE = family("rigid-bodies/space-reactions")
FAMILIES = pytest.mark.parametrize("owner", [PLANE, SPACE], ids=lambda f: f.name)


def q(*values):
    return tuple(fmpq(v) for v in values)


def outcome(owner, case, **view):
    ask = View(**view)
    return prove(owner, case, [ask], strict=True).outcomes[ask]


def middle(owner, case, **view):
    found = outcome(owner, case, **view)
    assert isinstance(found, Proven), found
    return found.enclosure.middle


def force(owner, case, key):
    axes = ("+x", "+y") if owner is PLANE else ("+x", "+y", "+z")
    asks = [View("reactions", "component", key=key, along=a) for a in axes]
    return tuple(o.enclosure.middle for o in prove(owner, case, asks).outcomes.values())


SPAN = (
    PlaneSupport("pin", q(0, 0), name="A"),
    PlaneSupport("roller", q(6, 0), ByRun(q(0, 1)), "B"),
)
coordinate = st.integers(-20, 20)
load = st.builds(
    lambda x, y, a, b: PlaneLoad(Components(q(x, y)), q(a, b)),
    coordinate, coordinate, coordinate, coordinate,
)  # fmt: skip


def close(a, b):
    return all(abs(x - y) < fmpq(1, 10**25) for x, y in zip(a, b, strict=True))


@settings(max_examples=40, deadline=None)
@given(st.lists(load, min_size=1, max_size=4), coordinate)
def test_reactions_balance_the_loads(loads, couple):
    body = PlaneBody(SPAN, tuple(loads), (PlaneCouple(fmpq(couple)),))
    total = [sum((f.force.along[i] for f in loads), fmpq(0)) for i in range(2)]
    a, b = force(PLANE, body, "A"), force(PLANE, body, "B")
    assert close((a[0] + b[0] + total[0], a[1] + b[1] + total[1]), q(0, 0))


@settings(max_examples=40, deadline=None)
@given(st.lists(load, min_size=1, max_size=3), coordinate, coordinate)
def test_moving_the_origin_changes_nothing(loads, dx, dy):
    def shifted(item):
        return attrs.evolve(item, at=(item.at[0] + dx, item.at[1] + dy))

    body = PlaneBody(SPAN, tuple(loads))
    moved = PlaneBody(tuple(map(shifted, SPAN)), tuple(map(shifted, loads)))
    for key in "AB":
        assert close(force(PLANE, body, key), force(PLANE, moved, key))


@settings(max_examples=40, deadline=None)
@given(st.lists(load, min_size=1, max_size=3))
def test_turning_everything_turns_the_reactions(loads):
    """By the angle of the 3-4-5 triangle, so that all stays rational."""

    def turned(p):
        return ((4 * p[0] - 3 * p[1]) / 5, (3 * p[0] + 4 * p[1]) / 5)

    supports = (
        attrs.evolve(SPAN[0], at=turned(SPAN[0].at)),
        attrs.evolve(SPAN[1], at=turned(SPAN[1].at), direction=ByRun(turned(q(0, 1)))),
    )
    forces = tuple(PlaneLoad(Components(turned(f.force.along)), turned(f.at)) for f in loads)
    body, other = PlaneBody(SPAN, tuple(loads)), PlaneBody(supports, forces)
    for key in "AB":
        assert close(turned(force(PLANE, body, key)), force(PLANE, other, key))


@settings(max_examples=40, deadline=None)
@given(load, load)
def test_loads_superpose(one, two):
    def only(*loads):
        return force(PLANE, PlaneBody(SPAN, loads), "B")

    assert close(only(one, two), tuple(a + b for a, b in zip(only(one), only(two), strict=True)))


def test_a_plane_case_in_space_is_the_same():
    """A beam along x in space: the upright shares are those of the plane."""
    supports = (
        SpaceSupport("ball", q(0, 0, 0), name="A"),
        SpaceSupport("roller", q(6, 0, 0), ByRun(q(0, 0, 1)), name="B"),
    )
    body = SpaceBody(supports, (SpaceLoad(Components(q(0, 0, -12)), q(2, 0, 0)),))
    assert close(force(SPACE, body, "B"), q(0, 0, 4))
    assert outcome(SPACE, body, answer="constraint").word == "partially constrained"


@pytest.mark.parametrize(
    ("supports", "reason"),
    [
        (
            (PlaneSupport("pin", q(0, 0), name="A"), PlaneSupport("pin", q(6, 0), name="B")),
            "redundant",
        ),
        ((PlaneSupport("pin", q(0, 0), name="A"),), "mechanism"),
        (
            (
                PlaneSupport("pin", q(0, 0), name="A"),
                PlaneSupport("roller", q(6, 0), ByRun(q(1, 0)), "B"),
            ),
            "improper constraint",
        ),
    ],
)
def test_refusals(supports, reason):
    body = PlaneBody(supports, (PlaneLoad(Components(q(0, -10)), q(2, 0)),))
    found = outcome(PLANE, body, answer="reactions", take="magnitude", key="A")
    assert isinstance(found, NoAnswer)
    assert found.reason == reason
    assert found.evidence


def test_what_is_determinate_in_a_redundant_set_is_still_answered():
    rollers = tuple(
        PlaneSupport("roller", q(x, 0), ByRun(q(0, 1)), name)
        for x, name in ((0, "A"), (3, "B"), (6, "C"))
    )
    link = PlaneSupport("link", q(0, 0), ByRun(q(1, 0)), "D")
    body = PlaneBody((*rollers, link), (PlaneLoad(Components(q(5, -7)), q(2, 0)),))
    assert middle(PLANE, body, answer="forces", key="D") == -5
    assert outcome(PLANE, body, answer="forces", key="A").reason == "redundant"


def test_a_support_that_lacks_or_has_too_much_is_refused():
    with pytest.raises(ValueError, match="needs its 'direction'"):
        PlaneSupport("roller", q(0, 0))
    with pytest.raises(ValueError, match="takes no 'direction'"):
        PlaneSupport("pin", q(0, 0), ByRun(q(1, 0)))
    with pytest.raises(ValueError, match="'couples' belongs"):
        SpaceSupport("ball", q(0, 0, 0), couples="carried")
    with pytest.raises(ValueError, match="two go by the name"):
        PlaneBody((SPAN[0], SPAN[0]))


@FAMILIES
@pytest.mark.parametrize("kappa", [(1, 10), (1e3, 1e5), (1e8, 1e10)])
def test_generated_cases_are_proven(owner, kappa):
    for seed in range(4):
        case = owner.propose(kappa, random.Random(seed))
        reference = prove(owner, case, asks_of(owner, case), strict=True)
        assert reference.residuals == "close"
        assert reference.second_opinion == "agrees"


@FAMILIES
def test_filled_tables_have_the_rows_asked_and_every_row_matters(owner):
    rows = {"supports": 2, "forces": 3, "couples": 2}
    case = owner.filled(rows, random.Random(1))
    assert {name: len(getattr(case, name)) for name in rows} == rows
    asks = [a for a in asks_of(owner, case) if a.answer in ("reactions", "couples")]
    before = prove(owner, case, asks).outcomes
    for name in ("forces", "couples"):
        for i in range(rows[name]):
            kept = tuple(x for j, x in enumerate(getattr(case, name)) if j != i)
            after = prove(owner, attrs.evolve(case, **{name: kept}), asks).outcomes
            assert any(_apart(before[a], after[a]) for a in asks), (name, i)


@FAMILIES
@pytest.mark.parametrize("supports", [1, 2, 3])
def test_every_filled_set_of_supports_is_determinate(owner, supports):
    case = owner.filled({"supports": supports, "forces": 2}, random.Random(2))
    assert outcome(owner, case, answer="constraint").word == "determinate"


def _apart(a, b):
    if isinstance(a, Proven) and isinstance(b, Proven):
        return not a.ball.overlaps(b.ball)
    return type(a) is not type(b)


@FAMILIES
def test_every_mistake_shows_on_some_case(owner):
    cases = [owner.propose((1, 10), random.Random(seed)) for seed in range(6)]
    cases.append(
        owner.filled({"supports": 2, "forces": 2, "couples": 1, "line_loads": 1}, random.Random(3))
    )
    ar = DoubleArithmetic()
    for mistake in owner.mistakes:
        assert any(_shows(owner, mistake, case, ar) for case in cases), mistake.name


def _shows(owner, mistake, case, ar):
    right = owner.solve(case, ar, owner.rule_set()).answers
    if mistake.rules:
        wrong = owner.solve(case, ar, owner.rule_set(mistake.rules)).answers
    elif mistake.givens:
        changed = mistake.givens(case)
        if changed is None:
            return False
        wrong = owner.solve(changed, ar, owner.rule_set()).answers
    else:
        wrong = mistake.answers(case, right, ar)
    return any(right[name] != wrong[name] for name in ("reactions", "couples", "forces"))


@FAMILIES
def test_figures_are_drawn_also_where_nothing_is_answered(owner):
    ar = DoubleArithmetic()
    case = owner.propose((1, 10), random.Random(5))
    drawing = owner.figure(case, owner.solve(case, ar, owner.rule_set()).answers, ar)
    assert drawing.space == owner.space
    assert drawing.caption
    assert any(getattr(part, "role", "") == "answer" for part in drawing.parts)
    loose = attrs.evolve(case, supports=case.supports[:1])
    answers = owner.solve(loose, ar, owner.rule_set()).answers
    assert owner.figure(loose, answers, ar).parts


def test_every_leaf_has_a_path():
    case = PLANE.filled(
        {"supports": 3, "forces": 1, "couples": 1, "line_loads": 1}, random.Random(0)
    )
    paths = [path for path, _, _ in walk(case)]
    assert "supports[2].direction" in paths
    assert "line_loads[1].at_start" in paths


def test_a_load_at_the_pin_leaves_nothing_to_a_leaning_roller():
    """Nothing turns about the pin, so the moments there are all of them next to nothing."""
    lean = ByAngle(Turn(fmpq(15425713, 60000000)))
    supports = (
        PlaneSupport("pin", (fmpq(8), fmpq(-5)), name="A"),
        PlaneSupport("roller", (fmpq(-1), fmpq(2)), lean, name="B"),
    )
    load = PlaneLoad(Polar(fmpq(254), ByAngle(Turn(fmpq(17, 60)))), (fmpq(8), fmpq(-5)))
    owner, case = family("rigid-bodies/plane-reactions"), PlaneBody(supports, (load,))
    ask = View("forces", key="B")
    reference = prove(owner, case, [ask], strict=True)
    assert reference.residuals == "close" and reference.outcomes[ask].how == "below scale"
