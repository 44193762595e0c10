"""All roots inside a bracket: proven complete by the balls, found again by the others.

Known roots: sines, Chebyshev polynomials (their zeros are cosines) and random products of
linear factors; elsewhere a sampled count by numpy.
"""

import math
import random
from fractions import Fraction

import numpy
import pytest
from flint import arb, ctx, fmpq

from refsolver.arithmetic.algebraic import AlgebraicArithmetic
from refsolver.arithmetic.contract import Contradiction, Undecided
from refsolver.arithmetic.derivative import DerivativeArithmetic
from refsolver.arithmetic.double import DoubleArithmetic
from refsolver.arithmetic.enclosure import EnclosureArithmetic
from refsolver.arithmetic.exact import rational
from refsolver.arithmetic.multiprecision import MultiprecisionArithmetic
from refsolver.arithmetic.strict import StrictArithmetic
from refsolver.arithmetic.substituted import TangentArithmetic

BALLS = [EnclosureArithmetic, StrictArithmetic, AlgebraicArithmetic]
ALL = [*BALLS, DoubleArithmetic, lambda: MultiprecisionArithmetic(200)]


@pytest.fixture(autouse=True)
def precision():
    with ctx.workprec(150):
        yield


def sines(ar, low, high):
    return ar.roots(ar.sin, ar.cos, (rational(*low), rational(*high)), "sine")


def as_float(x):
    ball = getattr(x, "ball", x)
    ball = getattr(ball, "value", ball)
    return float(ball.mid()) if isinstance(ball, arb) else float(ball)


@pytest.mark.parametrize("make", ALL)
def test_the_zeros_of_the_sine(make):
    ar = make()
    found = [as_float(x) for x in sines(ar, (-10,), (10,))]
    assert found == pytest.approx([math.pi * n for n in range(-3, 4)], abs=1e-15)
    said = [ar.decisions[f"sine: root {i}"] for i in range(1, 9)]
    assert said == [1] * 7 + [-1]


@pytest.mark.parametrize("make", ALL)
def test_no_root_is_said_to_be_none(make):
    ar = make()
    assert sines(ar, (1,), (3,)) == []
    assert ar.decisions == {"sine: root 1": -1}


@pytest.mark.parametrize("make", BALLS)
def test_a_root_exactly_at_an_end_lies_outside(make):
    assert [as_float(x) for x in sines(make(), (0,), (4,))] == pytest.approx([math.pi])


@pytest.mark.parametrize("make", BALLS)
def test_a_root_where_the_slope_vanishes_is_not_decided(make):
    ar = make()
    with pytest.raises(Undecided):
        ar.roots(lambda x: x * x, lambda x: 2 * x, (rational(-1), rational(2)), "touching")


def test_a_root_within_rounding_of_an_end_is_not_decided():
    ar = EnclosureArithmetic()
    near = ar.pi()
    with pytest.raises(Undecided, match="end of the bracket"):
        ar.roots(
            lambda x: ar.sin(x + near), lambda x: ar.cos(x + near), (rational(0), rational(1)), "s"
        )


def chebyshev(n, x):
    """T_n and its derivative n U_(n-1)."""
    t0, t1, u0, u1 = 1 + 0 * x, x, 1 + 0 * x, 2 * x
    for _ in range(n - 1):
        t0, t1 = t1, 2 * x * t1 - t0
        u0, u1 = u1, 2 * x * u1 - u0
    return t1, n * u0


@pytest.mark.parametrize("make", ALL)
@pytest.mark.parametrize("n", [3, 6])
def test_the_zeros_of_chebyshev_polynomials(make, n):
    """cos((2k - 1) pi / 2n): M. Abramowitz and I. Stegun, 22.16.4, from memory."""
    found = make().roots(
        lambda x: chebyshev(n, x)[0],
        lambda x: chebyshev(n, x)[1],
        (rational(-1), rational(1)),
        "T",
    )
    wanted = sorted(math.cos((2 * k - 1) * math.pi / (2 * n)) for k in range(1, n + 1))
    assert [as_float(x) for x in found] == pytest.approx(wanted, abs=1e-13)


