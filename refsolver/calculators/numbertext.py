"""Number texts: one printed number with its unit, read exactly; an exact number, printed.

Nothing here rounds without being asked to, and nothing passes through a float. Forms and
field rules of Fortran output (``D`` exponents, a three-digit exponent without its letter,
asterisks where the field was too small) are those of ISO/IEC 1539-1:2018, 13.7.2.
"""

from __future__ import annotations

import functools
import re
from fractions import Fraction
from typing import Literal, TypeAlias

import attrs

__all__ = [
    "GROUP_BY_MARK",
    "Half",
    "NumberText",
    "Unreadable",
    "UnreadableNumber",
    "as_decimal",
    "dressed",
    "figures_text",
    "fixed_text",
    "read_number",
    "scientific_text",
]

Unreadable: TypeAlias = Literal[
    "blank", "overflow", "not a number", "infinite", "several numbers", "malformed"
]
Half: TypeAlias = Literal["away", "even"]
"""Where a value exactly between two neighbours goes: away from zero, or to the even digit."""

LARGEST_EXPONENT = 9999
SUPERSCRIPTS = str.maketrans("⁺⁻⁰¹²³⁴⁵⁶⁷⁸⁹", "+-0123456789")

OVERFLOW = re.compile(r"[+-]?(?:\*+|#{2,})(?:\s.*)?", re.DOTALL)
NOT_A_NUMBER = re.compile(r"[+-]?(?:1\.#)?(?:[qs]?nan|ind)\d*(?:\(\w*\))?(?:\s.*)?", re.I | re.S)
INFINITE = re.compile(r"[+-]?(?:(?:1\.#)?inf(?:inity)?\d*|∞)(?:\s.*)?", re.I | re.S)
UNIT_PART = r"\(*(?:[^\W\d_]+\.?(?:(?:\^|\*\*)?-?\d+)?|[°%'\"′″]+)\)*"
UNIT = re.compile(rf"(?:1\s*/\s*)?{UNIT_PART}(?:[\s·*/.×-]+{UNIT_PART})*\.?")
NUMBER_TAIL = re.compile(r"[xX][0-9A-Fa-f]|\s*[EeDdQq][+-]?\d+$")
CUT_EXPONENT = re.compile(r"[EeDdQq][+-]?")


class UnreadableNumber(ValueError):
    """A text that cannot be read as one number with its unit: ``kind``, ``why``, ``text``."""

    def __init__(self, kind: Unreadable, why: str, text: str) -> None:
        super().__init__(kind, why, text)
        self.kind: Unreadable = kind
        self.why = why
        self.text = text

    def __str__(self) -> str:
        return f"{self.text!r} cannot be read as a number: {self.why}"


@attrs.frozen
class NumberText:
    """One printed number.

    ``number`` is its exact decimal text in plain form (``-1.234E-105``; the sign of a
    negative zero is kept, grouping is not), ``unit`` the text behind it, uninterpreted.
    ``decimals`` is the place of the last printed digit behind the decimal mark (negative:
    before it), so that one unit of it is 10**-decimals. ``figures`` counts the digits
    printed from the first one that is not zero; a zero has none.
    """

    number: str
    unit: str
    decimals: int
    figures: int

    @property
    def value(self) -> Fraction:
        return Fraction(self.number)


GROUP_BY_MARK = {".": ",", ",": "."}
"""The separator of groups of three digits that goes with each decimal mark."""


