"""Circles, ellipses and their halves under fluids at rest.

The method stands in :mod:`.plane_surfaces`. The area and the moments of
what lies below a chord follow by integration over the angle at the centre.
"""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from functools import partial
from types import SimpleNamespace
from typing import Any

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.double import DoubleArithmetic
from refsolver.arithmetic.exact import Exact, rational
from refsolver.quantities.dimensions import LENGTH
from refsolver.statics.chapters.hydrostatics.plane_surfaces import PlaneSurface, Surface
from refsolver.statics.chapters.hydrostatics.samples import drawn_layers, drawn_place
from refsolver.statics.chapters.hydrostatics.surface_strips import Moments, Piece, Section
from refsolver.statics.contract import choice, quantity
from refsolver.statics.random_givens import drawn
from refsolver.statics.registry import register

__all__ = ["Ellipse", "RoundSurface"]


@attrs.frozen(kw_only=True)
class Ellipse(Surface):
    height: Exact = quantity(
        LENGTH, "the whole axis along the slope: the diameter of a circle", sign="positive"
    )
    width: Exact | None = quantity(
        LENGTH, "the whole level axis, where it is no circle", sign="positive", default=None
    )
    part: str = choice(
        ("whole", "upper half", "lower half"),
        "how much of it; a half ends at the level axis",
        default="whole",
    )


@attrs.frozen
class _Round:
    """An ellipse of half axes a (level) and r; t = (s - centre) / r."""

    part: str
    a: Number
    r: Number
    ar: Arithmetic

    @property
    def centre(self) -> Number:
        return self.r * (0 if self.part == "lower half" else 1)

    @property
    def reach(self) -> Number:
        return self.r * (2 if self.part == "whole" else 1)

    def below(self, t: Number | None, said: str) -> Moments:
        """Integrals of the chord, chord t, chord t^2 below t on a unit circle, by the angle."""
        if t is None:
            return self._natural(self.part == "lower half")
        chord = self.ar.sqrt(1 - t * t)
        lean = self.angle(t, said)
        first = chord * chord * chord * 2 / 3
        return lean - t * chord, first, lean / 4 + t * chord * (1 - 2 * t * t) / 4

    def _natural(self, half: bool) -> Moments:
        pi, third = self.ar.pi(), self.ar.bring(fmpq(2, 3))
        if half:
            return pi / 2, third, pi / 8
        return pi, third * 0, pi / 4

    def ended(self, found: Sequence[Number]) -> tuple[Number, ...]:
        """What lies below, less what is missing of an upper half."""
        if self.part != "upper half":
            return tuple(found)
        return tuple(x - y for x, y in zip(found, self._natural(half=True), strict=True))

    def section(self, cut: Number | None, said: str) -> Section:
        t = None if cut is None else (cut - self.centre) / self.r
        area, first, second = self.ended(self.below(t, said))
        mean = first / area
        size = self.a * self.r
        return Section(
            area * size,
            self.centre + mean * self.r,
            (second - mean * first) * size * self.r * self.r,
        )

    def angle(self, t: Number, said: str) -> Number:
        """acos t, by its half: no sign of t has to be decided."""
        halves = (self.ar.sqrt(1 - t), self.ar.sqrt(1 + t))
        return 2 * self.ar.atan2(*halves, f"{said}: quarter of the arc below the level")

    def columns(self, t: Number, said: str) -> Moments:
        """The integrals below t, put together of upright columns.

        The columns reach from t down to the circle. Written for a level below the centre,
        the integrals hold above it too, since they are analytic in t.
        """
        half, spread = self.ar.sqrt(1 - t * t), self.angle(t, said)
        arch = half * (5 - 2 * half * half) * t / 4 + spread * 3 / 4
        return (
            spread - half * t,
            half * (1 - t * t) - half * half * half / 3,
            (arch - 2 * half * t * t * t) / 3,
        )

    def strips(
        self, ends: tuple[Number, Number], first: Number, last: Number, said: str
    ) -> Moments:
        upper = (
            self._natural(self.part == "lower half")
            if first is ends[0]
            else self.columns((first - self.centre) / self.r, f"{said}, from above")
        )
        if last is not ends[1]:
            lower = self.columns((last - self.centre) / self.r, f"{said}, to below")
        elif self.part == "upper half":
            lower = self._natural(half=True)
        else:
            lower = (self.r * 0,) * 3
        k0, k1, k2 = (x - y for x, y in zip(upper, lower, strict=True))
        size, r, c = self.a * self.r, self.r, self.centre
        return (
            size * k0,
            size * (c * k0 + r * k1),
            size * (c * c * k0 + 2 * c * r * k1 + r * r * k2),
        )


@register
class RoundSurface(PlaneSurface):
    name = "hydrostatics/round-surface"
    title = "Force of fluids on a circle, an ellipse or half of one"
    givens = Ellipse
    second_method = (
        "the pressure walked down through the layers of each side, over the area between the "
        "levels put together of upright columns"
    )

    def _round(self, given: Any, ar: Arithmetic) -> _Round:
        r = ar.bring(given.height) / 2
        a = r if given.width is None else ar.bring(given.width) / 2
        return _Round(given.part, a, r, ar)

    def pieces(self, given: Any, ar: Arithmetic, rules: SimpleNamespace) -> list[Piece]:
        shape = self._round(given, ar)
        start, end = ar.bring(rational(0)), shape.reach
        strips = partial(shape.strips, (start, end))
        return [Piece("plate", start, end, shape.section, strips)]

    def outline(self, given: Any) -> Sequence[tuple[float, float]]:
        ar = DoubleArithmetic()
        shape = self._round(given, ar)
        points = []
        for i in range(33):
            along = shape.reach * i / 32
            t = (along - shape.centre) / shape.r
            points.append((along, 2 * shape.a * ar.sqrt(max(0.0, 1 - t * t))))
        return points

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> Ellipse:
        """Nearly balanced by the fluid behind it to about 1/kappa."""
        part = rng.choice(("whole", "whole", "upper half", "lower half"))
        width = drawn(rng, 1, 5) if rng.random() < 0.5 else None
        height = drawn(rng, 1, 5)
        return Ellipse(part=part, width=width, height=height, **drawn_place(kappa, rng))

    def filled(self, rows: Mapping[str, int], rng: random.Random) -> Ellipse | None:
        if set(rows) - {"fluids"}:
            return None
        return Ellipse(height=drawn(rng, 1, 5), **drawn_layers(rows.get("fluids", 1), rng))
