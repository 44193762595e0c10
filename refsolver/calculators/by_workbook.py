"""A calculator that is a workbook: filled in a private copy, recalculated, read.

``[workbook]`` takes ``file``, ``engine`` (``auto`` by default: the embedded engine where it
speaks the workbook, else LibreOffice; ``embedded``; ``office``) and ``limit`` in seconds a
case. Places are cells, ranges and defined names. Before use the engine recalculates the
workbook with its own inputs; cells that differ from what the file stores disqualify it.
"""

from __future__ import annotations

import contextlib
import hashlib
import tempfile
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import attrs

from refsolver.calculators.contract import Asked, Failure, Received, Slot
from refsolver.calculators.file import CalculatorFile, CalculatorFileError, FamilySection
from refsolver.calculators.settings import Settings
from refsolver.calculators.workbook.contents import read_contents
from refsolver.calculators.workbook.embedded import EmbeddedEngine
from refsolver.calculators.workbook.engine import (
    CellInput,
    CellValue,
    EngineAbsent,
    EngineFailure,
    EngineRefused,
    NumberCell,
    Readings,
    WorkbookEngine,
    cell_value_to_dict,
)
from refsolver.calculators.workbook.files import WorkbookUnreadable, kind_of_workbook
from refsolver.calculators.workbook.graph import DependencyGraph
from refsolver.calculators.workbook.identity import formula_identity
from refsolver.calculators.workbook.office import OfficeEngine, converted_to_xlsx
from refsolver.calculators.workbook.references import CellRef, ReferenceProblem
from refsolver.calculators.workbook.survey import embedded_gaps, input_problem, survey
from refsolver.calculators.workbook.trust import TrustCheck, compare_engines, trust_check

__all__ = ["WorkbookCalculator", "identity_of_copy"]

_ENGINES = ("auto", "embedded", "office")
_MOST_EXERCISED = 3000
"""Formula cells beyond which coverage of cells is not followed."""


