"""The functions of the enclosure arithmetic against MPFR and mpmath on many points.

MPFR rounds every function correctly in the direction asked (L. Fousse and others, "MPFR:
a multiple-precision binary floating-point library with correct rounding", ACM Trans. Math.
Software 33, 2007, article 13), so that rounding down and up brackets the true value. The
bracket has 220 bits, the ball 64: it must meet the bracket.

Half of the balls put in are points; the others have the point at the very edge of a ball,
which is where an enclosure that is a little too narrow shows.
"""

from __future__ import annotations

import math
import random
from itertools import islice

import gmpy2
import mpmath
import pytest
from flint import arb, ctx, fmpq

from refsolver.arithmetic.enclosure import EnclosureArithmetic
from refsolver.arithmetic.exact import Turn

BITS = 64
FEW = 3000
MANY = pytest.param(20_000, marks=pytest.mark.slow)
DOWN = gmpy2.context(precision=220, round=gmpy2.RoundDown)
UP = gmpy2.context(precision=220, round=gmpy2.RoundUp)


@pytest.fixture(autouse=True, scope="module")
def precision():
    with ctx.workprec(BITS):
        yield


# --- points


def ordinary(rng, low=-10.0, high=10.0):
    return rng.uniform(low, high)


def of_any_size(rng, low, high):
    """Random mantissa, random power of two; of either sign."""
    return math.ldexp(rng.uniform(-1, 1), rng.randint(low, high))


def near_multiple_of(rng, period):
    """One of the doubles nearest to a multiple of the period, up to a million of them."""
    x = rng.randint(-(10**6), 10**6) * period
    return x + rng.choice((-1, 0, 1)) * math.ulp(x)


def beside(rng, value):
    """A value and a tiny step away from it."""
    return value + of_any_size(rng, -60, -1)


def whole(rng):
    return float(rng.randint(-50, 50))


def everywhere(rng):
    """For sine, cosine: tiny and huge arguments, and the zeros of both."""
    while True:
        yield ordinary(rng)
        yield of_any_size(rng, -1000, 1000)
        yield near_multiple_of(rng, math.pi / 2)
        yield whole(rng)


def of_moderate_growth(rng):
    """For the exponential and hyperbolic functions."""
    while True:
        yield ordinary(rng)
        yield of_any_size(rng, -1000, 17)
        yield of_any_size(rng, -60, -20)
        yield whole(rng)


def not_negative(rng):
    while True:
        yield ordinary(rng, 0.0, 10.0)
        yield abs(of_any_size(rng, -1000, 1000))
        yield abs(whole(rng)) ** 2


def positive(rng):
    """For the logarithm: beside 1, where it nearly vanishes, too."""
    while True:
        yield beside(rng, 1.5) / 1.5
        yield from (x for x in islice(not_negative(rng), 3) if x > 0)


def of_either_sign(rng):
    while True:
        yield ordinary(rng)
        yield of_any_size(rng, -1000, 1000)
        yield whole(rng)


# --- the check


def ball_at(x, rng):
    """A ball that holds x: the point itself, or one with x at its edge."""
    if rng.random() < 0.5:
        return arb(x)
    middle = x * (1 + rng.uniform(-1, 1) * 2.0 ** -rng.randint(1, 50))
    return edged(arb(x), arb(middle))


def edged(x, middle):
    """The narrowest ball about the middle that holds x."""
    ball = arb(middle.mid(), abs(x - middle).upper())
    assert ball.contains(x)
    return ball


def exact(x):
    """A finite MPFR number as an exact ball."""
    mantissa, exponent = x.as_mantissa_exp()
    return arb((int(mantissa), int(exponent)))


def misses(ball, reference, *args):
    """Whether the ball fails to meet the bracket of the true value at ``args``.

    A ball that meets the bracket holds one of its ends or lies between them.
    """
    low = exact(reference(DOWN, *args))
    if ball.contains(low):
        return False
    high = exact(reference(UP, *args))
    return not (ball.contains(high) or low <= ball.mid() <= high)


def gmpy2_function(name):
    return lambda context, *args: getattr(context, name)(*args)


def failures(function, reference, points, seed, number):
    rng = random.Random(seed)
    return [
        x
        for x in islice(points(rng), number)
        if misses(function(ball_at(x, rng)), reference, gmpy2.mpfr(x))
    ]


FUNCTIONS = {
    "sin": everywhere,
    "cos": everywhere,
    "exp": of_moderate_growth,
    "cosh": of_moderate_growth,
    "sinh": of_moderate_growth,
    "asinh": of_either_sign,
    "log": positive,
    "sqrt": not_negative,
}


@pytest.mark.parametrize("number", [FEW, MANY])
@pytest.mark.parametrize("name", FUNCTIONS)
def test_balls_hold_the_true_value(name, number):
    function = getattr(EnclosureArithmetic(), name)
    reference = gmpy2_function(name)
    assert failures(function, reference, FUNCTIONS[name], name, number) == []


@pytest.mark.parametrize("name", FUNCTIONS)
def test_balls_are_narrow_at_ordinary_points(name):
    function, rng = getattr(EnclosureArithmetic(), name), random.Random(name)
    for _ in range(1000):
        ball = function(arb(ordinary(rng, 0.5, 10.0)))
        assert ball.rad() <= (1 + abs(ball)) * fmpq(1, 2 ** (BITS - 4))


@pytest.mark.parametrize("name", ["sin", "exp", "asinh", "cosh"])
def test_the_check_notices_values_rounded_to_double(name):
    def rounded(ball):
        return arb(getattr(math, name)(float(ball.mid())))

    assert len(failures(rounded, gmpy2_function(name), of_moderate_growth, name, 400)) > 100


