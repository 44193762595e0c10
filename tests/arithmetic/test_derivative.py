"""Derivatives against sympy's formulas, and the rules for seeds."""

from __future__ import annotations

import pytest
import sympy
from flint import arb, ctx, fmpq

from refsolver.arithmetic.contract import Contradiction, Singular, Undecided
from refsolver.arithmetic.derivative import DerivativeArithmetic, Dual
from refsolver.arithmetic.exact import Constant, Radian, Slope, Turn, rational, square_root


@pytest.fixture(autouse=True, scope="module")
def precision():
    with ctx.workprec(160):
        yield


def agrees(ball, formula, at):
    """Whether the ball is narrow and holds sympy's value of a formula to 40 figures."""
    text = str(sympy.N(formula.subs(at), 60, maxn=400))
    expected = arb(text, abs(arb(text)) / arb(10) ** 50)
    return ball.overlaps(expected) and ball.rad() <= (1 + abs(ball)) / arb(2) ** 130


def gradient_agrees(ar, found, formula, at):
    """``at`` maps a symbol to its value, in the order of the seeds."""
    assert agrees(found.value, formula, at)
    for ball, symbol in zip(ar.derivatives(found), at, strict=True):
        assert agrees(ball, sympy.diff(formula, symbol), at), symbol


F, G, ALPHA, BETA = sympy.symbols("F G alpha beta", real=True)


def two_forces():
    """Two forces at 20 and 115 degrees, the leaves and the values for sympy."""
    leaves = [rational(62), rational(45), Turn(rational(1, 18)), Turn(rational(23, 72))]
    at = {F: 62, G: 45, ALPHA: sympy.pi / 9, BETA: 23 * sympy.pi / 36}
    return leaves, at


def components(ar, leaves):
    f, g = ar.bring(leaves[0]), ar.bring(leaves[1])
    (ca, sa), (cb, sb) = ar.cos_sin(leaves[2]), ar.cos_sin(leaves[3])
    return f * ca + g * cb, f * sa + g * sb


X = F * sympy.cos(ALPHA) + G * sympy.cos(BETA)
Y = F * sympy.sin(ALPHA) + G * sympy.sin(BETA)


def test_magnitude_and_direction_of_a_resultant():
    leaves, at = two_forces()
    ar = DerivativeArithmetic(leaves)
    x, y = components(ar, leaves)
    gradient_agrees(ar, ar.sqrt(x * x + y * y), sympy.sqrt(X**2 + Y**2), at)
    gradient_agrees(ar, ar.atan2(y, x, "direction"), sympy.atan2(Y, X), at)
    assert ar.met == {0, 1, 2, 3}


@pytest.mark.parametrize(
    ("name", "formula"),
    [
        ("cos", sympy.cos),
        ("sin", sympy.sin),
        ("exp", sympy.exp),
        ("log", sympy.log),
        ("cosh", sympy.cosh),
        ("sinh", sympy.sinh),
        ("asinh", sympy.asinh),
        ("sqrt", sympy.sqrt),
        ("size", sympy.Abs),
    ],
)
def test_every_function(name, formula):
    leaves = [rational(7, 5), rational(3, 8)]
    ar = DerivativeArithmetic(leaves)
    a, b = (ar.bring(leaf) for leaf in leaves)
    found = getattr(ar, name)(a * b + a / b)
    at = {F: sympy.Rational(7, 5), G: sympy.Rational(3, 8)}
    gradient_agrees(ar, found, formula(F * G + F / G), at)


def test_the_four_operations_with_integers_and_rationals():
    leaf = rational(7, 5)
    ar = DerivativeArithmetic([leaf])
    a = ar.bring(leaf)
    found = (3 - a) / (a + fmpq(1, 2)) + fmpq(2, 3) / a - 5 * a * fmpq(1, 7) - (-a - 1) / 4
    half, r = sympy.Rational(1, 2), sympy.Rational
    formula = (3 - F) / (F + half) + r(2, 3) / F - 5 * F / 7 + (F + 1) / 4
    gradient_agrees(ar, found, formula, {F: r(7, 5)})


