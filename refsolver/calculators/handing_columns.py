"""Handing many cases of one form over at once, to a calculator that takes doubles.

The same as :func:`~refsolver.calculators.mapping.hand_over` case by case, where every number
is taken exactly (see :mod:`~refsolver.calculators.taking`); else NotInColumns.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import attrs
from flint import fmpq

from refsolver.arithmetic.columns import Leaves, NotInColumns, at, holds_columns
from refsolver.arithmetic.detached import exact_double, nearest_double
from refsolver.calculators.contract import Placed
from refsolver.calculators.file import FamilySection
from refsolver.calculators.granted import names_others
from refsolver.calculators.lines import InputLine
from refsolver.calculators.mapping import handed_value
from refsolver.calculators.places import blanks, place_of, row_counts
from refsolver.calculators.rebuilding import Stated, rebuilt
from refsolver.calculators.scope import (
    NotApplicable,
    check_excluded,
    check_scope,
    mapped_leaves,
)
from refsolver.calculators.taking import exactly_taken, small_whole
from refsolver.catalogue.schema import Case
from refsolver.statics.givens import checks_numbers, replaced

__all__ = ["HandedColumns", "hand_over_columns"]


@attrs.frozen
class HandedColumns:
    """What is handed over, place by place, and in columns the givens that it states.

    ``outside`` holds the positions of the cases outside the scope of the calculator, by what
    was handed over; the others are to be put again without them.
    """

    places: Mapping[str, Placed]
    given: Any
    outside: frozenset[int]

    def doubles(self, position: int) -> dict[str, Any]:
        """What one case has at each place."""
        return {
            place: value[position] if isinstance(value, list) else value
            for place, value in self.places.items()
        }


def hand_over_columns(case: Case, count: int, section: FamilySection) -> HandedColumns:
    """What ``count`` cases in the columns of ``case.given`` hand over.

    Raises NotApplicable where all of them lie outside the scope, and NotInColumns.
    """
    check_excluded(case, section.scope)
    if names_others(section.fixed, type(case.given)):
        raise NotInColumns("a given is taken to be what another one is")
    places: dict[str, Placed] = {}
    changes: dict[str, Any] = {}
    numbers: dict[str, list[Placed]] = {}
    rows = row_counts(case.given)
    for path, leaf, field, lines in mapped_leaves(case, section):
        stated: list[tuple[InputLine, Stated]] = []
        for line in lines:
            place = place_of(line, path, rows, None)
            placed, exact = _handed(line, leaf, case)
            places[place] = placed
            if not isinstance(placed, str):
                numbers.setdefault(line.id, []).append(placed)
            stated.append((line, exact))
        changes[path] = rebuilt(leaf, field.shape, stated, case.units)
    for slot in blanks(section, rows, None):
        places[slot.place] = slot.handed
    check_scope(section.scope, {}, case, rows)
    outside = _beyond(count, numbers, section, case, rows)
    try:
        given = replaced(case.given, changes)
    except ValueError as contradiction:
        raise NotInColumns(str(contradiction)) from None
    if checks_numbers(type(given)):
        _check_each(given, count)
    return HandedColumns(places, given, outside)


def _handed(line: InputLine, leaf: Any, case: Case) -> tuple[Placed, Stated]:
    """What goes to the line's place, and the same exactly, in the line's unit and sense."""
    if line.field.shape not in ("choice", "text", "integer"):
        taken = exactly_taken(line, leaf, case.units)
        if isinstance(taken, Leaves):
            doubles = _doubles(line, -taken if line.negate else taken)
            return doubles, Leaves(doubles, fmpq(1))
        if taken is None and holds_columns(leaf):
            raise NotInColumns(f"{line.id} is no rational multiple of what is stated")
    _, _, handed = handed_value(line, leaf, case.units, takes_doubles=True)
    return (handed if isinstance(handed, str) else nearest_double(handed)), handed


def _doubles(line: InputLine, column: Leaves) -> list[float]:
    """The doubles nearest to the numbers, rounded first where the line states decimals."""
    numerator, denominator = int(column.factor.p), int(column.factor.q)
    if line.decimals is None:
        small = small_whole(column.values, numerator)
        if small is not None and denominator < 2**53:
            # Both are doubles exactly, and their quotient is rounded correctly (IEEE 754).
            quotient: list[float] = (small * numerator / denominator).tolist()
            return quotient
    whole: list[Any] = [value * numerator for value in column.values]
    if line.decimals is not None:
        if line.decimals < 0:
            raise NotInColumns("rounded to tens")
        tens = 10**line.decimals
        whole = [_half_away(value * tens, denominator) for value in whole]
        denominator = tens
    try:
        # The quotient of two whole numbers is rounded correctly.
        return [value / denominator for value in whole]
    except OverflowError:
        raise NotInColumns("beyond the range of a double") from None


def _half_away(value: int, denominator: int) -> int:
    nearest = (2 * abs(value) + denominator) // (2 * denominator)
    return nearest if value >= 0 else -nearest


def _beyond(
    count: int,
    numbers: Mapping[str, Sequence[Placed]],
    section: FamilySection,
    case: Case,
    rows: Mapping[str, int],
) -> frozenset[int]:
    """The cases of which a number handed over is beyond its limits."""
    limits = [condition for condition in section.scope if condition.kind == "input"]
    found: set[int] = set()
    for position in range(count if limits else 0):
        own = {id: [_number(p, position) for p in placed] for id, placed in numbers.items()}
        try:
            check_scope(limits, own, case, rows)
        except NotApplicable:
            found.add(position)
    return frozenset(found)


def _number(placed: Placed, position: int) -> fmpq:
    value: Any = placed[position] if isinstance(placed, list) else placed
    return exact_double(float(value))


def _check_each(given: Any, count: int) -> None:
    """Makes the givens of each case, which then check their numbers."""
    try:
        for position in range(count):
            at(given, position)
    except ValueError as contradiction:
        raise NotInColumns(str(contradiction)) from None
