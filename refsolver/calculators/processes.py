"""A child process under an output limit, ended with all it started.

Every call that only POSIX systems have (a session of its own, a signal to a process group,
waiting on pipes) is in this module. A child is always started from an argument list, never
through a shell, as the leader of its own process group; when it fails, oversteps a limit or
is closed, the whole group is ended, so a grandchild goes with it. One that left the group on
purpose (it made a session of its own) is found by its mark on Linux (see :mod:`.warden`),
also when this program itself is ended by force.

On Windows the module imports, and :func:`.one_run.run_once` runs the child with the same time
limit but ends only the child itself and measures the output after the fact;
:class:`.worker.Worker` says that it needs a POSIX system. None of that has been tested there.
"""

from __future__ import annotations

import contextlib
import os
import selectors
import signal
import subprocess
import sys
import time
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Literal, TypeAlias

from refsolver.calculators.warden import child_mark, end_marked, marked_environment

__all__ = ["Child", "FailureKind", "argument_list", "ending", "signal_name"]

FailureKind: TypeAlias = Literal["timeout", "crash", "output limit", "garbage", "not started"]
"""Why a child gave no usable answer.

``timeout``: it did not answer or end in time. ``crash``: it ended (or closed its output)
before answering, or was ended by a signal. ``output limit``: it wrote more than allowed.
``garbage``: what it wrote is not one line of JSON for each line asked. ``not started``: the
system could not start it (no such program, no permission).
"""

CHUNK = 1 << 16


