"""Plane areas put together from simple parts, and their integrals.

Each part knows its area, its centroid and its second moments about axes through that
centroid; holes count negative. Sources: D. W. Baker and W. Haynes, "Engineering Statics",
tables of centroids and of moments of inertia of common shapes (chapters 7 and 10); the
product of the quarter disc and the moments of the triangle by integration.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.exact import Exact
from refsolver.quantities.dimensions import LENGTH
from refsolver.quantities.leaves import AXIS
from refsolver.statics.contract import choice, many, point, quantity
from refsolver.statics.vectors import Numbers, added, brought, cross_plane, minus, scaled

__all__ = ["AreaGivens", "Part", "moments_by_corners_and_quadrants", "parts_of"]

QUADRANTS = {"first": (1, 1), "second": (-1, 1), "third": (-1, -1), "fourth": (1, -1)}


def _solid_or_hole() -> Any:
    return choice(("solid", "hole"), "whether it adds or is cut out", default="solid")


@attrs.frozen
class Rectangle:
    corner: tuple[Exact, ...] = point("its corner of least x and y")
    width: Exact = quantity(LENGTH, "along x", sign="positive")
    height: Exact = quantity(LENGTH, "along y", sign="positive")
    kind: str = _solid_or_hole()


@attrs.frozen
class Triangle:
    a: tuple[Exact, ...] = point("first corner")
    b: tuple[Exact, ...] = point("second corner")
    c: tuple[Exact, ...] = point("third corner")
    kind: str = _solid_or_hole()


@attrs.frozen
class Disc:
    centre: tuple[Exact, ...] = point("its centre")
    radius: Exact = quantity(LENGTH, "its radius", sign="positive")
    kind: str = _solid_or_hole()


@attrs.frozen
class HalfDisc:
    centre: tuple[Exact, ...] = point("the middle of its diameter")
    radius: Exact = quantity(LENGTH, "its radius", sign="positive")
    bulges: str = choice(("+x", "-x", "+y", "-y"), "where its arc bulges", default="+y")
    kind: str = _solid_or_hole()


@attrs.frozen
class QuarterDisc:
    centre: tuple[Exact, ...] = point("the centre of its arc")
    radius: Exact = quantity(LENGTH, "its radius", sign="positive")
    quadrant: str = choice(tuple(QUADRANTS), "where it lies from the centre", default="first")
    kind: str = _solid_or_hole()


def _parts(of: type, says: str) -> Any:
    return many(of, says, minimum=0, default=())


@attrs.frozen
class AreaGivens:
    rectangles: tuple[Rectangle, ...] = _parts(Rectangle, "sides along the axes")
    triangles: tuple[Triangle, ...] = _parts(Triangle, "by their corners")
    discs: tuple[Disc, ...] = _parts(Disc, "whole circles")
    half_discs: tuple[HalfDisc, ...] = _parts(HalfDisc, "halves of a circle")
    quarter_discs: tuple[QuarterDisc, ...] = _parts(QuarterDisc, "quarters of a circle")

    def __attrs_post_init__(self) -> None:
        if not any(rows for _, rows in tables(self)):
            raise ValueError("an area needs at least one part")


@attrs.frozen
class Part:
    """A part with its sign: +1 or -1 for a hole; ``own`` is (I_x, I_y, I_xy), unsigned."""

    name: str
    sign: int
    area: Number
    centroid: Numbers
    own: Numbers


def tables(given: AreaGivens) -> list[tuple[str, Sequence[Any]]]:
    return [
        ("rectangle", given.rectangles),
        ("triangle", given.triangles),
        ("disc", given.discs),
        ("half disc", given.half_discs),
        ("quarter disc", given.quarter_discs),
    ]


def _named(given: AreaGivens) -> Iterator[tuple[str, Any, int]]:
    for word, rows in tables(given):
        for number, row in enumerate(rows, 1):
            yield f"{word} {number}", row, -1 if row.kind == "hole" else 1


def parts_of(given: AreaGivens, ar: Arithmetic) -> list[Part]:
    """Every part by the formulas of a table of shapes."""
    return [Part(name, sign, *_properties(row, ar)) for name, row, sign in _named(given)]


def _properties(row: Any, ar: Arithmetic) -> tuple[Number, Numbers, Numbers]:
    if isinstance(row, Rectangle):
        return _rectangle(row, ar)
    if isinstance(row, Triangle):
        return _triangle(row, ar)
    return _round(row, ar)


def _rectangle(row: Rectangle, ar: Arithmetic) -> tuple[Number, Numbers, Numbers]:
    b, h = ar.bring(row.width), ar.bring(row.height)
    area = b * h
    own = (area * h * h / 12, area * b * b / 12, ar.bring(fmpq(0)))
    return area, added(brought(row.corner, ar), (b / 2, h / 2)), own


def _triangle(row: Triangle, ar: Arithmetic) -> tuple[Number, Numbers, Numbers]:
    corners = [brought(x, ar) for x in (row.a, row.b, row.c)]
    a, b, c = corners
    area = ar.size(cross_plane(minus(b, a), minus(c, a))) / 2
    centre = tuple((x + y + z) / 3 for x, y, z in zip(a, b, c, strict=True))
    arms = [minus(corner, centre) for corner in corners]
    first, second, third = ([u[i] * u[j] for u in arms] for i, j in ((1, 1), (0, 0), (0, 1)))
    own = tuple(area * (p[0] + p[1] + p[2]) / 12 for p in (first, second, third))
    return area, centre, own


def _round(row: Any, ar: Arithmetic) -> tuple[Number, Numbers, Numbers]:
    centre, r, pi = brought(row.centre, ar), ar.bring(row.radius), ar.pi()
    fourth = r * r * r * r
    zero = ar.bring(fmpq(0))
    offset = r * 4 / (pi * 3)
    if isinstance(row, Disc):
        return pi * r * r, centre, (pi * fourth / 4, pi * fourth / 4, zero)
    if isinstance(row, HalfDisc):
        axis = _towards(row)
        flat, upright = (pi / 8 - 8 / (pi * 9)) * fourth, pi * fourth / 8
        own = (flat, upright, zero) if axis[1] else (upright, flat, zero)
        return pi * r * r / 2, added(centre, scaled(offset, axis)), own
    signs = QUADRANTS[row.quadrant]
    same = (pi / 16 - 4 / (pi * 9)) * fourth
    product = (ar.bring(fmpq(1, 8)) - 4 / (pi * 9)) * fourth * (signs[0] * signs[1])
    return pi * r * r / 4, added(centre, scaled(offset, signs)), (same, same, product)


def moments_by_corners_and_quadrants(given: AreaGivens, ar: Arithmetic) -> list[Number]:
    """Area, int x, int y, int y^2, int x^2, int x y, all about the origin, signed.

    Straight-sided parts by Green's theorem along their sides, round ones as quarters of a
    circle expanded about the centre of the arc: no centroid and no parallel axis enters.
    """
    totals = [ar.bring(fmpq(0)) for _ in range(6)]
    for name, row, sign in _named(given):
        for values in _integrals(name, row, ar):
            totals = [t + v * sign for t, v in zip(totals, values, strict=True)]
    return totals


def _towards(row: HalfDisc) -> tuple[int, int]:
    index, sign = AXIS[row.bulges]
    return (sign, 0) if index == 0 else (0, sign)


def _integrals(name: str, row: Any, ar: Arithmetic) -> Iterator[Sequence[Number]]:
    if isinstance(row, Rectangle):
        x, y = brought(row.corner, ar)
        b, h = ar.bring(row.width), ar.bring(row.height)
        yield _by_green([(x, y), (x + b, y), (x + b, y + h), (x, y + h)])
    elif isinstance(row, Triangle):
        corners = [brought(p, ar) for p in (row.a, row.b, row.c)]
        turn = cross_plane(minus(corners[1], corners[0]), minus(corners[2], corners[0]))
        sense = ar.sign(turn, f"turn of the corners of {name}")
        yield [x * sense for x in _by_green(corners)]
    else:
        for signs in _quadrants_of(row):
            yield _quarter(brought(row.centre, ar), ar.bring(row.radius), signs, ar)


def _quadrants_of(row: Any) -> list[tuple[int, int]]:
    if isinstance(row, QuarterDisc):
        return [QUADRANTS[row.quadrant]]
    if isinstance(row, Disc):
        return list(QUADRANTS.values())
    axis = _towards(row)
    return [s for s in QUADRANTS.values() if s[0] * axis[0] + s[1] * axis[1] > 0]


def _by_green(corners: Sequence[Numbers]) -> list[Number]:
    sums: list[Number] = []
    for (x, y), (u, v) in zip(corners, [*corners[1:], corners[0]], strict=True):
        k = x * v - u * y
        terms = [
            k / 2,
            k * (x + u) / 6,
            k * (y + v) / 6,
            k * (y * y + y * v + v * v) / 12,
            k * (x * x + x * u + u * u) / 12,
            k * (x * v + x * y * 2 + u * v * 2 + u * y) / 24,
        ]
        sums = [a + b for a, b in zip(sums, terms, strict=True)] if sums else terms
    return sums


def _quarter(c: Numbers, r: Number, signs: tuple[int, int], ar: Arithmetic) -> list[Number]:
    area, first = ar.pi() * r * r / 4, r * r * r / 3
    square, product = area * r * r / 4, r * r * r * r / 8 * (signs[0] * signs[1])
    (x, y), (p, q) = c, (first * signs[0], first * signs[1])
    return [
        area,
        area * x + p,
        area * y + q,
        area * y * y + y * q * 2 + square,
        area * x * x + x * p * 2 + square,
        area * x * y + x * q + y * p + product,
    ]