def read_number(text: str, *, mark: str = ".", group: str = ",") -> NumberText:
    """Read ``text`` as one number with an optional unit behind it.

    ``mark`` is the decimal mark and ``group`` the separator of groups of three digits ("" for
    none). Read: ``-0.00``, ``.5``, ``5.``, ``1,234.5``, ``1.5E3``, ``1.23D+04``, ``1.234-105``,
    ``1.5 x 10^3``, each with a unit such as ``kN``, ``kip-ft``, ``mm^4``, ``%``. Raises
    :class:`UnreadableNumber` for anything else: a blank, asterisks, NaN, infinity, several
    numbers, a fraction, a bound, a minus sign behind the number.
    """
    stripped = text.strip().replace("\N{MINUS SIGN}", "-")
    _refuse_what_is_no_number(stripped, text)
    match = _number_pattern(mark, group).match(stripped)
    if match is None:
        raise UnreadableNumber("malformed", "it does not begin with a number", text)
    rest = stripped[match.end() :]
    mantissa = match["mantissa"].replace(group, "") if group else match["mantissa"]
    whole, point, part = mantissa.partition(mark)
    if match["bare"] and not point:
        rest = match["bare"] + rest
    if re.match(r"[.,]\d", rest):
        why = f"it does not fit the decimal mark {mark!r} with grouping by {group!r}"
        raise UnreadableNumber("malformed", why, text)
    _refuse_what_is_no_unit(rest, text)
    exponent = _exponent(match, text)
    return NumberText(
        number=_plain_form(match["sign"], whole, part, exponent),
        unit=rest.strip(),
        decimals=len(part) - exponent,
        figures=len((whole + part).lstrip("0")),
    )


@functools.lru_cache
def _number_pattern(mark: str, group: str) -> re.Pattern[str]:
    """The longest number at the start of a text, in the notation asked for."""
    if not mark or mark == group or any(c.isalnum() or c in "+-" for c in mark + group):
        raise ValueError(
            f"decimal mark {mark!r} and group separator {group!r} cannot be told apart"
        )
    point = re.escape(mark)
    grouped = rf"[1-9]\d{{0,2}}(?:{re.escape(group)}\d{{3}})+(?!\d)|" if group else ""
    return re.compile(
        rf"(?P<sign>[+-]?)\s*(?P<mantissa>(?:{grouped}\d+)(?:{point}\d*)?|{point}\d+)"
        r"(?:[EeDdQq](?P<letter>[+-]?\d+)"
        r"|(?P<bare>[+-]\d{3})(?!\d)"
        r"|\s*[x×*·]\s*10\s*(?:(?:\^|\*\*)\s*(?P<ten>[+-]?\d+)|(?P<raised>[⁺⁻]?[⁰¹²³⁴⁵⁶⁷⁸⁹]+)))?",
        re.ASCII,
    )


def _exponent(match: re.Match[str], text: str) -> int:
    raised = match["raised"].translate(SUPERSCRIPTS) if match["raised"] else None
    printed = match["letter"] or match["bare"] or match["ten"] or raised or "0"
    if len(printed) > 12 or abs(int(printed)) > LARGEST_EXPONENT:
        raise UnreadableNumber("malformed", f"its exponent {printed} is out of range", text)
    return int(printed)


def _refuse_what_is_no_number(stripped: str, text: str) -> None:
    if not stripped:
        raise UnreadableNumber("blank", "it is blank", text)
    if OVERFLOW.fullmatch(stripped):
        raise UnreadableNumber("overflow", "its field was too small for the number", text)
    if NOT_A_NUMBER.fullmatch(stripped):
        raise UnreadableNumber("not a number", "the calculator printed 'not a number'", text)
    if INFINITE.fullmatch(stripped):
        raise UnreadableNumber("infinite", "the calculator printed infinity", text)


def _refuse_what_is_no_unit(rest: str, text: str) -> None:
    unit = rest.strip()
    if not unit:
        return
    if CUT_EXPONENT.fullmatch(rest):
        raise UnreadableNumber("malformed", "its exponent is cut off", text)
    if UNIT.fullmatch(unit) and not NUMBER_TAIL.match(rest):
        return
    if re.search(r"(?:^|[\s,;:/])[+-]?\.?\d", rest):
        raise UnreadableNumber(
            "several numbers", f"{unit!r} behind the first number holds another", text
        )
    raise UnreadableNumber("malformed", f"{unit!r} behind the number is not a unit", text)


