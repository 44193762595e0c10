"""Cells by the names people use: ``Sheet!C6``, ``'My Sheet'!$C$6:$C$13``, defined names."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable, Mapping
from typing import NamedTuple

import attrs

__all__ = [
    "MAX_COLUMN",
    "MAX_ROW",
    "Area",
    "CellRef",
    "ReferenceProblem",
    "WorkbookNames",
    "column_letters",
    "column_number",
    "parse_area",
    "quoted_sheet",
    "split_sheet",
]

MAX_ROW = 1_048_576
MAX_COLUMN = 16_384
MAX_CELLS = 100_000

_CELL = re.compile(r"\$?([A-Za-z]{1,3})\$?([1-9][0-9]{0,6})")
_COLUMN = re.compile(r"\$?([A-Za-z]{1,3})")
_ROW = re.compile(r"\$?([1-9][0-9]{0,6})")
_PLAIN_SHEET = re.compile(r"[A-Za-z_\u0080-\U0010ffff][A-Za-z0-9_.\u0080-\U0010ffff]*")


class ReferenceProblem(ValueError):
    """A text names no cells of this workbook; the message says why and what is near it."""


class CellRef(NamedTuple):
    """One cell. ``row`` and ``column`` count from 1; ``sheet`` is spelt as in the workbook."""

    sheet: str
    row: int
    column: int

    def __str__(self) -> str:
        return f"{quoted_sheet(self.sheet)}!{column_letters(self.column)}{self.row}"


_MOST_CELLS = 1_000_000


class Area(NamedTuple):
    """A rectangle of cells of one sheet; all bounds count from 1 and are included."""

    sheet: str
    top: int
    left: int
    bottom: int
    right: int

    def holds(self, cell: CellRef) -> bool:
        return (
            self.sheet == cell.sheet
            and self.top <= cell.row <= self.bottom
            and self.left <= cell.column <= self.right
        )

    def size(self) -> int:
        return (self.bottom - self.top + 1) * (self.right - self.left + 1)

    def cells(self) -> list[CellRef]:
        """The cells in reading order: row by row, left to right.

        Raises :class:`ReferenceProblem` where they are more than anybody means.
        """
        count = (self.bottom - self.top + 1) * (self.right - self.left + 1)
        if count > _MOST_CELLS:
            raise ReferenceProblem(f"{self} has {count} cells; name those that are meant")
        return [
            CellRef(self.sheet, row, column)
            for row in range(self.top, self.bottom + 1)
            for column in range(self.left, self.right + 1)
        ]

    def __str__(self) -> str:
        start = f"{column_letters(self.left)}{self.top}"
        end = f"{column_letters(self.right)}{self.bottom}"
        return f"{quoted_sheet(self.sheet)}!{start}" + ("" if start == end else f":{end}")


def column_letters(column: int) -> str:
    """1 -> A, 27 -> AA."""
    letters = ""
    while column:
        column, rest = divmod(column - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return letters


def column_number(letters: str) -> int:
    """A -> 1, AA -> 27."""
    number = 0
    for letter in letters.upper():
        number = 26 * number + ord(letter) - ord("A") + 1
    return number


def quoted_sheet(sheet: str) -> str:
    """The sheet name as it stands in a formula, in quotes where needed."""
    looks_like_a_cell = _CELL.fullmatch(sheet) or re.fullmatch(r"(?i)r[0-9]*c?[0-9]*|c", sheet)
    if _PLAIN_SHEET.fullmatch(sheet) and not looks_like_a_cell:
        return sheet
    return "'" + sheet.replace("'", "''") + "'"


def split_sheet(text: str) -> tuple[str | None, str]:
    """``'My Sheet'!C6`` -> (``My Sheet``, ``C6``); None for a text without a sheet."""
    if text.startswith("'"):
        match = re.fullmatch(r"'((?:[^']|'')*)'!(.*)", text, re.DOTALL)
        return (match[1].replace("''", "'"), match[2]) if match else (None, text)
    sheet, mark, rest = text.rpartition("!")
    return (sheet, rest) if mark else (None, text)


def parse_area(text: str) -> tuple[int, int, int, int] | None:
    """(top, left, bottom, right) of ``C6``, ``$C$6:C13``, ``C:D`` or ``6:13``, or None.

    Corners may come in any order; bounds outside a sheet give None.
    """
    start, colon, end = text.partition(":")
    rows, columns = (1, MAX_ROW), (1, MAX_COLUMN)
    if (first := _CELL.fullmatch(start)) and (last := _CELL.fullmatch(end if colon else start)):
        rows = int(first[2]), int(last[2])
        columns = column_number(first[1]), column_number(last[1])
    elif (first := _COLUMN.fullmatch(start)) and (last := _COLUMN.fullmatch(end)):
        columns = column_number(first[1]), column_number(last[1])
    elif (first := _ROW.fullmatch(start)) and (last := _ROW.fullmatch(end)):
        rows = int(first[1]), int(last[1])
    else:
        return None
    if max(rows) > MAX_ROW or max(columns) > MAX_COLUMN:
        return None
    return min(rows), min(columns), max(rows), max(columns)


@attrs.frozen
class WorkbookNames:
    """The sheets and defined names of a workbook, and the cells a text means in it.

    ``defined`` maps (sheet or None for the whole workbook, name) to the name's own text.
    Sheets and names are found whatever their case, and given as the workbook spells them.
    """

    sheets: tuple[str, ...]
    defined: Mapping[tuple[str | None, str], str]
    _folded: dict[tuple[str | None, str], str] = attrs.field(init=False, repr=False, eq=False)

    @_folded.default
    def _fold_case(self) -> dict[tuple[str | None, str], str]:
        return {(sheet, name.casefold()): text for (sheet, name), text in self.defined.items()}

    def sheet(self, name: str) -> str:
        """The sheet as the workbook spells it; :class:`ReferenceProblem` where there is none."""
        for sheet in self.sheets:
            if sheet.casefold() == name.casefold():
                return sheet
        raise ReferenceProblem(f"the workbook has no sheet {name!r}{_near(name, self.sheets)}")

    def cells(self, text: str) -> list[CellRef]:
        """The cells ``text`` means, in reading order.

        ``text`` is a cell or range with its sheet, or a defined name, with its sheet
        (``Sheet!name``) where the name belongs to one. Raises :class:`ReferenceProblem`.
        """
        text = text.strip().removeprefix("=")
        sheet, rest = split_sheet(text)
        if sheet is not None:
            return self._on_sheet(text, self.sheet(sheet), rest)
        if parse_area(text):
            raise ReferenceProblem(
                f"{text!r} does not say on which sheet: write {quoted_sheet(self.sheets[0])}!{text}"
            )
        return self._named(text, None)

    def cell(self, text: str) -> CellRef:
        """The one cell ``text`` means; :class:`ReferenceProblem` where it means several."""
        cells = self.cells(text)
        if len(cells) != 1:
            raise ReferenceProblem(
                f"{text!r} means {len(cells)} cells where one is wanted; name it"
            )
        return cells[0]

    def formula_of(self, name: str, sheet: str | None) -> str | None:
        """The text of a defined name as seen from ``sheet``, or None: the sheet's own first."""
        own = self._folded.get((sheet, name.casefold()))
        return own if own is not None else self._folded.get((None, name.casefold()))

    def _on_sheet(self, text: str, sheet: str, rest: str) -> list[CellRef]:
        bounds = parse_area(rest)
        if bounds is None:
            return self._named(rest, sheet, text)
        area = Area(sheet, *bounds)
        if area.size() > MAX_CELLS:
            raise ReferenceProblem(
                f"{text!r} means {area.size()} cells; state its first and last row and column"
            )
        return area.cells()

    def _named(self, name: str, sheet: str | None, text: str | None = None) -> list[CellRef]:
        formula = self._folded.get((sheet, name.casefold()))
        if formula is None:
            raise ReferenceProblem(self._no_such_name(text or name, name, sheet))
        cells: list[CellRef] = []
        for part in _areas_of(formula):
            part_sheet, rest = split_sheet(part)
            if part_sheet is None or not parse_area(rest):
                raise ReferenceProblem(
                    f"the name {text or name!r} means {formula!r}, which is not a cell or range "
                    "of this workbook; map the cells themselves"
                )
            cells += self._on_sheet(part, self.sheet(part_sheet), rest)
        return cells

    def _no_such_name(self, text: str, name: str, sheet: str | None) -> str:
        if elsewhere := [s for s, n in self.defined if n.casefold() == name.casefold()]:
            where = ", ".join(
                f"{quoted_sheet(s)}!{name}" if s else f"{name} (no sheet)" for s in elsewhere
            )
            return f"{text!r} is not defined there; there is {where}"
        known = [n for s, n in self.defined if s == sheet]
        kind = "neither a cell nor a defined name" if sheet else "no defined name"
        return f"{text!r} is {kind} of the workbook{_near(name, known)}"


def _areas_of(formula: str) -> list[str]:
    """The parts of ``S!A1:A3,S!C1``: split at commas outside quotes."""
    parts = re.findall(r"(?:'(?:[^']|'')*'|[^,'])+", formula)
    return [part.strip() for part in parts] or [formula]


def _near(name: str, known: Iterable[str]) -> str:
    """What a message adds: the existing names nearest to ``name``."""
    spelling = {k.casefold(): k for k in known}
    if not spelling:
        return "; there is none at all"
    near = difflib.get_close_matches(name.casefold(), spelling, n=3, cutoff=0.4)
    if near:
        return "; the nearest: " + ", ".join(repr(spelling[n]) for n in near)
    some = sorted(spelling.values())
    return "; there are: " + ", ".join(map(repr, some[:8])) + (" ..." if len(some) > 8 else "")
