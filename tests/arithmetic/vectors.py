"""Directed cases for the guarded functions, in the manner of the test vectors of IEEE 1788.

    python -m tests.arithmetic.vectors          writes tests/arithmetic/vectors.txt

The cases stand in ``asked.txt``. A case is a function, its arguments (numbers, or intervals)
and the range of the function over them. Ranges are computed here with mpmath at 120 digits
above what the arguments' own size takes, from values at the ends and at the extremes inside,
and printed with 60 digits: a point rounded to nearest, the ends of a range rounded inward,
so that what must be enclosed is the range as printed. IEEE Std 1788-2015, table 9.1, names
the functions (``sqrt`` of an interval that dips below zero is that of the part in its domain);
mpmath shares no code with FLINT.
"""

from __future__ import annotations

import re
from fractions import Fraction
from itertools import product
from pathlib import Path

import mpmath

ASKED = Path(__file__).with_name("asked.txt")
FILE = Path(__file__).with_name("vectors.txt")
HEAD = """\
# Written by tests/arithmetic/vectors.py: a function, its arguments, and its range over them
# (mpmath, 120 digits or more above the arguments' size; 60 printed, ranges rounded inward).
# "unbounded", "undecided" and "refused" are what must be said where no range can be.
"""
DIGITS = 60


def number(text: str) -> Fraction:
    """``1e-30``, ``-0``, ``2^-1074``, ``3*2^5``, ``1/3``, ``1e300+1/12``."""
    return sum(map(_term, re.split(r"(?<=\d)(?=[+-])", text)), Fraction(0))


def _term(text: str) -> Fraction:
    factor, _, power = text.rpartition("*")
    match = re.fullmatch(r"([+-]?)2\^(-?\d+)", power)
    if match is None:
        return Fraction(text)
    two = Fraction(2) ** int(match[2]) * (-1 if match[1] == "-" else 1)
    return two * Fraction(factor or 1)


def interval(text: str) -> tuple[Fraction, Fraction]:
    low, _, high = text.strip("[]").partition(",")
    return number(low), number(high or low)


def cases() -> list[tuple[str, list[str]]]:
    """What is asked: a function and the texts of its arguments."""
    lines = ASKED.read_text(encoding="utf-8").splitlines()
    return [(name, args) for name, *args in map(str.split, lines) if name != "#"]


# --- what must be said where there is no range


def _holds_zero(ends: tuple[Fraction, Fraction]) -> bool:
    return ends[0] <= 0 <= ends[1]


def _is_point(ends: tuple[Fraction, Fraction]) -> bool:
    return ends[0] == ends[1]


def _undecided(ends: tuple[Fraction, Fraction]) -> bool:
    return _holds_zero(ends) and not _is_point(ends)


def without_range(name: str, args: list[tuple[Fraction, Fraction]]) -> str | None:
    first, second = args[0], args[-1]
    if name == "sqrt" and first[1] < 0:
        return "refused"
    if name == "log" and first[0] <= 0:
        return "unbounded"
    if name == "sign" and _undecided(first):
        return "undecided"
    if name == "divide" and _holds_zero(second):
        return "unbounded"
    if name == "turn_tan" and (first[0] % Fraction(1, 2)) == Fraction(1, 4):
        return "unbounded"
    if name == "slope_tan" and second[0] == 0:
        return "unbounded"
    if name == "power" and second[0] < 0 and _holds_zero(first):
        return "unbounded"
    if name == "larger" and _undecided((first[0] - second[1], first[1] - second[0])):
        return "undecided"
    if name == "atan2":
        if _undecided(first) or _undecided(second):
            return "undecided"
        if first == second == (0, 0):
            return "refused"
    return None


# --- the range


def true_range(name: str, args: list[tuple[Fraction, Fraction]]) -> tuple[mpmath.mpf, mpmath.mpf]:
    values = [_value(name, corner) for corner in product(*args)]
    values += [_value(name, [x]) for x in _extremes(name, args[0])]
    if name in ("size", "power") and _holds_zero(args[0]) and args[-1][0] != 0:
        values.append(mpmath.mpf(0))
    if name == "sqrt" and args[0][0] < 0:
        values = [mpmath.mpf(0), _value(name, [args[0][1]])]
    if name == "larger":
        values = [max(_mp(args[0][i]), _mp(args[1][i])) for i in (0, 1)]
    return min(values), max(values)


