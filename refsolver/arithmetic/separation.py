"""How far from zero a nonzero algebraic number must be: the bookkeeping behind a proven zero.

Pure integers, no balls. ``proven-zeros.md`` beside this file derives every rule used here;
the section numbers below are its own.

For: a few integer operations a step, and a bound that holds for any real algebraic
number. Against: the bound grows with the degree of the field, so that it gives up
(honestly) where many independent roots meet in one number.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import lru_cache, reduce
from math import gcd, isqrt, lcm, prod
from typing import TypeAlias

from flint import fmpq, fmpz

__all__ = ["RATIONALS", "Bounds", "Field", "Radical", "common_scale", "field", "linear_system"]

_FACTORABLE_BITS = 64
"""Integers up to this length are factored outright; longer ones may never come apart."""


class Radical:
    """The square root of one particular number that is not rational; compared by identity."""

    __slots__ = ()


RadicalKey: TypeAlias = int | Radical
"""An integer d > 1 stands for sqrt(d)."""


class Field:
    """The real field of 2 cos(2 pi/order) and some square roots (section 3).

    ``degree`` is an upper bound of its degree over the rationals. Made by :func:`field`.
    """

    __slots__ = ("degree", "order", "radicals")

    def __init__(self, order: int, radicals: frozenset[RadicalKey]) -> None:
        self.order = order
        self.radicals = radicals
        self.degree = _degree_of_cosines(order) << _independent_radicals(order, radicals)


@lru_cache(maxsize=4096)
def field(order: int, radicals: frozenset[RadicalKey] = frozenset()) -> Field:
    """The field of the cosines of the multiples of 1/order turn and of the given roots."""
    return Field(order, radicals)


def joined(one: Field, other: Field) -> Field:
    """The smallest such field that holds both."""
    return one if one is other else _joined(one, other)


@lru_cache(maxsize=4096)
def _joined(one: Field, other: Field) -> Field:
    return field(lcm(one.order, other.order), one.radicals | other.radicals)


def _degree_of_cosines(order: int) -> int:
    if order <= 2:
        return 1
    if order.bit_length() > _FACTORABLE_BITS:
        return order  # Euler's function is below its argument
    return int(fmpz(order).euler_phi()) // 2


def _independent_radicals(order: int, radicals: Iterable[RadicalKey]) -> int:
    """The rank of the radicands modulo squares and modulo roots the cosines already give.

    Elimination over the field of two elements, a radicand being the set of its prime
    factors of odd multiplicity, written as a bit mask.
    """
    place: dict[RadicalKey, int] = {}
    basis: list[int] = []
    for radical in radicals:
        mask = 0
        for symbol in _odd_factors(radical):
            if isinstance(symbol, Radical) or not _root_among_cosines(symbol, order):
                mask ^= 1 << place.setdefault(symbol, len(place))
        for vector in basis:
            mask = min(mask, mask ^ vector)
        if mask:
            basis.append(mask)
    return len(basis)


def _odd_factors(radical: RadicalKey) -> list[RadicalKey]:
    if isinstance(radical, Radical) or radical.bit_length() > _FACTORABLE_BITS:
        return [radical]
    return [int(p) for p, exponent in fmpz(radical).factor() if exponent % 2]


def _root_among_cosines(p: int, order: int) -> bool:
    """Whether sqrt(p) is known to lie in the field of the cosines (Gauss sums, section 3)."""
    if p.bit_length() > _FACTORABLE_BITS:
        return False
    if p == 2:
        return order % 8 == 0
    return order % p == 0 and (p % 4 == 1 or order % 4 == 0)


@lru_cache(maxsize=4096)
def square_part(n: int) -> tuple[int, int]:
    """(m, d) with n = m^2 d for n > 0; d is free of squares where n can be factored."""
    root = isqrt(n)
    if root * root == n:
        return root, 1
    z = fmpz(n)
    factors = z.factor() if n.bit_length() <= _FACTORABLE_BITS else z.factor_smooth()
    m = prod(int(p) ** (exponent // 2) for p, exponent in factors)
    return m, n // (m * m)


RATIONALS = field(1)


class Divisor:
    """A nonzero algebraic integer that some number was divided by; compared by identity."""

    __slots__ = ("house",)

    def __init__(self, house: int) -> None:
        self.house = house


Divisors: TypeAlias = dict[Divisor, int]
"""A product of divisors with their exponents; never changed once made."""

_NONE: Divisors = {}


class Bounds:
    """x = (num/den) A/B: what is known of an algebraic number besides its ball (section 4).

    A and B are algebraic integers of ``field``, B the product of the ``below``; ``num``
    and ``den`` are positive integers; no conjugate of A exceeds the integer ``house`` >= 1
    in size. A itself is never formed.
    """

    __slots__ = ("_inverse", "_separation", "below", "den", "field", "house", "num")

    def __init__(self, num: int, den: int, house: int, below: Divisors, field: Field) -> None:
        self.num = num
        self.den = den
        self.house = house
        self.below = below
        self.field = field
        self._inverse: Bounds | None = None
        self._separation: int | None = None

    @classmethod
    def of_rational(cls, q: fmpq) -> Bounds:
        """For a rational q, not zero."""
        return cls(abs(int(q.p)), int(q.q), 1, _NONE, RATIONALS)

    @classmethod
    def of_cosine(cls, order: int) -> Bounds:
        """For the cosine of a multiple of 1/order turn: half of an integer of house <= 2."""
        return cls(1, 2, 2, _NONE, field(order))

    @classmethod
    def of_surd(cls, coefficient: fmpq, radicand: int) -> Bounds:
        """For coefficient sqrt(radicand), a rational (not zero) times a root."""
        return cls(
            abs(int(coefficient.p)),
            int(coefficient.q),
            _root_above(radicand),
            _NONE,
            field(1, frozenset((radicand,))),
        )

    @classmethod
    def of_sum(cls, parts: Sequence[Bounds]) -> Bounds:
        """For a sum of numbers, whatever their signs."""
        common, houses = common_scale(parts)
        return cls(common.num, common.den, sum(houses), common.below, common.field)

    def times(self, other: Bounds) -> Bounds:
        num, den = self.num * other.num, self.den * other.den
        shared = gcd(num, den)
        return Bounds(
            num // shared,
            den // shared,
            self.house * other.house,
            _merged(self.below, other.below),
            joined(self.field, other.field),
        )

    def scaled(self, q: fmpq) -> Bounds:
        """For q times the number, q rational and not zero."""
        num, den = self.num * abs(int(q.p)), self.den * int(q.q)
        shared = gcd(num, den)
        return Bounds(num // shared, den // shared, self.house, self.below, self.field)

    def inverse(self) -> Bounds:
        """For 1/x, x not zero. All quotients by one x share one divisor."""
        if self._inverse is None:
            divisor = {Divisor(self.house): 1}
            self._inverse = Bounds(self.den, self.num, _house(self.below), divisor, self.field)
        return self._inverse

    def root(self, radical: Radical) -> Bounds:
        """For sqrt(x), x not negative; ``radical`` stands for the root of this number."""
        m, d = square_part(self.num * self.den)
        house = _root_above(d * self.house * _house(self.below))
        wider = field(self.field.order, self.field.radicals | {radical})
        shared = gcd(m, self.den)
        return Bounds(m // shared, self.den // shared, house, self.below, wider)

    @property
    def separation(self) -> int:
        """An integer t such that |x| >= 2^-t unless x = 0 (section 2)."""
        if self._separation is None:
            self._separation = (
                _log2_above(self.den, self.num)
                + sum(_power_log2_above(b.house, e) for b, e in self.below.items())
                + _power_log2_above(self.house, self.field.degree - 1)
            )
        return self._separation


def common_scale(parts: Sequence[Bounds]) -> tuple[Bounds, list[int]]:
    """Several numbers over one denominator (section 4).

    Returns the factor (num/den)/B they share, with the field that holds them all, and for
    each number the house of the algebraic integer that remains.
    """
    num = gcd(*[part.num for part in parts])
    den = lcm(*[part.den for part in parts])
    below = parts[0].below
    around = parts[0].field
    for part in parts[1:]:
        below = _least_common(below, part.below)
        around = joined(around, part.field)
    houses = [
        part.house * (part.num // num) * (den // part.den) * _cofactor(below, part.below)
        for part in parts
    ]
    return Bounds(num, den, 1, below, around), houses


def linear_system(
    matrix: Sequence[Sequence[Bounds | None]], right: Sequence[Bounds | None]
) -> tuple[Bounds, list[Bounds]]:
    """Bounds for the determinant and for the solution of a square system (section 5).

    None stands for an entry that is exactly zero. No bounds are given for the
    solution where the whole right side is zero.
    """
    row_scales, houses = [], []
    for row in matrix:
        scale, found = common_scale([x for x in row if x] or [Bounds.of_rational(fmpq(1))])
        remaining = iter(found)
        row_scales.append(scale)
        houses.append([next(remaining) if x else 0 for x in row])
    row_squares = [_norm_square(row) for row in houses]
    column_squares = [_norm_square(column) for column in zip(*houses, strict=True)]
    by_rows, by_columns = prod(row_squares), prod(column_squares)
    determinant_house = _root_above(min(by_rows, by_columns))
    around = reduce(joined, [scale.field for scale in row_scales])
    determinant = Bounds(
        prod(scale.num for scale in row_scales),
        prod(scale.den for scale in row_scales),
        determinant_house,
        reduce(_merged, [scale.below for scale in row_scales]),
        around,
    )
    loaded = [i for i, x in enumerate(right) if x]
    if not loaded:
        return determinant, []
    # Row i is divided by its own factor (num/den)/B, the right side with it.
    common, loads = common_scale(
        [
            b.times(Bounds(scale.den, scale.num, _house(scale.below), _NONE, around))
            for b, scale in zip(right, row_scales, strict=True)
            if b
        ]
    )
    expanded = sum(
        load * _root_above(by_rows // row_squares[i]) for i, load in zip(loaded, loads, strict=True)
    )
    load_square = _norm_square(loads)
    below = _merged(common.below, {Divisor(determinant_house): 1})
    return determinant, [
        Bounds(
            common.num,
            common.den,
            min(expanded, _root_above(load_square * (by_columns // square))),
            below,
            common.field,
        )
        for square in column_squares
    ]


def _norm_square(houses: Iterable[int]) -> int:
    return sum(house * house for house in houses) or 1


def _merged(one: Divisors, other: Divisors) -> Divisors:
    if not one or not other:
        return one or other
    return one | {b: one.get(b, 0) + e for b, e in other.items()}


def _least_common(one: Divisors, other: Divisors) -> Divisors:
    if one is other or not other:
        return one
    return one | {b: max(one.get(b, 0), e) for b, e in other.items()}


def _cofactor(common: Divisors, below: Divisors) -> int:
    """The house of what ``below`` lacks of ``common``."""
    if common is below or not common:
        return 1
    return prod(b.house ** (e - below.get(b, 0)) for b, e in common.items())


def _house(below: Divisors) -> int:
    return prod(b.house**e for b, e in below.items()) if below else 1


def _root_above(n: int) -> int:
    """The least integer not below sqrt(n), n >= 1."""
    return isqrt(n - 1) + 1


def _log2_above(numerator: int, denominator: int) -> int:
    """An integer not below log2(numerator/denominator), both positive."""
    if numerator >= denominator:
        return ((numerator - 1) // denominator).bit_length()
    return 1 - (denominator // numerator).bit_length()


def _power_log2_above(n: int, exponent: int) -> int:
    """An integer not below exponent log2(n), for n >= 1: sixteenths of a bit, rounded up."""
    shift = max(0, n.bit_length() - 64)
    leading = (n >> shift) + (1 if shift else 0)
    sixteenths = (leading**16 - 1).bit_length() + 16 * shift
    return -(-exponent * sixteenths // 16)
