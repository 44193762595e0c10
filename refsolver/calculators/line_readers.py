"""Reading the lines of a calculator file, with a complaint for each key that cannot be used."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import attrs
from flint import fmpq

from refsolver.arithmetic.detached import Enclosure
from refsolver.calculators.criteria import Criterion, CriterionError, read_criterion
from refsolver.calculators.lines import Condition, InputLine, OutputLine, WordReading
from refsolver.catalogue.reading import VIEW_KEYS, read_view
from refsolver.catalogue.toml import TomlReader
from refsolver.quantities.conversion import factor_to
from refsolver.quantities.dimensions import ANGLE, LENGTH, NUMBER, Dimension
from refsolver.quantities.kinds import ChoiceKind
from refsolver.quantities.leaves import AXIS, Axis
from refsolver.quantities.literals import LiteralError, read_literal
from refsolver.quantities.units import UNITLESS, Unit, UnitError, UnitSystem, read_unit
from refsolver.quantities.views import RANGES, View, ViewError, dimension_of, inner_kind
from refsolver.statics.contract import Family, Given
from refsolver.statics.givens import fields

__all__ = [
    "LEAF_TAKES",
    "given_at",
    "leaf_dimension",
    "read_condition",
    "read_input_line",
    "read_output_line",
]

_INPUT_KEYS = (
    "given", "take", "unit", "place", "says", "along", "from", "toward", "range", "negate",
    "decimals", "words", "blank",
)  # fmt: skip
_OUTPUT_KEYS = (
    *VIEW_KEYS, "unit", "place", "says", "criterion", "negate", "sense", "quadrant", "judge",
    "words", "units",
)  # fmt: skip

LEAF_TAKES: dict[str, tuple[str, ...]] = {
    "quantity": ("value",),
    "quantities": ("value",),
    "angle": ("value",),
    "direction": ("angle", "component", "run", "axis angle", "azimuth", "elevation"),
    "vector": ("magnitude", "angle", "component", "run", "axis angle", "azimuth", "elevation"),
    "point": ("coordinate",),
    "integer": ("value",),
    "choice": ("word",),
    "text": ("word",),
}
ANGLE_TAKES = ("angle", "axis angle", "azimuth", "elevation")


def given_at(cls: type, pattern: str) -> Given | None:
    """The given that a path pattern names, None where there is none."""
    here: type | None = cls
    found: Given | None = None
    for step in pattern.split("."):
        name = step.removesuffix("[*]")
        if here is None or name not in fields(here):
            return None
        found = fields(here)[name]
        if (found.shape in ("many", "quantities")) != step.endswith("[*]"):
            return None
        here = found.of
    return found if found is not None and found.shape not in ("many", "one") else None


def read_input_line(reader: TomlReader, data: Any, key: str, owner: Family) -> InputLine | None:
    """An input line from its keys; what is wrong goes to the reader's complaints."""
    table = reader.table(data, key)
    reader.unknown_keys(table, _INPUT_KEYS, key)
    pattern = reader.words(table, "given")
    field = given_at(owner.givens, pattern)
    if field is None:
        known = ", ".join(field.name for field in attrs.fields(owner.givens))
        reader.complain(
            f"{key}.given", f"{pattern!r} is not a given of {owner.name}", f"known: {known}"
        )
        return None
    allowed = LEAF_TAKES[field.shape]
    take = str(table.get("take", allowed[0]))
    if take not in allowed:
        reader.complain(f"{key}.take", f"{take!r} does not fit; use one of {', '.join(allowed)}")
        return None
    needs_axis = take in ("component", "coordinate", "run", "axis angle", "elevation")
    axes = {name: table.get(name) for name in ("along", "from", "toward")}
    if any(axis is not None and not isinstance(axis, str) for axis in axes.values()):
        reader.complain(key, "write 'along', 'from' and 'toward' as texts such as \"+x\"")
        return None
    along = axes["along"]
    if needs_axis and along not in AXIS:
        reader.complain(f"{key}.along", f'{take} needs a signed axis such as "+x"')
    start: Axis = table.get("from", "+x")
    toward: Axis = table.get("toward", "+y")
    if start not in AXIS or toward not in AXIS or AXIS[start][0] == AXIS[toward][0]:
        reader.complain(key, "'from' and 'toward' must be perpendicular axes")
    span = str(table.get("range", "-180..180"))
    if span not in RANGES:
        reader.complain(f"{key}.range", f"is one of: {', '.join(RANGES)}")
    dimension = leaf_dimension(field, take)
    decimals = table.get("decimals")
    if decimals is not None and type(decimals) is not int:
        reader.complain(f"{key}.decimals", "a whole number of decimals is expected")
    return InputLine(
        given=pattern,
        field=field,
        take=take,
        unit=_unit(reader, table, f"{key}.unit", dimension),
        place=_place(reader, table, key),
        says=_says(reader, table, key),
        along=along,
        start=start,
        toward=toward,
        range=span,
        negate=reader.yes_or_no(table, key, "negate"),
        decimals=decimals,
        words=_word_table(reader, table, key),
        blank=str(table.get("blank", "")),
    )


