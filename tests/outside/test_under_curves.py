"""Areas under elementary curves against quadrature (scipy)."""

from __future__ import annotations

import math
import random

import pytest
from scipy.integrate import dblquad

from refsolver.arithmetic.double import DoubleArithmetic
from refsolver.statics.registry import family

FAMILY = family("centroids/under-curve")
LAW = {
    "exponential": math.exp, "sine": math.sin, "cosine": math.cos, "logarithm": math.log,
}  # fmt: skip


def number(x):
    return int(x.p) / int(x.q)


@pytest.mark.parametrize("seed", range(60))
def test_against_double_quadrature(seed):
    case = FAMILY.propose((1, 10), random.Random(seed))
    start, end, h, a = map(number, (case.start, case.end, case.height, case.reference))

    def curve(x):
        return h * ((x / a) ** case.power if case.law == "power" else LAW[case.law](x / a))

    weights = (lambda y, x: 1, lambda y, x: y, lambda y, x: x)
    sums = [dblquad(w, start, end, 0, curve)[0] for w in weights]
    answers = FAMILY.solve(case, DoubleArithmetic(), FAMILY.rule_set()).answers
    found = [answers[n] for n in ("area", "Q_x", "Q_y")]
    assert found == pytest.approx(sums, rel=1e-6, abs=1e-7 * (1 + sums[0]))
    place = (sums[2] / sums[0], sums[1] / sums[0])
    assert answers["centroid"] == pytest.approx(place, rel=1e-5, abs=1e-6)
