"""Sensitivities: forward differentiation with every derivative enclosed in a ball.

A number is a *dual*: the ball of its value and, for each seed it depends on, the ball of
its derivative with respect to that seed (forward mode: A. Griewank and A. Walther,
"Evaluating Derivatives", 2nd ed., SIAM 2008, chapter 3). Where the value has no
derivative (the root of zero, say) the derivative is a ball that is not finite; where it
has one-sided ones (a size at zero, the larger of two equals) it is a ball holding both.
"""

from __future__ import annotations

import copy
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from typing import TypeAlias

import attrs
from flint import arb, arb_mat, fmpq

from refsolver.arithmetic.contract import Number
from refsolver.arithmetic.enclosure import EnclosureArithmetic
from refsolver.arithmetic.exact import Angle, Exact, Radian, Turn

__all__ = ["DerivativeArithmetic", "Dual", "Gradient"]

Gradient: TypeAlias = dict[int, arb]
"""Derivatives by index of the seed; a seed that does not occur has derivative zero."""


@attrs.frozen(eq=False)
class Dual:
    """A value and its gradient. Mixes by ``+ - * /`` with its own kind, ``int`` and ``fmpq``."""

    value: arb
    gradient: Gradient

    def __add__(self, other: Dual | int | fmpq) -> Dual:
        if isinstance(other, Dual):
            return Dual(self.value + other.value, _sum(self.gradient, other.gradient))
        return Dual(self.value + _plain(other), self.gradient)

    __radd__ = __add__

    def __neg__(self) -> Dual:
        return Dual(-self.value, _scaled(self.gradient, -1))

    def __sub__(self, other: Dual | int | fmpq) -> Dual:
        return self + (-other)

    def __rsub__(self, other: int | fmpq) -> Dual:
        return -self + other

    def __mul__(self, other: Dual | int | fmpq) -> Dual:
        if not isinstance(other, Dual):
            factor = _plain(other)
            return Dual(self.value * factor, _scaled(self.gradient, factor))
        gradient = _sum(_scaled(self.gradient, other.value), _scaled(other.gradient, self.value))
        return Dual(self.value * other.value, gradient)

    __rmul__ = __mul__

    def __truediv__(self, other: Dual | int | fmpq) -> Dual:
        if not isinstance(other, Dual):
            other = Dual(_plain(other), {})
        quotient = self.value / other.value
        change = _sum(self.gradient, _scaled(other.gradient, -quotient))
        return Dual(quotient, _scaled(change, 1 / other.value))

    def __rtruediv__(self, other: int | fmpq) -> Dual:
        return Dual(_plain(other), {}) / self


def _plain(x: object) -> arb:
    if type(x) is int or isinstance(x, fmpq):
        return arb(x)
    raise TypeError(f"{x!r} does not mix with a number of the derivative arithmetic")


class _Gradients:
    """Whether gradients are carried: while a root is looked for only values are needed."""

    carried = True


@contextmanager
def _values_alone() -> Iterator[None]:
    before, _Gradients.carried = _Gradients.carried, False
    try:
        yield
    finally:
        _Gradients.carried = before


def _values(function: Callable[[Number], Number]) -> Callable[[arb], arb]:
    """The function as one of plain balls."""
    return lambda x: function(Dual(x, {})).value


def _scaled(gradient: Gradient, factor: arb | int) -> Gradient:
    if not _Gradients.carried:
        return {}
    return {seed: x * factor for seed, x in gradient.items()}


def _sum(a: Gradient, b: Gradient) -> Gradient:
    if not _Gradients.carried:
        return {}
    if not a or not b:
        return a or b
    result = dict(a)
    for seed, x in b.items():
        result[seed] = result[seed] + x if seed in result else x
    return result


def _hull(a: Gradient, b: Gradient) -> Gradient:
    zero = arb(0)
    return {seed: a.get(seed, zero).union(b.get(seed, zero)) for seed in {**a, **b}}


