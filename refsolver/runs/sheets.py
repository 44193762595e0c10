"""Choosing the cases of an answer sheet, and writing it.

A person types few cases, so they are chosen to reveal most: greedily, each next case the
one that adds most of what has not been shown yet: known mistakes that would come out, rows
of tables used, signs of answers, refusals, decades of magnitude. What the smaller set cannot
reveal is said.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any
from urllib.parse import quote

import attrs

from refsolver.calculators.answer_sheet import SheetCase, write_sheet
from refsolver.calculators.by_sheet import check_typable
from refsolver.calculators.file import CalculatorFile
from refsolver.calculators.lines import OutputLine
from refsolver.catalogue.catalogue import Catalogue
from refsolver.catalogue.userfile import write_text
from refsolver.figures.givens_only import givens_drawing
from refsolver.mistakes.replay import answers_of, replay
from refsolver.records.building import convention_words
from refsolver.records.drawings import drawing_data, drawing_units
from refsolver.records.runs import CaseRun
from refsolver.reporting.sheet_page import PageCase, anchor_of, sheet_page
from refsolver.runs.detection import Detection, detection
from refsolver.runs.one_case import prepared_run
from refsolver.runs.questions import ANCHOR, questions_for
from refsolver.runs.situations import Situations
from refsolver.statics.registry import family

__all__ = ["SheetMade", "applicable", "choose", "make_sheet", "page_of"]

_CAUTION = (
    "This sheet compares numbers. It designs, rates and approves nothing: local codes, the "
    "maker's instructions and licensed practice come first."
)


@attrs.frozen
class SheetMade:
    """A written sheet: the cases on it, and what they cannot reveal."""

    path: Path
    page: Path
    """The page with the statement and the figure of each case."""
    cases: tuple[str, ...]
    not_revealed: tuple[str, ...]
    available: int


def page_of(path: Path) -> Path:
    """Where the page of figures of an answer sheet lies: beside it."""
    return path.with_name(f"{path.stem}-figures.html")


def make_sheet(file: CalculatorFile, path: Path, count: int) -> SheetMade:
    """Writes a blank answer sheet of ``count`` cases within the calculator's scope.

    Beside it goes a page with the figures of the cases (:func:`page_of`).
    Raises CalculatorFileError where the file does not say what a person types.
    """
    check_typable(file)
    runs = applicable(file, takes_doubles=False)
    found = detection(runs, Situations(file))
    chosen = choose(runs, count, found)
    ids = {run.case.id for run in chosen}
    missed = [
        _named(each) for each in found if each.revealed_by and ids.isdisjoint(each.revealed_by)
    ]
    never = [f"{_named(each)} ({each.hole})" for each in found if each.made_in and each.hole]
    notes = [
        "Type each number of 'To type' as it stands; write down what you typed where it differs.",
        f"Figures to scale, by the number of the case: {page_of(path).name}. It can be printed.",
        "Write each answer as the calculator shows it, with its unit. Do not round or convert.",
        "Where it refuses or warns, copy the text. Read twice where you can.",
        "A wrong first reading stays: put the right one under 'corrected reading' with name, "
        "date and reason.",
        _CAUTION,
        f"{len(chosen)} of {len(runs)} cases within the scope. This set cannot reveal: "
        + ("; ".join(missed + never) or "nothing known of that the whole catalogue can"),
    ]
    head = {"calculator": file.name, "version": file.version, "owner": file.owner}
    page = page_of(path)
    cases = [_sheet_case(file, run) for run in chosen]
    pages = [_page_case(n, *both) for n, both in enumerate(zip(chosen, cases, strict=True), 1)]
    title = f"Answer sheet of {file.name}, version {file.version}: the cases"
    write_text(page, sheet_page(title, pages, (f"By number, to {path.name}.", _CAUTION)))
    write_sheet(path, head, cases, notes, lambda n: f"{quote(page.name)}#{anchor_of(n)}")
    return SheetMade(path, page, tuple(r.case.id for r in chosen), (*missed, *never), len(runs))


def _page_case(number: int, run: CaseRun, case: SheetCase) -> PageCase:
    assert run.handed is not None
    inputs = tuple(row[1:] for row in case.inputs)
    return PageCase(number, case.id, case.title, case.statement, inputs, _drawing(run))


def _drawing(run: CaseRun) -> dict[str, Any] | None:
    """What is given in a case, drawn; None where nothing can be without the answers."""
    assert run.handed is not None
    owner, given = family(run.case.family), run.handed.given
    solved = answers_of(owner, given)
    drawing = None if solved is None else givens_drawing(owner, given, *solved)
    if drawing is None:
        return None
    return {**drawing_data(drawing), "units": drawing_units(run.case.units)}


def applicable(file: CalculatorFile, takes_doubles: bool) -> list[CaseRun]:
    """Every case within the scope of the calculator, handed over but not yet asked."""
    return [
        run
        for question in questions_for(file, Catalogue(), takes_doubles)
        if (run := prepared_run(question, takes_doubles)).asked
    ]


def choose(runs: Sequence[CaseRun], count: int, found: Sequence[Detection]) -> list[CaseRun]:
    """The cases that reveal most: two anchor cases, then greedily what adds most.

    ``found`` tells which known mistakes each case reveals.
    """
    shown = {run.case.id: frozenset(_shows(run)) for run in runs}
    for each in found:
        for id in each.revealed_by:
            shown[id] |= {f"mistake {_named(each)}"}
    left = list(runs)
    chosen = [run for run in left if ANCHOR in run.case.topics][: min(2, count)]
    got: set[str] = set()
    for run in chosen:
        left.remove(run)
        got |= shown[run.case.id]
    while left and len(chosen) < count:
        best = max(left, key=lambda run: _gain(shown[run.case.id] - got))
        chosen.append(best)
        left.remove(best)
        got |= shown[best.case.id]
    return chosen


def _gain(new: frozenset[str]) -> int:
    """Known mistakes weigh most, then rows, then the rest."""
    weights = {"mistake": 100, "row": 10}
    return sum(weights.get(text.split(" ")[0], 1) for text in new)


def _named(each: Detection) -> str:
    return f"{each.name} in {each.family}"


def _shows(run: CaseRun) -> Iterator[str]:
    """What putting this case would show beside mistakes, as words to be counted."""
    assert run.handed is not None
    owner, given = family(run.case.family), run.handed.given
    views = list(dict.fromkeys(line.view for line in run.outputs))
    for view, value in (replay(owner, given, views) or {}).items():
        if isinstance(value, str):
            yield f"refusal {value} of {view.describe()}"
        elif math.isnan(value):
            yield f"left to rounding: {view.describe()}"
        elif value == 0:
            yield f"zero of {view.describe()}"
        else:
            yield f"sign {value > 0} of {view.describe()}"
            yield f"decade {math.floor(math.log10(abs(value)))} of {view.answer}"
    for slot in run.handed.slots:
        if slot.given:
            yield f"row {slot.place}"


def _sheet_case(file: CalculatorFile, run: CaseRun) -> SheetCase:
    assert run.handed is not None
    section = file.section(run.case.family)
    conventions = {
        leaf.place: next(
            (
                convention_words(line)
                for line in section.inputs
                if line.take == leaf.take and line.says == leaf.says
            ),
            "",
        )
        for leaf in run.handed.leaves
    }
    return SheetCase(
        id=run.case.id,
        title=run.case.title,
        statement=run.case.statement,
        inputs=tuple(
            (leaf.place, leaf.says, leaf.handed_value, leaf.unit, conventions[leaf.place])
            for leaf in run.handed.leaves
        ),
        outputs=tuple(
            (line.place, _words(line), _unit_and_convention(line))
            for line in _read_lines(run.outputs)
        ),
    )


def _words(line: OutputLine) -> str:
    """The calculator's own words, and of which row where one line stands for several."""
    return f"{line.says}: {line.view.key}" if line.line and line.view.key else line.says


def _read_lines(lines: Sequence[OutputLine]) -> Iterator[OutputLine]:
    """Each output, and beside it the places of its sense and quadrant words."""
    for line in lines:
        yield line
        for part, words in ((line.sense, "sense"), (line.quadrant, "quadrant")):
            if part is not None:
                known = " / ".join(part.words)
                yield attrs.evolve(
                    line, place=part.place, unit=None, says=f"{line.says}: {words} ({known})"
                )


def _unit_and_convention(line: OutputLine) -> str:
    unit = "" if line.unit is None else line.unit.name
    return ", ".join(text for text in (unit, convention_words(line)) if text)
