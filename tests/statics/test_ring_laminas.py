"""Plates cut from a ring: turning, cutting; refusals; mistakes."""

from __future__ import annotations

import random

import attrs
import pytest
from flint import fmpq
from hypothesis import given, settings
from hypothesis import strategies as st

from refsolver.arithmetic.double import DoubleArithmetic
from refsolver.arithmetic.exact import Turn
from refsolver.quantities.views import View
from refsolver.statics.chapters.centroids.ring_laminas import PolarTerm, RingLamina
from refsolver.statics.prover import asks_of, prove
from refsolver.statics.reference import Proven
from refsolver.statics.registry import family

FAMILY = family("centroids/ring-lamina")
SUMS = [View(n) for n in ("mass", "M_x", "M_y", "I_x", "I_y")]
ONE = fmpq(1)


def outcomes(case, *views):
    reference = prove(FAMILY, case, list(views), strict=True)
    assert reference.residuals == "close", reference.residuals
    return [reference.outcomes[v] for v in views]


def values(case, *views):
    found = outcomes(case, *views)
    assert all(isinstance(x, Proven) for x in found), found
    return [x.enclosure.middle for x in found]


@given(st.integers(0, 10**6), st.integers(1, 9))
@settings(max_examples=10, deadline=None)
def test_a_plate_cut_along_a_radius_or_an_arc(seed, tenths):
    whole = FAMILY.propose((1.5, 5), random.Random(seed))
    share = fmpq(tenths, 10)
    part = Turn(whole.opening.turns * share)
    rest = Turn(whole.opening.turns - part.turns)
    middle = whole.inner + (whole.outer - whole.inner) * share
    cuts = (
        (
            attrs.evolve(whole, opening=part),
            attrs.evolve(whole, start=Turn(whole.start.turns + part.turns), opening=rest),
        ),
        (attrs.evolve(whole, outer=middle), attrs.evolve(whole, inner=middle)),
    )
    found = values(whole, *SUMS)
    for one, other in cuts:
        sums = zip(values(one, *SUMS), values(other, *SUMS), found, strict=True)
        assert all(abs(a + b - x) <= (abs(a) + abs(b)) / 10**20 for a, b, x in sums)


@given(st.integers(1, 12), st.integers(-180, 180), st.integers(1, 6))
@settings(max_examples=10, deadline=None)
def test_the_polar_moment_does_not_turn(radius, degrees, power):
    """2 pi c R^(n + 4)/(n + 4) for a density c r^n, whatever the first side."""
    turned = RingLamina(
        fmpq(radius), (PolarTerm(ONE, power),), ONE, start=Turn(fmpq(degrees, 360)),
        opening=Turn(fmpq(1, 2)),
    )  # fmt: skip
    ratio = values(turned, View("polar"))[0] * (power + 4) / fmpq(radius) ** (power + 4)
    mass = values(turned, View("mass"))[0] * (power + 2) / fmpq(radius) ** (power + 2)
    assert abs(ratio - mass) <= fmpq(1, 10**20)


def test_refusals():
    case = RingLamina(ONE, (PolarTerm(ONE, 0, 1),), ONE)
    found = outcomes(case, View("mass"), View("centre", "distance"), View("polar k"))
    assert found[0].how == "zero"
    assert [x.reason for x in found[1:]] == ["no point", "not defined"]
    with pytest.raises(ValueError, match="less than the outer"):
        RingLamina(ONE, (PolarTerm(ONE),), ONE, inner=ONE)
    with pytest.raises(ValueError, match="one term of the density"):
        RingLamina(ONE, (), ONE)


@pytest.mark.parametrize("kappa", [(1, 2), (1e3, 1e4), (1e9, 1e10)])
def test_generated_cases_are_proven_strictly_and_drawn(kappa):
    for seed in range(4):
        case = FAMILY.propose(kappa, random.Random(seed))
        reference = prove(FAMILY, case, asks_of(FAMILY, case), strict=True)
        assert all(isinstance(x, Proven) for x in reference.outcomes.values())
        assert reference.residuals == "close"
        ar = DoubleArithmetic(reference.decisions)
        drawing = FAMILY.figure(case, FAMILY.solve(case, ar, FAMILY.rule_set()).answers, ar)
        assert drawing.caption and drawing.parts


def test_every_filled_row_matters():
    case = FAMILY.filled({"density": 4}, random.Random(3))
    for i in range(4):
        less = attrs.evolve(case, density=case.density[:i] + case.density[i + 1 :])
        assert values(less, View("mass")) != values(case, View("mass"))
