"""The engine's side of a worker: what is true of every engine that lives in a process."""

from __future__ import annotations

import itertools
import math
import os
import shutil
import tempfile
import weakref
from collections.abc import Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any, Self

import attrs

from refsolver.calculators.warden import private_prefix
from refsolver.calculators.workbook.engine import (
    BlankCell,
    BooleanCell,
    CellInput,
    CellValue,
    EngineAbsent,
    EngineFailure,
    EngineRefused,
    ErrorCell,
    NumberCell,
    Readings,
    RowInput,
    RowRead,
    TextCell,
)
from refsolver.calculators.workbook.files import WorkbookKind, kind_of_workbook
from refsolver.calculators.workbook.references import CellRef
from refsolver.calculators.workbook.worker_loop import OWN, packed, unpacked
from refsolver.calculators.worker import Worker, WorkerFailure

__all__ = ["WorkerEngine"]

FIRST_CHUNK = 4
LARGEST_CHUNK = 256
CHUNK_SECONDS = 0.25

BLANK = BlankCell()
_NUMBERS = {float}
_NUMBERS_AND_BLANKS = {float, type(None)}


class WorkerEngine:
    """A :class:`~.engine.WorkbookEngine` in a worker process, started when first used.

    ``limit`` is the seconds allowed for one question: opening, one recalculation, or one
    chunk of a batch, which is kept to a quarter of the limit at the speed last seen.
    Usable as a context manager.
    """

    name: str
    kinds: frozenset[WorkbookKind]

    def __init__(self, worker: Worker, folder: Path, limit: float) -> None:
        self.limit = limit
        self._worker = worker
        self._folder = folder
        self._remove_folder = weakref.finalize(self, shutil.rmtree, folder, ignore_errors=True)
        self._book: Path | None = None
        self._sheets: tuple[str, ...] = ()
        self._set: dict[CellRef, Any] = {}
        self._open_in: int | None = None
        self._chunk = FIRST_CHUNK
        self._flight: _Flight | None = None

    @staticmethod
    def private_folder() -> Path:
        return Path(tempfile.mkdtemp(prefix=private_prefix("refsolver")))

    def identity(self) -> str:
        return str(self._greeting()["identity"])

    def open(self, path: Path) -> None:
        kind = kind_of_workbook(path)
        if kind not in self.kinds:
            raise EngineRefused(
                f"{path}: {self.name} does not read .{kind} workbooks; it reads "
                + ", ".join(f".{k}" for k in sorted(self.kinds))
            )
        self._book = self._open_in = None
        self._set = {}
        book = self._folder / f"book.{kind}"
        shutil.copyfile(path, book)
        self._book = book
        try:
            self._open()
        except EngineRefused as error:
            self._book = None
            raise EngineRefused(f"{path}: {error}") from error

    def sheet_names(self) -> tuple[str, ...]:
        self._ensure_open()
        return self._sheets

    def set_cells(self, cells: Mapping[CellRef, CellInput]) -> None:
        encoded = {cell: _encoded(cell, value) for cell, value in cells.items()}
        self._ensure_open()
        self._ask(do="set", cells=list(encoded), values=list(encoded.values()))
        self._set |= encoded

    def recalculate(self) -> None:
        self._ensure_open()
        self._ask(do="recalculate")

    def read(self, cells: Sequence[CellRef]) -> dict[CellRef, CellValue]:
        self._ensure_open()
        return _decoded(cells, self._ask(do="read", cells=cells))

    def read_displayed(self, cells: Sequence[CellRef]) -> dict[CellRef, str | None]:
        self._ensure_open()
        return dict(zip(cells, self._ask(do="show", cells=cells), strict=True))

    def reset(self) -> None:
        self._set = {}
        self._ensure_open()
        self._ask(do="reset")

    def run(
        self,
        batch: Sequence[Mapping[CellRef, CellInput]],
        reads: Sequence[CellRef],
        displayed: Sequence[CellRef] = (),
    ) -> list[Readings | EngineFailure]:
        cells = list(dict.fromkeys(itertools.chain.from_iterable(batch)))
        rows = [[case.get(cell, OWN) for cell in cells] for case in batch]
        read = list(dict.fromkeys([*displayed, *reads]))
        shown = len(dict.fromkeys(displayed))
        return [
            answer if isinstance(answer, EngineFailure) else _readings(answer, read, reads)
            for answer in self.run_rows(cells, rows, read, shown)
        ]

    def run_rows(
        self,
        cells: Sequence[CellRef],
        rows: Sequence[RowInput],
        reads: Sequence[CellRef],
        shown: int = 0,
    ) -> Iterator[RowRead | EngineFailure]:
        self._set = {}
        coming: _Flight | None = None
        done = 0
        try:
            while done < len(rows) or coming is not None:
                answers = [] if coming is None else self._answers(coming)
                coming = None
                if done < len(rows):
                    chunk = rows[done : done + self._chunk]
                    done += len(chunk)
                    coming = self._posted(_Flight(cells, chunk, reads, shown))
                yield from answers
        finally:
            self._settle()

    def _posted(self, flight: _Flight) -> _Flight:
        """Hands the cases to the engine, which works on them until somebody asks for them."""
        try:
            self._ensure_open()
            self._settle()
            self._worker.post(flight.question(), self.limit)
            self._flight = flight
        except WorkerFailure as failure:
            flight.failed = self._failure(failure)
        except (EngineFailure, EngineRefused) as failure:
            flight.failed = failure
        return flight

    def _settle(self) -> None:
        """Takes in the answer that is on its way, for whoever asks for it later."""
        flight, self._flight = self._flight, None
        if flight is None:
            return
        try:
            flight.answer = self._done(self._worker.collect())
        except WorkerFailure as failure:
            flight.failed = self._failure(failure)
        except (EngineFailure, EngineRefused) as failure:
            flight.failed = failure

    def _answers(self, flight: _Flight) -> list[RowRead | EngineFailure]:
        """What came of the cases; where all of them failed, each is put by itself."""
        if flight is self._flight:
            self._settle()
        if flight.failed is None:
            return self._read(flight, flight.answer)
        if isinstance(flight.failed, EngineRefused):
            raise flight.failed
        if len(flight.rows) == 1:
            return [flight.failed]
        found: list[RowRead | EngineFailure] = []
        for row in flight.rows:
            single = _Flight(flight.cells, [row], flight.reads, flight.shown)
            found += self._answers(self._posted(single))
        return found

    def _read(self, flight: _Flight, answer: Any) -> list[RowRead | EngineFailure]:
        count = len(flight.rows)
        self._chunk = self._next_size(answer["seconds"] / count)
        values, texts = unpacked(answer["values"]), answer["texts"]
        if not _NUMBERS.issuperset(map(type, values)):
            values = list(map(_cell_value, values))
        return list(
            map(RowRead, _cut(values, len(flight.reads), count), _cut(texts, flight.shown, count))
        )

    def _next_size(self, seconds_a_case: float) -> int:
        seconds = min(CHUNK_SECONDS, self.limit / 4)
        return max(1, min(LARGEST_CHUNK, int(seconds / max(seconds_a_case, 1e-6))))

    def close(self) -> None:
        self._book = self._open_in = None
        self._worker.close()
        self._remove_folder()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def _ensure_open(self) -> None:
        if self._book is None:
            raise RuntimeError(f"{self.name}: no workbook is open")
        if self._open_in == os.getpid():
            return
        self._open()
        if self._set:
            self._ask(do="set", cells=list(self._set), values=list(self._set.values()))
            self._ask(do="recalculate")

    def _open(self) -> None:
        self._greeting()
        self._sheets = tuple(self._ask(do="open", path=str(self._book))["sheets"])
        self._open_in = os.getpid()

    def _greeting(self) -> dict[str, Any]:
        try:
            greeting: dict[str, Any] = self._worker.greeting
        except WorkerFailure as failure:
            raise self._failure(failure) from failure
        if "absent" in greeting:
            self._worker.close()
            raise EngineAbsent(greeting["absent"])
        return greeting

    def _ask(self, **question: Any) -> Any:
        self._settle()
        try:
            return self._done(self._worker.ask(question, self.limit))
        except WorkerFailure as failure:
            raise self._failure(failure) from failure

    def _done(self, answer: Any) -> Any:
        if "done" in answer:
            return answer["done"]
        if "refused" in answer:
            raise EngineRefused(f"{self.name}: {answer['refused']}")
        self._open_in = None
        self._worker.close()
        raise EngineFailure(self.name, "crash", str(answer["died"]))

    def _failure(self, failure: WorkerFailure) -> EngineFailure:
        self._open_in = None
        return EngineFailure(self.name, failure.kind, failure.detail)


