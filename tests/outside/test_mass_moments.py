"""Mass moments of inertia against sums over many points and printed tables."""

from __future__ import annotations

import random

import numpy as np
import pytest
from flint import fmpq
from scipy.integrate import quad

from refsolver.arithmetic.double import DoubleArithmetic
from refsolver.statics.chapters.mass_moments.composite import BodiesAboutAxis, Body
from refsolver.statics.registry import family

FAMILY = family("mass-moments/composite")


def number(x):
    return int(x.p) / int(x.q)


def answers_of(case):
    return FAMILY.solve(case, DoubleArithmetic(), FAMILY.rule_set()).answers


def own_square(body):
    """The mean square distance from the axis through the mass centre, by quadrature."""
    size, second = number(body.size), number(body.second)
    if body.shape == "point mass":
        return 0.0
    if body.shape == "ring":
        return size**2
    if body.shape == "rod across the axis":
        return quad(lambda x: x * x / size, -size / 2, size / 2)[0]
    if body.shape == "rectangular plate across the axis":
        return sum(quad(lambda x, s=s: x * x / s, -s / 2, s / 2)[0] for s in (size, second))
    if body.shape == "thin spherical shell":
        return quad(lambda t: size**2 * np.sin(t) ** 3 / 2, 0, np.pi)[0]
    weights = {  # mass between r and r + dr of cylinders about the axis, not normalised
        "disc or solid cylinder": lambda r: r,
        "hollow cylinder": lambda r: r,
        "cone about its axis": lambda r: r * (size - r),
        "solid sphere": lambda r: r * np.sqrt(max(0.0, size**2 - r**2)),
    }
    weight = weights[body.shape]
    low, high = sorted((second, size))
    whole = quad(weight, low, high)[0]
    return quad(lambda r: weight(r) * r * r, low, high)[0] / whole


@pytest.mark.parametrize("seed", range(150))
def test_random_bodies_against_quadrature(seed):
    case = FAMILY.propose((1, 100), random.Random(seed))
    total = size = mass = 0.0
    for body in case.bodies:
        sign = -1 if body.kind == "hole" else 1
        moment = number(body.mass) * (own_square(body) + number(body.distance) ** 2)
        total, size = total + sign * moment, size + moment
        mass += sign * number(body.mass)
    answers = answers_of(case)
    assert answers["moment of inertia"] == pytest.approx(total, abs=1e-7 * size)
    assert answers["mass"] == pytest.approx(mass, rel=1e-9, abs=1e-9 * size)


@pytest.mark.parametrize(
    ("shape", "size", "distance", "expected"),
    [
        # University Physics, volume 1 (OpenStax), section 10.4, figure of moments of inertia.
        ("rod across the axis", 1, 0, fmpq(1, 12)),
        ("rod across the axis", 1, fmpq(1, 2), fmpq(1, 3)),
        ("ring", 1, 0, 1),
        ("disc or solid cylinder", 1, 0, fmpq(1, 2)),
        ("solid sphere", 1, 0, fmpq(2, 5)),
        ("thin spherical shell", 1, 0, fmpq(2, 3)),
        # The same, problem 10.65: a rod about a point a sixth from its end.
        ("rod across the axis", 1, fmpq(1, 3), fmpq(7, 36)),
    ],
)
def test_a_printed_table(shape, size, distance, expected):
    case = BodiesAboutAxis((Body(fmpq(1), shape, fmpq(size), fmpq(distance)),))
    assert answers_of(case)["moment of inertia"] == pytest.approx(number(fmpq(expected)))
