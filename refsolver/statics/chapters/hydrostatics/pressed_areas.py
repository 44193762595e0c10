"""Areas that a fluid presses on, round or stated."""

from __future__ import annotations

from typing import Any

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.statics.contract import Mistake

__all__ = ["DIAMETER_FOR_RADIUS", "area_of", "circle_area"]


def circle_area(diameter: Number, ar: Arithmetic) -> Number:
    """pi d^2 / 4."""
    return ar.pi() * diameter * diameter / 4


DIAMETER_FOR_RADIUS = Mistake(
    "diameter for radius",
    "the diameter is squared and multiplied by pi, without the quarter",
    rules={"circle_area": lambda diameter, ar: ar.pi() * diameter * diameter},
)


def area_of(item: Any, ar: Arithmetic, rules: Any) -> Number | None:
    if item.area is not None:
        return ar.bring(item.area)
    if item.diameter is None:
        return None
    return rules.circle_area(ar.bring(item.diameter), ar)
