"""Does what a record concludes follow from its own readings, and are all cases in it?

Hashes are no secret: whoever changes a result can seal the record again. So everything that
follows from the calculator file, the cases and the readings is made again: counts, coverage,
accepted deviations, self-check, the overall result and its reasons. Where the catalogue is the
one installed here, the text of each case must be its own, and none may be missing.
"""

from __future__ import annotations

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
from refsolver.runs.check import concluded, shortened
from refsolver.runs.one_case import prepared_run
from refsolver.runs.questions import questions_for

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


def catalogue_differences(
    content: Mapping[str, Any], file: CalculatorFile
) -> tuple[list[str], str]:
    """Cases that a run would not put so, or missing; and why that was not looked at ("" if so).

    ``file`` is the record's calculator file. What another version makes for a calculator may
    be other cases, and a person chooses which cases stand on an answer sheet or are exchanged.
    """
    catalogue = Catalogue()
    if content["suite"]["catalogue"] != catalogue.hash:
        return [], (
            "whether the cases are those of the catalogue, and all of them: it is another "
            "catalogue than the one installed here"
        )
    makes_the_same = content["suite"]["version"] == __version__
    asked = {
        question.case.id: question
        for question in questions_for(file, catalogue, content["calculator"]["takes_doubles"])
        if makes_the_same or not question.made
    }
    found = []
    for name, case in content["cases"].items():
        if case["made"] and not makes_the_same and name not in catalogue.paths:
            continue
        question = asked.get(name)
        if question is None or _text_and_origin(case) != (question.case.sha256, question.made):
            whose = "made for this calculator" if case["made"] else "of the catalogue"
            found.append(f"{name}: is not the case {whose}")
    calculator = content["calculator"]
    if calculator["kind"] == "sheet" or calculator["identity"].get("by_exchange"):
        return found, "whether all cases were put: a person chose them"
    short = content.get("short", {})
    there = {*content["cases"], *short.get("left_out", ()), *short.get("outside_scope", ())}
    found += [
        f"{name}: is missing, though its family is mapped" for name in asked if name not in there
    ]
    if short and not found and makes_the_same:
        doubles = calculator["takes_doubles"]
        _, says = shortened(file, [prepared_run(one, doubles) for one in asked.values()])
        if canonical(says) != canonical(short):
            found.append("short: is not the short set of these cases")
    return found, ""


def _text_and_origin(case: Mapping[str, Any]) -> tuple[str, bool]:
    return case["sha256"], case["made"]
