"""A position in a text, for the readers of numbers and quantities."""

from __future__ import annotations

import re

import attrs

from refsolver.quantities.reading_error import ReadingError

__all__ = ["LiteralError", "Scanner"]

_SPACES = re.compile(r"\s*")


class LiteralError(ReadingError):
    """A text that is no number with an optional unit, or is ambiguous."""

    kind = "value"


@attrs.define
class Scanner:
    """``text`` and how far it has been read."""

    text: str
    position: int = 0

    def peek(self, pattern: re.Pattern[str]) -> re.Match[str] | None:
        """The match at the present position, without moving."""
        return pattern.match(self.text, self.position)

    def take(self, pattern: re.Pattern[str]) -> re.Match[str] | None:
        """The match at the present position, moving past it."""
        m = self.peek(pattern)
        if m:
            self.position = m.end()
        return m

    def skip_spaces(self) -> None:
        self.take(_SPACES)

    @property
    def at_end(self) -> bool:
        return self.position >= len(self.text)

    @property
    def rest(self) -> str:
        return self.text[self.position :]

    def error(self, why: str, mend: str, at: int | None = None) -> LiteralError:
        """The error to raise, at the present position unless ``at`` says otherwise."""
        return LiteralError(self.text, self.position if at is None else at, why, mend)

    def adopt(self, error: ReadingError, at: int) -> LiteralError:
        """An error raised for a part of the text that begins at ``at``, in its place."""
        return self.error(error.why, error.mend, at + error.position)
