"""The text a number shows under the number formats whose outcome is beyond doubt.

The format codes are those of ECMA-376 part 1, 18.8.30 and 18.8.31. Covered: fixed decimals
with ``0``, ``#`` and grouping, per cent, division by thousands, ``0.00E+00``, literal text
and units, colours, sections for positive, negative and zero, and short numbers under
``General``. Everything else (dates, fractions, conditions, ``?``, fill, long numbers under
``General``, whose digits depend on the column's width) is answered with None, not guessed.

Spreadsheet programs round the decimal number of 15 significant digits, ties away from
zero: 1.005 shows as 1.01 under ``0.00`` though its double lies below 1.005 (common
practice, no source; the tests compare with LibreOffice Calc).
"""

from __future__ import annotations

import re
from collections.abc import Callable
from decimal import ROUND_HALF_UP, Context, Decimal
from functools import lru_cache, partial
from typing import TypeAlias

import attrs

__all__ = ["Shown", "displayed_text", "shown_under"]

Shown: TypeAlias = Callable[[float | str | bool | None], str | None]
"""From a cell's value to the text it shows, or None where that is not covered."""

EXACT = Context(prec=400)
SIGNIFICANT_DIGITS = 15
GENERAL_WIDTH = 11
_MOST_PLAIN_DECIMALS = 20
_FEW_ENOUGH_DIGITS = 1e13

_TOKEN = re.compile(
    r"""(?P<colour>\[(?:black|blue|cyan|green|magenta|red|white|yellow|color\s?\d+)\])
      | (?P<currency>\[\$(?P<symbol>[^\]-]*)(?:-[0-9a-f]*)?\])
      | "(?P<quoted>[^"]*)"
      | \\(?P<escaped>.)
      | (?P<space>_.)
      | (?P<number>[0\#][0\#,]*(?:\.[0\#]*)?,*|\.[0\#]+,*)(?P<exponent>e[+-]0+)?
      | (?P<percent>%)
      | (?P<literal>[ $+\-/():!^&'~{}<>=\u0080-\U0010ffff])
    """,
    re.VERBOSE | re.IGNORECASE,
)
_PIECE = re.compile(r'"[^"]*"|\\.|_.|\[[^\]]*\]|.', re.DOTALL)


@attrs.frozen
class _Section:
    """One section of a format: what stands before, for and after the number.

    ``whole`` and ``decimals`` are the placeholders on each side of the point; ``shift`` is
    the power of ten the number is multiplied with; without a number the section is text.
    """

    before: str
    after: str
    number: bool
    whole: str
    decimals: str
    grouped: bool
    shift: int
    exponent: str


def displayed_text(value: float | str | bool | None, number_format: str) -> str | None:
    """The text shown for a cell's value under ``number_format``; None where not covered."""
    return shown_under(number_format)(value)


@lru_cache(maxsize=1024)
def shown_under(number_format: str) -> Shown:
    """What makes the text of a value under ``number_format``, for many values."""
    places = _plain_decimals(number_format)
    if places is None:
        return partial(_shown, number_format)
    return _plainly(number_format, places)


def _plain_decimals(number_format: str) -> int | None:
    """The decimals of ``0``, ``0.0``, ``0.00`` ..., the formats most outputs have; else None."""
    match = re.fullmatch(r"0(?:\.(0+))?", number_format)
    places = 0 if match is None else len(match[1] or "")
    return None if match is None or places > _MOST_PLAIN_DECIMALS else places


def _plainly(number_format: str, places: int) -> Shown:
    """Makes texts of fixed decimals.

    Away from a tie the nearest decimal is that of the double itself: cutting it to 15 digits
    moves a number by less than one part in 10^14, and so does rounding the product here.
    """
    power, wanted = 10.0**places, f".{places}f"

    def shown(value: float | str | bool | None) -> str | None:
        if type(value) is not float:
            return _shown(number_format, value)
        size = abs(value)
        scaled = size * power
        if scaled < _FEW_ENOUGH_DIGITS and abs(scaled % 1.0 - 0.5) > scaled * 1e-14:
            text = format(size, wanted)
        else:
            text = f"{_rounded(_decimal(size), places):f}"
        return "-" + text if value < 0 and text.strip("0.") else text

    return shown


def _shown(number_format: str, value: float | str | bool | None) -> str | None:
    if value is None:
        return ""
    if isinstance(value, bool):
        return str(value).upper()
    sections = _sections(number_format)
    if isinstance(value, str):
        plain = "@" not in number_format and len(sections) < 4
        return value if plain or sections[-1] == "@" else None
    if number_format.lower() in ("general", "@", ""):
        return _general(value)
    section = _parsed(_section_for(value, sections))
    if section is None:
        return None
    negative = value < 0 and len(sections) == 1
    if not section.number:
        return None if negative else section.before
    number = _number(abs(_decimal(value)), section)
    if number is None:
        return None
    sign = "-" if negative and re.search("[1-9]", number) else ""
    return sign + section.before + number + section.after


