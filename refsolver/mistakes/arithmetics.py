"""Mistaken arithmetics: double precision with one thing done wrong throughout.

A family solved in one of these gives what a calculator reports that makes the mistake
everywhere, without a line added to the family.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import Any

import attrs
from flint import arb

from refsolver.arithmetic.careful import CarefulArithmetic, known
from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.double import DoubleArithmetic
from refsolver.arithmetic.exact import Angle, Exact, Radian, Turn

__all__ = ["ARITHMETICS", "MistakenArithmetic"]


@attrs.frozen
class MistakenArithmetic:
    """A mistake of the arithmetic itself; ``pi`` is what it takes for pi in output angles."""

    name: str
    says: str
    make: Callable[[], Arithmetic]
    pi: float = math.pi


class _SineForCosine(CarefulArithmetic):
    def cos_sin(self, angle: Angle) -> tuple[Number, Number]:
        cosine, sine = super().cos_sin(angle)
        return (sine, cosine) if isinstance(angle, Turn | Radian) else (cosine, sine)

    def cos(self, x: Number) -> Number:
        return super().sin(x)

    def sin(self, x: Number) -> Number:
        return super().cos(x)


class _DegreesAsRadians(CarefulArithmetic):
    def radians(self, angle: Angle) -> Number:
        return self.bring(360 * angle.turns) if isinstance(angle, Turn) else super().radians(angle)


class _OneArgument(CarefulArithmetic):
    """The arctangent of the ratio: two quadrants are lost.

    Who divides does not ask whether the divisor is zero within rounding: its last bit then
    decides between a right angle and its opposite, and nobody can tell which.
    """

    def atan2(self, y: Number, x: Number, name: str) -> Number:
        angle = super().atan2(y, x, name)
        if self.decisions[f"{name}: x"] == 0:
            return angle if x.is_zero() else arb(0, math.pi / 2)
        return (y / x).atan()


class _OtherPi(CarefulArithmetic):
    def __init__(self, pi: float) -> None:
        super().__init__()
        self._pi = pi

    def apart(self) -> _OtherPi:
        return type(self)(self._pi)

    def radians(self, angle: Angle) -> Number:
        found = super().radians(angle)
        return found * self._pi / arb.pi() if isinstance(angle, Turn) else found

    def pi(self) -> Number:
        return arb(self._pi)


_TINY = 2.0**-40


def _round(x: float, figures: int) -> float:
    return float(f"{x:.{figures - 1}e}") if math.isfinite(x) else x


class _Rounded(float):
    """A float whose every sum, product and quotient is rounded to ``figures`` figures."""

    figures = 0

    def _made(self, x: float) -> _Rounded:
        return type(self)(_round(x, self.figures))

    def __add__(self, other: float) -> _Rounded:
        return self._made(float(self) + float(other))

    def __sub__(self, other: float) -> _Rounded:
        return self._made(float(self) - float(other))

    def __rsub__(self, other: float) -> _Rounded:
        return self._made(float(other) - float(self))

    def __mul__(self, other: float) -> _Rounded:
        return self._made(float(self) * float(other))

    def __truediv__(self, other: float) -> _Rounded:
        return self._made(float(self) / float(other))

    def __rtruediv__(self, other: float) -> _Rounded:
        return self._made(float(other) / float(self))

    def __neg__(self) -> _Rounded:
        return type(self)(-float(self))

    __radd__ = __add__
    __rmul__ = __mul__


_NUMBERS: dict[int, type[_Rounded]] = {
    k: type(f"_Rounded{k}", (_Rounded,), {"figures": k}) for k in (2, 3, 4, 5)
}


class _RoundingEach(DoubleArithmetic):
    """Sines, roots, angles and every operation rounded to ``figures`` figures.

    What is rounded in decimals cancels exactly, so that a sign needs no care here.
    """

    def __init__(self, figures: int) -> None:
        super().__init__()
        self._number = _NUMBERS[figures]
        self._figures = figures

    def _rounded(self, x: float) -> float:
        return self._number(_round(x, self._figures))

    def bring(self, x: Exact) -> float:
        return self._number(super().bring(x))

    def cos_sin(self, angle: Angle) -> tuple[float, float]:
        cosine, sine = super().cos_sin(angle)
        return self._from_table(cosine), self._from_table(sine)

    def radians(self, angle: Angle) -> float:
        return float(super().radians(angle))

    def sqrt(self, x: float) -> float:
        return self._rounded(super().sqrt(x))

    def cos(self, x: float) -> float:
        return self._from_table(super().cos(x))

    def sin(self, x: float) -> float:
        return self._from_table(super().sin(x))

    def _from_table(self, x: float) -> float:
        """A table, or a display, says 0 for the cosine of a right angle."""
        return self._number(0.0) if abs(x) < _TINY else self._rounded(x)

    def exp(self, x: float) -> float:
        return self._rounded(super().exp(x))

    def size(self, x: float) -> float:
        return self._number(abs(x))

    def solve_linear(
        self, matrix: Sequence[Sequence[Number]], right: Sequence[Number], name: str
    ) -> list[float]:
        careful = CarefulArithmetic()
        rows = [[known(x) for x in row] for row in matrix]
        solution = careful.solve_linear(rows, [known(x) for x in right], name)
        self.decisions |= careful.decisions
        return [self._rounded(float(x)) for x in solution]

    def root(
        self,
        function: Callable[[Number], Number],
        slope: Callable[[Number], Number],
        bracket: tuple[Exact, Exact],
        name: str,
    ) -> float:
        """Tried at any value; the value of the function is rounded, and what is found."""
        plain = DoubleArithmetic()
        found = plain.root(self._tried(function), slope, bracket, name)
        self.decisions |= plain.decisions
        return self._rounded(found)

    def roots(
        self,
        function: Callable[[Number], Number],
        slope: Callable[[Number], Number],
        bracket: tuple[Exact, Exact],
        name: str,
    ) -> list[float]:
        plain = DoubleArithmetic()
        found = plain.roots(self._tried(function), slope, bracket, name)
        self.decisions |= plain.decisions
        return [self._rounded(x) for x in found]

    def _tried(self, function: Callable[[Number], Number]) -> Callable[[Number], Number]:
        return lambda x: float(function(self._number(x)))


def _other_pi(pi: float) -> Callable[[], Arithmetic]:
    return lambda: _OtherPi(pi)


def _rounding(figures: int) -> Callable[[], Arithmetic]:
    return lambda: _RoundingEach(figures)


def _all() -> list[MistakenArithmetic]:
    found: list[Any] = [
        MistakenArithmetic(
            "sine and cosine swapped",
            "the sine of an angle is taken where the cosine belongs, and the other way round",
            _SineForCosine,
        ),
        MistakenArithmetic(
            "degrees taken as radians",
            "the number of degrees goes into sine and cosine as if it were radians",
            _DegreesAsRadians,
        ),
        MistakenArithmetic(
            "one-argument arctangent",
            "an angle is the arctangent of a ratio, so that it is half a turn off (wrong "
            "quadrant) wherever the divisor is negative",
            _OneArgument,
        ),
        *(
            MistakenArithmetic(f"pi = {text}", f"{text} is taken for pi", _other_pi(pi), pi)
            for text, pi in (("3.14", 3.14), ("22/7", 22 / 7))
        ),
    ]
    found += [
        MistakenArithmetic(
            f"early rounding to {k} figures",
            f"every intermediate result is rounded to {k} figures and used so",
            _rounding(k),
        )
        for k in _NUMBERS
    ]
    return found


ARITHMETICS: tuple[MistakenArithmetic, ...] = tuple(_all())
