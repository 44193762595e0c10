"""The plain calculator: bit for bit what IEEE double and the math library give."""

from __future__ import annotations

import math

import numpy
import pytest
from flint import fmpq
from hypothesis import given
from hypothesis import strategies as st

from refsolver.arithmetic.contract import Singular, Undecided
from refsolver.arithmetic.double import DoubleArithmetic
from refsolver.arithmetic.exact import Constant, Radian, Slope, Turn, rational, square_root


@pytest.fixture
def ar():
    return DoubleArithmetic()


@given(st.fractions())
def test_a_rational_is_rounded_once(x):
    assert DoubleArithmetic().bring(rational(x)) == x.numerator / x.denominator


@given(st.decimals(-720, 720, places=3))
def test_degrees_go_through_radians_as_on_a_plain_calculator(degrees):
    angle = Turn(rational(*degrees.as_integer_ratio()) / 360)
    radians = math.radians(float(degrees))
    assert DoubleArithmetic().radians(angle) == radians
    assert DoubleArithmetic().cos_sin(angle) == (math.cos(radians), math.sin(radians))


def test_cosine_of_a_right_angle_is_not_zero(ar):
    assert ar.cos_sin(Turn(fmpq(1, 4)))[0] == 6.123233995736766e-17


def test_slopes_radians_and_constants(ar):
    assert ar.cos_sin(Slope(fmpq(3), fmpq(4))) == (0.8, 0.6)
    assert ar.radians(Slope(fmpq(1), fmpq(-1))) == 3 * math.pi / 4
    assert ar.cos_sin(Radian(fmpq(2))) == (math.cos(2.0), math.sin(2.0))
    assert ar.bring(Constant("product", (fmpq(50), square_root(fmpq(2))))) == 50 * math.sqrt(2)
    assert ar.bring(Constant("tan", (Turn(fmpq(1, 8)),))) == pytest.approx(1, rel=1e-15)
    assert ar.bring(Constant("power", (Constant("pi"), fmpq(-2)))) == 1 / (math.pi * math.pi)
    assert ar.bring(Constant("exp", (fmpq(2),))) == math.exp(2)
    assert ar.bring(Constant("ln", (fmpq(2),))) == math.log(2)


def test_functions_are_those_of_the_math_library(ar):
    for name in ("cos", "sin", "exp", "log", "cosh", "sinh", "asinh", "sqrt"):
        assert getattr(ar, name)(1.7) == getattr(math, name)(1.7)
    assert ar.pi() == math.pi and ar.size(-2.5) == 2.5


def test_a_root_of_rounding_noise_is_zero_and_overflow_is_infinite(ar):
    assert ar.sqrt(-1e-17) == 0.0
    assert ar.exp(1e4) == ar.cosh(-1e4) == ar.sinh(1e4) == math.inf
    assert ar.sinh(-1e4) == -math.inf


def test_own_decisions(ar):
    assert [ar.sign(x, str(x)) for x in (2.0, -2.0, 0.0, -0.0)] == [1, -1, 0, 0]
    assert ar.decisions == {"2.0": 1, "-2.0": -1, "0.0": 0, "-0.0": 0}
    with pytest.raises(Undecided):
        ar.sign(math.nan, "nothing")


@pytest.mark.parametrize("replayed", [-1, 0, 1])
@pytest.mark.parametrize("value", [-5.0, -1e-17, 0.0, 1e-17, 5.0])
def test_replayed_decisions_are_followed_without_complaint(replayed, value):
    ar = DoubleArithmetic({"sign": replayed})
    assert ar.sign(value, "sign") == replayed
    assert ar.decisions == {"sign": replayed}
    assert ar.larger(value, 0.0, "sign") == (value if replayed >= 0 else 0.0)


@pytest.mark.parametrize("noise", [-1e-17, 0.0, 1e-17])
def test_the_side_of_the_cut_follows_the_decision(noise):
    for sign, expected in ((1, math.pi), (-1, -math.pi), (0, math.pi)):
        ar = DoubleArithmetic({"d: y": sign})
        assert ar.atan2(noise, -1.0, "d") == pytest.approx(expected, abs=1e-15)
    assert DoubleArithmetic({"d: x": 0}).atan2(-3.0, noise, "d") == -math.pi / 2
    with pytest.raises(ValueError, match="zero vector"):
        DoubleArithmetic().atan2(0.0, 0.0, "d")


def test_systems_are_those_of_numpy(ar):
    rng = numpy.random.default_rng(20)
    for n in (1, 2, 5, 20):
        matrix, right = rng.normal(size=(n, n)), rng.normal(size=n)
        found = ar.solve_linear(matrix.tolist(), right.tolist(), f"system {n}")
        assert found == numpy.linalg.solve(matrix, right).tolist()
        assert all(type(x) is float for x in found)
    assert ar.solve_linear([], [], "none") == []
    assert ar.decisions["system 5"] == ar.decisions["none"] == 1


def test_singular_systems():
    ar = DoubleArithmetic()
    with pytest.raises(Singular, match="A"):
        ar.solve_linear([[1.0, 1], [1, 1]], [1, 1], "A")
    assert ar.decisions == {"A": 0}
    replayed = DoubleArithmetic({"A": 0})
    with pytest.raises(Singular, match="A"):
        replayed.solve_linear([[1.0, 1], [1, 1.1]], [1, 1], "A")
    assert replayed.decisions == {"A": 0}


def test_the_larger_of_two_whatever_their_signs(ar):
    pairs = [(1.0, 2.0), (2.0, 1.0), (1.0, -5.0), (-5.0, 1.0), (-1.0, -2.0), (-2.0, -1.0)]
    for number, (a, b) in enumerate(pairs):
        assert ar.larger(a, b, f"pair {number}") == max(a, b)


def test_trial_values_replay_and_log_nothing():
    ar = DoubleArithmetic({"x": -1})
    apart = ar.apart()
    assert apart.sign(2.0, "x") == 1 and apart.decisions == {"x": 1}
    assert ar.decisions == {} and ar.sign(2.0, "x") == -1


def test_a_root(ar):
    bracket = (fmpq(0), fmpq(2))
    found = ar.root(lambda x: math.cos(x) - x, lambda x: 0.0, bracket, "root")
    assert found == pytest.approx(0.7390851332151607, rel=2e-16)
    with pytest.raises(Undecided, match="change of sign"):
        ar.root(lambda x: x + 1, lambda x: 1.0, bracket, "none")
    assert ar.decisions == {"root": 1}
