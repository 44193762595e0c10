"""Many cases of one form at once: columns of exact leaves, columns of balls.

Cases that differ in their numbers alone are solved together: a leaf is a :class:`Leaves`, a
number is a :class:`Balls`, and each operation is carried out case by case in one go. What a
ball encloses is what it encloses in :mod:`~refsolver.arithmetic.enclosure`; what is saved is
everything around the operations.

A decision must fall alike for all cases of a column. Where it does not, :class:`Parted` says
which cases belong together. Whatever a column cannot answer (is it zero, which is larger)
raises :class:`NotInColumns`, and each case is then solved by itself.
"""

from __future__ import annotations

import math
import operator
from collections.abc import Callable, Mapping, Sequence
from itertools import repeat
from typing import Any, NoReturn

import attrs
from flint import arb, arb_mat, fmpq

from refsolver.arithmetic.constants import constant
from refsolver.arithmetic.contract import Number
from refsolver.arithmetic.detached import exact_double
from refsolver.arithmetic.enclosure import evaluate
from refsolver.arithmetic.exact import Angle, Constant, Exact, Radian, Slope, Turn

__all__ = [
    "Balls",
    "Leaves",
    "ColumnArithmetic",
    "NotInColumns",
    "Parted",
    "at",
    "holds_columns",
    "subset",
]

_LARGEST_DENOMINATOR = 1 << 256


class NotInColumns(Exception):
    """Something that cannot be done to many cases at once; ``args`` say what."""


class Parted(Exception):
    """A decision that does not fall alike: which cases (positions) have which sign.

    Those under None are undecided.
    """

    def __init__(self, name: str, parts: Mapping[int | None, list[int]]) -> None:
        super().__init__(name)
        self.parts = parts


def _refused(*_: object) -> NoReturn:
    raise NotInColumns("an exact leaf was looked at")


