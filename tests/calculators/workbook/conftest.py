"""Workbooks made up for these tests, and the engines that recalculate them."""

from __future__ import annotations

import math
import re
import zipfile
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from xml.sax.saxutils import escape

import openpyxl
import pytest
from openpyxl.workbook.defined_name import DefinedName

from refsolver.calculators.workbook.contents import read_contents
from refsolver.calculators.workbook.embedded import EmbeddedEngine
from refsolver.calculators.workbook.engine import EngineAbsent
from refsolver.calculators.workbook.office import OfficeEngine, find_office
from refsolver.calculators.workbook.references import CellRef

Cells = Mapping[str, object]
ROWS = range(6, 14)
PULLS = [(120.0, 0.0), (75.5, 90.0), (60.25, 200.0), (41.0, 315.0), (88.0, 33.3)]
FACTORS = {"lbf": 1.0, "kip": 1000.0, "kgf": 2.2046226218487757}


def write_workbook(
    path: Path, sheets: Mapping[str, Cells], names: Mapping[str, str] | None = None
) -> Path:
    """A workbook with these cells; values starting with ``=`` are formulas."""
    book = openpyxl.Workbook()
    book.remove(book.active)
    for title, cells in sheets.items():
        sheet = book.create_sheet(title)
        for address, value in cells.items():
            sheet[address] = value
    for name, text in (names or {}).items():
        book.defined_names[name] = DefinedName(name, attr_text=text)
    book.save(path)
    return path


def store_results(path: Path, results: Mapping[str, object], sheet: int = 1) -> Path:
    """Put results into the formula cells of a sheet, as the program that saves a file does."""
    part = f"xl/worksheets/sheet{sheet}.xml"
    with zipfile.ZipFile(path) as package:
        parts = {name: package.read(name) for name in package.namelist()}
    text = parts[part].decode()
    for address, value in results.items():
        kind, stored = {
            bool: ("b", str(int(value is True))),
            str: ("e" if str(value).startswith("#") else "str", escape(str(value))),
        }.get(type(value), ("n", repr(value)))
        pattern = rf'<c r="{address}"([^>]*?)(?: t="\w+")?><f>(.*?)</f><v ?/></c>'
        put = rf'<c r="{address}"\1 t="{kind}"><f>\2</f><v>{stored}</v></c>'
        text, count = re.subn(pattern, put.replace("\\n", "\n"), text)
        assert count == 1, address
    parts[part] = text.encode()
    with zipfile.ZipFile(path, "w") as package:
        for name, data in parts.items():
            package.writestr(name, data)
    return path


def resultant_cells() -> dict[str, object]:
    """An invented sheet of up to eight pulls, angles clockwise from the vertical."""
    cells: dict[str, object] = {
        "A1": "Resultant of up to eight pulls (invented)",
        "B3": "pull",
        "C3": "angle from the vertical, clockwise, degrees",
        "D3": "unit",
        "B1": 1e-9,
    }
    for place, row in enumerate(ROWS):
        if place < len(PULLS):
            cells[f"B{row}"], cells[f"C{row}"] = PULLS[place]
        cells[f"D{row}"] = "lbf"
        unit = f"VLOOKUP(D{row},'Unit Table'!$A$2:$B$4,2,FALSE)"
        cells[f"E{row}"] = f'=IF(B{row}="",0,B{row}*{unit}*SIN(RADIANS(C{row})))'
        cells[f"F{row}"] = f'=IF(B{row}="",0,B{row}*{unit}*COS(RADIANS(C{row})))'
    return cells | {
        "B16": "=SUM(E6:E13)",
        "B17": "=SUM(F6:F13)",
        "B18": "=SQRT(B16^2+B17^2)",
        "B19": '=IF(B18<smallest,"no direction",MOD(DEGREES(ATAN2(B17,B16)),360))',
        "B20": '=IF(B18<smallest,"none",IF(B17<0,"down","up")&IF(B16<0," left"," right"))',
        "B21": "=SUMPRODUCT(pulls,SIN(RADIANS(angles)))",
        "B22": "=COUNT(pulls)",
        "B23": "=B18/COUNT(pulls)",
        "B24": "=ROUND(B18,1)",
        "B25": "=B22>4",
        "B26": "=DATE(2024,5,1)+B22",
        "B27": "=TODAY()",
    }


