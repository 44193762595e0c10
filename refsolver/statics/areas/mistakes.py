"""What people get wrong with areas put together from parts, whatever is asked of them."""

from __future__ import annotations

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Number
from refsolver.arithmetic.exact import product
from refsolver.statics.areas.shapes import AreaGivens, tables
from refsolver.statics.contract import Mistake
from refsolver.statics.vectors import Numbers

__all__ = [
    "DIAMETER",
    "HOLE_ADDED",
    "ROUND_AT_HALF",
    "ROUND_FROM_CROWN",
    "OPENING_NOT_HALVED",
    "TRIANGLE_AT_HALF",
]


def holes_filled(given: AreaGivens) -> AreaGivens | None:
    """Every hole counted as solid; None where there is none."""
    rows = tables(given)
    if not any(row.kind == "hole" for table in rows.values() for row in table):
        return None
    filled = {
        name: tuple(attrs.evolve(x, kind="solid") for x in table) for name, table in rows.items()
    }
    return attrs.evolve(given, **filled)


def radii_doubled(given: AreaGivens) -> AreaGivens | None:
    """The diameter put in for the radius; None where nothing is round."""
    changed = {
        name: tuple(
            attrs.evolve(row, radius=product(fmpq(2), row.radius))
            if hasattr(row, "radius")
            else row
            for row in table
        )
        for name, table in tables(given).items()
    }
    return None if changed == tables(given) else attrs.evolve(given, **changed)


def middle_of_longest(a: Numbers, b: Numbers, c: Numbers) -> Numbers:
    """Half of both legs from the corner a."""
    return tuple((y + z) / 2 for y, z in zip(b, c, strict=True))


def from_crown(radius: Number, pi: Number) -> Number:
    return radius - radius * 4 / (pi * 3)


def at_half(radius: Number, pi: Number) -> Number:
    return radius / 2


def opening_not_halved(radius: Number, sine: Number, half: Number) -> Number:
    return radius * sine / (half * 3)


HOLE_ADDED = Mistake("hole added", "what is cut out is counted as solid", givens=holes_filled)
DIAMETER = Mistake(
    "diameter for radius", "the diameter is put in for the radius", givens=radii_doubled
)
TRIANGLE_AT_HALF = Mistake(
    "triangle's centroid at half",
    "a triangle's centroid is taken at half its legs, not at a third",
    rules={"triangle_centroid": middle_of_longest},
)
ROUND_FROM_CROWN = Mistake(
    "half circle's centroid from the crown",
    "4 r / (3 pi) is measured from the crown of the arc, not from the straight side",
    rules={"round_offset": from_crown},
)
ROUND_AT_HALF = Mistake(
    "half circle's centroid at half the radius",
    "the centroid of a half or quarter circle is taken at half the radius",
    rules={"round_offset": at_half},
)
OPENING_NOT_HALVED = Mistake(
    "opening not halved",
    "the centroid of a sector is divided by its whole opening instead of half of it",
    rules={"sector_offset": opening_not_halved},
)
