"""What somebody may have meant who wrote a word that is not known."""

from __future__ import annotations

import difflib
from collections.abc import Iterable

__all__ = ["did_you_mean"]


def did_you_mean(word: str, known: Iterable[str], most: int = 3, cutoff: float = 0.4) -> str:
    """ "did you mean A or B?" of the known words most like ``word``; "" where none is.

    ``cutoff`` is the least likeness of :func:`difflib.get_close_matches`.
    """
    near = difflib.get_close_matches(word, list(known), n=most, cutoff=cutoff)
    return f"did you mean {' or '.join(near)}?" if near else ""
