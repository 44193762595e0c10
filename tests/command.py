"""A command within the test's own process: the real entry point, without starting one.

A bare interpreter with the package takes about as long to start as most commands take to
run. Tests that are about the process itself (signals, streams, environment) start one.
"""

from __future__ import annotations

import contextlib
import io
import sys
from pathlib import Path

import attrs

from refsolver.cli import main


@attrs.frozen
class Said:
    """What a command came to."""

    status: int
    out: str
    err: str

    @property
    def words(self) -> str:
        return self.out + self.err

    def refuses(self, *says: str) -> None:
        """It is unusable input, said in words and nothing else."""
        assert self.status == 2, self
        assert self.err.strip(), self
        for word in ("Traceback", "a fault of the program", "object at 0x"):
            assert word not in self.words, self
        for word in says:
            assert word in self.words, self


class _Stream(io.TextIOWrapper):
    """In UTF-8, as a terminal's: what it cannot say is as wrong here as there."""

    def __init__(self) -> None:
        super().__init__(io.BytesIO(), encoding="utf-8", newline="", write_through=True)

    def text(self) -> str:
        return self.buffer.getvalue().decode("utf-8")  # type: ignore[attr-defined]


def command(*arguments: object, cwd: Path | str = ".") -> Said:
    """``refsolver`` with these arguments, in a folder."""
    out, err, before = _Stream(), _Stream(), sys.argv
    sys.argv = ["refsolver", *map(str, arguments)]
    status: object = 0
    try:
        with (
            contextlib.chdir(cwd),
            contextlib.redirect_stdout(out),
            contextlib.redirect_stderr(err),
        ):
            main()
    except SystemExit as leaving:
        status = leaving.code or 0
    finally:
        sys.argv = before
    return Said(int(status), out.text(), err.text())
