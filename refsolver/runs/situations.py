"""What the calculator stood before in one case, and what a known mistake makes of it.

The calculator works in its own units and its own order of rows, whatever the case's; a
mistake that rounds on the way, or counts rows, is replayed as it would be made there.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from typing import Any

import attrs
from flint import fmpq

from refsolver.calculators.file import CalculatorFile, FamilySection
from refsolver.calculators.lines import OutputLine
from refsolver.mistakes.known import GENERAL, KnownMistake, early_rounding, replayed
from refsolver.mistakes.replay import replay
from refsolver.quantities.conversion import factor_to
from refsolver.quantities.dimensions import ANGLE, FORCE
from refsolver.quantities.units import UNITLESS, UnitSystem
from refsolver.records.runs import CaseRun
from refsolver.runs.questions import in_system, units_of
from refsolver.statics.contract import Family
from refsolver.statics.registry import family

__all__ = ["Predicted", "Situation", "Situations", "mistakes_of", "number"]

Predicted = Mapping[str, float | str]
"""By the id of a line, in its unit; a refusal is its reason in brackets."""


def number(x: fmpq) -> float:
    return int(x.p) / int(x.q)


@attrs.frozen
class Situation:
    """One case as the calculator has it: its own coherent units, its own order of rows.

    ``factors`` take a view in coherent units (radians) to the unit of its line.
    """

    id: str
    owner: Family
    given: Any
    units: UnitSystem
    lines: tuple[OutputLine, ...]
    factors: Mapping[str, float]
    _known: dict[str, Predicted | None] = attrs.field(factory=dict, eq=False, repr=False)

    def predicted(self, mistake: KnownMistake | None = None) -> Predicted | None:
        """What would be reported with the mistake made; None where it cannot be made.

        Kept by the mistake's name: detection and diagnosis ask for the same.
        """
        name = "" if mistake is None else mistake.name
        if name not in self._known:
            self._known[name] = self._predicted(mistake)
        return self._known[name]

    def _predicted(self, mistake: KnownMistake | None) -> Predicted | None:
        views = list(dict.fromkeys(line.view for line in self.lines))
        if mistake is None:
            found = replay(self.owner, self.given, views)
        else:
            found = replayed(self.owner, self.given, views, mistake)
        if found is None:
            return None
        return self.in_units({x.id: found[x.view] for x in self.lines if x.view in found})

    def in_units(self, coherent: Mapping[str, float | str]) -> Predicted:
        """Values by line, from coherent units to the units of the lines."""
        return {
            id: value if isinstance(value, str) else value * self.factors[id]
            for id, value in coherent.items()
        }


@attrs.define
class Situations:
    """The situations of a calculator file by case, each formed once."""

    file: CalculatorFile
    _known: dict[str, Situation] = attrs.field(factory=dict)
    _mistakes: dict[str, tuple[KnownMistake, ...]] = attrs.field(factory=dict)

    def of(self, run: CaseRun) -> Situation:
        if run.case.id not in self._known:
            self._known[run.case.id] = _formed(run, units_of(self.file.section(run.case.family)))
        return self._known[run.case.id]

    def mistakes(self, name: str) -> tuple[KnownMistake, ...]:
        """The known mistakes of a family's section."""
        if name not in self._mistakes:
            self._mistakes[name] = mistakes_of(self.file.section(name))
        return self._mistakes[name]


def _formed(run: CaseRun, own: UnitSystem) -> Situation:
    given, units = _as_placed(run), run.case.units
    places = any(line.view.at not in (None, fmpq(0)) for line in run.outputs)
    if UNITLESS not in (own, units) and own != units and not places:
        given, units = in_system(given, units, own), own
    factors = {
        line.id: number(factor_to(units, line.unit, line.dimension).middle)
        / (2 * math.pi if line.dimension == ANGLE else 1.0)
        for line in run.outputs
    }
    return Situation(run.case.id, family(run.case.family), given, units, run.outputs, factors)


def _as_placed(run: CaseRun) -> Any:
    """The givens with their rows in the order in which the calculator has them.

    A row without a name keeps the one it goes by in the case ("force 3"): the answers are
    asked by it.
    """
    assert run.handed is not None
    given = run.handed.given
    keys = [line.view.key or "" for line in run.outputs]
    words = list(dict.fromkeys(m[1] for key in keys if (m := re.fullmatch(r"(.+) \d+", key))))
    moved: dict[str, Any] = {}
    for name, places in (run.placement or {}).items():
        like = [w for w in words if name.replace("_", " ").startswith(w)]
        word = max(like, key=len) if like else words[0] if len(words) == 1 else ""
        rows = getattr(given, name)
        if word:
            rows = [_named(row, f"{word} {n}") for n, row in enumerate(rows, 1)]
        order = sorted(range(len(rows)), key=lambda row: places[row])
        moved[name] = tuple(rows[row] for row in order)
    try:
        return attrs.evolve(given, **moved) if moved else given
    except ValueError:  # rows that refer to each other by number, not by name
        return given


def _named(row: Any, name: str) -> Any:
    return attrs.evolve(row, name=name) if getattr(row, "name", None) == "" else row


_STEPS = (
    (fmpq(10), "tens of"),
    (fmpq(1), "whole"),
    (fmpq(1, 10), "tenths of"),
    (fmpq(1, 100), "hundredths of"),
)


def mistakes_of(section: FamilySection) -> tuple[KnownMistake, ...]:
    """Every known mistake of a family: its own, the general ones, rounding in its own unit."""
    owner, own = family(section.family), units_of(section)
    found: list[KnownMistake] = [*owner.mistakes, *GENERAL]
    for unit in dict.fromkeys(line.unit for line in section.inputs):
        if unit is None or unit.dimension != FORCE:
            continue
        for step, words in _STEPS:
            coherent = own.bring(step, unit)
            assert isinstance(coherent, fmpq)
            found.append(early_rounding(coherent, f"{words} {unit.name}"))
    return tuple({mistake.name: mistake for mistake in found}.values())
