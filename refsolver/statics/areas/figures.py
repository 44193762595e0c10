"""Areas drawn to scale: the outline of every part, holes open."""

from __future__ import annotations

import math
from typing import Any

from refsolver.arithmetic.contract import Arithmetic
from refsolver.statics.areas.composite import half_axes
from refsolver.statics.areas.shapes import (
    QUADRANTS,
    AreaGivens,
    Disc,
    Ellipse,
    HalfDisc,
    HalfEllipse,
    Polygon,
    Rectangle,
    Sector,
    Spandrel,
    Triangle,
    named_parts,
)
from refsolver.statics.drawing import Drawing, Mark, Point, Primitive, Region
from refsolver.statics.vectors import brought

__all__ = ["arc_points", "area_drawing", "outline"]

_STEPS = 48


def area_drawing(
    given: AreaGivens, ar: Arithmetic, caption: str, *more: Primitive, origin: bool = True
) -> Drawing:
    """The parts of an area in the double arithmetic, and whatever else there is to mark."""
    parts: list[Primitive] = [
        Region(outline(row, ar), "", sign < 0) for _, row, sign in named_parts(given)
    ]
    if origin:
        parts.append(Mark((0.0, 0.0), "O", "axis"))
    return Drawing((*parts, *more), caption)


def outline(row: Any, ar: Arithmetic) -> tuple[Point, ...]:
    """The corners of a part, or points along its edge."""
    if isinstance(row, Rectangle):
        x, y = brought(row.corner, ar)
        b, h = ar.bring(row.width), ar.bring(row.height)
        return ((x, y), (x + b, y), (x + b, y + h), (x, y + h))
    if isinstance(row, Triangle):
        return tuple(brought(p, ar) for p in (row.a, row.b, row.c))
    if isinstance(row, Polygon):
        return tuple(brought(corner.at, ar) for corner in row.corners)
    if isinstance(row, Spandrel):
        return _spandrel(row, ar)
    centre, (start, sweep) = brought(row.centre, ar), _arc(row, ar)
    arc = arc_points(centre, half_axes(row, ar), start, sweep)
    return arc if isinstance(row, Disc | Ellipse) else (centre, *arc)


def arc_points(
    centre: Point, axes: tuple[float, float], start: float, sweep: float
) -> tuple[Point, ...]:
    """Points along the arc of an ellipse; angles in radians."""
    turns = [start + sweep * i / _STEPS for i in range(_STEPS + 1)]
    return tuple(
        (centre[0] + axes[0] * math.cos(t), centre[1] + axes[1] * math.sin(t)) for t in turns
    )


def _arc(row: Any, ar: Arithmetic) -> tuple[float, float]:
    quarter = math.pi / 2
    if isinstance(row, Disc | Ellipse):
        return 0.0, 4 * quarter
    if isinstance(row, Sector):
        return ar.radians(row.start), ar.radians(row.opening)
    if isinstance(row, HalfDisc | HalfEllipse):
        return {"+y": 0.0, "-x": 1.0, "-y": 2.0, "+x": 3.0}[row.bulges] * quarter, 2 * quarter
    return list(QUADRANTS).index(row.quadrant) * quarter, quarter


def _spandrel(row: Spandrel, ar: Arithmetic) -> tuple[Point, ...]:
    (x, y), signs = brought(row.vertex, ar), QUADRANTS[row.quadrant]
    b, h = ar.bring(row.width) * signs[0], ar.bring(row.height) * signs[1]
    shares = [i / _STEPS for i in range(_STEPS + 1)]
    curve = tuple((x + b * t, y + h * t**row.power) for t in shares)
    return (*curve, (x + b, y) if row.side == "under" else (x, y + h))
