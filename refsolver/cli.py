"""The commands. Thin: they read options, call a run, and print; no domain logic.

``--version`` answers before anything heavy is imported, and every command imports what it
needs when it runs. Exit status: 0 ``met``, 1 ``not met`` or ``insufficient``, 2 unusable
input. Unusable input is one clear message on stderr, never a traceback.
"""

from __future__ import annotations

import contextlib
import gc
import os
import sys
from typing import TYPE_CHECKING, Any, NoReturn

from refsolver._version import __version__

if TYPE_CHECKING:
    import click

__all__ = ["main"]


def main() -> None:
    """The entry point of ``refsolver``."""
    _streams()
    if sys.argv[1:] == ["--version"]:
        print(f"refsolver {__version__}")
        return
    # Exact numbers are many small objects without cycles: the collector mostly looks in vain.
    gc.set_threshold(100_000, 20, 20)
    try:
        from refsolver.commands import commands

        _guarded(commands)
    except KeyboardInterrupt:
        _interrupted()


def _streams() -> None:
    """Where a stream is closed, nothing is shown; what its encoding lacks is shown by its code."""
    for number, name in enumerate(("stdin", "stdout", "stderr")):
        try:
            os.fstat(number)
        except OSError:
            os.open(os.devnull, os.O_RDWR)  # takes the lowest number that is free
        if getattr(sys, name) is None:
            setattr(sys, name, open(number, "r+" if number else "r", closefd=False))  # noqa: SIM115
        reconfigure = getattr(getattr(sys, name), "reconfigure", None)
        if reconfigure is not None and number:
            reconfigure(errors="backslashreplace")


def _silenced() -> None:
    """Nobody takes what is written to stdout: the rest goes nowhere, also at the very end."""
    with contextlib.suppress(OSError, ValueError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _interrupted() -> NoReturn:
    print("refsolver: interrupted", file=sys.stderr)
    sys.exit(130)


def _guarded(command: click.Group) -> None:
    """Runs a command; what a user can mend is said in a sentence, with exit status 2."""
    import click

    from refsolver.commands.terminal import UNUSABLE
    from refsolver.quantities.visible import visible

    try:
        status: Any = command.main(standalone_mode=False)
        sys.stdout.flush()
    except click.exceptions.Exit as leaving:
        sys.exit(leaving.exit_code)
    except click.ClickException as problem:
        problem.show()
        sys.exit(UNUSABLE)
    except click.Abort:
        _interrupted()
    except BrokenPipeError:
        _silenced()
        sys.exit(1)
    except Exception as fault:
        from refsolver.runs.problems import (  # loads much, and only when needed
            UNUSABLE_INPUT,
            said,
        )

        if isinstance(fault, OSError):
            _silenced()
        if isinstance(fault, UNUSABLE_INPUT):
            print(f"refsolver: {visible(said(fault))}", file=sys.stderr)
            sys.exit(UNUSABLE)
        if os.environ.get("REFSOLVER_DEBUG"):
            raise
        print(
            "refsolver: a fault of the program itself "
            f"({type(fault).__name__}: {visible(str(fault)[:1000])}); what this "
            "command should have written is not to be relied on. REFSOLVER_DEBUG=1 shows "
            "where.",
            file=sys.stderr,
        )
        sys.exit(UNUSABLE)
    sys.exit(status if isinstance(status, int) else 0)
