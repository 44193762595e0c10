"""A calculator that is a workbook: filled in a private copy, recalculated, read.

``[workbook]`` takes ``file``, ``engine`` (``auto`` by default: the embedded engine where it
speaks the workbook, else LibreOffice; ``embedded``; ``office``; ``both``: LibreOffice is
judged, the embedded engine is put the same cases, and the record tells where their cells
differ) and ``limit`` in seconds a case. Places are cells, ranges and defined names. Before
use the engine recalculates the workbook with its own inputs; cells that differ from what the
file stores disqualify it.
"""

from __future__ import annotations

import contextlib
import itertools
import tempfile
import time
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from refsolver.calculators.contract import (
    Asked,
    Failure,
    Placed,
    Received,
    ReceivedColumns,
)
from refsolver.calculators.file import CalculatorFile, CalculatorFileError
from refsolver.calculators.mapped_workbook import MappedWorkbook
from refsolver.calculators.places import parts_of
from refsolver.calculators.settings import Settings
from refsolver.calculators.workbook.beside import EngineBeside
from refsolver.calculators.workbook.contents import read_contents
from refsolver.calculators.workbook.embedded import EmbeddedEngine
from refsolver.calculators.workbook.engine import (
    CellInput,
    CellValue,
    EngineAbsent,
    EngineFailure,
    EngineRefused,
    Readings,
    RowInput,
    RowRead,
    WorkbookEngine,
    cell_value_to_dict,
)
from refsolver.calculators.workbook.files import WorkbookUnreadable, kind_of_workbook
from refsolver.calculators.workbook.identity import formula_identity
from refsolver.calculators.workbook.office import OfficeEngine, converted_to_xlsx
from refsolver.calculators.workbook.references import CellRef, ReferenceProblem, WorkbookNames
from refsolver.calculators.workbook.shown_formats import number_formats, show_the_same
from refsolver.calculators.workbook.survey import embedded_gaps, external_problem
from refsolver.calculators.workbook.trust import TrustCheck, compare_engines, trust_check
from refsolver.calculators.workbook_forms import CellReader, Filler, handed_in, places_of

__all__ = ["WorkbookCalculator", "differences_of_copy"]

_FOLLOWED_AT_ONCE, _MOST_AT_ONCE = 8, 1024
"""Questions after which it is looked again which formula cells need still be followed: twice
as many each time that none was seen to vary, for some never do."""

_ENGINES = ("auto", "embedded", "office", "both")


