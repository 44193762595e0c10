"""The error every reader of quantities raises: what, where in the text, how to mend."""

from __future__ import annotations

__all__ = ["ReadingError"]


class ReadingError(ValueError):
    """A text that cannot be read as a number, a unit or an angle.

    ``text`` is what was given, ``position`` the index of the character at fault, ``why``
    what is wrong there and ``mend`` what to write instead. The message shows the text
    with a caret under the character.
    """

    kind = "quantity"

    def __init__(self, text: str, position: int, why: str, mend: str) -> None:
        shown = "".join(c if c.isprintable() else " " for c in text)
        super().__init__(
            f"cannot read the {self.kind} {text!r}: {why}\n"
            f"  {shown}\n"
            f"  {' ' * position}^\n"
            f"{mend[:1].upper()}{mend[1:]}."
        )
        self.text = text
        self.position = position
        self.why = why
        self.mend = mend

    def __reduce__(self) -> tuple[type[ReadingError], tuple[str, int, str, str]]:
        return type(self), (self.text, self.position, self.why, self.mend)
