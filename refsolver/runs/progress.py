"""How far a run is, for whoever shows it."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, Protocol

__all__ = ["Progress", "silent"]


class Progress(Protocol):
    """Passes items on and shows how far they are; ``done`` of ``total`` were there before."""

    def __call__(self, items: Iterable[Any], total: int, done: int = 0) -> Iterable[Any]: ...


def silent(items: Iterable[Any], total: int, done: int = 0) -> Iterable[Any]:
    """The items, and nothing shown."""
    return items