class WorkbookCalculator:
    """An opened workbook. ``file`` is the calculator file with defined names resolved."""

    takes_doubles = True
    resumable = True

    def __init__(self, file: CalculatorFile) -> None:
        self._settings = Settings(file, ("file", "engine", "limit"))
        self._limit = self._settings.seconds("limit", 10.0)
        wanted = self._settings.one_of("engine", _ENGINES, "auto")
        self._book: MappedWorkbook | None = None
        self._engine: WorkbookEngine | None = None
        self._beside: EngineBeside | None = None
        self._note = ""
        self._unmoved: dict[str, dict[CellRef, CellValue | None]] = {}
        self._at_once: dict[str, int] = {}
        try:
            self._book = MappedWorkbook(file, self._settings)
            self.file = self._book.file
            problem = external_problem(self._book.graph, self._book.outputs)
            if problem is not None:
                raise CalculatorFileError(f"{file.path}: workbook: {problem}")
            self._engine, self._trust = self._trusted(self._book, wanted)
            if wanted == "both":
                self._beside = self._second_engine(self._book)
        except (WorkbookUnreadable, ReferenceProblem, EngineAbsent, EngineRefused) as problem:
            self.close()
            raise CalculatorFileError(f"{file.path}: workbook: {problem}") from None
        except EngineFailure as failure:
            self.close()
            raise CalculatorFileError(
                f"{file.path}: workbook: {failure}; choose another engine, or check it by exchange"
            ) from None
        except BaseException:
            self.close()
            raise

    def _trusted(self, book: MappedWorkbook, wanted: str) -> tuple[WorkbookEngine, TrustCheck]:
        """An engine that speaks this workbook, tried on the file's own inputs."""
        if wanted not in ("office", "both") and kind_of_workbook(book.path) in ("xlsx", "xlsm"):
            gaps = embedded_gaps(book.graph, book.graph.upstream(book.outputs).formulas)
            if gaps and wanted == "auto":
                self._note = f"not the embedded engine: {gaps[0].cell}: {gaps[0].what}"
            else:
                embedded = EmbeddedEngine(limit=self._limit)
                found = self._tried(embedded)
                if found.outcome != "disagrees":
                    return embedded, self._second_look(embedded, found)
                embedded.close()
                self._note = f"the embedded engine does not speak this workbook: {found.reason}"
                if wanted == "embedded":
                    raise CalculatorFileError(
                        f"{self._settings.where}: workbook.engine: {self._note}; "
                        'use engine = "office"'
                    )
        office = OfficeEngine(limit=max(self._limit, 30.0))
        found = self._tried(office)
        if found.outcome == "disagrees":
            office.close()
            raise CalculatorFileError(
                f"{self._settings.where}: workbook: LibreOffice does not speak this workbook: "
                f"{found.reason}; check it by exchange with its own program"
            )
        return office, found

    def _second_engine(self, book: MappedWorkbook) -> EngineBeside:
        """The embedded engine on the same cells; of .ods and .xls on the copy as .xlsx."""
        gaps = embedded_gaps(book.graph, book.graph.upstream(book.outputs).formulas)
        if gaps:
            raise CalculatorFileError(
                f'{self._settings.where}: workbook.engine: "both" compares with the embedded '
                f"engine, which does not know {gaps[0].cell}: {gaps[0].what}; use engine = "
                '"office"'
            )
        engine = EmbeddedEngine(limit=self._limit)
        try:
            return EngineBeside(engine, book.readable, [*book.outputs, *book.followed], book.graph)
        except BaseException:
            engine.close()
            raise

    @property
    def _mapped(self) -> MappedWorkbook:
        assert self._book is not None
        return self._book

    def _tried(self, engine: WorkbookEngine) -> TrustCheck:
        book = self._mapped
        return trust_check(engine, book.path, book.outputs, book.inputs, book.graph)

    def _second_look(self, engine: WorkbookEngine, found: TrustCheck) -> TrustCheck:
        """Without stored results the two engines are compared on a few inputs instead."""
        if found.outcome != "not shown":
            return found
        try:
            office = OfficeEngine()
        except EngineAbsent:
            self._note = "no second engine to compare with"
            return found
        book = self._mapped
        cases: list[Mapping[CellRef, CellInput]] = [
            {cell: float(3 + (7 * n + 5 * k) % 11) for n, cell in enumerate(book.inputs)}
            for k in range(3)
        ]
        try:
            compared = compare_engines(engine, office, book.path, book.outputs, cases)
        finally:
            office.close()
        if compared.differences:
            first = compared.differences[0]
            raise CalculatorFileError(
                f"{self._settings.where}: workbook: the file stores no results and the engines "
                f"differ at {first.cell}: {first.first} and {first.second}; save it with its "
                "results in its own program, or check it by exchange"
            )
        self._note = f"the file stores no results; agrees with {compared.second} on 3 trials"
        engine.open(book.path)
        return found

    def identity(self) -> dict[str, Any]:
        assert self._engine is not None
        return {
            **self._mapped.identity(),
            "engine": self._engine.identity(),
            **({} if self._beside is None else {"second_engine": self._beside.engine.identity()}),
            "program_of_use": False,
            "note": self._note,
            "trust": {
                "outcome": self._trust.outcome,
                "reason": self._trust.reason,
                "compared": self._trust.compared,
                "left_out": [str(cell) for cell in self._trust.left_out],
            },
        }

    def ask(self, questions: Sequence[Asked]) -> Iterator[Received]:
        alike = itertools.groupby(questions, key=lambda asked: (asked.family, asked.places))
        for (family, places), group in alike:
            unmoved = self._unmoved.setdefault(family, dict.fromkeys(self._mapped.followed))
            waiting = list(group)
            while waiting:
                count = self._at_once.get(family, _FOLLOWED_AT_ONCE) if unmoved else len(waiting)
                before = len(unmoved)
                yield from self._answers(waiting[:count], places, unmoved)
                waiting = waiting[count:]
                moved = len(unmoved) < before
                self._at_once[family] = (
                    _FOLLOWED_AT_ONCE if moved else min(2 * count, _MOST_AT_ONCE)
                )

    def _answers(
        self,
        questions: Sequence[Asked],
        places: Sequence[str],
        unmoved: dict[CellRef, CellValue | None],
    ) -> Iterator[Received]:
        """Questions that want the same places read, put in as few messages as may be.

        ``unmoved`` are the formula cells not yet seen with two values in this family, and the
        value of each: only these need to be read for coverage.
        """
        filled = [places_of(question.slots) for question in questions]
        filler = Filler(filled, self._mapped.cell)
        reader = CellReader(places, self._mapped.cell, list(unmoved))
        rows = [
            filler.row(form, handed_in(question.slots))
            for form, question in zip(filled, questions, strict=True)
        ]
        for row, engines in self._rows(filler, rows, reader):
            if isinstance(row, EngineFailure):
                yield Received(failure=_failure(row))
                continue
            exercised = {}
            for cell, name, value in reader.followed(row):
                exercised[name] = cell_value_to_dict(value)
                if unmoved.get(cell, value) is None:
                    unmoved[cell] = value
                elif unmoved.get(cell, value) != value:
                    del unmoved[cell]
            values, raw = reader.raw(row)
            yield Received(values, raw, exercised=exercised, engines=engines)

    def ask_columns(
        self, places: Mapping[str, Placed], count: int, wanted: Sequence[str]
    ) -> ReceivedColumns:
        """Many cases of one form, by the engine that is judged; no cell is followed."""
        assert self._engine is not None
        filled = tuple(places)
        filler = Filler([filled], self._mapped.cell)
        reader = CellReader(wanted, self._mapped.cell)
        columns = [x if isinstance(x, list) else [x] * count for x in places.values()]
        rows = [filler.row(filled, row) for row in zip(*columns, strict=True)] or [()] * count
        begun = time.perf_counter()
        answers = list(self._engine.run_rows(filler.cells, rows, reader.cells, reader.shown))
        seconds = (time.perf_counter() - begun) / max(1, count)
        failures = {n: _failure(a) for n, a in enumerate(answers) if isinstance(a, EngineFailure)}
        read = [None if isinstance(answer, EngineFailure) else answer for answer in answers]
        values, displayed = reader.columns(read)
        return ReceivedColumns(values, failures, seconds, displayed)

    def _rows(
        self, filler: Filler, rows: Sequence[RowInput], reader: CellReader
    ) -> Iterator[tuple[RowRead | EngineFailure, Mapping[str, Any]]]:
        """Each answer, and where a second engine was asked for what it sees otherwise."""
        assert self._engine is not None
        if self._beside is not None:
            return self._compared(self._engine, self._beside, filler, rows, reader)
        answers = self._engine.run_rows(filler.cells, rows, reader.cells, reader.shown)
        return zip(answers, itertools.repeat({}), strict=False)

    def _compared(
        self,
        engine: WorkbookEngine,
        beside: EngineBeside,
        filler: Filler,
        rows: Sequence[RowInput],
        reader: CellReader,
    ) -> Iterator[tuple[RowRead | EngineFailure, Mapping[str, Any]]]:
        cells = list(dict.fromkeys([*reader.cells, *beside.cells]))
        batch = [filler.case(row) for row in rows]
        for start in range(0, len(batch), _FOLLOWED_AT_ONCE):
            some = batch[start : start + _FOLLOWED_AT_ONCE]
            answers = engine.run(some, cells, cells)
            for found, compared in zip(answers, beside.compared(some, answers), strict=True):
                yield _row_of(found, reader), compared

    def close(self) -> None:
        if self._engine is not None:
            self._engine.close()
        if self._beside is not None:
            self._beside.engine.close()
        if self._book is not None:
            self._book.close()


