from __future__ import annotations

import random
from collections.abc import Callable
from pathlib import Path

import openpyxl
import pytest
from openpyxl.utils.datetime import CALENDAR_MAC_1904
from openpyxl.workbook.defined_name import DefinedName
from openpyxl.worksheet.formula import ArrayFormula, DataTableFormula
from openpyxl.worksheet.table import Table

from refsolver.calculators.workbook.contents import read_contents
from refsolver.calculators.workbook.engine import BooleanCell, NumberCell, TextCell
from refsolver.calculators.workbook.graph import DependencyGraph
from refsolver.calculators.workbook.references import Area, CellRef, parse_area


def _graph(path: Path) -> DependencyGraph:
    return DependencyGraph(read_contents(path))


def _s(text: str, sheet: str = "S") -> CellRef:
    bounds = parse_area(text)
    assert bounds is not None
    return CellRef(sheet, bounds[0], bounds[1])


def _formulas(graph: DependencyGraph, *outputs: str) -> set[str]:
    return {str(c) for c in graph.upstream(map(_s, outputs)).formulas}


@pytest.fixture
def graph(tmp_path: Path, make: Callable[..., Path]) -> DependencyGraph:
    path = make(
        tmp_path / "g.xlsx",
        {
            "S": {
                "A1": 1,
                "A2": 2,
                "B1": "=A1*2",
                "B2": "=B1+A2",
                "B3": "=SUM(B1:B2)",
                "C1": "=SUM(S:U!A1)",
                "C2": "=total*'My Sheet'!B1",
                "C3": "=SUM(A:A)",
                "C4": "=beside",
                "C5": "=factor*A1",
                "C6": "=missing+Other!A1",
                "C7": "=OFFSET(A1,1,0)",
                "C8": "=NOW()-A1",
                "C9": "=C8+1",
                "C10": "=SUM(C9:C9,B3)",
                "C11": "=C11+1",
                "C12": "=SUM(A1:A2,C9:C10)",
                "C13": "=[1]Loads!A1",
                "D4": "=A2",
            },
            "T": {"A1": "=S!A2"},
            "U": {"A1": 5},
            "My Sheet": {"B1": "=S!B1", "B2": "=total"},
        },
        {
            "total": "S!$B$3",
            "factor": "9.80665",
            "beside": "S!B1",
        },
    )
    book = openpyxl.load_workbook(path)
    book["My Sheet"].defined_names["total"] = DefinedName("total", attr_text="'My Sheet'!$B$1")
    book.save(path)
    return _graph(path)


def test_upstream_through_ranges_names_and_sheets(graph: DependencyGraph) -> None:
    assert _formulas(graph, "B3") == {"S!B3", "S!B2", "S!B1"}
    assert _formulas(graph, "C2") == {"S!C2", "S!B3", "S!B2", "S!B1", "'My Sheet'!B1"}
    assert _formulas(graph, "C1") == {"S!C1", "T!A1"}
    assert {str(c) for c in graph.upstream([CellRef("My Sheet", 2, 2)]).formulas} == {
        "'My Sheet'!B2",
        "'My Sheet'!B1",
        "S!B1",
    }
    assert graph.upstream([_s("C1")]).constants == {_s("A1"), _s("A2"), _s("A1", "U")}


def test_blank_cells_of_a_range_are_read_too(graph: DependencyGraph) -> None:
    upstream = graph.upstream([_s("C3")])
    assert upstream.reads(_s("A500"))
    assert not upstream.reads(_s("B1"))
    assert upstream.constants == {_s("A1"), _s("A2")}


def test_a_relative_name_means_other_cells_elsewhere(graph: DependencyGraph) -> None:
    reads = graph.reads(_s("C4"))
    assert reads is not None
    assert reads.areas == (Area("S", 4, 4, 4, 4),)  # S!B1 written for A1, seen from C4: S!D4
    assert _formulas(graph, "C4") == {"S!C4", "S!D4"}


def test_names_without_cells_and_names_of_nothing(graph: DependencyGraph) -> None:
    constant, nothing = graph.reads(_s("C5")), graph.reads(_s("C6"))
    assert constant is not None and nothing is not None
    assert constant.constant_names == ("factor",)
    assert nothing.unknown == ("missing", "Other!A1")
    external = graph.reads(_s("C13"))
    assert external is not None
    assert external.external == ("[1]Loads!A1",)


def test_references_made_at_run_time_are_marked(graph: DependencyGraph) -> None:
    assert graph.upstream([_s("C7")]).computed == (_s("C7"),)
    assert graph.upstream([_s("B3")]).computed == ()


def test_what_the_clock_moves(graph: DependencyGraph) -> None:
    cells = graph.contents.formulas
    assert {str(c) for c in graph.changing(cells)} == {"S!C8", "S!C9", "S!C10", "S!C12"}


def test_a_circle_ends(graph: DependencyGraph) -> None:
    assert _formulas(graph, "C11") == {"S!C11"}


