"""A long-lived child process that answers line by line, under a time limit and an output limit."""

from __future__ import annotations

import json
import os
import sys
import threading
import time
import weakref
from collections.abc import Mapping, Sequence
from types import TracebackType
from typing import Any, NoReturn, Self

from refsolver.calculators.processes import Child, FailureKind, argument_list

__all__ = ["Worker", "WorkerFailure"]

STDERR_TAIL = 8192
CLOSING_GRACE = 2.0


class WorkerFailure(Exception):
    """A worker gave no usable answer: ``kind`` says why, ``detail`` what was seen."""

    def __init__(self, kind: FailureKind, detail: str) -> None:
        super().__init__(kind, detail)
        self.kind: FailureKind = kind
        self.detail = detail

    def __str__(self) -> str:
        return f"{self.kind}: {self.detail}"


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
        self.argv = argument_list(argv)
        self.env = env
        self.cwd = cwd
        self.start_limit = start_limit
        self.output_limit = output_limit
        self.greets = greets
        self._greeting: Any = None
        self._child: Child | None = None
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
            self._child = Child(self.argv, self.env, self.cwd, self.output_limit, STDERR_TAIL)
        except (OSError, ValueError) as error:
            raise WorkerFailure("not started", f"{self.argv[0]}: {error}") from error
        self._finalizer = weakref.finalize(self, Child.end, self._child, CLOSING_GRACE)
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

    def _refuse_stray_output(self, child: Child) -> None:
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


def _line_of(obj: object) -> bytes:
    return json.dumps(obj, allow_nan=False).encode() + b"\n"


def _reject_constant(text: str) -> None:
    raise ValueError(f"{text} is not JSON")


def _excerpt(data: bytes, size: int = 200) -> str:
    text = data[:size].decode("utf-8", "replace")
    return repr(text) + (" ..." if len(data) > size else "")