@pytest.mark.parametrize("foreign", [0.5, True, "1", arb(1)], ids=repr)
def test_foreign_numbers_do_not_mix(foreign):
    a = DerivativeArithmetic([]).bring(rational(1))
    for combine in (
        lambda: a + foreign, lambda: foreign - a, lambda: a * foreign, lambda: foreign / a
    ):  # fmt: skip
        with pytest.raises(TypeError, match="does not mix"):
            combine()


# --- angles


@pytest.mark.parametrize(
    ("angle", "radians"),
    [
        (Turn(rational(2, 9)), 4 * sympy.pi / 9),
        (Radian(rational(13, 10)), sympy.Rational(13, 10)),
        (Slope(rational(5), rational(-12)), sympy.atan2(5, -12)),
    ],
    ids=["turn", "radian", "slope"],
)
def test_an_angle_as_a_seed_counts_in_radians(angle, radians):
    ar = DerivativeArithmetic([angle])
    c, s = ar.cos_sin(angle)
    gradient_agrees(ar, c, sympy.cos(ALPHA), {ALPHA: radians})
    gradient_agrees(ar, s, sympy.sin(ALPHA), {ALPHA: radians})
    gradient_agrees(ar, ar.radians(angle), ALPHA, {ALPHA: radians})


def test_the_sides_of_a_slope_as_seeds():
    rise, run = rational(5), rational(-12)
    ar = DerivativeArithmetic([rise, run])
    c, s = ar.cos_sin(Slope(rise, run))
    at = {F: 5, G: -12}
    length = sympy.sqrt(F**2 + G**2)
    gradient_agrees(ar, c, G / length, at)
    gradient_agrees(ar, s, F / length, at)
    gradient_agrees(ar, ar.radians(Slope(rise, run)), sympy.atan2(F, G), at)


def test_the_number_in_a_radian_as_a_seed():
    number = rational(13, 10)
    ar = DerivativeArithmetic([number])
    c, s = ar.cos_sin(Radian(number))
    gradient_agrees(ar, c, sympy.cos(F), {F: sympy.Rational(13, 10)})
    gradient_agrees(ar, s, sympy.sin(F), {F: sympy.Rational(13, 10)})


def test_a_constant_as_a_seed():
    leaf = Constant("product", (rational(50), square_root(rational(2))))
    ar = DerivativeArithmetic([leaf])
    a = ar.bring(leaf)
    gradient_agrees(ar, a * a, F**2, {F: 50 * sympy.sqrt(2)})


# --- seeds


def test_equal_leaves_are_told_apart_by_identity():
    first, second = rational(3), rational(3)
    ar = DerivativeArithmetic([first, second])
    found = 2 * ar.bring(first) + 5 * ar.bring(second) + 7 * ar.bring(rational(3))
    assert ar.derivatives(found) == [2, 5]


def test_a_seed_not_brought_is_seen_not_to_be_met():
    first, second = rational(3), rational(4)
    ar = DerivativeArithmetic([first, second])
    found = ar.bring(first) * ar.bring(second + 0)
    assert ar.derivatives(found) == [4, 0]
    assert ar.met == {0}


def test_a_seed_given_twice_is_refused():
    leaf = rational(3)
    with pytest.raises(ValueError, match="twice"):
        DerivativeArithmetic([leaf, leaf])


# --- decisions and places without a derivative


def test_decisions_are_logged_replayed_and_contradicted():
    leaf = rational(3)
    ar = DerivativeArithmetic([leaf], {"open": -1, "wrong": -1})
    assert ar.sign(ar.bring(leaf), "own") == 1
    assert ar.sign(Dual(arb(0, 1), {}), "open") == -1
    assert ar.decisions == {"own": 1, "open": -1}
    with pytest.raises(Contradiction):
        ar.sign(ar.bring(leaf), "wrong")
    with pytest.raises(Undecided):
        ar.sign(Dual(arb(0, 1), {}), "unknown")


def test_a_size_has_the_derivative_of_its_sign_and_at_zero_all_between():
    leaf = rational(3)
    ar = DerivativeArithmetic([leaf])
    a = ar.bring(leaf)
    assert ar.derivatives(ar.size(a)) == [1] and ar.derivatives(ar.size(a - 5)) == [-1]
    (slope,) = ar.derivatives(ar.size(2 * (a - 3)))
    assert slope.contains(-2) and slope.contains(2) and abs(slope) < fmpq(201, 100)


