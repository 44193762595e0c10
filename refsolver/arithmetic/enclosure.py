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
from itertools import pairwise

from flint import arb, arb_mat, ctx, fmpq

from refsolver.arithmetic.constants import whole_power
from refsolver.arithmetic.contract import Contradiction, Number, Singular, Undecided
from refsolver.arithmetic.exact import Angle, Exact, Radian, Turn
from refsolver.arithmetic.naming import root_decisions, slope_name

__all__ = ["EnclosureArithmetic", "evaluate", "proven_root", "proven_roots", "seen_sign"]

_TWO = fmpq(2)
_CLOSEST_BITS = 250


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
        found = proven_root(_wherever_decided(function), _wherever_decided(slope), bracket, name)
        self.decisions[name] = 1
        return found

    def roots(
        self,
        function: Callable[[Number], Number],
        slope: Callable[[Number], Number],
        bracket: tuple[Exact, Exact],
        name: str,
    ) -> list[arb]:
        found = proven_roots(_wherever_decided(function), _wherever_decided(slope), bracket, name)
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


def proven_root(
    function: Callable[[arb], arb],
    slope: Callable[[arb], arb],
    bracket: tuple[Exact, Exact],
    name: str,
) -> arb:
    """Bisection to a small bracket, then interval Newton until it no longer shrinks.

    The sign change over the bracket proves a root (Bolzano); N(I) inside I proves that I
    holds exactly one (Moore, Kearfott and Cloud, "Introduction to Interval Analysis",
    section 8.1). The slope must not vanish on the bracket for the root to be the only
    one there: a family chooses brackets that exclude trivial roots. A root exactly at an
    end, where a trivial one is most likely, is accepted only with a proof of that.
    """
    low, high = evaluate(bracket[0]), evaluate(bracket[1])
    at_low, at_high = function(low), function(high)
    if at_low.is_zero() or at_high.is_zero():
        if not _keeps_its_sign(slope, low, high, pieces=64):
            raise Undecided(name, "a root at the end of the bracket may not be the only one")
        return low if at_low.is_zero() else high
    if not ((at_low < 0 and at_high > 0) or (at_low > 0 and at_high < 0)):
        raise Undecided(name, "no change of sign over the bracket")
    return _enclosed(function, slope, low, high, bool(at_high > 0), name)


def proven_roots(
    function: Callable[[arb], arb],
    slope: Callable[[arb], arb],
    bracket: tuple[Exact, Exact],
    name: str,
) -> list[arb]:
    """All roots strictly inside the bracket, in order.

    The bracket is divided at points where the function's sign is proven, until on each cell
    the function or its slope is proven not to vanish; a cell of the second sort holds one
    root or none, as the signs at its ends say (Moore, Kearfott and Cloud, "Introduction to
    Interval Analysis", section 8.1). An end of the bracket may be a root proven exactly; it
    lies outside.
    """
    low, high = evaluate(bracket[0]), evaluate(bracket[1])
    ends = (function(low), function(high))
    for value in ends:
        if not (value > 0 or value < 0 or value.is_zero()):
            raise Undecided(name, "a root may lie at an end of the bracket")
    found: list[arb] = []
    cells = [(low, high, *ends)]
    # Roots closer than this are given up whatever the precision: they may well be one.
    least = (high - low) * arb(2) ** -_CLOSEST_BITS
    for _ in range(20_000):
        if not cells:
            return found
        left, right, at_left, at_right = cells.pop()
        box = left.union(right)
        value = function(box)
        if value > 0 or value < 0:
            continue
        gradient = slope(box)
        if gradient > 0 or gradient < 0:
            if (at_left < 0 and at_right > 0) or (at_left > 0 and at_right < 0):
                found.append(_enclosed(function, slope, left, right, bool(at_right > 0), name))
            continue
        if right - left < least:
            raise Undecided(name, "roots too close together, or one where the slope vanishes")
        point, at_point = _signed_point(function, left, right, name)
        cells += [(point, right, at_point, at_right), (left, point, at_left, at_point)]
    raise Undecided(name, "too many cells: a root where the slope vanishes, perhaps")


def _signed_point(
    function: Callable[[arb], arb], low: arb, high: arb, name: str
) -> tuple[arb, arb]:
    """A point well inside the cell that is proven to be no root, and the value there."""
    for share in (fmpq(1, 2), fmpq(3, 8), fmpq(5, 8)):
        point = (low + (high - low) * share).mid()
        value = function(point)
        if (value > 0 or value < 0) and low < point < high:
            return point, value
    raise Undecided(name, "roots too close together, or one where the slope vanishes")


def _enclosed(
    function: Callable[[arb], arb],
    slope: Callable[[arb], arb],
    low: arb,
    high: arb,
    rising: bool,
    name: str,
) -> arb:
    """The root between two points of proven opposite signs, by bisection and Newton."""
    for _ in range(4000):
        box = low.union(high)
        newton = _newton(function, slope, box)
        if newton is not None and box.contains(newton):
            return _narrowed(function, slope, newton, name)
        point, value = _decided_point(function, low, high, name)
        if value.is_zero():
            return point
        if (value > 0) == rising:
            high = point
        else:
            low = point
    raise Undecided(name, "no contraction within the step limit")


def _newton(function: Callable[[arb], arb], slope: Callable[[arb], arb], box: arb) -> arb | None:
    """The interval Newton step from the box; None where the slope may vanish on it."""
    gradient = slope(box)
    if gradient.contains(0) or not gradient.is_finite():
        return None
    middle = box.mid()
    return middle - function(middle) / gradient


def _narrowed(
    function: Callable[[arb], arb], slope: Callable[[arb], arb], proven: arb, name: str
) -> arb:
    """The ball around a root proven to be the only one in it, as narrow as precision allows.

    Every step keeps the root, so that rounding, which in the end moves a step by as much
    as its width, can no longer undo the proof. A step that loses the root shows that
    ``slope`` is not the derivative, on which the proof rests: ValueError.
    """
    # A root that is exactly zero could be narrowed for ever; more precision is asked for then.
    least = proven.rad() * arb(2) ** (-2 * ctx.prec)
    for _ in range(ctx.prec):
        newton = _newton(function, slope, proven)
        if newton is None or not newton.is_finite():
            break
        if not proven.overlaps(newton):
            raise ValueError(f"{name}: the slope is not the derivative of the function")
        narrower = proven.intersection(newton)
        enough = 2 * narrower.rad() >= proven.rad()
        if narrower.rad() < proven.rad():
            proven = narrower
        if enough or proven.rad() < least:
            break
    if not function(proven).contains(0):
        raise ValueError(f"{name}: the slope is not the derivative of the function")
    return proven


def _decided_point(
    function: Callable[[arb], arb], low: arb, high: arb, name: str
) -> tuple[arb, arb]:
    """A point well inside the bracket, and the value there with a decided sign.

    The middle first; off the middle where the root lies so near it that no precision tells.
    """
    for share in (fmpq(1, 2), fmpq(3, 8), fmpq(5, 8)):
        point = (low + (high - low) * share).mid()
        value = function(point)
        if value > 0 or value < 0 or value.is_zero():
            return point, value
    raise Undecided(name, "the bracket cannot be divided at this precision")


def _keeps_its_sign(slope: Callable[[arb], arb], low: arb, high: arb, pieces: int) -> bool:
    """Whether the slope is proven not to vanish on [low, high], cut into equal pieces."""
    ends = [low + (high - low) * fmpq(i, pieces) for i in range(pieces + 1)]
    values = [slope(a.union(b)) for a, b in pairwise(ends)]
    return all(v > 0 for v in values) or all(v < 0 for v in values)
