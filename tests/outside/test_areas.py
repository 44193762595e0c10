"""Centroids and second moments of areas against numpy and against printed tables.

Gauss-Legendre quadrature along the boundary in the form that the package does not use
(strips y dx instead of x dy), the shoelace formula by numpy, and tables of shapes.
"""

from __future__ import annotations

import math
import random

import numpy as np
import pytest
from flint import fmpq

from refsolver.arithmetic.double import DoubleArithmetic
from refsolver.quantities.views import View
from refsolver.statics.areas.shapes import (
    QUADRANTS,
    AreaGivens,
    HalfEllipse,
    Polygon,
    Rectangle,
    Sector,
    Spandrel,
    Triangle,
    named_parts,
)
from refsolver.statics.prover import prove
from refsolver.statics.registry import family

CENTROID = family("centroids/composite-area")
MOMENTS = family("second-moments/composite")
NODES, WEIGHTS = np.polynomial.legendre.leggauss(64)
T, W = (NODES + 1) / 2, WEIGHTS / 2


def number(x):
    return int(x.p) / int(x.q)


def place(at):
    return np.array([number(x) for x in at])


def straight(corners):
    """Points and velocities along the sides through the corners, and back."""
    for a, b in zip(corners, [*corners[1:], corners[0]], strict=True):
        yield a[0] + (b[0] - a[0]) * T, a[1] + (b[1] - a[1]) * T, (b[0] - a[0]) + 0 * T


def elliptic(centre, a, b, start, sweep):
    angle = start + sweep * T
    x, y = centre[0] + a * np.cos(angle), centre[1] + b * np.sin(angle)
    return x, y, -a * sweep * np.sin(angle)


def edges(row):
    """The boundary of a part, in pieces (x, y, dx/dt), in either sense."""
    if isinstance(row, Rectangle):
        x, y = place(row.corner)
        b, h = number(row.width), number(row.height)
        return straight([(x, y), (x + b, y), (x + b, y + h), (x, y + h)])
    if isinstance(row, Triangle):
        return straight([place(p) for p in (row.a, row.b, row.c)])
    if isinstance(row, Polygon):
        return straight([place(c.at) for c in row.corners])
    if isinstance(row, Spandrel):
        return spandrel(row)
    return rounded(row)


def spandrel(row):
    (x, y), signs = place(row.vertex), QUADRANTS[row.quadrant]
    b, h = number(row.width) * signs[0], number(row.height) * signs[1]
    corner = (x + b, y) if row.side == "under" else (x, y + h)
    pieces = list(straight([(x, y), corner, (x + b, y + h)]))[:2]
    back = 1 - T
    return [*pieces, (x + b * back, y + h * back**row.power, -b + 0 * T)]


def rounded(row):
    centre = place(row.centre)
    a = number(row.radius if hasattr(row, "radius") else row.a)
    b = number(row.radius if hasattr(row, "radius") else row.b)
    if isinstance(row, Sector):
        start, sweep = (2 * math.pi * number(x.turns) for x in (row.start, row.opening))
    elif hasattr(row, "quadrant"):
        start, sweep = list(QUADRANTS).index(row.quadrant) * math.pi / 2, math.pi / 2
    elif hasattr(row, "bulges"):
        start = {"+y": 0, "-x": 1, "-y": 2, "+x": 3}[row.bulges] * math.pi / 2
        sweep = math.pi
    else:
        return [elliptic(centre, a, b, 0, 2 * math.pi)]
    ends = [
        (centre[0] + a * math.cos(t), centre[1] + b * math.sin(t)) for t in (start, start + sweep)
    ]
    sides = list(straight([ends[1], centre, ends[0]]))[:2]
    return [elliptic(centre, a, b, start, sweep), *sides]


def integrals(row):
    """Area, int x, int y, int y^2, int x^2, int x y from strips under the boundary."""
    found = np.zeros(6)
    for x, y, dx in edges(row):
        strips = [y, x * y, y * y / 2, y**3 / 3, x * x * y, x * y * y / 2]
        found -= np.array([np.sum(W * s * dx) for s in strips])
    return found * np.sign(found[0])


