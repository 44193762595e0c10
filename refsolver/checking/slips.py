"""Likely slips of a reading taken by hand: what to read again before anybody is blamed."""

from __future__ import annotations

from collections.abc import Iterator

__all__ = ["possible_readings"]


def possible_readings(text: str, point: str = ".") -> Iterator[tuple[str, str]]:
    """What a number text may have been before one slip, with the slip in words.

    Two neighbouring digits exchanged, the decimal mark one place off, a digit left out or
    doubled, the sign lost. ``point`` is the decimal mark.
    """
    digits = [i for i, c in enumerate(text) if c.isdigit()]
    for a, b in zip(digits, digits[1:], strict=False):
        if text[a] != text[b]:
            swapped = list(text)
            swapped[a], swapped[b] = text[b], text[a]
            yield "".join(swapped), "two neighbouring digits exchanged"
    yield from _mark_moved(text, point)
    for i in digits:
        yield text[:i] + text[i + 1 :], "a digit doubled or put in"
    if text.lstrip().startswith("-"):
        yield text.replace("-", "", 1), "a sign put in"
    else:
        yield "-" + text.lstrip(), "the sign lost"


def _mark_moved(text: str, point: str) -> Iterator[tuple[str, str]]:
    mark = text.find(point)
    whole = text if mark < 0 else text[:mark] + text[mark + 1 :]
    at = len(text) if mark < 0 else mark
    for moved in (at - 1, at + 1):
        if 0 < moved <= len(whole):
            yield whole[:moved] + point + whole[moved:], "the decimal mark one place off"
