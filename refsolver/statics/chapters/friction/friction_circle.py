"""The friction circle of a pin in its bearing."""

from __future__ import annotations

from refsolver.arithmetic.contract import Arithmetic, Number

__all__ = ["friction_radius", "sine_of_friction_angle"]


def sine_of_friction_angle(friction: Number, ar: Arithmetic) -> Number:
    """sin(phi) = mu / sqrt(1 + mu^2)."""
    return friction / ar.sqrt(1 + friction * friction)


def friction_radius(radius: Number, sine: Number) -> Number:
    """r sin(phi)."""
    return radius * sine
