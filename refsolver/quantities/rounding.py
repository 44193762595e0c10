"""Rational numbers as decimal text: rounded by a stated manner, or exact."""

from __future__ import annotations

from collections.abc import Callable
from typing import Literal, TypeAlias

from flint import fmpq, fmpz

__all__ = [
    "Manner",
    "decimal_text",
    "exact_decimal",
    "is_decimal",
    "leading_exponent",
    "rounded",
    "shortest",
    "significant",
    "significant_text",
]

Manner: TypeAlias = Literal["nearest", "nearest-even", "up", "down", "cut", "away"]
"""How to round: ``nearest`` takes ties away from zero, ``nearest-even`` to the even digit,
``up`` goes toward plus infinity, ``down`` toward minus infinity, ``cut`` toward zero,
``away`` away from zero."""

_HALF = fmpq(1, 2)
_SHORT = 12


def _nearest_even(x: fmpq) -> fmpz:
    below = x.floor()
    rest = x - below
    if rest == _HALF:
        return below + below % 2
    return below + (1 if rest > _HALF else 0)


_ROUND: dict[Manner, Callable[[fmpq], fmpz]] = {
    "nearest": lambda x: (x + _HALF).floor() if x >= 0 else (x - _HALF).ceil(),
    "nearest-even": _nearest_even,
    "up": lambda x: x.ceil(),
    "down": lambda x: x.floor(),
    "cut": lambda x: x.floor() if x >= 0 else x.ceil(),
    "away": lambda x: x.ceil() if x >= 0 else x.floor(),
}


def rounded(value: fmpq, step: fmpq, manner: Manner = "nearest") -> fmpq:
    """The multiple of ``step`` that ``value`` rounds to, exactly.

    Raises ValueError for a step that is not positive.
    """
    if step <= 0:
        raise ValueError("a rounding step is positive")
    return _ROUND[manner](value / step) * step


def decimal_text(value: fmpq, decimals: int, manner: Manner = "nearest") -> str:
    """``value`` rounded to ``decimals`` places; with -1 to whole tens, and so on.

    A zero is never written with a sign.
    """
    step: fmpq = fmpq(10) ** -decimals
    steps = _ROUND[manner](value / step)
    if decimals <= 0:
        return str(steps * fmpz(10) ** -decimals)
    digits = str(abs(steps)).rjust(decimals + 1, "0")
    sign = "-" if steps < 0 else ""
    return f"{sign}{digits[:-decimals]}.{digits[-decimals:]}"


def significant(value: fmpq, figures: int, manner: Manner = "nearest") -> fmpq:
    """``value`` rounded to so many significant figures; zero stays zero."""
    return (
        value
        if value == 0
        else rounded(value, fmpq(10) ** (leading_exponent(value) - figures + 1), manner)
    )


def significant_text(value: fmpq, figures: int, manner: Manner = "nearest") -> str:
    """``value`` rounded to ``figures`` significant figures, and printed so that they show.

    Positional where the last figure is not left of the units and the number is not below
    1e-5, otherwise with a power of ten ("1.2e4"). Zero has no figures and is "0". Raises
    ValueError for less than one figure.
    """
    if figures < 1:
        raise ValueError("at least one significant figure")
    if value == 0:
        return "0"
    result = significant(value, figures, manner)
    order = leading_exponent(result)  # one more than that of the value where 9.96 has become 10.0
    if -5 <= order < figures:
        return decimal_text(result, figures - 1 - order, "cut")
    return f"{decimal_text(result / fmpq(10) ** order, figures - 1, 'cut')}e{order}"


def exact_decimal(value: fmpq) -> str | None:
    """The decimal that is exactly ``value``, without an exponent; None if it never ends."""
    decimals = _decimals(value)
    return None if decimals is None else decimal_text(value, decimals)


def is_decimal(value: fmpq) -> bool:
    """Whether some decimal is exactly ``value``."""
    return _decimals(value) is not None


def shortest(value: fmpq) -> str:
    """An exact text for showing: a decimal where a short one exists.

    Otherwise the shortest of the decimal, with a power of ten or not, and the fraction.
    """
    decimal = exact_decimal(value)
    if decimal is None or len(decimal) <= _SHORT:
        return decimal or str(value)
    texts = [decimal, _scientific(value)]
    if value.q != 1:
        texts.append(str(value))
    return min(texts, key=len)


def leading_exponent(value: fmpq) -> int:
    """The exponent of the leading digit of a value that is not zero."""
    size = abs(value)
    guess = len(str(size.p)) - len(str(size.q))
    return guess if size >= fmpq(10) ** guess else guess - 1


def _decimals(value: fmpq) -> int | None:
    """How many decimals write ``value`` exactly, None where none do."""
    denominator = int(value.q)
    twos = (denominator & -denominator).bit_length() - 1  # a double has up to 1074
    denominator >>= twos
    fives = 0
    while denominator % 5 == 0:
        denominator //= 5
        fives += 1
    return max(twos, fives) if denominator == 1 else None


def _scientific(value: fmpq) -> str:
    order = leading_exponent(value)
    return f"{exact_decimal(value / fmpq(10) ** order)}e{order}"
