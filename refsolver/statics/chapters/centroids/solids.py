"""Solids put together from simple ones: volume and centroid of each, holes negative.

Sources: D. W. Baker and W. Haynes, "Engineering Statics", chapter 7 (blocks, cylinders,
wedges); cone h/4, half sphere 3 r/8, paraboloid h/3 and frustum of a cone: handbook
tables, for instance R. C. Hibbeler, "Engineering Mechanics: Statics", inside back cover,
from memory.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from types import SimpleNamespace
from typing import Any

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.exact import Exact
from refsolver.quantities.dimensions import LENGTH, Dimension
from refsolver.quantities.leaves import AXIS
from refsolver.statics.contract import choice, many, point, quantity, text
from refsolver.statics.naming import named_rows
from refsolver.statics.vectors import Numbers, added, brought, cross, dot, minus

__all__ = [
    "SHAPES",
    "SOLID_TABLE",
    "Box",
    "Cone",
    "Cylinder",
    "HalfSphere",
    "Paraboloid",
    "SolidPart",
    "Sphere",
    "Tetrahedron",
    "Wedge",
    "along_axis",
    "dense",
    "named_solids",
    "solid_tables",
    "solids_of",
    "worded",
]

_SIDES = tuple(AXIS)


def _solid_or_hole() -> Any:
    return choice(("solid", "hole"), "whether it adds or is cut out", default="solid")


def _name() -> Any:
    return text("what it is called")


def _length(says: str, sign: Any = "positive", **more: Any) -> Any:
    return quantity(LENGTH, says, sign=sign, **more)


def _axis(says: str) -> Any:
    return choice(_SIDES, says, default="+z")


@attrs.frozen
class Box:
    corner: tuple[Exact, ...] = point("its corner of least x, y and z", space=3)
    x: Exact = _length("along x")
    y: Exact = _length("along y")
    z: Exact = _length("along z")
    kind: str = _solid_or_hole()
    name: str = _name()


@attrs.frozen
class Cylinder:
    base: tuple[Exact, ...] = point("the middle of one end", space=3)
    radius: Exact = _length("its radius")
    height: Exact = _length("between its ends")
    axis: str = _axis("where the other end lies from that one")
    kind: str = _solid_or_hole()
    name: str = _name()


@attrs.frozen
class Cone:
    base: tuple[Exact, ...] = point("the middle of its base", space=3)
    radius: Exact = _length("of its base")
    height: Exact = _length("from base to tip, or to the smaller end of a frustum")
    axis: str = _axis("where the tip lies from the base")
    tip: Exact = _length("the radius of the other end of a frustum", "not negative",
                         default=fmpq(0))  # fmt: skip
    kind: str = _solid_or_hole()
    name: str = _name()


@attrs.frozen
class Sphere:
    centre: tuple[Exact, ...] = point("its centre", space=3)
    radius: Exact = _length("its radius")
    kind: str = _solid_or_hole()
    name: str = _name()


@attrs.frozen
class HalfSphere:
    centre: tuple[Exact, ...] = point("the middle of its flat side", space=3)
    radius: Exact = _length("its radius")
    bulges: str = _axis("where it bulges")
    kind: str = _solid_or_hole()
    name: str = _name()


@attrs.frozen
class Paraboloid:
    """Cut off square to its axis, r^2 growing in proportion from the vertex."""

    base: tuple[Exact, ...] = point("the middle of its base", space=3)
    radius: Exact = _length("of its base")
    height: Exact = _length("from base to vertex")
    axis: str = _axis("where the vertex lies from the base")
    kind: str = _solid_or_hole()
    name: str = _name()


@attrs.frozen
class Wedge:
    """A prism on a right triangle, its edges along the axes."""

    corner: tuple[Exact, ...] = point("where its right angle is, at one end", space=3)
    x: Exact = _length("its extent along x from there, with its sign", "any")
    y: Exact = _length("its extent along y from there, with its sign", "any")
    z: Exact = _length("its extent along z from there, with its sign", "any")
    length: str = choice(("x", "y", "z"), "along which the prism runs", default="z")
    kind: str = _solid_or_hole()
    name: str = _name()

    def __attrs_post_init__(self) -> None:
        if any(isinstance(side, fmpq) and side == 0 for side in (self.x, self.y, self.z)):
            raise ValueError("a wedge needs an extent along each axis")


@attrs.frozen
class Tetrahedron:
    a: tuple[Exact, ...] = point("first corner", space=3)
    b: tuple[Exact, ...] = point("second corner", space=3)
    c: tuple[Exact, ...] = point("third corner", space=3)
    d: tuple[Exact, ...] = point("fourth corner", space=3)
    kind: str = _solid_or_hole()
    name: str = _name()


SHAPES: Mapping[str, tuple[type, str, str]] = {
    "boxes": (Box, "box", "edges along the axes"),
    "cylinders": (Cylinder, "cylinder", "along an axis"),
    "cones": (Cone, "cone", "cones and frustums along an axis"),
    "spheres": (Sphere, "sphere", "whole spheres"),
    "half_spheres": (HalfSphere, "half sphere", "halves of a sphere"),
    "paraboloids": (Paraboloid, "paraboloid", "paraboloids of revolution along an axis"),
    "wedges": (Wedge, "wedge", "prisms on a right triangle"),
    "tetrahedra": (Tetrahedron, "tetrahedron", "by their corners"),
}
"""Table to (class, word for one, what is said of them)."""


def dense(cls: type, prefix: str, dimension: Dimension, says: str) -> type:
    """The class of a solid with a density of that dimension."""
    stated = quantity(dimension, says, sign="positive")
    density = attrs.field(metadata=stated.metadata, kw_only=True)
    return attrs.make_class(
        prefix + cls.__name__, {"density": density}, bases=(cls,), frozen=True, slots=True
    )


def solid_tables(classes: Mapping[str, type]) -> dict[str, Any]:
    """The attributes of a givens class that holds tables of solids."""
    return {
        table: many(classes[table], says, minimum=0, default=())
        for table, (_, _, says) in SHAPES.items()
    }


@attrs.frozen
class SolidPart:
    """``sign`` is -1 for a hole; the volume carries no sign."""

    name: str
    sign: int
    volume: Number
    centroid: Numbers
    row: Any


def worded(given: Any) -> list[tuple[tuple[Any, ...], str]]:
    """The tables of solids, each with the word for one of them."""
    return [(getattr(given, table), word) for table, (_, word, _) in SHAPES.items()]


def named_solids(given: Any) -> Iterator[tuple[str, Any, int]]:
    """Every solid by its own name, or by its shape and number, with its sign."""
    for key, row in named_rows(*worded(given)):
        yield key, row, -1 if row.kind == "hole" else 1


def cone_offset(height: Number, base: Number, tip: Number) -> Number:
    """From the base: h/4 of a cone, h (R^2 + 2 R r + 3 r^2)/(4 (R^2 + R r + r^2)) of a frustum."""
    whole = base * base + base * tip + tip * tip
    return height * (base * base + base * tip * 2 + tip * tip * 3) / (whole * 4)


def half_sphere_offset(radius: Number) -> Number:
    """3 r/8 from the flat side."""
    return radius * 3 / 8


def wedge_offset(extent: Number) -> Number:
    """A third from the right angle."""
    return extent / 3


SOLID_TABLE: Mapping[str, Callable[..., Any]] = {
    "cone_offset": cone_offset,
    "half_sphere_offset": half_sphere_offset,
    "wedge_offset": wedge_offset,
}
"""The formulas of the table of solids that a known mistake may replace."""


def solids_of(given: Any, ar: Arithmetic, rules: SimpleNamespace) -> list[SolidPart]:
    """Every solid by the formulas of a table; ``rules`` holds those of SOLID_TABLE."""
    return [
        SolidPart(name, sign, *_properties(name, row, ar, rules), row)
        for name, row, sign in named_solids(given)
    ]


def along_axis(axis: str, distance: Number) -> Numbers:
    """A vector of that length along an axis such as "-y"."""
    index, sense = AXIS[axis]
    return tuple(distance * sense if i == index else 0 * distance for i in range(3))


def _properties(
    name: str, row: Any, ar: Arithmetic, rules: SimpleNamespace
) -> tuple[Number, Numbers]:
    if isinstance(row, Box):
        sides = brought((row.x, row.y, row.z), ar)
        return sides[0] * sides[1] * sides[2], added(
            brought(row.corner, ar), tuple(side / 2 for side in sides)
        )
    if isinstance(row, Wedge):
        return _wedge(row, ar, rules)
    if isinstance(row, Tetrahedron):
        a, b, c, d = (brought(corner, ar) for corner in (row.a, row.b, row.c, row.d))
        volume = dot(minus(b, a), cross(minus(c, a), minus(d, a))) / 6
        turn = ar.sign(volume, f"turn of the faces of {name}")
        return volume * turn, tuple(sum(x, 0 * x[0]) / 4 for x in zip(a, b, c, d, strict=True))
    r = ar.bring(row.radius)
    if isinstance(row, Sphere):
        return ar.pi() * r * r * r * 4 / 3, brought(row.centre, ar)
    if isinstance(row, HalfSphere):
        place = along_axis(row.bulges, rules.half_sphere_offset(r))
        return ar.pi() * r * r * r * 2 / 3, added(brought(row.centre, ar), place)
    return _along(row, r, ar, rules)


def _wedge(row: Wedge, ar: Arithmetic, rules: SimpleNamespace) -> tuple[Number, Numbers]:
    sides = brought((row.x, row.y, row.z), ar)
    volume = ar.size(sides[0] * sides[1] * sides[2]) / 2
    step = tuple(
        side / 2 if letter == row.length else rules.wedge_offset(side)
        for letter, side in zip("xyz", sides, strict=True)
    )
    return volume, added(brought(row.corner, ar), step)


def _along(row: Any, r: Number, ar: Arithmetic, rules: SimpleNamespace) -> tuple[Number, Numbers]:
    h = ar.bring(row.height)
    if isinstance(row, Cylinder):
        volume, offset = ar.pi() * r * r * h, h / 2
    elif isinstance(row, Paraboloid):
        volume, offset = ar.pi() * r * r * h / 2, h / 3
    else:
        tip = ar.bring(row.tip)
        volume = ar.pi() * (r * r + r * tip + tip * tip) * h / 3
        offset = rules.cone_offset(h, r, tip)
    return volume, added(brought(row.base, ar), along_axis(row.axis, offset))
