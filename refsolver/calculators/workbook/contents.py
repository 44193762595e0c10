"""What an .xlsx or .xlsm workbook contains, read without running it."""

from __future__ import annotations

import contextlib
import datetime
import hashlib
import io
import warnings
import zipfile
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, Literal, TypeAlias

import attrs
import openpyxl
from openpyxl.utils.datetime import CALENDAR_MAC_1904, CALENDAR_WINDOWS_1900, to_excel
from openpyxl.worksheet.formula import ArrayFormula, DataTableFormula

from refsolver.calculators.workbook.engine import (
    BooleanCell,
    CellValue,
    ErrorCell,
    NumberCell,
    TextCell,
)
from refsolver.calculators.workbook.files import (
    WorkbookUnreadable,
    kind_of_workbook,
)
from refsolver.calculators.workbook.references import (
    Area,
    CellRef,
    WorkbookNames,
    parse_area,
)
from refsolver.calculators.workbook.tables import Table
from refsolver.calculators.workbook.validation import Validation, read_validations

__all__ = [
    "Formula",
    "FormulaKind",
    "WorkbookContents",
    "read_contents",
    "read_openpyxl",
    "serial_number",
    "value_of",
]

FormulaKind: TypeAlias = Literal["plain", "array", "data table"]
MACROS = "xl/vbaProject.bin"


@attrs.frozen
class Formula:
    """A formula's text (with its ``=``) and the cells its result fills.

    ``text`` of a data table is ``=TABLE(row input, column input)`` with the cells' names.
    """

    text: str
    kind: FormulaKind
    area: Area


@attrs.frozen
class WorkbookContents:
    """Everything in a workbook that bears on its results.

    ``formulas`` are by the cell that holds them; ``filled`` leads from every other cell an
    array formula or data table fills to that cell. ``constants`` are the cells typed in,
    dates as serial numbers. ``locked_sheets`` are protected; ``unlocked`` are the cells with
    contents or a format that may be typed into there all the same. ``external_links`` are
    the targets of ``[1]``, ``[2]`` ... in formulas. ``macros`` is the SHA-256 of the macro
    project, None without one. ``defined`` names leave out the programs' own (print areas).
    ``validations`` are the rules for what may be typed into cells.
    """

    names: WorkbookNames
    hidden_sheets: tuple[str, ...]
    formulas: dict[CellRef, Formula]
    filled: dict[CellRef, CellRef]
    constants: dict[CellRef, CellValue]
    merged: tuple[Area, ...]
    tables: dict[str, Table]
    locked_sheets: frozenset[str]
    unlocked: frozenset[CellRef]
    external_links: tuple[str, ...]
    macros: str | None
    dates_from_1904: bool
    iterative: str | None
    precision_as_displayed: bool
    validations: tuple[Validation, ...]

    def formula_at(self, cell: CellRef) -> Formula | None:
        """The formula whose result stands in ``cell``."""
        return self.formulas.get(self.filled.get(cell, cell))

    def merged_under(self, cell: CellRef) -> CellRef | None:
        """The merged cell that covers ``cell``, where it is another one."""
        for area in self.merged:
            anchor = CellRef(area.sheet, area.top, area.left)
            if area.holds(cell) and cell != anchor:
                return anchor
        return None


def read_contents(path: Path) -> WorkbookContents:
    """Read the workbook at ``path``; :class:`~.files.WorkbookUnreadable` where that fails.

    An .ods or .xls workbook is converted first: see :func:`~.office.converted_to_xlsx`.
    """
    book = read_openpyxl(path)
    try:
        return _contents(path, book)
    except Exception as error:  # a part that openpyxl let through in a state nobody expects
        raise WorkbookUnreadable(path, _DAMAGED.format(error)) from error


_DAMAGED = (
    "is damaged or uses features that cannot be read ({}); open it in the program of use and save "
    "it again"
)


def _contents(path: Path, book: Any) -> WorkbookContents:
    formulas: dict[CellRef, Formula] = {}
    constants: dict[CellRef, CellValue] = {}
    unlocked: set[CellRef] = set()
    for cell, raw in _cells(book):
        formula = _formula(cell, raw)
        if formula is not None:
            formulas[cell] = formula
        elif (value := value_of(raw, book.epoch)) is not None:
            constants[cell] = value
        if not raw.protection.locked:
            unlocked.add(cell)
    filled = {
        inner: cell
        for cell, formula in formulas.items()
        if formula.kind != "plain"
        for inner in formula.area.cells()
        if inner != cell
    }
    calculation = book.calculation
    iterative = f"{calculation.iterateCount} {calculation.iterateDelta}"
    return WorkbookContents(
        names=_names(book),
        hidden_sheets=tuple(s.title for s in book.worksheets if s.sheet_state != "visible"),
        formulas=formulas,
        filled=filled,
        constants={cell: value for cell, value in constants.items() if cell not in filled},
        merged=tuple(_area(s.title, str(r)) for s in book.worksheets for r in s.merged_cells),
        tables={table.name.casefold(): table for table in _tables(book)},
        locked_sheets=frozenset(s.title for s in book.worksheets if s.protection.sheet),
        unlocked=frozenset(unlocked),
        external_links=tuple(_target(link) for link in book._external_links),
        macros=_macros(path),
        dates_from_1904=book.epoch == CALENDAR_MAC_1904,
        iterative=iterative if calculation.iterate else None,
        precision_as_displayed=calculation.fullPrecision is False,
        validations=read_validations(path, book),
    )


