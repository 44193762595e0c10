"""Number formats that show the same and such that do not; a copy that shows otherwise."""

from __future__ import annotations

from pathlib import Path

import openpyxl
import pytest

from refsolver.calculators.by_workbook import differences_of_copy
from refsolver.calculators.workbook.identity import formula_identity
from refsolver.calculators.workbook.references import CellRef
from refsolver.calculators.workbook.shown_formats import number_formats, show_the_same


@pytest.mark.parametrize(
    ("one", "other", "same"),
    [
        ("0.00", "0.00", True), ("General", "GENERAL", True), ("0.00", "[Red]0.00", True),
        ("#,##0.0", "#,##0.0;-#,##0.0", True), ("0.00", "0.000", False), ("0.00", "0.00,", False),
        ("0.00", "0.00%", False), ("0.00", "0.00;0.00", False), ("0.00", "0.00;;", False),
        ("0.00", '"12.00"', False), ("0.00", "yyyy-mm-dd", False), ("yyyy-mm-dd", "dd.mm", False),
    ],
)  # fmt: skip
def test_formats_that_show_the_same(one: str, other: str, same: bool) -> None:
    assert show_the_same(one, other) is show_the_same(other, one) is same


def saved(path: Path, code: str, factor: int = 2) -> Path:
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.title = "Stays"
    sheet["A1"], sheet["B1"] = 3, f"=A1*{factor}"
    sheet["B1"].number_format = code
    book.save(path)
    return path


def test_a_copy_that_shows_its_outputs_otherwise_is_another(tmp_path: Path) -> None:
    """The formulas are the same, and a person would read a thousandth of the value."""
    validated = saved(tmp_path / "validated.xlsx", "0.00")
    inputs = [CellRef("Stays", 1, 1)]
    output = CellRef("Stays", 1, 2)
    assert number_formats(validated, [output]) == {output: "0.00"}
    identity = {
        "formula_identity": formula_identity(validated, inputs),
        "shows": {str(output): "0.00"},
    }

    def said(path: Path) -> list[str]:
        return list(differences_of_copy(path, identity, ["Stays!A1"]))

    assert said(saved(tmp_path / "same.xlsx", "0.00;-0.00")) == []
    (shows,) = said(saved(tmp_path / "thousands.xlsx", "0.00,"))
    assert "shows numbers by the format '0.00,'" in shows
    (other,) = said(saved(tmp_path / "other.xlsx", "0.00", 3))
    assert "formulas" in other
    del identity["shows"]
    assert said(tmp_path / "thousands.xlsx") == []
