"""A sling calculator on a phone: one-sided criterion, stated assumption, a rightful refusal."""

import math

import openpyxl
import pytest

from refsolver.records.canonical import read_record
from refsolver.runs.verifying import verify
from tests.command import command

FILE = """
[calculator]
name = "Sling angle app (made up)"
version = "2"
owner = "yard"
[sheet]
file = "filled.xlsx"
[acceptance]
least_cases = 2
[[family]]
name = "rigging/equal-legs"
fixed = { "measured_from" = "horizontal" }
[[family.input]]
given = "load"
unit = "lbf"
decimals = 0
place = "load"
says = "Load"
[[family.input]]
given = "legs"
place = "legs"
says = "Number of legs"
[[family.input]]
given = "sharing"
place = "legs carrying"
says = "Legs carrying"
words = { "every leg" = "all", "three legs" = "3", "two legs" = "2" }
[[family.input]]
given = "angle"
unit = "deg"
decimals = 1
place = "angle"
says = "Sling angle from horizontal"
[[family.output]]
answer = "tension"
unit = "lbf"
place = "tension"
says = "Tension per leg"
[family.output.criterion]
below = { relative = "0 %", absolute = "0.5 lbf" }
above = { relative = "1 %" }
safe_side = "above: a tension is never reported low"
reason = "the app shows whole pounds"
"""


def filled(folder, tension):
    """The blank sheet filled in with what the app shows; a level leg it declines."""
    book = openpyxl.load_workbook(folder / "blank.xlsx")
    rows = {}
    for row in book["To type"].iter_rows(min_row=2, values_only=True):
        rows.setdefault(row[1], {})[row[2]] = row[4]
    for row in book["To read"].iter_rows(min_row=2):
        given = rows[row[1].value]
        carrying = {"all": given["legs"], "3": "3", "2": "2"}[given["legs carrying"]]
        if float(given["angle"]) == 0:
            row[6].value = "Angle too low"
        else:
            row[5].value = tension(float(given["load"]), int(carrying), float(given["angle"]))
    book.save(folder / "filled.xlsx")


@pytest.fixture(scope="module")
def sheet(tmp_path_factory):
    folder = tmp_path_factory.mktemp("sling")
    (folder / "sling.toml").write_text(FILE)
    done = command("sheet", "sling.toml", "--cases", 6, "--out", "blank.xlsx", cwd=folder)
    assert done.status == 0, done.err
    return folder


def test_a_tension_rounded_up_is_accepted(sheet):
    filled(sheet, lambda w, n, a: f"{math.ceil(w / n / math.sin(math.radians(a)) - 1e-9)} lb")
    done = command("check", "sling.toml", "--out", "up", cwd=sheet)
    assert done.status == 0, done.out
    content = read_record(sheet / "up" / "record.json")["content"]
    assert content["overall"]["result"] == "met"
    assert verify(sheet / "up" / "record.json").holds
    assert "Rated capacities" in content["families"]["rigging/equal-legs"]["caution"]


def test_a_tension_cut_to_tens_is_low_and_not_accepted(sheet):
    """Within one per cent, but on the unsafe side."""
    filled(sheet, lambda w, n, a: f"{int(w / n / math.sin(math.radians(a)) * 0.995)} lb")
    done = command("check", "sling.toml", "--out", "low", cwd=sheet)
    assert done.status == 1
    content = read_record(sheet / "low" / "record.json")["content"]
    assert content["overall"]["result"] == "not met"
