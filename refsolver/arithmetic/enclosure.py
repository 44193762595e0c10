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

from refsolver.arithmetic.contract import Contradiction, Number, Singular, Undecided
from refsolver.arithmetic.exact import Angle, Exact, Radian, Turn

__all__ = ["EnclosureArithmetic", "evaluate"]

_TWO = fmpq(2)


def evaluate(x: Exact) -> arb:
    """An enclosure of an exact number at the present precision."""
    if isinstance(x, fmpq):
        return arb(x)
    return _CONSTANT[x.operation](*x.args)


def _cos_sin(angle: Angle) -> tuple[arb, arb]:
    if isinstance(angle, Turn):
        s, c = arb.sin_cos_pi_fmpq(_TWO * angle.turns)
        return c, s
    if isinstance(angle, Radian):
        s, c = evaluate(angle.radians).sin_cos()
        return c, s
    x, y = evaluate(angle.run), evaluate(angle.rise)
    if isinstance(angle.run, fmpq) and isinstance(angle.rise, fmpq):
        length = arb(angle.run * angle.run + angle.rise * angle.rise).sqrt()
    else:
        length = (x * x + y * y).sqrt()
    return x / length, y / length


def _tan(angle: Angle) -> arb:
    c, s = _cos_sin(angle)
    return s / c


def _power(base: Exact, exponent: Exact) -> arb:
    assert isinstance(exponent, fmpq)
    return evaluate(base) ** int(exponent.p)


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

    def __init__(self, replay: Mapping[str, int] | None = None) -> None:
        self.decisions: dict[str, int] = {}
        self._replay = replay or {}

    # An instance attribute look-up costs less than a method for what is called most.
    bring = staticmethod(evaluate)
    cos_sin = staticmethod(_cos_sin)

    def radians(self, angle: Angle) -> arb:
        if isinstance(angle, Turn):
            return arb.pi() * (_TWO * angle.turns)
        if isinstance(angle, Radian):
            return evaluate(angle.radians)
        return self.atan2(
            evaluate(angle.rise), evaluate(angle.run), f"slope {angle.rise}:{angle.run}"
        )

    def pi(self) -> arb:
        return arb.pi()

    def sqrt(self, x: arb) -> arb:
        # A sum of squares near zero may have a ball that dips below it.
        return x.nonnegative_part().sqrt()

    def atan2(self, y: arb, x: arb, name: str) -> arb:
        sx, sy = self.sign(x, f"{name}: x"), self.sign(y, f"{name}: y")
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
        if self._replay.get(name) == 0:
            raise Singular(name)
        try:
            solution = arb_mat(matrix).solve(arb_mat([[x] for x in right]), algorithm="lu")
        except ZeroDivisionError:
            raise Undecided(name, "no enclosure of the determinant excludes zero") from None
        self.decisions[name] = 1
        return [solution[i, 0] for i in range(len(right))]

    def root(
        self,
        function: Callable[[Number], Number],
        slope: Callable[[Number], Number],
        bracket: tuple[Exact, Exact],
        name: str,
    ) -> arb:
        return _proven_root(function, slope, bracket, name)


def _proven_root(
    function: Callable[[arb], arb],
    slope: Callable[[arb], arb],
    bracket: tuple[Exact, Exact],
    name: str,
) -> arb:
    """Bisection to a small bracket, then interval Newton until it no longer shrinks.

    The sign change over the bracket proves a root (Bolzano); N(I) inside I proves that I
    holds exactly one (Moore, Kearfott and Cloud, "Introduction to Interval Analysis",
    section 8.1). The slope must not vanish on the bracket for the root to be the only
    one there: a family chooses brackets that exclude trivial roots.
    """
    low, high = evaluate(bracket[0]), evaluate(bracket[1])
    at_low, at_high = function(low), function(high)
    if at_low.is_zero():
        return low
    if at_high.is_zero():
        return high
    if not ((at_low < 0 and at_high > 0) or (at_low > 0 and at_high < 0)):
        raise Undecided(name, "no change of sign over the bracket")
    rising = at_high > 0
    for _ in range(4000):
        box = low.union(high)
        gradient = slope(box)
        if not gradient.contains(0) and gradient.is_finite():
            middle = arb(box.mid())
            newton = middle - function(middle) / gradient
            if box.contains(newton):
                if 2 * newton.rad() >= box.rad():
                    return newton
                low, high = newton.lower(), newton.upper()
                continue
        middle = (low + high).mid() / 2
        value = function(middle)
        if (value > 0) == rising and (value > 0 or value < 0):
            high = middle
        elif value > 0 or value < 0:
            low = middle
        elif value.is_zero():
            return middle
        else:
            raise Undecided(name, "the bracket cannot be halved at this precision")
    raise Undecided(name, "no contraction within the step limit")
