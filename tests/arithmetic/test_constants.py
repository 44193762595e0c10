"""Constant expressions in every arithmetic, operation by operation, against mpmath."""

from __future__ import annotations

import mpmath
import pytest
from flint import ctx, fmpq

from refsolver.arithmetic.algebraic import AlgebraicArithmetic
from refsolver.arithmetic.algebraic_number import ball_of
from refsolver.arithmetic.constants import constant, whole_power
from refsolver.arithmetic.double import DoubleArithmetic
from refsolver.arithmetic.enclosure import EnclosureArithmetic, evaluate
from refsolver.arithmetic.exact import Constant, Radian, Slope, Turn
from refsolver.arithmetic.multiprecision import MultiprecisionArithmetic, exact_value
from refsolver.arithmetic.strict import StrictArithmetic

mp = mpmath.mp.clone()
mp.dps = 40
SEVENTH, SLOPE, RADIAN = Turn(fmpq(1, 7)), Slope(fmpq(3), fmpq(-4)), Radian(fmpq(5, 3))
ROOT = Constant("sqrt", (fmpq(5),))
CASES = {
    "pi": (Constant("pi"), mp.pi),
    "cosine": (Constant("cos", (SEVENTH,)), mp.cos(2 * mp.pi / 7)),
    "sine": (Constant("sin", (SEVENTH,)), mp.sin(2 * mp.pi / 7)),
    "tangent": (Constant("tan", (SEVENTH,)), mp.tan(2 * mp.pi / 7)),
    "cosine of a slope": (Constant("cos", (SLOPE,)), mp.mpf(-4) / 5),
    "sine of a slope": (Constant("sin", (SLOPE,)), mp.mpf(3) / 5),
    "tangent of a slope": (Constant("tan", (SLOPE,)), mp.mpf(-3) / 4),
    "sine of radians": (Constant("sin", (RADIAN,)), mp.sin(mp.mpf(5) / 3)),
    "sum": (Constant("sum", (ROOT, fmpq(-1))), mp.sqrt(5) - 1),
    "product": (Constant("product", (fmpq(3), ROOT)), 3 * mp.sqrt(5)),
    "quotient": (Constant("quotient", (fmpq(3), ROOT)), 3 / mp.sqrt(5)),
    "root": (Constant("sqrt", (ROOT,)), mp.sqrt(mp.sqrt(5))),
    "cube": (Constant("power", (ROOT, fmpq(3))), mp.sqrt(5) ** 3),
    "inverse square": (Constant("power", (ROOT, fmpq(-2))), mp.mpf(1) / 5),
    "nothing": (Constant("power", (ROOT, fmpq(0))), mp.mpf(1)),
    "exponential": (Constant("exp", (ROOT,)), mp.exp(mp.sqrt(5))),
    "logarithm": (Constant("ln", (ROOT,)), mp.log(5) / 2),
}


@pytest.fixture(autouse=True, scope="module")
def precision():
    with ctx.workprec(128):
        yield


@pytest.mark.parametrize("name", CASES)
def test_every_arithmetic_agrees_with_mpmath(name):
    x, true = CASES[name]
    exact = exact_value(true)
    close = abs(exact) / 10**35
    for ball in (
        evaluate(x),
        constant(x, EnclosureArithmetic()),
        ball_of(constant(x, AlgebraicArithmetic())),
    ):
        assert abs(ball - exact) < close
    found = exact_value(constant(x, MultiprecisionArithmetic(128)))
    assert abs(found - exact) < close
    assert constant(x, DoubleArithmetic()) == pytest.approx(float(true), rel=1e-14)
    strict = StrictArithmetic()
    assert strict.sign(constant(x, strict), "it") == (1 if true > 0 else -1)


@pytest.mark.parametrize("exponent", range(-9, 10))
def test_whole_powers_by_squaring(exponent):
    base = fmpq(-3, 2)
    expected = fmpq(1)
    for _ in range(abs(exponent)):
        expected *= base
    found = whole_power(base, fmpq(exponent))
    assert found == (expected if exponent >= 0 else 1 / expected)


@pytest.mark.parametrize("exponent", [fmpq(1, 2), fmpq(-7, 3), ROOT])
def test_a_power_that_is_not_whole_is_refused(exponent):
    with pytest.raises(ValueError, match="must be a whole number"):
        whole_power(fmpq(2), exponent)
