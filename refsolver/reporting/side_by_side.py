"""Several calculators, one record each, beside one another: accuracy and time, as Markdown."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from statistics import median
from typing import Any

from tabulate import tabulate

from refsolver.quantities.visible import markdown_line as safe
from refsolver.reporting.arrangement import arranged
from refsolver.reporting.words import VERDICTS

__all__ = ["side_by_side"]

_NONE = "-"
_EXACT = 400.0
"""What a record holds as agreeing digits where the deviation is exactly zero."""


def side_by_side(records: Mapping[str, Mapping[str, Any]]) -> str:
    """A Markdown text of the records, by the names their columns shall have.

    Three tables: each calculator as a whole; each reading (a calculator that was not asked
    has ``-``) with its verdict and agreeing digits, -log10 of the relative deviation; the
    seconds a case. Cases that each calculator was asked in a text of its own (tables filled
    to its own last row) have no place here. Raises ReportError for a record whose counts do
    not add up.
    """
    contents = {name: arranged(record).content for name, record in records.items()}
    seconds = {name: record["circumstances"]["seconds"] for name, record in records.items()}
    shared, own = _shared_cases(contents.values())
    parts = [
        "# Calculators side by side",
        "Each calculator was judged by the criteria of its own file, against the reference "
        "proven for the values really handed over to it. The records stand beside this file; "
        "this is a view of them, nothing to sign.",
        _table(["", *contents], _summary(contents, seconds)),
        "## Readings",
        "Verdict, and the digits in which the reported value agrees with the reference.",
        _table(["case", "reading", *contents], _readings(contents, shared)),
        "## Seconds a case",
        "As measured during the check: a program with its start, a Python function as its share "
        "of a batch; `-` is not measured. Only large differences mean anything.",
        _table(["case", *contents], _times(shared, seconds)),
    ]
    if own:
        parts.append(f"Left out, since each calculator has its own: {', '.join(map(safe, own))}.")
    return "\n\n".join(parts) + "\n"


def _table(heads: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    return tabulate(
        [["-" if cell == "-" else safe(cell) for cell in row] for row in rows],
        headers=[safe(head) for head in heads], tablefmt="pipe", disable_numparse=True,
    )  # fmt: skip


def _shared_cases(contents: Iterable[Mapping[str, Any]]) -> tuple[list[str], list[str]]:
    """Ids in order whose text is the same wherever they occur, and the other ids."""
    texts: dict[str, set[str]] = {}
    for content in contents:
        for id in content["order"]:
            texts.setdefault(id, set()).add(content["cases"][id]["text"])
    return (
        [id for id, found in texts.items() if len(found) == 1],
        [id for id, found in texts.items() if len(found) > 1],
    )


def _summary(
    contents: Mapping[str, Mapping[str, Any]], seconds: Mapping[str, Mapping[str, float]]
) -> list[list[str]]:
    findings = {name: list(_findings(content)) for name, content in contents.items()}
    rows = [
        ["calculator", *(c["calculator"]["name"] for c in contents.values())],
        ["version", *(c["calculator"]["version"] for c in contents.values())],
        ["overall", *(c["overall"]["result"] for c in contents.values())],
    ]
    for verdict in VERDICTS:
        counts = [sum(f["verdict"] == verdict for f in found) for found in findings.values()]
        rows.append([f"readings: {verdict}", *map(str, counts)])
    digits = (
        [f["agreeing_digits"] for f in found if f["agreeing_digits"] is not None]
        for found in findings.values()
    )
    rows.append(["least agreeing digits", *(_digits(min(d)) if d else _NONE for d in digits)])
    times = ([s for s in found.values() if s > 0] for found in seconds.values())
    rows.append(["median seconds a case", *(f"{median(t):.3g}" if t else _NONE for t in times)])
    return rows


def _findings(content: Mapping[str, Any]) -> Iterable[Mapping[str, Any]]:
    for case in content["cases"].values():
        yield from case.get("findings", ())


def _readings(contents: Mapping[str, Mapping[str, Any]], cases: Sequence[str]) -> list[list[str]]:
    rows: list[list[str]] = []
    for id in cases:
        of_case = [_by_output(content["cases"].get(id)) for content in contents.values()]
        outputs = dict.fromkeys(output for found in of_case for output in found)
        rows += [[id, output, *(f.get(output, _NONE) for f in of_case)] for output in outputs]
    return rows


def _by_output(case: Mapping[str, Any] | None) -> dict[str, str]:
    """What each reading of a case came to; a displayed one is told from the stored one."""
    if case is None:
        return {}
    return {
        f["output"] if f["judged"] == "stored" else f"{f['output']}, {f['judged']}": _accuracy(f)
        for f in case.get("findings", ())
    }


def _accuracy(finding: Mapping[str, Any]) -> str:
    digits = finding["agreeing_digits"]
    if digits is None:
        return str(finding["verdict"])
    return f"{finding['verdict']}, {_digits(digits)}"


def _digits(digits: float) -> str:
    return "exact" if digits >= _EXACT else f"{digits:.1f}"


def _times(cases: Sequence[str], seconds: Mapping[str, Mapping[str, float]]) -> list[list[str]]:
    found = [[id, *(_seconds(times.get(id)) for times in seconds.values())] for id in cases]
    return [row for row in found if set(row[1:]) != {_NONE}]


def _seconds(value: float | None) -> str:
    return _NONE if value is None or value <= 0 else f"{value:.3g}"
