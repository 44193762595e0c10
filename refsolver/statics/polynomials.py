"""Polynomials in the numbers of an arithmetic, and where they change sign.

A polynomial is a sequence of coefficients, the constant first. Signs are decided by name,
so that a zero of a bending moment, or its absence, is proven.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import factorial

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number

__all__ = [
    "Crossing",
    "Polynomial",
    "crossings",
    "derivative",
    "integral",
    "moved",
    "product",
    "through",
    "value",
]

Polynomial = Sequence[Number]


def value(p: Polynomial, x: Number) -> Number:
    """p at x (Horner's rule)."""
    total = p[-1]
    for c in reversed(p[:-1]):
        total = total * x + c
    return total


def derivative(p: Polynomial) -> tuple[Number, ...]:
    """The derivative; that of a constant is one zero coefficient."""
    return tuple(c * k for k, c in enumerate(p) if k) or (0 * p[0],)


def integral(p: Polynomial, start: Number) -> tuple[Number, ...]:
    """The antiderivative with the value ``start`` at 0."""
    return (start, *(c / (k + 1) for k, c in enumerate(p)))


def product(p: Polynomial, q: Polynomial) -> tuple[Number, ...]:
    """The product of two polynomials."""
    found = [p[0] * b for b in q]
    for i, a in enumerate(p[1:], 1):
        found.append(a * q[-1])
        for j, b in enumerate(q[:-1], i):
            found[j] = found[j] + a * b
    return tuple(found)


def moved(p: Polynomial, a: Number) -> tuple[Number, ...]:
    """The polynomial q with q(x) = p(x + a) (repeated synthetic division)."""
    c = list(p)
    for first in range(len(c) - 1):
        for i in range(len(c) - 2, first - 1, -1):
            c[i] = c[i] + a * c[i + 1]
    return tuple(c)


def through(values: Sequence[Number], length: Number) -> tuple[Number, ...]:
    """The polynomial through values at equal steps from 0 to ``length`` (Newton, forward)."""
    if len(values) == 1:
        return (values[0],)
    step = length / (len(values) - 1)
    differences = list(values)
    total = [0 * values[0]] * len(values)
    falling = [1]  # s (s - 1) ... (s - k + 1), whole coefficients
    for k in range(len(values)):
        for i, whole in enumerate(falling):
            total[i] = total[i] + differences[0] * whole / factorial(k)
        differences = [b - a for a, b in zip(differences, differences[1:], strict=False)]
        falling = [low - k * high for low, high in zip([0, *falling], [*falling, 0], strict=True)]
    found, power = [total[0]], step
    for c in total[1:]:
        found.append(c / power)
        power = power * step
    return tuple(found)


@attrs.frozen
class Crossing:
    """A place inside a stretch where a polynomial changes sign, and its sign after it."""

    at: Number
    after: int


def crossings(
    p: Polynomial, length: Number, ar: Arithmetic, name: str
) -> tuple[int, list[Crossing]]:
    """The sign of p just after 0, and every change of sign inside (0, length), in order.

    A zero without change of sign is no crossing. The sign is 0 only where p vanishes
    identically. Constants, linear and quadratic polynomials are solved in closed form;
    above that a root is enclosed between two neighbouring extremes, unless it is one where
    the slope vanishes too: there it is a point of inflection, and taken as such.
    """
    first, found, _ = _crossings(p, length, ar, name)
    return first, found


def _crossings(
    p: Polynomial, length: Number, ar: Arithmetic, name: str
) -> tuple[int, list[Crossing], list[Crossing]]:
    """The same, and the changes of sign of the slope."""
    p = _trimmed(p, ar, name)
    if len(p) == 1:
        return ar.sign(p[0], f"{name}: constant"), [], []
    slope = derivative(p)
    rising, turns, bends = _crossings(slope, length, ar, f"{name}: slope")
    ends = [0 * length, *(turn.at for turn in turns), length]
    signs = [ar.sign(value(p, x), f"{name}: sign {i}") for i, x in enumerate(ends)]
    # Between its extremes p is monotone, and so never zero at both ends of such a stretch.
    sign = signs[0] or rising
    found = []
    first = sign
    for i in range(1, len(ends)):
        if signs[i - 1] * signs[i] < 0:
            at = _level_root(p, slope, bends, ends, i, ar, name)
            if at is None:
                at = _root(p, slope, ends, i, signs[i], ar, name)
            found.append(Crossing(at, signs[i]))
    return first, found, turns


def _level_root(
    p: Polynomial,
    slope: Polynomial,
    bends: Sequence[Crossing],
    ends: Sequence[Number],
    i: int,
    ar: Arithmetic,
    name: str,
) -> Number | None:
    """The root between two neighbouring ends if the slope vanishes there too (x^3 at 0).

    A root of order three or more is a change of sign of the second derivative, at which the
    slope is zero and so is p. None where there is no such root.
    """
    if len(p) < 4:
        return None
    for number, bend in enumerate(bends, 1):
        here = f"{name}: bend {number}"
        within = (
            ar.sign(bend.at - ends[i - 1], f"{here} after end {i - 1}") > 0
            and ar.sign(ends[i] - bend.at, f"{here} before end {i}") > 0
        )
        if not within or ar.sign(value(slope, bend.at), f"{here}: slope") != 0:
            continue
        if ar.sign(value(p, bend.at), f"{here}: value") == 0:
            return bend.at
    return None


def _trimmed(p: Polynomial, ar: Arithmetic, name: str) -> Polynomial:
    while len(p) > 1 and ar.sign(p[-1], f"{name}: degree {len(p) - 1}") == 0:
        p = p[:-1]
    return p


def _root(
    p: Polynomial,
    slope: Polynomial,
    ends: Sequence[Number],
    i: int,
    after: int,
    ar: Arithmetic,
    name: str,
) -> Number:
    """The root between two neighbouring ends, p having the sign ``after`` behind it."""
    if len(p) == 2:
        return -p[0] / p[1]
    if len(p) == 3:
        # The slope at the root is the root of the discriminant, with the sign p turns to.
        return (ar.sqrt(p[1] * p[1] - 4 * p[0] * p[2]) * after - p[1]) / (2 * p[2])
    start, reach = ends[i - 1], ends[i] - ends[i - 1]
    share = ar.root(
        lambda t: value(p, start + t * reach),
        lambda t: value(slope, start + t * reach) * reach,
        (fmpq(0), fmpq(1)),
        f"{name}: root {i}",
    )
    return start + share * reach