@attrs.define
class _Flight:
    """Cases that the engine was handed, and what came of them once that is known."""

    cells: Sequence[CellRef]
    rows: Sequence[RowInput]
    reads: Sequence[CellRef]
    shown: int
    answer: Any = None
    failed: EngineFailure | EngineRefused | None = None

    def question(self) -> dict[str, Any]:
        return {
            "do": "run",
            "cells": self.cells,
            "count": len(self.rows),
            "rows": packed(_encoded_rows(self.cells, self.rows)),
            "reads": self.reads,
            "shown": self.shown,
        }


def _cut(found: list[Any], size: int, count: int) -> Iterable[Sequence[Any]]:
    """``count`` pieces of ``size``, one after the other."""
    return zip(*[iter(found)] * size, strict=True) if size else [()] * count


def _encoded_rows(cells: Sequence[CellRef], rows: Sequence[RowInput]) -> list[Any]:
    """What goes into the cells of one case after the other, as it travels."""
    values: list[Any] = list(itertools.chain.from_iterable(rows))
    plain = _NUMBERS_AND_BLANKS.issuperset(map(type, values))
    if plain and math.isfinite(sum(map(abs, filter(None, values)))):  # then each of them is
        return values
    return [
        value if type(value) is list else _encoded(cell, value)
        for cell, value in zip(itertools.cycle(cells), values, strict=False)
    ]


