"""Which cells questions fill and read, found once for many of them."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterable, Mapping, Sequence
from operator import itemgetter
from typing import Any

from refsolver.calculators.contract import Slot
from refsolver.calculators.workbook.engine import (
    CellInput,
    CellValue,
    NumberCell,
    RowInput,
    RowRead,
    cell_value_to_dict,
)
from refsolver.calculators.workbook.references import CellRef
from refsolver.calculators.workbook.worker_loop import OWN

__all__ = ["CellReader", "Filler", "handed_in", "places_of", "raw_value"]


class Filler:
    """The cells that cases fill, and what goes into each, whatever the order of their places.

    ``filled`` are the places of cases, in order; of several places in one cell the last counts,
    and a cell that a case does not fill keeps what the file has there.
    """

    def __init__(
        self, filled: Iterable[tuple[str, ...]], cell_of: Callable[[str], CellRef]
    ) -> None:
        forms = {
            places: {cell_of(place): index for index, place in enumerate(places)}
            for places in dict.fromkeys(filled)
        }
        self.cells = list(dict.fromkeys(itertools.chain.from_iterable(forms.values())))
        self._picked = {
            places: _picking([index.get(cell, -1) for cell in self.cells])
            for places, index in forms.items()
        }

    def row(self, places: tuple[str, ...], handed: Sequence[CellInput]) -> RowInput:
        """What goes into each of the cells, from what stands at each of the places."""
        return self._picked[places]([*handed, OWN])

    def case(self, row: RowInput) -> dict[CellRef, CellInput]:
        """A row as the cells that it sets."""
        return {
            cell: value
            for cell, value in zip(self.cells, row, strict=True)
            if not isinstance(value, list)
        }


def _picking(order: Sequence[int]) -> Callable[[Sequence[Any]], Sequence[Any]]:
    if len(order) < 2:
        return lambda found: [found[index] for index in order]
    return itemgetter(*order)


def handed_in(slots: Sequence[Slot]) -> list[CellInput]:
    """What goes to the places of the slots; this is asked of every number of every case."""
    return [slot.handed if (double := slot.double) is None else double for slot in slots]


def places_of(slots: Sequence[Slot]) -> tuple[str, ...]:
    """The places of the slots, in order."""
    return tuple([slot.place for slot in slots])


class CellReader:
    """The cells to read for some places, and others beside them, and what was read of each."""

    def __init__(
        self,
        places: Sequence[str],
        cell_of: Callable[[str], CellRef],
        followed: Sequence[CellRef] = (),
    ) -> None:
        wanted = [cell_of(place) for place in places]
        self.cells = list(dict.fromkeys([*wanted, *followed]))
        self.shown = len(dict.fromkeys(wanted))
        """The number of those whose displayed texts are read too: the first of ``cells``."""
        at = {cell: index for index, cell in enumerate(self.cells)}
        self._wanted = [(p, str(c), at[c]) for p, c in zip(places, wanted, strict=True)]
        self._followed = [(cell, str(cell), at[cell]) for cell in followed]

    def raw(self, row: RowRead) -> tuple[dict[str, dict[str, Any]], dict[str, dict[str, Any]]]:
        """The raw value at each place, and the same by the names of the cells."""
        values, raw = {}, {}
        numbers, texts = row
        for place, name, index in self._wanted:
            number, text = numbers[index], texts[index]
            if type(number) is float and text is not None:  # as nearly always
                found = {"number": repr(number), "displayed": text}
            else:
                found = raw_value(number, text)
            values[place] = raw[name] = found
        return values, raw

    def columns(
        self, rows: Sequence[RowRead | None]
    ) -> tuple[dict[str, list[Any]], dict[str, list[str | None]]]:
        """For each place what was read in all of the rows: doubles or raw values, and texts.

        A blank stands for a row that is missing.
        """
        missing = {"blank": True}
        values, texts = {}, {}
        for place, _, index in self._wanted:
            values[place] = [
                missing if row is None else _double_or_raw(row.values[index]) for row in rows
            ]
            texts[place] = [None if row is None else row.displayed[index] for row in rows]
        return values, texts

    def followed(self, row: RowRead) -> Sequence[tuple[CellRef, str, CellValue]]:
        """Each cell that was read beside the places, its name and its value."""
        if not self._followed:
            return ()
        found = [(cell, name, row.values[index]) for cell, name, index in self._followed]
        return [
            (cell, name, NumberCell(value) if isinstance(value, float) else value)
            for cell, name, value in found
        ]


def _double_or_raw(value: float | CellValue) -> float | Mapping[str, Any]:
    return value if isinstance(value, float) else raw_value(value, None)


def raw_value(value: float | CellValue, displayed: str | None) -> dict[str, Any]:
    """A cell's value as a raw value of the calculator contract."""
    if isinstance(value, NumberCell):
        value = value.value
    if type(value) is float:
        if displayed is None:
            return {"number": repr(value)}
        return {"number": repr(value), "displayed": displayed}
    assert not isinstance(value, float)
    data = cell_value_to_dict(value)
    return {"text": str(data["boolean"]).upper()} if "boolean" in data else data
