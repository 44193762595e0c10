"""What a reviewer should know of a workbook, in its record and in the words of its reports."""

from __future__ import annotations

from pathlib import Path

import openpyxl

from refsolver.calculators.noticed import noticed
from refsolver.calculators.workbook.contents import read_contents
from refsolver.calculators.workbook.graph import DependencyGraph
from refsolver.calculators.workbook.references import CellRef
from refsolver.reporting.words import IDENTITY


def of(path: Path, cells: dict[str, object], output: str, **settings: object) -> dict[str, object]:
    """What is noticed of a sheet S with these cells, whose input is S!A1."""
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.title = "S"
    for place, value in {"A1": 1, **cells}.items():
        sheet[place] = value
    for name, value in settings.items():
        setattr(book.calculation, name, value)
    book.save(path)
    graph = DependencyGraph(read_contents(path))
    return noticed(graph, [CellRef("S", 1, 1)], graph.contents.names.cells(f"S!{output}"))


def test_of_a_plain_sheet_only_the_usual_is_said(tmp_path: Path) -> None:
    assert of(tmp_path / "p.xlsx", {"B1": "=A1*2"}, "B1") == {
        "hidden_sheets": [], "macros": False, "external": [], "volatile": [],
    }  # fmt: skip


def test_outputs_that_rest_on_the_day_or_on_chance(tmp_path: Path) -> None:
    cells = {"B1": "=A1*RAND()", "B2": "=TODAY()", "B3": "=B1+1", "B4": "=OFFSET(A1,0,0)"}
    found = of(tmp_path / "r.xlsx", cells, "B3")
    assert found["volatile"] == ["S!B1 (RAND; feeds S!B3)", "S!B2 (TODAY)", "S!B4 (OFFSET)"]
    assert found["changing"] == ["S!B3"]
    assert "computed" not in found
    moved = of(tmp_path / "o.xlsx", cells, "B4")
    assert moved["computed"] == ["S!B4"]


def test_functions_and_names_that_feed_no_output_are_left_out(tmp_path: Path) -> None:
    cells = {"B1": "=MYOWN(A1)", "B2": "=nonsense*2", "B3": "=B1+B2", "C1": "=OTHER(A1)"}
    found = of(tmp_path / "f.xlsx", cells, "B3")
    assert found["functions"] == ["S!B1 (MYOWN)"]
    assert found["names"] == ["S!B2 (nonsense)"]


def test_settings_of_the_calculation(tmp_path: Path) -> None:
    found = of(
        tmp_path / "s.xlsx", {"B1": "=A1"}, "B1",
        iterate=True, iterateCount=50, iterateDelta=0.01, fullPrecision=False,
    )  # fmt: skip
    assert found["iteration"] == (
        "at most 50 rounds, until nothing changes by more than 0.01; each case begins from the "
        "workbook as it is stored, a user's next one from the results of the last"
    )
    assert found["precision_as_displayed"] is True


def test_reports_have_words_for_all_of_it() -> None:
    worded = {key.removeprefix("noticed, ") for key in IDENTITY if key.startswith("noticed, ")}
    assert worded == {
        "hidden sheets", "macros", "external", "volatile", "changing", "computed", "functions",
        "names", "data tables", "validation", "iteration", "precision as displayed",
        "dates from 1904",
    }  # fmt: skip
