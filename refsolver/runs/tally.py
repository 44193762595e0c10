"""What a campaign counts: sums that can be added up in any order, and the worst cases.

A tally has one size however many cases go into it, and adding tallies gives the same in
whatever order shards finish.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

import attrs
import numpy as np
from flint import fmpq

from refsolver.checking.judging import VERDICTS, Finding
from refsolver.checking.quick import Passed

__all__ = ["DIGITS", "KEPT", "CellTally", "Worst", "added", "cell_data", "cell_from"]

DIGITS = 17
"""Agreeing digits are counted in whole digits, this many and more in the last place."""

KEPT = 3
"""Worst cases kept a cell."""

_BADNESS = {verdict: n for n, verdict in enumerate(
    ("not applicable", "pass", "not proven", "refused", "no answer", "error", "fail")
)}  # fmt: skip


@attrs.frozen(order=True)
class Worst:
    """A case by how bad its worst reading is; the greatest is the worst."""

    badness: int
    share: float
    """The deviation as a share of the tolerance; 0 where there is none."""
    relative: float
    number: int
    output: str = attrs.field(order=False)
    verdict: str = attrs.field(order=False)


@attrs.define
class CellTally:
    """What is counted for one family in one range of condition numbers."""

    cases: int = 0
    outside: int = 0
    """Cases outside the calculator's scope, which were not asked."""
    verdicts: dict[str, int] = attrs.field(factory=lambda: dict.fromkeys(VERDICTS, 0))
    digits: list[int] = attrs.field(factory=lambda: [0] * (DIGITS + 1))
    """Readings by whole agreeing digits."""
    least_digits: float | None = None
    worst: list[Worst] = attrs.field(factory=list)

    def add(self, number: int, findings: Iterable[Finding]) -> None:
        """Counts the readings of one case."""
        self.cases += 1
        worst = None
        for finding in findings:
            self.verdicts[finding.verdict] += 1
            if finding.measures is not None and finding.measures.digits is not None:
                digits = min(finding.measures.digits, float(DIGITS))
                self.digits[max(0, int(digits))] += 1
                if self.least_digits is None or digits < self.least_digits:
                    self.least_digits = digits
            here = _badness(number, finding)
            worst = here if worst is None else max(worst, here)
        if worst is not None:
            self.worst = _kept([*self.worst, worst])

    def add_passed(
        self, numbers: Sequence[int], outputs: Sequence[str], readings: Sequence[Passed]
    ) -> None:
        """Counts cases in which every reading passes: ``readings`` by output, then by case."""
        self.cases += len(numbers)
        self.verdicts["pass"] += len(numbers) * len(outputs)
        if not numbers:
            return
        for passed in readings:
            self._count_digits(passed.relative)
        # Rounding the shares costs more than the rest: only those that may be kept.
        shares = np.max([passed.share for passed in readings], axis=0)
        least = np.sort(shares)[-KEPT:][0] * (1 - 1e-5)
        found = [
            max(
                _passed(numbers[i], output, float(passed.share[i]), float(passed.relative[i]))
                for output, passed in zip(outputs, readings, strict=True)
            )
            for i in np.flatnonzero(shares >= least).tolist()
        ]
        self.worst = _kept([*self.worst, *found])

    def _count_digits(self, relative: Any) -> None:
        with np.errstate(divide="ignore"):
            digits = np.minimum(-np.log10(relative), DIGITS)
        counts = np.bincount(np.maximum(digits, 0).astype(np.intp), minlength=DIGITS + 1)
        self.digits = [old + int(new) for old, new in zip(self.digits, counts, strict=True)]
        largest = float(np.max(relative))
        least = min(-math.log10(largest), float(DIGITS)) if largest > 0 else float(DIGITS)
        self.least_digits = least if self.least_digits is None else min(self.least_digits, least)


def _passed(number: int, output: str, share: float, relative: float) -> Worst:
    return Worst(_BADNESS["pass"], _short(share), relative, -number, output, "pass")


def _badness(number: int, finding: Finding) -> Worst:
    share, relative = 0.0, 0.0
    if finding.band is not None and finding.deviation is not None:
        low = finding.deviation.middle < 0
        allowed = (finding.band.below if low else finding.band.above).middle
        size = abs(finding.deviation.middle)
        share = _double(size / allowed) if allowed > 0 else (1e300 if size > 0 else 0.0)
    if finding.measures is not None and finding.measures.relative is not None:
        relative = min(finding.measures.relative, 1e300)
    # A first case kept is better reproduced than a later one that is as bad.
    return Worst(
        _BADNESS[finding.verdict], share, relative, -number, finding.output, finding.verdict
    )


def _double(x: fmpq) -> float:
    return _short(int(x.p) / int(x.q))


def _short(share: float) -> float:
    return float(f"{min(share, 1e300):.6g}")


def _kept(found: list[Worst]) -> list[Worst]:
    return sorted(found, reverse=True)[:KEPT]


def added(a: CellTally, b: CellTally) -> CellTally:
    """Both together; commutative and associative."""
    least = [x for x in (a.least_digits, b.least_digits) if x is not None]
    return CellTally(
        a.cases + b.cases,
        a.outside + b.outside,
        {name: a.verdicts[name] + b.verdicts[name] for name in VERDICTS},
        [x + y for x, y in zip(a.digits, b.digits, strict=True)],
        min(least, default=None),
        _kept([*a.worst, *b.worst]),
    )


def cell_data(tally: CellTally) -> dict[str, Any]:
    """As JSON; :func:`cell_from` reads it back."""
    data = attrs.asdict(tally)
    data["verdicts"] = {name: n for name, n in tally.verdicts.items() if n}
    return data


def cell_from(data: Mapping[str, Any]) -> CellTally:
    """The tally that :func:`cell_data` wrote. Raises KeyError, TypeError or ValueError."""
    least, digits = data["least_digits"], [int(n) for n in data["digits"]]
    if len(digits) != len(CellTally().digits):
        raise ValueError("another number of digits")
    return CellTally(
        int(data["cases"]),
        int(data["outside"]),
        {name: int(data["verdicts"].get(name, 0)) for name in VERDICTS},
        digits,
        None if least is None else float(least),
        [Worst(**one) for one in data["worst"]],
    )
