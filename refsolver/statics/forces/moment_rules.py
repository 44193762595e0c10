"""Rules of moments that families call and known mistakes replace, with those mistakes."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.quantities.kinds import NoAnswer
from refsolver.statics.contract import Mistake
from refsolver.statics.forces.systems import sum_of
from refsolver.statics.vectors import Numbers, cross, length

__all__ = [
    "ABOUT_ORIGIN",
    "REVERSED",
    "WRONG_Y",
    "arm_from_origin",
    "arms_swapped",
    "cells_of",
    "listed",
    "products_added",
    "slant_arm",
    "sum_of_sizes",
    "turning_space",
    "zero_force",
]


def turning_space(arm: Numbers, force: Numbers, ar: Arithmetic) -> Numbers:
    """r x F."""
    return cross(arm, force)


def turning_reversed(arm: Numbers, force: Numbers, ar: Arithmetic) -> Numbers:
    return cross(force, arm)


def turning_with_wrong_y(arm: Numbers, force: Numbers, ar: Arithmetic) -> Numbers:
    x, y, z = cross(arm, force)
    return x, -y, z


def slant_arm(arm: Numbers, force: Numbers, ar: Arithmetic) -> Number:
    return length(arm, ar) * length(force, ar)


def products_added(arm: Numbers, force: Numbers, ar: Arithmetic) -> Number:
    return arm[0] * force[1] + arm[1] * force[0]


def arms_swapped(arm: Numbers, force: Numbers, ar: Arithmetic) -> Number:
    return arm[0] * force[0] - arm[1] * force[1]


def arm_from_origin(at: Numbers, about: Numbers) -> Numbers:
    return at


def sum_of_sizes(parts: Sequence[Number], ar: Arithmetic) -> Number:
    return sum_of([ar.size(part) for part in parts], ar)


ABOUT_ORIGIN = Mistake(
    "moment about the origin",
    "moments are taken about the origin whatever point was asked",
    rules={"arm_from": arm_from_origin},
)
REVERSED = Mistake(
    "vector product reversed", "F x r is formed instead of r x F", {"turning": turning_reversed}
)
WRONG_Y = Mistake(
    "sign of the middle component",
    "the y component of the vector product has the wrong sign (r_x F_z - r_z F_x)",
    {"turning": turning_with_wrong_y},
)


def listed(keys: Sequence[str], values: Sequence[Any]) -> dict[str, Any]:
    return dict(zip(keys, values, strict=True))


def cells_of(value: Any) -> tuple[Any, ...]:
    if isinstance(value, NoAnswer):
        return (None,)
    return value if isinstance(value, tuple) else (value,)


def zero_force(key: str) -> NoAnswer:
    return NoAnswer("not defined", f"{key} is zero and has no line of action")
