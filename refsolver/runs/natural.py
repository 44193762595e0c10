"""A plain calculator for a family: every given goes in, every answer comes out.

It is what the bars of the diagnosis are measured with. Its calculator file is written from
what the family declares; the calculator itself solves the family in double precision, in
one coherent system of units, with a known mistake made where one is asked. It gets nothing
but its fields, as any calculator does, and answers by its fields.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

import attrs

from refsolver.arithmetic.detached import exact_double
from refsolver.calculators.contract import Asked, Received
from refsolver.calculators.fields import nested
from refsolver.calculators.file import CalculatorFile
from refsolver.calculators.lines import OutputLine
from refsolver.calculators.mapping import places_of
from refsolver.calculators.python_columns import raw_value
from refsolver.calculators.python_worker import ReturnedNumber
from refsolver.mistakes.known import KnownMistake, replayed
from refsolver.mistakes.replay import Replayed, answers_of, replay
from refsolver.quantities.dimensions import ANGLE
from refsolver.quantities.kinds import NoAnswer
from refsolver.quantities.leaves import ByAngle, ByAzimuth, ByRun, Components, Polar
from refsolver.quantities.units import read_angle, read_unit
from refsolver.quantities.views import View, dimension_of
from refsolver.runs.natural_file import DECLINED, Angles
from refsolver.statics.contract import Family, Given
from refsolver.statics.givens import fields

__all__ = [
    "Answering",
    "NaturalCalculator",
    "given_from",
    "natural_function",
]

Answering = Callable[[Family, Any, Sequence[View]], Replayed | None]
"""How the calculator solves: the family, its givens, the views wanted."""


def given_from(owner: Family, data: Mapping[str, Any], angles: Angles) -> Any:
    """The givens that the fields state, in the calculator's own coherent system."""
    return _table(owner.givens, data, angles)


def _table(cls: type, data: Mapping[str, Any], angles: Angles) -> Any:
    values: dict[str, Any] = {}
    for name, field in fields(cls).items():
        value = data.get(name)
        if field.shape == "many":
            assert field.of is not None
            if value or attrs.fields_dict(cls)[name].default is attrs.NOTHING:
                values[name] = tuple(_table(field.of, row, angles) for row in value or ())
        elif value is None:
            continue
        elif field.shape == "one":
            assert field.of is not None
            values[name] = _table(field.of, value, angles)
        else:
            values[name] = _leaf(field, value, angles)
    return cls(**values)


def _leaf(field: Given, value: Any, angles: Angles) -> Any:
    if field.shape in ("choice", "text"):
        return value
    if field.shape == "integer":
        return int(value)
    if field.shape == "quantities":
        return tuple(exact_double(x) for x in value)
    if field.shape == "quantity":
        return exact_double(value)
    if field.shape == "angle":
        return _turned(value, angles)
    axes = "xyz"[: field.space]
    if field.shape == "point":
        return tuple(exact_double(value[axis]) for axis in axes)
    if "angle" in value:
        direction: Any = ByAngle(_turned(value["angle"], angles), angles.start, angles.toward)
    elif "azimuth" in value:
        direction = ByAzimuth(
            _turned(value["azimuth"], angles), _turned(value["elevation"], angles)
        )
    else:
        parts = tuple(exact_double(value[axis]) for axis in axes)
        if field.shape == "vector" and "size" not in value:
            return Components(parts)
        direction = ByRun(parts)
    if field.shape == "direction":
        return direction
    return Polar(exact_double(value["size"]), direction)


def _turned(value: float, angles: Angles) -> Any:
    return read_angle(exact_double(value), read_unit(angles.unit))


@attrs.frozen
class Task:
    """What the fields of one case ask for: the givens they state, and a view for each place."""

    given: Any
    views: Mapping[str, View]
    refused: Mapping[str, str]
    """By the line of the file, the refusal of a whole table: what its rows are is not known."""


