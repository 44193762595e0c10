"""Rectangles, triangles, trapezoids and other straight-sided plates under fluids at rest.

The method stands in :mod:`.plane_surfaces`. The centroid of a trapezoid is
that of D. W. Baker and W. Haynes, "Engineering Statics: Open and Interactive", chapter 7;
its second moment by integration.
"""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from types import SimpleNamespace
from typing import Any

import attrs

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.double import DoubleArithmetic
from refsolver.arithmetic.exact import Exact, rational
from refsolver.quantities.dimensions import LENGTH
from refsolver.statics.chapters.hydrostatics.plane_surfaces import RULES, PlaneSurface, Surface
from refsolver.statics.chapters.hydrostatics.samples import drawn_layers, drawn_place
from refsolver.statics.chapters.hydrostatics.surface_strips import Moments, Piece, Section
from refsolver.statics.contract import Mistake, many, quantity, text
from refsolver.statics.naming import distinct_names, keys_of
from refsolver.statics.random_givens import drawn
from refsolver.statics.registry import register

__all__ = ["Panel", "Panels", "StraightSidedSurface"]


@attrs.frozen
class Panel:
    top_width: Exact = quantity(LENGTH, "its width at its upper edge", sign="not negative")
    bottom_width: Exact = quantity(LENGTH, "its width at its lower edge", sign="not negative")
    height: Exact = quantity(LENGTH, "from edge to edge, along the slope", sign="positive")
    name: str = text("what it is called")

    def __attrs_post_init__(self) -> None:
        if self.top_width == 0 and self.bottom_width == 0:
            raise ValueError("a panel has a width at one of its edges at least")


@attrs.frozen(kw_only=True)
class Panels(Surface):
    panels: tuple[Panel, ...] = many(
        Panel,
        "rectangles, triangles and trapezoids with level edges, from the top down",
        ordered=True,
    )

    def __attrs_post_init__(self) -> None:
        super().__attrs_post_init__()
        distinct_names(self.panels, "panel")


def trapezoid_centroid(top: Number, bottom: Number, height: Number) -> Number:
    """h (a + 2 b) / (3 (a + b)) below the side a."""
    return height * (top + 2 * bottom) / (3 * (top + bottom))


def _half_height(top: Number, bottom: Number, height: Number) -> Number:
    return height / 2


def trapezoid(
    top: Number, bottom: Number, height: Number, start: Number, rules: SimpleNamespace
) -> Section:
    """A trapezoid that starts at ``start``; I_c = h^3 (a^2 + 4 a b + b^2) / (36 (a + b))."""
    both = top + bottom
    square = top * top + 4 * top * bottom + bottom * bottom
    return Section(
        both * height / 2,
        start + rules.centroid(top, bottom, height),
        height * height * height * square / (36 * both),
    )


def _panel_piece(panel: Panel, name: str, start: Number, ar: Arithmetic, rules: Any) -> Piece:
    top, bottom = ar.bring(panel.top_width), ar.bring(panel.bottom_width)
    height = ar.bring(panel.height)
    end = start + height

    def width(s: Number) -> Number:
        return top + (bottom - top) * (s - start) / height

    def section(cut: Number | None, said: str) -> Section:
        if cut is None:
            return trapezoid(top, bottom, height, start, rules)
        return trapezoid(width(cut), bottom, end - cut, cut, rules)

    def strips(first: Number, last: Number, said: str) -> Moments:
        """Simpson's rule, exact for the cubic w s^2."""
        middle = (first + last) / 2
        weighed = [(first, width(first)), (middle, 4 * width(middle)), (last, width(last))]
        sixth = (last - first) / 6
        sums = [w for _, w in weighed], [w * s for s, w in weighed], [w * s * s for s, w in weighed]
        zeroth, one, two = ((a + b + c) * sixth for a, b, c in sums)
        return zeroth, one, two

    return Piece(name, start, end, section, strips)


@register
class StraightSidedSurface(PlaneSurface):
    name = "hydrostatics/straight-sided-surface"
    title = "Force of fluids on a rectangle, triangle, trapezoid or straight-sided plate"
    givens = Panels
    rules = {**RULES, "centroid": trapezoid_centroid}
    mistakes = (
        *PlaneSurface.mistakes,
        Mistake(
            "centroid at half the height",
            "a triangle or trapezoid is given the centroid of a rectangle",
            rules={"centroid": _half_height},
        ),
    )
    second_method = (
        "the pressure walked down through the layers of each side, times the width, integrated "
        "over strips between the levels by Simpson's rule, which is exact here"
    )

    def pieces(self, given: Any, ar: Arithmetic, rules: SimpleNamespace) -> list[Piece]:
        pieces: list[Piece] = []
        start = ar.bring(rational(0))
        for name, panel in zip(keys_of(given.panels, "panel"), given.panels, strict=True):
            pieces.append(_panel_piece(panel, name, start, ar, rules))
            start = pieces[-1].end
        return pieces

    def outline(self, given: Any) -> Sequence[tuple[float, float]]:
        ar, along, points = DoubleArithmetic(), 0.0, []
        for panel in given.panels:
            points.append((along, ar.bring(panel.top_width)))
            along = along + ar.bring(panel.height)
            points.append((along, ar.bring(panel.bottom_width)))
        return points

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> Panels:
        """One to three panels, nearly balanced by the fluid behind them to about 1/kappa."""
        panels = tuple(_drawn_panel(rng) for _ in range(rng.randint(1, 3)))
        return Panels(panels=panels, **drawn_place(kappa, rng))

    def filled(self, rows: Mapping[str, int], rng: random.Random) -> Panels | None:
        if set(rows) - {"panels", "fluids"}:
            return None
        panels = tuple(_drawn_panel(rng) for _ in range(rows.get("panels", 1)))
        return Panels(panels=panels, **drawn_layers(rows.get("fluids", 1), rng))


def _drawn_panel(rng: random.Random) -> Panel:
    return Panel(drawn(rng, 0, 5), drawn(rng, 1, 5), drawn(rng, 1, 4))