def as_fraction(x):
    return Fraction(int(x.p), int(x.q))


def product_roots(ar, zeros, low, high):
    """Of the product of x - zero over all zeros, in any arithmetic."""
    brought = [ar.bring(zero) for zero in zeros]

    def product(x, skipped=None):
        total = 1 + 0 * x
        for i, zero in enumerate(brought):
            total = total if i == skipped else total * (x - zero)
        return total

    def slope(x):
        return sum((product(x, i) for i in range(len(brought))), 0 * x)

    return ar.roots(product, slope, (low, high), "p")


@pytest.mark.parametrize("seed", range(20))
def test_random_products_of_linear_factors(seed):
    rng = random.Random(seed)
    zeros = sorted({rational(rng.randint(-400, 400), 97) for _ in range(rng.randint(1, 7))})
    low, high = rational(rng.randint(-500, -1), 101), rational(rng.randint(1, 500), 101)
    ar = EnclosureArithmetic()
    found = product_roots(ar, zeros, low, high)
    inside = [zero for zero in zeros if low < zero < high]
    assert len(found) == len(inside)
    for ball, zero in zip(found, inside, strict=True):
        assert ball.contains(arb(zero)) and ball.rad() < arb("1e-30")
    again = product_roots(DoubleArithmetic(ar.decisions), zeros, low, high)
    assert again == pytest.approx([float(as_fraction(zero)) for zero in inside])


@pytest.mark.parametrize("seed", range(10))
def test_as_many_as_numpy_samples(seed):
    """Trigonometric sums: no root less than the changes of sign that numpy sees."""
    rng = random.Random(seed)
    terms = [(rng.randint(-9, 9), rng.randint(1, 6), rng.randint(0, 9)) for _ in range(4)]
    ar = EnclosureArithmetic()

    def function(x):
        return sum((a * ar.sin(k * x + p) for a, k, p in terms), 0 * x)

    def slope(x):
        return sum((a * k * ar.cos(k * x + p) for a, k, p in terms), 0 * x)

    xs = numpy.linspace(-3, 3, 20001)
    ys = sum(a * numpy.sin(k * xs + p) for a, k, p in terms)
    seen = xs[:-1][numpy.sign(ys[:-1]) * numpy.sign(ys[1:]) < 0]
    found = ar.roots(function, slope, (rational(-3), rational(3)), "f")
    assert [float(x.mid()) for x in found] == pytest.approx(list(seen), abs=4e-4)


def test_mpmath_contradicts_a_wrong_number_of_roots():
    wrong = MultiprecisionArithmetic(100, {"sine: root 1": 1, "sine: root 2": -1})
    with pytest.raises(Contradiction, match=r"'sine: root 1' was \+1 but here"):
        sines(wrong, (-10,), (10,))


def test_tangents_of_all_roots():
    """As below, in the arithmetic of inverse questions; a root that stands still has no rate."""
    leaf = fmpq(2)
    ar = TangentArithmetic(EnclosureArithmetic(), leaf, arb(2))
    p = ar.bring(leaf)
    bracket = (rational(1), rational(6))
    found = ar.roots(lambda x: ar.sin(p * x), lambda x: p * ar.cos(p * x), bracket, "s")
    assert len(found) == 3
    for x in found:
        assert x.rate.overlaps(-x.value / 2)
    (still,) = ar.roots(ar.sin, ar.cos, bracket, "still")
    assert still.rate == 0


def test_sensitivities_of_all_roots():
    """sin(p x) = 0 at n pi / p: dx/dp = - x / p."""
    leaf = fmpq(2)
    ar = DerivativeArithmetic([leaf])
    p = ar.bring(leaf)
    found = ar.roots(
        lambda x: ar.sin(p * x), lambda x: p * ar.cos(p * x), (rational(1), rational(6)), "s"
    )
    assert len(found) == 3
    for x in found:
        assert x.gradient[0].overlaps(-x.value / 2)
