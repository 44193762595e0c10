"""Each drawing primitive on paper: one function a primitive, found by its name.

A function draws its part and returns the labels it wishes for.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import Any

from refsolver.figures.frame import Frame
from refsolver.figures.labels import Wish, around, beside, width_of
from refsolver.figures.paper import INK, Paper, Spot, Style
from refsolver.figures.supports import support

__all__ = ["PARTS", "STYLES"]

Part = Mapping[str, Any]
Drawer = Callable[[Part, Frame, Paper], list[Wish]]

STYLES: dict[str, Style] = {
    "given": Style("#1b5e8c", 1.8),
    "answer": Style("#a83a08", 3.0),
    "construction": Style("#6b7280", 1.0, "5 3"),
    "body": Style(INK, 2.0),
    "axis": Style("#6b7280", 1.0, "9 3 2 3"),
}
"""Colour and weight both tell the role apart, so that a grey print does too."""

_FINE = Style("#5b6470", 0.9)
_DROP = Style("#8a929c", 0.8, "2 3")
_SMALLEST = 3.0
"""An arrow shorter than this on paper is shown as a dot, and its label says so."""


def arrow(part: Part, frame: Frame, paper: Paper) -> list[Wish]:
    """A force: a line with a head, away from its point or onto it."""
    style, at, step = STYLES[part["role"]], frame.spot(part["at"]), frame.arrow(part["vector"])
    size = math.hypot(*step)
    if size < _SMALLEST:
        paper.ring(at, 2.5, style.colour, style)
        said = "zero" if not any(part["vector"]) else "tiny"
        words = f"{part['label']} ({said})".strip()
        return [Wish(words, around(at, words), style.colour)]
    end = (at[0] + step[0], at[1] + step[1])
    tail, tip = ((at[0] - step[0], at[1] - step[1]), at) if part["pushes"] else (at, end)
    head = min(7.0 + 1.5 * style.width, 0.6 * size)
    neck = (tip[0] - 0.8 * head * step[0] / size, tip[1] - 0.8 * head * step[1] / size)
    if frame.space == 3 and not part["pushes"]:
        _drop(part, frame, paper)
    paper.line([tail, neck], style, layer=3 if part["role"] == "answer" else 4)
    paper.head(tip, step, style.colour, head)
    paper.wires.append((neck, tip))
    free = tail if part["pushes"] else tip
    return _labelled(part, [*_past(at, free, part["label"]), *beside(tail, tip, part["label"])])


def _past(at: Spot, free: Spot, words: str) -> list[Spot]:
    """Places just past an arrow's free end, first in line with it."""
    dx, dy = free[0] - at[0], free[1] - at[1]
    length = math.hypot(dx, dy) or 1.0
    ux, uy = dx / length, dy / length
    reach = 8 + abs(ux) * width_of(words) / 2 + abs(uy) * 6
    return [(free[0] + reach * ux, free[1] + reach * uy), *around(free, words)]


def _drop(part: Part, frame: Frame, paper: Paper) -> None:
    """The plan and the height of an arrow in space, which the projection alone hides."""
    x, y, z = part["vector"]
    if z == 0 or (x == 0 and y == 0):
        return
    at, tip = frame.spot(part["at"]), frame.arrow(part["vector"])
    foot = frame.arrow((x, y, 0.0))
    spots = [at, (at[0] + foot[0], at[1] + foot[1]), (at[0] + tip[0], at[1] + tip[1])]
    paper.line(spots, _DROP, layer=1, wire=False)


def turning(part: Part, frame: Frame, paper: Paper) -> list[Wish]:
    """A couple: in the plane an arc of fixed size, in space a vector with two heads."""
    style, at = STYLES[part["role"]], frame.spot(part["at"])
    moment = part["moment"]
    if not isinstance(moment, int | float):
        return _couple_vector(part, frame, paper)
    radius, sense = 17.0, 1 if moment >= 0 else -1
    turns = [math.radians(90 - sense * 135 + sense * 270 * k / 24) for k in range(25)]
    spots = [(at[0] + radius * math.cos(a), at[1] - radius * math.sin(a)) for a in turns]
    paper.line(spots, style, layer=4)
    last = turns[-1]
    paper.head(spots[-1], (-sense * math.sin(last), -sense * math.cos(last)), style.colour, 9)
    return _labelled(part, around(at, part["label"], radius))


def _couple_vector(part: Part, frame: Frame, paper: Paper) -> list[Wish]:
    style, at = STYLES[part["role"]], frame.spot(part["at"])
    step = frame.turning(part["moment"])
    size = math.hypot(*step)
    tip = (at[0] + step[0], at[1] + step[1])
    paper.line([at, tip], style, layer=4)
    head = min(8.0 + style.width, 0.4 * size)
    paper.head(tip, step, style.colour, head)
    if size > 0:
        behind = (tip[0] - head * step[0] / size, tip[1] - head * step[1] / size)
        paper.head(behind, step, style.colour, head)
    return _labelled(part, _past(at, tip, part["label"]))


