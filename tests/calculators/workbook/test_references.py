from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st
from openpyxl.utils import get_column_letter
from openpyxl.workbook.defined_name import DefinedName

from refsolver.calculators.workbook.contents import read_contents
from refsolver.calculators.workbook.references import (
    MAX_COLUMN,
    MAX_ROW,
    CellRef,
    ReferenceProblem,
    WorkbookNames,
    column_letters,
    column_number,
    parse_area,
    split_sheet,
)

NAMES = WorkbookNames(
    ("Loads", "My Sheet", "O'Brien", "F1"),
    {
        (None, "Pull"): "Loads!$B$6:$B$7",
        (None, "scattered"): "Loads!$A$1,'My Sheet'!$C$3:$D$3",
        (None, "gravity"): "9.80665",
        (None, "gone"): "#REF!",
        ("My Sheet", "Pull"): "'My Sheet'!$A$9",
        ("My Sheet", "local"): "'My Sheet'!$A$1",
    },
)


def test_a_cell_and_a_range_in_reading_order() -> None:
    assert NAMES.cells("Loads!C6") == [CellRef("Loads", 6, 3)]
    assert NAMES.cells("'My Sheet'!$B$2:$C$3") == [
        CellRef("My Sheet", row, column) for row in (2, 3) for column in (2, 3)
    ]
    assert NAMES.cells(" =loads!c13:C6 ") == [CellRef("Loads", row, 3) for row in range(6, 14)]
    assert NAMES.cell("'O''Brien'!A1") == CellRef("O'Brien", 1, 1)


def test_defined_names_of_the_workbook_and_of_a_sheet() -> None:
    assert NAMES.cells("pull") == [CellRef("Loads", 6, 2), CellRef("Loads", 7, 2)]
    assert NAMES.cells("'my sheet'!PULL") == [CellRef("My Sheet", 9, 1)]
    assert NAMES.cells("scattered") == [
        CellRef("Loads", 1, 1),
        CellRef("My Sheet", 3, 3),
        CellRef("My Sheet", 3, 4),
    ]


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("Load!C6", "no sheet 'Load'; the nearest: 'Loads'"),
        ("pul", "'pul' is no defined name of the workbook; the nearest: 'Pull'"),
        ("zzz", "there are: 'Pull', 'gone', 'gravity', 'scattered'"),
        ("Loads!zzz", "neither a cell nor a defined name of the workbook; there is none at all"),
        ("local", "there is 'My Sheet'!local"),
        ("C6", "does not say on which sheet: write Loads!C6"),
        ("gravity", "'9.80665', which is not a cell or range"),
        ("gone", "'#REF!', which is not a cell or range"),
        ("Loads!C:C", "1048576 cells"),
        ("Loads!A1048577", "neither a cell nor a defined name"),
        ("", "no defined name"),
    ],
)
def test_what_means_no_cells_is_said(text: str, message: str) -> None:
    with pytest.raises(ReferenceProblem) as problem:
        NAMES.cells(text)
    assert message in str(problem.value)


def test_several_cells_where_one_is_wanted() -> None:
    with pytest.raises(ReferenceProblem, match="means 2 cells where one is wanted"):
        NAMES.cell("Pull")


def test_names_as_openpyxl_writes_them(tmp_path: Path, make: Callable[..., Path]) -> None:
    path = make(tmp_path / "a.xlsx", {"One": {"A1": 1}, "Two": {}}, {"whole": "One!$A$1"})
    book = openpyxl.load_workbook(path)
    book["Two"].defined_names["own"] = DefinedName("own", attr_text="Two!$B$2")
    book["One"].print_area = "A1:B2"
    book.save(path)
    names = read_contents(path).names
    assert names.sheets == ("One", "Two")
    assert dict(names.defined) == {(None, "whole"): "One!$A$1", ("Two", "own"): "Two!$B$2"}


@given(st.integers(1, MAX_COLUMN))
def test_column_letters_as_openpyxl_has_them(column: int) -> None:
    assert column_letters(column) == get_column_letter(column)
    assert column_number(column_letters(column)) == column


sheet_names = st.text(
    st.characters(blacklist_categories=("Cs", "Cc"), blacklist_characters=":\\/?*[]"),
    min_size=1,
    max_size=31,
).filter(lambda name: not name.startswith("'") and not name.endswith("'"))


@given(sheet_names, st.integers(1, MAX_ROW), st.integers(1, MAX_COLUMN))
def test_a_cell_written_out_is_read_back(sheet: str, row: int, column: int) -> None:
    cell = CellRef(sheet, row, column)
    found, rest = split_sheet(str(cell))
    assert found == sheet
    assert parse_area(rest) == (row, column, row, column)


@pytest.mark.parametrize("text", ["A0", "XFE1", "A1:B", "1", "A", "A1:2", "A1B", "R1C1:", ""])
def test_no_range(text: str) -> None:
    assert parse_area(text) is None


def test_whole_columns_and_rows() -> None:
    assert parse_area("C:$D") == (1, 3, MAX_ROW, 4)
    assert parse_area("13:6") == (6, 1, 13, MAX_COLUMN)
