"""The prover: one function that turns givens into proven reference values.

:func:`prove` works at 3.33 N + 20 bits and raises the precision until every view asked is
done: N proven relative digits, or proven zero, or proven smaller than 10^-N of the scale
of the case. What a ball cannot decide (a zero) goes to the algebraic arithmetic once; its
decisions are replayed by name. Then the family's residuals are evaluated by its second
method, and the whole solve is repeated by mpmath, which may not disagree.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from flint import arb, ctx

from refsolver.arithmetic.contract import Arithmetic, GivenUp, NotAlgebraic, Number, Undecided
from refsolver.arithmetic.detached import can_be_written
from refsolver.arithmetic.enclosure import EnclosureArithmetic
from refsolver.quantities.dimensions import Dimension
from refsolver.quantities.kinds import NoAnswer
from refsolver.quantities.views import View, natural_views
from refsolver.statics.contract import Family, Solution
from refsolver.statics.question import BEYOND, Question
from refsolver.statics.reference import NotProven, Outcome, Proven, Reference, Word
from refsolver.statics.second_opinion import ask_second_opinion, be_strict, check_residuals

__all__ = ["ALGEBRAIC_CAP", "BALL_CAP", "asks_of", "keys_of_tables", "prove"]

BALL_CAP = 20_000
"""Bits beyond which a ball is not widened further."""

ALGEBRAIC_CAP = 400_000
"""Bits beyond which a zero is not pursued."""

_BEYOND_WRITING = "the number has more digits than can be written down"


def asks_of(family: Family, given: Any) -> list[View]:
    """The natural views of every answer, for when nobody asked for particular ones.

    Keys of tables are only known after a solve, so this solves once at low precision.
    """
    proof = _Proof(Question(family, given, (), 10, family.rule_set()))
    proof.run(second_opinion=False, residuals=False)
    answers = proof.solution.answers
    return [
        view
        for name, answer in family.answers.items()
        if name in answers
        for view in natural_views(name, answer.kind, answers[name])
    ]


def keys_of_tables(family: Family, given: Any) -> dict[str, list[str]]:
    """The keys of each table of answers for these givens, in order; none of a refused one."""
    proof = _Proof(Question(family, given, (), 10, family.rule_set()))
    proof.run(second_opinion=False, residuals=False)
    return {
        name: [str(key) for key in table]
        for name, table in proof.solution.answers.items()
        if isinstance(table, Mapping)
    }


def prove(
    family: Family,
    given: Any,
    asks: Sequence[View],
    *,
    digits: int = 30,
    second_opinion: bool = True,
    residuals: bool = True,
    strict: bool = False,
    rules: Mapping[str, Any] | None = None,
) -> Reference:
    """Proven values of the asked views.

    The outcome of every ask is a :class:`.Proven` number (coherent units, angles in
    turns), a :class:`.Word`, a :class:`~refsolver.quantities.kinds.NoAnswer` or
    :class:`.NotProven`. ``strict`` repeats the solve with numbers that refuse floats,
    comparisons and the like, and takes the residuals from there. Raises ViewError for a view
    that does not fit the family. The process's precision is restored whatever happens.
    """
    return _Proof(Question(family, given, asks, digits, family.rule_set(rules))).run(
        second_opinion, residuals, strict
    )


class _Proof:
    def __init__(self, question: Question) -> None:
        self.question = question
        self.replay: dict[str, int] = {}
        self.zeros: tuple[str, ...] = ()
        self.stubborn: set[View] = set()
        self.asked_algebra = False
        self.solution = Solution({})

    def run(self, second_opinion: bool, residuals: bool, strict: bool = False) -> Reference:
        bits = self.question.goal + 20
        saved = ctx.prec
        try:
            while True:
                ctx.prec = bits
                try:
                    reference = self._attempt(bits)
                except BEYOND as problem:
                    return self._given_up(bits, problem)
                if reference is not None:
                    break
                bits = bits * 3 // 2
            if not self.solution.answers:  # undecided throughout: there is nothing to check
                return reference
            if residuals and not strict:
                check_residuals(self.question, self.solution, reference)
            if second_opinion:
                ask_second_opinion(self.question, reference)
            if strict:
                be_strict(self.question, self.solution, reference)
            return reference
        finally:
            ctx.prec = saved

    def _given_up(self, bits: int, problem: BaseException) -> Reference:
        """Nothing proven, where the givens are beyond what the solve can be carried out for."""
        why = f"the solve cannot be carried out ({type(problem).__name__}: {problem})"
        outcomes: dict[View, Outcome] = {ask: NotProven(why) for ask, _, _ in self.question.asks}
        return Reference(self.question.digits, bits, outcomes, {}, self.zeros, (), stopped=why)

    def _attempt(self, bits: int) -> Reference | None:
        """One run with balls; None asks for more precision."""
        ar = EnclosureArithmetic(self.replay)
        outcomes: dict[View, Outcome] = {}
        solution = Solution({})
        unfinished: list[tuple[View, str]] = []
        try:
            solution = self.question.solve(ar)
            for ask, view, dimension in self.question.asks:
                value = self.question.value(view, dimension, solution, ar)
                if type(value) is arb and value.rel_accuracy_bits() >= self.question.goal:
                    proven = Proven(value, "zero" if value.is_zero() else "digits")
                    outcomes[ask] = proven if can_be_written(value) else NotProven(_BEYOND_WRITING)
                    continue
                outcome = self._judge(ask, view, dimension, value)
                if outcome is None:
                    unfinished.append((ask, "the enclosure does not become narrow enough"))
                else:
                    outcomes[ask] = outcome
        except Undecided as undecided:
            unfinished = [(ask, str(undecided)) for ask, _, _ in self.question.asks]
            if not isinstance(undecided, GivenUp):
                if not self.asked_algebra:
                    self._ask_algebra(bits, None)
                    return None
                if bits < BALL_CAP:
                    return None
            outcomes = {ask: NotProven(why) for ask, why in unfinished}
            return Reference(
                self.question.digits, bits, outcomes, ar.decisions, self.zeros, (),
                stopped=str(undecided),
            )  # fmt: skip
        if unfinished and bits < BALL_CAP:
            new = {ask for ask, _ in unfinished} - self.stubborn
            if new:
                self.stubborn |= new
                self._ask_algebra(bits, new)
            return None
        if unfinished:
            outcomes.update({ask: NotProven(why) for ask, why in unfinished})
            outcomes = {ask: outcomes[ask] for ask, _, _ in self.question.asks}
        reference = Reference(
            self.question.digits, bits, outcomes, ar.decisions, self.zeros, solution.working
        )
        self.solution = solution
        return reference

    def _judge(self, ask: View, view: View, dimension: Dimension, value: Any) -> Outcome | None:
        if isinstance(value, NoAnswer):
            return value
        if isinstance(value, str):
            return Word(value)
        if value.is_zero() or self.replay.get(_name(view)) == 0:
            return Proven(arb(0), "zero")
        if ask in self.stubborn and value.is_finite():
            threshold = self.question.scale(dimension) / arb(10) ** self.question.digits
            if abs(value) < threshold:
                return Proven(value, "below scale")
        return None

    def _ask_algebra(self, bits: int, views: set[View] | None) -> None:
        """Replays what the algebraic arithmetic proves; gives up quietly where it cannot."""
        from refsolver.arithmetic.algebraic import AlgebraicArithmetic, algebraic_decisions

        self.asked_algebra = self.asked_algebra or views is None

        last: list[AlgebraicArithmetic] = []

        def run(ar: AlgebraicArithmetic) -> None:
            last[:] = [ar]
            solution = self.question.solve(ar)
            for ask, view, dimension in self.question.asks:
                value = self.question.value(view, dimension, solution, ar)
                if views is not None and ask in views and not isinstance(value, str | NoAnswer):
                    _sign_if_algebraic(ar, value, _name(view))

        try:
            proven = algebraic_decisions(run, bits, ALGEBRAIC_CAP)
        except (Undecided, NotAlgebraic):
            # What it did decide on the way is proven all the same.
            proven = last[0].decisions
        self.replay = {**self.replay, **proven}
        self.zeros = tuple(sorted(name for name, sign in self.replay.items() if sign == 0))


def _name(view: View) -> str:
    return f"value of {view.describe()}"


def _sign_if_algebraic(ar: Arithmetic, value: Number, name: str) -> None:
    try:
        ar.sign(value, name)
    except NotAlgebraic:
        return
