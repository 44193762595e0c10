"""Writing a case file from givens: what reading reads back to the very same givens."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from refsolver.arithmetic.exact import Angle, Exact
from refsolver.quantities.describing import describe, describe_angle
from refsolver.quantities.dimensions import LENGTH, Dimension
from refsolver.quantities.leaves import ByAngle, ByAxisAngles, ByAzimuth, ByRun, Components, Polar
from refsolver.quantities.units import UNITLESS, UnitSystem
from refsolver.statics.contract import Family, Given
from refsolver.statics.givens import fields

__all__ = ["case_text", "quoted"]


def quoted(text: str) -> str:
    """A TOML basic string."""
    escaped = text.replace("\\", "\\\\").replace('"', '\\"').replace("\n", "\\n")
    return f'"{escaped}"'


def case_text(
    family: Family,
    given: Any,
    system: UnitSystem,
    *,
    title: str,
    statement: str,
    by: str,
    features: Sequence[str] = (),
    topics: Sequence[str] = (),
) -> str:
    """A whole constructed case file, without published answers."""
    lines = [
        f"title = {quoted(title)}",
        f"family = {quoted(family.name)}",
        f"statement = {quoted(statement)}",
    ]
    if topics:
        lines.append(f"topics = [{', '.join(quoted(t) for t in topics)}]")
    if features:
        lines.append(f"features = [{', '.join(quoted(f) for f in features)}]")
    if system == UNITLESS:
        lines.append('units = "none"')
    lines += ["", "[source]", 'kind = "constructed"', f"by = {quoted(by)}", ""]
    lines += _Writer(system).table("given", given)
    return "\n".join(lines).rstrip() + "\n"


class _Writer:
    def __init__(self, system: UnitSystem) -> None:
        self.system = system

    def table(self, key: str, given: Any) -> list[str]:
        known = fields(type(given))
        plain = [f"[{key}]"]
        below: list[str] = []
        for name, field in known.items():
            value = getattr(given, name)
            if value is None or value == "":
                continue
            if field.shape == "many":
                for item in value:
                    below += [f"[[{key}.{name}]]", *self.table(f"{key}.{name}", item)[1:]]
            elif field.shape == "one":
                below += self.table(f"{key}.{name}", value)
            else:
                plain.append(f"{name} = {self.leaf(field, value)}")
        return [*plain, "", *below] if len(plain) > 1 or not below else [plain[0], "", *below]

    def leaf(self, field: Given, value: Any) -> str:
        if field.shape == "integer":
            return str(value)
        if field.shape in ("choice", "text"):
            return quoted(value)
        if field.shape == "angle":
            return self.angle(value)
        if field.shape == "quantity":
            assert field.dimension is not None
            return self.number(value, field.dimension)
        if field.shape == "quantities":
            assert field.dimension is not None
            return self.numbers(value, field.dimension)
        if field.shape == "point":
            return self.numbers(value, LENGTH)
        if field.shape == "direction":
            return "{ " + ", ".join(self.direction(value)) + " }"
        assert field.dimension is not None
        if isinstance(value, Components):
            return f"{{ components = {self.numbers(value.along, field.dimension)} }}"
        assert isinstance(value, Polar)
        magnitude = f"magnitude = {self.number(value.magnitude, field.dimension)}"
        return "{ " + ", ".join([magnitude, *self.direction(value.direction)]) + " }"

    def number(self, value: Exact, dimension: Dimension) -> str:
        unit = self.system.unit(dimension).name if self.system != UNITLESS else ""
        return quoted(f"{describe(value)} {unit}".strip())

    def numbers(self, values: Sequence[Exact], dimension: Dimension) -> str:
        return "[" + ", ".join(self.number(x, dimension) for x in values) + "]"

    def angle(self, angle: Angle) -> str:
        return quoted(describe_angle(angle))

    def direction(self, direction: Any) -> Iterator[str]:
        if isinstance(direction, ByRun):
            yield "run = [" + ", ".join(quoted(describe(x)) for x in direction.run) + "]"
        elif isinstance(direction, ByAngle):
            yield f"angle = {self.angle(direction.angle)}"
            yield from self.axes(direction.start, direction.toward)
        elif isinstance(direction, ByAzimuth):
            yield f"azimuth = {self.angle(direction.azimuth)}"
            yield f"elevation = {self.angle(direction.elevation)}"
            yield from self.axes(direction.start, direction.toward)
            yield f"up = {quoted(direction.up)}"
        else:
            assert isinstance(direction, ByAxisAngles)
            yield f"axis_angles = {{ {', '.join(self.axis_angles(direction))} }}"

    def axis_angles(self, direction: ByAxisAngles) -> Iterator[str]:
        missing = ""
        for letter, angle in zip("xyz", direction.angles, strict=True):
            if angle is None:
                missing = letter
            else:
                yield f"{letter} = {self.angle(angle)}"
        if missing:
            yield f'sense = "{"+" if direction.sense > 0 else "-"}{missing}"'

    def axes(self, start: str, toward: str) -> Iterator[str]:
        if (start, toward) != ("+x", "+y"):
            yield f"from = {quoted(start)}"
            yield f"toward = {quoted(toward)}"
