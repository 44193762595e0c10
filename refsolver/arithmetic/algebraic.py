"""The arithmetic that proves zeros.

A ball that holds zero proves nothing. A sign that the ball leaves open is settled here by
one of two proofs:

1. collecting like terms leaves nothing: zero, whatever the terms are;
2. the number is algebraic and its ball lies within its separation bound 2^-t, inside
   which no nonzero number of its field and size exists: zero.

Otherwise :class:`~refsolver.arithmetic.algebraic_number.Unseparated` names the precision
at which the second will decide, and :func:`algebraic_decisions` runs the solve again
there. Numbers made with pi, exp, log, a rational number of radians and the like have no
such bound: if their balls hold zero and nothing cancels, NotAlgebraic is the honest end.
``proven-zeros.md`` beside this file derives all of it.

For: decides zeros of forces and supports at whole and tenth degrees and on slopes in the
time of a few solves. Against: a run costs about five times one on raw balls, so it is asked
only where they fail; many independent roots in one number put its bound out of reach.
Precision is that of the process (``flint.ctx``).
"""

from __future__ import annotations

import copy
from collections.abc import Callable, Sequence
from math import gcd

from flint import arb, ctx, fmpq

from refsolver.arithmetic.algebraic_number import (
    AlgebraicNumber,
    Radicals,
    Real,
    Unseparated,
    as_real,
    ball_of,
    bits_to_settle,
    proves_zero,
    surd,
)
from refsolver.arithmetic.algebraic_system import LinearSystem
from refsolver.arithmetic.constants import constant
from refsolver.arithmetic.contract import GivenUp, NotAlgebraic, Number, Singular, Undecided
from refsolver.arithmetic.enclosure import evaluate
from refsolver.arithmetic.exact import Angle, Exact, Radian, Slope, Turn
from refsolver.arithmetic.naming import root_decisions, slope_name
from refsolver.arithmetic.root_search import proven_root, proven_roots
from refsolver.arithmetic.terms import Atoms

__all__ = ["AlgebraicArithmetic", "algebraic_decisions"]

_NO_BOUND_CAP = 4096
"""Bits up to which a number is pursued whose separation bound is missing or out of reach."""

_COSINES = {(0, 1): fmpq(1), (1, 6): fmpq(1, 2), (1, 4): fmpq(0)}
_SQUARED_COSINES = {(1, 8): fmpq(1, 2), (1, 12): fmpq(3, 4)}


def _first_quadrant(turns: fmpq) -> tuple[bool, int, int]:
    """(positive, p, q): the cosine of ``turns`` is that of p/q <= 1/4, or its negative."""
    q = int(turns.q)
    p = int(turns.p) % q
    if 2 * p > q:
        p = q - p
    if 4 * p <= q:
        return True, p, q
    p, q = q - 2 * p, 2 * q
    shared = gcd(p, q)
    return False, p // shared, q // shared


def _root_of(square: fmpq, positive: bool) -> Real:
    return surd(square, positive) if square else square


