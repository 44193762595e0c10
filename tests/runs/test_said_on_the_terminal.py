"""What a check says when it is done: the result, and why cases were left out."""

import openpyxl
import pytest

from refsolver.calculators.file import read_calculator_file
from refsolver.runs.checking import check_and_report
from refsolver.runs.sheets import make_sheet

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


SHEET = """
[calculator]
name = "Two-leg app (made up)"
version = "1"
owner = "nobody"
[sheet]
file = "filled.xlsx"
decimal_mark = ","
[[family]]
name = "rigging/two-legs"
"""
ASKED = """[[family.input]]
given = "{given}"
unit = "{unit}"
decimals = 2
place = "{given}"
says = "{given}"
"""


def test_an_answer_sheet_says_which_leg_each_row_is_and_takes_a_decimal_comma(tmp_path):
    lengths = ("left_reach", "right_reach", "left_height", "right_height")
    units = {"load": "kN"} | dict.fromkeys(lengths, "m")
    inputs = "".join(ASKED.format(given=given, unit=unit) for given, unit in units.items())
    output = (
        '[[family.output]]\nanswer = "tensions"\nkey = "*"\nunit = "kN"\nplace = "T[*]"\n'
        'says = "T1, T2"\ncriterion = { absolute = "0.05 kN", reason = "tenths" }\n'
    )
    path = tmp_path / "app.toml"
    path.write_text(SHEET + inputs + output)
    make_sheet(read_calculator_file(path), tmp_path / "blank.xlsx", 2)
    book = openpyxl.load_workbook(tmp_path / "blank.xlsx")
    rows = list(book["To read"].iter_rows(min_row=2))
    assert [row[3].value for row in rows[:2]] == ["T1, T2: left", "T1, T2: right"]
    anchor = [row for row in rows if row[1].value.endswith("three-four-five-twice")]
    for row in anchor:
        row[5].value = "5,0 kN"  # 8 kN on two legs of slope 4 in 3 each
    book.save(tmp_path / "filled.xlsx")
    found = check_and_report(path, tmp_path / "out").record["content"]["cases"]
    verdicts = [f["verdict"] for f in found[anchor[0][1].value]["findings"]]
    assert verdicts == ["pass", "pass"]