@attrs.frozen(eq=False)
class Leaves:
    """An exact leaf of many cases: the numbers ``values`` times ``factor``, one a case.

    The values are whole numbers, or doubles (each the exact binary fraction that it is).
    Nothing can be asked of a column as a whole: comparing it raises NotInColumns.
    """

    values: Sequence[int] | Sequence[float]
    factor: fmpq

    @classmethod
    def of(cls, numbers: Sequence[fmpq]) -> Leaves | fmpq:
        """The column of these numbers; where they are all the same, that number itself.

        Raises NotInColumns where they have no common denominator of reasonable size.
        """
        first = numbers[0]
        if all(x == first for x in numbers):
            return first
        pairs = [(int(x.p), int(x.q)) for x in numbers]
        common = math.lcm(*{q for _, q in pairs})
        if common > _LARGEST_DENOMINATOR:
            raise NotInColumns("the denominators have too little in common")
        return cls([p * (common // q) for p, q in pairs], fmpq(1, common))

    def scaled(self, factor: fmpq) -> Leaves:
        return self if factor == 1 else Leaves(self.values, self.factor * factor)

    def number(self, position: int) -> fmpq:
        """The exact number of one case."""
        value = self.values[position]
        exact: fmpq = exact_double(value) if isinstance(value, float) else fmpq(value)
        return exact * self.factor

    def balls(self) -> Balls:
        items = list(map(arb, self.values))
        numerator, denominator = self.factor.p, self.factor.q
        if numerator != 1:
            items = [x * numerator for x in items]
        if denominator != 1:
            items = [x / denominator for x in items]
        return Balls(items)

    def __len__(self) -> int:
        return len(self.values)

    def __neg__(self) -> Leaves:
        return self.scaled(fmpq(-1))

    __eq__ = __ne__ = __lt__ = __le__ = __gt__ = __ge__ = _refused
    __hash__ = __bool__ = __abs__ = _refused
    __add__ = __radd__ = __sub__ = __rsub__ = __mul__ = __rmul__ = _refused
    __truediv__ = __rtruediv__ = __pow__ = __rpow__ = _refused


class Balls:
    """A number of many cases: one ball a case."""

    __slots__ = ("items",)

    def __init__(self, items: list[arb]) -> None:
        self.items = items

    def __add__(self, other: Number) -> Balls:
        return _both(operator.add, self, other)

    def __radd__(self, other: Number) -> Balls:
        return _both(operator.add, self, other)

    def __sub__(self, other: Number) -> Balls:
        return _both(operator.sub, self, other)

    def __rsub__(self, other: Number) -> Balls:
        return Balls([other - x for x in self.items])

    def __mul__(self, other: Number) -> Balls:
        return _both(operator.mul, self, other)

    def __rmul__(self, other: Number) -> Balls:
        return _both(operator.mul, self, other)

    def __truediv__(self, other: Number) -> Balls:
        return _both(operator.truediv, self, other)

    def __rtruediv__(self, other: Number) -> Balls:
        return Balls([other / x for x in self.items])

    def __neg__(self) -> Balls:
        return Balls(list(map(operator.neg, self.items)))

    __eq__ = __ne__ = __lt__ = __le__ = __gt__ = __ge__ = _refused
    __hash__ = __bool__ = __abs__ = _refused
    __pow__ = __rpow__ = _refused


def _both(operation: Callable[[Any, Any], arb], a: Balls, b: Number) -> Balls:
    return Balls(list(map(operation, a.items, b.items if type(b) is Balls else repeat(b))))


def _each(function: Callable[..., arb], *numbers: Number) -> Number:
    """The function of each case's numbers; of plain balls, a plain ball."""
    if not any(type(x) is Balls for x in numbers):
        return function(*numbers)
    return Balls(
        list(map(function, *(x.items if type(x) is Balls else repeat(x) for x in numbers)))
    )


def _root(x: arb) -> arb:
    if x < 0:
        raise ValueError("the root of a number proven negative was asked")
    return x.nonnegative_part().sqrt()


def _sign(x: arb) -> int | None:
    return 1 if x > 0 else -1 if x < 0 else 0 if x.is_zero() else None


class ColumnArithmetic:
    """Balls for many cases at once, at the precision in force. One instance serves one solve.

    A number is a :class:`Balls`, or a plain ball that all cases share.
    """

    takes_rationals = True
    proves = True

    def __init__(self) -> None:
        self.decisions: dict[str, int] = {}

    def apart(self) -> ColumnArithmetic:
        return ColumnArithmetic()

    def bring(self, x: Exact | Leaves) -> Number:
        if isinstance(x, Leaves):
            return x.balls()
        return constant(x, self) if isinstance(x, Constant) else evaluate(x)

    def cos_sin(self, angle: Angle) -> tuple[Number, Number]:
        if isinstance(angle, Slope):
            x, y = self.bring(angle.run), self.bring(angle.rise)
            length = self.sqrt(x * x + y * y)
            return x / length, y / length
        if isinstance(angle, Turn):
            turns: Any = angle.turns
            if not isinstance(turns, Leaves):
                sine, cosine = arb.sin_cos_pi_fmpq(2 * turns)
                return cosine, sine
            pairs = [x.sin_cos_pi() for x in turns.scaled(fmpq(2)).balls().items]
        else:
            radians = self.bring(angle.radians)
            if type(radians) is not Balls:
                sine, cosine = radians.sin_cos()
                return cosine, sine
            pairs = [x.sin_cos() for x in radians.items]
        return Balls([c for _, c in pairs]), Balls([s for s, _ in pairs])

    def radians(self, angle: Angle) -> Number:
        if isinstance(angle, Turn):
            return self.bring(angle.turns) * (arb.pi() * 2)
        if isinstance(angle, Radian):
            return self.bring(angle.radians)
        return self.atan2(self.bring(angle.rise), self.bring(angle.run), "")

    def pi(self) -> arb:
        return arb.pi()

    def sqrt(self, x: Number) -> Number:
        return _each(_root, x)

    def atan2(self, y: Number, x: Number, name: str) -> Number:
        """No sign is decided: a ball that touches the cut or the origin comes out too wide."""
        return _each(arb.atan2, y, x)

    def cos(self, x: Number) -> Number:
        return _each(arb.cos, x)

    def sin(self, x: Number) -> Number:
        return _each(arb.sin, x)

    def exp(self, x: Number) -> Number:
        return _each(arb.exp, x)

    def log(self, x: Number) -> Number:
        return _each(arb.log, x)

    def cosh(self, x: Number) -> Number:
        return _each(arb.cosh, x)

    def sinh(self, x: Number) -> Number:
        return _each(arb.sinh, x)

    def asinh(self, x: Number) -> Number:
        return _each(arb.asinh, x)

    def size(self, x: Number) -> Number:
        return _each(abs, x)

    def sign(self, x: Number, name: str) -> int:
        """The sign that all cases have. Raises Parted where they differ or some is open."""
        if type(x) is not Balls:
            sign = _sign(x)
            if sign is None:
                raise NotInColumns(f"{name}: undecided")
            self.decisions[name] = sign
            return sign
        signs = list(map(_sign, x.items))
        first = signs[0]
        if first is None or signs.count(first) != len(signs):
            parts: dict[int | None, list[int]] = {}
            for position, each in enumerate(signs):
                parts.setdefault(each, []).append(position)
            raise Parted(name, parts)
        self.decisions[name] = first
        return first

    def larger(self, a: Number, b: Number, name: str) -> Number:
        return a if self.sign(a - b, name) >= 0 else b

    def solve_linear(
        self, matrix: Sequence[Sequence[Number]], right: Sequence[Number], name: str
    ) -> list[Number]:
        columns = [x for row in (*matrix, right) for x in row if type(x) is Balls]
        if not columns:
            raise NotInColumns(f"{name}: nothing differs from case to case")
        found: list[list[arb]] = []
        parts: dict[int | None, list[int]] = {}
        for position in range(len(columns[0].items)):
            rows = [[at(x, position) for x in row] for row in matrix]
            side = [[at(x, position)] for x in right]
            try:
                solution = arb_mat(rows).solve(arb_mat(side), algorithm="lu")
            except ZeroDivisionError:
                parts.setdefault(None, []).append(position)
                continue
            parts.setdefault(1, []).append(position)
            found.append([solution[i, 0] for i in range(len(right))])
        if None in parts:
            raise Parted(name, parts)
        self.decisions[name] = 1
        return [Balls(list(unknown)) for unknown in zip(*found, strict=True)]

    def root(self, *_: object) -> NoReturn:
        raise NotInColumns("a root is enclosed case by case")

    def roots(self, *_: object) -> NoReturn:
        raise NotInColumns("roots are enclosed case by case")


def at(value: Any, position: int) -> Any:
    """One case of whatever holds columns: givens, or the value of an answer."""

    def one(x: Leaves | Balls) -> Any:
        return x.number(position) if isinstance(x, Leaves) else x.items[position]

    return _with_columns(value, one)


def subset(value: Any, positions: Sequence[int]) -> Any:
    """The cases at these positions, in columns again."""

    def some(x: Leaves | Balls) -> Any:
        if isinstance(x, Leaves):
            return Leaves([x.values[i] for i in positions], x.factor)
        return Balls([x.items[i] for i in positions])

    return _with_columns(value, some)


def holds_columns(value: Any) -> bool:
    """Whether a leaf (or whatever holds leaves) is different from case to case."""
    return _with_columns(value, lambda _: None) is not value


def _with_columns(value: Any, change: Callable[[Any], Any]) -> Any:
    """A copy in which every column is changed, whatever tables it lies in."""
    kind = type(value)
    if kind is Leaves or kind is Balls:
        return change(value)
    if kind is tuple or kind is list:
        items = [_with_columns(x, change) for x in value]
        same = all(x is y for x, y in zip(items, value, strict=True))
        return value if same else kind(items)
    if isinstance(value, Mapping):
        return {name: _with_columns(x, change) for name, x in value.items()}
    if not attrs.has(kind):
        return value
    old = {a.alias: getattr(value, a.name) for a in attrs.fields(kind) if a.init}
    new = {name: _with_columns(x, change) for name, x in old.items()}
    return kind(**new) if any(new[name] is not x for name, x in old.items()) else value
