"""What is found in workbooks of several layouts: places, labels, units."""

from __future__ import annotations

import openpyxl
import pytest

from refsolver.calculators.drafting.fields import find_fields
from refsolver.calculators.drafting.worksheet import read_worksheets


def found(path):
    fields = find_fields(read_worksheets(path))
    return fields, {f.place: f for f in fields.inputs}, {f.place: f for f in fields.outputs}


def units(field):
    return {unit.name for unit, _ in field.unit.meanings.values()}


def test_a_table_with_labels_above_and_results_over_its_ranges(build):
    _, inputs, outputs = found(build("pulls"))
    assert set(inputs) == {"Calc!B5:B12", "Calc!C5:C12"}
    pulls, angles = inputs["Calc!B5:B12"], inputs["Calc!C5:C12"]
    assert pulls.says == "Pull (lb)" and pulls.rows == 8 and pulls.holds == "120, 85, 140"
    assert units(pulls) == {"lb", "lbf"}
    assert pulls.table == angles.table and angles.as_angle and not pulls.as_angle
    assert {f.says for f in outputs.values()} == {"Resultant", "Direction from vertical"}
    assert outputs["Calc!B16"].final and not outputs["Calc!B15"].final


def test_labels_to_the_left_and_units_to_the_right(build):
    _, inputs, outputs = found(build("sling"))
    said = {place: field.says for place, field in inputs.items()}
    assert said == {
        "Calc!B3": "Load weight lb",
        "Calc!B4": "Number of legs",
        "Calc!B5": "Angle of leg from vertical deg",
        "Calc!B9": "Allowance factor",
    }
    assert units(inputs["Calc!B5"]) == {"deg"} and not inputs["Calc!B4"].unit.known
    assert outputs["Calc!B7"].says == "Tension in each leg lb"


def test_a_unit_between_label_and_value(build):
    changes = {"A3": "Load weight", "B3": "lb", "C3": 2400, "B7": "=C3/B4/COS(RADIANS(B5))"}
    _, inputs, _ = found(build("sling", changes))
    assert inputs["Calc!C3"].says == "Load weight lb" and units(inputs["Calc!C3"]) == {"lb", "lbf"}


def test_defined_names_are_the_places(build):
    _, inputs, outputs = found(build("belt", title="Belt drive"))
    assert set(inputs) == {"Friction", "LapAngle", "TightTension"} and set(outputs) == {"Slack"}
    assert inputs["LapAngle"].says == "Lap (degrees)"
    assert inputs["LapAngle"].cells == "'Belt drive'!C4"


def test_units_in_the_row_below_the_heads(build):
    _, inputs, outputs = found(build("moments"))
    fx = inputs["Calc!B5:B10"]
    assert fx.says == "Fx (kN)" and units(fx) == {"kN"} and fx.rows == 6
    assert inputs["Calc!I3"].says == "About x m"
    assert outputs["Calc!F5:F10"].says == "Moment (kN m)" and not outputs["Calc!F5:F10"].final
    assert outputs["Calc!F12"].final


def test_a_table_on_its_side(build):
    _, inputs, outputs = found(build("wide"))
    assert set(inputs) == {"Calc!B2:G2", "Calc!B3:G3"}
    assert inputs["Calc!B2:G2"].table == inputs["Calc!B3:G3"].table
    assert inputs["Calc!B3:G3"].as_angle and inputs["Calc!B2:G2"].rows == 6
    assert {"Calc!B8", "Calc!B9"} <= set(outputs)


def test_the_unit_of_a_number_format(build):
    changes = {"A3": "Load", "C3": None}
    _, inputs, _ = found(build("sling", changes, formats={"B3": '0.0" kN"'}))
    assert units(inputs["Calc!B3"]) == {"kN"}
    assert inputs["Calc!B3"].unit.where == "the number format"


