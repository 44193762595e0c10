"""Commands of the reference solver by itself: no calculator is asked."""

from __future__ import annotations

import json

import click

from refsolver.commands.terminal import DIGITS, FORMAT, progress, say, table

__all__ = ["mistakes", "selfcheck", "solve"]


@click.command()
@click.option("--family", "families", multiple=True, help="Only this family (repeatable).")
@click.option("--all", "show_all", is_flag=True, help="List every answer, not only differences.")
@DIGITS
@FORMAT
def selfcheck(families: tuple[str, ...], show_all: bool, digits: int, form: str) -> int:
    """The reference solver against every published answer in the catalogue."""
    from refsolver.catalogue.catalogue import Catalogue
    from refsolver.quantities.printing import proven_text
    from refsolver.runs.selfcheck import check_case, counts
    from refsolver.statics.registry import family

    for name in families:
        family(name)
    catalogue = Catalogue()
    ids = [i for i in catalogue.paths if not families or i.rpartition("/")[0] in families]
    answers = [
        answer
        for id in progress(ids, len(ids))
        for answer in check_case(catalogue.read(id), digits)
    ]
    found = counts(answers)
    if form == "json":
        say(json.dumps(found, indent=2))
    else:
        shown = [a for a in answers if show_all or a.agreement != "agree" or a.stale]
        rows = [
            (
                a.case, a.answer, a.printed,
                "" if a.proven is None else f"{proven_text(a.proven, 8)} {a.unit}".strip(),
                "explained, but it agrees" if a.stale else a.agreement, a.why,
            )
            for a in shown
        ]  # fmt: skip
        if rows:
            heads = ["case", "answer", "printed", "proven", "", "why"]
            say(table(rows, heads) + "\n")
        say(table([list(found.values())], list(found)))
    wrong = found["disagree"] + found["not_proven"] + sum(a.stale for a in answers)
    return 1 if wrong else 0


@click.command()
@click.argument("case")
@click.option("--sensitivity", is_flag=True, help="Also how each answer moves with each given.")
@DIGITS
@FORMAT
def solve(case: str, sensitivity: bool, digits: int, form: str) -> int:
    """The reference answers of a case (an id of the catalogue, or a file), with the working."""
    from refsolver.runs.solving import solve_case

    solved = solve_case(case, digits)
    if form == "json":
        data = solved.data()
        if sensitivity:
            data["sensitivities"] = solved.sensitivities()
        say(json.dumps(data, indent=2))
    else:
        say(solved.text())
        if sensitivity:
            say(f"\n{solved.sensitivity_text()}")
    return 1 if solved.not_proven else 0


@click.command()
@click.option("--family", "families", multiple=True, help="Only this family (repeatable).")
@click.option(
    "--share",
    type=click.FloatRange(0, 100),
    default=0.5,
    show_default=True,
    help="Per cent of the right value by which an answer must change to reveal a mistake.",
)
@FORMAT
def mistakes(families: tuple[str, ...], share: float, form: str) -> int:
    """The known mistakes, and which cases reveal which."""
    from refsolver.runs.mistakes_table import mistakes_table, mistakes_text

    rows = mistakes_table(share / 100, families)
    if form == "json":
        say(json.dumps([row.data() for row in rows], indent=2))
    else:
        say(mistakes_text(rows))
    return 0
