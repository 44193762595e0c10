"""A calculator that is a Python function: ``module:function``, in a worker process.

The function gets one dict, its fields as the mapping places them (``place =
"pulls[*].size"``), and returns a dict or a number. Numbers are handed over as doubles.
"""

from __future__ import annotations

import hashlib
import sys
import time
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

from refsolver.calculators.contract import (
    Asked,
    Failure,
    Received,
)
from refsolver.calculators.fields import at_field, nested, why_missing
from refsolver.calculators.file import CalculatorFile, CalculatorFileError
from refsolver.calculators.processes import Worker, WorkerFailure
from refsolver.calculators.python_worker import ReturnedNumber, decoded, open_python
from refsolver.calculators.settings import Settings

__all__ = ["PythonCalculator", "raw_value"]

_BATCH = 200


class PythonCalculator:
    """``[python] function = "module:function"``, optional ``folder``, ``limit`` (seconds)."""

    takes_doubles = True
    resumable = True

    def __init__(self, file: CalculatorFile) -> None:
        self.file = file
        settings = Settings(file, ("function", "folder", "limit", "interpreter", "files"))
        self._function = settings.text("function")
        self._folder = settings.path("folder", ".")
        self._limit = settings.seconds("limit", 10.0)
        self._interpreter = settings.text("interpreter", sys.executable)
        self._files = settings.paths("files") or self._module_files()
        try:
            self._worker: Worker = open_python(
                self._function, self._folder, max(30.0, self._limit), interpreter=self._interpreter
            )
        except WorkerFailure as failure:
            raise CalculatorFileError(
                f"{file.path}: python.function: {self._function!r} cannot be used: "
                f"{_last_line(failure.detail)}"
            ) from None

    def _module_files(self) -> list[Path]:
        module = self._function.split(":")[0]
        base = self._folder / Path(*module.split("."))
        found = [base.with_suffix(".py"), base / "__init__.py"]
        return [path for path in found if path.exists()]

    def identity(self) -> dict[str, Any]:
        greeting = self._worker.greeting or {}
        return {
            "function": self._function,
            "runtime": f"Python {greeting.get('ready', {}).get('python', 'not stated')}",
            "files": [
                {"name": path.name, "sha256": hashlib.sha256(path.read_bytes()).hexdigest()}
                for path in self._files
            ],
        }

    def ask(self, questions: Sequence[Asked]) -> Iterator[Received]:
        for start in range(0, len(questions), _BATCH):
            yield from self._batch(questions[start : start + _BATCH])

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
        values = {place: _value_at(result, place) for place in question.places}
        return Received(values, {"result": answer["result"]}, seconds=seconds)

    def close(self) -> None:
        self._worker.close()


def _another_form(answer: Any) -> WorkerFailure:
    return WorkerFailure("garbage", f"{repr(answer)[:200]} is no answer of the worker's")


def _last_line(detail: str) -> str:
    """What an import ended with; a whole traceback helps nobody who reads one sentence."""
    return (detail.strip().splitlines() or ["it does not start"])[-1].strip()


def _value_at(result: Any, place: str) -> dict[str, Any]:
    if place == ".":
        return raw_value(result)
    why = why_missing(result, place)
    return {"blank": True, "why": why} if why else raw_value(at_field(result, place))


def raw_value(value: Any) -> dict[str, Any]:
    """A decoded value as :class:`Received` holds it."""
    if isinstance(value, ReturnedNumber):
        if value.text in ("nan", "inf", "-inf"):
            return {"error": value.text}
        return {"number": value.text}
    if isinstance(value, bool) or value is None:
        return {"blank": True} if value is None else {"text": str(value)}
    if isinstance(value, str):
        return {"text": value}
    return {"error": f"a {type(value).__name__} instead of a number"}
