"""The engine's side of a worker: what is true of every engine that lives in a process."""

from __future__ import annotations

import itertools
import math
import os
import shutil
import tempfile
import time
import weakref
from collections.abc import Iterator, Mapping, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from pathlib import Path
from typing import Any, Self

from refsolver.calculators.processes import Worker, WorkerFailure
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
    TextCell,
)
from refsolver.calculators.workbook.files import WorkbookKind, kind_of_workbook
from refsolver.calculators.workbook.references import CellRef
from refsolver.calculators.workbook.worker_loop import OWN

__all__ = ["WorkerEngine"]

FIRST_CHUNK = 4
LARGEST_CHUNK = 64
CHUNK_SECONDS = 0.25

BLANK = BlankCell()


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
        return list(self.run_each(batch, reads, displayed))

    def run_each(
        self,
        batch: Sequence[Mapping[CellRef, CellInput]],
        reads: Sequence[CellRef],
        displayed: Sequence[CellRef] = (),
    ) -> Iterator[Readings | EngineFailure]:
        self._set = {}
        chunks = self._chunks(batch)
        if len(batch) <= self._chunk:
            for chunk in chunks:
                yield from self._answered(chunk, reads, displayed)
            return
        with ThreadPoolExecutor(1) as ahead:  # the engine works while the caller judges
            coming: Future[Sequence[Readings | EngineFailure]] | None = None
            for chunk in chunks:
                last, coming = coming, ahead.submit(self._answered, chunk, reads, displayed)
                if last is not None:
                    yield from last.result()
            if coming is not None:
                yield from coming.result()

    def _chunks(
        self, batch: Sequence[Mapping[CellRef, CellInput]]
    ) -> Iterator[list[dict[CellRef, Any]]]:
        """The cases as they travel, as many at a time as the speed last seen allows."""
        done = 0
        while done < len(batch):
            chunk = batch[done : done + self._chunk]
            done += len(chunk)
            yield [_encoded_case(case) for case in chunk]

    def _answered(
        self,
        chunk: Sequence[dict[CellRef, Any]],
        reads: Sequence[CellRef],
        displayed: Sequence[CellRef],
    ) -> Sequence[Readings | EngineFailure]:
        begun = time.monotonic()
        try:
            answers: Sequence[Readings | EngineFailure] = self._run(chunk, reads, displayed)
        except EngineFailure:
            answers = [self._run_alone(case, reads, displayed) for case in chunk]
        self._chunk = self._next_size((time.monotonic() - begun) / len(chunk))
        return answers

    def _run_alone(
        self, case: dict[CellRef, Any], reads: Sequence[CellRef], displayed: Sequence[CellRef]
    ) -> Readings | EngineFailure:
        try:
            return self._run([case], reads, displayed)[0]
        except EngineFailure as failure:
            return failure

    def _run(
        self,
        cases: Sequence[dict[CellRef, Any]],
        reads: Sequence[CellRef],
        displayed: Sequence[CellRef],
    ) -> list[Readings]:
        self._ensure_open()
        cells = list(dict.fromkeys(itertools.chain.from_iterable(cases)))
        rows = [
            list(case.values()) if list(case) == cells else [case.get(cell, OWN) for cell in cells]
            for case in cases
        ]
        blank = [column.count(None) == len(rows) for column in zip(*rows, strict=True)]
        answer = self._ask(
            do="run",
            blanks=list(itertools.compress(cells, blank)),
            cells=_where(cells, blank),
            cases=[_where(row, blank) for row in rows],
            reads=reads,
            shows=displayed,
        )
        return [
            Readings(_decoded(reads, values), dict(zip(displayed, texts, strict=True)))
            for values, texts in answer
        ]

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
        try:
            answer = self._worker.ask(question, self.limit)
        except WorkerFailure as failure:
            raise self._failure(failure) from failure
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


def _where(items: Sequence[Any], left_out: Sequence[bool]) -> list[Any]:
    return [item for item, out in zip(items, left_out, strict=True) if not out]


def _encoded_case(case: Mapping[CellRef, CellInput]) -> dict[CellRef, Any]:
    return {c: v if v is None else _encoded(c, v) for c, v in case.items()}


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


def _decoded(cells: Sequence[CellRef], values: Sequence[Any]) -> dict[CellRef, CellValue]:
    return {cell: _cell_value(value) for cell, value in zip(cells, values, strict=True)}


def _cell_value(value: Any) -> CellValue:
    kind = type(value)
    if kind is float:
        return NumberCell(value)
    if value is None:
        return BLANK
    if kind is str:
        return TextCell(value)
    if kind is bool:
        return BooleanCell(value)
    if kind is list and len(value) == 1:
        return ErrorCell(value[0])
    raise TypeError(f"{value!r} is not a cell value")
