"""Other mappings of a calculator file: another axis, unit or sign than the file states.

The reference is solved for what the file says was handed over. Were the calculator to count
an angle from another axis, or a force in another unit, it would answer for other givens:
those are formed here, and the answers read in the other convention.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from typing import Any, TypeVar

import attrs
from flint import fmpq

from refsolver.arithmetic.exact import Exact, Radian, Turn, product
from refsolver.calculators.file import FamilySection
from refsolver.calculators.lines import InputLine, OutputLine
from refsolver.mistakes.replay import replay
from refsolver.quantities.dimensions import ANGLE, FORCE, LENGTH, MASS, MOMENT
from refsolver.quantities.leaves import AXIS, Axis, ByAngle, Components, Polar
from refsolver.quantities.units import Unit, UnitError, read_unit
from refsolver.quantities.views import View
from refsolver.statics.contract import Family
from refsolver.statics.givens import pattern_of, replaced, walk

__all__ = ["Convention", "conventions"]

Line = TypeVar("Line", InputLine, OutputLine)

_UNSIGNED = ("magnitude", "size", "distance", "word")

LeafChange = Callable[[Any], Any]
"""A leaf as another convention means it; None where it does not apply."""


@attrs.frozen
class OutputChange:
    """An output read in another convention: another view, times a factor."""

    view: View
    factor: float = 1.0


@attrs.frozen
class Convention:
    """Another mapping: ``says`` is a clause of what would be otherwise than in the file."""

    says: str
    inputs: tuple[tuple[str, LeafChange], ...] = ()
    outputs: Mapping[str, OutputChange] = attrs.field(factory=dict)
    """By the id of the mapping line."""

    def predicted(
        self, family: Family, given: Any, lines: Sequence[OutputLine]
    ) -> dict[str, float | str] | None:
        """What would be read for each line, in coherent units; None where nothing differs."""
        changes: dict[str, Any] = {}
        for path, leaf, _ in walk(given) if self.inputs else ():
            for pattern, on_leaf in self.inputs:
                # A point is handed over in several lines, each of which changes its own part.
                if pattern_of(path) == pattern:
                    new = on_leaf(changes.get(path, leaf))
                    if new is not None:
                        changes[path] = new
        if not changes and not any((line.line or line.id) in self.outputs for line in lines):
            return None
        meant = {line.id: self._meant(line) for line in lines}
        views = list(dict.fromkeys(change.view for change in meant.values()))
        try:
            found = replay(family, replaced(given, changes), views)
        except ValueError:  # givens that the family does not take
            return None
        if found is None:
            return None
        values: dict[str, float | str] = {}
        for id, change in meant.items():
            value = found.get(change.view)
            if value is not None:
                values[id] = value if isinstance(value, str) else value * change.factor
        return values

    def _meant(self, line: OutputLine) -> OutputChange:
        change = self.outputs.get(line.line or line.id, OutputChange(line.view))
        return attrs.evolve(change, view=attrs.evolve(change.view, key=line.view.key))


def conventions(section: FamilySection) -> Iterator[Convention]:
    """Single changes of each mapped line, then of all lines of a dimension together."""
    for line in section.inputs:
        yield from _of_input(line)
    for output in section.outputs:
        yield from _of_output(output)
    yield from _of_all_angles(section)
    yield from _of_all_inputs(section)
    yield from _of_all_outputs(section)


_SIGNED_AXES: tuple[Axis, ...] = ("+x", "-x", "+y", "-y")
_PAIRS = [
    (start, toward)
    for start in _SIGNED_AXES
    for toward in _SIGNED_AXES
    if AXIS[start][0] != AXIS[toward][0]
]


def _axes(start: Axis, toward: Axis) -> LeafChange:
    def changed(leaf: Any) -> Any:
        direction = leaf.direction if isinstance(leaf, Polar) else leaf
        if not isinstance(direction, ByAngle):
            return None
        new = attrs.evolve(direction, start=start, toward=toward)
        return attrs.evolve(leaf, direction=new) if isinstance(leaf, Polar) else new

    return changed


def _as_radians(leaf: Any) -> Any:
    direction = leaf.direction if isinstance(leaf, Polar) else leaf
    if not isinstance(direction, ByAngle) or not isinstance(direction.angle, Turn):
        return None
    new = attrs.evolve(direction, angle=Radian(360 * direction.angle.turns))
    return attrs.evolve(leaf, direction=new) if isinstance(leaf, Polar) else new


def _scaled(line: InputLine, factor: Exact) -> LeafChange:
    index = AXIS[line.along][0] if line.along in AXIS else -1

    def changed(leaf: Any) -> Any:
        if line.take == "magnitude" and isinstance(leaf, Polar):
            return attrs.evolve(leaf, magnitude=product(factor, leaf.magnitude))
        if line.take == "component" and isinstance(leaf, Components):
            return Components(_at(leaf.along, index, factor))
        if line.take == "coordinate" and isinstance(leaf, tuple):
            return _at(leaf, index, factor)
        if line.take == "value" and line.field.shape in ("quantity", "quantities"):
            return product(factor, leaf)
        return None

    return changed


def _at(values: Sequence[Exact], index: int, factor: Exact) -> tuple[Exact, ...]:
    return tuple(product(factor, x) if i == index else x for i, x in enumerate(values))


_OTHER_UNITS = {
    FORCE: ("N", "kN", "lbf", "kip", "kgf"),
    LENGTH: ("m", "mm", "cm", "ft", "in"),
    MOMENT: ("N*m", "kN*m", "lbf*ft", "lbf*in", "kip*ft"),
    MASS: ("kg", "lb"),
}


def _other_units(unit: Unit | None) -> Iterator[tuple[str, fmpq]]:
    """Other units of the dimension, with the factor from the stated unit to each."""
    if unit is None or unit.pi_power:
        return
    for name in _OTHER_UNITS.get(unit.dimension, ()):
        try:
            other = read_unit(name)
        except UnitError:
            continue
        if other.factor != unit.factor:
            yield name, other.factor / unit.factor


def _of_input(line: InputLine) -> Iterator[Convention]:
    what = f"the input {line.place} ({line.says})"
    if line.take == "angle":
        for start, toward in _PAIRS:
            if (start, toward) != (line.start, line.toward):
                says = f"{what} is counted from {start} toward {toward}"
                yield Convention(says, ((line.given, _axes(start, toward)),))
        return
    for name, factor in _other_units(line.unit):
        yield Convention(f"{what} is in {name}", ((line.given, _scaled(line, factor)),))
    yield Convention(
        f"{what} has the opposite sign or sense", ((line.given, _scaled(line, fmpq(-1))),)
    )


def _of_output(line: OutputLine) -> Iterator[Convention]:
    what = f"the output {line.place} ({line.says})"
    if line.dimension == ANGLE:
        if line.view.take == "angle":
            for start, toward in _PAIRS:
                if (start, toward) != (line.view.start, line.view.toward):
                    view = attrs.evolve(line.view, start=start, toward=toward)
                    says = f"{what} is counted from {start} toward {toward}"
                    yield Convention(says, outputs={line.id: OutputChange(view)})
        if line.unit is not None and line.unit.name == "deg":
            change = OutputChange(line.view, math.pi / 180)
            yield Convention(f"{what} is in radians", outputs={line.id: change})
        return
    for name, factor in _other_units(line.unit):
        change = OutputChange(line.view, float(factor.q) / float(factor.p))
        yield Convention(f"{what} is in {name}", outputs={line.id: change})
    if line.view.take not in _UNSIGNED:
        change = OutputChange(line.view, -1.0)
        yield Convention(f"{what} has the opposite sign or sense", outputs={line.id: change})


def _by_dimension(lines: Iterable[Line]) -> Iterator[list[Line]]:
    """Lines of one dimension and unit, where there are several."""
    found: dict[Any, list[Line]] = {}
    for line in lines:
        if line.unit is not None and not line.unit.pi_power and line.unit.dimension != ANGLE:
            found.setdefault((line.unit.dimension, line.unit.name), []).append(line)
    return (lines for lines in found.values() if len(lines) > 1)


def _name(lines: Sequence[Line]) -> str:
    return "" if lines[0].unit is None else lines[0].unit.name


def _of_all_inputs(section: FamilySection) -> Iterator[Convention]:
    """All lengths, or all forces, handed over in another unit."""
    for lines in _by_dimension(section.inputs):
        for name, factor in _other_units(lines[0].unit):
            yield Convention(
                f"all inputs stated in {_name(lines)} are in {name}",
                tuple((line.given, _scaled(line, factor)) for line in lines),
            )


def _of_all_outputs(section: FamilySection) -> Iterator[Convention]:
    """All forces, or all moments, answered in another unit or counted the other way."""
    for lines in _by_dimension(section.outputs):
        for name, factor in _other_units(lines[0].unit):
            change = float(factor.q) / float(factor.p)
            yield Convention(
                f"all outputs stated in {_name(lines)} are in {name}",
                outputs={line.id: OutputChange(line.view, change) for line in lines},
            )
        signed = [line for line in lines if line.view.take not in _UNSIGNED]
        if len(signed) > 1:
            yield Convention(
                f"all outputs in {_name(lines)} have the opposite sign or sense",
                outputs={line.id: OutputChange(line.view, -1.0) for line in signed},
            )


def _of_all_angles(section: FamilySection) -> Iterator[Convention]:
    """The calculator counts every angle, handed over and read back, in one other way."""
    inputs = [line for line in section.inputs if line.take == "angle"]
    outputs = [line for line in section.outputs if line.view.take == "angle"]
    if not inputs or not outputs:
        return
    for start, toward in _PAIRS:
        yield Convention(
            f"all angles, handed over and read back, are counted from {start} toward {toward}",
            tuple((line.given, _axes(start, toward)) for line in inputs),
            {
                line.id: OutputChange(attrs.evolve(line.view, start=start, toward=toward))
                for line in outputs
            },
        )
    yield Convention(
        "all angles, handed over and read back, are in radians",
        tuple((line.given, _as_radians) for line in inputs),
        {line.id: OutputChange(line.view, math.pi / 180) for line in outputs},
    )
