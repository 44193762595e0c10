"""Printed numerals: digits with a point, grouping, a power of ten; and nothing guessed.

A numeral keeps what its print says about its precision. Groups of three may be set off
by commas (10,300) or by thin, figure or no-break spaces on both sides of the point (SI
Brochure, 9th ed., section 5); an ordinary space, a decimal comma, an underscore or groups
of another length are refused, because each has a second reading. Only the table print of
NIST SP 811, Appendix B (4.448 222 E+00), where the exponent shows that it is one number,
may have ordinary spaces.
"""

from __future__ import annotations

import re

import attrs
from flint import fmpq, fmpz

from refsolver.quantities.scanner import LiteralError, Scanner

__all__ = ["Numeral", "take_numeral", "take_power_of_ten"]

_RUN = re.compile(r"(?:[0-9]|\.[0-9])[0-9.,_]*")
_PLAIN = re.compile(r"([0-9]+)(\.[0-9]*)?|(\.[0-9]+)")
_COMMAS = re.compile(r"[1-9][0-9]{0,2}(,[0-9]{3})+(\.[0-9]*)?")
_THIN = "[\u00a0\u2007\u2009\u202f]"
_SPACED = re.compile(
    rf"[0-9]{{1,3}}(?:{_THIN}[0-9]{{3}})+(?:\.(?:[0-9]{{3}}{_THIN})*[0-9]*)?(?![0-9])"
    rf"|[0-9]+\.(?:[0-9]{{3}}{_THIN})+[0-9]{{1,3}}(?![0-9])"
)
_TABLE_PRINT = re.compile(r"([0-9]+)\.((?:[0-9]{3} )*[0-9]{1,3}) E([+\-−][0-9]{2})(?![0-9])")
_EXPONENT = re.compile(r"[eEdD]([+\-−]?[0-9]+)")
_LOOSE_EXPONENT = re.compile(r"\s+[eE][+\-−]?[0-9]|[eE](?![^\W\d_])|[dD][+\-−]")
_POWER_OF_TEN = re.compile(
    r"\s*[x×*·⋅]\s*10\s*"
    r"(?:\^\s*\(\s*([+\-−]?[0-9]+)\s*\)|\^\s*([+\-−]?[0-9]+)|([⁺⁻]?[⁰¹²³⁴⁵⁶⁷⁸⁹]+))(?![0-9.,])"
)
_AS_ASCII = str.maketrans("⁰¹²³⁴⁵⁶⁷⁸⁹⁺⁻−", "0123456789+--")
_LARGEST_EXPONENT = 1000


@attrs.frozen
class Numeral:
    """``digits * 10**(exponent - decimals)``, printed with ``decimals`` digits after the point."""

    digits: fmpz
    decimals: int
    has_point: bool
    exponent: int | None = None

    @property
    def step(self) -> fmpq:
        """The value of one unit in the last printed digit."""
        step: fmpq = fmpq(10) ** ((self.exponent or 0) - self.decimals)
        return step

    @property
    def value(self) -> fmpq:
        return self.step * self.digits

    @property
    def is_integer_print(self) -> bool:
        """Printed as plain digits, without a point or a power of ten."""
        return not self.has_point and self.exponent is None

    @property
    def trailing_zeros_ambiguous(self) -> bool:
        """Zeros at the end of an integer print may be figures or mere placeholders."""
        return not self.has_point and self.digits != 0 and self.digits % 10 == 0


def take_numeral(scanner: Scanner) -> Numeral | None:
    """The numeral at the present position, or None where none begins there.

    Raises LiteralError for a malformed or ambiguous one.
    """
    table = scanner.take(_TABLE_PRINT)
    if table:
        after = table[2].replace(" ", "")
        exponent = int(table[3].translate(_AS_ASCII))
        return Numeral(fmpz(table[1] + after), len(after), True, exponent)
    spaced = scanner.take(_SPACED)
    if spaced:
        body = re.sub(_THIN, "", spaced.group())
        if scanner.rest.startswith("/"):
            raise scanner.error(
                "digits grouped by a space before / may be one number or a mixed number",
                "write 9125/128 without the space, or 9 125/128 with an ordinary space",
            )
    else:
        body = _take_plain_or_commas(scanner)
    if not body:
        return None
    before, point, after = body.replace(",", "").partition(".")
    return Numeral(fmpz(before + after), len(after), bool(point), _take_exponent(scanner))


def take_power_of_ten(scanner: Scanner, numeral: Numeral) -> Numeral:
    """The numeral times the power of ten that follows it ("x 10^5"), if one does."""
    m = scanner.take(_POWER_OF_TEN) if numeral.exponent is None else None
    if m is None:
        return numeral
    return attrs.evolve(numeral, exponent=_bounded_exponent(scanner, m))


def _take_plain_or_commas(scanner: Scanner) -> str:
    run = scanner.peek(_RUN)
    if run is None:
        return ""
    body = run.group().rstrip(",")
    if not (_PLAIN.fullmatch(body) or _COMMAS.fullmatch(body)):
        raise _malformed(scanner, body)
    scanner.position += len(body)
    return body


def _take_exponent(scanner: Scanner) -> int | None:
    m = scanner.take(_EXPONENT)
    if m:
        return _bounded_exponent(scanner, m)
    if scanner.peek(_LOOSE_EXPONENT):
        raise scanner.error(
            "this power of ten is not complete", "write it without spaces and with digits, 3.2e5"
        )
    return None


def _bounded_exponent(scanner: Scanner, m: re.Match[str]) -> int:
    digits = next(group for group in m.groups() if group)
    exponent = int(digits.translate(_AS_ASCII)) if len(digits) < 9 else _LARGEST_EXPONENT + 1
    if abs(exponent) > _LARGEST_EXPONENT:
        raise scanner.error(
            "this power of ten is out of all proportion",
            f"use powers of ten from -{_LARGEST_EXPONENT} to {_LARGEST_EXPONENT}",
            m.start(),
        )
    return exponent


def _malformed(scanner: Scanner, body: str) -> LiteralError:
    if "_" in body:
        at = body.index("_")
        why, mend = "digits are not grouped by _ here", "write the digits without it"
    elif "," in body:
        at = body.index(",")
        why = "this comma may be a decimal comma or may group digits by three"
        mend = (
            "write a point for decimals (1.5) and groups of exactly three digits (10,300), "
            "or no commas at all"
        )
    else:
        at = body.index(".", body.index(".") + 1)
        why, mend = "a second decimal point", "write one number with one point"
    return scanner.error(why, mend, scanner.position + at)
