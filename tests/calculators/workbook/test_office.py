from __future__ import annotations

import contextlib
import hashlib
import os
import shutil
import signal
import socket
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import openpyxl
import pytest
from openpyxl.styles import Protection
from openpyxl.worksheet.formula import ArrayFormula

from refsolver.calculators.workbook.engine import (
    BlankCell,
    BooleanCell,
    EngineAbsent,
    EngineFailure,
    EngineRefused,
    ErrorCell,
    NumberCell,
    Readings,
    TextCell,
)
from refsolver.calculators.workbook.office import (
    PIPES,
    OfficeEngine,
    OfficePrograms,
    converted_to_xlsx,
    find_office,
)
from refsolver.calculators.workbook.references import CellRef

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
    "A15": "=SQRT(-1)",
    "A16": "=A12=8",
    "A17": "=A1/3",
}


@pytest.fixture
def probes(tmp_path: Path, make: Callable[..., Path]) -> Path:
    path = make(tmp_path / "probes.xlsx", {"S": PROBES, "My Sheet": {"B2": "=S!A1*2"}})
    book = openpyxl.load_workbook(path)
    book["S"]["A17"].number_format = '0.00" kN"'
    book.save(path)
    return path


@pytest.mark.office
def test_it_names_itself_with_its_version(office: OfficeEngine) -> None:
    name, _, version = office.identity().partition(" Calc ")
    assert name.startswith("LibreOffice")
    assert version.split(".")[0].isdigit()


@pytest.mark.office
def test_every_kind_of_value_is_told_apart(office: OfficeEngine, probes: Path) -> None:
    office.open(probes)
    assert office.sheet_names() == ("S", "My Sheet")
    assert list(office.read([*A[1:17], CellRef("My Sheet", 2, 2), A[3]]).values()) == [
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
        ErrorCell("Err:502"),
        BooleanCell(True),
        NumberCell(6.0),
    ]
    assert office.read_displayed([A[17], A[7], A[4], A[5]]) == {
        A[17]: "1.00 kN",
        A[7]: "TRUE",
        A[4]: "#DIV/0!",
        A[5]: "",
    }


@pytest.mark.office
def test_set_clear_and_reset(office: OfficeEngine, probes: Path) -> None:
    office.open(probes)
    before = office.read(A[1:18]), office.read_displayed(A[1:18])
    office.set_cells({A[1]: 10, A[5]: 0.5, A[12]: 1.0, A[14]: False, A[13]: 2.0})
    office.recalculate()
    got = office.read(A[1:15])
    assert (got[A[3]], got[A[4]]) == (NumberCell(14.0), NumberCell(2.0))
    assert (got[A[9]], got[A[12]], got[A[14]]) == (
        BooleanCell(False),
        NumberCell(1.0),
        BooleanCell(False),
    )
    office.set_cells({A[5]: None, A[1]: "", A[2]: None})
    office.recalculate()
    got = office.read(A[1:10])
    assert got[A[1]] == got[A[2]] == got[A[5]] == BlankCell()
    assert (got[A[3]], got[A[8]]) == (NumberCell(0.0), TextCell("blank"))
    assert got[A[9]] == BooleanCell(True)
    office.reset()
    assert (office.read(A[1:18]), office.read_displayed(A[1:18])) == before


@pytest.mark.office
@pytest.mark.parametrize("text", ["=1+1", "1/2", "12", "TRUE", "#N/A", "'12", "2024-05-01", " "])
def test_a_text_stays_a_text_and_leaves_the_format_alone(
    office: OfficeEngine, probes: Path, text: str
) -> None:
    office.open(probes)
    answers = office.run([{A[17]: text}, {A[17]: 2.5}], [A[17]], [A[17]])
    assert [a.values[A[17]] for a in answers if isinstance(a, Readings)] == [
        TextCell(text),
        NumberCell(2.5),
    ]
    assert isinstance(answers[1], Readings)
    assert answers[1].displayed[A[17]] == "2.50 kN"


@pytest.mark.office
def test_the_file_is_neither_changed_nor_locked(office: OfficeEngine, probes: Path) -> None:
    before = hashlib.sha256(probes.read_bytes()).digest(), probes.stat().st_mtime_ns
    office.open(probes)
    office.run([{A[1]: 2.0}], [A[3]])
    assert list(probes.parent.iterdir()) == [probes]
    assert (hashlib.sha256(probes.read_bytes()).digest(), probes.stat().st_mtime_ns) == before


@pytest.mark.office
def test_stored_results_are_not_believed(
    office: OfficeEngine, probes: Path, store: Callable[..., Path]
) -> None:
    store(probes, {"A3": 999.0, "A7": False})
    office.open(probes)
    assert office.read([A[3], A[7]]) == {A[3]: NumberCell(7.0), A[7]: BooleanCell(True)}


