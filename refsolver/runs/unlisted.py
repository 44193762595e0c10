"""Errors that are no known mistake: what the diagnosis must leave unexplained.

Invented, each as a way of answering wrongly. Where one of them happens to be told from a
known mistake by no case of a family, the bars say so rather than count it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import Any

import attrs
from flint import fmpq

from refsolver.arithmetic.careful import CarefulArithmetic, known
from refsolver.arithmetic.contract import Number
from refsolver.arithmetic.exact import Angle, Exact, Turn, product
from refsolver.mistakes.replay import Replayed, replay, replay_in
from refsolver.quantities.dimensions import ANGLE, LENGTH, Dimension
from refsolver.quantities.leaves import ByAngle, Components, Polar
from refsolver.quantities.views import View, dimension_of
from refsolver.runs.natural import Answering
from refsolver.statics.contract import Family
from refsolver.statics.givens import fields, replaced, walk

__all__ = ["UNLISTED"]

_NUMBERS = ("quantity", "quantities", "vector")


def _on_answers(change: Callable[[float, Dimension], float]) -> Answering:
    def answering(owner: Family, given: Any, views: Sequence[View]) -> Replayed | None:
        right = replay(owner, given, views)
        if right is None:
            return None
        return {
            view: value
            if isinstance(value, str)
            else change(value, dimension_of(view, owner.answers[view.answer].kind))
            for view, value in right.items()
        }

    return answering


def _on_givens(change: Callable[[Any], Any]) -> Answering:
    def answering(owner: Family, given: Any, views: Sequence[View]) -> Replayed | None:
        try:
            wrong = change(given)
        except ValueError:  # givens that the family does not take
            return None
        return replay(owner, wrong, views)

    return answering


def _on_leaves(change: Callable[[Any, Any, int], Any]) -> Answering:
    """``change`` of leaf, what it is, and its row (0 where it is in no table)."""

    def changed(given: Any) -> Any:
        found = {}
        for path, leaf, field in walk(given):
            row = int(path.partition("[")[2].partition("]")[0] or 0)
            new = change(leaf, field, row)
            if new is not None:
                found[path] = new
        return replaced(given, found)

    return _on_givens(changed)


def _times(leaf: Any, factor: fmpq) -> Any:
    if isinstance(leaf, Polar):
        return attrs.evolve(leaf, magnitude=product(factor, leaf.magnitude))
    if isinstance(leaf, Components):
        return Components(tuple(product(factor, x) for x in leaf.along))
    if isinstance(leaf, tuple):
        return tuple(product(factor, x) for x in leaf)
    return product(factor, leaf)


def _rows_times(factor: fmpq, chosen: Callable[[int], bool]) -> Answering:
    return _on_leaves(
        lambda leaf, field, row: (
            _times(leaf, factor) if field.shape in _NUMBERS and chosen(row) else None
        )
    )


def _lengths_short(leaf: Any, field: Any, row: int) -> Any:
    if field.shape == "point" or (field.shape in _NUMBERS and field.dimension == LENGTH):
        return _times(leaf, fmpq(98, 100))
    return None


def _turned(angle: Angle) -> Angle:
    return Turn(angle.turns + fmpq(17, 3600)) if isinstance(angle, Turn) else angle


def _angles_off(leaf: Any, field: Any, row: int) -> Any:
    if field.shape == "angle":
        return _turned(leaf)
    direction = leaf.direction if isinstance(leaf, Polar) else leaf
    if not isinstance(direction, ByAngle):
        return None
    new = attrs.evolve(direction, angle=_turned(direction.angle))
    return attrs.evolve(leaf, direction=new) if isinstance(leaf, Polar) else new


def _one_row_off(given: Any) -> Any:
    """Every row reads the numbers of the row below it; the last those of the first."""
    changes = {}
    for name, field in fields(type(given)).items():
        rows = getattr(given, name)
        if field.shape != "many" or len(rows) < 2 or field.of is None:
            continue
        first = next((n for n, f in fields(field.of).items() if f.shape in _NUMBERS), None)
        if first is not None:
            moved = [getattr(row, first) for row in (*rows[1:], rows[0])]
            changes[name] = tuple(
                attrs.evolve(row, **{first: x}) for row, x in zip(rows, moved, strict=True)
            )
    return attrs.evolve(given, **changes) if changes else given


class _ShortSeries(CarefulArithmetic):
    """Sine and cosine by two terms of their series each."""

    def cos_sin(self, angle: Angle) -> tuple[Number, Number]:
        turn = math.remainder(float(self.radians(angle)), 2 * math.pi)
        return known(1 - turn * turn / 2), known(turn - turn**3 / 6)


class _RoughRoot(CarefulArithmetic):
    """The square root by four steps of Newton's rule from the number itself."""

    def sqrt(self, x: Number) -> Number:
        square = max(float(x), 0.0)
        found = max(square, 1.0)
        for _ in range(4):
            found = (found + square / found) / 2
        return known(found)


class _CutGivens(CarefulArithmetic):
    """Every given typed in is cut to two figures."""

    def bring(self, x: Exact) -> Number:
        return known(float(f"{float(super().bring(x)):.1e}"))


def _in(make: Callable[[], CarefulArithmetic]) -> Answering:
    return lambda owner, given, views: replay_in(owner, given, views, make)


def _not_angle(change: Callable[[float], float]) -> Answering:
    return _on_answers(lambda x, dimension: x if dimension == ANGLE else change(x))


UNLISTED: dict[str, Answering] = {
    "3 % added to every answer": _on_answers(lambda x, _: 1.03 * x),
    "a constant added to every answer": _on_answers(lambda x, _: x + 0.37),
    "a squared term in every answer": _not_angle(lambda x: x + 0.002 * x * abs(x)),
    "the power 1.02 of every answer": _not_angle(
        lambda x: math.copysign(abs(x) ** 1.02, x) if x else x
    ),
    "answers above 10 cut by a tenth": _not_angle(lambda x: 0.9 * x if abs(x) > 10 else x),
    "the square of small answers": _not_angle(lambda x: x * abs(x) if abs(x) < 50 else x),
    "angles stretched and shifted": _on_answers(
        lambda x, dimension: 0.9 * x + 0.05 if dimension == ANGLE else x
    ),
    "every given angle 1.7 degrees off": _on_leaves(_angles_off),
    "every length 2 % short": _on_leaves(_lengths_short),
    "half as much again in every third row": _rows_times(
        fmpq(3, 2), lambda row: row > 0 and row % 3 == 0
    ),
    "the first row a quarter too large": _rows_times(fmpq(5, 4), lambda row: row == 1),
    "the second row nought": _rows_times(fmpq(1, 1000), lambda row: row == 2),
    "numbers of the row below": _on_givens(_one_row_off),
    "single givens 2 % too large": _rows_times(fmpq(102, 100), lambda row: row == 0),
    "sine and cosine by two terms": _in(_ShortSeries),
    "a root not followed to its end": _in(_RoughRoot),
    "givens cut to two figures": _in(_CutGivens),
}
