"""Bracketed roots of floats and multiprecision floats, against scipy and mpmath."""

from __future__ import annotations

import math

import mpmath
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from refsolver.arithmetic.bracketing import (
    NoBracket,
    _point_across,
    _sign,
    bracketed_root,
    scanned_roots,
)

EPS = 2.0**-52
FUNCTIONS = {
    "cubic": (lambda x: x * x * x - 2 * x - 5, 2.0, 3.0),
    "flat": (lambda x: (x - 1.0) ** 7, 0.0, 3.5),
    "steep": (lambda x: math.exp(50 * x) - 1e10, 0.0, 2.0),
    "pole beside it": (lambda x: 1 / (x - 3) - 6, 3.0001, 10.0),
    "cosine": (lambda x: math.cos(x) - x, 0.0, 2.0),
    "step": (lambda x: -1.0 if x < 0.3 else 2.0, 0.0, 1.0),
    "catenary": (lambda u: math.sinh(u) - 1.2 * u, 0.5, 5.0),
}


def counted(function):
    calls = []

    def inner(x):
        calls.append(x)
        return function(x)

    return inner, calls


@pytest.mark.parametrize("name", FUNCTIONS)
def test_floats_against_brentq(name):
    function, low, high = FUNCTIONS[name]
    watched, calls = counted(function)
    found = bracketed_root(watched, low, high, EPS, 0.0)
    reference = brentq(function, low, high, xtol=1e-15, rtol=4 * EPS, maxiter=1000)
    slack = 1e-1 if name == "flat" else 4e-15
    assert found == pytest.approx(reference, abs=slack * abs(reference))
    assert len(calls) < 90 and all(low <= x <= high for x in calls)


@pytest.mark.parametrize("name", FUNCTIONS)
def test_exchanged_ends_make_no_difference_beyond_rounding(name):
    function, low, high = FUNCTIONS[name]
    one = bracketed_root(function, low, high, EPS, 0.0)
    other = bracketed_root(function, high, low, EPS, 0.0)
    assert one == pytest.approx(other, rel=1e-1 if name == "flat" else 4e-15)


@given(st.floats(1e-6, 1e6), st.integers(2, 9))
def test_integer_roots(a, n):
    found = bracketed_root(lambda x: x**n - a, 0.0, 1.0 + a, EPS, 0.0)
    assert found == pytest.approx(a ** (1 / n), rel=1e-14)


def test_three_hundred_digits_in_few_evaluations():
    mp = mpmath.mp.clone()
    mp.dps = 300
    watched, calls = counted(lambda x: mp.cos(x) - x)
    found = bracketed_root(watched, mp.mpf(0), mp.mpf(2), mp.eps, 0)
    assert abs(found - mp.findroot(lambda x: mp.cos(x) - x, 0.7)) < mp.mpf(10) ** -297
    assert len(calls) < 60


def test_a_root_at_zero_ends():
    mp = mpmath.mp.clone()
    watched, calls = counted(mp.sin)
    found = bracketed_root(watched, mp.mpf(-1), mp.mpf(2), mp.eps, 0)
    assert abs(found) < 1e-30 and len(calls) < 300


def test_no_change_of_sign():
    with pytest.raises(NoBracket, match="no change of sign"):
        bracketed_root(lambda x: x * x + 1, -1.0, 1.0, EPS, 1e-12)


def test_a_vanishing_end_counts_as_a_root():
    function = lambda x: (x - 1) * (x + 4) + 1e-16  # noqa: E731
    assert bracketed_root(function, 1.0, 3.0, EPS, 1e-12) == 1.0
    assert bracketed_root(function, 3.0, 1.0, EPS, 1e-12) == 1.0
    with pytest.raises(NoBracket):
        bracketed_root(function, 1.0, 3.0, EPS, 0.0)


def test_two_vanishing_ends_are_no_single_root():
    with pytest.raises(NoBracket):
        bracketed_root(lambda x: x * (x - 1), 0.0, 1.0, EPS, 1e-12)


def test_not_a_number_is_noticed_at_the_ends_and_inside():
    with pytest.raises(NoBracket, match="not a number"):
        bracketed_root(lambda x: math.nan, 0.0, 1.0, EPS, 1e-12)
    with pytest.raises(NoBracket, match="not a number"):
        bracketed_root(lambda x: x - 0.4 if x in (0.0, 1.0) else math.nan, 0.0, 1.0, EPS, 1e-12)


def test_an_infinite_end_is_no_obstacle():
    function = lambda x: math.inf if x > 0.9 else x - 0.25  # noqa: E731
    assert bracketed_root(function, 0.0, 1.0, EPS, 0.0) == pytest.approx(0.25, rel=1e-15)


