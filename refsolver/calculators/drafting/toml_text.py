"""Lines of a drafted calculator file."""

from __future__ import annotations

import json
import textwrap

from refsolver.calculators.undecided import MARK

__all__ = ["comment", "guess", "line", "quoted"]

_WIDTH = 96
_COLUMN = 40


def quoted(text: str) -> str:
    """A TOML basic string."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def guess(value: str = "") -> str:
    """A value that is left to a person: with a proposal, or with nothing to propose."""
    return quoted(f"{MARK}: {value}" if value else MARK)


def line(key: str, value: str, why: str = "") -> list[str]:
    """``key = value`` (the value is TOML already), and behind it on what it rests."""
    text = f"{key} = {value}"
    if not why:
        return [text]
    why = " ".join(why.split())
    beside = f"{text.ljust(_COLUMN)} # {why}"
    return [beside] if len(beside) <= _WIDTH else [*comment(why), text]


def comment(text: str) -> list[str]:
    """Comment lines; what stands in them never ends them early."""
    plain = " ".join(text.split())
    return textwrap.wrap(
        plain,
        _WIDTH - 2,
        initial_indent="# ",
        subsequent_indent="# ",
        break_long_words=False,
        break_on_hyphens=False,
    )
