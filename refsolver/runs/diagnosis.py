"""Diagnosis of a run: which single mapping or mistake explains its failures.

Every hypothesis is replayed in double precision on the cases of a family and compared with
what was reported. It explains a failing reading where it predicts the reported number
within what its printed digits and its criterion allow, and never by more than a twentieth
of the deviation. It is contradicted by a passing reading that it says would have been
otherwise, and is then not offered. Evidence is pooled: the hypothesis that explains most
comes first; another mapping comes before any mistake that explains no more. What none
explains is said to be unexplained. All of it is a suggestion, not a result.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any, Protocol

import attrs
from flint import fmpq

from refsolver.calculators.file import CalculatorFile, FamilySection, OutputLine
from refsolver.calculators.numbertext import UnreadableNumber, read_number
from refsolver.checking.judging import Finding
from refsolver.mistakes.known import GENERAL, KnownMistake, early_rounding, replayed
from refsolver.quantities.conversion import factor_to
from refsolver.quantities.dimensions import ANGLE, FORCE
from refsolver.quantities.units import Unit, UnitSystem
from refsolver.records.runs import CaseRun
from refsolver.runs.conventions import Convention, conventions
from refsolver.statics.contract import Family
from refsolver.statics.registry import family

__all__ = ["Explanation", "JudgedRun", "diagnose", "diagnosis_data"]

_SPECIFIC = 0.05
"""A match must be nearer to the reported number than this share of its deviation."""

_NOISE = 1e-9
"""Relative slack for the rounding errors of a replay in double precision."""

_SCREEN = 40
"""Failing cases on which a hypothesis must first explain something."""


@attrs.frozen
class Explanation:
    """A hypothesis that is not contradicted, and the failing readings it explains."""

    name: str
    sentence: str
    is_mapping: bool
    explained: frozenset[tuple[str, int]]
    """Case id, number of the finding in its case."""
    failures: int
    also: tuple[str, ...] = ()
    """Other hypotheses that explain the same readings."""

    def words(self) -> str:
        n, m = len(self.explained), self.failures
        how = "another mapping" if self.is_mapping else f"a known mistake, {self.name}"
        text = (
            f"Explained by {how}: {self.sentence} ({n} of {_readings(m)}, and no passing case "
            "contradicts it)."
        )
        if self.is_mapping:
            text += " Look at the calculator file before the calculator."
        if self.also:
            text += f" The same would come of: {'; '.join(self.also)}."
        return text


@attrs.frozen
class _Reading:
    """A judged number as floats in the line's unit."""

    key: tuple[str, int]
    line: str
    failed: bool
    number: float
    period: float | None
    half_step: float
    band: float
    deviation: float

    def apart(self, predicted: float) -> float:
        gap = abs(self.number - predicted)
        if self.period is not None:
            gap = math.fmod(gap, self.period)
            gap = min(gap, self.period - gap)
        return gap

    def matches(self, predicted: float) -> bool:
        noise = _NOISE * max(abs(self.number), abs(predicted))
        specific = max(_SPECIFIC * self.deviation, min(self.half_step, self.deviation / 4))
        allowed = min(max(self.band, self.half_step), specific)
        return self.apart(predicted) <= allowed + noise

    def contradicts(self, predicted: float) -> bool:
        noise = _NOISE * max(abs(self.number), abs(predicted))
        return self.apart(predicted) > 2 * self.band + self.half_step + noise


@attrs.frozen
class _Situation:
    """One judged case: its givens as handed over, its lines and its readings."""

    id: str
    given: Any
    units: UnitSystem
    lines: tuple[OutputLine, ...]
    factors: Mapping[str, float]
    readings: tuple[_Reading, ...]

    @property
    def failed(self) -> bool:
        return any(reading.failed for reading in self.readings)


@attrs.frozen
class _Hypothesis:
    name: str
    sentence: str
    is_mapping: bool
    predict: Callable[[_Situation], Mapping[str, float | str] | None]
    """By the id of a line, in coherent units."""


class JudgedRun(Protocol):
    """What a diagnosis needs of a run, or of one made again from its record."""

    @property
    def file(self) -> CalculatorFile: ...

    @property
    def runs(self) -> Sequence[CaseRun]: ...


