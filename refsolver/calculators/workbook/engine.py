"""What a workbook engine does, the values it reads, and the ways it may fail."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any, NamedTuple, Protocol, TypeAlias

import attrs

from refsolver.calculators.processes import FailureKind
from refsolver.calculators.workbook.references import CellRef

__all__ = [
    "BlankCell",
    "BooleanCell",
    "CellInput",
    "CellValue",
    "EngineAbsent",
    "EngineFailure",
    "EngineRefused",
    "ErrorCell",
    "NumberCell",
    "Readings",
    "RowInput",
    "RowRead",
    "TextCell",
    "WorkbookEngine",
    "cell_value_from_dict",
    "cell_value_to_dict",
]

CellInput: TypeAlias = float | str | bool | None
"""What may be put into a cell: a finite number, a text, a boolean, or None for blank.

An empty text is a blank cell as well: nobody can type it into a workbook.
"""


@attrs.frozen
class NumberCell:
    """A number, as the double the engine holds. Dates and times are serial numbers."""

    value: float


@attrs.frozen
class TextCell:
    """A text, typed in or the result of a formula; ``""`` is a formula's empty text."""

    text: str


@attrs.frozen
class BooleanCell:
    """A truth value."""

    value: bool


@attrs.frozen
class ErrorCell:
    """An error value. ``code`` is ``#DIV/0!``, ``#N/A``, ``#NAME?``, ``#NUM!``, ``#REF!``,
    ``#VALUE!`` or the engine's own word for a state without a standard code."""

    code: str


@attrs.frozen
class BlankCell:
    """A cell with nothing in it: not an empty text and not zero."""


CellValue: TypeAlias = NumberCell | TextCell | BooleanCell | ErrorCell | BlankCell


def cell_value_to_dict(value: CellValue) -> dict[str, Any]:
    """The value as one key and what JSON can hold: ``{"number": 1.5}``, ``{"blank": true}``."""
    match value:
        case NumberCell(number):
            return {"number": number}
        case TextCell(text):
            return {"text": text}
        case BooleanCell(truth):
            return {"boolean": truth}
        case ErrorCell(code):
            return {"error": code}
        case BlankCell():
            return {"blank": True}


def cell_value_from_dict(data: Mapping[str, Any]) -> CellValue:
    """The inverse of :func:`cell_value_to_dict`; ValueError for anything else."""
    match dict(data):
        case {"number": int() | float() as number, **rest} if not rest and number is not True:
            return NumberCell(float(number))
        case {"text": str(text), **rest} if not rest:
            return TextCell(text)
        case {"boolean": bool(truth), **rest} if not rest:
            return BooleanCell(truth)
        case {"error": str(code), **rest} if not rest:
            return ErrorCell(code)
        case {"blank": True, **rest} if not rest:
            return BlankCell()
    raise ValueError(
        f"{dict(data)!r} is not a cell value: expected one of the keys number, text, boolean, "
        'error, or {"blank": true}'
    )


@attrs.frozen
class Readings:
    """What was read after one recalculation.

    ``values`` are the stored values. ``displayed`` are the texts shown under each cell's
    number format, None where the engine cannot tell.
    """

    values: dict[CellRef, CellValue]
    displayed: dict[CellRef, str | None]


RowInput: TypeAlias = Sequence[CellInput | list[Any]]
"""What goes into a row of cells in one case; an empty list leaves the file's own contents."""


class RowRead(NamedTuple):
    """What was read after one recalculation, in the order asked.

    ``values`` are the stored values, a number as a plain double; ``displayed`` are as in
    :class:`Readings`.
    """

    values: Sequence[float | CellValue]
    displayed: Sequence[str | None]


class EngineAbsent(Exception):
    """An engine is not installed; the message says what to install."""


class EngineFailure(Exception):
    """The engine hung, crashed or answered rubbish. The next use starts it again.

    ``kind`` is one of :data:`~refsolver.calculators.processes.FailureKind`; ``detail`` says
    what was seen.
    """

    def __init__(self, engine: str, kind: FailureKind, detail: str) -> None:
        super().__init__(engine, kind, detail)
        self.engine = engine
        self.kind: FailureKind = kind
        self.detail = detail

    def __str__(self) -> str:
        return f"{self.engine}: {self.kind}: {self.detail}"


class EngineRefused(Exception):
    """The engine is well but declines: it cannot open this workbook, or set this cell."""


class WorkbookEngine(Protocol):
    """Fills, recalculates and reads a private copy of one workbook at a time.

    The workbook's own file is read once, when it is opened; it is never written or locked.
    Cells set stay set until :meth:`reset`. Every method may raise :class:`EngineFailure`;
    nothing is lost by it: the next call starts the engine again, opens the same copy and
    sets the same cells. Methods that name cells raise :class:`EngineRefused` for a sheet the
    workbook has not got. All but ``identity``, ``open`` and ``close`` raise RuntimeError
    where no workbook is open.
    """

    def identity(self) -> str:
        """Name and version of the engine, for the record."""

    def open(self, path: Path) -> None:
        """Copy the workbook, open the copy and recalculate it.

        Raises :class:`~.files.WorkbookUnreadable` for a file that is no workbook,
        :class:`EngineRefused` for a workbook this engine does not read.
        """

    def sheet_names(self) -> tuple[str, ...]:
        """The sheets in order, hidden ones included."""

    def set_cells(self, cells: Mapping[CellRef, CellInput]) -> None:
        """Put values into cells; they count from the next :meth:`recalculate` on.

        ValueError for a number that is not finite.
        """

    def recalculate(self) -> None:
        """Recalculate the whole workbook."""

    def read(self, cells: Sequence[CellRef]) -> dict[CellRef, CellValue]:
        """The stored values of the cells."""

    def read_displayed(self, cells: Sequence[CellRef]) -> dict[CellRef, str | None]:
        """The texts the cells show under their number formats; None: the engine cannot tell.

        Column widths are left out of account.
        """

    def reset(self) -> None:
        """Put the file's own contents back into every cell set, and recalculate."""

    def run(
        self,
        batch: Sequence[Mapping[CellRef, CellInput]],
        reads: Sequence[CellRef],
        displayed: Sequence[CellRef] = (),
    ) -> list[Readings | EngineFailure]:
        """For each mapping: start from the file's own contents, set, recalculate, read.

        One result for each mapping, in order, whatever happens to the others: a case that
        makes the engine hang or crash has the failure in its place. Cells set before are
        reset; afterwards the workbook holds its own contents.
        """

    def run_rows(
        self,
        cells: Sequence[CellRef],
        rows: Sequence[RowInput],
        reads: Sequence[CellRef],
        shown: int = 0,
    ) -> Iterator[RowRead | EngineFailure]:
        """As :meth:`run` for cases that all set the same ``cells``, each of them named once.

        The displayed texts are those of the first ``shown`` cells of ``reads``. Each result
        comes as soon as it is known: the engine works on some while the caller looks at those
        before.
        """

    def close(self) -> None:
        """End the engine and remove the private copy. Harmless when done already."""
