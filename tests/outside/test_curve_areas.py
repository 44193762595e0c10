"""Areas between curves against sympy (exact integrals in x) and scipy (double quadrature)."""

from __future__ import annotations

import random

import pytest
import sympy
from scipy.integrate import dblquad

from refsolver.quantities.views import View
from refsolver.statics.prover import prove
from refsolver.statics.registry import family

MOMENTS = family("second-moments/between-curves")
CENTROID = family("centroids/between-curves")
X, Y = sympy.symbols("x y", positive=True)
NAMES = ("area", "I_x", "I_y", "I_xy")


def exact(x):
    return sympy.Rational(int(x.p), int(x.q))


def edge(terms, reference):
    return sum((exact(t.coefficient) * (X / reference) ** exact(t.power) for t in terms), 0 * X)


def expected(case):
    """Integrated over y first, then over x: no strips with a centre of their own."""
    sums = dict.fromkeys((*NAMES, "x", "y"), sympy.Integer(0))
    weights = {"area": 1, "I_x": Y**2, "I_y": X**2, "I_xy": X * Y, "x": X, "y": Y}
    for region in case.regions:
        low, high = (edge(t, exact(case.reference)) for t in (region.lower, region.upper))
        for name, weight in weights.items():
            inner = sympy.integrate(weight, Y)
            inner = sympy.expand(inner.subs(Y, high) - inner.subs(Y, low))
            whole = sum(sympy.integrate(term, X) for term in sympy.Add.make_args(inner))
            sums[name] += whole.subs(X, exact(region.end)) - whole.subs(X, exact(region.start))
    return sums


@pytest.mark.parametrize("seed", range(30))
def test_against_exact_integrals(seed):
    case = MOMENTS.propose((1, 1e3), random.Random(seed))
    sums = expected(case)
    views = [View(n) for n in NAMES]
    found = prove(MOMENTS, case, views, digits=25, second_opinion=False).outcomes
    for view in views:
        value = sympy.N(sums[view.answer], 40)
        middle = found[view].enclosure.middle
        assert abs(exact(middle) / value - 1) < sympy.Float("1e-22", 30)
    places = [View("centroid", "coordinate", along=a) for a in ("+x", "+y")]
    found = prove(CENTROID, case, places, digits=25, second_opinion=False).outcomes
    for view, name in zip(places, ("x", "y"), strict=True):
        value = sympy.N(sums[name] / sums["area"], 40)
        assert abs(exact(found[view].enclosure.middle) - value) < sympy.Float("1e-20", 30)


@pytest.mark.parametrize("seed", range(20))
def test_against_double_quadrature(seed):
    case = MOMENTS.propose((1, 5), random.Random(1000 + seed))
    region = case.regions[0]
    low, high = (
        sympy.lambdify(X, edge(t, exact(case.reference)), "math")
        for t in (region.lower, region.upper)
    )
    ends = float(exact(region.start)), float(exact(region.end))
    views = [View(n) for n in NAMES]
    found = prove(MOMENTS, case, views, digits=20, second_opinion=False).outcomes
    weights = (lambda y, x: 1, lambda y, x: y * y, lambda y, x: x * x, lambda y, x: x * y)
    for view, weight in zip(views, weights, strict=True):
        value, error = dblquad(weight, *ends, low, high)
        assert float(found[view].ball.mid()) == pytest.approx(value, rel=1e-8, abs=10 * error)
