"""Reading the givens of a family from nested tables of texts."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import attrs
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
    Direction,
    Polar,
    Vector,
)
from refsolver.quantities.literals import Literal, LiteralError, read_literal
from refsolver.quantities.units import Unit, UnitError, UnitSystem, read_angle, read_unit
from refsolver.statics.contract import Given
from refsolver.statics.givens import fields

__all__ = ["GivensReader"]

_DIRECTION_KEYS = (
    "angle", "from", "toward", "slope", "run", "points", "along", "axis_angles", "azimuth",
    "elevation", "up", "cosines",
)  # fmt: skip


class GivensReader:
    """Reads the givens of one family from nested tables of texts.

    Two passes: the first reads every literal and finds the units in use, the second
    brings all leaves into one coherent system.
    """

    def __init__(self, reader: TomlReader, *, mass_words_are_force: bool, unitless: bool) -> None:
        self.reader = reader
        self.mass_words_are_force = mass_words_are_force
        self.unitless = unitless
        self.units: list[Unit] = []
        self.system: UnitSystem = UnitSystem.of([])
        self.literals: dict[str, Literal] = {}
        self._collecting = True
        self._complained = 0

    def read(self, cls: type, data: Any, key: str = "given") -> Any:
        """The givens object, or None after complaints."""
        self._complained = len(self.reader.complaints)
        self._object(cls, data, key, "")
        if self._failed():
            return None
        self._collecting = False
        self.system = UnitSystem.of(self.units)
        return self._object(cls, data, key, "")

    def _failed(self) -> bool:
        return len(self.reader.complaints) > self._complained

    def _object(self, cls: type, data: Any, key: str, path: str) -> Any:
        table = self.reader.table(data, key)
        known = fields(cls)
        self.reader.unknown_keys(table, tuple(known), key)
        values: dict[str, Any] = {}
        for attribute in attrs.fields(cls):
            name = attribute.name
            if name not in known:
                continue
            if name not in table:
                if attribute.default is attrs.NOTHING:
                    self.reader.complain(f"{key}.{name}", f"is missing: {known[name].says}")
                continue
            values[name] = self._field(known[name], table[name], f"{key}.{name}", f"{path}{name}")
        if self._collecting or self._failed():
            return None
        try:
            return cls(**values)
        except ValueError as error:
            self.reader.complain(key, str(error))
            return None

    def _field(self, field: Given, data: Any, key: str, path: str) -> Any:
        return getattr(self, f"_read_{field.shape}")(field, data, key, path)

    def _read_many(self, field: Given, data: Any, key: str, path: str) -> Any:
        assert field.of is not None
        if not isinstance(data, list):
            self.reader.complain(key, f"an array of tables is expected: {field.says}")
            return None
        if len(data) < field.minimum:
            self.reader.complain(key, f"at least {field.minimum} needed: {field.says}")
        return tuple(
            self._object(field.of, item, f"{key}[{n}]", f"{path}[{n}].")
            for n, item in enumerate(data, 1)
        )

    def _read_one(self, field: Given, data: Any, key: str, path: str) -> Any:
        assert field.of is not None
        return self._object(field.of, data, key, f"{path}.")

    def _read_quantity(self, field: Given, data: Any, key: str, path: str) -> Exact | None:
        assert field.dimension is not None
        value = self._number(field.dimension, data, key, path)
        refused = {"positive": (-1, 0), "not negative": (-1,), "any": ()}[field.sign]
        if value is not None and seen_sign(value) in refused:
            self.reader.complain(key, f"must be {field.sign}: {field.says}")
        return value

    def _read_quantities(self, field: Given, data: Any, key: str, path: str) -> Any:
        assert field.dimension is not None
        if not isinstance(data, list) or len(data) < field.minimum:
            self.reader.complain(key, f"an array of at least {field.minimum} texts is expected")
            return None
        return tuple(
            self._number(field.dimension, item, f"{key}[{n}]", f"{path}[{n}]")
            for n, item in enumerate(data, 1)
        )

    def _read_angle(self, field: Given, data: Any, key: str, path: str) -> Angle | None:
        return self._angle(data, key, path)

    def _read_point(self, field: Given, data: Any, key: str, path: str) -> Any:
        if not isinstance(data, list) or len(data) != field.space:
            self.reader.complain(key, f"{field.space} coordinates are expected: {field.says}")
            return None
        return tuple(
            self._number(LENGTH, item, f"{key}[{n + 1}]", f"{path}.{'xyz'[n]}")
            for n, item in enumerate(data)
        )

    def _read_integer(self, field: Given, data: Any, key: str, path: str) -> int | None:
        if type(data) is not int or data < field.minimum:
            self.reader.complain(key, f"a whole number of at least {field.minimum} is expected")
            return None
        return data

    def _read_text(self, field: Given, data: Any, key: str, path: str) -> str | None:
        if not isinstance(data, str):
            self.reader.complain(key, f"a text is expected: {field.says}")
            return None
        return data

    def _read_choice(self, field: Given, data: Any, key: str, path: str) -> str | None:
        if data not in field.choices:
            self.reader.complain(key, f"{data!r} is not one of: {', '.join(field.choices)}")
            return None
        return str(data)

    def _read_direction(self, field: Given, data: Any, key: str, path: str) -> Direction | None:
        table = self.reader.table(data, key)
        self.reader.unknown_keys(table, _DIRECTION_KEYS, key)
        return self._direction(table, field.space, key, path)

    def _read_vector(self, field: Given, data: Any, key: str, path: str) -> Vector | None:
        assert field.dimension is not None
        table = self.reader.table(data, key)
        if "components" in table:
            self.reader.unknown_keys(table, ("components",), key)
            parts = self._numbers(
                field.dimension, table["components"], field.space, f"{key}.components", path
            )
            return None if parts is None else Components(parts)
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
        return None if size is None or toward is None else Polar(size, toward)

    def _numbers(
        self, dimension: Dimension, data: Any, count: int, key: str, path: str
    ) -> tuple[Exact, ...] | None:
        if not isinstance(data, list) or len(data) != count:
            self.reader.complain(key, f"{count} texts are expected")
            return None
        values = [
            self._number(dimension, item, f"{key}[{n + 1}]", f"{path}.{'xyz'[n]}")
            for n, item in enumerate(data)
        ]
        return None if any(v is None for v in values) else tuple(values)  # type: ignore[arg-type]

    def _literal(self, data: Any, key: str, path: str) -> tuple[Literal, Unit | None] | None:
        if isinstance(data, int) and not isinstance(data, bool):
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

    def _number(self, dimension: Dimension, data: Any, key: str, path: str) -> Exact | None:
        read = self._literal(data, key, path)
        if read is None:
            return None
        literal, unit = read
        if unit is None:
            if dimension != NUMBER and not self.unitless and literal.value != 0:
                self.reader.complain(
                    key, f"{data!r} has no unit, but this is {dimension.name}",
                    'a case without any units says units = "none"',
                )  # fmt: skip
            return literal.value
        if unit.dimension != dimension:
            self.reader.complain(
                key, f"{data!r} is {unit.dimension.name}, but {dimension.name} is expected"
            )
            return None
        if self._collecting:
            self.units.append(unit)
            return literal.value
        return self.system.bring(literal.value, unit)

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

    def _direction(
        self, table: Mapping[str, Any], space: int, key: str, path: str
    ) -> Direction | None:
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
        readers: dict[str, Callable[[Any, int, str, str], Direction | None]] = {
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
        if form == "angle":
            if space == 3 and turned is not None:
                return ByAzimuth(turned, Turn(fmpq(0)), start, toward, _third(start, toward))
            return None if turned is None else ByAngle(turned, start, toward)
        rise = self._angle(table.get("elevation", "0 deg"), f"{key}.elevation", f"{path}.elevation")
        if turned is None or rise is None:
            return None
        return ByAzimuth(turned, rise, start, toward, table.get("up", _third(start, toward)))

    def _by_slope(self, data: Any, space: int, key: str, path: str) -> Direction | None:
        table = self.reader.table(data, key)
        run: list[Exact] = [fmpq(0)] * space
        for axis, size in table.items():
            if axis not in AXIS or AXIS[axis][0] >= space:
                self.reader.complain(f"{key}.{axis}", "is not an axis", 'as in { "+x" = "4" }')
                return None
            value = self._side(size, f"{key}.{axis}", f"{path}.{axis}")
            if value is None:
                return None
            index, sense = AXIS[axis]
            run[index] = value if sense > 0 else negative(value)
        return self._run(tuple(run), key)

    def _side(self, data: Any, key: str, path: str) -> Exact | None:
        """A side of a slope triangle: a bare number, or a length."""
        read = self._literal(data, key, path)
        if read is None:
            return None
        literal, unit = read
        if unit is not None and not self._collecting:
            return self.system.bring(literal.value, unit)
        return literal.value

    def _by_run(self, data: Any, space: int, key: str, path: str) -> Direction | None:
        if not isinstance(data, list) or len(data) != space:
            self.reader.complain(key, f"{space} numbers are expected")
            return None
        run = [
            self._side(item, f"{key}[{n + 1}]", f"{path}.{'xyz'[n]}") for n, item in enumerate(data)
        ]
        return None if None in run else self._run(tuple(run), key)  # type: ignore[arg-type]

    def _by_points(self, data: Any, space: int, key: str, path: str) -> Direction | None:
        if not isinstance(data, list) or len(data) != 2:
            self.reader.complain(key, "two points are expected: from the first toward the second")
            return None
        ends = [
            self._numbers_of_point(item, space, f"{key}[{n}]", f"{path}[{n}]")
            for n, item in enumerate(data, 1)
        ]
        if ends[0] is None or ends[1] is None:
            return None
        return self._run(
            tuple(difference(b, a) for a, b in zip(ends[0], ends[1], strict=True)), key
        )

    def _numbers_of_point(
        self, data: Any, space: int, key: str, path: str
    ) -> tuple[Exact, ...] | None:
        return self._numbers(LENGTH, data, space, key, path)

    def _by_axis(self, data: Any, space: int, key: str, path: str) -> Direction | None:
        if data not in AXIS or AXIS[data][0] >= space:
            self.reader.complain(key, f"{data!r} is not an axis", 'as in "-y"')
            return None
        index, sense = AXIS[data]
        return ByRun(tuple(fmpq(sense if i == index else 0) for i in range(space)))

    def _by_axis_angles(self, data: Any, space: int, key: str, path: str) -> Direction | None:
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
            return None if None in angles else ByAxisAngles(tuple(angles))  # type: ignore[arg-type]
        missing = next(a for a in "xyz" if a not in table)
        if table.get("sense") not in (f"+{missing}", f"-{missing}"):
            self.reader.complain(
                key, f"needs 'sense': does it point toward +{missing} or -{missing}?"
            )
            return None
        sense = 1 if table["sense"][0] == "+" else -1
        return ByAxisAngles(tuple(angles), sense)  # type: ignore[arg-type]

    def _run(self, run: tuple[Exact, ...], key: str) -> ByRun | None:
        if all(isinstance(x, fmpq) and x == 0 for x in run):
            self.reader.complain(key, "has no length, so it states no direction")
            return None
        return ByRun(run)


def _third(start: str, toward: str) -> Any:
    return "+" + next(c for c in "zyx" if c not in start + toward)
