"""Which known mistakes a set of cases reveals, with the criteria of a calculator file.

A case reveals a mistake where a calculator that makes it would be given a verdict other than
pass: the answer it would report lies outside the criterion of its output, another word
comes, or a refusal for a value. One computation serves the choice of cases for an answer
sheet, the short set, and the statement in the report of what a pass is worth.
"""

from __future__ import annotations

import math
from collections.abc import Container, Iterable, Iterator, Mapping, Sequence
from typing import Any

import attrs
from flint import fmpq

from refsolver.arithmetic.detached import Enclosure, exact_double
from refsolver.calculators.lines import OutputLine
from refsolver.checking.scales import scale
from refsolver.mistakes.known import KnownMistake, seat
from refsolver.quantities.conversion import factor_to
from refsolver.quantities.dimensions import ANGLE
from refsolver.quantities.units import UNITLESS
from refsolver.records.runs import CaseRun
from refsolver.runs.situations import Predicted, Situation, Situations, number

__all__ = ["Detection", "Expected", "detection", "detection_data", "expected_of"]

_NOISE = 1e-9
_UNDIRECTED = "[no direction]"


@attrs.frozen
class Expected:
    """The right answers of one case in double precision, and how far each may be off."""

    situation: Situation
    right: Predicted
    allowed: Mapping[str, tuple[float, float]]
    """Below and above, by line; none for a word or a refusal."""
    judged: frozenset[str]
    """The lines that count: all before a run, those judged after it."""

    def shown_by(self, mistake: KnownMistake) -> float | None:
        """The largest deviation the mistake makes, as a share of what is allowed.

        None where it cannot be made in this case, or changes nothing at all.
        """
        wrong = self.situation.predicted(mistake)
        if wrong is None:
            return None
        shares = dict(self._shares(wrong))
        return max(shares.values(), default=0.0) or None

    def _shares(self, wrong: Predicted) -> Iterator[tuple[str, float]]:
        vectors: dict[tuple[str, str | None], float] = {}
        for line in self.situation.lines:
            right, other = self.right.get(line.id), wrong.get(line.id)
            if line.id not in self.judged or right is None or right == other:
                continue
            if other is None:  # nothing can be read there: no answer
                yield line.id, math.inf
            elif right != right or other != other:
                continue  # rounding decides: no two calculators give the same
            elif isinstance(right, str) or isinstance(other, str):
                if _UNDIRECTED not in (right, other):
                    yield line.id, math.inf
            elif line.criterion is not None and line.criterion.as_vector:
                group = (line.view.answer, line.view.key)
                vectors[group] = math.hypot(vectors.get(group, 0.0), self._share(line, other))
                yield line.id, vectors[group]
            else:
                yield line.id, self._share(line, other)

    def _share(self, line: OutputLine, other: float) -> float:
        right = self.right[line.id]
        assert isinstance(right, float) and line.criterion is not None
        gap = other - right
        if line.period is not None:
            gap = math.remainder(gap, number(line.period.middle))
        elif line.dimension == ANGLE and line.unit is not None:
            # An angle on the cut of its range is not judged: see ``borders``.
            turn = number(factor_to(UNITLESS, line.unit, ANGLE).middle)
            gap = min(gap, math.remainder(gap, turn), key=abs)
        below, above = self.allowed[line.id]
        allowed = above if gap > 0 else below
        if line.criterion.rounding is not None:
            # Only what is off by more than a whole step is sure to be rounded to another one.
            allowed = 2 * max(below, above)
        if abs(gap) <= _NOISE * max(abs(right), abs(other)):
            return 0.0
        return abs(gap) / allowed if allowed > 0 else math.inf


def expected_of(run: CaseRun, situations: Situations) -> Expected | None:
    """What the case would show; None where it is not asked or cannot be solved in doubles."""
    if not run.asked:
        return None
    situation = situations.of(run)
    right = situation.predicted()
    if right is None:
        return None
    lines = [line for line in situation.lines if line.id in right]
    judged = {line.id for line in lines}
    if run.received is not None:
        judged &= {f.output for f in run.findings if f.verdict in ("pass", "fail")}
    allowed = {
        line.id: _allowed(line, value, situation)
        for line in lines
        if isinstance(value := right[line.id], float) and line.criterion is not None
    }
    return Expected(situation, right, allowed, frozenset(judged))


def _allowed(line: OutputLine, value: float, situation: Situation) -> tuple[float, float]:
    assert line.criterion is not None
    if not math.isfinite(value):
        return math.inf, math.inf
    scales = {
        name: scale(name, situation.given, situation.units, line.unit)
        for name in line.criterion.scales_used()
    }
    exact: fmpq = exact_double(value)
    band = line.criterion.band(Enclosure(exact, exact), scales)
    return number(band.below.middle), number(band.above.middle)


@attrs.frozen
class Detection:
    """One mistake in one family: in which cases it shows, and how much at most elsewhere."""

    family: str
    name: str
    says: str
    seat: str
    made_in: tuple[str, ...]
    """The cases in which it changes an answer that is judged."""
    revealed_by: tuple[str, ...]
    most: float = 0.0
    """The largest deviation as a share of what is allowed, over all cases."""

    @property
    def hole(self) -> str:
        """Why it is not revealed; empty where it is."""
        if self.revealed_by:
            return ""
        if not self.made_in:
            return "no case asked lets it be made, or it changes no answer that is judged"
        cases = f"{len(self.made_in)} case{'s' * (len(self.made_in) > 1)}"
        return (
            f"made in {cases}, it changes the answers by at most {self.most:.2g} of what the "
            "criteria allow"
        )


def detection(
    runs: Iterable[CaseRun], situations: Situations, leave: Container[str] = ()
) -> list[Detection]:
    """Every known mistake of every section but those to leave, on all cases asked, in order."""
    by_family: dict[str, list[Expected]] = {s.family: [] for s in situations.file.sections}
    for run in runs:
        expected = expected_of(run, situations)
        if expected is not None:
            by_family[run.case.family].append(expected)
    return [
        _detected(name, mistake, cases)
        for name, cases in by_family.items()
        for mistake in situations.mistakes(name)
        if mistake.name not in leave
    ]


def _detected(name: str, mistake: KnownMistake, cases: Sequence[Expected]) -> Detection:
    shares = {
        each.situation.id: share for each in cases if (share := each.shown_by(mistake)) is not None
    }
    return Detection(
        family=name,
        name=mistake.name,
        says=mistake.says,
        seat=seat(mistake),
        made_in=tuple(shares),
        revealed_by=tuple(id for id, share in shares.items() if share > 1),
        most=max(shares.values(), default=0.0),
    )


def detection_data(found: Sequence[Detection]) -> dict[str, Any]:
    """By family: what the cases reveal, by how many of them, and what they cannot, and why."""
    data: dict[str, Any] = {}
    for name in dict.fromkeys(each.family for each in found):
        mine = [each for each in found if each.family == name]
        data[name] = {
            "known": len(mine),
            "revealed": [
                {"name": d.name, "says": d.says, "cases": len(d.revealed_by)}
                for d in mine
                if d.revealed_by
            ],
            "holes": [
                {"name": d.name, "says": d.says, "why": d.hole}
                for d in mine
                if d.made_in and not d.revealed_by
            ],
            "not_made": [d.name for d in mine if not d.made_in],
        }
    return data
