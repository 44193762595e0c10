from __future__ import annotations

import decimal
import math
from pathlib import Path

import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from refsolver.calculators.workbook.display import displayed_text
from refsolver.calculators.workbook.office import OfficeEngine
from refsolver.calculators.workbook.references import CellRef

FORMATS = [
    "General",
    "@",
    "0",
    "0.0",
    "0.00",
    "#,##0",
    "#,##0.00",
    "00.00",
    "#.##",
    "0.###",
    "0%",
    "0.0%",
    "0,",
    "0.0,,",
    "0.00E+00",
    "0E+0",
    "0.0E-00",
    "##0.0E+0",
    '0.0" lbf"',
    '0.0\\ "kN"',
    '"F = "0.00',
    "0.00°",
    "$#,##0.00",
    "#,##0.00 [$kN]",
    "[$-409]0.00",
    "[Blue]0.0",
    "0.000;-0.000",
    "0.00;(0.00)",
    '0.00;[Red]-0.00;"zero"',
    "0.00_);(0.00)",
    "+0.00;-0.00;0.00",
    "0.00;;",
    "(0.0)",
    "-0.0",
    '"N/A"',
    "?0.0?",
    "# ?/?",
    "[>=1000]#,##0;0.00",
    "yyyy-mm-dd",
    "h:mm:ss",
    "[h]:mm",
    '0" ft "00" in"',
    "_-* #,##0.00_-;-* #,##0.00_-",
]
NUMBERS = [
    *(0.0, 1.0, -1.0, 0.5, 1.5, 2.5, -2.5, -2.345, 2.675, 1.005, 0.125, 0.045, 0.285),
    *(1234.5678, -1234567.891, 999.995, 9.995e22, 1e-7, -0.004, 5.55e-17, 1 / 3, 12345678901.0),
    *(123456789012.0, 45413.75, 1e15, -99999.5, 0.30000000000000004, 100.0, 0.0001, 5e5, 4.35),
]
NOT_COVERED = ["?0.0?", "# ?/?", "[>=1000]#,##0;0.00", "yyyy-mm-dd", "[h]:mm", "##0.0E+0"]


@pytest.mark.slow
@pytest.mark.office
def test_what_is_shown_is_what_libreoffice_shows(office: OfficeEngine, tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.title = "S"
    for row, number_format in enumerate(FORMATS, 1):
        for column, _ in enumerate(NUMBERS, 1):
            sheet.cell(row, column).number_format = number_format
    path = tmp_path / "formats.xlsx"
    book.save(path)
    cells = {
        CellRef("S", row, column): (number, number_format)
        for row, number_format in enumerate(FORMATS, 1)
        for column, number in enumerate(NUMBERS, 1)
    }
    office.open(path)
    office.set_cells({cell: number for cell, (number, _) in cells.items()})
    shown = office.read_displayed(list(cells))
    ours = {cell: displayed_text(*case) for cell, case in cells.items()}
    wrong = [
        (*cells[cell], text, shown[cell])
        for cell, text in ours.items()
        if text is not None and text != shown[cell]
    ]
    assert not wrong
    assert sum(text is not None for text in ours.values()) > 0.7 * len(cells)


@pytest.mark.parametrize("number_format", NOT_COVERED)
def test_what_is_not_covered_is_not_guessed(number_format: str) -> None:
    assert displayed_text(1.5, number_format) is None


@pytest.mark.parametrize("value", ["lbf", "", "#N/A"])
def test_texts_show_themselves(value: str) -> None:
    for number_format in ("General", "0.00", "@", '0;-0;"none";@'):
        assert displayed_text(value, number_format) == value
    assert displayed_text(value, '0;-0;0;"<"@">"') is None
    assert displayed_text(value, '"<"@">"') is None


def test_blanks_and_booleans() -> None:
    assert displayed_text(None, "0.00") == ""
    assert displayed_text(True, "0.00") == "TRUE"


def test_long_numbers_under_general_depend_on_the_column() -> None:
    assert displayed_text(1 / 3, "General") is None
    assert displayed_text(1e11, "General") is None
    assert displayed_text(12345.678901, "General") is None
    assert displayed_text(12345.67890, "General") == "12345.6789"


@given(st.integers(-(10**12), 10**12), st.integers(0, 3))
def test_fixed_decimals_lie_within_half_a_unit(scaled: int, places: int) -> None:
    text = displayed_text(scaled / 1000, "0." + "0" * places if places else "0")
    assert text is not None
    shown, step = int(text.replace(".", "")), 10 ** (3 - places)
    assert abs(shown * step - scaled) * 2 <= step


def near_ties(places: int) -> st.SearchStrategy[float]:
    """Doubles on, beside and far from the ties of so many decimals, of any size."""
    ties = st.builds(
        lambda whole, step: (
            math.nextafter((2 * whole + 1) / (2 * 10**places), step * math.inf)
            if step
            else (2 * whole + 1) / (2 * 10**places)
        ),
        st.integers(-(10**15), 10**15) | st.integers(-999, 999),
        st.sampled_from([-1, 0, 1]),
    )
    return ties | st.floats(allow_nan=False, allow_infinity=False)


@given(st.integers(0, 6).flatmap(lambda n: st.tuples(st.just(n), near_ties(n))))
def test_fixed_decimals_are_those_of_fifteen_digits_ties_away_from_zero(
    drawn: tuple[int, float],
) -> None:
    """The same worked out in decimals alone."""
    places, value = drawn
    fifteen = decimal.Decimal(f"{value:.14e}")
    context = decimal.Context(prec=400)
    wanted = fifteen.quantize(decimal.Decimal(1).scaleb(-places), "ROUND_HALF_UP", context)
    text = f"{wanted:f}" if wanted else f"{abs(wanted):f}"
    assert displayed_text(value, "0." + "0" * places if places else "0") == text
