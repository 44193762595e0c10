"""Spread loads against sympy (exact integrals), scipy (quadrature) and handbook formulas."""

from __future__ import annotations

import random

import pytest
import sympy
from flint import fmpq
from scipy.integrate import quad

from refsolver.quantities.views import View
from refsolver.statics.chapters.distributed_loads.linear_loads import LinearLoads, LinearStretch
from refsolver.statics.prover import prove
from refsolver.statics.registry import family

LINEAR = family("distributed-loads/line-load")
POLYNOMIAL = family("distributed-loads/polynomial")
AREA = family("distributed-loads/area-load")
X = sympy.Symbol("x")


def exact(x):
    return sympy.Rational(int(x.p), int(x.q))


def formula(stretch):
    """The load per length of a stretch as an expression in x."""
    if isinstance(stretch, LinearStretch):
        slope = (exact(stretch.last) - exact(stretch.first)) / (
            exact(stretch.end) - exact(stretch.start)
        )
        return exact(stretch.first) + slope * (X - exact(stretch.start))
    ratio = (X - exact(stretch.zero)) / exact(stretch.reference)
    return sum((exact(t.load) * ratio**t.power for t in stretch.terms), sympy.Integer(0))


def rational(x):
    return fmpq(int(x.p), int(x.q))


@pytest.mark.parametrize("owner", [LINEAR, POLYNOMIAL], ids=lambda f: f.name)
def test_loads_against_exact_integrals(owner):
    for seed in range(10):
        case = owner.propose((1, 1000), random.Random(seed))
        force = moment = sympy.Integer(0)
        for stretch in case.stretches:
            start, end = exact(stretch.start), exact(stretch.end)
            w = sympy.Poly(formula(stretch), X)
            for_moment = (w * sympy.Poly(X - exact(case.about), X)).integrate(X)
            force += w.integrate(X).eval(end) - w.integrate(X).eval(start)
            moment += for_moment.eval(end) - for_moment.eval(start)
        views = [View("resultant"), View("moment"), View("position")]
        expected = [force, moment, exact(case.about) + moment / force]
        outcomes = prove(owner, case, views).outcomes
        for view, value in zip(views, expected, strict=True):
            enclosure = outcomes[view].enclosure
            assert enclosure.lower <= rational(value) <= enclosure.upper


@pytest.mark.parametrize("owner", [LINEAR, POLYNOMIAL], ids=lambda f: f.name)
def test_loads_against_quadrature(owner):
    """Adaptive quadrature of scipy, within its own error estimate."""
    for seed in range(100, 160):
        case = owner.propose((1, 10), random.Random(seed))
        force = slack = 0.0
        for stretch in case.stretches:
            w = sympy.lambdify(X, formula(stretch), "math")
            part, error = quad(w, float(exact(stretch.start)), float(exact(stretch.end)))
            force, slack = force + part, slack + error + 1e-12 * abs(part)
        (outcome,) = prove(
            owner, case, [View("resultant")], digits=15, second_opinion=False
        ).outcomes.values()
        assert abs(float(outcome.ball.mid()) - force) <= slack


@pytest.mark.parametrize(("a", "b"), [(3, 7), (7, 3), (0, 5), (5, 0), (4, 4)])
def test_the_centroid_of_a_trapezoid(a, b):
    """x = L (a + 2 b) / (3 (a + b)): the centroid of a trapezoid with parallel sides a, b

    (NIST and CRC handbook tables of plane figures; the formula from memory).
    """
    case = LinearLoads((LinearStretch(fmpq(0), fmpq(6), fmpq(a), fmpq(b)),))
    (outcome,) = prove(LINEAR, case, [View("position")]).outcomes.values()
    place = fmpq(6 * (a + 2 * b), 3 * (a + b))
    assert outcome.enclosure.lower <= place <= outcome.enclosure.upper


def test_area_loads_against_fractions():
    for seed in range(15):
        case = AREA.propose((1, 10), random.Random(seed))
        total = sum(
            sum(exact(p) for p in patch.loads) * exact(patch.length) * exact(patch.width)
            for patch in case.patches
        )
        (outcome,) = prove(AREA, case, [View("total")]).outcomes.values()
        assert outcome.enclosure.lower <= rational(total) <= outcome.enclosure.upper
