"""The second opinion: the same equations in mpmath, following the decisions proven.

mpmath shares no code with the balls, so an error in either shows as a disagreement. Its
numbers carry no bound; they prove nothing. F. Johansson and others, "mpmath: a Python
library for arbitrary-precision floating-point arithmetic", mpmath.org.
"""

from __future__ import annotations

import copy
from collections.abc import Callable, Mapping, Sequence
from functools import lru_cache
from typing import Any

import mpmath
from flint import arb, fmpq
from mpmath.libmp import from_int, from_rational

from refsolver.arithmetic.bracketing import NoBracket, bracketed_root, scanned_roots
from refsolver.arithmetic.constants import constant
from refsolver.arithmetic.contract import Contradiction, Number, Singular, Undecided
from refsolver.arithmetic.exact import Angle, Exact, Radian, Turn
from refsolver.arithmetic.naming import root_count, root_decisions, slope_name

__all__ = ["MultiprecisionArithmetic", "exact_ball", "exact_value"]

_GUARD_BITS = 32
_LIKE_BITS = 32
"""Entries no further apart are left as they are."""

_LEVELLINGS = 6
_OF_ZERO = -(10**18)


def exact_value(x: Any) -> fmpq:
    """The rational that a finite mpf (or an int) is, exactly; ValueError for inf or nan."""
    if isinstance(x, int):
        return fmpq(x)
    sign, mantissa, exponent, _ = x._mpf_
    if not mantissa and exponent:
        raise ValueError(f"{x} is not a finite number")
    signed = -int(mantissa) if sign else int(mantissa)
    return fmpq(signed << exponent) if exponent >= 0 else fmpq(signed, 1 << -exponent)


def exact_ball(x: Any) -> arb:
    """The ball without width that a finite mpf (or an int) is; ValueError for inf or nan."""
    ball = arb(x)
    if not ball.is_finite():
        raise ValueError(f"{x} is not a finite number")
    return ball


@lru_cache(maxsize=64)
def _context(bits: int) -> Any:
    """A context of that precision, apart from mpmath's global one; making one takes long."""
    context = mpmath.mp.clone()
    context.prec = bits
    return context


