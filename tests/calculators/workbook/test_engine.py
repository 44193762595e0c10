from __future__ import annotations

import json
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from refsolver.calculators.workbook.engine import (
    BlankCell,
    BooleanCell,
    CellValue,
    ErrorCell,
    NumberCell,
    TextCell,
    cell_value_from_dict,
    cell_value_to_dict,
)
from refsolver.calculators.workbook.worker_loop import OWN, packed, unpacked

values = st.one_of(
    st.builds(NumberCell, st.floats(allow_nan=False, allow_infinity=False)),
    st.builds(TextCell, st.text()),
    st.builds(BooleanCell, st.booleans()),
    st.sampled_from(["#N/A", "#DIV/0!", "Err:502"]).map(ErrorCell),
    st.just(BlankCell()),
)


@given(values)
def test_a_value_survives_json(value: CellValue) -> None:
    assert cell_value_from_dict(json.loads(json.dumps(cell_value_to_dict(value)))) == value


@pytest.mark.parametrize(
    "data",
    [
        {},
        {"number": "1"},
        {"number": True},
        {"text": 1},
        {"blank": False},
        {"number": 1, "text": ""},
    ],
)
def test_anything_else_is_refused(data: dict[str, Any]) -> None:
    with pytest.raises(ValueError, match="is not a cell value"):
        cell_value_from_dict(data)


travelling = st.one_of(
    st.none(), st.booleans(), st.text(max_size=5), st.floats(allow_nan=False, allow_infinity=False),
    st.just(["#N/A"]), st.just(OWN),
)  # fmt: skip


@given(st.lists(travelling))
def test_packed_values_come_out_as_they_went_in(found: list[Any]) -> None:
    back = unpacked(json.loads(json.dumps(packed(found), allow_nan=False)))
    assert [(type(x), repr(x)) for x in back] == [(type(x), repr(x)) for x in found]
