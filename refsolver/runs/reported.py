"""What a calculator reported in a judged case, and how near a hypothesis comes to it."""

from __future__ import annotations

import math

import attrs

from refsolver.calculators.lines import OutputLine
from refsolver.calculators.numbertext import UnreadableNumber, read_number
from refsolver.checking.judging import Finding
from refsolver.quantities.conversion import factor_to
from refsolver.quantities.dimensions import ANGLE
from refsolver.quantities.units import UNITLESS
from refsolver.records.runs import CaseRun
from refsolver.runs.situations import number

__all__ = ["DECLINED", "Reading", "can_be_replayed", "readings_of"]

_SPECIFIC, _SPECIFIC_WHOLE = 0.05, 0.002
"""A match must be nearer to the reported number than this share of its deviation; the second
where all digits of a double were reported, which leaves room for another g or pi only."""

_NOISE = 1e-9
"""Relative slack for the rounding errors of a replay in double precision."""

_ALIKE = 1e-6
"""Relative slack for a number reported where there is none, which has no criterion."""

DECLINED = "["

_TELLING = 6
"""Figures that a single number must have to be enough by itself, and be met in all of them."""


@attrs.frozen
class Reading:
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

    def is_exactly(self, predicted: float | str, slack: float = 0.0) -> bool:
        """Whether this reading is in all its figures what is predicted, to within ``slack``."""
        if self.word or isinstance(predicted, str):
            return self.matches(predicted)
        noise = _NOISE * max(abs(self.number), abs(predicted), 1e-3 * self.band)
        return self.apart(predicted) <= slack + noise

    @property
    def deviates_beyond_its_figures(self) -> bool:
        """Whether this passing reading is off by more than rounding it alone would make it."""
        if self.word or self.deviation is None:
            return False
        return self.deviation > self.half_step + 1e3 * _NOISE * abs(self.number)

    def contradicts(self, predicted: float | str) -> bool:
        """Whether a passing reading would have been another one."""
        if self.word == DECLINED:
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
    return DECLINED if text.startswith(DECLINED) else text


def can_be_replayed(run: CaseRun) -> bool:
    """Not where rows of several tables were moved and are answered by number: which row of
    which table a number means then is the calculator's own affair."""
    several = len(run.placement or {}) > 1
    return not (several and any(line.view.key for line in run.outputs))


def readings_of(run: CaseRun) -> tuple[Reading, ...]:
    lines = {line.id: line for line in run.outputs}
    found = (
        _reading((run.case.id, place), finding, lines[finding.output])
        for place, finding in enumerate(run.findings)
    )
    return tuple(reading for reading in found if reading is not None)


def _reading(key: tuple[str, int], finding: Finding, line: OutputLine) -> Reading | None:
    if finding.verdict not in ("pass", "fail", "refused") or "slip of reading" in finding.why:
        return None
    failed = finding.verdict != "pass"
    if finding.number is None:
        declined = finding.verdict == "refused" or finding.why == "rightly declined"
        said = DECLINED if declined else line.words.get(finding.reported, finding.reported)
        return Reading(key, finding.output, line.line or line.id, failed, word=said)
    reading = Reading(
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
