"""The grammar of unit expressions: words with powers, known or not.

Powers are written ``m^2``, ``m2`` or ``m²``; products with a space, ``*``, ``·``, ``×``,
``.`` or ``-``; one ``/`` is followed by one unit, or by several in parentheses (SI
Brochure, 9th ed., section 5: no second solidus, and nothing ambiguous after one, without
parentheses).
"""

from __future__ import annotations

import re

import attrs

from refsolver.quantities.reading_error import ReadingError

__all__ = ["UnitError", "read_unit_form"]


class UnitError(ReadingError):
    """A unit that is malformed, unknown, ambiguous or of another dimension than wanted."""

    kind = "unit"


_WORD = re.compile(r"[A-Za-zµμ]+(?:_[A-Za-z]+)?(?:-(?:US|UK|force)\b)?|[°%#'\"′″]")
_POWER = re.compile(
    r"\s*\^\s*(?:([+\-−]?[0-9]+)|\(\s*([+\-−]?[0-9]+)\s*\))"
    r"|([0-9]+)|([⁺⁻]?[⁰¹²³⁴⁵⁶⁷⁸⁹]+)"
)
_SLASH = re.compile(r"\s*/\s*")
_TIMES = re.compile(r"\s*[*·⋅×.\-]\s*|\s+")
_OPENING = re.compile(r"\(\s*")
_CLOSING = re.compile(r"\s*\)")
_RAISED = str.maketrans("⁰¹²³⁴⁵⁶⁷⁸⁹⁺⁻−", "0123456789+--")
_LARGEST_POWER = 12


def read_unit_form(text: str) -> list[tuple[str, int, int]]:
    """The words of a unit expression as (word, power, position), in their order.

    Empty for an empty text. Raises UnitError where the text breaks the grammar.
    """
    return _Form(text).read()


@attrs.define
class _Form:
    text: str
    position: int = 0

    def read(self) -> list[tuple[str, int, int]]:
        text = self.text
        self.position = len(text) - len(text.lstrip())
        end = len(text.rstrip())
        if self.position >= end:
            return []
        found = self._product()
        if self._skip(_SLASH):
            found += [(word, -n, at) for word, n, at in self._divisor()]
        if self.position < end:
            raise self._unexpected()
        return found

    def _divisor(self) -> list[tuple[str, int, int]]:
        if not self._skip(_OPENING):
            return [self._factor()]
        found = self._product()
        if not self._skip(_CLOSING):
            raise self._error("the parenthesis is not closed", "add )")
        return found

    def _product(self) -> list[tuple[str, int, int]]:
        found = [self._factor()]
        while self._another_factor():
            found.append(self._factor())
        return found

    def _another_factor(self) -> bool:
        """Whether a product sign follows; a space before a slash or the end is none."""
        m = _TIMES.match(self.text, self.position)
        if m is None or (m.group().isspace() and not _WORD.match(self.text, m.end())):
            return False
        self.position = m.end()
        return True

    def _factor(self) -> tuple[str, int, int]:
        at = self.position
        word = _WORD.match(self.text, at)
        if word is None:
            raise self._error("a unit is expected here", "write units such as kN/m or lbf ft")
        self.position = word.end()
        return word.group(), self._power(), at

    def _power(self) -> int:
        at = self.position
        m = _POWER.match(self.text, at)
        if m is None:
            return 1
        self.position = m.end()
        digits = next(group for group in m.groups() if group)
        n = int(digits.translate(_RAISED))
        if not 0 < abs(n) <= _LARGEST_POWER:
            self.position = at
            raise self._error(
                f"the power {n} makes no sense", f"use powers from 1 to {_LARGEST_POWER}"
            )
        return n

    def _skip(self, pattern: re.Pattern[str]) -> bool:
        m = pattern.match(self.text, self.position)
        if m:
            self.position = m.end()
        return m is not None

    def _unexpected(self) -> UnitError:
        rest = self.text[self.position :]
        if rest.lstrip().startswith("/"):
            why, mend = "a second / leaves open what is divided", "write m/s^2, or kN/(m s)"
        elif _TIMES.match(rest) and "/" in self.text[: self.position]:
            why = "a product after / leaves open whether it is divided"
            mend = "put the whole divisor in parentheses, kN/(m s), or the other units before the /"
        else:
            why, mend = f"{rest[:1]!r} has no place here", "write units such as kN/m^2 or lbf ft"
        return self._error(why, mend)

    def _error(self, why: str, mend: str) -> UnitError:
        return UnitError(self.text, self.position, why, mend)
