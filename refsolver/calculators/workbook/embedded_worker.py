"""A worker process that holds one workbook in the embedded engine (ironcalc)."""

from __future__ import annotations

import re
import zipfile
from collections.abc import Iterator, Sequence
from functools import partial
from typing import Any, TypeAlias

import ironcalc

from refsolver.calculators.workbook.display import Shown, shown_under
from refsolver.calculators.workbook.worker_loop import (
    OWN,
    Refused,
    claim_stdout,
    serve,
    write_line,
)

Address: TypeAlias = tuple[int, int, int]
"""Sheet from 0, row and column from 1, as ironcalc counts."""

_PIECE = re.compile(r"\"[^\"]*\"|'[^']*'|([A-Za-z0-9_.]*)\(|.", re.DOTALL)
_OWN_INTERSECTION = b"_xlfn.SINGLE("


def without_added_intersections(formula: str) -> str:
    """The formula without the ``@`` before ranges inside SUMPRODUCT.

    ironcalc reads ``SUMPRODUCT(F,SIN(B6:B13))`` from a file as ``SIN(@B6:B13)``, one cell
    instead of the range, though SUMPRODUCT calculates its arguments as arrays ("ForceArray" in
    OpenDocument 1.3 part 4, SUMPRODUCT).
    """
    return "".join(_kept_pieces(formula))


def _kept_pieces(formula: str) -> Iterator[str]:
    inside: list[bool] = [False]
    for piece in _PIECE.finditer(formula):
        text = piece[0]
        if piece[1] is not None:
            inside.append(inside[-1] or piece[1].upper() == "SUMPRODUCT")
        elif text == ")" and len(inside) > 1:
            inside.pop()
        if text != "@" or not inside[-1]:
            yield text


def _says_intersections(path: str) -> bool:
    """Whether a formula in the file itself asks for one cell of a range."""
    with zipfile.ZipFile(path) as package:
        sheets = [n for n in package.namelist() if n.startswith("xl/worksheets/")]
        return any(_OWN_INTERSECTION in package.read(name) for name in sheets)


class Plan:
    """A list of cells, how each is set and read, and the values last put into them."""

    def __init__(self, model: Any, cells: list[Address]) -> None:
        self.cells = cells
        self.set_number = [partial(model.update_cell_with_number, *cell) for cell in cells]
        self.clear = [partial(model.clear_cell_contents, *cell) for cell in cells]
        self.get = [partial(model.get_cell_value, *cell) for cell in cells]
        self.texts: list[Shown] = []
        self.last: Sequence[Any] = ()


_NOTHING = object()


class EmbeddedBook:
    """One workbook in ironcalc; see :mod:`.worker_loop` for what each method does.

    Values are set with the typed setters, never as if typed, so that the text ``1/2`` stays
    a text. A text that looks like an error is told from an error by the cell's type.
    """

    def __init__(self) -> None:
        self.model: Any = None
        self.sheets: dict[str, int] = {}
        self.own: dict[Address, Any] = {}
        self.latest: Plan | None = None
        self.texts: dict[Address, Shown] = {}

    def open(self, path: str) -> dict[str, Any]:
        self.own.clear()
        self.latest = None
        self.texts.clear()
        try:
            self.model = ironcalc.load_from_xlsx(path, "en", "UTC", "en")
        except ironcalc.WorkbookError as error:
            raise Refused(f"it cannot open this workbook ({error})") from error
        names = [sheet["name"] for sheet in self.model.get_worksheets_properties()]
        self.sheets = {name: index for index, name in enumerate(names)}
        if not _says_intersections(path):
            self._drop_added_intersections()
        self.model.evaluate()
        return {"sheets": names}

    def _drop_added_intersections(self) -> None:
        for address in self.model.get_all_cells():
            formula = self.model.get_cell_formula(*address)
            if formula is not None and "@" in formula:
                plain = without_added_intersections(formula)
                if plain != formula:
                    self.model.update_cell_with_formula(*address, plain)

    def plan(self, cells: Sequence[tuple[str, int, int]]) -> Plan:
        try:
            places = [(self.sheets[sheet], row, column) for sheet, row, column in cells]
        except KeyError as error:
            raise Refused(f"the workbook has no sheet {error}") from error
        return Plan(self.model, places)

    def put(self, plan: Plan, values: Sequence[Any]) -> None:
        """Set the cells; what stands there already from the case before is left as it is."""
        if plan is not self.latest:
            for address in plan.cells:
                if address not in self.own:
                    self.own[address] = self._contents(address)
            plan.last = [_NOTHING] * len(plan.cells)
        self.latest = None
        try:
            for address, number, clear, value, before in zip(
                plan.cells, plan.set_number, plan.clear, values, plan.last, strict=True
            ):
                if type(value) is float:
                    # No comparison sees the sign of a zero, nor tells 1 from TRUE.
                    if value != before or not value or type(before) is not float:
                        number(value)
                elif value is None:
                    if before is not None:
                        clear()
                else:
                    self._put(address, self.own[address] if value == OWN else value)
        except ironcalc.WorkbookError as error:
            raise Refused(f"it cannot set the cells {plan.cells} ({error})") from error
        plan.last = values
        self.latest = plan

    def _contents(self, address: Address) -> Any:
        """What the cell holds now: a value, or a formula as a one-element tuple."""
        formula = self.model.get_cell_formula(*address)
        return (formula,) if formula is not None else self.model.get_cell_value(*address)

    def _put(self, address: Address, value: Any) -> None:
        if type(value) is float:
            self.model.update_cell_with_number(*address, value)
        elif value is None:
            self.model.clear_cell_contents(*address)
        elif isinstance(value, tuple):
            self.model.update_cell_with_formula(*address, value[0])
        elif isinstance(value, bool):
            self.model.update_cell_with_bool(*address, value)
        else:
            self.model.update_cell_with_text(*address, value)

    def recalculate(self) -> None:
        self.model.evaluate()

    def read(self, plan: Plan, shown: int) -> tuple[list[Any], list[str | None]]:
        values = [get() for get in plan.get]
        if len(plan.texts) < shown:
            plan.texts = [self._text_of(cell) for cell in plan.cells[:shown]]
        texts = [text(value) for text, value in zip(plan.texts, values, strict=False)]
        if str in map(type, values):
            for index, value in enumerate(values):
                if type(value) is str and self._is_error(plan.cells[index]):
                    values[index] = [value]
        return values, texts

    def _is_error(self, address: Address) -> bool:
        return bool(self.model.get_cell_type(*address) == ironcalc.CellType.ErrorValue)

    def _text_of(self, address: Address) -> Shown:
        """How the cell shows its value; no input changes the format of a cell."""
        if address not in self.texts:
            self.texts[address] = shown_under(self.model.get_cell_style(*address)["num_fmt"])
        return self.texts[address]

    def restore(self) -> None:
        self.latest = None
        for address, value in self.own.items():
            self._put(address, value)
        self.own.clear()

    def renewed(self) -> bool:
        """Never: a circular reference is an error here, whatever was calculated before."""
        return False

    def export(self, path: str) -> None:
        raise Refused("it never writes workbooks")

    def close(self) -> None:
        self.model = None


def main() -> None:
    answers = claim_stdout()
    write_line(answers, {"identity": f"ironcalc {ironcalc.__version__}"})
    serve(EmbeddedBook(), answers)


if __name__ == "__main__":
    main()