class MultiprecisionArithmetic:
    """Floating point of ``bits`` bits in an mpmath context of its own.

    Numbers are ``mpf`` of :attr:`context` and mix with ``int``; a rational is brought.

    A decision found in ``replay`` is followed, and Contradiction is raised where the value
    speaks against it. A value speaks against a sign if it has another sign and is larger
    than rounding can explain: larger than 2^-tolerance_bits M^2, where M is the least power
    of two above 1 and above all sizes brought in or returned by a function so far. An expression of
    degree d in such numbers, of n terms, is computed with an error of about
    n 2^-bits M^d. With the default of half the bits the rule therefore raises no false
    alarm while n M^(d-2) < 2^(bits/2), and it misses no wrong sign of a number larger
    than 2^(-bits/2) M^2. A decision not in ``replay`` goes by the value itself.
    """

    takes_rationals = False
    proves = False

    def __init__(
        self,
        bits: int,
        replay: Mapping[str, int] | None = None,
        tolerance_bits: int | None = None,
    ) -> None:
        self.context = _context(bits)
        self.decisions: dict[str, int] = {}
        self._replay = replay or {}
        self._likely: Mapping[str, int] = {}
        tolerance = bits // 2 if tolerance_bits is None else tolerance_bits
        self._tolerance = tolerance
        self._tiny = self.context.ldexp(1, -tolerance)
        self._exponent = 1

    def apart(self) -> MultiprecisionArithmetic:
        other = copy.copy(self)
        other.decisions = {}
        other._replay, other._likely = {}, self._replay or self._likely
        return other

    def bring(self, x: Exact) -> Number:
        if isinstance(x, fmpq):
            p, q, bits = int(x.p), int(x.q), self.context.prec
            exact = from_int(p, bits) if q == 1 else from_rational(p, q, bits)
            return self._seen(self.context.make_mpf(exact))
        return self._seen(constant(x, self))

    def cos_sin(self, angle: Angle) -> tuple[Number, Number]:
        if isinstance(angle, Turn):
            return _cos_sin_of_turns(angle.turns, self.context)
        if isinstance(angle, Radian):
            radians = self.bring(angle.radians)
            return self.context.cos(radians), self.context.sin(radians)
        x, y = self.bring(angle.run), self.bring(angle.rise)
        length = self.context.hypot(x, y)
        return x / length, y / length

    def radians(self, angle: Angle) -> Number:
        if isinstance(angle, Turn):
            return self.bring(2 * angle.turns) * self.context.pi
        if isinstance(angle, Radian):
            return self.bring(angle.radians)
        return self.atan2(self.bring(angle.rise), self.bring(angle.run), slope_name(angle))

    def pi(self) -> Number:
        return +self.context.pi

    def sqrt(self, x: Number) -> Number:
        if x < -self._noise():
            raise Contradiction("what a root is taken of", 1, f"negative: {x}")
        return self._seen(self.context.sqrt(x if x > 0 else 0))

    def atan2(self, y: Number, x: Number, name: str) -> Number:
        sx, sy = self.sign(x, f"{name}: x"), self.sign(y, f"{name}: y")
        if sx == 0 and sy == 0:
            raise ValueError(f"{name}: the zero vector has no direction")
        # The signs decided, not the rounded values, choose the side of the branch cut.
        angle = self.context.atan2(abs(sy * y), sx * abs(x))
        return -angle if sy < 0 else angle

    def cos(self, x: Number) -> Number:
        return self.context.cos(x)

    def sin(self, x: Number) -> Number:
        return self.context.sin(x)

    def exp(self, x: Number) -> Number:
        return self._seen(self.context.exp(x))

    def log(self, x: Number) -> Number:
        if not x > 0:
            raise Contradiction("what a logarithm is taken of", 1, f"not positive: {x}")
        return self._seen(self.context.log(x))

    def cosh(self, x: Number) -> Number:
        return self._seen(self.context.cosh(x))

    def sinh(self, x: Number) -> Number:
        return self._seen(self.context.sinh(x))

    def asinh(self, x: Number) -> Number:
        return self._seen(self.context.asinh(x))

    def size(self, x: Number) -> Number:
        return abs(x)

    def sign(self, x: Number, name: str) -> int:
        if self.context.isnan(x):
            raise Undecided(name, "not a number")
        negative, mantissa, _, _ = x._mpf_
        own = (-1 if negative else 1) if mantissa else int(x > 0) - int(x < 0)
        replayed = self._replay.get(name, own)
        if own != replayed and abs(x) > self._noise():
            raise Contradiction(name, replayed, self.context.nstr(x, 8))
        self.decisions[name] = replayed
        return replayed

    def larger(self, a: Number, b: Number, name: str) -> Number:
        return a if self.sign(a - b, name) >= 0 else b

    def solve_linear(
        self, matrix: Sequence[Sequence[Number]], right: Sequence[Number], name: str
    ) -> list[Number]:
        """As in the contract; a pivot below 2^-tolerance_bits of the largest entry is zero.

        Rows and columns are first brought to like sizes by powers of two, which rounds nothing.
        """
        if not right:
            self.decisions[name] = 1
            return []
        replayed = self._replay.get(name)
        convert = self.context.convert
        rows = [[*map(convert, row), convert(x)] for row, x in zip(matrix, right, strict=True)]
        across = self._levelled(rows)
        with self.context.extraprec(_GUARD_BITS):
            regular, solution = self._solved(rows)
        if replayed == 0 and regular:
            raise Contradiction(name, 0, "regular")
        if replayed == 1 and solution is None:
            raise Contradiction(name, 1, "singular")
        self.decisions[name] = int(regular) if replayed is None else replayed
        if self.decisions[name] == 0:
            raise Singular(name)
        assert solution is not None
        ldexp = self.context.ldexp
        return [self._seen(ldexp(+x, n)) for x, n in zip(solution, across, strict=True)]

    def root(
        self,
        function: Callable[[Number], Number],
        slope: Callable[[Number], Number],
        bracket: tuple[Exact, Exact],
        name: str,
    ) -> Number:
        """As in the contract, from changes of sign alone; the slope is not used."""
        low, high = self.bring(bracket[0]), self.bring(bracket[1])
        precision = self.context.ldexp(1, -self.context.prec)
        try:
            with self.context.extraprec(_GUARD_BITS):
                found = bracketed_root(function, low, high, precision, self._tiny)
        except NoBracket as problem:
            if name in self._replay:
                raise Contradiction(name, self._replay[name], str(problem)) from None
            raise Undecided(name, str(problem)) from None
        self.decisions[name] = 1
        return self._seen(+found)

    def roots(
        self,
        function: Callable[[Number], Number],
        slope: Callable[[Number], Number],
        bracket: tuple[Exact, Exact],
        name: str,
    ) -> list[Number]:
        """As in the contract, from changes of sign alone: as many as proven, if any were."""
        low, high = self.bring(bracket[0]), self.bring(bracket[1])
        precision = self.context.ldexp(1, -self.context.prec)
        count = root_count(name, self._replay)

        # Beside a proven solve there are most likely as many roots as in it.
        likely = root_count(name, self._likely) if count is None else count
        found, problem = None, ""
        for expected in dict.fromkeys((likely, count)):
            try:
                with self.context.extraprec(_GUARD_BITS):
                    found = scanned_roots(function, low, high, expected, precision, self._tiny)
                break
            except NoBracket as fault:
                problem = str(fault)
        if found is None:
            if count is not None:
                raise Contradiction(f"{name}: root 1", 1 if count else -1, problem)
            raise Undecided(name, problem)
        self.decisions.update(root_decisions(name, len(found)))
        return [self._seen(+x) for x in found]

    def _seen(self, x: Number) -> Number:
        self._exponent = max(self._exponent, _exponent(x))
        return x

    def _noise(self) -> Number:
        return self.context.ldexp(self._tiny, 2 * self._exponent)

    def _levelled(self, rows: list[list[Number]]) -> list[int]:
        """Shifts every row, with its right side, and every column by a power of two so that
        their entries are of like sizes; the shifts of the columns.

        Again and again the middle between the least and the greatest exponent is taken off
        (A. R. Curtis and J. K. Reid, J. Inst. Maths Applics 10 (1972) 118-124, have least
        squares for it; from memory), in the end what leaves the greatest entry of each row
        near 1.
        """
        places = {
            (i, j): _exponent(x) for i, row in enumerate(rows) for j, x in enumerate(row[:-1]) if x
        }
        down, across = [0] * len(rows), [0] * len(rows)
        if max(places.values(), default=0) - min(places.values(), default=0) < _LIKE_BITS:
            return across
        for number in range(_LEVELLINGS + 1):
            middle = _middle if number < _LEVELLINGS else max
            for side, shifts in ((1, across), (0, down)):
                found: dict[int, list[int]] = {}
                for place, exponent in places.items():
                    total = exponent + down[place[0]] + across[place[1]]
                    found.setdefault(place[side], []).append(total)
                for index, exponents in found.items():
                    shifts[index] -= middle(exponents)
        ldexp = self.context.ldexp
        for i, row in enumerate(rows):
            rows[i] = [
                ldexp(x, down[i] + n) if x else x for x, n in zip(row, [*across, 0], strict=True)
            ]
        return across

    def _solved(self, rows: list[list[Number]]) -> tuple[bool, list[Number] | None]:
        """Whether the pivots show a regular matrix, and the solution (None without pivots).

        Gauss elimination with partial pivoting on rows that end with their right side. Zeros
        are passed over, which is what makes the sparse equations of many bodies affordable.
        """
        largest = max(_exponent(x) for row in rows for x in row[:-1])
        smallest, count = largest, len(rows)
        for j in range(count):
            i = max(range(j, count), key=lambda r: _exponent(rows[r][j]))
            rows[i], rows[j] = rows[j], rows[i]
            top = rows[j]
            if top[j] == 0:
                return False, None
            smallest = min(smallest, _exponent(top[j]))
            entries = [(k, top[k]) for k in range(j + 1, count + 1) if top[k]]
            for row in rows[j + 1 :]:
                if row[j]:
                    factor = row[j] / top[j]
                    for k, x in entries:
                        row[k] -= factor * x
        return smallest > largest - self._tolerance, _back_substituted(rows)


