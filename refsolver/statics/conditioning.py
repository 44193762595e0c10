"""The condition number of a whole case: that of its worst answer.

An answer's condition number is that of :mod:`refsolver.statics.sensitivity`. Of a case
count its natural views, and of a function of position its value in the middle of each
piece. Angles, zeros and words have none.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from typing import Any

from flint import arb, ctx

from refsolver.arithmetic.contract import Undecided
from refsolver.arithmetic.detached import exact_double
from refsolver.arithmetic.enclosure import EnclosureArithmetic
from refsolver.quantities.dimensions import ANGLE
from refsolver.quantities.kinds import FunctionKind, NoAnswer, Value
from refsolver.quantities.views import View, checked, dimension_of, natural_views
from refsolver.statics.contract import Family
from refsolver.statics.prover import prove
from refsolver.statics.trial_moves import condition_of, how_answers_move

__all__ = ["condition_number", "condition_numbers"]

_BITS = 160
"""Enough for condition numbers up to about 1e40."""


def condition_number(family: Family, given: Any) -> float | None:
    """The condition number of the worst answer; None where no answer has one."""
    return max(condition_numbers(family, given).values(), default=None)


def condition_numbers(family: Family, given: Any) -> dict[View, float]:
    """The condition number of every view that has one.

    The process's precision is restored. ArithmeticError or ValueError where the case cannot
    be solved.
    """
    saved = ctx.prec
    try:
        ctx.prec = _BITS
        answers, decisions = _solved(family, given)
        asked = []
        for view in _views(family, answers):
            kind = family.answers[view.answer].kind
            sure = checked(view, kind)
            if dimension_of(sure, kind) != ANGLE:
                asked.append((view, sure))
        leaves, moved = how_answers_move(family, given, asked, decisions, _BITS)
        found = {one.asked: condition_of(one, leaves) for one in moved}
    finally:
        ctx.prec = saved
    return {view: k for view, k in found.items() if k is not None and math.isfinite(k)}


def _solved(family: Family, given: Any) -> tuple[Mapping[str, Value], Mapping[str, int]]:
    ar = EnclosureArithmetic()
    try:
        return family.solve(given, ar, family.rule_set()).answers, ar.decisions
    except Undecided:  # a zero that only algebra proves
        decisions = prove(family, given, (), second_opinion=False, residuals=False).decisions
        ar = EnclosureArithmetic(decisions)
        return family.solve(given, ar, family.rule_set()).answers, decisions


def _views(family: Family, answers: Mapping[str, Value]) -> Iterator[View]:
    for name, answer in family.answers.items():
        value = answers.get(name)
        if value is None or isinstance(value, NoAnswer):
            continue
        if isinstance(answer.kind, FunctionKind):
            yield from _in_each_piece(name, value)
        else:
            yield from natural_views(name, answer.kind, value)


def _in_each_piece(name: str, value: Any) -> Iterator[View]:
    for piece in value:
        middle = (arb(piece.start) + arb(piece.end)) / 2
        yield View(name, "value", at=exact_double(float(middle.mid())))
