"""Reading the givens of a family from nested tables of texts."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any, TypeAlias

from flint import fmpq

from refsolver.arithmetic.enclosure import seen_sign
from refsolver.arithmetic.exact import Angle, Exact, Slope, Turn
from refsolver.catalogue.toml import TomlReader
from refsolver.quantities.dimensions import ANGLE, LENGTH, NUMBER, Dimension
from refsolver.quantities.folding import difference, negative
from refsolver.quantities.leaves import (
    AXIS,
    ByAngle,
    ByAxisAngles,
    ByAzimuth,
    ByRun,
    Components,
    Polar,
)
from refsolver.quantities.literals import Literal, LiteralError, read_literal
from refsolver.quantities.units import Unit, UnitError, UnitSystem, read_angle, read_unit
from refsolver.statics.contract import Given
from refsolver.statics.givens import fields, required

__all__ = ["GivensReader"]

_DIRECTION_KEYS = (
    "angle", "from", "toward", "slope", "run", "points", "along", "axis_angles", "azimuth",
    "elevation", "up", "cosines",
)  # fmt: skip

_Made: TypeAlias = Callable[[UnitSystem], Any]
"""What makes a part of the givens, once the system of units is known."""

_Measured: TypeAlias = tuple[Exact, Unit | None]

_REFUSED_SIGNS = {"positive": (-1, 0), "not negative": (-1,), "any": ()}

_NO_LENGTH = "has no length, so it states no direction"


class GivensReader:
    """Reads the givens of one family from nested tables of texts.

    Every literal is read first, which finds the units in use; then all leaves are brought
    into one coherent system. What reads a part returns what makes it then, or None after
    complaints.
    """

    def __init__(self, reader: TomlReader, *, mass_words_are_force: bool, unitless: bool) -> None:
        self.reader = reader
        self.mass_words_are_force = mass_words_are_force
        self.unitless = unitless
        self.units: list[Unit] = []
        self.system: UnitSystem = UnitSystem.of([])
        self.literals: dict[str, Literal] = {}
        self._complained = 0

    def read(self, cls: type, data: Any, key: str = "given") -> Any:
        """The givens object, or None after complaints."""
        self._complained = len(self.reader.complaints)
        made = self._object(cls, data, key, "")
        if self._failed():
            return None
        self.system = UnitSystem.of(self.units)
        return made(self.system)

    def _failed(self) -> bool:
        return len(self.reader.complaints) > self._complained

    def _object(self, cls: type, data: Any, key: str, path: str) -> _Made:
        table = self.reader.table(data, key)
        known = fields(cls)
        self.reader.unknown_keys(table, known, key)
        parts: dict[str, Any] = {}
        for name, field in known.items():
            if name in table:
                read = getattr(self, f"_read_{field.shape}")
                parts[name] = read(field, table[name], f"{key}.{name}", f"{path}{name}")
            elif name in required(cls):
                self.reader.complain(f"{key}.{name}", f"is missing: {field.says}")

        def make(system: UnitSystem) -> Any:
            values = {name: part(system) for name, part in parts.items()}
            if self._failed():
                return None
            try:
                return cls(**values)
            except ValueError as error:
                self.reader.complain(key, str(error))
                return None

        return make

    def _read_many(self, field: Given, data: Any, key: str, path: str) -> _Made | None:
        assert field.of is not None
        if not isinstance(data, list):
            self.reader.complain(key, f"an array of tables is expected: {field.says}")
            return None
        if len(data) < field.minimum:
            self.reader.complain(key, f"at least {field.minimum} needed: {field.says}")
        rows = [
            self._object(field.of, item, f"{key}[{n}]", f"{path}[{n}].")
            for n, item in enumerate(data, 1)
        ]
        return _all(rows)

    def _read_one(self, field: Given, data: Any, key: str, path: str) -> _Made:
        assert field.of is not None
        return self._object(field.of, data, key, f"{path}.")

    def _read_quantity(self, field: Given, data: Any, key: str, path: str) -> _Made | None:
        assert field.dimension is not None
        read = self._measured(field.dimension, data, key, path)
        refused = _REFUSED_SIGNS[field.sign]
        if read is not None and refused and seen_sign(read[0]) in refused:
            self.reader.complain(key, f"must be {field.sign}: {field.says}")
        return _brought(read)

    def _read_quantities(self, field: Given, data: Any, key: str, path: str) -> _Made | None:
        assert field.dimension is not None
        if not isinstance(data, list) or len(data) < field.minimum:
            self.reader.complain(key, f"an array of at least {field.minimum} texts is expected")
            return None
        numbers = [
            self._number(field.dimension, item, f"{key}[{n}]", f"{path}[{n}]")
            for n, item in enumerate(data, 1)
        ]
        return _all(numbers)

    def _read_angle(self, field: Given, data: Any, key: str, path: str) -> _Made | None:
        angle = self._angle(data, key, path)
        return None if angle is None else _stated(angle)

    def _read_point(self, field: Given, data: Any, key: str, path: str) -> _Made | None:
        if not isinstance(data, list) or len(data) != field.space:
            self.reader.complain(key, f"{field.space} coordinates are expected: {field.says}")
            return None
        return self._numbers(LENGTH, data, field.space, key, path)

    def _read_integer(self, field: Given, data: Any, key: str, path: str) -> _Made | None:
        if type(data) is not int or data < field.minimum:
            self.reader.complain(key, f"a whole number of at least {field.minimum} is expected")
            return None
        return _stated(data)

    def _read_text(self, field: Given, data: Any, key: str, path: str) -> _Made | None:
        if not isinstance(data, str):
            self.reader.complain(key, f"a text is expected: {field.says}")
            return None
        return _stated(data)

    def _read_choice(self, field: Given, data: Any, key: str, path: str) -> _Made | None:
        if data not in field.choices:
            self.reader.complain(key, f"{data!r} is not one of: {', '.join(field.choices)}")
            return None
        return _stated(str(data))

    def _read_direction(self, field: Given, data: Any, key: str, path: str) -> _Made | None:
        table = self.reader.table(data, key)
        self.reader.unknown_keys(table, _DIRECTION_KEYS, key)
        return self._direction(table, field.space, key, path)

    def _read_vector(self, field: Given, data: Any, key: str, path: str) -> _Made | None:
        assert field.dimension is not None
        table = self.reader.table(data, key)
        if "components" in table:
            self.reader.unknown_keys(table, ("components",), key)
            parts = self._numbers(
                field.dimension, table["components"], field.space, f"{key}.components", path
            )
            return None if parts is None else lambda system: Components(parts(system))
        self.reader.unknown_keys(table, ("magnitude", *_DIRECTION_KEYS), key)
        if "magnitude" not in table:
            self.reader.complain(
                key, "needs 'magnitude' with a direction, or 'components'", field.says
            )
            return None
        size = self._number(
            field.dimension, table["magnitude"], f"{key}.magnitude", f"{path}.magnitude"
        )
        toward = self._direction(table, field.space, key, path)
        if size is None or toward is None:
            return None
        return lambda system: Polar(size(system), toward(system))

    def _numbers(
        self, dimension: Dimension, data: Any, count: int, key: str, path: str
    ) -> _Made | None:
        if not isinstance(data, list) or len(data) != count:
            self.reader.complain(key, f"{count} texts are expected")
            return None
        numbers = [
            self._number(dimension, item, f"{key}[{n + 1}]", f"{path}.{'xyz'[n]}")
            for n, item in enumerate(data)
        ]
        return _all(numbers)

    def _literal(self, data: Any, key: str, path: str) -> tuple[Literal, Unit | None] | None:
        if type(data) is int:
            data = str(data)
        if not isinstance(data, str):
            self.reader.complain(
                key, f"write the number as a text with its unit, not {data!r}", '"62.0 lbf"'
            )
            return None
        try:
            literal = read_literal(data)
            unit = (
                read_unit(literal.unit_text, mass_words_are_force=self.mass_words_are_force)
                if literal.unit_text
                else None
            )
        except (LiteralError, UnitError) as error:
            self.reader.complain(key, str(error))
            return None
        self.literals[path] = literal
        return literal, unit

    def _number(self, dimension: Dimension, data: Any, key: str, path: str) -> _Made | None:
        return _brought(self._measured(dimension, data, key, path))

    def _measured(self, dimension: Dimension, data: Any, key: str, path: str) -> _Measured | None:
        """A number of the dimension wanted, its unit put down among those of the case."""
        read = self._literal(data, key, path)
        if read is None:
            return None
        literal, unit = read
        if unit is None:
            if dimension != NUMBER and not self.unitless and literal.value != 0:
                self.reader.complain(
                    key, f"{data!r} has no unit, but this is {dimension.name}",
                    'write its unit; a case without any says units = "none"',
                )  # fmt: skip
            return literal.value, None
        if unit.dimension != dimension:
            self.reader.complain(
                key, f"{data!r} is {unit.dimension.name}, but {dimension.name} is expected"
            )
            return None
        self.units.append(unit)
        return literal.value, unit

    def _angle(self, data: Any, key: str, path: str) -> Angle | None:
        read = self._literal(data, key, path)
        if read is None:
            return None
        literal, unit = read
        if literal.ratio is not None and unit is None:
            return Slope(*literal.ratio)
        if unit is None or unit.dimension != ANGLE:
            self.reader.complain(
                key, f"{data!r} is not an angle", 'write "30 deg", "0.5 rad", "3:4"'
            )
            return None
        return read_angle(literal.value, unit)

    def _direction(self, table: Mapping[str, Any], space: int, key: str, path: str) -> _Made | None:
        stated = [
            form
            for form in (
                "angle",
                "slope",
                "run",
                "cosines",
                "points",
                "along",
                "axis_angles",
                "azimuth",
            )
            if form in table
        ]
        if len(stated) != 1:
            self.reader.complain(
                key,
                "states no direction"
                if not stated
                else f"states {len(stated)} directions: " + ", ".join(stated),
                "use one of angle, slope, run, cosines, points, along, axis_angles, azimuth",
            )
            return None
        form = stated[0]
        readers: dict[str, Callable[[Any, int, str, str], _Made | None]] = {
            "slope": self._by_slope,
            "run": self._by_run,
            "cosines": self._by_run,
            "points": self._by_points,
            "along": self._by_axis,
            "axis_angles": self._by_axis_angles,
        }
        if form in readers:
            return readers[form](table[form], space, f"{key}.{form}", f"{path}.{form}")
        start, toward = table.get("from", "+x"), table.get("toward", "+y")
        axes_ok = all(a in AXIS and AXIS[a][0] < space for a in (start, toward))
        if not axes_ok or AXIS[start][0] == AXIS[toward][0]:
            self.reader.complain(key, "'from' and 'toward' must be perpendicular axes, as \"+y\"")
            return None
        turned = self._angle(table[form], f"{key}.{form}", f"{path}.{form}")
        if turned is None:
            return None
        if form == "angle" and space == 2:
            return _stated(ByAngle(turned, start, toward))
        third = _third(start, toward)
        if form == "angle":
            return _stated(ByAzimuth(turned, Turn(fmpq(0)), start, toward, third))
        rise = self._angle(table.get("elevation", "0 deg"), f"{key}.elevation", f"{path}.elevation")
        if rise is None:
            return None
        return _stated(ByAzimuth(turned, rise, start, toward, table.get("up", third)))

    def _by_slope(self, data: Any, space: int, key: str, path: str) -> _Made | None:
        table = self.reader.table(data, key)
        run: list[_Measured] = [(fmpq(0), None)] * space
        for axis, size in table.items():
            if axis not in AXIS or AXIS[axis][0] >= space:
                self.reader.complain(
                    f"{key}.{axis}", "is not an axis", 'write one, as in { "+x" = "4" }'
                )
                return None
            side = self._literal(size, f"{key}.{axis}", f"{path}.{axis}")
            if side is None:
                return None
            literal, unit = side
            index, sense = AXIS[axis]
            run[index] = literal.value if sense > 0 else negative(literal.value), unit
        return self._run(run, key)

    def _by_run(self, data: Any, space: int, key: str, path: str) -> _Made | None:
        if not isinstance(data, list) or len(data) != space:
            self.reader.complain(key, f"{space} numbers are expected")
            return None
        sides = [
            self._literal(item, f"{key}[{n + 1}]", f"{path}.{'xyz'[n]}")
            for n, item in enumerate(data)
        ]
        run = [(side[0].value, side[1]) for side in sides if side is not None]
        return self._run(run, key) if len(run) == len(sides) else None

    def _run(self, run: Sequence[_Measured], key: str) -> _Made | None:
        """Along a slope triangle, whose sides are bare numbers or lengths."""
        if _nothing([value for value, _ in run]):
            self.reader.complain(key, _NO_LENGTH)
            return None
        return lambda system: ByRun(tuple(_in_system(side, system) for side in run))

    def _by_points(self, data: Any, space: int, key: str, path: str) -> _Made | None:
        if not isinstance(data, list) or len(data) != 2:
            self.reader.complain(key, "two points are expected: from the first toward the second")
            return None
        first, second = (
            self._numbers(LENGTH, item, space, f"{key}[{n}]", f"{path}[{n}]")
            for n, item in enumerate(data, 1)
        )
        if first is None or second is None:
            return None

        def make(system: UnitSystem) -> ByRun:
            ends = zip(first(system), second(system), strict=True)
            run = tuple(difference(b, a) for a, b in ends)
            if _nothing(run):
                self.reader.complain(key, _NO_LENGTH)
            return ByRun(run)

        return make

    def _by_axis(self, data: Any, space: int, key: str, path: str) -> _Made | None:
        if data not in AXIS or AXIS[data][0] >= space:
            self.reader.complain(key, f"{data!r} is not an axis", 'write one, as in "-y"')
            return None
        index, sense = AXIS[data]
        return _stated(ByRun(tuple(fmpq(sense if i == index else 0) for i in range(space))))

    def _by_axis_angles(self, data: Any, space: int, key: str, path: str) -> _Made | None:
        table = self.reader.table(data, key)
        self.reader.unknown_keys(table, ("x", "y", "z", "sense"), key)
        angles = [
            self._angle(table[a], f"{key}.{a}", f"{path}.{a}") if a in table else None
            for a in "xyz"
        ]
        given = [a for a in "xyz" if a in table]
        if space != 3 or len(given) < 2:
            self.reader.complain(key, "needs the angles from two or three of the axes x, y, z")
            return None
        if len(given) == 3:
            return _stated(ByAxisAngles(tuple(angles)))  # type: ignore[arg-type]
        missing = next(a for a in "xyz" if a not in table)
        if table.get("sense") not in (f"+{missing}", f"-{missing}"):
            self.reader.complain(
                key, f"needs 'sense': does it point toward +{missing} or -{missing}?"
            )
            return None
        sense = 1 if table["sense"][0] == "+" else -1
        return _stated(ByAxisAngles(tuple(angles), sense))  # type: ignore[arg-type]


def _stated(value: Any) -> _Made:
    """What is the same in every system of units."""
    return lambda _: value


def _brought(measured: _Measured | None) -> _Made | None:
    return None if measured is None else lambda system: _in_system(measured, system)


def _in_system(measured: _Measured, system: UnitSystem) -> Exact:
    value, unit = measured
    return value if unit is None else system.bring(value, unit)


def _all(parts: Sequence[_Made | None]) -> _Made | None:
    """Every part in a tuple, if all of them could be read."""
    made = [part for part in parts if part is not None]
    if len(made) < len(parts):
        return None
    return lambda system: tuple(part(system) for part in made)


def _nothing(run: Sequence[Exact]) -> bool:
    return all(isinstance(x, fmpq) and x == 0 for x in run)


def _third(start: str, toward: str) -> Any:
    return "+" + next(c for c in "zyx" if c not in start + toward)
