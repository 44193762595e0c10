"""Titles, names, answers and remarks that are formulas, scripts or marks: shown, never run.

Each view is read by a program that would run them: the CSV by LibreOffice, the HTML by
Chromium, the rest by parsers of its form.
"""

from __future__ import annotations

import copy
import csv
import io
import re
import shutil
import subprocess
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import openpyxl
import pytest
from playwright.sync_api import sync_playwright

from refsolver.calculators.answer_sheet import SheetCase, read_sheet, write_sheet
from refsolver.quantities.visible import markdown_line, visible
from refsolver.records.canonical import read_record
from refsolver.reporting.arrangement import readings
from refsolver.reporting.csv import csv_text
from refsolver.reporting.html import html_text
from refsolver.reporting.junit import junit_text
from refsolver.reporting.markdown import markdown_text
from refsolver.reporting.sheet_page import PageCase, sheet_page
from refsolver.reporting.side_by_side import side_by_side

FORMULAS = (
    "=1+1", "+1+1", "-1+1", "@SUM(1,1)", "\t=1+1", "\r=1+1", " =1+1", '=HYPERLINK("http://x","y")',
    "=cmd|' /C calc'!A0", "a;=1+1", "a\t=1+1", "a\n=1+1", "＝1+1",
    "-2+3+cmd|' /C calc'!A0", '"=1+1',
    "%0A=1+1", "'=1+1",
)  # fmt: skip
NUMBERS = ("-12.5", "+3", "-1e-5", "12.5", "-0.00", "-12.5 kN", "+3.2 lbf/ft^2", "-.5")
SCRIPTS = (
    "<script>window.hit=1</script>", "</script><script>window.hit=1</script>",
    "</style></head><img src=x onerror=window.hit=1>", '"><svg onload=window.hit=1>',
    "' onmouseover='window.hit=1", "{{ 7*7 }}", "{% raw %}", "javascript:window.hit=1",
    "&lt;script&gt;window.hit=1&lt;/script&gt;", "]]><script>window.hit=1</script>",
    "<!-- ", "\u202e\u2066nettoM", "\x00\x1b[31m", "\ud800",
)  # fmt: skip
MARKS = (
    "| a | b |", "`` ` ``", "# head", "- item", "1. item", "![x](http://x/y.png)",
    "[x](javascript:x)",
    "<b>bold</b>", "***", "---", "~~~", "a\n\n# b", "&copy;", "\\", "==", "> quote", "<http://x>",
)  # fmt: skip


@pytest.fixture
def record(_bases: Any) -> dict[str, Any]:
    return copy.deepcopy(read_record(_bases.folder / "record.json"))


def filled(record: dict[str, Any], words: str) -> dict[str, Any]:
    """The record with these words wherever a person's own words stand."""
    found = copy.deepcopy(record)
    content = found["content"]
    content["calculator"] |= {"name": words, "owner": words, "version": words, "description": words}
    content["calculator"]["identity"]["note"] = words
    content["overall"]["because"] = [words]
    for section in content["mapping"]:
        for line in (*section["inputs"], *section["outputs"]):
            line |= {"says": words, "sentence": words}
    for case in content["cases"].values():
        case |= {"title": words, "statement": words, "note": words, "condition": words}
    for reading in readings(found):
        reading.finding.update(reported=words, why=words, unit=words, verdict="fail")
    counts = content["counts"]
    counts["readings"] = dict.fromkeys(counts["readings"], 0) | {"fail": counts["total"]}
    found["circumstances"]["changes"] = {"previous": "ab" * 32, "items": [words]}
    return found


def test_no_cell_of_the_table_is_a_formula(record: dict[str, Any], tmp_path: Path) -> None:
    """Read by LibreOffice with our separator, and with those of other places."""
    office = shutil.which("soffice")
    if office is None:
        pytest.skip("LibreOffice is not installed")
    for name, words in enumerate((*FORMULAS, *SCRIPTS[:3])):
        text = csv_text(filled(record, words)).encode("utf-8", "backslashreplace")
        (tmp_path / f"{name}.csv").write_bytes(text)
    # 44 and 59: commas; semicolons alone. 34: quotes. 76: UTF-8.
    for separators in ("44", "59", "44/59/9"):
        out = tmp_path / separators.replace("/", "-")
        subprocess.run(
            [
                office, f"-env:UserInstallation=file://{tmp_path}/profile", "--headless",
                f"--infilter=Text - txt - csv (StarCalc):{separators},34,76,1,,0,false,true,false",
                "--convert-to", "xlsx", "--outdir", str(out),
                *map(str, sorted(tmp_path.glob("*.csv"))),
            ],
            capture_output=True, timeout=300, check=True,
        )  # fmt: skip
        books = sorted(out.glob("*.xlsx"))
        assert len(books) == len(FORMULAS) + 3
        for path in books:
            sheet = openpyxl.load_workbook(path).active
            cells = [cell for row in sheet.iter_rows() for cell in row]
            assert len(cells) > (20 if "44" in separators else 1)
            assert not [c.value for c in cells if c.data_type == "f"], path


@pytest.mark.parametrize("words", FORMULAS)
def test_formulas_in_the_table_are_texts(record: dict[str, Any], words: str) -> None:
    rows = list(csv.DictReader(io.StringIO(csv_text(filled(record, words)), newline="")))
    for row in rows:
        for cell in row.values():
            assert not re.search(r"(^|[;\t\r\n])\s*[=@＝]", cell)
            assert not re.match(r"\s*[+-](?![\d.]+(e[+-]?\d+)?$)", cell, re.I)


