"""Writing a folder of exchange: filled copies or input files for the program of use."""

from __future__ import annotations

import json
import re
import shutil
import tempfile
from pathlib import Path

from refsolver.calculators.by_command import CommandCalculator
from refsolver.calculators.by_exchange import FORMAT, INDEX
from refsolver.calculators.file import CalculatorFile, CalculatorFileError, read_calculator_file
from refsolver.calculators.mapped_workbook import MappedWorkbook
from refsolver.calculators.settings import Settings
from refsolver.calculators.workbook.engine import EngineAbsent
from refsolver.calculators.workbook.files import WorkbookUnreadable
from refsolver.records.runs import CaseRun
from refsolver.runs.detection import detection
from refsolver.runs.one_case import asked_of
from refsolver.runs.sheets import applicable, choose
from refsolver.runs.situations import Situations

__all__ = ["write_exchange"]

_CAUTION = (
    "These are test inputs, not a design. Whoever computes with them answers for nothing but "
    "the numbers."
)


def write_exchange(path: Path, folder: Path, count: int) -> str:
    """Writes the folder, whole or not at all; returns what to do next, in words.

    Raises CalculatorFileError for a kind that is not exchanged.
    """
    file = read_calculator_file(path)
    if file.kind not in ("workbook", "command"):
        raise CalculatorFileError(
            f"{path}: a calculator of kind {file.kind} is not checked by exchange; leave "
            "--exchange out"
        )
    folder.parent.mkdir(parents=True, exist_ok=True)
    with _beside(folder) as scratch:
        new = Path(scratch) / "exchange"
        new.mkdir()
        book = None
        try:
            if file.kind == "workbook":
                book = MappedWorkbook(file, Settings(file, ("file", "engine", "limit")))
                runs = applicable(book.file, takes_doubles=True)
                chosen = choose(runs, count, detection(runs, Situations(book.file)))
                names = {r.case.id: _copy(book, r, new, n) for n, r in enumerate(chosen, 1)}
            else:
                runs = applicable(file, takes_doubles=False)
                chosen = choose(runs, count, detection(runs, Situations(file)))
                program = CommandCalculator(file)
                names = {r.case.id: _inputs(program, r, new, n) for n, r in enumerate(chosen, 1)}
        except (WorkbookUnreadable, EngineAbsent) as problem:
            raise CalculatorFileError(f"{path}: workbook: {problem}") from None
        finally:
            if book is not None:
                book.close()
        index = {"format": FORMAT, "calculator": file.sha256, "program": "", "cases": names}
        (new / INDEX).write_text(json.dumps(index, indent=2) + "\n", encoding="utf-8")
        (new / "READ ME.txt").write_text(_instructions(file, folder), encoding="utf-8")
        new.replace(folder)
    return f"written: {folder} ({len(names)} cases)\n{_instructions(file, folder)}"


def _slug(run: CaseRun, number: int) -> str:
    words = re.sub(r"[^a-z0-9]+", "-", run.case.id.rpartition("/")[2].lower()).strip("-")
    return f"{number:02d}-{words}"


def _copy(book: MappedWorkbook, run: CaseRun, folder: Path, number: int) -> str:
    """A filled private copy; its stored results are gone until a program saves it again."""
    from refsolver.calculators.workbook.contents import read_openpyxl

    assert run.handed is not None
    name = f"{_slug(run, number)}{book.readable.suffix}"
    copy = read_openpyxl(book.readable, keep_vba=book.readable.suffix == ".xlsm")
    for cell, content in book.filled(run.handed.slots).items():
        copy[cell.sheet].cell(cell.row, cell.column).value = content
    copy.calculation.fullCalcOnLoad = True
    copy.save(folder / name)
    return name


def _inputs(program: CommandCalculator, run: CaseRun, folder: Path, number: int) -> str:
    sent = program.prepared(asked_of(run))
    name = _slug(run, number)
    place = folder / name
    place.mkdir()
    for file, data in sent.files.items():
        (place / file).parent.mkdir(parents=True, exist_ok=True)
        (place / file).write_bytes(data)
    if sent.stdin:
        (place / "stdin.txt").write_bytes(sent.stdin)
    for beside in program.file.settings.get("copied", ()):
        source = program.file.folder / beside
        if source.is_file():
            shutil.copy(source, place / beside)
    return name


def _beside(folder: Path) -> tempfile.TemporaryDirectory[str]:
    """A private folder on the same disk; where there can be none, that is said of ``folder``."""
    try:
        return tempfile.TemporaryDirectory(dir=folder.parent, prefix=".written-")
    except OSError as error:
        raise OSError(error.errno, error.strerror, str(folder)) from None


def _instructions(file: CalculatorFile, folder: Path) -> str:
    if file.kind == "workbook":
        what = (
            "Open each workbook in this folder in the program you use, let it calculate, and save "
            "it under the same name."
        )
    else:
        what = (
            "Run the program on each folder, so that its output files lie beside its input files "
            "(what it prints goes to stdout.txt)."
        )
    again = f"refsolver check {file.path.name} --exchange {folder.name}"
    return f"{what}\nThen run again: {again}\n{_CAUTION}\n"
