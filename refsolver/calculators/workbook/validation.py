"""The rules of a workbook for what may be typed into its cells: its data validation.

Read from the file as openpyxl gives it (ECMA-376 part 1, 18.3.1.32 ``dataValidation``), and what
that leaves out: rules that name another sheet may stand in an extension of the same form
(``x14:dataValidation``).
"""

from __future__ import annotations

import posixpath
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import attrs

from refsolver.calculators.workbook.references import Area, CellRef, parse_area

__all__ = ["Validation", "read_validations"]


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
