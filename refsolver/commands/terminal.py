"""What the commands share: options that several take, and how they print."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import Any

import click

from refsolver.quantities.visible import visible

__all__ = ["DIGITS", "FORMAT", "PATH", "UNUSABLE", "how_many", "progress", "say", "table"]

UNUSABLE = 2
"""The exit status where the input cannot be used."""
FORMAT = click.option(
    "--format", "form", type=click.Choice(["text", "json"]), default="text", help="What to print."
)
PATH = click.Path(path_type=Path, readable=False)
"""Whether a file can be read is said by its reader, which also says what to do."""
DIGITS = click.option(
    "--digits", type=click.IntRange(5, 1000), default=30, show_default=True,
    help="Proven significant digits.",
)  # fmt: skip


def how_many(said: str) -> Callable[[Any], Any]:
    """The option of the commands that choose cases for a person."""
    return click.option(
        "--cases", "count", type=click.IntRange(1, 500), default=12, show_default=True, help=said
    )


def say(text: str, *, err: bool = False, nl: bool = True) -> None:
    """Prints; whatever a case, a calculator or a record holds, no terminal obeys it."""
    click.echo(visible(text), err=err, nl=nl)


def table(rows: Iterable[Iterable[Any]], heads: list[str]) -> str:
    from tabulate import tabulate

    return tabulate(list(rows), headers=heads, disable_numparse=True, tablefmt="simple")


def progress(items: Iterable[Any], total: int, done: int = 0) -> Iterator[Any]:
    """The items, with a progress bar and the time left on stderr where that is a terminal.

    ``done`` of the ``total`` were there before.
    """
    if not sys.stderr.isatty():
        yield from items
        return
    import shutil

    from tqdm import tqdm

    tqdm.monitor_interval = 0  # a thread, beside which no worker could be forked
    yield from tqdm(
        items, total=total, initial=done, leave=False, file=sys.stderr, unit="case",
        ncols=shutil.get_terminal_size().columns, mininterval=0.2, miniters=1,
    )  # fmt: skip
