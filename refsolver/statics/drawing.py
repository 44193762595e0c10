"""Drawing primitives: what a figure shows, in the case's own coordinates, without style.

Coordinates are plain floats in coherent length units; forces are drawn by the figures
room at one scale of its own choosing, so an arrow carries its vector, not its length on
paper. Plane drawings use two coordinates, space drawings three (shown in an oblique
parallel projection).
"""

from __future__ import annotations

import math
from typing import Literal, TypeAlias

import attrs

__all__ = [
    "Arc",
    "Arrow",
    "Curve",
    "Dimension",
    "Drawing",
    "Mark",
    "Pin",
    "Point",
    "Region",
    "Role",
    "Stroke",
    "Turning",
    "drawn_circle",
]

Point: TypeAlias = tuple[float, ...]

Role: TypeAlias = Literal["given", "answer", "construction", "body", "axis"]


@attrs.frozen
class Arrow:
    """A force (or any vector) at a point; ``vector`` in force units."""

    at: Point
    vector: Point
    label: str = ""
    role: Role = "given"
    pushes: bool = False
    """True draws the head at the point, as for a push; False draws it away, as a pull."""


@attrs.frozen
class Turning:
    """A couple: counter-clockwise positive in the plane, a vector in space."""

    at: Point
    moment: float | Point
    label: str = ""
    role: Role = "given"


@attrs.frozen
class Stroke:
    """A line segment: a member, a beam, a slope, a construction line."""

    start: Point
    end: Point
    label: str = ""
    role: Role = "body"


@attrs.frozen
class Curve:
    """A polyline through points: a cable, a diagram, a load's envelope."""

    points: tuple[Point, ...]
    label: str = ""
    role: Role = "body"


@attrs.frozen
class Region:
    """A closed area; ``hole`` is drawn open."""

    points: tuple[Point, ...]
    label: str = ""
    hole: bool = False


@attrs.frozen
class Mark:
    """A named point."""

    at: Point
    label: str = ""
    role: Role = "given"


@attrs.frozen
class Arc:
    """An angle at a point, from one direction to another (degrees, counter-clockwise)."""

    at: Point
    start: float
    end: float
    label: str = ""


@attrs.frozen
class Pin:
    """A support; ``angle`` in degrees is the direction of the surface's outward normal."""

    at: Point
    kind: Literal["pin", "roller", "fixed", "link", "ball", "contact"]
    angle: float = 90.0
    label: str = ""


@attrs.frozen
class Dimension:
    """A dimension line between two points."""

    start: Point
    end: Point
    label: str = ""


Primitive: TypeAlias = Arrow | Turning | Stroke | Curve | Region | Mark | Arc | Pin | Dimension


@attrs.frozen
class Drawing:
    """Everything in one figure. ``caption`` says what it shows, for those who cannot see it."""

    parts: tuple[Primitive, ...]
    caption: str
    space: int = 2


def drawn_circle(centre: Point, radius: float, label: str = "", role: Role = "body") -> Curve:
    """A circle in the plane, as a polyline."""
    turns = [math.tau * i / 60 for i in range(61)]
    points = [(centre[0] + radius * math.cos(t), centre[1] + radius * math.sin(t)) for t in turns]
    return Curve(tuple(points), label, role)
