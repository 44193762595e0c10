"""Decimal texts of enclosures: outward ends, and only proven digits."""

from __future__ import annotations

from flint import fmpq

from refsolver.arithmetic.detached import Enclosure
from refsolver.quantities.rounding import exact_decimal, leading_exponent

__all__ = ["outward", "proven_text"]


def outward(value: Enclosure, figures: int) -> tuple[str, str]:
    """Lower and upper end as decimals of so many figures, rounded down and up."""
    return _directed(value.lower, figures, up=False), _directed(value.upper, figures, up=True)


def proven_text(value: Enclosure, figures: int) -> str:
    """The value to at most so many figures, each of them proven.

    A digit is printed only if both ends round to it; where not even one figure is proven
    the text is an inequality such as ``|x| < 1e-31``.
    """
    if value.is_exact:
        exact: str | None = exact_decimal(value.lower)
        if exact is not None and len(exact.strip("-").replace(".", "")) <= figures:
            return exact
    for wanted in range(figures, 0, -1):
        low, high = (_nearest(end, wanted) for end in (value.lower, value.upper))
        if low == high:
            return low
    return f"|x| < {_directed(value.size(), 1, up=True)}"


def _directed(x: fmpq, figures: int, *, up: bool) -> str:
    if x == 0:
        return "0"
    shift = figures - 1 - leading_exponent(x)
    scaled = x * fmpq(10) ** shift
    return _figures(int(scaled.ceil() if up else scaled.floor()), shift, figures)


def _nearest(x: fmpq, figures: int) -> str:
    if x == 0:
        return "0"
    shift = figures - 1 - leading_exponent(x)
    scaled = abs(x) * fmpq(10) ** shift + fmpq(1, 2)
    whole = int(scaled.floor())
    return _figures(whole if x > 0 else -whole, shift, figures)


def _figures(whole: int, shift: int, figures: int) -> str:
    """whole * 10^-shift; where rounding carried to a power of ten, a figure less of it."""
    if abs(whole) == 10**figures:
        whole, shift = whole // 10, shift - 1
    return _decimal(whole, shift)


def _decimal(whole: int, shift: int) -> str:
    """whole * 10^-shift, in plain decimals where that is readable."""
    sign, digits = ("-" if whole < 0 else ""), str(abs(whole))
    point = len(digits) - shift
    if -6 < point <= 21:
        if shift <= 0:
            return sign + digits + "0" * -shift
        digits = digits.rjust(shift + 1, "0")
        return f"{sign}{digits[:-shift]}.{digits[-shift:]}"
    mantissa = digits[0] + ("." + digits[1:] if len(digits) > 1 else "")
    return f"{sign}{mantissa}e{point - 1}"
