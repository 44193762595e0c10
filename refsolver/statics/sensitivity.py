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
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import attrs
from flint import arb, ctx, fmpq

from refsolver.arithmetic.contract import Arithmetic, Undecided
from refsolver.arithmetic.derivative import DerivativeArithmetic, Dual
from refsolver.arithmetic.enclosure import EnclosureArithmetic, evaluate
from refsolver.arithmetic.exact import Angle, Constant, Exact, Radian, Slope, Turn, total
from refsolver.quantities.dimensions import ANGLE
from refsolver.quantities.kinds import NoAnswer
from refsolver.quantities.views import View, checked, dimension_of
from refsolver.quantities.views import evaluate as evaluate_view
from refsolver.statics.contract import Family
from refsolver.statics.givens import replaced, walk

__all__ = ["DOUBLE", "Sensitivity", "digits_lost", "figures_justified", "sensitivities"]

DOUBLE = 2.0**-53
"""The relative rounding error of IEEE 754 binary64, round to nearest."""

_BITS = 96
_GUARD_BITS = 300
_STEP_BITS = 110
"""The step of the trial move: its square is far below what is compared."""

_AGREE_BITS = 40

_JUMP = arb(2) ** 60
"""A slope beyond this, of answers moved by a step of 2^-110, is a jump and no slope."""

Leaf = Exact | Angle


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

    ``decisions`` are those of the proof (:class:`~refsolver.statics.prover.Reference`).
    The process's precision is restored. Raises ViewError for a view that does not fit.
    """
    fresh, leaves = _apart(given)
    asked = [(view, checked(view, family.answers[view.answer].kind)) for view in views]
    saved = ctx.prec
    try:
        ctx.prec = _BITS
        found, gradients = _differentiated(family, fresh, leaves, asked, decisions)
        if not found:
            return {}
        ctx.prec = _GUARD_BITS
        trial = _Trial(family, fresh, leaves, [view for _, view in found], decisions)
        moves = trial.together()
        settled = {}
        for n, ((ask, view), (value, gradient)) in enumerate(zip(found, gradients, strict=True)):
            if moves is not None and trial.bears_out(gradient, moves[n]):
                effects = [_Effect(True, abs(slope)) for slope in gradient]
            else:
                effects = trial.one_by_one(gradient, n)
            is_angle = dimension_of(view, family.answers[view.answer].kind) == ANGLE
            settled[ask] = _settled(ask, value, gradient, leaves, effects, is_angle)
        return settled
    finally:
        ctx.prec = saved


def digits_lost(relative: float | None, condition: float | None) -> float | None:
    """P for a relative deviation; None where the condition number is undefined."""
    if relative is None or condition is None or not math.isfinite(condition):
        return None
    return math.log10(1 + relative / (max(condition, 1.0) * DOUBLE))


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
        first = int((value.log() / arb(10).log()).floor().unique_fmpz() or 0)
        places = arb(first + 1) - (change * 2).log() / arb(10).log()
        return max(0, math.floor(float(places.mid())))
    finally:
        ctx.prec = saved


def _apart(given: Any) -> tuple[Any, list[tuple[str, Leaf]]]:
    """The givens with every number an object of its own, and those objects by path."""
    found: list[tuple[str, Leaf]] = []
    changes = {
        path: _renewed(leaf, path, found) for path, leaf, field in walk(given) if _holds(leaf)
    }
    return replaced(given, changes), found


def _holds(leaf: Any) -> bool:
    return isinstance(leaf, fmpq | Constant | Angle | tuple) or attrs.has(type(leaf))


def _renewed(leaf: Any, path: str, found: list[tuple[str, Leaf]]) -> Any:
    new = _copied(leaf)
    if new is not None:
        found.append((path, new))
        return new
    if isinstance(leaf, tuple):
        return tuple(
            _renewed(item, f"{path}.{letter}", found)
            for letter, item in zip("xyz", leaf, strict=False)
        )
    if attrs.has(type(leaf)):
        own = {
            f.name: _renewed(getattr(leaf, f.name), _step(path, f.name), found)
            for f in attrs.fields(type(leaf))
        }
        return attrs.evolve(leaf, **own)
    return leaf


def _step(path: str, name: str) -> str:
    # As a case file writes it: the angle and the components stand beside the magnitude.
    return path if name in ("direction", "along") else f"{path}.{name}"


def _copied(leaf: Any) -> Leaf | None:
    if isinstance(leaf, fmpq):
        return fmpq(leaf.p, leaf.q)
    if isinstance(leaf, Constant):
        return Constant(leaf.operation, leaf.args)
    if isinstance(leaf, Turn):
        return Turn(leaf.turns)
    return Radian(leaf.radians) if isinstance(leaf, Radian) else None


def _numbers(
    family: Family, given: Any, views: Sequence[View], ar: Arithmetic
) -> Iterator[Any | None]:
    """Each view's number (an angle in radians), None where there is none."""
    answers = family.solve(given, ar, family.rule_set()).answers
    for view in views:
        value = evaluate_view(view, family.answers[view.answer].kind, answers[view.answer], ar)
        yield None if isinstance(value, NoAnswer | str) else value


