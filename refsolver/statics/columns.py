"""Givens of many cases put into columns, and answers proven for all of them at once."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

import attrs
from flint import arb, ctx, fmpq

from refsolver.arithmetic.columns import (
    Balls,
    ColumnArithmetic,
    Leaves,
    NotInColumns,
    Parted,
    subset,
)
from refsolver.quantities.dimensions import ANGLE, Dimension
from refsolver.quantities.kinds import Kind
from refsolver.quantities.views import View
from refsolver.quantities.views import evaluate as evaluate_view
from refsolver.statics.contract import Cases, Family
from refsolver.statics.question import bits_for, resolved

__all__ = ["prove_columns", "stacked"]

_RAISES = 3
"""How often the precision is raised before a case is left to be proven by itself."""


def stacked(givens: Sequence[tuple[int, Any]]) -> tuple[list[Cases], list[tuple[int, Any]]]:
    """Numbered givens in columns, those of one form together; and those in no column."""
    forms: dict[Any, list[tuple[int, Any, list[fmpq]]]] = {}
    for number, given in givens:
        leaves: list[fmpq] = []
        forms.setdefault(_form(given, leaves), []).append((number, given, leaves))
    found: list[Cases] = []
    alone: list[tuple[int, Any]] = []
    for members in forms.values():
        numbers = tuple(number for number, _, _ in members)
        try:
            columns = iter([Leaves.of(c) for c in zip(*(x for _, _, x in members), strict=True)])
            given = _filled(members[0][1], columns)
        except (NotInColumns, ValueError, TypeError, AttributeError):
            # Givens that look at their leaves when they are made cannot hold columns.
            alone += [(number, given) for number, given, _ in members]
            continue
        found.append(Cases(numbers, given))
    return found, alone


def _form(value: Any, leaves: list[fmpq]) -> Any:
    """All of the givens but their rational leaves, which are added to the list in order."""
    kind = type(value)
    if kind is fmpq:
        leaves.append(value)
        return fmpq  # not None, which is a leaf that is left out
    if kind is tuple:
        return tuple([_form(x, leaves) for x in value])
    if not attrs.has(kind):
        return value
    return (kind, *[_form(getattr(value, a.name), leaves) for a in attrs.fields(kind) if a.init])


def _filled(value: Any, columns: Iterator[Leaves | fmpq]) -> Any:
    """The givens with each rational leaf replaced by the next column."""
    kind = type(value)
    if kind is fmpq:
        return next(columns)
    if kind is tuple:
        return tuple([_filled(x, columns) for x in value])
    if not attrs.has(kind):
        return value
    fields = [a for a in attrs.fields(kind) if a.init]
    return kind(**{a.alias: _filled(getattr(value, a.name), columns) for a in fields})


def prove_columns(
    family: Family, cases: Cases, asks: Sequence[View], digits: int, spare: int = 0
) -> dict[View, list[arb | None]]:
    """For each ask the ball of each case, proven to ``digits`` relative digits.

    In coherent units, an angle in turns, as in :class:`~refsolver.statics.reference.Proven`.
    None where the case must be proven by itself: its answer is a word or a refusal, a
    decision is open, the precision does not suffice, or the family cannot be solved in
    columns. ``spare`` bits are worked with beyond those a well-conditioned case needs. The
    process's precision is restored whatever happens.
    """
    proof = _Proof(family, asks, digits, len(cases.numbers))
    saved = ctx.prec
    try:
        bits = proof.goal + 20 + spare
        proof.attempt(cases.given, list(range(len(cases.numbers))), bits, _RAISES)
    finally:
        ctx.prec = saved
    return proof.found


class _Proof:
    def __init__(self, family: Family, asks: Sequence[View], digits: int, count: int) -> None:
        self.family, self.rules = family, family.rule_set()
        self.asks = resolved(family, tuple(asks))
        self.goal = bits_for(digits)
        self.found: dict[View, list[arb | None]] = {ask: [None] * count for ask in asks}

    def attempt(self, given: Any, positions: list[int], bits: int, raises: int) -> None:
        """Solves the cases at ``positions``, whose givens ``given`` holds."""
        ctx.prec = bits
        try:
            answers = self.family.solve(given, ColumnArithmetic(), self.rules).answers
        except Parted as parted:
            for sign, part in parted.parts.items():
                if sign is not None:
                    self.attempt(subset(given, part), [positions[i] for i in part], bits, raises)
            return
        except Exception:  # each case meets it again by itself, and there it is told
            return
        poor: set[int] = set()
        for ask, view, dimension in self.asks:
            kind, value = self.family.answers[view.answer].kind, answers[view.answer]
            poor |= self._taken(ask, view, dimension, kind, value, list(range(len(positions))),
                                positions)  # fmt: skip
        if poor and raises:
            again = sorted(poor)
            self.attempt(
                subset(given, again), [positions[i] for i in again], bits * 3 // 2, raises - 1
            )

    def _taken(
        self, ask: View, view: View, dimension: Dimension, kind: Kind, value: Any,
        rows: list[int], positions: list[int],
    ) -> set[int]:  # fmt: skip
        """Notes what the view takes of an answer of some rows; those not narrow enough."""
        ar = ColumnArithmetic()
        try:
            number = evaluate_view(view, kind, value, ar)
        except Parted as parted:
            poor = set(parted.parts.get(None, ()))
            poor = {rows[i] for i in poor}
            for sign, part in parted.parts.items():
                if sign is not None:
                    some = [rows[i] for i in part]
                    inner = subset(value, part)
                    poor |= self._taken(ask, view, dimension, kind, inner, some, positions)
            return poor
        except Exception:  # as above
            return set()
        if dimension is ANGLE and isinstance(number, Balls | arb):
            number = number / (arb.pi() * 2)
        if isinstance(number, arb):
            number = Balls([number] * len(rows))
        if not isinstance(number, Balls):
            return set()
        poor = set()
        for row, ball in zip(rows, number.items, strict=True):
            if ball.rel_accuracy_bits() >= self.goal and ball.is_finite():
                self.found[ask][positions[row]] = ball
            else:
                poor.add(row)
        return poor
