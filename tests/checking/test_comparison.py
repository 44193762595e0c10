"""Comparison with enclosures: proven within, proven outside, undecided; angles on the circle."""

from __future__ import annotations

import math
from fractions import Fraction

import pytest
from flint import fmpq
from hypothesis import given
from hypothesis import strategies as st

from refsolver.arithmetic.detached import Enclosure
from refsolver.calculators.criteria import Band
from refsolver.checking.comparison import compare, measures, on_circle


def exactly(value):
    x = fmpq(Fraction(value).numerator, Fraction(value).denominator)
    return Enclosure(x, x)


def number(value):
    return exactly(value).lower


def band(below, above=None):
    return Band(exactly(below), exactly(below if above is None else above))


TURN = exactly(360)


@pytest.mark.parametrize(
    ("reported", "reference", "allowed", "decision"),
    [
        ("50", "50", band("0"), "within"),
        ("50.01", "50", band("0.01"), "within"),  # a tie is allowed
        ("50.0100001", "50", band("0.01"), "outside"),
        ("49.99", "50", band("0", "0.01"), "outside"),
        ("50.01", "50", band("0", "0.01"), "within"),
        ("49.99", "50", band("0.01", "0"), "within"),
        ("-50", "50", band("0.01"), "outside"),
    ],
)
def test_exact_references_are_decided_exactly(reported, reference, allowed, decision):
    assert compare(number(reported), exactly(reference), allowed).decision == decision


def test_a_limit_inside_the_enclosure_is_undecided():
    reference = Enclosure(number("49.999999"), number("50.000001"))
    assert compare(number("50.01"), reference, band("0.01")).decision == "undecided"
    assert compare(number("50.009"), reference, band("0.01")).decision == "within"
    assert compare(number("50.011"), reference, band("0.01")).decision == "outside"


def test_a_limit_that_is_itself_enclosed_decides_only_what_is_proven():
    allowed = Band(*[Enclosure(number("0.0099"), number("0.0101"))] * 2)
    assert compare(number("50.00989"), exactly("50"), allowed).decision == "within"
    assert compare(number("50.01"), exactly("50"), allowed).decision == "undecided"
    assert compare(number("50.0102"), exactly("50"), allowed).decision == "outside"


@pytest.mark.parametrize(
    ("low", "high", "reported"), [("49.98", "49.99", "50"), ("50.01", "50.02", "50")]
)
def test_an_enclosure_that_touches_the_limit_may_be_a_tie(low, high, reported):
    reference = Enclosure(number(low), number(high))
    assert compare(number(reported), reference, band("0.01")).decision == "undecided"
    assert compare(number(reported), reference, band("0.0099999")).decision == "outside"


@pytest.mark.parametrize(
    ("reported", "reference", "deviation"),
    [
        ("359.99", "0.005", "-0.015"),
        ("0.005", "359.99", "0.015"),
        ("-90", "270", "0"),
        ("180", "-180", "0"),
        ("720.5", "0.25", "0.25"),
        ("10", "190.5", "179.5"),
        ("200", "0", "-160"),
        ("0", "200", "160"),
    ],
)
def test_angles_are_compared_on_the_circle(reported, reference, deviation):
    found = compare(number(reported), exactly(reference), band("0.02"), TURN)
    assert found.deviation == exactly(deviation)
    assert (found.decision == "within") == (abs(Fraction(deviation)) <= Fraction("0.02"))


def test_what_is_enclosed_on_the_circle_stays_enclosed():
    """A deviation of one turn and a bit, the turn itself (2 pi, say) known to six decimals."""
    period = Enclosure(number("6.283185"), number("6.283186"))
    found = on_circle(Enclosure(number("6.3"), number("6.4")), period)
    assert found == Enclosure(number("0.016814"), number("0.116815"))


def test_an_undirected_line_repeats_every_half_turn():
    found = compare(number("179.99"), exactly("0.005"), band("0.02"), exactly(180))
    assert found.decision == "within" and found.deviation == exactly("-0.015")


def test_opposite_directions_are_never_within():
    for reference in ("0", "90", "179.9999", "-180"):
        turned = number(reference) + 180
        assert compare(turned, exactly(reference), band("1"), TURN).decision == "outside"


@given(
    st.fractions(-1000, 1000, max_denominator=10**6),
    st.fractions(-1000, 1000, max_denominator=10**6),
    st.integers(-3, 3),
)
def test_whole_turns_change_nothing(reported, reference, turns):
    one = compare(number(reported), exactly(reference), band("0.5"), TURN)
    other = compare(number(reported + 360 * turns), exactly(reference), band("0.5"), TURN)
    assert one.decision == other.decision
    assert one.deviation.size() <= 180
    assert on_circle(one.deviation, TURN) == one.deviation


def test_measures_are_those_of_the_log_relative_error():
    # -log10(|q - c| / |c|), as defined with NIST's StRD data sets
    found = measures(exactly("0.001"), exactly("100"))
    assert found.relative == pytest.approx(1e-5) and found.digits == pytest.approx(5)
    assert measures(exactly("0"), exactly("100")).digits == math.inf
    assert measures(exactly("1"), exactly("0")).relative is None
