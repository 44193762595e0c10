from __future__ import annotations

from fractions import Fraction

import pytest
import sympy
from flint import arb, ctx, fmpq
from hypothesis import given
from hypothesis import strategies as st

from refsolver.arithmetic.enclosure import evaluate
from refsolver.arithmetic.exact import Constant, Exact, Radian, Slope, Turn, product, square_root
from refsolver.quantities.folding import PI, over
from refsolver.quantities.literals import LiteralError, read_literal

ROOT_2 = square_root(fmpq(2))


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("50*sqrt(2)", product(fmpq(50), ROOT_2)),
        ("50 · sqrt( 2 )", product(fmpq(50), ROOT_2)),
        ("100*sqrt(3)/3", product(fmpq(100, 3), square_root(fmpq(3)))),
        ("(50/3)*sqrt(7)", product(fmpq(50, 3), square_root(fmpq(7)))),
        ("-sqrt(2)", product(fmpq(-1), ROOT_2)),
        ("pi/4", product(fmpq(1, 4), PI)),
        ("π/4", product(fmpq(1, 4), PI)),
        ("2 + sqrt(3)", Constant("sum", (fmpq(2), square_root(fmpq(3))))),
        ("sqrt(9/4)", fmpq(3, 2)),
        ("2^10", fmpq(1024)),
        ("2^-3", fmpq(1, 8)),
        ("2^(-3)", fmpq(1, 8)),
        ("2⁻³", fmpq(1, 8)),
        ("2^0.5", ROOT_2),
        ("4^(1/2)", fmpq(2)),
        ("(-2)^2", fmpq(4)),
        ("1 - 2^2", fmpq(-3)),
        ("-(2^2)", fmpq(-4)),
        ("sqrt(2)^3", Constant("power", (ROOT_2, fmpq(3)))),
        ("2*(-3)", fmpq(-6)),
        ("2 - (-3)", fmpq(5)),
        ("7-4-2*0.5", fmpq(2)),
        ("6/2*3", fmpq(9)),
        ("exp(1/2)", Constant("exp", (fmpq(1, 2),))),
        ("ln(2)", Constant("ln", (fmpq(2),))),
        ("sin(30 deg)", Constant("sin", (Turn(fmpq(1, 12)),))),
        ("cos(-30°)", Constant("cos", (Turn(fmpq(-1, 12)),))),
        ("tan(0.7 rad)", Constant("tan", (Radian(fmpq(7, 10)),))),
        ("sin(pi/6 rad)", Constant("sin", (Turn(fmpq(1, 12)),))),
        ("sin(3:4)", Constant("sin", (Slope(fmpq(3), fmpq(4)),))),
        ("sin(1:0)", Constant("sin", (Slope(fmpq(1), fmpq(0)),))),
    ],
)
def test_constant_expressions(text: str, value: Exact):
    literal = read_literal(text)
    assert literal.value == value
    assert literal.printed is None


def test_equal_constants_written_differently_are_the_same_leaf():
    texts = ["5*pi/4", "pi*5/4", "(5/4)*pi", "1.25*pi", "pi/0.8"]
    assert {read_literal(text).value for text in texts} == {over(product(fmpq(5), PI), fmpq(4))}


@pytest.mark.parametrize(
    "text",
    [
        "50*sqrt(2)/(1 + sqrt(3))",
        "(pi/8 - 8/(9*pi))/2",
        "3*sqrt(105)/7 - 648*sqrt(2)/7",
        "exp(2/5)*ln(7)/(1 + exp(-1))",
        "sqrt(2 + sqrt(3))^5",
        "1 - 2/3*(4 - sqrt(5)*(6 - pi))",
        "((1 + sqrt(2))*(1 - sqrt(3)))^-3",
    ],
)
def test_values_agree_with_a_computer_algebra_system(text: str):
    """Outside check: SymPy's parser and its 40-digit evaluation of the same text."""
    names = {"ln": sympy.log, "pi": sympy.pi, "sqrt": sympy.sqrt, "exp": sympy.exp}
    rational = text.replace("^", "**")
    theirs = sympy.N(sympy.sympify(rational, locals=names, rational=True), 40)
    with ctx.workprec(200):
        ours = evaluate(read_literal(text).value)
        assert ours.rel_accuracy_bits() > 150
        assert abs(ours - arb(str(theirs))) < arb(10) ** -37 * abs(ours)


def test_trigonometric_values_agree_with_a_computer_algebra_system():
    theirs = sympy.N(100 * sympy.sin(sympy.pi * 40 / 180) - sympy.cos(sympy.atan2(3, -4)), 40)
    with ctx.workprec(200):
        ours = evaluate(read_literal("100*sin(40 deg) - cos(3:(-4))").value)
        assert abs(ours - arb(str(theirs))) < arb(10) ** -36