def read_openpyxl(path: Path, **how: Any) -> Any:
    """openpyxl's own reading of the workbook; :class:`~.files.WorkbookUnreadable` if it fails."""
    kind = kind_of_workbook(path)
    if kind not in ("xlsx", "xlsm"):
        raise WorkbookUnreadable(
            path, f"its formulas are read from .xlsx only; convert the .{kind} workbook first"
        )
    try:
        # on a style that is not there openpyxl prints, into what a program may be reading
        silent = contextlib.redirect_stdout(io.StringIO())
        with warnings.catch_warnings(), silent, path.open("rb") as file:
            warnings.simplefilter("ignore")
            return openpyxl.load_workbook(file, **how)
    except Exception as error:  # whatever openpyxl meets in a malformed part, it lets through
        raise WorkbookUnreadable(path, _DAMAGED.format(error)) from error


def value_of(raw: Any, epoch: datetime.datetime) -> CellValue | None:
    """The value of an openpyxl cell that holds no formula; None for an empty one."""
    value = raw.value
    if value is None:
        return TextCell("") if raw.data_type == "str" else None
    if isinstance(value, bool):
        return BooleanCell(value)
    if isinstance(value, int | float):
        return NumberCell(float(value))
    if isinstance(value, datetime.date | datetime.time | datetime.timedelta):
        return serial_number(value, epoch)
    return ErrorCell(value) if raw.data_type == "e" else TextCell(str(value))


def serial_number(
    value: datetime.date | datetime.time | datetime.timedelta,
    epoch: datetime.datetime = CALENDAR_WINDOWS_1900,
) -> NumberCell:
    """A date, time or duration as the number of days since the workbook's epoch."""
    convert: Callable[..., float] = to_excel
    return NumberCell(float(convert(value, epoch)))


def _names(book: Any) -> WorkbookNames:
    defined: dict[tuple[str | None, str], str] = {}
    for scope, names in [(None, book.defined_names)] + [
        (sheet.title, sheet.defined_names) for sheet in book.worksheets
    ]:
        for name, definition in names.items():
            if not name.startswith("_xlnm.") and definition.attr_text is not None:
                defined[scope, name] = definition.attr_text
    return WorkbookNames(tuple(s.title for s in book.worksheets), defined)


def _cells(book: Any) -> Iterator[tuple[CellRef, Any]]:
    for sheet in book.worksheets:
        for (row, column), raw in sorted(sheet._cells.items()):
            yield CellRef(sheet.title, row, column), raw


def _formula(cell: CellRef, raw: Any) -> Formula | None:
    value = raw.value
    if isinstance(value, ArrayFormula):
        return Formula(_with_equals(value.text or ""), "array", _area(cell.sheet, value.ref))
    if isinstance(value, DataTableFormula):
        inputs = [r for r in (value.r1, value.r2) if r]
        return Formula(f"=TABLE({','.join(inputs)})", "data table", _area(cell.sheet, value.ref))
    if raw.data_type != "f":
        return None
    return Formula(value, "plain", Area(cell.sheet, cell.row, cell.column, cell.row, cell.column))


def _with_equals(text: str) -> str:
    return text if text.startswith("=") else "=" + text


def _area(sheet: str, text: str) -> Area:
    bounds = parse_area(text)
    if bounds is None:
        raise ValueError(f"{text!r} is no range")
    return Area(sheet, *bounds)


def _tables(book: Any) -> Iterator[Table]:
    for sheet in book.worksheets:
        for table in sheet.tables.values():
            yield Table(
                table.displayName,
                _area(sheet.title, table.ref),
                tuple(column.name for column in table.tableColumns),
                1 if table.headerRowCount is None else table.headerRowCount,
                table.totalsRowCount or 0,
            )


def _target(link: Any) -> str:
    return str(link.file_link.Target) if link.file_link is not None else "unknown"


def _macros(path: Path) -> str | None:
    with zipfile.ZipFile(path) as package:
        if MACROS not in package.namelist():
            return None
        return hashlib.sha256(package.read(MACROS)).hexdigest()