def leaf_dimension(field: Given, take: str) -> Dimension:
    """The dimension of what is taken from a leaf."""
    if take in ANGLE_TAKES or field.shape == "angle":
        return ANGLE
    if field.shape == "point":
        return LENGTH
    if field.dimension is None or take == "run" or field.shape == "direction":
        return NUMBER
    return field.dimension


def _place(reader: TomlReader, table: Mapping[str, Any], key: str) -> str:
    place = table.get("place")
    if not isinstance(place, str) or not place.strip():
        reader.complain(f"{key}.place", "say where: a cell, a range, a field or a pattern")
        return ""
    return place.strip()


def _says(reader: TomlReader, table: Mapping[str, Any], key: str) -> str:
    says = str(table.get("says", "")).strip()
    if not says:
        reader.complain(f"{key}.says", "quote the calculator's own words for it (label, manual)")
    return says


def _unit(
    reader: TomlReader, table: Mapping[str, Any], key: str, dimension: Dimension
) -> Unit | None:
    text = str(table.get("unit", "")).strip()
    if not text:
        if dimension != NUMBER:
            reader.complain(key, f"say the unit of this {dimension.name}")
        return None
    try:
        unit = read_unit(text, mass_words_are_force=bool(table.get("lb_and_kg_are_forces")))
    except UnitError as error:
        reader.complain(key, str(error))
        return None
    if unit.dimension != dimension:
        reader.complain(key, f"{text!r} is {unit.dimension.name}, but {dimension.name} is expected")
    return unit


def _all_round(view: View, dimension: Dimension, unit: Unit | None) -> Enclosure | None:
    """How far apart directions lie at most, to both sides together; None for any other answer.

    An angle that is no direction (a lap of a belt) may be of many turns.
    """
    if dimension != ANGLE or view.take in (None, "value", "size"):
        return None
    return factor_to(UNITLESS, unit, ANGLE).scaled(view.repeats_after or fmpq(1))


def read_output_line(reader: TomlReader, data: Any, key: str, owner: Family) -> OutputLine | None:
    """An output line from its keys; what is wrong goes to the reader's complaints."""
    table = reader.table(data, key)
    reader.unknown_keys(table, _OUTPUT_KEYS, key)
    try:
        view = read_view(table, owner, UnitSystem.of([]))
    except (ViewError, LiteralError, UnitError) as error:
        reader.complain(key, str(error))
        return None
    kind = owner.answers[view.answer].kind
    dimension = dimension_of(view, kind)
    is_word = isinstance(inner_kind(view, kind), ChoiceKind)
    unit = None if is_word else _unit(reader, table, f"{key}.unit", dimension)
    criterion: Criterion | None = None
    if not is_word:
        if "criterion" not in table:
            reader.complain(
                f"{key}.criterion", "every output needs an acceptance criterion with its reason"
            )
            return None
        try:
            criterion = read_criterion(
                reader.table(table["criterion"], f"{key}.criterion"),
                unit, dimension, f"{key}.criterion", _all_round(view, dimension, unit),
            )  # fmt: skip
        except CriterionError as error:
            reader.complain("", str(error))
            return None
    judge = table.get("judge", "both")
    if judge not in ("stored", "displayed", "both"):
        reader.complain(f"{key}.judge", "is one of: stored, displayed, both")
    if "quadrant" in table and (dimension != ANGLE or unit is None or not unit.pi_power):
        reader.complain(f"{key}.quadrant", "completes an acute angle in degrees: map that")
    return OutputLine(
        view=view,
        dimension=dimension,
        unit=unit,
        place=_place(reader, table, key),
        says=_says(reader, table, key),
        criterion=criterion,
        negate=reader.yes_or_no(table, key, "negate"),
        sense=_word_reading(reader, table, key, "sense", 1),
        quadrant=_word_reading(reader, table, key, "quadrant", 2),
        judge=judge,
        words=_word_table(reader, table, key),
        units=_unit_words(reader, table, key, dimension),
    )


