"""Rigging: families that must agree where they overlap, refusals, mistakes, figures."""

from __future__ import annotations

import random

import pytest
from flint import fmpq
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from refsolver.arithmetic.double import DoubleArithmetic
from refsolver.arithmetic.exact import Turn
from refsolver.quantities.kinds import NoAnswer
from refsolver.quantities.views import View
from refsolver.statics.chapters.rigging.bridle_in_space import Leg, SpaceBridle
from refsolver.statics.chapters.rigging.equal_legs import EqualBridle, Hitch, HitchTable
from refsolver.statics.chapters.rigging.hanging_load import HangingBridle
from refsolver.statics.chapters.rigging.two_legs import TwoLegBridle
from refsolver.statics.prover import asks_of, prove
from refsolver.statics.reference import NotProven, Proven
from refsolver.statics.registry import family

EQUAL = family("rigging/equal-legs")
TABLE = family("rigging/bridle-loads")
TWO = family("rigging/two-legs")
HANGING = family("rigging/hanging-load")
SPACE = family("rigging/bridle-in-space")
ALL = pytest.mark.parametrize("owner", [EQUAL, TABLE, TWO, HANGING, SPACE], ids=lambda f: f.name)
TINY = fmpq(1, 10**22)


def middles(owner, case, *asks):
    found = list(prove(owner, case, list(asks), strict=True).outcomes.values())
    assert all(isinstance(x, Proven) for x in found), found
    return [x.enclosure.middle for x in found]


def tensions(owner, case, *keys):
    return middles(owner, case, *(View("tensions", key=key) for key in keys))


sizes = st.integers(1, 40).map(lambda n: fmpq(n, 4))


@settings(max_examples=40, deadline=None)
@given(sizes, sizes, st.integers(2, 4))
def test_equal_legs_and_the_table_are_each_other_undone(height, more, legs):
    length = height + more
    case = EqualBridle(fmpq(100), legs, leg_length=length, height=height)
    (tension,) = middles(EQUAL, case, View("tension"))
    table = HitchTable(fmpq(1), (Hitch(legs, leg_length=length, height=height, name="h"),))
    (load,) = middles(TABLE, table, View("loads", key="h"))
    assert abs(tension * load - 100) < TINY * 100


@settings(max_examples=40, deadline=None)
@given(sizes, sizes, sizes)
def test_two_legs_and_the_same_legs_in_space(d1, d2, h):
    flat = TwoLegBridle(fmpq(90), d1, d2, h, h)
    zero = fmpq(0)
    space = SpaceBridle(
        fmpq(90),
        (zero, zero, h),
        (Leg((-d1, zero, zero), name="left"), Leg((d2, zero, zero), name="right")),
    )
    for a, b in zip(
        tensions(TWO, flat, "left", "right"), tensions(SPACE, space, "left", "right"), strict=True
    ):
        assert abs(a - b) < TINY * 1000


@settings(max_examples=40, deadline=None)
@given(st.integers(1, 12), st.integers(1, 12), st.integers(1, 12))
def test_a_load_whose_weight_is_below_the_hook_hangs_level(m, n, k):
    """Two right triangles back to back: legs k(m^2+n^2) each over a height 2 k m n."""
    assume(m > n)
    base, height, leg = k * (m * m - n * n), 2 * k * m * n, k * (m * m + n * n)
    case = HangingBridle(fmpq(10), fmpq(leg), fmpq(leg), fmpq(2 * base), fmpq(base), fmpq(1))
    (tilt,) = middles(HANGING, case, View("tilt"))
    assert tilt == 0
    flat = TwoLegBridle(fmpq(10), fmpq(base), fmpq(base), fmpq(height), fmpq(height))
    for a, b in zip(
        tensions(HANGING, case, "left", "right"), tensions(TWO, flat, "left", "right"), strict=True
    ):
        assert abs(a - b) < TINY


@settings(max_examples=30, deadline=None)
@given(st.integers(5, 84), st.integers(1, 5))
def test_flatter_legs_carry_more(angle, step):
    steep = EqualBridle(fmpq(10), 2, angle=Turn(fmpq(angle + step, 360)))
    flat = EqualBridle(fmpq(10), 2, angle=Turn(fmpq(angle, 360)))
    assert middles(EQUAL, steep, View("tension")) < middles(EQUAL, flat, View("tension"))


def test_angles_from_both_axes_agree():
    one = EqualBridle(fmpq(10), 2, angle=Turn(fmpq(35, 360)))
    other = EqualBridle(fmpq(10), 2, angle=Turn(fmpq(55, 360)), measured_from="vertical")
    (a,), (b,) = (middles(EQUAL, c, View("tension")) for c in (one, other))
    assert abs(a - b) < TINY


