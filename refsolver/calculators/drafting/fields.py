"""The labelled places of a workbook: what is typed in, and what comes out."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import lru_cache

import attrs

from refsolver.calculators.drafting.said_units import (
    SaidUnit,
    unit_in_format,
    unit_in_label,
    unit_of_text,
)
from refsolver.calculators.drafting.worksheet import Worksheets, relative_form
from refsolver.calculators.workbook.engine import BooleanCell, NumberCell, TextCell
from refsolver.calculators.workbook.references import (
    Area,
    CellRef,
    column_number,
)

__all__ = ["Field", "Fields", "find_fields"]

_FAR_LEFT, _FAR_UP = 6, 3
"""Cells to the left, or above, within which a label is looked for."""

_REFERENCE_ALONE = re.compile(r"=?\s*(?:'[^']+'!|\w+!)?\$?[A-Za-z]{1,3}\$?\d+\s*")


@attrs.frozen
class Field:
    """A place of the workbook with the words that stand by it.

    ``cells`` are a cell, a range (a column or row of a table), or cells joined by commas;
    ``name`` the defined name that means just them. ``table`` groups the columns of one table.
    ``formula`` is that of an output's first cell; ``as_angle`` tells that formulas take or
    give it as an angle.
    """

    cells: str
    sheet: str
    says: str
    unit: SaidUnit
    rows: int
    table: str
    holds: str
    is_text: bool
    formula: str = ""
    name: str = ""
    as_angle: bool = False
    number_format: str = ""
    final: bool = True
    """False for a formula that other formulas go on to use."""

    @property
    def place(self) -> str:
        """What a calculator file may call it."""
        return self.name or self.cells

    @property
    def words(self) -> str:
        """Everything that names it: the label, without its unit, and its defined name."""
        return _words(self.says, self.unit.text, self.name)


@lru_cache(maxsize=4096)
def _words(says: str, unit: str, name: str) -> str:
    """A label and a defined name, one written ``LikeThis`` taken apart."""
    if unit:
        says = re.sub(rf"(?<!\w){re.escape(unit)}(?!\w)", " ", says)
    apart = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", name.rpartition("!")[2])
    return " ".join(f"{says} {apart}".split())


@attrs.frozen
class Fields:
    """The places found. ``tables`` are ranges that formulas look values up in.

    What is counted ("Leg A", "Leg B") is one place of several rows; ``apart`` has each by
    itself, None where nothing is counted.
    """

    inputs: tuple[Field, ...]
    outputs: tuple[Field, ...]
    tables: tuple[str, ...]
    apart: Fields | None = None


def find_fields(sheets: Worksheets) -> Fields:
    """The labelled inputs and outputs of a workbook."""
    finder = _Finder(sheets)
    looked_up = {cell for area in sheets.looked_up for cell in area.cells()}
    typed = [cell for cell in sheets.typed() if cell not in looked_up or _alone(sheets, cell)]
    inputs = list(finder.inputs(typed))
    outputs = list(finder.outputs())
    tables = tuple(str(area) for area in sorted(sheets.looked_up))
    apart = Fields(tuple(inputs), tuple(outputs), tables)
    joined = Fields(tuple(_numbered(inputs)), tuple(_numbered(outputs)), tables, apart)
    same = len(joined.inputs) == len(inputs) and len(joined.outputs) == len(outputs)
    return apart if same else joined


def _alone(sheets: Worksheets, cell: CellRef) -> bool:
    """Read by itself as well, not only as part of a table that values are looked up in."""
    return cell in sheets.readers


class _Finder:
    def __init__(self, sheets: Worksheets) -> None:
        self.sheets = sheets

    # ---- inputs

    def inputs(self, typed: Sequence[CellRef]) -> Iterator[Field]:
        sheets = self.sheets
        cells = [cell for cell in typed if not self._is_head(cell)]
        left = set(cells)
        found: list[Field] = []
        for down in (True, False):
            for run in self._runs(sorted(left), down):
                label = self._head_of(run, down)
                if label is not None:
                    found.append(self._table_field(run, down, *label))
                    left -= set(run)
        for cell in sorted(left):
            value = sheets.value(cell)
            if value is not None or self._labels(cell) is not None or self._named(cell):
                found.append(self._single(cell))
        yield from sorted(found, key=_start)

    def _named(self, cell: CellRef) -> bool:
        return Area(cell.sheet, *cell[1:], *cell[1:]) in self.sheets.names

    def _is_head(self, cell: CellRef) -> bool:
        """A text inside a range that is summed or counted: a heading, not an input."""
        return bool(self.sheets.text(cell)) and cell not in self.sheets.readers

    def _runs(self, cells: Iterable[CellRef], down: bool) -> Iterator[list[CellRef]]:
        """Neighbouring typed-in cells that formulas use in the same way, two or more."""
        return _neighbours(cells, down, self._alike)

    def _alike(self, one: CellRef, other: CellRef) -> bool:
        sheets = self.sheets
        readers = sheets.readers.get(one, set()) & sheets.readers.get(other, set())
        return bool(readers or sheets.ranges.get(one, set()) & sheets.ranges.get(other, set()))

    def _head_of(self, run: list[CellRef], down: bool) -> tuple[str, SaidUnit] | None:
        return self._scan(run[0], up=down)

    def _table_field(self, run: list[CellRef], down: bool, says: str, unit: SaidUnit) -> Field:
        first, last = run[0], run[-1]
        area = Area(first.sheet, first.row, first.column, last.row, last.column)
        ends = (first.row, last.row) if down else (first.column, last.column)
        held = [self._held(cell) for cell in run if self.sheets.value(cell) is not None]
        texts = [cell for cell in run if self.sheets.text(cell)]
        return Field(
            cells=str(area),
            sheet=first.sheet,
            says=says,
            unit=self._with_format(unit, first),
            rows=len(run),
            table=f"{first.sheet} {ends} {down}",
            holds=", ".join(held[:3]) + (" ..." if len(held) > 3 else ""),
            is_text=bool(texts) and len(texts) == len(held),
            formula=self._formula(first),
            name=self.sheets.names.get(area, ""),
            as_angle=self._as_angle(first),
            number_format=self.sheets.formats.get(first, ""),
        )

    def _single(self, cell: CellRef) -> Field:
        area = Area(cell.sheet, cell.row, cell.column, cell.row, cell.column)
        says, unit = self._labels(cell) or ("", SaidUnit())
        return Field(
            cells=str(cell),
            sheet=cell.sheet,
            says=says,
            unit=self._with_format(unit, cell),
            rows=1,
            table="",
            holds=self._held(cell),
            is_text=bool(self.sheets.text(cell)),
            formula=self._formula(cell),
            name=self.sheets.names.get(area, ""),
            as_angle=self._as_angle(cell),
            number_format=self.sheets.formats.get(cell, ""),
        )

    def _formula(self, cell: CellRef) -> str:
        formula = self.sheets.contents.formula_at(cell)
        return "" if formula is None else formula.text

    def _as_angle(self, cell: CellRef) -> bool:
        """Formulas turn it from degrees, or it is itself an angle turned into degrees."""
        formula = self._formula(cell).upper()
        if formula:
            return "DEGREES(" in formula or "ATAN" in formula or "ACOS(" in formula
        return self.sheets.turned(cell)

    def _with_format(self, unit: SaidUnit, cell: CellRef) -> SaidUnit:
        if unit.known:
            return unit
        return unit_in_format(self.sheets.formats.get(cell, "")) or unit

    def _held(self, cell: CellRef) -> str:
        value = self.sheets.value(cell)
        if isinstance(value, NumberCell):
            return f"{value.value:.12g}"
        if isinstance(value, TextCell):
            return f'"{self.sheets.text(cell)}"'
        return str(value.value).upper() if isinstance(value, BooleanCell) else ""

    # ---- outputs

    def outputs(self) -> Iterator[Field]:
        contents = self.sheets.contents
        cells = sorted(
            cell for cell in (*contents.formulas, *contents.filled) if not self._copies_text(cell)
        )
        left = set(cells)
        found: list[Field] = []
        for down in (True, False):
            for run in self._formula_runs(sorted(left), down):
                label = self._head_of(run, down)
                if label is not None:
                    field = self._table_field(run, down, *label)
                    final = not any(self.sheets.is_read(cell) for cell in run)
                    found.append(attrs.evolve(field, final=final))
                    left -= set(run)
        for cell in sorted(left):
            if self._labels(cell) or self._named(cell) or not self.sheets.is_read(cell):
                final = not self.sheets.is_read(cell)
                found.append(attrs.evolve(self._single(cell), final=final))
        yield from sorted(found, key=_start)

    def _formula_runs(self, cells: Sequence[CellRef], down: bool) -> Iterator[list[CellRef]]:
        """Neighbouring cells with the same formula, each from its own place, two or more."""
        forms = {cell: relative_form(self._formula(cell), cell) for cell in cells}
        return _neighbours(cells, down, lambda one, other: forms[one] == forms[other])

    # ---- labels

    def _labels(self, cell: CellRef) -> tuple[str, SaidUnit] | None:
        """The label of a single cell: to its left, or above where a value stands to its left."""
        beside = self._scan(cell, up=False)
        return beside if beside is not None else self._scan(cell, up=True)

    def _scan(self, cell: CellRef, *, up: bool) -> tuple[str, SaidUnit] | None:
        """The nearest text to the left or above, and the unit that stands by it."""
        sheets = self.sheets
        unit: SaidUnit | None = None
        here = cell
        for _ in range(_FAR_UP if up else _FAR_LEFT):
            at = here._replace(row=here.row - 1) if up else here._replace(column=here.column - 1)
            if at.row < 1 or at.column < 1:
                break
            here = at
            text = sheets.text(here)
            if not text:
                if sheets.is_empty(here):
                    continue
                break
            said = unit_of_text(text, "the cell " + ("above" if up else "beside"), alone=False)
            if said is not None and unit is None and self._more(here, up):
                unit = said
                continue
            return self._labelled(self._in_full(text, here) if up else text, unit, cell, up)
        return None

    def _in_full(self, text: str, cell: CellRef) -> str:
        """A heading that goes on in brackets, with the cell above where it begins."""
        begins = self.sheets.text(cell._replace(row=cell.row - 1)) if cell.row > 1 else ""
        return f"{begins} {text}" if begins and text.startswith(("(", "[")) else text

    def _copies_text(self, cell: CellRef) -> bool:
        """The formula is no more than a reference to a cell that holds a text."""
        reads = self.sheets.graph.reads(cell)
        if reads is None or not _REFERENCE_ALONE.fullmatch(self._formula(cell)):
            return False
        areas = list(reads.areas)
        return sum(area.size() for area in areas) == 1 and bool(
            self.sheets.text(next(iter(areas[0].cells())))
        )

    def _more(self, cell: CellRef, up: bool) -> bool:
        """Another text stands beyond this one, so that this one may be a unit."""
        at = cell._replace(row=cell.row - 1) if up else cell._replace(column=cell.column - 1)
        return at.row >= 1 and at.column >= 1 and bool(self.sheets.text(at))

    def _labelled(
        self, text: str, unit: SaidUnit | None, cell: CellRef, up: bool
    ) -> tuple[str, SaidUnit]:
        if unit is not None:
            return f"{text} {unit.text}", unit
        said = unit_in_label(text)
        if said is not None or up:
            return text, said or SaidUnit()
        right = self.sheets.text(cell._replace(column=cell.column + 1))
        beside = unit_of_text(right, "the cell beside", alone=False) if right else None
        return (text, SaidUnit()) if beside is None else (f"{text} {beside.text}", beside)


def _neighbours(
    cells: Iterable[CellRef], down: bool, alike: Callable[[CellRef, CellRef], bool]
) -> Iterator[list[CellRef]]:
    """Cells that follow one another down a column (or along a row) and are alike, by runs."""
    run: list[CellRef] = []
    for cell in sorted(cells, key=lambda c: (c.sheet, c.column, c.row) if down else c):
        before = run[-1] if run else cell
        step = (
            before._replace(row=before.row + 1)
            if down
            else before._replace(column=before.column + 1)
        )
        if run and not (step == cell and alike(before, cell)):
            if len(run) > 1:
                yield run
            run = []
        run.append(cell)
    if len(run) > 1:
        yield run


def _start(field: Field) -> tuple[str, int, int]:
    match = re.search(r"!([A-Z]+)(\d+)", field.cells)
    assert match is not None
    return field.sheet, int(match[2]), column_number(match[1])


_COUNTED = re.compile(
    r"\d+|(?<![A-Za-z])[A-H](?![A-Za-z])|(?<=\b[FNRT])[A-H](?![A-Za-z])|\b(?:alpha|beta|gamma|delta)\b"
)
_GREEK = ("alpha", "beta", "gamma", "delta")


def _count(mark: str) -> int:
    """1 for "1", "A" and "alpha", 2 for what comes next."""
    if mark.isdigit():
        return int(mark)
    return _GREEK.index(mark) + 1 if mark in _GREEK else ord(mark) - ord("A") + 1


def _numbered(fields: Sequence[Field]) -> list[Field]:
    """Single fields that differ only in a count ("Load 1", "Load 2") as rows of a table.

    Counted is in figures, capitals from A ("Leg A", "RB") or Greek letters by name.
    """
    groups: dict[tuple[str, str], list[Field]] = {}
    for field in fields:
        if field.rows == 1 and _COUNTED.search(field.says):
            groups.setdefault((field.sheet, _COUNTED.sub("#", field.says)), []).append(field)
    merged: dict[str, Field] = {}
    gone: set[str] = set()
    for (sheet, _), group in groups.items():
        counts = [_count(_COUNTED.findall(field.says)[0]) for field in group]
        if len(group) < 2 or counts != list(range(1, len(group) + 1)):
            continue
        merged[group[0].cells] = attrs.evolve(
            group[0],
            cells=", ".join(field.cells for field in group),
            name="",
            says=f"{group[0].says} ... {group[-1].says}",
            rows=len(group),
            table=f"{sheet} {len(group)} numbered",
            holds=", ".join(field.holds for field in group[:3] if field.holds),
        )
        gone |= {field.cells for field in group[1:]}
    return [merged.get(field.cells, field) for field in fields if field.cells not in gone]
