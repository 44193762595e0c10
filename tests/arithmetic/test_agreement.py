"""The arithmetics against each other on random expressions.

An expression is a tree of tuples, evaluated by :func:`value` with nothing but what the
contract offers; every leaf is an object of its own, so that each can be a seed.
"""

from __future__ import annotations

import math

import pytest
from flint import arb, ctx, fmpq
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from refsolver.arithmetic.contract import Contradiction, Undecided
from refsolver.arithmetic.derivative import DerivativeArithmetic
from refsolver.arithmetic.double import DoubleArithmetic
from refsolver.arithmetic.enclosure import EnclosureArithmetic
from refsolver.arithmetic.exact import Constant, Radian, Slope, Turn, rational, total
from refsolver.arithmetic.multiprecision import MultiprecisionArithmetic, exact_value
from refsolver.arithmetic.strict import StrictArithmetic

BITS = 160


@pytest.fixture(autouse=True, scope="module")
def precision():
    with ctx.workprec(BITS):
        yield


# --- expressions

numbers = st.builds(rational, st.integers(-60, 60), st.integers(1, 20))
angles = st.one_of(
    st.builds(lambda n, d: Turn(fmpq(n, d)), st.integers(-400, 400), st.integers(1, 360)),
    st.builds(Radian, numbers),
    st.builds(Slope, numbers, numbers).filter(lambda a: a.rise != 0 or a.run != 0),
)
leaves = st.one_of(
    st.tuples(st.just("bring"), numbers),
    st.tuples(st.sampled_from(["cosine", "sine", "radians"]), angles),
)


OF_TWO = ["+", "-", "*", "/", "atan2", "larger", "hypotenuse"]
OF_ONE = ["minus", "size", "root of size", "twice", "less 3", "cubic"]
OF_ONE += ["cos", "sin", "asinh", "log", "exp", "cosh", "sinh"]


def grown(inner):
    return st.one_of(
        st.tuples(st.sampled_from(OF_TWO), inner, inner),
        st.tuples(st.sampled_from(OF_ONE), inner),
        st.tuples(st.just("system"), inner, inner, inner),
    )


expressions = st.recursive(leaves, grown, max_leaves=8)


def value(tree, ar, name="x"):
    """The value of an expression; decisions are named by the place in the tree."""
    operation, *rest = tree
    if operation == "bring":
        return ar.bring(rest[0])
    if operation == "radians":
        return ar.radians(rest[0])
    if operation in ("cosine", "sine"):
        return ar.cos_sin(rest[0])[operation == "sine"]
    args = [value(arg, ar, f"{name}.{i}") for i, arg in enumerate(rest)]
    return OPERATIONS[operation](ar, name, *args)


def cubic(ar, name, p):
    """The one real root of t^3 + t (1 + p^2) = p, which lies in [-1, 1]."""
    q = 1 + p * p
    return ar.root(
        lambda t: t * t * t + t * q - p,
        lambda t: 3 * (t * t) + q,
        (fmpq(-9, 8), fmpq(1)),
        name,
    )


OPERATIONS = {
    "+": lambda ar, name, a, b: a + b,
    "-": lambda ar, name, a, b: a - b,
    "*": lambda ar, name, a, b: a * b,
    "/": lambda ar, name, a, b: a / (1 + b * b),
    "minus": lambda ar, name, a: -a,
    "twice": lambda ar, name, a: 2 * a,
    "less 3": lambda ar, name, a: a - 3,
    "atan2": lambda ar, name, a, b: ar.atan2(a, b + 1, name),
    "larger": lambda ar, name, a, b: ar.larger(a, b, name),
    "hypotenuse": lambda ar, name, a, b: ar.sqrt(a * a + b * b),
    "size": lambda ar, name, a: ar.size(a),
    "root of size": lambda ar, name, a: ar.sqrt(1 + ar.size(a)),
    "cos": lambda ar, name, a: ar.cos(a),
    "sin": lambda ar, name, a: ar.sin(a),
    "asinh": lambda ar, name, a: ar.asinh(a),
    "log": lambda ar, name, a: ar.log(1 + a * a),
    "exp": lambda ar, name, a: ar.exp(ar.sin(a)),
    "cosh": lambda ar, name, a: ar.cosh(ar.sin(a)),
    "sinh": lambda ar, name, a: ar.sinh(ar.cos(a)),
    "system": lambda ar, name, a, b, c: ar.solve_linear(
        [[a * a + 1, b], [-b, c * c + 2]], [c, 1], name
    )[0],
    "cubic": cubic,
}


def proven(tree):
    """The ball, the decisions; skips what balls cannot decide and the zero vector."""
    ar = EnclosureArithmetic()
    try:
        ball = value(tree, ar)
    except (Undecided, ValueError):
        assume(False)
    assume(ball.is_finite())
    return ball, ar.decisions


def leaves_of(tree):
    operation, *rest = tree
    if not isinstance(rest[0], tuple):
        return [rest[0]]
    return [leaf for arg in rest for leaf in leaves_of(arg)]


