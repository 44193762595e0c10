"""Hooke's law of a spring."""

from __future__ import annotations

from refsolver.arithmetic.contract import Number

__all__ = ["stretch_of"]


def stretch_of(force: Number, stiffness: Number) -> Number:
    """Hooke's law, s = F / k; negative where the spring is shortened."""
    return force / stiffness
