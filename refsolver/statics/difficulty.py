"""Cases of a wanted difficulty: proposed by the family, measured, aimed again until they fit.

A family proposes cases whose condition number lies near the one aimed at. Each is measured
(:mod:`refsolver.statics.conditioning`), and the aim is corrected by the factor it missed by,
with the same random numbers; where that does not lead into the range, others are drawn.
"""

from __future__ import annotations

import math
import random
from typing import Any

from refsolver.statics.conditioning import condition_number
from refsolver.statics.contract import Family, Unreachable
from refsolver.statics.random_givens import log_uniform

__all__ = ["RANGES", "case_within", "reachable_part"]

RANGES: tuple[tuple[float, float], ...] = (
    (1, 1e2), (1e2, 1e5), (1e5, 1e9), (1e9, 1e13), (1e13, 1e17),
)  # fmt: skip
"""Ranges of condition number, the last beyond what double precision can bear."""

_DRAWS = 60
_CORRECTIONS = 4
_WIDEST = 1e60
_ROUNDING = 1e-9
"""A product of givens has the condition number of its count, to within the rounding."""


def reachable_part(family: Family, kappa: tuple[float, float]) -> tuple[float, float]:
    """The part of a range of condition numbers that the family's cases can have.

    Raises Unreachable where there is none.
    """
    low, high = max(kappa[0], family.reach[0]), min(kappa[1], family.reach[1])
    if low > high:
        raise Unreachable(
            f"{family.name}: no case has a condition number from {kappa[0]:g} to {kappa[1]:g}; "
            f"they lie from {family.reach[0]:g} to {family.reach[1]:g}"
            + (f": {family.reach_because}" if family.reach_because else "")
        )
    return low, high


def case_within(family: Family, kappa: tuple[float, float], rng: random.Random) -> Any:
    """Random givens whose condition number lies in the range; the same for the same ``rng``.

    Raises Unreachable where the family's cases cannot have it, or none was found.
    """
    part = reachable_part(family, kappa)
    for _ in range(_DRAWS):
        aim = target = log_uniform(rng, part)
        seed = rng.getrandbits(64)
        for _ in range(_CORRECTIONS):
            given, found = _measured(family, aim, seed)
            if not found:
                break
            if kappa[0] * (1 - _ROUNDING) <= found <= kappa[1] * (1 + _ROUNDING):
                return given
            aim = min(max(1.0, aim * target / found), _WIDEST)
    raise Unreachable(
        f"{family.name}: of {_DRAWS} cases drawn, none has a condition number from {kappa[0]:g} "
        f"to {kappa[1]:g}"
    )


def _measured(family: Family, aim: float, seed: int) -> tuple[Any, float | None]:
    """A case proposed for this condition number, and the one it has."""
    try:
        given = family.propose((aim, aim), random.Random(seed))
        found = condition_number(family, given)
    except (ArithmeticError, ValueError):  # two things that the rounding made one
        return None, None
    return given, found if found is not None and math.isfinite(found) else None
