"""What a calculator under test is to the rest of the program.

A calculator is described by a file of the user's (:mod:`refsolver.calculators.file`),
opened as one of a few kinds, and asked case by case. It is handed plain numbers and
texts, located by cell or by field, and gives back plain raw answers. It knows nothing of
references, criteria or verdicts.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Protocol, TypeAlias, runtime_checkable

import attrs

from refsolver.calculators.file import CalculatorFile
from refsolver.calculators.lines import OutputLine

__all__ = [
    "Asked",
    "Calculator",
    "Failure",
    "Placed",
    "Received",
    "ReceivedColumns",
    "Slot",
    "TakesColumns",
    "places_read",
]


@attrs.frozen
class Slot:
    """One number or text to hand over at a place.

    ``value`` is the exact decimal text of what is handed over ("" leaves a blank);
    ``double`` is the same as a binary double where the calculator takes doubles.
    """

    place: str
    """A cell ("Pulls!B5") or the path of a field ("pulls[1].size")."""
    given: str
    """The path of the leaf it comes from, or "" for a filler."""
    value: str
    double: float | None = None
    number: bool = True
    """False for a word or a name."""

    @property
    def handed(self) -> float | str | None:
        """For a calculator that takes doubles: the double, a text, or None for a blank."""
        return self.double if self.double is not None else self.value or None


@attrs.frozen
class Asked:
    """One question put: the family's section of the calculator file, and what is handed over."""

    case: str
    family: str
    slots: tuple[Slot, ...]
    outputs: tuple[OutputLine, ...]
    """What is wanted back: the output lines, one a key where a table was mapped."""

    @property
    def places(self) -> list[str]:
        return places_read(self.outputs)


def places_read(lines: Sequence[OutputLine]) -> list[str]:
    """Every place to read, those of sense and quadrant words included, each once."""
    found: dict[str, None] = {}
    for line in lines:
        for part in (line, line.sense, line.quadrant):
            if part is not None:
                found[part.place] = None
    return list(found)


@attrs.frozen
class Failure:
    """The calculator gave nothing usable for this case.

    ``kind``: crash, timeout, output limit, garbage, exit code, exception.
    """

    kind: str
    detail: str = ""


@attrs.frozen
class Received:
    """What came back, before any interpretation.

    ``values`` maps each output's place to its raw value: ``{"number": text}`` (exact
    decimal text), ``{"text": ...}``, ``{"error": code}``, ``{"blank": true}``, and where a
    workbook shows something else than it stores also ``"displayed"``. ``raw`` keeps the
    bytes or cells as they came. ``handed`` tells what a text template really sent, by
    place, where that differs from the slot's value.
    """

    values: Mapping[str, Mapping[str, Any]] = attrs.field(factory=dict)
    raw: Mapping[str, Any] = attrs.field(factory=dict)
    handed: Mapping[str, str] = attrs.field(factory=dict)
    failure: Failure | None = None
    seconds: float = 0.0
    exercised: Mapping[str, Any] = attrs.field(factory=dict)
    """Workbooks: the value of each formula cell upstream of an output, for coverage; a cell
    that was seen with two values in this family before may be left out."""
    engines: Mapping[str, Any] = attrs.field(factory=dict)
    """Workbooks put to two engines: where their cells differ, and how many were compared."""


class Calculator(Protocol):
    """An opened calculator. Never raises for what the calculator under test does."""

    file: CalculatorFile
    """The calculator file, with names of the calculator's own resolved to places."""
    takes_doubles: bool
    """True where numbers are handed over as binary doubles rather than as text.

    A calculator that can be asked some cases only (an answer sheet) also has ``cases``, the
    set of their ids.
    """
    resumable: bool
    """True where an answer is computed from its question alone and asking takes time, so that
    a run cut short goes on with what was answered; False where answers lie ready in files."""

    def identity(self) -> dict[str, Any]:
        """Files with hashes, engine or runtime with version: JSON-able, for the record."""

    def ask(self, questions: Sequence[Asked]) -> Iterator[Received]:
        """One :class:`Received` a question, in order, each as soon as it is known."""

    def close(self) -> None: ...


Placed: TypeAlias = list[Any] | float | str | None
"""What goes to a place in many cases: a list with one entry a case, or what all of them have.

An entry is a double, a text, or None for a blank.
"""


@attrs.frozen
class ReceivedColumns:
    """What came back for many cases, place by place, one entry a case.

    An entry is a double, or else a raw value as in :class:`Received`. ``failures`` holds, by
    position, the cases that gave nothing.
    """

    values: Mapping[str, Sequence[float | Mapping[str, Any]]]
    failures: Mapping[int, Failure]
    seconds: float = 0.0
    """For one case."""
    displayed: Mapping[str, Sequence[str | None]] = attrs.field(factory=dict)
    """The texts that a workbook shows for its numbers, None where that is not known."""

    def received(self, position: int) -> Received:
        """The answer to one case by itself."""
        if position in self.failures:
            return Received(failure=self.failures[position], seconds=self.seconds)
        values = {place: dict(_raw(found[position])) for place, found in self.values.items()}
        for place, texts in self.displayed.items():
            text = texts[position]
            if text is not None and "number" in values[place]:
                values[place]["displayed"] = text
        return Received(values, {"result": values}, seconds=self.seconds)


def _raw(value: float | Mapping[str, Any]) -> Mapping[str, Any]:
    if not isinstance(value, float):
        return value
    return {"number": repr(value)} if math.isfinite(value) else {"error": repr(value)}


@runtime_checkable
class TakesColumns(Protocol):
    """A calculator that can be handed many cases of one form in one go."""

    file: CalculatorFile

    def ask_columns(
        self, places: Mapping[str, Placed], count: int, wanted: Sequence[str]
    ) -> ReceivedColumns:
        """What stands at the ``wanted`` places in each of ``count`` cases."""
