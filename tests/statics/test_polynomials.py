"""Polynomials in the numbers of an arithmetic: values, interpolation, changes of sign."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from flint import arb, fmpq
from hypothesis import assume, example, given, settings
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


SPANS = st.lists(
    st.tuples(st.integers(1, 3), st.lists(st.integers(-3, 3), min_size=1, max_size=3)),
    min_size=1,
    max_size=4,
)


def seen(own, grain=1e-6):
    """By numpy, piece after piece: its ends, where it is level and where it is zero inside."""
    start = 0
    for length, coefficients in own:
        curve = np.polynomial.Polynomial(coefficients)
        inside = [
            sorted(start + r.real for r in roots if abs(r.imag) < grain < r.real < length - grain)
            for roots in (curve.deriv().roots(), curve.roots())
        ]
        yield start, start + length, lambda x, c=curve, a=start: c(x - a), *inside
        start += length


@settings(deadline=None)
@given(SPANS, st.sampled_from((1, -1)))
@example([(2, [0, 1]), (2, [2, -1])], 1)  # seen from both sides of one station
@example([(2, [0, 2, -1]), (2, [0, 2, -1])], 1)  # level at two places
def test_extremes_are_those_numpy_sees(own, sense):
    ar = EnclosureArithmetic()
    stations, jumps, known = [0], {2}, {}
    for i, (start, end, curve, level, _) in enumerate(seen(own), 1):
        if i > 1 and abs(curve(start) - list(known.values())[-1][1]) > 1e-9:
            jumps.add(start)
        if i == 1 or start in jumps:
            known[f"right of station {i}"] = start, curve(start)
        for k, x in enumerate(level, 1):
            known[f"level place {k} of piece {i}"] = x, curve(x)
        known[f"left of station {i + 1}"] = end, curve(end)
        stations.append(end)
    exact = [fmpq(x) for x in stations]
    found = places(pieces(*own), exact, frozenset(map(fmpq, jumps)), ar, "M")
    assert [place.label for place in found] == list(known)
    for place in found:
        at, there = known[place.label]
        assert abs(float(place.at) - at) < 1e-9 and abs(float(place.value) - there) < 1e-9
        assert place.station == (None if place.label.startswith("level") else fmpq(round(at)))
    try:
        best = extreme(found, ar, "M", sense)
    except ArithmeticError:  # two that are equal, which only algebra proves
        return
    top = max(sense * there for _, there in known.values())
    where = [at for at, there in known.values() if sense * there > top - 1e-9]
    assert abs(float(best.value) - sense * top) < 1e-9
    assert abs(known[best.label][1] - sense * top) < 1e-9
    if len(set(where)) == 1:
        assert abs(float(best.at) - where[0]) < 1e-9
    else:
        assert best.at.reason == "no unique answer" and f" {len(where)} places" in best.at.evidence


@settings(deadline=None)
@given(SPANS)
def test_changes_of_sign_are_those_numpy_sees(own):
    """Signs halfway between all places where one can change; a stretch of zeros is no place."""
    marks = sorted({x for start, end, _, _, zeros in seen(own) for x in (start, *zeros, end)})
    assume(all(b - a > 1e-3 for a, b in pairwise(marks)))
    signs = [
        (i, int(np.sign(round(curve((a + b) / 2), 9))))
        for i, (a, b) in enumerate(pairwise(marks))
        for start, end, curve, *_ in seen(own)
        if start <= a and b <= end
    ]
    told = [(i, sign) for i, sign in signs if sign]
    expected = [(marks[j], j > i + 1) for (i, one), (j, other) in pairwise(told) if one * other < 0]
    try:
        found = changes_of_sign(pieces(*own), EnclosureArithmetic(), "V")
    except ArithmeticError:  # a touching zero that only algebra proves
        return
    assert len(found) == len(expected)
    for change, (at, across) in zip(found, expected, strict=True):
        start = list(seen(own))[change.piece][0]
        assert abs(start + float(change.offset) - at) < 1e-6
        assert isinstance(change.at, NoAnswer) == across
        assert across or abs(float(change.at) - at) < 1e-6


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
