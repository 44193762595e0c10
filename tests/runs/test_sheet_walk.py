"""The third walk: a calculator that only a person can drive, from sheet to judged record."""

import re

import openpyxl
import pytest

from refsolver.calculators.answer_sheet import SheetProblem, read_sheet
from refsolver.records.canonical import read_record
from refsolver.runs.verifying import verify
from tests.command import command

FILE = """
[calculator]
name = "Pull Pal, a phone app (made up)"
version = "4.1"
owner = "Riggers' loft (made up)"
[sheet]
file = "filled.xlsx"
[refusals]
texts = ["no direction"]
[[family]]
name = "concurrent-forces/plane-resultant"
[[family.scope]]
count = "forces"
at_most = 4
reason = "the app has four rows"
[[family.input]]
given = "forces[*].force"
take = "magnitude"
unit = "lbf"
decimals = 0
place = "pull *"
says = "Pull"
[[family.input]]
given = "forces[*].force"
take = "angle"
from = "+y"
toward = "+x"
range = "0..360"
unit = "deg"
decimals = 1
place = "angle *"
says = "Angle from straight up"
[[family.output]]
answer = "resultant"
take = "magnitude"
unit = "lbf"
place = "total"
says = "Total pull"
criterion = { rounded_to = "0.1 lbf", manner = "nearest", reason = "the app shows tenths" }
"""


def typed_cases(book):
    """What a person reads on the sheet: {case: [(pull, angle), ...]}."""
    cases = {}
    for row in book["To type"].iter_rows(min_row=2, values_only=True):
        rows = cases.setdefault(row[1], {})
        kind, number = row[2].split()
        rows.setdefault(int(number), {})[kind] = float(row[4])
    return {
        case: [(rows[n]["pull"], rows[n]["angle"]) for n in sorted(rows)]
        for case, rows in cases.items()
    }


def right_answer(pulls):
    """The app, done rightly in double precision and shown in tenths."""
    import math

    x = sum(size * math.sin(math.radians(angle)) for size, angle in pulls)
    y = sum(size * math.cos(math.radians(angle)) for size, angle in pulls)
    return f"{math.hypot(x, y):.1f} lb"


@pytest.fixture(scope="module")
def walk(tmp_path_factory):
    """A sheet written by the command, filled in rightly."""
    folder = tmp_path_factory.mktemp("sheet")
    (folder / "app.toml").write_text(FILE)
    done = command("sheet", "app.toml", "--cases", 8, "--out", "blank.xlsx", cwd=folder)
    assert done.status == 0, done.err
    book = openpyxl.load_workbook(folder / "blank.xlsx")
    cases = typed_cases(book)
    assert len(cases) == 8
    for row in book["To read"].iter_rows(min_row=2):
        row[5].value = right_answer(cases[row[1].value])
    book.save(folder / "filled.xlsx")
    return folder


def changed(walk, tmp_path, change):
    """The filled sheet with a change, checked; the record's content."""
    (tmp_path / "app.toml").write_text(FILE)
    book = openpyxl.load_workbook(walk / "filled.xlsx")
    change(book)
    book.save(tmp_path / "filled.xlsx")
    done = command("check", "app.toml", "--out", "out", cwd=tmp_path)
    assert done.status in (0, 1), done.err
    return read_record(tmp_path / "out" / "record.json")["content"]


def findings(content):
    return [
        finding
        for case in content["cases"].values()
        if case["state"] == "asked"
        for finding in case["findings"]
    ]


def test_the_sheet_never_carries_the_answers(walk):
    book = openpyxl.load_workbook(walk / "blank.xlsx")
    cases = typed_cases(book)
    said = {
        str(cell.value)
        for sheet in ("To read", "Head")
        for row in book[sheet].iter_rows()
        for cell in row
        if cell.value is not None
    }
    for pulls in cases.values():
        shown = right_answer(pulls).removesuffix(" lb")
        if re.fullmatch(r"\d{3,}\.\d", shown):
            assert not any(shown in text for text in said)


def test_the_page_of_figures_goes_with_the_sheet(walk):
    """Every case by its number: statement, what to type, a figure; no answer anywhere."""
    page = (walk / "blank-figures.html").read_text(encoding="utf-8")
    book = openpyxl.load_workbook(walk / "blank.xlsx")
    cases = typed_cases(book)
    for number, (case, pulls) in enumerate(cases.items(), 1):
        (article,) = re.findall(rf'<article id="case-{number}">.*?</article>', page, re.S)
        assert case in article and "<svg" in article
        for size, angle in pulls:
            assert f"<b>{size:g}</b>" in article and f"<b>{angle:g}</b>" in article
        answer = right_answer(pulls).removesuffix(" lb")
        if re.fullmatch(r"\d{3,}\.\d", answer):
            assert answer not in article
    for sheet in ("To type", "To read", "Cases"):
        for row in book[sheet].iter_rows(min_row=2, max_col=1):
            assert row[0].hyperlink.target == f"blank-figures.html#case-{row[0].value}"
    assert "http" not in page.replace("http://www.w3.org", "") and "<script" not in page


