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
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

import attrs

from refsolver.calculators.contract import Asked, Failure, Received
from refsolver.calculators.file import CalculatorFile, CalculatorFileError
from refsolver.calculators.mapped_workbook import MappedWorkbook, raw_value
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
    WorkbookEngine,
    cell_value_to_dict,
)
from refsolver.calculators.workbook.files import WorkbookUnreadable, kind_of_workbook
from refsolver.calculators.workbook.identity import formula_identity
from refsolver.calculators.workbook.office import OfficeEngine, converted_to_xlsx
from refsolver.calculators.workbook.references import CellRef, ReferenceProblem
from refsolver.calculators.workbook.survey import embedded_gaps
from refsolver.calculators.workbook.trust import TrustCheck, compare_engines, trust_check

__all__ = ["WorkbookCalculator", "identity_of_copy"]

_FOLLOWED_AT_ONCE = 8
"""Questions after which it is looked again which formula cells need still be followed."""

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
        try:
            self._book = MappedWorkbook(file, self._settings)
            self.file = self._book.file
            self._engine, self._trust = self._trusted(self._book, wanted)
            if wanted == "both":
                self._beside = self._second_engine(self._book)
        except (WorkbookUnreadable, ReferenceProblem, EngineAbsent, EngineRefused) as problem:
            self.close()
            raise CalculatorFileError(f"{file.path}: workbook: {problem}") from None
        except EngineFailure as failure:
            self.close()
            raise CalculatorFileError(f"{file.path}: workbook: {failure}") from None
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
                f"{self._settings.where}: workbook: LibreOffice does not recalculate what the "
                f"file stores: {found.reason}; check it by exchange with its own program"
            )
        return office, found

    def _second_engine(self, book: MappedWorkbook) -> EngineBeside:
        """The embedded engine on the same cells; of .ods and .xls on the copy as .xlsx."""
        gaps = embedded_gaps(book.graph, book.graph.upstream(book.outputs).formulas)
        if gaps:
            raise CalculatorFileError(
                f'{self._settings.where}: workbook.engine: "both" compares with the embedded '
                f"engine, which does not know {gaps[0].cell}: {gaps[0].what}"
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
                f"differ at {first.cell}: {first.first} and {first.second}"
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
                count = _FOLLOWED_AT_ONCE if unmoved else len(waiting)
                yield from self._answers(waiting[:count], places, unmoved)
                waiting = waiting[count:]

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
        assert self._engine is not None
        book = self._mapped
        wanted = [(place, cell, str(cell)) for place in places for cell in [book.cell(place)]]
        followed = [(cell, str(cell)) for cell in unmoved]
        shown = list(dict.fromkeys(cell for _, cell, _ in wanted))
        reads = list(dict.fromkeys([*shown, *unmoved]))
        batch = [book.filled(question.slots) for question in questions]
        for answer, engines in self._both(batch, reads, shown):
            if isinstance(answer, EngineFailure):
                yield _failed(answer)
                continue
            for cell, _ in followed:
                first = unmoved.get(cell)
                if first is None and cell in unmoved:
                    unmoved[cell] = answer.values[cell]
                elif first is not None and first != answer.values[cell]:
                    del unmoved[cell]
            yield attrs.evolve(_received(answer, wanted, followed), engines=engines)

    def _both(
        self,
        batch: Sequence[Mapping[CellRef, CellInput]],
        reads: Sequence[CellRef],
        shown: Sequence[CellRef],
    ) -> Iterator[tuple[Readings | EngineFailure, dict[str, Any]]]:
        """Each answer, and where a second engine was asked for what it sees otherwise."""
        assert self._engine is not None
        if self._beside is None:
            for answer in self._engine.run_each(batch, reads, shown):
                yield answer, {}
            return
        cells = list(dict.fromkeys([*reads, *self._beside.cells]))
        for start in range(0, len(batch), _FOLLOWED_AT_ONCE):
            some = batch[start : start + _FOLLOWED_AT_ONCE]
            answers = self._engine.run(some, cells, cells)
            yield from zip(answers, self._beside.compared(some, answers), strict=True)

    def close(self) -> None:
        if self._engine is not None:
            self._engine.close()
        if self._beside is not None:
            self._beside.engine.close()
        if self._book is not None:
            self._book.close()


def identity_of_copy(path: Path, input_places: Sequence[str]) -> str:
    """The formula identity of a copy of a workbook, its mapped inputs left out.

    Raises CalculatorFileError where the file is no workbook; a place that the copy has not
    got is no input of it.
    """
    with tempfile.TemporaryDirectory(prefix="refsolver-") as folder:
        try:
            readable = path
            if kind_of_workbook(path) not in ("xlsx", "xlsm"):
                readable = converted_to_xlsx(path, Path(folder) / "readable.xlsx")
            names = read_contents(readable).names
            inputs: list[CellRef] = []
            for place in input_places:
                for part in place.split(", "):
                    with contextlib.suppress(ReferenceProblem):
                        inputs += names.cells(part)
            return formula_identity(readable, inputs)
        except (WorkbookUnreadable, EngineAbsent, EngineFailure, EngineRefused) as problem:
            raise CalculatorFileError(str(problem)) from None


def _received(
    answer: Readings,
    wanted: Sequence[tuple[str, CellRef, str]],
    followed: Sequence[tuple[CellRef, str]],
) -> Received:
    """``wanted`` are places, their cells and what they are called; ``followed`` cells alike."""
    values, raw = {}, {}
    for place, cell, name in wanted:
        values[place] = raw_value(answer.values[cell], answer.displayed.get(cell))
        raw[name] = dict(values[place])
    exercised = {name: cell_value_to_dict(answer.values[cell]) for cell, name in followed}
    return Received(values=values, raw=raw, exercised=exercised)


def _failed(failure: EngineFailure) -> Received:
    return Received(failure=Failure(failure.kind, failure.detail))
