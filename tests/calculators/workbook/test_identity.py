from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import openpyxl
import pytest
from openpyxl.worksheet.formula import ArrayFormula
from openpyxl.worksheet.table import Table

from refsolver.calculators.workbook.contents import read_contents
from refsolver.calculators.workbook.identity import formula_identity, identity_lines
from refsolver.calculators.workbook.office import OfficeEngine
from refsolver.calculators.workbook.references import CellRef


@pytest.fixture
def inputs(resultant: Path) -> list[CellRef]:
    names = read_contents(resultant).names
    return [*names.cells("Resultant!B6:C13"), *names.cells("Resultant!D6:D13")]


def _edited(path: Path, target: Path, cells: dict[str, object], sheet: str = "Resultant") -> Path:
    book = openpyxl.load_workbook(path)
    for address, value in cells.items():
        book[sheet][address] = value
    book.save(target)
    return target


def test_inputs_and_stored_results_do_not_count(
    resultant: Path, inputs: list[CellRef], tmp_path: Path, store: Callable[..., Path]
) -> None:
    before = formula_identity(resultant, inputs)
    filled = _edited(
        resultant, tmp_path / "filled.xlsx", {"B6": 999, "C7": None, "B11": 3, "D6": 1}
    )
    assert formula_identity(filled, inputs) == before
    assert formula_identity(filled) != formula_identity(resultant)
    assert formula_identity(store(resultant, {"B16": 5.0}), inputs) == before


@pytest.mark.parametrize(
    ("cells", "sheet"),
    [
        ({"B16": "=SUM(E6:E12)"}, "Resultant"),
        ({"B1": 1e-8}, "Resultant"),
        ({"B18": 5}, "Resultant"),
        ({"B28": "=B18"}, "Resultant"),
        ({"A1": "Resultant"}, "Resultant"),
        ({"B3": 1000.1}, "Unit Table"),
    ],
)
def test_a_change_of_what_is_calculated_counts(
    resultant: Path, inputs: list[CellRef], tmp_path: Path, cells: dict[str, object], sheet: str
) -> None:
    changed = _edited(resultant, tmp_path / "changed.xlsx", cells, sheet)
    assert formula_identity(changed, inputs) != formula_identity(resultant, inputs)


def test_names_settings_and_macros_count(
    resultant: Path, tmp_path: Path, as_xlsm: Callable[..., Path]
) -> None:
    seen = {formula_identity(resultant)}
    book = openpyxl.load_workbook(resultant)
    book.defined_names["pulls"].attr_text = "Resultant!$B$6:$B$12"
    book.save(tmp_path / "names.xlsx")
    seen.add(formula_identity(tmp_path / "names.xlsx"))
    book = openpyxl.load_workbook(resultant)
    book.calculation.iterate = True
    book.save(tmp_path / "iterate.xlsx")
    seen.add(formula_identity(tmp_path / "iterate.xlsx"))
    book = openpyxl.load_workbook(resultant)
    book.calculation.fullPrecision = False
    book.save(tmp_path / "displayed.xlsx")
    seen.add(formula_identity(tmp_path / "displayed.xlsx"))
    for macros in (b"one", b"two"):
        seen.add(formula_identity(as_xlsm(resultant, tmp_path / "m.xlsm", macros)))
    assert len(seen) == 6


def test_a_relative_name_is_not_an_absolute_one(tmp_path: Path, make: Callable[..., Path]) -> None:
    sheets = {"S": {"A1": 1}}
    absolute = make(tmp_path / "a.xlsx", sheets, {"here": "S!$A$1"})
    relative = make(tmp_path / "r.xlsx", sheets, {"here": "S!A1"})
    assert formula_identity(absolute) != formula_identity(relative)


def test_writing_a_formula_otherwise_does_not_count(
    tmp_path: Path, make: Callable[..., Path]
) -> None:
    one = make(tmp_path / "1.xlsx", {"S": {"A1": 1, "B1": "=SUM($A$1:A3) + 'S'!A1*1.50"}, "T": {}})
    two = make(tmp_path / "2.xlsx", {"S": {"A1": 1.0, "B1": "=sum(A1:$A$3)+A1*1.5"}, "T": {}})
    other = make(tmp_path / "3.xlsx", {"S": {"A1": 1.0, "B1": "=sum(A1:$A$3)+T!A1*1.5"}, "T": {}})
    assert formula_identity(one) == formula_identity(two) != formula_identity(other)


@pytest.mark.office
def test_saving_in_another_program_keeps_it(
    office: OfficeEngine, resultant: Path, inputs: list[CellRef], tmp_path: Path
) -> None:
    book = openpyxl.load_workbook(resultant)
    sheet = book["Unit Table"]
    sheet["D1"], sheet["E1"] = "F", "Arm"
    sheet["D2"], sheet["E2"], sheet["D3"], sheet["E3"] = 1.25, 0.1, 3.0, 1 / 3
    sheet.add_table(Table(displayName="Arms", ref="D1:E3"))
    sheet["G1"] = "=SUM(Arms[F])"
    sheet["G2"] = ArrayFormula("G2:G3", "=D2:D3*E2:E3")
    sheet["G4"], sheet["G5"] = True, '=IFERROR(_xlfn.STDEV.S(D2:D3),"none")&TEXT(D2,"0.0")'
    sheet["G6"] = "=IF(TRUE,-D2^2,{1,2;3,4})"
    book.save(resultant)
    office.open(resultant)
    office.save_as_xlsx(tmp_path / "again.xlsx")
    ours, theirs = (
        list(identity_lines(read_contents(path), inputs))
        for path in (resultant, tmp_path / "again.xlsx")
    )
    assert theirs == ours
    assert formula_identity(tmp_path / "again.xlsx", inputs) == formula_identity(resultant, inputs)
