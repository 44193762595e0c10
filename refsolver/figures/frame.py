"""From the case's coordinates to paper: one scale for lengths, one for forces, one for couples.

Space is shown in an oblique parallel projection: y to the right, z up, x toward the reader
and down to the left, drawn at one half. Right-handed, like the axes of the cases.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

import attrs

from refsolver.figures.paper import Spot

__all__ = ["Frame", "fitted", "flat"]

_TALL = 0.62
"""A figure is at most so high, as a share of its width."""
_ARROW = 0.4
"""The largest force beside a body, as a share of the body's larger side."""
_VANISHING = 1e-290
"""Sizes whose scale, in pixels, would come near the largest double."""
_COUPLE = 60.0
"""The largest couple vector, in pixels."""


def flat(point: Sequence[float]) -> Spot:
    """A point of the plane as it is, a point of space projected; y still upward."""
    if len(point) == 2:
        return point[0], point[1]
    x, y, z = point
    return y - 0.4 * x, z - 0.3 * x


@attrs.frozen
class Frame:
    """Pixels a unit of length, of force and of a couple; the body's centre is the origin."""

    centre: Spot
    length: float
    force: float
    couple: float
    space: int

    def spot(self, point: Sequence[float]) -> Spot:
        u, v = flat(point)
        return (u - self.centre[0]) * self.length, (self.centre[1] - v) * self.length

    def arrow(self, vector: Sequence[float]) -> Spot:
        """A force as a step on paper."""
        u, v = flat(vector)
        return u * self.force, -v * self.force

    def turning(self, vector: Sequence[float]) -> Spot:
        """A couple's vector in space as a step on paper."""
        u, v = flat(vector)
        return u * self.couple, -v * self.couple


def fitted(parts: Sequence[Mapping[str, Any]], space: int, width: float) -> Frame:
    """The frame that shows all parts within ``width`` pixels."""
    places = [flat(point) for part in parts for point in _points(part)] or [(0.0, 0.0)]
    us, vs = [u for u, _ in places], [v for _, v in places]
    centre = ((min(us) + max(us)) / 2, (min(vs) + max(vs)) / 2)
    extent = max(max(us) - min(us), max(vs) - min(vs))
    longest = max((math.hypot(*flat(part["vector"])) for part in _arrows(parts)), default=0.0)
    strongest = max(
        (_strength(part["moment"]) for part in parts if part["is"] == "Turning"), default=0.0
    )
    length = _scale(1.0, extent, 1.0)
    force = _scale(_ARROW if extent > 0 else 1.0, longest, 1.0)
    rough = Frame(centre, length, force, 0.0, space)
    left, top, right, bottom = _bounds(rough, parts)
    scale = min(width / max(right - left, 1e-9), _TALL * width / max(bottom - top, 1e-9))
    couple = _scale(_COUPLE, strongest, 0.0)
    return Frame(centre, length * scale, force * scale, couple, space)


def _scale(paper: float, size: float, otherwise: float) -> float:
    """The scale that draws ``size`` as long as ``paper``.

    ``otherwise`` for a size too near zero for its scale to be a double: drawn as nothing.
    """
    return paper / size if size > _VANISHING else otherwise


def _bounds(frame: Frame, parts: Sequence[Mapping[str, Any]]) -> tuple[float, float, float, float]:
    spots = [frame.spot(point) for part in parts for point in _points(part)]
    for part in _arrows(parts):
        x, y = frame.spot(part["at"])
        dx, dy = frame.arrow(part["vector"])
        sense = -1 if part["pushes"] else 1
        spots.append((x + sense * dx, y + sense * dy))
    xs, ys = [x for x, _ in spots] or [0.0], [y for _, y in spots] or [0.0]
    return min(xs), min(ys), max(xs), max(ys)


def _arrows(parts: Iterable[Mapping[str, Any]]) -> Iterator[Mapping[str, Any]]:
    return (part for part in parts if part["is"] == "Arrow" and any(part["vector"]))


def _points(part: Mapping[str, Any]) -> Iterator[Sequence[float]]:
    if "at" in part:
        yield part["at"]
    elif "points" in part:
        yield from part["points"]
    else:
        yield part["start"]
        yield part["end"]


def _strength(moment: float | Sequence[float]) -> float:
    return abs(moment) if isinstance(moment, int | float) else math.hypot(*flat(moment))
