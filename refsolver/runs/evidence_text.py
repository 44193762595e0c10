"""The report on the bars of the diagnosis, from what was kept of each family."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from tabulate import tabulate

__all__ = ["HEADS", "evidence_text"]

HEADS = [
    "family", "cases", "mistakes planted", "named first", "another accused", "largest class",
    "readings of right calculators", "false alarms", "other errors", "laid to a mistake",
    "partly laid to one",
]  # fmt: skip
"""The columns of a family's row."""


def evidence_text(parts: Sequence[Mapping[str, Any]], errors: int) -> str:
    """The report, as Markdown.

    A part has the family's ``row``, by HEADS, and sentences on what falls ``short``;
    ``errors`` is how many errors beyond the list were tried.
    """
    rows = [list(part["row"]) for part in parts]
    total: list[Any] = ["all", *(sum(row[k] for row in rows) for k in range(1, len(HEADS)))]
    total[5] = max((row[5] for row in rows), default=0)
    short = [line for part in parts for line in part["short"]]
    planted, named = total[2], total[3]
    return "\n".join(
        [
            "# Evidence: what the diagnosis is worth",
            "",
            _SAYS.format(errors=errors),
            "",
            f"Named first: {named} of {planted} planted mistakes "
            f"({100 * named / max(planted, 1):.2f} %); another one accused: {total[4]}.",
            f"Right calculators: {total[7]} false alarms in {total[6]} readings.",
            f"Errors beyond the list: {total[9]} of {total[8]} laid to a known mistake as "
            f"explaining all, {total[10]} in part.",
            "",
            tabulate([*rows, total], headers=HEADS, tablefmt="pipe", disable_numparse=True),
            "",
            "## What falls short",
            "",
            *(f"- {line}" for line in short or ["nothing"]),
            "",
        ]
    )


_SAYS = """\
A plain calculator of each family, which takes every given and shows every answer, is put
through a check over all its cases with a criterion of 0.5 %: once with each known mistake
that makes a reading fail; right, in several units, conventions and roundings; and with
{errors} errors that are no known mistake. Mistakes that no reading tells apart are one class,
and count as named where the class is (largest class: how many others are in it)."""
