"""The strict numbers: what they accept, and every misuse they must refuse."""

from __future__ import annotations

import math
import operator
from decimal import Decimal
from fractions import Fraction

import numpy
import pytest
from flint import arb, ctx, fmpq

from refsolver.arithmetic.contract import Contradiction, Singular, Undecided
from refsolver.arithmetic.enclosure import EnclosureArithmetic
from refsolver.arithmetic.exact import Constant, Radian, Slope, Turn, rational
from refsolver.arithmetic.strict import StrictArithmetic, StrictNumber


@pytest.fixture(autouse=True, scope="module")
def precision():
    with ctx.workprec(128):
        yield


@pytest.fixture
def ar():
    return StrictArithmetic()


@pytest.fixture
def x(ar):
    return ar.bring(rational(7, 3))


FOREIGN = [
    2 / 3,
    0.5,
    True,
    False,
    Fraction(2, 3),
    Decimal("0.5"),
    1j,
    "2",
    None,
    numpy.float64(0.5),
    numpy.int64(2),
    numpy.array([1.0, 2.0]),
    arb(2),
    [1],
]
ARITHMETIC = [operator.add, operator.sub, operator.mul, operator.truediv]


@pytest.mark.parametrize("combine", ARITHMETIC)
@pytest.mark.parametrize("foreign", FOREIGN, ids=repr)
def test_foreign_numbers_do_not_mix_from_either_side(x, foreign, combine):
    with pytest.raises(TypeError):
        combine(x, foreign)
    with pytest.raises(TypeError):
        combine(foreign, x)


@pytest.mark.parametrize("combine", ARITHMETIC)
@pytest.mark.parametrize("own", [3, -1, fmpq(2, 5), "own kind"])
def test_own_kind_integers_and_rationals_mix_from_either_side(x, own, combine):
    other = StrictNumber(arb(fmpq(2, 5))) if own == "own kind" else own
    exact = fmpq(2, 5) if own == "own kind" else own
    for found, expected in (
        (combine(x, other), combine(fmpq(7, 3), exact)),
        (combine(other, x), combine(exact, fmpq(7, 3))),
    ):
        assert isinstance(found, StrictNumber)
        assert found.ball.contains(expected) and found.ball.rad() < fmpq(1, 2**100)


def test_minus_and_sum(x):
    assert (-x).ball.contains(fmpq(-7, 3))
    assert sum([x, x, x]).ball.contains(7)


