"""The production arithmetic: raw python-flint balls with guarded functions.

A number is an ``arb``: a midpoint and a radius, every operation rounded outward, so the
true value of the same expression always lies inside (F. Johansson, "Arb: efficient
arbitrary-precision midpoint-radius interval arithmetic", IEEE Trans. Computers 66, 2017).
The working precision is global to the process (``flint.ctx``); only the prover sets it,
and everything that must keep it is evaluated inside the prover.

For: rigorous and 1.1 to 2 times the cost of a hand-written kernel. Against: it can prove
a sign but never a zero; that is the algebraic arithmetic's task. It also trusts its
caller not to mix in floats or compare balls; the strict arithmetic checks that.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from flint import arb, arb_mat, fmpq

from refsolver.arithmetic.constants import whole_power
from refsolver.arithmetic.contract import Contradiction, Number, Singular, Undecided
from refsolver.arithmetic.exact import Angle, Exact, Radian, Turn
from refsolver.arithmetic.naming import root_decisions, slope_name
from refsolver.arithmetic.root_search import proven_root, proven_roots

__all__ = ["EnclosureArithmetic", "evaluate", "seen_sign"]

_TWO = fmpq(2)


def evaluate(x: Exact) -> arb:
    """An enclosure of an exact number at the present precision."""
    if isinstance(x, fmpq):
        return arb(x)
    return _CONSTANT[x.operation](*x.args)


def seen_sign(x: Exact) -> int | None:
    """The sign of an exact number, or None where a ball does not show it.

    Always that of a rational. For refusing givens when a case is read; what a solve decides
    goes through ``sign``.
    """
    ball = x if isinstance(x, fmpq) else evaluate(x)
    if bool(ball > 0):
        return 1
    return -1 if bool(ball < 0) else (0 if isinstance(x, fmpq) else None)


def _cos_sin(angle: Angle) -> tuple[arb, arb]:
    if isinstance(angle, Turn):
        s, c = arb.sin_cos_pi_fmpq(_TWO * angle.turns)
        return c, s
    if isinstance(angle, Radian):
        s, c = evaluate(angle.radians).sin_cos()
        return c, s
    run, rise = angle.run, angle.rise
    if isinstance(run, fmpq) and isinstance(rise, fmpq):
        # Small whole numbers are exact in a ball, so 0 and 1 come out exact.
        across, along = rise.p * run.q, run.p * rise.q
        shared = along.gcd(across) or 1
        x, y = arb(along // shared), arb(across // shared)
    else:
        x, y = evaluate(run), evaluate(rise)
    length = (x * x + y * y).sqrt()
    return x / length, y / length


def _tan(angle: Angle) -> arb:
    c, s = _cos_sin(angle)
    return s / c


def _power(base: Exact, exponent: Exact) -> arb:
    # Not arb ** int, which gives nan where the ball holds zero.
    return arb(whole_power(evaluate(base), exponent))


_CONSTANT: dict[str, Callable[..., arb]] = {
    "sum": lambda a, b: evaluate(a) + evaluate(b),
    "product": lambda a, b: evaluate(a) * evaluate(b),
    "quotient": lambda a, b: evaluate(a) / evaluate(b),
    "power": _power,
    "sqrt": lambda a: evaluate(a).sqrt(),
    "pi": arb.pi,
    "sin": lambda a: _cos_sin(a)[1],
    "cos": lambda a: _cos_sin(a)[0],
    "tan": _tan,
    "exp": lambda a: evaluate(a).exp(),
    "ln": lambda a: evaluate(a).log(),
}


class EnclosureArithmetic:
    """Balls at the precision in force. One instance serves one solve.

    ``replay`` holds decisions already proven elsewhere; they are believed, except that a
    ball which proves the opposite raises Contradiction.
    """

    takes_rationals = True
    proves = True

    def __init__(self, replay: Mapping[str, int] | None = None) -> None:
        self.decisions: dict[str, int] = {}
        self._replay = replay or {}

    # An instance attribute look-up costs less than a method for what is called most.
    bring = staticmethod(evaluate)
    cos_sin = staticmethod(_cos_sin)

    def apart(self) -> EnclosureArithmetic:
        return EnclosureArithmetic()

    def radians(self, angle: Angle) -> arb:
        if isinstance(angle, Turn):
            return arb.pi() * (_TWO * angle.turns)
        if isinstance(angle, Radian):
            return evaluate(angle.radians)
        return self.atan2(evaluate(angle.rise), evaluate(angle.run), slope_name(angle))

    def pi(self) -> arb:
        return arb.pi()

    def sqrt(self, x: arb) -> arb:
        if x < 0:
            raise ValueError("the root of a number proven negative was asked")
        # A sum of squares near zero may have a ball that dips below it.
        return x.nonnegative_part().sqrt()

    def atan2(self, y: arb, x: arb, name: str) -> arb:
        sx, sy = self.sign(x, f"{name}: x"), self.sign(y, f"{name}: y")
        if sy == 0 and sx == 0:
            raise ValueError(f"{name}: the zero vector has no direction")
        if sy == 0:
            return arb(0) if sx > 0 else arb.pi()
        if sx == 0:
            return arb.pi() / (2 * sy)
        return arb.atan2(y, x)

    def cos(self, x: arb) -> arb:
        return x.cos()

    def sin(self, x: arb) -> arb:
        return x.sin()

    def exp(self, x: arb) -> arb:
        return x.exp()

    def log(self, x: arb) -> arb:
        return x.log()

    def cosh(self, x: arb) -> arb:
        return x.cosh()

    def sinh(self, x: arb) -> arb:
        return x.sinh()

    def asinh(self, x: arb) -> arb:
        return x.asinh()

    def size(self, x: arb) -> arb:
        return abs(x)

    def sign(self, x: arb, name: str) -> int:
        if x > 0:
            seen = 1
        elif x < 0:
            seen = -1
        elif x.is_zero():
            seen = 0
        else:
            if x.is_nan():
                raise Undecided(name, "not a number at this precision")
            if name not in self._replay:
                raise Undecided(name)
            self.decisions[name] = self._replay[name]
            return self._replay[name]
        if self._replay.get(name, seen) != seen:
            raise Contradiction(name, self._replay[name], f"proven {seen:+d}")
        self.decisions[name] = seen
        return seen

    def larger(self, a: arb, b: arb, name: str) -> arb:
        return a if self.sign(a - b, name) >= 0 else b

    def solve_linear(
        self, matrix: Sequence[Sequence[arb]], right: Sequence[arb], name: str
    ) -> list[arb]:
        try:
            solution = arb_mat(matrix).solve(arb_mat([[x] for x in right]), algorithm="lu")
        except ZeroDivisionError:
            if self._replay.get(name) == 0:
                self.decisions[name] = 0
                raise Singular(name) from None
            raise Undecided(name, "no enclosure of the determinant excludes zero") from None
        if self._replay.get(name) == 0:
            raise Contradiction(name, 0, "proven regular")
        self.decisions[name] = 1
        return [solution[i, 0] for i in range(len(right))]

    def root(
        self,
        function: Callable[[Number], Number],
        slope: Callable[[Number], Number],
        bracket: tuple[Exact, Exact],
        name: str,
    ) -> arb:
        ends = evaluate(bracket[0]), evaluate(bracket[1])
        found = proven_root(_wherever_decided(function), _wherever_decided(slope), ends, name)
        self.decisions[name] = 1
        return found

    def roots(
        self,
        function: Callable[[Number], Number],
        slope: Callable[[Number], Number],
        bracket: tuple[Exact, Exact],
        name: str,
    ) -> list[arb]:
        ends = evaluate(bracket[0]), evaluate(bracket[1])
        found = proven_roots(_wherever_decided(function), _wherever_decided(slope), ends, name)
        self.decisions.update(root_decisions(name, len(found)))
        return found


def _wherever_decided(function: Callable[[arb], arb]) -> Callable[[arb], arb]:
    """The function, not a number where a decision inside it cannot be taken."""

    def on_ball(x: arb) -> arb:
        try:
            return function(x)
        except Undecided:
            return arb.nan()

    return on_ball
