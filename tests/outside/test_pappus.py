"""Swept volumes and surfaces against quadrature (scipy) in another order of integration."""

from __future__ import annotations

import math
import random

import pytest
from scipy.integrate import dblquad, quad

from refsolver.arithmetic.double import DoubleArithmetic
from refsolver.statics.chapters.centroids.lines import Segment, named_pieces
from refsolver.statics.registry import family

VOLUME = family("centroids/pappus-volume")
SURFACE = family("centroids/pappus-surface")
SOLID = family("centroids/solid-of-revolution")


def number(x):
    return int(x.p) / int(x.q)


def answers_of(owner, case):
    return owner.solve(case, DoubleArithmetic(), owner.rule_set()).answers


@pytest.mark.parametrize("seed", range(40))
def test_boxes_and_their_holes_by_shells(seed):
    case = VOLUME.propose((5, 1e4), random.Random(seed))
    index = 1 if case.axis == "x" else 0
    total = size = 0.0
    for row in case.rectangles:
        low = number(row.corner[index])
        sides = number(row.width), number(row.height)
        shell = quad(lambda r, s=sides[1 - index]: s * r, low, low + sides[index])[0]
        total += -shell if row.kind == "hole" else shell
        size += shell
    turn = 2 * math.pi * number(case.turn.turns)
    assert answers_of(VOLUME, case)["volume"] == pytest.approx(turn * total, abs=1e-9 * turn * size)


@pytest.mark.parametrize("seed", range(40))
def test_surfaces_of_frustums_and_zones(seed):
    """pi (r + R) s of every straight piece; arcs by quadrature."""
    case = SURFACE.propose((1, 10), random.Random(seed))
    index = 1 if case.axis == "x" else 0
    total = 0.0
    for _, row in named_pieces(case):
        if isinstance(row, Segment):
            a, b = ([number(x) for x in end] for end in (row.start, row.end))
            total += (a[index] + b[index]) / 2 * math.dist(a, b)
            continue
        r, centre = number(row.radius), number(row.centre[index])
        start, opening = (2 * math.pi * number(x.turns) for x in (row.start, row.opening))
        part = math.sin if index else math.cos
        total += quad(lambda t, r=r, c=centre, f=part: r * (c + r * f(t)), start, start + opening)[
            0
        ]
    turn = 2 * math.pi * number(case.turn.turns)
    assert answers_of(SURFACE, case)["surface"] == pytest.approx(turn * total, rel=1e-9)


@pytest.mark.parametrize("seed", range(30))
def test_solids_of_revolution_by_shells(seed):
    case = SOLID.propose((1, 10), random.Random(seed))
    (region,), a = case.regions, number(case.reference)

    def edge(terms, x):
        return sum(number(t.coefficient) * (x / a) ** number(t.power) for t in terms)

    found = [
        dblquad(
            lambda r, x, p=p: 2 * math.pi * r * x**p,
            number(region.start), number(region.end),
            lambda x: edge(region.lower, x), lambda x: edge(region.upper, x),
        )[0]
        for p in (0, 1)
    ]  # fmt: skip
    answers = answers_of(SOLID, case)
    assert answers["volume"] == pytest.approx(found[0], rel=1e-7)
    assert answers["centroid"] == pytest.approx(found[1] / found[0], rel=1e-7)
