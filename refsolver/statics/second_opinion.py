"""What must bear a proof out: residuals by the family's second method, mpmath, strict numbers.

Whoever of them disagrees turns every outcome into NotProven.
"""

from __future__ import annotations

from typing import Any

from flint import arb, ctx

from refsolver.arithmetic.contract import Undecided
from refsolver.arithmetic.detached import nearest_double
from refsolver.arithmetic.enclosure import EnclosureArithmetic
from refsolver.quantities.dimensions import Dimension
from refsolver.quantities.kinds import NoAnswer
from refsolver.statics.contract import Solution
from refsolver.statics.question import BEYOND, Question
from refsolver.statics.reference import NotProven, Outcome, Reference, Word

__all__ = ["ask_second_opinion", "be_strict", "check_residuals"]

_GUARD_DIGITS = 5

_TOO_WIDE = "is too wide to mean anything"

_FINER = (1, 3)
"""How many times the bits of the proof mpmath works with before it is taken to disagree."""

_WIDENED = 16
"""How many times the bits of the answers a residual may take to become narrow."""


def check_residuals(question: Question, solution: Solution, reference: Reference) -> None:
    """Whether every residual encloses zero and is narrow; leaves the precision of the proof."""
    fault = _residual_fault(question, solution, EnclosureArithmetic(reference.decisions))
    while fault.endswith(_TOO_WIDE) and ctx.prec < _WIDENED * reference.bits:
        # Terms that cancel in a residual need not cancel in an answer.
        ctx.prec *= 2
        try:
            ar = EnclosureArithmetic(reference.decisions)
            solution = question.solve(ar)
        except (Undecided, *BEYOND):
            break
        fault = _residual_fault(question, solution, EnclosureArithmetic(reference.decisions))
    ctx.prec = reference.bits
    reference.residuals = "close"
    if fault:
        _refuse(reference, fault, "residuals")


def _residual_fault(question: Question, solution: Solution, ar: Any) -> str:
    """What is wrong with the residuals of a solution; empty where all of them close."""
    try:
        residuals = question.family.check(question.given, solution.answers, ar)
        found = [(r.name, _ball(r.value), _ball(r.size)) for r in residuals]
    except Undecided as undecided:
        return f"a residual is not decided: {undecided}"
    narrow = arb(2) ** (10 - question.goal // 2)
    for name, value, size in found:
        if not value.contains(0):
            return f"{name} does not close"
        if not (value.is_zero() or value.rad() <= narrow * abs(size).upper()):
            return f"{name} {_TOO_WIDE}"
    return ""


def ask_second_opinion(question: Question, reference: Reference) -> None:
    """Again and more finely where it disagrees: it bounds no error, and what balls solve in
    whole fractions (a truss that is all but a mechanism) costs it digits."""
    reference.second_opinion = "agrees"
    faults: list[str] = []
    for times in _FINER:
        faults = _second_faults(question, reference, times * reference.bits + 32)
        if not faults:
            return
    for fault in faults:
        _refuse(reference, fault, "second_opinion")


def _second_faults(question: Question, reference: Reference, bits: int) -> list[str]:
    """Where mpmath, with so many bits, does not bear the outcomes out."""
    from refsolver.arithmetic.multiprecision import MultiprecisionArithmetic

    ar = MultiprecisionArithmetic(bits, reference.decisions)
    faults = []
    try:
        solution = question.solve(ar)
        for ask, view, dimension in question.asks:
            value = question.value(view, dimension, solution, ar)
            why = _disagreement(question, reference.outcomes[ask], value, dimension)
            if why:
                faults.append(f"{view.describe()}: {why}")
    except BEYOND as problem:
        faults.append(f"mpmath: {str(problem) or type(problem).__name__}")
    return faults


def be_strict(question: Question, solution: Solution, reference: Reference) -> None:
    """The solve and its residuals once more, with numbers that refuse to be misused."""
    from refsolver.arithmetic.strict import StrictArithmetic

    # It takes no exact result from elsewhere, so it may need more bits for the same signs.
    ctx.prec = 2 * reference.bits
    ar = StrictArithmetic(reference.decisions)
    try:
        own = question.solve(ar)
        for _, view, dimension in question.asks:
            question.value(view, dimension, own, ar)
        if callable(own.working):
            own.working()
        fault = _residual_fault(question, own, ar)
    except TypeError as misuse:
        _refuse(reference, f"not exact throughout: {misuse}", "second_opinion")
        return
    except Undecided as undecided:
        _refuse(reference, f"strictly solved it is {undecided}", "second_opinion")
        return
    reference.residuals = "close"
    if fault:  # perhaps only because of what the strict solve may not take exactly
        ctx.prec = reference.bits
        check_residuals(question, solution, reference)


def _disagreement(question: Question, outcome: Outcome, value: Any, dimension: Dimension) -> str:
    from refsolver.arithmetic.multiprecision import exact_ball, exact_value

    if isinstance(outcome, NotProven):
        return ""
    if isinstance(outcome, Word | NoAnswer):
        expected = outcome.word if isinstance(outcome, Word) else outcome.reason
        found = value.reason if isinstance(value, NoAnswer) else value
        return "" if found == expected else f"mpmath finds {found!s:.40}, not {expected}"
    if isinstance(value, str | NoAnswer):
        return f"mpmath finds {value}, not a number"
    ball, found = outcome.ball, exact_ball(value)
    if ball.overlaps(found):
        return ""
    share = arb(10) ** -(question.digits + _GUARD_DIGITS)
    for size in (abs(ball).upper, lambda: question.scale(dimension)):
        if (ball + arb(0, size() * share)).overlaps(found):
            return ""
    return f"mpmath finds {nearest_double(exact_value(value))!r}, outside the enclosure"


def _ball(x: Any) -> arb:
    """The ball of a number of either arithmetic of balls, or of a plain integer."""
    return x.ball if hasattr(x, "ball") else arb(x)


def _refuse(reference: Reference, why: str, seat: str) -> None:
    setattr(reference, seat, why)
    reference.outcomes = {ask: NotProven(why) for ask in reference.outcomes}
