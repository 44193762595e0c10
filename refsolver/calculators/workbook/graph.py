"""Which cells a result rests on: the dependencies between the cells of a workbook."""

from __future__ import annotations

import bisect
import re
from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache

import attrs

from refsolver.calculators.workbook.contents import WorkbookContents
from refsolver.calculators.workbook.formulas import CHANGING_FUNCTIONS, parsed
from refsolver.calculators.workbook.references import (
    MAX_COLUMN,
    MAX_ROW,
    Area,
    CellRef,
    column_letters,
    column_number,
    parse_area,
    split_sheet,
)
from refsolver.calculators.workbook.tables import structured_area

__all__ = ["DependencyGraph", "Reads", "Upstream"]

_RELATIVE = re.compile(
    r"(?<![A-Za-z0-9_$.])(\$?)([A-Za-z]{1,3})(\$?)([1-9][0-9]*)(?![A-Za-z0-9_(.])"
)


@attrs.frozen
class Reads:
    """What one formula reads.

    ``areas`` are cells and ranges; ``external`` are references to other workbooks, ``unknown``
    names and references that mean nothing in this one, ``three_dimensional`` those that run
    through several sheets. ``constant_names`` are names that stand for a value, ``formula_names``
    names that stand for a formula rather than a range. ``functions``, ``unlisted``, ``computed``,
    ``joins``, ``intersects``, ``unites`` and ``summed`` are as in
    :class:`~.formulas.ParsedFormula`, those of the names used included. ``narrowed`` are the
    ranges of which a plain formula means the one cell in its own row or column.
    """

    areas: tuple[Area, ...]
    functions: frozenset[str]
    unlisted: frozenset[str]
    external: tuple[str, ...]
    unknown: tuple[str, ...]
    three_dimensional: tuple[str, ...]
    constant_names: tuple[str, ...]
    formula_names: tuple[str, ...]
    computed: bool
    joins: bool
    intersects: bool
    unites: bool
    summed: frozenset[str]
    narrowed: tuple[str, ...]


@attrs.frozen
class Upstream:
    """The cells some outputs rest on, the outputs included.

    ``formulas`` are cells with a formula's result, ``constants`` cells with typed-in contents,
    ``areas`` everything read, blank cells included, and the outputs. ``computed`` are the
    formulas that may read more than their text says: where there are any, the rest is a
    lower bound.
    """

    formulas: frozenset[CellRef]
    constants: frozenset[CellRef]
    areas: tuple[Area, ...]
    computed: tuple[CellRef, ...]

    def reads(self, cell: CellRef) -> bool:
        """Whether a change of ``cell`` may reach an output."""
        return any(area.holds(cell) for area in self.areas)


class DependencyGraph:
    """The dependencies between the cells of one workbook.

    Following them takes time in proportion to the formulas met and the ranges written, not
    to the cells in the ranges.
    """

    def __init__(self, contents: WorkbookContents) -> None:
        self.contents = contents
        self._formulas = _CellIndex([*contents.formulas, *contents.filled])
        self._constants = _CellIndex(contents.constants)
        self._reads: dict[CellRef, Reads] = {}

    def reads(self, cell: CellRef) -> Reads | None:
        """What the formula of ``cell`` reads; None for a cell without one."""
        cell = self.contents.filled.get(cell, cell)
        if cell not in self.contents.formulas:
            return None
        if cell not in self._reads:
            self._reads[cell] = _Reader(self.contents, cell).read()
        return self._reads[cell]

    def upstream(self, outputs: Iterable[CellRef]) -> Upstream:
        """Every cell the outputs rest on."""
        formulas, constants = _Unmet(self._formulas), _Unmet(self._constants)
        found: set[CellRef] = set()
        typed: set[CellRef] = set()
        areas: dict[Area, None] = {}
        computed: list[CellRef] = []
        pending = [Area(c.sheet, c.row, c.column, c.row, c.column) for c in outputs]
        while pending:
            area = pending.pop()
            if area in areas:
                continue
            areas[area] = None
            typed.update(constants.take(area))
            for cell in formulas.take(area):
                found.add(cell)
                reads = self.reads(cell)
                assert reads is not None
                pending += reads.areas
                if reads.computed:
                    computed.append(cell)
        return Upstream(frozenset(found), frozenset(typed), tuple(areas), tuple(sorted(computed)))

    def cells_in(self, area: Area) -> Iterator[CellRef]:
        """The cells of the area that hold something."""
        yield from self._formulas.inside(area)
        yield from self._constants.inside(area)

    def functions(self, cells: Iterable[CellRef]) -> Iterator[tuple[CellRef, frozenset[str]]]:
        """The functions each of the formula cells calls."""
        for cell in cells:
            if (reads := self.reads(cell)) is not None:
                yield cell, reads.functions

    def changing(self, cells: Iterable[CellRef]) -> frozenset[CellRef]:
        """Those of the formula cells whose results change by themselves.

        They call the clock or a random number, or rest on a cell that does.
        """
        cells = list(cells)
        changed = {c for c, names in self.functions(cells) if names & CHANGING_FUNCTIONS}
        readers: dict[Area, list[CellRef]] = {}
        for cell in cells:
            for area in reads.areas if (reads := self.reads(cell)) else ():
                readers.setdefault(area, []).append(cell)
        single = {area: found for area, found in readers.items() if area.size() == 1}
        several = {area: found for area, found in readers.items() if area.size() > 1}
        pending = list(changed)
        while pending:
            cell = pending.pop()
            met = single.pop(Area(cell.sheet, cell.row, cell.column, cell.row, cell.column), [])
            for area in [area for area in several if area.holds(cell)]:
                met += several.pop(area)
            new = set(met) - changed
            changed |= new
            pending += new
        return frozenset(changed)


