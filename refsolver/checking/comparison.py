"""Is |reported - reference| within the criterion? Proven true, proven false, or undecided."""

from __future__ import annotations

import math
from typing import Literal

import attrs
from flint import fmpq

from refsolver.arithmetic.detached import Enclosure, nearest_double
from refsolver.calculators.criteria import Band

__all__ = ["Comparison", "Measures", "compare", "measures", "on_circle"]

Decision = Literal["within", "outside", "undecided"]


@attrs.frozen
class Comparison:
    """``deviation`` encloses reported - reference (signed); ``decision`` is proven."""

    decision: Decision
    deviation: Enclosure
    band: Band


def signed_deviation(reported: fmpq, reference: Enclosure) -> Enclosure:
    return Enclosure(reported - reference.upper, reported - reference.lower)


def on_circle(deviation: Enclosure, period: Enclosure) -> Enclosure:
    """The deviation less the whole number of periods nearest to it."""
    turns = fmpq((deviation.middle / period.middle + fmpq(1, 2)).floor())
    shift = period.scaled(turns)
    return Enclosure(deviation.lower - shift.upper, deviation.upper - shift.lower)


def compare(
    reported: fmpq, reference: Enclosure, band: Band, period: Enclosure | None = None
) -> Comparison:
    """Whether -below <= reported - reference <= above, with ties allowed.

    ``period`` compares angles on the circle (360 in degrees, 180 for undirected lines).
    """
    deviation = signed_deviation(reported, reference)
    if period is not None:
        deviation = on_circle(deviation, period)
    if deviation.upper <= band.above.lower and -deviation.lower <= band.below.lower:
        return Comparison("within", deviation, band)
    if deviation.lower > band.above.upper or -deviation.upper > band.below.upper:
        return Comparison("outside", deviation, band)
    return Comparison("undecided", deviation, band)


@attrs.frozen
class Measures:
    """Figures beside the verdict; they decide nothing, so doubles serve.

    ``relative`` is |deviation| / |reference|, None at zero and beyond the range of doubles.
    ``digits`` is the log relative error -log10(relative), as in the certified data sets of
    NIST StRD; infinite for an exact match.
    """

    relative: float | None
    digits: float | None


def measures(deviation: Enclosure, reference: Enclosure) -> Measures:
    size, scale = deviation.deviation(fmpq(0)).middle, abs(reference.middle)
    if scale == 0:
        return Measures(None, None)
    relative = nearest_double(size / scale)
    if math.isinf(relative):
        return Measures(None, None)
    return Measures(relative, -math.log10(relative) if relative > 0 else math.inf)
