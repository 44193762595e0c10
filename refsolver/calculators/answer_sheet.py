"""The answer sheet: for calculators that nobody can drive, filled in by a person.

An ``.xlsx`` with three sheets. *Head* asks for the device, its settings, the observer and
the date. *To type* has a row for each number to type in, with a cell for what was typed
where that differs. *To read* has a row for each answer to read off. Readings are kept as
text, exactly as written; the sheet never carries an expected value.
"""

from __future__ import annotations

import datetime
import io
from collections.abc import Callable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

import attrs
from openpyxl.worksheet.formula import ArrayFormula, DataTableFormula

from refsolver.calculators.workbook.contents import read_openpyxl
from refsolver.calculators.workbook.files import WorkbookUnreadable
from refsolver.catalogue.userfile import write_text

__all__ = ["FilledSheet", "ReadRow", "SheetCase", "SheetProblem", "read_sheet", "write_sheet"]

FORMAT = "refsolver answer sheet, version 1"

HEAD_KEYS = (
    "device", "app or program and version", "settings (units, angle mode, decimals)",
    "observer", "date", "remark",
)  # fmt: skip

TYPE_HEADS = (
    "no.", "case", "place", "the calculator's words", "type this", "unit", "convention",
    "typed otherwise",
)  # fmt: skip
READ_HEADS = (
    "no.", "case", "place", "the calculator's words", "unit and convention",
    "as shown (with unit)", "refused or warned: the text", "second reading", "remark",
    "corrected reading", "corrected by", "corrected on", "reason of correction",
)  # fmt: skip


class SheetProblem(ValueError):
    """An answer sheet that cannot be used; the message names sheet and cell."""


@attrs.frozen
class SheetCase:
    """A case as it stands on the sheet: texts only."""

    id: str
    title: str
    statement: str
    inputs: tuple[tuple[str, str, str, str, str], ...]
    """(place, words, what to type, unit, convention)."""
    outputs: tuple[tuple[str, str, str], ...]
    """(place, words, unit and convention)."""


@attrs.frozen
class ReadRow:
    """One answer as read off; every text exactly as written in the sheet.

    ``problem`` says why the row is in question ("" where it is not).
    """

    shown: str = ""
    refused: str = ""
    second: str = ""
    remark: str = ""
    corrected: str = ""
    corrected_by: str = ""
    corrected_on: str = ""
    correction_reason: str = ""
    problem: str = ""

    @property
    def text(self) -> str:
        """The reading that counts: the corrected one where there is one."""
        return self.corrected or self.shown


@attrs.frozen
class FilledSheet:
    """A sheet that was read back."""

    head: Mapping[str, str]
    cases: tuple[str, ...]
    typed: Mapping[tuple[str, str], str]
    read: Mapping[tuple[str, str], ReadRow]


def write_sheet(
    path: Path,
    calculator: Mapping[str, str],
    cases: Sequence[SheetCase],
    notes: Sequence[str],
    link: Callable[[int], str] | None = None,
) -> None:
    """A blank sheet for these cases, whole or not at all. ``notes`` stand on the head.

    ``link`` tells where the figure of a case lies; its number leads there.
    """
    from openpyxl import Workbook
    from openpyxl.styles import Alignment, Font, PatternFill, Protection

    book = Workbook()
    head = book.active
    assert head is not None
    head.title = "Head"
    bold, fill = Font(bold=True), PatternFill("solid", fgColor="FFF3D6")
    head.append(["Answer sheet", FORMAT])
    for key, value in calculator.items():
        head.append([key, value])
    head.append([])
    first = head.max_row + 1
    for key in HEAD_KEYS:
        head.append([key, ""])
    for row in range(first, first + len(HEAD_KEYS)):
        cell = head.cell(row, 2)
        cell.fill, cell.number_format = fill, "@"
        cell.protection = Protection(locked=False)
    head.append([])
    for note in notes:
        head.append([note])
    head.column_dimensions["A"].width, head.column_dimensions["B"].width = 44, 60
    for cells in head.iter_rows(min_col=1, max_col=1):
        cells[0].font = bold
    typing = _sheet(book, "To type", TYPE_HEADS)
    reading = _sheet(book, "To read", READ_HEADS)
    for number, case in enumerate(cases, 1):
        for inputs in case.inputs:
            typing.append([number, case.id, *inputs, ""])
        for outputs in case.outputs:
            reading.append([number, case.id, *outputs, *[""] * 8])
    for sheet, open_from in ((typing, 8), (reading, 6)):
        for row in sheet.iter_rows(min_row=2, min_col=1):
            for cell in row:
                cell.number_format = "@"
                cell.alignment = Alignment(vertical="top", wrap_text=True)
                if cell.column >= open_from:
                    cell.fill = fill
                    cell.protection = Protection(locked=False)
    cases_sheet = _sheet(book, "Cases", ("no.", "case", "title", "statement"))
    for number, case in enumerate(cases, 1):
        cases_sheet.append([number, case.id, case.title, case.statement])
    if link is not None:
        _link(link, (typing, reading, cases_sheet))
    for column, width in zip("ABCD", (6, 50, 40, 100), strict=True):
        cases_sheet.column_dimensions[column].width = width
    for cell in (cell for sheet in book.worksheets for cell in sheet._cells.values()):
        if cell.data_type == "f":  # words that begin with = are words all the same
            cell.data_type = "s"
    data = io.BytesIO()
    book.save(data)
    write_text(path, data.getvalue())


