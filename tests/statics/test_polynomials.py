"""Polynomials in the numbers of an arithmetic: values, interpolation, changes of sign."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from flint import arb, fmpq
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from refsolver.arithmetic.enclosure import EnclosureArithmetic
from refsolver.quantities.kinds import NoAnswer, Piece
from refsolver.statics.chapters.beams.extremes import changes_of_sign, extreme, places
from refsolver.statics.polynomials import (
    crossings,
    derivative,
    integral,
    moved,
    product,
    through,
    value,
)

whole = st.integers(-9, 9)
poly = st.lists(whole, min_size=1, max_size=5)


def balls(*values):
    return tuple(arb(fmpq(v)) for v in values)


@settings(deadline=None)
@given(poly, whole, whole)
def test_moved_and_value(p, a, x):
    q = moved(balls(*p), arb(a))
    assert value(q, arb(x)) == value(balls(*p), arb(x + a))


@settings(deadline=None)
@given(poly)
def test_derivative_undoes_integral(p):
    for c, d in zip(derivative(integral(balls(*p), arb(5))), balls(*p), strict=True):
        assert (c - d).contains(0)


@settings(deadline=None)
@given(st.lists(whole, min_size=1, max_size=5), st.integers(1, 9))
def test_through_takes_the_stated_values(values, length):
    p = through(balls(*values), arb(length))
    count = max(1, len(values) - 1)
    for i, expected in enumerate(values):
        assert (value(p, arb(fmpq(i * length, count))) - expected).contains(0)


@settings(deadline=None)
@given(st.lists(whole, min_size=2, max_size=5))
def test_changes_of_sign_are_those_of_the_roots(p):
    """Against numpy's eigenvalue roots, where those are simple, well apart and inside."""
    assume(any(p[1:]))
    roots = np.polynomial.polynomial.polyroots(np.trim_zeros(p, "b"))
    real = sorted(r.real for r in roots if abs(r.imag) < 1e-9)
    assume(all(min(abs(r), abs(r - 4)) > 1e-3 for r in real))
    assume(all(b - a > 1e-3 for a, b in pairwise(real)))
    assume(all(abs(r.imag) > 1e-3 for r in roots if abs(r.imag) >= 1e-9))
    inside = [r for r in real if 0 < r < 4]
    ar = EnclosureArithmetic()
    try:
        first, found = crossings(balls(*p), arb(4), ar, "p")
    except ArithmeticError:  # a touching zero that only algebra proves
        return
    assert len(found) == len(inside)
    for crossing, root in zip(found, inside, strict=True):
        assert abs(float(crossing.at.mid()) - root) < 1e-6
    signs = [first, *(c.after for c in found)]
    assert all(a == -b for a, b in pairwise(signs))


def pieces(*spans):
    found, start = [], 0
    for length, coefficients in spans:
        found.append(Piece(arb(start), arb(start + length), balls(*coefficients)))
        start += length
    return found


def test_a_zero_stretch_is_no_single_place():
    ar = EnclosureArithmetic()
    (change,) = changes_of_sign(pieces((2, [5]), (2, [0]), (2, [-5])), ar, "V")
    assert isinstance(change.at, NoAnswer)


def test_touching_zero_is_no_change_of_sign():
    ar = EnclosureArithmetic()
    assert changes_of_sign(pieces((2, [1, -2, 1])), ar, "M") == []


def test_a_jump_counts_once():
    ar = EnclosureArithmetic()
    (change,) = changes_of_sign(pieces((3, [5]), (3, [-5])), ar, "V")
    assert change.at == 3


def test_the_largest_value_and_its_place():
    ar = EnclosureArithmetic()
    hump = pieces((4, [0, 4, -1]))
    found = extreme(places(hump, [fmpq(0), fmpq(4)], frozenset(), ar, "M"), ar, "largest")
    assert found.value == 4
    assert found.at == 2
    ends = extreme(places(hump, [fmpq(0), fmpq(4)], frozenset(), ar, "M"), ar, "smallest", -1)
    assert ends.value == 0
    assert ends.at.reason == "no unique answer"


@given(poly, poly)
def test_a_product_is_the_convolution_of_the_coefficients(p, q):
    assert list(product(p, q)) == np.convolve(p, q).tolist()


def test_a_root_of_order_three_is_a_change_of_sign():
    """(x - 2)^3 within 0 to 5, where the slope vanishes too; (x - 2)^4 only touches."""
    ar = EnclosureArithmetic()
    first, found = crossings(balls(-8, 12, -6, 1), arb(5), ar, "cube")
    assert first == -1 and [(c.after, c.at.overlaps(arb(2))) for c in found] == [(1, True)]
    first, found = crossings(balls(16, -32, 24, -8, 1), arb(5), ar, "fourth power")
    assert first == 1 and not found