def _differentiated(
    family: Family,
    given: Any,
    leaves: Sequence[tuple[str, Leaf]],
    asked: Sequence[tuple[View, View]],
    decisions: Mapping[str, int],
) -> tuple[list[tuple[View, View]], list[tuple[arb, list[arb]]]]:
    ar = DerivativeArithmetic([leaf for _, leaf in leaves], decisions)
    try:
        values = list(_numbers(family, given, [view for _, view in asked], ar))
    except (ArithmeticError, ValueError):
        return [], []
    found, gradients = [], []
    for ask, value in zip(asked, values, strict=True):
        if value is not None:
            dual = value if isinstance(value, Dual) else Dual(arb(value), {})
            found.append(ask)
            gradients.append((dual.value, ar.derivatives(dual)))
    return found, gradients


@attrs.frozen
class _Effect:
    """Whether a derivative is the answer's, and the size of the answer's greatest slope.

    At a kink the larger of the slopes on its two sides; None where the answer jumps.
    """

    borne_out: bool
    slope: arb | None


class _Trial:
    """Moving the givens at guard precision, to see whether the derivatives are the answer's."""

    def __init__(
        self,
        family: Family,
        given: Any,
        leaves: Sequence[tuple[str, Leaf]],
        views: Sequence[View],
        decisions: Mapping[str, int],
    ) -> None:
        self.family, self.given, self.leaves, self.views = family, given, leaves, views
        self.decisions = decisions
        # A fixed direction in which no two givens move alike.
        self.weights = [
            fmpq(7 * n % 11 + 3, n % 5 + 2) * (-1) ** (n % 3) for n in range(len(leaves))
        ]
        self._here: list[Any] | None = None
        self._alone: dict[int, tuple[list[arb] | None, list[list[arb] | None]]] = {}

    def together(self) -> list[arb] | None:
        """How fast each view moves along the fixed direction; None where it cannot be told."""
        both = [self._values({n: w * e for n, w in enumerate(self.weights)}) for e in (1, -1)]
        return _central(both)

    def bears_out(self, gradient: Sequence[arb], move: arb) -> bool:
        expected, terms = arb(0), arb(0)
        for slope, (_, leaf), weight in zip(gradient, self.leaves, self.weights, strict=True):
            term = slope * _measure(leaf) * weight
            expected, terms = expected + term, terms + abs(term)
        return _agree(expected, move, terms)

    def one_by_one(self, gradient: Sequence[arb], view: int) -> list[_Effect]:
        """What each given does to a view when it is moved alone."""
        effects = []
        for n, (slope, (_, leaf)) in enumerate(zip(gradient, self.leaves, strict=True)):
            central, sides = self._moved_alone(n)
            measure = _measure(leaf)
            moves = [move[view] for move in sides if move is not None]
            seen = central[view] if central is not None else moves[0] if len(moves) == 1 else None
            if seen is not None and _agree(slope * measure, seen, abs(slope * measure)):
                effects.append(_Effect(True, abs(slope)))
            elif moves and all(abs(move) < _JUMP * (1 + abs(measure)) for move in moves):
                larger = max((abs(move) for move in moves), key=arb.mid)
                effects.append(_Effect(False, larger / measure))
            else:
                effects.append(_Effect(False, None))
        return effects

    def _moved_alone(self, n: int) -> tuple[list[arb] | None, list[list[arb] | None]]:
        """The central move, and where that is not enough, the moves from each side.

        A support at the very end of a beam can only move inward; where an answer has a
        kink, the central move is the mean of two.
        """
        if n not in self._alone:
            central = _central([self._values({n: fmpq(e)}) for e in (1, -1)])
            self._alone[n] = central, [self._one_sided(n, sense) for sense in (1, -1)]
        return self._alone[n]

    def _one_sided(self, n: int, sense: int) -> list[arb] | None:
        """The three-point formula of second order, from this side alone."""
        if self._here is None:
            self._here = self._values({})
        ends = [self._here, *(self._values({n: fmpq(sense * k)}) for k in (1, 2))]
        if any(end is None or None in end for end in ends):
            return None
        return [
            (4 * b - 3 * a - c) * sense * arb(2) ** (_STEP_BITS - 1)
            for a, b, c in zip(*(end for end in ends if end is not None), strict=True)
        ]

    def _values(self, shares: Mapping[int, fmpq]) -> list[Any] | None:
        """The views with some leaves moved by shares of a step; None where that cannot be."""
        step = fmpq(1, 2**_STEP_BITS)
        new = {
            id(self.leaves[n][1]): _shifted(self.leaves[n][1], step * w) for n, w in shares.items()
        }
        try:
            given = _with(self.given, new)
        except ValueError:  # beyond the end of the beam, say
            return None
        # A zero that only algebra proves stays undecided; one that the move ended does not.
        for ar in (EnclosureArithmetic(), EnclosureArithmetic(self.decisions)):
            try:
                return list(_numbers(self.family, given, self.views, ar))
            except Undecided:
                continue
            except (ArithmeticError, ValueError):
                break
        return None


