"""The mapping lines of a draft: each number of a family, what is known of it, what is not."""

from __future__ import annotations

from collections.abc import Mapping

import attrs

from refsolver.calculators.drafting.fields import Field
from refsolver.calculators.drafting.matching import ASSUMED, Match
from refsolver.calculators.drafting.scoring import texts_in
from refsolver.calculators.drafting.slots import Slot
from refsolver.calculators.drafting.toml_text import comment, guess, line, quoted
from refsolver.calculators.drafting.words import angle_words, axis_in
from refsolver.calculators.places import parts_of
from refsolver.quantities.dimensions import ANGLE, NUMBER, Dimension
from refsolver.quantities.units import Unit
from refsolver.quantities.views import RANGES

__all__ = ["Notes", "input_lines", "output_lines", "unmatched_input", "unmatched_output"]

_PLANE_ANGLES = ("angle", "azimuth")

_NO_DIRECTION_IN = (
    "no direction is typed in: the axis along which it is taken to act, such as -y; cases in which "
    "it acts otherwise are not applicable"
)
_NO_DIRECTION_OUT = (
    "no direction comes out: the axis along which it counts positive, such as +y; or, of a size "
    'without a sign, take = "magnitude" and no line like this'
)


@attrs.frozen
class Notes:
    """What a workbook says beside a field's own label: each sheet's instructions, the labels of
    the angles typed in, and the units of the inputs, by dimension, where they are one."""

    by_sheet: dict[str, list[str]]
    angle_labels: tuple[str, ...] = ()
    units: Mapping[Dimension, Unit] = attrs.field(factory=dict)

    def beside(self, field: Field) -> list[str]:
        told = self.by_sheet.get(field.sheet, [])
        return [t for t in told if any(w in t.lower() for w in ("angle", "direction", "clockwise"))]


def input_lines(match: Match, notes: Notes) -> list[str]:
    """An ``[[family.input]]`` table."""
    field, slot = match.field, match.slot
    found = ["[[family.input]]"]
    found += _origin(field)
    found += _target("given", match)
    if slot.shape not in ("choice", "text", "integer"):
        found += _take(slot, field, _NO_DIRECTION_IN)
    found += _angle(slot, field, notes, outputs=False)
    found += _sense(slot)
    found += _unit(slot, field, {})
    found += _place(field)
    if slot.shape == "choice":
        words = ", ".join(f"{quoted(word)} = {guess()}" for word in slot.choices)
        found += comment("its words for ours; leave out those that it has no word for")
        found += [f"words = {{ {words} }}"]
    return found


def output_lines(match: Match, notes: Notes) -> list[str]:
    """An ``[[family.output]]`` table."""
    field, slot = match.field, match.slot
    found = ["[[family.output]]"]
    if not field.final:
        found += comment("other results use it; delete this table if it is none of its own")
    found += _origin(field)
    found += _target("answer", match)
    found += _key(slot, field)
    if slot.shape != "choice":
        found += _take(slot, field, _NO_DIRECTION_OUT)
    found += _angle(slot, field, notes, outputs=True)
    found += _sense(slot)
    found += _unit(slot, field, notes.units)
    found += _place(field)
    if slot.shape == "choice":
        found += comment(f"its words for ours; ours are: {', '.join(slot.choices)}")
        words = ", ".join(f"{quoted(w)} = {guess()}" for w in texts_in(field.formula)) or (
            f'"its word" = {guess()}'
        )
        return [*found, f"words = {{ {words} }}"]
    return [*found, *_criterion(field)]


def unmatched_input(field: Field) -> list[str]:
    """A place that feeds results and was not recognised."""
    return [
        "[[family.input]]",
        *comment(
            "Formulas read this place, and no given was recognised. Say which it is (with take, "
            "unit and the rest), or delete this table: the place then keeps what the file "
            "holds in every case."
        ),
        *_origin(field),
        *line("given", guess()),
        *_place(field),
    ]


def unmatched_output(field: Field) -> list[str]:
    """A result that was not recognised."""
    return [
        "[[family.output]]",
        *comment(
            "A result, and no answer was recognised. Say which it is (with take, unit and the "
            "rest), or delete this table: it is then not judged."
        ),
        *_origin(field),
        *line("answer", guess()),
        *_place(field),
        *_criterion(field),
    ]


def _origin(field: Field) -> list[str]:
    said = []
    if field.name:
        said.append(f"{field.name} is {field.cells}")
    if field.formula:
        said.append(f"{parts_of(field.cells)[0].split(':')[0]} is {field.formula}")
    elif field.holds:
        said.append(f"holds {field.holds} now")
    else:
        said.append("blank now")
    return comment("; ".join(said)[:400])


def _target(key: str, match: Match) -> list[str]:
    slot = match.slot
    value = quoted(slot.of) if match.sure else guess(slot.of)
    why = f"{slot.says}" + (f" [{match.why}]" if match.why else "")
    found = line(key, value, why)
    if match.others:
        found = [*comment(f"or: {', '.join(match.others[:4])}"), *found]
    if slot.part:
        found += [*line("pick", "1"), *line("part", quoted(slot.part))]
    return found


