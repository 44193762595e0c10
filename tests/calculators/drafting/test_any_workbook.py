"""Whatever a workbook holds: a draft that is valid TOML and refused, or a sentence."""

from __future__ import annotations

import tomllib

import openpyxl
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from refsolver.calculators.drafting.writing import draft_workbook, write_draft
from refsolver.calculators.file import CalculatorFileError, read_calculator_file
from refsolver.calculators.workbook.contents import read_contents
from refsolver.catalogue.schema import CaseFileError

PLACES = [f"{column}{row}" for column in "ABCDE" for row in range(1, 8)]
WORDS = st.sampled_from(
    ["Pull (lb)", "Angle from vertical", "Span", "m", "kN", "deg", "No.", 'a "quoted" word',
     "decide", "decide: +y", "two\nlines", "Fx", "clockwise", "# comment", "back\\slash", "é°µ",
     "Resultant", "Load 1", "Load 2", "=", "x" * 60]
)  # fmt: skip
FORMULAS = st.builds(
    "={0}({1})".format,
    st.sampled_from(["SUM", "SQRT", "RADIANS", "ABS", "IF", "ATAN2", "INDEX", ""]),
    st.sampled_from(
        ["A1:A7", "B2", "B2,C3", "$B$2*C4", '"no direction"', "B2=1,C3", "Sheet!D1:E7", "A:A", "D1"]
    ),
)
CELLS = st.dictionaries(
    st.sampled_from(PLACES), WORDS | FORMULAS | st.integers(-99, 99) | st.booleans(), max_size=24
)


def build(path, cells):
    book = openpyxl.Workbook()
    book.active.title = "Sheet"
    for place, value in cells.items():
        book.active[place] = value
    book.save(path)


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(cells=CELLS, family=st.sampled_from(["concurrent-forces/plane-resultant", "friction/belt"]))
def test_any_workbook_gives_a_draft_or_a_sentence(tmp_path_factory, cells, family):
    folder = tmp_path_factory.mktemp("any")
    path, target = folder / "any.xlsx", folder / "any.toml"
    build(path, cells)
    try:
        draft = draft_workbook(path, target, [family])
    except CalculatorFileError as problem:
        assert str(path) in str(problem)
        return
    data = tomllib.loads(draft.text)
    names = read_contents(path).names
    for line in [*data["family"][0].get("input", []), *data["family"][0].get("output", [])]:
        for part in line["place"].split(", ") if line["place"] != "decide" else []:
            assert names.cells(part)
    write_draft(draft, target)
    with pytest.raises(CaseFileError, match="is not decided"):
        read_calculator_file(target)
