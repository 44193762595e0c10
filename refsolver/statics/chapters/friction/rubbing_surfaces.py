"""Faces that rub on a ring: where friction acts and how much of the face presses.

What the two questions on such faces share: their rules, refusals and mistakes.
"""

from __future__ import annotations

import attrs

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.quantities.kinds import NoAnswer
from refsolver.statics.contract import Mistake

__all__ = [
    "LEVEL",
    "MEAN_RADIUS",
    "NO_SPEED",
    "ONE_FACE",
    "TAKEN_AS_FLAT",
    "WAYS",
    "pressed_area",
    "pressure_radius",
    "wear_radius",
    "wedged",
    "worn_area",
]

WAYS = ("uniform pressure", "uniform wear")
"""What is assumed of a face."""

LEVEL = NoAnswer("no solution", "the cone does not rise from its axis: no axial load presses it")
NO_SPEED = NoAnswer("not defined", "no speed is stated")


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


MEAN_RADIUS = Mistake(
    "mean radius for uniform pressure",
    "uniform pressure is given the radius of uniform wear",
    rules={"pressure_radius": wear_radius},
)

TAKEN_AS_FLAT = Mistake(
    "cone taken as flat",
    "the wedging of the cone is forgotten",
    rules={"wedged": lambda load, sine: load},
)

ONE_FACE = Mistake(
    "one face for all",
    "a single face is counted",
    givens=lambda given: attrs.evolve(given, surfaces=1) if given.surfaces > 1 else None,
)
