"""Evidence for and against one hypothesis about a calculator, over all its judged cases."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence

import attrs

from refsolver.calculators.file import FamilySection
from refsolver.mistakes.known import KnownMistake
from refsolver.runs.conventions import Convention, conventions
from refsolver.runs.reported import Reading
from refsolver.runs.situations import Predicted, Situation, Situations

__all__ = ["SCREEN_PAIR", "Evidence", "Hypothesis", "Judged", "hypotheses", "unkept", "weighed"]

_LEAST = 2
"""Readings a hypothesis must explain: among some hundred one fits a single number by chance."""

_FIRM = 3
"""Fewer explained readings are not enough where more than a quarter of the passing ones are
otherwise than it says, within their tolerance: chance has but two numbers to meet there."""

_FEW = 4
"""Readings in which rounding alone decides what a hypothesis gives (a right angle or its
opposite, say) count as explained where this many times more of them are really explained."""

_BORNE_OUT = 3
"""So many passing readings that deviate just as a hypothesis says, to nine figures, make one
failing reading enough. So do as many that deviate by more than their own rounding explains,
where every passing reading is in all its figures as the hypothesis says."""

_ALONE = 4
"""Readings of single outputs that a hypothesis must explain, if it explains little of all."""

_SCREEN, _SCREEN_MAPPING, SCREEN_PAIR = 40, 10, 5
"""Failing cases on which a mistake, another mapping and two mistakes at once must first explain
something."""


@attrs.frozen
class Judged:
    """One judged case: what the calculator stood before, and its readings."""

    situation: Situation
    readings: tuple[Reading, ...]

    @property
    def failed(self) -> bool:
        return any(reading.failed for reading in self.readings)


@attrs.frozen
class Hypothesis:
    name: str
    sentence: str
    is_mapping: bool
    predict: Callable[[Situation], Predicted | None]
    screen: int
    """Failing cases on which it must first explain something."""


def unkept(hypothesis: Hypothesis, situation: Situation) -> Predicted | None:
    return hypothesis.predict(situation)


def hypotheses(section: FamilySection, situations: Situations) -> Iterator[Hypothesis]:
    for convention in conventions(section):
        says = convention.says
        yield Hypothesis(says, says, True, _by_mapping(convention), _SCREEN_MAPPING)
    for mistake in situations.mistakes(section.family):
        yield Hypothesis(mistake.name, mistake.says, False, _by_mistake(mistake), _SCREEN)


def _by_mapping(convention: Convention) -> Callable[[Situation], Predicted | None]:
    def predict(situation: Situation) -> Predicted | None:
        found = convention.predicted(situation.owner, situation.given, situation.lines)
        return None if found is None else situation.in_units(found)

    return predict


def _by_mistake(mistake: KnownMistake) -> Callable[[Situation], Predicted | None]:
    return lambda situation: situation.predicted(mistake)


def weighed(
    hypothesis: Hypothesis,
    predict: Callable[[Hypothesis, Situation], Predicted | None],
    judged: Sequence[Judged],
    failures: Mapping[str, int],
) -> Iterator[tuple[Evidence, frozenset[tuple[str, int]], list[str]]]:
    """The failing readings it explains, and the outputs alone for which it is offered, if so.

    Nothing where it explains too few. ``judged`` begins with the cases that fail; ``failures``
    counts the failing readings of each output.
    """
    evidence = Evidence(failures)
    for place, each in enumerate(judged):
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
class Evidence:
    """For and against one hypothesis, by output.

    ``failures`` counts the failing readings of each output, ``borne_out`` the passing ones that
    deviate as predicted.
    """

    failures: Mapping[str, int]
    explained: dict[str, set[tuple[str, int]]] = attrs.field(factory=dict)
    unsure: dict[str, set[tuple[str, int]]] = attrs.field(factory=dict)
    against: set[str] = attrs.field(factory=set)
    borne_out: int = 0
    beyond: int = 0
    """Passing readings that are off by more than the rounding of what is shown."""

    passing: int = 0
    inexact: int = 0
    """Passing readings that are not, in all their figures, what it says."""

    otherwise: int = 0
    """Those of them that do not come to it by rounding either."""

    told: bool = False
    """Whether the only failing reading is enough by itself."""

    def take(self, readings: Sequence[Reading], predicted: Predicted) -> None:
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
                self.passing += 1
                self.inexact += not reading.is_exactly(value)
                self.otherwise += not reading.is_exactly(value, reading.half_step)
                self.beyond += reading.deviates_beyond_its_figures

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
        lone = (
            self.borne_out >= _BORNE_OUT
            or (self.beyond >= _BORNE_OUT and not self.inexact)
            or (total == 1 and self.told)
        )
        if len(explained) < (1 if lone else _LEAST):
            return False
        if len(explained) < _FIRM and 4 * self.otherwise > self.passing:
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
