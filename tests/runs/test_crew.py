"""Worker processes: forked where that is safe, handed work as they become free, never left."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import threading
import time
from functools import partial
from pathlib import Path

import pytest

from refsolver.records.locking import locked
from refsolver.runs import crew
from refsolver.runs.crew import Crew, LostWorker
from refsolver.runs.workers import on_processes

posix = pytest.mark.skipif(sys.platform in ("win32", "darwin"), reason="nothing is forked there")


def _nothing() -> None:
    pass


def _twice(n: int) -> int:
    return 2 * n


def _dies_once(task: tuple[int, str]) -> int:
    number, folder = task
    marker = Path(folder) / f"{number}"
    if number == 3 and not marker.exists():
        marker.write_text("")
        os.kill(os.getpid(), signal.SIGKILL)
    return number


def _always_dies(number: int) -> int:
    os._exit(9)


@pytest.fixture
def forked(monkeypatch):
    """Other tests of this process may have left threads, which lock nothing that is used here."""
    if sys.platform not in ("win32", "darwin"):
        monkeypatch.setattr(crew, "_forking_is_safe", lambda: True)


def test_a_lost_worker_costs_its_task_only(forked, tmp_path):
    tasks = [(n, str(tmp_path)) for n in range(12)]
    found = sorted(result for _, result in on_processes(_dies_once, tasks, 2))
    assert found == list(range(12))
    with pytest.raises(LostWorker, match="lost 3 times"):
        list(on_processes(_always_dies, [1], 2))


def test_one_worker_is_this_process():
    assert list(on_processes(lambda n: (n, os.getpid()), range(2), 1)) == [
        (n, (n, os.getpid())) for n in range(2)
    ]


def test_workers_are_started_anew_where_none_may_be_forked(monkeypatch):
    monkeypatch.setattr(crew, "_forking_is_safe", lambda: False)
    assert dict(on_processes(_twice, range(5), 2)) == {n: 2 * n for n in range(5)}


def _refuses(number: int) -> int:
    class Odd(Exception):
        """Not to be found by its name in another process."""

    raise Odd("so it goes") if number else ValueError("no zero")


def test_what_work_raises_is_raised_here(forked):
    with pytest.raises(ValueError, match="no zero") as raised:
        list(on_processes(_refuses, [0], 2))
    assert str(raised.value) == "no zero" and "_refuses" in raised.value.__notes__[0]
    with pytest.raises(RuntimeError, match="Odd: so it goes"):
        list(on_processes(_refuses, [1], 2))


def _waits_for_the_last(task: tuple[int, str]) -> int:
    number, folder = task
    last = Path(folder) / "last"
    if number == 9:
        last.write_text("")
    while number == 0 and not last.exists():
        time.sleep(0.005)
    return number


def test_no_task_waits_beside_a_busy_worker(forked, tmp_path):
    """The first task ends only when the last has been done by the other worker."""
    tasks = [(n, str(tmp_path)) for n in range(10)]
    found = [result for _, result in on_processes(_waits_for_the_last, tasks, 2)]
    assert set(found[-2:]) == {0, 9} and found[:-2] == list(range(1, 9))


def _noted(folder: Path) -> None:
    (folder / f"left-{os.getpid()}").write_text("")


def _sleeps(folder: str) -> None:
    (Path(folder) / f"{os.getpid()}").write_text("")
    time.sleep(600)


def _gone(pid: int) -> bool:
    """Whether nothing but perhaps an exit status is left of the process."""
    try:
        return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0] == "Z"
    except OSError:
        return True


def _in_time(what) -> bool:
    deadline = time.monotonic() + 20
    while not what() and time.monotonic() < deadline:
        time.sleep(0.01)
    return what()


@posix
def test_a_dismissed_worker_ends_in_the_middle_and_puts_away_what_it_uses(forked, tmp_path):
    with Crew(_sleeps, 2, partial(_noted, tmp_path)) as crew_of_two:
        crew_of_two._set_to_work(iter([str(tmp_path)] * 2), [])
        assert _in_time(lambda: len(list(tmp_path.iterdir())) == 2)
        workers = {int(path.name) for path in tmp_path.iterdir()}
        for pid in workers:  # Ctrl-C goes to all of a terminal; it is for the parent to act on
            os.kill(pid, signal.SIGINT)
        assert not any(map(_gone, workers))
    assert all(map(_gone, workers))
    assert {f"left-{pid}" for pid in workers} < {path.name for path in tmp_path.iterdir()}


KILLED = """
import os, signal, sys
from pathlib import Path
from refsolver.records.locking import locked
from refsolver.runs.workers import on_processes
from tests.runs.test_crew import _sleeps, _twice
folder = Path(sys.argv[1])
with locked(folder):
    list(on_processes(_sleeps, [str(folder / "pids")] * 2, 2))
"""


@posix
def test_workers_end_with_a_parent_that_is_killed_and_hold_no_lock_of_its(tmp_path):
    (tmp_path / "pids").mkdir()
    root = str(Path(__file__).parents[2])
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join([root, *sys.path])}
    parent = subprocess.Popen([sys.executable, "-c", KILLED, str(tmp_path)], env=environment)
    assert _in_time(lambda: len(list((tmp_path / "pids").iterdir())) == 2)
    workers = [int(path.name) for path in (tmp_path / "pids").iterdir()]
    for pid in workers:
        os.kill(pid, signal.SIGSTOP)  # as one that is too busy to see that it is alone
    parent.kill()
    parent.wait()
    with locked(tmp_path):
        assert not any(map(_gone, workers))
    for pid in workers:
        os.kill(pid, signal.SIGCONT)
    assert _in_time(lambda: all(map(_gone, workers)))


def test_nothing_is_forked_beside_another_thread():
    ended = threading.Event()
    thread = threading.Thread(target=ended.wait)
    thread.start()
    try:
        assert not crew._forking_is_safe()
    finally:
        ended.set()
        thread.join()
