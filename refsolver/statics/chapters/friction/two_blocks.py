"""Two blocks on each other, on a plane that may slope."""

from __future__ import annotations

from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.exact import Angle, Turn
from refsolver.statics.drawing import Primitive, Region, Stroke

__all__ = ["LEVEL", "grip", "two_blocks"]


LEVEL = Turn(fmpq(0))


def grip(cosine: Number, sine: Number, friction: Number) -> Number:
    """cos b + mu sin b: what a unit of pull does against friction."""
    return cosine + friction * sine


def two_blocks(incline: Angle, ar: Arithmetic) -> list[Primitive]:
    """The plane falling to the right, and both blocks on it, to be drawn."""
    cosine, sine = ar.cos_sin(incline)

    def turned(x: float, y: float) -> tuple[float, float]:
        return x * cosine + y * sine, y * cosine - x * sine

    boxes = (((-2.0, 0.0), (2.0, 1.0)), ((-1.0, 1.0), (1.0, 2.0)))
    parts: list[Primitive] = [Stroke(turned(-4.0, 0.0), turned(4.0, 0.0), "plane")]
    for ((x1, y1), (x2, y2)), label in zip(boxes, ("lower", "upper"), strict=True):
        corners = ((x1, y1), (x2, y1), (x2, y2), (x1, y2))
        parts.append(Region(tuple(turned(x, y) for x, y in corners), label))
    return parts
