"""A piece of work in a forked process of its own, with limits of time and memory."""

from __future__ import annotations

import os
import pickle
import resource
import select
import signal
import time
from collections.abc import Callable
from typing import Any

MEMORY = 4 << 30


class Ended(Exception):
    """The process ended without an answer: by a limit, or it crashed."""


def apart(work: Callable[[], Any], seconds: float | None = None) -> Any:
    """What ``work`` returns. Raises :class:`Ended` past ``seconds`` of processor time.

    The limit by the clock is far wider, so that a loaded machine decides nothing.
    """
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(reading)
        _answer(work, seconds, writing)
    os.close(writing)
    end = None if seconds is None else time.monotonic() + 50 * seconds + 300
    try:
        return pickle.loads(_all_of(reading, end))
    except EOFError:
        raise Ended from None
    finally:
        os.close(reading)
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)


def _all_of(pipe: int, end: float | None) -> bytes:
    parts = []
    while True:
        left = None if end is None else max(0.0, end - time.monotonic())
        if not select.select([pipe], [], [], left)[0]:
            raise Ended
        part = os.read(pipe, 1 << 20)
        if not part:
            return b"".join(parts)
        parts.append(part)


def _answer(work: Callable[[], Any], seconds: float | None, pipe: int) -> None:
    """Never returns: whatever happens, this process ends here."""
    try:
        if seconds is not None:
            limit = int(seconds) + 1
            resource.setrlimit(resource.RLIMIT_CPU, (limit, limit + 1))
            resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
            resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
            silence = os.open(os.devnull, os.O_WRONLY)
            os.dup2(silence, 1)
            os.dup2(silence, 2)
        answer = pickle.dumps(work())
        while answer:
            answer = answer[os.write(pipe, answer) :]
        os._exit(0)
    finally:
        os._exit(1)
