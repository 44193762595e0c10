"""A draft of a calculator file, written beside what it is for, and what to do next."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from refsolver.calculators.drafting.blank import blank_draft
from refsolver.calculators.drafting.writing import Draft, draft_workbook, write_draft
from refsolver.calculators.file import CalculatorFileError
from refsolver.calculators.undecided import MARK
from refsolver.catalogue.listing import listed
from refsolver.runs.questions import ANCHOR

__all__ = ["drafted"]


def drafted(
    workbook: Path | None, families: Sequence[str], kind: str, function: str, out: Path | None
) -> str:
    """Writes the draft (never over a file) and says where, what it rests on and what is next.

    Raises CalculatorFileError and UnknownFamily; then nothing is written.
    """
    target = out or _target(workbook, families, function)
    if target.exists():
        raise CalculatorFileError(
            f"{target}: is there already and is not written over; name another with --out"
        )
    if workbook is not None:
        draft = draft_workbook(workbook, target, families)
    else:
        if kind == "python" and ":" not in function:
            raise CalculatorFileError(f"--python {function}: write module:function")
        draft = blank_draft(kind, families, function=function, title=target.stem)
    write_draft(draft, target)
    return "\n".join(_said(draft, target))


def _target(workbook: Path | None, families: Sequence[str], function: str) -> Path:
    if workbook is not None:
        return workbook.with_suffix(".toml")
    return Path(
        f"{function.split(':')[0].rpartition('.')[2] or families[0].rpartition('/')[2]}.toml"
    )


def _said(draft: Draft, target: Path) -> list[str]:
    lines = []
    if draft.ranking:
        lines += ["families by fit, the best first; the draft is for the first:"]
        lines += [f"  {name}: {why}" for name, why in draft.ranking]
    return [
        *lines,
        f"written: {target}, a draft with {draft.to_decide} things to decide, each marked "
        f'"{MARK}"; until then it is refused',
        f"next: settle them, then refsolver check {target} --trial {_first_case(draft.family)}",
    ]


def _first_case(family: str) -> str:
    """A case of the family that a person can check at sight, where there is one."""
    found = [entry for entry in listed() if entry["family"] == family]
    found.sort(key=lambda entry: ANCHOR not in entry["topics"])
    return str(found[0]["id"]) if found else "CASE"