class AlgebraicArithmetic:
    """Balls that can prove a zero. One instance serves one solve, at one precision."""

    takes_rationals = True
    proves = True

    def __init__(self) -> None:
        self.decisions: dict[str, int] = {}
        self._atoms = Atoms()
        self._radicals = Radicals(self._atoms)
        self._cosines: dict[tuple[int, int], Real] = dict(_COSINES)

    def apart(self) -> AlgebraicArithmetic:
        other = copy.copy(self)
        other.decisions = {}
        return other

    def bring(self, x: Exact) -> Real:
        return x if isinstance(x, fmpq) else as_real(constant(x, self))

    def cos_sin(self, angle: Angle) -> tuple[Real, Real]:
        if isinstance(angle, Turn):
            return self._cosine(angle.turns), self._cosine(angle.turns - fmpq(1, 4))
        if isinstance(angle, Radian):
            x = self.bring(angle.radians)
            return self.cos(x), self.sin(x)
        return self._of_slope(angle)

    def _cosine(self, turns: fmpq) -> Real:
        positive, p, q = _first_quadrant(turns)
        cosine = self._cosines.get((p, q))
        if cosine is None:
            if (p, q) in _SQUARED_COSINES:
                cosine = surd(_SQUARED_COSINES[p, q], True)
            else:
                ball = arb.cos_pi_fmpq(fmpq(2 * p, q))
                cosine = AlgebraicNumber(ball, True, ("cosine", p, q))
            self._cosines[p, q] = cosine
        return cosine if positive else -cosine

    def _of_slope(self, angle: Slope) -> tuple[Real, Real]:
        x, y = self.bring(angle.run), self.bring(angle.rise)
        if isinstance(x, fmpq) and isinstance(y, fmpq):
            square = x * x + y * y
            return _root_of(x * x / square, x > 0), _root_of(y * y / square, y > 0)
        length = self.sqrt(x * x + y * y)
        return x / length, y / length

    def radians(self, angle: Angle) -> Real:
        if isinstance(angle, Turn):
            return self.pi() * (2 * angle.turns)
        if isinstance(angle, Radian):
            return self.bring(angle.radians)
        return self.atan2(self.bring(angle.rise), self.bring(angle.run), slope_name(angle))

    def pi(self) -> AlgebraicNumber:
        return AlgebraicNumber(arb.pi(), False, ("pi",))

    def sqrt(self, x: Number) -> Real:
        x = as_real(x)
        if isinstance(x, fmpq):
            if x < 0:
                raise ValueError("the root of a negative number was asked")
            return _root_of(x, True)
        if x.ball < 0:
            raise ValueError("the root of a number proven negative was asked")
        if proves_zero(x, self._atoms):
            return fmpq()
        ball = x.ball.nonnegative_part().sqrt()
        return AlgebraicNumber(ball, x.algebraic, ("sqrt", x, self._radicals), x)

    def atan2(self, y: Number, x: Number, name: str) -> Real:
        y, x = as_real(y), as_real(x)
        sx, sy = self.sign(x, f"{name}: x"), self.sign(y, f"{name}: y")
        if sx == 0 and sy == 0:
            raise ValueError(f"{name}: the zero vector has no direction")
        if sy == 0:
            return fmpq() if sx > 0 else self.pi()
        if sx == 0:
            return self.pi() * fmpq(sy, 2)
        if isinstance(x, fmpq) and isinstance(y, fmpq) and abs(x) == abs(y):
            return self.pi() * fmpq(sy if sx > 0 else 3 * sy, 4)
        return AlgebraicNumber(arb.atan2(ball_of(y), ball_of(x)), False, ("atan2", y, x))

    def cos(self, x: Number) -> Real:
        x = as_real(x)
        turns = self._turns(x)
        if turns is not None:
            return self._cosine(turns)
        return self._apply("cos", abs(x) if isinstance(x, fmpq) else x, 1)

    def sin(self, x: Number) -> Real:
        x = as_real(x)
        turns = self._turns(x)
        if turns is not None:
            return self._cosine(turns - fmpq(1, 4))
        if isinstance(x, fmpq) and x < 0:
            return as_real(-self.sin(-x))
        return self._apply("sin", x, 0)

    def _turns(self, x: Real) -> fmpq | None:
        """x / (2 pi) where x is made as a rational multiple of pi, zero excepted."""
        if isinstance(x, fmpq) or x.algebraic:
            return None
        linear = self._atoms.linear(x)
        pi = self._atoms.number("pi")
        return fmpq(linear[pi]) / 2 if linear.keys() == {pi} else None

    def exp(self, x: Number) -> Real:
        return self._apply("exp", x, 1)

    def log(self, x: Number) -> Real:
        x = as_real(x)
        excess = x - 1
        if proves_zero(excess, self._atoms):
            return fmpq()
        # The excess is kept so that more precision is asked for where it may be zero.
        return AlgebraicNumber(ball_of(x).log(), False, ("log", x, excess))

    def cosh(self, x: Number) -> Real:
        return self._apply("cosh", x, 1)

    def sinh(self, x: Number) -> Real:
        return self._apply("sinh", x, 0)

    def asinh(self, x: Number) -> Real:
        return self._apply("asinh", x, 0)

    def _apply(self, name: str, x: Number, at_zero: int) -> Real:
        """A function that is not algebraic, except at zero; balls have it by that name."""
        x = as_real(x)
        if proves_zero(x, self._atoms):
            return fmpq(at_zero)
        return AlgebraicNumber(getattr(ball_of(x), name)(), False, (name, x))

    def size(self, x: Number) -> Real:
        """|x| is x or -x, both with the bounds of x: no sign need be known, no root taken."""
        real = as_real(x)
        if isinstance(real, fmpq):
            return abs(real)
        if not real.ball.contains(0):
            return real if real.ball > 0 else -real
        if proves_zero(real, self._atoms):
            return fmpq()
        ball = abs(real.ball).nonnegative_part()
        return AlgebraicNumber(ball, real.algebraic, ("size", real), real.square)

    def sign(self, x: Number, name: str) -> int:
        """-1, 0 or +1, proven. Raises Unseparated, or NotAlgebraic where no bound exists."""
        self.decisions[name] = sign = self._decided(as_real(x), name)
        return sign

    def _decided(self, x: Real, name: str) -> int:
        if isinstance(x, fmpq):
            return int(x > 0) - int(x < 0)
        if x.ball > 0:
            return 1
        if x.ball < 0:
            return -1
        if isinstance(x.square, AlgebraicNumber):  # then x is not negative
            return self._decided(x.square, name)
        if proves_zero(x, self._atoms):
            return 0
        needed = bits_to_settle([x])
        if needed is None and not x.algebraic:
            raise NotAlgebraic(f"{name}: not known to be algebraic, and not told from zero")
        raise Unseparated(name, needed)

    def larger(self, a: Number, b: Number, name: str) -> Real:
        first, second = as_real(a), as_real(b)
        return first if self.sign(first - second, name) >= 0 else second

    def solve_linear(
        self, matrix: Sequence[Sequence[Number]], right: Sequence[Number], name: str
    ) -> list[Real]:
        system = LinearSystem(matrix, right, name)
        try:
            solution = system.solution()
        except Singular:
            self.decisions[name] = 0
            raise
        self.decisions[name] = 1
        return solution

    def root(
        self,
        function: Callable[[Number], Number],
        slope: Callable[[Number], Number],
        bracket: tuple[Exact, Exact],
        name: str,
    ) -> Real:
        """As proven on balls; the result is not known to be algebraic."""
        ends = evaluate(bracket[0]), evaluate(bracket[1])
        found = proven_root(_on_balls(function), _on_balls(slope), ends, name)
        self.decisions[name] = 1
        return AlgebraicNumber(found, False, ("unique", object()))

    def roots(
        self,
        function: Callable[[Number], Number],
        slope: Callable[[Number], Number],
        bracket: tuple[Exact, Exact],
        name: str,
    ) -> list[Real]:
        """As proven on balls; the results are not known to be algebraic."""
        ends = evaluate(bracket[0]), evaluate(bracket[1])
        found = proven_roots(_on_balls(function), _on_balls(slope), ends, name)
        self.decisions.update(root_decisions(name, len(found)))
        return [AlgebraicNumber(x, False, ("unique", object())) for x in found]


