"""Rods of varying mass per length against quadrature (scipy) and exact integrals (sympy)."""

from __future__ import annotations

import math
import random

import pytest
import sympy
from scipy.integrate import quad

from refsolver.arithmetic.double import DoubleArithmetic
from refsolver.quantities.views import View
from refsolver.statics.prover import prove
from refsolver.statics.registry import family

FAMILY = family("centroids/rod")
LAW = {
    "exponential": math.exp, "sine": math.sin, "cosine": math.cos, "logarithm": math.log,
}  # fmt: skip
SYMBOLIC = {
    "exponential": sympy.exp, "sine": sympy.sin, "cosine": sympy.cos, "logarithm": sympy.log,
}  # fmt: skip
NAMES = ("mass", "first moment", "moment of inertia")


def exact(x):
    return sympy.Rational(int(x.p), int(x.q))


@pytest.mark.parametrize("seed", range(60))
def test_against_quadrature(seed):
    case = FAMILY.propose((1, 20), random.Random(seed))
    start, end, a = (float(exact(x)) for x in (case.start, case.end, case.reference))

    def density(x):
        return sum(
            float(exact(t.coefficient))
            * ((x / a) ** t.power if t.law == "power" else LAW[t.law](x / a))
            for t in case.density
        )

    answers = FAMILY.solve(case, DoubleArithmetic(), FAMILY.rule_set()).answers
    for n, name in enumerate(NAMES):
        value = quad(lambda x, n=n: density(x) * x**n, start, end)[0]
        size = quad(lambda x, n=n: abs(density(x)) * x**n, start, end, limit=200)[0]
        assert answers[name] == pytest.approx(value, abs=1e-6 * size)


@pytest.mark.parametrize("seed", range(12))
def test_against_exact_integrals(seed):
    case = FAMILY.propose((1, 100), random.Random(500 + seed))
    x, a = sympy.Symbol("x", positive=True), exact(case.reference)
    density = sum(
        exact(t.coefficient) * ((x / a) ** t.power if t.law == "power" else SYMBOLIC[t.law](x / a))
        for t in case.density
    )
    views = [View(name) for name in NAMES]
    found = prove(FAMILY, case, views, digits=25, second_opinion=False).outcomes
    for n, view in enumerate(views):
        whole = sympy.integrate(sympy.expand(density * x**n), x)
        value = whole.subs(x, exact(case.end)) - whole.subs(x, exact(case.start))
        gap = exact(found[view].enclosure.middle) / sympy.N(value, 45) - 1
        assert abs(gap) < sympy.Float("1e-22", 40)
