"""Is an answer exactly this number? Asked where a reported value lies on its very limit.

A ball shrinks around a value but never tells it from a limit that it equals, and such
ties are ordinary: 101 164.025 lbf printed with two decimals. The algebraic arithmetic
proves the equality. A plane angle has no algebraic value; it equals a rational angle when
the vector's cross product with that direction is zero and its dot product positive. In a
range of less than a turn the dot product does not count, and an acute angle may lie on
either side of its axis.
"""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from typing import Any

import attrs
from flint import ctx, fmpq

from refsolver.arithmetic.algebraic import AlgebraicArithmetic, algebraic_decisions
from refsolver.arithmetic.contract import NotAlgebraic, Undecided
from refsolver.arithmetic.detached import Enclosure
from refsolver.arithmetic.exact import Exact, Turn, rational
from refsolver.calculators.lines import OutputLine
from refsolver.quantities.dimensions import ANGLE, Dimension
from refsolver.quantities.kinds import DirectionKind, Kind, NoAnswer, Value, VectorKind
from refsolver.quantities.units import Unit, UnitSystem, read_angle
from refsolver.quantities.views import View, evaluate, inner_kind
from refsolver.statics.contract import Family
from refsolver.statics.prover import ALGEBRAIC_CAP

__all__ = ["SolvedByAlgebra", "equality", "proven_equal", "simple_rational"]

_LARGEST_DENOMINATOR = 10**12
_QUARTER = fmpq(1, 4)
_START_BITS = 200


def simple_rational(value: Enclosure) -> fmpq | None:
    """The one number of few digits in a narrow enclosure, None where there is none."""
    middle = Fraction(int(value.middle.p), int(value.middle.q))
    near = rational(middle.limit_denominator(_LARGEST_DENOMINATOR))
    narrow = value.upper - value.lower < fmpq(1, _LARGEST_DENOMINATOR**2)
    return near if narrow and value.lower <= near <= value.upper else None


class SolvedByAlgebra:
    """The answers of one case by algebra: solved when first asked for, once a precision."""

    def __init__(self, owner: Family, given: Any) -> None:
        self.owner = owner
        self._given = given
        self._solved: dict[int, tuple[AlgebraicArithmetic, Mapping[str, Value]]] = {}

    def answer(self, name: str) -> tuple[AlgebraicArithmetic, Value]:
        """An answer at the precision in force, and the arithmetic it was solved in."""
        bits = ctx.prec
        if bits not in self._solved:
            ar = AlgebraicArithmetic()
            solution = self.owner.solve(self._given, ar, self.owner.rule_set())
            self._solved[bits] = ar, solution.answers
        ar, answers = self._solved[bits]
        return ar, answers[name]


def proven_equal(
    solved: SolvedByAlgebra, system: UnitSystem, line: OutputLine, value: fmpq
) -> bool:
    """Whether the answer that ``line`` reads is proven to be ``value``, in the line's unit."""
    return equality(solved, system, line.view, line.dimension, line.unit, value) is True


def equality(
    solved: SolvedByAlgebra,
    system: UnitSystem,
    view: View,
    dimension: Dimension,
    unit: Unit | None,
    value: Exact,
    cap: int = ALGEBRAIC_CAP,
) -> bool | None:
    """Whether a view of an answer is ``value`` (in ``unit``): proven true, proven false.

    None where no proof is found (transcendental answers, angles of lines and in space). A
    difference that no separation bound can settle is not pursued: whoever asks has many equal
    digits already. One whose bound lies beyond ``cap`` bits neither.
    """
    kind = solved.owner.answers[view.answer].kind
    plane = _plane_angle(view, kind, value, unit)
    if dimension == ANGLE and plane is None:
        return None

    def difference(fresh: AlgebraicArithmetic) -> None:
        solver, answer = solved.answer(view.answer)
        ar = solver.apart()
        ar.decisions = fresh.decisions

        def seen(asked: View) -> Any:
            found = evaluate(asked, kind, answer, ar)
            if isinstance(found, NoAnswer | str):
                raise NotAlgebraic
            return found

        if plane is None:
            exact = value if unit is None else system.bring(value, unit)
            ar.sign(seen(view) - ar.bring(exact), "apart")
            return
        along, across = (
            seen(attrs.evolve(view, take="component", along=axis, start=None, toward=None))
            for axis in (view.start, view.toward)
        )
        cosine, sine = ar.cos_sin(plane)
        ar.sign(across * cosine - along * sine, "apart")
        ar.sign(across * cosine + along * sine, "mirrored")
        ar.sign(along * cosine + across * sine, "ahead")

    try:
        decisions = algebraic_decisions(difference, _START_BITS, cap, pursued=0)
    except (NotAlgebraic, Undecided):
        return None
    if plane is None:
        return decisions["apart"] == 0
    return _at_the_angle(decisions, view, plane.turns)


def _plane_angle(view: View, kind: Kind, value: Exact, unit: Unit | None) -> Turn | None:
    """The value as an angle of rational turns, where a vector's plane angle is asked."""
    if view.take != "angle" or unit is None:
        return None
    if not isinstance(inner_kind(view, kind), VectorKind | DirectionKind):
        return None
    angle = read_angle(value, unit)
    return angle if isinstance(angle, Turn) else None


def _at_the_angle(decisions: Mapping[str, int], view: View, turns: fmpq) -> bool:
    """From the decisions of :func:`equality`, whether the plane angle is that of ``turns``."""
    parallel = decisions["apart"] == 0
    if parallel and decisions["ahead"] == 0:
        return False  # the zero vector has no direction
    if view.range == "0..180":
        return parallel
    if view.range == "-90..90":
        return parallel and -_QUARTER < turns <= _QUARTER
    if view.range == "0..90":
        return (parallel or decisions["mirrored"] == 0) and 0 <= turns <= _QUARTER
    return parallel and decisions["ahead"] > 0
