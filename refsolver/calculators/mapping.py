"""Handing a case over: from exact leaves to the calculator's numbers, and back.

Most leaves cannot be handed over exactly (an irrational angle as a double, a magnitude
typed to one decimal). That never widens a tolerance: :func:`hand_over` also returns the
givens that were *really* handed over, and the reference is solved for those.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Undecided
from refsolver.arithmetic.detached import Enclosure, exact_double, nearest_double
from refsolver.calculators.contract import Slot
from refsolver.calculators.file import FamilySection
from refsolver.calculators.granted import followed
from refsolver.calculators.lines import InputLine
from refsolver.calculators.places import blanks, place_of, places_of, row_counts
from refsolver.calculators.rebuilding import rebuilt
from refsolver.calculators.scope import (
    NotApplicable,
    check_excluded,
    check_scope,
    mapped_leaves,
)
from refsolver.calculators.taking import taken
from refsolver.catalogue.schema import Case
from refsolver.quantities.literals import read_literal
from refsolver.quantities.rounding import (
    exact_decimal,
    is_decimal,
    rounded,
    significant,
    significant_text,
)
from refsolver.quantities.units import UnitSystem
from refsolver.statics.givens import replaced

__all__ = ["Handed", "HandedLeaf", "NotApplicable", "hand_over", "handed_value", "places_of"]

_SHORT_FIGURES = 40
"""A decimal of so many figures inside an enclosure of 300 bits is taken for the value."""

_TEXT_FIGURES = 17
"""Figures of a text where none are stated: as many as tell any two doubles apart
(IEEE 754-2019, 5.12.2)."""


@attrs.frozen
class HandedLeaf:
    """What became of one leaf: the case's own value, and the value handed over."""

    given: str
    take: str
    place: str
    unit: str
    says: str
    value: fmpq | str
    """The case's own, in the unit; the middle of its enclosure where it is not exact."""
    handed: fmpq | str
    exact: bool

    @property
    def case_value(self) -> str:
        return self.value if isinstance(self.value, str) else _short(self.value)

    @property
    def handed_value(self) -> str:
        return self.handed if isinstance(self.handed, str) else _short(self.handed)

    def data(self) -> dict[str, Any]:
        """As a record holds it."""
        names = ("given", "take", "place", "unit", "says", "case_value", "handed_value", "exact")
        return {name: getattr(self, name) for name in names}


@attrs.frozen
class Handed:
    """Everything handed over for one case, and the givens the reference is solved for."""

    slots: tuple[Slot, ...]
    given: Any
    leaves: tuple[HandedLeaf, ...]

    @property
    def inexact(self) -> bool:
        return not all(leaf.exact for leaf in self.leaves)


def hand_over(
    case: Case,
    section: FamilySection,
    *,
    takes_doubles: bool,
    placement: Mapping[str, Sequence[int]] | None = None,
    as_sent: Mapping[str, str] | None = None,
) -> Handed:
    """The slots for a case, and the givens they really state.

    ``placement`` puts the rows of a table, by name, at these positions (counting from 0),
    to leave gaps or to permute. ``as_sent`` gives, by place, the number that a text template
    really printed. Raises NotApplicable, naming the condition.
    """
    check_excluded(case, section.scope)
    slots: list[Slot] = []
    leaves: list[HandedLeaf] = []
    changes: dict[str, Any] = {}
    numbers: dict[str, list[fmpq]] = {}
    rows = row_counts(case.given)
    for path, leaf, field, lines in mapped_leaves(case, section):
        stated: list[tuple[InputLine, fmpq | str]] = []
        for line in lines:
            place = place_of(line, path, rows, placement)
            value, shown, handed = handed_value(line, leaf, case.units, takes_doubles)
            if as_sent is not None and place in as_sent and not isinstance(handed, str):
                handed = _number_sent(as_sent[place])
            if isinstance(handed, str):
                slots.append(Slot(place, path, handed, number=False))
                exact = True
            else:
                double = nearest_double(handed) if takes_doubles else None
                text = exact_decimal(handed) or f"{handed.p}/{handed.q}"
                slots.append(Slot(place, path, text, double))
                numbers.setdefault(line.id, []).append(handed)
                exact = value is not None and value.is_exact and value.lower == handed
                exact = exact or (value is not None and _same(value, handed))
            stated.append((line, handed))
            unit = "" if line.unit is None else line.unit.name
            leaves.append(HandedLeaf(path, line.take, place, unit, line.says, shown, handed, exact))
        changes[path] = rebuilt(leaf, field.shape, stated, case.units)
    for path, other in followed(section.fixed, case.given).items():
        if other in changes:
            changes[path] = changes[other]
    slots += blanks(section, rows, placement)
    check_scope(section.scope, numbers, case, rows)
    try:
        given = replaced(case.given, changes)
    except ValueError as contradiction:
        raise NotApplicable(
            f"the numbers handed over contradict each other once rounded: {contradiction}"
        ) from None
    return Handed(tuple(slots), given, tuple(leaves))


def _number_sent(text: str) -> fmpq:
    value = read_literal(text).value
    assert isinstance(value, fmpq)
    return value


def _same(value: Enclosure, handed: fmpq) -> bool:
    """The case's value is this number as far as can be told (its enclosure is that tight)."""
    return bool(value.lower <= handed <= value.upper)


def _short(x: fmpq) -> str:
    """A decimal a person can read: exact where short, else 17 significant figures."""
    exact: str | None = exact_decimal(x)
    if exact is not None and len(exact) <= 20:
        return exact
    double = nearest_double(x)
    if not math.isfinite(double) or (double == 0 and x != 0):
        return significant_text(x, _TEXT_FIGURES)
    return repr(double)


def handed_value(
    line: InputLine, leaf: Any, system: UnitSystem, takes_doubles: bool
) -> tuple[Enclosure | None, fmpq | str, fmpq | str]:
    """The case's value in the line's unit (None for a word), to show, and what is handed over.

    Raises NotApplicable where the line cannot state the leaf.
    """
    if line.field.shape in ("choice", "text"):
        word = line.words.get(str(leaf), str(leaf))
        if line.field.shape == "choice" and line.words and str(leaf) not in line.words:
            raise NotApplicable(f"the calculator has no word for {line.given} = {leaf}")
        return None, str(leaf), word
    if line.field.shape == "integer":
        return None, str(leaf), fmpq(leaf)
    try:
        value = taken(line, leaf, system)
    except Undecided as undecided:
        raise NotApplicable(f"{line.given} cannot be worked out: {undecided.name}") from None
    if line.negate:
        value = value.scaled(fmpq(-1))
    short = _short_decimal(value)
    handed = value.middle if short is None else short
    if line.decimals is not None:
        handed = rounded(handed, fmpq(10) ** -line.decimals)
    if takes_doubles:
        double = nearest_double(handed)
        if not math.isfinite(double):
            raise NotApplicable(f"{line.given} is beyond the range of a double")
        handed = exact_double(double)
    elif line.decimals is None and short is None:
        handed = significant(handed, _TEXT_FIGURES)
    return value, value.middle if short is None else short, handed


def _short_decimal(value: Enclosure) -> fmpq | None:
    """The decimal that the value is, as far as can be told, None where it is none.

    What is handed over is this decimal, whatever the value: nothing rests on the guess.
    """
    if value.is_exact:
        return value.lower if is_decimal(value.lower) else None
    near = significant(value.middle, _SHORT_FIGURES)
    return near if value.lower <= near <= value.upper else None
