"""Judging one case: every mapped output gets a verdict, by one table.

========================  ===========================  ====================================
expected                  reported                     verdict
========================  ===========================  ====================================
a value                   a value                      pass, fail or not proven
a value                   a refusal                    refused; but not applicable for the
                                                       direction of a resultant that its
                                                       own criterion cannot tell from zero
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

A resultant "cannot be told from zero" where its size passes and a reported zero would have
passed too: its direction is then noise. A balanced case handed over in doubles is no longer
quite balanced, and its proven direction is that of the last bits.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import Any, Literal

import attrs
from flint import fmpq

from refsolver.arithmetic.detached import Enclosure
from refsolver.calculators.contract import Failure, Received
from refsolver.calculators.criteria import Band
from refsolver.calculators.file import Refusals
from refsolver.calculators.lines import OutputLine
from refsolver.checking.comparison import Comparison, Measures, compare, measures
from refsolver.checking.equality import simple_rational
from refsolver.checking.readings import Reading, readings_of, reread
from refsolver.checking.scales import scale
from refsolver.checking.slips import possible_readings
from refsolver.quantities.conversion import in_unit
from refsolver.quantities.kinds import NoAnswer
from refsolver.quantities.units import UnitSystem
from refsolver.statics.reference import NotProven, Outcome, Proven, Reference, Word

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
    exactly: Callable[[OutputLine, fmpq], bool]

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

    def band(self, line: OutputLine, reading: Reading, reference: Enclosure) -> Band:
        assert line.criterion is not None
        scales = {
            name: scale(name, self.given, self.system, line.unit)
            for name in line.criterion.scales_used()
        }
        band = line.criterion.band(reference, scales)
        if reading.judged == "stored":
            return band
        half = Enclosure(reading.step / 2, reading.step / 2)
        return Band(_wider(band.below, half), _wider(band.above, half))

    def compared(self, line: OutputLine, reading: Reading) -> Comparison:
        """The comparison, finer and finer; at a tie with the value that is proven exact."""
        found = self._comparison(line, reading, self.enclosure(line))
        if found.decision != "undecided":
            return found
        exact = simple_rational(self.enclosure(line))
        if exact is not None and self.exactly(line, exact):
            return self._comparison(line, reading, Enclosure(exact, exact))
        while found.decision == "undecided" and self.finer():
            found = self._comparison(line, reading, self.enclosure(line))
        return found

    def exact_or_finer(self, members: Sequence[_Judged]) -> Iterator[list[_Judged]]:
        """Judged numbers against proven exact values, where there are such, finer and finer."""
        exact = [simple_rational(self.enclosure(m.line)) for m in members]
        known = [
            Enclosure(x, x) if x is not None and self.exactly(m.line, x) else None
            for m, x in zip(members, exact, strict=True)
        ]
        if any(known):
            yield [self._against(m, x) for m, x in zip(members, known, strict=True)]
        while self.finer():
            yield [self._against(m, x) for m, x in zip(members, known, strict=True)]

    def _against(self, judged: _Judged, exact: Enclosure | None) -> _Judged:
        reference = exact or self.enclosure(judged.line)
        found = self._comparison(judged.line, judged.reading, reference)
        finding = attrs.evolve(judged.finding, deviation=found.deviation, band=found.band)
        return attrs.evolve(judged, finding=finding)

    def _comparison(self, line: OutputLine, reading: Reading, reference: Enclosure) -> Comparison:
        assert reading.number is not None
        return compare(reading.number, reference, self.band(line, reading, reference), line.period)


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
    exactly: Callable[[OutputLine, fmpq], bool] = lambda line, value: False,
) -> list[Finding]:
    """One finding a line and reading, in order.

    ``reprove`` solves again at more digits; ``exactly`` proves, where it can, that an answer
    is a given number in the unit of its line (a reported value may lie on its very limit).
    """
    if received.failure is not None and received.failure.kind != "refusal":
        return [_failed(line, received.failure, reference) for line in lines]
    judging = _Judge(reprove, given, system, reference, exactly)
    findings: list[_Judged] = []
    for line in lines:
        if received.failure is not None:
            readings = [Reading("refusal", "stored", received.failure.detail)]
        else:
            readings = readings_of(line, received.values, refusals)
        findings += [
            _Judged(line, reading, _finding(line, reading, judging)) for reading in readings
        ]
    findings = _as_vectors(findings, judging)
    return [_direction_of_zero(each, findings) for each in findings]


@attrs.frozen
class _Judged:
    line: OutputLine
    reading: Reading
    finding: Finding

    def is_of(self, other: _Judged) -> bool:
        """Whether both are of the same answer (and the same key of a table)."""
        mine, its = self.line.view, other.line.view
        return (mine.answer, mine.key) == (its.answer, its.key)


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
        why = reading.why or "the output is blank"
        return attrs.evolve(base, verdict="no answer", why=why)
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
        why=_remark(line, reading, judging, verdict),
        reference=reference,
        deviation=found.deviation,
        band=found.band,
        measures=measures(found.deviation, reference),
    )


def _remark(line: OutputLine, reading: Reading, judging: _Judge, verdict: Verdict) -> str:
    if verdict == "not proven":
        return f"it {_TOO_NEAR}"
    if verdict != "fail":
        return ""
    reference = judging.enclosure(line)
    band = judging.band(line, reading, reference)
    if reference.is_zero and band.below.is_zero and band.above.is_zero:
        return "the reference is zero, where a criterion without an absolute part allows nothing"
    if not reading.by_hand:
        return ""
    for text, slip in possible_readings(reading.text, reading.mark):
        number = reread(line, reading, text)
        if number is None:
            continue
        other = attrs.evolve(reading, number=number)
        if judging.compared(line, other).decision == "within":
            return f"may be a slip of reading ({slip}; {text} would pass): read it again"
    return ""


def _where_none_exists(base: Finding, reading: Reading, outcome: NoAnswer) -> Finding:
    if reading.kind == "refusal":
        return attrs.evolve(base, verdict="pass", why="rightly declined")
    if reading.kind == "error":
        return attrs.evolve(base, verdict="error", why=reading.why)
    if reading.kind == "blank":
        return attrs.evolve(base, verdict="no answer", why=reading.why or "the output is blank")
    why = f"a value where there is none ({outcome.reason}: {outcome.evidence})"
    return attrs.evolve(base, verdict="fail", why=why)


def _as_vectors(findings: Sequence[_Judged], judging: _Judge) -> list[_Judged]:
    """Components judged together: the length of the deviation against one tolerance.

    On its very limit it is decided where the components are rational. Where they are not, the
    square of the length is no answer of the family, and no proof that it is the limit's.
    """
    groups: dict[tuple[str, str | None, str], list[int]] = {}
    for index, each in enumerate(findings):
        criterion = each.line.criterion
        if criterion is not None and criterion.as_vector and each.finding.deviation is not None:
            view = each.line.view
            groups.setdefault((view.answer, view.key, each.finding.judged), []).append(index)
    found = list(findings)
    for members in groups.values():
        together = [findings[i] for i in members]
        verdict, tried = _vector_verdict(together), judging.exact_or_finer(together)
        while verdict == "not proven" and (finer := next(tried, None)) is not None:
            verdict = _vector_verdict(finer)
        why = _VECTOR if verdict != "not proven" else f"{_VECTOR}: {_TOO_NEAR}"
        for i in members:
            said = attrs.evolve(found[i].finding, verdict=verdict, why=why)
            found[i] = attrs.evolve(found[i], finding=said)
    return found


def _vector_verdict(members: Sequence[_Judged]) -> Verdict:
    """By squares of lengths; a displayed vector may be off by half a step in each component."""
    deviations = [m.finding.deviation for m in members if m.finding.deviation is not None]
    low = sum((_least_square(d) for d in deviations), fmpq(0))
    high = sum((d.size() ** 2 for d in deviations), fmpq(0))
    rounding = sum(((m.reading.step / 2) ** 2 for m in members if _is_shown(m)), fmpq(0))
    bands = [m.finding.band for m in members if m.finding.band is not None]
    if high <= max(rounding, *(band.above.lower**2 for band in bands)):
        return "pass"
    if low > max(rounding, *(band.above.upper**2 for band in bands)):
        return "fail"
    return "not proven"


_VECTOR = "judged as a vector"
_TOO_NEAR = "lies too near the limit to be decided"


def _is_shown(each: _Judged) -> bool:
    return each.reading.judged == "displayed"


def _least_square(deviation: Enclosure) -> fmpq:
    if deviation.lower > 0:
        return deviation.lower**2
    return deviation.upper**2 if deviation.upper < 0 else fmpq(0)


_DIRECTIONS = ("angle", "axis angle", "azimuth", "elevation", "cosine", "slope")


def _direction_of_zero(each: _Judged, findings: Sequence[_Judged]) -> Finding:
    """An honest double shows 6e-14 for a zero resultant, and some angle for its direction."""
    finding = each.finding
    if finding.verdict not in ("fail", "refused") or each.line.view.take not in _DIRECTIONS:
        return finding
    sizes = [
        other
        for other in findings
        if other.is_of(each) and other.line.view.take in ("magnitude", "component")
    ]
    if not all(size.finding.verdict == "pass" for size in sizes):
        return finding
    if finding.expected == f"no answer: {_NO_DIRECTION}":
        said = "its size is rightly reported as zero" if sizes else "its size is not asked"
        why = f"a zero resultant has no direction; {said}"
    elif _like_zero(sizes):
        why = "its size cannot be told from zero by its own criterion"
    else:
        return finding
    return attrs.evolve(finding, verdict="not applicable", why=why)


_NO_DIRECTION = "no direction"


def _like_zero(sizes: Sequence[_Judged]) -> bool:
    """Whether a reported zero would pass: in the magnitude, else in every component asked.

    Every component: two axes at least, since a vector may lie along the one not asked.
    """
    magnitudes = [s for s in sizes if s.line.view.take == "magnitude"]
    axes = {str(s.line.view.along)[1:] for s in sizes}
    if not magnitudes and len(axes) < 2:
        return False
    return all(_zero_passes(s.finding) for s in magnitudes or sizes)


def _zero_passes(finding: Finding) -> bool:
    if finding.reference is None or finding.band is None:
        return False
    return compare(fmpq(0), finding.reference, finding.band).decision == "within"
