"""How far the solid parts of an area reach along the axes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.exact import Turn
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
    towards,
)
from refsolver.statics.vectors import Numbers, added, brought, cross_plane

__all__ = ["Extents", "arc_outermost", "extents_of", "outermost_of"]


@attrs.frozen
class Extents:
    left: Number
    right: Number
    bottom: Number
    top: Number


SIDES = ((-1, 0), (1, 0), (0, -1), (0, 1))


def extents_of(given: AreaGivens, ar: Arithmetic) -> Extents | None:
    """The outermost fibres of the solid parts; None where every part is a hole.

    A hole is taken not to cut off a whole outermost fibre.
    """
    points: list[tuple[str, Numbers]] = []
    for name, row, sign in named_parts(given):
        if sign > 0:
            points += [(f"{name}, {n}", p) for n, p in enumerate(_outermost(name, row, ar), 1)]
    return outermost_of(points, ar) if points else None


def outermost_of(points: Sequence[tuple[str, Numbers]], ar: Arithmetic) -> Extents:
    """The extents of named points."""
    found = []
    for axis, word in ((0, "right"), (1, "above")):
        low = high = points[0][1][axis]
        for name, place in points[1:]:
            high = ar.larger(high, place[axis], f"{name} against the farthest {word} so far")
            low = -ar.larger(-low, -place[axis], f"{name} against the least far {word} so far")
        found += [low, high]
    return Extents(*found)


def _outermost(name: str, row: Any, ar: Arithmetic) -> Sequence[Numbers]:
    """Points of a part among which are its outermost ones along both axes."""
    if isinstance(row, Rectangle):
        corner = brought(row.corner, ar)
        return [corner, added(corner, (ar.bring(row.width), ar.bring(row.height)))]
    if isinstance(row, Triangle):
        return [brought(x, ar) for x in (row.a, row.b, row.c)]
    if isinstance(row, Polygon):
        return [brought(corner.at, ar) for corner in row.corners]
    if isinstance(row, Spandrel):
        signs, vertex = QUADRANTS[row.quadrant], brought(row.vertex, ar)
        tip = (ar.bring(row.width) * signs[0], ar.bring(row.height) * signs[1])
        return [vertex, added(vertex, tip)]
    centre, (a, b) = brought(row.centre, ar), half_axes(row, ar)
    return [added(centre, (a * u, b * v)) for u, v in _round(name, row, ar)]


def _round(name: str, row: Any, ar: Arithmetic) -> Iterator[Numbers]:
    """The same of a part of the unit circle about the origin."""
    if isinstance(row, Disc | Ellipse):
        yield from SIDES
    elif isinstance(row, HalfDisc | HalfEllipse):
        x, y = towards(row.bulges)
        yield from ((x, y), (y, x), (-y, -x))
    elif isinstance(row, Sector):
        yield (0, 0)
        yield from arc_outermost(name, row, ar)
    else:
        x, y = QUADRANTS[row.quadrant]
        yield from ((0, 0), (x, y))


def arc_outermost(name: str, row: Any, ar: Arithmetic) -> Iterator[Numbers]:
    """The ends of a unit arc with a start and an opening, and the sides of its circle it holds."""
    ends = [ar.cos_sin(row.start), _end(row, ar)]
    yield from ends
    for number, side in enumerate(SIDES):
        if _holds(name, row, ends, number, ar):
            yield side


def _end(row: Any, ar: Arithmetic) -> Numbers:
    if isinstance(row.start, Turn) and isinstance(row.opening, Turn):
        return ar.cos_sin(Turn(row.start.turns + row.opening.turns))
    (c, s), (p, q) = ar.cos_sin(row.start), ar.cos_sin(row.opening)
    return (c * p - s * q, s * p + c * q)


def _holds(name: str, row: Any, ends: Sequence[Numbers], number: int, ar: Arithmetic) -> bool:
    """Whether the direction of a side (0 left, 1 right, 2 down, 3 up) lies in the opening."""
    if isinstance(row.start, Turn) and isinstance(row.opening, Turn):
        turned = (fmpq(2, 4), fmpq(0), fmpq(3, 4), fmpq(1, 4))[number] - row.start.turns
        return bool(turned - turned.floor() <= row.opening.turns)
    (first, last), side = ends, SIDES[number]
    word = ("left", "right", "down", "up")[number]
    after = ar.sign(cross_plane(first, side), f"{name}: {word} after its first side")
    before = ar.sign(cross_plane(side, last), f"{name}: {word} before its last side")
    if ar.sign(ar.cos_sin(row.opening)[1], f"{name}: opening less than half a turn") >= 0:
        return after >= 0 and before >= 0
    return after >= 0 or before >= 0
