"""Two engines on one workbook: what they see differently is told cell by cell."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import openpyxl
import pytest

from refsolver.calculators.workbook.beside import EngineBeside
from refsolver.calculators.workbook.contents import read_contents
from refsolver.calculators.workbook.embedded import EmbeddedEngine
from refsolver.calculators.workbook.graph import DependencyGraph
from refsolver.calculators.workbook.office import OfficeEngine, converted_to_xlsx
from refsolver.calculators.workbook.references import CellRef

A = {row: CellRef("S", row, 1) for row in range(1, 8)}
CELLS = [A[2], A[3], A[4], A[5]]


@pytest.fixture
def book(tmp_path: Path) -> Path:
    """A number, its double, a direction that two programs give differently, and a sum."""
    workbook = openpyxl.Workbook()
    sheet = workbook.active
    sheet.title = "S"
    rows = [2.5, "=2*A1", "=ATAN2(A1*0,A1*0)", "=A1+0.1-A1-0.1", "=A1/3"]
    for row, value in enumerate(rows, 1):
        sheet.cell(row, 1, value)
    sheet["A2"].number_format = "0.0"
    sheet["A5"].number_format = "# ?/?"
    path = tmp_path / "angles.xlsx"
    workbook.save(path)
    return path


def compared(
    embedded: EmbeddedEngine, office: OfficeEngine, path: Path, readable: Path
) -> list[dict[str, object]]:
    graph = DependencyGraph(read_contents(readable))
    office.open(path)
    beside = EngineBeside(embedded, readable, CELLS, graph)
    batch = [{A[1]: 2.5}, {A[1]: 7.0}, {A[1]: 1e6}]
    return beside.compared(batch, office.run(batch, CELLS, CELLS))


@pytest.mark.office
def test_a_cell_that_two_engines_see_differently_is_told(
    embedded: EmbeddedEngine, office: OfficeEngine, book: Path
) -> None:
    """ATAN2(0,0) is 0 in LibreOffice Calc and an error in other programs (observed)."""
    for case in compared(embedded, office, book, book):
        assert case["stored"] == {"S!A3": [{"number": 0.0}, {"error": "#DIV/0!"}]}
        assert case["cells"] == 4
        assert case["untold"] in (1, 2)  # a fraction's text, perhaps a long number's
        assert "S!A2" not in case["displayed"]  # type: ignore[operator]


@pytest.mark.slow
@pytest.mark.office
def test_opendocument_is_compared_through_its_copy(
    embedded: EmbeddedEngine,
    office: OfficeEngine,
    book: Path,
    tmp_path: Path,
    as_kind: Callable[[Path, str], Path],
) -> None:
    ods = as_kind(book, "ods")
    readable = converted_to_xlsx(ods, tmp_path / "readable.xlsx")
    for case in compared(embedded, office, ods, readable):
        assert set(case["stored"]) == {"S!A3"}  # type: ignore[call-overload]
