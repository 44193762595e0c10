"""Cases on a border, which numbers of finite precision cannot hold: judged as not applicable.

A body on the very point of slipping, two axes that are parallel, three forces in balance:
handed over as doubles, such a case lies beside its border, and its proven answer is another
one (a refusal for a value, another word, an angle on the other side of its cut, a couple of
which only a part is left, another number of members without force). A reading that is right
for the case as stated is then no failure of the calculator; nor is one that careful double
precision gives for the numbers handed over, where the proven answer and the reported one differ
in kind or by a count, nor a number where the case as stated has none. Where nothing is proven
for the numbers handed over (a mechanism at angles that are right angles but for their
rounding), what is right for the case as stated is right.
Numbers that merely deviate are never excused here, unless some other answer of the case as
stated differs in kind from that for the numbers handed over.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import attrs
from flint import fmpq

from refsolver.arithmetic.detached import Enclosure, exact_double
from refsolver.calculators.lines import OutputLine
from refsolver.catalogue.schema import Case
from refsolver.checking.comparison import compare
from refsolver.checking.judging import Finding
from refsolver.checking.scales import scale
from refsolver.mistakes.replay import replay
from refsolver.quantities.conversion import in_unit
from refsolver.quantities.dimensions import ANGLE
from refsolver.quantities.units import UnitSystem
from refsolver.statics.contract import Family
from refsolver.statics.registry import family

__all__ = [
    "CAREFUL",
    "MADE_BY_ROUNDING",
    "STATED",
    "beside",
    "may_be_beside_a_border",
    "on_a_border",
    "reported_in_doubles",
]

STATED = "right for the case as stated: the numbers handed over lie beside a border of the case"
MADE_BY_ROUNDING = (
    "the case as stated has no such answer; only the rounding of what was handed over makes one"
)
CAREFUL = "the case lies nearer to a border than double precision can tell"


def may_be_beside_a_border(
    findings: Sequence[Finding], lines: Mapping[str, OutputLine], case: Case
) -> bool:
    """Whether it is worth proving the case as stated too: some reading does not pass, and
    differs from the reference in kind, by the cut of an angle, or where the case as stated
    seems to have no answer; or the reference for what was handed over is not proven (that
    90 degrees in radians is a right angle, say)."""
    if any(f.verdict == "not proven" for f in findings):
        return True
    bad = [f for f in findings if f.verdict in ("fail", "refused")]
    if any(_differs_in_kind(f) or _has_a_cut(f, lines[f.output]) for f in bad):
        return True
    if not bad:
        return False
    if any(f.why == CAREFUL for f in findings):
        return True
    views = list(dict.fromkeys(lines[f.output].view for f in bad))
    careful = replay(family(case.family), case.given, views) or {}
    return any(isinstance(value, str) for value in careful.values())


def on_a_border(findings: Sequence[Finding], stated: Sequence[Finding]) -> bool:
    """Whether some answer to the case as stated is of another kind, or another word."""
    return any(f.expected != s.expected for f, s in zip(findings, stated, strict=True))


def beside(finding: Finding, stated: Finding, line: OutputLine, border: bool) -> Finding:
    """The finding, not applicable where the numbers handed over lie beside a border.

    ``stated`` is the same reading judged against the case as stated; ``border`` says that
    some answer to that is of another kind.
    """
    if finding.verdict == "not proven" and stated.verdict == "pass":
        return attrs.evolve(finding, verdict="not applicable", why=STATED)
    if finding.verdict not in ("fail", "refused"):
        return finding
    if stated.verdict == "pass" and (
        border or _differs_in_kind(finding) or _has_a_cut(finding, line)
    ):
        return attrs.evolve(finding, verdict="not applicable", why=STATED)
    if stated.expected.startswith("no answer") and not finding.expected:
        return attrs.evolve(finding, verdict="not applicable", why=MADE_BY_ROUNDING)
    return finding


def _has_a_cut(finding: Finding, line: OutputLine) -> bool:
    """Whether an angle jumps: from one end of its range to the other, or, where it is that
    of an axis, which has no sense of its own, by half a turn."""
    if line.dimension != ANGLE or finding.deviation is None:
        return line.dimension == ANGLE and line.period is None
    if line.period is None:
        return True
    half = line.period.middle / 2
    return bool(abs(abs(finding.deviation.middle) - half) <= half / 10**6)


def reported_in_doubles(
    findings: Sequence[Finding],
    lines: Mapping[str, OutputLine],
    units: UnitSystem,
    owner: Family,
    given: Any,
) -> list[Finding]:
    """The findings, those that careful double precision gives too marked not applicable.

    ``given`` is in the coherent units of ``units``: those of the case, or the calculator's.
    """
    doubtful = [f for f in findings if _differs_in_kind(f)]
    if not doubtful:
        return list(findings)
    views = list(dict.fromkeys(lines[f.output].view for f in doubtful))
    careful = replay(owner, given, views) or {}
    return [
        attrs.evolve(f, verdict="not applicable", why=CAREFUL)
        if _differs_in_kind(f)
        and _agrees(f, lines[f.output], careful.get(lines[f.output].view), units, given)
        else f
        for f in findings
    ]


def _differs_in_kind(finding: Finding) -> bool:
    """Whether another sort of answer was given, another word or another count."""
    if finding.verdict == "refused":
        return True
    return finding.verdict == "fail" and (bool(finding.expected) or _is_count(finding))


def _is_count(finding: Finding) -> bool:
    """Whether two whole numbers stand against each other, which rounding may change."""
    value, reported = finding.reference, finding.number
    if value is None or reported is None or not value.is_exact:
        return False
    return bool(value.lower.q == 1 and reported.q == 1)


def _agrees(
    finding: Finding, line: OutputLine, value: float | str | None, units: UnitSystem, given: Any
) -> bool:
    """Whether what was reported is what careful double precision gives."""
    if value is None or value != value:
        return False
    if isinstance(value, str):
        if value.startswith("["):
            return finding.verdict == "refused"
        return line.words.get(finding.reported, finding.reported) == value
    if finding.number is None or line.criterion is None:
        return False
    exact = exact_double(value)
    coherent = Enclosure(exact, exact)
    if line.dimension == ANGLE:
        coherent = coherent.scaled(fmpq(1) / _TWO_PI)
    middle = in_unit(coherent, units, line.unit, line.dimension)
    scales = {name: scale(name, given, units, line.unit) for name in line.criterion.scales_used()}
    band = line.criterion.band(middle, scales)
    return compare(finding.number, middle, band, line.period).decision == "within"


_TWO_PI = exact_double(6.283185307179586)
