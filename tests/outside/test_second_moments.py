"""Principal axes, parallel axes and sections against numpy and a printed table.

The eigenvalues of a symmetric matrix (numpy.linalg.eigh), sums over a fine grid of points
carried by a rotation, and the values of rolled shapes as printed.
"""

from __future__ import annotations

import math
import random

import numpy as np
import pytest

from refsolver.arithmetic.double import DoubleArithmetic
from refsolver.statics.registry import family
from tests.shipped_cases import cases_of

AXES = family("second-moments/principal-axes")
PARALLEL = family("second-moments/parallel-axis")
SECTION = family("second-moments/section")
SYMMETRIC = family("second-moments/symmetric-section")


def number(x):
    return int(x.p) / int(x.q)


def answers_of(owner, case):
    return owner.solve(case, DoubleArithmetic(), owner.rule_set()).answers


@pytest.mark.parametrize("seed", range(200))
def test_principal_moments_are_eigenvalues(seed):
    case = AXES.propose((1.5, 1e4), random.Random(seed))
    x, y, xy = map(number, (case.i_x, case.i_y, case.i_xy))
    (smallest, largest), vectors = np.linalg.eigh([[x, -xy], [-xy, y]])
    answers = answers_of(AXES, case)
    assert answers["maximum"] == pytest.approx(largest, rel=1e-12)
    assert answers["minimum"] == pytest.approx(smallest, rel=1e-9)
    for name, vector in zip(("minor axis", "major axis"), vectors.T, strict=True):
        u, v = answers[name]
        assert u * vector[1] - v * vector[0] == pytest.approx(0, abs=1e-9 * math.hypot(u, v))


@pytest.mark.parametrize("seed", range(60))
def test_turned_moments_are_those_of_turned_points(seed):
    """Four points with unit areas that have the moments given (any such set will do)."""
    rng = random.Random(seed)
    case = AXES.propose((1.5, 100), rng)
    x, y, xy = map(number, (case.i_x, case.i_y, case.i_xy))
    root = np.linalg.cholesky([[y, xy], [xy, x]])  # sum of r r^T over its columns
    phi = 2 * math.pi * number(case.turn.turns)
    turned = np.array([[math.cos(phi), math.sin(phi)], [-math.sin(phi), math.cos(phi)]]) @ root
    answers = answers_of(AXES, case)
    assert answers["I_u"] == pytest.approx((turned[1] ** 2).sum(), rel=1e-10)
    assert answers["I_v"] == pytest.approx((turned[0] ** 2).sum(), rel=1e-10)
    assert answers["I_uv"] == pytest.approx((turned[0] * turned[1]).sum(), rel=1e-9, abs=1e-9)


@pytest.mark.parametrize("seed", range(60))
def test_parallel_axes_by_two_strips(seed):
    """A central moment is that of two halves of the area, root of I/A to either side."""
    case = PARALLEL.propose((1, 50), random.Random(seed))
    area, known, wanted = map(number, (case.area, case.known, case.wanted))
    answers = answers_of(PARALLEL, case)
    arm = math.sqrt(answers["centroidal"] / area)
    for distance, moment in ((known, number(case.moment)), (wanted, answers["moment"])):
        strips = area / 2 * ((distance + arm) ** 2 + (distance - arm) ** 2)
        assert moment == pytest.approx(strips, rel=1e-10)


@pytest.mark.parametrize("seed", range(12))
def test_sections_by_counting_small_squares(seed):
    """Rectangles and discs on a grid of 800 by 800; the grid is good to about 1 %."""
    rng = random.Random(seed)
    case = SECTION.filled({"rectangles": 1, "discs": 1}, rng)
    r, d = case.rectangles[0], case.discs[0]
    (x0, y0), b, h = map(number, r.corner), number(r.width), number(r.height)
    (cx, cy), radius = map(number, d.centre), number(d.radius)
    xs = np.linspace(-20, 20, 1601)[:-1] + 0.0125
    x, y = np.meshgrid(xs, xs)
    inside = 1.0 * ((x >= x0) & (x <= x0 + b) & (y >= y0) & (y <= y0 + h))
    inside += (x - cx) ** 2 + (y - cy) ** 2 <= radius**2
    area = inside.sum()
    mx, my = (inside * x).sum() / area, (inside * y).sum() / area
    u, v = x - mx, y - my
    cell = 0.025**2
    answers = answers_of(SECTION, case)
    assert answers["centroid"] == pytest.approx((mx, my), abs=0.05)
    matrix = [
        [(inside * v * v).sum() * cell, -(inside * u * v).sum() * cell],
        [-(inside * u * v).sum() * cell, (inside * u * u).sum() * cell],
    ]
    smallest, largest = np.linalg.eigvalsh(matrix)
    assert answers["maximum"] == pytest.approx(largest, rel=0.03)
    assert answers["minimum"] == pytest.approx(smallest, rel=0.03)
    low, high = min(y0, cy - radius), max(y0 + h, cy + radius)
    assert answers["c_top"] == pytest.approx(high - answers["centroid"][1], rel=1e-12)
    assert answers["c_bottom"] == pytest.approx(answers["centroid"][1] - low, rel=1e-12)


def test_rolled_shapes_as_printed():
    """AISC, Steel Construction Manual, W shapes: S and r follow from A, I and d to 1 %.

    The printed figures are themselves rounded to three; each case states what that allows.
    """
    cases = [case for case in cases_of(SYMMETRIC.name) if case.source.work == "aisc-w-shapes"]
    assert len(cases) == 24
    for case in cases:
        found = answers_of(SYMMETRIC, case.given)
        for printed in case.published:
            assert found[printed.view.answer] == pytest.approx(
                number(printed.literal.value), rel=0.01
            )
