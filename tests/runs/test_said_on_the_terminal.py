"""What a check says when it is done: the result, and why cases were left out."""

import pytest

from refsolver.runs.checking import check_and_report

CALCULATOR = """
[calculator]
name = "Holding turns (made up)"
version = "1"
owner = "an office that does not exist"
[python]
function = "turns:tight"
[[family]]
name = "friction/belt"
[family.fixed]
known = "{known}"
[[family.input]]
given = "friction"
place = "mu"
says = "mu"
[[family.input]]
given = "lap"
unit = "rad"
place = "lap"
says = "angle of contact"
[[family.input]]
given = "tension"
unit = "N"
place = "held"
says = "T2"
[[family.output]]
answer = "tight"
unit = "N"
place = "t1"
says = "T1"
criterion = {{ relative = "1e-9", reason = "nothing is rounded" }}
"""
# Tension ratio of a rope on a drum, exp(mu beta): common practice, no source.
PROGRAM = "import math\ndef tight(x):\n return {'t1': x['held'] * math.exp(x['mu'] * x['lap'])}\n"


@pytest.fixture
def said(tmp_path):
    def checked(known):
        (tmp_path / "turns.py").write_text(PROGRAM)
        file = tmp_path / "turns.toml"
        file.write_text(CALCULATOR.format(known=known))
        return check_and_report(file, tmp_path / "out").text()

    return checked


def test_a_program_that_starts_from_the_slack_side_can_be_judged(said):
    text = said("slack")
    assert "version 1: MET" in text
    assert "not applicable: 18 cases: the calculator takes known = slack for granted\n" in text
    assert "not applicable: 1 case: the calculator has no input for groove" in text


def test_reasons_beyond_the_first_are_counted():
    from refsolver.runs.checking import _first

    assert _first("because: ", ["a", "b", "c"], 2) == [
        "because: a", "because: b", "because: and 1 more, in the report",
    ]  # fmt: skip
    assert _first("because: ", ["a", "b"], 2) == ["because: a", "because: b"]
