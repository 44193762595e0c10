"""What the cells of a workbook let a user type: their data validation.

Read from the file as openpyxl gives it (ECMA-376 part 1, 18.3.1.32 ``dataValidation``), and what
that leaves out: rules that name another sheet may stand in an extension of the same form
(``x14:dataValidation``). Rules that are worked out while typing (a formula, a limit in a cell with
a formula, in an input of the case, or in another cell for each row) are told, and not followed; so
are dates, times and lengths of texts.
"""

from __future__ import annotations

import posixpath
import re
import zipfile
from collections.abc import Collection, Iterator, Sequence
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING, Any
from xml.etree import ElementTree

import attrs
from flint import fmpq

from refsolver.calculators.workbook.engine import CellValue, NumberCell, TextCell
from refsolver.calculators.workbook.references import (
    Area,
    CellRef,
    ReferenceProblem,
    parse_area,
    quoted_sheet,
)

if TYPE_CHECKING:
    from refsolver.calculators.workbook.contents import WorkbookContents

__all__ = ["Allowed", "Validation", "allowed_by", "read_validations", "rules_for"]

_CORNER = re.compile(r"(\$?)[A-Za-z]{1,3}(\$?)\d+")
_NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d{1,3})?")


@attrs.frozen
class Validation:
    """A rule for some cells; ``first`` and ``second`` are its limits as the file has them.

    ``refuses`` where the program of use takes nothing else; otherwise it warns, or says nothing.
    """

    areas: tuple[Area, ...]
    kind: str
    operator: str
    first: str
    second: str
    refuses: bool

    def holds(self, cell: CellRef) -> bool:
        return any(area.holds(cell) for area in self.areas)

    @property
    def cells(self) -> str:
        return ", ".join(map(str, self.areas))


@attrs.frozen
class Allowed:
    """What a rule lets through, in numbers of the cell; ``above`` and ``below`` leave out the end.

    ``listed`` are the entries of a list, ``step`` is 1 for whole numbers.
    """

    words: str
    at_least: fmpq | None = None
    at_most: fmpq | None = None
    above: fmpq | None = None
    below: fmpq | None = None
    step: fmpq | None = None
    listed: tuple[str, ...] | None = None

    @property
    def numbers(self) -> tuple[fmpq, ...] | None:
        """The entries of a list that are numbers; None where it is no list."""
        if self.listed is None:
            return None
        return tuple(x for x in map(_number, self.listed) if x is not None)

    def takes(self, word: str) -> bool:
        """Whether a list has this word, in letters of any case."""
        return self.listed is None or word.casefold() in {x.casefold() for x in self.listed}


def read_validations(path: Path, book: Any) -> tuple[Validation, ...]:
    """Every rule of the workbook at ``path``, which openpyxl has read, that restricts anything."""
    plain = (
        Validation(
            tuple(
                Area(sheet.title, r.min_row, r.min_col, r.max_row, r.max_col)
                for r in rule.sqref.ranges
            ),
            rule.type,
            rule.operator or "between",
            rule.formula1 or "",
            rule.formula2 or "",
            bool(rule.showErrorMessage) and rule.errorStyle in (None, "stop"),
        )
        for sheet in book.worksheets
        for rule in sheet.data_validations.dataValidation
        if rule.type not in (None, "none")
    )
    return (*plain, *_extended(path))


_MAIN = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
_RELATION = "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}id"
_X14 = "{http://schemas.microsoft.com/office/spreadsheetml/2009/9/main}"
_XM = "{http://schemas.microsoft.com/office/excel/2006/main}"


def _extended(path: Path) -> Iterator[Validation]:
    with zipfile.ZipFile(path) as package:
        names = package.namelist()
        sheets = [name for name in names if name.startswith("xl/worksheets/")]
        held = {name: package.read(name) for name in sheets if name.endswith(".xml")}
        held = {name: raw for name, raw in held.items() if b":dataValidation " in raw}
        titles = _titles(package) if held else {}
    for name, raw in held.items():
        for rule in ElementTree.fromstring(raw).iter(f"{_X14}dataValidation"):
            bounds = map(parse_area, (rule.findtext(f"{_XM}sqref") or "").split())
            first, second = (
                rule.findtext(f"{_X14}{part}/{_XM}f") or "" for part in ("formula1", "formula2")
            )
            yield Validation(
                tuple(Area(titles[name], *area) for area in bounds if area is not None),
                rule.get("type", "none"),
                rule.get("operator", "between"),
                first,
                second,
                rule.get("showErrorMessage") in ("1", "true")
                and rule.get("errorStyle", "stop") == "stop",
            )