def differences_of_copy(
    path: Path, identity: Mapping[str, Any], input_places: Sequence[str]
) -> Iterator[str]:
    """What a copy of a workbook calculates or shows otherwise than the validated one.

    ``identity`` is the validated one's; the mapped inputs are left out. Raises
    CalculatorFileError where the file is no workbook; a place that the copy has not got is no
    input of it.
    """
    with tempfile.TemporaryDirectory(prefix="refsolver-") as folder:
        try:
            readable = path
            if kind_of_workbook(path) not in ("xlsx", "xlsm"):
                readable = converted_to_xlsx(path, Path(folder) / "readable.xlsx")
            names = read_contents(readable).names
            inputs = [cell for place in input_places for cell in _found(place, names)]
            if formula_identity(readable, inputs) != identity["formula_identity"]:
                yield "its formulas, names or constants are not the validated ones"
            shows = identity.get("shows", {})
            cells = {name: _found(name, names) for name in shows}
            formats = number_formats(readable, [c for found in cells.values() for c in found])
        except (WorkbookUnreadable, EngineAbsent, EngineFailure, EngineRefused) as problem:
            raise CalculatorFileError(str(problem)) from None
    for name, code in shows.items():
        for cell in cells[name]:
            if not show_the_same(code, formats.get(cell, "")):
                yield (
                    f"{name} shows numbers by the format {formats.get(cell)!r}, the validated one "
                    f"by {code!r}"
                )


def _found(place: str, names: WorkbookNames) -> list[CellRef]:
    cells: list[CellRef] = []
    for part in parts_of(place):
        with contextlib.suppress(ReferenceProblem):
            cells += names.cells(part)
    return cells


def _row_of(answer: Readings | EngineFailure, reader: CellReader) -> RowRead | EngineFailure:
    if isinstance(answer, EngineFailure):
        return answer
    return RowRead(
        [answer.values[cell] for cell in reader.cells],
        [answer.displayed[cell] for cell in reader.cells[: reader.shown]],
    )


def _failure(failure: EngineFailure) -> Failure:
    return Failure(failure.kind, failure.detail)
