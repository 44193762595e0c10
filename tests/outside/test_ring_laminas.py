"""Plates cut from a ring against double quadrature in polar coordinates (scipy)."""

from __future__ import annotations

import math
import random

import pytest
from scipy.integrate import dblquad

from refsolver.arithmetic.double import DoubleArithmetic
from refsolver.statics.registry import family

FAMILY = family("centroids/ring-lamina")


def number(x):
    return int(x.p) / int(x.q)


@pytest.mark.parametrize("seed", range(40))
def test_against_double_quadrature(seed):
    case = FAMILY.propose((1, 20), random.Random(seed))
    a = number(case.reference)

    def density(x, y):
        return sum(
            number(t.coefficient)
            * (math.hypot(x, y) / a) ** t.power_r * (x / a) ** t.power_x * (y / a) ** t.power_y
            for t in case.density
        )  # fmt: skip

    start = 2 * math.pi * number(case.start.turns)
    end = start + 2 * math.pi * number(case.opening.turns)
    sums = {}
    weights = {"mass": (0, 0), "M_y": (1, 0), "M_x": (0, 1), "I_y": (2, 0), "I_x": (0, 2)}
    for name, (p, q) in weights.items():

        def weighed(r, phi, p=p, q=q):
            x, y = r * math.cos(phi), r * math.sin(phi)
            return density(x, y) * x**p * y**q * r

        sums[name] = dblquad(weighed, start, end, number(case.inner), number(case.outer))[0]
    answers = FAMILY.solve(case, DoubleArithmetic(), FAMILY.rule_set()).answers
    size = abs(sums["I_x"]) + abs(sums["I_y"])
    for name, value in sums.items():
        assert answers[name] == pytest.approx(value, rel=1e-7, abs=1e-8 * size)
