"""From a workbook that nobody has described to a judged record: draft, settle, check.

The workbook is made up here; the arithmetic in it is right.
"""

from __future__ import annotations

import json
import re

import openpyxl
import pytest

from tests.command import command

ANCHOR = "concurrent-forces/plane-resultant/anchor-three-four-five"
ROWS = range(5, 13)


def write_workbook(path, last=12):
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "Plate"
    cells = {"A1": "STAY PLATE (made up)", "A2": "Angles clockwise from the vertical, 0 to 360.",
             "B4": "Pull (lb)", "C4": "Angle (deg)", "D4": "across", "E4": "up"}  # fmt: skip
    cells |= {f"D{r}": f"=B{r}*SIN(RADIANS(C{r}))" for r in ROWS}
    cells |= {f"E{r}": f"=B{r}*COS(RADIANS(C{r}))" for r in ROWS}
    cells |= {f"{c}13": f"=SUM({c}5:{c}{last})" for c in "DE"}
    cells |= {
        "B5": 120, "C5": 35, "B6": 85, "C6": 62.5,
        "A16": "Resultant (lb)", "B16": "=SQRT(D13^2+E13^2)",
        "A17": "Direction (deg)",
        "B17": '=IF(B16<0.000001,"no direction",MOD(DEGREES(ATAN2(E13,D13)),360))',
    }  # fmt: skip
    for cell, value in cells.items():
        sheet[cell] = value
    book.save(path)
    return path


CRITERIA = {
    "lbf": '{ relative = "0.01 %", absolute = "0.01 lbf", reason = "nothing is rounded" }',
    "deg": '{ absolute = "0.01 deg", reason = "nothing is rounded" }',
}


def settled(text):
    """The draft with every mark settled as its comments say."""
    tables = []
    for table in re.split(r"(?m)^(?=\[\[family\.)", text):
        if '"resultant"' in table or '"decide: resultant"' in table:
            unit = re.search(r'unit = "(?:decide: )?(\w+)"', table)[1]
            table = re.sub(r"(?m)^criterion = .*$", f"criterion = {CRITERIA[unit]}", table)
        if table.startswith("[[family.output]]") and "resultant" not in table:
            continue  # a column on the way, or a count: no result of its own
        tables.append(table)
    text = "".join(tables).replace('"decide: ', '"')
    return text.replace('version = "decide"', 'version = "2"').replace(
        'owner = "decide"', 'owner = "nobody (made up)"'
    )


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """The workbook with its draft, settled."""
    folder = tmp_path_factory.mktemp("draft")
    write_workbook(folder / "plate.xlsx")
    done = command("draft", "plate.xlsx", cwd=folder)
    assert done.status == 0, done.err
    (folder / "said.txt").write_text(done.out)
    (folder / "settled.toml").write_text(settled((folder / "plate.toml").read_text()))
    return folder


def test_the_command_says_what_fits_and_what_is_next(folder):
    said = (folder / "said.txt").read_text()
    assert re.search(r"^  concurrent-forces/plane-resultant: 2 of 2 inputs", said, re.M)
    count = int(re.search(r"a draft with (\d+) things to decide", said)[1])
    assert count == sum(
        line.count('"decide"') + line.count('"decide: ')
        for line in (folder / "plate.toml").read_text().splitlines()
        if not line.startswith("#")
    )
    assert "refsolver check plate.toml --trial concurrent-forces/plane-resultant/anchor" in said


def test_an_unsettled_draft_is_refused_with_the_lines(folder, tmp_path):
    done = command("check", folder / "plate.toml", "--out", "x", cwd=tmp_path)
    assert done.status == 2 and not list(tmp_path.iterdir())
    lines = (folder / "plate.toml").read_text().splitlines()
    number = 1 + next(n for n, line in enumerate(lines) if line.startswith("criterion"))
    assert f"line {number}: criterion.absolute is not decided (write what holds)" in done.err
    assert 'from is not decided: "+y" is a guess (if it is right strike "decide: "' in done.err


def test_one_mark_left_is_enough_to_refuse(folder):
    text = (folder / "settled.toml").read_text()
    (folder / "left.toml").write_text(text.replace('toward = "+x"', 'toward = "decide: +x"', 1))
    done = command("check", "left.toml", "--trial", ANCHOR, cwd=folder)
    assert done.status == 2 and done.err.count("is not decided") == 1


def test_the_settled_draft_shows_a_case_and_is_met(folder):
    trial = command("check", "settled.toml", "--trial", ANCHOR, cwd=folder)
    assert trial.status == 0, trial.err
    assert "Plate!B5" in trial.out and "Plate!B16" in trial.out
    done = command("check", "settled.toml", "--out", "out", "--format", "json", cwd=folder)
    assert done.status == 0, done.out + done.err
    assert json.loads(done.out)["result"] == "met"


def test_a_sum_that_stops_a_row_short_is_not_met(folder, tmp_path):
    write_workbook(tmp_path / "plate.xlsx", last=11)
    (tmp_path / "settled.toml").write_text((folder / "settled.toml").read_text())
    done = command("check", "settled.toml", "--out", "out", "--format", "json", cwd=tmp_path)
    assert done.status == 1, done.err
    assert json.loads(done.out)["result"] == "not met"


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["draft"], "give a workbook, or one of"),
        (["draft", "plate.xlsx", "--sheet"], "give a workbook, or one of"),
        (["draft", "--sheet"], "--sheet needs --family"),
        (["draft", "plate.xlsx"], "is there already and is not written over"),
        (["draft", "none.xlsx"], "cannot be read"),
        (["draft", "--python", "shop", "--family", "friction/belt"], "write module:function"),
        (["draft", "plate.xlsx", "--family", "friction/bolt", "--out", "y.toml"], "did you mean"),
    ],
)
def test_what_cannot_be_drafted_is_a_sentence(folder, arguments, said):
    before = sorted(folder.iterdir())
    done = command(*arguments, cwd=folder)
    assert done.status == 2 and said in done.err and "Traceback" not in done.err
    assert sorted(folder.iterdir()) == before


def test_a_blank_for_a_function_is_written_beside_nothing(tmp_path):
    done = command("draft", "--python", "shop:pull", "--family", "friction/belt", cwd=tmp_path)
    assert done.status == 0, done.err
    assert [path.name for path in tmp_path.iterdir()] == ["shop.toml"]
