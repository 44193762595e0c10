"""What workbooks in use have and forms made for a test have not, in both engines.

Each outcome is the right one, worked out here, or is said with sheet and cell.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from openpyxl.packaging.relationship import Relationship
from openpyxl.workbook.defined_name import DefinedName
from openpyxl.workbook.external_link.external import ExternalBook, ExternalLink
from openpyxl.worksheet.datavalidation import DataValidation
from openpyxl.worksheet.formula import ArrayFormula

from refsolver.calculators.file import CalculatorFileError, read_calculator_file
from refsolver.calculators.opening import open_calculator
from refsolver.calculators.workbook.contents import read_contents
from refsolver.calculators.workbook.engine import (
    CellInput,
    CellValue,
    ErrorCell,
    NumberCell,
    Readings,
    TextCell,
    WorkbookEngine,
)
from refsolver.calculators.workbook.graph import DependencyGraph
from refsolver.calculators.workbook.references import CellRef
from refsolver.calculators.workbook.survey import embedded_gaps
from refsolver.calculators.workbook.trust import TrustCheck, trust_check
from tests.plane_pulls import inputs

Fill = Callable[[Any], None]


@pytest.fixture(params=["embedded", pytest.param("office", marks=pytest.mark.office)])
def engine(request: pytest.FixtureRequest) -> WorkbookEngine:
    found: WorkbookEngine = request.getfixturevalue(request.param)
    return found


def saved(path: Path, fill: Fill) -> Path:
    """A workbook with the sheet S, filled."""
    book = openpyxl.Workbook()
    book.active.title = "S"
    fill(book)
    book.save(path)
    return path


def asked(
    engine: WorkbookEngine, path: Path, case: Mapping[str, CellInput], wanted: str
) -> list[tuple[CellValue, str | None]]:
    """Values and texts of a row of cells in one case, after another that went before it."""
    names = read_contents(path).names
    cells = [cell for part in wanted.split() for cell in names.cells(part)]
    given = {names.cell(place): value for place, value in case.items()}
    engine.open(path)
    other = {cell: 77.0 if isinstance(v, float) else v for cell, v in given.items()}
    answer = engine.run([other, given], cells, cells)[1]
    assert isinstance(answer, Readings)
    return [(answer.values[cell], answer.displayed[cell]) for cell in cells]


def trusted(engine: WorkbookEngine, path: Path, output: str) -> TrustCheck:
    names = read_contents(path).names
    return trust_check(engine, path, names.cells(output), names.cells("S!A1"))


def _through_sheets(book: Any) -> None:
    """Inputs merged, validated and formatted; a hidden sheet and one hidden for good between."""
    sheet, middle, deep, out = book.active, *map(book.create_sheet, ("Middle", "Deep", "Out"))
    middle.sheet_state, deep.sheet_state = "hidden", "veryHidden"
    sheet["A1"], sheet["A2"], sheet["A3"], sheet["A4"] = 2, 0.5, 4, 1.5
    sheet["A5"], sheet["A6"], sheet["C1"] = datetime.date(2024, 5, 1), 5, 3
    sheet["A2"].number_format, sheet["A3"].number_format = "0%", "@"
    sheet["A4"].number_format = "# ?/?"
    sheet.merge_cells("C1:D2")
    limits = DataValidation("decimal", operator="between", formula1="1", formula2="10")
    sheet.add_data_validation(limits)
    limits.add("A6")
    middle["A1"], deep["A1"] = "=S!A1*2", "=Middle!A1+S!C1"
    for row, (formula, shown_as) in enumerate(
        [
            ("=Deep!A1*10", "General"),
            ("=S!A2*2", "0.0%"),
            ("=S!A3*2", "@"),
            ("=S!A4*2+0.25", "# ?/?"),
            ("=S!A5+1", "yyyy-mm-dd"),
            ("=S!A6*2", "0.00"),
            ("=1/(S!A1-3)", "General"),
            ("=NA()", "General"),
            ('="#N/A"', "General"),
        ],
        1,
    ):
        out.cell(row, 1, formula).number_format = shown_as
    out["B1"] = "=S!C1*2"
    out.merge_cells("B1:C2")


def test_answers_through_hidden_sheets_merged_validated_and_formatted_cells(
    engine: WorkbookEngine, tmp_path: Path
) -> None:
    path = saved(tmp_path / "through.xlsx", _through_sheets)
    case: dict[str, CellInput] = {
        "S!A1": 3.0, "S!C1": 4.0, "S!A2": 0.25, "S!A3": 5.0, "S!A4": 0.5, "S!A5": 45000.0,
        "S!A6": 50.0,
    }  # fmt: skip
    found = asked(engine, path, case, "Out!A1:A9 Out!B1")
    assert [value for value, _ in found] == [
        *map(NumberCell, [100.0, 0.5, 10.0, 1.25, 45001.0, 100.0]),
        ErrorCell("#DIV/0!"),
        ErrorCell("#N/A"),
        TextCell("#N/A"),
        NumberCell(8.0),
    ]
    texts = [text for _, text in found]
    assert texts[:3] == ["100", "50.0%", "10"]
    assert texts[3] in ("1 1/4", None)  # a text that an engine cannot tell is not made up
    assert texts[4] in ("2023-03-16", None)
    assert texts[5:] == ["100.00", "#DIV/0!", "#N/A", "#N/A", "8"]


def test_array_formulas(engine: WorkbookEngine, tmp_path: Path) -> None:
    def fill(book: Any) -> None:
        sheet = book.active
        sheet["A1"] = 2
        sheet["D1"] = ArrayFormula("D1:D3", "=A1*{1;2;3}")
        sheet["E1"] = ArrayFormula("E1", "=SUM(D1:D3*2)")

    found = asked(engine, saved(tmp_path / "a.xlsx", fill), {"S!A1": 3.0}, "S!D1:D3 S!E1")
    assert [value for value, _ in found] == list(map(NumberCell, [3.0, 6.0, 9.0, 36.0]))


def test_arrays_that_spill_are_right_or_the_cell_is_named(
    engine: WorkbookEngine, tmp_path: Path
) -> None:
    """LibreOffice Calc has these functions from version 24.8 on (its release notes)."""

    def fill(book: Any) -> None:
        sheet = book.active
        sheet["A1"] = 2
        sheet["D1"] = ArrayFormula("D1:D3", "=_xlfn.SEQUENCE(3)*A1")
        sheet["E1"] = ArrayFormula("E1", "=SUM(_xlfn._xlws.FILTER(D1:D3,D1:D3>A1))")
        sheet["E2"] = "=_xlfn.LET(_xlpm.x,E1,_xlpm.x*10)"

    path = saved(tmp_path / "s.xlsx", fill)
    check = trusted(engine, path, "S!E2")
    if check.outcome == "disagrees":
        assert engine.identity().startswith("LibreOffice")
        assert "S!D1 is #NAME? (a function or name that it does not know)" in check.reason
        return
    found = asked(engine, path, {"S!A1": 3.0}, "S!D1:D3 S!E1:E2")
    assert [value for value, _ in found] == list(map(NumberCell, [3.0, 6.0, 9.0, 15.0, 150.0]))


def test_dates_that_count_from_1904(
    engine: WorkbookEngine, tmp_path: Path, store: Callable[..., Path]
) -> None:
    """1 May 2024 is day 45413 from 1899-12-30 and day 43951 from 1904-01-01."""

    def fill(book: Any) -> None:
        book.epoch = datetime.datetime(1904, 1, 1)
        book.active["A1"], book.active["A2"] = 2, "=DATE(2024,5,1)+A1"
        book.active["A2"].number_format = "yyyy-mm-dd"

    path = store(saved(tmp_path / "d.xlsx", fill), {"A2": 43953.0})
    gaps = embedded_gaps(DependencyGraph(read_contents(path)), [CellRef("S", 2, 1)])
    assert "dates count from 1904" in gaps[0].what
    check = trusted(engine, path, "S!A2")
    if engine.identity().startswith("ironcalc"):
        assert check.outcome == "disagrees"
        assert check.reason.endswith("S!A2 is 45415, stored 43953")
    else:
        assert check.outcome == "agrees"
        assert asked(engine, path, {"S!A1": 3.0}, "S!A2") == [(NumberCell(43954.0), "2024-05-04")]


def _circular(book: Any) -> None:
    sheet = book.active
    sheet["A1"], sheet["A2"], sheet["A3"] = 2, "=A3/2+A1", "=A2"


def test_a_formula_that_rests_on_its_own_result_is_named(
    engine: WorkbookEngine, tmp_path: Path, store: Callable[..., Path]
) -> None:
    """With results stored (other programs store a zero there) and without."""
    path = saved(tmp_path / "c.xlsx", _circular)
    check = trusted(engine, path, "S!A3")
    assert check.outcome == "disagrees"
    assert "S!A2 is" in check.reason and "rests on its own result" in check.reason
    check = trusted(engine, store(path, {"A2": 0.0, "A3": 0.0}), "S!A3")
    assert check.outcome == "disagrees"
    assert check.reason.startswith("2 of 2 formula cells differ from the file: S!A2 is")


def test_iteration_is_left_to_libreoffice(engine: WorkbookEngine, tmp_path: Path) -> None:
    """x = x/2 + a settles on x = 2a; the embedded engine says that it cannot."""

    def fill(book: Any) -> None:
        _circular(book)
        book.calculation.iterate = True
        book.calculation.iterateCount, book.calculation.iterateDelta = 100, 1e-9

    path = saved(tmp_path / "i.xlsx", fill)
    gaps = embedded_gaps(DependencyGraph(read_contents(path)), [CellRef("S", 3, 1)])
    assert [gap.what for gap in gaps] == ["iterative calculation is switched on"]
    if engine.identity().startswith("ironcalc"):
        assert "rests on its own result" in trusted(engine, path, "S!A3").reason
        return
    ((value, _),) = asked(engine, path, {"S!A1": 3.0}, "S!A3")
    assert isinstance(value, NumberCell)
    assert value.value == pytest.approx(6.0, abs=1e-8)


def test_a_text_that_another_country_reads_as_a_number(
    engine: WorkbookEngine, tmp_path: Path, store: Callable[..., Path]
) -> None:
    """A program with the decimal comma has stored 3; both engines count with the point."""

    def fill(book: Any) -> None:
        sheet = book.active
        sheet["A1"], sheet["A2"], sheet["A3"] = 2, '="1,5"*A1', '="1.5"*A1'

    path = store(saved(tmp_path / "l.xlsx", fill), {"A2": 3.0, "A3": 3.0})
    check = trusted(engine, path, "S!A2:A3")
    assert check.reason.endswith("differ from the file: S!A2 is #VALUE!, stored 3")
    assert trusted(engine, path, "S!A3").outcome == "agrees"


def test_a_function_of_the_workbooks_own_macros(
    engine: WorkbookEngine, tmp_path: Path, as_xlsm: Callable[[Path, Path], Path]
) -> None:
    def fill(book: Any) -> None:
        sheet = book.active
        sheet["A1"], sheet["A2"], sheet["A3"] = 2, "=PULLOF(A1)", "=A1*2"

    path = as_xlsm(saved(tmp_path / "m.xlsx", fill), tmp_path / "m.xlsm")
    gaps = embedded_gaps(DependencyGraph(read_contents(path)), [CellRef("S", 2, 1)])
    assert [gap.what for gap in gaps] == ["PULLOF is no function of the file format"]
    assert "S!A2 is #NAME?" in trusted(engine, path, "S!A2").reason
    assert trusted(engine, path, "S!A3").outcome == "not shown"
    assert asked(engine, path, {"S!A1": 3.0}, "S!A3") == [(NumberCell(6.0), "6")]


CALCULATOR = (
    """
