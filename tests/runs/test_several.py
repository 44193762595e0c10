"""Several calculators side by side: two invented modules, one right and one 0.4 % high."""

from __future__ import annotations

import re

import pytest

from refsolver.calculators.file import CalculatorFileError
from refsolver.catalogue.schema import CaseFileError
from refsolver.reporting.side_by_side import side_by_side
from refsolver.runs.several import check_each, write_side_by_side
from tests.command import command
from tests.plane_pulls import inputs, output

MODULE = """
import math
def total(plate):
    x = sum(p["size"] * math.cos(math.radians(p["turn"])) for p in plate["pulls"])
    y = sum(p["size"] * math.sin(math.radians(p["turn"])) for p in plate["pulls"])
    return {{"r": math.hypot(x, y) * {factor}}}
"""
AGREED = '{ relative = "0.1 %", absolute = "0.01 lbf", reason = "as agreed" }'
TOML = """
[calculator]
name = "{name} (made up)"
version = "1"
owner = "a yard that does not exist"
[python]
function = "{name}:total"
[[family]]
name = "concurrent-forces/plane-resultant"
[[family.scope]]
count = "forces"
at_most = {rows}
reason = "so many hinges"
"""


def written(folder, name, factor, rows=6):
    folder.mkdir(exist_ok=True)
    (folder / f"{name}.py").write_text(MODULE.format(factor=factor))
    path = folder / f"{name}.toml"
    path.write_text(TOML.format(name=name, rows=rows) + inputs("lbf") + output(AGREED, "lbf"))
    return path


@pytest.fixture(scope="module")
def results(tmp_path_factory, catalogue):
    folder = tmp_path_factory.mktemp("yard")
    paths = [written(folder, "exact_gate", "1", 6), written(folder, "high_gate", "1.004", 2)]
    return list(check_each(paths, folder / "out", catalogue=catalogue))


def row(text, *heads):
    """The cells of the one row that begins so."""
    rows = [[c.strip() for c in line.strip("|").split("|")] for line in text.splitlines()]
    (found,) = [cells for cells in rows if cells[: len(heads)] == list(heads)]
    return found[len(heads) :]


def test_each_has_a_folder_and_one_file_stands_beside_them(results):
    out = results[0].folder.parent
    path = write_side_by_side(results, out)
    assert path == out / "side-by-side.md"
    assert {p.name for p in out.iterdir()} == {"exact_gate", "high_gate", "side-by-side.md"}
    assert all((out / name / "record.json").exists() for name in ("exact_gate", "high_gate"))


def test_verdicts_and_agreeing_digits_stand_in_one_row(results):
    text = side_by_side({r.folder.name: r.record for r in results})
    case = "concurrent-forces/plane-resultant/anchor-right-triangle"
    exact, high = row(text, case, "resultant magnitude")
    # 50 lbf (3-4-5 triangle), 0.4 % high: -log10(0.004) = 2.4 by hand
    assert high == "fail, 2.4"
    assert exact == "pass, exact" or float(exact.removeprefix("pass, ")) > 15
    assert row(text, "overall")[1] == "not met"
    assert row(text, "version") == ["1", "1"]


def test_a_case_one_was_not_asked_and_times(results):
    text = side_by_side({r.folder.name: r.record for r in results})
    readings, times = text.split("## Readings")[1].split("## Seconds a case")
    case = "concurrent-forces/plane-resultant/balanced"
    assert row(readings, case, "resultant magnitude")[1] == "-"
    measured, missing = row(times, case)
    assert float(measured) > 0 and missing == "-"


def test_cases_made_for_one_calculator_are_not_compared(results):
    text = side_by_side({r.folder.name: r.record for r in results})
    made = "concurrent-forces/plane-resultant/made/filled-1"
    assert not re.search(rf"^\| *{made}", text, re.M)
    assert made in text.split("Left out")[1]


def test_counts_of_verdicts_are_those_of_the_records(results):
    text = side_by_side({r.folder.name: r.record for r in results})
    for verdict in ("pass", "fail"):
        counts = [r.record["content"]["counts"]["readings"][verdict] for r in results]
        assert row(text, f"readings: {verdict}") == [str(n) for n in counts]


def test_one_name_twice_is_refused_before_anything_runs(tmp_path):
    paths = [written(tmp_path / sub, "gate", "1") for sub in ("a", "b")]
    with pytest.raises(CalculatorFileError, match="two calculator files are named gate"):
        next(check_each(paths, tmp_path / "out"))
    assert not (tmp_path / "out").exists()


def test_a_slip_in_the_last_file_costs_no_run(tmp_path):
    paths = [written(tmp_path, "gate", "1"), tmp_path / "last.toml"]
    paths[1].write_text("[calculator]\n")
    with pytest.raises(CaseFileError, match="last.toml"):
        next(check_each(paths, tmp_path / "out"))
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize("option", [["--trial", "x"], ["--exchange", "swap"]])
def test_trial_and_exchange_take_one_calculator(tmp_path, option):
    paths = [written(tmp_path, name, "1") for name in ("one_gate", "other_gate")]
    command("check", *paths, *option).refuses("one calculator file at a time")
