"""The draft itself: a commented calculator file for a workbook."""

from __future__ import annotations

import os
from collections.abc import Sequence
from pathlib import Path

import attrs

from refsolver.calculators.drafting.fields import Field, Fields, find_fields
from refsolver.calculators.drafting.lines import (
    Notes,
    input_lines,
    output_lines,
    unmatched_input,
    unmatched_output,
)
from refsolver.calculators.drafting.matching import Fit, fit, ranked
from refsolver.calculators.drafting.scoring import texts_in
from refsolver.calculators.drafting.slots import Slot, input_slots
from refsolver.calculators.drafting.toml_text import comment, guess, line, quoted
from refsolver.calculators.drafting.words import tokens
from refsolver.calculators.drafting.worksheet import Worksheets, read_worksheets
from refsolver.calculators.file import CalculatorFileError
from refsolver.calculators.undecided import MARK
from refsolver.quantities.dimensions import ANGLE, NUMBER, Dimension
from refsolver.quantities.units import Unit
from refsolver.statics.contract import Family
from refsolver.statics.registry import families, family

__all__ = ["Draft", "draft_workbook", "head_lines", "write_draft"]

_MOST_LEFT = 12
"""Places not recognised that get a table each; the rest are listed."""

_SHOWN = 5


@attrs.frozen
class Draft:
    """The text of a draft, and how the families ranked where none was named."""

    text: str
    family: str
    """The first family it is for."""
    ranking: tuple[tuple[str, str], ...] = ()
    """(family, why), the best first."""

    @property
    def to_decide(self) -> int:
        """How many marks stand in it."""
        return sum(
            row.count(f'"{MARK}"') + row.count(f'"{MARK}: ')
            for row in self.text.splitlines()
            if not row.startswith("#")
        )


def draft_workbook(workbook: Path, target: Path, names: Sequence[str] = ()) -> Draft:
    """A draft for the workbook, to be written to ``target``; for these families if named.

    Raises CalculatorFileError where the workbook cannot be read, computes nothing or fits
    no family; UnknownFamily.
    """
    wanted = [family(name) for name in names]
    sheets = read_worksheets(workbook)
    fields = find_fields(sheets)
    title = " ".join(text for sheet in sheets.contents.names.sheets for text in sheets.texts(sheet))
    if not fields.inputs or not fields.outputs:
        raise CalculatorFileError(
            f"{workbook}: no labelled {'input' if not fields.inputs else 'result'} was found; "
            "write the file by hand (the demonstration's are commented line by line)"
        )
    fits, ranking = _chosen(wanted, fields, title, workbook)
    file = os.path.relpath(workbook.resolve(), target.resolve().parent)
    text = [
        *head_lines(workbook.stem),
        *_noticed(sheets),
        "[workbook]",
        *line("file", quoted(Path(file).as_posix())),
        "",
        *_refusals(fits),
    ]
    for each in fits:
        text += _family(each, fields, sheets, guessed=not wanted)
    if ranking:
        text += ["", *comment("Families by fit, the best first:")]
        text += [row for name, why in ranking for row in comment(f"{name}: {why}")]
    return Draft("\n".join(text) + "\n", fits[0].family.name, ranking)


def _chosen(
    wanted: Sequence[Family], fields: Fields, title: str, workbook: Path
) -> tuple[list[Fit], tuple[tuple[str, str], ...]]:
    if wanted:
        return [fit(each, fields, title) for each in wanted], ()
    fits = ranked(list(families().values()), fields, title)
    if not fits:
        raise CalculatorFileError(
            f"{workbook}: no family fits its labels and units; say --family "
            "(refsolver cases --families lists them)"
        )
    return fits[:1], tuple((each.family.name, each.why()) for each in fits[:_SHOWN])


def head_lines(name: str) -> list[str]:
    """The opening comment and the ``[calculator]`` table of a draft."""
    return [
        *comment(
            f'A draft. Settle every "{MARK}": where a guess stands behind it ("{MARK}: +y") '
            f'strike "{MARK}: " if it is right; else write what holds. The file is refused, with '
            "the line, until all are settled. Then look at one case: refsolver check THIS --trial "
            "CASE."
        ),
        "",
        "[calculator]",
        *line("name", guess(name), "what the report calls it"),
        *line("version", guess()),
        *line("owner", guess(), "who answers for it"),
        "",
    ]


