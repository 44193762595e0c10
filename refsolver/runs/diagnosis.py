"""Diagnosis of a run: which single mapping or mistake explains its failures.

Every hypothesis is replayed in double precision on the cases of a family and compared with
what was reported. It explains a failing reading where it predicts the reported number
within what its printed digits and its criterion allow, and never by more than a twentieth
of the deviation. It is contradicted by a passing reading that it says would have been
otherwise, and is then not offered; it is borne out by one that deviates, within its tolerance,
just as it says. A mistake may still be offered for single outputs, where no passing reading
contradicts it there and it explains nearly all that fail. Evidence is pooled: the hypothesis
that explains most comes first; another mapping comes before any mistake that explains no more.
Where single mistakes leave much unexplained, two at once are tried, and offered only
if they explain nearly all. What none explains is said to be unexplained. All of it is a
suggestion, not a result.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from typing import Any, Protocol

import attrs

from refsolver.calculators.file import CalculatorFile, FamilySection, OutputLine
from refsolver.calculators.numbertext import UnreadableNumber, read_number
from refsolver.checking.judging import Finding
from refsolver.mistakes.known import KnownMistake
from refsolver.quantities.conversion import factor_to
from refsolver.quantities.dimensions import ANGLE
from refsolver.quantities.units import UNITLESS
from refsolver.records.runs import CaseRun
from refsolver.runs.conventions import Convention, conventions
from refsolver.runs.pairs import pairs_of
from refsolver.runs.situations import Predicted, Situation, Situations, number

__all__ = ["Diagnostician", "Explanation", "JudgedRun", "diagnose", "diagnosis_data"]

_SPECIFIC, _SPECIFIC_WHOLE = 0.05, 0.002
"""A match must be nearer to the reported number than this share of its deviation; the second
where all digits of a double were reported, which leaves room for another g or pi only."""

_NOISE = 1e-9
"""Relative slack for the rounding errors of a replay in double precision."""

_ALIKE = 1e-6
"""Relative slack for a number reported where there is none, which has no criterion."""

_DECLINED = "["

_LEAST = 2
"""Readings a hypothesis must explain: among some hundred one fits a single number by chance."""

_FEW = 4
"""Readings in which rounding alone decides what a hypothesis gives (a right angle or its
opposite, say) count as explained where this many times more of them are really explained."""

_BORNE_OUT = 3
"""So many passing readings that deviate just as a hypothesis says, to nine figures, make one
failing reading enough."""

_ALONE = 4
"""Readings of single outputs that a hypothesis must explain, if it explains little of all."""

_TELLING = 6
"""Figures that a single number must have to be enough by itself, and be met in all of them."""

_LISTED = 3
"""Indistinguishable hypotheses that a sentence lists."""

_AMBIGUOUS = 2
"""Other hypotheses that may explain the same refusals."""

_SCREEN, _SCREEN_MAPPING, _SCREEN_PAIR = 40, 10, 5
"""Failing cases on which a mistake, another mapping and two mistakes at once must first explain
something."""

_PAIR_CASES = 3
"""Cases of which two mistakes at once must explain something."""


@attrs.frozen
class Explanation:
    """A hypothesis that is not contradicted, and the failing readings it explains."""

    name: str
    sentence: str
    is_mapping: bool
    explained: frozenset[tuple[str, int]]
    """Case id, number of the finding in its case."""
    failures: int
    borne_out: int = 0
    """Passing readings that deviate, within what is allowed, just as it says."""

    refusals_only: bool = False
    """Whether it explains nothing but that the calculator declined."""

    only: tuple[str, ...] = ()
    """The outputs for which it is offered, where others speak against it."""

    also: tuple[str, ...] = ()
    """Other hypotheses that explain the same readings."""

    def words(self) -> str:
        n, m = len(self.explained), self.failures
        how = "another mapping" if self.is_mapping else f"a known mistake, {self.name}"
        where = f", in {', '.join(self.only)} alone" if self.only else ""
        text = (
            f"Explained by {how}: {self.sentence}{where} ({n} of {_count(m)}, and no passing case "
            "contradicts it)."
        )
        if self.is_mapping:
            text += " Look at the calculator file before the calculator."
        if self.also:
            more = len(self.also) - _LISTED
            text += f" The same would come of: {'; '.join(self.also[:_LISTED])}"
            text += f"; and {more} more." if more > 0 else "."
        return text


@attrs.frozen
class _Reading:
    """A judged reading: a number as a float in the line's unit, or a word.

    ``word`` is what was reported where that is no number (a refusal: "["); ``deviation`` is
    None where a number was reported and the reference is none; ``turn`` is a whole turn in
    the line's unit, where it is an angle.
    """

    key: tuple[str, int]
    line: str
    output: str
    """The line of the calculator file; a line for every key of a table has several ``line``."""
    failed: bool
    number: float = 0.0
    period: float | None = None
    turn: float | None = None
    half_step: float = 0.0
    band: float = 0.0
    deviation: float | None = None
    word: str = ""

    def apart(self, predicted: float) -> float:
        gap = abs(self.number - predicted)
        if self.period is not None:
            gap = math.fmod(gap, self.period)
            gap = min(gap, self.period - gap)
        return gap

    def matches(self, predicted: float | str) -> bool:
        if self.word or isinstance(predicted, str):
            return isinstance(predicted, str) and _word(predicted) == self.word
        noise = _NOISE * max(abs(self.number), abs(predicted))
        if self.deviation is None:
            return self.apart(predicted) <= self.half_step + _ALIKE * abs(self.number) + noise
        whole = self.half_step <= _NOISE * abs(self.number)
        share = _SPECIFIC_WHOLE if whole else _SPECIFIC
        specific = max(share * self.deviation, min(self.half_step, self.deviation / 4))
        allowed = min(max(self.band, self.half_step), specific)
        return self.apart(predicted) <= allowed + noise

    def told_by(self, predicted: float | str) -> bool:
        """Whether this reading alone bears the hypothesis out.

        It has all digits of a double and is no round number, and the hypothesis gives it so.
        """
        if self.word or isinstance(predicted, str) or self.deviation is None:
            return False
        figures = f"{abs(self.number):.9e}".partition("e")[0].replace(".", "").rstrip("0")
        if self.half_step > _NOISE * abs(self.number) or len(figures) < _TELLING:
            return False
        return self.apart(predicted) <= _NOISE * max(abs(self.number), abs(predicted))

    def bears_out(self, predicted: float | str) -> bool:
        """Whether this passing reading, given with all digits, deviates as predicted."""
        if self.word or isinstance(predicted, str) or self.deviation is None:
            return False
        noise = _NOISE * max(abs(self.number), abs(predicted), 1e-3 * self.band)
        if self.half_step > noise or self.deviation <= 1e3 * noise:
            return False
        return self.apart(predicted) <= noise

    def contradicts(self, predicted: float | str) -> bool:
        """Whether a passing reading would have been another one."""
        if self.word == _DECLINED:
            return False  # it may decline before it goes wrong
        if self.word or isinstance(predicted, str):
            return not self.matches(predicted)
        noise = _NOISE * max(abs(self.number), abs(predicted))
        gap = self.apart(predicted)
        if self.turn is not None:  # on the cut of its range rounding says which end is given
            gap = abs(math.remainder(gap, self.turn))
        return gap > 2 * self.band + self.half_step + noise


def _word(text: str) -> str:
    """A word of ours; every refusal is alike, whatever its reason."""
    return _DECLINED if text.startswith(_DECLINED) else text


@attrs.frozen
class _Judged:
    """One judged case: what the calculator stood before, and its readings."""

    situation: Situation
    readings: tuple[_Reading, ...]

    @property
    def failed(self) -> bool:
        return any(reading.failed for reading in self.readings)


@attrs.frozen
class _Hypothesis:
    name: str
    sentence: str
    is_mapping: bool
    predict: Callable[[Situation], Predicted | None]
    screen: int
    """Failing cases on which it must first explain something."""


def _unkept(hypothesis: _Hypothesis, situation: Situation) -> Predicted | None:
    return hypothesis.predict(situation)


@attrs.define
class Diagnostician:
    """Every hypothesis about a calculator file, and what each was found to predict.

    Predictions are kept, so that many runs of one file over the same cases are cheap.
    """

    situations: Situations
    _hypotheses: dict[str, list[_Hypothesis]] = attrs.field(factory=dict)
    _predicted: dict[tuple[int, str], Predicted | None] = attrs.field(factory=dict)

    def diagnose(self, runs: Sequence[CaseRun]) -> tuple[list[Explanation], dict[str, int]]:
        """Explanations, the strongest first; by case, how many failing readings none explains."""
        found: list[Explanation] = []
        unexplained: dict[str, int] = {}
        for section in self.situations.file.sections:
            judged = [
                _Judged(self.situations.of(run), readings)
                for run in runs
                if run.judged and run.case.family == section.family and _can_be_replayed(run)
                if (readings := _readings(run))
            ]
            failing = frozenset(r.key for each in judged for r in each.readings if r.failed)
            if not failing:
                continue
            chosen = list(_chosen(self._explanations(section, judged, failing)))
            if 10 * len(frozenset().union(*(e.explained for e in chosen))) < 9 * len(failing):
                chosen = list(_chosen(self._by_pairs(section, judged, failing))) or chosen
            found += chosen
            for id, _ in failing - frozenset().union(*(e.explained for e in chosen)):
                unexplained[id] = unexplained.get(id, 0) + 1
        return sorted(found, key=lambda e: -len(e.explained)), unexplained

    def _explanations(
        self,
        section: FamilySection,
        judged: Sequence[_Judged],
        failing: frozenset[tuple[str, int]],
    ) -> list[Explanation]:
        if section.family not in self._hypotheses:
            self._hypotheses[section.family] = list(_hypotheses(section, self.situations))
        declined = {r.key for each in judged for r in each.readings if r.word == _DECLINED}
        counts = Counter(r.output for each in judged for r in each.readings if r.failed)
        return [
            Explanation(
                each.name,
                each.sentence,
                each.is_mapping,
                explained,
                len(failing),
                evidence.borne_out,
                explained <= declined,
                tuple(only),
            )
            for each in self._hypotheses[section.family]
            for evidence, explained, only in _weighed(each, self._predict, judged, counts)
        ]

    def _by_pairs(
        self,
        section: FamilySection,
        judged: Sequence[_Judged],
        failing: frozenset[tuple[str, int]],
    ) -> list[Explanation]:
        """Two mistakes at once that explain nearly all failures, of several cases."""
        counts = Counter(r.output for each in judged for r in each.readings if r.failed)
        found = []
        for pair in pairs_of(self.situations.mistakes(section.family)):
            each = _Hypothesis(pair.name, pair.sentence, False, pair.predict, _SCREEN_PAIR)
            for evidence, explained, only in _weighed(each, _unkept, judged, counts):
                cases = {id for id, _ in explained}
                if only or len(cases) < _PAIR_CASES or 10 * len(explained) < 9 * len(failing):
                    continue
                said = (pair.name, pair.sentence, False)
                found.append(Explanation(*said, explained, len(failing), evidence.borne_out))
        return found

    def _predict(self, hypothesis: _Hypothesis, situation: Situation) -> Predicted | None:
        key = (id(hypothesis), situation.id)
        if key not in self._predicted:
            self._predicted[key] = hypothesis.predict(situation)
        return self._predicted[key]


class JudgedRun(Protocol):
    """What a diagnosis needs of a run, or of one made again from its record."""

    @property
    def file(self) -> CalculatorFile: ...

    @property
    def runs(self) -> Sequence[CaseRun]: ...


def diagnose(
    run: JudgedRun, situations: Situations | None = None
) -> tuple[list[Explanation], dict[str, int]]:
    """Explanations, the strongest first, and by case how many failing readings none explains."""
    return Diagnostician(situations or Situations(run.file)).diagnose(run.runs)


def diagnosis_data(run: JudgedRun, situations: Situations | None = None) -> dict[str, Any]:
    """The diagnosis as sentences: over all cases, and for each failing case."""
    explanations, unexplained = diagnose(run, situations)
    cases: dict[str, list[str]] = {}
    for each in explanations:
        for id in sorted({id for id, _ in each.explained}):
            what = f"another mapping: {each.sentence}" if each.is_mapping else each.name
            cases.setdefault(id, []).append(f"Explained by {what}.")
    for id, count in unexplained.items():
        cases.setdefault(id, []).append(f"Unexplained: {_count(count)} of this case.")
    suggestions = [each.words() for each in explanations]
    if unexplained:
        suggestions.append(
            f"Unexplained: {_count(sum(unexplained.values()))}; no other mapping and "
            "no known mistake gives what was reported without a passing case against it."
        )
    return {"suggestions": suggestions, "cases": dict(sorted(cases.items()))}


def _count(count: int) -> str:
    return f"{count} failing reading{'' if count == 1 else 's'}"


# ---- what was reported


def _can_be_replayed(run: CaseRun) -> bool:
    """Not where rows of several tables were moved and are answered by number: which row of
    which table a number means then is the calculator's own affair."""
    several = len(run.placement or {}) > 1
    return not (several and any(line.view.key for line in run.outputs))