@pytest.mark.parametrize("name", ["sin", "exp", "asinh", "cosh"])
def test_the_check_notices_balls_a_tenth_too_narrow(name):
    function = getattr(EnclosureArithmetic(), name)

    def narrowed(ball):
        result = function(ball)
        return arb(result.mid(), result.rad() * fmpq(9, 10))

    assert len(failures(narrowed, gmpy2_function(name), of_moderate_growth, name, 400)) > 40


# --- atan2


def pairs(rng):
    """Points of the plane: anywhere, beside the axes and the cut, on them, far and near."""
    while True:
        yield ordinary(rng), ordinary(rng)
        yield of_any_size(rng, -500, 500), of_any_size(rng, -500, 500)
        yield of_any_size(rng, -500, -20), -abs(ordinary(rng))
        yield ordinary(rng), of_any_size(rng, -500, -20)
        yield 0.0, rng.choice((-1, 1)) * abs(ordinary(rng))
        yield ordinary(rng), 0.0
        yield whole(rng) + 51, whole(rng)


@pytest.mark.parametrize("number", [FEW, MANY])
def test_directions_all_round_and_beside_the_cut(number):
    ar, rng, found = EnclosureArithmetic(), random.Random(7), []
    for y, x in islice(pairs(rng), number):
        direction = ar.atan2(ball_at(y, rng), ball_at(x, rng), "direction")
        if misses(direction, gmpy2_function("atan2"), gmpy2.mpfr(y), gmpy2.mpfr(x)):
            found.append((y, x))
    assert found == []


def test_directions_whose_ball_reaches_over_the_cut_hold_the_true_angle():
    """A ball of y on both sides of zero, the sign of the true y known from elsewhere."""
    rng = random.Random(8)
    for _ in range(5000):
        y, x = of_any_size(rng, -80, -20), -rng.uniform(0.1, 10)
        ar = EnclosureArithmetic({"direction: y": 1 if y > 0 else -1})
        ball = edged(arb(y), arb(0))
        direction = ar.atan2(ball, arb(x), "direction")
        assert not misses(direction, gmpy2_function("atan2"), gmpy2.mpfr(y), gmpy2.mpfr(x))


# --- balls that leave the domain


def test_roots_of_balls_that_dip_below_zero():
    ar, rng = EnclosureArithmetic(), random.Random(9)
    for _ in range(5000):
        x = abs(of_any_size(rng, -200, 20))
        ball = edged(arb(x), arb(x * rng.uniform(-0.9, 0.4)))
        assert ball.lower() < 0
        assert not misses(ar.sqrt(ball), gmpy2_function("sqrt"), gmpy2.mpfr(x))


# --- decimal degrees


def true_cos_sin(turns, context):
    """By MPFR at the context's precision, from an eighth of a turn or less, taken off exactly."""
    eighths = (8 * turns + fmpq(1, 2)).floor()
    rest = turns - fmpq(eighths, 8)
    radians = 2 * context.const_pi() * int(rest.p) / int(rest.q)
    s, c = context.sin(radians), context.cos(radians)
    half = context.sqrt(gmpy2.mpfr(0.5))
    for _ in range(int(eighths) % 8):
        c, s = half * (c - s), half * (c + s)
    return c, s


@pytest.mark.parametrize("number", [FEW, MANY])
def test_cosine_and_sine_of_decimal_degrees(number):
    """Every degree of one turn, and thousandths of a degree over three turns.

    The reference has 400 bits; the odd eighths of a turn cancel no more than 20 of them.
    """
    rng, wide = random.Random(10), gmpy2.context(precision=400)
    ar, found = EnclosureArithmetic(), []
    thousandths = [1000 * n for n in range(360)]
    thousandths += [rng.randint(-540_000, 540_000) for _ in range(number - 360)]
    slack = arb(0, fmpq(1, 2**360))
    with gmpy2.context(wide):
        for n in thousandths:
            turns = fmpq(n, 360_000)
            for ball, true in zip(ar.cos_sin(Turn(turns)), true_cos_sin(turns, wide), strict=True):
                if not (ball + slack).contains(exact(true)) or ball.rad() > abs(ball) / 2**60:
                    found.append(n)
    assert found == []


# --- a second reference that shares no code with MPFR


@pytest.mark.parametrize("name", FUNCTIONS)
def test_balls_hold_what_mpmath_finds_with_more_digits(name):
    mp = mpmath.mp.clone()
    mp.prec = 250
    function, rng = getattr(EnclosureArithmetic(), name), random.Random(name)
    theirs = getattr(mp, "ln" if name == "log" else name)
    for x in islice(FUNCTIONS[name](rng), 2000):
        sign, mantissa, exponent, _ = theirs(mp.mpf(x))._mpf_
        true = arb(((-1) ** sign * int(mantissa), exponent))
        true = arb(true.mid(), abs(true) * fmpq(1, 2**240))
        assert function(ball_at(x, rng)).overlaps(true), x


def test_directions_against_mpmath_with_more_digits():
    mp = mpmath.mp.clone()
    mp.prec = 250
    ar, rng = EnclosureArithmetic(), random.Random(11)
    for y, x in islice(pairs(rng), 4000):
        sign, mantissa, exponent, _ = mp.atan2(mp.mpf(y), mp.mpf(x))._mpf_
        true = arb(((-1) ** sign * int(mantissa), exponent))
        true = arb(true.mid(), abs(true) * fmpq(1, 2**240))
        assert ar.atan2(ball_at(y, rng), ball_at(x, rng), "direction").overlaps(true), (y, x)