def diagnose(run: JudgedRun) -> tuple[list[Explanation], dict[str, int]]:
    """Explanations, the strongest first, and by case how many failing readings none explains."""
    found: list[Explanation] = []
    unexplained: dict[str, int] = {}
    for section in run.file.sections:
        situations = [
            situation
            for case_run in run.runs
            if case_run.judged and case_run.case.family == section.family
            if (situation := _situation(case_run)) is not None
        ]
        failing = frozenset(r.key for s in situations for r in s.readings if r.failed)
        if not failing:
            continue
        chosen = list(_chosen(_explanations(section, situations, failing)))
        found += chosen
        for id, _ in failing - frozenset().union(*(e.explained for e in chosen)):
            unexplained[id] = unexplained.get(id, 0) + 1
    return sorted(found, key=lambda e: -len(e.explained)), unexplained


def diagnosis_data(run: JudgedRun) -> dict[str, Any]:
    """The diagnosis as sentences: over all cases, and for each failing case."""
    explanations, unexplained = diagnose(run)
    cases: dict[str, list[str]] = {}
    for each in explanations:
        for id in sorted({id for id, _ in each.explained}):
            what = f"another mapping: {each.sentence}" if each.is_mapping else each.name
            cases.setdefault(id, []).append(f"Explained by {what}.")
    for id, count in unexplained.items():
        cases.setdefault(id, []).append(f"Unexplained: {_readings(count)} of this case.")
    suggestions = [each.words() for each in explanations]
    if unexplained:
        suggestions.append(
            f"Unexplained: {_readings(sum(unexplained.values()))}; no other mapping and "
            "no known mistake gives what was reported without a passing case against it."
        )
    return {"suggestions": suggestions, "cases": dict(sorted(cases.items()))}


def _readings(count: int) -> str:
    return f"{count} failing reading{'' if count == 1 else 's'}"


# ---- what was reported


def _situation(run: CaseRun) -> _Situation | None:
    lines = {line.id: line for line in run.outputs}
    factors = {
        line.id: _float(factor_to(run.case.units, line.unit, line.dimension).middle)
        / (2 * math.pi if line.dimension == ANGLE else 1.0)
        for line in run.outputs
    }
    readings = [
        reading
        for number, finding in enumerate(run.findings)
        if (reading := _reading((run.case.id, number), finding, lines[finding.output])) is not None
    ]
    if not readings:
        return None
    return _Situation(
        run.case.id, _as_placed(run), run.case.units, run.outputs, factors, tuple(readings)
    )


def _as_placed(run: CaseRun) -> Any:
    """The givens with their rows in the order in which the calculator has them."""
    assert run.handed is not None
    given = run.handed.given
    for name, places in (run.placement or {}).items():
        rows = getattr(given, name)
        order = sorted(range(len(rows)), key=lambda row: places[row])
        given = attrs.evolve(given, **{name: tuple(rows[row] for row in order)})
    return given


def _reading(key: tuple[str, int], finding: Finding, line: OutputLine) -> _Reading | None:
    if finding.verdict not in ("pass", "fail") or "slip of reading" in finding.why:
        return None
    if finding.number is None or finding.deviation is None or finding.band is None:
        return None
    failed, period = finding.verdict == "fail", line.period
    band = _float(max(finding.band.below.middle, finding.band.above.middle))
    deviation = abs(_float(finding.deviation.middle))
    if failed and line.criterion is not None and line.criterion.as_vector and deviation <= band:
        return None  # the vector fails by its other component
    return _Reading(
        key,
        finding.output,
        failed,
        _float(finding.number),
        None if period is None else _float(period.middle),
        _half_step(finding.reported),
        band,
        deviation,
    )


def _half_step(reported: str) -> float:
    """Half a unit of the last printed digit; 0 for more digits than a double carries."""
    try:
        return 0.5 * 10.0 ** -read_number(reported).decimals
    except (UnreadableNumber, OverflowError):
        return 0.0


def _float(x: fmpq) -> float:
    return int(x.p) / int(x.q)


# ---- what would have been reported