@pytest.mark.slow
@pytest.mark.office
def test_opendocument_and_xls(
    office: OfficeEngine, probes: Path, tmp_path: Path, as_kind: Callable[[Path, str], Path]
) -> None:
    for suffix in ("ods", "xls"):
        path = as_kind(probes, suffix)
        office.open(path)
        answers = office.run([{A[1]: 10.0}], [A[3], A[8]])
        assert isinstance(answers[0], Readings)
        assert list(answers[0].values.values()) == [NumberCell(14.0), TextCell("blank")]
        back = converted_to_xlsx(path, tmp_path / f"from_{suffix}.xlsx")
        assert openpyxl.load_workbook(back)["S"]["A3"].value == "=A1+A2"


@pytest.mark.office
def test_a_damaged_workbook_is_refused_and_the_next_one_opens(
    office: OfficeEngine, probes: Path, tmp_path: Path
) -> None:
    path = tmp_path / "torn.xls"
    path.write_bytes(
        bytes.fromhex("D0CF11E0A1B11AE1") + "Workbook\0".encode("utf-16-le") + bytes(4096)
    )
    with pytest.raises(EngineRefused, match="damaged, or protected"):
        office.open(path)
    with pytest.raises(RuntimeError, match="no workbook is open"):
        office.recalculate()
    office.open(probes)
    assert office.read([A[3]]) == {A[3]: NumberCell(7.0)}


@pytest.mark.office
def test_cells_nobody_can_type_into_are_refused(office: OfficeEngine, tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.title = "S"
    sheet["A1"], sheet["A2"], sheet["A3"] = 1, 2, "=A1+A2"
    sheet["B1"] = ArrayFormula("B1:B2", "=A1:A2*2")
    sheet["A2"].protection = Protection(locked=False)
    other = book.copy_worksheet(sheet)
    other.title = "Locked"
    other.protection.sheet = True
    path = tmp_path / "locked.xlsx"
    book.save(path)
    office.open(path)
    with pytest.raises(EngineRefused, match="row 1, column 1 of the protected sheet 'Locked'"):
        office.set_cells({CellRef("Locked", 1, 1): 5.0})
    with pytest.raises(EngineRefused, match="array formula"):
        office.set_cells({CellRef("S", 2, 2): 5.0})
    office.set_cells({CellRef("Locked", 2, 1): 5.0})
    office.recalculate()
    total = CellRef("Locked", 3, 1)
    assert office.read([total]) == {total: NumberCell(6.0)}


@pytest.mark.office
def test_scattered_blocks_are_set_and_read_in_their_places(
    office: OfficeEngine, tmp_path: Path, make: Callable[..., Path]
) -> None:
    path = make(tmp_path / "blocks.xlsx", {"S": {"A1": 0}, "T": {"A1": 0}})
    cells = [
        CellRef(sheet, row, column)
        for sheet in ("S", "T")
        for row in range(1, 9)
        for column in range(1, 9)
        if (row * column) % 3
    ]
    cells.reverse()
    office.open(path)
    case = {cell: float(n) for n, cell in enumerate(cells)}
    answer = office.run([case], cells)[0]
    assert isinstance(answer, Readings)
    assert answer.values == {cell: NumberCell(value) for cell, value in case.items()}
    between = CellRef("S", 3, 3)
    assert office.read([between]) == {between: BlankCell()}


@pytest.mark.slow
@pytest.mark.office
def test_a_killed_program_is_started_again_and_nothing_is_lost(probes: Path) -> None:
    with OfficeEngine() as engine:
        engine.open(probes)
        engine.set_cells({A[1]: 10.0})
        group = _group(engine)
        for pid in group["soffice.bin"]:
            os.kill(pid, signal.SIGKILL)
        with pytest.raises(EngineFailure) as failure:
            engine.recalculate()
        assert failure.value.kind == "crash"
        assert engine.read([A[3]]) == {A[3]: NumberCell(14.0)}
        everyone = [pid for pids in _group(engine).values() for pid in pids]
    assert all(_gone(pid) for pid in everyone)
    assert not engine._folder.exists()
    assert not list(Path(PIPES).glob(f"*{engine._folder.name}*"))


@pytest.mark.slow
@pytest.mark.office
def test_a_program_that_asks_to_be_started_again_is(probes: Path, tmp_path: Path) -> None:
    """With exit code 81 LibreOffice asks for another start on a fresh profile."""
    programs, starts = find_office(), tmp_path / "starts"
    soffice = tmp_path / "soffice"
    soffice.write_text(
        f'#!/bin/sh\necho start >> "{starts}"\n'
        f'test "$(wc -l < "{starts}")" -ge 2 || exit 81\nexec "{programs.soffice}" "$@"\n'
    )
    soffice.chmod(0o755)
    with OfficeEngine(OfficePrograms(soffice, programs.python)) as engine:
        engine.open(probes)
        assert engine.read([A[3]]) == {A[3]: NumberCell(7.0)}
    assert starts.read_text().split() == ["start", "start"]


@pytest.mark.office
def test_a_program_that_ends_at_once_is_a_failure(probes: Path, tmp_path: Path) -> None:
    programs = find_office()
    soffice = tmp_path / "soffice"
    soffice.write_text("#!/bin/sh\nexit 3\n")
    soffice.chmod(0o755)
    with (
        OfficeEngine(OfficePrograms(soffice, programs.python)) as engine,
        pytest.raises(EngineFailure, match="ended with 3") as failure,
    ):
        engine.open(probes)
    assert failure.value.kind == "crash"


@pytest.mark.slow
@pytest.mark.office
def test_an_answer_that_takes_too_long_ends_the_whole_group(probes: Path) -> None:
    with OfficeEngine() as engine:
        engine.open(probes)
        pids, pipes = _group(engine), _pipes(engine)
        assert pipes
        engine.limit = 0.5
        os.kill(pids["soffice.bin"][0], signal.SIGSTOP)
        with pytest.raises(EngineFailure) as failure:
            engine.recalculate()
        assert failure.value.kind == "timeout"
        assert all(_gone(pid) for pid in pids["soffice.bin"])
        engine.limit = 60.0
        with _still_taking_connections(pipes):
            assert engine.read([A[3]]) == {A[3]: NumberCell(7.0)}
    assert not _pipes(engine)


def _pipes(engine: OfficeEngine) -> list[Path]:
    return list(Path(PIPES).glob(f"OSL_PIPE_*{engine._folder.name}*"))


@contextlib.contextmanager
def _still_taking_connections(pipes: list[Path]) -> Iterator[None]:
    """As a killed program does that is not gone yet, on a machine with much to do."""
    with contextlib.ExitStack() as stack:
        for pipe in pipes:
            pipe.unlink(missing_ok=True)
            listening = stack.enter_context(socket.socket(socket.AF_UNIX))
            listening.bind(str(pipe))
            listening.listen()
        yield


def _group(engine: OfficeEngine) -> dict[str, list[int]]:
    """The processes of the engine's group, by name."""
    child = engine._worker._child
    assert child is not None
    found: dict[str, list[int]] = {}
    for stat in Path("/proc").glob("[0-9]*/stat"):
        try:
            head, _, rest = stat.read_text().rpartition(")")
        except OSError:
            continue
        pid, _, name = head.partition(" (")
        if int(rest.split()[2]) == child.process.pid:
            found.setdefault(name, []).append(int(pid))
    return found


def _gone(pid: int) -> bool:
    """Whether the process is gone within five seconds; a killed one may take a moment."""
    deadline = time.monotonic() + 5
    while time.monotonic() < deadline:
        try:
            state = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0]
        except OSError:
            return True
        if state == "Z":
            return True
        time.sleep(0.02)
    return False


