"""Vectors, directions and points of which a calculator is told only a part.

A sheet that takes a load to act straight down, or a table that has no column for y, takes
the rest for granted. The rest is then zero: a case in which it is not lies outside what the
calculator can be told, and is not applicable. What leaves a size without any direction, or
a direction without a size, is no mapping at all.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

from refsolver.arithmetic.contract import Undecided
from refsolver.arithmetic.enclosure import EnclosureArithmetic
from refsolver.quantities.leaves import AXIS, Components, Polar
from refsolver.statics.vectors import brought, unit_vector, vector

if TYPE_CHECKING:
    from refsolver.calculators.lines import InputLine

__all__ = ["PARTED", "assumed", "left_open", "not_stated"]

_BY_AXIS = ("component", "coordinate", "run")
PARTED = ("vector", "direction", "point")
"""Leaves that are handed over in parts."""


def left_open(lines: Sequence[InputLine]) -> str:
    """Why the lines of one given do not state it at all; "" where they do."""
    field, takes = lines[0].field, [line.take for line in lines]
    if field.shape not in ("vector", "direction"):
        return ""
    turned = (
        any(take in takes for take in ("angle", "azimuth", "component", "run"))
        or takes.count("axis angle") >= field.space - 1
    )
    if not turned:
        what = "a size" if "magnitude" in takes else "a part of a direction"
        return (
            f"{what} alone leaves the direction open; map the angle too, or, where the calculator "
            'takes a direction for granted, map take = "component" along it (along = "-y")'
        )
    if field.shape == "vector" and "magnitude" not in takes and "component" not in takes:
        return 'a direction alone leaves the size open; map take = "magnitude" too'
    return ""


def not_stated(lines: Sequence[InputLine], leaf: Any) -> str:
    """What of the case's value the lines cannot state; "" where they state all of it.

    ``lines`` are those of the leaf. The rest must be proven zero (of a third axis angle: not
    negative).
    """
    field = lines[0].field
    if field.shape not in PARTED:
        return ""
    rest = _rest(lines)
    if not rest:
        return ""
    ar = EnclosureArithmetic()
    try:
        for index, wanted, word in rest:
            sign = ar.sign(_parts(leaf, ar)[index], f"{lines[0].given} along {'xyz'[index]}")
            if sign != 0 and (wanted == 0 or sign < 0):
                state = "not zero" if wanted == 0 else "negative"
                return f"the calculator has no input for {word} of {lines[0].given}, {state} here"
    except Undecided as undecided:
        return f"{lines[0].given} cannot be worked out: {undecided.name}"
    return ""


def assumed(lines: Sequence[InputLine]) -> Iterator[str]:
    """Sentences for a report: what the calculator takes for granted of one given."""
    if lines[0].field.shape not in PARTED:
        return
    for _, wanted, word in _rest(lines):
        state = "zero" if wanted == 0 else "positive or zero"
        yield (
            f"Nothing states {word} of {lines[0].given}: it is taken to be {state}, and cases in "
            "which it is not are not applicable."
        )


def _rest(lines: Sequence[InputLine]) -> list[tuple[int, int, str]]:
    """Axes along which nothing is stated: (axis, 0 where the part must be zero, its name)."""
    space = lines[0].field.space
    takes = {line.take for line in lines}
    by_axis = [line for line in lines if line.take in _BY_AXIS]
    if "azimuth" in takes and "elevation" not in takes:
        line = next(line for line in lines if line.take == "azimuth")
        (up,) = {0, 1, 2} - {AXIS[line.start][0], AXIS[line.toward][0]}
        return [(up, 0, "the elevation")]
    if "angle" in takes or "azimuth" in takes:
        return []
    if by_axis:
        told = {AXIS[str(line.along)][0] for line in by_axis}
        noun = "coordinate" if lines[0].field.shape == "point" else "component"
        return [(i, 0, f"the {noun} along {'xyz'[i]}") for i in range(space) if i not in told]
    told = {AXIS[str(line.along)][0] for line in lines if line.take == "axis angle"}
    return [(i, 1, f"the sense along {'xyz'[i]}") for i in range(space) if i not in told]


def _parts(leaf: Any, ar: EnclosureArithmetic) -> Sequence[Any]:
    if isinstance(leaf, Components | Polar):
        return vector(leaf, ar)
    return brought(leaf, ar) if isinstance(leaf, tuple) else unit_vector(leaf, ar)
