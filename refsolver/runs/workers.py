"""Where shards are worked on: in this process, in several, or on a cluster.

Each takes shards as they come and gives results as they finish, holding only a few at a
time. A worker that is lost costs its shard, which is put again.
"""

from __future__ import annotations

import importlib
import multiprocessing
from collections.abc import Callable, Generator, Iterable
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from typing import Any, TypeVar

from refsolver.calculators.file import CalculatorFileError

__all__ = ["LostWorker", "on_cluster", "on_processes"]

Task = TypeVar("Task")
Result = TypeVar("Result")

_AHEAD = 2
"""Shards waiting for each worker, so that none is idle."""

_TRIES = 3


class LostWorker(RuntimeError):
    """A shard whose worker was lost again and again."""


def on_processes(
    work: Callable[[Task], Result], tasks: Iterable[Task], workers: int
) -> Generator[tuple[Task, Result], None, None]:
    """Results in the order in which they finish; with one worker in this process.

    Raises LostWorker where a shard kills its worker again and again, and what ``work``
    raises.
    """
    if workers == 1:
        yield from ((task, work(task)) for task in tasks)
        return
    left = iter(tasks)
    again: list[Task] = []
    tries: dict[Task, int] = {}
    more = True
    while more or again:
        waiting: dict[Future[Result], Task] = {}
        # A fresh interpreter each: a forked one would share an opened calculator.
        context = multiprocessing.get_context("spawn")
        with ProcessPoolExecutor(workers, mp_context=context) as pool:
            try:
                while True:
                    while len(waiting) < workers * _AHEAD:
                        task = again.pop() if again else next(left, None)
                        if task is None:
                            more = False
                            break
                        waiting[pool.submit(work, task)] = task
                    if not waiting:
                        break
                    done, _ = wait(waiting, return_when=FIRST_COMPLETED)
                    for future in done:
                        result = future.result()
                        yield waiting.pop(future), result
            except BrokenProcessPool:
                for task in waiting.values():
                    tries[task] = tries.get(task, 0) + 1
                    if tries[task] > _TRIES:
                        raise LostWorker(
                            f"{task}: its worker was lost {_TRIES} times; run again with "
                            "--resume and fewer workers"
                        ) from None
                again += waiting.values()
            except BaseException:
                pool.shutdown(wait=False, cancel_futures=True)
                raise


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
        client = distributed.Client(address, timeout="5s")
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