def _titles(package: zipfile.ZipFile) -> dict[str, str]:
    """By part, the name of its sheet."""
    targets = {
        part.get("Id"): posixpath.normpath(posixpath.join("/xl", part.get("Target", "")))[1:]
        for part in ElementTree.fromstring(package.read("xl/_rels/workbook.xml.rels"))
    }
    book = ElementTree.fromstring(package.read("xl/workbook.xml"))
    return {
        targets.get(sheet.get(_RELATION), ""): sheet.get("name", "")
        for sheet in book.iter(f"{_MAIN}sheet")
    }


def rules_for(contents: WorkbookContents, cells: Sequence[CellRef]) -> list[Validation]:
    """The rules that hold for any of these cells."""
    return [rule for rule in contents.validations if any(map(rule.holds, cells))]


def allowed_by(
    rule: Validation, contents: WorkbookContents, typed: Collection[CellRef] = ()
) -> Allowed | None:
    """What the rule lets through; None where that is not followed.

    ``typed`` are the input cells: what stands there now says nothing of the cases to come.
    """
    if rule.kind == "list":
        listed = _entries(rule, contents, typed)
        return None if listed is None else Allowed(f"one of {', '.join(listed)}", listed=listed)
    if rule.kind not in ("whole", "decimal"):
        return None
    first, second = (_limit(text, rule, contents, typed) for text in (rule.first, rule.second))
    if first is None or (rule.operator == "between" and second is None):
        return None
    number = "a whole number" if rule.kind == "whole" else "a number"
    step = fmpq(1) if rule.kind == "whole" else None
    low, high = rule.first, rule.second
    match rule.operator:
        case "between":
            return Allowed(f"{number} from {low} to {high}", first, second, step=step)
        case "equal":
            return Allowed(f"the number {low}", first, first)
        case "greaterThan":
            return Allowed(f"{number} above {low}", above=first, step=step)
        case "lessThan":
            return Allowed(f"{number} below {low}", below=first, step=step)
        case "greaterThanOrEqual":
            return Allowed(f"{number} of at least {low}", at_least=first, step=step)
        case "lessThanOrEqual":
            return Allowed(f"{number} of at most {low}", at_most=first, step=step)
    return None


def _limit(
    text: str, rule: Validation, contents: WorkbookContents, typed: Collection[CellRef]
) -> fmpq | None:
    """A number, or what stands in the cell that is named."""
    number = _number(text)
    if number is not None:
        return number
    found = _constants(text, rule, contents, typed)
    value = found[0] if found is not None and len(found) == 1 else None
    return _number(repr(value.value)) if isinstance(value, NumberCell) else None


def _entries(
    rule: Validation, contents: WorkbookContents, typed: Collection[CellRef]
) -> tuple[str, ...] | None:
    """The entries of a list, from its own text or from the cells it names."""
    if rule.first.startswith('"'):
        return tuple(entry.strip() for entry in rule.first.strip('"').split(","))
    found = _constants(rule.first, rule, contents, typed)
    if found is None:
        return None
    texts = [_text(value) for value in found]
    return tuple(text for text in texts if text is not None)


def _constants(
    text: str, rule: Validation, contents: WorkbookContents, typed: Collection[CellRef]
) -> list[CellValue] | None:
    """What stands in the cells that a rule names; None where they are not known, or change."""
    if _moves(text, rule):
        return None
    own = f"{quoted_sheet(rule.areas[0].sheet)}!" if parse_area(text.removeprefix("=")) else ""
    try:
        cells = contents.names.cells(own + text.removeprefix("="))
    except ReferenceProblem:
        return None
    if any(cell in typed or contents.formula_at(cell) is not None for cell in cells):
        return None
    return [contents.constants[cell] for cell in cells if cell in contents.constants]


def _moves(text: str, rule: Validation) -> bool:
    """Whether the rule names other cells for another cell of its own: a reference without $."""
    rows = len({row for area in rule.areas for row in (area.top, area.bottom)}) > 1
    columns = len({column for area in rule.areas for column in (area.left, area.right)}) > 1
    corners = map(_CORNER.fullmatch, text.removeprefix("=").rpartition("!")[2].split(":"))
    return any(c and ((columns and not c[1]) or (rows and not c[2])) for c in corners)


def _text(value: CellValue) -> str | None:
    if isinstance(value, TextCell):
        return value.text.strip()
    return f"{value.value:.15g}" if isinstance(value, NumberCell) else None


def _number(text: str) -> fmpq | None:
    if not _NUMBER.fullmatch(text.strip()):
        return None
    exact = Fraction(text.strip())
    return fmpq(exact.numerator, exact.denominator)