def _hypotheses(section: FamilySection) -> Iterator[_Hypothesis]:
    owner = family(section.family)
    for convention in conventions(section):
        yield _Hypothesis(convention.says, convention.says, True, _by_mapping(owner, convention))
    for mistake in (*owner.mistakes, *GENERAL):
        yield _Hypothesis(mistake.name, mistake.says, False, _by_mistake(owner, mistake))
    for unit in dict.fromkeys(line.unit for line in section.inputs):
        if unit is None or unit.dimension != FORCE:
            continue
        for step, words in _STEPS:
            yield _rounding(owner, unit, step, words)


_STEPS = (
    (fmpq(10), "tens of"),
    (fmpq(1), "whole"),
    (fmpq(1, 10), "tenths of"),
    (fmpq(1, 100), "hundredths of"),
)


def _rounding(owner: Family, unit: Unit, step: fmpq, words: str) -> _Hypothesis:
    """Rounding in the calculator's unit, whatever the case's own."""
    said = early_rounding(step, f"{words} {unit.name}")

    def predict(situation: _Situation) -> Mapping[str, float | str] | None:
        coherent = situation.units.bring(step, unit)
        if not isinstance(coherent, fmpq):
            return None
        return _by_mistake(owner, early_rounding(coherent, words))(situation)

    return _Hypothesis(said.name, said.says, False, predict)


def _by_mapping(
    owner: Family, convention: Convention
) -> Callable[[_Situation], Mapping[str, float | str] | None]:
    return lambda situation: convention.predicted(owner, situation.given, situation.lines)


def _by_mistake(
    owner: Family, mistake: KnownMistake
) -> Callable[[_Situation], Mapping[str, float | str] | None]:
    def predict(situation: _Situation) -> Mapping[str, float | str] | None:
        views = list(dict.fromkeys(line.view for line in situation.lines))
        found = replayed(owner, situation.given, views, mistake)
        if found is None:
            return None
        return {line.id: found[line.view] for line in situation.lines if line.view in found}

    return predict


# ---- weighing


def _explanations(
    section: FamilySection, situations: Sequence[_Situation], failing: frozenset[tuple[str, int]]
) -> list[Explanation]:
    found = []
    for hypothesis in _hypotheses(section):
        explained = _weighed(hypothesis, situations, len(failing))
        if explained:
            found.append(
                Explanation(
                    hypothesis.name,
                    hypothesis.sentence,
                    hypothesis.is_mapping,
                    explained,
                    len(failing),
                )
            )
    return found


def _weighed(
    hypothesis: _Hypothesis, situations: Sequence[_Situation], failures: int
) -> frozenset[tuple[str, int]]:
    """The failing readings it explains; none where it is contradicted or explains too few."""
    explained: set[tuple[str, int]] = set()
    order = sorted(situations, key=lambda s: not s.failed)
    for number, situation in enumerate(order):
        if not explained and (number >= _SCREEN or not situation.failed):
            return frozenset()
        predicted = hypothesis.predict(situation)
        for reading in situation.readings if predicted is not None else ():
            value = (predicted or {}).get(reading.line)
            if value is None or isinstance(value, str):
                continue
            value *= situation.factors[reading.line]
            if reading.failed and reading.matches(value):
                explained.add(reading.key)
            elif not reading.failed and reading.contradicts(value):
                return frozenset()
    enough = len(explained) >= min(2, failures) and 4 * len(explained) >= failures
    return frozenset(explained) if enough else frozenset()


def _chosen(explanations: Sequence[Explanation]) -> Iterator[Explanation]:
    """Greedily those that explain most of what is left; a mapping goes first at a tie."""
    left = list(explanations)
    got: frozenset[tuple[str, int]] = frozenset()
    while left:
        best = max(left, key=lambda e: (len(e.explained - got), e.is_mapping))
        if not best.explained - got:
            return
        same = [e.sentence if e.is_mapping else e.name for e in left
                if e is not best and e.explained == best.explained]  # fmt: skip
        got |= best.explained
        left = [e for e in left if e.explained != best.explained]
        yield attrs.evolve(best, also=tuple(same[:3]))