def _decimal(value: float) -> Decimal:
    return Decimal(f"{value:.{SIGNIFICANT_DIGITS - 1}e}")


@lru_cache(maxsize=1024)
def _sections(number_format: str) -> tuple[str, ...]:
    sections = [""]
    for piece in _PIECE.findall(number_format):
        if piece == ";":
            sections.append("")
        else:
            sections[-1] += piece
    return tuple(sections)


def _section_for(value: float, sections: tuple[str, ...]) -> str:
    if value < 0 and len(sections) > 1:
        return sections[1]
    if value == 0 and len(sections) > 2:
        return sections[2]
    return sections[0]


@lru_cache(maxsize=1024)
def _parsed(section: str) -> _Section | None:
    before, after, percents = "", "", 0
    number: re.Match[str] | None = None
    position = 0
    while position < len(section):
        token = _TOKEN.match(section, position)
        if token is None or (token["number"] and number):
            return None
        position = token.end()
        if token["number"]:
            number = token
            continue
        text = _literal(token)
        percents += token["percent"] is not None
        if number:
            after += text
        else:
            before += text
    return _section(before, after, number, percents)


def _literal(token: re.Match[str]) -> str:
    if token["colour"]:
        return ""
    if token["currency"]:
        return token["symbol"]
    if token["space"]:
        return " "
    return next(
        text for k in ("quoted", "escaped", "percent", "literal") if (text := token[k]) is not None
    )


def _section(before: str, after: str, number: re.Match[str] | None, percents: int) -> _Section:
    if number is None:
        return _Section(before, after, False, "", "", False, 0, "")
    whole, _, decimals = number["number"].partition(".")
    scaled = len(whole) - len(whole.rstrip(",")) + decimals.count(",")
    whole = whole.rstrip(",")
    return _Section(
        before,
        after,
        True,
        whole.replace(",", ""),
        decimals.rstrip(","),
        "," in whole,
        2 * percents - 3 * scaled,
        number["exponent"] or "",
    )


def _number(size: Decimal, section: _Section) -> str | None:
    size = size.scaleb(section.shift, EXACT)
    if section.exponent:
        return _scientific(size, section)
    places = len(section.decimals)
    if section.shift and size.scaleb(places, EXACT) % 1 == Decimal("0.5"):
        return None  # programs differ on whether the shifted double is still a tie
    text = f"{_rounded(size, places):f}"
    whole, _, decimals = text.partition(".")
    least = section.decimals.rindex("0") + 1 if "0" in section.decimals else 0
    decimals = decimals[:least] + decimals[least:].rstrip("0")
    if section.decimals and not decimals:
        return None  # programs differ on whether the point stays
    width = len(section.whole) - section.whole.find("0") if "0" in section.whole else 0
    whole = whole.lstrip("0").rjust(width, "0")
    if section.grouped:
        whole = _grouped(whole)
    return whole + ("." + decimals if decimals else "")


def _grouped(whole: str) -> str:
    first = len(whole) % 3
    groups = [whole[:first]] + [whole[i : i + 3] for i in range(first, len(whole), 3)]
    return ",".join(group for group in groups if group)


def _scientific(size: Decimal, section: _Section) -> str | None:
    if section.whole != "0" or "#" in section.decimals:
        return None
    places = len(section.decimals)
    exponent = size.adjusted() if size else 0
    mantissa = _rounded(size.scaleb(-exponent, EXACT), places)
    if mantissa >= 10:
        exponent, mantissa = exponent + 1, _rounded(mantissa / 10, places)
    sign = "-" if exponent < 0 else "+" if section.exponent[1] == "+" else ""
    digits = str(abs(exponent)).rjust(len(section.exponent) - 2, "0")
    return f"{mantissa:f}E{sign}{digits}"


def _rounded(number: Decimal, places: int) -> Decimal:
    return number.quantize(_last_place(places), ROUND_HALF_UP, EXACT)


@lru_cache(maxsize=64)
def _last_place(places: int) -> Decimal:
    return Decimal(1).scaleb(-places)


def _general(value: float) -> str | None:
    """Numbers whose 15 digits fit any column a person would read them in."""
    number = _decimal(value)
    if number == 0:
        return "0"
    text = f"{number.normalize(EXACT):f}"
    fits = len(text.lstrip("-")) <= GENERAL_WIDTH and abs(number) >= Decimal("0.0001")
    return text if fits else None
