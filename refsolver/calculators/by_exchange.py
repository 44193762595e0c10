"""A calculator checked by exchange: its own program computes, elsewhere, and we read back.

The folder holds ``exchange.json`` (what was asked), and for each case a filled private
copy of the workbook, or a folder of input files for a program. The user opens each copy
in the program of use, lets it calculate, and saves it; or runs the program on each
folder. Nothing is recalculated here.
"""

from __future__ import annotations

import re
import zipfile
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

import attrs

from refsolver.calculators.by_command import CommandCalculator
from refsolver.calculators.contract import Asked, Failure, Received
from refsolver.calculators.file import CalculatorFile, CalculatorFileError
from refsolver.calculators.mapped_workbook import MappedWorkbook
from refsolver.calculators.program import ProgramProblem
from refsolver.calculators.settings import Settings
from refsolver.calculators.textformat import TemplateProblem
from refsolver.calculators.workbook.display import displayed_text
from refsolver.calculators.workbook.engine import BlankCell, CellValue, EngineAbsent, NumberCell
from refsolver.calculators.workbook.files import WorkbookUnreadable
from refsolver.calculators.workbook.stored import stored_values
from refsolver.calculators.workbook_forms import raw_value
from refsolver.catalogue.userfile import FileUnreadable, file_bytes, json_of

__all__ = ["FORMAT", "INDEX", "ExchangeCalculator"]

FORMAT = "refsolver exchange, version 1"
INDEX = "exchange.json"
NOT_SAVED = "the copy holds no result: open it in the program of use, calculate, and save it"


class ExchangeCalculator:
    """The answers in a folder of exchange; only its cases can be asked."""

    resumable = False

    def __init__(self, file: CalculatorFile, folder: Path) -> None:
        self._folder = folder
        self._index = _read_index(folder)
        if self._index.get("calculator") != file.sha256:
            raise CalculatorFileError(
                f"{folder / INDEX}: was written for another state of {file.path}; {_ANEW}"
            )
        self.cases = frozenset(self._index["cases"])
        self._book: MappedWorkbook | None = None
        self._program: CommandCalculator | None = None
        if file.kind == "workbook":
            settings = Settings(file, ("file", "engine", "limit"))
            try:
                self._book = MappedWorkbook(file, settings)
            except (WorkbookUnreadable, EngineAbsent) as problem:
                raise CalculatorFileError(f"{file.path}: workbook: {problem}") from None
            self.file = self._book.file
        elif file.kind == "command":
            self._program = CommandCalculator(file)
            self.file = file
        else:
            raise CalculatorFileError(
                f"{file.path}: a calculator of kind {file.kind} is not checked by exchange; leave "
                "--exchange out"
            )
        self.takes_doubles = self._book is not None
        self._programs: set[str] = set()

    def identity(self) -> dict[str, Any]:
        base = self._book.identity() if self._book is not None else {}
        if self._program is not None:
            base = self._program.identity()
        said = ", ".join(sorted(self._programs)) or str(self._index.get("program") or "not stated")
        return {
            **base,
            "engine": f"{said} (as stated by the files, by exchange)",
            "program_of_use": True,
            "by_exchange": True,
        }

    def ask(self, questions: Sequence[Asked]) -> Iterator[Received]:
        return map(self._from_folder if self._book is None else self._from_copy, questions)

    def _from_copy(self, question: Asked) -> Received:
        assert self._book is not None
        path = self._folder / self._index["cases"][question.case]
        try:
            stored = stored_values(path)
        except (WorkbookUnreadable, OSError) as problem:
            return Received(failure=Failure("garbage", f"{path.name}: {problem}"))
        self._programs.add(_program_of(path))
        formats = _number_formats(path)
        values: dict[str, dict[str, Any]] = {}
        for place in question.places:
            cell = self._book.names.cell(place)
            value = stored.get(cell, BlankCell())
            if isinstance(value, BlankCell):
                values[place] = {"blank": True, "in_question": NOT_SAVED}
                continue
            values[place] = raw_value(value, _shown(value, formats(cell)))
        handed = self._changed_inputs(question, stored)
        return Received(values=values, raw={"file": path.name, "cells": values}, handed=handed)

    def _changed_inputs(self, question: Asked, stored: Mapping[Any, Any]) -> dict[str, str]:
        """Inputs that are not what was written: the reference is solved for what stands there."""
        assert self._book is not None
        changed: dict[str, str] = {}
        for slot in question.slots:
            value = stored.get(self._book.names.cell(slot.place))
            if slot.given and isinstance(value, NumberCell) and value.value != slot.double:
                changed[slot.place] = repr(value.value)
        return changed

    def _from_folder(self, question: Asked) -> Received:
        assert self._program is not None
        folder = self._folder / self._index["cases"][question.case]
        try:
            sent = self._program.prepared(question)
        except (ProgramProblem, TemplateProblem) as problem:
            return Received(failure=Failure("input", str(problem)))
        names = self._program.output_names(question.family) or ("stdout.txt",)
        texts: list[str] = []
        for name in names:
            try:
                raw = file_bytes(folder / name, self._program.output_limit(question.family))
                text = raw.decode(self._program.encoding(question.family))
                texts.append(text.replace("\r\n", "\n").replace("\r", "\n"))
            except ValueError:
                why = f"{folder.name}/{name} is not there or cannot be read"
                blank = {"blank": True, "in_question": why}
                return Received(dict.fromkeys(question.places, blank), handed=sent.handed)
        text = "\n".join(texts)
        return Received(
            values=self._program.values_in(text, question),
            raw={"text": text},
            handed=sent.handed,
        )

    def close(self) -> None:
        if self._book is not None:
            self._book.close()


