"""What a calculator under test is to the rest of the program.

A calculator is described by a file of the user's (:mod:`refsolver.calculators.file`),
opened as one of a few kinds, and asked case by case. It is handed plain numbers and
texts, located by cell or by field, and gives back plain raw answers. It knows nothing of
references, criteria or verdicts.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Protocol

import attrs

from refsolver.calculators.file import CalculatorFile, OutputLine

__all__ = ["Asked", "Calculator", "Failure", "Received", "Slot"]


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
        """Every place to read, those of sense and quadrant words included, each once."""
        found: dict[str, None] = {}
        for line in self.outputs:
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
