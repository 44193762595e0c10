"""The leaf that handed numbers state: what the reference is solved for."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, TypeAlias

from flint import fmpq

from refsolver.arithmetic.columns import Leaves, NotInColumns
from refsolver.arithmetic.exact import Exact, Radian, Turn, negated
from refsolver.calculators.lines import InputLine
from refsolver.quantities.leaves import (
    AXIS,
    Axis,
    ByAngle,
    ByAxisAngles,
    ByAzimuth,
    ByRun,
    Components,
    Polar,
)
from refsolver.quantities.units import UnitSystem, read_angle

__all__ = ["Stated", "rebuilt"]

Stated: TypeAlias = fmpq | Leaves | str
"""What a line handed over: a number, those of a column of cases, or a word."""

_Numbers: TypeAlias = Mapping[tuple[str, str | None], tuple[InputLine, fmpq | Leaves]]


def rebuilt(
    leaf: Any, shape: str, taken: Sequence[tuple[InputLine, Stated]], system: UnitSystem
) -> Any:
    """The leaf that the handed numbers state; ``leaf`` itself for words and counts.

    ``taken`` is what each line handed over, in the line's unit and sense. Raises
    NotInColumns where a column cannot be brought to coherent units exactly.
    """
    if shape in ("choice", "text", "integer"):
        return leaf
    space = taken[0][0].field.space
    numbers = {
        (line.take, line.along): (line, -value if line.negate else value)
        for line, value in taken
        if not isinstance(value, str)
    }
    if shape in ("quantity", "quantities"):
        return _exact(*next(iter(numbers.values())), system)
    if shape == "angle":
        line, value = next(iter(numbers.values()))
        return _angle(value, line)
    if shape == "point":
        return _by_axis(space, numbers, "coordinate", system)
    if shape == "vector" and not any(take == "magnitude" for take, _ in numbers):
        return Components(_by_axis(space, numbers, "component", system))
    direction = _direction(space, numbers, system)
    if shape == "direction":
        return direction
    magnitude = _exact(*numbers[("magnitude", None)], system)
    if isinstance(direction, Components):
        direction = ByRun(direction.along)
    return Polar(magnitude, direction)


def _exact(line: InputLine, value: fmpq | Leaves, system: UnitSystem) -> Any:
    if line.unit is None:
        return value
    if not isinstance(value, Leaves):
        return system.bring(value, line.unit)
    ratio = system.ratio(line.unit)
    if not isinstance(ratio, fmpq):
        raise NotInColumns(f"{line.unit.name} is no rational number of coherent units")
    return value.scaled(ratio)


def _angle(value: fmpq | Leaves, line: InputLine) -> Any:
    assert line.unit is not None
    if not isinstance(value, Leaves):
        return read_angle(value, line.unit)
    if line.unit.pi_power == 1:
        return Turn(value.scaled(line.unit.factor / 2))  # type: ignore[arg-type]
    return Radian(value.scaled(line.unit.factor))  # type: ignore[arg-type]


def _opposite(value: Any) -> Any:
    return -value if isinstance(value, Leaves) else negated(value)


def _by_axis(
    space: int,
    numbers: _Numbers,
    take: str,
    system: UnitSystem,
) -> tuple[Exact, ...]:
    """Coordinates or components; along an axis that is not mapped, zero."""
    found: list[Any] = [fmpq(0)] * space
    for (t, along), (line, value) in numbers.items():
        if t == take:
            index, sense = AXIS[str(along)]
            exact = _exact(line, value, system)
            found[index] = exact if sense > 0 else _opposite(exact)
    return tuple(found)


def _direction(
    space: int,
    numbers: _Numbers,
    system: UnitSystem,
) -> Any:
    def angle_of(take: str, along: str | None = None) -> Any:
        line, value = numbers[(take, along)]
        return _angle(value, line)

    takes = {take for take, _ in numbers}
    if "azimuth" in takes:
        line = numbers[("azimuth", None)][0]
        up: Any = next((a for t, a in numbers if t == "elevation"), None)
        rise = Turn(fmpq(0)) if up is None else angle_of("elevation", up)
        return ByAzimuth(angle_of("azimuth"), rise, line.start, line.toward, up or _third(line))
    if "angle" in takes:
        line = numbers[("angle", None)][0]
        return ByAngle(angle_of("angle"), line.start, line.toward)
    if "axis angle" in takes:
        angles = {AXIS[str(a)][0]: angle_of(t, a) for t, a in numbers if t == "axis angle"}
        return ByAxisAngles((angles.get(0), angles.get(1), angles.get(2)))
    take = "component" if "component" in takes else "run"
    return ByRun(_by_axis(space, numbers, take, system))


_POSITIVE: tuple[Axis, ...] = ("+x", "+y", "+z")


def _third(line: InputLine) -> Axis:
    """The axis square to both of an azimuth."""
    (index,) = {0, 1, 2} - {AXIS[line.start][0], AXIS[line.toward][0]}
    return _POSITIVE[index]
