"""Data validation, as openpyxl and LibreOffice write it."""

from __future__ import annotations

import json
import zipfile
from pathlib import Path

import openpyxl
import pytest
from flint import fmpq
from openpyxl.workbook.defined_name import DefinedName
from openpyxl.worksheet.datavalidation import DataValidation

from refsolver.calculators.file import CalculatorFileError, FamilySection
from refsolver.calculators.line_readers import read_input_line
from refsolver.calculators.lines import Condition
from refsolver.calculators.scope import condition_data, condition_from
from refsolver.calculators.typed_cells import held_to_rules, told_rules
from refsolver.calculators.workbook.allowed import Allowed, allowed_by, rules_for
from refsolver.calculators.workbook.contents import WorkbookContents, read_contents
from refsolver.calculators.workbook.office import OfficeEngine
from refsolver.calculators.workbook.references import CellRef
from refsolver.catalogue.toml import TomlReader
from refsolver.statics.registry import family

A1 = CellRef("S", 1, 1)


def ruled(path: Path, *, refuses: bool = True, style: str | None = None, **rule: str) -> Path:
    """A workbook with one rule for S!A1:A3, and lists elsewhere that it may name."""
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.title = "S"
    lists = book.create_sheet("Lists")
    for row, entry in enumerate(("Pin", "Roller ", 45, None, "=1+1"), 1):
        lists.cell(row, 1).value = entry
    sheet["B1"], sheet["B2"] = 2.5, "=B1*2"
    book.defined_names["ends"] = DefinedName("ends", attr_text="Lists!$A$1:$A$2")
    made = DataValidation(**rule, errorStyle=style)
    made.showErrorMessage = refuses
    made.add("A1:A3")
    sheet.add_data_validation(made)
    book.save(path)
    return path


def allowed(path: Path) -> Allowed | None:
    contents = read_contents(path)
    (rule,) = rules_for(contents, [A1])
    return allowed_by(rule, contents)


@pytest.mark.parametrize(
    ("rule", "words", "limits"),
    [
        ({"formula1": "0", "formula2": "1000"}, "a number from 0 to 1000", (0, 1000, None, None)),
        ({"operator": "equal", "formula1": "-1.5"}, "the number -1.5", (-1.5, -1.5, None, None)),
        ({"operator": "greaterThan", "formula1": "0"}, "a number above 0", (None, None, 0, None)),
        ({"operator": "lessThan", "formula1": "9"}, "a number below 9", (None, None, None, 9)),
        (
            {"operator": "greaterThanOrEqual", "formula1": "1E-3"},
            "a number of at least 1E-3",
            (fmpq(1, 1000), None, None, None),
        ),
        (
            {"operator": "lessThanOrEqual", "formula1": "$B$1"},
            "a number of at most $B$1",
            (None, 2.5, None, None),
        ),
        ({"operator": "notBetween", "formula1": "0", "formula2": "1"}, None, None),
        ({"operator": "greaterThan", "formula1": "B2"}, None, None),  # worked out by a formula
        ({"operator": "greaterThan", "formula1": "SUM(B1:B2)"}, None, None),
        ({"formula1": "0", "formula2": "B7"}, None, None),  # an empty cell
    ],
)
def test_limits(tmp_path: Path, rule: dict[str, str], words: str | None, limits: tuple) -> None:
    found = allowed(ruled(tmp_path / "v.xlsx", type="decimal", **rule))
    if words is None:
        assert found is None
        return
    assert found is not None
    assert found.words == words
    assert (found.at_least, found.at_most, found.above, found.below) == tuple(
        None if x is None else fmpq(*(x.as_integer_ratio() if isinstance(x, float) else (x,)))
        for x in limits
    )
    assert found.step is None