class _CellIndex:
    """Cells by sheet and column, the rows in order."""

    def __init__(self, cells: Iterable[CellRef]) -> None:
        self.rows: dict[tuple[str, int], list[int]] = {}
        for cell in sorted(cells):
            self.rows.setdefault((cell.sheet, cell.column), []).append(cell.row)
        self.columns: dict[str, list[int]] = {}
        for sheet, column in sorted(self.rows):
            self.columns.setdefault(sheet, []).append(column)

    def columns_of(self, area: Area) -> list[int]:
        columns = self.columns.get(area.sheet, [])
        start = bisect.bisect_left(columns, area.left)
        return columns[start : bisect.bisect_right(columns, area.right)]

    def inside(self, area: Area) -> Iterator[CellRef]:
        for column in self.columns_of(area):
            rows = self.rows[area.sheet, column]
            start = bisect.bisect_left(rows, area.top)
            for row in rows[start : bisect.bisect_right(rows, area.bottom)]:
                yield CellRef(area.sheet, row, column)


class _Unmet:
    """The cells of an index not taken yet; taking a range skips those taken before.

    Each column's rows carry a pointer to the next row not taken, with path halving (a
    disjoint-set forest: Tarjan and van Leeuwen, J. ACM 31, 1984).
    """

    def __init__(self, index: _CellIndex) -> None:
        self._index = index
        self._next: dict[tuple[str, int], list[int]] = {}

    def take(self, area: Area) -> Iterator[CellRef]:
        for column in self._index.columns_of(area):
            yield from self._take_column(area, column)

    def _take_column(self, area: Area, column: int) -> Iterator[CellRef]:
        key = (area.sheet, column)
        rows = self._index.rows[key]
        following = self._next.setdefault(key, list(range(len(rows) + 1)))
        place = _root(following, bisect.bisect_left(rows, area.top))
        while place < len(rows) and rows[place] <= area.bottom:
            following[place] = place + 1
            yield CellRef(area.sheet, rows[place], column)
            place = _root(following, place)


def _root(following: list[int], place: int) -> int:
    while following[place] != place:
        following[place] = following[following[place]]
        place = following[place]
    return place