def test_the_larger_of_two_equals_has_both_derivatives():
    leaf = rational(3)
    ar = DerivativeArithmetic([leaf])
    a = ar.bring(leaf)
    assert ar.derivatives(ar.larger(a, 2 * a, "larger")) == [2]
    (slope,) = ar.derivatives(ar.larger(2 * a, a + 3, "tie"))
    assert slope.contains(1) and slope.contains(2) and not slope.contains(3)


def test_the_root_of_zero_has_no_finite_derivative():
    leaf, other = rational(3), rational(5)
    ar = DerivativeArithmetic([leaf, other])
    root = ar.sqrt(ar.bring(leaf) - 3)
    slope, nothing = ar.derivatives(root)
    assert root.value == 0 and not slope.is_finite() and nothing == 0


# --- systems and roots


def test_a_system_by_its_own_rule():
    leaves = [rational(7, 5), rational(3, 8), rational(-2)]
    ar = DerivativeArithmetic(leaves)
    a, b, c = (ar.bring(leaf) for leaf in leaves)
    found = ar.solve_linear(
        [[a, b * b, 1], [0, c, a * b], [a - c, 2, b]], [a * c, 1, b + 1], "frame"
    )
    matrix = sympy.Matrix([[F, G**2, 1], [0, ALPHA, F * G], [F - ALPHA, 2, G]])
    right = sympy.Matrix([F * ALPHA, 1, G + 1])
    at = {F: sympy.Rational(7, 5), G: sympy.Rational(3, 8), ALPHA: -2}
    for x, formula in zip(found, matrix.LUsolve(right), strict=True):
        gradient_agrees(ar, x, formula, at)
    assert ar.decisions == {"frame": 1}


def test_a_system_without_seeds_and_a_singular_one():
    ar = DerivativeArithmetic([], {"singular": 0})
    (x,) = ar.solve_linear([[ar.pi()]], [1], "plain")
    assert x.gradient == {} and x.value.overlaps(1 / arb.pi())
    with pytest.raises(Singular):
        ar.solve_linear([[1, 1], [1, 1]], [1, 1], "singular")
    assert ar.solve_linear([], [], "none") == []


def test_a_root_by_the_implicit_function_theorem():
    """t^2 = F has t = sqrt(F); (t - G)^3 = F has t = G + F^(1/3)."""
    leaves = [rational(5), rational(3, 4)]
    ar = DerivativeArithmetic(leaves)
    f, g = (ar.bring(leaf) for leaf in leaves)
    bracket = (rational(1), rational(9))
    at = {F: 5, G: sympy.Rational(3, 4)}
    found = ar.root(lambda t: t * t - f, lambda t: 2 * t, bracket, "square")
    gradient_agrees(ar, found, sympy.sqrt(F) + 0 * G, at)

    def cube(t):
        return (t - g) * (t - g) * (t - g) - f

    found = ar.root(cube, lambda t: 3 * (t - g) * (t - g), bracket, "cube")
    gradient_agrees(ar, found, G + F ** sympy.Rational(1, 3), at)
    assert ar.decisions == {"square": 1, "cube": 1}


def test_a_root_that_depends_on_no_seed():
    ar = DerivativeArithmetic([rational(5)])
    found = ar.root(lambda t: t * t - 2, lambda t: 2 * t, (rational(0), rational(2)), "root")
    assert found.gradient == {} and found.value.overlaps(arb(2).sqrt())


def test_trial_values_leave_the_decisions_of_a_derivative_alone():
    leaf = rational(3)
    ar = DerivativeArithmetic([leaf], {"x": 0})
    apart = ar.apart()
    assert apart.sign(apart.bring(leaf), "x") == 1  # neither replayed nor logged
    assert ar.decisions == {} and apart.decisions == {"x": 1}


def test_at_a_tie_either_rate_may_hold():
    """Of two leaves that are equal, which one is the larger is open to both."""
    a, b = rational(2), rational(2, 1)
    ar = DerivativeArithmetic([a, b])
    for x, y, name in ((a, b, "tie"), (b, a, "tie the other way")):
        rates = ar.derivatives(ar.larger(ar.bring(x), ar.bring(y), name))
        assert all(rate.contains(0) and rate.contains(1) for rate in rates)
        assert all(abs(rate) < fmpq(3, 2) for rate in rates)
