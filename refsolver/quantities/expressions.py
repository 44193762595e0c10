"""Constant expressions: "50*sqrt(2)", "(50/3)*sqrt(7)", "100*sin(40 deg)", "pi/4".

The grammar has no implicit multiplication and nothing that is read in two ways::

    sum      = [sign] product { ("+" | "-") product }
    product  = power { ("*" | "·" | "/") power }       not a/b/c
    power    = atom [ "^" exponent ]                   not -a^b at the start, not a^b^c
    exponent = [sign] digits | "(" [sign] digits ")" | "(1/2)" | "0.5"
    atom     = numeral | "pi" | "(" sum ")"
             | ("sqrt" | "exp" | "ln") "(" sum ")"
             | ("sin" | "cos" | "tan") "(" angle ")"
    angle    = sum unit | sum ":" sum                  the ratio is rise:run

A sign inside an expression needs parentheses: ``2*(-3)``.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import TypeVar

from flint import fmpq

from refsolver.arithmetic.exact import Angle, Constant, Exact, Operation, Slope, square_root, total
from refsolver.quantities.dimensions import ANGLE
from refsolver.quantities.folding import PI, difference, negative, over, power, times
from refsolver.quantities.numerals import take_numeral
from refsolver.quantities.scanner import LiteralError, Scanner
from refsolver.quantities.units import UnitError, read_angle, read_unit

__all__ = ["continues", "take_expression", "take_sign"]

T = TypeVar("T")

_MINUS = ("-", "−")
_SIGN = re.compile(r"([+\-−])\s*")
_PLUS_MINUS = re.compile(r"(\s*)([+\-−])(\s*)")
_TIMES_OVER = re.compile(r"\s*([*·⋅/])\s*")
_CARET = re.compile(r"\s*\^\s*|(?=[⁰¹²³⁴⁵⁶⁷⁸⁹⁻])")
_CROSS = re.compile(r"\s*[x×](?=[\s0-9(])")
_SIDE_BY_SIDE = re.compile(r"\s*(\(|√|π|(?:sqrt|sin|cos|tan|exp|ln|pi)(?![A-Za-z]))")
_RANGE = re.compile(r"[0-9.,]+([\-−])[0-9.,]+(?:/[0-9]+)?(?![0-9.,])(?!\s*[*·⋅/^+\-−(])")
_HALF = re.compile(r"0?\.50*(?![0-9.,])|\(\s*(?:1\s*/\s*2|0?\.50*)\s*\)")
_ONE_OVER = re.compile(r"1\s*/")
_WHOLE = re.compile(r"([+\-−]?[0-9]+)(?![0-9.,])|\(\s*([+\-−]?[0-9]+)\s*\)|(⁻?[⁰¹²³⁴⁵⁶⁷⁸⁹]+)")
_NAME = re.compile(r"[^\W\d_]+|√")
_OPENING = re.compile(r"\s*\(\s*")
_CLOSING = re.compile(r"\s*\)")
_COLON = re.compile(r"\s*:\s*")
_ANGLE_UNIT = re.compile(r"\s*([A-Za-z]+|°)")
_AS_ASCII = str.maketrans("⁰¹²³⁴⁵⁶⁷⁸⁹⁻−", "0123456789--")

_DEEPEST = 40
_MOST_ATOMS = 100
_LARGEST_POWER = 10_000
_LARGEST_BITS = 20_000

_FUNCTIONS: dict[str, Operation] = {
    "sqrt": "sqrt",
    "exp": "exp",
    "ln": "ln",
    "sin": "sin",
    "cos": "cos",
    "tan": "tan",
}

_ADVICE = {
    "e": "write exp(1) for the base of natural logarithms",
    "√": "write sqrt(2)",
    "log": "write ln(...) for the natural logarithm",
    **dict.fromkeys(
        ("atan", "arctan", "asin", "arcsin", "acos", "arccos"),
        "write an angle in degrees or radians, or by its slope rise:run",
    ),
}


def take_expression(scanner: Scanner) -> Exact:
    """The value of the expression at the present position, as far as it reaches.

    Raises LiteralError where none begins there or it is malformed, ambiguous or undefined
    (a division by zero, the root of a negative number).
    """
    return _Expression(scanner).sum()


def take_sign(scanner: Scanner) -> int:
    """-1 or +1 by the sign at the present position; two signs in a row are refused."""
    sign = scanner.take(_SIGN)
    if sign and scanner.peek(_SIGN):
        raise scanner.error("two signs in a row", "write one sign, or parentheses as in 2 - (-3)")
    return -1 if sign and sign[1] in _MINUS else 1


def continues(scanner: Scanner) -> bool:
    """Whether what follows a number continues an expression, or would seem to."""
    patterns = (_PLUS_MINUS, _TIMES_OVER, _CARET, _CROSS, _SIDE_BY_SIDE)
    return any(scanner.peek(pattern) for pattern in patterns)


class _Expression:
    """One method a rule of the grammar; each reads from the scanner and returns a value."""

    def __init__(self, scanner: Scanner) -> None:
        self.scanner = scanner
        self.depth = 0
        self.atoms = 0

    def sum(self) -> Exact:
        start = self.scanner.position
        sign = take_sign(self.scanner)
        self._refuse_range()
        value = self.product(signed=self.scanner.position > start)
        if sign < 0:
            value = negative(value)
        while m := self.scanner.take(_PLUS_MINUS):
            self._refuse_lopsided(m)
            term = self.product()
            value = difference(value, term) if m[2] in _MINUS else total(value, term)
        return value

    def product(self, signed: bool = False) -> Exact:
        value = self.power(signed)
        divided = False
        while m := self.scanner.take(_TIMES_OVER):
            if divided and m[1] == "/":
                raise self._error(
                    "a/b/c leaves open what is divided", "write a/(b*c) or (a/b)/c", m.start(1)
                )
            divided = m[1] == "/"
            at = self.scanner.position
            factor = self.power()
            value = self._over(value, factor, at) if divided else times(value, factor)
        return value

    def power(self, signed: bool = False) -> Exact:
        at = self.scanner.position
        base = self.atom()
        if self.scanner.take(_CARET):
            if signed:
                raise self._error(
                    "a sign before a power is read in two ways", "write -(a^b) or (-a)^b", at
                )
            base = self.raised(base, at)
            if self.scanner.peek(_CARET):
                raise self._error(
                    "a power of a power is read in two ways", "write (a^b)^c or a^(b*c)"
                )
        self._refuse_side_by_side()
        return base

    def raised(self, base: Exact, at: int) -> Exact:
        scanner = self.scanner
        if scanner.take(_HALF):
            return self._root(base, at)
        if scanner.peek(_ONE_OVER):
            raise self._error("a^1/2 is read in two ways", "write sqrt(a), a^(1/2) or (a^1)/2")
        m = scanner.take(_WHOLE)
        if m is None:
            raise self._error(
                "the exponent is neither a whole number nor 1/2",
                "write whole exponents, and roots with sqrt: sqrt(a)^3 for a^(3/2)",
            )
        digits = next(group for group in m.groups() if group).translate(_AS_ASCII)
        exponent = int(digits) if len(digits) < 9 else _LARGEST_POWER + 1
        if base == 0 and exponent < 0:
            raise self._error("this divides by zero", "check the base and the exponent", at)
        bits = base.height_bits() * abs(exponent) if isinstance(base, fmpq) else 0
        if abs(exponent) > _LARGEST_POWER or bits > _LARGEST_BITS:
            raise self._error("this power is out of all proportion", "use smaller exponents", at)
        return power(base, exponent)

    def atom(self) -> Exact:
        scanner = self.scanner
        self.atoms += 1
        if self.atoms > _MOST_ATOMS:
            raise self._error("the expression is too long", f"use at most {_MOST_ATOMS} numbers")
        numeral = take_numeral(scanner)
        if numeral is not None:
            return numeral.value
        if scanner.take(_OPENING):
            return self._inside(self.sum)
        at = scanner.position
        name = scanner.take(_NAME)
        if name is None:
            raise self._number_expected()
        return self.named(name.group(), at)

    def named(self, name: str, at: int) -> Exact:
        if name in ("pi", "π"):
            return PI
        operation = _FUNCTIONS.get(name)
        if operation is None:
            raise self._unknown_name(name, at)
        if not self.scanner.take(_OPENING):
            raise self._error(f"{name} is not followed by a parenthesis", f"write {name}(...)")
        if operation in ("sin", "cos", "tan"):
            return Constant(operation, (self._inside(self.angle),))
        return self._function(operation, self._inside(self.sum), at)

    def angle(self) -> Angle:
        scanner = self.scanner
        at = scanner.position
        value = self.sum()
        if scanner.take(_COLON):
            run = self.sum()
            if value == 0 and run == 0:
                raise self._error("0:0 has no direction", "write rise:run, not both zero", at)
            return Slope(value, run)
        unit = scanner.take(_ANGLE_UNIT)
        if unit is None:
            raise self._error(
                "the unit of this angle is missing",
                "write sin(40 deg), sin(0.7 rad), or sin(3:4) by rise:run",
            )
        try:
            return read_angle(value, read_unit(unit[1], wanted=ANGLE))
        except UnitError as error:
            raise scanner.adopt(error, unit.start(1)) from None

    def _function(self, name: Operation, x: Exact, at: int) -> Exact:
        if name == "sqrt":
            return self._root(x, at)
        if name == "ln" and isinstance(x, fmpq) and x <= 0:
            raise self._error("this is the logarithm of no positive number", "check the sign", at)
        return Constant(name, (x,))

    def _root(self, x: Exact, at: int) -> Exact:
        try:
            return square_root(x)
        except ValueError:
            raise self._error(
                "this is the root of a negative number", "check the sign", at
            ) from None

    def _over(self, a: Exact, b: Exact, at: int) -> Exact:
        try:
            return over(a, b)
        except ZeroDivisionError:
            raise self._error("this divides by zero", "check the divisor", at) from None

    def _inside(self, rule: Callable[[], T]) -> T:
        self.depth += 1
        if self.depth > _DEEPEST:
            raise self._error("too many parentheses", f"nest at most {_DEEPEST}")
        value = rule()
        if not self.scanner.take(_CLOSING):
            raise self._error(
                "the parenthesis is not closed here", "write one number in it and close it with )"
            )
        self.depth -= 1
        return value

    def _refuse_range(self) -> None:
        m = self.scanner.peek(_RANGE) if self.depth == 0 else None
        if m:
            raise self._error(
                "this may be a range, a mixed number or a difference",
                "write one value; a mixed number as 9 5/8; a difference as 20 - 10",
                m.start(1),
            )

    def _refuse_lopsided(self, m: re.Match[str]) -> None:
        if bool(m[1]) != bool(m[3]):
            raise self._error(
                "a sign with a space on one side only may begin another number",
                "write a difference as 5 - 3 or sqrt(5)-3, and one value at a time",
                m.start(2),
            )

    def _refuse_side_by_side(self) -> None:
        if self.scanner.peek(_CROSS):
            raise self._error(
                "a cross is read only in a power of ten such as 3.2 x 10^5",
                "write * for a product; give the sides of a figure one by one",
            )
        if self.scanner.peek(_SIDE_BY_SIDE):
            raise self._error("an operator is missing here", "write the product with *: 2*pi")

    def _number_expected(self) -> LiteralError:
        if self.scanner.rest.strip():
            return self._error(
                "a number is expected here", "write for example 62.0, 2/3 or sqrt(2)"
            )
        return self._error("the text ends where a number is expected", "complete it")

    def _unknown_name(self, name: str, at: int) -> LiteralError:
        advice = _ADVICE.get(name.casefold())
        return self._error(
            f"{name!r} is no number",
            advice or "write numbers, with pi, sqrt, exp, ln, sin, cos and tan where needed",
            at,
        )

    def _error(self, why: str, mend: str, at: int | None = None) -> LiteralError:
        return self.scanner.error(why, mend, at)
