"""The strict arithmetic: the enclosure arithmetic behind numbers that refuse to be misused.

A raw ball takes a float without a word, compares, and turns into a bool; each of these has
put an unproven figure into a "proven" result. A strict number refuses them all with a
sentence that says what to do instead. It costs about twice the time, and so it runs in
tests and in the self-check, over every case, not in production.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import NoReturn

from flint import arb, fmpq

from refsolver.arithmetic.contract import Number
from refsolver.arithmetic.enclosure import EnclosureArithmetic
from refsolver.arithmetic.exact import Angle, Constant, Exact, Radian, Slope, Turn

__all__ = ["StrictArithmetic", "StrictNumber"]

_ADVICE: dict[type, str] = {
    bool: "a truth value is not a number: choose between two numbers with if and else",
    float: "a float is rounded: write a rational, or bring() the exact value",
    complex: "a complex number is made of floats: keep two real numbers",
    str: "text is not a number: read it into an exact leaf and bring() that",
    arb: "a raw ball escapes every check: take it from a function of the arithmetic",
}

_COMPARE = (
    "numbers are not compared: ask sign(a - b, name) or larger(a, b, name), which prove the "
    "answer and log it"
)
_EQUAL = "numbers are not tested for equality: ask sign(a - b, name) == 0, which proves it"
_TRUTH = "a number is neither true nor false: ask sign(x, name) == 0 to learn whether it is zero"
_HASH = "a number is no key: use the name or the index of what it belongs to"
_SIZE = "abs() is not used on a number: use size(x)"
_POWER = "** is not used on a number: multiply, or take sqrt(x)"
_CONVERT = "a number does not leave its arithmetic as a float or an integer: hand it on as it is"
_ROUND = "//, % and rounding are not continuous: decide with sign(x, name) or do it on the leaf"


def _refusal(advice: str) -> Callable[..., NoReturn]:
    def refuse(*_: object) -> NoReturn:
        raise TypeError(advice)

    return refuse


class StrictNumber:
    """A ball that takes part in ``+ - * /`` with its own kind, ``int`` and ``fmpq`` only."""

    __slots__ = ("ball",)
    # Keeps numpy from taking the operation over element by element.
    __array_ufunc__ = None

    def __init__(self, ball: arb) -> None:
        self.ball = ball

    def __repr__(self) -> str:
        return f"StrictNumber({self.ball})"

    def __add__(self, other: object) -> StrictNumber:
        right = other.ball if type(other) is StrictNumber else _operand(other)
        return StrictNumber(self.ball + right)

    __radd__ = __add__

    def __sub__(self, other: object) -> StrictNumber:
        right = other.ball if type(other) is StrictNumber else _operand(other)
        return StrictNumber(self.ball - right)

    def __rsub__(self, other: object) -> StrictNumber:
        return StrictNumber(_operand(other) - self.ball)

    def __mul__(self, other: object) -> StrictNumber:
        right = other.ball if type(other) is StrictNumber else _operand(other)
        return StrictNumber(self.ball * right)

    __rmul__ = __mul__

    def __truediv__(self, other: object) -> StrictNumber:
        right = other.ball if type(other) is StrictNumber else _operand(other)
        return StrictNumber(self.ball / _divisor(right))

    def __rtruediv__(self, other: object) -> StrictNumber:
        return StrictNumber(_operand(other) / _divisor(self.ball))

    def __neg__(self) -> StrictNumber:
        return StrictNumber(-self.ball)

    __lt__ = __le__ = __gt__ = __ge__ = _refusal(_COMPARE)
    __eq__ = __ne__ = _refusal(_EQUAL)
    __hash__ = _refusal(_HASH)
    __bool__ = _refusal(_TRUTH)
    __abs__ = _refusal(_SIZE)
    __pow__ = __rpow__ = _refusal(_POWER)
    __float__ = __int__ = __index__ = __complex__ = _refusal(_CONVERT)
    __mod__ = __rmod__ = __floordiv__ = __rfloordiv__ = _refusal(_ROUND)
    __divmod__ = __rdivmod__ = _refusal(_ROUND)
    __round__ = __trunc__ = __floor__ = __ceil__ = _refusal(_ROUND)


def _operand(x: object) -> arb:
    if isinstance(x, StrictNumber):
        return x.ball
    if type(x) is int or isinstance(x, fmpq):
        return arb(x)
    raise TypeError(f"{x!r} does not mix with a number: {_advice(x)}")


def _divisor(ball: arb) -> arb:
    if ball.is_zero():
        raise ZeroDivisionError("division by a number that is exactly zero")
    return ball


def _ball(x: object, where: str) -> arb:
    """The ball of a number handed to a function, which takes no plain integers."""
    if isinstance(x, StrictNumber):
        return x.ball
    raise TypeError(f"{where} takes numbers of its own arithmetic, not {x!r}: {_advice(x)}")


def _advice(x: object) -> str:
    for kind, advice in _ADVICE.items():
        if isinstance(x, kind):
            return advice
    return "make it an exact leaf and bring() it"


def _exact(x: object, where: str) -> None:
    if isinstance(x, Constant):
        for arg in x.args:
            _leaf(arg, where)
    elif not isinstance(x, fmpq):
        raise TypeError(f"{where} takes an exact number, not {x!r}: use exact.rational()")


def _angle(x: object, where: str) -> None:
    if isinstance(x, Turn):
        _exact(x.turns, where)
    elif isinstance(x, Radian):
        _exact(x.radians, where)
    elif isinstance(x, Slope):
        _exact(x.rise, where)
        _exact(x.run, where)
    else:
        raise TypeError(f"{where} takes an exact angle, not {x!r}: use Turn, Radian or Slope")


def _leaf(x: object, where: str) -> None:
    check = _angle if isinstance(x, Turn | Radian | Slope) else _exact
    check(x, where)


class StrictArithmetic:
    """The enclosure arithmetic with every misuse of a number or of a name refused.

    Functions take only :class:`StrictNumber` (a matrix may hold integers and rationals
    too) and raise TypeError otherwise. A decision name asked again for a number proven to
    be another, or for another kind of decision, raises ValueError. Undecided,
    Contradiction and Singular are as in the enclosure arithmetic.
    """

    takes_rationals = True
    proves = False

    def __init__(self, replay: Mapping[str, int] | None = None) -> None:
        self._balls = EnclosureArithmetic(replay)
        self.decisions = self._balls.decisions
        self._asked: dict[str, tuple[str, list[arb]]] = {}

    def apart(self) -> StrictArithmetic:
        return StrictArithmetic()

    def bring(self, x: Exact) -> StrictNumber:
        _exact(x, "bring")
        return StrictNumber(self._balls.bring(x))

    def cos_sin(self, angle: Angle) -> tuple[StrictNumber, StrictNumber]:
        _angle(angle, "cos_sin")
        c, s = self._balls.cos_sin(angle)
        return StrictNumber(c), StrictNumber(s)

    def radians(self, angle: Angle) -> StrictNumber:
        _angle(angle, "radians")
        return StrictNumber(self._balls.radians(angle))

    def pi(self) -> StrictNumber:
        return StrictNumber(self._balls.pi())

    def sqrt(self, x: Number) -> StrictNumber:
        return StrictNumber(self._balls.sqrt(_ball(x, "sqrt")))

    def atan2(self, y: Number, x: Number, name: str) -> StrictNumber:
        ball_y, ball_x = _ball(y, "atan2"), _ball(x, "atan2")
        self._once(f"{name}: x", "sign", [ball_x])
        self._once(f"{name}: y", "sign", [ball_y])
        return StrictNumber(self._balls.atan2(ball_y, ball_x, name))

    def cos(self, x: Number) -> StrictNumber:
        return StrictNumber(self._balls.cos(_ball(x, "cos")))

    def sin(self, x: Number) -> StrictNumber:
        return StrictNumber(self._balls.sin(_ball(x, "sin")))

    def exp(self, x: Number) -> StrictNumber:
        return StrictNumber(self._balls.exp(_ball(x, "exp")))

    def log(self, x: Number) -> StrictNumber:
        return StrictNumber(self._balls.log(_ball(x, "log")))

    def cosh(self, x: Number) -> StrictNumber:
        return StrictNumber(self._balls.cosh(_ball(x, "cosh")))

    def sinh(self, x: Number) -> StrictNumber:
        return StrictNumber(self._balls.sinh(_ball(x, "sinh")))

    def asinh(self, x: Number) -> StrictNumber:
        return StrictNumber(self._balls.asinh(_ball(x, "asinh")))

    def size(self, x: Number) -> StrictNumber:
        return StrictNumber(self._balls.size(_ball(x, "size")))

    def sign(self, x: Number, name: str) -> int:
        ball = _ball(x, "sign")
        self._once(name, "sign", [ball])
        return self._balls.sign(ball, name)

    def larger(self, a: Number, b: Number, name: str) -> StrictNumber:
        ball_a, ball_b = _ball(a, "larger"), _ball(b, "larger")
        self._once(name, "sign", [ball_a - ball_b])
        return StrictNumber(self._balls.larger(ball_a, ball_b, name))

    def solve_linear(
        self, matrix: Sequence[Sequence[Number]], right: Sequence[Number], name: str
    ) -> list[StrictNumber]:
        rows = [[_operand(x) for x in row] for row in matrix]
        column = [_operand(x) for x in right]
        if any(len(row) != len(rows) for row in rows) or len(column) != len(rows):
            raise ValueError(f"{name}: as many equations as unknowns are needed")
        self._once(name, "system", [x for row in rows for x in row])
        return [StrictNumber(x) for x in self._balls.solve_linear(rows, column, name)]

    def root(
        self,
        function: Callable[[Number], Number],
        slope: Callable[[Number], Number],
        bracket: tuple[Exact, Exact],
        name: str,
    ) -> StrictNumber:
        for end in bracket:
            _exact(end, f"the bracket of {name}")
        found = self._balls.root(
            lambda x: _ball(function(StrictNumber(x)), "root: the function"),
            lambda x: _ball(slope(StrictNumber(x)), "root: the slope"),
            bracket,
            name,
        )
        self._once(name, "root", [found])
        return StrictNumber(found)

    def roots(
        self,
        function: Callable[[Number], Number],
        slope: Callable[[Number], Number],
        bracket: tuple[Exact, Exact],
        name: str,
    ) -> list[StrictNumber]:
        for end in bracket:
            _exact(end, f"the bracket of {name}")
        found = self._balls.roots(
            lambda x: _ball(function(StrictNumber(x)), "roots: the function"),
            lambda x: _ball(slope(StrictNumber(x)), "roots: the slope"),
            bracket,
            name,
        )
        self._once(name, "roots", found)
        return [StrictNumber(x) for x in found]

    def _once(self, name: str, what: str, balls: list[arb]) -> None:
        """Refuses a name that already stands for another number.

        Balls that do not overlap hold different numbers for certain; overlapping ones are
        taken for the same.
        """
        if not isinstance(name, str) or not name:
            raise TypeError("a decision needs a name in words")
        before, numbers = self._asked.setdefault(name, (what, balls))
        same = len(numbers) == len(balls) and all(
            a.overlaps(b) for a, b in zip(numbers, balls, strict=True)
        )
        if before != what or not same:
            raise ValueError(
                f"the name {name!r} already stands for another decision: name the member or joint"
            )