def _mp(x: Fraction) -> mpmath.mpf:
    return mpmath.mpf(x.numerator) / x.denominator


def _value(name: str, args: list[Fraction]) -> mpmath.mpf:
    x, y = _mp(args[0]), _mp(args[-1])
    if name == "sqrt" and x < 0:
        return mpmath.mpf(0)
    kind, _, take = name.partition("_")
    if take:
        return _of_angle(kind, take, args)
    return {
        "size": lambda: abs(x),
        "sign": lambda: mpmath.sign(x),
        "add": lambda: _mp(args[0] + args[1]),
        "subtract": lambda: _mp(args[0] - args[1]),
        "multiply": lambda: x * y,
        "divide": lambda: x / y,
        "power": lambda: x ** int(y),
        "larger": lambda: max(x, y),
        "atan2": lambda: mpmath.atan2(x, y),
    }.get(name, lambda: getattr(mpmath, name)(x))()


def _of_angle(kind: str, take: str, args: list[Fraction]) -> mpmath.mpf:
    """Cosine, sine, tangent or radians of an angle stated in turns, in radians or by a slope."""
    x, y = _mp(args[0]), _mp(args[-1])
    if kind == "turn":
        half = _mp(2 * (args[0] % 1))
        sine, cosine, radians = mpmath.sinpi(half), mpmath.cospi(half), 2 * mpmath.pi * x
    elif kind == "radian":
        sine, cosine, radians = mpmath.sin(x), mpmath.cos(x), x
    else:
        long = mpmath.sqrt(x * x + y * y)
        sine, cosine, radians = x / long, y / long, mpmath.atan2(x, y)
    return {
        "cos": lambda: cosine,
        "sin": lambda: sine,
        "tan": lambda: sine / cosine,
        "radians": lambda: radians,
    }[take]()


def _extremes(name: str, ends: tuple[Fraction, Fraction]) -> list[mpmath.mpf]:
    """Rationals that stand for the places of greatest and least value inside."""
    if name == "cosh" and _holds_zero(ends):
        return [Fraction(0)]
    if name not in ("sin", "cos") or _is_point(ends):
        return []
    quarter = mpmath.pi / 2
    first = 1 if name == "sin" else 0
    low, high = (int(mpmath.floor(_mp(x) / quarter)) for x in ends)
    inside = [k for k in range(low + 1, min(high, low + 8) + 1) if k % 2 == first]
    if name == "cos" and ends[0] == 0:
        inside.append(0)
    return [_fraction(k * quarter) for k in inside]


def _fraction(x: mpmath.mpf) -> Fraction:
    sign, mantissa, exponent, _ = x._mpf_
    return (-1) ** sign * int(mantissa) * Fraction(2) ** exponent


def _printed(x: mpmath.mpf, toward: int) -> str:
    """With 60 digits: to nearest, or in the direction ``toward`` (+1 up, -1 down)."""
    text = mpmath.nstr(x, DIGITS, strip_zeros=True, min_fixed=-5, max_fixed=30)
    if not toward or Fraction(text) == _fraction(x):
        return text
    if (Fraction(text) - _fraction(x)) * toward > 0:
        return text
    step = mpmath.mpf(10) ** (mpmath.floor(mpmath.log10(abs(x))) - DIGITS + 1)
    return mpmath.nstr(mpmath.mpf(text) + toward * step, DIGITS, min_fixed=-5, max_fixed=30)


def line(name: str, texts: list[str]) -> str:
    args = [interval(text) for text in texts]
    said = without_range(name, args)
    if said is None:
        low, high = true_range(name, args)
        if all(_is_point(ends) for ends in args):
            said = _printed(low, 0)
        else:
            said = f"[{_printed(low, 1)},{_printed(high, -1)}]"
    return f"{name} {' '.join(texts)} = {said}"


def main() -> None:
    # sine and cosine of 2^1023 lose 1023 bits before the first digit comes out right
    with mpmath.workprec(1100 + int(120 * 3.33)):
        lines = [line(name, texts) for name, texts in cases()]
    FILE.write_text(HEAD + "\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
