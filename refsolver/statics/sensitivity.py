"""How much each answer moves with each given, and how many figures that justifies.

Derivatives come from one solve with balls that carry their derivatives
(:mod:`refsolver.arithmetic.derivative`), so each is enclosed. Two things can make such a
derivative meaningless: a family may work a new exact number out of a given before bringing
it, and the case may lie where the answer has a kink (a resultant that vanishes, a change
of the governing state). Both are found by moving all givens a little, along one fixed
direction, at guard precision: where the answer does not move as the derivatives say, there
is no sensitivity, and the reason is said.

The **condition number** of an answer is the factor by which relative changes of the givens
reach it at worst: sum over the givens of |x df/dx| / |f| (the componentwise one: N. J.
Higham, "Accuracy and Stability of Numerical Algorithms", 2nd ed., SIAM 2002, section 1.6
and chapter 7). It is undefined for an answer that is zero and for an angle, where only the
absolute sensitivities count. Givens that are zero have no relative change and add nothing,
and a given at which the answer jumps (the place of a load, for the shear just beside it)
cannot be counted: it is listed.

The **digits lost** by a reported value beyond what the problem costs are
P = log10(1 + |deviation| / (kappa eta |reference|)), eta = 2^-53 (M. G. Cox, M. P.
Dainton, P. M. Harris and others, NPL Report CISE 25/99, 1999).
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

import attrs
from flint import arb, ctx

from refsolver.arithmetic.detached import enclosure_of
from refsolver.arithmetic.enclosure import evaluate
from refsolver.arithmetic.exact import Exact, Radian, Turn
from refsolver.quantities.dimensions import ANGLE
from refsolver.quantities.rounding import leading_exponent
from refsolver.quantities.views import View, checked, dimension_of
from refsolver.statics.contract import Family
from refsolver.statics.trial_moves import Leaf, Moved, condition_of, how_answers_move, number_of

__all__ = ["DOUBLE", "Sensitivity", "digits_lost", "figures_justified", "sensitivities"]

DOUBLE = 2.0**-53
"""The relative rounding error of IEEE 754 binary64, round to nearest."""

_BITS = 96


@attrs.frozen
class Sensitivity:
    """One answer's derivatives, in coherent units, angles (given or asked) in radians.

    ``by_given`` has the path of each number among the givens and the derivative;
    ``without`` the paths for which there is none, and ``why`` the reason. ``condition``
    counts the givens at which the answer has a slope, at a kink the larger of two; None
    where it is undefined or no given has one.
    """

    view: View
    value: arb
    by_given: Mapping[str, arb] = attrs.field(factory=dict)
    effects: Mapping[str, float] = attrs.field(factory=dict)
    """What 1 % more of a number, or one degree more of an angle, does: in per cent of the
    answer; where the answer is an angle or zero, in degrees or coherent units."""
    condition: float | None = None
    without: tuple[str, ...] = ()
    why: str = ""


def sensitivities(
    family: Family, given: Any, views: Sequence[View], decisions: Mapping[str, int]
) -> dict[View, Sensitivity]:
    """The sensitivity of every view that is a number, by view.

    ``decisions`` are those of the proof (:class:`~refsolver.statics.reference.Reference`).
    The process's precision is restored. Raises ViewError for a view that does not fit.
    """
    asked = {view: checked(view, family.answers[view.answer].kind) for view in views}
    leaves, moved = how_answers_move(family, given, list(asked.items()), decisions, _BITS)
    saved = ctx.prec
    try:
        ctx.prec = _BITS
        return {
            one.asked: _settled(one, leaves, _is_angle(family, asked[one.asked])) for one in moved
        }
    finally:
        ctx.prec = saved


def _is_angle(family: Family, view: View) -> bool:
    return dimension_of(view, family.answers[view.answer].kind) == ANGLE


def digits_lost(relative: float | None, condition: float | None) -> float | None:
    """P for a relative deviation; None where the condition number is undefined."""
    if relative is None or condition is None or not math.isfinite(condition):
        return None
    by_rounding = max(condition, 1.0) * DOUBLE
    if relative > 1:  # the ratio itself may be beyond doubles
        return math.log10(relative + by_rounding) - math.log10(by_rounding)
    return math.log10(1 + relative / by_rounding)


def figures_justified(sensitivity: Sensitivity, half_units: Mapping[str, Exact]) -> int | None:
    """The significant figures that givens right to these half units justify.

    ``half_units`` gives, by path, half a unit of the last printed digit in coherent units
    (radians for an angle); a path that is missing is taken as exact. The answer may be
    wrong by the sum of |df/dx| times the half units at worst; that is at most half a unit
    of the last figure counted. None where nothing limits them or the answer is zero.
    """
    saved = ctx.prec
    try:
        ctx.prec = _BITS
        change = arb(0)
        for path, slope in sensitivity.by_given.items():
            if path in half_units:
                change += abs(slope) * evaluate(half_units[path])
        value = abs(sensitivity.value)
        if not value > 0 or not change > 0 or not change.is_finite():
            return None
        first = leading_exponent(enclosure_of(value).middle)
        places = arb(first + 1) - (change * 2).log() / arb(10).log()
        return max(0, math.floor(float(places.mid())))
    finally:
        ctx.prec = saved


def _settled(moved: Moved, leaves: Sequence[tuple[str, Leaf]], is_angle: bool) -> Sensitivity:
    rows = list(zip(leaves, moved.gradient, moved.effects, strict=True))
    by_given = {path: slope for (path, _), slope, effect in rows if effect.borne_out}
    without = tuple(path for (path, _), _, effect in rows if not effect.borne_out)
    why = "the answer has a kink, a jump or a limit here" if without else ""
    percent = {
        path: _effect(moved.value, slope, leaf, is_angle)
        for (path, leaf), slope, effect in rows
        if effect.borne_out
    }
    condition = None if is_angle else condition_of(moved, leaves)
    return Sensitivity(moved.asked, moved.value, by_given, percent, condition, without, why)


def _effect(value: arb, slope: arb, leaf: Leaf, is_angle: bool) -> float:
    turning = isinstance(leaf, Turn | Radian)
    change = slope * (arb.pi() / 180 if turning else number_of(leaf) / 100)
    if is_angle:
        change = change * 180 / arb.pi()
    elif value > 0 or value < 0:
        change = change / value * 100
    return float(change.mid())
