"""Plates whose width follows a formula, under fluids at rest.

The method stands in :mod:`.plane_surfaces`. Half powers serve parabolas
that open sideways: a side x = k sqrt(s) makes a width 2 k s^(1/2).
"""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from types import SimpleNamespace
from typing import Any

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.double import DoubleArithmetic
from refsolver.arithmetic.exact import Exact, rational
from refsolver.quantities.dimensions import LENGTH, NUMBER
from refsolver.statics.areas.curves import checked_power
from refsolver.statics.chapters.hydrostatics.plane_surfaces import PlaneSurface, Surface
from refsolver.statics.chapters.hydrostatics.samples import drawn_layers, drawn_place
from refsolver.statics.chapters.hydrostatics.surface_strips import Moments, Piece, Section
from refsolver.statics.contract import choice, many, quantity
from refsolver.statics.polynomials import integral, through, value
from refsolver.statics.random_givens import drawn
from refsolver.statics.registry import register

__all__ = ["CurvedSidedSurface", "CurvedSides", "WidthTerm"]


@attrs.frozen
class WidthTerm:
    width: Exact = quantity(LENGTH, "what it gives to the width at the reference distance")
    power: Exact = quantity(
        NUMBER, "of the distance: a whole number or a half", default=rational(0)
    )

    def __attrs_post_init__(self) -> None:
        checked_power(self.power)

    @property
    def halves(self) -> int:
        """Twice the power."""
        assert isinstance(self.power, fmpq)
        return int((2 * self.power).p)


@attrs.frozen(kw_only=True)
class CurvedSides(Surface):
    height: Exact = quantity(LENGTH, "from edge to edge, along the slope", sign="positive")
    terms: tuple[WidthTerm, ...] = many(
        WidthTerm, "the width is the sum of width (distance / reference)^power"
    )
    reference: Exact = quantity(LENGTH, "the distance of the formula's stated widths",
                                sign="positive")  # fmt: skip
    measured: str = choice(
        ("from the upper edge", "from the lower edge"),
        "how the distance in the formula is measured along the slope",
        default="from the upper edge",
    )

    def __attrs_post_init__(self) -> None:
        super().__attrs_post_init__()
        widths = [width for _, width in _curved_outline(self, 64)]
        if min(widths) < -1e-9 * max(map(abs, widths)):
            raise ValueError("the width of the formula is negative somewhere between the edges")
        if max(widths) <= 0:
            raise ValueError("the formula gives no width anywhere")


def _curved_outline(given: CurvedSides, steps: int) -> list[tuple[float, float]]:
    ar, points = DoubleArithmetic(), []
    height, reference = ar.bring(given.height), ar.bring(given.reference)
    for i in range(steps + 1):
        along = height * i / steps
        distance = along if given.measured == "from the upper edge" else height - along
        root = ar.sqrt(distance / reference)
        points.append(
            (along, sum(ar.bring(t.width) * _power(root, t.halves, ar) for t in given.terms))
        )
    return points


def _power(x: Number, n: int, ar: Arithmetic) -> Number:
    result = ar.bring(fmpq(1))
    for _ in range(n):
        result = result * x
    return result


@attrs.frozen
class _Curved:
    """The width by a formula of the distance t from one of the edges."""

    given: CurvedSides
    height: Number
    reference: Number
    ar: Arithmetic

    def distance(self, along: Number) -> Number:
        """Of s to t, and back; exactly 0 at the edge from which t is measured."""
        if self.given.measured == "from the upper edge":
            return along
        return along * 0 if along is self.height else self.height - along

    def _half_power(self, x: Number, n: int) -> Number:
        whole = _power(x, n // 2, self.ar)
        return whole * self.ar.sqrt(x) if n % 2 else whole

    def within(self, t: Number, m: int) -> Number:
        """Integral of w t^m from 0 to t, term by term."""
        total = t * 0
        for term in self.given.terms:
            n = term.halves + 2 * m + 2
            rise = self._half_power(t, n) * 2 / n
            width = self.ar.bring(term.width) / self._half_power(self.reference, term.halves)
            total = total + width * rise
        return total

    def section(self, cut: Number | None, said: str) -> Section:
        start = self.distance(self.height * 0 if cut is None else cut)
        end = self.distance(self.height)
        if self.given.measured == "from the lower edge":
            start, end = end, start
        zeroth, first, second = (self.within(end, m) - self.within(start, m) for m in range(3))
        mean = first / zeroth
        return Section(zeroth, self.distance(mean), second - mean * first)

    def strips(self, first: Number, last: Number, said: str) -> Moments:
        """Over x = t, or its root, by the polynomial through equally spaced values."""
        rooted = any(term.halves % 2 for term in self.given.terms)
        ends = [self.distance(s) for s in (first, last)]
        if rooted:
            ends = [self.ar.sqrt(t) for t in ends]
        span = ends[1] - ends[0]
        found = [self._sum(m, ends[0], span, rooted) for m in range(3)]
        sense = 1 if self.given.measured == "from the upper edge" else -1
        zeroth, one, two = (x * sense for x in found)
        return zeroth, one, two

    def _sum(self, m: int, start: Number, span: Number, rooted: bool) -> Number:
        highest = max(term.halves for term in self.given.terms)
        degree = highest + 2 * m + 1 if rooted else highest // 2 + m
        values = []
        for i in range(degree + 1):
            x = start + span * i / max(degree, 1)
            t = x * x if rooted else x
            step = 2 * x if rooted else x * 0 + 1
            values.append(self._width(x, rooted) * _power(self.distance(t), m, self.ar) * step)
        return value(integral(through(values, span), span * 0), span)

    def _width(self, x: Number, rooted: bool) -> Number:
        total = x * 0
        for term in self.given.terms:
            power = _power(x, term.halves if rooted else term.halves // 2, self.ar)
            scale = self._half_power(self.reference, term.halves)
            total = total + self.ar.bring(term.width) * power / scale
        return total


@register
class CurvedSidedSurface(PlaneSurface):
    name = "hydrostatics/curved-sided-surface"
    title = "Force of fluids on a plate whose width follows a formula"
    givens = CurvedSides
    second_method = (
        "the pressure walked down through the layers of each side, times the width, over the "
        "distance (or its root) by the polynomial through equally spaced values"
    )

    def pieces(self, given: Any, ar: Arithmetic, rules: SimpleNamespace) -> list[Piece]:
        height = ar.bring(given.height)
        shape = _Curved(given, height, ar.bring(given.reference), ar)
        return [Piece("plate", ar.bring(rational(0)), height, shape.section, shape.strips)]

    def outline(self, given: Any) -> Sequence[tuple[float, float]]:
        return _curved_outline(given, 32)

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> CurvedSides:
        """Nearly balanced by the fluid behind it to about 1/kappa."""
        powers = rng.sample(range(5), rng.randint(1, 3))
        return self._made(powers, drawn_place(kappa, rng), rng)

    def _made(
        self, powers: Sequence[int], place: dict[str, Any], rng: random.Random
    ) -> CurvedSides:
        return CurvedSides(
            height=drawn(rng, 1, 5),
            terms=tuple(WidthTerm(drawn(rng, 1, 5), fmpq(n, 2)) for n in powers),
            reference=drawn(rng, 1, 5),
            measured=rng.choice(("from the upper edge", "from the lower edge")),
            **place,
        )

    def filled(self, rows: Mapping[str, int], rng: random.Random) -> CurvedSides | None:
        if set(rows) - {"terms", "fluids"}:
            return None
        place = drawn_layers(rows.get("fluids", 1), rng)
        return self._made(range(rows.get("terms", 1)), place, rng)