def _middle(exponents: list[int]) -> int:
    return (max(exponents) + min(exponents)) // 2


def _exponent(x: Any) -> int:
    """Of the least power of two above the size of x; far below all others for zero."""
    _, mantissa, exponent, bits = x._mpf_
    return exponent + bits if mantissa else _OF_ZERO


def _back_substituted(rows: list[list[Number]]) -> list[Number]:
    """The solution of a triangular system, each row ending with its right side."""
    solution: list[Number] = []
    for j in reversed(range(len(rows))):
        total = rows[j][-1]
        for k, x in enumerate(reversed(solution), j + 1):
            if rows[j][k]:
                total = total - rows[j][k] * x
        solution.append(total / rows[j][j])
    return solution[::-1]


def _cos_sin_of_turns(turns: fmpq, context: Any) -> tuple[Number, Number]:
    """Quarter turns are taken off exactly, and what is left is brought below an eighth."""
    quarters = int((4 * turns).floor())
    rest = turns - fmpq(quarters, 4)
    mirrored = 8 * rest > 1
    c, s = _cos_sin_below_an_eighth(fmpq(1, 4) - rest if mirrored else rest, context)
    if mirrored:
        c, s = s, c
    return [(c, s), (-s, c), (-c, -s), (s, -c)][quarters % 4]


def _cos_sin_below_an_eighth(turns: fmpq, context: Any) -> tuple[Number, Number]:
    if 12 * turns == 1:
        return context.sqrt(3) / 2, context.mpf(1) / 2
    radians = 2 * context.pi * int(turns.p) / int(turns.q)
    return context.cos(radians), context.sin(radians)
