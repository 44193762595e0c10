"""What a drafted calculator file leaves for a person to decide, and that it is said.

A draft marks what it could not read from the calculator itself: ``"decide"`` where it has
nothing to propose, ``"decide: +y"`` where ``+y`` is a guess. While a mark stands, the file
is refused, whatever else is in it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import Any

__all__ = ["MARK", "undecided"]

MARK = "decide"

_MARKED = re.compile(
    rf""""{MARK}(?::\s*(?P<guess>(?:\\.|[^"\\])*))?"|'{MARK}(?::\s*(?P<plain>[^']*))?'"""
)
_KEY = re.compile(r"([A-Za-z_]\w*)\s*=(?!=)")


def undecided(data: Mapping[str, Any], text: str) -> Iterator[tuple[str, str, str]]:
    """(where, what, how to mend) for each mark in a parsed file and its text."""
    if not any(True for _ in _marked_values(data)):
        return
    found = False
    for number, line in enumerate(text.splitlines(), 1):
        for match in _MARKED.finditer(_without_comment(line)):
            keys = _KEY.findall(line[: match.start()])
            name = ".".join(dict.fromkeys((keys[0], keys[-1]))) if keys else "a value"
            guess = match["guess"] or match["plain"]
            found = True
            if guess is None:
                yield f"line {number}", f"{name} is not decided", "write what holds"
            else:
                mend = f'if it is right strike "{MARK}: ", else write what holds'
                yield f"line {number}", f'{name} is not decided: "{guess}" is a guess', mend
    if not found:
        yield "", f'a value still says "{MARK}"', "write what holds"


def _marked_values(data: Any) -> Iterator[str]:
    if isinstance(data, str):
        if data == MARK or data.startswith(f"{MARK}:"):
            yield data
    elif isinstance(data, Mapping):
        for value in data.values():
            yield from _marked_values(value)
    elif isinstance(data, list):
        for value in data:
            yield from _marked_values(value)


def _without_comment(line: str) -> str:
    """The line up to a # that stands outside quotes."""
    match = re.match(r"""(?:"(?:\\.|[^"\\])*"|'[^']*'|[^"'#])*""", line)
    return line if match is None else match[0]
