"""A workbook asked: many questions in few messages, whatever they fill and in which order."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from refsolver.calculators.by_workbook import WorkbookCalculator
from refsolver.calculators.contract import Asked, Slot
from refsolver.calculators.file import read_calculator_file
from refsolver.calculators.worker import Worker
from tests.plane_pulls import inputs

FAMILY = "concurrent-forces/plane-resultant"
CALCULATOR = (
    f"""
[calculator]
name = "Form Q (invented)"
version = "1"
owner = "A workshop (invented)"

[workbook]
file = "q.xlsx"
engine = "embedded"

[[family]]
name = "{FAMILY}"
"""
    + inputs("lbf", cells=("S!A1:A2", "S!B1:B2"), from_up=True)
    + """
[[family.output]]
answer = "resultant"
take = "magnitude"
unit = "lbf"
place = "S!C1"
says = "Resultant"
criterion = { absolute = "0.1 lbf", reason = "invented" }
"""
)


@pytest.fixture
def calculator(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[WorkbookCalculator]:
    """C1 adds A1 and A2; C2, which feeds it, is nought whatever they are; B1 is left alone."""
    monkeypatch.setattr(WorkbookCalculator, "_second_look", lambda self, engine, found: found)
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.title = "S"
    sheet["A1"], sheet["A2"], sheet["B1"] = 1, 2, 5
    sheet["C1"], sheet["C2"] = "=A1+A2+C2+0*B1", "=A1*0"
    sheet["C1"].number_format = "0.0"
    book.save(tmp_path / "q.xlsx")
    (tmp_path / "q.toml").write_text(CALCULATOR, encoding="utf-8")
    opened = WorkbookCalculator(read_calculator_file(tmp_path / "q.toml"))
    yield opened
    opened.close()


def asked(calculator: WorkbookCalculator, **handed: Any) -> Asked:
    """A question that fills cells in this order."""
    slots = tuple(
        Slot(f"S!{cell}", "", str(value), value if isinstance(value, float) else None)
        for cell, value in handed.items()
    )
    return Asked("a case", FAMILY, slots, calculator.file.section(FAMILY).outputs)


def test_questions_that_fill_other_cells_in_other_orders(calculator: WorkbookCalculator) -> None:
    questions = [
        asked(calculator, A1=3.0, A2=4.0),
        asked(calculator, A2=4.0, A1=3.25),
        asked(calculator, A1=7.0),  # A2 keeps the 2 of the file
        asked(calculator, A1=7.0, A2=""),
        asked(calculator, A1=7.0, A2="none"),
        asked(calculator),
    ]
    found = [received.values["S!C1"] for received in calculator.ask(questions)]
    assert found == [
        {"number": "7.0", "displayed": "7.0"},
        {"number": "7.25", "displayed": "7.3"},
        {"number": "9.0", "displayed": "9.0"},
        {"number": "7.0", "displayed": "7.0"},
        {"error": "#VALUE!"},
        {"number": "3.0", "displayed": "3.0"},
    ]


def test_cells_that_never_vary_do_not_make_for_more_messages(
    calculator: WorkbookCalculator, monkeypatch: pytest.MonkeyPatch
) -> None:
    sizes: list[int] = []
    post = Worker.post

    def noted(worker: Worker, question: Any, limit: float) -> None:
        sizes.append(question["count"])
        post(worker, question, limit)

    monkeypatch.setattr(Worker, "post", noted)
    answers = list(calculator.ask([asked(calculator, A1=float(n), A2=1.0) for n in range(1000)]))
    assert [a.values["S!C1"]["number"] for a in answers] == [f"{n + 1.0}" for n in range(1000)]
    assert len(sizes) < 25 and sum(sizes) == 1000
    assert answers[-1].exercised == {"S!C2": {"number": 0.0}}
    assert set(answers[0].exercised) == {"S!C1", "S!C2"}


def test_columns_say_the_same_as_the_questions_one_by_one(calculator: WorkbookCalculator) -> None:
    places = {"S!A1": [1.5, None, "x", 4.0], "S!A2": 2.0}
    columns = calculator.ask_columns(places, 4, ["S!C1", "S!A1"])
    assert columns.values["S!C1"] == [3.5, 2.0, {"error": "#VALUE!"}, 6.0]
    assert columns.values["S!A1"] == [1.5, {"blank": True}, {"text": "x"}, 4.0]
    assert columns.displayed["S!C1"] == ["3.5", "2.0", "#VALUE!", "6.0"]
    questions = [asked(calculator, A1=x or "", A2=2.0) for x in places["S!A1"]]  # type: ignore[attr-defined]
    for position, received in enumerate(calculator.ask(questions)):
        alone = columns.received(position)
        assert alone.values["S!C1"] == received.values["S!C1"]
        assert alone.failure is None
    assert calculator.ask_columns({}, 2, ["S!C1"]).values == {"S!C1": [3.0, 3.0]}
