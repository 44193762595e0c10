"""What the rows of a table of givens are called."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any, TypeVar

__all__ = [
    "distinct_keys",
    "distinct_names",
    "distinct_rows",
    "keys_of",
    "named_rows",
    "of_names_alone",
]

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


def named_rows(*tables: tuple[Sequence[Any], str]) -> list[tuple[str, Any]]:
    """Every row of several tables with its name, or the word of its table and its number."""
    return [pair for rows, word in tables for pair in zip(keys_of(rows, word), rows, strict=True)]


def distinct_names(items: Sequence[Any], word: str) -> None:
    """Raises ValueError where two items go by one name: answers are told apart by it."""
    distinct_rows((items, word))


def distinct_rows(*tables: tuple[Sequence[Any], str]) -> None:
    """Raises ValueError where two rows of several tables go by one name."""
    distinct_keys([key for key, _ in named_rows(*tables)])


def distinct_keys(keys: Sequence[str]) -> None:
    """Raises ValueError where two of the names are the same."""
    twice = sorted({key for key in keys if keys.count(key) > 1})
    if twice:
        raise ValueError(f"two go by the name {' and by '.join(map(repr, twice))}: rename one")
