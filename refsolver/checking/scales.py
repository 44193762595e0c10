"""The scales that a criterion may be relative to, enclosed in the output's own unit."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from flint import arb, ctx

from refsolver.arithmetic.detached import Enclosure, enclosure_of
from refsolver.arithmetic.enclosure import EnclosureArithmetic, evaluate
from refsolver.calculators.criteria import SCALES
from refsolver.quantities.conversion import in_unit
from refsolver.quantities.dimensions import FORCE, LENGTH
from refsolver.quantities.units import Unit, UnitSystem
from refsolver.statics.givens import walk
from refsolver.statics.vectors import magnitude_of

__all__ = ["scale"]

_BITS = 400


def scale(name: str, given: Any, system: UnitSystem, unit: Unit | None) -> Enclosure:
    """The size of the largest force given, of all forces together, or of the extent.

    ``span`` is the largest difference between given coordinates along one axis.
    """
    with ctx.workprec(_BITS):
        if name == "span":
            ball = _span(given)
        else:
            sizes = list(_forces(given)) or [arb(0)]
            ball = sum(sizes, arb(0)) if name == "sum of forces" else _largest(sizes)
        found = enclosure_of(ball)
    return in_unit(found, system, unit, SCALES[name])


def _largest(sizes: list[arb]) -> arb:
    largest = sizes[0]
    for size in sizes[1:]:
        largest = largest.max(size)
    return largest


def _forces(given: Any) -> Iterator[arb]:
    for _, leaf, field in walk(given):
        if field.dimension == FORCE:
            if field.shape == "vector":
                yield magnitude_of(leaf, EnclosureArithmetic())
            else:
                yield abs(evaluate(leaf))


def _span(given: Any) -> arb:
    by_axis: dict[int, list[arb]] = {}
    lengths: list[arb] = [arb(0)]
    for _, leaf, field in walk(given):
        if field.shape == "point":
            for axis, x in enumerate(leaf):
                by_axis.setdefault(axis, []).append(evaluate(x))
        elif field.dimension == LENGTH and field.shape == "quantity":
            lengths.append(abs(evaluate(leaf)))
    extents = [_largest(xs) + _largest([-x for x in xs]) for xs in by_axis.values()]
    return _largest(extents or lengths)
