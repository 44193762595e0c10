"""The commands. Thin: they read options, call a run, and print; no domain logic.

``--version`` answers before anything heavy is imported, and every command imports what it
needs when it runs. Exit status: 0 ``met``, 1 ``not met`` or ``insufficient``, 2 unusable
input. Unusable input is one clear message on stderr, never a traceback.
"""

from __future__ import annotations

import gc
import os
import sys
from typing import TYPE_CHECKING, Any, NoReturn

from refsolver._version import __version__

if TYPE_CHECKING:
    import click

__all__ = ["main"]

UNUSABLE = 2


def main() -> None:
    """The entry point of ``refsolver``."""
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


def _interrupted() -> NoReturn:
    print("refsolver: interrupted", file=sys.stderr)
    sys.exit(130)


def _guarded(command: click.Group) -> None:
    """Runs a command; what a user can mend is said in a sentence, with exit status 2."""
    import click

    try:
        status: Any = command.main(standalone_mode=False)
    except click.exceptions.Exit as leaving:
        sys.exit(leaving.exit_code)
    except click.ClickException as problem:
        problem.show()
        sys.exit(UNUSABLE)
    except click.Abort:
        _interrupted()
    except BrokenPipeError:
        sys.stderr.close()
        sys.exit(1)
    except Exception as fault:
        from refsolver.runs.problems import UNUSABLE_INPUT  # loads much, and only when needed

        if isinstance(fault, UNUSABLE_INPUT):
            print(f"refsolver: {fault}", file=sys.stderr)
            sys.exit(UNUSABLE)
        if os.environ.get("REFSOLVER_DEBUG"):
            raise
        print(
            f"refsolver: a fault of the program itself ({type(fault).__name__}: {fault}); "
            "no record was written. REFSOLVER_DEBUG=1 shows where.",
            file=sys.stderr,
        )
        sys.exit(UNUSABLE)
    sys.exit(status if isinstance(status, int) else 0)
