"""Stopping a run on request (Ctrl-C, SIGTERM) at a moment when nothing is half done.

The first request ends the waiting for the calculator; what was judged is then written as an
incomplete record. A second request does not wait for that either.
"""

from __future__ import annotations

import signal
import threading
from collections.abc import Iterator
from types import FrameType, TracebackType
from typing import Any, Self, TypeVar

__all__ = ["Stopping"]

T = TypeVar("T")

_SIGNALS = (signal.SIGINT, signal.SIGTERM)


class Stopping:
    """Whether a run shall stop. As a context manager it takes SIGINT and SIGTERM.

    Within the context the first signal raises KeyboardInterrupt only where
    :meth:`next_of` waits or before :meth:`hold` was called; elsewhere it is kept in
    ``asked``. A second one raises KeyboardInterrupt wherever it comes. Outside the context,
    and in a thread that gets no signals, it never asks to stop.
    """

    def __init__(self) -> None:
        self.asked = False
        self._at_once = True
        self._before: dict[signal.Signals, Any] = {}

    def __enter__(self) -> Self:
        if threading.current_thread() is threading.main_thread():
            self._before = {s: signal.signal(s, self._on_signal) for s in _SIGNALS}
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        for number, handler in self._before.items():
            signal.signal(number, handler)
        self._before = {}

    def _on_signal(self, number: int, frame: FrameType | None) -> None:
        if self.asked or self._at_once:
            self.asked = True
            raise KeyboardInterrupt
        self.asked = True

    def hold(self) -> None:
        """From now on a request is kept until somebody looks."""
        self._at_once = False

    def release(self) -> None:
        """From now on a request takes effect at once: nothing can be half done."""
        self._at_once = True

    def next_of(self, items: Iterator[T]) -> T:
        """The next item; a request ends the waiting with KeyboardInterrupt."""
        try:
            self._at_once = True
            if self.asked:
                raise KeyboardInterrupt
            return next(items)
        finally:
            self._at_once = False
