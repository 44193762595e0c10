"""Commands that make files for calculators: answer sheets and drafts."""

from __future__ import annotations

from pathlib import Path

import click

from refsolver.commands.terminal import PATH, how_many, say

__all__ = ["draft", "sheet"]


@click.command()
@click.argument("calculator", type=PATH)
@how_many("How many cases, those that reveal most first.")
@click.option("--out", type=PATH, help="The .xlsx to write.")
def sheet(calculator: Path, count: int, out: Path | None) -> int:
    """A blank answer sheet for a calculator that a person drives; check reads it back."""
    from refsolver.calculators.file import read_calculator_file
    from refsolver.runs.sheets import make_sheet, page_of

    file = read_calculator_file(calculator)
    path = out or Path(f"{calculator.stem}-sheet.xlsx")
    for there in (path, page_of(path)):
        if there.exists():
            raise click.UsageError(
                f"{there} is there already; it may hold readings or remarks: "
                "name another with --out"
            )
    made = make_sheet(file, path, count)
    say(f"written: {made.path} ({len(made.cases)} of {made.available} cases in scope)")
    say(f"written: {made.page} (statement and figure of each case, to be printed)")
    for text in made.not_revealed:
        say(f"this set cannot reveal: {text}")
    return 0


@click.command()
@click.argument("workbook", required=False, type=PATH)
@click.option("--family", "families", multiple=True, help="What it computes (repeatable).")
@click.option("--python", "function", metavar="MODULE:FUNCTION", help="A blank for a function.")
@click.option("--command", "program", is_flag=True, help="A blank for a program.")
@click.option("--sheet", "by_hand", is_flag=True, help="A blank for a person with a calculator.")
@click.option("--out", type=PATH, help="The .toml to write.")
def draft(
    workbook: Path | None,
    families: tuple[str, ...],
    function: str | None,
    program: bool,
    by_hand: bool,
    out: Path | None,
) -> int:
    """A draft of a calculator file, from a workbook or blank; what to decide is marked in it."""
    from refsolver.runs.drafting import drafted

    kinds = [k for k, on in (("python", function), ("command", program), ("sheet", by_hand)) if on]
    if (workbook is not None) + len(kinds) != 1:
        raise click.UsageError("give a workbook, or one of --python, --command and --sheet")
    if kinds and not families:
        raise click.UsageError(
            f"--{kinds[0]} needs --family (refsolver cases --families lists them)"
        )
    say(drafted(workbook, families, kinds[0] if kinds else "", function or "", out))
    return 0
