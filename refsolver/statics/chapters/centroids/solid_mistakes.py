"""What people get wrong with solids put together from parts."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.exact import product
from refsolver.quantities.kinds import (
    NoAnswer,
    Value,
)
from refsolver.statics.chapters.centroids.solids import (
    SHAPES,
)
from refsolver.statics.contract import (
    Mistake,
)
from refsolver.statics.forces.systems import sum_of

__all__ = ["SOLID_MISTAKES", "weighted"]


def _holes_filled(given: Any) -> Any | None:
    tables = {table: getattr(given, table) for table in SHAPES}
    if not any(row.kind == "hole" for rows in tables.values() for row in rows):
        return None
    filled = {t: tuple(attrs.evolve(r, kind="solid") for r in rows) for t, rows in tables.items()}
    return attrs.evolve(given, **filled)


def _radii_doubled(given: Any) -> Any | None:
    def wider(row: Any) -> Any:
        if not hasattr(row, "radius"):
            return row
        tip = {"tip": product(fmpq(2), row.tip)} if hasattr(row, "tip") else {}
        return attrs.evolve(row, radius=product(fmpq(2), row.radius), **tip)

    changed = {t: tuple(map(wider, getattr(given, t))) for t in SHAPES}
    wide = attrs.evolve(given, **changed)
    return None if wide == given else wide


def _not_weighted(
    given: Any, answers: Mapping[str, Value], ar: Arithmetic
) -> Mapping[str, Value] | None:
    places = list(answers["centroids"].values())
    if len(places) < 2 or isinstance(answers["centre"], NoAnswer):
        return None
    mean = tuple(sum_of(list(along), ar) / len(places) for along in zip(*places, strict=True))
    return {**answers, "centre": mean}


def _cone_at_a_third(height: Number, base: Number, tip: Number) -> Number:
    return height / 3


def _half_sphere_as_half_disc(radius: Number) -> Number:
    return radius * 424 / 1000


def _wedge_at_half(extent: Number) -> Number:
    return extent / 2


def weighted(density: Number, volume: Number) -> Number:
    """Density times volume."""
    return density * volume


SOLID_MISTAKES = (
    Mistake("hole added", "what is cut out is counted as solid", givens=_holes_filled),
    Mistake("diameter for radius", "the diameter is put in for the radius", givens=_radii_doubled),
    Mistake(
        "cone's centroid at a third",
        "a cone's centroid is taken a third of its height up, as of a triangle",
        rules={"cone_offset": _cone_at_a_third},
    ),
    Mistake(
        "half sphere taken as half disc",
        "0.424 r, which is the half disc's, is used for a half sphere",
        rules={"half_sphere_offset": _half_sphere_as_half_disc},
    ),
    Mistake(
        "wedge's centroid at half",
        "a wedge's centroid is taken half way along its legs, not a third",
        rules={"wedge_offset": _wedge_at_half},
    ),
    Mistake(
        "centroids averaged",
        "the mean of the parts' centroids is taken, not weighted",
        answers=_not_weighted,
    ),
)