def _central(ends: Sequence[list[Any] | None]) -> list[arb] | None:
    if any(end is None or None in end for end in ends):
        return None
    return [
        (a - b) * arb(2) ** (_STEP_BITS - 1)
        for a, b in zip(*(end for end in ends if end is not None), strict=True)
    ]


def _agree(expected: arb, move: arb, terms: arb) -> bool:
    if not expected.is_finite() or not move.is_finite():
        return False
    return bool(abs(expected - move).lower() <= terms.upper() / 2**_AGREE_BITS)


def _measure(leaf: Leaf) -> arb:
    """What a derivative per radian or unit is multiplied by for a step of the leaf's size."""
    return _size(leaf) * (2 * arb.pi() if isinstance(leaf, Turn) else arb(1))


def _size(leaf: Leaf) -> fmpq:
    """The move of a leaf per unit of weight: its own size, in its own measure."""
    number = leaf.turns if isinstance(leaf, Turn) else leaf
    if isinstance(number, fmpq) and number != 0:
        return abs(number)
    return fmpq(1, 8)


def _shifted(leaf: Leaf, share: fmpq) -> Leaf:
    step = _size(leaf) * share
    if isinstance(leaf, Turn):
        return Turn(leaf.turns + step)
    if isinstance(leaf, Radian):
        return Radian(total(leaf.radians, step))
    assert not isinstance(leaf, Slope)
    return total(leaf, step)


def _with(given: Any, new: Mapping[int, Leaf]) -> Any:
    def changed(leaf: Any) -> Any:
        if id(leaf) in new:
            return new[id(leaf)]
        if isinstance(leaf, tuple):
            return tuple(changed(item) for item in leaf)
        if attrs.has(type(leaf)) and not isinstance(leaf, Turn | Radian | Constant):
            own = {f.name: changed(getattr(leaf, f.name)) for f in attrs.fields(type(leaf))}
            return attrs.evolve(leaf, **own)
        return leaf

    return replaced(given, {path: changed(leaf) for path, leaf, _ in walk(given) if _holds(leaf)})


def _settled(
    ask: View,
    value: arb,
    gradient: Sequence[arb],
    leaves: Sequence[tuple[str, Leaf]],
    effects: Sequence[_Effect],
    is_angle: bool,
) -> Sensitivity:
    rows = list(zip(leaves, gradient, effects, strict=True))
    by_given = {path: slope for (path, _), slope, effect in rows if effect.borne_out}
    without = tuple(path for (path, _), _, effect in rows if not effect.borne_out)
    why = "the answer has a kink, a jump or a limit here" if without else ""
    terms = [abs(e.slope * _number(x)) for (_, x), _, e in rows if e.slope is not None]
    condition = None
    if terms and not is_angle and (value > 0 or value < 0):
        condition = float((sum(terms, arb(0)) / abs(value)).mid())
    percent = {
        path: _effect(value, slope, leaf, is_angle)
        for (path, leaf), slope, effect in rows
        if effect.borne_out
    }
    return Sensitivity(ask, value, by_given, percent, condition, without, why)


def _effect(value: arb, slope: arb, leaf: Leaf, is_angle: bool) -> float:
    turning = isinstance(leaf, Turn | Radian)
    change = slope * (arb.pi() / 180 if turning else _number(leaf) / 100)
    if is_angle:
        change = change * 180 / arb.pi()
    elif value > 0 or value < 0:
        change = change / value * 100
    return float(change.mid())


def _number(leaf: Leaf) -> arb:
    """A leaf's number: an angle in radians."""
    if isinstance(leaf, Turn):
        return 2 * arb.pi() * leaf.turns
    if isinstance(leaf, Radian):
        return evaluate(leaf.radians)
    assert not isinstance(leaf, Slope)
    return evaluate(leaf)