def _readings(run: CaseRun) -> tuple[_Reading, ...]:
    lines = {line.id: line for line in run.outputs}
    found = (
        _reading((run.case.id, place), finding, lines[finding.output])
        for place, finding in enumerate(run.findings)
    )
    return tuple(reading for reading in found if reading is not None)


def _reading(key: tuple[str, int], finding: Finding, line: OutputLine) -> _Reading | None:
    if finding.verdict not in ("pass", "fail", "refused") or "slip of reading" in finding.why:
        return None
    failed = finding.verdict != "pass"
    if finding.number is None:
        declined = finding.verdict == "refused" or finding.why == "rightly declined"
        said = _DECLINED if declined else line.words.get(finding.reported, finding.reported)
        return _Reading(key, finding.output, line.line or line.id, failed, word=said)
    reading = _Reading(
        key,
        finding.output,
        line.line or line.id,
        failed,
        number(finding.number),
        None if line.period is None else number(line.period.middle),
        _turn(line),
        _half_step(finding.reported),
    )
    if finding.deviation is None or finding.band is None:
        return reading
    band = number(max(finding.band.below.middle, finding.band.above.middle))
    deviation = abs(number(finding.deviation.middle))
    if failed and line.criterion is not None and line.criterion.as_vector and deviation <= band:
        return None  # the vector fails by its other component
    return attrs.evolve(reading, band=band, deviation=deviation)