def _task(
    owner: Family, data: Mapping[str, Any], lines: Sequence[OutputLine], angles: Angles
) -> Task:
    """A table is shown row by row in the order of the givens, whatever a mistake does to it."""
    given = given_from(owner, data, angles)
    solved = answers_of(owner, given)
    right = {} if solved is None else solved[0]
    views: dict[str, View] = {}
    refused: dict[str, str] = {}
    for line in lines:
        if line.view.key != "*":
            views[line.place] = line.view
            continue
        table = right.get(line.view.answer)
        if isinstance(table, NoAnswer):
            refused[line.id] = f"{DECLINED}{table.reason}"
        keys = [str(key) for key in table] if isinstance(table, Mapping) else []
        for place, key in zip(places_of(line.place, len(keys)) or (), keys, strict=False):
            views[place] = attrs.evolve(line.view, key=key)
    return Task(given, views, refused)


def _answers(
    owner: Family, task: Task, answering: Answering, angles: Angles
) -> dict[str, float | str | None]:
    """What the calculator shows at each place, in its own units."""
    wanted = list(dict.fromkeys(task.views.values()))
    found = answering(owner, task.given, wanted) or replay(owner, task.given, wanted) or {}
    per_radian = 180 / math.pi if angles.unit == "deg" else 1.0
    return {
        place: _shown(
            found.get(view),
            per_radian if dimension_of(view, owner.answers[view.answer].kind) == ANGLE else 1.0,
        )
        for place, view in task.views.items()
    }


def _shown(value: float | str | None, factor: float) -> float | str | None:
    if isinstance(value, str):
        return DECLINED + value[1:-1] if value.startswith("[") else value
    if value is None or math.isnan(value):
        return None
    return float(value) * factor


@attrs.define
class NaturalCalculator:
    """The plain calculator in this process, as a calculator under test.

    ``mistake`` is made throughout; ``answering`` is for an error that is no known mistake;
    ``shown`` is what the calculator does to a number before it shows it (rounds it).
    """

    file: CalculatorFile
    owner: Family
    mistake: KnownMistake | None = None
    answering: Answering | None = None
    angles: Angles = Angles()
    shown: Callable[[float], float] | None = None
    tasks: dict[str, Task] = attrs.field(factory=dict, repr=False)
    """What each case asks, once read: calculators of one file may share it."""

    takes_doubles: bool = True

    def identity(self) -> dict[str, Any]:
        return {"function": "the plain calculator", "files": []}

    def ask(self, questions: Sequence[Asked]) -> list[Received]:
        return [self._asked(question) for question in questions]

    def close(self) -> None:
        return None

    def solved(self, owner: Family, given: Any, views: Sequence[View]) -> Replayed | None:
        if self.answering is not None:
            return self.answering(owner, given, views)
        if self.mistake is None:
            return replay(owner, given, views)
        return replayed(owner, given, views, self.mistake)

    def _asked(self, question: Asked) -> Received:
        if question.case not in self.tasks:
            data = nested(
                {
                    slot.place: slot.double
                    if slot.double is not None
                    else (slot.value if slot.value else None)
                    for slot in question.slots
                }
            )
            lines = self.file.section(question.family).outputs
            self.tasks[question.case] = _task(self.owner, data, lines, self.angles)
        task = self.tasks[question.case]
        answers = _answers(self.owner, task, self.solved, self.angles)
        for line in question.outputs:
            if line.place not in answers and line.line in task.refused:
                answers[line.place] = task.refused[line.line]
        if self.shown is not None:
            answers = {p: self.shown(x) if isinstance(x, float) else x for p, x in answers.items()}
        values = {place: raw_value(_returned(answers.get(place))) for place in question.places}
        return Received(values)


def _returned(value: Any) -> Any:
    return ReturnedNumber(repr(value), "float") if isinstance(value, float) else value


def natural_function(
    name: str, path: Path, mistake: KnownMistake | None = None
) -> Callable[[Mapping[str, Any]], dict[str, Any]]:
    """The same as a function of fields, for a calculator file that names a module."""
    from refsolver.calculators.file import read_calculator_file
    from refsolver.statics.registry import family

    file, owner = read_calculator_file(path), family(name)
    solver = NaturalCalculator(file, owner, mistake)
    lines = file.section(name).outputs

    def answer(data: Mapping[str, Any]) -> dict[str, Any]:
        return nested(_answers(owner, _task(owner, data, lines, Angles()), solver.solved, Angles()))

    return answer
