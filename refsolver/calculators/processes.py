"""Child processes under a time limit and an output limit, ended with all they started.

Every call that only POSIX systems have (a session of its own, a signal to a process group,
waiting on pipes) is in this module. A child is always started from an argument list, never
through a shell, as the leader of its own process group; when it fails, oversteps a limit or
is closed, the whole group is ended, so a grandchild goes with it. One that left the group on
purpose (it made a session of its own) is found by its mark on Linux (see :mod:`.warden`),
also when this program itself is ended by force.

On Windows the module imports, and :func:`run_once` runs the child with the same time limit
but ends only the child itself and measures the output after the fact; :class:`Worker` says
that it needs a POSIX system. None of that has been tested there.
"""

from __future__ import annotations

import contextlib
import json
import os
import selectors
import signal
import subprocess
import sys
import threading
import time
import weakref
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from types import TracebackType
from typing import Any, Literal, NoReturn, Self, TypeAlias

import attrs

from refsolver.calculators.warden import child_mark, end_marked, marked_environment

__all__ = ["ENTRY", "FailureKind", "Outcome", "Worker", "WorkerFailure", "run_once"]

FailureKind: TypeAlias = Literal["timeout", "crash", "output limit", "garbage", "not started"]
"""Why a child gave no usable answer.

``timeout``: it did not answer or end in time. ``crash``: it ended (or closed its output)
before answering, or was ended by a signal. ``output limit``: it wrote more than allowed.
``garbage``: what it wrote is not one line of JSON for each line asked. ``not started``: the
system could not start it (no such program, no permission).
"""

CHUNK = 1 << 16
STDERR_TAIL = 8192
CLOSING_GRACE = 2.0
EXIT_CHECK_EVERY = 0.05
FOLDER_CHECK_EVERY = 0.25
ENTRY = 1024
"""Bytes that a file or folder counts for besides its contents."""


class WorkerFailure(Exception):
    """A worker gave no usable answer: ``kind`` says why, ``detail`` what was seen."""

    def __init__(self, kind: FailureKind, detail: str) -> None:
        super().__init__(kind, detail)
        self.kind: FailureKind = kind
        self.detail = detail

    def __str__(self) -> str:
        return f"{self.kind}: {self.detail}"


@attrs.frozen
class Outcome:
    """How one run of a program ended.

    ``exit_code`` is None where the program was ended by ``signal``, overstepped a limit and
    was ended for it (``signal`` is None then) or never started.
    ``stdout`` and ``stderr`` are the bytes received, together at most the output limit.
    ``seconds`` is the wall time. ``failure`` is None where the program ended by itself,
    whatever its exit code; ``detail`` says in words what went wrong otherwise.
    """

    exit_code: int | None
    signal: int | None
    stdout: bytes
    stderr: bytes
    seconds: float
    failure: FailureKind | None
    detail: str = ""


class _Child:
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

    def end_in_words(self) -> str:
        """What became of the child, for an error message; waits briefly for its status."""
        try:
            code = self.process.wait(timeout=1.0)
        except subprocess.TimeoutExpired:
            return "closed its output without ending"
        return _ending(code)

    def stderr_in_words(self) -> str:
        self.drain()
        text = self.err.decode("utf-8", "replace").strip()
        return f"; it wrote on stderr: {text}" if text else ""


def _first_to_go(pid: int) -> None:
    """Where memory runs out, Linux is to end the calculator before this program."""
    if sys.platform == "linux":
        with contextlib.suppress(OSError):
            Path(f"/proc/{pid}/oom_score_adj").write_text("1000", encoding="ascii")


def _ending(code: int) -> str:
    if code >= 0:
        return f"ended with exit code {code}"
    return f"was ended by signal {_signal_name(-code)}"


def _signal_name(number: int) -> str:
    try:
        return f"{number} ({signal.Signals(number).name})"
    except ValueError:
        return str(number)


def _line_of(obj: object) -> bytes:
    return json.dumps(obj, allow_nan=False).encode() + b"\n"


def _reject_constant(text: str) -> None:
    raise ValueError(f"{text} is not JSON")