def _key(slot: Slot, field: Field) -> list[str]:
    found = []
    if slot.row:
        if field.rows > 1:
            found += line("key", '"*"', "one a row, in the order of the rows")
        else:
            found += line("key", guess(), 'which one: its name, its number, or "*" for each')
    if slot.shape == "function":
        found += line("at", guess(), 'at which place: "2 ft"')
    return found


def _take(slot: Slot, field: Field, no_direction: str) -> list[str]:
    found = line("take", quoted(slot.take)) if slot.take != "value" else []
    if not slot.along:
        return found
    if slot.along == ASSUMED:
        return [*found, *line("along", guess(), no_direction)]
    axis = axis_in(field.words)
    if axis is None:
        return [*found, *line("along", guess(slot.along))]
    return [*found, *line("along", guess(axis[0]), f'guess, from "{axis[1]}" in the label')]


def _angle(slot: Slot, field: Field, notes: Notes, *, outputs: bool) -> list[str]:
    """From which axis, in which sense, in which range: never more than a guess."""
    if slot.take not in _PLANE_ANGLES:
        return []
    labels = notes.angle_labels if outputs else ()
    own, beside = angle_words([field.words]), angle_words(notes.beside(field))
    inputs = angle_words(labels)
    whole = angle_words([field.words, *notes.beside(field), *labels])
    found = []
    for key, name in (("from", "start"), ("toward", "toward"), ("range", "range")):
        value: tuple[str, str] | None = getattr(whole, name)
        if key == "range" and own.range is None:
            value = _range_of(field.formula) or value
        places = (("the label", own), ("the sheet's notes", beside),
                  ("the label of the angles typed in", inputs))  # fmt: skip
        found_in = (said for said, words in places if getattr(words, name) == value)
        where = next(found_in, "the formula" if key == "range" else "the label and what is beside")
        if value is None:
            wanted = " or ".join(RANGES[:2]) if key == "range" else '"+x", "-x", "+y" or "-y"'
            about = {"from": "the axis it is counted from", "toward": "the axis it turns toward",
                     "range": "the range"}[key]  # fmt: skip
            found += line(key, guess(), f"no words found for {about}: {wanted}")
        else:
            found += line(key, guess(value[0]), f'guess, from "{value[1]}" in {where}')
    return found


def _range_of(formula: str) -> tuple[str, str] | None:
    text = formula.upper().replace(" ", "")
    if "MOD(" in text and ",360)" in text:
        return "0..360", "MOD(..., 360)"
    return ("-180..180", "ATAN2(...)") if "ATAN2(" in text else None


def _sense(slot: Slot) -> list[str]:
    """Whether a number that we count positive in a stated sense is counted so there."""
    if slot.take != "value" or "positive" not in slot.says or slot.dimension == NUMBER:
        return []
    why = f"false where it is counted as here ({slot.says}), true where the other way"
    return line("negate", guess(), why)


def _unit(slot: Slot, field: Field, like: Mapping[Dimension, Unit]) -> list[str]:
    dimension = slot.dimension
    if dimension is None or dimension == NUMBER:
        return []
    meaning = field.unit.meanings.get(dimension)
    if meaning is not None:
        unit, sure = meaning
        where = f'"{field.unit.text.strip("()[]")}" in {field.unit.where}'
        if sure:
            return line("unit", quoted(unit.name), where)
        return line("unit", guess(unit.name), f"guess, from {where}; {_a(dimension)} is wanted")
    if dimension == ANGLE and field.as_angle and _degrees(field):
        return line("unit", guess("deg"), "guess: formulas take or give it in degrees")
    if dimension in like:
        why = "guess: no unit stands by it; the inputs of its kind are in this one"
        return line("unit", guess(like[dimension].name), why)
    return line("unit", guess(), f"no unit found; {_a(dimension)} is wanted")


def _a(dimension: Dimension) -> str:
    return f"{'an' if dimension.name[0] in 'aeiou' else 'a'} {dimension.name}"


def _degrees(field: Field) -> bool:
    return not field.formula or "DEGREES(" in field.formula.upper() or "180" in field.formula


def _place(field: Field) -> list[str]:
    found = line("place", quoted(field.place))
    if field.says or field.name:
        return [*found, *line("says", quoted(field.says or field.name))]
    return [*found, *line("says", guess(), "no label found: quote the calculator's own words")]


def _criterion(field: Field) -> list[str]:
    shown = field.number_format
    known = f' The cell is shown as "{shown}".' if shown else ""
    return [
        *comment(
            "How far it may lie from the proven value, and why: relative, absolute (whichever "
            "is larger), or rounded_to with manner; there is no default." + known
        ),
        f"criterion = {{ absolute = {guess()}, reason = {guess()} }}",
    ]
