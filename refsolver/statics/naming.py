"""What the rows of a table of givens are called."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any, TypeVar

__all__ = ["distinct_names", "keys_of", "of_names_alone"]

Check = TypeVar("Check", bound=Callable[[Any], None])


def of_names_alone(check: Check) -> Check:
    """Marks a check of givens that looks at names and tables only, at no number.

    It then need not be repeated for numbers that were rounded on the way to a calculator.
    """
    check.of_names_alone = True  # type: ignore[attr-defined]
    return check


def keys_of(items: Sequence[Any], word: str) -> list[str]:
    """The name of each item, or ``word`` and its number where it has none."""
    return [item.name or f"{word} {number}" for number, item in enumerate(items, 1)]


def distinct_names(items: Sequence[Any], word: str) -> None:
    """Raises ValueError where two items go by one name: answers and decisions are told apart by it.

    Pieces of which a whole is put together (areas, lines, solids) need not be told apart: their
    names only label rows of the working.
    """
    keys = keys_of(items, word)
    twice = sorted({key for key in keys if keys.count(key) > 1})
    if twice:
        raise ValueError(f"two go by the name {' and by '.join(map(repr, twice))}: rename one")