class Worker:
    """A long-lived child that answers one line of JSON on stdout to each line on stdin.

    The child is started by the first question, and again by the first question after a
    failure. ``output_limit`` bounds the bytes of one answer. ``start_limit`` seconds are
    allowed for starting: with ``greets`` the child prints one line of JSON when it is ready
    (kept as :attr:`greeting`), and only that line has the start limit; without it the first
    answer of a fresh child may take ``start_limit`` longer.

    Usable from several threads (questions queue) and as a context manager; a worker that is
    dropped or still open at the end of the program ends its child. After a fork the new
    process starts a child of its own.
    """

    def __init__(
        self,
        argv: Sequence[str],
        *,
        env: Mapping[str, str] | None = None,
        cwd: str | os.PathLike[str] | None = None,
        start_limit: float = 30.0,
        output_limit: int = 64_000_000,
        greets: bool = False,
    ) -> None:
        self.argv = _nonempty(argv)
        self.env = env
        self.cwd = cwd
        self.start_limit = start_limit
        self.output_limit = output_limit
        self.greets = greets
        self._greeting: Any = None
        self._child: _Child | None = None
        self._finalizer: weakref.finalize[Any, Any] | None = None
        self._lock = threading.Lock()
        self._deadline = 0.0
        self._posted: float | None = None

    def ask(self, obj: object, limit: float) -> Any:
        """The child's answer to ``obj`` (anything JSON can hold) within ``limit`` seconds.

        Raises :class:`WorkerFailure`, after ending the child's whole group, where there is
        no answer; TypeError or ValueError, with nothing sent, where ``obj`` is not JSON.
        """
        line = _line_of(obj)
        with self._lock:
            self._send(line, limit)
            return self._collected(limit)

    def post(self, obj: object, limit: float) -> None:
        """Hand ``obj`` to the child, which works on it while the caller does something else.

        The answer is fetched by :meth:`collect`, before anything else is asked. Raises as
        :meth:`ask`.
        """
        line = _line_of(obj)
        with self._lock:
            self._send(line, limit)
            self._posted = limit

    def collect(self) -> Any:
        """The answer to what was posted, within the limit stated there. Raises as :meth:`ask`.

        An answer that lies ready counts, however late it is fetched.
        """
        with self._lock:
            child, limit = self._child, self._posted
            if child is None or limit is None:
                raise RuntimeError("nothing was posted")
            child.drain()
            if child.input_unread or child.out:  # a full pipe kept it waiting for us
                self._deadline = time.monotonic() + limit
            return self._collected(limit)

    def _send(self, line: bytes, limit: float) -> None:
        absent = self._started_elsewhere_or_not_at_all()
        if self._posted is not None:
            raise RuntimeError("what was posted was not collected yet")
        try:
            self._deadline = time.monotonic() + limit
            if absent:
                self._deadline = self._start(limit)
            assert self._child is not None
            self._refuse_stray_output(self._child)
            self._child.send(line)
            self._child.step(0.0)
        except BaseException:
            self._drop(grace=0.0)
            raise

    def _collected(self, limit: float) -> Any:
        self._posted = None
        try:
            return self._answer(self._deadline, f"no answer within {limit:g} s")
        except BaseException:  # an interrupted question would leave its answer behind
            self._drop(grace=0.0)
            raise

    @property
    def greeting(self) -> Any:
        """What the child printed when it was ready; starts it where needed.

        None for a worker that does not greet. Raises :class:`WorkerFailure`.
        """
        with self._lock:
            if self._started_elsewhere_or_not_at_all():
                try:
                    self._start(0.0)
                except BaseException:
                    self._drop(grace=0.0)
                    raise
            return self._greeting

    def close(self) -> None:
        """End the child: end of input first, then its whole group. A later ask restarts it."""
        with self._lock:
            self._drop(CLOSING_GRACE)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def _started_elsewhere_or_not_at_all(self) -> bool:
        if self._child is not None and self._child.owner != os.getpid():
            self._drop(grace=0.0)
        return self._child is None

    def _start(self, limit: float) -> float:
        """Start the child; the deadline of the first answer."""
        if sys.platform == "win32":
            raise WorkerFailure("not started", "worker processes need a POSIX system")
        begun = time.monotonic()
        try:
            self._child = _Child(self.argv, self.env, self.cwd, self.output_limit, STDERR_TAIL)
        except (OSError, ValueError) as error:
            raise WorkerFailure("not started", f"{self.argv[0]}: {error}") from error
        self._finalizer = weakref.finalize(self, _Child.end, self._child, CLOSING_GRACE)
        if not self.greets:
            return begun + self.start_limit + limit
        late = f"not ready within {self.start_limit:g} s"
        self._greeting = self._answer(begun + self.start_limit, late)
        return time.monotonic() + limit

    def _drop(self, grace: float) -> None:
        child, self._child, self._greeting = self._child, None, None
        self._posted = None
        if self._finalizer is not None:
            self._finalizer.detach()
            self._finalizer = None
        if child is not None:
            child.end(grace)

    def _refuse_stray_output(self, child: _Child) -> None:
        child.drain()
        if child.out:
            self._fail("garbage", f"unasked output {_excerpt(bytes(child.out))}")

    def _answer(self, deadline: float, late: str) -> Any:
        line = self._line(deadline, late)
        try:
            return json.loads(line, parse_constant=_reject_constant)
        except (ValueError, RecursionError) as error:
            self._fail("garbage", f"{_excerpt(line)} is not a line of JSON ({error})")

    def _line(self, deadline: float, late: str) -> bytes:
        child = self._child
        assert child is not None
        seen = 0
        while (end := child.out.find(b"\n", seen)) < 0:
            seen = len(child.out)
            if child.overflowed:
                self._fail("output limit", f"an answer of more than {child.limit} bytes")
            if not child.output_open:
                self._fail("crash", child.end_in_words())
            left = deadline - time.monotonic()
            if left <= 0:
                self._fail("timeout", late)
            child.step(left)
        line = bytes(child.out[: end + 1])
        del child.out[: end + 1]
        if child.input_unread:
            self._fail("garbage", f"{_excerpt(line)} came before the question was read")
        if child.out:
            self._fail("garbage", f"more than one line: {_excerpt(line + bytes(child.out))}")
        return line

    def _fail(self, kind: FailureKind, what: str) -> NoReturn:
        assert self._child is not None
        raise WorkerFailure(kind, what + self._child.stderr_in_words())


