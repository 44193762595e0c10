"""Reading a case that asks inversely: one given is to be found from a known answer.

The place of the unknown says ``"to find"``, and a table ``[find]`` says between which
values it lies and which answer is known::

    [given]
    friction = "to find"
    ...

    [find]
    between = ["0", "1"]
    answer = "tight"
    value = "120 N"

Any number may be sought, a coordinate of a point and an angle of a direction among them; one
side of a slope or of a run may not, for it means nothing without the others.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import attrs

from refsolver.catalogue.givens_reader import GivensReader
from refsolver.catalogue.toml import TomlReader
from refsolver.quantities.dimensions import ANGLE, NUMBER
from refsolver.quantities.literals import LiteralError, read_literal
from refsolver.quantities.units import UnitError, read_angle, read_unit
from refsolver.quantities.views import View, ViewError, dimension_of
from refsolver.statics.contract import Family
from refsolver.statics.finding import KNOWN, Sought, finding, sought_between
from refsolver.statics.givens import walk

__all__ = ["TO_FIND", "read_inverse"]

TO_FIND = "to find"

ViewReader = Callable[[Mapping[str, Any], Family, GivensReader], View]


def read_inverse(
    reader: TomlReader,
    base: Family,
    data: Mapping[str, Any],
    make: Callable[[], GivensReader],
    read_view: ViewReader,
    view_keys: tuple[str, ...],
) -> tuple[Family, Any, GivensReader] | None:
    """The inverse family, its givens and the reader that read them; None after complaints.

    ``make`` makes a reader of givens.
    """
    table = reader.table(data.get("find"), "find")
    reader.unknown_keys(table, ("between", "value", *view_keys), "find")
    ends = table.get("between")
    if not isinstance(ends, list) or len(ends) != 2:
        reader.complain("find.between", "two texts are expected: the ends of the bracket")
        return None
    raw = data.get("given", {})
    if _count(raw) != 1:
        reader.complain(
            "given", f"{_count(raw)} givens say {TO_FIND!r}", f"write {TO_FIND!r} for exactly one"
        )
        return None
    readers = [make(), make()]
    low, high = (
        one.read(base.givens, _with(raw, str(end))) for one, end in zip(readers, ends, strict=True)
    )
    if reader.complaints:
        return None
    givens = readers[0]
    if givens.system != readers[1].system:
        reader.complain("find.between", "write both ends in the same unit")
        return None
    try:
        sought = _sought(low, high)
        view = read_view({k: table[k] for k in table if k in view_keys}, base, givens)
        inverse = finding(base.name, sought.path, sought.inside, view)
        known = _known(reader, table, view, base, givens)
    except (ValueError, ViewError, LiteralError, UnitError) as error:
        reader.complain("find", str(error))
        return None
    if known is None:
        return None
    own = {f.name: getattr(low, f.name) for f in attrs.fields(type(low))}
    given = inverse.givens(**own, **{KNOWN: known}, sought=sought)
    return inverse, given, givens


def _count(data: Any) -> int:
    if isinstance(data, Mapping):
        return sum(_count(item) for item in data.values())
    if isinstance(data, list):
        return sum(_count(item) for item in data)
    return int(data == TO_FIND)


def _with(data: Any, text: str) -> Any:
    if isinstance(data, Mapping):
        return {key: _with(item, text) for key, item in data.items()}
    if isinstance(data, list):
        return [_with(item, text) for item in data]
    return text if data == TO_FIND else data


def _sought(low: Any, high: Any) -> Sought:
    others = {path: leaf for path, leaf, _ in walk(high)}
    apart = [(path, leaf) for path, leaf, _ in walk(low) if others.get(path) != leaf]
    if len(apart) != 1:
        raise ValueError(f"between: the two ends change {len(apart)} givens, not one")
    path, leaf = apart[0]
    return sought_between(leaf, others[path], path)


def _known(
    reader: TomlReader,
    table: Mapping[str, Any],
    view: View,
    base: Family,
    givens: GivensReader,
) -> Any:
    dimension = dimension_of(view, base.answers[view.answer].kind)
    if "value" not in table:
        reader.complain("find.value", "the known answer is missing")
        return None
    literal = read_literal(str(table["value"]))
    if not literal.unit_text:
        if dimension == NUMBER or (givens.unitless and dimension != ANGLE):
            return literal.value
        reader.complain(
            "find.value", f"{literal.text!r} has no unit; it is {dimension.name}: give it one"
        )
        return None
    unit = read_unit(literal.unit_text, mass_words_are_force=givens.mass_words_are_force)
    if unit.dimension != dimension:
        reader.complain(
            "find.value",
            f"{literal.text!r} is {unit.dimension.name}, but {view.describe()} is {dimension.name}",
            "check unit and answer",
        )
        return None
    if dimension == ANGLE:
        return read_angle(literal.value, unit)
    return givens.system.bring(literal.value, unit)
