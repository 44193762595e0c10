"""A number of the algebraic arithmetic, and the two proofs that one is zero.

A number carries, beside its ball, what is known of all its conjugates
(:class:`~refsolver.arithmetic.separation.Bounds`) and how it was made
(:class:`~refsolver.arithmetic.terms.Expression`). Rational numbers are plain
:data:`~refsolver.arithmetic.exact.Rational` and stay exact.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from types import NotImplementedType
from typing import Any, TypeAlias

from flint import arb, ctx, fmpq

from refsolver.arithmetic.contract import Number, Undecided
from refsolver.arithmetic.separation import Bounds, Radical, square_part
from refsolver.arithmetic.terms import (
    Atoms,
    Expression,
    flattened,
    operands,
    post_order,
    sum_of,
)

__all__ = [
    "AlgebraicNumber",
    "Radicals",
    "Real",
    "Unseparated",
    "as_real",
    "ball_of",
    "bits_to_settle",
    "needed_bits",
    "proves_zero",
    "surd",
    "within_bound",
]

_GUARD_BITS = 16


class Unseparated(Undecided):
    """Undecided, and ``needed_bits`` of working precision should decide (None: no bound)."""

    def __init__(self, name: str, needed_bits: int | None) -> None:
        wish = "no separation bound" if needed_bits is None else f"needs {needed_bits} bits"
        super().__init__(name, wish)
        self.needed_bits = needed_bits


class AlgebraicNumber(Expression):
    """An irrational number: ball, origin and bounds. Made by an arithmetic, not by hand.

    ``algebraic`` is False where the number is not known to be algebraic; it has no bounds
    then. ``square`` is the square of this number where it has a simpler form: a rational
    for a rational multiple of the root of a rational; x for sqrt(x), which is then known
    not to be negative.
    """

    __slots__ = ("_bounds", "algebraic", "ball", "square")

    def __init__(
        self, ball: arb, algebraic: bool, made: tuple[Any, ...], square: Real | None = None
    ) -> None:
        self.made = made
        self.flat = None
        self.ball = ball
        self.algebraic = algebraic
        self.square = square
        self._bounds: Bounds | None = None

    @property
    def bounds(self) -> Bounds:
        """What is known of the conjugates; derived when first asked for, which is seldom."""
        if self._bounds is None:
            for x in post_order(self, _without_bounds):
                assert isinstance(x, AlgebraicNumber)
                x._bounds = _DERIVATION[x.made[0]](x)
            assert self._bounds is not None
        return self._bounds

    def __repr__(self) -> str:
        kind = "algebraic" if self.algebraic else "not known to be algebraic"
        return f"AlgebraicNumber({self.ball}, {kind})"

    def __add__(self, other: object) -> Real | NotImplementedType:
        if isinstance(other, AlgebraicNumber):
            made = sum_of((self, 1), (other, 1))
            algebraic = self.algebraic and other.algebraic
            return AlgebraicNumber(self.ball + other.ball, algebraic, made)
        q = _rational(other)
        if q is None:
            return NotImplemented
        made = sum_of((self, 1), constant=q)
        return AlgebraicNumber(self.ball + q, self.algebraic, made) if q else self

    __radd__ = __add__

    def __neg__(self) -> AlgebraicNumber:
        made = sum_of((self, -1))
        return AlgebraicNumber(-self.ball, self.algebraic, made, _rational(self.square))

    def __sub__(self, other: object) -> Real | NotImplementedType:
        if isinstance(other, AlgebraicNumber):
            made = sum_of((self, 1), (other, -1))
            algebraic = self.algebraic and other.algebraic
            return AlgebraicNumber(self.ball - other.ball, algebraic, made)
        q = _rational(other)
        return NotImplemented if q is None else self + -q

    def __rsub__(self, other: object) -> Real | NotImplementedType:
        return (-self) + other

    def __mul__(self, other: object) -> Real | NotImplementedType:
        if isinstance(other, AlgebraicNumber):
            return _product(self, other)
        q = _rational(other)
        if q is None:
            return NotImplemented
        if not q:
            return q
        square = _rational(self.square)
        if square is not None:
            square = square * q * q
        return AlgebraicNumber(self.ball * q, self.algebraic, sum_of((self, q)), square)

    __rmul__ = __mul__

    def __truediv__(self, other: object) -> Real | NotImplementedType:
        if isinstance(other, AlgebraicNumber):
            return _quotient(self, other)
        q = _rational(other)
        return NotImplemented if q is None else self * (1 / q)

    def __rtruediv__(self, other: object) -> Real | NotImplementedType:
        q = _rational(other)
        return NotImplemented if q is None else _quotient(q, self)


Real: TypeAlias = AlgebraicNumber | fmpq


class Radicals:
    """The roots of irrational numbers taken in one solve, each known by one radical."""

    def __init__(self, atoms: Atoms) -> None:
        self._atoms = atoms
        self._known: dict[int, Radical] = {}

    def of(self, x: AlgebraicNumber) -> Radical:
        """The radical of sqrt(x), shared by all rational multiples of this root."""
        _, atom = self._atoms.root_term(x)
        return self._known.setdefault(atom, Radical())


def ball_of(x: Number) -> arb:
    """The enclosure of a number of the algebraic arithmetic."""
    return x.ball if isinstance(x, AlgebraicNumber) else arb(x)


def as_real(x: Number) -> Real:
    """A number as a family hands it in; an int becomes a rational."""
    if isinstance(x, AlgebraicNumber):
        return x
    q = _rational(x)
    if q is None:
        raise TypeError(f"a number of the algebraic arithmetic is needed, not {x!r}")
    return q


def surd(square: fmpq, positive: bool) -> Real:
    """The root of a positive rational, or its negative."""
    p, q = int(square.p), int(square.q)
    m, d = square_part(p * q)
    coefficient = fmpq(m if positive else -m, q)
    if d == 1:
        return coefficient
    made = ("surd", coefficient, d)
    return AlgebraicNumber(arb(d).sqrt() * coefficient, True, made, square)


def proves_zero(x: Real, atoms: Atoms) -> bool:
    """Whether x = 0 is proven, by cancellation of like terms or by its separation bound.

    The ball of a number proven zero becomes exact, so that what is made of it profits.
    """
    if isinstance(x, fmpq):
        return bool(x == 0)
    inner = _without_root(x)
    if not inner.ball.contains(0):
        return False
    if not (inner.ball.is_zero() or atoms.cancels(inner) or _settled(inner)):
        return False
    x.ball = inner.ball = arb()
    return True


def bits_to_settle(numbers: Sequence[Real]) -> int | None:
    """The precision at which the algebraic numbers inside these are proven zero or not.

    None where all of them are settled already: no precision is known to help.
    """
    inside = {
        _without_root(x)
        for number in numbers
        if isinstance(number, AlgebraicNumber)
        for x in post_order(number, _operands_of_opaque)
        if isinstance(x, AlgebraicNumber)
    }
    needs = [needed_bits(x.ball, x.bounds) for x in inside if x.algebraic and not _settled(x)]
    return max(needs, default=None)


def within_bound(ball: arb, bounds: Bounds) -> bool:
    """Whether a number with these bounds, lying in this ball, can only be zero."""
    if ball.is_zero():
        return True
    return bool(ball.is_finite()) and _magnitude(ball) <= -bounds.separation


def needed_bits(ball: arb, bounds: Bounds) -> int:
    """The precision that should narrow ``ball`` to the separation bound.

    Widths shrink with the precision, bit for bit; the guard covers roots of numbers that
    may be zero, whose balls shrink half as fast.
    """
    bits = int(ctx.prec)
    if not ball.is_finite():
        return 2 * bits
    shortfall = max(0, _magnitude(ball) + bounds.separation)
    return bits + shortfall + shortfall // 16 + _GUARD_BITS


def _rational(x: object) -> fmpq | None:
    if isinstance(x, fmpq):
        return x
    return fmpq(x) if type(x) is int else None


def _product(x: AlgebraicNumber, y: AlgebraicNumber) -> Real:
    if isinstance(x.square, fmpq) and isinstance(y.square, fmpq):
        return surd(x.square * y.square, (x.ball > 0) is (y.ball > 0))
    if x is y and x.square is not None:
        return x.square
    algebraic = x.algebraic and y.algebraic
    if not algebraic and (proves_zero(x, Atoms()) or proves_zero(y, Atoms())):
        return fmpq()
    return AlgebraicNumber(x.ball * y.ball, algebraic, ("*", x, y))


def _quotient(x: Real, y: AlgebraicNumber) -> Real:
    if isinstance(y.square, fmpq):
        return x * (y * (1 / y.square))
    _refuse_zero(y)
    algebraic = y.algebraic and (isinstance(x, fmpq) or x.algebraic)
    if (isinstance(x, fmpq) or not algebraic) and proves_zero(x, Atoms()):
        return fmpq()
    return AlgebraicNumber(ball_of(x) / y.ball, algebraic, ("/", x, y))


def _refuse_zero(divisor: AlgebraicNumber) -> None:
    if not divisor.ball.contains(0):
        return
    if proves_zero(divisor, Atoms()):
        raise ZeroDivisionError("division by a number that is proven zero")
    raise Unseparated("whether a divisor is zero", bits_to_settle([divisor]))


def _settled(x: AlgebraicNumber) -> bool:
    """Whether the ball, with the bounds, tells if x is zero."""
    if x.ball.is_zero() or not x.ball.contains(0):
        return True
    return x.algebraic and within_bound(x.ball, x.bounds)


def _without_root(x: AlgebraicNumber) -> AlgebraicNumber:
    """The number under the roots x was made by: zero with x, and known twice as well."""
    while isinstance(x.square, AlgebraicNumber):
        x = x.square
    return x


def _magnitude(ball: arb) -> int:
    """An exponent e such that all of the (finite) ball lies strictly within 2^e of zero."""
    mantissa, exponent = ball.abs_upper().man_exp()
    return int(exponent) + int(mantissa).bit_length()


def _operands_of_opaque(x: Expression) -> list[Expression]:
    """Where to look further; whatever an algebraic number is made of, its own bound settles it."""
    return operands(x) if isinstance(x, AlgebraicNumber) and not x.algebraic else []


def _without_bounds(x: Expression) -> list[Expression]:
    if isinstance(x, AlgebraicNumber) and x._bounds is None:
        return operands(x)
    return []


def _bounds_of_sum(x: AlgebraicNumber) -> Bounds:
    parts, constant = flattened(x)
    bounds = [
        part.bounds if factor == 1 else part.bounds.scaled(fmpq(factor))
        for part, factor in parts
        if isinstance(part, AlgebraicNumber) and factor
    ]
    if constant or not bounds:
        bounds.append(Bounds.of_rational(fmpq(constant or 1)))
    return Bounds.of_sum(bounds)


def _bounds_of_product(x: AlgebraicNumber) -> Bounds:
    _, one, other = x.made
    return Bounds.times(one.bounds, other.bounds)


def _bounds_of_quotient(x: AlgebraicNumber) -> Bounds:
    _, above, below = x.made
    inverse: Bounds = below.bounds.inverse()
    return inverse.scaled(above) if isinstance(above, fmpq) else inverse.times(above.bounds)


def _bounds_of_root(x: AlgebraicNumber) -> Bounds:
    _, radicand, radicals = x.made
    return Bounds.root(radicand.bounds, radicals.of(radicand))


_DERIVATION: dict[str, Callable[[AlgebraicNumber], Bounds]] = {
    "sum": _bounds_of_sum,
    "*": _bounds_of_product,
    "/": _bounds_of_quotient,
    "sqrt": _bounds_of_root,
    "size": lambda x: x.made[1].bounds,  # |x| is x or -x
    "cosine": lambda x: Bounds.of_cosine(x.made[2]),
    "surd": lambda x: Bounds.of_surd(x.made[1], x.made[2]),
    "unknown": lambda x: x.made[1].bounds_of_unknown(x.made[2]),
}
