from __future__ import annotations

import hashlib
import io
import math
import os
import signal
import sys
import textwrap
from collections.abc import Callable, Iterator
from pathlib import Path

import ironcalc
import pytest

from refsolver.calculators.workbook import worker_loop
from refsolver.calculators.workbook.embedded import EmbeddedEngine
from refsolver.calculators.workbook.embedded_worker import EmbeddedBook, without_added_intersections
from refsolver.calculators.workbook.engine import (
    BlankCell,
    BooleanCell,
    EngineFailure,
    EngineRefused,
    ErrorCell,
    NumberCell,
    Readings,
    RowRead,
    TextCell,
)
from refsolver.calculators.workbook.references import CellRef
from refsolver.calculators.workbook.worker_engine import WorkerEngine
from refsolver.calculators.workbook.worker_loop import OWN
from refsolver.calculators.worker import Worker

A = [CellRef("S", row, 1) for row in range(40)]
PROBES: dict[str, object] = {
    "A1": 3,
    "A2": 4,
    "A3": "=A1+A2",
    "A4": "=1/A5",
    "A6": '="#N/A"',
    "A7": "=A1>2",
    "A8": '=IF(A5="","blank",A5)',
    "A9": "=ISBLANK(A5)",
    "A10": '=""',
    "A11": "=NA()",
    "A12": "=A2*2",
    "A13": "typed",
    "A14": True,
    "A15": "=VLOOKUP(9,A1:B2,2,FALSE)",
}


@pytest.fixture
def probes(tmp_path: Path, make: Callable[..., Path]) -> Path:
    return make(tmp_path / "probes.xlsx", {"S": PROBES, "My Sheet": {"B2": "=S!A1*2"}})


def _pid(engine: WorkerEngine) -> int:
    child = engine._worker._child
    assert child is not None
    return child.process.pid


def test_it_names_itself_with_its_version(embedded: EmbeddedEngine) -> None:
    assert embedded.identity() == f"ironcalc {ironcalc.__version__}"


def test_every_kind_of_value_is_told_apart(embedded: EmbeddedEngine, probes: Path) -> None:
    embedded.open(probes)
    assert embedded.sheet_names() == ("S", "My Sheet")
    assert list(embedded.read([*A[1:16], CellRef("My Sheet", 2, 2)]).values()) == [
        NumberCell(3.0),
        NumberCell(4.0),
        NumberCell(7.0),
        ErrorCell("#DIV/0!"),
        BlankCell(),
        TextCell("#N/A"),
        BooleanCell(True),
        TextCell("blank"),
        BooleanCell(True),
        TextCell(""),
        ErrorCell("#N/A"),
        NumberCell(8.0),
        TextCell("typed"),
        BooleanCell(True),
        ErrorCell("#N/A"),
        NumberCell(6.0),
    ]


def test_set_clear_and_reset(embedded: EmbeddedEngine, probes: Path) -> None:
    embedded.open(probes)
    before = embedded.read(A[1:15])
    embedded.set_cells({A[1]: 10, A[5]: 0.5, A[12]: 1.0})
    embedded.recalculate()
    got = embedded.read(A[1:13])
    assert got[A[3]] == NumberCell(14.0)
    assert got[A[4]] == NumberCell(2.0)
    assert got[A[9]] == BooleanCell(False)
    assert got[A[12]] == NumberCell(1.0)
    embedded.set_cells({A[5]: None, A[1]: ""})
    embedded.recalculate()
    got = embedded.read(A[1:10])
    assert got[A[1]] == got[A[5]] == BlankCell()
    assert (got[A[3]], got[A[8]], got[A[9]]) == (
        NumberCell(4.0),
        TextCell("blank"),
        BooleanCell(True),
    )
    embedded.reset()
    assert embedded.read(A[1:15]) == before


@pytest.mark.parametrize("text", ["=1+1", "1/2", "12", "TRUE", "#N/A", "'12", "2024-05-01", " "])
def test_a_text_stays_the_text_it_is(embedded: EmbeddedEngine, probes: Path, text: str) -> None:
    embedded.open(probes)
    embedded.set_cells({A[5]: text})
    embedded.recalculate()
    assert embedded.read([A[5], A[8]]) == {A[5]: TextCell(text), A[8]: TextCell(text)}


