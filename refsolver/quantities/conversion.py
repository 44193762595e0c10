"""From what the prover returns to a unit that somebody asked for.

The prover gives numbers in coherent units and angles in turns; the factor to a unit is
exact, except where it holds pi (turns to radians), where it is an enclosure far tighter
than any number of digits asked for.
"""

from __future__ import annotations

from functools import lru_cache

from flint import ctx, fmpq

from refsolver.arithmetic.detached import Enclosure, enclosure_of
from refsolver.arithmetic.enclosure import evaluate
from refsolver.arithmetic.exact import Constant, Exact, product, quotient
from refsolver.quantities.dimensions import ANGLE, Dimension
from refsolver.quantities.units import Unit, UnitSystem

__all__ = ["BITS", "enclosed", "factor_to", "in_unit"]

BITS = 4000
"""Precision of the enclosures of factors that hold pi: more than 1,000 digits."""

_TURN = product(fmpq(2), Constant("pi"))


def enclosed(x: Exact, bits: int = BITS) -> Enclosure:
    """An enclosure of an exact number, itself where it is rational."""
    if isinstance(x, fmpq):
        return Enclosure(x, x)
    with ctx.workprec(bits):
        return enclosure_of(evaluate(x))


@lru_cache(maxsize=4096)
def factor_to(system: UnitSystem, unit: Unit | None, dimension: Dimension) -> Enclosure:
    """The factor that takes a proven number of this dimension to ``unit``.

    Without a unit the number stays in coherent units (an angle in radians).
    """
    if dimension == ANGLE:
        if unit is None or unit.pi_power == 0:
            one = fmpq(1) if unit is None else unit.factor
            return enclosed(quotient(_TURN, one))
        return enclosed(2 / unit.factor)
    if unit is None:
        return Enclosure(fmpq(1), fmpq(1))
    return enclosed(quotient(fmpq(1), system.ratio(unit)))


def in_unit(
    value: Enclosure, system: UnitSystem, unit: Unit | None, dimension: Dimension
) -> Enclosure:
    """The enclosure of a proven number, in ``unit``."""
    return value.times(factor_to(system, unit, dimension))
