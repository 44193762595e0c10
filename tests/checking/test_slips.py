"""What a reading by hand may have been before one slip."""

from __future__ import annotations

import pytest

from refsolver.checking.slips import possible_readings

SWAPPED = "two neighbouring digits exchanged"
MARK = "the decimal mark one place off"
EXTRA = "a digit doubled or put in"


def slips(text):
    found = {}
    for other, slip in possible_readings(text):
        found.setdefault(slip, set()).add(other)
    return found


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("123.4", {"213.4", "132.4", "124.3"}),  # across the mark too
        ("1123", {"1213", "1132"}),  # equal digits make no other number
        ("7", None),
    ],
)
def test_neighbouring_digits_exchanged(text, expected):
    assert slips(text).get(SWAPPED) == expected


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("123.4", {"12.34", "1234."}),
        ("1.25", {"12.5"}),  # a mark at the very front is no way to print a number
        ("125", {"12.5"}),
        ("12.", {"1.2"}),
        (".5", {"5."}),
        (".52", {"5.2"}),
        ("7", None),
    ],
)
def test_the_decimal_mark_one_place_off(text, expected):
    assert slips(text).get(MARK) == expected


def test_a_digit_put_in():
    assert slips("12.5")[EXTRA] == {"2.5", "1.5", "12."}
    assert slips("70 lbf")[EXTRA] == {"0 lbf", "7 lbf"}


def test_the_sign():
    assert slips("12.5")["the sign lost"] == {"-12.5"}
    assert slips("  7")["the sign lost"] == {"-7"}
    assert slips("-1e-3")["a sign put in"] == {"1e-3"}
    assert slips(" -4")["a sign put in"] == {" 4"}
    assert "the sign lost" not in slips("-4") and "a sign put in" not in slips("4")


def test_the_decimal_mark_is_the_one_of_the_text():
    assert ("1,25", "the decimal mark one place off") in possible_readings("12,5", ",")