def _nonempty(argv: Sequence[str]) -> list[str]:
    if not argv:
        raise ValueError("the argument list is empty: it must name the program to run")
    return list(argv)


def _excerpt(data: bytes, size: int = 200) -> str:
    text = data[:size].decode("utf-8", "replace")
    return repr(text) + (" ..." if len(data) > size else "")


def run_once(
    argv: Sequence[str],
    *,
    stdin: bytes = b"",
    env: Mapping[str, str] | None = None,
    cwd: str | Path | None = None,
    limit: float,
    output_limit: int = 64_000_000,
    file_limit: int | None = None,
    folder_limit: int | None = None,
) -> Outcome:
    """Run a program once, with ``stdin`` as its whole input, and collect what it writes.

    ``env`` replaces the environment (None: this process's own). The program's whole process
    group is ended after ``limit`` seconds, as soon as stdout and stderr together exceed
    ``output_limit`` bytes, and when the program itself ends. On Linux no file that it writes
    grows beyond ``file_limit`` bytes: the write fails or ends the program. With
    ``folder_limit`` it is also ended when the files below ``cwd`` take up more bytes than
    that. Never raises for what the program does: see :class:`Outcome`. ValueError where
    ``argv`` is empty.
    """
    if sys.platform == "win32":
        return _run_once_plainly(_nonempty(argv), stdin, env, cwd, limit, output_limit)
    argv = _nonempty(argv)
    begun = time.monotonic()
    try:
        child = _Child(argv, env, cwd, output_limit)
    except (OSError, ValueError) as error:
        return Outcome(None, None, b"", b"", 0.0, "not started", f"{argv[0]}: {error}")
    try:
        if file_limit is not None:
            _limit_files(child.process.pid, file_limit)
        watch = _Folder(cwd, folder_limit) if cwd and folder_limit is not None else None
        failure = _supervise(child, stdin, begun + limit, watch)
        child.kill()
        seconds = time.monotonic() - begun
        child.drain()
    finally:
        child.end()
    return _outcome(child, seconds, failure, limit, folder_limit)


