"""What is asked of a case: views of its answers, how accurately, and the scale of the case."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from types import SimpleNamespace
from typing import Any

from flint import arb, fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.enclosure import evaluate
from refsolver.arithmetic.exact import Constant
from refsolver.quantities.dimensions import ANGLE, Dimension
from refsolver.quantities.kinds import NoAnswer
from refsolver.quantities.views import View, ViewError, checked, dimension_of
from refsolver.quantities.views import evaluate as evaluate_view
from refsolver.statics.contract import Family, Solution
from refsolver.statics.givens import walk

__all__ = ["BEYOND", "Question", "bits_for", "resolved", "scale_of"]

_NO_NUMBER = (str, NoAnswer)

BEYOND = (ArithmeticError, ValueError, RecursionError, MemoryError)
"""What givens far out of proportion end in: a power of 1e20, a root that is negative."""


def bits_for(digits: int) -> int:
    """The relative accuracy in bits that so many proven decimal digits take."""
    return digits * 3322 // 1000 + 1


def scale_of(given: Any, dimension: Dimension) -> arb:
    """The size of a typical quantity of this dimension in the case, never zero.

    Products of the largest force and the largest length among the leaves; 1 where there
    is none. It only sets the threshold below which a value counts as vanishing.
    """
    length, forces = arb(0), []
    for _, leaf, field in walk(given):
        if field.shape == "point":
            sizes = [abs(evaluate(x)) for x in leaf]
        elif isinstance(leaf, fmpq | Constant):
            sizes = [abs(evaluate(leaf))]
        else:
            magnitude = getattr(leaf, "magnitude", None)
            parts = getattr(leaf, "along", ()) if magnitude is None else (magnitude,)
            sizes = [abs(evaluate(x)) for x in parts if isinstance(x, fmpq | Constant)]
        if field.shape == "point" or (
            field.dimension and field.dimension.force == 0 and field.dimension.length == 1
        ):
            length = max([length, *sizes], key=lambda x: x.mid())
        elif field.dimension is not None and field.dimension.force == 1:
            forces += [(size, field.dimension.length) for size in sizes]
    length = length if length > 0 else arb(1)
    force = max((s / length**n for s, n in forces), key=lambda x: x.mid(), default=arb(1))
    force = force if force > 0 else arb(1)
    return force**dimension.force * length**dimension.length


class Question:
    """What is to be proven: views of a family's answers for given givens, to so many digits.

    ``asks`` are the views as they were asked, with defaults filled in, and their dimensions;
    ``goal`` is the accuracy in bits. Raises ViewError for a view that does not fit the family.
    """

    def __init__(
        self, family: Family, given: Any, asks: Sequence[View], digits: int, rules: SimpleNamespace
    ) -> None:
        self.family, self.given, self.digits, self.rules = family, given, digits, rules
        self.asks = resolved(family, tuple(asks))
        self.goal = bits_for(digits)
        self._scales: dict[Dimension, arb] = {}

    def solve(self, ar: Arithmetic) -> Solution:
        return self.family.solve(self.given, ar, self.rules)

    def scale(self, dimension: Dimension) -> arb:
        """The scale of the case; walked for once a dimension."""
        if dimension not in self._scales:
            self._scales[dimension] = scale_of(self.given, dimension)
        return self._scales[dimension]

    def value(
        self, view: View, dimension: Dimension, solution: Solution, ar: Arithmetic
    ) -> Number | str | NoAnswer:
        """What a view takes of the answers; an angle in turns."""
        kind = self.family.answers[view.answer].kind
        value = evaluate_view(view, kind, solution.answers[view.answer], ar)
        if dimension is ANGLE and not isinstance(value, _NO_NUMBER):
            return value / (ar.pi() * 2)
        return value


@lru_cache(maxsize=4096)
def resolved(family: Family, asks: tuple[View, ...]) -> tuple[tuple[View, View, Dimension], ...]:
    """Every ask with its defaults filled in and its dimension; once for the same asks."""
    return tuple((ask, *_resolved(family, ask)) for ask in asks)


def _resolved(family: Family, ask: View) -> tuple[View, Dimension]:
    if ask.answer not in family.answers:
        known = ", ".join(family.answers)
        raise ViewError(f"{family.name} has no answer {ask.answer!r}; it has {known}")
    kind = family.answers[ask.answer].kind
    view = checked(ask, kind)
    dimension = dimension_of(view, kind)
    return view, ANGLE if dimension == ANGLE else dimension
