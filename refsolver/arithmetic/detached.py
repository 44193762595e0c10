"""Detached results: proven enclosures that live outside any precision and any process."""

from __future__ import annotations

import math

import attrs
from flint import arb, fmpq

__all__ = ["Enclosure", "can_be_written", "enclosure_of", "exact_double", "nearest_double"]


@attrs.frozen
class Enclosure:
    """A closed interval [lower, upper] of exact rationals that contains the true value.

    Multiplying by an exact rational and adding one are exact. Everything here is
    independent of the working precision, compares, hashes and pickles.
    """

    lower: fmpq
    upper: fmpq

    @property
    def middle(self) -> fmpq:
        return (self.lower + self.upper) / 2

    @property
    def is_exact(self) -> bool:
        return bool(self.lower == self.upper)

    @property
    def is_zero(self) -> bool:
        return bool(self.lower == 0 and self.upper == 0)

    def scaled(self, factor: fmpq) -> Enclosure:
        """The enclosure of factor times the value."""
        a, b = self.lower * factor, self.upper * factor
        return Enclosure(a, b) if a <= b else Enclosure(b, a)

    def times(self, other: Enclosure) -> Enclosure:
        """The enclosure of the product of the two values."""
        if other.is_exact:
            return self.scaled(other.lower)
        ends = [a * b for a in (self.lower, self.upper) for b in (other.lower, other.upper)]
        return Enclosure(min(ends), max(ends))

    def deviation(self, reported: fmpq) -> Enclosure:
        """The enclosure of |reported - value|."""
        low, high = reported - self.upper, reported - self.lower
        if low >= 0:
            return Enclosure(low, high)
        if high <= 0:
            return Enclosure(-high, -low)
        return Enclosure(fmpq(0), max(-low, high))

    def size(self) -> fmpq:
        """The largest absolute value in the interval."""
        return max(abs(self.lower), abs(self.upper))


_LARGEST_EXPONENT = 10_000_000


def _exact(x: arb) -> fmpq:
    mantissa, exponent = x.man_exp()
    if abs(exponent) > _LARGEST_EXPONENT:
        raise ValueError("the number has more digits than can be written down")
    if exponent >= 0:
        return fmpq(mantissa * (1 << int(exponent)))
    return fmpq(mantissa, 1 << int(-exponent))


def can_be_written(ball: arb) -> bool:
    """Whether the end points of a finite ball have few enough digits to be written down."""
    if 0 < abs(float(ball)) < math.inf:
        return True  # and no precision in use leaves such a number a radius out of all proportion
    return all(abs(x.man_exp()[1]) <= _LARGEST_EXPONENT for x in (ball.mid(), ball.rad()))


def enclosure_of(ball: arb) -> Enclosure:
    """The exact end points of a finite ball.

    Raises ValueError for an unbounded one, and for one out of all proportion.

    Midpoint and radius are read as exact dyadics, so nothing is lost whatever the
    precision in force.
    """
    if not ball.is_finite():
        raise ValueError("the ball is not bounded")
    middle, radius = _exact(ball.mid()), _exact(ball.rad())
    return Enclosure(middle - radius, middle + radius)


def nearest_double(x: fmpq) -> float:
    """The double nearest to x (ties to even); infinite beyond the range of doubles."""
    try:
        return int(x.p) / int(x.q)
    except OverflowError:
        return math.inf if x > 0 else -math.inf


def exact_double(x: float) -> fmpq:
    """The rational that an IEEE 754 double is. ValueError for an infinity or NaN."""
    if not math.isfinite(x):
        raise ValueError(f"{x} is not a number on the real line")
    return fmpq(*x.as_integer_ratio())