@pytest.mark.parametrize("number", [math.nan, math.inf, -math.inf])
def test_a_number_no_cell_can_hold(embedded: EmbeddedEngine, probes: Path, number: float) -> None:
    embedded.open(probes)
    with pytest.raises(ValueError, match="S!A1: a cell cannot hold"):
        embedded.set_cells({A[1]: number})


def test_numbers_go_in_and_out_to_the_last_bit(embedded: EmbeddedEngine, probes: Path) -> None:
    embedded.open(probes)
    numbers = [0.1 + 0.2, 1e-300, -math.pi, 2.0**53 + 2, 5e-324, 1.7976931348623157e308]
    for number in numbers:
        embedded.set_cells({A[5]: number})
        assert embedded.read([A[5]]) == {A[5]: NumberCell(number)}


def test_each_case_of_a_batch_starts_from_the_file(embedded: EmbeddedEngine, probes: Path) -> None:
    embedded.open(probes)
    embedded.set_cells({A[2]: 100.0})
    batch = [{A[1]: 1.0}, {A[2]: 1.0}, {}, {A[5]: 4, A[1]: None}, {A[14]: False}]
    answers = embedded.run(batch, [A[3], A[4], A[14]], [A[3]])
    assert all(isinstance(answer, Readings) for answer in answers)
    assert [list(a.values.values()) for a in answers if isinstance(a, Readings)] == [
        [NumberCell(5.0), ErrorCell("#DIV/0!"), BooleanCell(True)],
        [NumberCell(4.0), ErrorCell("#DIV/0!"), BooleanCell(True)],
        [NumberCell(7.0), ErrorCell("#DIV/0!"), BooleanCell(True)],
        [NumberCell(4.0), NumberCell(0.25), BooleanCell(True)],
        [NumberCell(7.0), ErrorCell("#DIV/0!"), BooleanCell(False)],
    ]
    assert [a.displayed[A[3]] for a in answers if isinstance(a, Readings)] == list("54747")
    assert embedded.read([A[3]]) == {A[3]: NumberCell(7.0)}


def test_a_long_batch_comes_back_complete_and_in_order(
    embedded: EmbeddedEngine, probes: Path
) -> None:
    embedded.open(probes)
    answers = embedded.run([{A[1]: float(n)} for n in range(2000)], [A[3]])
    assert [a.values[A[3]] for a in answers if isinstance(a, Readings)] == [
        NumberCell(n + 4.0) for n in range(2000)
    ]


def test_rows_are_read_in_their_order_with_the_texts_of_the_first(
    embedded: EmbeddedEngine, probes: Path
) -> None:
    embedded.open(probes)
    rows = [[1.0, None], [2.0, "t"], [-0.0, OWN], [1.0, 4.0], [True, 4.0]]
    reads = [A[3], A[4], A[8]]
    found = list(embedded.run_rows([A[1], A[5]], rows, reads, 1))
    assert [list(f.values) for f in found if isinstance(f, RowRead)] == [
        [5.0, ErrorCell("#DIV/0!"), TextCell("blank")],
        [6.0, ErrorCell("#VALUE!"), TextCell("t")],
        [4.0, ErrorCell("#DIV/0!"), TextCell("blank")],
        [5.0, 0.25, 4.0],
        [5.0, 0.25, 4.0],
    ]
    assert [f.displayed for f in found if isinstance(f, RowRead)] == [
        ("5",), ("6",), ("4",), ("5",), ("5",),
    ]  # fmt: skip
    assert list(embedded.run_rows([], [[], []], [A[3]])) == [RowRead((7.0,), ())] * 2
    with pytest.raises(ValueError, match="S!A5: a cell cannot hold the number inf"):
        list(embedded.run_rows([A[1], A[5]], [[1.0, math.inf]], reads))


def test_the_engine_answers_others_while_rows_are_under_way(
    embedded: EmbeddedEngine, probes: Path
) -> None:
    """A reader that stops halfway, or asks something else between, upsets nothing."""
    embedded.open(probes)
    rows = [[float(n)] for n in range(40)]
    found = []
    for number, row in enumerate(embedded.run_rows([A[1]], rows, [A[3]])):
        assert isinstance(row, RowRead)
        found += row.values
        if number % 7 == 3:
            assert embedded.read([A[2]]) == {A[2]: NumberCell(4.0)}
    assert found == [n + 4.0 for n in range(40)]
    halfway = embedded.run_rows([A[1]], rows, [A[3]])
    assert next(halfway) == RowRead((4.0,), ())
    halfway.close()  # type: ignore[attr-defined]
    assert embedded.read([A[3]]) == {A[3]: NumberCell(7.0)}


