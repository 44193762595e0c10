"""Which failing readings the accepted deviations of a calculator file speak of.

What is computed here does not depend on the day: the record's content is the same whenever
the check is repeated. Whether an entry has expired follows from its last day and the day on
which the run ended, which stands in the circumstances; reports say it.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from refsolver.calculators.accepted import Accepted
from refsolver.records.runs import CheckRun

__all__ = ["accepted_data"]


def accepted_data(run: CheckRun) -> list[dict[str, Any]]:
    """Each entry with the failing readings it speaks of, in the order of the file.

    ``readings`` are those it accepts; ``others`` would be accepted but for a reported value
    that is not the one stated.
    """
    return [_data(entry, list(_failing(entry, run))) for entry in run.file.accepted]


def _failing(entry: Accepted, run: CheckRun) -> Iterator[dict[str, str]]:
    for case_run in run.runs:
        case = case_run.case
        for finding in case_run.findings:
            if finding.verdict == "fail" and entry.covers(
                case.id, case.family, finding.output, finding.line
            ):
                yield {
                    "case": case.id,
                    "output": finding.output,
                    "judged": finding.judged,
                    "reported": finding.reported,
                }


def _data(entry: Accepted, failing: list[dict[str, str]]) -> dict[str, Any]:
    def same(reading: dict[str, str]) -> bool:
        return entry.reported in ("", reading["reported"])

    return {
        "case": entry.case,
        "family": entry.family,
        "answer": entry.answer,
        "reason": entry.reason,
        "approved_by": entry.approved_by,
        "expires": entry.expires.isoformat(),
        "record": entry.record,
        "reported": entry.reported,
        "sentence": _sentence(entry),
        "readings": [reading for reading in failing if same(reading)],
        "others": [reading for reading in failing if not same(reading)],
    }


def _sentence(entry: Accepted) -> str:
    what = entry.answer or "every output"
    value = f" where {entry.reported} is reported" if entry.reported else ""
    seen = f", seen in record {entry.record}" if entry.record else ""
    return (
        f"{what} of {entry.case or entry.family}{value}, accepted by {entry.approved_by} until "
        f"{entry.expires.isoformat()}{seen}"
    )
