"""Areas between two curves y = sum of c (x/a)^p, with whole and half powers.

Where half powers occur everything is written in s = sqrt(x/a), otherwise in s = x/a, so
that all integrands are polynomials in s and every integral is exact.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.enclosure import seen_sign
from refsolver.arithmetic.exact import Exact
from refsolver.quantities.dimensions import LENGTH, NUMBER
from refsolver.quantities.folding import difference
from refsolver.quantities.kinds import NoAnswer
from refsolver.statics.contract import choice, many, quantity, text
from refsolver.statics.drawing import Point
from refsolver.statics.forces.systems import sum_of
from refsolver.statics.naming import distinct_names, keys_of
from refsolver.statics.polynomials import Polynomial, crossings, moved, product, value

__all__ = [
    "CurveTerm",
    "Region",
    "Strip",
    "checked_power",
    "checked_regions",
    "drawn_points",
    "faults",
    "half_powers",
    "minus_of",
    "plus_of",
    "raised",
    "strips_of",
    "stretched",
    "times",
]


@attrs.frozen
class CurveTerm:
    coefficient: Exact = quantity(LENGTH, "the height it gives where x is the reference length")
    power: Exact = quantity(NUMBER, "of x: a whole number or a half", default=fmpq(0))

    def __attrs_post_init__(self) -> None:
        checked_power(self.power)


@attrs.frozen
class Region:
    start: Exact = quantity(LENGTH, "the x where it starts")
    end: Exact = quantity(LENGTH, "the x where it ends")
    upper: tuple[CurveTerm, ...] = many(
        CurveTerm, "its upper edge y = sum of coefficient (x/reference)^power"
    )
    lower: tuple[CurveTerm, ...] = many(
        CurveTerm, "its lower edge; the x axis where none is stated", minimum=0, default=()
    )
    kind: str = choice(("solid", "hole"), "whether it adds or is cut out", default="solid")
    name: str = text("what it is called")

    def __attrs_post_init__(self) -> None:
        if seen_sign(difference(self.end, self.start)) in (-1, 0):
            raise ValueError("a region must end beyond its start")

    @property
    def terms(self) -> tuple[CurveTerm, ...]:
        return (*self.upper, *self.lower)


def checked_power(power: Exact) -> None:
    """Raises ValueError for anything but 0, 1/2, 1, 3/2, ..."""
    if not isinstance(power, fmpq) or power < 0 or (2 * power).q != 1:
        raise ValueError(f"the power {power} is not a whole number or a half, from 0 up")


def half_powers(powers: Sequence[Exact]) -> bool:
    return any(isinstance(p, fmpq) and p.q == 2 for p in powers)


def checked_regions(regions: Sequence[Region], half: bool) -> None:
    """Raises ValueError for names used twice and for half powers left of x = 0."""
    distinct_names(regions, "region")
    for key, region in zip(keys_of(regions, "region"), regions, strict=True):
        if half and seen_sign(region.start) == -1:
            raise ValueError(f"{key} starts left of x = 0, where half powers have no value")


@attrs.frozen
class Strip:
    """A region cut into upright strips: polynomials in s from ``low`` to ``high``.

    ``x`` is the place of a strip, ``dx`` its width over ds; ``sign`` is -1 for a hole.
    """

    name: str
    sign: int
    low: Number
    high: Number
    x: Polynomial
    dx: Polynomial
    upper: Polynomial
    lower: Polynomial

    def sum(self, height: Polynomial, ar: Arithmetic) -> Number:
        """The integral of ``height`` dx over the region, with its sign."""
        p = product(height, self.dx)
        whole = (ar.bring(fmpq(0)), *(c / (k + 1) for k, c in enumerate(p)))
        return self.sign * (value(whole, self.high) - value(whole, self.low))

    def piece(self, y: Polynomial) -> tuple[Polynomial, Polynomial]:
        """An edge as (x(t), y(t)) with t from 0 to 1 from start to end."""
        return stretched(self.x, self.low, self.high), stretched(y, self.low, self.high)


def strips_of(
    regions: Sequence[Region], reference: Exact, half: bool, ar: Arithmetic
) -> list[Strip]:
    """Every region in s; ``half`` says that half powers occur."""
    return list(_strips(regions, ar.bring(reference), 2 if half else 1, ar))


def _strips(
    regions: Sequence[Region], reference: Number, m: int, ar: Arithmetic
) -> Iterator[Strip]:
    zero, one = ar.bring(fmpq(0)), ar.bring(fmpq(1))
    x = (*[zero] * m, reference)
    dx = (*[zero] * (m - 1), reference * m)
    for key, region in zip(keys_of(regions, "region"), regions, strict=True):
        ends = [ar.bring(end) / reference for end in (region.start, region.end)]
        low, high = ends if m == 1 else [ar.sqrt(end) for end in ends]
        upper, lower = (_in_s(terms, m, zero * one, ar) for terms in (region.upper, region.lower))
        yield Strip(key, -1 if region.kind == "hole" else 1, low, high, x, dx, upper, lower)


def _in_s(terms: Sequence[CurveTerm], m: int, zero: Number, ar: Arithmetic) -> Polynomial:
    found: list[Number] = [zero]
    for term in terms:
        assert isinstance(term.power, fmpq)
        k = int((term.power * m).p)
        found += [zero] * (k + 1 - len(found))
        found[k] = found[k] + ar.bring(term.coefficient)
    return tuple(found)


def plus_of(p: Polynomial, q: Polynomial) -> Polynomial:
    longer, shorter = (p, q) if len(p) >= len(q) else (q, p)
    return (*(a + b for a, b in zip(longer, shorter, strict=False)), *longer[len(shorter) :])


def times(p: Polynomial, factor: Any) -> Polynomial:
    return tuple(c * factor for c in p)


def minus_of(p: Polynomial, q: Polynomial) -> Polynomial:
    return plus_of(p, times(q, -1))


def raised(p: Polynomial, exponent: int, ar: Arithmetic) -> Polynomial:
    """p to a whole power."""
    found: Polynomial = (ar.bring(fmpq(1)),)
    for _ in range(exponent):
        found = product(found, p)
    return found


def stretched(p: Polynomial, low: Number, high: Number) -> Polynomial:
    """p(low + (high - low) t) as a polynomial in t."""
    found, power = [], 1
    for c in moved(p, low):
        found.append(c * power)
        power = power * (high - low)
    return tuple(found)


def faults(strips: Sequence[Strip], ar: Arithmetic) -> NoAnswer | None:
    """Why the regions are no areas: edges that cross inside, or stand the wrong way up."""
    for strip in strips:
        height = moved(minus_of(strip.upper, strip.lower), strip.low)
        name = f"height of {strip.name}"
        first, found = crossings(height, strip.high - strip.low, ar, name)
        if found:
            why = f"the edges of {strip.name} cross between its ends: split it there"
            return NoAnswer("not defined", why)
        if first < 0:
            return NoAnswer("not defined", f"the upper edge of {strip.name} lies below its lower")
    return None


def drawn_points(region: Region, reference: Exact, ar: Arithmetic) -> tuple[Point, ...]:
    """The outline of a region in the double arithmetic."""
    a, (start, end) = ar.bring(reference), (ar.bring(region.start), ar.bring(region.end))
    places = [start + (end - start) * i / 48 for i in range(49)]

    def edge(terms: Sequence[CurveTerm], x: float) -> float:
        parts = [ar.bring(t.coefficient) * (x / a) ** float(ar.bring(t.power)) for t in terms]
        return float(sum_of(parts, ar))

    above = [(x, edge(region.upper, x)) for x in places]
    below = [(x, edge(region.lower, x)) for x in reversed(places)]
    return (*above, *below)
