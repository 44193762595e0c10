"""Faces that rub on a ring: where friction acts and how much of the face presses."""

from __future__ import annotations

from refsolver.arithmetic.contract import Arithmetic, Number

__all__ = ["pressed_area", "pressure_radius", "wear_radius", "wedged", "worn_area"]


def pressure_radius(outer: Number, inner: Number) -> Number:
    """(2/3)(r1^3 - r2^3)/(r1^2 - r2^2), divided out so that it holds for equal radii."""
    return 2 * (outer * outer + outer * inner + inner * inner) / (3 * (outer + inner))


def wear_radius(outer: Number, inner: Number) -> Number:
    """(r1 + r2) / 2."""
    return (outer + inner) / 2


def wedged(load: Number, sine: Number) -> Number:
    """Normal load of a cone, W / sin(half angle)."""
    return load / sine


def pressed_area(outer: Number, inner: Number, ar: Arithmetic) -> Number:
    """pi (r1^2 - r2^2): load over the uniform pressure."""
    return ar.pi() * (outer * outer - inner * inner)


def worn_area(outer: Number, inner: Number, ar: Arithmetic) -> Number:
    """2 pi r2 (r1 - r2): load over the greatest pressure, which wear leaves at the inner edge."""
    return 2 * ar.pi() * inner * (outer - inner)