def _turn(line: OutputLine) -> float | None:
    if line.dimension != ANGLE or line.unit is None:
        return None
    return number(factor_to(UNITLESS, line.unit, ANGLE).middle)


def _half_step(reported: str) -> float:
    """Half a unit of the last printed digit; 0 for more digits than a double carries."""
    try:
        return 0.5 * 10.0 ** -read_number(reported).decimals
    except (UnreadableNumber, OverflowError):
        return 0.0


# ---- what would have been reported


def _hypotheses(section: FamilySection, situations: Situations) -> Iterator[_Hypothesis]:
    for convention in conventions(section):
        says = convention.says
        yield _Hypothesis(says, says, True, _by_mapping(convention), _SCREEN_MAPPING)
    for mistake in situations.mistakes(section.family):
        yield _Hypothesis(mistake.name, mistake.says, False, _by_mistake(mistake), _SCREEN)


def _by_mapping(convention: Convention) -> Callable[[Situation], Predicted | None]:
    def predict(situation: Situation) -> Predicted | None:
        found = convention.predicted(situation.owner, situation.given, situation.lines)
        return None if found is None else situation.in_units(found)

    return predict


def _by_mistake(mistake: KnownMistake) -> Callable[[Situation], Predicted | None]:
    return lambda situation: situation.predicted(mistake)


