"""The prover: one function that turns givens into proven reference values.

:func:`prove` works at 3.33 N + 20 bits and raises the precision until every view asked is
done: N proven relative digits, or proven zero, or proven smaller than 10^-N of the scale
of the case. What a ball cannot decide (a zero) goes to the algebraic arithmetic once; its
decisions are replayed by name. Then the family's residuals are evaluated by its second
method, and the whole solve is repeated by mpmath, which may not disagree.

What a proof here means: the enclosure contains the solution of the equations that the
family states. That these equations are the right ones rests on published answers and on
the family's second method.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import lru_cache
from types import SimpleNamespace
from typing import Any, TypeAlias

import attrs
from flint import arb, ctx, fmpq

from refsolver.arithmetic.contract import (
    Arithmetic,
    NotAlgebraic,
    Number,
    Undecided,
)
from refsolver.arithmetic.detached import Enclosure, can_be_written, enclosure_of, nearest_double
from refsolver.arithmetic.enclosure import EnclosureArithmetic, evaluate
from refsolver.arithmetic.exact import Constant
from refsolver.quantities.dimensions import ANGLE, Dimension
from refsolver.quantities.kinds import NoAnswer
from refsolver.quantities.views import View, checked, dimension_of, natural_views
from refsolver.quantities.views import evaluate as evaluate_view
from refsolver.statics.contract import Family, Row, Sheet, Solution
from refsolver.statics.givens import walk

__all__ = [
    "ALGEBRAIC_CAP",
    "BALL_CAP",
    "NotProven",
    "Outcome",
    "Proven",
    "Reference",
    "Word",
    "asks_of",
    "bits_for",
    "keys_of_tables",
    "prove",
    "resolved",
    "scale_of",
]

BALL_CAP = 20_000
"""Bits beyond which a ball is not widened further."""

ALGEBRAIC_CAP = 400_000
"""Bits beyond which a zero is not pursued."""

_GUARD_DIGITS = 5

_BEYOND_WRITING = "the number has more digits than can be written down"


def bits_for(digits: int) -> int:
    """The relative accuracy in bits that so many proven decimal digits take."""
    return digits * 3322 // 1000 + 1


@attrs.define
class Proven:
    """A number proven to lie in :attr:`enclosure`, in coherent units; an angle in turns.

    ``how`` is ``digits`` (at least the digits asked are proven), ``zero`` (proven to be
    zero) or ``below scale`` (proven smaller than 10^-N of the scale of the case).
    """

    ball: arb
    how: str
    _enclosure: Enclosure | None = attrs.field(default=None, eq=False, repr=False)

    @property
    def enclosure(self) -> Enclosure:
        if self._enclosure is None:
            self._enclosure = enclosure_of(self.ball)
        return self._enclosure

    @property
    def digits(self) -> int:
        """Proven relative decimal digits: 0 where not told from zero, 1000 where exact."""
        return min(1000, max(0, int(self.ball.rel_accuracy_bits() * 30103 // 100_000)))

    def __reduce__(self) -> tuple[Any, ...]:
        return _attached, (self.enclosure, self.how)


def _attached(enclosure: Enclosure, how: str) -> Proven:
    bits = max(
        64, int(abs(enclosure.middle.q)).bit_length() + int(abs(enclosure.middle.p)).bit_length()
    )
    with ctx.workprec(bits + 64):
        ball = arb(enclosure.middle, arb((enclosure.upper - enclosure.lower) / 2))
    return Proven(ball, how, enclosure)


@attrs.frozen
class Word:
    """A word chosen by proven decisions."""

    word: str


@attrs.frozen
class NotProven:
    """The prover gave up; ``why`` names the decision or the width reached."""

    why: str


Outcome: TypeAlias = Proven | Word | NoAnswer | NotProven


@attrs.define
class Reference:
    """Everything proven about one case.

    ``zeros`` names the decisions that only the algebraic arithmetic could take.
    ``second_opinion`` and ``residuals`` are "agrees" / "close", "not asked", or say what
    is wrong; anything but agreement turns every outcome into NotProven.
    """

    digits: int
    bits: int
    outcomes: dict[View, Outcome]
    decisions: dict[str, int]
    zeros: tuple[str, ...]
    working: tuple[Sheet, ...] | Callable[[], tuple[Sheet, ...]]
    residuals: str = "not asked"
    second_opinion: str = "not asked"
    stopped: str = ""
    """Why the solve could not be carried through, so that there are no answers at all."""

    def sheets(self) -> list[Sheet]:
        """The working with detached enclosures in its cells; angles still in radians."""
        with ctx.workprec(self.bits):
            working = self.working() if callable(self.working) else self.working
        return [
            attrs.evolve(
                sheet,
                rows=tuple(
                    Row(row.label, tuple(_detached(cell) for cell in row.cells))
                    for row in sheet.rows
                ),
            )
            for sheet in working
        ]

    def __getstate__(self) -> dict[str, Any]:
        state = {a.name: getattr(self, a.name) for a in attrs.fields(type(self))}
        state["working"] = tuple(self.sheets())
        return state

    def __setstate__(self, state: dict[str, Any]) -> None:
        for name, value in state.items():
            setattr(self, name, value)


def _detached(cell: Any) -> Any:
    if not isinstance(cell, arb):
        return cell
    try:
        return enclosure_of(cell)
    except ValueError:
        return "no number that can be written down"


def scale_of(given: Any, dimension: Dimension) -> arb:
    """The size of a typical quantity of this dimension in the case, never zero.

    Products of the largest force and the largest length among the leaves; 1 where there
    is none. It only sets the threshold below which a value counts as vanishing.
    """
    length, forces = arb(0), []
    for _, leaf, field in walk(given):
        if field.shape == "point":
            sizes = [abs(evaluate(x)) for x in leaf]
        elif isinstance(leaf, fmpq | Constant):
            sizes = [abs(evaluate(leaf))]
        else:
            magnitude = getattr(leaf, "magnitude", None)
            parts = getattr(leaf, "along", ()) if magnitude is None else (magnitude,)
            sizes = [abs(evaluate(x)) for x in parts if isinstance(x, fmpq | Constant)]
        if field.shape == "point" or (
            field.dimension and field.dimension.force == 0 and field.dimension.length == 1
        ):
            length = max([length, *sizes], key=lambda x: x.mid())
        elif field.dimension is not None and field.dimension.force == 1:
            forces += [(size, field.dimension.length) for size in sizes]
    length = length if length > 0 else arb(1)
    force = max((s / length**n for s, n in forces), key=lambda x: x.mid(), default=arb(1))
    force = force if force > 0 else arb(1)
    return force**dimension.force * length**dimension.length


def asks_of(family: Family, given: Any) -> list[View]:
    """The natural views of every answer, for when nobody asked for particular ones.

    Keys of tables are only known after a solve, so this solves once at low precision.
    """
    proof = _Proof(family, given, (), 10, family.rule_set())
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
    proof = _Proof(family, given, (), 10, family.rule_set())
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

    The outcome of every ask is a :class:`Proven` number (coherent units, angles in
    turns), a :class:`Word`, a :class:`~refsolver.quantities.kinds.NoAnswer` or
    :class:`NotProven`. ``strict`` repeats the solve with numbers that refuse floats,
    comparisons and the like, and takes the residuals from there. Raises ViewError for a view
    that does not fit the family. The process's precision is restored whatever happens.
    """
    return _Proof(family, given, asks, digits, family.rule_set(rules)).run(
        second_opinion, residuals, strict
    )


