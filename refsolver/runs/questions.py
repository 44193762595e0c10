"""Which cases a run puts to a calculator, and in which order.

Anchor cases first (a person can check them at sight), then the catalogue, then cases made
for this calculator: tables filled to the last row, in another order, and with gaps where
the calculator allows them, so that a sum which stops one row short cannot pass.
"""

from __future__ import annotations

import random
import tempfile
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import attrs

from refsolver.calculators.file import CalculatorFile, FamilySection
from refsolver.calculators.mapping import NotApplicable, hand_over, places_of
from refsolver.catalogue.catalogue import Catalogue
from refsolver.catalogue.ladders import LADDER
from refsolver.catalogue.reading import read_case
from refsolver.catalogue.schema import Case
from refsolver.catalogue.writing import case_text
from refsolver.quantities.units import UNITLESS, UnitSystem
from refsolver.runs.suiting import suited
from refsolver.statics.contract import Family
from refsolver.statics.givens import fields, restated
from refsolver.statics.registry import family, folder_of

__all__ = [
    "ANCHOR",
    "Question",
    "in_system",
    "is_put",
    "questions_for",
    "rows_allowed",
    "units_of",
    "with_units",
]

ANCHOR = "anchor case"
"""The topic that marks a case which a person can check at sight."""

_OPEN_ENDED = 8
"""Rows of a filled table where neither mapping nor scope sets a limit."""

_TRIES = 60


@attrs.frozen
class Question:
    """A case to put, for one section of the calculator file."""

    case: Case
    section: FamilySection
    made: bool = False
    placement: Mapping[str, tuple[int, ...]] | None = None
    """Made cases: where each row of a table goes in the calculator's own table."""


def questions_for(
    file: CalculatorFile,
    catalogue: Catalogue,
    takes_doubles: bool,
    ids: frozenset[str] | None = None,
) -> Iterator[Question]:
    """Every question of a full run, in order; of the catalogue only ``ids`` where stated."""
    for section in file.sections:
        folder = f"{folder_of(section.family)}/"
        found = (
            catalogue.read(id)
            for id in catalogue.paths
            if id.startswith(folder) and (ids is None or id in ids)
        )
        cases = [case for case in found if is_put(case, section.family, section.ladder)]
        cases.sort(key=lambda case: ANCHOR not in case.topics)
        yield from (Question(with_units(case, section), section) for case in cases)
        yield from _made_for(section, catalogue, takes_doubles)


def is_put(case: Case, family: str, ladder: bool) -> bool:
    """Whether a run puts a case of the catalogue for this family, with its ladder or without."""
    return case.family == family and (ladder or LADDER not in case.topics)


def with_units(case: Case, section: FamilySection) -> Case:
    """The case itself, or one without units as if stated in the calculator's own.

    A case without units holds in any coherent system; the one of the section's input units
    is taken.
    """
    if case.units != UNITLESS:
        return case
    return attrs.evolve(case, units=units_of(section))


def units_of(section: FamilySection) -> UnitSystem:
    """The coherent system of the calculator's own input units."""
    return UnitSystem.of([line.unit for line in section.inputs if line.unit is not None])


def in_system(given: Any, old: UnitSystem, new: UnitSystem) -> Any:
    """Givens in the coherent units of one system, in those of another."""
    return restated(given, lambda dimension: old.factor(dimension) / new.factor(dimension))


def rows_allowed(section: FamilySection, owner: Family) -> dict[str, tuple[int, int]]:
    """The least and most rows that each table of the family may have, where they are mapped."""
    found: dict[str, tuple[int, int]] = {}
    for name, field in fields(owner.givens).items():
        lines = [line for line in section.inputs if line.given.startswith(f"{name}[*]")]
        if field.shape != "many" or not lines:
            continue
        room = [
            len(places_of(line.place, 0) or [line.place]) for line in lines if "*" not in line.place
        ]
        counts = [c for c in section.scope if c.kind == "count" and c.target == name]
        most = [int(c.at_most.p) for c in counts if c.at_most is not None]
        least = [int(c.at_least.ceil()) for c in counts if c.at_least is not None]
        found[name] = max(least, default=field.minimum), min([*room, *most], default=_OPEN_ENDED)
    return found


def _made_for(
    section: FamilySection, catalogue: Catalogue, takes_doubles: bool
) -> Iterator[Question]:
    owner = family(section.family)
    rows = {name: most for name, (_, most) in rows_allowed(section, owner).items()}
    if not rows:
        return
    for number, word in enumerate(("every row filled", "every row filled, other values"), 1):
        case = _filled(section, owner, catalogue, rows, f"filled-{number}", word, takes_doubles)
        if case is not None:
            yield Question(case, section, made=True)
    reverse = {
        name: tuple(reversed(range(count)))
        for name, count in rows.items()
        if not fields(owner.givens)[name].ordered
    }
    case = _filled(section, owner, catalogue, rows, "permuted", "rows in reverse", takes_doubles)
    if reverse and case is not None:
        yield Question(case, section, made=True, placement=reverse)
    if section.gaps:
        spread = {n: (0, *range(3, count)) for n, count in rows.items() if count > 3}
        fewer = {name: len(spread.get(name, range(count))) for name, count in rows.items()}
        case = _filled(section, owner, catalogue, fewer, "gaps", "rows left blank", takes_doubles)
        if case is not None:
            yield Question(case, section, made=True, placement=spread)


def _filled(
    section: FamilySection,
    owner: Family,
    catalogue: Catalogue,
    rows: dict[str, int],
    slug: str,
    word: str,
    takes_doubles: bool,
) -> Case | None:
    """A made case within the scope; None where the family cannot fill or the scope refuses."""
    units = units_of(section)
    for given in _proposed(section, owner, rows, slug, units):
        text = case_text(
            owner,
            given,
            units,
            title=f"Made for this calculator: {word}",
            statement=f"{owner.title}, with {word}. Invented values.",
            by="made from a seed so that every row matters; proven by the solver alone",
        )
        case = _read(text, f"{owner.name}/made/{slug}", catalogue)
        try:
            hand_over(case, section, takes_doubles=takes_doubles)
        except NotApplicable:
            continue
        return case
    return None


def _proposed(
    section: FamilySection, owner: Family, rows: dict[str, int], slug: str, units: UnitSystem
) -> Iterator[Any]:
    """Filled givens to try: those that the calculator can be told as they are, then the others.

    Those others are brought within what it can be told.
    """
    changed: list[Any] = []
    for seed in range(_TRIES):
        given = owner.filled(rows, random.Random(f"{owner.name} {slug} {seed}"))
        if given is None:
            return
        told = suited(given, section, units)
        if told == given:
            yield given
        elif told is not None:
            changed.append(told)
    yield from changed


def _read(text: str, id: str, catalogue: Catalogue) -> Case:
    """The case that the text states, read as a file so that both ways are one."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "made.toml"
        path.write_text(text, encoding="utf-8")
        return attrs.evolve(read_case(path, id, catalogue.works), path=Path(f"{id}.toml"))
