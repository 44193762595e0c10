"""A block on a slope: what pulls it down, what holds it."""

from __future__ import annotations

from refsolver.arithmetic.contract import Number
from refsolver.statics.contract import Mistake

__all__ = ["SLOPE_MISTAKES", "slope_grip", "slope_pull"]


def slope_pull(weight: Number, cosine: Number, sine: Number) -> Number:
    """W sin(incline), down the plane."""
    return weight * sine


def slope_grip(weight: Number, friction: Number, cosine: Number) -> Number:
    """mu W cos(incline), the limiting friction."""
    return weight * friction * cosine


SLOPE_MISTAKES = (
    Mistake(
        "normal taken as the weight",
        "the limiting friction is mu W, whatever the incline",
        rules={"slope_grip": lambda weight, friction, cosine: weight * friction},
    ),
    Mistake(
        "friction left out",
        "the planes are taken as smooth",
        rules={"slope_grip": lambda weight, friction, cosine: weight * 0},
    ),
)
