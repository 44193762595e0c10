"""The friction circle of a pin in its bearing."""

from __future__ import annotations

import math

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.statics.drawing import Curve

__all__ = ["circle_about", "friction_radius", "sine_of_friction_angle"]


def sine_of_friction_angle(friction: Number, ar: Arithmetic) -> Number:
    """sin(phi) = mu / sqrt(1 + mu^2)."""
    return friction / ar.sqrt(1 + friction * friction)


def friction_radius(radius: Number, sine: Number) -> Number:
    """r sin(phi)."""
    return radius * sine


def circle_about(radius: float, label: str) -> Curve:
    """A circle about the origin, to be drawn."""
    turns = [math.tau * i / 60 for i in range(61)]
    return Curve(tuple((radius * math.cos(t), radius * math.sin(t)) for t in turns), label)