@pytest.mark.parametrize("words", NUMBERS)
def test_numbers_in_the_table_stay_numbers(record: dict[str, Any], words: str) -> None:
    rows = list(csv.DictReader(io.StringIO(csv_text(filled(record, words)), newline="")))
    assert words in {row["reported"] for row in rows}


def test_no_script_of_others_runs(record: dict[str, Any], tmp_path: Path) -> None:
    """In a real Chromium: the report, and the page of an answer sheet."""
    chromium = shutil.which("chromium") or shutil.which("chromium-browser")
    if chromium is None:
        pytest.skip("Chromium is not installed")
    pages = []
    words = " ".join(SCRIPTS[:-1])
    report = html_text(filled(record, words))
    one = PageCase(1, words, words, words, ((words, words, words, words),), None)
    for name, text in (("report", report), ("sheet", sheet_page(words, [one], [words]))):
        pages.append(tmp_path / f"{name}.html")
        pages[-1].write_bytes(text.encode("utf-8", "backslashreplace"))
    # were something let through after all, the page's own policy would still stop it
    pages.append(tmp_path / "let-through.html")
    pages[-1].write_text(report.replace("</body>", "<script>window.hit=1</script></body>"))
    with sync_playwright() as playwright:
        running = playwright.chromium.launch(executable_path=chromium, args=["--no-sandbox"])
        for path in pages:
            page = running.new_page()
            asked: list[str] = []
            page.on("request", lambda request, asked=asked: asked.append(request.url))
            page.goto(path.as_uri())
            assert page.evaluate("window.hit") is None, path
            assert asked == [path.as_uri()]
            if path.name == "report.html":
                assert not page.locator("#filter").is_hidden()  # our own script does run
                assert "<script>window.hit=1</script>" in page.locator("h1").inner_text()
                assert "<U+202E>" in page.locator("h1").inner_text()
        running.close()


@pytest.mark.parametrize("words", [*SCRIPTS[:-1], *MARKS, *FORMULAS])
def test_every_text_view_is_written_whole(record: dict[str, Any], words: str) -> None:
    spoilt = filled(record, words)
    xml = junit_text(spoilt)
    assert ElementTree.fromstring(xml.encode("utf-8")).get("tests")
    html_text(spoilt).encode("utf-8")
    for text in (markdown_text(spoilt), side_by_side({words: spoilt, "b": spoilt})):
        text.encode("utf-8")
        assert not re.search(r"(?<!\\)<(?!U\+)[a-z/!]", text), words
        shown = [line for line in text.splitlines() if line.startswith("|")]
        assert len(shown) > 10


@pytest.mark.parametrize("words", MARKS)
def test_marks_are_words_in_markdown(words: str) -> None:
    """Every mark of CommonMark (0.31, 2.4) that the words hold has a backslash before it."""
    line = markdown_line(words)
    assert "\n" not in line
    assert not re.search(r"(?<!\\)(?:\\\\)*[`*_\[\]<>|#&~]", line)
    assert not re.match(r"([-+]|\d+[.)])(\s|$)|[-=]{2,}$", line)
    assert re.sub(r"\\(.)", r"\1", line) == " ".join(words.split())


@pytest.mark.parametrize(
    ("words", "shown"),
    [
        ("12.5", "12.5"), ("naïve – ∑ 港\n\tb\r\nc", "naïve – ∑ 港\n\tb\r\nc"),
        ("1\u200b2", "1<U+200B>2"), ("\u202e21\u202c", "<U+202E>21<U+202C>"),
        ("a\rb", "a<U+000D>b"),
        ("\x1b[2J", "<U+001B>[2J"), ("\ufeffx", "<U+FEFF>x"), ("\ud83d", "<U+D83D>"),
        ("\U0001f600", "\U0001f600"),
    ],
)  # fmt: skip
def test_what_nobody_would_see_is_shown(words: str, shown: str) -> None:
    assert visible(words) == shown
    visible(words).encode("utf-8")


def test_a_sheet_has_words_and_no_formulas(tmp_path: Path) -> None:
    for words in FORMULAS:
        path = tmp_path / "sheet.xlsx"
        safe = "".join(c for c in words if c not in "\r\t\n")
        case = SheetCase("a/b/c", safe, safe, (("p", safe, "3", safe, safe),), (("r", safe, safe),))
        write_sheet(path, {"calculator": safe, "owner": safe}, [case], [safe])
        book = openpyxl.load_workbook(path)
        cells = [cell for sheet in book.worksheets for row in sheet.iter_rows() for cell in row]
        assert not [cell.value for cell in cells if cell.data_type == "f"]
        assert read_sheet(path).cases == ("a/b/c",)


def test_a_formula_where_a_reading_belongs_is_in_question(tmp_path: Path) -> None:
    path = tmp_path / "sheet.xlsx"
    case = SheetCase("a/b/c", "t", "s", (("p", "w", "3", "kN", ""),), (("r", "w", "kN"),))
    for column in range(6, 14):
        write_sheet(path, {"calculator": "c"}, [case], [])
        book = openpyxl.load_workbook(path)
        book["To read"].cell(2, column).value = "=5*2"
        book.save(path)
        (row,) = read_sheet(path).read.values()
        assert "holds a formula" in row.problem
