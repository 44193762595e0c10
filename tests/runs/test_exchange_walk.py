"""The route of exchange: the program of use computes, elsewhere, and its answers are read."""

import shutil
import subprocess
import sys

import openpyxl
import pytest

from refsolver.calculators.workbook.engine import EngineAbsent
from refsolver.calculators.workbook.office import OfficeEngine, find_office
from refsolver.records.canonical import read_record
from refsolver.runs.verifying import verify
from tests.command import command
from tests.plane_pulls import inputs

FILE = (
    """
[calculator]
name = "Guy lines (made up)"
version = "2"
owner = "test"
[workbook]
file = "guys.xlsx"
[[family]]
name = "concurrent-forces/plane-resultant"
[[family.scope]]
count = "forces"
at_most = 4
reason = "four rows"
"""
    + inputs(cells=("Guys!A2:A5", "Guys!B2:B5"))
    + """
[[family.output]]
answer = "resultant"
take = "magnitude"
unit = "kN"
place = "Guys!A8"
says = "Sum"
criterion = { relative = "0.1 %", absolute = "1e-9 kN", reason = "double precision" }
"""
)

PROGRAM = """
import math, sys
rows = [line.split() for line in open("in.txt") if line.strip()]
x = sum(float(a) * math.cos(math.radians(float(b))) for a, b in rows)
y = sum(float(a) * math.sin(math.radians(float(b))) for a, b in rows)
open("out.txt", "w").write(f"SUM = {math.hypot(x, y):.6f} kN\\n")
"""


def workbook(folder):
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "Guys"
    sheet.append(["Pull", "Angle"])
    for _ in range(4):
        sheet.append([None, None])
    sheet["A7"] = "=SUMPRODUCT(A2:A5,COS(RADIANS(B2:B5)))"
    sheet["B7"] = "=SUMPRODUCT(A2:A5,SIN(RADIANS(B2:B5)))"
    sheet["A8"] = "=SQRT(A7^2+B7^2)"
    book.save(folder / "guys.xlsx")
    (folder / "guys.toml").write_text(FILE)


@pytest.mark.slow
def chosen_by_a_person(record):
    """Whether the record holds, though it has not all cases that a run would put."""
    found = verify(record)
    assert found.holds and "a person chose them" in found.unchecked, found


def test_a_workbook_by_exchange(tmp_path):
    """LibreOffice stands for the user's own program: it opens, calculates and saves."""
    try:
        find_office()
    except EngineAbsent as absent:
        pytest.skip(str(absent))
    workbook(tmp_path)
    done = command("check", "guys.toml", "--exchange", "swap", "--cases", 5, cwd=tmp_path)
    assert done.status == 0, done.err
    copies = sorted((tmp_path / "swap").glob("*.xlsx"))
    assert len(copies) == 5 and "save it" in done.out
    # nothing saved yet: nothing is taken for an answer
    done = command("check", "guys.toml", "--exchange", "swap", "--out", "early", cwd=tmp_path)
    assert done.status == 1
    counts = read_record(tmp_path / "early" / "record.json")["content"]["counts"]
    assert counts["readings"]["no answer"] == counts["total"] > 0
    with OfficeEngine() as office:
        for path in copies:
            office.open(path)
            office.recalculate()
            office.save_as_xlsx(tmp_path / "saved.xlsx")
            shutil.move(tmp_path / "saved.xlsx", path)
    done = command("check", "guys.toml", "--exchange", "swap", "--out", "late", cwd=tmp_path)
    content = read_record(tmp_path / "late" / "record.json")["content"]
    readings = content["counts"]["readings"]
    assert readings["pass"] == content["counts"]["total"], content["cases"]
    identity = content["calculator"]["identity"]
    assert identity["program_of_use"] and "LibreOffice" in identity["engine"]
    chosen_by_a_person(tmp_path / "late" / "record.json")


def test_a_program_by_exchange(tmp_path):
    (tmp_path / "guys.py").write_text(PROGRAM)
    (tmp_path / "in.tpl").write_text(
        "{% for p in guys %}{{ p.size|fixed(3) }} {{ p.turn|fixed(2) }}\n{% endfor %}"
    )
    text = FILE.replace(
        '[workbook]\nfile = "guys.xlsx"',
        '[command]\nargv = ["python3", "guys.py"]\nfiles = { "in.txt" = "in.tpl" }\n'
        'output_files = ["out.txt"]\ncopied = ["guys.py"]\n'
        "[command.patterns]\nsum = 'SUM = (.*)'",
    )
    for cells, field in (("Guys!A2:A5", "guys[*].size"), ("Guys!B2:B5", "guys[*].turn"),
                         ("Guys!A8", "sum")):  # fmt: skip
        text = text.replace(cells, field)
    (tmp_path / "guys.toml").write_text(text)
    done = command("check", "guys.toml", "--exchange", "swap", "--cases", 4, cwd=tmp_path)
    assert done.status == 0, done.err
    folders = [p for p in sorted((tmp_path / "swap").iterdir()) if p.is_dir()]
    assert len(folders) == 4
    for folder in folders[1:]:
        subprocess.run([sys.executable, "guys.py"], cwd=folder, check=True)
    done = command("check", "guys.toml", "--exchange", "swap", "--out", "late", cwd=tmp_path)
    readings = read_record(tmp_path / "late" / "record.json")["content"]["counts"]["readings"]
    assert (readings["pass"], readings["no answer"]) == (3, 1), done.out
    chosen_by_a_person(tmp_path / "late" / "record.json")


def test_the_folder_of_another_state_is_refused(tmp_path):
    workbook(tmp_path)
    command("check", "guys.toml", "--exchange", "swap", "--cases", 2, cwd=tmp_path)
    (tmp_path / "guys.toml").write_text(FILE + "\n# changed\n")
    done = command("check", "guys.toml", "--exchange", "swap", cwd=tmp_path)
    assert done.status == 2 and "another state" in done.err


def test_a_function_is_not_exchanged(tmp_path):
    workbook(tmp_path)
    text = FILE.replace('[workbook]\nfile = "guys.xlsx"', '[python]\nfunction = "a:b"')
    (tmp_path / "guys.toml").write_text(text)
    done = command("check", "guys.toml", "--exchange", "swap", cwd=tmp_path)
    assert done.status == 2 and "not checked by exchange" in done.err
    assert not (tmp_path / "swap").exists()
