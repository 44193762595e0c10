"""Supports and line loads of bodies as drawing primitives."""

from __future__ import annotations

import math
from typing import Any

from refsolver.arithmetic.contract import Arithmetic
from refsolver.statics.bodies.loads import LineLoad
from refsolver.statics.drawing import Arrow, Curve, Pin, Primitive
from refsolver.statics.vectors import Numbers, brought, length, minus, scaled, unit_vector

__all__ = ["drawn_line_load", "drawn_support"]

_SYMBOL: dict[str, Any] = {
    "fixed": "fixed", "guide": "fixed", "roller": "roller", "rocker": "roller",
    "contact": "contact", "cable": "link", "link": "link", "slider": "roller", "ball": "ball",
}  # fmt: skip


def drawn_support(support: Any, spot: Numbers, ar: Arithmetic, label: str = "") -> Primitive:
    """The symbol of a support (anything with a kind and a direction), turned in the plane.

    A surface pushes along its direction, away from the ground; a link or cable leads along
    its direction to the ground.
    """
    angle = 90.0
    if support.direction is not None and len(spot) == 2:
        u = unit_vector(support.direction, ar)
        angle = math.degrees(math.atan2(u[1], u[0]))
        if support.kind in ("link", "cable"):
            angle += 180
    return Pin(spot, _SYMBOL.get(support.kind, "pin"), angle, label)


def drawn_line_load(line: LineLoad, key: str, ar: Arithmetic) -> list[Primitive]:
    """The line it is spread over, and at each end an arrow in proportion to the intensity."""
    ends = brought(line.start, ar), brought(line.end, ar)
    along = unit_vector(line.direction, ar)
    reach = length(minus(ends[1], ends[0]), ar)
    arrows = [
        Arrow(end, scaled(ar.bring(size) * reach / 2, along), "", pushes=True)
        for end, size in zip(ends, (line.at_start, line.at_end), strict=True)
    ]
    return [Curve(ends, key, "given"), *arrows]
