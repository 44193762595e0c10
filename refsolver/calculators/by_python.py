"""A calculator that is a Python function: ``module:function``, in a worker process.

The function gets one dict, its fields as the mapping places them (``place =
"pulls[*].size"``), and returns a dict or a number. Numbers are handed over as doubles. With
``arrays = true`` it gets many cases in one call and returns arrays, see
:mod:`~refsolver.calculators.python_columns`.
"""

from __future__ import annotations

import hashlib
import sys
import time
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from refsolver.calculators.contract import Asked, Failure, Placed, Received, ReceivedColumns
from refsolver.calculators.fields import nested
from refsolver.calculators.file import CalculatorFile, CalculatorFileError
from refsolver.calculators.python_columns import columns_of, in_columns, sent, value_at, values_of
from refsolver.calculators.python_worker import decoded, open_python
from refsolver.calculators.settings import Settings
from refsolver.calculators.worker import Worker, WorkerFailure

__all__ = ["PythonCalculator"]

_BATCH = 200


class PythonCalculator:
    """``[python] function = "module:function"``, optional ``folder``, ``limit``, ``arrays``.

    ``limit`` is in seconds.
    """

    takes_doubles = True
    resumable = True

    def __init__(self, file: CalculatorFile) -> None:
        self.file = file
        settings = Settings(file, ("function", "folder", "limit", "interpreter", "files", "arrays"))
        self._function = settings.text("function")
        self._folder = settings.path("folder", ".")
        self._limit = settings.seconds("limit", 10.0)
        self._interpreter = settings.text("interpreter", sys.executable)
        self._arrays = settings.yes_or_no("arrays")
        stated = settings.paths("files")
        try:
            self._worker: Worker = open_python(
                self._function,
                self._folder,
                max(30.0, self._limit),
                arrays=self._arrays,
                interpreter=self._interpreter,
            )
        except WorkerFailure as failure:
            raise CalculatorFileError(
                f"{file.path}: python.function: {self._function!r} cannot be used: "
                f"{_last_line(failure.detail)}"
            ) from None
        self._ready = (self._worker.greeting or {}).get("ready", {})
        self._files = self._named(stated)

    def _named(self, stated: Sequence[Path]) -> list[tuple[str, Path]]:
        """What the file states, the module, what it loaded from its folder; each with a name."""
        home = self._folder.resolve()
        loaded = [home / name for name in self._ready.get("beside", ())]
        module = [Path(self._ready["file"])] if self._ready.get("file") else []
        files = dict.fromkeys(path.resolve() for path in (*stated, *module, *loaded))
        return [
            (path.relative_to(home).as_posix() if path.is_relative_to(home) else path.name, path)
            for path in files
            if path.is_file()
        ]

    def identity(self) -> dict[str, Any]:
        return {
            "function": self._function,
            "runtime": f"Python {self._ready.get('python', 'not stated')}",
            "files": [
                {"name": name, "sha256": hashlib.sha256(path.read_bytes()).hexdigest()}
                for name, path in self._files
            ],
        }

    def ask(self, questions: Sequence[Asked]) -> Iterator[Received]:
        for start in range(0, len(questions), _BATCH):
            batch = questions[start : start + _BATCH]
            yield from self._in_arrays(batch) if self._arrays else self._batch(batch)

    def _in_arrays(self, questions: Sequence[Asked]) -> Iterator[Received]:
        """The questions of one form go together; the answers come in their own order."""
        found: dict[int, Received] = {}
        for members, places in in_columns(questions):
            wanted = questions[members[0]].places
            answers = self.ask_columns(places, len(members), wanted)
            found |= {index: answers.received(i) for i, index in enumerate(members)}
        yield from (found[index] for index in range(len(questions)))

    def ask_columns(
        self, places: Mapping[str, Placed], count: int, wanted: Sequence[str]
    ) -> ReceivedColumns:
        """All cases in one message; where that fails one each, to learn which case it was."""
        started = time.perf_counter()
        request = {"columns": sent(places, blanks=not self._arrays), "count": count}
        try:
            answer = self._asked(request, self._limit * max(1, count // 20))
            values, failures = values_of(answer, count, wanted)
            if self._arrays and failures and count > 1:
                return self._one_by_one(places, count, wanted)
        except WorkerFailure as failure:
            if count == 1:
                return ReceivedColumns({}, {0: Failure(failure.kind, failure.detail)})
            return self._one_by_one(places, count, wanted)
        share = (time.perf_counter() - started) / max(1, count)
        return ReceivedColumns(values, failures, share)

    def _one_by_one(
        self, places: Mapping[str, Placed], count: int, wanted: Sequence[str]
    ) -> ReceivedColumns:
        values: dict[str, list[Any]] = {place: [None] * count for place in wanted}
        failures: dict[int, Failure] = {}
        for position in range(count):
            single = self.ask_columns(columns_of(places, position), 1, wanted)
            if single.failures:
                failures[position] = single.failures[0]
            for place, found in single.values.items():
                values[place][position] = found[0]
        return ReceivedColumns(values, failures)

    def _batch(self, questions: Sequence[Asked]) -> Iterator[Received]:
        """One message for all; after a failure one each, to learn which case it was."""
        calls = [nested({slot.place: slot.handed for slot in q.slots}) for q in questions]
        started = time.perf_counter()
        try:
            limit = self._limit * max(1, len(calls) // 20)
            answers = self._asked({"calls": calls}, limit).get("results")
            if not isinstance(answers, list) or len(answers) != len(calls):
                raise _another_form(answers)
        except WorkerFailure:
            yield from (self._single(q, call) for q, call in zip(questions, calls, strict=True))
            return
        share = (time.perf_counter() - started) / max(1, len(calls))
        for question, answer in zip(questions, answers, strict=True):
            yield self._received(question, answer, share)

    def _single(self, question: Asked, call: dict[str, Any], again: bool = True) -> Received:
        started = time.perf_counter()
        try:
            answer = self._asked({"call": call}, self._limit)
        except WorkerFailure as failure:
            if failure.kind == "garbage" and again:  # an earlier case may have written it
                return self._single(question, call, again=False)
            return Received(failure=Failure(failure.kind, failure.detail))
        return self._received(question, answer, time.perf_counter() - started)

    def _asked(self, request: dict[str, Any], limit: float) -> dict[str, Any]:
        """The worker's answer. Raises WorkerFailure, also where something else wrote to us."""
        answer = self._worker.ask(request, limit)
        if not isinstance(answer, dict):
            self._worker.close()
            raise _another_form(answer)
        return answer

    def _received(self, question: Asked, answer: Any, seconds: float) -> Received:
        try:
            if "exception" in answer:
                problem = answer["exception"]
                failure = Failure("exception", f"{problem['type']}: {problem['message']}")
                return Received(raw=dict(answer), failure=failure, seconds=seconds)
            result = decoded(answer["result"])
        except (KeyError, TypeError, AttributeError):
            other = _another_form(answer)
            return Received(failure=Failure(other.kind, other.detail), seconds=seconds)
        values = {place: value_at(result, place) for place in question.places}
        return Received(values, {"result": answer["result"]}, seconds=seconds)

    def close(self) -> None:
        self._worker.close()


def _another_form(answer: Any) -> WorkerFailure:
    return WorkerFailure("garbage", f"{repr(answer)[:200]} is no answer of the worker's")


def _last_line(detail: str) -> str:
    """What an import ended with; a whole traceback helps nobody who reads one sentence."""
    return (detail.strip().splitlines() or ["it does not start"])[-1].strip()