def _plain_form(sign: str, whole: str, part: str, exponent: int) -> str:
    minus = "-" if sign == "-" else ""
    point = f".{part}" if part else ""
    power = f"E{exponent:+d}" if exponent else ""
    return f"{minus}{whole.lstrip('0') or '0'}{point}{power}"


def _nearest(numerator: int, denominator: int, half: Half) -> int:
    """The whole number nearest to a fraction that is not negative."""
    quotient, remainder = divmod(numerator, denominator)
    if 2 * remainder > denominator:
        return quotient + 1
    if 2 * remainder == denominator and (half == "away" or quotient % 2):
        return quotient + 1
    return quotient


def _scaled(magnitude: Fraction, places: int, half: Half) -> int:
    """magnitude times 10**places, to the nearest whole number."""
    up, down = int(10 ** max(places, 0)), int(10 ** max(-places, 0))
    return _nearest(magnitude.numerator * up, magnitude.denominator * down, half)


def fixed_text(value: Fraction, digits: int, half: Half = "away") -> str:
    """``value`` with ``digits`` digits behind the point, correctly rounded.

    Negative ``digits`` round to tens, hundreds, ... A result of zero has no sign.
    """
    units = _scaled(abs(value), digits, half)
    minus = "-" if value < 0 and units else ""
    if digits <= 0:
        return f"{minus}{units * 10**-digits}"
    whole, part = divmod(units, 10**digits)
    return f"{minus}{whole}.{part:0{digits}d}"


def _leading_place(magnitude: Fraction) -> int:
    """The e with 10**e <= magnitude < 10**(e+1), for a magnitude above zero."""
    bits = magnitude.numerator.bit_length() - magnitude.denominator.bit_length()
    place = bits * 30103 // 100000
    while magnitude < Fraction(10) ** place:
        place -= 1
    while magnitude >= Fraction(10) ** (place + 1):
        place += 1
    return place


def _leading_place_when_rounded(magnitude: Fraction, figures: int, half: Half) -> int:
    place = _leading_place(magnitude)
    carried = _scaled(magnitude, figures - 1 - place, half) == int(10**figures)
    return place + carried


def scientific_text(value: Fraction, digits: int, half: Half = "away", letter: str = "E") -> str:
    """``value`` as ``d.ddddE+xx``: one digit before the point, ``digits`` behind it.

    The exponent has at least two digits. Zero is printed with the exponent +00.
    """
    magnitude = abs(value)
    place = _leading_place_when_rounded(magnitude, digits + 1, half) if magnitude else 0
    units = str(_scaled(magnitude, digits - place, half)).zfill(digits + 1)
    minus = "-" if value < 0 else ""
    point = f".{units[1:]}" if digits else ""
    return f"{minus}{units[0]}{point}{letter}{place:+03d}"


def figures_text(value: Fraction, figures: int, half: Half = "away") -> str:
    """``value`` to ``figures`` significant figures, written out without an exponent."""
    if not value:
        return "0"
    place = _leading_place_when_rounded(abs(value), figures, half)
    return fixed_text(value, figures - 1 - place, half)


def as_decimal(value: Fraction) -> str:
    """``value`` exactly, with as few digits as possible; ValueError where none suffice."""
    rest, twos, fives = value.denominator, 0, 0
    while rest % 2 == 0:
        rest, twos = rest // 2, twos + 1
    while rest % 5 == 0:
        rest, fives = rest // 5, fives + 1
    if rest != 1:
        raise ValueError(f"{value} has no finite decimal form")
    return fixed_text(value, max(twos, fives))


def dressed(plain: str, mark: str = ".", group: str = "") -> str:
    """A plain decimal text with another decimal mark and with its thousands separated."""
    match = re.match(r"(-?)(\d+)", plain)
    assert match is not None
    whole = f"{int(match[2]):,}".replace(",", group)
    return match[1] + whole + plain[match.end() :].replace(".", mark)
