"""From an unknown Python function to a judged record. The function is made up here."""

from __future__ import annotations

import os
import py_compile

import pytest

from refsolver.calculators.by_python import PythonCalculator
from refsolver.calculators.file import read_calculator_file
from tests.command import command
from tests.plane_pulls import inputs

MODULE = """
import math, os, time

def total(tent):
    pulls = tent["pulls"]
    x = sum(p["size"] * math.sin(math.radians(p["turn"])) for p in pulls)
    y = sum(p["size"] * math.cos(math.radians(p["turn"])) for p in pulls)
    r = math.hypot(x, y)
    turn = math.degrees(math.atan2(x, y)) % 360 if r > 1e-6 else None
    WHAT
    return {"r": r, "parts": {"right": x, "up": y}, "turn": turn}
"""

TOML = (
    """
[calculator]
name = "Tent pole pulls (made up)"
version = "1"
owner = "an outfitter that does not exist"

[python]
function = "tent:total"
limit = 1

[refusals]
blank = true

[[family]]
name = "concurrent-forces/plane-resultant"
"""
    + inputs("kgf", from_up=True)
    + """
[[family.output]]
answer = "resultant"
take = "magnitude"
unit = "kgf"
place = "r"
says = "r"
criterion = { relative = "1e-10", absolute = "1e-10 kgf", reason = "double precision" }

[[family.output]]
answer = "resultant"
take = "component"
along = "+x"
unit = "kgf"
place = "parts.right"
says = "right"
criterion = { fraction = "1e-10", of = "sum of forces", as_vector = true, reason = "doubles" }

[[family.output]]
answer = "resultant"
take = "component"
along = "+y"
unit = "kgf"
place = "parts.up"
says = "up"
criterion = { fraction = "1e-10", of = "sum of forces", as_vector = true, reason = "doubles" }

[[family.output]]
answer = "resultant"
take = "angle"
from = "+y"
toward = "+x"
range = "0..360"
unit = "deg"
place = "turn"
says = "turn"
criterion = { absolute = "1e-9 deg", reason = "doubles" }
"""
)


def describe(folder, what="", replace=()):
    text = TOML
    for old, new in replace:
        assert old in text
        text = text.replace(old, new)
    (folder / "tent.py").write_text(MODULE.replace("WHAT", what or "pass"))
    (folder / "tent.toml").write_text(text)
    return folder / "tent.toml"


@pytest.fixture
def checked(tmp_path, walk):
    return lambda what="", **options: walk(describe(tmp_path, what, **options))


def test_the_right_function_is_met(checked):
    found = checked()
    assert found.result == "met", found.run.overall.because
    (file,) = found.content["calculator"]["identity"]["files"]
    assert file["name"] == "tent.py" and len(file["sha256"]) == 64
    assert found.findings("slopes", "component along +x")[0].why == "judged as a vector"


@pytest.mark.parametrize(
    ("what", "said"),
    [
        ("if len(pulls) == 3: time.sleep(60)", "timeout"),
        ("if len(pulls) == 3: os._exit(3)", "crash"),
        ("if len(pulls) == 3: raise KeyError('third')", "KeyError"),
        ("if len(pulls) == 3: r = float('nan')", "nan"),
        ("if len(pulls) == 3: r = [r]", "list instead of a number"),
        ("if len(pulls) == 3: r = 'plenty'", "cannot be read as a number"),
    ],
)
def test_trouble_in_one_case_is_an_error_of_that_case_alone(checked, what, said):
    found = checked(what)
    (finding,) = found.findings("balanced", "magnitude")
    assert finding.verdict == "error" and said in finding.why, finding
    assert {f.verdict for f in found.case("slopes").findings} == {"pass"}
    assert found.result == "not met"


ARRAYS = """
import os
import numpy as np

def total(tent):
    size, turn = tent["pulls"]["size"], np.radians(tent["pulls"]["turn"])
    x, y = (size * np.sin(turn)).sum(axis=1), (size * np.cos(turn)).sum(axis=1)
    r = np.hypot(x, y)
    turn = np.degrees(np.arctan2(x, y)) % 360
    turn = [t if there else None for t, there in zip(turn.tolist(), r > 1e-6)]
    WHAT
    return {"r": r, "parts": {"right": x, "up": y}, "turn": turn}
"""


@pytest.fixture
def checked_with_arrays(tmp_path, walk):
    def checked(what=""):
        path = describe(tmp_path, replace=[('"tent:total"', '"tent:total"\narrays = true')])
        (tmp_path / "tent.py").write_text(ARRAYS.replace("WHAT", what or "pass"))
        return walk(path)

    return checked


def test_a_function_of_arrays_is_met(checked_with_arrays):
    found = checked_with_arrays()
    assert found.result == "met", found.run.overall.because


