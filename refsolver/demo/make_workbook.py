"""Builds ``hanger-workbook.xlsx`` of the demonstration: an invented form with a planted mistake.

Run it in this folder: ``python make_workbook.py``. openpyxl writes the form, LibreOffice
Calc (``soffice`` on the path) opens and saves it once, so that the committed file holds
stored results as any workbook in use does.

The planted mistake stands in the direction: the arctangent of the ratio alone, which
cannot tell a pull down to the left from one up to the right.
"""

from __future__ import annotations

import subprocess
import tempfile
from pathlib import Path
from typing import Any

import openpyxl
from openpyxl.styles import Alignment, Border, Font, PatternFill, Side
from openpyxl.worksheet.page import PageMargins

FILE = "hanger-workbook.xlsx"
SHEET = "Hanger plate"
FIRST, LAST = 10, 17
SUMS = LAST + 1

TITLE = {
    "A1": "THISTLE ROW SIGN SHOP",
    "A2": "Form H-3: pull of the stays on a hanger plate",
    "A3": "Revision C. Made up for a demonstration: there is no such shop, and no such form.",
    "A5": "1. Up to eight stays; leave the rows that are not used blank.",
    "A6": "2. Angles in degrees from the vertical, clockwise, 0 to 360, as seen from the street.",
    "A7": "3. Pulls in pounds-force. The form gives one pull that replaces them all.",
}
HEADS = (
    "No.",
    "Stay",
    "Pull (lbf)",
    "Angle from vertical, clockwise (deg)",
    "Across, to the right (lbf)",
    "Up (lbf)",
)
ENTERED = (("front, upper", 120, 35), ("front, lower", 85, 62.5), ("back stay", 140, 300))

RESULTS = {
    20: ("Stays entered", f"=COUNT(C{FIRST}:C{LAST})", "0"),
    21: ("Resultant pull (lbf)", f"=SQRT(E{SUMS}^2+F{SUMS}^2)", "0.0"),
    22: (
        "Direction from vertical, clockwise (deg)",
        f'=IF(C21<0.001,"no direction",DEGREES(ATAN(E{SUMS}/F{SUMS})))',
        "0.0",
    ),
}
SIGNED = {24: "Entered by / date", 25: "Checked by / date"}


def form() -> Any:
    """The form as a workbook without stored results."""
    book = openpyxl.Workbook()
    sheet: Any = book.active
    sheet.title = SHEET
    _title(sheet)
    _table(sheet)
    _results(sheet)
    for column, width in zip("ABCDEF", (6, 34, 14, 22, 18, 14), strict=True):
        sheet.column_dimensions[column].width = width
    sheet.page_margins = PageMargins(left=0.6, right=0.6)
    return book


def _title(sheet: Any) -> None:
    for place, text in TITLE.items():
        sheet[place] = text
    sheet["A1"].font = Font(bold=True, size=14)
    sheet["A2"].font = Font(bold=True)
    sheet["A3"].font = Font(italic=True)


def _table(sheet: Any) -> None:
    line = Side(style="thin")
    box = Border(left=line, right=line, top=line, bottom=line)
    typed = PatternFill("solid", fgColor="FFF9DB")
    for column, head in zip("ABCDEF", HEADS, strict=True):
        cell = sheet[f"{column}{FIRST - 1}"]
        cell.value, cell.font, cell.border = head, Font(bold=True), box
        cell.alignment = Alignment(wrap_text=True, vertical="center")
    for number, row in enumerate(range(FIRST, LAST + 1)):
        sheet[f"A{row}"] = number + 1
        if number < len(ENTERED):
            sheet[f"B{row}"], sheet[f"C{row}"], sheet[f"D{row}"] = ENTERED[number]
        sheet[f"E{row}"] = f"=C{row}*SIN(RADIANS(D{row}))"
        sheet[f"F{row}"] = f"=C{row}*COS(RADIANS(D{row}))"
        for column in "ABCDEF":
            sheet[f"{column}{row}"].border = box
        for column in "BCD":
            sheet[f"{column}{row}"].fill = typed
        for column in "EF":
            sheet[f"{column}{row}"].number_format = "0.00"
    sheet[f"B{SUMS}"] = "Sum"
    for column in "EF":
        cell = sheet[f"{column}{SUMS}"]
        cell.value = f"=SUM({column}{FIRST}:{column}{LAST})"
        cell.number_format, cell.font = "0.00", Font(bold=True)


def _results(sheet: Any) -> None:
    for row, (label, formula, shown) in RESULTS.items():
        sheet[f"B{row}"], sheet[f"C{row}"] = label, formula
        sheet[f"C{row}"].number_format = shown
        sheet[f"C{row}"].font = Font(bold=True)
    for row, label in SIGNED.items():
        sheet[f"B{row}"] = label


def recalculated(book: Any, target: Path) -> None:
    """The workbook, opened and saved once by LibreOffice Calc, at ``target``."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "plain").mkdir()
        plain = folder / "plain" / target.name
        book.save(plain)
        subprocess.run(
            [
                "soffice", f"-env:UserInstallation={(folder / 'profile').as_uri()}", "--headless",
                "--convert-to", "xlsx:Calc MS Excel 2007 XML", "--outdir", name, str(plain),
            ],
            check=True, timeout=120,
        )  # fmt: skip
        target.write_bytes((folder / target.name).read_bytes())


if __name__ == "__main__":
    recalculated(form(), Path(__file__).with_name(FILE))