@pytest.mark.parametrize("cell", ["B1", "$B1", "S!B1"])
def test_a_limit_that_is_another_cell_for_each_row_is_not_followed(
    tmp_path: Path, cell: str
) -> None:
    """ECMA-376 part 1, 18.17.2.3 (from memory): without a dollar sign a reference moves along."""
    rule = {"type": "decimal", "operator": "lessThanOrEqual"}
    assert allowed(ruled(tmp_path / "v.xlsx", formula1=cell, **rule)) is None
    assert allowed(ruled(tmp_path / "f.xlsx", formula1="B$1", **rule)) is not None


def test_a_limit_that_is_an_input_is_not_followed(tmp_path: Path) -> None:
    """What stands there now is the last case of whoever saved the workbook."""
    for rule in ({"type": "decimal", "operator": "lessThan"}, {"type": "list"}):
        contents = read_contents(ruled(tmp_path / "v.xlsx", formula1="$B$1", **rule))
        (found,) = rules_for(contents, [A1])
        assert allowed_by(found, contents, [A1]) is not None
        assert allowed_by(found, contents, [A1, CellRef("S", 1, 2)]) is None
        (told,) = told_rules(contents, [A1, CellRef("S", 1, 2)])
        assert told == f"S!A1:A3: {rule['type']} ($B$1), not followed here"


def test_whole_numbers_have_a_step(tmp_path: Path) -> None:
    found = allowed(ruled(tmp_path / "v.xlsx", type="whole", formula1="1", formula2="8"))
    assert found == Allowed("a whole number from 1 to 8", fmpq(1), fmpq(8), step=fmpq(1))


@pytest.mark.parametrize(
    ("formula", "entries"),
    [
        ('"Pin,Roller , 45"', ("Pin", "Roller", "45")),
        ("Lists!$A$1:$A$4", ("Pin", "Roller", "45")),
        ("ends", ("Pin", "Roller")),
        ("Lists!$A$1:$A$5", None),  # one of them is computed
        ("OFFSET(Lists!$A$1,0,0,2)", None),
        ("Nowhere!$A$1:$A$2", None),
    ],
)
def test_lists(tmp_path: Path, formula: str, entries: tuple[str, ...] | None) -> None:
    found = allowed(ruled(tmp_path / "v.xlsx", type="list", formula1=formula))
    assert (None if found is None else found.listed) == entries
    if found is not None:
        assert found.takes("PIN")
        assert not found.takes("Hinge")
        assert found.numbers == ((fmpq(45),) if "45" in (entries or ()) else ())


@pytest.mark.parametrize(
    ("refuses", "style", "held"),
    [
        (True, None, True),
        (True, "stop", True),
        (True, "warning", False),
        (True, "information", False),
        (False, None, False),
    ],
)
def test_only_a_rule_that_stops_its_user_refuses(
    tmp_path: Path, refuses: bool, style: str | None, held: bool
) -> None:
    path = ruled(
        tmp_path / "v.xlsx", refuses=refuses, style=style, type="decimal", formula1="0",
        operator="greaterThan",
    )  # fmt: skip
    (rule,) = rules_for(read_contents(path), [A1])
    assert rule.refuses is held


def test_a_rule_holds_for_its_own_cells(tmp_path: Path) -> None:
    contents: WorkbookContents = read_contents(
        ruled(tmp_path / "v.xlsx", type="custom", formula1="ISNUMBER(A1)")
    )
    assert rules_for(contents, [CellRef("S", 4, 1), CellRef("Lists", 1, 1)]) == []
    (rule,) = rules_for(contents, [CellRef("S", 3, 1)])
    assert (rule.kind, rule.cells, allowed_by(rule, contents)) == ("custom", "S!A1:A3", None)


def section(words: dict[str, str]) -> FamilySection:
    """The section of a calculator whose sheet has the kinds of three supports in S!A1:A3."""
    reader = TomlReader("made-up.toml")
    table = {"given": "supports[*].kind", "place": "S!A1:A3", "says": "kind", "words": words}
    line = read_input_line(reader, table, "input", family("beams/reactions"))
    reader.stop_if_wrong()
    assert line is not None
    return FamilySection("beams/reactions", (line,), (), (), {}, False, False, False)


