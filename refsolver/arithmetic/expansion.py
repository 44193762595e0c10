"""What a function is on a whole box, by its Taylor polynomial at the middle.

A function evaluated on a wide ball is enclosed term by term: where terms cancel, the
enclosure is as wide as if they did not. The coefficients of its Taylor polynomial are
numbers at one point, in which the terms cancel as far as the precision goes; only the last,
divided by the factorial and multiplied by a high power of the half width, is taken over the
box. So a function that is the small difference of large ones is told from zero on boxes
that its own shape asks for, and not its size (M. Berz and G. Hoffstaetter, "Computation and
application of Taylor polynomials with interval remainder bounds", Reliable Computing 4,
1998, 83-97, from memory; R. E. Moore, "Interval Analysis", 1966, chapter 11, from memory).

For: any function written for the enclosure arithmetic, as it stands, its derivative along
with it. Against: a term costs about as much as an evaluation on a ball, with many terms more.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import attrs
from flint import arb, arb_series, ctx

from refsolver.arithmetic.contract import Undecided

__all__ = ["Expansion", "Series", "expanded"]


class Series:
    """A power series in a place of the box; a number of the enclosure arithmetic as a ball is.

    Where a ball is asked for its sign, the series answers for its constant term, which over
    a box holds every value there. What may have no series on the box (the size of what may
    be zero, a quotient by it, its root) raises Undecided.
    """

    __slots__ = ("terms",)
    __array_ufunc__ = None

    def __init__(self, terms: arb_series) -> None:
        self.terms = terms

    def __add__(self, other: Any) -> Series:
        return Series(self.terms + _plain(other))

    __radd__ = __add__

    def __sub__(self, other: Any) -> Series:
        return Series(self.terms - _plain(other))

    def __rsub__(self, other: Any) -> Series:
        return Series(_plain(other) - self.terms)

    def __mul__(self, other: Any) -> Series:
        return Series(self.terms * _plain(other))

    __rmul__ = __mul__

    def __truediv__(self, other: Any) -> Series:
        if isinstance(other, Series):
            return Series(self.terms * other._inverse().terms)
        return Series(self.terms / arb(other))

    def __rtruediv__(self, other: Any) -> Series:
        return Series(self._inverse().terms * _plain(other))

    def __neg__(self) -> Series:
        return Series(-self.terms)

    def __abs__(self) -> Series:
        if self < 0:
            return Series(-self.terms)
        self._must(self > 0)
        return self

    def __lt__(self, other: Any) -> bool:
        return bool(self.terms[0] < other)

    def __gt__(self, other: Any) -> bool:
        return bool(self.terms[0] > other)

    def contains(self, other: Any) -> bool:
        return bool(self.terms[0].contains(other))

    def is_zero(self) -> bool:
        return self.terms.length() == 0

    def is_nan(self) -> bool:
        return bool(self.terms[0].is_nan())

    def is_finite(self) -> bool:
        return all(c.is_finite() for c in self.terms)

    def nonnegative_part(self) -> Series:
        return self

    def sqrt(self) -> Series:
        self._must(self > 0)
        return Series(self.terms.sqrt())

    def cos(self) -> Series:
        return Series(self.terms.cos())

    def sin(self) -> Series:
        return Series(self.terms.sin())

    def exp(self) -> Series:
        return Series(self.terms.exp())

    def log(self) -> Series:
        self._must(self > 0)
        return Series(self.terms.log())

    def cosh(self) -> Series:
        power = self.exp()
        return (power + 1 / power) / 2

    def sinh(self) -> Series:
        power = self.exp()
        return (power - 1 / power) / 2

    def asinh(self) -> Series:
        return (self + (self * self + 1).sqrt()).log()

    def _inverse(self) -> Series:
        self._must(self > 0 or self < 0)
        return Series(self.terms.inv())

    @staticmethod
    def _must(holds: bool) -> None:
        if not holds:
            raise Undecided("a Taylor polynomial", "what may vanish has none there")


def _plain(x: Any) -> Any:
    return x.terms if isinstance(x, Series) else x


def _terms(x: Any, count: int) -> list[arb]:
    """The first coefficients of what a function came to; of a plain number the others are 0."""
    series = x.terms if isinstance(x, Series) else arb_series([x])
    return [series[k] for k in range(count)]


@attrs.frozen
class Expansion:
    """A function and its derivative on a box of half width ``reach``, from the middle outward.

    ``parts`` are the Taylor coefficients at the middle, the last one taken over the box: with
    it the others tell all values on the box.
    """

    parts: tuple[arb, ...]
    reach: arb

    def excludes_zero(self, rest: bool = True) -> bool:
        """Whether the function has no zero on the box; without the ``rest``, its polynomial."""
        return self._above(0, rest)

    def is_monotone(self, rest: bool = True) -> bool:
        """Whether the derivative has no zero there; without the ``rest``, the polynomial's."""
        return self._above(1, rest)

    @property
    def rest(self) -> arb:
        """How much the last term adds at most."""
        return self.parts[-1].abs_upper() * self.reach ** (len(self.parts) - 1)

    def _above(self, first: int, rest: bool) -> bool:
        """Whether the term number ``first`` is more than all after it can be."""
        parts = self.parts if rest else self.parts[:-1]
        spread = arb(0)
        for k in range(len(parts) - 1, first, -1):
            spread = (spread + parts[k].abs_upper() * k**first) * self.reach
        return bool(abs(parts[first]) > spread)


def expanded(function: Callable[[Any], Any], box: arb, terms: int) -> Expansion | None:
    """The function's expansion with so many terms and a rest; None where it has none.

    ``function`` takes a :class:`Series` for a ball. A branch inside it is the same all over
    the box, for it is decided by the values there or not at all.
    """
    saved = ctx.cap
    try:
        ctx.cap = terms + 1
        wide = _terms(function(Series(arb_series([box, 1]))), terms + 1)
        if not all(c.is_finite() for c in wide):
            return None
        parts = _terms(function(Series(arb_series([box.mid(), 1]))), terms)
    except (Undecided, ZeroDivisionError):
        return None
    finally:
        ctx.cap = saved
    return Expansion((*parts, wide[terms]), box.rad())