[calculator]
name = "Form K (invented)"
version = "1"
owner = "A workshop (invented)"

[workbook]
file = "k.xlsx"

[[family]]
name = "concurrent-forces/plane-resultant"
"""
    + inputs("lbf", cells=("S!A1:A1", "S!B1:B1"), from_up=True)
    + """
[[family.output]]
answer = "resultant"
take = "magnitude"
unit = "lbf"
place = "S!C3"
says = "Resultant"
criterion = { absolute = "0.1 lbf", reason = "invented" }
"""
)


def opened(folder: Path) -> None:
    path = folder / "k.toml"
    path.write_text(CALCULATOR, encoding="utf-8")
    open_calculator(read_calculator_file(path)).close()


@pytest.mark.parametrize("there", [True, False])
@pytest.mark.parametrize("formula", ["=A1*far", "=A1*[1]S!$A$1", "=A1*'[loads.xlsx]S'!$A$1"])
def test_a_cell_that_reads_another_workbook_is_named(
    tmp_path: Path, there: bool, formula: str
) -> None:
    """Whether or not the other workbook lies beside it: nobody has validated that one."""
    if there:
        saved(tmp_path / "loads.xlsx", lambda book: book.active.__setitem__("A1", 7))

    def fill(book: Any) -> None:
        sheet = book.active
        sheet["A1"], sheet["C2"], sheet["C3"] = 2, formula, "=C2"
        book.defined_names["far"] = DefinedName("far", attr_text="[1]S!$A$1")
        link = ExternalLink(externalBook=ExternalBook(id="rId1"))
        link.file_link = Relationship(
            type="externalLinkPath", Target="loads.xlsx", TargetMode="External"
        )
        book._external_links.append(link)

    saved(tmp_path / "k.xlsx", fill)
    with pytest.raises(
        CalculatorFileError,
        match=r"k\.toml: workbook: S!C2 reads .*in another workbook, loads\.xlsx",
    ):
        opened(tmp_path)


def test_an_output_under_a_merged_cell_is_named(tmp_path: Path) -> None:
    def fill(book: Any) -> None:
        sheet = book.active
        sheet["A1"], sheet["C2"] = 2, "=A1"
        sheet.merge_cells("C2:D3")

    saved(tmp_path / "k.xlsx", fill)
    with pytest.raises(CalculatorFileError, match=r"output S!C3: .*under the merged cell S!C2"):
        opened(tmp_path)