def test_the_file_is_neither_changed_nor_locked(embedded: EmbeddedEngine, probes: Path) -> None:
    before = hashlib.sha256(probes.read_bytes()).digest(), probes.stat().st_mtime_ns
    probes.chmod(0o444)
    embedded.open(probes)
    embedded.set_cells({A[1]: 1.0})
    embedded.recalculate()
    embedded.run([{A[1]: 2.0}], [A[3]])
    assert list(probes.parent.iterdir()) == [probes]
    embedded.close()
    assert (hashlib.sha256(probes.read_bytes()).digest(), probes.stat().st_mtime_ns) == before


def test_the_private_copy_goes_when_the_engine_is_closed(probes: Path) -> None:
    engine = EmbeddedEngine()
    engine.open(probes)
    assert engine._folder.is_dir()
    engine.close()
    engine.close()
    assert not engine._folder.exists()


def test_a_sheet_that_is_not_there(embedded: EmbeddedEngine, probes: Path) -> None:
    embedded.open(probes)
    with pytest.raises(EngineRefused, match="no sheet 'Other'"):
        embedded.read([CellRef("Other", 1, 1)])
    assert embedded.read([A[3]]) == {A[3]: NumberCell(7.0)}


def test_nothing_open(embedded: EmbeddedEngine) -> None:
    with pytest.raises(RuntimeError, match="no workbook is open"):
        embedded.recalculate()


def test_a_workbook_it_does_not_read(
    embedded: EmbeddedEngine, tmp_path: Path, probes: Path
) -> None:
    path = tmp_path / "old.xls"
    path.write_bytes(
        bytes.fromhex("D0CF11E0A1B11AE1") + "Workbook\0".encode("utf-16-le") + bytes(512)
    )
    embedded.open(probes)
    with pytest.raises(EngineRefused, match=r"does not read \.xls workbooks"):
        embedded.open(path)


def test_a_killed_worker_loses_nothing(embedded: EmbeddedEngine, probes: Path) -> None:
    embedded.open(probes)
    embedded.set_cells({A[1]: 10.0})
    embedded.recalculate()
    first = _pid(embedded)
    os.kill(first, signal.SIGKILL)
    with pytest.raises(EngineFailure, match="SIGKILL") as failure:
        embedded.read([A[3]])
    assert failure.value.kind == "crash"
    assert embedded.read([A[3]]) == {A[3]: NumberCell(14.0)}
    assert _pid(embedded) != first


def test_a_hung_worker_is_ended_and_started_again(probes: Path) -> None:
    with EmbeddedEngine(limit=0.3) as engine:
        engine.open(probes)
        engine.set_cells({A[1]: 10.0})
        os.kill(_pid(engine), signal.SIGSTOP)
        with pytest.raises(EngineFailure) as failure:
            engine.recalculate()
        assert failure.value.kind == "timeout"
        assert engine.read([A[3]]) == {A[3]: NumberCell(14.0)}


def test_a_worker_that_cannot_start_in_time(probes: Path) -> None:
    with EmbeddedEngine(start_limit=0.001) as engine, pytest.raises(EngineFailure) as failure:
        engine.open(probes)
    assert failure.value.kind == "timeout"


def test_a_panic_of_the_native_code_is_answered_and_ends_the_worker() -> None:
    class Panicking(EmbeddedBook):
        def recalculate(self) -> None:
            ironcalc.test_panic()

    answers = io.BytesIO()
    assert not worker_loop._answer(Panicking(), answers, {"do": "recalculate"})
    assert b'"died"' in answers.getvalue()
    assert b"PanicException" in answers.getvalue()


@pytest.fixture
def touchy(tmp_path: Path) -> Iterator[WorkerEngine]:
    """The embedded engine with a book that panics on 13 and hangs on 14 in S!A1."""
    script = tmp_path / "touchy.py"
    script.write_text(
        textwrap.dedent("""
        import time
        import ironcalc
        from refsolver.calculators.workbook.embedded_worker import EmbeddedBook
        from refsolver.calculators.workbook.worker_loop import claim_stdout, serve, write_line

        class Touchy(EmbeddedBook):
            def recalculate(self):
                value = self.model.get_cell_value(0, 1, 1)
                if value == 13:
                    ironcalc.test_panic()
                if value == 14:
                    time.sleep(60)
                print("this must not reach the answers")
                super().recalculate()

        answers = claim_stdout()
        write_line(answers, {"identity": "touchy"})
        serve(Touchy(), answers)
        """)
    )
    engine = WorkerEngine(
        Worker([sys.executable, str(script)], greets=True), WorkerEngine.private_folder(), 2.0
    )
    engine.name, engine.kinds = "touchy", frozenset({"xlsx"})
    yield engine
    engine.close()