def _link(link: Callable[[int], str], sheets: Sequence[Any]) -> None:
    """The number of each case leads to its figure."""
    from openpyxl.styles import Font

    for sheet in sheets:
        for (cell,) in sheet.iter_rows(min_row=2, max_col=1):
            cell.hyperlink = link(int(cell.value))
            cell.font = Font(color="1D4ED8", underline="single")


def _sheet(book: Any, title: str, heads: Sequence[str]) -> Any:
    from openpyxl.styles import Alignment, Font

    sheet = book.create_sheet(title)
    sheet.append(list(heads))
    for cell in sheet[1]:
        cell.font = Font(bold=True)
        cell.alignment = Alignment(vertical="top", wrap_text=True)
    sheet.freeze_panes = "A2"
    sheet.print_title_rows = "1:1"
    sheet.page_setup.orientation = "landscape"
    sheet.page_setup.fitToHeight = 0
    sheet.sheet_properties.pageSetUpPr.fitToPage = True
    for index, head in enumerate(heads):
        width = 6 if head == "no." else 34 if head in ("case", "the calculator's words") else 18
        sheet.column_dimensions[chr(65 + index)].width = width
    return sheet


def read_sheet(path: Path) -> FilledSheet:
    """A filled (or half-filled) sheet. Raises SheetProblem where it is none of ours."""
    try:
        book = read_openpyxl(path)
    except WorkbookUnreadable as problem:
        raise SheetProblem(str(problem)) from None
    sheets = {sheet.title: sheet for sheet in book.worksheets}
    for name in ("Head", "To type", "To read"):
        if name not in sheets:
            raise SheetProblem(
                f"{path}: the sheet {name!r} is missing, so that this is no answer "
                "sheet; refsolver sheet writes one"
            )
    head_rows = {row: _texts(cells) for row, cells in _rows(sheets["Head"], 2).items()}
    if head_rows.get(1, ["", ""])[1] != FORMAT:
        raise SheetProblem(
            f"{path}: Head!B1 does not say {FORMAT!r}; refsolver sheet writes a sheet that does"
        )
    head = {texts[0]: texts[1] for row, texts in head_rows.items() if row > 1 and texts[0]}
    cases: dict[str, None] = {}
    typed: dict[tuple[str, str], str] = {}
    for key, cells in _keyed(path, sheets["To type"], TYPE_HEADS, cases):
        if text := _texts(cells)[7]:
            typed[key] = text
    read = {
        key: _row(_texts(cells), cells)
        for key, cells in _keyed(path, sheets["To read"], READ_HEADS, cases)
    }
    return FilledSheet(head, tuple(cases), typed, read)


def _rows(sheet: Any, width: int) -> dict[int, list[Any]]:
    """The cells of the first columns, by row, None where there is none; only rows with any.

    By the cells there are: a sheet may say that it is a million rows long.
    """
    found: dict[int, list[Any]] = {}
    for (row, column), cell in sorted(sheet._cells.items()):
        if column <= width:
            found.setdefault(row, [None] * width)[column - 1] = cell
    return found


def _texts(cells: Sequence[Any]) -> list[str]:
    return ["" if cell is None else _text(cell.value) for cell in cells]


def _keyed(
    path: Path, sheet: Any, heads: Sequence[str], cases: dict[str, None]
) -> Iterator[tuple[tuple[str, str], list[Any]]]:
    """Each row with its case and place; the cases are put into ``cases`` in order."""
    rows = _rows(sheet, len(heads))
    found = _texts(rows.pop(1, [None] * len(heads)))
    for index, head in enumerate(heads):
        if found[index] != head:
            where = f"{sheet.title}!{chr(65 + index)}1"
            raise SheetProblem(
                f"{path}: {where} should say {head!r}; columns were changed: put them back"
            )
    seen: dict[tuple[str, str], int] = {}
    for number, cells in rows.items():
        _, case, place, *_ = _texts(cells)
        if not case:
            continue
        before = seen.setdefault((case, place), number)
        if before != number:
            raise SheetProblem(
                f"{path}: {sheet.title}!B{number}: {case}, {place} stands in row {before} already; "
                "leave one row, and write a second reading into its column"
            )
        cases[case] = None
        yield (case, place), cells


def _row(texts: Sequence[str], cells: Sequence[Any]) -> ReadRow:
    row = ReadRow(*texts[5:13])
    for cell in cells[5:13]:
        if cell is not None and (cell.data_type == "f" or _text(cell.value).startswith("=")):
            return attrs.evolve(
                row, problem=f"{cell.coordinate} holds a formula; write what was read"
            )
    if row.corrected and not (row.corrected_by and row.corrected_on and row.correction_reason):
        return attrs.evolve(
            row, corrected="", problem="a correction needs name, date and reason; not used"
        )
    if not row.corrected and row.second and row.shown and row.second != row.shown:
        return attrs.evolve(row, problem="the two readings differ: read it again")
    if row.shown and row.refused and not row.corrected:
        return attrs.evolve(row, problem="says both a reading and a refusal: read it again")
    return row


def _text(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, ArrayFormula | DataTableFormula):
        return f"={getattr(value, 'text', '') or ''}".replace("==", "=")
    if isinstance(value, datetime.datetime | datetime.date):
        return value.isoformat()[:10]
    if isinstance(value, float) and value.is_integer():
        return str(int(value))
    return str(value).strip()
