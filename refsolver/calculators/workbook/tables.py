"""Tables of a workbook, and the cells a structured reference such as ``T[@Force]`` means."""

from __future__ import annotations

import re
from collections.abc import Mapping

import attrs

from refsolver.calculators.workbook.references import Area, CellRef

__all__ = ["Table", "structured_area"]

_STRUCTURED = re.compile(r"(?P<table>[^\[\]!'\s]+)?\[(?P<inside>.*)\]", re.DOTALL)
_ITEM = re.compile(r"\[((?:'.|[^\[\]'])*)\](?:\s*:\s*\[((?:'.|[^\[\]'])*)\])?")


@attrs.frozen
class Table:
    """A table: the rectangle it covers, its columns' names, and how many rows are not data."""

    name: str
    area: Area
    columns: tuple[str, ...]
    header_rows: int
    totals_rows: int

    def rows(self, item: str, row: int) -> tuple[int, int] | None:
        """First and last row of ``#Headers``, ``#Data``, ``#Totals``, ``#All``, ``#This Row``."""
        data = self.area.top + self.header_rows, self.area.bottom - self.totals_rows
        match item.casefold():
            case "#this row":
                return row, row
            case "#headers":
                return self.area.top, data[0] - 1
            case "#totals":
                return data[1] + 1, self.area.bottom
            case "#all":
                return self.area.top, self.area.bottom
            case "#data":
                return data
        return None

    def column(self, name: str) -> int | None:
        for place, column in enumerate(self.columns):
            if column.casefold() == name.casefold():
                return self.area.left + place
        return None


def structured_area(text: str, tables: Mapping[str, Table], cell: CellRef) -> Area | None:
    """The cells ``text`` means in a formula that stands in ``cell``, or None.

    ``tables`` are found by their names in lower case. Several row specifiers together mean
    the rows from the first to the last of them. ECMA-376 part 1, 18.17.
    """
    match = _STRUCTURED.fullmatch(text)
    table = match and (
        tables.get(match["table"].casefold()) if match["table"] else _around(tables, cell)
    )
    if not match or not table:
        return None
    rows: list[int] = []
    columns: list[int] = []
    for first, last in _items(match["inside"]):
        if found := table.rows(first, cell.row):
            rows += found
            continue
        ends = [table.column(name) for name in (first, last or first)]
        if None in ends:
            return None
        columns += [end for end in ends if end is not None]
    rows = rows or list(table.rows("#Data", cell.row) or ())
    columns = columns or [table.area.left, table.area.right]
    return Area(table.area.sheet, min(rows), min(columns), max(rows), max(columns))


def _around(tables: Mapping[str, Table], cell: CellRef) -> Table | None:
    return next((table for table in tables.values() if table.area.holds(cell)), None)


def _items(inside: str) -> list[tuple[str, str]]:
    """The specifiers between the outer brackets, each with the end of its column range."""
    this_row = inside.startswith("@")
    inside = inside.removeprefix("@").strip()
    if _ITEM.search(inside):
        items = [(_plain(m[1]), _plain(m[2] or "")) for m in _ITEM.finditer(inside)]
    else:
        items = [(_plain(inside), "")] if inside else []
    return [("#This Row", ""), *items] if this_row else items


def _plain(name: str) -> str:
    """A column's name without the ``'`` that guards special characters."""
    return re.sub(r"'(.)", r"\1", name)
