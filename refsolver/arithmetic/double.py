"""IEEE double precision: what a plain calculator can reach.

Degrees are turned into radians and given to the library's sine and cosine, as a plain
calculator does, so that cos 90 degrees is 6e-17 here. Nothing is proven; the decisions
proven elsewhere are followed without complaint, because rounding may well speak against
them.
"""

from __future__ import annotations

import copy
import math
from collections.abc import Callable, Mapping, Sequence

import numpy
from flint import fmpq

from refsolver.arithmetic.bracketing import NoBracket, bracketed_root, scanned_roots
from refsolver.arithmetic.constants import constant
from refsolver.arithmetic.contract import Number, Singular, Undecided
from refsolver.arithmetic.exact import Angle, Exact, Radian, Turn
from refsolver.arithmetic.naming import root_count, root_decisions, slope_name

__all__ = ["DoubleArithmetic"]

_PRECISION = 2.0**-52
_VANISHING = 2.0**-40


class DoubleArithmetic:
    """Python floats. An overflow is infinite; a division by zero raises ZeroDivisionError."""

    takes_rationals = False
    proves = False

    def __init__(self, replay: Mapping[str, int] | None = None) -> None:
        self.decisions: dict[str, int] = {}
        self._replay = replay or {}

    def apart(self) -> DoubleArithmetic:
        other = copy.copy(self)
        other.decisions = {}
        other._replay = {}
        return other

    def bring(self, x: Exact) -> float:
        if isinstance(x, fmpq):
            return int(x.p) / int(x.q)
        return float(constant(x, self))

    def cos_sin(self, angle: Angle) -> tuple[float, float]:
        if isinstance(angle, Turn | Radian):
            radians = self.radians(angle)
            return math.cos(radians), math.sin(radians)
        x, y = self.bring(angle.run), self.bring(angle.rise)
        length = math.sqrt(x * x + y * y)
        return x / length, y / length

    def radians(self, angle: Angle) -> float:
        if isinstance(angle, Turn):
            return math.radians(self.bring(360 * angle.turns))
        if isinstance(angle, Radian):
            return self.bring(angle.radians)
        return self.atan2(self.bring(angle.rise), self.bring(angle.run), slope_name(angle))

    def pi(self) -> float:
        return math.pi

    def sqrt(self, x: float) -> float:
        # The caller knows that it is not negative; rounding may not.
        return math.sqrt(max(x, 0.0))

    def atan2(self, y: float, x: float, name: str) -> float:
        sx, sy = self.sign(x, f"{name}: x"), self.sign(y, f"{name}: y")
        if sx == 0 and sy == 0:
            raise ValueError(f"{name}: the zero vector has no direction")
        angle = math.atan2(abs(sy * y), sx * abs(x))
        return -angle if sy < 0 else angle

    def cos(self, x: float) -> float:
        return math.cos(x)

    def sin(self, x: float) -> float:
        return math.sin(x)

    def exp(self, x: float) -> float:
        return _finite_or_infinite(math.exp, x, math.inf)

    def log(self, x: float) -> float:
        return math.log(x)

    def cosh(self, x: float) -> float:
        return _finite_or_infinite(math.cosh, x, math.inf)

    def sinh(self, x: float) -> float:
        return _finite_or_infinite(math.sinh, x, math.copysign(math.inf, x))

    def asinh(self, x: float) -> float:
        return math.asinh(x)

    def size(self, x: float) -> float:
        return abs(x)

    def sign(self, x: float, name: str) -> int:
        if name in self._replay:
            decided = self._replay[name]
        elif math.isnan(x):
            raise Undecided(name, "not a number")
        else:
            decided = int(x > 0) - int(x < 0)
        self.decisions[name] = decided
        return decided

    def larger(self, a: float, b: float, name: str) -> float:
        return a if self.sign(a - b, name) >= 0 else b

    def solve_linear(
        self, matrix: Sequence[Sequence[Number]], right: Sequence[Number], name: str
    ) -> list[float]:
        """As in the contract; singular only where replayed or where a pivot is exactly zero."""
        if self._replay.get(name) == 0:
            self.decisions[name] = 0
            raise Singular(name)
        if not right:
            self.decisions[name] = 1
            return []
        try:
            solution = numpy.linalg.solve(
                numpy.array(matrix, dtype=numpy.float64), numpy.array(right, dtype=numpy.float64)
            )
        except numpy.linalg.LinAlgError:
            self.decisions[name] = 0
            raise Singular(name) from None
        self.decisions[name] = 1
        return [float(x) for x in solution]

    def root(
        self,
        function: Callable[[Number], Number],
        slope: Callable[[Number], Number],
        bracket: tuple[Exact, Exact],
        name: str,
    ) -> float:
        """As in the contract, from changes of sign alone; the slope is not used."""
        low, high = self.bring(bracket[0]), self.bring(bracket[1])
        try:
            found = float(bracketed_root(function, low, high, _PRECISION, _VANISHING))
        except NoBracket as problem:
            raise Undecided(name, str(problem)) from None
        self.decisions[name] = 1
        return found

    def roots(
        self,
        function: Callable[[Number], Number],
        slope: Callable[[Number], Number],
        bracket: tuple[Exact, Exact],
        name: str,
    ) -> list[float]:
        """As in the contract, from changes of sign alone: as many as proven, if any were."""
        low, high = self.bring(bracket[0]), self.bring(bracket[1])
        count = root_count(name, self._replay)
        try:
            found = scanned_roots(function, low, high, count, _PRECISION, _VANISHING)
        except NoBracket as problem:
            raise Undecided(name, str(problem)) from None
        self.decisions.update(root_decisions(name, len(found)))
        return [float(x) for x in found]


def _finite_or_infinite(function: Callable[[float], float], x: float, infinite: float) -> float:
    try:
        return function(x)
    except OverflowError:
        return infinite
