"""Which family a sheet is taken for: a family that would do stands among the first."""

from __future__ import annotations

import tomllib
from pathlib import Path

import openpyxl
import pytest

from refsolver.calculators.drafting.writing import draft_workbook

SHEETS = tomllib.loads(Path(__file__).with_name("sheets.toml").read_text(encoding="utf-8"))["sheet"]


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet["rows"][0][0])
def test_a_family_that_would_do_is_among_the_first(tmp_path, sheet):
    book = openpyxl.Workbook()
    for row in sheet["rows"]:
        book.active.append(row)
    path = tmp_path / "calc.xlsx"
    book.save(path)
    first = [name for name, _ in draft_workbook(path, tmp_path / "calc.toml").ranking]
    assert set(first[: sheet["among"]]) & set(sheet["families"]), first