class DerivativeArithmetic:
    """Balls with their derivatives with respect to exact leaves, at the precision in force.

    ``seeds`` are leaves (exact numbers or angles), told apart by *identity*, because two
    equal leaves are two givens: each must be an object of its own and must be the very
    object that is brought. An angle's derivative is per radian. :attr:`met` collects the
    indices of the seeds that were brought; a seed missing from it entered the solve, if
    at all, by an exact detour (a new leaf computed from it), and its zero derivative
    means nothing.

    ``replay`` is as in the enclosure arithmetic. Raises ValueError for a seed given twice.
    """

    takes_rationals = True
    proves = False

    def __init__(
        self, seeds: Sequence[Exact | Angle], replay: Mapping[str, int] | None = None
    ) -> None:
        self._seeds = tuple(seeds)  # kept alive, so that no other object gets their identity
        self._index = {id(seed): i for i, seed in enumerate(self._seeds)}
        if len(self._index) != len(self._seeds):
            raise ValueError("a seed is given twice: each must be an object of its own")
        self._balls = EnclosureArithmetic(replay)
        self.decisions = self._balls.decisions
        self.met: set[int] = set()

    def derivatives(self, x: Dual) -> list[arb]:
        """The derivative of a number with respect to each seed, in the order given."""
        return [x.gradient.get(i, arb(0)) for i in range(len(self._seeds))]

    def apart(self) -> DerivativeArithmetic:
        other = copy.copy(self)
        other._balls = self._balls.apart()
        other.decisions = other._balls.decisions
        return other

    def bring(self, x: Exact) -> Dual:
        return Dual(self._balls.bring(x), self._seeded(x))

    def cos_sin(self, angle: Angle) -> tuple[Dual, Dual]:
        c, s = self._balls.cos_sin(angle)
        change = self._turning(angle)
        return Dual(c, _scaled(change, -s)), Dual(s, _scaled(change, c))

    def radians(self, angle: Angle) -> Dual:
        return Dual(self._balls.radians(angle), self._turning(angle))

    def pi(self) -> Dual:
        return Dual(self._balls.pi(), {})

    def sqrt(self, x: Dual) -> Dual:
        root = self._balls.sqrt(x.value)
        return Dual(root, _scaled(x.gradient, 1 / (2 * root)))

    def atan2(self, y: Dual, x: Dual, name: str) -> Dual:
        return Dual(self._balls.atan2(y.value, x.value, name), _turned(y, x))

    def cos(self, x: Dual) -> Dual:
        return Dual(x.value.cos(), _scaled(x.gradient, -x.value.sin()))

    def sin(self, x: Dual) -> Dual:
        return Dual(x.value.sin(), _scaled(x.gradient, x.value.cos()))

    def exp(self, x: Dual) -> Dual:
        power = x.value.exp()
        return Dual(power, _scaled(x.gradient, power))

    def log(self, x: Dual) -> Dual:
        return Dual(x.value.log(), _scaled(x.gradient, 1 / x.value))

    def cosh(self, x: Dual) -> Dual:
        return Dual(x.value.cosh(), _scaled(x.gradient, x.value.sinh()))

    def sinh(self, x: Dual) -> Dual:
        return Dual(x.value.sinh(), _scaled(x.gradient, x.value.cosh()))

    def asinh(self, x: Dual) -> Dual:
        return Dual(x.value.asinh(), _scaled(x.gradient, 1 / (1 + x.value * x.value).sqrt()))

    def size(self, x: Dual) -> Dual:
        """The absolute value; where its sign is open the derivative's factor is [-1, 1]."""
        if x.value > 0:
            return x
        if x.value < 0:
            return -x
        return Dual(abs(x.value), _scaled(x.gradient, arb(0, 1)))

    def sign(self, x: Dual, name: str) -> int:
        return self._balls.sign(x.value, name)

    def larger(self, a: Dual, b: Dual, name: str) -> Dual:
        """The larger of two; of two equals, with a gradient that holds both."""
        sign = self.sign(a - b, name)
        if sign == 0:
            return Dual(a.value, _hull(a.gradient, b.gradient))
        return a if sign > 0 else b

    def solve_linear(
        self, matrix: Sequence[Sequence[Number]], right: Sequence[Number], name: str
    ) -> list[Dual]:
        """As in the contract; differentiated as A dx = db - dA x, for all seeds at once."""
        system = [[_lifted(x) for x in row] for row in matrix]
        column = [_lifted(x) for x in right]
        values = [[x.value for x in row] for row in system]
        solution = self._balls.solve_linear(values, [x.value for x in column], name)
        unknowns = [Dual(x, {}) for x in solution]
        changes = [
            _residual(b, row, unknowns).gradient for b, row in zip(column, system, strict=True)
        ]
        seeds = sorted({seed for change in changes for seed in change})
        if not seeds:
            return unknowns
        rights = arb_mat([[change.get(seed, arb(0)) for seed in seeds] for change in changes])
        slopes = arb_mat(values).solve(rights, algorithm="lu")
        return [
            Dual(x, {seed: slopes[i, j] for j, seed in enumerate(seeds)})
            for i, x in enumerate(solution)
        ]

    def root(
        self,
        function: Callable[[Number], Number],
        slope: Callable[[Number], Number],
        bracket: tuple[Exact, Exact],
        name: str,
    ) -> Dual:
        """As in the contract; with f(x(p), p) = 0, dx/dp is -(df/dp)/(df/dx)."""
        with _values_alone():
            found = self._balls.root(_values(function), _values(slope), bracket, name)
        return _root_moved(found, function, slope)

    def roots(
        self,
        function: Callable[[Number], Number],
        slope: Callable[[Number], Number],
        bracket: tuple[Exact, Exact],
        name: str,
    ) -> list[Dual]:
        """As in the contract, each differentiated like a single root."""
        with _values_alone():
            found = self._balls.roots(_values(function), _values(slope), bracket, name)
        return [_root_moved(x, function, slope) for x in found]

    def _seeded(self, leaf: Exact | Angle) -> Gradient:
        index = self._index.get(id(leaf))
        if index is None:
            return {}
        self.met.add(index)
        return {index: arb(1)}

    def _turning(self, angle: Angle) -> Gradient:
        """The gradient of an exact angle in radians."""
        seeded = self._seeded(angle)
        if seeded or isinstance(angle, Turn):
            return seeded
        if isinstance(angle, Radian):
            return self.bring(angle.radians).gradient
        return _turned(self.bring(angle.rise), self.bring(angle.run))


def _root_moved(
    found: arb, function: Callable[[Number], Number], slope: Callable[[Number], Number]
) -> Dual:
    """The root with its gradient: dx/dp = -(df/dp)/(df/dx)."""
    there = Dual(found, {})
    moved = function(there).gradient
    return Dual(found, _scaled(moved, -1 / slope(there).value) if moved else {})


def _turned(y: Dual, x: Dual) -> Gradient:
    """The gradient of the angle of (x, y): (x dy - y dx) / (x^2 + y^2)."""
    if not x.gradient and not y.gradient:
        return {}
    square = x.value * x.value + y.value * y.value
    return _sum(_scaled(y.gradient, x.value / square), _scaled(x.gradient, -y.value / square))


def _lifted(x: Number) -> Dual:
    return x if isinstance(x, Dual) else Dual(_plain(x), {})


def _residual(b: Dual, row: Sequence[Dual], unknowns: Sequence[Dual]) -> Dual:
    for a, x in zip(row, unknowns, strict=True):
        b = b - a * x
    return b
