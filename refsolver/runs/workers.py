"""Where shards are worked on: in this process, in several, or on a cluster.

Each takes shards as they come and gives results as they finish, holding only a few at a
time. A worker that is lost costs its shard, which is put again.
"""

from __future__ import annotations

import importlib
from collections.abc import Callable, Generator, Iterable
from typing import Any, TypeVar

from refsolver.calculators.file import CalculatorFileError

__all__ = ["on_cluster", "on_processes"]

Task = TypeVar("Task")
Result = TypeVar("Result")

_AHEAD = 2
"""Shards waiting for each worker of a cluster, so that none is idle while they travel."""

_TRIES = 3

_PATIENCE = 5
"""Seconds for a scheduler to answer."""


def _nothing() -> None:
    pass


def on_processes(
    work: Callable[[Task], Result],
    tasks: Iterable[Task],
    workers: int,
    leave: Callable[[], None] = _nothing,
) -> Generator[tuple[Task, Result], None, None]:
    """Results in the order in which they finish; with one worker in this process.

    ``leave`` is called in a process of several before it ends. Raises LostWorker where a
    shard kills its worker again and again, and what ``work`` raises.
    """
    if workers == 1:
        yield from ((task, work(task)) for task in tasks)
        return
    from refsolver.runs.crew import Crew

    with Crew(work, workers, leave) as crew:
        yield from crew.results(tasks)


def on_cluster(
    work: Callable[[Task], Result], tasks: Iterable[Task], address: str
) -> Generator[tuple[Task, Result], None, None]:
    """The same on the Dask cluster whose scheduler is at ``address``.

    Its workers need this package and the calculator's files at the same paths. Raises
    CalculatorFileError where Dask is not installed or the cluster cannot be reached.
    """
    try:
        distributed: Any = importlib.import_module("dask.distributed")
    except ImportError:
        raise CalculatorFileError(
            "a cluster needs the extra: pip install 'refsolver[cluster]'"
        ) from None
    try:
        _knock(address)
        client = distributed.Client(address, timeout=f"{_PATIENCE}s")
    except (OSError, ValueError) as error:
        raise CalculatorFileError(
            f"there is no cluster at {address}: {error}; give the scheduler's address, as "
            "tcp://HOST:8786"
        ) from None
    with client:
        left = iter(tasks)
        waiting: dict[Any, Task] = {}
        workers = max(1, len(client.scheduler_info()["workers"]))
        queue = distributed.as_completed([])

        def fill() -> None:
            while len(waiting) < workers * _AHEAD:
                task = next(left, None)
                if task is None:
                    return
                future = client.submit(work, task, pure=False, retries=_TRIES)
                waiting[future] = task
                queue.add(future)

        fill()
        for future in queue:
            result = future.result()
            yield waiting.pop(future), result
            fill()


def _knock(address: str) -> None:
    """Raises OSError or ValueError at once where nobody listens: Dask goes on trying."""
    import socket
    from urllib.parse import urlsplit

    parts = urlsplit(address if "://" in address else f"tcp://{address}")
    if parts.scheme in ("tcp", "tls") and parts.hostname and parts.port:
        socket.create_connection((parts.hostname, parts.port), timeout=_PATIENCE).close()