def _encoded(cell: CellRef, value: CellInput) -> float | str | bool | None:
    if type(value) is float and math.isfinite(value):
        return value
    if isinstance(value, bool) or value is None:
        return value
    if isinstance(value, str):
        return value or None
    number = float(value)
    if not math.isfinite(number):
        raise ValueError(f"{cell}: a cell cannot hold the number {number}")
    return number


def _readings(row: RowRead, read: Sequence[CellRef], reads: Sequence[CellRef]) -> Readings:
    """``read`` are the cells of the row; the first of them have texts, ``reads`` are wanted."""
    values = dict(zip(read, row.values, strict=True))
    return Readings(
        {cell: _as_cell(values[cell]) for cell in reads},
        dict(zip(read, row.displayed, strict=False)),
    )


def _decoded(cells: Sequence[CellRef], values: Sequence[Any]) -> dict[CellRef, CellValue]:
    return {cell: _as_cell(_cell_value(value)) for cell, value in zip(cells, values, strict=True)}


def _as_cell(value: float | CellValue) -> CellValue:
    return NumberCell(value) if isinstance(value, float) else value


def _cell_value(value: Any) -> float | CellValue:
    """A value that travelled; a number as itself."""
    kind = type(value)
    if kind is float:
        return float(value)
    if value is None:
        return BLANK
    if kind is str:
        return TextCell(value)
    if kind is bool:
        return BooleanCell(value)
    if kind is list and len(value) == 1:
        return ErrorCell(value[0])
    raise TypeError(f"{value!r} is not a cell value")
