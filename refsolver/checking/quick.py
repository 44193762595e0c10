"""Verdicts on many numeric readings at once, by a proven test in doubles.

The deviation of a reading is formed in balls and then taken as a double. It is off by one
part in 2^52 of itself and by the width of the reference. A reading passes here where it lies
within its allowance by more than that and by all that the few operations on doubles can be
off; the full judgement then passes it too. What is not proven so, for whatever reason, is
left to the full judgement.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import attrs
import numpy as np
from flint import arb, ctx, fmpq

from refsolver.arithmetic.detached import Enclosure, nearest_double
from refsolver.calculators.criteria import Part
from refsolver.calculators.lines import OutputLine
from refsolver.checking.readings import Reading
from refsolver.quantities.conversion import factor_to
from refsolver.quantities.units import UnitSystem

__all__ = ["Passed", "judged_quickly", "suits"]

_SLACK = 2.0**-48
"""More than the relative error of the doubles here: each is off by at most 2^-52 a step."""

_SMALLEST = 1e-280
"""Below this doubles lose their relative precision, and nothing is decided here."""

_LARGEST = 1e280

_GUARD = 20


@attrs.frozen
class Passed:
    """What is counted of the readings of one line: arrays over the cases.

    ``passes`` is false where a reading is not proven to pass; the others have no meaning
    there. ``share`` is the deviation as a share of the tolerance, ``relative`` as a share of
    the reference.
    """

    passes: np.ndarray[Any, np.dtype[np.bool_]]
    share: np.ndarray[Any, np.dtype[np.float64]]
    relative: np.ndarray[Any, np.dtype[np.float64]]

    def at(self, positions: Sequence[int]) -> Passed:
        rows = np.array(positions, dtype=np.intp)
        return Passed(self.passes[rows], self.share[rows], self.relative[rows])


def suits(line: OutputLine) -> bool:
    """Whether readings of the line may be judged here: a plain number, a criterion by itself."""
    criterion = line.criterion
    if criterion is None or line.sense is not None or line.quadrant is not None:
        return False
    if criterion.as_vector or criterion.scales_used():
        return False
    rounding = criterion.rounding
    return rounding is None or (rounding.step is not None and rounding.manner != "cut")


def judged_quickly(
    line: OutputLine,
    system: UnitSystem,
    reported: Sequence[Any],
    references: Sequence[arb | None],
    accuracy: int,
) -> Passed:
    """Which readings are proven to pass, and what is counted of them.

    ``reported`` are the doubles read off, or the :class:`~.readings.Reading` of a displayed
    text, which may be off by half a step in any event (anything else is left);
    ``references`` are the proven balls in coherent units, angles in turns, each of a relative
    accuracy of ``accuracy`` bits at least.
    """
    with ctx.workprec(accuracy + _GUARD):
        pairs = _deviations(line, system, reported, references)
    off, scale = np.array(pairs).reshape(-1, 2).T
    size, scale = np.abs(off), np.abs(scale)
    below, above = _allowances(line, scale)
    if any(isinstance(value, Reading) for value in reported):
        half = np.array([_half_a_step(value) for value in reported])
        below, above = np.fmax(below, half), np.fmax(above, half)
    # A ball of that accuracy reaches 2^(2 - accuracy) of its middle to either side; a period
    # taken off is rounded in proportion to itself.
    whole = scale if line.period is None else scale + nearest_double(line.period.upper)
    margin = size * _SLACK + whole * 2.0 ** (4 - accuracy)
    known = (scale > _SMALLEST) & (scale < _LARGEST) & (size < _LARGEST)
    within = (off + margin <= above * (1 - _SLACK)) & (margin - off <= below * (1 - _SLACK))
    allowed = np.where(off < 0, below, above)
    with np.errstate(all="ignore"):
        return Passed(known & within, size / allowed, size / scale)


def _deviations(
    line: OutputLine,
    system: UnitSystem,
    reported: Sequence[Any],
    references: Sequence[arb | None],
) -> list[tuple[float, float]]:
    """Deviation and reference as doubles, NaN where there is none."""
    factor = factor_to(system, line.unit, line.dimension)
    ball = None if factor.is_exact and factor.lower == 1 else _ball(factor)
    period = None if line.period is None else _ball(line.period)
    turns = None if period is None else float(period)
    sign = -1.0 if line.negate else 1.0
    found: list[tuple[float, float]] = []
    for value, reference in zip(reported, references, strict=True):
        read = _read(value, sign)
        if read is None or reference is None:
            found.append((math.nan, math.nan))
            continue
        wanted = reference if ball is None else reference * ball
        deviation = read - wanted
        if period is not None:
            # Any whole number of periods will do: it is the same direction.
            deviation -= period * round(float(deviation) / turns)  # type: ignore[operator]
        found.append((float(deviation), float(wanted)))
    return found


def _read(value: Any, sign: float) -> arb | None:
    """The number read, as a ball; None where it is left to the full judgement."""
    if isinstance(value, Reading):
        return None if value.number is None else arb(value.number)
    if type(value) is not float or not math.isfinite(value):
        return None
    # Read as in a check: the shortest decimal that tells the double from all others.
    return arb(repr(sign * value))


def _half_a_step(value: Any) -> float:
    return nearest_double(value.step / 2) if isinstance(value, Reading) else math.nan


def _allowances(line: OutputLine, scale: Any) -> tuple[Any, Any]:
    """What is allowed below and above references of these sizes."""
    criterion = line.criterion
    assert criterion is not None
    if criterion.rounding is None:
        assert criterion.below is not None and criterion.above is not None
        below, above = _part(criterion.below, scale), _part(criterion.above, scale)
        return np.where(below > _SMALLEST, below, 0.0), np.where(above > _SMALLEST, above, 0.0)
    rounding = criterion.rounding
    assert rounding.step is not None
    if rounding.manner == "nearest":
        half = _all(rounding.step / 2 + rounding.within, scale)
        return half, half
    whole, none = _all(rounding.step + rounding.within, scale), _all(rounding.within, scale)
    return (none, whole) if rounding.manner == "up" else (whole, none)


def _all(amount: fmpq, scale: Any) -> Any:
    return np.full_like(scale, nearest_double(amount))


def _part(part: Part, scale: Any) -> Any:
    if part.relative is None:
        assert part.absolute is not None
        return _all(part.absolute, scale)
    share = scale * nearest_double(part.relative)
    if part.absolute is None:
        return share
    pick = np.maximum if part.combine == "larger" else np.minimum
    return pick(share, nearest_double(part.absolute))


def _ball(value: Enclosure) -> arb:
    return arb(value.lower).union(arb(value.upper))
