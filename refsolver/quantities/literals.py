"""Quantities as a source prints them: exact value, unit as written, printed precision.

Read are, each followed by a unit where there is one:

- decimals: ``62``, ``62.0``, ``.5``, ``10,300``, ``3.2e5``, ``1.25D+03``, ``3.2 x 10^5``;
- fractions and mixed numbers: ``2/3``, ``9 5/8``, ``9½``;
- constant expressions: ``50*sqrt(2)`` (the grammar is in ``expressions``);
- compound values: ``10 ft 6 in``, ``10'-6 1/2"``, ``30°15'20"``, ``30 deg 15 arcmin``;
- ratios: ``3:4``, ``1:12.5`` (a slope is rise:run).

What could be read in two ways is refused with the choices; nothing is guessed. Whether
the unit is known is for :func:`~refsolver.quantities.units.read_unit` to say, except
that the parts of a compound value are converted here.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence
from functools import lru_cache

import attrs
from flint import fmpq, fmpz

from refsolver.arithmetic.exact import Exact
from refsolver.quantities.expressions import continues, take_expression, take_sign
from refsolver.quantities.folding import negative, over
from refsolver.quantities.numerals import Numeral, take_numeral, take_power_of_ten
from refsolver.quantities.scanner import LiteralError, Scanner
from refsolver.quantities.unit_form import UnitError, read_unit_form
from refsolver.quantities.units import Unit, read_unit

__all__ = ["Literal", "LiteralError", "Printed", "half_unit", "read_literal"]

_LONGEST = 4000

_VULGAR = "¼½¾⅐⅑⅒⅓⅔⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞"
_NUMBER_BEGINS = re.compile(rf"[0-9{_VULGAR}]|\.[0-9]")
_MIXED_PART = re.compile(rf"\s+([0-9]+)\s*/\s*([0-9]+)(?![0-9.,])|\s*([{_VULGAR}])")
_FRACTION = re.compile(r"([0-9]+)\s*/\s*([0-9]+)(?![0-9.,])")
_COLON = re.compile(r"\s*:\s*")
_DEGREE_AND_MORE = re.compile(rf"°(?=\s*(?:[0-9{_VULGAR}]|\.[0-9]))")
_MARK = re.compile(r"(['′\"″])")
_SPACES = re.compile(r"\s*")
_FOOT_DASH = re.compile(r"\s*-?\s*")
_UNIT_RUN = re.compile(rf"(?:(?!\s+(?:[0-9{_VULGAR}]|\.[0-9]))[^:])+")

_MARKS = ("'", "′", '"', "″")
_ANGLE_UNITS = ("°", "deg", "arcmin")
_UNIT_OF_MARK = {
    "length": {"'": "ft", "′": "ft", '"': "in", "″": "in"},
    "angle": {"'": "arcmin", "′": "arcmin", '"': "arcsec", "″": "arcsec"},
}


@attrs.frozen
class Printed:
    """What the print of a decimal says about its precision.

    ``step`` is the value of one unit in the last printed digit, in the unit of the
    literal; ``figures`` the number of digits from the first that is not zero (0 for a
    zero); ``decimals`` the digits after the point (of the mantissa, or of the last part
    of a compound value). ``trailing_zeros_ambiguous`` where zeros end a print without a
    point: 10300 has three to five figures.
    """

    step: fmpq
    figures: int
    decimals: int
    trailing_zeros_ambiguous: bool


@attrs.frozen
class Literal:
    """A quantity as printed.

    ``value`` is exact and in the unit ``unit_text`` (the first unit of a compound value;
    empty where there is none). ``printed`` is None for an exact print: a fraction, a
    mixed number, a constant expression, a ratio. ``ratio`` is (a, b) for ``a:b``, whose
    value is a/b.
    """

    text: str
    value: Exact
    unit_text: str
    printed: Printed | None
    ratio: tuple[Exact, Exact] | None = None


def half_unit(literal: Literal) -> fmpq | None:
    """Half of one unit in the last printed digit, in the literal's unit; None if exact."""
    return None if literal.printed is None else literal.printed.step / 2


@lru_cache(maxsize=8192)
def read_literal(text: str) -> Literal:
    """Read one quantity.

    Raises LiteralError with the place, the reason and how to mend it; UnitError where the
    parts of a compound value have units that are unknown or do not belong together.
    """
    return _Reader(text).read()


