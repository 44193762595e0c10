"""Exact directions and vectors as numbers of an arithmetic, and small vector algebra."""

from __future__ import annotations

from collections.abc import Sequence
from functools import reduce
from operator import add, mul, sub
from typing import TypeAlias

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.exact import Exact
from refsolver.quantities.leaves import (
    AXIS,
    ByAngle,
    ByAxisAngles,
    ByAzimuth,
    ByRun,
    Components,
    Direction,
    Vector,
)

__all__ = [
    "Numbers",
    "added",
    "brought",
    "cross",
    "cross_plane",
    "dot",
    "length",
    "magnitude_of",
    "minus",
    "scaled",
    "unit_vector",
    "vector",
]

Numbers: TypeAlias = tuple[Number, ...]


def brought(values: Sequence[Exact], ar: Arithmetic) -> Numbers:
    return tuple(map(ar.bring, values))


def _same_length(a: Sequence[Number], b: Sequence[Number]) -> None:
    if len(a) != len(b):
        raise ValueError(f"vectors of {len(a)} and {len(b)} components")


def dot(a: Sequence[Number], b: Sequence[Number]) -> Number:
    _same_length(a, b)
    # Not sum(): from Python 3.12 on it adds doubles otherwise than a plain program does.
    return reduce(add, map(mul, a, b))


def length(a: Sequence[Number], ar: Arithmetic) -> Number:
    return ar.sqrt(dot(a, a))


def added(a: Sequence[Number], b: Sequence[Number]) -> Numbers:
    _same_length(a, b)
    return tuple(map(add, a, b))


def minus(a: Sequence[Number], b: Sequence[Number]) -> Numbers:
    _same_length(a, b)
    return tuple(map(sub, a, b))


def scaled(factor: Number, a: Sequence[Number]) -> Numbers:
    return tuple([factor * x for x in a])


def cross(a: Sequence[Number], b: Sequence[Number]) -> Numbers:
    """The vector product in space, right-handed."""
    return (
        a[1] * b[2] - a[2] * b[1],
        a[2] * b[0] - a[0] * b[2],
        a[0] * b[1] - a[1] * b[0],
    )


def cross_plane(r: Sequence[Number], f: Sequence[Number]) -> Number:
    """The moment of f at r about the origin of the plane, counter-clockwise positive."""
    return r[0] * f[1] - r[1] * f[0]


def unit_vector(direction: Direction, ar: Arithmetic) -> Numbers:
    """The unit vector of an exact direction, 2 or 3 components."""
    if isinstance(direction, ByAngle):
        c, s = ar.cos_sin(direction.angle)
        if direction.start == "+x" and direction.toward == "+y":
            return c, s
        return _turned(c, s, direction.start, direction.toward, 2)
    if isinstance(direction, ByRun):
        run = brought(direction.run, ar)
        size = length(run, ar)
        return tuple(x / size for x in run)
    if isinstance(direction, ByAzimuth):
        return _by_azimuth(direction, ar)
    return _by_axis_angles(direction, ar)


def _turned(c: Number, s: Number, start: str, toward: str, space: int) -> Numbers:
    (i, along), (j, across) = AXIS[start], AXIS[toward]
    parts: list[Number] = [0 * c] * space
    parts[i] = c if along > 0 else -c
    parts[j] = s if across > 0 else -s
    return tuple(parts)


def _by_azimuth(direction: ByAzimuth, ar: Arithmetic) -> Numbers:
    level, rise = ar.cos_sin(direction.elevation)
    c, s = ar.cos_sin(direction.azimuth)
    parts = list(_turned(level * c, level * s, direction.start, direction.toward, 3))
    index, sense = AXIS[direction.up]
    parts[index] = rise if sense > 0 else -rise
    return tuple(parts)


def _by_axis_angles(direction: ByAxisAngles, ar: Arithmetic) -> Numbers:
    cosines = [None if a is None else ar.cos_sin(a)[0] for a in direction.angles]
    known = [c for c in cosines if c is not None]
    if len(known) == 3:
        size = length(known, ar)
        return tuple(c / size for c in known)
    rest = ar.sqrt(1 - dot(known, known))
    missing = rest if direction.sense > 0 else -rest
    return tuple(missing if c is None else c for c in cosines)


def vector(given: Vector, ar: Arithmetic) -> Numbers:
    """The components of an exact vector."""
    if isinstance(given, Components):
        return brought(given.along, ar)
    size, direction = ar.bring(given.magnitude), given.direction
    # An angle from +x toward +y is by far the most frequent, and spared every detour.
    if type(direction) is ByAngle and direction.start == "+x" and direction.toward == "+y":
        c, s = ar.cos_sin(direction.angle)
        return size * c, size * s
    return tuple(size * u for u in unit_vector(direction, ar))


def magnitude_of(given: Vector, ar: Arithmetic) -> Number:
    """The magnitude, never negative."""
    if isinstance(given, Components):
        return length(brought(given.along, ar), ar)
    return ar.size(ar.bring(given.magnitude))
