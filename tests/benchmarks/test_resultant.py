"""What proof costs: the plane resultant of eight forces at thirty digits.

The hand-written kernel is the least that python-flint can do for the same four numbers;
the others are the public route with its parts switched on one by one. Quote ratios within
one run: ``python -m pytest tests/benchmarks --benchmark-only``.
"""

import math
import random

import pytest
from flint import arb, ctx, fmpq

from refsolver.arithmetic.exact import Turn
from refsolver.catalogue.reading import read_case
from refsolver.catalogue.writing import case_text
from refsolver.quantities.leaves import ByAngle, Polar
from refsolver.quantities.units import UnitSystem, read_unit
from refsolver.quantities.views import View
from refsolver.statics.forces.concurrent import PlaneForce, PlaneForces
from refsolver.statics.prover import prove
from refsolver.statics.registry import family

pytestmark = pytest.mark.benchmark(group="plane resultant, 8 forces, 30 digits")

FAMILY = family("concurrent-forces/plane-resultant")
VIEWS = [
    View("resultant", "component", along="+x"),
    View("resultant", "component", along="+y"),
    View("resultant", "magnitude"),
    View("resultant", "angle"),
]
DRAW = random.Random(8)
PULLS = [(fmpq(DRAW.randint(100, 9999), 10), fmpq(DRAW.randint(0, 3599), 3600)) for _ in range(8)]
GIVEN = PlaneForces(tuple(PlaneForce(Polar(size, ByAngle(Turn(turn)))) for size, turn in PULLS))
DOUBLES = [(float(size.p) / float(size.q), 2 * math.pi * int(t.p) / int(t.q)) for size, t in PULLS]


def kernel():
    with ctx.workprec(120):
        x = y = arb(0)
        for size, turn in PULLS:
            sine, cosine = arb.sin_cos_pi_fmpq(2 * turn)
            pull = arb(size)
            x += pull * cosine
            y += pull * sine
        return x, y, (x * x + y * y).sqrt(), arb.atan2(y, x)


def plain_double():
    x = sum(size * math.cos(angle) for size, angle in DOUBLES)
    y = sum(size * math.sin(angle) for size, angle in DOUBLES)
    return x, y, math.hypot(x, y), math.atan2(y, x)


def with_mpmath():
    import mpmath

    with mpmath.workdps(36):
        x = y = mpmath.mpf(0)
        for size, turn in PULLS:
            angle = 2 * mpmath.pi * int(turn.p) / int(turn.q)
            pull = mpmath.mpf(int(size.p)) / int(size.q)
            x += pull * mpmath.cos(angle)
            y += pull * mpmath.sin(angle)
        return x, y, mpmath.hypot(x, y), mpmath.atan2(y, x)


def test_hand_written_kernel(benchmark):
    x, *_ = benchmark(kernel)
    assert x.rel_accuracy_bits() > 100


def test_proven_solve(benchmark):
    reference = benchmark(
        lambda: prove(FAMILY, GIVEN, VIEWS, second_opinion=False, residuals=False)
    )
    assert all(outcome.digits >= 30 for outcome in reference.outcomes.values())


def test_proven_solve_with_residuals(benchmark):
    assert benchmark(lambda: prove(FAMILY, GIVEN, VIEWS, second_opinion=False)).residuals == "close"


def test_proven_solve_with_residuals_and_second_opinion(benchmark):
    assert benchmark(lambda: prove(FAMILY, GIVEN, VIEWS)).second_opinion == "agrees"


def test_mpmath_without_proof(benchmark):
    assert float(benchmark(with_mpmath)[2]) == pytest.approx(plain_double()[2])


def test_plain_double(benchmark):
    assert benchmark(plain_double)[2] > 0


def test_reading_the_case(benchmark, tmp_path):
    path = tmp_path / "eight.toml"
    path.write_text(
        case_text(
            FAMILY, GIVEN, UnitSystem.of([read_unit("lbf")]), title="Eight pulls",
            statement="Eight invented pulls.", by="invented",
        )
    )  # fmt: skip
    assert benchmark(lambda: read_case(path, "eight", {})).given == GIVEN
