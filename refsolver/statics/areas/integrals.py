"""The same areas by integrals over the whole, without centroids and parallel axes.

Straight sides and power curves by Green's theorem along the boundary, round parts as
quarters of an ellipse expanded about their centre, sectors in polar coordinates.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.exact import Turn
from refsolver.statics.areas.composite import half_axes
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
    named_parts,
    towards,
)
from refsolver.statics.forces.systems import sum_of
from refsolver.statics.polynomials import Polynomial, derivative, product
from refsolver.statics.vectors import Numbers, brought

__all__ = [
    "CentralZeros",
    "by_green",
    "central_zeros",
    "moments_by_integrals",
    "moments_of_parts",
    "side",
]

_WITHOUT_PI = (Polygon, Rectangle, Spandrel, Triangle)
"""The shapes in whose moments pi does not stand."""

Boundary = Sequence[tuple[Polynomial, Polynomial]]
"""Pieces (x(t), y(t)), t from 0 to 1, one after the other around an area."""


def moments_by_integrals(
    given: AreaGivens, ar: Arithmetic, pi: Number | None = None
) -> list[Number]:
    """Area, int x, int y, int y^2, int x^2, int x y, all about the origin, signed.

    They are linear in pi; ``pi`` puts another number in its place.
    """
    totals = [ar.bring(fmpq(0)) for _ in range(6)]
    for _, values in moments_of_parts(given, ar, pi):
        totals = [t + v for t, v in zip(totals, values, strict=True)]
    return totals


def moments_of_parts(
    given: AreaGivens, ar: Arithmetic, pi: Number | None = None
) -> Iterator[tuple[str, list[Number]]]:
    """Every part's name, and the same six integrals of it by itself, a hole's negative."""
    pi = ar.pi() if pi is None else pi
    for name, row, sign in named_parts(given):
        pieces = list(_integrals(name, row, ar, pi))
        yield name, [sum_of([p[i] for p in pieces], ar) * sign for i in range(6)]


def _moments_by_powers_of_pi(
    given: AreaGivens, ar: Arithmetic
) -> tuple[list[Number], list[Number]]:
    """What stands without pi in the moments, and what is multiplied by it."""
    zero, one = ar.bring(fmpq(0)), ar.bring(fmpq(1))
    plain, tilt = [zero] * 6, [zero] * 6
    for name, row, sign in named_parts(given):
        without = list(_integrals(name, row, ar, zero))
        for values in without:
            plain = [t + v * sign for t, v in zip(plain, values, strict=True)]
        if isinstance(row, _WITHOUT_PI):
            continue
        for more, less in zip(_integrals(name, row, ar, one), without, strict=True):
            tilt = [t + (m - n) * sign for t, m, n in zip(tilt, more, less, strict=True)]
    return plain, tilt


@attrs.frozen
class CentralZeros:
    """What is proven to vanish about the centroid: the product, and I_x less I_y."""

    product: bool
    difference: bool


def central_zeros(given: AreaGivens, ar: Arithmetic) -> CentralZeros:
    """Decided on A I_xy - Q_x Q_y and A (I_x - I_y) - Q_x^2 + Q_y^2, power by power of pi.

    Where every coefficient vanishes, so does the whole; a symmetry that no enclosure could
    prove shows there, because sines and cosines no longer stand beside pi.
    """
    zero = ar.bring(fmpq(0))
    plain, tilt = _moments_by_powers_of_pi(given, ar)

    def vanishes(name: str, *pairs: tuple[Sequence[Number], Sequence[Number], int]) -> bool:
        powers = [zero, zero, zero]
        for (p, q), (r, s), sign in pairs:
            terms = (p * r, p * s + q * r, q * s)
            powers = [total + sign * term for total, term in zip(powers, terms, strict=True)]
        return all(
            ar.sign(c, f"{name} about the centroid, coefficient of pi^{n}") == 0
            for n, c in enumerate(powers)
        )

    area, qy, qx, i_x, i_y, i_xy = zip(plain, tilt, strict=True)
    gap = (i_x[0] - i_y[0], i_x[1] - i_y[1])
    return CentralZeros(
        vanishes("I_xy", (area, i_xy, 1), (qx, qy, -1)),
        vanishes("I_x less I_y", (area, gap, 1), (qx, qx, -1), (qy, qy, 1)),
    )


def side(start: Numbers, end: Numbers) -> tuple[Polynomial, Polynomial]:
    """A straight piece of a boundary."""
    return (start[0], end[0] - start[0]), (start[1], end[1] - start[1])


def by_green(boundary: Boundary, ar: Arithmetic) -> list[Number]:
    """The six integrals of the area inside, counter-clockwise positive.

    A = int x dy, int x = 1/2 int x^2 dy, int y = int x y dy, int y^2 = int x y^2 dy,
    int x^2 = 1/3 int x^3 dy, int x y = 1/2 int x^2 y dy.
    """
    sums = [ar.bring(fmpq(0)) for _ in range(6)]
    for x, y in boundary:
        dy = derivative(y)
        along = product(x, dy)
        square, level = product(x, along), product(along, y)
        terms = [along, square, level, product(level, y), product(square, x), product(square, y)]
        whole = [_from_0_to_1(term, ar) for term in terms]
        sums = [s + w / d for s, w, d in zip(sums, whole, (1, 2, 1, 1, 3, 2), strict=True)]
    return sums


def _from_0_to_1(p: Polynomial, ar: Arithmetic) -> Number:
    return sum_of([c / (k + 1) for k, c in enumerate(p)], ar)


def _around(corners: Sequence[Numbers]) -> list[tuple[Polynomial, Polynomial]]:
    return [side(a, b) for a, b in zip(corners, [*corners[1:], corners[0]], strict=True)]


def _integrals(name: str, row: Any, ar: Arithmetic, pi: Number) -> Iterator[Sequence[Number]]:
    if isinstance(row, Rectangle):
        x, y = brought(row.corner, ar)
        b, h = ar.bring(row.width), ar.bring(row.height)
        yield by_green(_around([(x, y), (x + b, y), (x + b, y + h), (x, y + h)]), ar)
    elif isinstance(row, Triangle | Polygon):
        corners = [c.at for c in row.corners] if isinstance(row, Polygon) else [row.a, row.b, row.c]
        found = by_green(_around([brought(at, ar) for at in corners]), ar)
        sense = ar.sign(found[0], f"turn of the corners of {name}")
        yield [x * sense for x in found]
    elif isinstance(row, Spandrel):
        sense = QUADRANTS[row.quadrant][0] * QUADRANTS[row.quadrant][1]
        sense = sense if row.side == "under" else -sense
        yield [x * sense for x in by_green(_spandrel(row, ar), ar)]
    elif isinstance(row, Sector):
        yield _expanded(brought(row.centre, ar), _sector(row, ar, pi))
    else:
        for signs in _quadrants_of(row):
            yield _expanded(brought(row.centre, ar), _quarter(half_axes(row, ar), signs, pi))


def _spandrel(row: Spandrel, ar: Arithmetic) -> Boundary:
    """From the vertex along x or y to the corner, to the tip and back along the curve."""
    (x, y), signs = brought(row.vertex, ar), QUADRANTS[row.quadrant]
    b, h = ar.bring(row.width) * signs[0], ar.bring(row.height) * signs[1]
    corner = (x + b, y) if row.side == "under" else (x, y + h)
    straight = [side((x, y), corner), side(corner, (x + b, y + h))]
    # Back along the curve with t from 1 to 0: t = 1 - s, so the coefficients are binomial.
    fall: Polynomial = (ar.bring(fmpq(1)), ar.bring(fmpq(-1)))
    power: Polynomial = (ar.bring(fmpq(1)),)
    for _ in range(row.power):
        power = product(power, fall)
    back = ((x + b, -b), (y + h * power[0], *(h * c for c in power[1:])))
    return [*straight, back]


def _quadrants_of(row: Any) -> list[tuple[int, int]]:
    if isinstance(row, Disc | Ellipse):
        return list(QUADRANTS.values())
    if isinstance(row, HalfDisc | HalfEllipse):
        axis = towards(row.bulges)
        return [s for s in QUADRANTS.values() if s[0] * axis[0] + s[1] * axis[1] > 0]
    return [QUADRANTS[row.quadrant]]


def _quarter(axes: tuple[Number, Number], signs: tuple[int, int], pi: Number) -> list[Number]:
    """About the centre of the ellipse."""
    a, b = axes
    area = pi * a * b / 4
    return [
        area,
        a * a * b / 3 * signs[0],
        a * b * b / 3 * signs[1],
        area * b * b / 4,
        area * a * a / 4,
        a * a * b * b / 8 * (signs[0] * signs[1]),
    ]


def _sector(row: Sector, ar: Arithmetic, pi: Number) -> list[Number]:
    """About its centre, from the angles of its two straight sides."""
    r, (c, s), (p, q) = ar.bring(row.radius), ar.cos_sin(row.start), ar.cos_sin(row.opening)
    turn = row.opening
    opening = ar.bring(2 * turn.turns) * pi if isinstance(turn, Turn) else ar.radians(turn)
    u, v = c * p - s * q, s * p + c * q
    third, fourth = r * r * r / 3, r * r * r * r / 4
    waist = (u * v - c * s) / 2  # of sin cos between the two sides
    return [
        r * r * opening / 2,
        third * (v - s),
        third * (c - u),
        fourth * (opening / 2 - waist),
        fourth * (opening / 2 + waist),
        fourth * (v * v - s * s) / 2,
    ]


def _expanded(centre: Numbers, about: Sequence[Number]) -> list[Number]:
    """The integrals about the origin, from those about a centre."""
    (x, y), (area, p, q, square_y, square_x, mixed) = centre, about
    return [
        area,
        area * x + p,
        area * y + q,
        area * y * y + y * q * 2 + square_y,
        area * x * x + x * p * 2 + square_x,
        area * x * y + x * q + y * p + mixed,
    ]
