"""Diagnosis: planted mistakes are named first, unknown errors stay unexplained.

The calculators are made here (invented): one function that adds forces, with one thing in
it done wrong. What is done wrong is written out in the function, not taken from the list
of known mistakes.
"""

from __future__ import annotations

import shutil

import pytest

from refsolver.calculators.file import read_calculator_file
from refsolver.catalogue.catalogue import Catalogue
from refsolver.runs.check import run_check
from refsolver.runs.diagnosis import diagnose, diagnosis_data

RIGHT = {
    "sin": "math.sin",
    "cos": "math.cos",
    "degrees": "math.radians(a)",
    "rows": "rows",
    "part": "v",
    "arctangent": "math.atan2(y, x)",
    "turn": "t",
    "size": "r",
    "pi": "math.pi",
}

MODULE = """
import math

def total(given):
    rows = given["rows"]
    x = y = 0.0
    for row in ROWS:
        a = row["a"]
        t = DEGREES
        v = row["p"] * COS(t)
        x += PART
        v = row["p"] * SIN(t)
        y += PART
    r = math.hypot(x, y)
    if r < 1e-6:
        return {"r": SIZE, "x": x, "y": y, "t": None}
    t = ARCTANGENT * 180 / PI
    return {"r": SIZE, "x": x, "y": y, "t": (TURN) % 360}
"""

HEAD = """
[calculator]
name = "Adder of pulls (made up)"
version = "1"
owner = "nobody"
[python]
function = "adder:total"
[refusals]
blank = true
[[family]]
name = "concurrent-forces/plane-resultant"
[[family.input]]
given = "forces[*].force"
take = "magnitude"
unit = "lbf"
place = "rows[*].p"
says = "pull"
[[family.input]]
given = "forces[*].force"
take = "angle"
from = "+x"
toward = "+y"
range = "0..360"
unit = "deg"
place = "rows[*].a"
says = "angle"
"""


def output(take, place, extra="", unit="lbf"):
    criterion = (
        '{ absolute = "0.01 deg", reason = "test" }'
        if unit == "deg"
        else '{ relative = "1e-6", absolute = "1e-6 lbf", reason = "test" }'
    )
    return (
        f'[[family.output]]\nanswer = "resultant"\ntake = "{take}"\nunit = "{unit}"\n'
        f'place = "{place}"\nsays = "{place}"\n{extra}\ncriterion = {criterion}\n'
    )


TOML = "".join(
    [
        HEAD,
        output("magnitude", "r"),
        output("component", "x", 'along = "+x"'),
        output("component", "y", 'along = "+y"'),
        output("angle", "t", 'from = "+x"\ntoward = "+y"\nrange = "0..360"', "deg"),
    ]
)


FAMILY = "concurrent-forces/plane-resultant"


@pytest.fixture(scope="module")
def some(tmp_path_factory):
    """Every fifth case of the family, which keeps these tests quick."""
    whole = Catalogue()
    folder = tmp_path_factory.mktemp("some")
    shutil.copy(whole.folder / "sources.toml", folder)
    (folder / FAMILY).mkdir(parents=True)
    paths = sorted(path for id, path in whole.paths.items() if id.startswith(FAMILY))
    for path in paths[::5]:
        shutil.copy(path, folder / FAMILY)
    return Catalogue(folder)


@pytest.fixture
def checked(tmp_path, some):
    return lambda **wrong: run_of(tmp_path, some, wrong)


def run_of(folder, catalogue, wrong):
    text = MODULE
    for name, code in (RIGHT | wrong).items():
        text = text.replace(name.upper(), code)
    (folder / "adder.py").write_text(text)
    path = folder / "adder.toml"
    path.write_text(TOML)
    return run_check(read_calculator_file(path), catalogue, digits=20)


MUTANTS = {
    "sine and cosine swapped": {"sin": "math.cos", "cos": "math.sin"},
    "degrees taken as radians": {"degrees": "a"},
    "one-argument arctangent": {"arctangent": "(math.atan(y / x) if x else math.atan2(y, x))"},
    "pi = 3.14": {"degrees": "a * 3.14 / 180", "pi": "3.14"},
    "early rounding to whole lbf": {"part": "round(v)"},
    "last force left out": {"rows": "(rows[:-1] or rows)"},
    "first row left out": {"rows": "(rows[1:] or rows)"},
    "rows after the first 4 left out": {"rows": "rows[:4]"},
    "half a turn off": {"turn": "t + 180"},
    "supplementary angle": {"turn": "180 - t"},
}


@pytest.mark.parametrize("name", MUTANTS)
def test_a_planted_mistake_is_named_first(checked, name):
    explanations, _ = diagnose(checked(**MUTANTS[name]))
    first = explanations[0]
    assert name in (first.name, *first.also)
    assert len(first.explained) >= 0.9 * first.failures


def test_a_mistake_in_one_output_alone_is_offered_for_that_output(checked):
    """The size is the sum of the magnitudes, while both components are right."""
    run = checked(size="sum(row['p'] for row in rows)")
    first = diagnose(run)[0][0]
    assert (first.name, first.only) == ("magnitudes added", ("resultant magnitude",))
    said = diagnosis_data(run)["suggestions"][0]
    assert "as plain numbers, in resultant magnitude alone (" in said


PAIRS = {
    ("last force left out", "half a turn off"): {"rows": "(rows[:-1] or rows)", "turn": "t + 180"},
    ("degrees taken as radians", "pounds given for newtons"): {
        "degrees": "a", "part": "v / 4.4482216152605",
    },
}  # fmt: skip


@pytest.mark.parametrize("names", PAIRS)
def test_two_mistakes_at_once_are_named_together(checked, names):
    first = diagnose(checked(**PAIRS[names]))[0][0]
    assert all(name in " ".join([first.name, *first.also]) for name in names)
    assert len(first.explained) >= 0.9 * first.failures


CONVENTIONS = {
    "the input rows[*].a (angle) is counted from +y toward +x": {"degrees": "math.radians(90 - a)"},
    "all angles, handed over and read back, are counted from +y toward +x": {
        "degrees": "math.radians(90 - a)", "turn": "90 - t",
    },
    "the output r (r) is in N": {"size": "r * 4.4482216152605"},
    "the output t (t) is counted from +y toward +x": {"turn": "90 - t"},
}  # fmt: skip


@pytest.mark.parametrize("says", CONVENTIONS)
def test_another_mapping_comes_before_a_mistake(checked, says):
    run = checked(**CONVENTIONS[says])
    explanations, unexplained = diagnose(run)
    assert explanations[0].is_mapping
    assert explanations[0].sentence == says or says in explanations[0].also
    assert not unexplained
    assert diagnosis_data(run)["suggestions"][0].startswith("Explained by another mapping:")


@pytest.mark.parametrize(
    "wrong",
    [
        {"size": "1.037 * r"},
        {"part": "v * 1.0021"},
        {"turn": "t + 7.3"},
        {"part": "v + 0.37"},
        {"turn": "0.9 * t + 3"},
        {"degrees": "math.radians(a + 1.7)"},
    ],
)
def test_an_error_that_is_not_listed_is_unexplained(checked, wrong):
    run = checked(**wrong)
    explanations, unexplained = diagnose(run)
    assert [e.words() for e in explanations] == []
    assert sum(unexplained.values()) > 5
    said = diagnosis_data(run)["suggestions"]
    assert len(said) == 1
    assert said[0].startswith("Unexplained:")


def test_a_right_calculator_is_not_diagnosed(checked):
    assert diagnosis_data(checked()) == {"suggestions": [], "cases": {}}
