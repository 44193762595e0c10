"""Processes of this machine that work on tasks, one task at a time each.

Where the system allows it a worker is forked from this process and has at once all that was
loaded here; elsewhere, and where another thread runs (which a fork would leave in the middle
of what it did), it is started anew. A worker is handed its next task when it has given back
the one before: none waits beside a busy worker while another is idle, and a worker that is
lost costs its own task only.

A worker ends when the crew is dismissed, and also when this process is gone, however it ended.
"""

from __future__ import annotations

import contextlib
import gc
import multiprocessing
import os
import pickle
import signal
import sys
import threading
import traceback
from collections.abc import Callable, Generator, Iterable, Iterator
from multiprocessing.connection import Connection, wait
from types import FrameType, TracebackType
from typing import Any, Generic, NoReturn, Self, TypeVar

import attrs

__all__ = ["Crew", "LostWorker"]

Task = TypeVar("Task")
Result = TypeVar("Result")

_TRIES = 3
_GRACE = 5.0
"""Seconds in which a dismissed worker is to have put away what it uses."""

_SIGNALS = (signal.SIGINT, signal.SIGTERM)


class LostWorker(RuntimeError):
    """A task whose worker was lost again and again."""


@attrs.define(eq=False)
class _Worker:
    process: Any
    pipe: Connection
    task: Any = None


class Crew(Generic[Task, Result]):
    """At most ``size`` workers, each started when there is a task for it.

    ``work`` makes the result of a task; it, the tasks and the results can be pickled. A worker
    calls ``leave`` before it ends, unless it is killed. As a context manager the crew is
    dismissed at the end, whatever it is doing.
    """

    def __init__(
        self, work: Callable[[Task], Result], size: int, leave: Callable[[], None]
    ) -> None:
        self._work = work
        self._size = size
        self._leave = leave
        self._workers: list[_Worker] = []
        self._lives, self._alive = multiprocessing.Pipe(duplex=False)

    def results(self, tasks: Iterable[Task]) -> Generator[tuple[Task, Result], None, None]:
        """Each task with its result, in the order in which they finish.

        Raises LostWorker, and what ``work`` raises.
        """
        left, again = iter(tasks), list[Task]()
        tries: dict[Task, int] = {}
        self._set_to_work(left, again)
        while busy := {worker.pipe: worker for worker in self._workers if worker.task is not None}:
            for pipe in wait(list(busy)):
                worker = busy[pipe]  # type: ignore[index]
                task, worker.task = worker.task, None
                try:
                    result, error = worker.pipe.recv()
                except (EOFError, OSError):
                    tries[task] = tries.get(task, 0) + 1
                    self._lose(worker, task, tries[task])
                    again.append(task)
                    self._set_to_work(left, again)
                    continue
                if error is not None:
                    raise error
                self._set_to_work(left, again)
                yield task, result

    def _set_to_work(self, left: Iterator[Task], again: list[Task]) -> None:
        """Hands tasks to whoever has none; more workers are started where all are busy."""
        idle = [worker for worker in self._workers if worker.task is None]
        while idle or len(self._workers) < self._size:
            task = again.pop() if again else next(left, None)
            if task is None:
                return
            worker = idle.pop() if idle else self._started()
            worker.task = task
            with contextlib.suppress(OSError):  # it is gone, which is seen when it is asked
                worker.pipe.send(task)

    def _lose(self, worker: _Worker, task: Task, tries: int) -> None:
        self._workers.remove(worker)
        worker.pipe.close()
        worker.process.join(_GRACE)
        worker.process.kill()
        if tries >= _TRIES:
            raise LostWorker(
                f"{task}: its worker was lost {tries} times; run again with --resume and fewer "
                "workers"
            )

    def _started(self) -> _Worker:
        forked = _forking_is_safe()
        context: Any = multiprocessing.get_context("fork" if forked else "spawn")
        ours, theirs = multiprocessing.Pipe()
        not_theirs = [self._alive, ours, *(w.pipe for w in self._workers)] if forked else []
        process = context.Process(
            target=_serve,
            args=(self._work, self._leave, theirs, self._lives, not_theirs),
            daemon=True,
        )
        # Until it has its own, a forked process has our handlers of signals.
        with _signals_wait() if forked else contextlib.nullcontext():
            process.start()
        theirs.close()
        worker = _Worker(process, ours)
        self._workers.append(worker)
        return worker

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Ends every worker: an idle one by itself, a busy one in the middle of its task."""
        for worker in self._workers:
            worker.pipe.close()
            if worker.task is not None:
                worker.process.terminate()
        for worker in self._workers:
            worker.process.join(_GRACE)
            worker.process.kill()
            worker.process.join()
            worker.process.close()
        self._workers = []
        self._alive.close()
        self._lives.close()


def _forking_is_safe() -> bool:
    """Whether a forked process would find everything as it should be.

    On macOS libraries of the system do not outlive a fork.
    """
    can = "fork" in multiprocessing.get_all_start_methods() and sys.platform != "darwin"
    return can and threading.active_count() == 1


@contextlib.contextmanager
def _signals_wait() -> Iterator[None]:
    before = signal.pthread_sigmask(signal.SIG_BLOCK, _SIGNALS)
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def _serve(
    work: Callable[[Any], Any],
    leave: Callable[[], None],
    pipe: Connection,
    lives: Connection,
    not_ours: list[Connection],
) -> None:
    """What a worker does until its pipe is closed, it is told to end, or the parent is gone."""
    masks = hasattr(signal, "pthread_sigmask")
    if masks:
        signal.pthread_sigmask(signal.SIG_BLOCK, _SIGNALS)
    signal.signal(signal.SIGTERM, _end)
    # Ctrl-C goes to everybody; what it ends is for the parent to say. It is not ignored, for
    # a program that a worker starts would ignore it too.
    signal.signal(signal.SIGINT, lambda *_: None)
    for other in not_ours:
        other.close()
    gc.freeze()  # what was loaded before stays; looking through it would copy its memory
    threading.Thread(target=_end_with, args=(lives,), daemon=True).start()
    if masks:  # not before: a signal that went to the other thread would not wake this one
        signal.pthread_sigmask(signal.SIG_UNBLOCK, _SIGNALS)
    try:
        while True:
            try:
                task = pipe.recv()
            except (EOFError, OSError):
                return
            answer: tuple[Any, Exception | None]
            try:
                answer = work(task), None
            except Exception as error:
                answer = None, _portable(error)
            with contextlib.suppress(OSError):
                pipe.send(answer)
    finally:
        leave()


def _end(number: int, frame: FrameType | None) -> NoReturn:
    signal.signal(number, signal.SIG_IGN)
    sys.exit(0)


def _end_with(lives: Connection) -> None:
    """Ends this process as soon as nobody is left who could write to the other end."""
    with contextlib.suppress(EOFError, OSError):
        lives.recv_bytes()
    os._exit(1)


def _portable(error: Exception) -> Exception:
    """The error, or one that says what it said where it does not outlive being sent.

    Where it came from, which is not sent, is noted in it.
    """
    where = "".join(traceback.format_exception(error))
    try:
        pickle.loads(pickle.dumps(error))
    except Exception:
        error = RuntimeError(f"{type(error).__name__}: {error}")
    error.add_note(f"In a worker process:\n{where}")
    return error
