"""Bent wires and other lines put together from pieces: lengths, centroids, integrals.

Sources: straight pieces and arcs: any text of statics, for instance R. C. Hibbeler,
"Engineering Mechanics: Statics", sections 9.1 and 9.2 (arc: r sin(alpha) / alpha), from
memory; the arc of a parabola by integration.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from types import SimpleNamespace
from typing import Any

import attrs

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.exact import Angle, Exact
from refsolver.quantities.dimensions import LENGTH
from refsolver.quantities.kinds import Value
from refsolver.statics.areas.figures import arc_points
from refsolver.statics.areas.shapes import QUADRANTS, checked_opening, half_of, middle_of
from refsolver.statics.contract import Mistake, angle, choice, many, point, quantity, text
from refsolver.statics.drawing import Point
from refsolver.statics.forces.systems import sum_of
from refsolver.statics.naming import distinct_rows, named_rows
from refsolver.statics.vectors import Numbers, added, brought, length, minus

__all__ = [
    "LINE_TABLE",
    "NOT_WEIGHTED",
    "first_moment",
    "ArcPiece",
    "LineGivens",
    "ParabolaPiece",
    "Piece",
    "Segment",
    "integrals_along",
    "line_points",
    "named_pieces",
    "pieces_of",
]


@attrs.frozen
class Segment:
    start: tuple[Exact, ...] = point("one end")
    end: tuple[Exact, ...] = point("the other end")
    name: str = text("what it is called")

    def __attrs_post_init__(self) -> None:
        if self.start == self.end:
            raise ValueError("a straight piece needs two different ends")


@attrs.frozen
class ArcPiece:
    centre: tuple[Exact, ...] = point("its centre")
    radius: Exact = quantity(LENGTH, "its radius", sign="positive")
    start: Angle = angle("where the radius to its first end points, from +x toward +y")
    opening: Angle = angle("between the radii to its ends, counter-clockwise from the first")
    name: str = text("what it is called")

    def __attrs_post_init__(self) -> None:
        checked_opening(self.opening)


@attrs.frozen
class ParabolaPiece:
    """From its vertex: rise = height (run / width)^2."""

    vertex: tuple[Exact, ...] = point("its vertex")
    width: Exact = quantity(LENGTH, "across its axis to its end", sign="positive")
    height: Exact = quantity(LENGTH, "along its axis to its end", sign="positive")
    axis: str = choice(("x", "y"), "along which it opens", default="y")
    quadrant: str = choice(tuple(QUADRANTS), "where it lies from its vertex", default="first")
    name: str = text("what it is called")


@attrs.frozen
class LineGivens:
    segments: tuple[Segment, ...] = many(Segment, "straight pieces", minimum=0, default=())
    arcs: tuple[ArcPiece, ...] = many(ArcPiece, "arcs of a circle", minimum=0, default=())
    parabolas: tuple[ParabolaPiece, ...] = many(
        ParabolaPiece, "arcs of a parabola from its vertex", minimum=0, default=()
    )

    def __attrs_post_init__(self) -> None:
        if not (self.segments or self.arcs or self.parabolas):
            raise ValueError("a line needs at least one piece")
        distinct_rows(*_worded(self))


def _worded(given: LineGivens) -> list[tuple[Sequence[Any], str]]:
    return [(given.segments, "segment"), (given.arcs, "arc"), (given.parabolas, "parabola")]


def named_pieces(given: LineGivens) -> list[tuple[str, Any]]:
    """Every piece by its own name, or by what it is and its number."""
    return named_rows(*_worded(given))


@attrs.frozen
class Piece:
    name: str
    length: Number
    centroid: Numbers


def arc_offset(radius: Number, sine: Number, half: Number) -> Number:
    """r sin(alpha) / alpha from the centre; alpha is half the opening, in radians."""
    return radius * sine / half


def arc_length(radius: Number, sine: Number, half: Number) -> Number:
    """2 r alpha."""
    return radius * half * 2


LINE_TABLE: Mapping[str, Callable[..., Any]] = {"arc_offset": arc_offset, "arc_length": arc_length}
"""The formulas that a known mistake may replace."""


def pieces_of(given: LineGivens, ar: Arithmetic, rules: SimpleNamespace) -> list[Piece]:
    """Every piece by its formulas; ``rules`` holds those of LINE_TABLE."""
    return [Piece(name, *_properties(row, ar, rules)) for name, row in named_pieces(given)]


def _properties(row: Any, ar: Arithmetic, rules: SimpleNamespace) -> tuple[Number, Numbers]:
    if isinstance(row, Segment):
        a, b = brought(row.start, ar), brought(row.end, ar)
        return length(minus(b, a), ar), tuple((x + y) / 2 for x, y in zip(a, b, strict=True))
    if isinstance(row, ArcPiece):
        half = half_of(row.opening)
        r, (c, s), (_, sine) = (
            ar.bring(row.radius), middle_of(row.start, half, ar), ar.cos_sin(half),
        )  # fmt: skip
        alpha = ar.radians(half)
        offset = rules.arc_offset(r, sine, alpha)
        place = added(brought(row.centre, ar), (offset * c, offset * s))
        return rules.arc_length(r, sine, alpha), place
    return _parabola(row, ar)


def _parabola(row: ParabolaPiece, ar: Arithmetic) -> tuple[Number, Numbers]:
    """With p the slope at the end: L = w/2 (q + asinh(p)/p), q = sqrt(1 + p^2)."""
    w, h = ar.bring(row.width), ar.bring(row.height)
    p = h * 2 / w
    q, turn = ar.sqrt(p * p + 1), ar.asinh(p)
    size = w / 2 * (q + turn / p)
    run = w * w * (q * q * q - 1) / (p * p * 3)
    rise = h * w * (p * q * (p * p * 2 + 1) - turn) / (p * p * p * 8)
    return size, _placed(row, run / size, rise / size, ar)


def _placed(row: ParabolaPiece, run: Number, rise: Number, ar: Arithmetic) -> Numbers:
    signs = QUADRANTS[row.quadrant]
    u, v = (run, rise) if row.axis == "y" else (rise, run)
    return added(brought(row.vertex, ar), (u * signs[0], v * signs[1]))


def integrals_along(given: LineGivens, ar: Arithmetic) -> list[Sequence[Number]]:
    """Length, int x ds and int y ds of each piece, by other routes than its centroid."""
    return [_along(row, ar) for _, row in named_pieces(given)]


def _along(row: Any, ar: Arithmetic) -> Sequence[Number]:
    if isinstance(row, Segment):
        a, b = brought(row.start, ar), brought(row.end, ar)
        step = minus(b, a)
        size = ar.sqrt(step[0] * step[0] + step[1] * step[1])
        return [size, *(size * x + size * d / 2 for x, d in zip(a, step, strict=True))]
    if isinstance(row, ArcPiece):
        r, (c, s), (p, q) = ar.bring(row.radius), ar.cos_sin(row.start), ar.cos_sin(row.opening)
        size, (x, y) = r * ar.radians(row.opening), brought(row.centre, ar)
        u, v = c * p - s * q, s * p + c * q
        return [size, size * x + r * r * (v - s), size * y + r * r * (c - u)]
    return _parabola_by_hyperbola(row, ar)


def _parabola_by_hyperbola(row: ParabolaPiece, ar: Arithmetic) -> Sequence[Number]:
    """With the slope sinh(t), so that ds = w/p cosh^2(t) dt, t from 0 to asinh(p)."""
    w, h = ar.bring(row.width), ar.bring(row.height)
    p = h * 2 / w
    t = ar.asinh(p)
    cosh = ar.cosh(t)
    size = w / p * (t / 2 + ar.sinh(t * 2) / 4)
    run = w * w / (p * p) * (cosh * cosh * cosh - 1) / 3
    rise = h * w / (p * p * p) * (ar.sinh(t * 4) / 32 - t / 8)
    x, y = _placed(row, run / size, rise / size, ar)
    return [size, size * x, size * y]


def first_moment(size: Number, distance: Number) -> Number:
    """L d."""
    return size * distance


def lengths_left_out(
    given: Any, answers: Mapping[str, Value], ar: Arithmetic
) -> Mapping[str, Value] | None:
    places = list(answers["centroids"].values())
    mean = tuple(sum_of(list(along), ar) / len(places) for along in zip(*places, strict=True))
    return {**answers, "centroid": mean} if len(places) > 1 else None


NOT_WEIGHTED = Mistake(
    "centroids averaged",
    "the mean of the pieces' centroids is taken, not weighted by their lengths",
    answers=lengths_left_out,
)


def line_points(row: Any, ar: Arithmetic) -> tuple[Point, ...]:
    """Points along a piece in the double arithmetic."""
    if isinstance(row, Segment):
        return (brought(row.start, ar), brought(row.end, ar))
    if isinstance(row, ArcPiece):
        r = ar.bring(row.radius)
        turns = ar.radians(row.start), ar.radians(row.opening)
        return arc_points(brought(row.centre, ar), (r, r), *turns)
    w, h, signs = ar.bring(row.width), ar.bring(row.height), QUADRANTS[row.quadrant]
    shares = [i / 24 for i in range(25)]
    steps = [(w * t, h * t * t) if row.axis == "y" else (h * t * t, w * t) for t in shares]
    vertex = brought(row.vertex, ar)
    return tuple(added(vertex, (u * signs[0], v * signs[1])) for u, v in steps)