@pytest.mark.parametrize(
    ("text", "position", "why", "mend"),
    [
        ("2 pi", 1, "an operator is missing here", "2*pi"),
        ("2pi", 1, "an operator is missing here", "2*pi"),
        ("2sqrt(3)", 1, "an operator is missing here", "2*pi"),
        ("50√2", 2, "an operator is missing here", "2*pi"),
        ("3 sin 30", 1, "an operator is missing here", "2*pi"),
        ("5 (approx)", 1, "an operator is missing here", "with *"),
        ("sqrt(2) pi", 7, "an operator is missing here", "2*pi"),
        ("(1 + 2)(3)", 7, "an operator is missing here", "2*pi"),
        ("sqrt 2", 4, "sqrt is not followed by a parenthesis", "sqrt(...)"),
        ("√2", 0, "'√' is no number", "sqrt(2)"),
        ("sqrt(-2)", 0, "this is the root of a negative number", "sign"),
        ("(-2)^0.5", 0, "this is the root of a negative number", "sign"),
        ("ln(0)", 0, "this is the logarithm of no positive number", "sign"),
        ("5/0", 2, "this divides by zero", "divisor"),
        ("1/(2-2)", 2, "this divides by zero", "divisor"),
        ("0^-1", 0, "this divides by zero", "exponent"),
        ("-2^2", 1, "a sign before a power is read in two ways", "(-a)^b"),
        ("-sqrt(2)^3", 1, "a sign before a power is read in two ways", "(-a)^b"),
        ("2^3^2", 3, "a power of a power is read in two ways", "a^(b*c)"),
        ("2^1/2", 2, "a^1/2 is read in two ways", "sqrt(a)"),
        ("2^0.3", 2, "the exponent is neither a whole number nor 1/2", "with sqrt"),
        ("2^(3/2)", 2, "the exponent is neither a whole number nor 1/2", "sqrt(a)^3"),
        ("2^sqrt(2)", 2, "the exponent is neither a whole number nor 1/2", "whole"),
        ("2^99999", 0, "this power is out of all proportion", "smaller"),
        ("sqrt(2)^10001", 0, "this power is out of all proportion", "smaller"),
        ("6/2/3", 3, "a/b/c leaves open what is divided", "(a/b)/c"),
        ("5*", 2, "the text ends where a number is expected", "complete"),
        ("5 + ", 4, "the text ends where a number is expected", "complete"),
        ("2*-3", 2, "a number is expected here", "62.0"),
        ("(1", 2, "the parenthesis is not closed here", "close it"),
        ("(3, 3)", 2, "the parenthesis is not closed here", "one number"),
        ("1)", 1, "a unit is expected here", "kN/m"),
        ("(" * 41 + "1" + ")" * 41, 41, "too many parentheses", "at most 40"),
        ("1+" * 100 + "1", 200, "the expression is too long", "at most 100"),
        ("a*b", 0, "'a' is no number", "write numbers"),
        ("2*theta", 2, "'theta' is no number", "write numbers"),
        ("E^2", 0, "'E' is no number", "exp(1)"),
        ("-atan(2)", 1, "'atan' is no number", "rise:run"),
        ("log(2)", 0, "'log' is no number", "ln"),
        ("sin(40)", 6, "the unit of this angle is missing", "sin(40 deg)"),
        ("sin(pi/4)", 8, "the unit of this angle is missing", "rad"),
        ("sin(40 m)", 7, "its dimension is length, wanted is angle", "deg"),
        ("sin(0:0)", 4, "0:0 has no direction", "not both zero"),
        ("3.2 x 10^5 * 2", 3, "a cross is read only in a power of ten", "write * for a product"),
    ],
)
def test_refusals_say_where_why_and_how_to_mend(text: str, position: int, why: str, mend: str):
    with pytest.raises(LiteralError) as caught:
        read_literal(text)
    error = caught.value
    assert (error.text, error.position) == (text, position)
    assert why in error.why
    assert mend in error.mend


def _written(shape: object) -> str:
    if isinstance(shape, int):
        return str(shape)
    left, operator, right = shape  # type: ignore[misc]
    return f"({_written(left)} {operator} {_written(right)})"


def _computed(shape: object) -> Fraction:
    if isinstance(shape, int):
        return Fraction(shape)
    left, operator, right = shape  # type: ignore[misc]
    a, b = _computed(left), _computed(right)
    return {"+": a.__add__, "-": a.__sub__, "*": a.__mul__, "/": a.__truediv__}[operator](b)


trees = st.recursive(
    st.integers(0, 999),
    lambda inner: st.tuples(inner, st.sampled_from("+-*/"), inner),
    max_leaves=12,
)


@given(trees)
def test_rational_expressions_agree_with_fractions(tree: object):
    try:
        expected = _computed(tree)
    except ZeroDivisionError:
        with pytest.raises(LiteralError, match="divides by zero"):
            read_literal(_written(tree))
    else:
        value = read_literal(_written(tree)).value
        assert value == fmpq(expected.numerator, expected.denominator)


@given(
    st.lists(st.integers(1, 99), min_size=2, max_size=6),
    st.lists(st.sampled_from(["+", "-", "*"]), min_size=5, max_size=5),
)
def test_precedence_without_parentheses_is_the_usual_one(numbers: list[int], operators: list[str]):
    text = str(numbers[0])
    for operator, number in zip(operators, numbers[1:], strict=False):
        text += f" {operator} {number}"
    assert read_literal(text).value == eval(text)
