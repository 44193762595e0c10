"""Plates between curves whose mass per area varies as a polynomial of x and y.

All integrals are those of density times x^p y^q over the plate. Source of the method: G.
Strang, E. Herman et al., "Calculus Volume 3", OpenStax, section 5.6.
"""

from __future__ import annotations

from collections.abc import Sequence

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.enclosure import evaluate
from refsolver.arithmetic.exact import Exact
from refsolver.quantities.dimensions import LENGTH, MASS_PER_AREA, NUMBER
from refsolver.statics.areas.curves import (
    Region,
    Strip,
    checked_power,
    checked_regions,
    half_powers,
    minus_of,
    raised,
    strips_of,
    times,
)
from refsolver.statics.contract import many, quantity
from refsolver.statics.forces.systems import sum_of
from refsolver.statics.polynomials import Polynomial, derivative, product, value

__all__ = [
    "DensityTerm",
    "Lamina",
    "along_edges",
    "lamina_strips",
    "over_strips",
    "size_of_moment",
]


@attrs.frozen
class DensityTerm:
    coefficient: Exact = quantity(MASS_PER_AREA, "where x and y are the reference length")
    power_x: Exact = quantity(NUMBER, "of x: a whole number or a half", default=fmpq(0))
    power_y: Exact = quantity(NUMBER, "of y: a whole number or a half", default=fmpq(0))

    def __attrs_post_init__(self) -> None:
        checked_power(self.power_x)
        checked_power(self.power_y)


@attrs.frozen
class Lamina:
    regions: tuple[Region, ...] = many(Region, "between an upper and a lower curve")
    density: tuple[DensityTerm, ...] = many(
        DensityTerm, "mass per area = sum of coefficient (x/reference)^a (y/reference)^b"
    )
    reference: Exact = quantity(
        LENGTH, "the x and y at which a term has its stated value: 1 m for a formula in metres",
        sign="positive",
    )  # fmt: skip

    def __attrs_post_init__(self) -> None:
        if not (self.regions and self.density):
            raise ValueError("at least one region and one term of the density are needed")
        checked_regions(self.regions, self.half)
        if half_powers([t.power_y for t in self.density]):
            for region in self.regions:
                _level_and_above(region)

    @property
    def half(self) -> bool:
        """Whether half powers of x occur."""
        powers = [t.power for region in self.regions for t in region.terms]
        return half_powers([*powers, *(t.power_x for t in self.density)])


def _level_and_above(region: Region) -> None:
    for terms in (region.upper, region.lower):
        if any(t.power != 0 for t in terms):
            raise ValueError("half powers of y need regions with level edges")
        if bool(sum((evaluate(t.coefficient) for t in terms), evaluate(fmpq(0))) < 0):
            raise ValueError("half powers of y have no value below y = 0")


def lamina_strips(given: Lamina, ar: Arithmetic) -> list[Strip]:
    return strips_of(given.regions, given.reference, given.half, ar)


def _shares(given: Lamina, p: int, q: int) -> list[tuple[DensityTerm, int, fmpq]]:
    """Each term with the power of s that x gives it, and its whole power of y."""
    m = 2 if given.half else 1
    found = []
    for term in given.density:
        assert isinstance(term.power_x, fmpq) and isinstance(term.power_y, fmpq)
        found.append((term, int(((term.power_x + p) * m).p), term.power_y + q))
    return found


def _power(y: Polynomial, exponent: fmpq, ar: Arithmetic) -> Polynomial:
    """y to a power; a half power only of a constant."""
    whole = raised(y, int(exponent.floor()), ar)
    return whole if exponent.q == 1 else times(whole, ar.sqrt(y[0]))


def _monomial(exponent: int, ar: Arithmetic) -> Polynomial:
    return (*[ar.bring(fmpq(0))] * exponent, ar.bring(fmpq(1)))


def over_strips(given: Lamina, strips: Sequence[Strip], p: int, q: int, ar: Arithmetic) -> Number:
    """Density times x^p y^q, integrated up every strip and then across them."""
    a = ar.bring(given.reference)
    scale = ar.bring(fmpq(1))
    for _ in range(p + q + 1):
        scale = scale * a
    total = []
    for term, along, up in _shares(given, p, q):
        factor = ar.bring(term.coefficient) * scale / ar.bring(up + 1)
        for strip in strips:
            edges = [times(y, 1 / a) for y in (strip.upper, strip.lower)]
            high, low = (_power(y, up + 1, ar) for y in edges)
            height = product(_monomial(along, ar), minus_of(high, low))
            total.append(factor * strip.sum(height, ar))
    return sum_of(total, ar)


def along_edges(given: Lamina, strips: Sequence[Strip], p: int, q: int, ar: Arithmetic) -> Number:
    """The same by Green's theorem: F dy around the plate, F the antiderivative in x."""
    a, m = ar.bring(given.reference), 2 if given.half else 1
    scale = ar.bring(fmpq(1))
    for _ in range(p + q + 1):
        scale = scale * a
    total = []
    for term, along, up in _shares(given, p, q):
        across = _monomial(along + m, ar)
        factor = ar.bring(term.coefficient) * scale * m / (along + m)
        for strip in strips:
            edge = _edge(strip.lower, strip, across, up, a, ar)
            edge = edge - _edge(strip.upper, strip, across, up, a, ar)
            ends = _end(strip, strip.high, across, up, a, ar)
            ends = ends - _end(strip, strip.low, across, up, a, ar)
            total.append(factor * strip.sign * (edge + ends))
    return sum_of(total, ar)


def _edge(
    y: Polynomial, strip: Strip, across: Polynomial, up: fmpq, a: Number, ar: Arithmetic
) -> Number:
    """X^.. Y^up dy along an edge; a level one gives nothing."""
    if len(y) == 1:
        return ar.bring(fmpq(0))
    inner = product(product(across, _power(times(y, 1 / a), up, ar)), derivative(y))
    whole = (ar.bring(fmpq(0)), *(c / (k + 1) for k, c in enumerate(inner)))
    return value(whole, strip.high) - value(whole, strip.low)


def _end(
    strip: Strip, s: Number, across: Polynomial, up: fmpq, a: Number, ar: Arithmetic
) -> Number:
    """X^.. Y^up dy up an upright end from the lower to the upper edge."""
    high, low = (_power((value(y, s) / a,), up + 1, ar)[0] for y in (strip.upper, strip.lower))
    return value(across, s) * a * (high - low) / ar.bring(up + 1)


def size_of_moment(given: Lamina, p: int, q: int, ar: Arithmetic) -> Number:
    """A bound of the terms that may cancel, for residuals."""
    a = ar.bring(given.reference)
    total = []
    for term, along, up in _shares(given, p, q):
        part = ar.size(ar.bring(term.coefficient))
        for region in given.regions:
            x = 1 + sum_of([ar.size(ar.bring(e)) / a for e in (region.start, region.end)], ar)
            powers = [int(t.power.ceil()) for t in region.terms]  # type: ignore[union-attr]
            heights = sum_of([ar.size(ar.bring(t.coefficient)) / a for t in region.terms], ar)
            y = 1 + heights * _grown(x, max(powers))
            total.append(part * _grown(x, along + 1) * _grown(y, int(up.ceil()) + 1))
    return sum_of(total, ar) * _grown(a, p + q + 2)


def _grown(x: Number, exponent: int) -> Number:
    found: Number = 1
    for _ in range(exponent):
        found = found * x
    return found
