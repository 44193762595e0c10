"""One number that says whether two workbooks calculate by the same formulas."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Iterator
from pathlib import Path

from refsolver.calculators.workbook.contents import Formula, WorkbookContents, read_contents
from refsolver.calculators.workbook.engine import (
    BooleanCell,
    CellValue,
    NumberCell,
    cell_value_to_dict,
)
from refsolver.calculators.workbook.formulas import normal_form, number_text
from refsolver.calculators.workbook.references import (
    Area,
    CellRef,
    parse_area,
    quoted_sheet,
    split_sheet,
)
from refsolver.calculators.workbook.tables import structured_area

__all__ = ["formula_identity", "identity_lines"]

VERSION = "workbook formulas 1"


def formula_identity(path: Path, mapped_inputs: Iterable[CellRef] = ()) -> str:
    """SHA-256 over what a workbook calculates with.

    That is: its sheets' names in order, every formula, every typed-in cell that is no mapped
    input, the defined names, the calculation settings that change results (dates from 1904,
    iteration, precision as displayed) and the macros. Left out are stored results, mapped
    inputs, number formats and all appearance, hidden rows (though SUBTOTAL minds them) and
    the values remembered from linked workbooks.

    Saving the file again, in another program too, keeps the number wherever that program
    keeps the formulas: the case of functions, white space, ``$``, needless quotes and sheet
    names, the way numbers are written, digits beyond the fifteenth, structured references
    and shared formulas are brought to one form. A program that rewrites a formula in other
    words changes it.

    Raises :class:`~.files.WorkbookUnreadable`; .ods and .xls must be converted first.
    """
    lines = identity_lines(read_contents(path), mapped_inputs)
    return hashlib.sha256("\n".join(lines).encode()).hexdigest()


def identity_lines(
    contents: WorkbookContents, mapped_inputs: Iterable[CellRef] = ()
) -> Iterator[str]:
    """What :func:`formula_identity` hashes, one JSON line an item, to show what differs."""
    yield json.dumps([VERSION])
    yield json.dumps(["sheets", *contents.names.sheets])
    yield json.dumps(["settings", *_settings(contents)])
    for key, text in sorted(_names(contents)):
        yield json.dumps(["name", key, text])
    inputs = set(mapped_inputs)
    for cell in sorted(contents.formulas.keys() | contents.constants.keys()):
        if cell not in inputs:
            yield json.dumps([*cell, *_content(contents, cell)])


def _settings(contents: WorkbookContents) -> list[object]:
    return [
        contents.dates_from_1904,
        contents.iterative,
        contents.precision_as_displayed,
        contents.macros,
    ]


def _names(contents: WorkbookContents) -> Iterator[tuple[str, str]]:
    """Names keep their ``$``: without it a name means other cells in other places."""
    for (sheet, name), text in contents.names.defined.items():
        key = f"{sheet or ''}!{name}".upper()
        yield key, normal_form("=" + text.removeprefix("="), str.upper)


def _content(contents: WorkbookContents, cell: CellRef) -> list[object]:
    formula = contents.formulas.get(cell)
    if formula is None:
        return ["value", _typed_in(contents.constants[cell])]
    text = normal_form(formula.text, lambda reference: _reference(contents, cell, reference))
    if text in ("TRUE", "FALSE"):  # how some programs write a typed-in truth value
        return ["value", _typed_in(BooleanCell(text == "TRUE"))]
    return ["formula", formula.kind, _extent(formula), text]


def _typed_in(value: CellValue) -> dict[str, object]:
    if isinstance(value, NumberCell):
        return {"number": number_text(value.value)}
    return cell_value_to_dict(value)


def _extent(formula: Formula) -> str | None:
    return None if formula.kind == "plain" else str(formula.area)


def _reference(contents: WorkbookContents, cell: CellRef, text: str) -> str:
    """An operand in normal form: upper case, no ``$``, the sheet only where it is another."""
    if (area := structured_area(text, contents.tables, cell)) is not None:
        return _on_sheet(area.sheet, str(area).rpartition("!")[2], cell)
    sheet, rest = split_sheet(text)
    if sheet is not None and sheet.startswith("["):
        sheet = _linked(contents, sheet)
    bounds = parse_area(rest)
    if bounds is not None:
        rest = str(Area("S", *bounds)).rpartition("!")[2]
    return _on_sheet(sheet, rest.upper(), cell)


def _on_sheet(sheet: str | None, rest: str, cell: CellRef) -> str:
    if sheet is None or sheet.casefold() == cell.sheet.casefold():
        return rest
    return f"{quoted_sheet(sheet).upper()}!{rest}"


def _linked(contents: WorkbookContents, sheet: str) -> str:
    """``[1]Loads`` with the linked file's name in place of its number."""
    number, _, rest = sheet[1:].partition("]")
    if number.isdigit() and 0 < int(number) <= len(contents.external_links):
        number = contents.external_links[int(number) - 1].replace("\\", "/").rpartition("/")[2]
    return f"[{number}]{rest}"
