"""One exact leaf taken as an unknown: any arithmetic with a number put in its place.

An inverse question asks for the value of a given. The family then solves with an
arithmetic in which that one leaf, told by *identity*, is a number and no longer exact:
:class:`Substituted`. :class:`TangentArithmetic` carries the derivative with respect to the
leaf along (forward mode with one seed: A. Griewank and A. Walther, "Evaluating
Derivatives", 2nd ed., SIAM 2008, chapter 3), over whatever arithmetic it is given.

For: no family needs a line for it. Against: where a family computes an exact leaf from
this one before bringing it, the number does not get there; whoever uses this has to check
that (:mod:`refsolver.statics.finding` does).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.exact import Angle, Exact, Radian, Turn

__all__ = ["Substituted", "Tangent", "TangentArithmetic", "Token"]

Token = fmpq | Turn | Radian
"""The leaf that stands for the unknown. The unknown of a :class:`Turn` counts turns, that
of a :class:`Radian` radians."""


class Substituted:
    """The arithmetic ``ar``, in which the leaf ``token`` has the value ``x``.

    It takes nothing worked out elsewhere from the exact leaves, the token's among them.
    """

    proves = False

    def __init__(self, ar: Arithmetic, token: Token, x: Number) -> None:
        self._ar, self._token, self._x = ar, token, x

    def __getattr__(self, name: str) -> Any:
        return getattr(self._ar, name)

    def bring(self, x: Exact) -> Number:
        return self._x if x is self._token else self._ar.bring(x)

    def cos_sin(self, angle: Angle) -> tuple[Number, Number]:
        if angle is not self._token:
            return self._ar.cos_sin(angle)
        radians = self.radians(angle)
        return self._ar.cos(radians), self._ar.sin(radians)

    def radians(self, angle: Angle) -> Number:
        if angle is not self._token:
            return self._ar.radians(angle)
        return self._x * 2 * self._ar.pi() if isinstance(angle, Turn) else self._x


@attrs.frozen(eq=False)
class Tangent:
    """A value and its derivative; ``rate`` is the integer 0 for what does not depend."""

    value: Number
    rate: Number = 0

    def __add__(self, other: Any) -> Tangent:
        if isinstance(other, Tangent):
            return Tangent(self.value + other.value, self.rate + other.rate)
        return Tangent(self.value + other, self.rate)

    __radd__ = __add__

    def __neg__(self) -> Tangent:
        return Tangent(-self.value, -self.rate)

    def __sub__(self, other: Any) -> Tangent:
        return self.__add__(-other)

    def __rsub__(self, other: Any) -> Tangent:
        return (-self).__add__(other)

    def __mul__(self, other: Any) -> Tangent:
        if isinstance(other, Tangent):
            rate = self.rate * other.value + other.rate * self.value
            return Tangent(self.value * other.value, rate)
        return Tangent(self.value * other, self.rate * other)

    __rmul__ = __mul__

    def __truediv__(self, other: Any) -> Tangent:
        if not isinstance(other, Tangent):
            return Tangent(self.value / other, self.rate / other if _depends(self) else 0)
        quotient = self.value / other.value
        if not _depends(self) and not _depends(other):
            return Tangent(quotient)
        return Tangent(quotient, (self.rate - quotient * other.rate) / other.value)

    def __rtruediv__(self, other: Any) -> Tangent:
        quotient = other / self.value
        return Tangent(quotient, -quotient * self.rate / self.value if _depends(self) else 0)


def _depends(x: Tangent) -> bool:
    return not (type(x.rate) is int and x.rate == 0)


class TangentArithmetic:
    """Numbers of ``ar`` with their derivatives with respect to the leaf ``token`` at ``x``.

    Decisions go by the values and are logged by ``ar``; what ``ar`` leaves undecided is
    undecided here.
    """

    proves = False

    def __init__(self, ar: Arithmetic, token: Token, x: Number) -> None:
        self._ar, self._token = ar, token
        # Not the integer 1: divided by an integer it would become a float.
        self._x = Tangent(x, ar.bring(fmpq(1)))
        self._sizes = 0
        self.decisions = ar.decisions
        self.takes_rationals = getattr(ar, "takes_rationals", False)

    def apart(self) -> TangentArithmetic:
        return TangentArithmetic(self._ar.apart(), self._token, self._x.value)

    def bring(self, x: Exact) -> Tangent:
        return self._x if x is self._token else Tangent(self._ar.bring(x))

    def cos_sin(self, angle: Angle) -> tuple[Tangent, Tangent]:
        if angle is not self._token:
            cosine, sine = self._ar.cos_sin(angle)
            return Tangent(cosine), Tangent(sine)
        radians = self.radians(angle)
        return self.cos(radians), self.sin(radians)

    def radians(self, angle: Angle) -> Tangent:
        if angle is not self._token:
            return Tangent(self._ar.radians(angle))
        return self._x * self.pi() * 2 if isinstance(angle, Turn) else self._x

    def pi(self) -> Tangent:
        return Tangent(self._ar.pi())

    def sqrt(self, x: Tangent) -> Tangent:
        root = self._ar.sqrt(x.value)
        return Tangent(root, x.rate / (root * 2) if _depends(x) else 0)

    def atan2(self, y: Tangent, x: Tangent, name: str) -> Tangent:
        angle = self._ar.atan2(y.value, x.value, name)
        if not _depends(x) and not _depends(y):
            return Tangent(angle)
        square = x.value * x.value + y.value * y.value
        return Tangent(angle, (x.value * y.rate - y.value * x.rate) / square)

    def cos(self, x: Tangent) -> Tangent:
        return Tangent(self._ar.cos(x.value), -self._ar.sin(x.value) * x.rate)

    def sin(self, x: Tangent) -> Tangent:
        return Tangent(self._ar.sin(x.value), self._ar.cos(x.value) * x.rate)

    def exp(self, x: Tangent) -> Tangent:
        power = self._ar.exp(x.value)
        return Tangent(power, power * x.rate)

    def log(self, x: Tangent) -> Tangent:
        return Tangent(self._ar.log(x.value), x.rate / x.value if _depends(x) else 0)

    def cosh(self, x: Tangent) -> Tangent:
        return Tangent(self._ar.cosh(x.value), self._ar.sinh(x.value) * x.rate)

    def sinh(self, x: Tangent) -> Tangent:
        return Tangent(self._ar.sinh(x.value), self._ar.cosh(x.value) * x.rate)

    def asinh(self, x: Tangent) -> Tangent:
        root = self._ar.sqrt(x.value * x.value + 1)
        return Tangent(self._ar.asinh(x.value), x.rate / root if _depends(x) else 0)

    def size(self, x: Tangent) -> Tangent:
        self._sizes += 1
        sign = self._ar.sign(x.value, f"sense of trial value {self._sizes}")
        return x if sign >= 0 else -x

    def sign(self, x: Tangent, name: str) -> int:
        return self._ar.sign(x.value, name)

    def larger(self, a: Tangent, b: Tangent, name: str) -> Tangent:
        return a if self.sign(a - b, name) >= 0 else b

    def solve_linear(
        self, matrix: Sequence[Sequence[Any]], right: Sequence[Any], name: str
    ) -> list[Tangent]:
        """As in the contract; differentiated as A dx = db - dA x."""
        system = [[_lifted(x) for x in row] for row in matrix]
        column = [_lifted(x) for x in right]
        values = [[x.value for x in row] for row in system]
        solution = self._ar.solve_linear(values, [x.value for x in column], name)
        if not any(_depends(x) for row in [*system, column] for x in row):
            return [Tangent(x) for x in solution]
        zero = self._ar.bring(fmpq(0))
        moved = []
        for row, b in zip(system, column, strict=True):
            total = zero + b.rate
            for a, x in zip(row, solution, strict=True):
                total = total - a.rate * x
            moved.append(total)
        rates = self._ar.solve_linear(values, moved, name)
        return [Tangent(x, rate) for x, rate in zip(solution, rates, strict=True)]

    def root(
        self,
        function: Callable[[Number], Number],
        slope: Callable[[Number], Number],
        bracket: tuple[Exact, Exact],
        name: str,
    ) -> Tangent:
        """As in the contract; with f(x(p), p) = 0, dx/dp is -(df/dp)/(df/dx)."""
        found = self._ar.root(
            lambda x: function(Tangent(x)).value, lambda x: slope(Tangent(x)).value, bracket, name
        )
        return _root_moved(found, function, slope)

    def roots(
        self,
        function: Callable[[Number], Number],
        slope: Callable[[Number], Number],
        bracket: tuple[Exact, Exact],
        name: str,
    ) -> list[Tangent]:
        """As in the contract, each differentiated like a single root."""
        found = self._ar.roots(
            lambda x: function(Tangent(x)).value, lambda x: slope(Tangent(x)).value, bracket, name
        )
        return [_root_moved(x, function, slope) for x in found]


def _root_moved(
    found: Number, function: Callable[[Number], Number], slope: Callable[[Number], Number]
) -> Tangent:
    moved = function(Tangent(found))
    if not _depends(moved):
        return Tangent(found)
    return Tangent(found, -moved.rate / slope(Tangent(found)).value)


def _lifted(x: Any) -> Tangent:
    return x if isinstance(x, Tangent) else Tangent(x)