def test_a_right_calculator_is_judged_and_reproduced(walk, tmp_path):
    content = changed(walk, tmp_path, lambda book: None)
    verdicts = {f["verdict"] for f in findings(content)}
    assert verdicts == {"pass"}, [f for f in findings(content) if f["verdict"] != "pass"]
    assert len(findings(content)) == 8
    assert content["calculator"]["identity"]["engine"] == "read off by a person"
    assert verify(tmp_path / "out" / "record.json").holds


def test_an_empty_row_is_no_answer_and_not_met(walk, tmp_path):
    content = changed(walk, tmp_path, lambda book: setattr(book["To read"]["F2"], "value", None))
    assert [f["verdict"] for f in findings(content)].count("no answer") == 1
    assert content["overall"]["result"] != "met"


def test_a_likely_slip_is_marked_for_reading_again(walk, tmp_path):
    def swap(book):
        for row in book["To read"].iter_rows(min_row=2):
            number = row[5].value.removesuffix(" lb")
            digits = [c for c in number if c.isdigit()]
            if len(set(digits[:2])) == 2 and digits[1] != "0":
                row[5].value = f"{number[1]}{number[0]}{number[2:]} lb"
                return

    content = changed(walk, tmp_path, swap)
    failing = [f for f in findings(content) if f["verdict"] == "fail"]
    assert len(failing) == 1 and "read it again" in failing[0]["why"]


def test_two_readings_that_differ_are_in_question(walk, tmp_path):
    content = changed(walk, tmp_path, lambda b: setattr(b["To read"]["H2"], "value", "1.0 lb"))
    assert any("two readings differ" in f["why"] for f in findings(content))


def test_a_correction_keeps_the_first_reading(walk, tmp_path):
    right = openpyxl.load_workbook(walk / "filled.xlsx")["To read"]["F2"].value

    def correct(book):
        row = book["To read"]
        row["F2"].value = "9999.9 lb"
        row["J2"].value, row["K2"].value = right, "J. Doe (made up)"
        row["L2"].value, row["M2"].value = "2026-01-02", "read the wrong line"

    content = changed(walk, tmp_path, correct)
    assert all(f["verdict"] == "pass" for f in findings(content))
    record = read_record(tmp_path / "out" / "record.json")
    assert "9999.9 lb" in str(record["circumstances"]["raw"])


def test_a_correction_without_a_name_is_not_used(walk, tmp_path):
    content = changed(walk, tmp_path, lambda b: setattr(b["To read"]["J2"], "value", "1.0 lb"))
    assert any("needs name, date and reason" in f["why"] for f in findings(content))


def test_what_was_typed_otherwise_is_what_is_judged(walk, tmp_path):
    """A typed figure that differs from the sheet moves the reference, not the tolerance."""

    def mistype(book):
        row = book["To type"]
        row["H2"].value = str(float(row["E2"].value) + 7)

    content = changed(walk, tmp_path, mistype)
    assert [f["verdict"] for f in findings(content)].count("fail") == 1


def test_a_refusal_where_an_answer_exists(walk, tmp_path):
    def refuse(book):
        book["To read"]["F2"].value, book["To read"]["G2"].value = None, "Check your input"

    content = changed(walk, tmp_path, refuse)
    assert [f["verdict"] for f in findings(content)].count("refused") == 1


def test_existing_sheets_are_not_overwritten(walk):
    done = command("sheet", "app.toml", "--out", "filled.xlsx", cwd=walk)
    assert done.status == 2 and "may hold readings" in done.err


def test_what_is_no_sheet_is_said(tmp_path):
    path = tmp_path / "x.xlsx"
    path.write_bytes(b"")
    with pytest.raises(SheetProblem, match="the file is empty"):
        read_sheet(path)
    openpyxl.Workbook().save(path)
    with pytest.raises(SheetProblem, match="is missing"):
        read_sheet(path)


def test_decimals_must_be_said(tmp_path):
    (tmp_path / "app.toml").write_text(FILE.replace("decimals = 0\n", ""))
    done = command("sheet", "app.toml", cwd=tmp_path)
    assert done.status == 2 and "say 'decimals'" in done.err
