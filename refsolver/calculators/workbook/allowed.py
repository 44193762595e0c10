"""What a rule of data validation lets a user type.

Rules that are worked out while typing (a formula, a limit in a cell with a formula, in an input
of the case, or in another cell for each row) are told, and not followed; so are dates, times and
lengths of texts.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Sequence
from fractions import Fraction

import attrs
from flint import fmpq

from refsolver.calculators.workbook.contents import WorkbookContents
from refsolver.calculators.workbook.engine import CellValue, NumberCell, TextCell
from refsolver.calculators.workbook.references import (
    CellRef,
    ReferenceProblem,
    parse_area,
    quoted_sheet,
)
from refsolver.calculators.workbook.validation import Validation

__all__ = ["Allowed", "allowed_by", "rules_for"]

_CORNER = re.compile(r"(\$?)[A-Za-z]{1,3}(\$?)\d+")
_NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d{1,3})?")


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
