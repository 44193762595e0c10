"""Which family a sheet is taken for: a family that would do stands among the first."""

from __future__ import annotations

import tomllib
from pathlib import Path

import openpyxl
import pytest

from refsolver.calculators.drafting.writing import draft_workbook

SHEETS = tomllib.loads(Path(__file__).with_name("sheets.toml").read_text(encoding="utf-8"))["sheet"]


def saved(folder, sheet):
    book = openpyxl.Workbook()
    for row in sheet["rows"]:
        book.active.append(row)
    book.save(folder / "calc.xlsx")
    return folder / "calc.xlsx"


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet["rows"][0][0])
def test_a_family_that_would_do_is_among_the_first(tmp_path, sheet):
    path = saved(tmp_path, sheet)
    first = [name for name, _ in draft_workbook(path, tmp_path / "calc.toml").ranking]
    assert set(first[: sheet["among"]]) & set(sheet["families"]), first


def test_what_nothing_is_left_for_is_said_to_be_taken_for_granted(tmp_path):
    """A span with a load all along it and one at a place: no cells for ends and supports."""
    (sheet,) = [s for s in SHEETS if s["rows"][0] == ["Beam reactions"]]
    path = saved(tmp_path, sheet)
    draft = tomllib.loads(draft_workbook(path, tmp_path / "calc.toml").text)
    (section,) = draft["family"]
    assert set(section["fixed"].values()) == {"decide"}
    assert {"line_loads[*].start", "supports[2].at"} < set(section["fixed"])
    assert [line["place"] for line in section["input"]] == [f"Sheet!B{n}" for n in (2, 3, 4, 5)]
