from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import ironcalc
import openpyxl
import pytest
from openpyxl.packaging.relationship import Relationship
from openpyxl.styles import Protection
from openpyxl.utils import FORMULAE
from openpyxl.workbook.external_link.external import ExternalBook, ExternalLink
from openpyxl.worksheet.formula import ArrayFormula

from refsolver.calculators.workbook.contents import read_contents
from refsolver.calculators.workbook.embedded import EmbeddedEngine
from refsolver.calculators.workbook.engine import ErrorCell, NumberCell, TextCell
from refsolver.calculators.workbook.graph import DependencyGraph
from refsolver.calculators.workbook.office import OfficeEngine
from refsolver.calculators.workbook.references import CellRef
from refsolver.calculators.workbook.survey import (
    EMBEDDED_UNKNOWN_FUNCTIONS,
    MAPPED_IN_SUMPRODUCT,
    embedded_gaps,
    input_problem,
    survey,
)
from refsolver.calculators.workbook.trust import compare_engines


def _b(row: int) -> CellRef:
    return CellRef("S", row, 2)


GAPS: dict[int, tuple[str, str]] = {
    1: ("=_xlfn.AGGREGATE(9,6,A1:A3)", "the function AGGREGATE"),
    2: ("=MyOwn(A1)", "MYOWN is no function of the file format"),
    3: ("=factor*A1", "the name factor stands for a constant"),
    4: ("=SUM(moving)", "the name moving stands for a formula"),
    5: ("=SUM(S:T!A1)", "S:T!A1 runs through several sheets"),
    6: ("=SUM((A1,A2))", "references are united with a comma"),
    7: ("=SUM(A1:A3 A2:B2)", "references are intersected with a space"),
}


@pytest.fixture
def surveyed(tmp_path: Path, make: Callable[..., Path]) -> Path:
    cells: dict[str, object] = {"A1": 1.0, "A2": 2.0, "A3": 3.0}
    cells |= {f"B{row}": formula for row, (formula, _) in GAPS.items()}
    cells |= {
        "B8": '=TEXT(A1,"0")',
        "B9": '=A1/3&" lbf"',
        "B10": "=SUM(A1:A3)",
        "B11": "=RAND()",
        "B12": "=B11*0+OFFSET(A1,1,0)",
        "B13": "=NOW()",
        "B14": "=nonsense*2",
    }
    return make(
        tmp_path / "s.xlsx",
        {"S": cells, "T": {"A1": 5}},
        {"factor": "9.80665", "moving": "OFFSET(S!$A$1,0,0,2,1)"},
    )


def test_what_the_embedded_engine_does_not_know(surveyed: Path, embedded: EmbeddedEngine) -> None:
    """Each gap named is one in truth: the engine ends in an error there."""
    graph = DependencyGraph(read_contents(surveyed))
    found = {gap.cell: gap.what for gap in embedded_gaps(graph, graph.contents.formulas)}
    assert {row: found[_b(row)] for row in GAPS} == {row: what for row, (_, what) in GAPS.items()}
    assert _b(10) not in found
    embedded.open(surveyed)
    got = embedded.read([_b(row) for row in (*GAPS, 10)])
    assert [cell for cell, value in got.items() if not isinstance(value, ErrorCell)] == [_b(10)]


def test_where_the_embedded_engine_differs(surveyed: Path, embedded: EmbeddedEngine) -> None:
    graph = DependencyGraph(read_contents(surveyed))
    gaps = {gap.cell: gap for gap in embedded_gaps(graph, [_b(8), _b(9)])}
    assert {gap.kind for gap in gaps.values()} == {"differs"}
    embedded.open(surveyed)
    embedded.set_cells({CellRef("S", 1, 1): -1.0})
    embedded.recalculate()
    assert embedded.read([_b(8), _b(9)]) == {
        _b(8): TextCell("1"),  # any spreadsheet program shows -1 (common practice, no source)
        _b(9): TextCell("-0.3333333333333333 lbf"),  # 15 digits elsewhere, 16 here
    }


