"""What was worked out last, for when it is asked again from the very same objects.

A proof solves one case in several arithmetics, one after another; what is exact, or a mere
estimate to start from, is the same in all of them. One such thing is kept, no more: the next
case asks from other objects.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Generic, TypeVar

__all__ = ["LastWorkedOut"]

T = TypeVar("T")


class LastWorkedOut(Generic[T]):
    """Keeps one value, and the objects it was made from; they are told by identity."""

    def __init__(self) -> None:
        self._kept: tuple[tuple[object, ...], T] | None = None

    def of(self, objects: tuple[object, ...], make: Callable[[], T]) -> T:
        """The value kept for these immutable objects, else what ``make`` makes, kept from now on.

        Nothing is kept where there are no objects, or where ``make`` raises.
        """
        if self._kept is not None and _same(self._kept[0], objects):
            return self._kept[1]
        made = make()
        if objects:
            self._kept = objects, made
        return made


def _same(a: tuple[object, ...], b: tuple[object, ...]) -> bool:
    return len(a) == len(b) and all(x is y for x, y in zip(a, b, strict=True))