def _noticed(sheets: Worksheets) -> list[str]:
    """What a reader should know of the workbook before mapping it."""
    contents = sheets.contents
    text: list[str] = []
    if contents.macros is not None:
        text += comment("It holds macros; they are never run.")
    if contents.hidden_sheets:
        text += comment(f"Hidden sheets: {', '.join(contents.hidden_sheets)}.")
    if contents.external_links:
        text += comment(f"Its formulas read other files: {', '.join(contents.external_links)}.")
    return text


def _refusals(fits: Sequence[Fit]) -> list[str]:
    texts = [
        text
        for each in fits
        for match in each.outputs
        if match.slot.shape != "choice"
        for text in texts_in(match.field.formula)
    ]
    if not texts:
        return []
    listed = ", ".join(guess(text) for text in dict.fromkeys(texts))
    return [
        *comment("Texts in the formulas of results: keep those that mean that it declines."),
        "[refusals]",
        f"texts = [{listed}]",
        "",
    ]


def _family(each: Fit, fields: Fields, sheets: Worksheets, *, guessed: bool) -> list[str]:
    owner = each.family
    notes = _notes(each, fields, sheets)
    name = guess(owner.name) if guessed else quoted(owner.name)
    why = f"{owner.title}; {each.why()}" if guessed else owner.title
    text = ["[[family]]", *line("name", name, why)]
    text += _tables(each)
    text += ["", *_granted(each), *_scope(each)]
    for match in each.inputs:
        text += [*input_lines(match, notes), ""]
    granted = set(each.missing) if not each.left_inputs else _laid_out(each)
    for of in each.missing:
        text += [] if of in granted else [*_missing(of, owner), ""]
    for field in each.left_inputs[:_MOST_LEFT]:
        text += [*unmatched_input(field), ""]
    for match in each.outputs:
        text += [*output_lines(match, notes), ""]
    final = [field for field in each.left_outputs if field.final]
    for field in final[:_MOST_LEFT]:
        text += [*unmatched_output(field), ""]
    between = [field for field in each.left_outputs if not field.final]
    text += _listed("not proposed, on the way to other results", between)
    text += _listed("also read by formulas", each.left_inputs[_MOST_LEFT:])
    text += _listed("further results", final[_MOST_LEFT:])
    if fields.tables:
        text += comment(f"values are looked up in {', '.join(fields.tables)}: left as they are")
    return text


def _notes(each: Fit, fields: Fields, sheets: Worksheets) -> Notes:
    named = {field.says for field in (*fields.inputs, *fields.outputs)}
    units: dict[Dimension, set[Unit]] = {}
    for match in each.inputs:
        meaning = match.field.unit.meanings.get(match.slot.dimension or NUMBER)
        if meaning is not None:
            units.setdefault(meaning[0].dimension, set()).add(meaning[0])
    return Notes(
        {
            name: [text for text in sheets.notes(name) if text not in named]
            for name in sheets.contents.names.sheets
        },
        tuple(match.field.words for match in each.inputs if match.slot.dimension == ANGLE),
        {dimension: found.pop() for dimension, found in units.items() if len(found) == 1},
    )


def _tables(each: Fit) -> list[str]:
    """What a reader should weigh about a family's tables before the mapping lines."""
    if not any(m.slot.row and m.field.rows > 1 for m in each.inputs):
        return []
    return comment("gaps = true   # where a blank row may stand between used ones")


def _granted(each: Fit) -> list[str]:
    """What the calculator takes for granted: choices without a place, tables without any."""
    labels = [match.field.words for match in each.inputs]
    text: list[str] = []
    for slot in _granted_slots(each):
        found = _chosen_word(slot.choices, labels)
        why = f"{slot.says}: {', '.join(slot.choices)}"
        if found is None:
            text += line(_key(slot.of), guess(), why)
        else:
            text += line(_key(slot.of), guess(found[0]), f'guess, from "{found[1]}"; {why}')
    if not each.left_inputs:
        for slot in _not_left_for(each):
            text += line(_key(slot.of), guess(), slot.says)
    absent = _absent_tables(each)
    for table, slots in absent.items():
        text += comment(
            f"No place was found for the {table.replace('_', ' ')}: what each row is, or as which "
            f'other given ("{_another(each)}"). Strike rows that it does not have; go on with '
            f"{table}[3] where it has more."
        )
        for row in (1, 2):
            for slot in slots:
                _, _, leaf = slot.of.partition("[*]")
                why = f"{slot.says}: {', '.join(slot.choices)}" if slot.choices else slot.says
                text += line(_key(f"{table}[{row}]{leaf}"), guess(), why)
    if not text:
        return []
    why = "What the calculator takes for granted; cases that state otherwise are not applicable."
    return [*comment(why), "[family.fixed]", *text, "", *_counts(list(absent))]


