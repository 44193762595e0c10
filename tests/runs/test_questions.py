"""Cases made for a calculator: rows of a table are exchanged only where their order is free."""

import pytest

from refsolver.calculators.file import read_calculator_file
from refsolver.catalogue.catalogue import Catalogue
from refsolver.runs.one_case import rows_of
from refsolver.runs.questions import questions_for

HEAD = """
[calculator]
name = "Sluice and tent (made up)"
version = "1"
owner = "an office that does not exist"

[python]
function = "nowhere:run"

[[family]]
name = "{family}"
"""
INPUT = """
[[family.input]]
given = "{given}"
unit = "{unit}"
place = "{place}"
says = "{given}"
"""
OUTPUT = """
[[family.output]]
answer = "{answer}"
unit = "{unit}"
place = "result"
says = "result"
criterion = {{ relative = "1e-9", reason = "double precision" }}
"""


def made_for(tmp_path, family, inputs, output):
    text = HEAD.format(family=family)
    for given, unit in inputs:
        text += INPUT.format(given=given, unit=unit, place=given)
    file = tmp_path / "calculator.toml"
    file.write_text(text + OUTPUT.format(answer=output[0], unit=output[1]), encoding="utf-8")
    asked = questions_for(read_calculator_file(file), Catalogue(), True, frozenset())
    return {question.case.id.rpartition("/")[2]: question for question in asked}


PLATE = [("depth", "m"), ("slope", "deg"), ("panels[*].top_width", "m"),
         ("panels[*].bottom_width", "m"), ("panels[*].height", "m"),
         ("fluids[*].specific_weight", "N/m^3"), ("fluids[*].top", "m")]  # fmt: skip
PIPES = [("start", "Pa"), ("columns[*].specific_weight", "N/m^3"), ("columns[*].drop", "m")]
BALANCE = [("fluid.specific_weight", "N/m^3"), ("pressure", "Pa"),
           ("columns[*].specific_weight", "N/m^3"), ("columns[*].height", "m")]  # fmt: skip


@pytest.mark.parametrize(
    ("family", "inputs", "output"),
    [
        ("hydrostatics/straight-sided-surface", PLATE, ("force", "N")),
        ("hydrostatics/pressure-along-columns", PIPES, ("end", "Pa")),
    ],
)
def test_rows_whose_order_counts_are_filled_but_not_exchanged(tmp_path, family, inputs, output):
    made = made_for(tmp_path, family, inputs, output)
    assert {"filled-1", "filled-2"} <= set(made)
    assert "permuted" not in made


def test_rows_in_any_order_are_exchanged(tmp_path):
    made = made_for(tmp_path, "hydrostatics/column-height", BALANCE, ("height", "m"))
    assert made["permuted"].placement == {"columns": tuple(reversed(range(8)))}


def test_answers_of_some_rows_only_stand_one_below_the_other_when_rows_are_moved():
    """Of four supports that are read in reverse, two have a force of their own."""
    rows = {"supports": ["pin", "link 1", "ball", "link 2"]}
    reverse = {"supports": (3, 2, 1, 0)}
    assert rows_of(["link 1", "link 2"], rows, reverse) == [1, 0]
    assert rows_of(["pin", "link 1", "ball", "link 2"], rows, reverse) == [3, 2, 1, 0]


def test_answers_of_other_rows_stay_where_they_are():
    """Two loads are read in reverse, the forces of the two supports are not."""
    reverse = {"forces": (1, 0)}
    assert rows_of(["A", "B"], {"forces": ["forces, row 1", "forces, row 2"]}, reverse) == [0, 1]
