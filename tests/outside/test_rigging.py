"""Rigging against published tables and against numpy and sympy.

Load angle factors (1.000 at 90 degrees, 1.155 at 60, 1.414 at 45, 2.000 at 30, all from the
horizontal) are common practice, no source. Rated loads: OSHA, Guidance on Safe Sling Use,
table 1, grade 80 alloy chain of 1/2 in, read at the source.
"""

from __future__ import annotations

import math
import random

import numpy as np
import pytest
import sympy
from flint import fmpq

from refsolver.arithmetic.exact import Turn
from refsolver.quantities.views import View
from refsolver.statics.chapters.rigging.equal_legs import EqualBridle, Hitch, HitchTable
from refsolver.statics.chapters.rigging.hanging_load import HangingBridle
from refsolver.statics.chapters.rigging.two_legs import TwoLegBridle
from refsolver.statics.prover import prove
from refsolver.statics.registry import family

EQUAL = family("rigging/equal-legs")
TABLE = family("rigging/bridle-loads")
TWO = family("rigging/two-legs")
HANGING = family("rigging/hanging-load")
SPACE = family("rigging/bridle-in-space")


def rational(x):
    return sympy.Rational(int(x.p), int(x.q))


def value(owner, case, ask):
    enclosure = prove(owner, case, [ask]).outcomes[ask].enclosure
    return float(rational(enclosure.middle))


@pytest.mark.parametrize(
    ("degrees", "printed"), [(90, 1.000), (60, 1.155), (45, 1.414), (30, 2.000)]
)
def test_load_angle_factors(degrees, printed):
    case = EqualBridle(fmpq(1000), 2, angle=Turn(fmpq(degrees, 360)))
    assert abs(value(EQUAL, case, View("factor")) - printed) <= 0.0005


@pytest.mark.parametrize(
    ("legs", "degrees", "printed"),
    [
        (2, 60, 20800),
        (2, 45, 17000),
        (2, 30, 12000),
        (3, 60, 31200),
        (3, 45, 25500),
        (3, 30, 18000),
    ],
)
def test_half_inch_grade_80_chain(legs, degrees, printed):
    case = HitchTable(fmpq(12000), (Hitch(legs, Turn(fmpq(degrees, 360)), name="h"),))
    assert abs(value(TABLE, case, View("loads", key="h")) - printed) <= 50


def test_two_legs_against_sympy():
    rng = random.Random(3)
    for _ in range(10):
        d1, d2, h1, h2 = (fmpq(rng.randint(1, 40), 4) for _ in range(4))
        case = TwoLegBridle(fmpq(77), d1, d2, h1, h2)
        a, b = sympy.symbols("a b")
        found = sympy.solve(
            [-a * rational(d1) + b * rational(d2), a * rational(h1) + b * rational(h2) - 77], [a, b]
        )
        exact = found[a] * sympy.sqrt(rational(d1) ** 2 + rational(h1) ** 2)
        ask = View("tensions", key="left")
        enclosure = prove(TWO, case, [ask]).outcomes[ask].enclosure
        assert abs(exact - rational(enclosure.middle)) < sympy.Rational(1, 10**25)


def test_hanging_loads_against_the_least_height():
    """The load hangs where its weight lies lowest: scanned by numpy over all tilts."""
    rng = random.Random(4)
    for _ in range(10):
        case = HANGING.propose((1, 8), rng)
        l1, l2, s, gx, gy = (
            float(rational(x))
            for x in (case.left_leg, case.right_leg, case.spacing, case.along, case.below)
        )
        px = (l1 * l1 - l2 * l2 + s * s) / (2 * s)
        py = math.sqrt(l1 * l1 - px * px)
        tilts = np.linspace(-0.6, 0.6, 2_400_001)
        # Depth of the weight below the hook for a load turned counter-clockwise by the tilt.
        depth = (px - gx) * np.sin(tilts) + (py + gy) * np.cos(tilts)
        best = tilts[np.argmax(depth)]
        found = value(HANGING, case, View("tilt")) * 2 * math.pi
        assert abs(found - best) < 1e-6


def test_bridles_in_space_against_numpy():
    rng = random.Random(6)
    for _ in range(1000):
        case = SPACE.propose((1, 1e4), rng)
        hook = np.array([float(rational(x)) for x in case.hook])
        runs = [np.array([float(rational(x)) for x in leg.lug]) - hook for leg in case.legs]
        matrix = np.array(runs).T
        load = float(rational(case.load))
        found = np.linalg.solve(matrix, [0, 0, -load])
        bound = 1e-13 * np.linalg.cond(matrix) * np.abs(found).max()
        asks = [View("tensions", key=leg.name) for leg in case.legs]
        outcomes = prove(
            SPACE, case, asks, digits=18, second_opinion=False, residuals=False
        ).outcomes
        for ask, run, density in zip(asks, runs, found, strict=True):
            reach = np.linalg.norm(run)
            proven = float(rational(outcomes[ask].enclosure.middle))
            assert abs(proven - density * reach) <= bound * reach


def test_a_heavier_reach_is_not_forgotten():
    """NAVEDTRA 14080, Sling Angle: 1,000 lb on two legs, 500 lb each upright, 1,000 lb at 30."""
    for degrees, printed in ((90, 500), (30, 1000)):
        case = EqualBridle(fmpq(1000), 2, angle=Turn(fmpq(degrees, 360)))
        assert value(EQUAL, case, View("tension")) == printed


def test_the_scan_and_the_triangle_use_the_same_hook():
    case = HangingBridle(fmpq(14), fmpq(15), fmpq(13), fmpq(14), fmpq(9), fmpq(2))
    assert value(HANGING, case, View("hook", "coordinate", along="+x")) == 9
    assert value(HANGING, case, View("hook", "coordinate", along="+y")) == 12
