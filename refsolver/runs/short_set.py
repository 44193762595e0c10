"""The short set: few cases that still reveal every mistake that all cases reveal.

A set cover: greedily the case that reveals most of what is left, then single cases that
the others make needless are dropped and pairs are exchanged for one case where that can
be. Guaranteed: everything is revealed, no case can be left out, and the set is at most
1 + ln(n) times the smallest (n mistakes; D. S. Johnson, "Approximation algorithms for
combinatorial problems", J. Comput. Syst. Sci. 9, 1974). Mistakes no two of which are
revealed by one case need a case each: where there are as many of them as cases in the set,
it is proven to be a smallest one.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence

import attrs

from refsolver.records.runs import CaseRun
from refsolver.runs.detection import Detection

__all__ = ["ShortSet", "covering", "short_set", "with_counts"]

_PAIRS = 400
"""Cases up to which pairs are tried for exchange."""


@attrs.frozen
class ShortSet:
    """The cases chosen, in order of choice; ``least`` is a proven lower bound on their number."""

    cases: tuple[str, ...]
    mistakes: int
    least: int
    added: tuple[str, ...] = ()
    """Cases beyond those, put so that the counts of the rule for ``met`` can be reached."""

    @property
    def all(self) -> frozenset[str]:
        return frozenset((*self.cases, *self.added))

    @property
    def smallest(self) -> bool:
        """Whether it is proven that no smaller set would do."""
        return len(self.cases) == self.least

    def words(self) -> str:
        bound = (
            "no smaller set would do"
            if self.smallest
            else f"no set of fewer than {self.least} would do, and none of them can be left out"
        )
        said = (
            f"{len(self.cases)} cases reveal each of the {self.mistakes} mistakes that all "
            f"cases reveal; {bound}"
        )
        if self.added:
            said += (
                f"; {len(self.added)} more were added so that outputs are judged and inputs "
                "varied as often as the rule for the result asks"
            )
        return said


def short_set(found: Sequence[Detection]) -> ShortSet:
    """The cases that reveal what the detections say is revealed at all."""
    revealed: dict[str, set[int]] = {}
    for mistake, each in enumerate(found):
        for id in each.revealed_by:
            revealed.setdefault(id, set()).add(mistake)
    wanted = [each for each in found if each.revealed_by]
    return ShortSet(covering(revealed), len(wanted), _apart(wanted))


def with_counts(chosen: ShortSet, runs: Sequence[CaseRun], least: int) -> ShortSet:
    """The set with what is needed for the counts: outputs in ``least`` cases, inputs twice varied.

    As far as there are such cases; greedily, the case first that helps most.
    """
    asked = {run.case.id: _counted(run) for run in runs if run.asked}
    added: list[str] = []
    while True:
        have = [asked[id] for id in (*chosen.cases, *added)]
        judged = Counter(line for lines, _ in have for line in lines)
        values: dict[str, set[str]] = {}
        for _, slots in have:
            for place, value in slots:
                values.setdefault(place, set()).add(value)
        gains = {
            id: sum(judged[line] < least for line in lines)
            + sum(place in values and values[place] != {value} and len(values[place]) < 2
                  for place, value in slots)
            for id, (lines, slots) in asked.items()
            if id not in chosen.cases and id not in added
        }  # fmt: skip
        best = max(gains, key=lambda id: gains[id], default="")
        if not best or gains[best] == 0:
            return attrs.evolve(chosen, added=tuple(added))
        added.append(best)


def _counted(run: CaseRun) -> tuple[frozenset[str], frozenset[tuple[str, str]]]:
    """The output lines that count towards coverage, and the values of the inputs."""
    assert run.handed is not None
    lines = frozenset(f"{run.case.family} {x.line or x.id}" for x in run.outputs if run.counts)
    slots = frozenset((s.place, s.value) for s in run.handed.slots if s.given and s.number)
    return lines, slots


def covering(shown: Mapping[str, set[int]]) -> tuple[str, ...]:
    """Keys whose sets cover the union of all; see the module for what is guaranteed."""
    left: set[int] = set().union(*shown.values())
    chosen: list[str] = []
    while left:
        best = max(shown, key=lambda key: len(shown[key] & left))
        chosen.append(best)
        left -= shown[best]
    improved = True
    while improved:
        chosen, improved = _needed(chosen, shown), False
        swap = _exchange(chosen, shown) if len(shown) <= _PAIRS else None
        if swap is not None:
            chosen, improved = swap, True
    return tuple(chosen)


def _needed(chosen: list[str], shown: Mapping[str, set[int]]) -> list[str]:
    """Without the cases that the others make needless, the weakest tried first."""
    kept = list(chosen)
    for key in sorted(chosen, key=lambda key: len(shown[key])):
        others = [k for k in kept if k != key]
        if shown[key] <= set().union(*(shown[k] for k in others)):
            kept = others
    return kept


def _exchange(chosen: list[str], shown: Mapping[str, set[int]]) -> list[str] | None:
    """The set with two cases exchanged for one; None where no two can be."""
    for i, one in enumerate(chosen):
        for other in chosen[i + 1 :]:
            rest = [key for key in chosen if key not in (one, other)]
            lost = (shown[one] | shown[other]) - set().union(*(shown[key] for key in rest))
            found = next((key for key, what in shown.items() if lost <= what), None)
            if found is not None:
                return [*rest, found]
    return None


def _apart(found: Sequence[Detection]) -> int:
    """How many mistakes can be picked, no two of which one case reveals (greedily)."""
    taken: set[str] = set()
    count = 0
    for each in sorted(found, key=lambda each: len(each.revealed_by)):
        if taken.isdisjoint(each.revealed_by):
            taken.update(each.revealed_by)
            count += 1
    return count