def test_what_a_cell_without_a_formula_rests_on(graph: DependencyGraph) -> None:
    upstream = graph.upstream([_s("A1"), _s("Z9")])
    assert (upstream.formulas, upstream.constants) == (frozenset(), {_s("A1")})


def test_arrays_data_tables_and_tables(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.title = "S"
    for row in (["F", "Arm"], [1, 2], [3, 4], [5, 6]):
        sheet.append(row)
    sheet.add_table(Table(displayName="Pulls", ref="A1:B4"))
    sheet["D2"] = ArrayFormula("D2:D4", "=A2:A4*B2:B4")
    sheet["D3"], sheet["D4"] = 12, 30
    sheet["E2"] = "=Pulls[[#This Row],[F]]*2"
    sheet["E3"] = "=SUM(Pulls[Arm])"
    sheet["E4"] = "=SUM(Pulls[[#All],[F]:[Arm]])"
    sheet["E5"] = "=D3"
    sheet["H1"] = "=A2*10"
    sheet["H2"] = DataTableFormula("H2:H4", dt2D=False, dtr=False, r1="A2")
    sheet["G2"], sheet["G3"], sheet["G4"] = 1, 2, 3
    path = tmp_path / "t.xlsx"
    book.save(path)
    graph = _graph(path)
    areas = {a: (r.areas if (r := graph.reads(_s(a))) else None) for a in ("E2", "E3", "E4")}
    assert areas == {
        "E2": (Area("S", 2, 1, 2, 1),),
        "E3": (Area("S", 2, 2, 4, 2),),
        "E4": (Area("S", 1, 1, 4, 2),),
    }
    assert _formulas(graph, "E5") == {"S!E5", "S!D3"}
    assert _s("A4") in graph.upstream([_s("E5")]).constants
    assert _s("D3") not in graph.contents.constants
    assert _formulas(graph, "H4") == {"S!H1", "S!H2", "S!H3", "S!H4"}
    assert {_s("A2"), _s("G4")} <= graph.upstream([_s("H3")]).constants


def test_typed_in_contents(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    book.epoch = CALENDAR_MAC_1904
    sheet = book.active
    assert sheet is not None
    sheet.title = "S"
    sheet["A1"], sheet["A2"], sheet["A3"], sheet["A4"] = 1000, "=A1", True, "text"
    sheet["A1"].number_format = "yyyy-mm-dd"
    sheet["A5"] = "=not a formula"
    sheet["A5"].data_type = "s"
    path = tmp_path / "c.xlsx"
    book.save(path)
    contents = read_contents(path)
    assert contents.dates_from_1904
    assert contents.constants == {
        _s("A1"): NumberCell(1000.0),
        _s("A3"): BooleanCell(True),
        _s("A4"): TextCell("text"),
        _s("A5"): TextCell("=not a formula"),
    }


def test_upstream_is_what_a_plain_search_finds(tmp_path: Path, make: Callable[..., Path]) -> None:
    """Random sheets of sums over random ranges, against a search cell by cell."""
    rng = random.Random(7)
    for number in range(20):
        cells: dict[str, object] = {}
        read: dict[CellRef, set[CellRef]] = {}
        for row in range(1, 9):
            for column in range(1, 7):
                rows = sorted((rng.randint(1, 10), rng.randint(1, 10)))
                columns = sorted((rng.randint(1, 8), rng.randint(1, 8)))
                if rng.random() < 0.5:
                    area = Area("S", rows[0], columns[0], rows[1], columns[1])
                    cell = CellRef("S", row, column)
                    cells[str(cell).removeprefix("S!")] = f"=SUM({str(area).removeprefix('S!')})"
                    read[cell] = set(area.cells())
        graph = _graph(make(tmp_path / f"{number}.xlsx", {"S": cells}))
        output = rng.choice(sorted(read))
        met, pending = {output}, [output]
        while pending:
            new = read.get(pending.pop(), set()) - met
            met |= new
            pending += new
        upstream = graph.upstream([output])
        assert upstream.formulas == met & read.keys()
        assert {c for c in Area("S", 1, 1, 12, 10).cells() if upstream.reads(c)} == met


def test_long_running_sums_do_not_take_the_square_of_their_length(
    tmp_path: Path, make: Callable[..., Path]
) -> None:
    """Each of the sums reads all rows above it; every row is still met once."""
    count = 3000
    cells: dict[str, object] = {"B1": "=A1"}
    for row in range(2, count + 1):
        cells[f"B{row}"] = f"=SUM(A$1:A{row})+SUM(B$1:B{row - 1})"
    graph = _graph(make(tmp_path / "long.xlsx", {"S": cells}))
    met = 0
    read = graph.reads

    def counted(cell: CellRef) -> object:
        nonlocal met
        met += 1
        return read(cell)

    graph.reads = counted  # type: ignore[method-assign,assignment]
    assert len(graph.upstream([CellRef("S", count, 2)]).formulas) == count
    assert met == count


def test_hidden_sheets_are_told(resultant: Path) -> None:
    contents = read_contents(resultant)
    assert contents.hidden_sheets == ("Unit Table",)
