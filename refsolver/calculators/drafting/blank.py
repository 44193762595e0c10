"""A blank calculator file for a calculator that cannot be looked into: every number listed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from refsolver.calculators.drafting.slots import (
    Slot,
    input_slots,
    output_slots,
    required_givens,
)
from refsolver.calculators.drafting.toml_text import comment, guess, line, quoted
from refsolver.calculators.drafting.writing import Draft, head_lines
from refsolver.quantities.dimensions import ANGLE, NUMBER
from refsolver.quantities.units import UnitSystem
from refsolver.statics.contract import Family
from refsolver.statics.registry import family

__all__ = ["blank_draft"]


def blank_draft(kind: str, names: Sequence[str], *, function: str = "", title: str) -> Draft:
    """A draft of a ``command``, ``python`` or ``sheet`` calculator for these families.

    What every case states and one answer of each kind stand as tables to be filled in; the
    rest is listed in comments. ``function`` is ``module:function``. Raises UnknownFamily.
    """
    text = [*head_lines(title), *_kind(kind, function)]
    for name in names:
        text += _family(family(name), kind)
    return Draft("\n".join(text) + "\n", names[0])


def _kind(kind: str, function: str) -> list[str]:
    if kind == "python":
        return [
            *comment("It gets one dictionary and returns one; `place` names their entries: "
                     '"pulls[*].size" is the size of each row of pulls. Return value alone: "."'),
            "[python]",
            *line("function", quoted(function), "the module lies beside this file"),
            "",
        ]  # fmt: skip
    if kind == "sheet":
        return [
            *comment("`refsolver sheet THIS` writes the blank answer sheet; check reads it back "
                     "filled in. `place` is a short name of your own for what is typed or read."),
            "[sheet]",
            *line("file", quoted("filled.xlsx")),
            "",
        ]  # fmt: skip
    return [
        *comment("The program and its arguments, no shell. JSON goes to its standard input and is "
                 "read from its standard output, `place` names the entries; for a text format of "
                 "its own see the demonstration's program."),
        "[command]",
        f"argv = [{guess()}]",
        *line("program_files", "[]", "their hashes go into the record"),
        "",
    ]  # fmt: skip


def _family(owner: Family, kind: str) -> list[str]:
    inputs, outputs = input_slots(owner), output_slots(owner)
    needed = set(required_givens(owner))
    text = ["[[family]]", *line("name", quoted(owner.name), owner.title), ""]
    for of in dict.fromkeys(slot.of for slot in inputs):
        slots = [slot for slot in inputs if slot.of == of]
        if of in needed:
            for slot in _usual(slots):
                text += [*_input(slot, slots, kind), ""]
    optional = [s for s in dict.fromkeys(inputs) if s.of not in needed and s.shape != "text"]
    text += _optional(optional)
    for of in list(dict.fromkeys(slot.of for slot in outputs))[:1]:
        slots = [slot for slot in outputs if slot.of == of]
        for slot in _usual(slots):
            text += [*_output(slot, slots, kind), ""]
    text += _others(owner, outputs)
    return text


def _usual(slots: Sequence[Slot]) -> list[Slot]:
    """The parts that state the whole: size and direction, all coordinates, or the one value."""
    first = slots[0]
    if any(slot.take == "magnitude" for slot in slots) and any(s.take == "angle" for s in slots):
        return [next(s for s in slots if s.take == take) for take in ("magnitude", "angle")]
    if any(slot.take == "component" for slot in slots):
        return [slot for slot in slots if slot.take == "component"]
    return [slot for slot in slots if slot.take == first.take and slot.part == first.part]


def _input(slot: Slot, beside: Sequence[Slot], kind: str) -> list[str]:
    text = ["[[family.input]]", *line("given", quoted(slot.of), slot.says)]
    text += _take(slot, beside)
    text += _numbers(slot)
    if slot.shape == "choice":
        words = ", ".join(f"{quoted(word)} = {guess()}" for word in slot.choices)
        text += [*comment("its words for ours"), f"words = {{ {words} }}"]
    if kind == "sheet" and slot.dimension is not None:
        text += line("decimals", guess(), "how many a person types: 0, 1, 2 ...")
    return [*text, *_place(slot, kind)]


def _output(slot: Slot, beside: Sequence[Slot], kind: str) -> list[str]:
    text = ["[[family.output]]", *line("answer", quoted(slot.of), slot.says)]
    if slot.part:
        text += [*line("pick", "1"), *line("part", quoted(slot.part))]
    if slot.row:
        text += line("key", guess(), 'its name or number, or "*" for one a row')
    if slot.shape == "function":
        text += line("at", guess(), 'at which place: "2 ft"')
    text += _take(slot, beside)
    text += _numbers(slot)
    text += _place(slot, kind)
    if slot.shape == "choice":
        words = f'"its word" = {guess()}'
        return [*text, *comment(f"ours: {', '.join(slot.choices)}"), f"words = {{ {words} }}"]
    return [
        *text,
        *comment("how far it may lie off, and why: relative, absolute, or rounded_to with manner"),
        f"criterion = {{ absolute = {guess()}, reason = {guess()} }}",
    ]


def _take(slot: Slot, beside: Sequence[Slot]) -> list[str]:
    others = [take for take in dict.fromkeys(s.take for s in beside) if take != slot.take]
    if slot.shape in ("choice", "text", "integer"):
        return []
    text = line("take", quoted(slot.take), f"or: {', '.join(others)}" if others else "")
    return [*text, *(line("along", guess(slot.along)) if slot.along else [])]


def _numbers(slot: Slot) -> list[str]:
    text: list[str] = []
    if slot.take in ("angle", "azimuth"):
        text += line("from", guess(), 'the axis it is counted from: "+x", "-x", "+y", "-y"')
        text += line("toward", guess(), "the axis it turns toward")
        text += line("range", guess(), "-180..180 or 0..360")
    if slot.take == "value" and "positive" in slot.says and slot.dimension != NUMBER:
        text += line("negate", guess(), "false where it is counted as above, true the other way")
    if slot.dimension is None or slot.dimension == NUMBER:
        return text
    return [*text, *line("unit", guess(), f"of {slot.dimension.name}: {_units(slot)}")]


def _units(slot: Slot) -> str:
    """A unit of the dimension in each of two usual systems."""
    from refsolver.quantities.units import read_unit

    assert slot.dimension is not None
    if slot.dimension == ANGLE:
        return "deg, rad"
    systems = [
        UnitSystem(read_unit(force), read_unit(length))
        for force, length in (("N", "m"), ("lbf", "ft"))
    ]
    return ", ".join(system.unit(slot.dimension).name for system in systems)


def _place(slot: Slot, kind: str) -> list[str]:
    row = {
        "sheet": '"pull *": one a row',
        "python": '"rows[*].entry"',
        "command": '"rows[*].entry"',
    }
    return [
        *line("place", guess(), f"one a row: {row[kind]}" if slot.row else "where it goes"),
        *line("says", guess(), "quote the calculator's own words for it"),
    ]


def _optional(slots: Sequence[Slot]) -> Iterator[str]:
    if not slots:
        return
    yield from comment(
        "Not every case states these; a case that does is not applicable unless they are mapped:"
    )
    for of in dict.fromkeys(slot.of for slot in slots):
        mine = [slot for slot in slots if slot.of == of]
        takes = ", ".join(dict.fromkeys(slot.take for slot in mine))
        words = f" ({', '.join(mine[0].choices)})" if mine[0].choices else ""
        yield from comment(f"  {of}: {mine[0].says}{words} (take: {takes})")
    yield ""


def _others(owner: Family, slots: Sequence[Slot]) -> Iterator[str]:
    yield from comment("All answers; write one [[family.output]] for each that it gives:")
    for name, answer in owner.answers.items():
        takes = ", ".join(dict.fromkeys(slot.take for slot in slots if slot.of == name))
        yield from comment(f"  {name}: {answer.says} (take: {takes})")
    yield ""
