"""The demonstration: every planted mistake is found, and for the reason it was planted.

The mistakes are written down here a second time, from the README of the demonstration, so
that a finding is known to be that mistake and no accident.
"""

from __future__ import annotations

import hashlib
import json
import math
import re
import shlex
from pathlib import Path

import openpyxl
import pytest

import refsolver.demo
import refsolver.runs.checking as checking
from refsolver.demo.make_workbook import form
from refsolver.records.canonical import read_record
from refsolver.runs.checking import demo_files
from tests.command import command

DEMO = Path(refsolver.demo.__file__).parent
README = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")
SUGGESTION = re.compile(r"Explained by a known mistake, ([^:]+): .* \((\d+) of (\d+) failing")


@pytest.fixture(scope="module")
def checked(walk):
    before = {p: hashlib.sha256(p.read_bytes()).hexdigest() for p in DEMO.iterdir() if p.is_file()}
    found = {path.stem: walk(path) for path in demo_files()}
    after = {p: hashlib.sha256(p.read_bytes()).hexdigest() for p in DEMO.iterdir() if p.is_file()}
    assert before == after
    return found


def as_float(x):
    return int(x.p) / int(x.q)


def pulls(run, size, turn):
    """What was handed over, row by row: pull and angle in the calculator's own convention."""
    rows = {}
    for leaf in run.handed.leaves:
        rows.setdefault(leaf.given, {})[leaf.take] = float(leaf.handed_value)
    return [(row["magnitude"], row["angle"]) for row in rows.values()]


def by_output(run, word):
    return [f for f in run.findings if word in f.output]


def test_all_three_are_not_met(checked):
    assert set(checked) == {"hanger-workbook", "hanger-program", "hanger-module"}
    assert {walk.result for walk in checked.values()} == {"not met"}


def test_the_workbook_is_half_a_turn_off_wherever_the_resultant_points_down(checked):
    down = 0
    for run in checked["hanger-workbook"].run.runs:
        assert all(f.verdict == "pass" for f in by_output(run, "magnitude")), run.case.id
        parts = pulls(run, "size", "turn")
        up = sum(f * math.cos(math.radians(a)) for f, a in parts)
        for finding in by_output(run, "angle"):
            if finding.verdict == "fail":
                assert up < 0
                assert as_float(finding.deviation.size()) == pytest.approx(180, abs=0.06)
                down += 1
            else:
                assert up > -1e-9, run.case.id
    assert down >= 4


def planted(pull, angle):
    """Down to the left the angle is taken from the vertical, resolved as if from the right."""
    if 180 < angle <= 270:
        rest = math.radians(270 - angle)
        return -pull * math.cos(rest), -pull * math.sin(rest)
    turn = math.radians(angle)
    return pull * math.cos(turn), pull * math.sin(turn)


def test_the_program_goes_wrong_for_stays_down_to_the_left_alone(checked):
    seen = {True: 0, False: 0}
    for run in checked["hanger-program"].run.runs:
        parts = pulls(run, "size", "turn")
        affected = any(180 < a <= 270 for _, a in parts)
        x, y = (sum(part) for part in zip(*(planted(*p) for p in parts), strict=True))
        across, up, size = (by_output(run, w)[0] for w in ("along +x", "along +y", "magnitude"))
        for finding, value in ((across, x), (up, y), (size, math.hypot(x, y))):
            assert as_float(finding.number) == pytest.approx(value, abs=0.0051), run.case.id
        assert any(f.verdict == "fail" for f in run.findings) == affected, run.case.id
        seen[affected] += 1
    assert min(seen.values()) >= 2


def test_the_module_rounds_before_it_sums(checked):
    failing = 0
    for run in checked["hanger-module"].run.runs:
        parts = pulls(run, "size", "turn")
        x = sum(round(f * math.sin(math.radians(a))) for f, a in parts)
        y = sum(round(f * math.cos(math.radians(a))) for f, a in parts)
        across, up, size = (by_output(run, w)[0] for w in ("along +x", "along +y", "magnitude"))
        assert (across.number, up.number) == (x, y)
        assert as_float(size.number) == pytest.approx(math.hypot(x, y))
        whole = abs(as_float(across.reference.middle) - x) < 1e-6
        whole = whole and abs(as_float(up.reference.middle) - y) < 1e-6
        assert (across.verdict == "pass") == whole, run.case.id
        failing += not whole
    assert failing >= 3


def test_the_workbook_is_what_its_script_builds():
    built = form().active
    committed = openpyxl.load_workbook(DEMO / "hanger-workbook.xlsx").active
    stored = openpyxl.load_workbook(DEMO / "hanger-workbook.xlsx", data_only=True).active
    assert committed.title == built.title
    cells = {c.coordinate: c.value for row in built.iter_rows() for c in row if c.value is not None}
    found = {
        c.coordinate: c.value for row in committed.iter_rows() for c in row if c.value is not None
    }
    assert cells == found
    formulas = [place for place, value in cells.items() if str(value).startswith("=")]
    assert len(formulas) == 21 and all(stored[place].value is not None for place in formulas)


def test_everything_says_that_it_is_invented():
    for path in demo_files():
        assert "(invented)" in path.read_text() and "invented" in path.read_text()[:200]
    assert "Everything here is invented" in (DEMO / "README.md").read_text()


# --- over the whole catalogue, by the command of the README


@pytest.fixture(scope="module")
def written(tmp_path_factory):
    """What the command prints, and the folder that it writes."""
    folder = tmp_path_factory.mktemp("user")
    (line,) = re.findall(r"refsolver check --demo --out \S+$", README, re.M)
    words = shlex.split(line)
    done = command(*words[1:], cwd=folder)
    assert done.status == 0, done.err
    return done.out, folder / words[-1]


@pytest.mark.slow
def test_the_command_checks_all_of_them(written):
    out, folder = written
    assert out.count(": NOT MET") == 3
    folders = [p.stem for p in demo_files()]
    assert sorted(p.name for p in folder.iterdir()) == [*folders, "side-by-side.md"]
    for name in folders:
        assert {"report.html", "record.json"} <= {p.name for p in (folder / name).iterdir()}


@pytest.mark.slow
def test_the_planted_mistakes_are_named_first(written):
    first = {}
    for path in sorted(written[1].glob("*/record.json")):
        content = read_record(path)["content"]
        said = content["diagnosis"]["suggestions"][0]
        name, explained, failing = SUGGESTION.match(said).groups()
        first[path.parent.name] = name
        assert int(failing) >= 0.95 * content["counts"]["readings"]["fail"]
        assert int(failing) - int(explained) <= 0.02 * int(failing)
    assert first == {
        "hanger-workbook": "one-argument arctangent",
        "hanger-program": "angle from the wrong axis, down to the left",
        "hanger-module": "early rounding to whole lbf",
    }


def test_the_command_lists_them_as_data(tmp_path, monkeypatch, catalogue):
    monkeypatch.setattr(checking, "Catalogue", lambda: catalogue)
    found = json.loads(command("check", "--demo", "--out", tmp_path, "--format", "json").out)
    assert [entry["result"] for entry in found] == ["not met"] * 3
    for entry in found:
        assert all(Path(file).exists() for file in entry["files"])