@pytest.mark.parametrize(
    ("what", "said"),
    [
        ("if size.shape[1] == 3 and (r < 1e-6).any(): raise KeyError('third')", "KeyError"),
        ("if size.shape[1] == 3 and (r < 1e-6).any(): os._exit(3)", "crash"),
        ("if size.shape[1] == 3: r = np.where(r < 1e-6, np.nan, r)", "nan"),
    ],
)
def test_trouble_with_arrays_is_an_error_of_its_case_alone(checked_with_arrays, what, said):
    found = checked_with_arrays(what)
    (finding,) = found.findings("balanced", "magnitude")
    assert finding.verdict == "error" and said in finding.why, finding
    assert {f.verdict for f in found.case("slopes").findings} == {"pass"}


@pytest.mark.parametrize(
    ("what", "said"),
    [
        ("r = np.stack([r, r], axis=1)", "an array with 1 axes beside the cases"),
        ("r = {'a': r}", "a table instead of a number"),
        ("r = r[:1].sum()", "must be an array with one value for each of 1 cases"),
    ],
)
def test_arrays_of_another_form_are_said(checked_with_arrays, what, said):
    finding = checked_with_arrays(what).findings("slopes", "magnitude")[0]
    assert finding.verdict == "error" and said in finding.why, finding


def test_a_slip_in_one_component_fails_the_vector(checked):
    found = checked("y = y * (1 + 1e-8)")
    assert found.verdict("slopes", "along +x") == found.verdict("slopes", "along +y") == "fail"
    assert found.verdict("slopes", "magnitude") == "pass"  # r was taken before the slip


@pytest.mark.parametrize(
    ("what", "replace", "said"),
    [
        ("", [("tent:total", "tent:sum")], "cannot be used"),
        ("", [("tent:total", "tents:total")], "cannot be used"),
        ("return (", [], "SyntaxError"),
        ("", [('along = "+x"', 'along = "x"')], "along"),
        ("", [("limit = 1", 'arrays = "yes"')], "python.arrays: true or false"),
        ("", [("1e-9 deg", "1e-9 kgf")], "criterion"),
        ("", [('of = "sum of forces"', 'of = "the weather"')], "largest force"),
    ],
)
def test_a_wrong_description_is_a_sentence(tmp_path, what, replace, said):
    path = describe(tmp_path, what, replace)
    command("check", path, "--out", "out", cwd=tmp_path).refuses(said)
    assert not (tmp_path / "out").exists()


def test_what_the_module_loads_from_its_folder_is_part_of_its_identity(tmp_path, walk):
    file = describe(tmp_path)
    module = tmp_path / "tent.py"
    (tmp_path / "parts").mkdir()
    (tmp_path / "parts" / "__init__.py").write_text("")
    (tmp_path / "parts" / "poles.py").write_text("ONE = 1\n")
    module.write_text("from parts.poles import ONE\n" + module.read_text())
    files = walk(file).content["calculator"]["identity"]["files"]
    assert [each["name"] for each in files] == ["tent.py", "parts/__init__.py", "parts/poles.py"]
    (tmp_path / "parts" / "poles.py").write_text("ONE = 1.0\n")
    again = walk(file).content["calculator"]["identity"]["files"]
    assert again[:2] == files[:2] and again[2] != files[2]


def test_files_of_one_name_are_both_part_of_its_identity(tmp_path):
    inside = tmp_path / "inside"
    inside.mkdir()
    file = describe(inside)
    for number in "12":
        (tmp_path / number).mkdir()
        (tmp_path / number / "table.csv").write_text(number)
    text = file.read_text()
    stated = '[python]\nfiles = ["../1/table.csv", "../2/table.csv"]\n'
    file.write_text(text.replace("[python]\n", stated))
    calculator = PythonCalculator(read_calculator_file(file))
    files = calculator.identity()["files"]
    calculator.close()
    assert [each["name"] for each in files] == ["table.csv", "table.csv", "tent.py"]
    assert len({each["sha256"] for each in files}) == 3


def test_a_compilation_left_from_another_source_is_not_what_is_asked(tmp_path, walk):
    """Of the same size and second, so that the interpreter itself would take it for current."""
    file = describe(tmp_path)
    module = tmp_path / "tent.py"
    right = module.read_text()
    at = module.stat().st_mtime
    wrong = right.replace("math.hypot(x, y)", "math.fabs(x - y)", 1)
    assert len(wrong) == len(right) and wrong != right
    module.write_text(wrong)
    os.utime(module, (at, at))
    py_compile.compile(str(module))
    module.write_text(right)
    os.utime(module, (at, at))
    assert walk(file).result == "met"
