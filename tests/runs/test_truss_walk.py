"""A truss program asked through names: joints by name, members by "*" and by their own names.

The program is made up here; the cases are those of the catalogue.
"""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from refsolver.calculators.file import read_calculator_file
from refsolver.catalogue.catalogue import Catalogue
from refsolver.catalogue.place import shipped_folder
from refsolver.runs.check import run_check

FAMILY = "trusses/plane-truss"
ASKED = (
    "one-bar-hanging", "one-bar-standing", "bracket-3-4-5", "push-on-a-square",
    "roller-at-45-degrees", "square-without-diagonal", "laid-off-and-intersected",
    "off-the-origin-roller-first", "hung-from-above",
)  # fmt: skip

PROGRAM = """
import numpy as np

def bars(sheet):
    row = {joint["name"]: 2 * n for n, joint in enumerate(sheet["joints"])}
    at = {joint["name"]: np.array([joint["x"], joint["y"]]) for joint in sheet["joints"]}
    columns, right = [], np.zeros(2 * len(row))
    for bar in sheet["bars"]:
        run = at[bar["to"]] - at[bar["from"]]
        column = np.zeros(len(right))
        column[row[bar["from"]] : row[bar["from"]] + 2] = run / np.hypot(*run)
        column[row[bar["to"]] : row[bar["to"]] + 2] = -run / np.hypot(*run)
        columns.append(column)
    for held in sheet["held"]:
        turns = [np.radians(held["angle"])] if "angle" in held else [0, np.pi / 2]
        for turn in turns:
            column = np.zeros(len(right))
            column[row[held["joint"]] : row[held["joint"]] + 2] = np.cos(turn), np.sin(turn)
            columns.append(column)
    for load in sheet.get("loads", []):
        right[row[load["joint"]] : row[load["joint"]] + 2] -= load["right"], load["up"]
    short = all(len(name) == 1 for name in row)
    names = [
        bar.get("name") or bar["from"] + ("" if short else "-") + bar["to"]
        for bar in sheet["bars"]
    ]
    matrix = np.array(columns).T
    if matrix.shape[0] != matrix.shape[1]:
        return {"force": dict.fromkeys(names), "diagonal": None}
    found = np.linalg.solve(matrix, right)
    force = {name: float(x) for name, x in zip(names, found)}
    SLIP
    sense = {n: "T" if x > 1e-9 else "C" if x < -1e-9 else "0" for n, x in force.items()}
    return {"force": force, "sense": sense}
"""

FILE = """
[calculator]
name = "Bar forces (made up)"
version = "1"
owner = "an office that does not exist"
[python]
function = "bars:bars"
[refusals]
blank = true
[acceptance]
least_cases = 2
[[family]]
name = "trusses/plane-truss"
[[family.input]]
given = "joints[*].name"
place = "joints[*].name"
says = "joint"
[[family.input]]
given = "joints[*].at"
along = "+x"
unit = "m"
place = "joints[*].x"
says = "x"
[[family.input]]
given = "joints[*].at"
along = "+y"
unit = "m"
place = "joints[*].y"
says = "y"
[[family.input]]
given = "members[*].start"
place = "bars[*].from"
says = "from"
[[family.input]]
given = "members[*].end"
place = "bars[*].to"
says = "to"
[[family.input]]
given = "members[*].name"
place = "bars[*].name"
says = "mark"
[[family.input]]
given = "supports[*].joint"
place = "held[*].joint"
says = "held joint"
[[family.input]]
given = "supports[*].kind"
place = "held[*].kind"
says = "support"
[[family.input]]
given = "supports[*].direction"
take = "angle"
unit = "deg"
place = "held[*].angle"
says = "its angle"
[[family.input]]
given = "loads[*].joint"
place = "loads[*].joint"
says = "loaded joint"
[[family.input]]
given = "loads[*].force"
take = "component"
along = "+x"
unit = "kN"
place = "loads[*].right"
says = "right"
[[family.input]]
given = "loads[*].force"
take = "component"
along = "+y"
unit = "kN"
place = "loads[*].up"
says = "up"
[[family.output]]
answer = "forces"
key = "*"
unit = "kN"
place = "force.{key}"
says = "force in each bar, tension positive"
criterion = { relative = "1e-9", absolute = "1e-9 kN", reason = "double precision" }
"""

SENSES = """
[[family.output]]
answer = "senses"
key = "KEY"
place = "sense.KEY"
says = "T or C"
words = { "T" = "tension", "C" = "compression", "0" = "zero" }
"""


@pytest.fixture(scope="module")
def trusses(tmp_path_factory):
    folder = tmp_path_factory.mktemp("trusses")
    (folder / "sources.toml").write_text("")
    (folder / FAMILY).mkdir(parents=True)
    for name in ASKED:
        shutil.copy(shipped_folder() / FAMILY / f"{name}.toml", folder / FAMILY)
    return Catalogue(folder)


def checked(folder: Path, trusses: Catalogue, slip="pass", more=""):
    (folder / "bars.py").write_text(PROGRAM.replace("SLIP", slip))
    (folder / "bars.toml").write_text(FILE + more)
    run = run_check(read_calculator_file(folder / "bars.toml"), trusses)
    return run, {r.case.id.rpartition("/")[2]: r for r in run.runs}


def verdicts(run):
    return [f.verdict for f in run.findings]


def test_a_right_program_passes_whatever_its_bars_are_called(tmp_path, trusses):
    run, cases = checked(tmp_path, trusses)
    assert verdicts(cases["bracket-3-4-5"]) == ["pass"] * 2
    assert verdicts(cases["push-on-a-square"]) == ["pass"] * 5
    assert verdicts(cases["roller-at-45-degrees"]) == ["pass"] * 3
    assert set(verdicts(cases["square-without-diagonal"])) == {"pass"}
    assert not cases["laid-off-and-intersected"].asked
    assert {v for r in run.runs for v in verdicts(r)} == {"pass"}, run.overall.because


def test_a_slip_in_one_sense_is_seen_and_named(tmp_path, trusses):
    _, cases = checked(tmp_path, trusses, "force = {n: abs(x) for n, x in force.items()}")
    assert "fail" in verdicts(cases["bracket-3-4-5"])
    assert verdicts(cases["one-bar-hanging"]) == ["pass"]


def test_one_member_by_its_own_name_and_words_for_its_sense(tmp_path, trusses):
    """A case without that member is not applicable, and says so."""
    _, cases = checked(tmp_path, trusses, more=SENSES.replace("KEY", "diagonal"))
    asked = cases["push-on-a-square"]
    assert verdicts(asked) == ["pass"] * 6
    assert "no member 'diagonal'" in cases["bracket-3-4-5"].condition
