"""A calculator that answers an inverse question, from its file to a verified record.

The capstan equation turned round, mu = ln(T1 / T2) / beta (D. W. Baker and W. Haynes,
"Engineering Statics: Open and Interactive", chapter 9), is written here by hand.
"""

from __future__ import annotations

import pytest

from refsolver.calculators.file import read_calculator_file
from refsolver.catalogue.catalogue import Catalogue
from refsolver.catalogue.schema import CaseFileError
from refsolver.runs.check import run_check
from refsolver.runs.checking import check_and_report
from refsolver.runs.verifying import verify

GRIP = """
import math

def grip(case):
    return {"mu": math.log(case["held"] / case["hand"]) / math.radians(case["lap"]) * SLIP}
"""

FILE = """
[calculator]
name = "Grip of a rope (made up)"
version = "1"
owner = "nobody"

[python]
function = "grip:grip"

[acceptance]
least_cases = 1

[[family]]
name = "friction/belt"
find = "friction"
from = { answer = "slack" }

[family.fixed]
known = "tight"

[[family.input]]
given = "lap"
unit = "deg"
place = "lap"
says = "lap"

[[family.input]]
given = "tension"
unit = "N"
place = "held"
says = "held"

[[family.input]]
given = "known_answer"
unit = "N"
place = "hand"
says = "by hand"

[[family.output]]
answer = "found"
place = "mu"
says = "mu"
criterion = { relative = "1e-12", reason = "double precision" }
"""


def described(folder, slip="1", replace=("", "")):
    (folder / "grip.py").write_text(GRIP.replace("SLIP", slip))
    (folder / "grip.toml").write_text(FILE.replace(*replace))
    return folder / "grip.toml"


def findings(path):
    run = run_check(read_calculator_file(path), Catalogue())
    return [f for r in run.runs for f in r.findings]


def test_only_the_cases_that_ask_it_are_put_and_the_record_is_reproduced(tmp_path):
    path = described(tmp_path)
    result = check_and_report(path, tmp_path / "out")
    cases = run_check(read_calculator_file(path), Catalogue()).runs
    assert {case.case.family for case in cases} == {"friction/belt finding friction from slack"}
    assert {f.verdict for f in findings(path)} == {"pass"}
    verification = verify(result.folder / "record.json")
    assert verification.holds and verification.reproduced


def test_a_wrong_one_fails(tmp_path):
    assert "fail" in {f.verdict for f in findings(described(tmp_path, "1.01"))}


@pytest.mark.parametrize(
    ("replace", "said"),
    [
        (('find = "friction"', 'find = "mu"'), "has no given 'mu'"),
        (('from = { answer = "slack" }', ""), "answer = ''"),
        (('find = "friction"', 'find = "known"'), "known is not a number"),
    ],
)
def test_a_question_that_cannot_be_asked_is_refused(tmp_path, replace, said):
    with pytest.raises(CaseFileError, match=said) as caught:
        read_calculator_file(described(tmp_path, replace=replace))
    assert "family[1].find" in str(caught.value)
