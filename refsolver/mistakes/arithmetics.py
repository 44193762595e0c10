"""Mistaken arithmetics: double precision with one thing done wrong throughout.

A family solved in one of these gives what a calculator reports that makes the mistake
everywhere, without a line added to the family.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from typing import Any

import attrs
import numpy

from refsolver.arithmetic.contract import Number, Singular
from refsolver.arithmetic.double import DoubleArithmetic
from refsolver.arithmetic.exact import Angle, Exact, Radian, Turn

__all__ = ["ARITHMETICS", "CarefulArithmetic", "MistakenArithmetic"]


_ROUNDING = 2.0**-46
"""What some tens of roundings may leave of the largest number at work."""


class CarefulArithmetic(DoubleArithmetic):
    """Double precision in which what rounding alone can leave counts as zero.

    A calculator of some care asks whether a sum is zero within rounding. So does a replay:
    it would otherwise predict 2e16 for an intercept that does not exist.
    """

    def __init__(self, replay: Mapping[str, int] | None = None) -> None:
        super().__init__(replay)
        self._largest = 0.0

    def bring(self, x: Exact) -> float:
        # A given number is typed in, 0.342 and not sin 20 degrees: no mistake is made in it.
        found = DoubleArithmetic().bring(x)
        self._largest = max(self._largest, abs(found))
        return found

    def sign(self, x: float, name: str) -> int:
        return super().sign(0.0 if abs(x) <= _ROUNDING * self._largest else x, name)

    def solve_linear(
        self, matrix: Sequence[Sequence[Number]], right: Sequence[Number], name: str
    ) -> list[float]:
        if right and numpy.linalg.cond(numpy.array(matrix, dtype=numpy.float64)) > 1 / _ROUNDING:
            raise Singular(name)
        return super().solve_linear(matrix, right, name)


@attrs.frozen
class MistakenArithmetic:
    """A mistake of the arithmetic itself; ``pi`` is what it takes for pi in output angles."""

    name: str
    says: str
    make: Callable[[], DoubleArithmetic]
    pi: float = math.pi


class _SineForCosine(CarefulArithmetic):
    def cos_sin(self, angle: Angle) -> tuple[float, float]:
        cosine, sine = super().cos_sin(angle)
        return (sine, cosine) if isinstance(angle, Turn | Radian) else (cosine, sine)

    def cos(self, x: float) -> float:
        return math.sin(x)

    def sin(self, x: float) -> float:
        return math.cos(x)


class _DegreesAsRadians(CarefulArithmetic):
    def radians(self, angle: Angle) -> float:
        return self.bring(360 * angle.turns) if isinstance(angle, Turn) else super().radians(angle)


class _OneArgument(CarefulArithmetic):
    """The arctangent of the ratio: two quadrants are lost.

    The sign of the divisor is that of its last bit: who divides does not ask whether it is
    zero within rounding.
    """

    def atan2(self, y: float, x: float, name: str) -> float:
        angle = super().atan2(y, x, name)
        if x == 0:
            return angle
        return math.atan(float(y) / float(x))


class _OtherPi(CarefulArithmetic):
    def __init__(self, pi: float, replay: Mapping[str, int] | None = None) -> None:
        super().__init__(replay)
        self._pi = pi

    def radians(self, angle: Angle) -> float:
        found = super().radians(angle)
        return found * self._pi / math.pi if isinstance(angle, Turn) else found

    def pi(self) -> float:
        return self._pi


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


class _RoundingEach(CarefulArithmetic):
    """Sines, roots, angles and every operation rounded to ``figures`` figures."""

    def __init__(self, figures: int, replay: Mapping[str, int] | None = None) -> None:
        super().__init__(replay)
        self._number = _NUMBERS[figures]
        self._figures = figures

    def _rounded(self, x: float) -> float:
        return self._number(_round(x, self._figures))

    def bring(self, x: Exact) -> float:
        return self._number(super().bring(x))

    def cos_sin(self, angle: Angle) -> tuple[float, float]:
        cosine, sine = super().cos_sin(angle)
        return self._rounded(cosine), self._rounded(sine)

    def radians(self, angle: Angle) -> float:
        return float(super().radians(angle))

    def sqrt(self, x: float) -> float:
        return self._rounded(super().sqrt(x))

    def cos(self, x: float) -> float:
        return self._rounded(super().cos(x))

    def sin(self, x: float) -> float:
        return self._rounded(super().sin(x))

    def exp(self, x: float) -> float:
        return self._rounded(super().exp(x))

    def size(self, x: float) -> float:
        return self._number(abs(x))

    def solve_linear(
        self, matrix: Sequence[Sequence[Number]], right: Sequence[Number], name: str
    ) -> list[float]:
        return [self._rounded(x) for x in super().solve_linear(matrix, right, name)]


def _other_pi(pi: float) -> Callable[[], DoubleArithmetic]:
    return lambda: _OtherPi(pi)


def _rounding(figures: int) -> Callable[[], DoubleArithmetic]:
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