def test_a_word_that_the_cell_refuses_is_a_complaint(tmp_path: Path) -> None:
    path = ruled(tmp_path / "v.xlsx", type="list", formula1='"Pin,Roller"')
    contents = read_contents(path)
    held = section({"pin": "pin", "roller": "Roller"})
    assert held_to_rules(held, contents, contents.names.cells, []) == held
    for words, refused in (({"pin": "Hinge"}, "Hinge"), ({}, "fixed")):
        with pytest.raises(CalculatorFileError) as problem:
            held_to_rules(section(words), contents, contents.names.cells, [])
        assert f"S!A1:A3 refuses '{refused}' (data validation); write" in str(problem.value)
        assert "one of Pin, Roller" in str(problem.value)


def test_conditions_come_back_from_a_record() -> None:
    stated = Condition(
        "input", "forces[*].force magnitude", "data validation", "a number above 0.1",
        at_least=fmpq(-3, 7), above=fmpq(1, 10), resolution=fmpq(1), one_of=(fmpq(2), fmpq(5, 2)),
        of_cells=True,
    )  # fmt: skip
    assert condition_from(json.loads(json.dumps(condition_data(stated)))) == stated
    own = Condition("count", "forces", "eight rows", "number of forces: at most 8")
    assert condition_from(condition_data(own)) is None


EXTENDED = (
    '<extLst><ext xmlns:x14="http://schemas.microsoft.com/office/spreadsheetml/2009/9/main" '
    'uri="{CCE6A557-97BC-4b89-ADB6-D9C93CAAB3DF}"><x14:dataValidations count="1" '
    'xmlns:xm="http://schemas.microsoft.com/office/excel/2006/main"><x14:dataValidation '
    'type="list" allowBlank="1" showErrorMessage="1"><x14:formula1><xm:f>Lists!$A$1:$A$2</xm:f>'
    "</x14:formula1><xm:sqref>C1:C2 D4</xm:sqref></x14:dataValidation></x14:dataValidations></ext>"
    "</extLst></worksheet>"
)
"""A rule that names another sheet, as spreadsheet programs store it since 2010 (from memory)."""


def extended(path: Path) -> Path:
    ruled(path, type="decimal", formula1="0", formula2="1")
    with zipfile.ZipFile(path) as package:
        parts = {name: package.read(name) for name in package.namelist()}
    part = "xl/worksheets/sheet1.xml"
    parts[part] = parts[part].replace(b"</worksheet>", EXTENDED.encode())
    with zipfile.ZipFile(path, "w") as package:
        for name, data in parts.items():
            package.writestr(name, data)
    return path


def test_a_list_on_another_sheet(tmp_path: Path) -> None:
    contents = read_contents(extended(tmp_path / "x.xlsx"))
    (rule,) = rules_for(contents, [CellRef("S", 4, 4)])
    assert (rule.cells, rule.refuses) == ("S!C1:C2, S!D4", True)
    found = allowed_by(rule, contents)
    assert found is not None and found.listed == ("Pin", "Roller")
    assert len(contents.validations) == 2


def test_another_program_reads_the_same_rules(tmp_path: Path, office: OfficeEngine) -> None:
    """What LibreOffice writes of the workbook says the same of each cell."""
    path = extended(tmp_path / "x.xlsx")
    office.open(path)
    office.save_as_xlsx(tmp_path / "again.xlsx")
    before, after = read_contents(path), read_contents(tmp_path / "again.xlsx")
    for cell in (A1, CellRef("S", 1, 3), CellRef("S", 4, 4)):
        told = [
            [(rule.refuses, allowed_by(rule, contents)) for rule in rules_for(contents, [cell])]
            for contents in (before, after)
        ]
        assert told[0] == told[1]
        assert told[0][0][1] is not None