def test_four_legs_without_an_assumption_are_refused():
    legs = tuple(
        Leg((fmpq(x), fmpq(y), fmpq(-4)), name=f"{x},{y}") for x in (-3, 3) for y in (-2, 2)
    )
    case = SpaceBridle(fmpq(10), (fmpq(0),) * 3, legs)
    for outcome in prove(
        SPACE, case, [View("tensions", key=leg.name) for leg in legs]
    ).outcomes.values():
        assert isinstance(outcome, NoAnswer)
        assert outcome.reason == "redundant"


ORIGIN = (fmpq(0),) * 3


@pytest.mark.parametrize(
    ("make", "says"),
    [
        (lambda: EqualBridle(fmpq(1), 2), "either the 'angle'"),
        (lambda: EqualBridle(fmpq(1), 2, angle=Turn(fmpq(1, 8)), height=fmpq(1)), "either the"),
        (lambda: EqualBridle(fmpq(1), 2, leg_length=fmpq(1)), "either the 'angle'"),
        (lambda: EqualBridle(fmpq(1), 2, leg_length=fmpq(1), height=fmpq(2)), "cannot exceed"),
        (lambda: EqualBridle(fmpq(1), 2, "three legs", angle=Turn(fmpq(1, 8))), "cannot carry"),
        (lambda: Hitch(2), "either the 'angle'"),
        (
            lambda: SpaceBridle(fmpq(1), ORIGIN, (Leg(ORIGIN, name="A"),)),
            "A has no length: its lug is at the hook",
        ),
    ],
)  # fmt: skip
def test_givens_that_cannot_be_meant_are_refused(make, says):
    with pytest.raises(ValueError, match=says):
        make()


@ALL
@pytest.mark.parametrize("kappa", [(1, 10), (1e3, 1e5), (1e8, 1e10)])
def test_generated_cases_are_proven(owner, kappa):
    for seed in range(5):
        case = owner.propose(kappa, random.Random(seed))
        reference = prove(owner, case, asks_of(owner, case), strict=True)
        assert reference.residuals == "close"
        assert reference.second_opinion == "agrees"
        assert not any(isinstance(o, NotProven) for o in reference.outcomes.values())


@ALL
def test_every_mistake_shows_on_some_case(owner):
    ar = DoubleArithmetic()
    cases = [owner.propose((1.5, 10), random.Random(seed)) for seed in range(12)]
    for mistake in owner.mistakes:
        assert any(_shows(owner, mistake, case, ar) for case in cases), mistake.name


def _shows(owner, mistake, case, ar):
    right = owner.solve(case, ar, owner.rule_set()).answers
    changed = case if mistake.givens is None else mistake.givens(case)
    if changed is None:
        return False
    return owner.solve(changed, ar, owner.rule_set(mistake.rules)).answers != right


@ALL
def test_every_family_says_what_it_does_not_cover(owner):
    assert "Rated capacities, choker reduction" in owner.caution.replace("\n", " ")
    assert "qualified person" in owner.caution


@ALL
def test_figures_are_drawn(owner):
    ar = DoubleArithmetic()
    case = owner.propose((1.5, 10), random.Random(5))
    drawing = owner.figure(case, owner.solve(case, ar, owner.rule_set()).answers, ar)
    assert drawing.caption
    assert drawing.parts


def test_figures_of_refused_cases():
    ar = DoubleArithmetic()
    flat = EqualBridle(fmpq(1), 2, angle=Turn(fmpq(0)))
    short = HangingBridle(fmpq(1), fmpq(1), fmpq(1), fmpq(5), fmpq(2), fmpq(1))
    beside = TwoLegBridle(fmpq(1), fmpq(-1), fmpq(3), fmpq(2), fmpq(2))
    for owner, case in ((EQUAL, flat), (HANGING, short), (TWO, beside)):
        drawing = owner.figure(case, owner.solve(case, ar, owner.rule_set()).answers, ar)
        assert not any(getattr(p, "role", "") == "answer" for p in drawing.parts)


def test_filled_tables_have_the_rows_asked():
    case = TABLE.filled({"hitches": 7}, random.Random(0))
    assert len(case.hitches) == 7
    assert len(SPACE.filled({"legs": 3}, random.Random(0)).legs) == 3
    assert SPACE.filled({"legs": 5}, random.Random(0)) is None


def test_a_weight_below_one_lug_hangs_on_that_leg_alone():
    case = HangingBridle(fmpq(1), fmpq(13), fmpq(13), fmpq(21), fmpq(21), fmpq(0))
    asks = [View("tensions", key=leg) for leg in ("left", "right")]
    reference = prove(family("rigging/hanging-load"), case, asks)
    assert reference.residuals == "close"
    left, right = reference.outcomes.values()
    assert left.how == "zero" and right.enclosure.lower <= 1 <= right.enclosure.upper
