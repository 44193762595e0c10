"""Where things go: the places of the rows of a table, used and unused."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import Any

from refsolver.calculators.contract import Slot
from refsolver.calculators.file import FamilySection
from refsolver.calculators.lines import InputLine
from refsolver.calculators.scope import NotApplicable
from refsolver.statics.givens import walk

__all__ = ["blanks", "parts_of", "place_of", "places_of", "row_counts"]

_CELLS = re.compile(r"^(.*!)?\$?([A-Z]{1,3})\$?(\d+):\$?([A-Z]{1,3})\$?(\d+)$")

_PART = re.compile(r"(?:'(?:[^']|'')*'|[^',])+")
"""A place of several, joined by commas; a sheet's name in quotes may have commas of its own."""


def parts_of(place: str) -> list[str]:
    """The places joined by commas: the cells of a table that do not lie in one range."""
    return [part for found in _PART.findall(place) if (part := found.strip())]


@lru_cache(maxsize=4096)
def places_of(place: str, rows: int) -> Sequence[str] | None:
    """The places of the rows of a table; None where there are fewer than ``rows``.

    A cell range gives its cells in reading order; a field with a star gives one field a
    row, as many as wanted (a second star is that of a table within the table).
    """
    match = _CELLS.match(place)
    if match is None:
        if len(parts := parts_of(place)) > 1:
            return parts if len(parts) >= rows else None
        if "*" in place:
            return [place.replace("*", str(n), 1) for n in range(1, rows + 1)]
        return [place] if rows <= 1 else None
    sheet, left, top, right, bottom = match.groups()
    found = [
        f"{sheet or ''}{_letters(column)}{row}"
        for row in range(int(top), int(bottom) + 1)
        for column in range(_number(left), _number(right) + 1)
    ]
    return found if len(found) >= rows else None


def _number(letters: str) -> int:
    value = 0
    for letter in letters:
        value = value * 26 + ord(letter) - 64
    return value


def _letters(number: int) -> str:
    text = ""
    while number:
        number, rest = divmod(number - 1, 26)
        text = chr(65 + rest) + text
    return text


def row_counts(given: Any) -> dict[str, int]:
    """The rows of each table of the givens, by its name."""
    counts: dict[str, int] = {}
    for path, _, _ in walk(given):
        table, row, _ = _row_of(path)
        if table:
            counts[table] = max(counts.get(table, 0), row + 1)
    return counts


@lru_cache(maxsize=65536)
def _row_of(path: str) -> tuple[str, int, str | None]:
    """Table, row from 0, and the number within the row, of a path; "" in no table."""
    match = re.match(r"(\w+)\[(\d+)\](?:.*\[(\d+)\])?", path)
    return ("", 0, None) if match is None else (match[1], int(match[2]) - 1, match[3])


def place_of(
    line: InputLine,
    path: str,
    rows: Mapping[str, int],
    placement: Mapping[str, Sequence[int]] | None,
) -> str:
    """Where the line puts the leaf at a path. Raises NotApplicable where there is no room."""
    table, row, inner = _row_of(path)
    if not table:
        return line.place
    needed = rows[table]
    if placement is not None and table in placement:
        row, needed = placement[table][row], max(placement[table]) + 1
    found = places_of(line.place, needed)
    if found is None:
        room = len(places_of(line.place, 0) or [line.place])
        raise NotApplicable(
            f"{needed} {table} asked, the calculator has {room} row{'s' * (room != 1)}"
        )
    if inner is not None and inner != "1" and "*" not in found[row]:
        raise NotApplicable(
            f"{inner} values of {line.given} asked in one row, the calculator has one place"
        )
    return found[row] if inner is None else found[row].replace("*", inner, 1)


def blanks(
    section: FamilySection, rows: Mapping[str, int], placement: Mapping[str, Sequence[int]] | None
) -> list[Slot]:
    """Unused rows of a fixed table, blank as the calculator wants it."""
    slots: list[Slot] = []
    for line in section.inputs:
        if "[*]" not in line.given or "*" in line.place:
            continue
        table = line.given.split("[")[0]
        at = None if placement is None else placement.get(table)
        used = set(range(rows.get(table, 0)) if at is None else at)
        for row, place in enumerate(places_of(line.place, 0) or []):
            if row not in used:
                double = None if line.blank == "" else float(line.blank)
                slots.append(Slot(place, "", line.blank, double))
    return slots
