"""Enclosures that live outside any precision: ends, sizes, distances, doubles."""

from __future__ import annotations

import pytest
from flint import arb, ctx, fmpq

from refsolver.arithmetic.detached import (
    Enclosure,
    can_be_written,
    enclosure_of,
    exact_double,
    nearest_double,
)


def test_an_enclosure_scaled_multiplied_and_measured():
    x = Enclosure(fmpq(-1), fmpq(3))
    assert (x.middle, x.size(), x.is_exact, x.is_zero) == (1, 3, False, False)
    assert Enclosure(fmpq(-4), fmpq(3)).size() == 4
    assert x.scaled(fmpq(2)) == Enclosure(fmpq(-2), fmpq(6))
    assert x.scaled(fmpq(-2)) == Enclosure(fmpq(-6), fmpq(2))
    assert x.times(Enclosure(fmpq(2), fmpq(2))) == x.scaled(fmpq(2))
    assert x.times(Enclosure(fmpq(-2), fmpq(5))) == Enclosure(fmpq(-6), fmpq(15))
    assert x.times(Enclosure(fmpq(-5), fmpq(-2))) == Enclosure(fmpq(-15), fmpq(5))
    zero = Enclosure(fmpq(0), fmpq(0))
    assert zero.is_zero and zero.is_exact
    assert not Enclosure(fmpq(0), fmpq(1)).is_zero and not Enclosure(fmpq(-1), fmpq(0)).is_zero


@pytest.mark.parametrize(
    ("reported", "low", "high"),
    [(5, 2, 6), (-4, 3, 7), (3, 0, 4), (-1, 0, 4), (1, 0, 2), (0, 0, 3), (2, 0, 3)],
)
def test_the_distance_of_a_reported_value(reported, low, high):
    x, third = Enclosure(fmpq(-1), fmpq(3)), fmpq(1, 3)
    assert x.deviation(fmpq(reported)) == Enclosure(fmpq(low), fmpq(high))
    nearer = x.scaled(third).deviation(reported * third)
    assert nearer == Enclosure(low * third, high * third)


@pytest.mark.parametrize("bits", [0, 1, 1100, 10**7, 10**7 + 1])
def test_what_can_be_written_is_what_can_be_read(bits):
    for ball in (arb(2) ** bits, arb(2) ** -bits, -(arb(2) ** -bits)):
        written = can_be_written(ball)
        assert written is (bits <= 10**7)
        if not written:
            with pytest.raises(ValueError, match="more digits than can be written"):
                enclosure_of(ball)
        elif bits < 10**7:
            assert enclosure_of(ball).size() in (fmpq(2) ** bits, 1 / fmpq(2) ** bits)
    assert can_be_written(arb(0)) is True
    assert not can_be_written(arb(0, arb(2) ** (10**7 + 100)))


def test_the_ends_of_a_ball_are_read_whatever_the_precision():
    with ctx.workprec(300):
        ball = arb(fmpq(1, 4), fmpq(1, 2**200))
        small, large = arb(fmpq(3, 2**500)), arb(3) * arb(2) ** 500
    with ctx.workprec(20):
        found = enclosure_of(ball)
        assert found.lower < fmpq(1, 4) < found.upper
        assert found.upper - found.lower < fmpq(3, 2**200)
        assert enclosure_of(small) == Enclosure(fmpq(3, 2**500), fmpq(3, 2**500))
        assert enclosure_of(large).lower == 3 * 2**500
        assert enclosure_of(arb(1)) == Enclosure(fmpq(1), fmpq(1))


@pytest.mark.parametrize("ball", [arb.nan(), arb(0, 1) / 0, arb("inf")], ids=str)
def test_an_unbounded_ball_has_no_ends(ball):
    with pytest.raises(ValueError, match="not bounded"):
        enclosure_of(ball)


def test_a_number_out_of_all_proportion_is_refused():
    assert enclosure_of(arb(2) ** 9_999_000).lower > 0
    for exponent in (10_000_100, -10_000_100):
        with pytest.raises(ValueError, match="more digits"):
            enclosure_of(arb(2) ** exponent)


def test_doubles_are_taken_exactly_and_given_nearest():
    assert exact_double(0.1) == fmpq(3602879701896397, 2**55)
    assert nearest_double(fmpq(1, 10)) == 0.1 and nearest_double(fmpq(-3, 2)) == -1.5
    assert nearest_double(fmpq(10**400)) == float("inf")
    assert nearest_double(fmpq(-(10**400))) == float("-inf")
    for wrong in (float("nan"), float("inf")):
        with pytest.raises(ValueError, match="not a number on the real line"):
            exact_double(wrong)