RESULTANT_NAMES = {
    "pulls": "Resultant!$B$6:$B$13",
    "angles": "Resultant!$C$6:$C$13",
    "smallest": "Resultant!$B$1",
}


def resultant_expected(pulls: list[tuple[float, float]]) -> dict[str, object]:
    """What the sheet should say, worked out here in plain double arithmetic."""
    x = math.fsum(p * math.sin(math.radians(a)) for p, a in pulls)
    y = math.fsum(p * math.cos(math.radians(a)) for p, a in pulls)
    size = math.hypot(x, y)
    results: dict[str, object] = {
        "B16": x,
        "B17": y,
        "B18": size,
        "B19": math.degrees(math.atan2(x, y)) % 360,
        "B20": ("down" if y < 0 else "up") + (" left" if x < 0 else " right"),
        "B21": x,
        "B22": float(len(pulls)),
        "B23": size / len(pulls),
        "B24": round(size, 1),
        "B25": len(pulls) > 4,
        "B26": 45413.0 + len(pulls),
    }
    for place, row in enumerate(ROWS):
        pull, angle = pulls[place] if place < len(pulls) else (0.0, 0.0)
        results[f"E{row}"] = pull * math.sin(math.radians(angle))
        results[f"F{row}"] = pull * math.cos(math.radians(angle))
    return results


@pytest.fixture
def resultant(tmp_path: Path) -> Path:
    """The resultant workbook, without stored results, its unit table on a hidden sheet."""
    units: dict[str, object] = {"A1": "unit", "B1": "in lbf"}
    for row, (unit, factor) in enumerate(FACTORS.items(), 2):
        units[f"A{row}"], units[f"B{row}"] = unit, factor
    path = write_workbook(
        tmp_path / "resultant.xlsx",
        {"Resultant": resultant_cells(), "Unit Table": units},
        RESULTANT_NAMES,
    )
    book = openpyxl.load_workbook(path)
    book["Unit Table"].sheet_state = "hidden"
    book["Resultant"]["B18"].number_format = '0.0" lbf"'
    book.save(path)
    return path


@pytest.fixture
def saved_resultant(resultant: Path) -> Path:
    """The resultant workbook with its results stored, as its user's program would save it."""
    return store_results(resultant, resultant_expected(PULLS))


@pytest.fixture
def at() -> Callable[[Path, str], CellRef]:
    return lambda path, text: read_contents(path).names.cell(text)


@pytest.fixture
def embedded() -> Iterator[EmbeddedEngine]:
    with EmbeddedEngine() as engine:
        yield engine


@pytest.fixture(scope="session")
def office() -> Iterator[OfficeEngine]:
    try:
        programs = find_office()
    except EngineAbsent as absent:
        pytest.skip(str(absent))
    with OfficeEngine(programs) as engine:
        yield engine


@pytest.fixture
def make() -> Callable[..., Path]:
    return write_workbook


@pytest.fixture
def store() -> Callable[..., Path]:
    return store_results


@pytest.fixture
def as_xlsm() -> Callable[[Path, Path], Path]:
    """Copies an .xlsx as .xlsm, with an invented macro project in it."""

    def copy(source: Path, target: Path, macros: bytes = b"an invented macro project") -> Path:
        plain = b"application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml"
        with zipfile.ZipFile(source) as old, zipfile.ZipFile(target, "w") as new:
            for name in old.namelist():
                enabled = b"application/vnd.ms-excel.sheet.macroEnabled.main+xml"
                new.writestr(name, old.read(name).replace(plain, enabled))
            new.writestr("xl/vbaProject.bin", macros)
        return target

    return copy


@pytest.fixture
def expected() -> dict[str, object]:
    """What the resultant workbook should say with the pulls it is written with."""
    return resultant_expected(PULLS)
