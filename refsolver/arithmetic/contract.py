"""What every arithmetic offers, and the signals it may raise.

A family writes its equations once, against :class:`Arithmetic`; the prover runs them in
several. A *number* of an arithmetic supports ``+ - * /`` and unary minus with its own
kind, with ``int`` and (where the arithmetic says ``takes_rationals``) with
:data:`~refsolver.arithmetic.exact.Rational`; nothing else. Everything that could branch,
round or leave the domain goes through a method, so that it can be proven, named, logged
and replayed.

Decisions are *named*: ``ar.sign(x, "sign of Y")``. A name is unique within one solve and
says in the trade's words what is decided, with the member or joint in it. The first run
that can decide a name fixes it; the other arithmetics replay it. A decision may be asked
twice under one name only if it is the same number.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any, Protocol, TypeVar

from refsolver.arithmetic.exact import Angle, Exact

__all__ = [
    "Arithmetic",
    "MOST_EVALUATIONS",
    "Contradiction",
    "GivenUp",
    "NotAlgebraic",
    "Number",
    "Singular",
    "Undecided",
]

Number = Any
"""A number of whatever arithmetic is at work (a ball, an mpf, a float, ...)."""

T = TypeVar("T")

MOST_EVALUATIONS = 10_000
"""How often one search for roots evaluates the function or its slope; a Taylor polynomial
counts as once for each term.

Measured: the catalogue needs 145 at 30 and at 200 digits, generated cases with two roots that
1e-17 more of a load would make one need 1,700, and mechanisms out of balance by 1e-30 of their
loads 7,300. Spent in vain it takes seconds.
"""


class Undecided(ArithmeticError):
    """This arithmetic, at this precision, cannot decide the named question.

    ``name`` is the decision's name. The prover answers with more precision, then with
    the algebraic arithmetic, and in the end reports "not proven".
    """

    def __init__(self, name: str, why: str = "the enclosure is too wide") -> None:
        super().__init__(f"undecided: {name} ({why})")
        self.name = name
        self.why = why


class GivenUp(Undecided):
    """A search for roots is left undecided, and no more precision would help it.

    It has spent :data:`MOST_EVALUATIONS`, or has come to roots that are closer than it tells
    apart.
    """


class NotAlgebraic(ArithmeticError):
    """The number asked for is not known to be algebraic, so no zero can be proven for it."""


class Contradiction(ArithmeticError):
    """A replayed decision disagrees with what this arithmetic sees: something is wrong."""

    def __init__(self, name: str, replayed: int, seen: str) -> None:
        super().__init__(f"decision {name!r} was {replayed:+d} but here it is {seen}")
        self.name = name


class Singular(ArithmeticError):
    """A linear system is proven singular; ``name`` is the system's name."""

    def __init__(self, name: str) -> None:
        super().__init__(f"singular: {name}")
        self.name = name


class Arithmetic(Protocol):
    """The guarded functions a family may use. All angles here are in radians.

    Every function with a ``name`` decides something and logs it in ``decisions``.
    """

    decisions: dict[str, int]
    """The decisions taken so far, by name: -1, 0 or +1."""

    proves: bool
    """Whether its values are proofs, which may then come from whole fractions worked out
    elsewhere; the others (a second opinion, a plain calculator, sensitivities, the strict
    one, which looks at how numbers are used) compute anew."""

    def apart(self) -> Arithmetic:
        """The same arithmetic with decisions of its own, none logged so far, none replayed.

        For trial values of an unknown, at each of which a decision may fall otherwise.
        """

    def bring(self, x: Exact) -> Number:
        """The exact number ``x`` in this arithmetic."""

    def cos_sin(self, angle: Angle) -> tuple[Number, Number]:
        """Cosine and sine of an exact angle (exact where they are rational)."""

    def radians(self, angle: Angle) -> Number:
        """An exact angle as a number of radians; a slope in (-pi, pi]."""

    def pi(self) -> Number: ...

    def sqrt(self, x: Number) -> Number:
        """The root of a number that cannot be negative (a sum of squares, say)."""

    def atan2(self, y: Number, x: Number, name: str) -> Number:
        """The angle of (x, y) in (-pi, pi], both signs decided as ``name: x``, ``name: y``.

        The caller has excluded x = y = 0.
        """

    def cos(self, x: Number) -> Number: ...
    def sin(self, x: Number) -> Number: ...
    def exp(self, x: Number) -> Number: ...
    def log(self, x: Number) -> Number:
        """Natural logarithm of a number that the caller knows to be positive."""

    def cosh(self, x: Number) -> Number: ...
    def sinh(self, x: Number) -> Number: ...
    def asinh(self, x: Number) -> Number: ...

    def size(self, x: Number) -> Number:
        """The absolute value, without deciding the sign."""

    def sign(self, x: Number, name: str) -> int:
        """-1, 0 or +1, proven (or replayed). Raises Undecided."""

    def larger(self, a: Number, b: Number, name: str) -> Number:
        """The larger of two, decided as the sign of a - b."""

    def solve_linear(
        self, matrix: Sequence[Sequence[Number]], right: Sequence[Number], name: str
    ) -> list[Number]:
        """The solution of a square system.

        Proves regularity or raises: Singular where the matrix is proven singular (logged
        as decision ``name`` = 0; a regular one is logged as 1), Undecided otherwise.
        """

    def root(
        self,
        function: Callable[[Number], Number],
        slope: Callable[[Number], Number],
        bracket: tuple[Exact, Exact],
        name: str,
    ) -> Number:
        """The one root of ``function`` in the closed bracket, ``slope`` its derivative.

        The enclosure arithmetic proves existence (opposite signs at the ends) and
        uniqueness in what it returns (an interval Newton step mapped into itself); the
        others start from a double estimate and refine. Raises Undecided where that
        cannot be shown, GivenUp after :data:`MOST_EVALUATIONS`.
        """

    def roots(
        self,
        function: Callable[[Number], Number],
        slope: Callable[[Number], Number],
        bracket: tuple[Exact, Exact],
        name: str,
    ) -> list[Number]:
        """Every root of ``function`` strictly inside the bracket, in order, all simple.

        The enclosure arithmetic proves that there is no other: it divides the bracket into
        cells on each of which the function keeps away from zero, or its slope does and the
        signs at the ends tell. The decisions ``name: root 1``, ... are 1, and the one after
        the last root is -1. A root where the slope vanishes too, or one at an end that is
        not exactly zero there, raises Undecided. The others look for as many changes of
        sign as were proven.

        The work is bounded: a search that would evaluate ``function`` and ``slope`` more than
        :data:`MOST_EVALUATIONS` times raises GivenUp. ``function`` may be given, for a number,
        a power series in a place of a cell (:mod:`.expansion`), on which all of this
        protocol's functions of one number are defined.
        """