class WorkbookCalculator:
    """An opened workbook. ``file`` is the calculator file with defined names resolved."""

    takes_doubles = True

    def __init__(self, file: CalculatorFile) -> None:
        self._settings = Settings(file, ("file", "engine", "limit"))
        self._path = self._settings.path("file")
        self._limit = self._settings.seconds("limit", 10.0)
        wanted = self._settings.one_of("engine", _ENGINES, "auto")
        self._scratch = tempfile.TemporaryDirectory(prefix="refsolver-")
        self._engine: WorkbookEngine | None = None
        try:
            self._readable = self._as_xlsx()
            contents = read_contents(self._readable)
            self._names = contents.names
            self._graph = DependencyGraph(contents)
            self.file = attrs.evolve(file, sections=tuple(self._resolved(s) for s in file.sections))
            self._inputs, self._outputs = self._mapped_cells()
            for cell in self._inputs:
                problem = input_problem(contents, cell)
                if problem is not None:
                    raise CalculatorFileError(f"{file.path}: input {cell}: {problem}")
            self._note = ""
            self._engine, self._trust = self._trusted(wanted)
        except (WorkbookUnreadable, ReferenceProblem, EngineAbsent, EngineRefused) as problem:
            self.close()
            raise CalculatorFileError(f"{file.path}: workbook: {problem}") from None
        except EngineFailure as failure:
            self.close()
            raise CalculatorFileError(f"{file.path}: workbook: {failure}") from None
        except BaseException:
            self.close()
            raise
        upstream = self._graph.upstream(self._outputs)
        self._followed = sorted(
            cell for cell in upstream.formulas if self._depends_on_inputs(cell)
        )[:_MOST_EXERCISED]

    def _as_xlsx(self) -> Path:
        """The workbook itself, or for .ods and .xls a converted copy to read formulas from."""
        if kind_of_workbook(self._path) in ("xlsx", "xlsm"):
            return self._path
        return converted_to_xlsx(self._path, Path(self._scratch.name) / "readable.xlsx")

    def _resolved(self, section: FamilySection) -> FamilySection:
        def place(text: str, key: str) -> str:
            try:
                cells = self._names.cells(text)
            except ReferenceProblem as problem:
                raise CalculatorFileError(
                    f"{self._settings.where}: {section.family}: {key}: {problem}"
                ) from None
            return text if ":" in text and "!" in text else ", ".join(map(str, cells))

        inputs = tuple(
            attrs.evolve(line, place=place(line.place, f"input {line.id}"))
            for line in section.inputs
        )
        outputs = []
        for line in section.outputs:
            changes: dict[str, Any] = {"place": place(line.place, f"output {line.id}")}
            for name in ("sense", "quadrant"):
                part = getattr(line, name)
                if part is not None:
                    said = place(part.place, f"output {line.id}.{name}")
                    changes[name] = attrs.evolve(part, place=said)
            outputs.append(attrs.evolve(line, **changes))
        return attrs.evolve(section, inputs=inputs, outputs=tuple(outputs))

    def _mapped_cells(self) -> tuple[list[CellRef], list[CellRef]]:
        inputs: dict[CellRef, None] = {}
        outputs: dict[CellRef, None] = {}
        for section in self.file.sections:
            for line in section.inputs:
                inputs.update(dict.fromkeys(self._cells(line.place)))
            for out in section.outputs:
                for part in (out, out.sense, out.quadrant):
                    if part is not None:
                        outputs.update(dict.fromkeys(self._cells(part.place)))
        return list(inputs), list(outputs)

    def _cells(self, place: str) -> list[CellRef]:
        return [cell for part in place.split(", ") for cell in self._names.cells(part)]

    def _depends_on_inputs(self, cell: CellRef) -> bool:
        upstream = self._graph.upstream([cell])
        return any(upstream.reads(given) for given in self._inputs)

    def _trusted(self, wanted: str) -> tuple[WorkbookEngine, TrustCheck]:
        """An engine that speaks this workbook, tried on the file's own inputs."""
        if wanted != "office" and kind_of_workbook(self._path) in ("xlsx", "xlsm"):
            gaps = embedded_gaps(self._graph, self._graph.upstream(self._outputs).formulas)
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

    def _tried(self, engine: WorkbookEngine) -> TrustCheck:
        return trust_check(engine, self._path, self._outputs, self._inputs, self._graph)

    def _second_look(self, engine: WorkbookEngine, found: TrustCheck) -> TrustCheck:
        """Without stored results the two engines are compared on a few inputs instead."""
        if found.outcome != "not shown":
            return found
        try:
            office = OfficeEngine()
        except EngineAbsent:
            self._note = "no second engine to compare with"
            return found
        cases: list[Mapping[CellRef, CellInput]] = [
            {cell: float(3 + (7 * n + 5 * k) % 11) for n, cell in enumerate(self._inputs)}
            for k in range(3)
        ]
        try:
            compared = compare_engines(engine, office, self._path, self._outputs, cases)
        finally:
            office.close()
        if compared.differences:
            first = compared.differences[0]
            raise CalculatorFileError(
                f"{self._settings.where}: workbook: the file stores no results and the engines "
                f"differ at {first.cell}: {first.first} and {first.second}"
            )
        self._note = f"the file stores no results; agrees with {compared.second} on 3 trials"
        engine.open(self._path)
        return found

    def identity(self) -> dict[str, Any]:
        assert self._engine is not None
        noticed = survey(self._graph, self._outputs)
        return {
            "files": [{"name": self._path.name, "sha256": _sha256(self._path)}],
            "formula_identity": formula_identity(self._readable, self._inputs),
            "engine": self._engine.identity(),
            "program_of_use": False,
            "note": self._note,
            "trust": {
                "outcome": self._trust.outcome,
                "reason": self._trust.reason,
                "compared": self._trust.compared,
                "left_out": [str(cell) for cell in self._trust.left_out],
            },
            "noticed": {
                "hidden_sheets": list(noticed.hidden_sheets),
                "macros": noticed.macros,
                "external": list(noticed.external_targets),
                "volatile": [str(v.cell) for v in noticed.volatile],
            },
        }

    def ask(self, questions: Sequence[Asked]) -> list[Received]:
        assert self._engine is not None
        batch = [self._filled(question.slots) for question in questions]
        wanted = [
            {place: self._names.cell(place) for place in question.places} for question in questions
        ]
        reads = list(dict.fromkeys([c for w in wanted for c in w.values()] + self._followed))
        shown = list(dict.fromkeys(c for w in wanted for c in w.values()))
        answers = self._engine.run(batch, reads, shown)
        return [
            _failed(answer) if isinstance(answer, EngineFailure) else self._received(answer, places)
            for answer, places in zip(answers, wanted, strict=True)
        ]

    def _filled(self, slots: Sequence[Slot]) -> dict[CellRef, CellInput]:
        return {self._names.cell(slot.place): _content(slot) for slot in slots}

    def _received(self, answer: Readings, places: Mapping[str, CellRef]) -> Received:
        values = {
            place: _raw(answer.values[cell], answer.displayed.get(cell))
            for place, cell in places.items()
        }
        return Received(
            values=values,
            raw={str(cell): dict(values[place]) for place, cell in places.items()},
            exercised={
                str(cell): cell_value_to_dict(answer.values[cell]) for cell in self._followed
            },
        )

    def close(self) -> None:
        if self._engine is not None:
            self._engine.close()
        self._scratch.cleanup()


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


def _sha256(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()


def _failed(failure: EngineFailure) -> Received:
    return Received(failure=Failure(failure.kind, failure.detail))


def _content(slot: Slot) -> CellInput:
    if slot.double is not None:
        return slot.double
    return None if slot.value == "" else slot.value


def _raw(value: CellValue, displayed: str | None) -> dict[str, Any]:
    data = cell_value_to_dict(value)
    if isinstance(value, NumberCell):
        data = {"number": repr(value.value)}
        if displayed is not None:
            data["displayed"] = displayed
    elif "boolean" in data:
        data = {"text": str(data["boolean"]).upper()}
    return data