@pytest.mark.parametrize("seed", range(60))
def test_random_areas_against_quadrature_along_their_boundary(seed):
    case = MOMENTS.propose((1, 2.5), random.Random(seed))
    parts = [sign * integrals(row) for _, row, sign in named_parts(case)]
    area, qx, qy, i_x, i_y, i_xy = np.sum(parts, axis=0)
    x, y = qx / area, qy / area
    expected = {
        "area": area, "I_x": i_x, "I_y": i_y, "I_xy": i_xy, "polar": i_x + i_y,
        "k_x": math.sqrt(i_x / area), "centroidal I_x": i_x - area * y * y,
        "centroidal I_y": i_y - area * x * x, "centroidal I_xy": i_xy - area * x * y,
        "centroidal polar k": math.sqrt((i_x + i_y) / area - x * x - y * y),
    }  # fmt: skip
    views = [View(name) for name in expected]
    found = prove(MOMENTS, case, views, digits=20, second_opinion=False).outcomes
    size = max(abs(i_x), abs(i_y))
    for view in views:
        slack = 1e-11 * (size if "I_" in view.answer or "polar" in view.answer else 1)
        got = float(found[view].ball.mid())
        assert got == pytest.approx(expected[view.answer], rel=1e-10, abs=slack)
    answers = CENTROID.solve(case, DoubleArithmetic(), CENTROID.rule_set()).answers
    assert answers["centroid"] == pytest.approx((x, y), rel=1e-10, abs=1e-10)
    assert (answers["Q_y"], answers["Q_x"]) == pytest.approx((qx, qy), rel=1e-10, abs=1e-9)


@pytest.mark.parametrize("seed", range(40))
def test_polygons_against_the_shoelace_formula(seed):
    rng = random.Random(seed)
    case = CENTROID.filled({"polygons": 1}, rng)
    points = np.array([place(c.at) for c in case.polygons[0].corners])
    x, y = points.T
    u, v = np.roll(points, -1, axis=0).T
    k = x * v - u * y
    area = k.sum() / 2
    centre = (((x + u) * k).sum() / (6 * area), ((y + v) * k).sum() / (6 * area))
    answers = CENTROID.solve(case, DoubleArithmetic(), CENTROID.rule_set()).answers
    assert answers["area"] == pytest.approx(abs(area), rel=1e-12)
    assert answers["centroid"] == pytest.approx(centre, rel=1e-9, abs=1e-9)
    product = ((x * v + 2 * x * y + 2 * u * v + u * y) * k).sum() / 24 * np.sign(area)
    moments = MOMENTS.solve(case, DoubleArithmetic(), MOMENTS.rule_set()).answers
    assert moments["I_xy"] == pytest.approx(product, rel=1e-9, abs=1e-7)


ZERO = (fmpq(0), fmpq(0))


@pytest.mark.parametrize(
    ("part", "expected"),
    [
        # Baker and Haynes, "Engineering Statics", chapter 7, area of a general spandrel and
        # semi-parabola: a b/3; 2 a b/3 at (3 a/8, 3 b/5).
        (Spandrel(ZERO, fmpq(8), fmpq(5)), {"area": 40 / 3}),
        (
            Spandrel(ZERO, fmpq(8), fmpq(5), side="above"),
            {"area": 80 / 3, "Q_x": 2 * 25 * 8 / 5, "Q_y": 5 * 64 / 4},
        ),
        # OpenStax Calculus, volume 2, section 2.6, exercise: the half ellipse 2 by 3.
        (HalfEllipse(ZERO, fmpq(2), fmpq(3)), {"area": 3 * math.pi, "Q_x": 12, "Q_y": 0}),
    ],
)
def test_printed_tables_of_shapes(part, expected):
    table = "spandrels" if isinstance(part, Spandrel) else "half_ellipses"
    case = AreaGivens(**{table: (part,)})
    answers = CENTROID.solve(case, DoubleArithmetic(), CENTROID.rule_set()).answers
    for name, value in expected.items():
        assert answers[name] == pytest.approx(value, rel=1e-13, abs=1e-12)
