"""Texts of others shown as what they are: nothing in them hides, moves or erases anything.

A text from a case, a calculator or a person may hold characters that no reader sees: control
characters (a terminal obeys them), marks that turn the direction of writing (a number then
reads backwards), zero-width characters, halves of surrogate pairs. Shown raw they could make
a report or a terminal say something other than the record. They are shown by their code.
"""

from __future__ import annotations

import re
import unicodedata
from typing import Any

__all__ = ["markdown_line", "visible"]

_MARKS = re.compile(r"[\\`*_\[\]<>|#&~]")

_SUSPECT = re.compile(
    r"\r(?!\n)|"
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\xad\u0600-\u0605\u061c\u06dd\u070f\u0890\u0891\u08e2\u180e"
    "\u200b-\u200f\u2028-\u202e\u2060-\u206f\ud800-\uf8ff\ufeff\ufff0-\uffff"
    "\U000110bd\U000110cd\U00013430-\U0001345f\U0001bca0-\U0001bca3\U0001d173-\U0001d17a"
    "\U000e0000-\U0010ffff]"
)
"""Everything of the general categories Cc, Cf, Zl, Zp, Cs and Co (Unicode standard, 4.5), and
a few beside them, so that the common case is one quick look."""


def visible(text: str) -> str:
    """The text with each character that would not be seen as its code, as in ``<U+202E>``.

    Line ends and tabs stay, a carriage return only as part of a line end.
    """
    return _SUSPECT.sub(_code, text)


def _code(match: re.Match[str]) -> str:
    char = match[0]
    hidden = unicodedata.category(char) in ("Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp")
    return f"<U+{ord(char):04X}>" if hidden else char


def markdown_line(value: Any) -> str:
    """One line in which nothing is taken for markup (CommonMark 0.31, section 2.4)."""
    text = _MARKS.sub(r"\\\g<0>", visible(" ".join(str(value).split())))
    # at its beginning also what makes a list, a heading of its own or a rule
    return re.sub(r"^([-+=~]|\d+[.)])(?=\s|$|[-=~])", _behind_backslash, text)


def _behind_backslash(match: re.Match[str]) -> str:
    return f"{match[0][:-1]}\\{match[0][-1]}"
