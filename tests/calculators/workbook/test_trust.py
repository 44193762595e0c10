from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from refsolver.calculators.workbook.contents import read_contents
from refsolver.calculators.workbook.embedded import EmbeddedEngine
from refsolver.calculators.workbook.engine import (
    BooleanCell,
    CellInput,
    ErrorCell,
    NumberCell,
    TextCell,
)
from refsolver.calculators.workbook.graph import DependencyGraph
from refsolver.calculators.workbook.office import OfficeEngine, converted_to_xlsx
from refsolver.calculators.workbook.references import CellRef
from refsolver.calculators.workbook.stored import stored_values
from refsolver.calculators.workbook.trust import compare_engines, trust_check


def _r(path: Path, *texts: str) -> list[CellRef]:
    names = read_contents(path).names
    return [cell for text in texts for cell in names.cells(text)]


def test_a_workbook_the_engine_speaks(embedded: EmbeddedEngine, saved_resultant: Path) -> None:
    outputs = _r(saved_resultant, "Resultant!B16:B26")
    check = trust_check(embedded, saved_resultant, outputs, _r(saved_resultant, "Resultant!B6:C13"))
    assert (check.outcome, check.compared) == ("agrees", 27)
    assert check.engine == embedded.identity()
    assert check.left_out == tuple(_r(saved_resultant, "Resultant!B27"))
    assert (check.changing, check.without_stored, check.unreached) == ((), (), ())
    assert not check.whole_workbook


@pytest.mark.parametrize(
    ("address", "stored", "recalculated"),
    [
        ("B16", 200.0, NumberCell),
        ("B20", "up left", TextCell),
        ("B19", "#DIV/0!", NumberCell),
        ("B25", False, BooleanCell),
    ],
)
def test_a_stored_result_that_is_not_what_comes_out(
    embedded: EmbeddedEngine,
    resultant: Path,
    store: Callable[..., Path],
    expected: dict[str, object],
    address: str,
    stored: object,
    recalculated: type,
) -> None:
    store(resultant, expected | {address: stored})
    cell = _r(resultant, f"Resultant!{address}")[0]
    check = trust_check(embedded, resultant, [cell])
    assert check.outcome == "disagrees"
    assert [d.cell for d in check.disagreements] == [cell]
    assert isinstance(check.disagreements[0].recalculated, recalculated)


def test_cells_that_feed_no_output_are_not_compared(
    embedded: EmbeddedEngine, tmp_path: Path, make: Callable[..., Path], store: Callable[..., Path]
) -> None:
    cells = {"A1": 2, "B1": "=A1*3", "B2": "=A1*4", "B3": "=_xlfn.AGGREGATE(9,6,A1:A2)"}
    path = store(make(tmp_path / "a.xlsx", {"S": cells}), {"B1": 6.0, "B2": 9.0, "B3": 2.0})
    good, wrong, unknown = _r(path, "S!B1:B3")
    assert trust_check(embedded, path, [good]).outcome == "agrees"
    check = trust_check(embedded, path, [good, wrong, unknown])
    assert {d.cell: d.recalculated for d in check.disagreements} == {
        wrong: NumberCell(8.0),
        unknown: ErrorCell("#NAME?"),
    }
    assert check.reason == (
        "2 of 3 formula cells differ from the file: S!B2 is 8, stored 9; S!B3 is #NAME? "
        "(a function or name that it does not know), stored 2"
    )


def test_nothing_stored(embedded: EmbeddedEngine, resultant: Path) -> None:
    check = trust_check(embedded, resultant, _r(resultant, "Resultant!B16:B18"))
    assert (check.outcome, check.reason) == ("not shown", "the file holds no stored results")
    assert len(check.without_stored) == 3 + 16


def test_blank_inputs_and_outputs_without_a_result(
    embedded: EmbeddedEngine, tmp_path: Path, make: Callable[..., Path], store: Callable[..., Path]
) -> None:
    cells = {"B1": '=IF(A1="","",A1*2)', "B2": "=1/A1", "B3": "=SUM(A1:A2)"}
    path = store(make(tmp_path / "a.xlsx", {"S": cells}), {"B1": "", "B2": "#DIV/0!", "B3": 0})
    inputs, outputs = _r(path, "S!A1:A2"), _r(path, "S!B1:B3")
    check = trust_check(embedded, path, outputs, inputs)
    assert (check.outcome, check.reason) == ("not shown", "every mapped input is blank in the file")
    assert check.compared == 3
    check = trust_check(embedded, path, outputs[:2])
    assert check.outcome == "not shown"
    assert check.reason.startswith("no output shows a result")
    check = trust_check(embedded, path, outputs)
    assert (check.outcome, check.unreached) == ("agrees", tuple(outputs[:2]))


def test_a_clock_upstream_is_left_out(
    embedded: EmbeddedEngine, tmp_path: Path, make: Callable[..., Path], store: Callable[..., Path]
) -> None:
    cells = {"A1": 2, "B1": "=NOW()", "B2": "=B1*A1", "B3": "=A1*5", "B4": "=RAND()"}
    path = store(
        make(tmp_path / "a.xlsx", {"S": cells}), {"B1": 4e4, "B2": 8e4, "B3": 10.0, "B4": 0.5}
    )
    moved, steady = _r(path, "S!B2", "S!B3")
    check = trust_check(embedded, path, [moved, steady])
    assert check.outcome == "agrees"
    assert check.changing == tuple(_r(path, "S!B1:B2"))
    assert check.left_out == tuple(_r(path, "S!B4"))
    check = trust_check(embedded, path, [moved])
    assert check.outcome == "not shown"