def _limit_files(pid: int, size: int) -> None:
    if sys.platform == "linux":
        import resource

        with contextlib.suppress(ProcessLookupError):
            resource.prlimit(pid, resource.RLIMIT_FSIZE, (size, size))


class _Folder:
    """A folder that is looked at now and then, and whether it has grown beyond its limit."""

    def __init__(self, path: str | os.PathLike[str], limit: int) -> None:
        self.path = path
        self.limit = limit
        self._next = 0.0

    def overflowed(self) -> bool:
        now = time.monotonic()
        if now < self._next:
            return False
        full = any(size > self.limit for size in self._sizes())
        took = time.monotonic() - now
        self._next = now + took + max(FOLDER_CHECK_EVERY, 10 * took)
        return full

    def _sizes(self) -> Iterator[int]:
        """The bytes taken up, file by file, with something for each name by itself."""
        total = 0
        folders = [os.fspath(self.path)]
        while folders:  # entry by entry, for a folder may grow faster than it can be listed
            with contextlib.suppress(OSError), os.scandir(folders.pop()) as entries:
                for entry in entries:
                    total += ENTRY
                    with contextlib.suppress(OSError):
                        total += entry.stat(follow_symlinks=False).st_blocks * 512
                        if entry.is_dir(follow_symlinks=False):
                            folders.append(entry.path)
                    yield total


def _supervise(
    child: _Child, stdin: bytes, deadline: float, folder: _Folder | None
) -> FailureKind | None:
    """Step until the child has ended by itself (None) or overstepped a limit.

    Its end is looked for beside the end of its output, which a grandchild may hold open.
    """
    if stdin:
        child.send(stdin, then_close=True)
    else:
        child.close_input()
    while child.process.poll() is None:
        left = deadline - time.monotonic()
        if left <= 0:
            return "timeout"
        if child.any_output_open:
            child.step(min(left, EXIT_CHECK_EVERY))
        else:
            with contextlib.suppress(subprocess.TimeoutExpired):
                child.process.wait(left if folder is None else min(left, FOLDER_CHECK_EVERY))
        if child.overflowed or (folder is not None and folder.overflowed()):
            return "output limit"
    return None


def _outcome(
    child: _Child,
    seconds: float,
    failure: FailureKind | None,
    limit: float,
    folder_limit: int | None,
) -> Outcome:
    out = bytes(child.out[: child.limit])
    err = bytes(child.err[: child.limit - len(out)])
    if failure == "timeout":
        return Outcome(None, None, out, err, seconds, failure, f"did not end within {limit:g} s")
    if child.overflowed:
        detail = f"wrote more than {child.limit} bytes"
        return Outcome(None, None, out, err, seconds, "output limit", detail)
    if failure == "output limit":
        detail = f"its files took up more than {folder_limit} bytes"
        return Outcome(None, None, out, err, seconds, failure, detail)
    code = child.process.returncode
    if code >= 0:
        return Outcome(code, None, out, err, seconds, None)
    too_large_a_file = "SIGXFSZ" in _signal_name(-code)
    failure = "output limit" if too_large_a_file else "crash"
    return Outcome(None, -code, out, err, seconds, failure, _ending(code))


def _run_once_plainly(
    argv: Sequence[str],
    stdin: bytes,
    env: Mapping[str, str] | None,
    cwd: str | Path | None,
    limit: float,
    output_limit: int,
) -> Outcome:
    """The reduced form for systems without process groups (see the module docstring)."""
    begun = time.monotonic()
    failure: FailureKind | None = None
    detail = ""
    try:
        process = subprocess.Popen(
            list(argv),
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            env=None if env is None else dict(env),
            cwd=cwd,
        )
    except (OSError, ValueError) as error:
        return Outcome(None, None, b"", b"", 0.0, "not started", f"{argv[0]}: {error}")
    try:
        out, err = process.communicate(stdin, timeout=limit)
    except subprocess.TimeoutExpired:
        process.kill()
        out, err = process.communicate()
        failure, detail = "timeout", f"did not end within {limit:g} s"
    if failure is None and len(out) + len(err) > output_limit:
        failure, detail = "output limit", f"wrote more than {output_limit} bytes"
    out = out[:output_limit]
    err = err[: output_limit - len(out)]
    seconds = time.monotonic() - begun
    return Outcome(process.returncode, None, out, err, seconds, failure, detail)
