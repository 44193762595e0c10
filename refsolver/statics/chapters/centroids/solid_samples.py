"""Random solids, and thick-walled ones whose holes almost fill them; figures of solids."""

from __future__ import annotations

import math
import random
from collections.abc import Mapping
from typing import Any

from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic
from refsolver.quantities.leaves import AXIS
from refsolver.statics.chapters.centroids.solids import (
    Box,
    Cone,
    Paraboloid,
    Sphere,
    Tetrahedron,
    Wedge,
    named_solids,
)
from refsolver.statics.drawing import Curve, Point, Primitive, Stroke
from refsolver.statics.random_givens import decimal, drawn, drawn_point, figures_for
from refsolver.statics.vectors import brought

__all__ = ["hollow_rows", "solid_row", "solid_strokes"]


def solid_row(table: str, cls: Any, rng: random.Random, more: Mapping[str, Any]) -> Any:
    """A random solid of a table, of a class of solids with or without a density."""

    def size() -> fmpq:
        return drawn(rng, 1, 6)

    def signed() -> fmpq:
        return size() * rng.choice((-1, 1))

    place, axis = drawn_point(rng, 3), rng.choice(tuple(AXIS))
    if table == "boxes":
        return cls(place, size(), size(), size(), **more)
    if table in ("cylinders", "cones", "paraboloids"):
        return cls(place, size(), size(), axis, **more)
    if table == "spheres":
        return cls(place, size(), **more)
    if table == "half_spheres":
        return cls(place, size(), axis, **more)
    if table == "wedges":
        return cls(place, signed(), signed(), signed(), rng.choice("xyz"), **more)
    return cls(place, *(drawn_point(rng, 3) for _ in range(3)), **more)


def hollow_rows(
    cls: Any, target: float, rng: random.Random, more: Mapping[str, Any]
) -> tuple[Any, Any]:
    """A box and its hole, about 1/target of the box left over; ``cls`` makes boxes."""
    places = figures_for(target)
    corner, (x, y, z) = drawn_point(rng, 3), (drawn(rng, 2, 9) for _ in range(3))
    surface = 2 * float(x * y + y * z + z * x)
    wall = decimal(float(x * y * z) / surface / target * 2, places)
    wall = max(wall, fmpq(1, 10**places))
    inside = tuple(c + wall for c in corner)
    hole = cls(inside, x - 2 * wall, y - 2 * wall, z - 2 * wall, "hole", **more)
    return cls(corner, x, y, z, **more), hole


def solid_strokes(given: Any, ar: Arithmetic) -> list[Primitive]:
    """The edges of every solid in the double arithmetic; holes as construction lines."""
    parts: list[Primitive] = []
    for name, row, sign in named_solids(given):
        role = "body" if sign > 0 else "construction"
        label = name
        for points in _edges(row, ar):
            if len(points) == 2:
                parts.append(Stroke(points[0], points[1], label, role))  # type: ignore[arg-type]
            else:
                parts.append(Curve(points, label, role))  # type: ignore[arg-type]
            label = ""
    return parts


def _edges(row: Any, ar: Arithmetic) -> list[tuple[Point, ...]]:
    if isinstance(row, Tetrahedron):
        a, b, c, d = (brought(x, ar) for x in (row.a, row.b, row.c, row.d))
        return [(a, b), (a, c), (a, d), (b, c), (b, d), (c, d)]
    if isinstance(row, Box | Wedge):
        return _block(row, ar)
    r = ar.bring(row.radius)
    if isinstance(row, Sphere):
        centre = brought(row.centre, ar)
        return [_circle(centre, r, i) for i in range(3)]
    if hasattr(row, "bulges"):
        centre, (index, sense) = brought(row.centre, ar), AXIS[row.bulges]
        crown = tuple(c + (sense * r if i == index else 0.0) for i, c in enumerate(centre))
        return [_circle(centre, r, index), (centre, crown)]
    base, (index, sense) = brought(row.base, ar), AXIS[row.axis]
    far = tuple(
        c + (sense * ar.bring(row.height) if i == index else 0.0) for i, c in enumerate(base)
    )
    end = r if not hasattr(row, "tip") else ar.bring(row.tip)
    end = 0.0 if isinstance(row, Paraboloid) else end
    if isinstance(row, Cone) or end != r:
        edges = [_circle(base, r, index), (base, far)]
        return [*edges, _circle(far, end, index)] if end else edges
    return [_circle(base, r, index), (base, far), _circle(far, r, index)]


def _block(row: Any, ar: Arithmetic) -> list[tuple[Point, ...]]:
    first = brought(row.corner, ar)
    sides = [ar.bring(s) for s in (row.x, row.y, row.z)]
    steps = [tuple(s if i == j else 0.0 for j in range(3)) for i, s in enumerate(sides)]

    def at(*which: int) -> Point:
        return tuple(c + sum(steps[i][j] for i in which) for j, c in enumerate(first))

    if isinstance(row, Box):
        ring = [at(), at(0), at(0, 1), at(1)]
        top = [at(2), at(0, 2), at(0, 1, 2), at(1, 2)]
    else:
        w = "xyz".index(row.length)
        u, v = (i for i in range(3) if i != w)
        ring, top = [at(), at(u), at(v)], [at(w), at(u, w), at(v, w)]
    loops = [(*ring, ring[0]), (*top, top[0])]
    return [*loops, *zip(ring, top, strict=True)]


def _circle(centre: Point, radius: float, across: int) -> tuple[Point, ...]:
    """In the plane square to one of the axes."""
    u, v = (i for i in range(3) if i != across)
    points = []
    for step in range(37):
        place = list(centre)
        place[u] += radius * math.cos(step * math.pi / 18)
        place[v] += radius * math.sin(step * math.pi / 18)
        points.append(tuple(place))
    return tuple(points)
