"""Exact directions, vectors and points, in every form a case may state them.

Each class keeps what was stated (an angle from an axis, a slope triangle, two points)
and nothing derived, so that a reader, a mistake or a calculator's mapping can look at
the stated form. :mod:`refsolver.statics.vectors` turns them into numbers of an
arithmetic.

Axes are written ``"+x"``, ``"-y"``, ... Right-handed axes; in the plane x to the right
and y up unless the case says otherwise.
"""

from __future__ import annotations

from typing import Literal, TypeAlias

import attrs

from refsolver.arithmetic.exact import Angle, Exact

__all__ = [
    "AXIS",
    "Axis",
    "ByAngle",
    "ByAxisAngles",
    "ByAzimuth",
    "ByRun",
    "Components",
    "Direction",
    "Polar",
    "Vector",
]

Axis: TypeAlias = Literal["+x", "-x", "+y", "-y", "+z", "-z"]

AXIS: dict[str, tuple[int, int]] = {
    f"{sign}{letter}": (index, 1 if sign == "+" else -1)
    for index, letter in enumerate("xyz")
    for sign in "+-"
}
"""Axis name to (coordinate index, sense)."""


@attrs.frozen
class ByAngle:
    """A plane direction: turned by ``angle`` from the axis ``start`` toward ``toward``.

    The two axes are perpendicular. A negative angle turns the other way.
    """

    angle: Angle
    start: Axis = "+x"
    toward: Axis = "+y"


@attrs.frozen
class ByRun:
    """A direction along a vector: slope triangle, components, direction cosines, two points.

    ``run`` has 2 or 3 entries, not all zero; its length does not matter.
    """

    run: tuple[Exact, ...]


@attrs.frozen
class ByAxisAngles:
    """A direction in space by its angles from the x, y and z axes.

    Three angles: their cosines, normalised (printed angles never satisfy
    cos^2 + cos^2 + cos^2 = 1 exactly). Two angles and a sense: the cosine of the missing
    one is the root of 1 - cos^2 - cos^2 with that sense (+1 or -1).
    """

    angles: tuple[Angle | None, Angle | None, Angle | None]
    sense: int = 1


@attrs.frozen
class ByAzimuth:
    """A direction in space by azimuth and elevation.

    ``azimuth`` turns from ``start`` toward ``toward`` in their plane; ``elevation`` rises
    from that plane toward ``up``.
    """

    azimuth: Angle
    elevation: Angle
    start: Axis = "+x"
    toward: Axis = "+y"
    up: Axis = "+z"


Direction: TypeAlias = ByAngle | ByRun | ByAxisAngles | ByAzimuth


@attrs.frozen
class Polar:
    """A vector by magnitude and direction. A negative magnitude pulls the other way."""

    magnitude: Exact
    direction: Direction


@attrs.frozen
class Components:
    """A vector by its components along the axes (2 or 3)."""

    along: tuple[Exact, ...]


Vector: TypeAlias = Polar | Components