def test_only_the_case_that_breaks_the_engine_fails(touchy: WorkerEngine, probes: Path) -> None:
    touchy.open(probes)
    answers = touchy.run([{A[1]: float(n)} for n in range(18)], [A[3]])
    failed = {n: a.kind for n, a in enumerate(answers) if isinstance(a, EngineFailure)}
    assert failed == {13: "crash", 14: "timeout"}
    assert [a.values[A[3]] for a in answers if isinstance(a, Readings)] == [
        NumberCell(n + 4.0) for n in range(18) if n not in failed
    ]


def test_cells_that_break_the_engine_break_it_until_they_are_reset(
    touchy: WorkerEngine, probes: Path
) -> None:
    touchy.open(probes)
    touchy.set_cells({A[1]: 13.0})
    for _ in range(2):
        with pytest.raises(EngineFailure, match="PanicException"):
            touchy.recalculate()
    touchy.reset()
    assert touchy.read([A[3]]) == {A[3]: NumberCell(7.0)}


def test_macros_are_no_hindrance(
    as_xlsm: Callable[[Path, Path], Path], embedded: EmbeddedEngine, tmp_path: Path, probes: Path
) -> None:
    path = tmp_path / "with macros.xlsm"
    as_xlsm(probes, path)
    embedded.open(path)
    assert embedded.read([A[3]]) == {A[3]: NumberCell(7.0)}


@pytest.mark.parametrize(
    ("loaded", "kept"),
    [
        ("=SUMPRODUCT(A1:A3,SIN(@B1:B3))", "=SUMPRODUCT(A1:A3,SIN(B1:B3))"),
        ("=@A1:A3+sumproduct((ABS(@B1:B3)))*@C1:C3", "=@A1:A3+sumproduct((ABS(B1:B3)))*@C1:C3"),
        ("=SUM(SIN(@B1:B3))", "=SUM(SIN(@B1:B3))"),
        ('=SUMPRODUCT(--(A1:A3="a@("),@B1:B3)&"@"', '=SUMPRODUCT(--(A1:A3="a@("),B1:B3)&"@"'),
        (
            "=SUMPRODUCT('a@ b)'!A1:A3,SIN(@'a@ b)'!B1:B3))",
            "=SUMPRODUCT('a@ b)'!A1:A3,SIN('a@ b)'!B1:B3))",
        ),
    ],
)
def test_intersections_added_inside_sumproduct_are_taken_back(loaded: str, kept: str) -> None:
    assert without_added_intersections(loaded) == kept


def test_sumproduct_maps_functions_over_its_ranges(
    embedded: EmbeddedEngine, tmp_path: Path, make: Callable[..., Path]
) -> None:
    """In a row of the range itself, one cell of it would go unnoticed."""
    pulls, angles = [120.0, 80.0, 45.0], [10.0, 100.0, 200.0]
    cells: dict[str, object] = {}
    for row, (pull, angle) in enumerate(zip(pulls, angles, strict=True), 1):
        cells |= {f"A{row}": pull, f"B{row}": angle}
    cells["C2"] = "=SUMPRODUCT(A1:A3,SIN(RADIANS(B1:B3)))"
    embedded.open(make(tmp_path / "p.xlsx", {"S": cells}))
    expected = sum(p * math.sin(math.radians(a)) for p, a in zip(pulls, angles, strict=True))
    (value,) = embedded.read([CellRef("S", 2, 3)]).values()
    assert isinstance(value, NumberCell)
    assert value.value == pytest.approx(expected, rel=1e-14)


def test_an_intersection_the_file_asks_for_stays(
    embedded: EmbeddedEngine, tmp_path: Path, make: Callable[..., Path]
) -> None:
    cells = {"A1": 1.0, "A2": 2.0, "A3": 3.0, "B2": "=SUMPRODUCT(_xlfn.SINGLE(A1:A3)*10)"}
    embedded.open(make(tmp_path / "s.xlsx", {"S": cells}))
    assert embedded.read([CellRef("S", 2, 2)]) == {CellRef("S", 2, 2): NumberCell(20.0)}