def _counts(tables: Sequence[str]) -> list[str]:
    """How many rows a table has that the calculator takes for granted."""
    return [
        row
        for table in tables
        for row in (
            "[[family.scope]]",
            *line("count", quoted(table)),
            *line("at_least", guess(), "a whole number: as many as stand above"),
            *line("at_most", guess(), "the same"),
            *line("reason", guess()),
            "",
        )
    ]


def _absent_tables(each: Fit) -> dict[str, list[Slot]]:
    """Tables that every case states and that have no place at all, with what a row states."""
    slots = {slot.of: slot for slot in input_slots(each.family)}
    mapped = {match.slot.of.partition("[*]")[0] for match in each.inputs if match.slot.row}
    found: dict[str, list[Slot]] = {}
    for of in each.missing:
        table, is_row, _ = of.partition("[*]")
        if is_row and table not in mapped:
            found.setdefault(table, []).append(slots[of])
    return found


def _not_left_for(each: Fit) -> list[Slot]:
    """What every case states and nothing in the workbook is left for: it is taken for granted."""
    slots = {slot.of: slot for slot in input_slots(each.family)}
    laid_out = _laid_out(each)
    return [slots[of] for of in each.missing if of not in laid_out]


def _laid_out(each: Fit) -> set[str]:
    """The choices and the rows of absent tables that stand under ``[family.fixed]`` anyway."""
    tables = _absent_tables(each).values()
    return {slot.of for slots in (_granted_slots(each), *tables) for slot in slots}


def _another(each: Fit) -> str:
    """A given of the family that a row may be the same as, such as the length of a beam."""
    single = [m.slot.of for m in each.inputs if not m.slot.row]
    return single[0] if single else "another given"


def _granted_slots(each: Fit) -> list[Slot]:
    mapped = {match.slot.of for match in each.inputs}
    tables = {match.slot.of.partition("[*]")[0] for match in each.inputs if match.slot.row}
    return [
        slot
        for slot in input_slots(each.family)
        if slot.shape == "choice"
        and slot.of not in mapped
        and (not slot.row or slot.of.partition("[*]")[0] in tables)
    ]


def _chosen_word(choices: Sequence[str], labels: Sequence[str]) -> tuple[str, str] | None:
    """The choice whose own words stand in a label, and that label, where it is one alone."""
    found = {
        choice: label
        for choice in choices
        for label in labels
        if tokens(choice) and tokens(choice) <= tokens(label)
    }
    return next(iter(found.items())) if len(found) == 1 else None


def _key(pattern: str) -> str:
    return pattern if pattern.replace("_", "").isalnum() else quoted(pattern)


def _scope(each: Fit) -> list[str]:
    text: list[str] = []
    seen: set[str] = set()
    for match in each.inputs:
        table = match.slot.of.partition("[*]")[0]
        if not match.slot.row or table in seen:
            continue
        seen.add(table)
        rows = match.field.rows
        text += [
            "[[family.scope]]",
            *line("count", quoted(table)),
            *line("at_most", str(rows)),
            *line("reason", quoted(f"{match.field.cells} has {rows} row{'s' * (rows > 1)}")),
            "",
        ]
    return text


def _missing(of: str, owner: Family) -> list[str]:
    """A given that every case states and the workbook has no recognised place for."""
    slot = next(s for s in input_slots(owner) if s.of == of)
    return [
        "[[family.input]]",
        *comment(
            "Every case states this, and no place was found for it. Say where it goes (and take, "
            "unit and the rest), or delete this table and say under [family.fixed] what the "
            "calculator takes for granted (of one row too, or as another given is: see the "
            "README); cases that state otherwise are then not applicable."
        ),
        *line("given", quoted(of), slot.says),
        *line("place", guess()),
        *line("says", guess()),
    ]


def _listed(what: str, fields: Sequence[Field]) -> list[str]:
    if not fields:
        return []
    said = "; ".join(f"{f.cells} ({f.says})" if f.says else f.cells for f in fields[:40])
    return [*comment(f"{what}: {said}"), ""]


def write_draft(draft: Draft, target: Path) -> None:
    """Writes the draft, never over a file that is there. Raises CalculatorFileError."""
    try:
        with target.open("x", encoding="utf-8") as file:
            try:
                file.write(draft.text)
                file.flush()
            except BaseException:
                target.unlink(missing_ok=True)
                raise
    except FileExistsError:
        raise CalculatorFileError(
            f"{target}: is there already and is not written over; name another with --out"
        ) from None
