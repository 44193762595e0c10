from __future__ import annotations

import math
from decimal import (
    ROUND_CEILING,
    ROUND_DOWN,
    ROUND_FLOOR,
    ROUND_HALF_EVEN,
    ROUND_HALF_UP,
    ROUND_UP,
    Context,
    Decimal,
)
from fractions import Fraction
from typing import get_args

import pytest
from flint import fmpq
from hypothesis import given
from hypothesis import strategies as st

from refsolver.arithmetic.detached import exact_double
from refsolver.quantities.literals import read_literal
from refsolver.quantities.rounding import (
    Manner,
    decimal_text,
    exact_decimal,
    is_decimal,
    rounded,
    shortest,
    significant_text,
)

MANNERS: tuple[Manner, ...] = get_args(Manner)
OF_THE_STANDARD_LIBRARY = {
    "nearest": ROUND_HALF_UP,
    "nearest-even": ROUND_HALF_EVEN,
    "up": ROUND_CEILING,
    "down": ROUND_FLOOR,
    "cut": ROUND_DOWN,
    "away": ROUND_UP,
}

rationals = st.builds(fmpq, st.integers(-(10**12), 10**12), st.integers(1, 10**6))
manners = st.sampled_from(MANNERS)


@pytest.mark.parametrize(
    ("value", "decimals", "manner", "text"),
    [
        (fmpq(1, 8), 2, "nearest", "0.13"),
        (fmpq(-1, 8), 2, "nearest", "-0.13"),
        (fmpq(1, 8), 2, "nearest-even", "0.12"),
        (fmpq(3, 8), 2, "nearest-even", "0.38"),
        (fmpq(-5, 2), 0, "nearest-even", "-2"),
        (fmpq(1, 3), 3, "up", "0.334"),
        (fmpq(-1, 3), 3, "up", "-0.333"),
        (fmpq(-1, 3), 3, "down", "-0.334"),
        (fmpq(-1, 3), 3, "cut", "-0.333"),
        (fmpq(-1, 3), 3, "away", "-0.334"),
        (fmpq(2, 1), 2, "away", "2.00"),
        (fmpq(-1, 1000), 2, "nearest", "0.00"),
        (fmpq(62), 1, "nearest", "62.0"),
        (fmpq(1234), -2, "nearest", "1200"),
        (fmpq(1250), -2, "nearest", "1300"),
        (fmpq(7), -2, "nearest", "0"),
    ],
)
def test_decimal_text(value: fmpq, decimals: int, manner: Manner, text: str):
    assert decimal_text(value, decimals, manner) == text


@given(st.decimals(-(10**9), 10**9, allow_nan=False, places=6), st.integers(0, 5), manners)
def test_rounding_agrees_with_the_decimal_module(x: Decimal, decimals: int, manner: Manner):
    """Outside check: the standard library's General Decimal Arithmetic."""
    value = fmpq(*x.as_integer_ratio())
    quantum = Decimal(1).scaleb(-decimals)
    theirs = x.quantize(quantum, OF_THE_STANDARD_LIBRARY[manner], Context(prec=40))
    ours = decimal_text(value, decimals, manner)
    assert Decimal(ours) == theirs
    assert ours == f"{theirs:f}" or theirs == 0


@given(rationals, st.integers(1, 10**4), manners)
def test_rounding_lands_on_a_multiple_on_the_side_asked(value: fmpq, n: int, manner: Manner):
    step = fmpq(n, 100)
    result = rounded(value, step, manner)
    assert (result / step).q == 1
    assert abs(result - value) < step
    if manner == "up":
        assert result >= value
    elif manner == "down":
        assert result <= value
    elif manner == "cut":
        assert abs(result) <= abs(value)
    elif manner == "away":
        assert abs(result) >= abs(value)
    else:
        assert abs(result - value) <= step / 2


def test_a_rounding_step_is_positive():
    with pytest.raises(ValueError, match="positive"):
        rounded(fmpq(1), fmpq(0))


@pytest.mark.parametrize(
    ("value", "figures", "text"),
    [
        (fmpq(1, 3), 3, "0.333"),
        (fmpq(996, 100), 2, "10"),
        (fmpq(994, 100), 2, "9.9"),
        (fmpq(9996, 10), 3, "1.00e3"),
        (fmpq(12345), 2, "1.2e4"),
        (fmpq(12345), 5, "12345"),
        (fmpq(62), 3, "62.0"),
        (fmpq(-1, 300000), 3, "-3.33e-6"),
        (fmpq(1, 30000), 2, "0.000033"),
        (fmpq(0), 3, "0"),
    ],
)
def test_significant_text(value: fmpq, figures: int, text: str):
    assert significant_text(value, figures) == text


def test_at_least_one_figure():
    with pytest.raises(ValueError, match="at least one"):
        significant_text(fmpq(1), 0)


@given(rationals.filter(bool), st.integers(1, 30), manners)
def test_significant_text_reads_back_with_as_many_figures(
    value: fmpq, figures: int, manner: Manner
):
    literal = read_literal(significant_text(value, figures, manner))
    assert literal.printed is not None
    assert literal.printed.figures == figures
    assert isinstance(literal.value, fmpq)
    assert abs(literal.value - value) < literal.printed.step


@given(rationals, st.integers(0, 20), manners)
def test_decimal_text_reads_back_with_as_many_decimals(value: fmpq, decimals: int, manner: Manner):
    literal = read_literal(decimal_text(value, decimals, manner))
    assert literal.value == rounded(value, fmpq(10) ** -decimals, manner)
    assert literal.printed is not None
    assert literal.printed.decimals == decimals


@given(rationals)
def test_exact_decimals_are_exact_or_none(value: fmpq):
    text = exact_decimal(value)
    if text is None:
        odd = int(value.q)
        while odd % 2 == 0:
            odd //= 2
        while odd % 5 == 0:
            odd //= 5
        assert odd > 1
    else:
        assert Fraction(text) == Fraction(int(value.p), int(value.q))


@given(st.floats(allow_nan=False, allow_infinity=False))
def test_a_double_is_the_rational_it_stands_for(x: float):
    value = exact_double(x)
    assert Fraction(int(value.p), int(value.q)) == Fraction(x)
    assert read_literal(shortest(value)).value == value


@pytest.mark.parametrize("x", [math.inf, -math.inf, math.nan])
def test_infinities_and_nan_are_no_numbers(x: float):
    with pytest.raises(ValueError, match="real line"):
        exact_double(x)


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (fmpq(1000), "1000"),
        (fmpq(125, 2), "62.5"),
        (fmpq(1, 3), "1/3"),
        (fmpq(10) ** 30, "1e30"),
        (fmpq(15) * fmpq(10) ** 30, "1.5e31"),
        (fmpq(0), "0"),
        (fmpq(-1, 8), "-0.125"),
    ],
)
def test_shortest_prefers_a_plain_decimal(value: fmpq, text: str):
    assert shortest(value) == text


def test_a_fraction_is_shown_where_it_is_shorter_than_its_long_decimal():
    assert shortest(fmpq(1, 2**20)) == "1/1048576"
    assert shortest(fmpq(10**15)) == "1e15"


@pytest.mark.parametrize(
    ("value", "ends"), [(fmpq(1, 8), True), (fmpq(-7, 250), True), (fmpq(3), True),
                        (fmpq(1, 3), False), (fmpq(7, 12), False)],
)  # fmt: skip
def test_whether_a_decimal_ends(value: fmpq, ends: bool):
    assert is_decimal(value) is ends and (exact_decimal(value) is not None) is ends
