"""Integrals over sectors of rings: powers of the radius times powers of sine and cosine."""

from __future__ import annotations

from collections.abc import Mapping

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.exact import Angle
from refsolver.statics.polynomials import moved

__all__ = ["Opening", "by_harmonics", "by_reduction", "radial", "radial_about_middle"]


@attrs.frozen
class Opening:
    """Cosine and sine at both ends, and the angle between them in radians."""

    first: tuple[Number, Number]
    last: tuple[Number, Number]
    angle: Number

    @classmethod
    def of(cls, start: Angle, opening: Angle, ar: Arithmetic) -> Opening:
        (c, s), (p, q) = ar.cos_sin(start), ar.cos_sin(opening)
        return cls((c, s), (c * p - s * q, s * p + c * q), ar.radians(opening))


def _grown(x: Number, exponent: int) -> Number:
    found: Number = 1
    for _ in range(exponent):
        found = found * x
    return found


def by_reduction(a: int, b: int, over: Opening) -> Number:
    """The integral of cos^a sin^b by the reduction formulas."""

    def between(m: int, n: int) -> Number:
        (c, s), (u, v) = over.first, over.last
        return _grown(u, m) * _grown(v, n) - _grown(c, m) * _grown(s, n)

    if a >= 2:
        return (between(a - 1, b + 1) + (a - 1) * by_reduction(a - 2, b, over)) / (a + b)
    if a == 1:
        return between(0, b + 1) / (b + 1)
    if b >= 2:
        return ((b - 1) * by_reduction(0, b - 2, over) - between(1, b - 1)) / b
    return -between(1, 0) if b else over.angle


def by_harmonics(a: int, b: int, over: Opening, ar: Arithmetic) -> Number:
    """The same with the product written as a sum of sines and cosines of multiple angles."""
    total = ar.bring(fmpq(0))
    for k, (cosine, sine) in _harmonics(a, b).items():
        if k == 0:
            total = total + ar.bring(cosine) * over.angle
            continue
        (c, s), (u, v) = (_multiple(k, *end, ar) for end in (over.first, over.last))
        total = total + ar.bring(cosine / k) * (v - s) - ar.bring(sine / k) * (u - c)
    return total


def _multiple(k: int, c: Number, s: Number, ar: Arithmetic) -> tuple[Number, Number]:
    """Cosine and sine of k times an angle."""
    u, v = ar.bring(fmpq(1)), ar.bring(fmpq(0))
    for _ in range(k):
        u, v = u * c - v * s, v * c + u * s
    return u, v


def _harmonics(a: int, b: int) -> Mapping[int, tuple[fmpq, fmpq]]:
    """Multiple to the factors of its cosine and sine in cos^a sin^b."""
    found = {0: (fmpq(1), fmpq(0))}
    for is_sine in [False] * a + [True] * b:
        grown: dict[int, tuple[fmpq, fmpq]] = {}
        for k, (cosine, sine) in found.items():
            for step in (1, -1):
                turned = (-step * sine / 2, step * cosine / 2)
                _add(grown, k + step, turned if is_sine else (cosine / 2, sine / 2))
        found = grown
    return found


def _add(series: dict[int, tuple[fmpq, fmpq]], k: int, pair: tuple[fmpq, fmpq]) -> None:
    if k < 0:
        k, pair = -k, (pair[0], -pair[1])
    old = series.get(k, (fmpq(0), fmpq(0)))
    series[k] = (old[0] + pair[0], old[1] + pair[1])


def radial(k: int, inner: Number, outer: Number) -> Number:
    """The integral of r^k from the inner to the outer radius."""
    return (_grown(outer, k + 1) - _grown(inner, k + 1)) / (k + 1)


def radial_about_middle(k: int, inner: Number, outer: Number, ar: Arithmetic) -> Number:
    """The same with r^k written about the middle of the ring: even powers only remain."""
    middle, half = (inner + outer) / 2, (outer - inner) / 2
    zero = ar.bring(fmpq(0))
    powers = moved((*[zero] * k, ar.bring(fmpq(1))), middle)
    total = zero
    for n, c in enumerate(powers):
        if n % 2 == 0:
            total = total + c * 2 * _grown(half, n + 1) / (n + 1)
    return total