@attrs.frozen
class _Number:
    """``sign * size``; ``numeral`` where it is a printed decimal, else the print is exact."""

    sign: int
    size: Exact
    numeral: Numeral | None
    start: int

    @property
    def value(self) -> Exact:
        return negative(self.size) if self.sign < 0 else self.size


@attrs.frozen
class _Part:
    number: _Number
    unit_text: str
    unit_start: int


class _Reader:
    def __init__(self, text: str) -> None:
        self.text = text
        self.scanner = Scanner(text)

    def read(self) -> Literal:
        self._refuse_unreadable()
        self.scanner.skip_spaces()
        first = self._number()
        if self.scanner.take(_COLON):
            return self._ratio(first)
        parts = [self._part(first, after="")]
        while not self.scanner.at_end:
            parts.append(self._part(self._small_number(), after=parts[-1].unit_text))
        if len(parts) > 1:
            return self._compound(parts)
        return self._simple(parts[0])

    def _refuse_unreadable(self) -> None:
        if not self.text.strip():
            raise self.scanner.error("it is empty", "write a number, with its unit if it has one")
        if len(self.text) > _LONGEST:
            raise LiteralError(
                self.text[:40] + "...", 0, "it is too long", f"use at most {_LONGEST} characters"
            )
        line_break = re.search(r"[\r\n]", self.text)
        if line_break:
            raise self.scanner.error(
                "a line ends here", "write one quantity on one line", line_break.start()
            )

    def _number(self) -> _Number:
        """A signed decimal, mixed number or expression."""
        start = self.scanner.position
        sign = take_sign(self.scanner)
        number = self._decimal_or_mixed(sign)
        if number is not None:
            return number
        self.scanner.position = start
        return _Number(1, take_expression(self.scanner), None, start)

    def _small_number(self) -> _Number:
        """The number of a further part of a compound value."""
        start = self.scanner.position
        if not self.scanner.peek(_NUMBER_BEGINS):
            raise self.scanner.error(
                f"{self.scanner.rest[:1]!r} has no place here", "write one quantity, as 10 ft 6 in"
            )
        fraction = self.scanner.take(_FRACTION)
        if fraction:
            value = self._proper(fmpz(fraction[1]), fmpz(fraction[2]), start)
            return _Number(1, value, None, start)
        number = self._decimal_or_mixed(1)
        if number is None:
            raise self.scanner.error(
                "a further part must be a plain number", "write 10 ft 6 1/2 in", start
            )
        return number

    def _decimal_or_mixed(self, sign: int) -> _Number | None:
        """What begins here if it stands alone; None where an expression goes on."""
        scanner = self.scanner
        start = scanner.position
        numeral = take_numeral(scanner)
        whole = fmpq(0) if numeral is None else numeral.value
        if numeral is None or numeral.is_integer_print:
            fraction = self._fraction_part(begins=numeral is None)
            if fraction is not None:
                return _Number(sign, whole + fraction, None, start)
        if numeral is None:
            return None
        numeral = take_power_of_ten(scanner, numeral)
        return None if continues(scanner) else _Number(sign, numeral.value, numeral, start)

    def _fraction_part(self, begins: bool) -> fmpq | None:
        """The proper fraction of a mixed number; alone only as one character (½)."""
        m = self.scanner.peek(_MIXED_PART)
        if m is None or (begins and not m[3]):
            return None
        numerator, denominator = _of_vulgar(m[3]) if m[3] else (fmpz(m[1]), fmpz(m[2]))
        fraction = self._proper(numerator, denominator, m.end() - len(m.group().lstrip()))
        self.scanner.position = m.end()
        if continues(self.scanner):
            raise self.scanner.error(
                "a mixed number is not part of an expression", "write it as (9 + 5/8)"
            )
        return fraction

    def _proper(self, numerator: fmpz, denominator: fmpz, at: int) -> fmpq:
        if not 0 < numerator < denominator:
            raise self.scanner.error(
                "a mixed number ends with a proper fraction",
                "write 9 5/8; one quantity at a time; a product with *",
                at,
            )
        return fmpq(numerator, denominator)

    def _ratio(self, a: _Number) -> Literal:
        at = self.scanner.position
        b = self._number()
        self.scanner.skip_spaces()
        if not self.scanner.at_end:
            raise self.scanner.error(
                "a ratio ends here", "write two plain numbers without units, as 3:4"
            )
        if b.size == 0:
            raise self.scanner.error(
                "this ratio has no value", "write a vertical direction as an angle, 90 deg", at
            )
        return Literal(self.text, over(a.value, b.value), "", None, (a.value, b.value))

    def _part(self, number: _Number, after: str) -> _Part:
        """The number with the unit that follows it; ``after`` is the unit before it."""
        scanner = self.scanner
        scanner.skip_spaces()
        start = scanner.position
        if scanner.peek(_NUMBER_BEGINS):
            raise scanner.error(
                "two numbers stand side by side",
                "write one quantity; 10300 or 10,300 without a space; a mixed number as 9 5/8",
            )
        mark = scanner.take(_MARK)
        if mark:
            kind = "angle" if after in _ANGLE_UNITS else "length"
            scanner.take(_FOOT_DASH if kind == "length" else _SPACES)
            return _Part(number, _UNIT_OF_MARK[kind][mark[1]], start)
        degree = scanner.take(_DEGREE_AND_MORE)
        unit_text = "°" if degree else self._unit_run(start)
        scanner.skip_spaces()
        return _Part(number, unit_text, start)

    def _unit_run(self, start: int) -> str:
        m = self.scanner.take(_UNIT_RUN)
        unit_text = m.group().strip() if m else ""
        try:
            read_unit_form(unit_text)
        except UnitError as error:
            raise self.scanner.adopt(error, start) from None
        return unit_text

    def _simple(self, part: _Part) -> Literal:
        if self.text[part.unit_start : part.unit_start + 1] in _MARKS:
            at = part.unit_start
            mark = self.text[at]
            raise self.scanner.error(
                f"a lone {mark} is read in two ways",
                f"write {_UNIT_OF_MARK['length'][mark]} or {_UNIT_OF_MARK['angle'][mark]}",
                at,
            )
        numeral = part.number.numeral
        printed = None if numeral is None else _printed(numeral)
        return Literal(self.text, part.number.value, part.unit_text, printed)

    def _compound(self, parts: Sequence[_Part]) -> Literal:
        for part in parts[:-1]:
            self._check_whole(part)
        units = [self._unit_of(part) for part in parts]
        for larger, unit, part in zip(units, units[1:], parts[1:], strict=False):
            self._check_follows(part, unit, larger)
        factors = [unit.factor / units[0].factor for unit in units]
        size = fmpq(0)
        for part, factor in zip(parts, factors, strict=True):
            size += _rational(part.number) * factor
        numeral = parts[-1].number.numeral
        printed = None
        if numeral is not None:
            step = numeral.step * factors[-1]
            printed = Printed(step, _figures((size / step).p), numeral.decimals, False)
        return Literal(self.text, parts[0].number.sign * size, parts[0].unit_text, printed)

    def _unit_of(self, part: _Part) -> Unit:
        if not part.unit_text:
            raise self.scanner.error(
                "this number has no unit", "give each part its unit, 10 ft 6 in", part.number.start
            )
        try:
            return read_unit(part.unit_text)
        except UnitError as error:
            raise self.scanner.adopt(error, part.unit_start) from None

    def _check_follows(self, part: _Part, unit: Unit, larger: Unit) -> None:
        comparable = (larger.dimension, larger.pi_power) == (unit.dimension, unit.pi_power)
        if not comparable or unit.factor >= larger.factor:
            raise self.scanner.error(
                f"{unit.name} is no part of {larger.name}",
                "write one quantity; parts go from the larger unit to the smaller, 10 ft 6 in",
                part.unit_start,
            )
        if _rational(part.number) * unit.factor >= larger.factor:
            raise self.scanner.error(
                f"this is not less than 1 {larger.name}",
                "carry it over to the larger unit, or write one quantity at a time",
                part.number.start,
            )

    def _check_whole(self, part: _Part) -> None:
        numeral = part.number.numeral
        if numeral is None or not numeral.is_integer_print:
            raise self.scanner.error(
                "only the last part may have a fraction",
                "write 10 ft 6 1/2 in, or one quantity at a time",
                part.number.start,
            )


def _printed(numeral: Numeral) -> Printed:
    return Printed(
        step=numeral.step,
        figures=_figures(numeral.digits),
        decimals=numeral.decimals,
        trailing_zeros_ambiguous=numeral.trailing_zeros_ambiguous,
    )


def _figures(digits: fmpz) -> int:
    return len(str(digits)) if digits else 0


def _rational(number: _Number) -> fmpq:
    assert isinstance(number.size, fmpq)  # a decimal or mixed number, no expression
    return number.size


def _of_vulgar(character: str) -> tuple[fmpz, fmpz]:
    numerator, denominator = unicodedata.normalize("NFKC", character).split("⁄")
    return fmpz(numerator), fmpz(denominator)
