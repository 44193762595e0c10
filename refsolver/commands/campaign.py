"""``refsolver campaign``: generated cases put to a calculator."""

from __future__ import annotations

import json
from pathlib import Path

import click

from refsolver.commands.terminal import DIGITS, FORMAT, PATH, progress, say

__all__ = ["campaign"]


@click.command()
@click.argument("calculator", type=PATH)
@click.option(
    "--cases",
    "count",
    type=click.IntRange(1),
    default=10_000,
    show_default=True,
    help="About how many cases, spread evenly over families and ranges.",
)
@click.option("--seed", type=int, default=1, show_default=True, help="What the cases come from.")
@click.option("--family", "families", multiple=True, help="Only this family (may be repeated).")
@click.option(
    "--range",
    "ranges",
    multiple=True,
    metavar="LOW..HIGH",
    help="Only this range of condition numbers, 1..1e5 for instance (may be repeated).",
)
@click.option(
    "--workers", type=click.IntRange(1), default=1, show_default=True, help="Processes at work."
)
@click.option("--cluster", metavar="ADDRESS", help="Scheduler of a Dask cluster to work on.")
@click.option("--resume", is_flag=True, help="Go on with a campaign that was stopped.")
@click.option("--out", type=PATH, help="Folder for results.")
@DIGITS
@FORMAT
def campaign(
    calculator: Path,
    count: int,
    seed: int,
    families: tuple[str, ...],
    ranges: tuple[str, ...],
    workers: int,
    cluster: str | None,
    resume: bool,
    out: Path | None,
    digits: int,
    form: str,
) -> int:
    """Put generated cases to a calculator, by range of condition number; keep the worst."""
    from refsolver.runs.campaign import RANGES, range_of, run_campaign

    result = run_campaign(
        calculator,
        out or Path(f"{calculator.stem}-campaign"),
        count=count,
        seed=seed,
        digits=digits,
        families=families,
        ranges=[range_of(text) for text in ranges] or RANGES,
        workers=workers,
        cluster=cluster,
        resume=resume,
        progress=progress,
    )
    if form == "json":
        say(json.dumps(result.content, indent=2))
    else:
        say(result.text())
    return 0 if result.passed else 1