def test_the_list_of_unknown_functions_is_what_the_engine_says() -> None:
    model = ironcalc.create("functions")
    unknown = set()
    for name in FORMULAE | EMBEDDED_UNKNOWN_FUNCTIONS:
        model.set_user_input(0, 1, 1, f"={name}(1)")
        if name not in (model.get_cell_formula(0, 1, 1) or ""):
            unknown.add(name)
    assert unknown == EMBEDDED_UNKNOWN_FUNCTIONS


def test_settings_of_the_whole_workbook(surveyed: Path) -> None:
    book = openpyxl.load_workbook(surveyed)
    book.calculation.iterate = True
    book.calculation.fullPrecision = False
    book.epoch = openpyxl.utils.datetime.CALENDAR_MAC_1904
    book.save(surveyed)
    graph = DependencyGraph(read_contents(surveyed))
    assert len([gap for gap in embedded_gaps(graph, []) if gap.cell is None]) == 3
    seen = survey(graph, [_b(10)])
    assert (seen.iterative, seen.precision_as_displayed, seen.dates_from_1904) == (True,) * 3


def test_volatile_cells_and_the_outputs_they_feed(surveyed: Path) -> None:
    seen = survey(DependencyGraph(read_contents(surveyed)), [_b(10), _b(12), _b(4)])
    volatile = {v.cell: (v.changing, v.feeds) for v in seen.volatile}
    assert volatile == {
        _b(4): (False, (_b(4),)),
        _b(11): (True, (_b(12),)),
        _b(12): (False, (_b(12),)),
        _b(13): (True, ()),
    }
    assert seen.computed == (_b(4), _b(12))
    assert seen.unknown == {_b(14): ("nonsense",)}
    assert seen.unlisted == {_b(2): ("MYOWN",)}


def test_hidden_sheets_macros_links_and_arrays(
    resultant: Path, tmp_path: Path, as_xlsm: Callable[..., Path]
) -> None:
    book = openpyxl.load_workbook(resultant)
    sheet = book["Resultant"]
    sheet["H1"] = ArrayFormula("H1:H2", "=B6:B7*2")
    sheet["H4"] = "=[1]Loads!A1"
    link = ExternalLink(externalBook=ExternalBook(id="rId1"))
    link.file_link = Relationship(
        type="externalLinkPath", Target="loads.xlsx", TargetMode="External"
    )
    book._external_links.append(link)
    book.save(resultant)
    path = as_xlsm(resultant, tmp_path / "m.xlsm")
    seen = survey(DependencyGraph(read_contents(path)), [])
    assert seen.hidden_sheets == ("Unit Table",)
    assert seen.macros
    assert seen.external_targets == ("loads.xlsx",)
    assert seen.external == {CellRef("Resultant", 4, 8): ("[1]Loads!A1",)}
    assert seen.array_formulas == (CellRef("Resultant", 1, 8),)


