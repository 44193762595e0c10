"""Where an answer ends: at the border itself and a little to either side of it, by hand.

The cases of the catalogue meet the inside of these borders only, or one of two alike.
"""

from __future__ import annotations

import random

import attrs
import pytest
from flint import fmpq

from refsolver.arithmetic.exact import Slope, Turn
from refsolver.quantities.kinds import NoAnswer
from refsolver.quantities.views import View
from refsolver.statics.prover import prove
from refsolver.statics.reference import Proven
from refsolver.statics.registry import families

HAIR = fmpq(1, 10**12)


def degrees(value):
    return Turn(fmpq(value) / 360)


def of(family, name, **own):
    """The outcome of one answer; givens that are not stated are drawn."""
    owner = families()[family]
    given = owner.propose((1.0, 10.0), random.Random(family))
    given = attrs.evolve(
        given, **{key: fmpq(x) if isinstance(x, int) else x for key, x in own.items()}
    )
    view = name if isinstance(name, View) else View(name)
    return prove(owner, given, [view], digits=15).outcomes[view]


def refused(outcome, reason):
    assert isinstance(outcome, NoAnswer) and outcome.reason == reason, outcome


WEIGHTS = ("left", "right", "load")


@pytest.mark.parametrize("heaviest", WEIGHTS)
def test_three_weights_balance_where_they_have_a_triangle(heaviest):
    """Of 30 and 40 and a third, which may be anything less than 70 and more than 10."""
    others = dict(zip([w for w in WEIGHTS if w != heaviest], (30, 40), strict=True))
    own = others | {"span": 6, "rise": 0}
    for size, balance in ((70 - HAIR, True), (fmpq(70), False), (70 + HAIR, False)):
        outcome = of(
            "particle-equilibrium/two-counterweights", "between", **own, **{heaviest: size}
        )
        if balance:
            assert isinstance(outcome, Proven)
        else:
            refused(outcome, "no solution")


@pytest.mark.parametrize(
    ("angle", "is_one"),
    [(0, False), (HAIR, True), (90 - HAIR, True), (90, False), (90 + HAIR, False), (170, False)],
)
def test_a_wedge_has_an_acute_angle(angle, is_one):
    smooth = dict.fromkeys(("friction", "floor_friction", "wall_friction", "wedge_weight"), 0)
    outcome = of("friction/wedge", "force to drive in", wedge_angle=degrees(angle), **smooth)
    if is_one:
        assert isinstance(outcome, Proven)
    else:
        refused(outcome, "not defined")


@pytest.mark.parametrize(
    ("slope", "leans"), [(0, False), (1, True), (90, True), (90 + HAIR, False), (100, False)]
)
def test_a_ladder_leans_from_level_to_upright(slope, leans):
    outcome = of("friction/ladder", "wall normal", slope=degrees(slope), wall_friction=0)
    if leans:
        assert isinstance(outcome, Proven)
        assert outcome.ball.is_zero() == (slope == 90)  # upright it needs no wall
    else:
        refused(outcome, "not defined")


def test_a_stack_at_the_angle_of_repose_still_stays():
    """A slope of 3 in 4 and a coefficient of 3/4: no force is needed to start it."""
    own = {"incline": Slope(fmpq(3), fmpq(4)), "pull_angle": degrees(0), "between": 2}
    for below, stays in ((fmpq(3, 4), True), (fmpq(3, 4) - HAIR, False), (1, True)):
        outcome = of("friction/stacked-blocks", "force to move", below=below, **own)
        if stays:
            assert isinstance(outcome, Proven)
            assert outcome.ball.is_zero() == (below != 1)
        else:
            refused(outcome, "not defined")


@pytest.mark.parametrize(("below", "hangs"), [(-4, False), (-4 + HAIR, True), (0, True), (5, True)])
def test_a_load_hangs_with_its_centre_of_gravity_below_the_hook(below, hangs):
    """Legs of 5 over lugs 6 apart: the hook stands 4 above the lugs."""
    outcome = of(
        "rigging/hanging-load", "tilt", left_leg=5, right_leg=5, spacing=6, along=3,
        below=below,
    )  # fmt: skip
    if hangs:
        assert isinstance(outcome, Proven)
    else:
        refused(outcome, "no solution")


def test_either_leg_goes_slack_where_the_centre_of_gravity_is_beyond_its_lug():
    """On the line of the lugs, legs alike: it hangs askew, and mirrored it hangs mirrored."""
    own = {"left_leg": 5, "right_leg": 5, "spacing": 6, "below": 3}
    for along in (-2, 0, 1, 5, 6, 8):
        one, other = (
            of("rigging/hanging-load", View("tensions", key=key), along=place, **own)
            for key, place in (("left", along), ("right", 6 - along))
        )
        if isinstance(one, NoAnswer):
            assert isinstance(other, NoAnswer) and one.reason == other.reason
        else:
            assert one.ball.overlaps(other.ball)
