"""Plane areas put together from simple parts, by the formulas of a table of shapes.

Each part knows its area, its centroid and its second moments about axes through that
centroid; holes count negative. Sources: D. W. Baker and W. Haynes, "Engineering Statics",
tables of centroids and of moments of inertia of common shapes (chapters 7 and 10); the
products of the quarter disc and of the triangle, the sector, the ellipse and the spandrel
by integration.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from types import SimpleNamespace
from typing import Any

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.statics.areas.shapes import (
    QUADRANTS,
    AreaGivens,
    Disc,
    Ellipse,
    HalfDisc,
    HalfEllipse,
    Polygon,
    Rectangle,
    Sector,
    Spandrel,
    Triangle,
    half_of,
    middle_of,
    named_parts,
    towards,
)
from refsolver.statics.forces.systems import sum_of
from refsolver.statics.vectors import Numbers, added, brought, cross_plane, minus

__all__ = [
    "PAIRS",
    "TABLE",
    "Part",
    "half_axes",
    "parts_of",
    "reach_of",
    "signed_sums",
]

PAIRS = ((1, 1), (0, 0), (0, 1))
"""Coordinates multiplied in I_x, I_y and I_xy."""


@attrs.frozen
class Part:
    """A part with its sign: +1 or -1 for a hole; ``own`` is (I_x, I_y, I_xy), unsigned."""

    name: str
    sign: int
    area: Number
    centroid: Numbers
    own: Numbers


def triangle_centroid(a: Numbers, b: Numbers, c: Numbers) -> Numbers:
    """The mean of the corners: a third of the height above each side."""
    return scaled_down(added(added(a, b), c), 3)


def round_offset(radius: Number, pi: Number) -> Number:
    """4 r / (3 pi), from the straight side of a half or quarter disc (or ellipse)."""
    return radius * 4 / (pi * 3)


def sector_offset(radius: Number, sine: Number, half: Number) -> Number:
    """2 r sin(alpha) / (3 alpha) from the centre; alpha is half the opening, in radians."""
    return radius * 2 * sine / (half * 3)


TABLE: Mapping[str, Callable[..., Any]] = {
    "triangle_centroid": triangle_centroid,
    "round_offset": round_offset,
    "sector_offset": sector_offset,
}
"""The formulas of the table of shapes that a known mistake may replace."""

_AS_PRINTED = SimpleNamespace(**TABLE)


def scaled_down(v: Numbers, divisor: int) -> Numbers:
    return tuple(x / divisor for x in v)


def parts_of(given: AreaGivens, ar: Arithmetic, rules: SimpleNamespace = _AS_PRINTED) -> list[Part]:
    """Every part by the formulas of a table of shapes; ``rules`` holds those of TABLE."""
    return [
        Part(name, sign, *_properties(name, row, ar, rules))
        for name, row, sign in named_parts(given)
    ]


Properties = tuple[Number, Numbers, Numbers]


def _properties(name: str, row: Any, ar: Arithmetic, rules: SimpleNamespace) -> Properties:
    if isinstance(row, Rectangle):
        return _rectangle(row, ar)
    if isinstance(row, Triangle):
        corners = [brought(x, ar) for x in (row.a, row.b, row.c)]
        area, centre, own = _triangle(corners, rules)
        size = area * ar.sign(area, f"turn of the corners of {name}")
        return size, centre, tuple(size * x for x in own)
    if isinstance(row, Polygon):
        return _polygon(name, row, ar, rules)
    if isinstance(row, Sector):
        return _sector(row, ar, rules)
    if isinstance(row, Spandrel):
        return _spandrel(row, ar)
    return _round(row, ar, rules)


def _rectangle(row: Rectangle, ar: Arithmetic) -> Properties:
    b, h = ar.bring(row.width), ar.bring(row.height)
    area = b * h
    own = (area * h * h / 12, area * b * b / 12, ar.bring(fmpq(0)))
    return area, added(brought(row.corner, ar), (b / 2, h / 2)), own


def _triangle(corners: Sequence[Numbers], rules: SimpleNamespace) -> Properties:
    """With the sign of the turn of its corners; the own moments are for unit area."""
    a, b, c = corners
    area = cross_plane(minus(b, a), minus(c, a)) / 2
    middle = scaled_down(added(added(a, b), c), 3)
    arms = [minus(corner, middle) for corner in corners]
    sums = [[u[i] * u[j] for u in arms] for i, j in PAIRS]
    return area, rules.triangle_centroid(a, b, c), tuple((p[0] + p[1] + p[2]) / 12 for p in sums)


def _polygon(name: str, row: Polygon, ar: Arithmetic, rules: SimpleNamespace) -> Properties:
    """As the fan of triangles from its first corner, those that turn back negative."""
    first, *rest = [brought(corner.at, ar) for corner in row.corners]
    fan = [_triangle((first, b, c), rules) for b, c in zip(rest, rest[1:], strict=False)]
    area = sum_of([t[0] for t in fan], ar)
    turn = ar.sign(area, f"turn of the corners of {name}")
    if turn == 0:
        zero = ar.bring(fmpq(0))
        return zero, first, (zero, zero, zero)
    moments = [sum_of([t[0] * t[1][i] for t in fan], ar) for i in range(2)]
    centre = tuple(m / area for m in moments)
    own = []
    for k, (i, j) in enumerate(PAIRS):
        terms = [
            t[0] * (t[2][k] + (t[1][i] - centre[i]) * (t[1][j] - centre[j])) * turn for t in fan
        ]
        own.append(sum_of(terms, ar))
    return area * turn, centre, tuple(own)


def _sector(row: Sector, ar: Arithmetic, rules: SimpleNamespace) -> Properties:
    half = half_of(row.opening)
    r, (c, s), (p, q) = ar.bring(row.radius), middle_of(row.start, half, ar), ar.cos_sin(half)
    alpha = ar.radians(half)
    area, offset = r * r * alpha, rules.sector_offset(r, q, alpha)
    fourth = r * r * r * r / 4
    across, along = fourth * (alpha - q * p), fourth * (alpha + q * p)
    along = along - area * offset * offset
    own = (s * s * along + c * c * across, c * c * along + s * s * across, c * s * (along - across))
    return area, added(brought(row.centre, ar), (offset * c, offset * s)), own


def _spandrel(row: Spandrel, ar: Arithmetic) -> Properties:
    signs, n = QUADRANTS[row.quadrant], row.power
    b, h = ar.bring(row.width), ar.bring(row.height)
    box, turn = b * h, signs[0] * signs[1]
    area, u, v = box / (n + 1), b * (n + 1) / (n + 2), h * (n + 1) / (2 * (2 * n + 1))
    about = [box * h * h / (3 * (3 * n + 1)), box * b * b / (n + 3), box * box / (4 * (n + 1))]
    if row.side == "above":
        first = (box * b / 2 - area * u, box * h / 2 - area * v)
        whole = (box * h * h / 3, box * b * b / 3, box * box / 4)
        area = box - area
        u, v = first[0] / area, first[1] / area
        about = [x - y for x, y in zip(whole, about, strict=True)]
    own = (about[0] - area * v * v, about[1] - area * u * u, (about[2] - area * u * v) * turn)
    return area, added(brought(row.vertex, ar), (u * signs[0], v * signs[1])), own


def half_axes(row: Any, ar: Arithmetic) -> tuple[Number, Number]:
    """Along x and along y, of anything round."""
    if hasattr(row, "radius"):
        r = ar.bring(row.radius)
        return r, r
    return ar.bring(row.a), ar.bring(row.b)


def _round(row: Any, ar: Arithmetic, rules: SimpleNamespace) -> Properties:
    centre, (a, b), pi = brought(row.centre, ar), half_axes(row, ar), ar.pi()
    whole, zero = a * b * pi, ar.bring(fmpq(0))
    if isinstance(row, Disc | Ellipse):
        return whole, centre, (whole * b * b / 4, whole * a * a / 4, zero)
    flat = a * b * (pi / 8 - 8 / (pi * 9))
    offsets = (rules.round_offset(a, pi), rules.round_offset(b, pi))
    if isinstance(row, HalfDisc | HalfEllipse):
        axis = towards(row.bulges)
        shift = (offsets[0] * axis[0], offsets[1] * axis[1])
        own = (
            (flat if axis[1] else whole / 8) * b * b,
            (flat if axis[0] else whole / 8) * a * a,
            zero,
        )
        return whole / 2, added(centre, shift), own
    signs = QUADRANTS[row.quadrant]
    product = a * a * b * b * (ar.bring(fmpq(1, 8)) - 4 / (pi * 9)) * (signs[0] * signs[1])
    shift = (offsets[0] * signs[0], offsets[1] * signs[1])
    return whole / 4, added(centre, shift), (flat / 2 * b * b, flat / 2 * a * a, product)


def signed_sums(parts: Sequence[Part], ar: Arithmetic) -> tuple[Number, Numbers]:
    """The area, and the first moments (sum A x, sum A y), holes negative."""
    area = sum_of([p.area * p.sign for p in parts], ar)
    first = [sum_of([p.area * p.centroid[i] * p.sign for p in parts], ar) for i in range(2)]
    return area, tuple(first)


def reach_of(parts: Sequence[Part], ar: Arithmetic) -> tuple[Number, Number]:
    """Sizes for residuals: (the areas without signs, a length beyond every centroid)."""
    total = sum_of([p.area for p in parts], ar)
    reach = sum_of([ar.size(p.centroid[0]) + ar.size(p.centroid[1]) for p in parts], ar)
    return total, reach + ar.sqrt(total)
