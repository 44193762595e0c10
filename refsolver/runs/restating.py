"""Does what a record concludes follow from its own readings, and are all cases in it?

Hashes are no secret: whoever changes a result can seal the record again. So everything that
follows from the calculator file, the cases and the readings is made again: counts, coverage,
accepted deviations, self-check, the overall result and its reasons. Where the catalogue is the
one installed here, the text of each case must be its own, and none may be missing.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping, Sequence
from datetime import UTC, datetime
from typing import Any

from refsolver._version import __version__
from refsolver.calculators.file import CalculatorFile
from refsolver.catalogue.catalogue import Catalogue
from refsolver.catalogue.schema import Work
from refsolver.records.building import case_facts, derived_of
from refsolver.records.canonical import canonical
from refsolver.records.runs import CaseRun
from refsolver.runs.check import concluded
from refsolver.runs.questions import is_put
from refsolver.statics.registry import folder_of

__all__ = ["case_differences", "catalogue_differences", "conclusion_differences"]

_OF_THE_RUN = ("never_exercised", "formula_cells")
"""Of coverage: what each formula cell came to is not in a record."""

_WORDED = ("mapping", "scope", "criteria", "families", "calculator")
"""Sections of sentences, which another version may word otherwise."""


def conclusion_differences(
    content: Mapping[str, Any],
    file: CalculatorFile,
    runs: Sequence[CaseRun],
    works: Mapping[str, Work],
) -> Iterator[str]:
    """What the record concludes otherwise than its readings do, section by section."""
    run = concluded(
        file,
        Catalogue(),
        runs,
        identity=content["calculator"]["identity"],
        takes_doubles=content["calculator"]["takes_doubles"],
        digits=content["suite"]["digits"],
        started=datetime.now(UTC),
    )
    again = derived_of(run, works)
    same_version = content["suite"]["version"] == __version__
    for name, part in again.items():
        if name in _WORDED and not same_version:
            continue
        before = content[name]
        if name == "coverage":
            before, part = (
                [{k: v for k, v in one.items() if k not in _OF_THE_RUN} for one in parts]
                for parts in (before, part)
            )
        if canonical(before) != canonical(part):
            yield f"{name}: does not follow from the readings{_which(before, part)}"


def _which(before: Any, now: Any) -> str:
    if not isinstance(before, Mapping) or not isinstance(now, Mapping):
        return ""
    names = [n for n in {**before, **now} if canonical(before.get(n)) != canonical(now.get(n))]
    shown = [
        f"{n} was {before.get(n)!r}, is {now.get(n)!r}"
        if all(isinstance(x.get(n), str | int | bool) for x in (before, now))
        else n
        for n in names
    ]
    return f": {'; '.join(shown)}"


def case_differences(before: Mapping[str, Any], run: CaseRun, same_version: bool) -> Iterator[str]:
    """What the record says of a case otherwise than its own text and readings do."""
    now = case_facts(run)
    if not same_version:
        for name in ("proof", "working", "handed", "condition"):
            now.pop(name, None)
    names = [n for n, part in now.items() if canonical(before.get(n)) != canonical(part)]
    if names:
        yield f"its {', '.join(names)} are not those of its text and its readings"


def catalogue_differences(content: Mapping[str, Any]) -> tuple[list[str], str]:
    """Cases that are not the catalogue's, or missing; and why that was not looked at ("" if so)."""
    catalogue = Catalogue()
    if content["suite"]["catalogue"] != catalogue.hash:
        return [], (
            "whether the cases are those of the catalogue, and all of them: it is another "
            "catalogue than the one installed here"
        )
    found = []
    for name, case in content["cases"].items():
        path = catalogue.paths.get(name)
        if case["made"]:
            continue
        if path is None or hashlib.sha256(path.read_bytes()).hexdigest() != case["sha256"]:
            found.append(f"{name}: is not the case of the catalogue")
    if content["calculator"]["identity"].get("program_of_use"):
        return found, "whether all cases were put: a person chose them"
    short = content.get("short", {})
    there = {*content["cases"], *short.get("left_out", ()), *short.get("outside_scope", ())}
    for section in content["scope"]:
        folder = folder_of(section["family"])
        found += [
            f"{name}: is missing, though its family is mapped"
            for name in catalogue.paths
            if name.rpartition("/")[0] == folder
            and name not in there
            and is_put(catalogue.read(name), section["family"], section.get("ladder", False))
        ]
    return found, ""