def replaced(tree, old, new):
    operation, *rest = tree
    if not isinstance(rest[0], tuple):
        return (operation, new if rest[0] is old else rest[0])
    return (operation, *(replaced(arg, old, new) for arg in rest))


# --- agreement


@given(expressions)
def test_strict_gives_the_very_ball_of_the_enclosure_arithmetic(tree):
    ball, decisions = proven(tree)
    ar = StrictArithmetic()
    found = value(tree, ar).ball
    assert found.mid() == ball.mid() and found.rad() == ball.rad()
    assert ar.decisions == decisions


@given(expressions)
def test_more_precision_stays_inside(tree):
    ball, _ = proven(tree)
    with ctx.workprec(3 * BITS):
        finer = value(tree, EnclosureArithmetic())
        assert ball.overlaps(finer)
        assert finer.rad() <= ball.rad() or finer.rad() < fmpq(1, 2 ** (2 * BITS))


@given(expressions)
def test_multiprecision_lies_in_the_ball_and_decides_alike(tree):
    ball, decisions = proven(tree)
    for replay in ({}, decisions):
        ar = MultiprecisionArithmetic(BITS + 40, replay)
        found = exact_value(value(tree, ar))
        slack = ball.rad() + (1 + abs(ball)) * fmpq(1, 2 ** (BITS - 8))
        assert abs(arb(found) - ball.mid()) <= slack
        assert ar.decisions == decisions


@given(expressions)
def test_double_reaches_what_a_53_bit_ball_promises(tree):
    """Rounding in 53 bits moves the value by no more than about the ball at 53 bits is wide.

    The slack covers what a ball at 53 bits does not see: the degrees turned into radians,
    and exact values (a cosine of 90 degrees) where floats are not.
    """
    ball, decisions = proven(tree)
    with ctx.workprec(53):
        try:
            coarse = value(tree, EnclosureArithmetic(decisions))
        except Undecided:
            assume(False)
    assume(coarse.rad() < fmpq(1, 10**6) * (1 + abs(coarse.mid())))
    ar = DoubleArithmetic(decisions)
    found = value(tree, ar)
    assert math.isfinite(found)
    slack = 64 * coarse.rad() + fmpq(1, 10**9) * (1 + abs(ball))
    assert abs(arb(found) - ball) < slack
    assert ar.decisions == decisions


@given(expressions, expressions, st.sampled_from([-1, 0, 1]))
def test_multiprecision_notices_a_wrong_decision(a, b, replayed):
    tree = ("larger", a, b)
    _, decisions = proven(tree)
    ar = MultiprecisionArithmetic(BITS + 40, {**decisions, "x": replayed})
    if decisions["x"] in (0, replayed):  # a true zero contradicts nothing
        value(tree, ar)
        assert ar.decisions["x"] == replayed
        return
    with pytest.raises(Contradiction, match="'x'"):
        value(tree, ar)


# --- derivatives


@given(expressions)
def test_derivative_has_the_value_and_decisions_of_the_enclosure_arithmetic(tree):
    ball, decisions = proven(tree)
    ar = DerivativeArithmetic(leaves_of(tree))
    found = value(tree, ar)
    assert found.value.overlaps(ball) and found.value.rad() <= 2 * ball.rad() + fmpq(1, 2**150)
    assert ar.decisions == decisions
    assert ar.met == set(range(len(leaves_of(tree))))


def moved(leaf, step):
    """A leaf moved by ``step``; an angle by that many radians."""
    if isinstance(leaf, fmpq):
        return leaf + step
    if isinstance(leaf, Radian):
        return Radian(total(leaf.radians, step))
    if isinstance(leaf, Turn):
        return Radian(total(Constant("product", (2 * leaf.turns, Constant("pi"))), step))
    c, s = (Constant(name, (Radian(step),)) for name in ("cos", "sin"))
    run, rise = (Constant("product", (x, y)) for x, y in ((leaf.run, c), (leaf.rise, c)))
    across, up = (Constant("product", (x, y)) for x, y in ((-leaf.rise, s), (leaf.run, s)))
    return Slope(total(rise, up), total(run, across))


def on_the_cut(decisions):
    """Whether a direction lies exactly at pi, where the angle jumps."""
    return any(
        sign == 0 and name.endswith(": y") and decisions[name[:-1] + "x"] < 0
        for name, sign in decisions.items()
    )


@settings(max_examples=60)
@given(expressions)
def test_derivatives_against_central_differences_in_mpmath(tree):
    _, decisions = proven(tree)
    assume(not on_the_cut(decisions))
    leaves = leaves_of(tree)
    ar = DerivativeArithmetic(leaves)
    gradient = ar.derivatives(value(tree, ar))
    step = fmpq(1, 2**120)
    for leaf, derivative in zip(leaves, gradient, strict=True):
        if not derivative.is_finite():
            continue
        ends = [
            exact_value(value(replaced(tree, leaf, moved(leaf, h)), MultiprecisionArithmetic(600)))
            for h in (step, -step)
        ]
        difference = (ends[0] - ends[1]) / (2 * step)
        slack = (1 + abs(derivative)) * fmpq(1, 2**100)
        assert (derivative + arb(0, slack)).contains(difference), (leaf, derivative)
