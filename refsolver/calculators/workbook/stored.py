"""The results a workbook file holds from the program that saved it last."""

from __future__ import annotations

import datetime
import re
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

from refsolver.calculators.workbook.contents import read_openpyxl, serial_number, value_of
from refsolver.calculators.workbook.engine import (
    BooleanCell,
    CellValue,
    ErrorCell,
    NumberCell,
    TextCell,
)
from refsolver.calculators.workbook.files import DAMAGE, WorkbookUnreadable, kind_of_workbook
from refsolver.calculators.workbook.references import CellRef

__all__ = ["stored_values"]

_MOST_VALUES = 2_000_000

_TABLE = "{urn:oasis:names:tc:opendocument:xmlns:table:1.0}"
_OFFICE = "{urn:oasis:names:tc:opendocument:xmlns:office:1.0}"
_TEXT = "{urn:oasis:names:tc:opendocument:xmlns:text:1.0}"
_CALC_TYPE = "{urn:org:documentfoundation:names:experimental:calc:xmlns:calcext:1.0}value-type"


def stored_values(path: Path) -> dict[CellRef, CellValue]:
    """The value the file holds for each cell that has one, formulas' results included.

    A formula without a stored result is missing from the answer. Reads .xlsx, .xlsm and .ods
    (OpenDocument 1.3 part 3, table cells); an .xls gives nothing. Raises
    :class:`~.files.WorkbookUnreadable`.
    """
    kind = kind_of_workbook(path)
    if kind == "xls":
        return {}
    return _opendocument(path) if kind == "ods" else _ooxml(path)


def _ooxml(path: Path) -> dict[CellRef, CellValue]:
    book = read_openpyxl(path, data_only=True)
    return {
        CellRef(sheet.title, row, column): value
        for sheet in book.worksheets
        for (row, column), raw in sheet._cells.items()
        if (value := value_of(raw, book.epoch)) is not None
    }


def _opendocument(path: Path) -> dict[CellRef, CellValue]:
    try:
        with zipfile.ZipFile(path) as package:
            root = ElementTree.fromstring(package.read("content.xml"))
            found: dict[CellRef, CellValue] = {}
            for table in root.iter(_TABLE + "table"):
                for row, column, value in _table_values(table):
                    found[CellRef(table.get(_TABLE + "name", ""), row, column)] = value
                    if len(found) > _MOST_VALUES:
                        raise ValueError(f"more than {_MOST_VALUES} cells hold a value")
    except (*DAMAGE, ElementTree.ParseError, ValueError, TypeError) as error:
        raise WorkbookUnreadable(path, f"is damaged ({error}); save it again") from error
    return found


def _table_values(table: Any) -> Iterator[tuple[int, int, CellValue]]:
    row = 1
    for line in table.iter(_TABLE + "table-row"):
        cells = list(_row_values(line))
        repeated = int(line.get(_TABLE + "number-rows-repeated", "1"))
        for place in range(repeated if cells else 0):
            for column, value in cells:
                yield row + place, column, value
        row += repeated


def _row_values(line: Any) -> Iterator[tuple[int, CellValue]]:
    column = 1
    for cell in line:
        if cell.tag not in (_TABLE + "table-cell", _TABLE + "covered-table-cell"):
            continue
        repeated = int(cell.get(_TABLE + "number-columns-repeated", "1"))
        value = _value(cell)
        for place in range(repeated if value is not None else 0):
            yield column + place, value  # type: ignore[misc]
        column += repeated


def _value(cell: Any) -> CellValue | None:
    kind = cell.get(_OFFICE + "value-type")
    if cell.get(_CALC_TYPE) == "error":
        return ErrorCell(_text(cell))
    match kind:
        case "float" | "percentage" | "currency":
            return NumberCell(float(cell.get(_OFFICE + "value")))
        case "boolean":
            return BooleanCell(cell.get(_OFFICE + "boolean-value") == "true")
        case "date":
            return _serial(cell.get(_OFFICE + "date-value", ""))
        case "time":
            return _duration(cell.get(_OFFICE + "time-value", ""))
        case "string":
            return TextCell(_text(cell))
    return None


def _serial(text: str) -> NumberCell | None:
    """An ISO 8601 date as the serial number counted from 1899-12-30."""
    try:
        return serial_number(datetime.datetime.fromisoformat(text))
    except ValueError:
        return None


def _duration(text: str) -> NumberCell | None:
    """``PT06H30M00S`` as a fraction of a day."""
    match = re.fullmatch(r"(-?)PT(?:(\d+)H)?(?:(\d+)M)?(?:([\d.]+)S)?", text)
    if match is None:
        return None
    hours, minutes, seconds = (float(part or 0) for part in match.groups()[1:])
    days = (hours * 3600 + minutes * 60 + seconds) / 86400
    return NumberCell(-days if match[1] else days)


def _text(cell: Any) -> str:
    return "\n".join("".join(part.itertext()) for part in cell.findall(_TEXT + "p"))