def test_a_step_at_zero_ends_though_no_value_vanishes():
    """There is no root to be relative to; the width of the bracket sets an end."""
    watched, calls = counted(lambda x: -1.0 if x < 0 else 2.0)
    found = bracketed_root(watched, -1.0, 2.0, EPS, 0.0)
    assert abs(found) <= 2 * EPS**2 * 3 and len(calls) < 200


def scan(function, count, low=0.0, high=1.0, vanishing=1e-12):
    return scanned_roots(function, low, high, count, EPS, vanishing)


def polynomial(*roots):
    return lambda x: math.prod(x - r for r in roots)


@pytest.mark.parametrize("roots", [(), (0.5,), (0.1, 0.11), (0.3, 0.301, 0.7), (1e-5, 0.99999)])
def test_roots_are_found_in_order_however_close_to_each_other_or_the_ends(roots):
    assert scan(polynomial(*roots), len(roots)) == pytest.approx(list(roots), rel=1e-12)


@pytest.mark.parametrize("gap", [1e-4, 1e-6, 3e-8])
@pytest.mark.parametrize("sense", [1, -1])
def test_two_roots_about_to_meet_are_found_between_all_places(gap, sense):
    meeting = polynomial(0.4137, 0.4137 + gap, 0.8)
    watched, calls = counted(lambda x: sense * meeting(x))
    assert scan(watched, 3) == pytest.approx([0.4137, 0.4137 + gap, 0.8], abs=1e-9)
    assert len(calls) < 16 + 2 + 80 + 3 * 60


def test_two_roots_about_to_meet_are_found_in_many_figures():
    context = mpmath.mp.clone()
    context.prec = 200
    gap = context.mpf(10) ** -20
    roots = (context.mpf(1) / 7, context.mpf(1) / 7 + gap)
    tiny = context.ldexp(1, -200)
    found = scanned_roots(polynomial(*roots), context.mpf(0), context.mpf(1), 2, tiny, tiny)
    assert all(abs(a - b) < 1e-30 for a, b in zip(found, roots, strict=True))


def test_a_least_value_of_one_sign_is_no_root():
    for sense in (1, -1):
        with pytest.raises(NoBracket, match="0 changes of sign in the bracket, not 2"):
            scan(lambda x, s=sense: s * ((x - 0.4) ** 2 + 1e-20), 2)


@pytest.mark.parametrize("steps, count", [(256, None), (16, 2)])
def test_a_root_exactly_where_the_scan_looks_is_found(steps, count):
    for number in (1, 5, 14):
        root = (1000 * number + 382) / (1000 * steps)
        watched, calls = counted(polynomial(root, 0.99))
        assert scan(watched, count) == pytest.approx([root, 0.99], rel=1e-12)
        assert root in calls


def test_nothing_is_looked_at_outside_the_bracket():
    watched, calls = counted(polynomial(-3.3, -3.1))
    assert scan(watched, 2, -4.0, -3.0) == pytest.approx([-3.3, -3.1])
    assert all(-4.0 <= x <= -3.0 for x in calls)


def test_another_number_of_changes_than_was_proven_is_said():
    with pytest.raises(NoBracket, match="1 changes of sign in the bracket, not 2"):
        scan(polynomial(0.4), 2)
    with pytest.raises(NoBracket, match="2 changes of sign in the bracket, not 1"):
        scan(polynomial(0.4, 0.6), 1)


def test_without_a_number_one_scan_decides():
    watched, calls = counted(polynomial(0.3, 0.7))
    assert scan(watched, None) == pytest.approx([0.3, 0.7], rel=1e-12)
    assert len(calls) < 258 + 2 * 60
    assert scan(polynomial(0.4, 0.4 + 1e-5), None) == []


def test_an_end_where_the_value_vanishes_is_no_change_of_sign():
    """x (x - 1/2), its zero at the end missed by rounding on the other side."""
    noisy = lambda x: -1e-17 if x == 0.0 else -x * (x - 0.5)  # noqa: E731
    assert scan(noisy, 1) == pytest.approx([0.5], rel=1e-12)
    clear = lambda x: -1e-3 if x == 0.0 else -x * (x - 0.5)  # noqa: E731
    assert scan(clear, 2)[1] == pytest.approx(0.5, rel=1e-12)


def test_whether_an_end_vanishes_is_measured_by_the_other_end():
    steep = lambda x: 1e-8 + 1e6 * (x - 1.0)  # noqa: E731
    assert bracketed_root(steep, 1.0, 2.0, EPS, 1e-12) == 1.0
    flat = lambda x: 1e-8 + 1e-3 * (x - 1.0)  # noqa: E731
    with pytest.raises(NoBracket):
        bracketed_root(flat, 1.0, 2.0, EPS, 1e-12)


def test_zero_has_no_sign_and_is_not_across():
    assert [_sign(x) for x in (-2.0, 0.0, 2.0)] == [-1, 0, 1]
    for sign in (1, -1):
        assert _point_across(lambda x: 0 * x, 0.0, 1.0, sign, 2.0**-52) is None