class _Reader:
    """Follows the references of one formula, through names and tables, to cells."""

    def __init__(self, contents: WorkbookContents, cell: CellRef) -> None:
        self.contents = contents
        self.cell = cell
        self.areas: dict[Area, None] = {}
        self.functions: set[str] = set()
        self.unlisted: set[str] = set()
        self.summed: set[str] = set()
        self.narrowed: list[str] = []
        self.external: list[str] = []
        self.unknown: list[str] = []
        self.three_dimensional: list[str] = []
        self.constant_names: list[str] = []
        self.formula_names: list[str] = []
        self.computed = self.joins = self.intersects = self.unites = False
        self._names_met: set[str] = set()

    def read(self) -> Reads:
        formula = self.contents.formulas[self.cell]
        if formula.kind == "data table":
            self._data_table(formula.area)
        self._formula(formula.text)
        return Reads(
            tuple(self.areas),
            frozenset(self.functions),
            frozenset(self.unlisted),
            tuple(self.external),
            tuple(self.unknown),
            tuple(self.three_dimensional),
            tuple(self.constant_names),
            tuple(self.formula_names),
            self.computed,
            self.joins,
            self.intersects,
            self.unites,
            frozenset(self.summed),
            () if formula.kind == "array" else tuple(self.narrowed),
        )

    def _data_table(self, area: Area) -> None:
        """The row above and the column to the left hold its input values and its formula."""
        around = area._replace(top=max(area.top - 1, 1), left=max(area.left - 1, 1))
        self.areas[around] = None

    def _formula(self, text: str) -> None:
        formula = parsed(text)
        if formula is None:
            self.computed = True
            self.unknown.append(text)
            return
        self.functions |= formula.functions
        self.unlisted |= formula.unlisted
        self.computed |= formula.computed
        self.joins |= formula.joins
        self.intersects |= formula.intersects
        self.unites |= formula.unites
        self.summed |= formula.summed
        self.narrowed += [text for text in formula.operated if self._is_range(text)]
        for reference in formula.references:
            self._reference(reference)

    def _is_range(self, text: str) -> bool:
        sheet, rest = split_sheet(text)
        bounds = _bounds(rest)
        if bounds is None:
            meaning = self.contents.names.formula_of(rest, self._sheet(sheet or self.cell.sheet))
            bounds = _bounds(split_sheet(meaning)[1]) if meaning else None
        return bounds is not None and bounds[:2] != bounds[2:]

    def _reference(self, text: str) -> None:
        sheet, rest = split_sheet(text)
        if "[" in (sheet or "") or (sheet is None and re.match(r"'?\[", text)):
            self.external.append(text)
        elif "[" in rest:
            self._table(text)
        elif sheet is not None and ":" in sheet:
            self._through_sheets(text, sheet, rest)
        elif (bounds := _bounds(rest)) is not None:
            self._area(text, sheet or self.cell.sheet, bounds)
        else:
            self._name(text, sheet, rest)

    def _area(self, text: str, sheet: str, bounds: tuple[int, int, int, int]) -> None:
        known = self._sheet(sheet)
        if known is None:
            self.unknown.append(text)
        else:
            self.areas[Area(known, *bounds)] = None

    def _sheet(self, name: str) -> str | None:
        sheets = self.contents.names.sheets
        return next((sheet for sheet in sheets if sheet.casefold() == name.casefold()), None)

    def _table(self, text: str) -> None:
        area = structured_area(text, self.contents.tables, self.cell)
        if area is None:
            self.unknown.append(text)
        else:
            self.areas[area] = None

    def _through_sheets(self, text: str, sheets: str, rest: str) -> None:
        self.three_dimensional.append(text)
        ends = [self._sheet(name) for name in sheets.split(":", 1)]
        bounds = _bounds(rest)
        if None in ends or bounds is None:
            self.unknown.append(text)
            return
        order = self.contents.names.sheets
        first, last = sorted(order.index(end) for end in ends if end is not None)
        for sheet in order[first : last + 1]:
            self.areas[Area(sheet, *bounds)] = None

    def _name(self, text: str, sheet: str | None, name: str) -> None:
        meaning = self.contents.names.formula_of(name, self._sheet(sheet or self.cell.sheet))
        if meaning is None:
            if name.casefold() not in self.contents.tables:
                self.unknown.append(text)
            else:
                self._table(f"{name}[]")
            return
        if text.casefold() in self._names_met:
            return
        self._names_met.add(text.casefold())
        meaning = "=" + _shifted(meaning, self.cell)
        said = parsed(meaning)
        if said is not None and not said.references and not said.functions:
            self.constant_names.append(text)
        elif said is None or said.functions:
            self.formula_names.append(text)
        self._formula(meaning)


@lru_cache(maxsize=65536)
def _bounds(text: str) -> tuple[int, int, int, int] | None:
    """As :func:`parse_area`, and ``A1:B2:C3`` as the rectangle around all its parts."""
    if text.count(":") < 2:
        return parse_area(text)
    parts = [parse_area(part) for part in text.split(":")]
    found = [part for part in parts if part is not None]
    if len(found) < len(parts):
        return None
    tops, lefts, bottoms, rights = zip(*found, strict=True)
    return min(tops), min(lefts), max(bottoms), max(rights)


def _shifted(meaning: str, cell: CellRef) -> str:
    """A name's text as seen from ``cell``: its relative references are written for A1.

    They wrap around the edges of the sheet.
    """

    def moved(match: re.Match[str]) -> str:
        column, row = column_number(match[2]), int(match[4])
        if column > MAX_COLUMN or row > MAX_ROW:
            return match[0]
        if not match[1]:
            column = (column - 1 + cell.column - 1) % MAX_COLUMN + 1
        if not match[3]:
            row = (row - 1 + cell.row - 1) % MAX_ROW + 1
        return f"{match[1]}{column_letters(column)}{match[3]}{row}"

    pieces: Sequence[str] = re.split(r"('(?:[^']|'')*'!|\"[^\"]*\"|[A-Za-z0-9_.]+!)", meaning)
    return "".join(
        piece if place % 2 else _RELATIVE.sub(moved, piece) for place, piece in enumerate(pieces)
    )
