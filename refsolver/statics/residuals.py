"""Residuals that are no equation: of a word that says a sign, and of a least value.

They decide nothing. The size of a number is as well enclosed as the number, so that a
residual encloses zero where the word is right and excludes it where it is wrong.
"""

from __future__ import annotations

from collections.abc import Sequence

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.statics.contract import Residual

__all__ = ["least_of", "of_bearing", "of_inclination", "of_least", "of_sign"]


def of_sign(name: str, sign: int, value: Number, size: Number, ar: Arithmetic) -> Residual:
    """That ``value`` has the sign: |x| = s x; x = 0 where the sign is 0."""
    return Residual(name, value if sign == 0 else ar.size(value) - sign * value, size)


def least_of(values: Sequence[Number], ar: Arithmetic) -> Number:
    """The least of some numbers without a decision: (a + b - |a - b|) / 2."""
    least = values[0]
    for x in values[1:]:
        least = (least + x - ar.size(least - x)) / 2
    return least


def of_least(
    name: str, least: Number, values: Sequence[Number], size: Number, ar: Arithmetic
) -> Residual:
    """That ``least`` is the least of ``values``."""
    return Residual(name, least - least_of(values, ar), size)


def of_bearing(word: str, forces: Sequence[Number], size: Number, ar: Arithmetic) -> list[Residual]:
    """Of what can act one way only: "holds", "idle" or "cannot hold" by the least force."""
    if not forces:
        return [Residual("state", 0 * size if word == "holds" else 0 * size + 1, 0 * size + 1)]
    sign = {"holds": 1, "idle": 0, "cannot hold": -1}[word]
    return [of_sign("state", sign, least_of(forces, ar), size, ar)]


def of_inclination(
    name: str, angle: Number, run: tuple[Number, Number], ar: Arithmetic
) -> list[Residual]:
    """That a run, level and up, lies along the angle: seen along it, and across it."""
    (level, up), c, s = run, ar.cos(angle), ar.sin(angle)
    size = ar.size(level) + ar.size(up)
    return [
        Residual(f"inclination of {name}", up * c - level * s, size),
        of_sign(f"sense of {name}", 1, level * c + up * s, size, ar),
    ]
