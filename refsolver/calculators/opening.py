"""Opening a calculator: one module a kind, found by the table in its file."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from refsolver.calculators.contract import Calculator
from refsolver.calculators.file import CalculatorFile, CalculatorFileError

__all__ = ["open_calculator"]


def _python(file: CalculatorFile) -> Calculator:
    from refsolver.calculators.by_python import PythonCalculator

    return PythonCalculator(file)


def _command(file: CalculatorFile) -> Calculator:
    from refsolver.calculators.by_command import CommandCalculator

    return CommandCalculator(file)


def _workbook(file: CalculatorFile) -> Calculator:
    from refsolver.calculators.by_workbook import WorkbookCalculator

    return WorkbookCalculator(file)


def _sheet(file: CalculatorFile) -> Calculator:
    from refsolver.calculators.by_sheet import SheetCalculator

    return SheetCalculator(file)


def _http(file: CalculatorFile) -> Calculator:
    from refsolver.calculators.by_http import HttpCalculator

    return HttpCalculator(file)


_KINDS: dict[str, Callable[[CalculatorFile], Calculator]] = {
    "python": _python,
    "command": _command,
    "workbook": _workbook,
    "http": _http,
    "sheet": _sheet,
}


def open_calculator(file: CalculatorFile, exchange: Path | None = None) -> Calculator:
    """The calculator that a file describes, ready to be asked.

    With ``exchange`` its answers are read from a folder that its own program filled. Raises
    CalculatorFileError where it cannot be opened (missing file, engine, function).
    """
    if exchange is not None:
        from refsolver.calculators.by_exchange import ExchangeCalculator

        return ExchangeCalculator(file, exchange)
    if file.kind not in _KINDS:
        raise CalculatorFileError(
            f"{file.path}: a calculator of kind {file.kind!r} cannot be asked; write one of the "
            f"tables {', '.join(_KINDS)}"
        )
    return _KINDS[file.kind](file)
