"""Replaying a known mistake on a case: what somebody who makes it would report.

Mistaken answers are computed in double precision; they take their own branches. Whether a
case *reveals* a mistake is whether a calculator that makes it would fail there.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from refsolver.arithmetic.double import DoubleArithmetic
from refsolver.mistakes.arithmetics import CarefulArithmetic
from refsolver.quantities.kinds import NoAnswer, Value
from refsolver.quantities.views import View, ViewError, evaluate
from refsolver.statics.contract import Family, Mistake

__all__ = ["Replayed", "answers_of", "replay", "reported", "reveals"]

Replayed = Mapping[View, float | str]
"""What would be reported for each view; a refusal is its reason in brackets."""


def answers_of(
    family: Family, given: Any, mistake: Mistake | None = None
) -> tuple[Mapping[str, Value], DoubleArithmetic] | None:
    """The answers in double precision, with the mistake made; None where it does not apply.

    A mistaken solve that ends in a division by zero or the like does not apply either.
    """
    ar = CarefulArithmetic()
    try:
        if mistake is None:
            return family.solve(given, ar, family.rule_set()).answers, ar
        if mistake.givens is not None:
            changed = mistake.givens(given)
            if changed is None or changed == given:
                return None
            return family.solve(changed, ar, family.rule_set()).answers, ar
        if mistake.rules is not None:
            return family.solve(given, ar, family.rule_set(mistake.rules)).answers, ar
        assert mistake.answers is not None
        right = family.solve(given, ar, family.rule_set()).answers
        wrong = mistake.answers(given, right, ar)
        return None if wrong is None else (wrong, ar)
    except (ArithmeticError, ValueError, LookupError):
        return None


def reported(
    family: Family, views: Sequence[View], answers: Mapping[str, Value], ar: DoubleArithmetic
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
        else:
            # A number of an arithmetic that rounds must not round what is done with it here.
            found[view] = value if isinstance(value, str) else float(value)
    return found


def replay(
    family: Family, given: Any, views: Sequence[View], mistake: Mistake | None = None
) -> Replayed | None:
    """What would be reported for the views by somebody who makes the mistake."""
    solved = answers_of(family, given, mistake)
    return None if solved is None else reported(family, views, *solved)


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
