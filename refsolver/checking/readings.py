"""From what a calculator returned to a reading that can be judged.

A reading is a number (exact, in the output's unit), a word, a refusal, an error value, or
nothing. Text that cannot be read as one number with its unit is an error, never a guess.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Literal

import attrs
from flint import fmpq

from refsolver.calculators.file import Refusals
from refsolver.calculators.lines import OutputLine
from refsolver.calculators.numbertext import GROUP_BY_MARK, UnreadableNumber, read_number
from refsolver.quantities.dimensions import ANGLE
from refsolver.quantities.literals import LiteralError, read_literal
from refsolver.quantities.units import UnitError, read_unit

__all__ = ["Reading", "displayed_number", "readings_of", "reread"]


_NOT_KNOWN = (
    "what the cell shows is not known to the engine (a date, a condition in the number format, "
    "General with many digits): give the cell a plain number format, use "
    'engine = "office", or say judge = "stored"'
)
_BEYOND = fmpq(2) ** 1024
_OUT_OF_RANGE = "it lies beyond the range of double precision (1.8e308)"
_COMMA = '; where a comma is the decimal mark say decimal_mark = "," under [sheet]'


@attrs.frozen
class Reading:
    """One reading of one output.

    ``judged`` says which: "stored" (the value itself) or "displayed" (the text shown). Where
    both are judged, the text shown carries ``step``, one unit of its last printed digit: the
    number behind it is held to the criterion itself. Alone it carries none.
    """

    kind: Literal["number", "word", "refusal", "error", "blank"]
    judged: Literal["stored", "displayed"]
    text: str
    number: fmpq | None = None
    step: fmpq = attrs.field(factory=fmpq)
    why: str = ""
    by_hand: bool = False
    """Read off by a person, who may have slipped."""
    mark: str = "."
    """The decimal mark of the text."""


def readings_of(
    line: OutputLine, values: Mapping[str, Mapping[str, Any]], refusals: Refusals
) -> list[Reading]:
    """The readings that ``line.judge`` asks for; always at least one.

    Where the text shown is asked alone and is not known, that is a blank: the number behind
    it is another reading than the one whose acceptance was stated.
    """
    raw = values.get(line.place, {"blank": True})
    found: list[Reading] = []
    if line.judge == "displayed" and "number" in raw and "displayed" not in raw:
        return [Reading("blank", "displayed", "", why=_NOT_KNOWN)]
    if line.judge in ("stored", "both") or "displayed" not in raw:
        found.append(_completed(_stored(line, raw, refusals), line, values))
    if "displayed" in raw and line.judge in ("displayed", "both"):
        found.append(_completed(_displayed(line, raw, refusals), line, values))
    return found


def _stored(line: OutputLine, raw: Mapping[str, Any], refusals: Refusals) -> Reading:
    if "in_question" in raw:
        return Reading("blank", "stored", "", why=str(raw["in_question"]))
    if "refused" in raw:
        return Reading("refusal", "stored", str(raw["refused"]))
    if "error" in raw:
        code = str(raw["error"])
        kind: Literal["refusal", "error"] = "refusal" if code in refusals.errors else "error"
        return Reading(kind, "stored", code, why=f"the calculator shows {code}")
    if "text" in raw:
        mark = str(raw.get("mark", "."))
        read = _from_text(line, str(raw["text"]), "stored", refusals, mark)
        by_hand = bool(raw.get("by_hand"))
        hint = _COMMA if by_hand and mark == "." and "," in read.text and read.why else ""
        return attrs.evolve(read, by_hand=by_hand, mark=mark, why=read.why + hint)
    if "number" in raw:
        text = str(raw["number"])
        try:
            number = read_literal(text).value
        except LiteralError as error:
            return Reading("error", "stored", text, why=str(error))
        assert isinstance(number, fmpq)
        return Reading("number", "stored", text, -number if line.negate else number)
    if refusals.blank:
        return Reading("refusal", "stored", "", why="a blank counts as a refusal")
    return Reading("blank", "stored", "", why=str(raw.get("why", "")))


def _displayed(line: OutputLine, raw: Mapping[str, Any], refusals: Refusals) -> Reading:
    if "error" in raw or "blank" in raw:
        return attrs.evolve(_stored(line, raw, refusals), judged="displayed")
    return _from_text(line, str(raw["displayed"]), "displayed", refusals)


def _from_text(
    line: OutputLine,
    text: str,
    judged: Literal["stored", "displayed"],
    refusals: Refusals,
    mark: str = ".",
) -> Reading:
    stripped = text.strip()
    if any(stripped.lower() == t.lower() for t in refusals.texts):
        return Reading("refusal", judged, text)
    if not stripped:
        return Reading("refusal" if refusals.blank else "blank", judged, text)
    if line.unit is None and line.words:
        if stripped in line.words:
            return Reading("word", judged, line.words[stripped])
        known = ", ".join(line.words)
        return Reading("error", judged, text, why=f"{stripped!r} is none of its words: {known}")
    try:
        read = read_number(stripped, mark=mark, group=GROUP_BY_MARK[mark])
        number, factor = _value(read.number), _factor(line, read.unit)
    except (UnreadableNumber, UnitError, LiteralError) as error:
        if line.unit is None and not any(c.isdigit() for c in stripped):
            return Reading("word", judged, stripped)
        return Reading("error", judged, text, why=_in_a_line(error))
    # Where the text shown is all that is judged, its rounding is for the criterion to allow.
    alone = judged == "displayed" and line.judge == "displayed"
    step = fmpq(0) if alone else fmpq(10) ** -read.decimals * factor
    number = number * factor
    return Reading("number", judged, text, -number if line.negate else number, step)


def _in_a_line(error: Exception) -> str:
    """The message of an error without the drawing under the text."""
    if isinstance(error, UnitError):
        return f"cannot read the unit {error.text!r}: {error.why}; {error.mend}"
    return str(error)


def displayed_number(line: OutputLine, text: str | None, refusals: Refusals) -> Reading | None:
    """The reading of a displayed text where it is one number and nothing else."""
    if text is None:
        return None
    reading = _from_text(line, text, "displayed", refusals)
    return reading if reading.kind == "number" else None


def reread(line: OutputLine, reading: Reading, text: str) -> fmpq | None:
    """The number that another text would have been; None where it is none."""
    other = _from_text(line, text, reading.judged, Refusals(), reading.mark)
    return other.number


def _value(text: str) -> fmpq:
    value = read_literal(text).value
    assert isinstance(value, fmpq)
    return value


def _factor(line: OutputLine, unit: str) -> fmpq:
    """From the unit shown to the unit of the output line."""
    if not unit:
        return fmpq(1)
    shown = line.units.get(unit) or read_unit(unit, mass_words_are_force=line.unit is not None)
    if line.unit is None or shown.dimension != line.unit.dimension:
        wanted = "a plain number" if line.unit is None else line.unit.name
        raise UnitError(unit, 0, f"is shown where {wanted} is expected", "check the mapping")
    if shown.dimension == ANGLE and shown.pi_power != line.unit.pi_power:
        raise UnitError(unit, 0, "mixes radians and degrees", "map the unit that is shown")
    return shown.factor / line.unit.factor


def _completed(
    reading: Reading, line: OutputLine, values: Mapping[str, Mapping[str, Any]]
) -> Reading:
    """A number completed by the words that give its sense or quadrant, within what is judged."""
    if reading.number is not None and abs(reading.number) >= _BEYOND:
        return attrs.evolve(reading, kind="error", number=None, why=_OUT_OF_RANGE)
    for part in (line.sense, line.quadrant):
        if part is None or reading.kind != "number" or reading.number is None:
            continue
        raw = values.get(part.place, {})
        word = str(raw.get("text", raw.get("number", ""))).strip()
        if word not in part.words:
            known = ", ".join(part.words)
            return attrs.evolve(
                reading, kind="error", number=None,
                why=f"{part.place} shows {word!r}, which is none of: {known}",
            )  # fmt: skip
        signs = part.words[word]
        number = reading.number
        number = _full_angle(number, signs, line) if len(signs) == 2 else number * signs[0]
        reading = attrs.evolve(reading, number=number, text=f"{reading.text} {word}")
    return reading


def _full_angle(acute: fmpq, signs: tuple[int, ...], line: OutputLine) -> fmpq:
    """The angle from ``from`` toward ``toward`` that an acute angle and a quadrant state."""
    assert line.unit is not None and line.unit.pi_power
    return (acute if signs[0] > 0 else 1 / line.unit.factor - acute) * signs[1]
