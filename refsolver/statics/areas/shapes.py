"""Simple plane shapes of which areas are put together: what is stated of each."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

import attrs
from flint import fmpq

from refsolver.arithmetic.enclosure import evaluate
from refsolver.arithmetic.exact import (
    Angle,
    Exact,
    Radian,
    Slope,
    Turn,
    negated,
    product,
    quotient,
    square_root,
    total,
)
from refsolver.quantities.dimensions import LENGTH
from refsolver.quantities.leaves import AXIS
from refsolver.statics.contract import angle, choice, integer, many, point, quantity, text
from refsolver.statics.naming import distinct_rows, named_rows

__all__ = [
    "QUADRANTS",
    "AreaGivens",
    "Corner",
    "Disc",
    "Ellipse",
    "HalfDisc",
    "HalfEllipse",
    "Polygon",
    "QuarterDisc",
    "QuarterEllipse",
    "Rectangle",
    "Sector",
    "Spandrel",
    "Triangle",
    "checked_opening",
    "half_of",
    "middle_of",
    "named_parts",
    "tables",
    "towards",
]

QUADRANTS = {"first": (1, 1), "second": (-1, 1), "third": (-1, -1), "fourth": (1, -1)}


def _solid_or_hole() -> Any:
    return choice(("solid", "hole"), "whether it adds or is cut out", default="solid")


def _name() -> Any:
    return text("what it is called")


def _bulges() -> Any:
    return choice(("+x", "-x", "+y", "-y"), "where its arc bulges", default="+y")


def _quadrant() -> Any:
    return choice(tuple(QUADRANTS), "where it lies from that point", default="first")


@attrs.frozen
class Rectangle:
    corner: tuple[Exact, ...] = point("its corner of least x and y")
    width: Exact = quantity(LENGTH, "along x", sign="positive")
    height: Exact = quantity(LENGTH, "along y", sign="positive")
    kind: str = _solid_or_hole()
    name: str = _name()


@attrs.frozen
class Triangle:
    a: tuple[Exact, ...] = point("first corner")
    b: tuple[Exact, ...] = point("second corner")
    c: tuple[Exact, ...] = point("third corner")
    kind: str = _solid_or_hole()
    name: str = _name()


@attrs.frozen
class Disc:
    centre: tuple[Exact, ...] = point("its centre")
    radius: Exact = quantity(LENGTH, "its radius", sign="positive")
    kind: str = _solid_or_hole()
    name: str = _name()


@attrs.frozen
class HalfDisc:
    centre: tuple[Exact, ...] = point("the middle of its diameter")
    radius: Exact = quantity(LENGTH, "its radius", sign="positive")
    bulges: str = _bulges()
    kind: str = _solid_or_hole()
    name: str = _name()


@attrs.frozen
class QuarterDisc:
    centre: tuple[Exact, ...] = point("the centre of its arc")
    radius: Exact = quantity(LENGTH, "its radius", sign="positive")
    quadrant: str = _quadrant()
    kind: str = _solid_or_hole()
    name: str = _name()


@attrs.frozen
class Sector:
    centre: tuple[Exact, ...] = point("the centre of its arc")
    radius: Exact = quantity(LENGTH, "its radius", sign="positive")
    start: Angle = angle("where its first straight side points, from +x toward +y")
    opening: Angle = angle("between its straight sides, counter-clockwise from the first")
    kind: str = _solid_or_hole()
    name: str = _name()

    def __attrs_post_init__(self) -> None:
        checked_opening(self.opening)


@attrs.frozen
class Ellipse:
    centre: tuple[Exact, ...] = point("its centre")
    a: Exact = quantity(LENGTH, "its half width along x", sign="positive")
    b: Exact = quantity(LENGTH, "its half height along y", sign="positive")
    kind: str = _solid_or_hole()
    name: str = _name()


@attrs.frozen
class HalfEllipse:
    centre: tuple[Exact, ...] = point("the centre of the whole ellipse")
    a: Exact = quantity(LENGTH, "the half width of the whole ellipse along x", sign="positive")
    b: Exact = quantity(LENGTH, "the half height of the whole ellipse along y", sign="positive")
    bulges: str = _bulges()
    kind: str = _solid_or_hole()
    name: str = _name()


@attrs.frozen
class QuarterEllipse:
    centre: tuple[Exact, ...] = point("the centre of the whole ellipse")
    a: Exact = quantity(LENGTH, "its width along x", sign="positive")
    b: Exact = quantity(LENGTH, "its height along y", sign="positive")
    quadrant: str = _quadrant()
    kind: str = _solid_or_hole()
    name: str = _name()


@attrs.frozen
class Spandrel:
    """Cut from a rectangle by the curve v = height (u / width)^power from its vertex.

    u and v run from the vertex into the quadrant, along x and along y.
    """

    vertex: tuple[Exact, ...] = point("where the curve starts, along x")
    width: Exact = quantity(LENGTH, "along x", sign="positive")
    height: Exact = quantity(LENGTH, "along y", sign="positive")
    power: int = integer("of the curve: 2 for a parabola", minimum=1, default=2)
    side: str = choice(
        ("under", "above"),
        "between the curve and the x direction (a spandrel), or the rest of the rectangle "
        "(a half parabola)",
        default="under",
    )
    quadrant: str = _quadrant()
    kind: str = _solid_or_hole()
    name: str = _name()


@attrs.frozen
class Corner:
    at: tuple[Exact, ...] = point("the corner")


@attrs.frozen
class Polygon:
    corners: tuple[Corner, ...] = many(
        Corner, "its corners in order around it, either way", minimum=3
    )
    kind: str = _solid_or_hole()
    name: str = _name()

    def __attrs_post_init__(self) -> None:
        if len(self.corners) < 3:
            raise ValueError("a polygon needs at least three corners")
        crossed = _crossed_sides([corner.at for corner in self.corners])
        if crossed:
            raise ValueError(
                f"sides {crossed[0]} and {crossed[1]} of the polygon cross: list the corners in "
                "the order in which they follow around it"
            )


def _crossed_sides(corners: Sequence[tuple[Exact, ...]]) -> tuple[int, int] | None:
    places = [tuple(evaluate(x) for x in corner) for corner in corners]
    sides = list(zip(places, [*places[1:], places[0]], strict=True))

    def turn(a: Any, b: Any, c: Any) -> int:
        value = (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
        return int(value > 0) - int(value < 0)

    for i, (a, b) in enumerate(sides):
        for j, (c, d) in enumerate(sides[:i]):
            if turn(a, b, c) * turn(a, b, d) < 0 and turn(c, d, a) * turn(c, d, b) < 0:
                return j + 1, i + 1
    return None


def checked_opening(opening: Angle) -> None:
    """Raises ValueError for an opening that is not above zero and at most a full turn."""
    if isinstance(opening, Turn):
        fits = 0 < opening.turns <= 1
    elif isinstance(opening, Radian):
        ball = evaluate(opening.radians)
        fits = bool(ball > 0) and not ball > 2 * ball.pi()
    else:
        fits = bool(evaluate(opening.rise) > 0)
    if not fits:
        raise ValueError("an opening lies above 0 and goes up to 360 degrees")


def half_of(opening: Angle) -> Angle:
    """Half of a (checked) opening, exactly: the tangent of half a slope is (l - run)/rise."""
    if isinstance(opening, Turn):
        return Turn(opening.turns / 2)
    if isinstance(opening, Radian):
        return Radian(quotient(opening.radians, fmpq(2)))
    run, rise = opening.run, opening.rise
    length = square_root(total(product(run, run), product(rise, rise)))
    return Slope(total(length, negated(run)), rise)


def middle_of(start: Angle, half: Angle, ar: Any) -> tuple[Any, Any]:
    """Cosine and sine of start + half."""
    if isinstance(start, Turn) and isinstance(half, Turn):
        c, s = ar.cos_sin(Turn(start.turns + half.turns))
        return c, s
    (c, s), (p, q) = ar.cos_sin(start), ar.cos_sin(half)
    return c * p - s * q, s * p + c * q


def _parts(of: type, says: str) -> Any:
    return many(of, says, minimum=0, default=())


@attrs.frozen
class AreaGivens:
    rectangles: tuple[Rectangle, ...] = _parts(Rectangle, "sides along the axes")
    triangles: tuple[Triangle, ...] = _parts(Triangle, "by their corners")
    discs: tuple[Disc, ...] = _parts(Disc, "whole circles")
    half_discs: tuple[HalfDisc, ...] = _parts(HalfDisc, "halves of a circle")
    quarter_discs: tuple[QuarterDisc, ...] = _parts(QuarterDisc, "quarters of a circle")
    sectors: tuple[Sector, ...] = _parts(Sector, "sectors of a circle")
    ellipses: tuple[Ellipse, ...] = _parts(Ellipse, "whole ellipses, axes along x and y")
    half_ellipses: tuple[HalfEllipse, ...] = _parts(HalfEllipse, "halves of an ellipse")
    quarter_ellipses: tuple[QuarterEllipse, ...] = _parts(QuarterEllipse, "quarters of an ellipse")
    spandrels: tuple[Spandrel, ...] = _parts(Spandrel, "between a power curve and a straight side")
    polygons: tuple[Polygon, ...] = _parts(Polygon, "by their corners in order")

    def __attrs_post_init__(self) -> None:
        if not any(tables(self).values()):
            raise ValueError("an area needs at least one part")
        distinct_rows(*_worded(self))


_WORDS = {
    "rectangles": "rectangle", "triangles": "triangle", "discs": "disc",
    "half_discs": "half disc", "quarter_discs": "quarter disc", "sectors": "sector",
    "ellipses": "ellipse", "half_ellipses": "half ellipse",
    "quarter_ellipses": "quarter ellipse", "spandrels": "spandrel", "polygons": "polygon",
}  # fmt: skip


def tables(given: AreaGivens) -> dict[str, tuple[Any, ...]]:
    """The tables of an area by their names, empty ones too."""
    return {name: getattr(given, name) for name in _WORDS}


def _worded(given: AreaGivens) -> list[tuple[tuple[Any, ...], str]]:
    return [(rows, _WORDS[table]) for table, rows in tables(given).items()]


def named_parts(given: AreaGivens) -> Iterator[tuple[str, Any, int]]:
    """Every part by its own name, or by its shape and number, with its sign: -1 for a hole."""
    for key, row in named_rows(*_worded(given)):
        yield key, row, -1 if row.kind == "hole" else 1


def towards(bulges: str) -> tuple[int, int]:
    """The unit vector along an axis such as "-x"."""
    index, sense = AXIS[bulges]
    return (sense, 0) if index == 0 else (0, sense)
