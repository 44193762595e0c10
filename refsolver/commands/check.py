"""``refsolver check``: the catalogue put to calculators."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from refsolver.commands.terminal import DIGITS, FORMAT, PATH, how_many, progress, say

if TYPE_CHECKING:
    from refsolver.runs.checking import CheckResult

__all__ = ["check"]


@click.command()
@click.argument("calculators", nargs=-1, type=PATH)
@click.option(
    "--demo", is_flag=True, help="Check the made-up calculators that come along (exit status 0)."
)
@click.option("--out", type=PATH, help="Folder for record and reports.")
@click.option("--trial", metavar="CASE", help="Put one case and show what is sent and received.")
@click.option(
    "--exchange",
    metavar="FOLDER",
    type=PATH,
    help="Write filled copies for the program of use; run again to read them back.",
)
@how_many("With --exchange: how many cases, those that reveal most first.")
@click.option(
    "--short", is_flag=True, help="Put only the few cases that reveal what all of them would."
)
@click.option("--pdf", is_flag=True, help="Also write the report as PDF.")
@click.option(
    "--resume", is_flag=True, help="Go on with a run that was cut short; ask nothing twice."
)
@DIGITS
@FORMAT
def check(
    calculators: tuple[Path, ...],
    demo: bool,
    out: Path | None,
    trial: str | None,
    exchange: Path | None,
    count: int,
    short: bool,
    pdf: bool,
    resume: bool,
    digits: int,
    form: str,
) -> int:
    """Put the catalogue to calculators; write records and reports, several side by side."""
    from refsolver.runs.checking import demo_files
    from refsolver.runs.trial import trial_text

    if demo == bool(calculators):
        raise click.UsageError("give calculator files, or --demo for the ones that come along")
    files = demo_files() if demo else list(calculators)
    if len(files) > 1 and (trial is not None or exchange is not None):
        raise click.UsageError(
            "--trial and --exchange take one calculator file at a time; name one"
        )
    if short and (trial is not None or exchange is not None):
        raise click.UsageError("--short is for a run by itself; leave out --trial and --exchange")
    if trial is not None:
        say(trial_text(files[0], trial))
        return 0
    if exchange is not None and not exchange.exists():
        from refsolver.runs.exchanging import write_exchange

        say(write_exchange(files[0], exchange, count))
        return 0
    results = _checked(files, out, exchange, short, pdf, resume, digits, form)
    if results is None:
        return 1
    if len(files) > 1:
        from refsolver.runs.several import write_side_by_side

        compared = write_side_by_side(results, out)
        if form == "text":
            say(f"side by side: {compared}")
    if form == "json":
        summaries = [result.summary() for result in results]
        say(json.dumps(summaries if len(files) > 1 else summaries[0], indent=2))
    return 0 if demo or all(result.result == "met" for result in results) else 1


def _checked(
    files: list[Path],
    out: Path | None,
    exchange: Path | None,
    short: bool,
    pdf: bool,
    resume: bool,
    digits: int,
    form: str,
) -> list[CheckResult] | None:
    """The results of all files; None where the run was stopped, which is said."""
    from refsolver.runs.checking import check_and_report
    from refsolver.runs.several import check_each
    from refsolver.runs.stopping import Stopping

    results: list[CheckResult] = []
    with Stopping() as stopping:
        try:
            if len(files) == 1:
                found = iter([
                    check_and_report(
                        files[0], out, digits=digits, exchange=exchange, pdf=pdf, resume=resume,
                        short=short, progress=progress, stopping=stopping,
                    )
                ])  # fmt: skip
            else:
                found = check_each(
                    files, out, digits=digits, pdf=pdf, resume=resume, short=short,
                    progress=progress, stopping=stopping,
                )  # fmt: skip
            for result in found:
                results.append(result)
                if form == "text" and result.complete:
                    say(result.text())
        except KeyboardInterrupt:
            _say_stopped(results, "its record and reports were not finished", exchange is None)
            return None
    if results and not results[-1].complete:
        _say_stopped(results[:-1], results[-1].stopped(), results[-1].resumable)
        return None
    if len(results) < len(files):
        _say_stopped(results, "", True)
        return None
    return results


def _say_stopped(results: list[CheckResult], how_far: str, resumable: bool) -> None:
    """Says how far a stopped run came and how to go on."""
    import shlex

    words = [word for word in sys.argv[1:] if word != "--resume"]
    again = shlex.join(["refsolver", *words, *(["--resume"] if resumable else [])])
    parts = [f"{len(results)} of the calculators checked" if results else "", how_far]
    said = "; ".join(part for part in parts if part)
    say(f"refsolver: stopped: {said}; go on with: {again}", err=True)
