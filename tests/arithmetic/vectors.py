"""Directed cases for the guarded functions, in the manner of the test vectors of IEEE 1788.

    python -m tests.arithmetic.vectors          writes tests/arithmetic/vectors.txt

A case is a function, its arguments (numbers, or intervals) and the range of the function over
them. Ranges are computed here with mpmath at 120 digits above what the arguments' own size
takes, from values at the ends and at the extremes inside, and printed with 60 digits: a point
rounded to nearest, the ends of a range rounded inward, so that what must be enclosed is the
range as printed. IEEE Std 1788-2015, table 9.1, names the functions (``sqrt`` of an interval
that dips below zero is that of the part in its domain); mpmath shares no code with FLINT.
"""

from __future__ import annotations

import re
from fractions import Fraction
from itertools import product
from pathlib import Path

import mpmath

FILE = Path(__file__).with_name("vectors.txt")
HEAD = """\
# Written by tests/arithmetic/vectors.py: a function, its arguments, and its range over them
# (mpmath, 120 digits or more above the arguments' size; 60 printed, ranges rounded inward).
# "unbounded", "undecided" and "refused" are what must be said where no range can be.
"""
DIGITS = 60

POINTS = {
    "sin": "0 -0 1 -1 2^-1074 -2^-1074 1e-30 3 22 355 1e22 2^1000 -2^1023 1e300 "
    "3.141592653589793 6.283185307179586 6381956970095103*2^797 11",
    "cos": "0 -0 1 2^-1074 1e-30 1.5707963267948966 4.71238898038469 11 1e22 2^1000 1e300 "
    "6381956970095103*2^797 355",
    "exp": "0 -0 1 -1 2^-1074 -2^-1074 1e-30 709.782712893384 -745.1332191019411 1e6 -1e6 100 0.5",
    "log": "1 2 10 2^-1074 2^1023 1e-300 1e300 1e1000 0.9999999999999999 1.0000000000000002 0.5",
    "sqrt": "0 -0 1 2 4 0.25 2^-1074 2^1023 1e-300 1e300 1e-1001 0.9999999999999999 "
    "15241578750190521",
    "cosh": "0 -0 1 -1 2^-1074 1e-30 710 -710 1e4 0.5",
    "sinh": "0 -0 1 -1 2^-1074 -2^-1074 1e-30 710 -710 1e4 0.5",
    "asinh": "0 -0 1 -1 2^-1074 -2^-1074 1e-30 1e-10 -1e-10 1e300 -1e300 2^1023 0.5",
    "size": "0 -0 1 -1 2^-1074 -2^-1074 -1e300",
    "sign": "0 -0 1 -1 2^-1074 -2^-1074 1e300 -1e-1000",
}
RANGES = {
    "sin": "[0,1] [1,2] [-1,1] [1.5,1.625] [3,3.25] [0,7] [-100,100] [4.5,4.875] [-1e-30,1e-30] "
    "[1e22,1e22] [0,2^-1074] [1.5703125,1.5712890625]",
    "cos": "[0,1] [-1,1] [3,3.25] [1,2] [0,7] [-100,100] [6.25,6.3125] [-1e-30,1e-30] [-2,-1]",
    "exp": "[0,1] [-1,1] [-1e-30,1e-30] [-1,0] [-0.125,0] [700,700.5] [-745,-744]",
    "log": "[1,2] [0.5,2] [0.875,1.125] [1e300,1e301] [0.25,0.5] [-1,1] [0,1] [0,0] [-1,-1] "
    "[-2,-1]",
    "sqrt": "[0,1] [1,4] [-1,4] [-1e-30,1e-30] [0.25,0.5] [-4,0] [-2,-1] [-1e-300,-1e-301] "
    "[1e300,1e301]",
    "cosh": "[0,1] [-1,1] [-0.125,0.25] [1,1.25] [-2,-1.75] [-1e-30,1e-30]",
    "sinh": "[0,1] [-1,1] [-0.125,0.25] [1,1.25] [-2,-1.75] [-1e-30,1e-30]",
    "asinh": "[0,1] [-1,1] [-0.125,0.25] [1,1.25] [-2,-1.75] [1e300,1e301] [-1e-30,1e-30]",
    "size": "[0,1] [-1,1] [-3,1] [-1,3] [-3,-1] [0,0] [-1e-30,1e-30]",
    "sign": "[0,1] [-1,1] [-1,0] [0,0] [2^-20,1] [-1,-2^-20] [-1e-300,1e-300]",
}
PAIRS = {
    "atan2": [
        *(f"{y} {x}" for y in ("0", "-0", "1", "-1", "2^-1074", "-2^-1074", "1e300", "-1e300")
          for x in ("0", "-0", "1", "-1", "2^-1074", "-2^-1074", "1e300", "-1e300")),
        "[1,2] [1,2]", "[-1,1] [1,2]", "[-2,-1] [-1,1]", "[1,2] [-1,1]", "[1,2] [-2,-1]",
        "[-2,-1] [-2,-1]", "[-1,1] [-2,-1]", "[0,1] [-2,-1]", "[-1,0] [-2,-1]", "[-1,1] [-1,1]",
        "[0,0] [1,2]", "[0,0] [-2,-1]", "[1,2] [0,0]", "[-2,-1] [0,0]", "[0,1] [1,2]",
        "[1,2] [0,1]", "[0,0] [-1,1]", "[1e-30,2e-30] [-2,-1]", "[-2e-30,-1e-30] [-2,-1]",
    ],
    "divide": [
        "0 1", "-0 -1", "1 3", "-1 3", "1 -3", "1 2^-1074", "2^-1074 3", "1e300 1e-300", "1 0",
        "0 0", "0 [1,2]", "[1,2] [4,8]", "[-1,2] [4,8]", "[-2,-1] [-8,-4]", "[1,2] [-8,-4]",
        "[1,2] [0,1]", "[1,2] [-1,1]", "[-1,1] [-1,1]", "[0,0] [-1,1]", "[1,1] [3,3]",
        "[-1e-30,1e-30] [1,2]",
    ],
    "power": [
        f"{x} {n}" for n in (0, 1, 2, 3, 4, 7, 10, -1, -2, -3, -4)
        for x in ("0", "1", "-1", "3", "-3", "0.1", "2^-1074", "1e300", "[1,2]", "[-2,-1]",
                  "[-1,1]", "[0,1]", "[-2,1]", "[-1e-30,1e-30]")
    ],
    "larger": [
        "1 2", "2 1", "-1 -2", "0 -0", "1e300 -1e300", "[1,2] [3,4]", "[3,4] [1,2]", "[1,3] [2,4]",
        "[-1,1] [2,3]", "[1,2] [2,3]",
    ],
}  # fmt: skip


def number(text: str) -> Fraction:
    """``1e-30``, ``-0``, ``2^-1074``, ``3*2^5``."""
    factor, _, power = text.rpartition("*")
    match = re.fullmatch(r"(-?)2\^(-?\d+)", power)
    if match is None:
        return Fraction(text)
    two = Fraction(2) ** int(match[2]) * (-1 if match[1] else 1)
    return two * Fraction(factor or 1)


def interval(text: str) -> tuple[Fraction, Fraction]:
    low, _, high = text.strip("[]").partition(",")
    return number(low), number(high or low)


def cases() -> list[tuple[str, list[str]]]:
    found = []
    for name in POINTS:
        found += [(name, [x]) for x in (POINTS[name] + " " + RANGES[name]).split()]
    for name, pairs in PAIRS.items():
        found += [(name, pair.split()) for pair in pairs]
    return found


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
    return {
        "size": lambda: abs(x),
        "sign": lambda: mpmath.sign(x),
        "divide": lambda: x / y,
        "power": lambda: x ** int(y),
        "larger": lambda: max(x, y),
        "atan2": lambda: mpmath.atan2(x, y),
    }.get(name, lambda: getattr(mpmath, name)(x))()


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