def test_a_reference_made_at_run_time_brings_in_the_whole_workbook(
    embedded: EmbeddedEngine, tmp_path: Path, make: Callable[..., Path], store: Callable[..., Path]
) -> None:
    cells = {"A1": 2, "B1": '=INDIRECT("B2")', "B2": "=A1*4"}
    path = store(make(tmp_path / "a.xlsx", {"S": cells}), {"B1": 8.0, "B2": 9.0})
    check = trust_check(embedded, path, _r(path, "S!B1"))
    assert check.whole_workbook
    assert [d.cell for d in check.disagreements] == _r(path, "S!B2")


CANCELLING = {"A1": 1e6 / 3, "A2": 1e6 / 7, "A3": 200e9, "B1": "=A1+A2-A1-A2", "B2": "=A1-A4"}


def test_rounding_is_allowed_where_terms_cancel(
    embedded: EmbeddedEngine, tmp_path: Path, make: Callable[..., Path], store: Callable[..., Path]
) -> None:
    """Terms of 3e5 that cancel may leave 1e-10 in one program and 0 in another."""
    cells = CANCELLING | {"A4": "=A1", "B3": "=1/A3", "B4": "=IF(A1>333333.333333,1,2)"}
    path = make(tmp_path / "a.xlsx", {"S": cells})
    outputs = _r(path, "S!B1:B4")
    good = {"A4": 1e6 / 3, "B1": 1.2e-10, "B2": -5e-11, "B3": 5e-12, "B4": 1}
    assert trust_check(embedded, store(path, good), outputs).outcome == "agrees"


@pytest.mark.parametrize(
    ("address", "stored"),
    [("B1", 1e-7), ("B2", 1e-7), ("B3", 5.001e-12), ("B4", 2), ("B5", 6e-12), ("B6", 0.010001)],
)
def test_more_than_rounding_is_not(
    embedded: EmbeddedEngine,
    tmp_path: Path,
    make: Callable[..., Path],
    store: Callable[..., Path],
    address: str,
    stored: float,
) -> None:
    """A small number beside a large one upstream, and a branch, get no slack from it."""
    formulas = {"B3": "=1/A3", "B4": "=IF(A1=250000,1,2)", "B5": "=1/A3+A5", "B6": "=A1-249999.99"}
    cells = CANCELLING | {"A1": 250000, "A4": "=A1", "A5": 0} | formulas
    path = make(tmp_path / "a.xlsx", {"S": cells})
    good = {"A4": 250000.0, "B1": 0.0, "B2": 0.0, "B3": 5e-12, "B4": 1, "B5": 5e-12, "B6": 0.01}
    assert trust_check(embedded, store(path, good), _r(path, "S!B1:B6")).outcome == "agrees"
    make(path, {"S": cells})
    check = trust_check(embedded, store(path, good | {address: stored}), _r(path, "S!B1:B6"))
    assert [d.cell for d in check.disagreements] == _r(path, f"S!{address}")


def test_engines_that_agree_and_one_that_cannot(
    embedded: EmbeddedEngine, tmp_path: Path, make: Callable[..., Path]
) -> None:
    """Two embedded engines: one sees another workbook in the same place."""
    path = make(tmp_path / "a.xlsx", {"S": {"A1": 1, "B1": "=A1*2", "B2": "=A1-A1"}})
    cases: list[dict[CellRef, CellInput]] = [{CellRef("S", 1, 1): float(n)} for n in range(5)]
    outputs = _r(path, "S!B1:B2")

    class Doubling(EmbeddedEngine):
        def open(self, path: Path) -> None:
            other = make(tmp_path / "b.xlsx", {"S": {"A1": 1, "B1": "=A1*A1", "B2": "=A1-A1"}})
            super().open(other)

    with EmbeddedEngine() as same, Doubling() as other:
        assert compare_engines(embedded, same, path, outputs, cases).agree
        comparison = compare_engines(embedded, other, path, outputs, cases)
    assert not comparison.agree
    assert (comparison.cases, comparison.compared) == (5, 10)
    assert [(d.case, d.first, d.second) for d in comparison.differences] == [
        (n, NumberCell(2.0 * n), NumberCell(float(n * n))) for n in (1, 3, 4)
    ]


@pytest.mark.office
def test_both_engines_speak_the_resultant_as_the_other_saved_it(
    embedded: EmbeddedEngine, office: OfficeEngine, resultant: Path, tmp_path: Path
) -> None:
    office.open(resultant)
    saved = tmp_path / "saved.xlsx"
    office.save_as_xlsx(saved)
    outputs, inputs = _r(saved, "Resultant!B16:B26"), _r(saved, "Resultant!B6:C13")
    for engine in (embedded, office):
        check = trust_check(engine, saved, outputs, inputs)
        assert (check.outcome, check.compared) == ("agrees", 27)


@pytest.mark.slow
@pytest.mark.office
def test_an_opendocument_workbook_is_checked_through_its_converted_copy(
    office: OfficeEngine,
    saved_resultant: Path,
    tmp_path: Path,
    as_kind: Callable[[Path, str], Path],
) -> None:
    ods = as_kind(saved_resultant, "ods")
    stored = stored_values(ods)
    size, words = CellRef("Resultant", 18, 2), CellRef("Resultant", 20, 2)
    from_xlsx = stored_values(saved_resultant)
    assert stored[words] == from_xlsx[words]
    assert stored[size] == NumberCell(pytest.approx(_value(from_xlsx[size]), rel=1e-12))
    graph = DependencyGraph(read_contents(converted_to_xlsx(ods, tmp_path / "copy.xlsx")))
    check = trust_check(office, ods, [size, words], graph=graph)
    assert (check.outcome, check.compared) == ("agrees", 20)


def _value(cell: object) -> float:
    assert isinstance(cell, NumberCell)
    return cell.value
