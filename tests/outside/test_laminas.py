"""Plates of varying mass per area against double quadrature (scipy)."""

from __future__ import annotations

import random

import pytest
from scipy.integrate import dblquad

from refsolver.arithmetic.double import DoubleArithmetic
from refsolver.statics.registry import family

FAMILY = family("centroids/lamina")


def number(x):
    return int(x.p) / int(x.q)


@pytest.mark.parametrize("seed", range(40))
def test_against_double_quadrature(seed):
    case = FAMILY.propose((1, 20), random.Random(seed))
    a = number(case.reference)

    def edge(terms, x):
        return sum(number(t.coefficient) * (x / a) ** number(t.power) for t in terms)

    def density(x, y):
        return sum(
            number(t.coefficient) * (x / a) ** number(t.power_x) * (y / a) ** number(t.power_y)
            for t in case.density
        )

    (region,) = case.regions
    sums = {}
    weights = {"mass": (0, 0), "M_y": (1, 0), "M_x": (0, 1), "I_y": (2, 0), "I_x": (0, 2)}
    for name, (p, q) in weights.items():
        sums[name] = dblquad(
            lambda y, x, p=p, q=q: density(x, y) * x**p * y**q,
            number(region.start), number(region.end),
            lambda x: edge(region.lower, x), lambda x: edge(region.upper, x),
        )[0]  # fmt: skip
    answers = FAMILY.solve(case, DoubleArithmetic(), FAMILY.rule_set()).answers
    for name, value in sums.items():
        assert answers[name] == pytest.approx(value, rel=1e-7)
    place = (sums["M_y"] / sums["mass"], sums["M_x"] / sums["mass"])
    assert answers["centre"] == pytest.approx(place, rel=1e-7)
    assert answers["k_x"] == pytest.approx((sums["I_x"] / sums["mass"]) ** 0.5, rel=1e-7)
