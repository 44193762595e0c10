"""A workbook and a mapping onto it: names resolved, cells found, formulas read, not run."""

from __future__ import annotations

import hashlib
import tempfile
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import attrs

from refsolver.calculators.contract import Slot
from refsolver.calculators.file import CalculatorFile, CalculatorFileError, FamilySection
from refsolver.calculators.noticed import noticed
from refsolver.calculators.places import parts_of
from refsolver.calculators.settings import Settings
from refsolver.calculators.typed_cells import held_to_rules
from refsolver.calculators.warden import private_prefix
from refsolver.calculators.workbook.contents import read_contents
from refsolver.calculators.workbook.engine import CellInput
from refsolver.calculators.workbook.files import kind_of_workbook
from refsolver.calculators.workbook.graph import DependencyGraph
from refsolver.calculators.workbook.identity import formula_identity
from refsolver.calculators.workbook.office import converted_to_xlsx
from refsolver.calculators.workbook.references import CellRef, ReferenceProblem
from refsolver.calculators.workbook.shown_formats import number_formats
from refsolver.calculators.workbook.survey import input_problem, output_problem

__all__ = ["MappedWorkbook"]

_MOST_EXERCISED = 3000
"""Formula cells beyond which coverage of cells is not followed."""


class MappedWorkbook:
    """The workbook of a calculator file.

    ``file`` is the calculator file with defined names resolved to cells; ``inputs`` and
    ``outputs`` are the mapped cells, ``followed`` the formula cells between them. Raises
    CalculatorFileError, WorkbookUnreadable, EngineAbsent, EngineFailure.
    """

    def __init__(self, file: CalculatorFile, settings: Settings) -> None:
        self._where = settings.where
        self._place_of: dict[str, CellRef] = {}
        self.path = settings.path("file")
        self._scratch = tempfile.TemporaryDirectory(prefix=private_prefix("refsolver"))
        try:
            self.readable = self._as_xlsx()
            contents = read_contents(self.readable)
            self.names = contents.names
            self.graph = DependencyGraph(contents)
            self.file = attrs.evolve(file, sections=tuple(self._resolved(s) for s in file.sections))
            self.inputs, self.outputs = self._mapped_cells()
            self.file = attrs.evolve(file, sections=tuple(map(self._typed, self.file.sections)))
            for cell in self.inputs:
                problem = input_problem(contents, cell)
                if problem is not None:
                    raise CalculatorFileError(f"{file.path}: input {cell}: {problem}")
            for cell in self.outputs:
                problem = output_problem(contents, cell)
                if problem is not None:
                    raise CalculatorFileError(f"{file.path}: output {cell}: {problem}")
        except BaseException:
            self.close()
            raise
        upstream = sorted(self.graph.upstream(self.outputs).formulas)[:_MOST_EXERCISED]
        self.followed = [cell for cell in upstream if self._depends_on_inputs(cell)]

    def _as_xlsx(self) -> Path:
        """The workbook itself, or for .ods and .xls a converted copy to read formulas from."""
        if kind_of_workbook(self.path) in ("xlsx", "xlsm"):
            return self.path
        return converted_to_xlsx(self.path, Path(self._scratch.name) / "readable.xlsx")

    def _resolved(self, section: FamilySection) -> FamilySection:
        def place(text: str, key: str) -> str:
            try:
                cells = self._cells(text)
            except ReferenceProblem as problem:
                raise CalculatorFileError(
                    f"{self._where}: {section.family}: {key}: {problem}"
                ) from None
            one_range = ":" in text and "!" in text and len(parts_of(text)) == 1
            return text if one_range else ", ".join(map(str, cells))

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

    def _typed(self, section: FamilySection) -> FamilySection:
        """The section held to what the cells let their user type."""
        try:
            return held_to_rules(section, self.graph.contents, self._cells, self.inputs)
        except CalculatorFileError as problem:
            raise CalculatorFileError(f"{self._where}: {section.family}: {problem}") from None

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

    def _shown(self) -> dict[str, str]:
        """By output cell whose text is judged, its number format."""
        lines = [line for section in self.file.sections for line in section.outputs]
        places = dict.fromkeys(line.place for line in lines if line.judge != "stored")
        cells = dict.fromkeys(cell for place in places for cell in self._cells(place))
        formats = number_formats(self.readable, cells)
        return {str(cell): code for cell, code in formats.items()}

    def _cells(self, place: str) -> list[CellRef]:
        return [cell for part in parts_of(place) for cell in self.names.cells(part)]

    def _depends_on_inputs(self, cell: CellRef) -> bool:
        upstream = self.graph.upstream([cell])
        return any(upstream.reads(given) for given in self.inputs)

    def filled(self, slots: Sequence[Slot]) -> dict[CellRef, CellInput]:
        """What goes into which cell."""
        return {self.cell(slot.place): slot.handed for slot in slots}

    def cell(self, place: str) -> CellRef:
        """The one cell a place means; every case asks for the same ones."""
        if place not in self._place_of:
            self._place_of[place] = self.names.cell(place)
        return self._place_of[place]

    def identity(self) -> dict[str, Any]:
        """File hash, formula identity, and what was noticed about the workbook."""
        return {
            "files": [
                {
                    "name": self.path.name,
                    "sha256": hashlib.sha256(self.path.read_bytes()).hexdigest(),
                }
            ],
            "formula_identity": formula_identity(self.readable, self.inputs),
            "shows": self._shown(),
            "noticed": noticed(self.graph, self.inputs, self.outputs),
        }

    def close(self) -> None:
        self._scratch.cleanup()
