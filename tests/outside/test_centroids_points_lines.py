"""Centres of point masses and of wires against numpy averages and scipy quadrature."""

from __future__ import annotations

import math
import random

import numpy as np
import pytest
from scipy.integrate import quad

from refsolver.arithmetic.double import DoubleArithmetic
from refsolver.statics.areas.shapes import QUADRANTS
from refsolver.statics.chapters.centroids.lines import ArcPiece, Segment, named_pieces
from refsolver.statics.registry import family

LINE = family("centroids/composite-line")
WIRE = family("centroids/line-in-space")


def number(x):
    return int(x.p) / int(x.q)


def numbers(at):
    return np.array([number(x) for x in at])


def answers_of(owner, case):
    return owner.solve(case, DoubleArithmetic(), owner.rule_set()).answers


@pytest.mark.parametrize("space", ["plane", "space"])
def test_point_masses_are_weighted_averages(space):
    owner = family(f"centroids/point-masses-{space}")
    for seed in range(100):
        case = owner.propose((1, 1e3), random.Random(seed))
        places = np.array([numbers(m.at) for m in case.masses])
        weights = [number(m.mass) for m in case.masses]
        centre = np.average(places, axis=0, weights=weights)
        assert answers_of(owner, case)["centre"] == pytest.approx(centre, rel=1e-9, abs=1e-12)


def path(row):
    """A point of the piece for t from 0 to 1."""
    if isinstance(row, Segment):
        a, b = numbers(row.start), numbers(row.end)
        return lambda t: a + (b - a) * t
    if isinstance(row, ArcPiece):
        centre, r = numbers(row.centre), number(row.radius)
        start, opening = (2 * math.pi * number(x.turns) for x in (row.start, row.opening))
        angle = lambda t: start + opening * t  # noqa: E731
        return lambda t: centre + r * np.array([math.cos(angle(t)), math.sin(angle(t))])
    w, h, signs = number(row.width), number(row.height), np.array(QUADRANTS[row.quadrant])
    vertex = numbers(row.vertex)
    if row.axis == "y":
        return lambda t: vertex + signs * [w * t, h * t * t]
    return lambda t: vertex + signs * [h * t * t, w * t]


def speed(point, t):
    step = 1e-5
    return np.linalg.norm(point(t + step) - point(t - step)) / (2 * step)


def integrated(point):
    """Length, int x ds, int y ds."""
    weights = (lambda p: 1.0, lambda p: p[0], lambda p: p[1])
    return np.array([quad(lambda t, w=w: w(point(t)) * speed(point, t), 0, 1)[0] for w in weights])


@pytest.mark.parametrize("seed", range(40))
def test_wires_against_quadrature_along_the_path(seed):
    case = LINE.propose((1, 10), random.Random(seed))
    sums = np.zeros(3)
    for _, row in named_pieces(case):
        sums += integrated(path(row))
    answers = answers_of(LINE, case)
    assert answers["length"] == pytest.approx(sums[0], rel=1e-7)
    assert answers["centroid"] == pytest.approx(sums[1:] / sums[0], rel=1e-6, abs=1e-6)


@pytest.mark.parametrize("seed", range(60))
def test_wires_in_space_against_many_small_pieces(seed):
    case = WIRE.propose((1, 1e3), random.Random(seed))
    total, moment = 0.0, np.zeros(3)
    for s in case.segments:
        points = np.linspace(numbers(s.start), numbers(s.end), 11)
        sizes = np.linalg.norm(np.diff(points, axis=0), axis=1)
        total += sizes.sum()
        moment += (sizes[:, None] * (points[1:] + points[:-1]) / 2).sum(axis=0)
    answers = answers_of(WIRE, case)
    assert answers["length"] == pytest.approx(total, rel=1e-12)
    assert answers["centroid"] == pytest.approx(moment / total, rel=1e-9, abs=1e-11)
