"""Decimal texts of enclosures: the decimal module rounds the same ends."""

from __future__ import annotations

from decimal import ROUND_CEILING, ROUND_FLOOR, Context, Decimal
from fractions import Fraction

import pytest
from flint import fmpq
from hypothesis import given
from hypothesis import strategies as st

from refsolver.arithmetic.detached import Enclosure
from refsolver.quantities.printing import outward, proven_text


def q(text):
    x = Fraction(text)
    return fmpq(x.numerator, x.denominator)


def between(low, high=None):
    return Enclosure(q(low), q(low if high is None else high))


decimals = st.decimals(allow_nan=False, allow_infinity=False, places=12).map(str)


@given(decimals, st.integers(1, 20), st.integers(-30, 30))
def test_outward_ends_are_those_of_the_decimal_module(text, figures, exponent):
    value = Decimal(text).scaleb(exponent)
    low, high = outward(between(str(value)), figures)
    assert Decimal(low) == Context(figures, ROUND_FLOOR).plus(value)
    assert Decimal(high) == Context(figures, ROUND_CEILING).plus(value)


@pytest.mark.parametrize(
    ("low", "high", "figures", "text"),
    [
        ("1/3", None, 5, "0.33333"),
        ("-1/3", None, 5, "-0.33333"),
        ("2/3", None, 3, "0.667"),
        ("1.25", None, 3, "1.25"),  # exact, and short enough to be printed whole
        ("1.25", None, 2, "1.3"),  # a tie goes away from zero
        ("-1.25", None, 2, "-1.3"),
        ("100", None, 2, "100"),
        ("0", None, 4, "0"),
        ("123.4561", "123.4562", 10, "123.456"),
        ("123.4561", "123.4562", 3, "123"),
        ("9.9996", "9.9999", 4, "10.00"),
        ("-3.15", "-3.14", 8, "-3"),  # -3.15 rounds to -3.2, away from zero
        ("0.99", "1.01", 5, "1"),
        ("0.0999996", "0.1000004", 9, "0.10000"),
        ("4.9", "5.2", 3, "5"),
        ("-1e-31", "2e-31", 10, "|x| < 2e-31"),
        ("-21/10", "1", 10, "|x| < 3"),
        ("4", "6", 10, "|x| < 6"),
        ("0.5", None, 3, "0.5"),  # exact: no zeros behind it
        ("-0.5", None, 3, "-0.5"),
        ("0", "1e-40", 3, "|x| < 1e-40"),
        ("1e21", None, 1, "1e21"),
        ("1", "1.0000001", 3, "1.00"),
        ("1e25", None, 3, "1.00e25"),
        ("123456789e15", None, 3, "1.23e23"),
        ("1e20", None, 1, "100000000000000000000"),
        ("1/3000000", None, 3, "3.33e-7"),
        ("1/300000", None, 3, "0.00000333"),
        ("1/30000", None, 3, "0.0000333"),
    ],
)
def test_only_digits_that_are_proven_are_printed(low, high, figures, text):
    assert proven_text(between(low, high), figures) == text


@given(decimals, st.integers(1, 25), st.integers(1, 12))
def test_both_ends_round_to_what_is_printed(text, wide, figures):
    low = q(text)
    value = Enclosure(low, low + fmpq(1, 10**wide))
    said = proven_text(value, figures)
    if said.startswith("|x| < "):
        assert value.size() <= q(said.removeprefix("|x| < "))
        return
    printed = Decimal(said)
    _, digits, exponent = printed.as_tuple()
    assert len(digits) <= figures or value.is_exact or exponent >= 0
    half = q(str(Decimal(1).scaleb(exponent))) / 2
    if "e" not in said and "." not in said:
        half = max(half, q(str(10 ** max(printed.adjusted() + 1 - figures, 0))) / 2)
    assert abs(value.lower - q(said)) <= half and abs(value.upper - q(said)) <= half


def test_ends_at_zero_and_at_one():
    assert outward(Enclosure(fmpq(0), fmpq(1)), 3) == ("0", "1.00")
    assert outward(Enclosure(fmpq(-1), fmpq(0)), 2) == ("-1.0", "0")