# ---- weighing


def _weighed(
    hypothesis: _Hypothesis,
    predict: Callable[[_Hypothesis, Situation], Predicted | None],
    judged: Sequence[_Judged],
    failures: Mapping[str, int],
) -> Iterator[tuple[_Evidence, frozenset[tuple[str, int]], list[str]]]:
    """The failing readings it explains, and the outputs alone for which it is offered, if so.

    Nothing where it explains too few. ``failures`` counts the failing readings of each output.
    """
    evidence = _Evidence(failures)
    for place, each in enumerate(sorted(judged, key=lambda each: not each.failed)):
        if (place >= hypothesis.screen or not each.failed) and not evidence.promising:
            return
        if evidence.against and (
            hypothesis.is_mapping or (not each.failed and not evidence.outputs_alone())
        ):
            return
        predicted = predict(hypothesis, each.situation)
        if predicted is not None:
            evidence.take(each.readings, predicted)
    if evidence.against:
        alone = [] if hypothesis.is_mapping else evidence.outputs_alone()
        if alone:
            yield evidence, evidence.of(alone), alone
        return
    explained = evidence.of(evidence.explained)
    if evidence.enough(explained):
        yield evidence, explained, []


@attrs.define
class _Evidence:
    """For and against one hypothesis, by output.

    ``failures`` counts the failing readings of each output, ``borne_out`` the passing ones that
    deviate as predicted.
    """

    failures: Mapping[str, int]
    explained: dict[str, set[tuple[str, int]]] = attrs.field(factory=dict)
    unsure: dict[str, set[tuple[str, int]]] = attrs.field(factory=dict)
    against: set[str] = attrs.field(factory=set)
    borne_out: int = 0
    told: bool = False
    """Whether the only failing reading is enough by itself."""

    def take(self, readings: Sequence[_Reading], predicted: Predicted) -> None:
        for reading in readings:
            value = predicted.get(reading.line)
            if value is None:
                continue
            if value != value:
                if reading.failed:
                    self.unsure.setdefault(reading.output, set()).add(reading.key)
            elif reading.failed and reading.matches(value):
                self.explained.setdefault(reading.output, set()).add(reading.key)
                self.told = self.told or reading.told_by(value)
            elif not reading.failed and reading.contradicts(value):
                self.against.add(reading.output)
            elif not reading.failed:
                self.borne_out += reading.bears_out(value)

    @property
    def promising(self) -> bool:
        """Whether something is explained that nothing speaks against."""
        return any(name not in self.against for name in self.explained)

    def of(self, outputs: Iterable[str]) -> frozenset[tuple[str, int]]:
        """What is explained of these outputs, with what rounding alone decides, if it is little."""
        names = list(outputs)
        told: frozenset[tuple[str, int]] = frozenset()
        told = told.union(*(self.explained.get(name, ()) for name in names))
        unsure = set[tuple[str, int]]().union(*(self.unsure.get(name, ()) for name in names))
        return told | unsure if len(unsure) * _FEW <= len(told) else told

    def enough(self, explained: frozenset[tuple[str, int]]) -> bool:
        """A quarter of all failures, or nearly all of those of the outputs that it speaks of."""
        total = sum(self.failures.values())
        lone = self.borne_out >= _BORNE_OUT or (total == 1 and self.told)
        if len(explained) < (1 if lone else _LEAST):
            return False
        own = sum(self.failures.get(name, 0) for name in self.explained)
        return 4 * len(explained) >= total or (
            len(explained) >= _ALONE and 4 * len(explained) >= 3 * own
        )

    def outputs_alone(self) -> list[str]:
        """The outputs that nothing speaks against and whose failures are nearly all explained."""
        return [
            name
            for name, keys in self.explained.items()
            if name not in self.against
            and len(keys) >= _ALONE
            and 4 * len(keys) >= 3 * self.failures.get(name, 0)
        ]


def _chosen(explanations: Sequence[Explanation]) -> Iterator[Explanation]:
    """Greedily those that explain most of what is left; a mapping goes first at a tie.

    That a calculator declines is not laid to what many hypotheses alike would make of it.
    """
    left = list(explanations)
    got: frozenset[tuple[str, int]] = frozenset()
    while left:
        best = max(
            left, key=lambda e: (len(e.explained - got), e.is_mapping, not e.only, e.borne_out)
        )
        if not best.explained - got:
            return
        alike = [e for e in left if e is not best and e.explained == best.explained]
        same = [e.name for e in alike if not e.is_mapping]
        same += [e.sentence for e in alike if e.is_mapping]
        left = [e for e in left if e.explained != best.explained]
        if best.refusals_only and len(same) > _AMBIGUOUS:
            left = [e for e in left if not (e.refusals_only and e.explained < best.explained)]
            continue
        got |= best.explained
        yield attrs.evolve(best, also=tuple(same))
