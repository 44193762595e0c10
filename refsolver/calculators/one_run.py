"""A program run once, from its input to its end, under limits of time, output and files."""

from __future__ import annotations

import contextlib
import os
import subprocess
import sys
import time
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

import attrs

from refsolver.calculators.processes import Child, FailureKind, argument_list, ending, signal_name

__all__ = ["ENTRY", "Outcome", "run_once"]

EXIT_CHECK_EVERY = 0.05
FOLDER_CHECK_EVERY = 0.25
ENTRY = 1024
"""Bytes that a file or folder counts for besides its contents."""


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
        return _run_once_plainly(argument_list(argv), stdin, env, cwd, limit, output_limit)
    argv = argument_list(argv)
    begun = time.monotonic()
    try:
        child = Child(argv, env, cwd, output_limit)
    except (OSError, ValueError) as error:
        return Outcome(None, None, b"", b"", 0.0, "not started", f"{argv[0]}: {error}")
    try:
        if file_limit is not None:
            child.limit_files(file_limit)
        watch = _Folder(cwd, folder_limit) if cwd and folder_limit is not None else None
        failure = _supervise(child, stdin, begun + limit, watch)
        child.kill()
        seconds = time.monotonic() - begun
        child.drain()
    finally:
        child.end()
    return _outcome(child, seconds, failure, limit, folder_limit)


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
    child: Child, stdin: bytes, deadline: float, folder: _Folder | None
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
    child: Child,
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
    too_large_a_file = "SIGXFSZ" in signal_name(-code)
    failure = "output limit" if too_large_a_file else "crash"
    return Outcome(None, -code, out, err, seconds, failure, ending(code))


def _run_once_plainly(
    argv: Sequence[str],
    stdin: bytes,
    env: Mapping[str, str] | None,
    cwd: str | Path | None,
    limit: float,
    output_limit: int,
) -> Outcome:
    """The reduced form for systems without process groups (see :mod:`.processes`)."""
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