@pytest.mark.parametrize(
    ("misuse", "advice"),
    [
        (lambda x: x < x, "sign"),
        (lambda x: x <= 1, "sign"),
        (lambda x: operator.gt(1, x), "sign"),
        (lambda x: x >= x, "larger"),
        (lambda x: x == x, "sign"),
        (lambda x: x != 1, "sign"),
        (lambda x: x in [1, 2], "sign"),
        (lambda x: max(x, x), "larger"),
        (lambda x: sorted([x, x]), "larger"),
        (lambda x: hash(x), "name"),
        (lambda x: {x}, "name"),
        (lambda x: {x: 1}, "name"),
        (lambda x: bool(x), "sign"),
        (lambda x: 1 if x else 2, "sign"),
        (lambda x: not x, "sign"),
        (lambda x: any([x]), "sign"),
        (lambda x: abs(x), "size"),
        (lambda x: x**2, "multiply"),
        (lambda x: x**x, "multiply"),
        (lambda x: 2**x, "multiply"),
        (lambda x: pow(x, 2), "multiply"),
        (lambda x: pow(x, 2, 5), "multiply"),
        (lambda x: float(x), "hand it on"),
        (lambda x: int(x), "hand it on"),
        (lambda x: complex(x), "hand it on"),
        (lambda x: math.sin(x), "hand it on"),
        (lambda x: [1, 2][x], "hand it on"),
        (lambda x: range(x), "hand it on"),
        (lambda x: x % 2, "leaf"),
        (lambda x: 7 % x, "leaf"),
        (lambda x: x // 2, "leaf"),
        (lambda x: 7 // x, "leaf"),
        (lambda x: divmod(x, 2), "leaf"),
        (lambda x: divmod(7, x), "leaf"),
        (lambda x: round(x), "leaf"),
        (lambda x: round(x, 2), "leaf"),
        (lambda x: math.floor(x), "leaf"),
        (lambda x: math.ceil(x), "leaf"),
        (lambda x: math.trunc(x), "leaf"),
        (lambda x: x + 2 / 3, "write a rational"),
        (lambda x: x * True, "if and else"),
        (lambda x: x * "2", "read it"),
        (lambda x: x + arb(1), "raw ball"),
        (lambda x: x / Fraction(1, 3), "bring"),
    ],
)
def test_misuse_is_refused_with_advice(x, misuse, advice):
    with pytest.raises(TypeError, match=advice):
        misuse(x)


def test_formatting_to_digits_is_refused_but_a_bare_look_is_not(x):
    with pytest.raises(TypeError):
        f"{x:.3f}"
    assert "2.33" in repr(x)


def test_division_by_an_exact_zero_is_refused(ar, x):
    for zero in (0, fmpq(0), x * 0, ar.bring(fmpq(0))):
        with pytest.raises(ZeroDivisionError):
            x / zero
    with pytest.raises(ZeroDivisionError):
        1 / ar.bring(fmpq(0))


@pytest.mark.parametrize("foreign", [0.5, 1, fmpq(1, 2), arb(1), "1", None, True], ids=repr)
@pytest.mark.parametrize(
    "function",
    ["sqrt", "cos", "sin", "exp", "log", "cosh", "sinh", "asinh", "size"],
)
def test_functions_take_brought_numbers_only(ar, function, foreign):
    with pytest.raises(TypeError, match=f"^{function} takes"):
        getattr(ar, function)(foreign)


@pytest.mark.parametrize("foreign", [0.5, 0, fmpq(1, 2), arb(1)], ids=repr)
def test_decisions_take_brought_numbers_only(ar, x, foreign):
    for function, ask in (
        ("sign", lambda: ar.sign(foreign, "name")),
        ("larger", lambda: ar.larger(x, foreign, "name")),
        ("larger", lambda: ar.larger(foreign, x, "name")),
        ("atan2", lambda: ar.atan2(x, foreign, "name")),
        ("atan2", lambda: ar.atan2(foreign, x, "name")),
    ):
        with pytest.raises(TypeError, match=f"^{function} takes"):
            ask()
    assert ar.decisions == {}


@pytest.mark.parametrize(
    "leaf", [0.5, 1, "1", Fraction(1, 2), None, Constant("sum", (rational(1), 0.5))], ids=repr
)
def test_only_exact_numbers_are_brought(ar, leaf):
    with pytest.raises(TypeError, match="^bring takes an exact number, not"):
        ar.bring(leaf)


@pytest.mark.parametrize(
    "angle", [0.5, rational(1, 4), Turn(0.25), Radian(0.5), Slope(3, 4), Slope(fmpq(1), 0.5)],
    ids=repr,
)  # fmt: skip
def test_only_exact_angles_are_taken(ar, angle):
    for function in ("cos_sin", "radians"):
        with pytest.raises(TypeError, match=f"^{function} takes an exact"):
            getattr(ar, function)(angle)


def test_a_matrix_may_hold_integers_but_no_floats(ar, x):
    assert ar.solve_linear([[1, 0], [x, fmpq(1, 2)]], [x, 1], "joint A")[0].ball.overlaps(x.ball)
    for matrix, right in (([[0.5]], [1]), ([[1]], [0.5]), ([[True]], [1]), ([[arb(1)]], [1])):
        with pytest.raises(TypeError):
            ar.solve_linear(matrix, right, "joint B")


@pytest.mark.parametrize(
    ("matrix", "right"), [([[1, 2]], [1]), ([[1], [2]], [1, 2]), ([[1]], [1, 2]), ([], [1])]
)
def test_a_system_that_is_not_square_is_refused(ar, matrix, right):
    with pytest.raises(ValueError, match="as many equations"):
        ar.solve_linear(matrix, right, "joint A")


def test_callbacks_of_a_root_get_strict_numbers_and_must_return_them(ar):
    seen = []

    def function(x):
        seen.append(type(x))
        return x * x - 2

    bracket = (rational(0), rational(2))
    found = ar.root(function, lambda x: 2 * x, bracket, "root")
    assert isinstance(found, StrictNumber) and found.ball.overlaps(arb(2).sqrt())
    assert set(seen) == {StrictNumber}
    with pytest.raises(TypeError, match="write a rational"):
        ar.root(lambda x: x - 0.5, lambda x: x * 0 + 1, bracket, "float in the function")
    with pytest.raises(TypeError, match="slope"):
        ar.root(lambda x: x - 1, lambda x: 1, bracket, "an integer slope")
    with pytest.raises(TypeError, match="bracket"):
        ar.root(function, lambda x: 2 * x, (0, 2), "plain bracket")
    with pytest.raises(TypeError, match="bracket"):
        ar.root(function, lambda x: 2 * x, (0.0, 2.0), "float bracket")


def test_everything_returned_is_strict(ar, x):
    c, s = ar.cos_sin(Turn(rational(1, 7)))
    numbers = [c, s, ar.pi(), ar.radians(Slope(rational(3), rational(4))), ar.larger(c, s, "c, s")]
    numbers += [ar.atan2(s, c, "direction"), ar.size(x), ar.sqrt(x), ar.log(x), ar.exp(c)]
    numbers += [ar.cosh(c), ar.sinh(c), ar.asinh(c), ar.cos(c), ar.sin(c)]
    assert {type(number) for number in numbers} == {StrictNumber}


# --- names


def test_a_name_may_be_asked_again_for_the_same_number(ar, x):
    assert ar.sign(x, "sign of x") == ar.sign(x * 2 / 2, "sign of x") == 1
    ar.larger(x, x - x, "sign of x")
    ar.atan2(x, x, "direction")
    ar.atan2(x, x, "direction")
    ar.radians(Slope(rational(3), rational(4)))
    ar.radians(Slope(rational(3), rational(4)))


def test_a_name_may_not_stand_for_two_numbers(ar, x):
    ar.sign(x, "member 3")
    with pytest.raises(ValueError, match="member 3"):
        ar.sign(x + 1, "member 3")
    with pytest.raises(ValueError, match="member 3"):
        ar.larger(x, x * 3, "member 3")
    with pytest.raises(ValueError, match="member 3"):
        ar.solve_linear([[x]], [x], "member 3")


def test_a_name_of_a_direction_or_a_system_may_not_be_used_again_for_another(ar, x):
    ar.atan2(x, x, "direction")
    with pytest.raises(ValueError, match="direction: y"):
        ar.atan2(x + 1, x, "direction")
    with pytest.raises(ValueError, match="direction: x"):
        ar.sign(x + 1, "direction: x")
    ar.solve_linear([[x, 1], [1, 1]], [x, 1], "joint A")
    ar.solve_linear([[x, 1], [1, 1]], [1, 1], "joint A")
    with pytest.raises(ValueError, match="joint A"):
        ar.solve_linear([[x, 2], [1, 1]], [x, 1], "joint A")
    with pytest.raises(ValueError, match="joint A"):
        ar.solve_linear([[x]], [x], "joint A")


def test_a_name_of_a_root_may_not_be_used_again_for_another(ar):
    for low, high, fits in ((0, 2, True), (1, 3, True), (-2, 0, False)):
        ask = lambda a=low, b=high: ar.root(  # noqa: E731
            lambda x: x * x - 2, lambda x: 2 * x, (rational(a), rational(b)), "the root"
        )
        if fits:
            ask()
        else:
            with pytest.raises(ValueError, match="the root"):
                ask()


@pytest.mark.parametrize("name", ["", None, 3])
def test_a_decision_needs_a_name(ar, x, name):
    with pytest.raises(TypeError, match="name"):
        ar.sign(x, name)


# --- the same signals as the enclosure arithmetic


def test_signals_pass_through():
    open_ball = StrictNumber(arb(0, 1))
    with pytest.raises(Undecided):
        StrictArithmetic().sign(open_ball, "a")
    assert StrictArithmetic({"a": -1}).sign(open_ball, "a") == -1
    with pytest.raises(Contradiction):
        StrictArithmetic({"a": -1}).sign(StrictNumber(arb(1)), "a")
    with pytest.raises(Singular):
        StrictArithmetic({"a": 0}).solve_linear([[1, 1], [1, 1]], [1, 1], "a")


def test_it_is_no_enclosure_arithmetic_and_shares_its_log(ar, x):
    assert not isinstance(ar, EnclosureArithmetic)
    ar.sign(x, "sign of x")
    assert ar.decisions == {"sign of x": 1}


@pytest.mark.parametrize(("a", "b"), [(1, 2), (2, 1), (1, -5), (-5, 1), (-1, -2), (3, 3)])
def test_the_larger_of_two_whatever_their_signs(ar, a, b):
    one, other = ar.bring(fmpq(a)), ar.bring(fmpq(b))
    found = ar.larger(one, other, "which")
    assert ar.sign(found - max(a, b), "right") == 0
    assert ar.decisions["which"] == (a > b) - (a < b)
    assert ar.sign(one - other, "which") == ar.decisions["which"]  # the same number again


def test_a_sign_asked_within_a_direction_may_be_asked_again_for_the_same_number(ar, x):
    ar.atan2(x + 1, x, "direction")
    assert ar.sign(x, "direction: x") == ar.sign(x + 1, "direction: y") == 1


def test_all_roots_take_exact_brackets_and_a_name_of_their_own(ar):
    def ask(low, high, name="lengths"):
        return ar.roots(lambda x: x * x - 2, lambda x: 2 * x, (low, high), name)

    for bracket in ((0.5, fmpq(2)), (fmpq(0), 2)):
        with pytest.raises(TypeError, match="the bracket of lengths takes an exact number"):
            ask(*bracket)
    (found,) = ask(fmpq(0), fmpq(2))
    assert ar.sign(found - 1, "beyond one") == 1
    ask(fmpq(1), fmpq(3))  # the same root by another bracket
    for bracket in ((fmpq(-2), fmpq(2)), (fmpq(-2), fmpq(0))):
        with pytest.raises(ValueError, match="lengths"):
            ask(*bracket)
    with pytest.raises(ValueError, match="lengths"):
        ar.sign(found, "lengths")
