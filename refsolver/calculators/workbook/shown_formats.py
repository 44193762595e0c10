"""How cells show numbers: their number formats, and whether two formats show the same."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from refsolver.calculators.workbook.display import displayed_text
from refsolver.calculators.workbook.references import CellRef

__all__ = ["number_formats", "show_the_same"]

_SAMPLES = (0.0, 1.0, 0.0123456, 1234.5678, -1234.5678, 98765432.1)
"""Numbers that tell apart decimals, grouping, factors, signs and hidden sections."""


def number_formats(path: Path, cells: Iterable[CellRef]) -> dict[CellRef, str]:
    """The number format of each cell of an .xlsx or .xlsm; left out where the sheet is not there.

    Raises :class:`~.files.WorkbookUnreadable`.
    """
    from refsolver.calculators.workbook.contents import read_openpyxl

    book = read_openpyxl(path)
    return {
        cell: str(book[cell.sheet].cell(cell.row, cell.column).number_format)
        for cell in cells
        if cell.sheet in book.sheetnames
    }


def show_the_same(one: str, other: str) -> bool:
    """Whether two number formats show numbers alike; programs write the same one in many ways."""
    if one.lower() == other.lower():
        return True
    texts = [(displayed_text(x, one), displayed_text(x, other)) for x in _SAMPLES]
    return all(mine is not None and mine == its for mine, its in texts)
