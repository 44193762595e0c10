"""Workbooks of several layouts, all made up for these tests, built by openpyxl."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import openpyxl
import pytest
from openpyxl.workbook.defined_name import DefinedName

ACROSS = "SUMPRODUCT(B5:B12,SIN(RADIANS(C5:C12)))"
UPWARD = "SUMPRODUCT(B5:B12,COS(RADIANS(C5:C12)))"

PULLS = {
    "A1": "Pulls on a stay plate (made up)",
    "B4": "Pull (lb)", "C4": "Angle from vertical, clockwise",
    "B5": 120, "C5": 35, "B6": 85, "C6": 62.5, "B7": 140, "C7": 300,
    "A15": "Resultant", "B15": f"=SQRT({ACROSS}^2+{UPWARD}^2)",
    "A16": "Direction from vertical",
    "B16": f'=IF(B15<0.000001,"no direction",MOD(DEGREES(ATAN2({UPWARD},{ACROSS})),360))',
}  # fmt: skip
"""A table with the labels above, results that read it as ranges."""

SLING = {
    "A1": "Sling sheet (made up)",
    "A3": "Load weight", "B3": 2400, "C3": "lb",
    "A4": "Number of legs", "B4": 2,
    "A5": "Angle of leg from vertical", "B5": 30, "C5": "deg",
    "A7": "Tension in each leg", "B7": "=B3/B4/COS(RADIANS(B5))", "C7": "lb",
    "A8": "Hook allowance", "B8": "=B7*B9", "A9": "Allowance factor", "B9": 1.25,
}  # fmt: skip
"""Labels to the left, units in a column of their own."""

BELT = {
    "A1": "Belt friction (made up)",
    "B3": "Coefficient of friction", "C3": 0.3,
    "B4": "Lap (degrees)", "C4": 180,
    "B5": "Tight side tension [N]", "C5": 900,
    "B8": "Slack side tension [N]",
    "C8": '=IF(LapAngle<0,"no lap",TightTension/EXP(Friction*RADIANS(LapAngle)))',
}  # fmt: skip
BELT_NAMES = {"Friction": "$C$3", "LapAngle": "$C$4", "TightTension": "$C$5", "Slack": "$C$8"}
"""Defined names throughout."""

MOMENTS = {
    "A1": "Moment of forces about a point (made up)",
    "A3": "No.", "B3": "Fx", "C3": "Fy", "D3": "x", "E3": "y", "F3": "Moment",
    "B4": "(kN)", "C4": "(kN)", "D4": "(m)", "E4": "(m)", "F4": "(kN m)",
    "B5": 3, "C5": 4, "D5": 1, "E5": 2, "B6": 0, "C6": -5, "D6": 2, "E6": 0,
    **{f"F{r}": f"=C{r}*(D{r}-$I$3)-B{r}*(E{r}-$I$4)" for r in range(5, 11)},
    "H3": "About x", "I3": 0, "J3": "m", "H4": "About y", "I4": 0, "J4": "m",
    "E12": "Total moment (kN m)", "F12": "=SUM(F5:F10)",
}  # fmt: skip
"""Units in the row below the heads, a formula in each row."""

WIDE = {
    "A2": "Force (kN)", "A3": "Angle from the x axis, counter-clockwise (deg)",
    "B2": 10, "C2": 20, "B3": 0, "C3": 90,
    "A4": "x component (kN)", "A5": "y component (kN)",
    **{f"{c}4": f"={c}2*COS({c}3*PI()/180)" for c in "BCDEFG"},
    **{f"{c}5": f"={c}2*SIN({c}3*PI()/180)" for c in "BCDEFG"},
    "A8": "Resultant Rx (kN)", "B8": "=SUM(B4:G4)",
    "A9": "Resultant Ry (kN)", "B9": "=SUM(B5:G5)",
}  # fmt: skip
"""A table that lies on its side."""


LAYOUTS = {
    "pulls": (PULLS, {}), "sling": (SLING, {}), "belt": (BELT, BELT_NAMES),
    "moments": (MOMENTS, {}), "wide": (WIDE, {}),
}  # fmt: skip


@pytest.fixture
def build(tmp_path: Path) -> Callable[..., Path]:
    """Writes a workbook of a known layout, some cells changed, into the test's folder."""

    def built(layout="", changes=None, title="Calc", formats=None):
        cells, names = LAYOUTS.get(layout, ({}, {}))
        book = openpyxl.Workbook()
        sheet = book.active
        sheet.title = title
        for cell, value in {**cells, **(changes or {})}.items():
            sheet[cell] = value
        for cell, shown in (formats or {}).items():
            sheet[cell].number_format = shown
        for word, where in names.items():
            book.defined_names[word] = DefinedName(word, attr_text=f"'{title}'!{where}")
        path = tmp_path / f"{layout or 'book'}.xlsx"
        book.save(path)
        return path

    return built
