"""Many cases for one run of a program: a line of JSON each, in and out, told apart by an id.

In goes ``{"id": "7", "case": {...}}``, out comes ``{"id": "7", "answer": ...}``, in whatever
order. A case that is not answered exactly once, and every case of a run that fails, is put
again in a run of its own, so that one case's trouble stays its own.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import attrs

from refsolver.calculators.contract import Asked, Failure, Received
from refsolver.calculators.file import CalculatorFile
from refsolver.calculators.inputtext import render_json
from refsolver.calculators.json_values import values_in_data
from refsolver.calculators.program import Prepared, ProgramProblem, ProgramSpec, RawAnswer, run_sent
from refsolver.calculators.settings import Settings

__all__ = ["asked_in_batches", "cases_a_run", "lines_for"]

_FREE = 20
"""So many cases may take no longer together than one may; more take longer in proportion."""


def cases_a_run(file: CalculatorFile) -> int | None:
    """How many cases one run of a program takes at most; None where each has its own run.

    Raises CalculatorFileError where ``batch`` is no whole number of at least 1.
    """
    settings = Settings(file, tuple(file.settings))
    return None if settings.get("batch") is None else settings.whole("batch", 1)


def lines_for(cases: Sequence[Mapping[str, Any]]) -> Prepared:
    """What the program is sent for these cases, numbered from 1."""
    lines: list[str] = []
    handed: dict[str, str] = {}
    unprinted: list[str] = []
    for number, fields in enumerate(cases, 1):
        rendered = render_json(fields)
        lines.append(f'{{"id": "{number}", "case": {rendered.text.strip()}}}\n')
        handed.update(rendered.handed)
        unprinted += rendered.unprinted
    return Prepared("".join(lines).encode("utf-8"), {}, handed, tuple(dict.fromkeys(unprinted)))


def asked_in_batches(
    spec: ProgramSpec,
    questions: Sequence[Asked],
    cases: Sequence[Mapping[str, Any]],
    size: int,
    kept: Any,
) -> Iterator[Received]:
    """One answer a question, in order; ``kept`` makes of a run what a record keeps of it."""
    for start in range(0, len(questions), size):
        some = slice(start, start + size)
        yield from _asked(spec, questions[some], cases[some], kept)


def _asked(
    spec: ProgramSpec,
    questions: Sequence[Asked],
    cases: Sequence[Mapping[str, Any]],
    kept: Any,
) -> Iterator[Received]:
    longer = max(1, len(questions) // _FREE)
    try:
        raw = run_sent(attrs.evolve(spec, limit=spec.limit * longer), lines_for(cases))
    except ProgramProblem as problem:
        yield from (Received(failure=Failure("input", str(problem))) for _ in questions)
        return
    answers = {} if raw.failure is not None or raw.refused else _answers(raw.texts["stdout"])
    for number, (question, fields) in enumerate(zip(questions, cases, strict=True), 1):
        found = answers.get(str(number), [])
        if len(found) == 1:
            yield Received(
                values=values_in_data(question, found[0]),
                raw={"sent": lines_for([fields]).stdin, "answer": json.dumps(found[0])},
                handed=render_json(fields).handed,
                seconds=raw.seconds / len(questions),
            )
        elif len(questions) > 1:
            yield from _asked(spec, [question], [fields], kept)
        else:
            yield _failed(raw, found, kept)


def _failed(raw: RawAnswer, found: Sequence[Any], kept: Any) -> Received:
    if raw.refused:
        failure = Failure("refusal", f"exit code {raw.exit_code}")
    elif raw.failure is not None:
        failure = Failure(raw.failure, raw.detail.split("; it wrote on stderr:")[0])
    else:
        count = "several lines" if found else "no line"
        failure = Failure(
            "garbage", f'{count} of the output is {{"id": "1", "answer": ...}}, one was expected'
        )
    return Received(raw=kept(raw), handed=raw.sent.handed, failure=failure, seconds=raw.seconds)


def _answers(text: str) -> dict[str, list[Any]]:
    """The answers by id; a line that is no answer counts for nothing."""
    found: dict[str, list[Any]] = {}
    for line in text.splitlines():
        try:
            data = json.loads(line, parse_float=str, parse_int=str, parse_constant=str)
        except (ValueError, RecursionError):
            continue
        if isinstance(data, dict) and isinstance(data.get("id"), str) and "answer" in data:
            found.setdefault(data["id"], []).append(data["answer"])
    return found
