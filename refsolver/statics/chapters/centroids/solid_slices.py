"""Volumes and first moments of solids by other routes than a table of centroids.

Round ones by the prismoidal formula (exact for slices whose area is at most a quadratic of
the height, and whose first moment is at most a cubic), the others as polyhedra by signed
tetrahedra on their faces.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.statics.chapters.centroids.solids import (
    Box,
    Cone,
    Cylinder,
    HalfSphere,
    Paraboloid,
    Sphere,
    Tetrahedron,
    Wedge,
    along_axis,
)
from refsolver.statics.vectors import Numbers, added, brought, cross, dot

__all__ = ["sliced"]


def sliced(name: str, row: Any, ar: Arithmetic) -> tuple[Number, Numbers]:
    """Volume and (int x, int y, int z) of one solid, without the sign of a hole."""
    if isinstance(row, Box | Wedge | Tetrahedron):
        return _polyhedron(name, row, ar)
    if isinstance(row, Sphere):
        halves = [_half(row.centre, row.radius, side, ar) for side in ("+z", "-z")]
        return halves[0][0] + halves[1][0], added(halves[0][1], halves[1][1])
    if isinstance(row, HalfSphere):
        return _half(row.centre, row.radius, row.bulges, ar)
    r, h = ar.bring(row.radius), ar.bring(row.height)
    if isinstance(row, Cylinder):
        squares = (r * r, r * r, r * r)
    elif isinstance(row, Paraboloid):
        squares = (r * r, r * r / 2, 0 * r)
    else:
        assert isinstance(row, Cone)
        tip = ar.bring(row.tip)
        middle = (r + tip) / 2
        squares = (r * r, middle * middle, tip * tip)
    return _prismoid(brought(row.base, ar), row.axis, h, squares, ar)


def _half(centre: Any, radius: Any, bulges: str, ar: Arithmetic) -> tuple[Number, Numbers]:
    r = ar.bring(radius)
    return _prismoid(brought(centre, ar), bulges, r, (r * r, r * r * 3 / 4, 0 * r), ar)


def _prismoid(
    base: Numbers, axis: str, height: Number, squares: Sequence[Number], ar: Arithmetic
) -> tuple[Number, Numbers]:
    """From the squared radii at the base, half way up and at the end."""
    low, middle, end = squares
    unit = ar.pi() * height / 6
    volume = unit * (low + middle * 4 + end)
    moment = unit * height * (middle * 2 + end)
    along = along_axis(axis, moment)
    return volume, tuple(volume * x + m for x, m in zip(base, along, strict=True))


def _polyhedron(name: str, row: Any, ar: Arithmetic) -> tuple[Number, Numbers]:
    corners, faces = _faces(row, ar)
    zero = ar.bring(fmpq(0))
    volume, moment = zero, (zero, zero, zero)
    for i, j, k in faces:
        a, b, c = corners[i], corners[j], corners[k]
        part = dot(a, cross(b, c)) / 6
        volume = volume + part
        moment = tuple(
            m + part * (x + y + z) / 4 for m, x, y, z in zip(moment, a, b, c, strict=True)
        )
    sense = ar.sign(volume, f"turn of the faces of {name}")
    return volume * sense, tuple(m * sense for m in moment)


_TETRAHEDRON = ((0, 2, 1), (0, 1, 3), (1, 2, 3), (0, 3, 2))
_PRISM = ((0, 2, 1), (3, 4, 5), (0, 1, 4), (0, 4, 3), (1, 2, 5), (1, 5, 4), (2, 0, 3), (2, 3, 5))
_BLOCK = (
    (0, 2, 1), (0, 3, 2), (4, 5, 6), (4, 6, 7), (0, 1, 5), (0, 5, 4), (1, 2, 6), (1, 6, 5),
    (2, 3, 7), (2, 7, 6), (3, 0, 4), (3, 4, 7),
)  # fmt: skip
"""Triangles, all turning the same way seen from outside."""


def _faces(row: Any, ar: Arithmetic) -> tuple[list[Numbers], Sequence[tuple[int, int, int]]]:
    if isinstance(row, Tetrahedron):
        return [brought(c, ar) for c in (row.a, row.b, row.c, row.d)], _TETRAHEDRON
    sides = brought((row.x, row.y, row.z), ar)
    steps = [tuple(s if i == j else 0 * s for j in range(3)) for i, s in enumerate(sides)]
    first = brought(row.corner, ar)
    if isinstance(row, Box):
        u, v, w = steps
        low = [first, added(first, u), added(added(first, u), v), added(first, v)]
        return [*low, *(added(p, w) for p in low)], _BLOCK
    w = steps.pop("xyz".index(row.length))
    low = [first, *(added(first, s) for s in steps)]
    return [*low, *(added(p, w) for p in low)], _PRISM
