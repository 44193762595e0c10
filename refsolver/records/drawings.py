"""Drawings as JSON-able data, so that a report can draw what a record holds."""

from __future__ import annotations

from typing import Any

import attrs

from refsolver.quantities.dimensions import FORCE, LENGTH, MOMENT
from refsolver.quantities.units import UnitSystem
from refsolver.statics import drawing as primitives
from refsolver.statics.drawing import Drawing

__all__ = ["drawing_data", "drawing_of", "drawing_units"]

_PARTS = {
    cls.__name__: cls
    for cls in (
        primitives.Arrow, primitives.Turning, primitives.Stroke, primitives.Curve,
        primitives.Region, primitives.Mark, primitives.Arc, primitives.Pin, primitives.Dimension,
    )
}  # fmt: skip


def drawing_data(drawing: Drawing) -> dict[str, Any]:
    """The drawing as nested lists and tables; floats are rounded to nine figures."""
    return {
        "caption": drawing.caption,
        "space": drawing.space,
        "parts": [
            {"is": type(part).__name__, **_rounded(attrs.asdict(part))} for part in drawing.parts
        ],
    }


def drawing_units(system: UnitSystem) -> dict[str, str]:
    """The words at a figure's scale bars, for a case in this system of units."""
    scales = {"force": FORCE, "length": LENGTH, "couple": MOMENT}
    return {name: system.unit(dimension).name for name, dimension in scales.items()}


def drawing_of(data: dict[str, Any]) -> Drawing:
    """The drawing that :func:`drawing_data` was made from."""
    parts = []
    for part in data["parts"]:
        fields = {name: _tuples(value) for name, value in part.items() if name != "is"}
        parts.append(_PARTS[part["is"]](**fields))
    return Drawing(tuple(parts), data["caption"], data["space"])


def _rounded(value: Any) -> Any:
    if isinstance(value, dict):
        return {k: _rounded(v) for k, v in value.items()}
    if isinstance(value, list | tuple):
        return [_rounded(v) for v in value]
    if isinstance(value, float):
        return float(f"{value:.9g}")
    return value


def _tuples(value: Any) -> Any:
    return tuple(_tuples(v) for v in value) if isinstance(value, list) else value
