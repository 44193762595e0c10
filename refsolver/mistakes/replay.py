"""Replaying a known mistake on a case: what somebody who makes it would report.

Mistaken answers are computed in double precision; they take their own branches. Whether a
case *reveals* a mistake is whether a calculator that makes it would fail there.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from flint import arb

from refsolver.arithmetic.careful import CarefulArithmetic, at_double_precision
from refsolver.arithmetic.contract import Arithmetic
from refsolver.arithmetic.double import DoubleArithmetic
from refsolver.quantities.dimensions import ANGLE, Dimension
from refsolver.quantities.kinds import NoAnswer, Value
from refsolver.quantities.views import View, ViewError, dimension_of, evaluate
from refsolver.statics.contract import Family, Mistake

__all__ = ["Replayed", "answers_of", "replay", "replay_in", "reveals"]

Replayed = Mapping[View, float | str]
"""What would be reported for each view; a refusal is its reason in brackets.

Not a number where the outcome hangs on rounding, and every calculator gives another one.
"""

_KNOWN = 0.5
"""Radians, or share of a value, to which it must be known: beyond, it may be anything."""


def replay(
    family: Family, given: Any, views: Sequence[View], mistake: Mistake | None = None
) -> Replayed | None:
    """What would be reported for the views, by somebody who makes the mistake if one is given.

    None where it does not apply, and where all of it ends in a division by zero or the like.
    """
    with at_double_precision():
        ar = CarefulArithmetic()
        try:
            answers = _answers(family, given, ar, mistake)
        except (ArithmeticError, ValueError, LookupError):
            return None
        return None if answers is None else reported(family, views, answers, ar)


def _answers(
    family: Family, given: Any, ar: Arithmetic, mistake: Mistake | None
) -> Mapping[str, Value] | None:
    if mistake is None:
        return family.solve(given, ar, family.rule_set()).answers
    if mistake.givens is not None:
        changed = mistake.givens(given)
        if changed is None or changed == given:
            return None
        return family.solve(changed, ar, family.rule_set()).answers
    if mistake.rules is not None:
        return family.solve(given, ar, family.rule_set(mistake.rules)).answers
    assert mistake.answers is not None
    return mistake.answers(given, family.solve(given, ar, family.rule_set()).answers, ar)


def replay_in(
    family: Family, given: Any, views: Sequence[View], make: Callable[[], Arithmetic]
) -> Replayed | None:
    """What would be reported by somebody who computes in another arithmetic."""
    with at_double_precision():
        ar = make()
        try:
            answers = family.solve(given, ar, family.rule_set()).answers
        except (ArithmeticError, ValueError, LookupError):
            return None
        return reported(family, views, answers, ar)


def reported(
    family: Family, views: Sequence[View], answers: Mapping[str, Value], ar: Arithmetic
) -> dict[View, float | str]:
    """The views of some answers; one that cannot be taken is left out."""
    found: dict[View, float | str] = {}
    for view in views:
        kind = family.answers[view.answer].kind
        try:
            value = evaluate(view, kind, answers[view.answer], ar)
        except (ArithmeticError, ValueError, LookupError, ViewError):
            continue
        if isinstance(value, NoAnswer):
            found[view] = f"[{value.reason}]"
        elif isinstance(value, str):
            found[view] = value
        else:
            known = not isinstance(value, arb) or _is_known(value, dimension_of(view, kind))
            found[view] = float(value) if known else math.nan
    return found


def _is_known(value: arb, dimension: Dimension) -> bool:
    if dimension == ANGLE:
        return bool(value.rad() <= _KNOWN)
    # What is zero within rounding is known to be small.
    return bool(value.is_finite()) and bool(
        value.contains(0) or value.rad() <= _KNOWN * abs(value.mid())
    )


def answers_of(family: Family, given: Any) -> tuple[Mapping[str, Value], DoubleArithmetic] | None:
    """The answers as plain floats, decided with care; None where there are none at all."""
    with at_double_precision():
        careful = CarefulArithmetic()
        try:
            family.solve(given, careful, family.rule_set())
            plain = DoubleArithmetic(careful.decisions)
            return family.solve(given, plain, family.rule_set()).answers, plain
        except (ArithmeticError, ValueError, LookupError):
            return None


def reveals(right: Replayed, wrong: Replayed, share: float) -> bool:
    """Whether the mistake shows in any view by more than ``share`` of the right value."""
    for view, value in right.items():
        other = wrong.get(view)
        if other is None:
            continue
        if isinstance(value, str) or isinstance(other, str):
            if value != other:
                return True
        elif abs(other - value) > share * max(abs(value), 1e-9 * _largest(right)):
            return True
    return False


def _largest(values: Replayed) -> float:
    return max([abs(v) for v in values.values() if not isinstance(v, str)], default=1.0)
