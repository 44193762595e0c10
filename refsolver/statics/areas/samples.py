"""Random areas: a few parts of every shape, and thin-walled ones whose holes almost fill them."""

from __future__ import annotations

import random
from collections.abc import Mapping
from typing import Any

from flint import fmpq

from refsolver.arithmetic.exact import Turn
from refsolver.statics.areas.shapes import (
    QUADRANTS,
    AreaGivens,
    Corner,
    Disc,
    Ellipse,
    HalfDisc,
    HalfEllipse,
    Polygon,
    QuarterDisc,
    QuarterEllipse,
    Rectangle,
    Sector,
    Spandrel,
    Triangle,
)
from refsolver.statics.random_givens import decimal, drawn, drawn_point, figures_for, log_uniform

__all__ = ["SHAPES", "area_of_rows", "sample_area"]

_THIN = 3.0
"""Condition from which walls are made thin; below it plain parts do."""


def sample_area(kappa: tuple[float, float], rng: random.Random) -> AreaGivens:
    """Random parts, or a hollow box and tube left over as about 1/kappa of their outlines."""
    target = log_uniform(rng, kappa)
    if target < _THIN:
        rows = {table: rng.randint(0, 1) for table in SHAPES}
        return area_of_rows({**rows, "rectangles": rng.randint(1, 3)}, rng)
    places = figures_for(target)
    corner, width, height = drawn_point(rng, 2), drawn(rng, 2, 9), drawn(rng, 2, 9)
    wall = decimal(float(width * height / (width + height)) / target, places)
    inside = tuple(x + wall for x in corner)
    box = (
        Rectangle(corner, width, height),
        Rectangle(inside, width - 2 * wall, height - 2 * wall, "hole"),
    )
    centre, radius = drawn_point(rng, 2), drawn(rng, 2, 9)
    tube = (
        Disc(centre, radius),
        Disc(centre, radius - decimal(float(radius) / target, places), "hole"),
    )
    return AreaGivens(rectangles=box, discs=tube)


def area_of_rows(rows: Mapping[str, int], rng: random.Random) -> AreaGivens:
    """Solid parts, as many of each table as asked."""
    return AreaGivens(
        **{
            table: tuple(SHAPES[table](rng) for _ in range(count))
            for table, count in rows.items()
            if count
        }
    )


def _place(rng: random.Random) -> tuple[fmpq, ...]:
    return drawn_point(rng, 2)


def _size(rng: random.Random) -> fmpq:
    return drawn(rng, 1, 9)


def _quadrant(rng: random.Random) -> str:
    return rng.choice(tuple(QUADRANTS))


def _side(rng: random.Random) -> str:
    return rng.choice(("+x", "-x", "+y", "-y"))


def _degrees(rng: random.Random, low: float, high: float) -> Turn:
    return Turn(drawn(rng, low, high) / 360)


def _polygon(rng: random.Random) -> Polygon:
    """Corners around a point, each in its own part of a turn, so that no sides cross."""
    (x, y), count = _place(rng), rng.randint(4, 7)
    around = ((3, 0), (2, 2), (0, 3), (-2, 2), (-3, 0), (-2, -2), (0, -3), (2, -2))
    chosen = sorted(rng.sample(range(8), count))
    shares = [drawn(rng, 0.5, 1.5) for _ in chosen]
    corners = [
        Corner((x + share * around[i][0], y + share * around[i][1]))
        for i, share in zip(chosen, shares, strict=True)
    ]
    return Polygon(tuple(corners if rng.random() < 0.5 else corners[::-1]))


SHAPES: Mapping[str, Any] = {
    "rectangles": lambda rng: Rectangle(_place(rng), _size(rng), _size(rng)),
    "triangles": lambda rng: Triangle(_place(rng), _place(rng), _place(rng)),
    "discs": lambda rng: Disc(_place(rng), _size(rng)),
    "half_discs": lambda rng: HalfDisc(_place(rng), _size(rng), _side(rng)),
    "quarter_discs": lambda rng: QuarterDisc(_place(rng), _size(rng), _quadrant(rng)),
    "sectors": lambda rng: Sector(
        _place(rng), _size(rng), _degrees(rng, -180, 180), _degrees(rng, 5, 355)
    ),
    "ellipses": lambda rng: Ellipse(_place(rng), _size(rng), _size(rng)),
    "half_ellipses": lambda rng: HalfEllipse(_place(rng), _size(rng), _size(rng), _side(rng)),
    "quarter_ellipses": lambda rng: QuarterEllipse(
        _place(rng), _size(rng), _size(rng), _quadrant(rng)
    ),
    "spandrels": lambda rng: Spandrel(
        _place(rng), _size(rng), _size(rng), rng.randint(1, 4), rng.choice(("under", "above")),
        _quadrant(rng),
    ),
    "polygons": _polygon,
}  # fmt: skip
"""A random row of each table."""
