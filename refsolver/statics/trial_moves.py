"""Moving the givens of a case: their derivatives, and whether these are the answers'.

A derivative of one solve (:mod:`refsolver.arithmetic.derivative`) counts only where the
answer, at guard precision, moves with the givens as the derivative says.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import attrs
from flint import arb, ctx, fmpq

from refsolver.arithmetic.contract import Arithmetic, Undecided
from refsolver.arithmetic.derivative import DerivativeArithmetic, Dual
from refsolver.arithmetic.enclosure import EnclosureArithmetic, evaluate
from refsolver.arithmetic.exact import Angle, Constant, Exact, Radian, Slope, Turn, total
from refsolver.quantities.kinds import NoAnswer
from refsolver.quantities.views import View
from refsolver.quantities.views import evaluate as evaluate_view
from refsolver.statics.contract import Family
from refsolver.statics.givens import replaced, walk

__all__ = ["Effect", "Leaf", "Moved", "condition_of", "how_answers_move", "number_of"]

_GUARD_BITS = 300
_STEP_BITS = 110
"""The step of the trial move: its square is far below what is compared."""

_AGREE_BITS = 40

_JUMP = arb(2) ** 60
"""A slope beyond this, of answers moved by a step of 2^-110, is a jump and no slope."""

_PRIME = 10007
"""Of which 5 is a primitive root."""

Leaf = Exact | Angle


@attrs.frozen
class Effect:
    """Whether a derivative is the answer's, and the size of the answer's greatest slope.

    At a kink the larger of the slopes on its two sides; None where the answer jumps.
    """

    borne_out: bool
    slope: arb | None


@attrs.frozen
class Moved:
    """One view that is a number: its value, and by given its derivative and its effect."""

    asked: View
    value: arb
    gradient: Sequence[arb]
    effects: Sequence[Effect]


def how_answers_move(
    family: Family,
    given: Any,
    asked: Sequence[tuple[View, View]],
    decisions: Mapping[str, int],
    bits: int,
) -> tuple[list[tuple[str, Leaf]], list[Moved]]:
    """Every number among the givens, by path, and how each view moves with them.

    ``asked`` pairs each view as asked with the checked one; views that are no number are
    left out. Derivatives are taken with balls of ``bits``. The process's precision is
    restored.
    """
    fresh, leaves = _apart(given)
    saved = ctx.prec
    try:
        ctx.prec = bits
        found, gradients = _differentiated(family, fresh, leaves, asked, decisions)
        if not found:
            return leaves, []
        ctx.prec = max(_GUARD_BITS, 2 * bits)
        trial = _Trial(family, fresh, leaves, [view for _, view in found], decisions)
        moves = trial.together()
        moved = []
        for n, ((ask, _), (value, gradient)) in enumerate(zip(found, gradients, strict=True)):
            if moves is not None and trial.bears_out(gradient, moves[n]):
                effects = [Effect(True, abs(slope)) for slope in gradient]
            else:
                effects = trial.one_by_one(gradient, n)
            moved.append(Moved(ask, value, gradient, effects))
        return leaves, moved
    finally:
        ctx.prec = saved


def condition_of(moved: Moved, leaves: Sequence[tuple[str, Leaf]]) -> float | None:
    """The componentwise condition number; None for zero, and where no given has a slope."""
    terms = [
        abs(effect.slope * number_of(leaf))
        for (_, leaf), effect in zip(leaves, moved.effects, strict=True)
        if effect.slope is not None
    ]
    if not terms or not (moved.value > 0 or moved.value < 0):
        return None
    return float((sum(terms, arb(0)) / abs(moved.value)).mid())


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
        # A fixed direction in which no two givens move alike: powers of a primitive root.
        self.weights = [
            (1 + fmpq(pow(5, n + 1, _PRIME), _PRIME)) * (-1) ** (n % 3) for n in range(len(leaves))
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

    def one_by_one(self, gradient: Sequence[arb], view: int) -> list[Effect]:
        """What each given does to a view when it is moved alone."""
        effects = []
        for n, (slope, (_, leaf)) in enumerate(zip(gradient, self.leaves, strict=True)):
            central, sides = self._moved_alone(n)
            measure = _measure(leaf)
            moves = [move[view] for move in sides if move is not None]
            seen = central[view] if central is not None else moves[0] if len(moves) == 1 else None
            if seen is not None and _agree(slope * measure, seen, abs(slope * measure)):
                effects.append(Effect(True, abs(slope)))
            elif moves and all(abs(move) < _JUMP * (1 + abs(measure)) for move in moves):
                larger = max((abs(move) for move in moves), key=arb.mid)
                effects.append(Effect(False, larger / measure))
            else:
                effects.append(Effect(False, None))
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


def number_of(leaf: Leaf) -> arb:
    """A leaf's number: an angle in radians."""
    if isinstance(leaf, Turn):
        return 2 * arb.pi() * leaf.turns
    if isinstance(leaf, Radian):
        return evaluate(leaf.radians)
    assert not isinstance(leaf, Slope)
    return evaluate(leaf)
