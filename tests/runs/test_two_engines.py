"""A workbook checked with both engines in one run, where the calculator file asks for it."""

from __future__ import annotations

from importlib import resources
from pathlib import Path

import attrs
import openpyxl
import pytest

from refsolver.calculators.file import CalculatorFileError, read_calculator_file
from refsolver.calculators.opening import open_calculator
from refsolver.calculators.workbook.engine import EngineAbsent
from refsolver.calculators.workbook.office import find_office
from refsolver.catalogue.catalogue import Catalogue
from refsolver.records.building import circumstances_of, content_of
from refsolver.records.canonical import sealed
from refsolver.reporting.html import html_text
from refsolver.reporting.markdown import markdown_text
from refsolver.runs.check import run_check

pytestmark = pytest.mark.office


@pytest.fixture
def described(tmp_path: Path) -> Path:
    try:
        find_office()
    except EngineAbsent as absent:
        pytest.skip(str(absent))
    for name in ("hanger-workbook.toml", "hanger-workbook.xlsx"):
        data = (resources.files("refsolver.demo") / name).read_bytes()
        (tmp_path / name).write_bytes(data)
    path = tmp_path / "hanger-workbook.toml"
    text = path.read_text("utf-8")
    line = 'file = "hanger-workbook.xlsx"\n'
    path.write_text(text.replace(line, line + 'engine = "both"\n'), encoding="utf-8")
    return path


def test_record_and_report_tell_what_was_compared(described: Path) -> None:
    run = run_check(
        read_calculator_file(described), Catalogue(), only=lambda case: "anchor" in case.id
    )
    content = content_of(run)
    engines = content["engines"]
    assert "LibreOffice" in engines["judged"] and engines["other"].startswith("ironcalc")
    assert engines["cases"] == sum(r.asked for r in run.runs) > 0
    assert engines["cells"] > engines["cases"]
    assert engines["texts"] + engines["texts_untold"] == engines["cells"]
    assert engines["differences"] == engines["not_compared"] == []
    record = sealed(content, circumstances_of(run))
    for text in (markdown_text(record), html_text(record)):
        assert "Two engines" in text and "0 differ by more than rounding explains" in text


def test_a_difference_stands_in_the_report(described: Path) -> None:
    """ATAN2(0,0) added to the size of the resultant: 0 in one program, an error in the other."""
    path = described.with_name("hanger-workbook.xlsx")
    book = openpyxl.load_workbook(path)
    sheet = book["Hanger plate"]
    sheet["C21"] = f"{sheet['C21'].value}+ATAN2(0*C10,0*C10)"
    book.save(path)
    run = run_check(
        read_calculator_file(described), Catalogue(), only=lambda case: "anchor" in case.id
    )
    record = sealed(content_of(run), circumstances_of(run))
    found = record["content"]["engines"]["differences"]
    assert {d["what"] for d in found} == {"stored", "displayed"}
    assert any(d["cell"] == "'Hanger plate'!C21" for d in found)
    assert all(d["other"] in ({"error": "#DIV/0!"}, "#DIV/0!") for d in found if "C21" in d["cell"])
    for text in (markdown_text(record), html_text(record)):
        assert "#DIV/0!" in text.replace("<wbr>", "")


def test_what_the_embedded_engine_does_not_know_is_said(described: Path) -> None:
    path = described.with_name("hanger-workbook.xlsx")
    book = openpyxl.load_workbook(path)
    sheet = book["Hanger plate"]
    sheet["C21"] = f"{sheet['C21'].value}+0*_xlfn.AGGREGATE(9,6,C10:C17)"
    book.save(path)
    with pytest.raises(CalculatorFileError, match='"both" compares with the embedded engine'):
        open_calculator(read_calculator_file(described))


def test_one_engine_leaves_no_trace_of_two(described: Path) -> None:
    file = read_calculator_file(described)
    file = attrs.evolve(file, settings={**file.settings, "engine": "embedded"})
    run = run_check(file, Catalogue(), only=lambda case: "anchor" in case.id)
    assert "engines" not in content_of(run)
    assert "second_engine" not in run.identity