class Child:
    """A running group leader and its three pipes, read and written without blocking."""

    def __init__(
        self,
        argv: Sequence[str],
        env: Mapping[str, str] | None,
        cwd: str | os.PathLike[str] | None,
        limit: int,
        stderr_tail: int | None = None,
    ) -> None:
        """Start the child; OSError or ValueError where the system refuses.

        ``limit`` bounds the bytes held. With ``stderr_tail`` only that many last bytes of
        stderr are kept and they do not count; without it stdout and stderr count together.
        """
        self.owner = os.getpid()
        self.limit = limit
        self.stderr_tail = stderr_tail
        self.out = bytearray()
        self.err = bytearray()
        self._gone = False
        self._mark = child_mark()
        self.process = subprocess.Popen(
            list(argv),
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            env=marked_environment(env, self._mark),
            cwd=cwd,
            bufsize=0,
            start_new_session=True,
        )
        _first_to_go(self.process.pid)
        assert self.process.stdin and self.process.stdout and self.process.stderr
        self._in = self.process.stdin.fileno()
        self._out = self.process.stdout.fileno()
        self._err = self.process.stderr.fileno()
        self._pending = memoryview(b"")
        self._close_input_when_sent = False
        self._selector = selectors.DefaultSelector()
        for fd in (self._in, self._out, self._err):
            os.set_blocking(fd, False)
        self._selector.register(self._out, selectors.EVENT_READ)
        self._selector.register(self._err, selectors.EVENT_READ)

    @property
    def overflowed(self) -> bool:
        counted = len(self.out) + (0 if self.stderr_tail is not None else len(self.err))
        return counted > self.limit

    @property
    def input_unread(self) -> bool:
        return bool(self._pending)

    @property
    def output_open(self) -> bool:
        return self._out in self._selector.get_map()

    @property
    def any_output_open(self) -> bool:
        return self.output_open or self._err in self._selector.get_map()

    def send(self, data: bytes, *, then_close: bool = False) -> None:
        """Queue ``data`` for stdin; it is written by the following steps."""
        self._pending = memoryview(data)
        self._close_input_when_sent = then_close
        self._selector.register(self._in, selectors.EVENT_WRITE)

    def step(self, timeout: float) -> None:
        """Wait at most ``timeout`` seconds, then write and read whatever is possible."""
        for key, _ in self._selector.select(max(timeout, 0.0)):
            if key.fd == self._in:
                self._write()
            else:
                self._read(key.fd)

    def _write(self) -> None:
        try:
            written = os.write(self._in, self._pending[:CHUNK])
        except BlockingIOError:
            return
        except OSError:  # the child no longer reads: its answer or its end will tell
            written = len(self._pending)
        self._pending = self._pending[written:]
        if not self._pending:
            self._selector.unregister(self._in)
            if self._close_input_when_sent:
                self.close_input()

    def _read(self, fd: int) -> bool:
        """Read one chunk; False where there is nothing (more) to read."""
        tailed = fd == self._err and self.stderr_tail is not None
        room = CHUNK if tailed else self.limit + 1 - len(self.out)
        if not tailed and self.stderr_tail is None:
            room -= len(self.err)
        try:
            data = os.read(fd, max(1, min(CHUNK, room)))
        except BlockingIOError:
            return False
        if not data:
            self._selector.unregister(fd)
            return False
        buffer = self.err if fd == self._err else self.out
        buffer += data
        if tailed:
            del self.err[: -(self.stderr_tail or 0)]
        return True

    def drain(self) -> None:
        """Take what lies in the pipes already, up to the limit, without waiting."""
        for fd in (self._out, self._err):
            while fd in self._selector.get_map() and not self.overflowed and self._read(fd):
                pass

    def close_input(self) -> None:
        if self.process.stdin and not self.process.stdin.closed:
            with contextlib.suppress(KeyError):
                self._selector.unregister(self._in)
            self.process.stdin.close()

    def end(self, grace: float = 0.0) -> None:
        """End the whole group and release the pipes. Harmless when done already.

        With ``grace`` the child first gets the end of its input and that many seconds to
        finish by itself. In a process forked from the owner only the copies of the pipes
        are released: the child belongs to the owner.
        """
        ours = self.owner == os.getpid()
        self.close_input()
        if ours and grace:
            self._await_end_of_output(time.monotonic() + grace)
        if ours:
            self.kill()
        self._selector.close()
        for pipe in (self.process.stdout, self.process.stderr):
            if pipe:
                pipe.close()

    def _await_end_of_output(self, deadline: float) -> None:
        while self.output_open and (left := deadline - time.monotonic()) > 0:
            self.step(left)
            self.out.clear()

    def kill(self) -> None:
        """End every process that came of the child and collect its exit status."""
        if self._gone:
            return
        if sys.platform == "win32":
            self.process.kill()
        else:
            with contextlib.suppress(ProcessLookupError, PermissionError):
                os.killpg(self.process.pid, signal.SIGKILL)
        self.process.wait()
        end_marked(self._mark)
        self._gone = True

    def limit_files(self, size: int) -> None:
        """On Linux, no file that the child writes grows beyond so many bytes."""
        if sys.platform == "linux":
            import resource

            with contextlib.suppress(ProcessLookupError):
                resource.prlimit(self.process.pid, resource.RLIMIT_FSIZE, (size, size))

    def end_in_words(self) -> str:
        """What became of the child, for an error message; waits briefly for its status."""
        try:
            code = self.process.wait(timeout=1.0)
        except subprocess.TimeoutExpired:
            return "closed its output without ending"
        return ending(code)

    def stderr_in_words(self) -> str:
        self.drain()
        text = self.err.decode("utf-8", "replace").strip()
        return f"; it wrote on stderr: {text}" if text else ""


def _first_to_go(pid: int) -> None:
    """Where memory runs out, Linux is to end the calculator before this program."""
    if sys.platform == "linux":
        with contextlib.suppress(OSError):
            Path(f"/proc/{pid}/oom_score_adj").write_text("1000", encoding="ascii")


def ending(code: int) -> str:
    """How a child with this exit status ended, for an error message."""
    if code >= 0:
        return f"ended with exit code {code}"
    return f"was ended by signal {signal_name(-code)}"


def signal_name(number: int) -> str:
    """Number and name of a signal."""
    try:
        return f"{number} ({signal.Signals(number).name})"
    except ValueError:
        return str(number)


def argument_list(argv: Sequence[str]) -> list[str]:
    """The arguments as a list; ValueError where it names no program."""
    if not argv:
        raise ValueError("the argument list is empty: it must name the program to run")
    return list(argv)
