"""A sheet for one beam on two supports at its ends: what it takes for granted is no hindrance.

Reactions of a simple span from the moments about the left support: common practice, no source.
"""

import pytest
from flint import fmpq

from refsolver.calculators.file import read_calculator_file
from refsolver.calculators.mapping import NotApplicable, hand_over
from refsolver.catalogue.catalogue import Catalogue
from refsolver.catalogue.reading import read_case
from refsolver.catalogue.schema import CaseFileError
from refsolver.runs.check import run_check
from refsolver.runs.questions import questions_for

FIXED = """
"supports[1].kind" = ["pin", "roller"]
"supports[2].kind" = ["roller", "pin"]
"supports[1].at" = "0"
"supports[2].at" = "length"
"line_loads[1].start" = "0 m"
"line_loads[1].end" = "length"
"""
CALCULATOR = """
[calculator]
name = "Skid beam (made up)"
version = "1"
owner = "an office that does not exist"

[python]
function = "skid:reactions"

[[family]]
name = "beams/reactions"
[family.fixed]
{fixed}
[[family.scope]]
count = "supports"
at_least = 2
at_most = 2
reason = "a simple span"
[[family.scope]]
count = "forces"
at_most = 4
reason = "four rows"
[[family.scope]]
count = "line_loads"
at_most = 1
reason = "one cell"

[[family.input]]
given = "length"
unit = "m"
decimals = {decimals}
place = "span"
says = "L"
[[family.input]]
given = "forces[*].force"
take = "component"
along = "-y"
unit = "kN"
place = "p[*].size"
says = "P"
[[family.input]]
given = "forces[*].at"
unit = "m"
place = "p[*].at"
says = "x"
[[family.input]]
given = "line_loads[*].intensities[*]"
unit = "kN/m"
place = "w"
says = "w"
[[family.output]]
answer = "reactions"
key = "*"
take = "component"
along = "+y"
unit = "kN"
place = "reactions[*]"
says = "RA, RB"
criterion = {{ relative = "1e-9", absolute = "1e-9 kN", reason = "nothing is rounded" }}
"""
PROGRAM = """
def reactions(case):
    span, loads = case["span"], [(p["size"], p["at"]) for p in case.get("p") or []]
    spread = (case.get("w") or 0) * span
    total = sum(p for p, _ in loads) + spread
    right = sum(p * at for p, at in loads[:{rows}]) / span + spread / 2
    return {{"reactions": [total - right, right]}}
"""


def calculator(folder, *, fixed=FIXED, decimals=9, rows=4):
    (folder / "skid.py").write_text(PROGRAM.format(rows=rows))
    file = folder / "skid.toml"
    file.write_text(CALCULATOR.format(fixed=fixed, decimals=decimals))
    return read_calculator_file(file)


def made(file):
    asked = questions_for(file, Catalogue(), True, frozenset())
    return {question.case.id.rpartition("/")[2]: question.case for question in asked}


def test_every_row_is_filled_for_a_sheet_that_cannot_be_told_everything(tmp_path):
    cases = made(calculator(tmp_path))
    assert {"filled-1", "filled-2", "permuted"} <= set(cases)
    given = cases["filled-1"].given
    assert len(given.forces) == 4
    assert all(force.force.along[0] == 0 for force in given.forces)
    assert (given.supports[0].at, given.supports[1].at) == (0, given.length)
    (load,) = given.line_loads
    assert (load.start, load.end, len(load.intensities)) == (0, given.length, 1)


@pytest.mark.parametrize(("rows", "result"), [(4, "met"), (3, "not met")])
def test_a_moment_one_row_short_does_not_pass(tmp_path, rows, result):
    run = run_check(calculator(tmp_path, rows=rows), Catalogue())
    assert run.overall.result == result, run.overall.because


CASE = """
title = "x"
family = "beams/reactions"
statement = "A made-up case."
source = {{ kind = "constructed", by = "a test" }}
[given]
length = "20 ft"
supports = [{{ kind = "{kind}", at = "0 m" }}, {{ kind = "roller", at = "{at}" }}]
forces = [{{ force = {{ magnitude = "3 kN", along = "-y" }}, at = "1 m" }}]
"""


def a_case(folder, kind="pin", at="240 in"):
    (folder / "case.toml").write_text(CASE.format(kind=kind, at=at))
    return read_case(folder / "case.toml", "beams/reactions/x", {})


def test_what_equals_another_given_is_handed_over_with_it(tmp_path):
    """A span of 6.096 m typed as 6.1 has its far support at 6.1."""
    section = calculator(tmp_path, decimals=1).sections[0]
    handed = hand_over(a_case(tmp_path), section, takes_doubles=False)
    ratio = handed.given.supports[1].at / handed.given.length
    assert ratio == 1 and handed.given.length != a_case(tmp_path).given.length
    assert handed.given.supports[0].at == fmpq(0)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"kind": "fixed"}, r"takes supports\[1\].kind = pin or roller for granted, not fixed"),
        ({"at": "19 ft"}, r"takes supports\[2\].at = length for granted, not 19 ft"),
    ],
)
def test_a_beam_held_otherwise_is_not_applicable(tmp_path, change, said):
    section = calculator(tmp_path).sections[0]
    with pytest.raises(NotApplicable, match=said):
        hand_over(a_case(tmp_path, **change), section, takes_doubles=True)


@pytest.mark.parametrize(
    ("fixed", "said"),
    [
        ('"suports[1].at" = "0"', r"is no given .*did you mean supports\[\*\].at"),
        ('"supports[0].at" = "0"', "rows count from 1"),
        ('"supports[1].kind" = "rolller"', "did you mean 'roller'"),
        ('"supports[1].kind" = []', "says nothing"),
        ('"supports[2].at" = "span"', "no other given"),
        ('"supports[2].at" = "3 kN"', "no length with its unit"),
        ('"supports[2].at" = "3"', "no length with its unit"),
        ('"supports[2].at" = "couples[1].moment"', "is no length"),
        ('"forces[*].at" = "1 m"', "has an input as well"),
        ('"supports[1].direction" = "+y"', "a direction cannot be taken for granted"),
    ],
)
def test_a_slip_in_what_is_taken_for_granted_is_refused(tmp_path, fixed, said):
    with pytest.raises(CaseFileError, match=said):
        calculator(tmp_path, fixed=fixed)
