"""A calculator that a person drives: its answers are read back from an answer sheet.

``[sheet] file = "filled.xlsx"``. The blank sheet is written by ``refsolver sheet``. What
was typed counts as handed over; what was read off is judged as the text it is. Where the
calculator shows a decimal comma, ``decimal_mark = ","`` says so, for all numbers of the sheet.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Sequence
from typing import Any

import attrs

from refsolver.calculators.answer_sheet import FilledSheet, SheetProblem, read_sheet
from refsolver.calculators.contract import Asked, Received
from refsolver.calculators.file import CalculatorFile, CalculatorFileError
from refsolver.calculators.numbertext import GROUP_BY_MARK, UnreadableNumber, read_number
from refsolver.calculators.settings import Settings

__all__ = ["SheetCalculator", "check_typable"]


def check_typable(file: CalculatorFile) -> None:
    """A person types finite decimals: every number must say how many.

    Raises CalculatorFileError naming the input line.
    """
    for section in file.sections:
        for line in section.inputs:
            number = line.field.shape not in ("choice", "text", "integer")
            if number and line.decimals is None:
                raise CalculatorFileError(
                    f"{file.path}: input {line.id}: say 'decimals', how many of them a person types"
                )


class SheetCalculator:
    """The filled sheet of a calculator; it can be asked the cases on it and no others."""

    takes_doubles = False
    resumable = False

    def __init__(self, file: CalculatorFile) -> None:
        self.file = file
        check_typable(file)
        settings = Settings(file, ("file", "decimal_mark"))
        self._path = settings.path("file")
        self._mark = settings.one_of("decimal_mark", tuple(GROUP_BY_MARK), ".")
        try:
            self._filled: FilledSheet = read_sheet(self._path)
        except SheetProblem as problem:
            raise CalculatorFileError(str(problem)) from None
        self.cases = frozenset(self._filled.cases)
        self._marked = {} if self._mark == "." else {"mark": self._mark}

    def identity(self) -> dict[str, Any]:
        return {
            "files": [
                {
                    "name": self._path.name,
                    "sha256": hashlib.sha256(self._path.read_bytes()).hexdigest(),
                }
            ],
            "program_of_use": True,
            "engine": "read off by a person",
            "observation": dict(self._filled.head),
        }

    def ask(self, questions: Sequence[Asked]) -> Iterator[Received]:
        return map(self._received, questions)

    def _received(self, question: Asked) -> Received:
        values: dict[str, dict[str, Any]] = {}
        raw: dict[str, Any] = {}
        for place in question.places:
            row = self._filled.read.get((question.case, place))
            if row is None:
                continue
            raw[place] = attrs.asdict(row)
            if row.problem:
                values[place] = {"blank": True, "in_question": row.problem}
            elif row.refused and not row.text:
                values[place] = {"refused": row.refused}
            elif row.text:
                values[place] = {"text": row.text, "by_hand": True} | self._marked
        typed = {
            slot.place: self._number(self._filled.typed[(question.case, slot.place)])
            for slot in question.slots
            if (question.case, slot.place) in self._filled.typed
        }
        problems = [place for place, text in typed.items() if text is None]
        if problems:
            why = f"what was typed at {', '.join(problems)} is no number"
            values = {place: {"blank": True, "in_question": why} for place in question.places}
        handed = {place: text for place, text in typed.items() if text is not None}
        return Received(values, {"rows": raw}, handed=handed)

    def _number(self, text: str) -> str | None:
        try:
            return read_number(text, mark=self._mark, group=GROUP_BY_MARK[self._mark]).number
        except UnreadableNumber:
            return None

    def close(self) -> None:
        return
