"""A bench: one family, one form of its plain calculator, and its cases ready to be put.

The bars of the diagnosis are measured on benches (see :mod:`refsolver.runs.evidence`).
"""

from __future__ import annotations

import tempfile
from collections import Counter
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import attrs

from refsolver.calculators.file import CalculatorFile, read_calculator_file
from refsolver.catalogue.catalogue import Catalogue
from refsolver.quantities.units import UNITLESS, UnitSystem
from refsolver.records.runs import CaseRun
from refsolver.runs.diagnosis import Diagnostician
from refsolver.runs.natural import NaturalCalculator, Task
from refsolver.runs.natural_file import Angles, forms, natural_text
from refsolver.runs.one_case import asked_of, judged_run, prepared_run
from refsolver.runs.questions import questions_for
from refsolver.runs.situations import Situations
from refsolver.statics.contract import Family
from refsolver.statics.prover import prove
from refsolver.statics.reference import Reference

__all__ = ["Bench", "bench", "can_be_asked", "usual_units"]

_DIGITS = 15


@attrs.define
class Bench:
    """One family, one form of its plain calculator, and its cases ready to be put.

    What was proven and what was judged is kept: a mistake leaves most readings as they are.
    Second opinions are the self-check's affair.
    """

    owner: Family
    form: str
    file: CalculatorFile
    prepared: list[CaseRun]
    angles: Angles = Angles()
    situations: Situations = attrs.field(init=False)
    diagnostician: Diagnostician = attrs.field(init=False)
    _tasks: dict[str, Task] = attrs.field(factory=dict)
    _proven: dict[Any, tuple[Any, Reference]] = attrs.field(factory=dict)
    _judged: dict[Any, CaseRun] = attrs.field(factory=dict)

    def __attrs_post_init__(self) -> None:
        self.situations = Situations(self.file)
        self.diagnostician = Diagnostician(self.situations)

    def runs(self, calculator: NaturalCalculator) -> list[CaseRun]:
        """Every case put to the calculator and judged, as in a check."""
        return [self._put(run, calculator) if run.asked else run for run in self.prepared]

    def _put(self, run: CaseRun, calculator: NaturalCalculator) -> CaseRun:
        (received,) = calculator.ask([asked_of(run)])
        shown = tuple((place, str(value)) for place, value in received.values.items())
        key = (run.case.id, shown)
        if key not in self._judged:
            self._judged[key] = judged_run(
                run, received, self.file, True, _DIGITS, thorough=False, proving=self._prove
            )
        return self._judged[key]

    def _prove(
        self, owner: Family, given: Any, views: Sequence[Any], *, digits: int, **how: Any
    ) -> Reference:
        # Givens are told apart by identity, which costs nothing, and so have to be kept.
        key = (id(given), tuple(views), digits)
        if key not in self._proven:
            self._proven[key] = given, prove(owner, given, views, digits=digits, **how)
        return self._proven[key][1]

    def right(self) -> NaturalCalculator:
        return NaturalCalculator(self.file, self.owner, angles=self.angles, tasks=self._tasks)


def bench(
    owner: Family,
    form: str,
    catalogue: Catalogue,
    *,
    system: UnitSystem | None = None,
    angles: Angles | None = None,
    share: str = "0.5 %",
) -> Bench:
    """The family's plain calculator over all its cases, by default in their usual units."""
    counted = angles or Angles()
    text = natural_text(
        owner, system or usual_units(owner, catalogue), form, share=share, angles=counted
    )
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "natural.toml"
        path.write_text(text, encoding="utf-8")
        file = read_calculator_file(path)
    prepared = [prepared_run(q, True) for q in questions_for(file, catalogue, True)]
    return Bench(owner, form, file, prepared, counted)


def usual_units(owner: Family, catalogue: Catalogue) -> UnitSystem:
    """The units that most cases of a family are stated in."""
    systems = Counter(c.units for c in catalogue.cases((owner.name,)) if c.units != UNITLESS)
    return systems.most_common(1)[0][0] if systems else UNITLESS


def can_be_asked(owner: Family) -> bool:
    """Whether a calculator file can map any answer (a function of position needs a place)."""
    return "[[family.output]]" in natural_text(owner, UNITLESS, forms(owner)[0])
