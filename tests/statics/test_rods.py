"""Rods of varying mass per length: cutting, adding, closed forms; refusals; mistakes."""

from __future__ import annotations

import random

import attrs
import pytest
from flint import fmpq
from hypothesis import given, settings
from hypothesis import strategies as st

from refsolver.arithmetic.double import DoubleArithmetic
from refsolver.quantities.views import View
from refsolver.statics.chapters.centroids.laws import LAWS
from refsolver.statics.chapters.centroids.rods import Rod, RodTerm
from refsolver.statics.prover import asks_of, prove
from refsolver.statics.reference import Proven
from refsolver.statics.registry import family

FAMILY = family("centroids/rod")
SUMS = [View(n) for n in ("mass", "first moment", "moment of inertia")]
ONE = fmpq(1)
TINY = fmpq(1, 10**20)

sizes = st.integers(1, 9).map(fmpq)
laws = st.sampled_from(LAWS)


def outcomes(case, *views):
    reference = prove(FAMILY, case, list(views), strict=True)
    assert reference.residuals == "close", reference.residuals
    return [reference.outcomes[v] for v in views]


def values(case, *views):
    found = outcomes(case, *views)
    assert all(isinstance(x, Proven) for x in found), found
    return [x.enclosure.middle for x in found]


@given(laws, sizes, sizes, st.integers(1, 9))
@settings(max_examples=20, deadline=None)
def test_a_rod_cut_in_two_is_the_same_rod(law, start, span, tenths):
    whole = Rod(start, start + span, (RodTerm(ONE, law, 2 if law == "power" else 0),), fmpq(5))
    cut = start + span * tenths / 10
    parts = attrs.evolve(whole, end=cut), attrs.evolve(whole, start=cut)
    sums = zip(*(values(rod, *SUMS) for rod in (*parts, whole)), strict=True)
    assert all(abs(a + b - x) <= (abs(a) + abs(b)) / 10**20 for a, b, x in sums)


@given(st.integers(0, 5), sizes)
@settings(max_examples=15, deadline=None)
def test_a_power_has_its_centre_at_n_plus_one_over_n_plus_two(n, length):
    """rho = c x^n from 0 to L: L (n + 1)/(n + 2) (the general spandrel; by integration)."""
    case = Rod(fmpq(0), length, (RodTerm(ONE, power=n),), ONE)
    (centre,) = values(case, View("centre"))
    assert abs(centre - length * fmpq(n + 1, n + 2)) <= TINY


def test_refusals():
    odd = Rod(-ONE, ONE, (RodTerm(ONE, power=1),), ONE)
    found = outcomes(odd, View("mass"), View("centre"), View("radius of gyration"))
    assert found[0].how == "zero"
    assert [x.reason for x in found[1:]] == ["no point", "not defined"]
    with pytest.raises(ValueError, match="end beyond its start"):
        Rod(ONE, ONE, (RodTerm(ONE),), ONE)
    with pytest.raises(ValueError, match="one term of the density"):
        Rod(fmpq(0), ONE, (), ONE)
    with pytest.raises(ValueError, match=r"right of x = 0"):
        Rod(fmpq(0), ONE, (RodTerm(ONE, "logarithm"),), ONE)


@pytest.mark.parametrize("kappa", [(1, 2), (1e3, 1e4), (1e9, 1e10)])
def test_generated_cases_are_proven_strictly_and_drawn(kappa):
    for seed in range(6):
        case = FAMILY.propose(kappa, random.Random(seed))
        reference = prove(FAMILY, case, asks_of(FAMILY, case), strict=True)
        outcome = reference.outcomes
        assert all(isinstance(outcome[View(n, "value")], Proven) for n in ("mass", "centre"))
        assert reference.residuals == "close", reference.residuals
        assert reference.second_opinion == "agrees"
        ar = DoubleArithmetic(reference.decisions)
        drawing = FAMILY.figure(case, FAMILY.solve(case, ar, FAMILY.rule_set()).answers, ar)
        assert drawing.caption and drawing.parts


def test_every_filled_row_matters():
    case = FAMILY.filled({"density": 4}, random.Random(3))
    for i in range(4):
        less = attrs.evolve(case, density=case.density[:i] + case.density[i + 1 :])
        assert values(less, View("mass")) != values(case, View("mass"))
    (one,) = FAMILY.filled({"density": 1}, random.Random(3)).density
    assert one.law == "power"


def test_who_squares_the_distance_takes_the_moment_of_inertia():
    mistake = next(m for m in FAMILY.mistakes if m.name == "distance squared")
    case, ar = FAMILY.filled({"density": 2}, random.Random(4)), DoubleArithmetic()
    right = FAMILY.solve(case, ar, FAMILY.rule_set()).answers
    wrong = FAMILY.solve(case, ar, FAMILY.rule_set(mistake.rules)).answers
    assert wrong["mass"] == right["mass"]
    reference = float(ar.bring(case.reference))
    assert wrong["first moment"] * reference == pytest.approx(right["moment of inertia"])
