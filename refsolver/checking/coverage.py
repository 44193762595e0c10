"""What a run judged, and what it did not: counts that stand beside the overall result."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

import attrs

from refsolver.calculators.contract import Received
from refsolver.calculators.file import CalculatorFile
from refsolver.calculators.mapping import Handed, places_of
from refsolver.checking.judging import VERDICTS, Finding
from refsolver.statics.givens import pattern_of

__all__ = ["Coverage", "CoverageOf", "Judged", "coverage_of", "verdict_counts"]

JUDGED = ("pass", "fail")


@attrs.frozen
class Judged:
    """One case that was put to the calculator, with its findings."""

    family: str
    counts: bool
    """False where the case may not count towards coverage (known from memory only)."""
    handed: Handed
    received: Received
    findings: tuple[Finding, ...]


@attrs.frozen
class CoverageOf:
    """Coverage of one family's section of the calculator file.

    ``outputs`` counts the cases in which each output was judged; ``values`` the different
    values that each input place was given (a blank is none; names are left out, since no
    answer depends on them); ``exercised`` the different
    values that each formula cell upstream of an output took.
    """

    family: str
    cases: int
    outputs: Mapping[str, int]
    values: Mapping[str, int]
    exercised: Mapping[str, int]

    @property
    def never_judged(self) -> list[str]:
        return [name for name, count in self.outputs.items() if count == 0]

    @property
    def never_varied(self) -> list[str]:
        return [place for place, count in self.values.items() if count < 2]

    @property
    def never_exercised(self) -> list[str]:
        return [cell for cell, count in self.exercised.items() if count < 2]


@attrs.frozen
class Coverage:
    families: tuple[CoverageOf, ...]


def coverage_of(file: CalculatorFile, judged: Iterable[Judged]) -> Coverage:
    """The coverage of every section, over all judged cases."""
    runs = list(judged)
    return Coverage(
        tuple(
            _section(file, section.family, [run for run in runs if run.family == section.family])
            for section in file.sections
        )
    )


def _section(file: CalculatorFile, family: str, runs: list[Judged]) -> CoverageOf:
    section = file.section(family)
    counting = [run for run in runs if run.counts]
    outputs = {
        line.id: sum(
            any(f.line == line.id and f.verdict in JUDGED for f in run.findings) for run in counting
        )
        for line in section.outputs
    }
    values: dict[str, set[str]] = {}
    words = {line.given for line in section.inputs if line.field.shape == "text"}
    for line in section.inputs:
        if line.given in words:
            continue
        for place in places_of(line.place, 0) or ([] if "*" in line.place else [line.place]):
            values[place] = set()
    for run in runs:
        if any(f.verdict in JUDGED for f in run.findings):
            for slot in run.handed.slots:
                if slot.given and pattern_of(slot.given) not in words:
                    values.setdefault(slot.place, set()).add(slot.value)
    exercised: dict[str, set[Any]] = {}
    for run in runs:
        for cell, value in run.received.exercised.items():
            exercised.setdefault(cell, set()).add(str(value))
    return CoverageOf(
        family=family,
        cases=sum(any(f.verdict in JUDGED for f in run.findings) for run in counting),
        outputs=outputs,
        values={place: len(seen) for place, seen in values.items()},
        exercised={cell: len(seen) for cell, seen in exercised.items()},
    )


def verdict_counts(findings: Iterable[Finding]) -> dict[str, int]:
    """How many findings of each verdict, all of them listed; they add up to the total."""
    counted: dict[str, int] = dict.fromkeys(VERDICTS, 0)
    for finding in findings:
        counted[finding.verdict] += 1
    return counted