def _word_table(reader: TomlReader, table: Mapping[str, Any], key: str) -> dict[str, str]:
    words = reader.table(table.get("words", {}), f"{key}.words")
    return {str(k): str(v) for k, v in words.items()}


def _unit_words(
    reader: TomlReader, table: Mapping[str, Any], key: str, dimension: Dimension
) -> dict[str, Unit]:
    """The units that the calculator's own words stand for."""
    found: dict[str, Unit] = {}
    for word, text in reader.table(table.get("units", {}), f"{key}.units").items():
        unit = _unit(reader, {"unit": text}, f"{key}.units.{word}", dimension)
        if unit is not None:
            found[word] = unit
    return found


def _word_reading(
    reader: TomlReader, table: Mapping[str, Any], key: str, name: str, count: int
) -> WordReading | None:
    if name not in table:
        return None
    data = reader.table(table[name], f"{key}.{name}")
    words: dict[str, tuple[int, ...]] = {}
    for word, signs in reader.table(data.get("words", {}), f"{key}.{name}.words").items():
        if len(str(signs)) != count or set(str(signs)) - {"+", "-"}:
            wanted = '"+" or "-"' if count == 1 else '"++", "-+", "--" or "+-" (from, toward)'
            reader.complain(f"{key}.{name}.words.{word}", f"is one of {wanted}")
            continue
        words[str(word)] = tuple(1 if sign == "+" else -1 for sign in str(signs))
    if not words:
        reader.complain(f"{key}.{name}.words", "say what each word means")
    return WordReading(_place(reader, data, f"{key}.{name}"), words)


def read_condition(
    reader: TomlReader, data: Any, key: str, owner: Family, lines: tuple[InputLine, ...]
) -> Condition | None:
    table = reader.table(data, key)
    reader.unknown_keys(
        table,
        ("count", "input", "at_least", "at_most", "resolution", "without", "exclude", "reason"),
        key,
    )
    reason = str(table.get("reason", "")).strip()
    if not reason:
        reader.complain(f"{key}.reason", "say why the calculator is not meant for the others")
    stated = [k for k in ("count", "input", "without", "exclude") if k in table]
    if len(stated) != 1:
        reader.complain(key, "states one of: count, input, without (a feature), exclude (case ids)")
        return None
    kind = stated[0]
    if kind == "exclude":
        ids = reader.listed(table, key, "exclude", str)
        return Condition(kind, "", reason, f"without the cases {', '.join(ids)}", ids=ids)
    target = str(table[kind])
    if kind == "without":
        return Condition(kind, target, reason, f"without cases that have: {target}")
    line = next((x for x in lines if x.id == target), None) if kind == "input" else None
    if kind == "input" and line is None:
        reader.complain(f"{key}.input", f"{target!r} is none of: {', '.join(x.id for x in lines)}")
        return None
    unit = None if line is None else line.unit
    limits: dict[str, fmpq | None] = {}
    for name in ("at_least", "at_most", "resolution"):
        limits[name] = None
        if name in table:
            try:
                limits[name] = _limit(str(table[name]), unit)
            except (LiteralError, UnitError) as error:
                reader.complain(f"{key}.{name}", str(error))
    said = [
        f"{name.replace('_', ' ')} {table[name]}"
        for name in ("at_least", "at_most", "resolution")
        if name in table
    ]
    what = f"number of {target}" if kind == "count" else target
    return Condition(
        kind,
        target,
        reason,
        f"{what}: {', '.join(said)}",
        limits["at_least"],
        limits["at_most"],
        limits["resolution"],
        unit,
    )


def _limit(text: str, unit: Unit | None) -> fmpq:
    literal = read_literal(text)
    if not isinstance(literal.value, fmpq):
        raise UnitError(text, 0, "must be a rational number", "write a decimal")
    if not literal.unit_text:
        return literal.value
    own = read_unit(literal.unit_text)
    if unit is None or own.dimension != unit.dimension:
        raise UnitError(text, 0, "does not fit the unit of the input", "use that unit")
    if own.pi_power != unit.pi_power:
        raise UnitError(text, 0, "must be in the unit of the input", f"use {unit.name}")
    return literal.value * own.factor / unit.factor
