"""A workbook as a draft needs it: who reads which cell, what stands beside, above, below."""

from __future__ import annotations

import re
import tempfile
from collections.abc import Iterator
from pathlib import Path

from refsolver.calculators.file import CalculatorFileError
from refsolver.calculators.workbook.contents import WorkbookContents, read_contents, read_openpyxl
from refsolver.calculators.workbook.engine import (
    CellValue,
    EngineAbsent,
    EngineFailure,
    EngineRefused,
    TextCell,
)
from refsolver.calculators.workbook.files import WorkbookUnreadable, kind_of_workbook
from refsolver.calculators.workbook.graph import DependencyGraph
from refsolver.calculators.workbook.office import converted_to_xlsx
from refsolver.calculators.workbook.references import (
    Area,
    CellRef,
    column_letters,
    column_number,
    parse_area,
    quoted_sheet,
    split_sheet,
)

__all__ = ["Worksheets", "read_worksheets", "relative_form"]

_MOST_CELLS = 2000
"""Cells of one range that are looked at one by one; a larger range is no table of inputs."""

_LOOKUPS = frozenset({"VLOOKUP", "HLOOKUP", "LOOKUP", "XLOOKUP", "INDEX", "MATCH"})

_REFERENCE = re.compile(r"\$?[A-Za-z]{1,3}\$?[1-9][0-9]*")


class Worksheets:
    """The cells of a workbook and what reads them; nothing is run."""

    def __init__(self, contents: WorkbookContents, formats: dict[CellRef, str]) -> None:
        self.contents = contents
        self.formats = formats
        self.graph = DependencyGraph(contents)
        self.readers: dict[CellRef, set[tuple[str, int, int]]] = {}
        """By cell: the formulas that name it alone, as (their relative form, rows, columns off)."""
        self.ranges: dict[CellRef, set[Area]] = {}
        """By cell: the ranges of several cells that hold it."""
        self.looked_up: set[Area] = set()
        self.turned_ranges: set[Area] = set()
        """Ranges that stand alone in RADIANS."""
        self._follow()
        self.names = self._cell_names()

    def _follow(self) -> None:
        for cell, formula in self.contents.formulas.items():
            reads = self.graph.reads(cell)
            form = relative_form(formula.text, cell)
            for area in reads.areas if reads is not None else ():
                if area.size() == 1:
                    (read,) = area.cells()
                    off = (cell.row - read.row, cell.column - read.column)
                    self.readers.setdefault(read, set()).add((form, *off))
                elif area.size() <= _MOST_CELLS:
                    if _turns(formula.text, area):
                        self.turned_ranges.add(area)
                    if reads is not None and reads.functions & _LOOKUPS:
                        self.looked_up.add(area)
                    for read in area.cells():
                        self.ranges.setdefault(read, set()).add(area)

    def _cell_names(self) -> dict[Area, str]:
        """The defined names that mean a cell or a range, as a calculator file writes them."""
        found: dict[Area, str] = {}
        for (scope, name), text in self.contents.names.defined.items():
            sheet, rest = split_sheet(text)
            bounds = parse_area(rest)
            if sheet is not None and bounds is not None:
                found[Area(sheet, *bounds)] = f"{quoted_sheet(scope)}!{name}" if scope else name
        return found

    def turned(self, cell: CellRef) -> bool:
        """A formula takes this cell, or its row's, in RADIANS, or a range that holds it."""
        return any(
            self._in_radians(form, cell, down, across)
            for form, down, across in self.readers.get(cell, ())
        ) or any(area in self.turned_ranges for area in self.ranges.get(cell, ()))

    @staticmethod
    def _in_radians(form: str, cell: CellRef, down: int, across: int) -> bool:
        own = f"C[{-across}]R[{-down}]"
        fixed = f"${column_letters(cell.column)}${cell.row}"
        sheet = f"{quoted_sheet(cell.sheet)}!"
        turns = ("RADIANS({})", "{}*PI()")
        places = (own, fixed, sheet + own, sheet + fixed)
        return any(turn.format(text) in form for text in places for turn in turns)

    def is_formula(self, cell: CellRef) -> bool:
        return self.contents.formula_at(cell) is not None

    def is_read(self, cell: CellRef) -> bool:
        return cell in self.readers or cell in self.ranges

    def value(self, cell: CellRef) -> CellValue | None:
        return self.contents.constants.get(cell)

    def text(self, cell: CellRef) -> str:
        """The text typed into a cell, "" where there is none."""
        value = self.value(cell)
        return " ".join(value.text.split()) if isinstance(value, TextCell) else ""

    def is_empty(self, cell: CellRef) -> bool:
        return self.value(cell) is None and not self.is_formula(cell)

    def typed(self) -> Iterator[CellRef]:
        """Cells without a formula that formulas read, in reading order."""
        for cell in sorted({*self.readers, *self.ranges}):
            if cell.sheet in self.contents.names.sheets and not self.is_formula(cell):
                yield cell

    def texts(self, sheet: str) -> list[str]:
        """The texts of a sheet, in reading order."""
        cells = (cell for cell in sorted(self.contents.constants) if cell.sheet == sheet)
        return [text for cell in cells if (text := self.text(cell))]

    def notes(self, sheet: str) -> list[str]:
        """The longer texts of a sheet: its title and its instructions."""
        return [text for text in self.texts(sheet) if len(text.split()) > 2]


def _turns(formula: str, area: Area) -> bool:
    """The formula takes just this range in RADIANS."""
    inside = re.findall(r"RADIANS\(([^()]*)\)", formula.upper().replace("$", ""))
    return any(parse_area(split_sheet(text)[1]) == area[1:] for text in inside)


def relative_form(formula: str, cell: CellRef) -> str:
    """The formula with its references as distances from its own cell: a form to compare."""

    def moved(match: re.Match[str]) -> str:
        column, row = re.fullmatch(r"(\$?[A-Za-z]+)(\$?[0-9]+)", match[0]).groups()  # type: ignore[union-attr]
        across = column if column[0] == "$" else f"C[{column_number(column) - cell.column}]"
        down = row if row[0] == "$" else f"R[{int(row) - cell.row}]"
        return across + down

    return _REFERENCE.sub(moved, formula)


def read_worksheets(path: Path) -> Worksheets:
    """The workbook at ``path`` (.xlsx, .xlsm; .ods and .xls through LibreOffice), read.

    Raises CalculatorFileError where it cannot be read or computes nothing.
    """
    try:
        if kind_of_workbook(path) in ("xlsx", "xlsm"):
            return _read(path, path)
        with tempfile.TemporaryDirectory(prefix="refsolver-") as folder:
            return _read(converted_to_xlsx(path, Path(folder) / "readable.xlsx"), path)
    except (WorkbookUnreadable, EngineAbsent, EngineFailure, EngineRefused) as problem:
        said = str(problem)
        raise CalculatorFileError(said if str(path) in said else f"{path}: {said}") from None


def _read(readable: Path, path: Path) -> Worksheets:
    contents = read_contents(readable)
    if not contents.formulas:
        why = (
            "its results come from macros, which are never run; check the program by exchange, "
            "or as a command or an answer sheet"
            if contents.macros is not None
            else "it computes nothing, as a print of results does; give the calculator itself"
        )
        raise CalculatorFileError(f"{path}: the workbook holds no formula: {why}")
    book = read_openpyxl(readable)
    formats = {
        CellRef(sheet.title, row, column): str(raw.number_format)
        for sheet in book.worksheets
        for (row, column), raw in sheet._cells.items()
        if raw.number_format != "General"
    }
    return Worksheets(contents, formats)