def test_where_it_is_not_installed_the_packages_are_named(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr(shutil, "which", lambda _: None)
    monkeypatch.setattr(Path, "is_file", lambda _: False)
    with pytest.raises(EngineAbsent, match="libreoffice-calc and python3-uno"):
        find_office()


def test_where_no_python_can_talk_to_it_that_is_said(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    soffice = tmp_path / "soffice"
    soffice.write_text("#!/bin/sh\n")
    monkeypatch.setattr(shutil, "which", lambda _: str(soffice))
    monkeypatch.setattr(
        "refsolver.calculators.workbook.office._pythons", lambda _: ["/bin/false", "/no/python"]
    )
    with pytest.raises(EngineAbsent, match=r"no Python that can talk to it.*python3-uno"):
        find_office()


def test_a_python_without_the_bridge_says_so(tmp_path: Path, probes: Path) -> None:
    bare = tmp_path / "python3"
    bare.write_text('#!/bin/sh\necho \'{"absent": "no bridge"}\'\nread line\n')
    bare.chmod(0o755)
    with (
        OfficeEngine(OfficePrograms(Path("/bin/true"), bare)) as engine,
        pytest.raises(EngineAbsent, match="no bridge"),
    ):
        engine.open(probes)


def test_with_iteration_no_case_begins_from_the_results_of_another(
    tmp_path: Path, office: OfficeEngine
) -> None:
    """B1 = B1/2 + A1 tends to 2 A1, within the stated change from wherever it began."""
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.title, sheet["A1"], sheet["B1"] = "S", 1, "=0.5*B1+A1"
    book.calculation.iterate = True
    book.calculation.iterateCount, book.calculation.iterateDelta = 100, 0.01
    path = tmp_path / "circular.xlsx"
    book.save(path)
    given, result = CellRef("S", 1, 1), CellRef("S", 1, 2)

    def results(*values: float) -> list[float]:
        found = office.run([{given: value} for value in values], [result])
        return [one.values[result].value for one in found]  # type: ignore[union-attr]

    office.open(path)
    opened = office.read([result])
    first, large, again = results(1.0, 1000.0, 1.0)
    assert first == again
    assert first == pytest.approx(2, abs=0.02)
    assert large == pytest.approx(2000, abs=0.02)
    assert results(2.0, 1.0)[1] == first
    office.set_cells({given: 1000.0})
    office.recalculate()
    office.reset()
    assert office.read([result]) == opened
    assert results(1.0) == [first]
