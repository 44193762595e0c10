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

from collections import Counter
from collections.abc import Iterator, Sequence
from typing import Any, Protocol

import attrs

from refsolver.calculators.file import CalculatorFile, FamilySection
from refsolver.records.runs import CaseRun
from refsolver.runs.pairs import pairs_of
from refsolver.runs.reported import DECLINED, can_be_replayed, readings_of
from refsolver.runs.situations import Predicted, Situation, Situations
from refsolver.runs.weighing import SCREEN_PAIR, Hypothesis, Judged, hypotheses, unkept, weighed

__all__ = ["Diagnostician", "Explanation", "JudgedRun", "diagnose", "diagnosis_data"]

_LISTED = 3
"""Indistinguishable hypotheses that a sentence lists."""

_AMBIGUOUS = 2
"""Other hypotheses that may explain the same refusals."""

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


@attrs.define
class Diagnostician:
    """Every hypothesis about a calculator file, and what each was found to predict.

    Predictions are kept, so that many runs of one file over the same cases are cheap.
    """

    situations: Situations
    _hypotheses: dict[str, list[Hypothesis]] = attrs.field(factory=dict)
    _predicted: dict[tuple[int, str], Predicted | None] = attrs.field(factory=dict)

    def diagnose(self, runs: Sequence[CaseRun]) -> tuple[list[Explanation], dict[str, int]]:
        """Explanations, the strongest first; by case, how many failing readings none explains."""
        found: list[Explanation] = []
        unexplained: dict[str, int] = {}
        for section in self.situations.file.sections:
            judged = [
                Judged(self.situations.of(run), readings)
                for run in runs
                if run.judged and run.case.family == section.family and can_be_replayed(run)
                if (readings := readings_of(run))
            ]
            judged.sort(key=lambda each: not each.failed)
            bad = [r for each in judged for r in each.readings if r.failed]
            failing = frozenset(r.key for r in bad)
            if not failing:
                continue
            counts = Counter(r.output for r in bad)
            chosen = list(_chosen(self._explanations(section, judged, counts)))
            if 10 * len(frozenset().union(*(e.explained for e in chosen))) < 9 * len(failing):
                chosen = list(_chosen(self._by_pairs(section, judged, counts))) or chosen
            found += chosen
            for id, _ in failing - frozenset().union(*(e.explained for e in chosen)):
                unexplained[id] = unexplained.get(id, 0) + 1
        return sorted(found, key=lambda e: -len(e.explained)), unexplained

    def _explanations(
        self,
        section: FamilySection,
        judged: Sequence[Judged],
        counts: Counter[str],
    ) -> list[Explanation]:
        if section.family not in self._hypotheses:
            self._hypotheses[section.family] = list(hypotheses(section, self.situations))
        declined = {r.key for each in judged for r in each.readings if r.word == DECLINED}
        return [
            Explanation(
                each.name,
                each.sentence,
                each.is_mapping,
                explained,
                counts.total(),
                evidence.borne_out,
                explained <= declined,
                tuple(only),
            )
            for each in self._hypotheses[section.family]
            for evidence, explained, only in weighed(each, self._predict, judged, counts)
        ]

    def _by_pairs(
        self,
        section: FamilySection,
        judged: Sequence[Judged],
        counts: Counter[str],
    ) -> list[Explanation]:
        """Two mistakes at once that explain nearly all failures, of several cases."""
        failures, found = counts.total(), []
        for pair in pairs_of(self.situations.mistakes(section.family)):
            each = Hypothesis(pair.name, pair.sentence, False, pair.predict, SCREEN_PAIR)
            for evidence, explained, only in weighed(each, unkept, judged, counts):
                cases = {id for id, _ in explained}
                if only or len(cases) < _PAIR_CASES or 10 * len(explained) < 9 * failures:
                    continue
                said = (pair.name, pair.sentence, False)
                found.append(Explanation(*said, explained, failures, evidence.borne_out))
        return found

    def _predict(self, hypothesis: Hypothesis, situation: Situation) -> Predicted | None:
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