_NO_NUMBER = (str, NoAnswer)

_TOO_WIDE = "is too wide to mean anything"

_FINER = (1, 3)
"""How many times the bits of the proof mpmath works with before it is taken to disagree."""

_WIDENED = 16
"""How many times the bits of the answers a residual may take to become narrow."""

_BEYOND = (ArithmeticError, ValueError, RecursionError, MemoryError)
"""What givens far out of proportion end in: a power of 1e20, a root that is negative."""


class _Proof:
    def __init__(
        self, family: Family, given: Any, asks: Sequence[View], digits: int, rules: SimpleNamespace
    ) -> None:
        self.family, self.given, self.digits, self.rules = family, given, digits, rules
        self.asks = resolved(family, tuple(asks))
        self.replay: dict[str, int] = {}
        self.zeros: tuple[str, ...] = ()
        self.stubborn: set[View] = set()
        self.scales: dict[Dimension, arb] = {}
        self.asked_algebra = False
        self.solution = Solution({})
        self.goal = bits_for(digits)

    def run(self, second_opinion: bool, residuals: bool, strict: bool = False) -> Reference:
        bits = self.goal + 20
        saved = ctx.prec
        try:
            while True:
                ctx.prec = bits
                try:
                    reference = self._attempt(bits)
                except _BEYOND as problem:
                    return self._given_up(bits, problem)
                if reference is not None:
                    break
                bits = bits * 3 // 2
            if not self.solution.answers:  # undecided throughout: there is nothing to check
                return reference
            if residuals and not strict:
                self._check_residuals(reference)
            if second_opinion:
                self._ask_second_opinion(reference)
            if strict:
                self._be_strict(reference)
            return reference
        finally:
            ctx.prec = saved

    def _given_up(self, bits: int, problem: BaseException) -> Reference:
        """Nothing proven, where the givens are beyond what the solve can be carried out for."""
        why = f"the solve cannot be carried out ({type(problem).__name__}: {problem})"
        outcomes: dict[View, Outcome] = {ask: NotProven(why) for ask, _, _ in self.asks}
        return Reference(self.digits, bits, outcomes, {}, self.zeros, (), stopped=why)

    def _attempt(self, bits: int) -> Reference | None:
        """One run with balls; None asks for more precision."""
        ar = EnclosureArithmetic(self.replay)
        outcomes: dict[View, Outcome] = {}
        solution = Solution({})
        unfinished: list[tuple[View, str]] = []
        try:
            solution = self.family.solve(self.given, ar, self.rules)
            for ask, view, dimension in self.asks:
                value = self._value(view, dimension, solution, ar)
                if type(value) is arb and value.rel_accuracy_bits() >= self.goal:
                    proven = Proven(value, "zero" if value.is_zero() else "digits")
                    outcomes[ask] = proven if can_be_written(value) else NotProven(_BEYOND_WRITING)
                    continue
                outcome = self._judge(ask, view, dimension, value)
                if outcome is None:
                    unfinished.append((ask, "the enclosure does not become narrow enough"))
                else:
                    outcomes[ask] = outcome
        except Undecided as undecided:
            unfinished = [(ask, str(undecided)) for ask, _, _ in self.asks]
            if not self.asked_algebra:
                self._ask_algebra(bits, None)
                return None
            if bits >= BALL_CAP:
                outcomes = {ask: NotProven(why) for ask, why in unfinished}
                return Reference(
                    self.digits, bits, outcomes, ar.decisions, self.zeros, (),
                    stopped=str(undecided),
                )  # fmt: skip
            return None
        if unfinished and bits < BALL_CAP:
            new = {ask for ask, _ in unfinished} - self.stubborn
            if new:
                self.stubborn |= new
                self._ask_algebra(bits, new)
            return None
        if unfinished:
            outcomes.update({ask: NotProven(why) for ask, why in unfinished})
            outcomes = {ask: outcomes[ask] for ask, _, _ in self.asks}
        reference = Reference(
            self.digits, bits, outcomes, ar.decisions, self.zeros, solution.working
        )
        self.solution = solution
        return reference

    def _scale(self, dimension: Dimension) -> arb:
        """The scale of the case; walked for once a dimension."""
        if dimension not in self.scales:
            self.scales[dimension] = scale_of(self.given, dimension)
        return self.scales[dimension]

    def _value(
        self, view: View, dimension: Dimension, solution: Solution, ar: Arithmetic
    ) -> Number | str | NoAnswer:
        kind = self.family.answers[view.answer].kind
        value = evaluate_view(view, kind, solution.answers[view.answer], ar)
        if dimension is ANGLE and not isinstance(value, _NO_NUMBER):
            return value / (ar.pi() * 2)
        return value

    def _judge(self, ask: View, view: View, dimension: Dimension, value: Any) -> Outcome | None:
        if isinstance(value, NoAnswer):
            return value
        if isinstance(value, str):
            return Word(value)
        if value.is_zero() or self.replay.get(_name(view)) == 0:
            return Proven(arb(0), "zero")
        if ask in self.stubborn and value.is_finite():
            threshold = self._scale(dimension) / arb(10) ** self.digits
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
            solution = self.family.solve(self.given, ar, self.rules)
            for ask, view, dimension in self.asks:
                value = self._value(view, dimension, solution, ar)
                if views is not None and ask in views and not isinstance(value, str | NoAnswer):
                    _sign_if_algebraic(ar, value, _name(view))

        try:
            proven = algebraic_decisions(run, bits, ALGEBRAIC_CAP)
        except (Undecided, NotAlgebraic):
            # What it did decide on the way is proven all the same.
            proven = last[0].decisions
        self.replay = {**self.replay, **proven}
        self.zeros = tuple(sorted(name for name, sign in self.replay.items() if sign == 0))

    def _check_residuals(self, reference: Reference) -> None:
        solution = self.solution
        fault = self._residual_fault(solution, EnclosureArithmetic(reference.decisions))
        while fault.endswith(_TOO_WIDE) and ctx.prec < _WIDENED * reference.bits:
            # Terms that cancel in a residual need not cancel in an answer.
            ctx.prec *= 2
            try:
                ar = EnclosureArithmetic(reference.decisions)
                solution = self.family.solve(self.given, ar, self.rules)
            except (Undecided, *_BEYOND):
                break
            fault = self._residual_fault(solution, EnclosureArithmetic(reference.decisions))
        ctx.prec = reference.bits
        reference.residuals = "close"
        if fault:
            _refuse(reference, fault, "residuals")

    def _residual_fault(self, solution: Solution, ar: Any) -> str:
        """What is wrong with the residuals of a solution; empty where all of them close."""
        try:
            residuals = self.family.check(self.given, solution.answers, ar)
            found = [(r.name, _ball(r.value), _ball(r.size)) for r in residuals]
        except Undecided as undecided:
            return f"a residual is not decided: {undecided}"
        narrow = arb(2) ** (10 - self.goal // 2)
        for name, value, size in found:
            if not value.contains(0):
                return f"{name} does not close"
            if not (value.is_zero() or value.rad() <= narrow * abs(size).upper()):
                return f"{name} {_TOO_WIDE}"
        return ""

    def _ask_second_opinion(self, reference: Reference) -> None:
        """Again and more finely where it disagrees: it bounds no error, and what balls solve in
        whole fractions (a truss that is all but a mechanism) costs it digits."""
        reference.second_opinion = "agrees"
        faults: list[str] = []
        for times in _FINER:
            faults = self._second_faults(reference, times * reference.bits + 32)
            if not faults:
                return
        for fault in faults:
            _refuse(reference, fault, "second_opinion")

    def _second_faults(self, reference: Reference, bits: int) -> list[str]:
        """Where mpmath, with so many bits, does not bear the outcomes out."""
        from refsolver.arithmetic.multiprecision import MultiprecisionArithmetic

        ar = MultiprecisionArithmetic(bits, reference.decisions)
        faults = []
        try:
            solution = self.family.solve(self.given, ar, self.rules)
            for ask, view, dimension in self.asks:
                value = self._value(view, dimension, solution, ar)
                why = self._disagreement(reference.outcomes[ask], value, dimension)
                if why:
                    faults.append(f"{view.describe()}: {why}")
        except _BEYOND as problem:
            faults.append(f"mpmath: {str(problem) or type(problem).__name__}")
        return faults

    def _be_strict(self, reference: Reference) -> None:
        """The solve and its residuals once more, with numbers that refuse to be misused."""
        from refsolver.arithmetic.strict import StrictArithmetic

        # It takes no exact result from elsewhere, so it may need more bits for the same signs.
        ctx.prec = 2 * reference.bits
        ar = StrictArithmetic(reference.decisions)
        try:
            solution = self.family.solve(self.given, ar, self.rules)
            for _, view, dimension in self.asks:
                self._value(view, dimension, solution, ar)
            if callable(solution.working):
                solution.working()
            fault = self._residual_fault(solution, ar)
        except TypeError as misuse:
            _refuse(reference, f"not exact throughout: {misuse}", "second_opinion")
            return
        reference.residuals = "close"
        if fault:  # perhaps only because of what the strict solve may not take exactly
            ctx.prec = reference.bits
            self._check_residuals(reference)

    def _disagreement(self, outcome: Outcome, value: Any, dimension: Dimension) -> str:
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
        share = arb(10) ** -(self.digits + _GUARD_DIGITS)
        for size in (abs(ball).upper, lambda: self._scale(dimension)):
            if (ball + arb(0, size() * share)).overlaps(found):
                return ""
        return f"mpmath finds {nearest_double(exact_value(value))!r}, outside the enclosure"


@lru_cache(maxsize=4096)
def resolved(family: Family, asks: tuple[View, ...]) -> tuple[tuple[View, View, Dimension], ...]:
    """Every ask with its defaults filled in and its dimension; once for the same asks."""
    return tuple((ask, *_resolved(family, ask)) for ask in asks)


def _resolved(family: Family, ask: View) -> tuple[View, Dimension]:
    from refsolver.quantities.views import ViewError

    if ask.answer not in family.answers:
        known = ", ".join(family.answers)
        raise ViewError(f"{family.name} has no answer {ask.answer!r}; it has {known}")
    kind = family.answers[ask.answer].kind
    view = checked(ask, kind)
    dimension = dimension_of(view, kind)
    return view, ANGLE if dimension == ANGLE else dimension


def _ball(x: Any) -> arb:
    """The ball of a number of either arithmetic of balls, or of a plain integer."""
    return x.ball if hasattr(x, "ball") else arb(x)


def _name(view: View) -> str:
    return f"value of {view.describe()}"


def _sign_if_algebraic(ar: Arithmetic, value: Number, name: str) -> None:
    try:
        ar.sign(value, name)
    except NotAlgebraic:
        return


def _refuse(reference: Reference, why: str, seat: str) -> None:
    setattr(reference, seat, why)
    reference.outcomes = {ask: NotProven(why) for ask in reference.outcomes}