def test_numbered_labels_are_rows(build):
    cells = {f"A{n}": f"Load {n} (N)" for n in (1, 2, 3)} | {f"B{n}": n for n in (1, 2, 3)}
    cells |= {"A5": "Total (N)", "B5": "=B1+2*B2-B3"}
    _, inputs, _ = found(build(changes=cells))
    (loads,) = inputs.values()
    assert loads.rows == 3 and loads.cells == "Calc!B1, Calc!B2, Calc!B3"


def test_a_table_that_values_are_looked_up_in_is_no_input(build):
    cells = {"A1": "Angle (deg)", "B1": 30, "A2": "Factor", "B2": "=VLOOKUP(B1,D1:E4,2)"}
    cells |= {f"D{n}": 30 * n for n in range(1, 5)} | {f"E{n}": n / 7 for n in range(1, 5)}
    fields, inputs, _ = found(build(changes=cells))
    assert set(inputs) == {"Calc!B1"} and fields.tables == ("Calc!D1:E4",)


@pytest.mark.parametrize(
    "labels",
    [
        ["Leg A (kN)", "Leg B (kN)", "Leg C (kN)"],
        ["RA (kN)", "RB (kN)"],
        ["alpha (deg)", "beta (deg)"],
    ],
)
def test_labels_counted_by_letters_are_rows_and_each_by_itself(build, labels):
    cells = {f"A{n}": label for n, label in enumerate(labels, 1)}
    cells |= {f"B{n}": n for n in range(1, len(labels) + 1)}
    cells |= {"A9": "Total", "B9": "=B1*2+B2*3+B3"}
    fields = find_fields(read_worksheets(build(changes=cells)))
    assert [f.rows for f in fields.inputs][0] == len(labels)
    assert [f.says for f in fields.apart.inputs][: len(labels)] == labels


@pytest.mark.parametrize("labels", [["Leg B (kN)", "Leg C (kN)"], ["a (m)", "b (m)"]])
def test_letters_that_do_not_count_from_the_first_are_no_rows(build, labels):
    cells = {"A1": labels[0], "B1": 1, "A2": labels[1], "B2": 2, "A9": "Sum", "B9": "=B1*2+B2*3"}
    fields = find_fields(read_worksheets(build(changes=cells)))
    assert all(f.rows == 1 for f in fields.inputs) and fields.apart is None


def test_a_value_beside_a_value_takes_its_head(build):
    cells = {"A1": "Span (m)", "B1": "Load (kN)", "A2": 4, "B2": 10}
    cells |= {"A4": "Moment (kN m)", "B4": "=A2*B2/4"}
    _, inputs, _ = found(build(changes=cells))
    assert {f.says for f in inputs.values()} == {"Span (m)", "Load (kN)"}


@pytest.mark.parametrize("title", ["My sheet", "It's", "R1C1"])
def test_sheets_whose_names_need_quotes(build, title):
    _, inputs, _ = found(build("sling", title=title))
    assert all(place.startswith("'") for place in inputs)


def test_a_heading_over_two_rows_an_angle_turned_on_another_sheet_and_a_copied_text(tmp_path):
    book = openpyxl.Workbook()
    guys, calc = book.active, book.create_sheet("Calc")
    guys.title = "Guys"
    guys.append(["Guy", "Pull", "Bearing"])
    guys.append(["", "[kN]", "(clockwise from N)"])
    calc.append(["Guy", "E [kN]"])
    for row in range(3, 7):
        guys.append([f"G{row - 2}", row, 10 * row])
        calc.append([f"=Guys!A{row}", f"=Guys!B{row}*SIN(RADIANS(Guys!C{row}))"])
    book.save(tmp_path / "guys.xlsx")
    _, inputs, outputs = found(tmp_path / "guys.xlsx")
    assert inputs["Guys!B3:B6"].says == "Pull [kN]" and units(inputs["Guys!B3:B6"]) == {"kN"}
    assert inputs["Guys!C3:C6"].says == "Bearing (clockwise from N)"
    assert inputs["Guys!C3:C6"].as_angle
    assert set(outputs) == {"Calc!B2:B5"}