def _on_balls(function: Callable[[Number], Number]) -> Callable[[arb], arb]:
    def on_ball(x: arb) -> arb:
        try:
            return ball_of(function(AlgebraicNumber(x, False, ("unique", object()))))
        except (Undecided, ZeroDivisionError):
            return arb.nan()  # as a ball divided by one that holds zero

    return on_ball


def algebraic_decisions(
    run: Callable[[AlgebraicArithmetic], object],
    bits: int,
    cap: int,
    pursued: int = _NO_BOUND_CAP,
) -> dict[str, int]:
    """Every decision of ``run``, by name, taken at whatever precision that needs.

    ``run`` is called with a fresh arithmetic at ``bits`` of working precision, and again
    towards the precision an undecided question asks for, up to ``cap``. A solve that ends in
    Singular has ended: its decisions are returned. A number without a separation bound, or
    with one beyond ``cap``, may still show that it is not zero, and is pursued to ``pursued``
    bits (or ``cap``); after that Undecided or NotAlgebraic is raised. The process's precision
    is restored in any case.
    """
    while True:
        arithmetic = AlgebraicArithmetic()
        with ctx.workprec(bits):
            try:
                run(arithmetic)
                return arithmetic.decisions
            except Singular:
                return arithmetic.decisions
            except (Undecided, NotAlgebraic) as undecided:
                bits = _next_precision(undecided, bits, cap, pursued)
                if not bits:
                    raise


def _next_precision(undecided: ArithmeticError, bits: int, cap: int, pursued: int) -> int:
    """Where to run again; 0 where that would be in vain."""
    if isinstance(undecided, GivenUp):
        return 0
    needed: int | None = getattr(undecided, "needed_bits", None)
    if needed is None or needed > cap:
        cap = min(cap, pursued)
        needed = min(2 * bits, cap)
    # Twice the bits cost little and spare a run for the next question; beyond eight times
    # it pays to look first whether the number shows itself before its bound is reached.
    return min(max(needed, 2 * bits), 8 * bits, cap) if bits < cap else 0