def test_cells_that_are_no_inputs(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.title = "S"
    sheet["A1"], sheet["A2"] = 1, "=A1"
    sheet["B1"] = ArrayFormula("B1:B2", "=A1:A2*2")
    sheet.merge_cells("D1:E2")
    locked = book.create_sheet("L")
    locked["A1"].protection = Protection(locked=False)
    locked.protection.sheet = True
    path = tmp_path / "i.xlsx"
    book.save(path)
    contents = read_contents(path)
    said = {
        address: input_problem(contents, cell)
        for address, cell in {
            "A1": CellRef("S", 1, 1),
            "A9": CellRef("S", 9, 1),
            "A2": CellRef("S", 2, 1),
            "B2": CellRef("S", 2, 2),
            "D1": CellRef("S", 1, 4),
            "E2": CellRef("S", 2, 5),
            "L!A1": CellRef("L", 1, 1),
            "L!A2": CellRef("L", 2, 1),
            "M!A1": CellRef("M", 1, 1),
        }.items()
    }
    assert said == {
        "A1": None,
        "A9": None,
        "A2": "S!A2 holds a formula (=A1), which an input would replace; map the "
        "cells that a person types into",
        "B2": "S!B2 is filled by the array in S!B1:B2, not typed in; map the cells that a "
        "person types into",
        "D1": None,
        "E2": "S!E2 lies under the merged cell S!D1; map that one",
        "L!A1": None,
        "L!A2": "L!A2 is locked on a protected sheet; map the cell that its users type into",
        "M!A1": "the workbook has no sheet 'M'; check the name",
    }


def test_what_sumproduct_does_not_map_is_said(tmp_path: Path, make: Callable[..., Path]) -> None:
    cells: dict[str, object] = {"A1": 1.0, "A2": 2.0}
    cells["B1"] = "=ROUND(SUMPRODUCT(A1:A2,SIN(RADIANS(A1:A2))),2)"
    cells["B2"] = "=SUMPRODUCT(A1:A2,MOD(A1:A2,2))"
    graph = DependencyGraph(read_contents(make(tmp_path / "p.xlsx", {"S": cells})))
    assert [(gap.cell, gap.what) for gap in embedded_gaps(graph, [_b(1), _b(2)])] == [
        (_b(2), "MOD over a range inside SUMPRODUCT")
    ]


def test_ranges_that_mean_one_cell_are_said(
    tmp_path: Path, make: Callable[..., Path], embedded: EmbeddedEngine
) -> None:
    """A plain formula takes the cell beside it ("implicit intersection", OpenDocument 1.3
    part 4), the engine the whole range."""
    cells: dict[str, object] = {"A1": 1.0, "A2": 2.0, "A3": 3.0}
    cells |= {"B2": "=SUM(pulls*10)", "B3": "=SUMPRODUCT(pulls*10)", "B4": "=SUM(A1:A3)*2"}
    path = make(tmp_path / "n.xlsx", {"S": cells}, {"pulls": "S!$A$1:$A$3"})
    graph = DependencyGraph(read_contents(path))
    gaps = embedded_gaps(graph, [_b(2), _b(3), _b(4)])
    assert [(gap.cell, gap.kind) for gap in gaps] == [(_b(2), "differs")]
    assert "pulls is taken as a whole" in gaps[0].what
    embedded.open(path)
    assert embedded.read([_b(2)]) == {_b(2): NumberCell(60.0)}  # 20 in other programs


@pytest.mark.office
def test_the_list_of_functions_mapped_inside_sumproduct(
    tmp_path: Path, make: Callable[..., Path], embedded: EmbeddedEngine, office: OfficeEngine
) -> None:
    ranges = {"FACT": "A1:A3", "ACOSH": "A1:A3", "LEN": "C1:C3"}
    special = {
        "CHOOSE": "CHOOSE(1,B1:B3,A1:A3)",
        "EXACT": '--EXACT(C1:C3,"ab2")',
        "IF": 'IF(B1:B3="",0,B1:B3)',
        "IFERROR": "IFERROR(1/B1:B3,0)",
        "INDEX": "INDEX(B1:B3,0)",
        "MAX": "MAX(B1:B3)-B1:B3",
        "MIN": "MIN(B1:B3)-B1:B3",
        "SUM": "SUM(B1:B3)-B1:B3",
        "PI": "B1:B3*PI()",
        "POWER": "POWER(B1:B3,A1:A3)",
        "TRANSPOSE": "TRANSPOSE(TRANSPOSE(B1:B3))",
    }
    cells: dict[str, object] = {f"A{n}": float(n) for n in (1, 2, 3)}
    cells |= {f"B{n}": n / 4 for n in (1, 2, 3)} | {f"C{n}": f"ab{n}" for n in (1, 2, 3)}
    names = sorted(MAPPED_IN_SUMPRODUCT)
    for row, name in enumerate(names, 1):
        argument = special.get(name, f"{name}({ranges.get(name, 'B1:B3')})")
        cells[f"D{row}"] = f"=SUMPRODUCT(A1:A3,{argument})"
    path = make(tmp_path / "m.xlsx", {"S": cells})
    reads = [CellRef("S", row, 4) for row, _ in enumerate(names, 1)]
    assert compare_engines(embedded, office, path, reads, [{}]).agree
    assert not any(isinstance(value, ErrorCell) for value in embedded.read(reads).values())
