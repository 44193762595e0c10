"""What child processes leave behind is found by a mark and ended, also after a sudden end.

Every child gets a mark in its environment, which passes to all that comes of it, whatever
session or group that moves to; on Linux the system tells the environment of each process.
A *warden*, one small process beside each program run that has children, waits until that
program is gone, by whatever signal, and then ends everything that bears the program's mark
and removes its private folders. A process that clears its own environment is out of reach.

On other systems nothing is found and no warden is started. Standard library only, because
the warden runs this file as a script.
"""

from __future__ import annotations

import contextlib
import itertools
import os
import secrets
import shutil
import signal
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Mapping
from pathlib import Path

__all__ = ["VARIABLE", "child_mark", "end_marked", "marked_environment", "private_prefix"]

VARIABLE = "REFSOLVER_CHILD"
"""The environment variable that bears the mark."""

_ROUNDS = 200
_PAUSE = 0.005
_LAST_LOOKS = 3


class _Run:
    """The mark of this process, and its warden once it has had a child."""

    def __init__(self) -> None:
        self.mark = f"r{secrets.token_hex(8)}."
        self.numbers = itertools.count(1)
        self.lock = threading.Lock()
        self.pipe: int | None = None
        """The warden reads its other end, and nobody else writes it: it closes with us."""

    def watch(self) -> None:
        """Starts the warden where there is none yet; a system that refuses has none."""
        if sys.platform != "linux":
            return
        with self.lock:
            if self.pipe is not None:
                return
            reads, self.pipe = os.pipe()
            with contextlib.suppress(OSError):
                warden = subprocess.Popen(
                    [sys.executable, "-I", "-S", __file__, self.mark, tempfile.gettempdir()],
                    stdin=reads,
                    stdout=subprocess.DEVNULL,
                    stderr=subprocess.DEVNULL,
                    cwd="/",
                    start_new_session=True,
                )
                warden.returncode = 0  # it outlives us: nobody is to wait for it
            os.close(reads)


_run = _Run()


def _after_fork() -> None:
    """A forked process has children and a warden of its own; the old one is not its to hold."""
    global _run
    old, _run = _run, _Run()
    if old.pipe is not None:
        os.close(old.pipe)


if hasattr(os, "register_at_fork"):
    os.register_at_fork(after_in_child=_after_fork)


def child_mark() -> str:
    """A mark for one child of this process, which has a warden from now on."""
    _run.watch()
    return f"{_run.mark}{next(_run.numbers)}."


def marked_environment(env: Mapping[str, str] | None, mark: str) -> dict[str, str]:
    """The environment for a child (None: this process's own) with its mark."""
    given = dict(os.environ if env is None else env)
    return given | {VARIABLE: os.environ.get(VARIABLE, "") + mark}


def private_prefix(name: str) -> str:
    """How the name of a private temporary folder begins, so that the warden finds it."""
    return f"{name}-{_run.mark[:-1]}-"


def marked(mark: str) -> list[int]:
    """The processes that bear a mark, this one left out."""
    wanted = mark.encode()
    found = []
    for folder in Path("/proc").glob("[0-9]*"):
        try:
            environment = (folder / "environ").read_bytes()
        except OSError:  # it ended meanwhile, or is another user's
            continue
        if wanted in environment and int(folder.name) != os.getpid():
            found += [
                int(folder.name)
                for variable in environment.split(b"\0")
                if variable.startswith(f"{VARIABLE}=".encode()) and wanted in variable
            ]
    return found


def end_marked(mark: str) -> None:
    """Ends every process that bears the mark, and what it starts meanwhile."""
    if sys.platform != "linux":
        return
    for _ in range(_ROUNDS):
        found = marked(mark)
        if not found:
            return
        for pid in found:
            with contextlib.suppress(OSError):
                os.kill(pid, signal.SIGKILL)
        time.sleep(_PAUSE)


def _main(mark: str, folder: str) -> None:
    for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
        signal.signal(number, signal.SIG_IGN)
    sys.stdin.buffer.read()  # ends when the program that started us does
    for _ in range(_LAST_LOOKS):  # a child may have been about to start
        end_marked(mark)
        time.sleep(0.1)
    for path in Path(folder).glob(f"*-{mark[:-1]}-*"):
        if path.is_dir() and not path.is_symlink():
            shutil.rmtree(path, ignore_errors=True)
        else:
            with contextlib.suppress(OSError):
                path.unlink()


if __name__ == "__main__":
    _main(*sys.argv[1:])