def stroke(part: Part, frame: Frame, paper: Paper) -> list[Wish]:
    """A segment: a member, a cord, a construction line."""
    start, end = frame.spot(part["start"]), frame.spot(part["end"])
    paper.line([start, end], STYLES[part["role"]])
    return _labelled(part, beside(start, end, part["label"]))


def curve(part: Part, frame: Frame, paper: Paper) -> list[Wish]:
    """A polyline through points."""
    spots = [frame.spot(point) for point in part["points"]]
    paper.line(spots, STYLES[part["role"]])
    middle = len(spots) // 2
    places = beside(spots[max(middle - 1, 0)], spots[middle], part["label"])
    return _labelled(part, places)


def region(part: Part, frame: Frame, paper: Paper) -> list[Wish]:
    """A closed area, tinted; a hole is open and has a dashed edge."""
    spots = [frame.spot(point) for point in part["points"]]
    if part["hole"]:
        paper.area(spots, "#fff", Style(INK, 1.2, "4 2"), layer=1)
    else:
        paper.area(spots, "#e7ebe8", Style(INK, 1.6), layer=0)
    paper.wires.extend(zip(spots, [*spots[1:], spots[0]], strict=True))
    x = sum(s[0] for s in spots) / len(spots)
    y = sum(s[1] for s in spots) / len(spots)
    return _labelled(part, [(x, y), *around((x, y), part["label"])])


def mark(part: Part, frame: Frame, paper: Paper) -> list[Wish]:
    """A named point."""
    style, at = STYLES[part["role"]], frame.spot(part["at"])
    paper.ring(
        at, 3.0, "#fff" if part["role"] == "given" else style.colour, Style(style.colour, 1.6)
    )
    return _labelled(part, around(at, part["label"]))


def arc(part: Part, frame: Frame, paper: Paper) -> list[Wish]:
    """An angle between two directions, counter-clockwise; in space, in the x-y plane."""
    sweep = (part["end"] - part["start"]) % 360
    radius = 26.0
    turns = [math.radians(part["start"] + sweep * k / 24) for k in range(25)]
    at = frame.spot(part["at"])
    if frame.space == 2:
        spots = [(at[0] + radius * math.cos(a), at[1] - radius * math.sin(a)) for a in turns]
    else:
        reach = radius / max(frame.length, 1e-12)
        x, y, z = part["at"]
        ring = [(x + reach * math.cos(a), y + reach * math.sin(a), z) for a in turns]
        spots = [frame.spot(point) for point in ring]
    paper.line(spots, _FINE)
    ahead = (spots[-1][0] - spots[-3][0], spots[-1][1] - spots[-3][1])
    paper.head(spots[-1], ahead, _FINE.colour, 6)
    middle = spots[12]
    outward = (middle[0] - at[0], middle[1] - at[1])
    size = math.hypot(*outward) or 1.0
    reach = 6 + width_of(part["label"]) / 2
    first = (middle[0] + reach * outward[0] / size, middle[1] + 13 * outward[1] / size)
    return _labelled(part, [first, *around(middle, part["label"])])


def pin(part: Part, frame: Frame, paper: Paper) -> list[Wish]:
    """A support, below the body as its surface's outward normal says."""
    at = frame.spot(part["at"])
    support(paper, part["kind"], at, part["angle"])
    return _labelled(part, around(at, part["label"], 12))


def dimension(part: Part, frame: Frame, paper: Paper) -> list[Wish]:
    """A dimension line beside what it measures, on the side away from the body."""
    start, end = frame.spot(part["start"]), frame.spot(part["end"])
    dx, dy = end[0] - start[0], end[1] - start[1]
    length = math.hypot(dx, dy) or 1.0
    nx, ny = -dy / length, dx / length
    middle = ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
    if middle[0] * nx + middle[1] * ny < 0:
        nx, ny = -nx, -ny
    ends = [(x + 24 * nx, y + 24 * ny) for x, y in (start, end)]
    for inner, outer in zip((start, end), ends, strict=True):
        near = (inner[0] + 6 * nx, inner[1] + 6 * ny)
        paper.line([near, (outer[0] + 4 * nx, outer[1] + 4 * ny)], _FINE, wire=False)
    paper.line(ends, _FINE)
    for sense, spot in ((-1, ends[0]), (1, ends[1])):
        paper.head(spot, (sense * dx, sense * dy), _FINE.colour, min(7.0, 0.4 * length))
    return _labelled(part, beside(ends[0], ends[1], part["label"], 5))


def _labelled(part: Part, places: list[Spot]) -> list[Wish]:
    if not part["label"]:
        return []
    role = part.get("role", "body")
    return [Wish(part["label"], places, STYLES[role].colour)]


PARTS: dict[str, Drawer] = {
    "Region": region,
    "Curve": curve,
    "Stroke": stroke,
    "Pin": pin,
    "Dimension": dimension,
    "Arc": arc,
    "Turning": turning,
    "Arrow": arrow,
    "Mark": mark,
}
"""By the primitive's name."""
