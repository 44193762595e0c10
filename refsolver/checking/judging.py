"""Judging one case: every mapped output gets a verdict, by one table.

========================  ===========================  ====================================
expected                  reported                     verdict
========================  ===========================  ====================================
a value                   a value                      pass, fail or not proven
a value                   a refusal                    refused
a value                   an error value, unreadable   error
a value                   blank                        no answer
a refusal                 a refusal                    pass
a refusal                 a value                      fail; but not applicable for the
                                                       direction of a resultant whose
                                                       size is rightly reported as zero
a refusal                 an error value               error, unless the calculator file
                                                       lists it as a refusal
a refusal                 blank                        no answer, unless a blank counts as
                                                       a refusal
not proven                anything                     not proven
========================  ===========================  ====================================
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any, Literal

import attrs
from flint import fmpq

from refsolver.arithmetic.detached import Enclosure
from refsolver.calculators.contract import Failure, Received
from refsolver.calculators.criteria import Band
from refsolver.calculators.file import OutputLine, Refusals
from refsolver.checking.comparison import Comparison, Measures, compare, measures
from refsolver.checking.readings import Reading, readings_of
from refsolver.checking.scales import scale
from refsolver.quantities.conversion import in_unit
from refsolver.quantities.kinds import NoAnswer
from refsolver.quantities.units import UnitSystem
from refsolver.statics.prover import NotProven, Outcome, Proven, Reference, Word

__all__ = ["VERDICTS", "Finding", "Verdict", "judge"]

Verdict = Literal["pass", "fail", "no answer", "error", "refused", "not applicable", "not proven"]
VERDICTS: tuple[Verdict, ...] = (
    "pass", "fail", "no answer", "error", "refused", "not applicable", "not proven",
)  # fmt: skip

_MOST_DIGITS = 240


@attrs.frozen
class Finding:
    """The verdict on one reading of one output, and all it rests on.

    ``reference``, ``deviation`` and ``band`` are in the output's unit; ``expected`` says
    in words what the reference is where it is no number.
    """

    line: str
    output: str
    judged: str
    verdict: Verdict
    why: str = ""
    reported: str = ""
    number: fmpq | None = None
    unit: str = ""
    reference: Enclosure | None = None
    digits: int = 0
    expected: str = ""
    deviation: Enclosure | None = None
    band: Band | None = None
    measures: Measures | None = None


@attrs.define
class _Judge:
    reprove: Callable[[int], Reference]
    given: Any
    system: UnitSystem
    reference: Reference

    def outcome(self, line: OutputLine) -> Outcome:
        return self.reference.outcomes[line.view]

    def finer(self) -> bool:
        """Prove with twice the digits; False at the limit."""
        if self.reference.digits * 2 > _MOST_DIGITS:
            return False
        self.reference = self.reprove(self.reference.digits * 2)
        return True

    def enclosure(self, line: OutputLine) -> Enclosure:
        outcome = self.outcome(line)
        assert isinstance(outcome, Proven)
        return in_unit(outcome.enclosure, self.system, line.unit, line.dimension)

    def band(self, line: OutputLine, reading: Reading) -> Band:
        assert line.criterion is not None
        scales = {
            name: scale(name, self.given, self.system, line.unit)
            for name in line.criterion.scales_used()
        }
        band = line.criterion.band(self.enclosure(line), scales)
        if reading.judged == "stored":
            return band
        half = Enclosure(reading.step / 2, reading.step / 2)
        return Band(_wider(band.below, half), _wider(band.above, half))

    def compared(self, line: OutputLine, reading: Reading) -> Comparison:
        assert reading.number is not None
        while True:
            found = compare(
                reading.number, self.enclosure(line), self.band(line, reading), line.period
            )
            if found.decision != "undecided" or not self.finer():
                return found


def _wider(a: Enclosure, b: Enclosure) -> Enclosure:
    return Enclosure(max(a.lower, b.lower), max(a.upper, b.upper))


def judge(
    lines: Sequence[OutputLine],
    received: Received,
    refusals: Refusals,
    reference: Reference,
    reprove: Callable[[int], Reference],
    given: Any,
    system: UnitSystem,
) -> list[Finding]:
    """One finding a line and reading, in order. ``reprove`` solves again at more digits."""
    if received.failure is not None and received.failure.kind != "refusal":
        return [_failed(line, received.failure, reference) for line in lines]
    judging = _Judge(reprove, given, system, reference)
    findings: list[tuple[OutputLine, Finding]] = []
    for line in lines:
        if received.failure is not None:
            readings = [Reading("refusal", "stored", received.failure.detail)]
        else:
            readings = readings_of(line, received.values, refusals)
        findings += [(line, _finding(line, reading, judging)) for reading in readings]
    findings = _as_vectors(findings, judging)
    return [_direction_of_zero(line, finding, findings) for line, finding in findings]


def _failed(line: OutputLine, failure: Failure, reference: Reference) -> Finding:
    why = f"the calculator gave no answer: {failure.kind} ({failure.detail})"
    return Finding(
        line.line or line.id,
        line.id,
        "stored",
        "error",
        why,
        expected=_words(reference.outcomes[line.view]),
    )


def _words(outcome: Outcome) -> str:
    if isinstance(outcome, Word):
        return outcome.word
    if isinstance(outcome, NoAnswer):
        return f"no answer: {outcome.reason}"
    return "" if isinstance(outcome, Proven) else "not proven"


def _finding(line: OutputLine, reading: Reading, judging: _Judge) -> Finding:
    outcome = judging.outcome(line)
    base = Finding(
        line.line or line.id,
        line.id,
        reading.judged,
        "not proven",
        reported=reading.text,
        number=reading.number,
        unit="" if line.unit is None else line.unit.name,
        expected=_words(outcome),
    )
    if isinstance(outcome, NotProven):
        return attrs.evolve(base, why=outcome.why)
    if isinstance(outcome, Proven):
        base = attrs.evolve(
            base,
            reference=judging.enclosure(line),
            digits=min(outcome.digits, judging.reference.digits),
        )
    if isinstance(outcome, NoAnswer):
        return _where_none_exists(base, reading, outcome)
    if reading.kind == "refusal":
        return attrs.evolve(
            base, verdict="refused", why="the calculator declines where an answer exists"
        )
    if reading.kind == "error":
        return attrs.evolve(base, verdict="error", why=reading.why)
    if reading.kind == "blank":
        return attrs.evolve(base, verdict="no answer", why="the output is blank")
    if isinstance(outcome, Word):
        right = line.words.get(reading.text, reading.text) == outcome.word
        return attrs.evolve(base, verdict="pass" if right else "fail")
    if reading.kind == "word" or reading.number is None:
        return attrs.evolve(
            base, verdict="error", why=f"{reading.text!r} stands where a number is expected"
        )
    found = judging.compared(line, reading)
    reference = judging.enclosure(line)
    verdict: Verdict = {"within": "pass", "outside": "fail", "undecided": "not proven"}[
        found.decision
    ]  # type: ignore[assignment]
    return attrs.evolve(
        base,
        verdict=verdict,
        why="" if verdict != "not proven" else "it lies too near the limit to be decided",
        reference=reference,
        deviation=found.deviation,
        band=found.band,
        measures=measures(found.deviation, reference),
    )


def _where_none_exists(base: Finding, reading: Reading, outcome: NoAnswer) -> Finding:
    if reading.kind == "refusal":
        return attrs.evolve(base, verdict="pass", why="rightly declined")
    if reading.kind == "error":
        return attrs.evolve(base, verdict="error", why=reading.why)
    if reading.kind == "blank":
        return attrs.evolve(base, verdict="no answer", why="the output is blank")
    why = f"a value where there is none ({outcome.reason}: {outcome.evidence})"
    return attrs.evolve(base, verdict="fail", why=why)


def _as_vectors(
    findings: list[tuple[OutputLine, Finding]], judging: _Judge
) -> list[tuple[OutputLine, Finding]]:
    """Components judged together: the length of the deviation against one tolerance."""
    groups: dict[tuple[str, str | None, str], list[int]] = {}
    for index, (line, finding) in enumerate(findings):
        if line.criterion is not None and line.criterion.as_vector and finding.deviation:
            key = (line.view.answer, line.view.key, finding.judged)
            groups.setdefault(key, []).append(index)
    for members in groups.values():
        squares = [findings[i][1].deviation for i in members]
        low = sum((_least_square(d) for d in squares if d is not None), fmpq(0))
        high = sum((d.size() ** 2 for d in squares if d is not None), fmpq(0))
        band = findings[members[0]][1].band
        assert band is not None
        verdict: Verdict = "not proven"
        if high <= band.above.lower**2:
            verdict = "pass"
        elif low > band.above.upper**2:
            verdict = "fail"
        for i in members:
            line, finding = findings[i]
            findings[i] = line, attrs.evolve(finding, verdict=verdict, why="judged as a vector")
    return findings


def _least_square(deviation: Enclosure) -> fmpq:
    if deviation.lower > 0:
        return deviation.lower**2
    return deviation.upper**2 if deviation.upper < 0 else fmpq(0)


def _direction_of_zero(
    line: OutputLine, finding: Finding, findings: Sequence[tuple[OutputLine, Finding]]
) -> Finding:
    """An honest double shows 6e-14 for a zero resultant, and some angle for its direction."""
    if finding.verdict != "fail" or finding.expected != "no answer: no direction":
        return finding
    sizes = [
        other
        for at, other in findings
        if at.view.answer == line.view.answer
        and at.view.key == line.view.key
        and at.view.take in ("magnitude", "component")
    ]
    if all(other.verdict == "pass" for other in sizes):
        said = "its size is rightly reported as zero" if sizes else "its size is not asked"
        return attrs.evolve(
            finding, verdict="not applicable", why=f"a zero resultant has no direction; {said}"
        )
    return finding