def _read_index(folder: Path) -> dict[str, Any]:
    path = folder / INDEX
    try:
        data = json_of(file_bytes(path))
    except FileUnreadable as error:
        raise CalculatorFileError(f"{error}; {_ANEW}") from None
    except ValueError as error:
        raise CalculatorFileError(f"{path}: cannot be read ({error}); {_ANEW}") from None
    if not isinstance(data, dict) or data.get("format") != FORMAT:
        raise CalculatorFileError(f"{path}: is not of the format {FORMAT!r}; {_ANEW}")
    cases = data.get("cases")
    if not isinstance(cases, dict) or not all(isinstance(x, str) for x in cases.values()):
        raise CalculatorFileError(f"{path}: cases: lists no name for each case; {_ANEW}")
    for case, name in cases.items():
        if name in ("", ".", "..") or set(name) & set("/\\\0:"):
            raise CalculatorFileError(
                f"{path}: cases: {case}: {name!r} is no name within the folder; {_ANEW}"
            )
    return data


_ANEW = "have the folder written anew (--exchange with a folder that is not there yet)"


def _program_of(path: Path) -> str:
    """The program that saved a workbook last, as the file itself states it."""
    try:
        with zipfile.ZipFile(path) as package:
            text = package.read("docProps/app.xml").decode("utf-8", "replace")
    except (OSError, KeyError, zipfile.BadZipFile):
        return "not stated"
    found = [
        match[1]
        for name in ("Application", "AppVersion")
        if (match := re.search(f"<{name}>([^<]*)</{name}>", text))
    ]
    return " ".join(found) or "not stated"


def _shown(value: CellValue, number_format: str) -> str | None:
    return displayed_text(value.value, number_format) if isinstance(value, NumberCell) else None


@attrs.frozen
class _Formats:
    book: Any

    def __call__(self, cell: Any) -> str:
        return str(self.book[cell.sheet].cell(cell.row, cell.column).number_format)


def _number_formats(path: Path) -> _Formats:
    from refsolver.calculators.workbook.contents import read_openpyxl

    return _Formats(read_openpyxl(path))
