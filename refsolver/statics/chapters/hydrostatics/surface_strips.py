"""The second route of plane surfaces: pressures integrated over strips between the levels.

The pressure of each side is walked down through its layers; between two levels it is
linear in the distance down the slope, so that the integrals of the width and of its
moments are all that is needed.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

import attrs

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.exact import rational
from refsolver.quantities.kinds import NoAnswer, Value
from refsolver.statics.chapters.hydrostatics.fluids import SIDES, Load
from refsolver.statics.contract import Residual
from refsolver.statics.forces.systems import sum_of

__all__ = [
    "Integrated",
    "Moments",
    "Piece",
    "Section",
    "Strips",
    "Wall",
    "cut_of",
    "depth_at",
    "integrated",
    "strip_residuals",
]


@attrs.frozen
class Section:
    """An area: its size, its centroid below the upper edge, I about the level centroid axis."""

    area: Number
    centroid: Number
    own: Number


Moments = tuple[Number, Number, Number]
"""The integrals of w, w s and w s^2 over a stretch of the slope."""


@attrs.frozen
class Piece:
    """A part of the surface between two distances down the slope.

    ``section`` gives what lies below a cut, by a table of shapes (None: all of it);
    ``strips`` gives the integrals between two distances by another route, ``start`` and
    ``end`` being passed as the very objects.
    """

    name: str
    start: Number
    end: Number
    section: Callable[[Number | None, str], Section]
    strips: Callable[[Number, Number, str], Moments]


@attrs.frozen
class Wall:
    """Depth of the upper edge, and cosine and sine of the slope."""

    depth: Number
    cosine: Number
    sine: Number

    @classmethod
    def of(cls, given: Any, ar: Arithmetic) -> Wall:
        return cls(ar.bring(given.depth), *ar.cos_sin(given.slope))


def depth_at(depth: Number, along: Number, sine: Number) -> Number:
    """z = z_top + s sin(slope)."""
    return depth + along * sine


def cut_of(
    load: Load, piece: Piece, wall: Wall, depth_of: Callable[..., Number], ar: Arithmetic
) -> Number | None:
    """Where the level of a fluid meets a piece: its start if above, None if not reached."""
    name = f"surface of {load.key} above the {{}} end of {piece.name}"
    low = depth_of(wall.depth, piece.end, wall.sine) - load.level
    if ar.sign(low, name.format("lower")) <= 0:
        return None
    high = depth_of(wall.depth, piece.start, wall.sine) - load.level
    if ar.sign(high, name.format("upper")) >= 0:
        return piece.start
    return piece.end - low / (low - high) * (piece.end - piece.start)


Line = tuple[Number, Number, Number, Number]
"""A stretch of the slope on which the pressure is linear: from, to, p at s = 0, dp/ds."""


def _lines(
    piece: Piece,
    loads: Sequence[Load],
    gas: Number,
    wall: Wall,
    ar: Arithmetic,
) -> list[Line]:
    """The pressure of one side on a piece, walked down through the layers."""
    lines: list[Line] = []
    first, at_zero, rise = piece.start, gas, gas * 0
    at_level, last = gas, None
    for load in loads:
        if last is not None:
            at_level = at_level + last.weight * (load.level - last.level)
        last = load
        cut = cut_of(load, piece, wall, depth_at, ar)
        if cut is None:
            break
        if cut is not piece.start:
            lines.append((first, cut, at_zero, rise))
        first = cut
        at_zero = at_level + load.weight * (wall.depth - load.level)
        rise = load.weight * wall.sine
    return [*lines, (first, piece.end, at_zero, rise)]


@attrs.frozen
class Strips:
    """Force, moment about the upper edge, and the size of the terms of the force."""

    force: Number
    moment: Number
    size: Number

    def plus(
        self, at_zero: Number, rise: Number, parts: Moments, reach: Number, ar: Arithmetic
    ) -> Strips:
        zeroth, first, second = parts
        size = ar.size(at_zero) * ar.size(zeroth) + ar.size(rise) * ar.size(zeroth) * reach
        return Strips(
            self.force + at_zero * zeroth + rise * first,
            self.moment + at_zero * first + rise * second,
            self.size + size,
        )


@attrs.frozen
class Integrated:
    """All fluids by strips, the pressures at both edges, the area, the reach, the wall."""

    total: Strips
    edges: tuple[Number, Number]
    area: Number
    reach: Number
    wall: Wall


def integrated(
    pieces: Sequence[Piece], loads: Sequence[Load], gas: Number, wall: Wall, ar: Arithmetic
) -> Integrated:
    """The pressures of each side walked down through its layers, and integrated."""
    nothing = ar.bring(rational(0))
    total, edges, reach = Strips(nothing, nothing, nothing), [nothing, nothing], pieces[-1].end
    for side in SIDES:
        own = [load for load in loads if load.side == side]
        sense = 1 if side == "front" else -1
        over = gas if side == "front" else nothing
        for number, piece in enumerate(pieces):
            for first, last, at_zero, rise in _lines(piece, own, over, wall, ar):
                parts = piece.strips(first, last, f"{side} of {piece.name}")
                total = total.plus(at_zero * sense, rise * sense, parts, reach, ar)
                if number == 0 and first is piece.start:
                    edges[0] = edges[0] + at_zero * sense
                if number == len(pieces) - 1 and last is piece.end:
                    edges[1] = edges[1] + (at_zero + rise * reach) * sense
    areas = [p.strips(p.start, p.end, f"area of {p.name}")[0] for p in pieces]
    return Integrated(total, (edges[0], edges[1]), sum_of(areas, ar), reach, wall)


def strip_residuals(answers: Mapping[str, Value], found: Integrated) -> list[Residual]:
    """The answers of a plane surface against its integrals."""
    total, edges, area, reach, wall = (
        found.total, found.edges, found.area, found.reach, found.wall,
    )  # fmt: skip
    size = total.size
    turning = size * reach
    force = answers["force"]
    parts = answers["horizontal"] * wall.sine + answers["vertical"] * wall.cosine
    lower = force * reach - total.moment
    across = answers["horizontal"] * wall.cosine - answers["vertical"] * wall.sine
    residuals = [
        Residual("force by strips", force - total.force, size),
        Residual("parts along the normal", parts - total.force, size),
        Residual("parts along the surface", across, size),
        Residual("moment by strips", answers["moment about top"] - total.moment, turning),
        Residual("moment about the lower edge", answers["moment about bottom"] - lower, turning),
        Residual("mean pressure", answers["mean pressure"] * area - total.force, size),
        Residual("pressure at top", answers["pressure at top"] - edges[0], size / area),
        Residual("pressure at bottom", answers["pressure at bottom"] - edges[1], size / area),
    ]
    if not isinstance(answers["from top"], NoAnswer):
        deep = (answers["depth"] - wall.depth) * force - total.moment * wall.sine
        low = (reach - answers["from bottom"]) * force
        residuals += [
            Residual("place by strips", answers["from top"] * force - total.moment, turning),
            Residual("place from the lower edge", low - total.moment, turning),
            Residual("depth of the place", deep, turning),
        ]
    return residuals
