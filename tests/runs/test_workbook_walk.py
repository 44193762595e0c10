"""From an unknown workbook to a judged record: an 8-row form, angles from the vertical, lbf.

The form and its labels are made up here.
"""

from __future__ import annotations

import hashlib
import math
import re
import zipfile

import openpyxl
import pytest
from openpyxl.worksheet.datavalidation import DataValidation

from refsolver.calculators.file import CalculatorFileError
from refsolver.calculators.workbook.office import find_office
from refsolver.records.building import circumstances_of
from refsolver.records.canonical import sealed, write_record
from refsolver.reporting.html import html_text
from refsolver.reporting.markdown import markdown_text
from refsolver.runs.diagnosis import diagnosis_data
from refsolver.runs.verifying import verify
from tests.command import command
from tests.runs.conftest import CASES

ROWS = range(6, 14)
STORED = [(110.0, 20.0), (64.5, 100.0), (38.25, 310.0)]

FORMULAS = {
    **{f"D{r}": f"=B{r}*SIN(RADIANS(C{r}))" for r in ROWS},
    **{f"E{r}": f"=B{r}*COS(RADIANS(C{r}))" for r in ROWS},
    "D14": "=SUM(D6:D13)",
    "E14": "=SUM(E6:E13)",
    "B17": "=SQRT(D14^2+E14^2)",
    "B18": '=IF(B17<0.000001,"no direction",MOD(DEGREES(ATAN2(E14,D14)),360))',
}

TOML = """
[calculator]
name = "Lantern arm form (made up)"
version = "4"
owner = "a workshop that does not exist"

[workbook]
file = "arm.xlsx"
engine = "{engine}"

[refusals]
texts = ["no direction"]

[[family]]
name = "concurrent-forces/plane-resultant"
gaps = true

[[family.scope]]
count = "forces"
at_most = 8
reason = "the form has eight rows"

[[family.input]]
given = "forces[*].force"
take = "magnitude"
unit = "lbf"
place = "{sheet}!B6:B13"
says = "Pull, lb"

[[family.input]]
given = "forces[*].force"
take = "angle"
from = "+y"
toward = "+x"
range = "0..360"
unit = "deg"
place = "{sheet}!C6:C13"
says = "Clockwise from vertical"

[[family.output]]
answer = "resultant"
take = "magnitude"
unit = "lbf"
place = "{sheet}!B17"
says = "Total pull, lb"
criterion = {{ {size} }}

[[family.output]]
answer = "resultant"
take = "angle"
from = "+y"
toward = "+x"
range = "0..360"
unit = "deg"
place = "{sheet}!{direction}"
says = "Its direction, clockwise from vertical"
criterion = {{ absolute = "0.01 deg", reason = "read to a hundredth" }}
"""
SIZE = 'relative = "0.01 %", absolute = "0.01 lbf", reason = "read to a hundredth"'


def stored_results(formulas):
    """What the form should show for its own inputs, worked out here in doubles."""
    found = {f"{c}{r}": 0.0 for r in ROWS for c in "DE"}
    for row, (pull, turn) in zip(ROWS, STORED, strict=False):
        found[f"D{row}"] = pull * math.sin(math.radians(turn))
        found[f"E{row}"] = pull * math.cos(math.radians(turn))
    found["D14"] = sum(found[f"D{r}"] for r in ROWS)
    found["E14"] = sum(found[f"E{r}"] for r in ROWS)
    found["B17"] = math.hypot(found["D14"], found["E14"])
    found["B18"] = math.degrees(math.atan2(found["D14"], found["E14"])) % 360
    return {cell: value for cell, value in found.items() if formulas[cell] == FORMULAS[cell]}


def as_float(x):
    return int(x.p) / int(x.q)


def write_form(path, changes=None, formats=None, keep_results=True):
    """The form, with some formulas and number formats changed; results stored in its cells."""
    formulas = {**FORMULAS, **(changes or {})}
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "Arm"
    for place, text in {
        "A1": "LANTERN ARM (made up)", "A2": "Pulls at the arm's end", "A5": "No.",
        "B5": "Pull, lb", "C5": "Clockwise from vertical", "D5": "to the right", "E5": "up",
        "A14": "Sum", "A17": "Total pull, lb", "A18": "Its direction",
    }.items():  # fmt: skip
        sheet[place] = text
    for number, row in enumerate(ROWS):
        sheet[f"A{row}"] = number + 1
        if number < len(STORED):
            sheet[f"B{row}"], sheet[f"C{row}"] = STORED[number]
    for cell, formula in formulas.items():
        sheet[cell] = formula
    for cell, shown in (formats or {}).items():
        sheet[cell].number_format = shown
    book.save(path)
    if keep_results:
        store(path, stored_results(formulas))
    return path


def store(path, results):
    """Puts results beside the formulas, as the program that saves a form does."""
    with zipfile.ZipFile(path) as package:
        parts = {name: package.read(name) for name in package.namelist()}
    part = "xl/worksheets/sheet1.xml"
    text = parts[part].decode()
    for cell, value in results.items():
        pattern = rf'(<c r="{cell}"[^>]*>)<f>(.*?)</f><v ?/></c>'
        text, count = re.subn(pattern, rf"\1<f>\2</f><v>{value!r}</v></c>", text)
        assert count == 1, cell
    parts[part] = text.encode()
    with zipfile.ZipFile(path, "w") as package:
        for name, data in parts.items():
            package.writestr(name, data)


def describe(folder, *, engine="embedded", sheet="Arm", size=SIZE, direction="B18", **more):
    text = TOML.format(engine=engine, sheet=sheet, size=size, direction=direction)
    for old, new in more.get("replace", {}).items():
        assert old in text
        text = text.replace(old, new)
    path = folder / "arm.toml"
    path.write_text(text)
    return path


@pytest.fixture
def checked(tmp_path, walk):
    """A check of the form with changed formulas, number formats or calculator file."""

    def run(changes=None, formats=None, keep_results=True, **options):
        write_form(tmp_path / "arm.xlsx", changes, formats, keep_results)
        return walk(describe(tmp_path, **options))

    return run


@pytest.fixture(scope="module")
def right(tmp_path_factory, walk):
    """The right form, its check, and what its file was before and is after."""
    folder = tmp_path_factory.mktemp("right")
    path = write_form(folder / "arm.xlsx", formats={"B17": "0.0", "B18": '0.0"°"'})
    before = hashlib.sha256(path.read_bytes()).hexdigest(), path.stat().st_mtime_ns
    found = walk(describe(folder))
    after = hashlib.sha256(path.read_bytes()).hexdigest(), path.stat().st_mtime_ns
    return found, before, after, folder


def test_the_right_form_is_met(right):
    found, *_ = right
    assert found.result == "met", found.run.overall.because
    assert found.run.verdicts["fail"] == found.run.verdicts["error"] == 0
    assert set(found.asked) >= {"anchor-right-triangle", "balanced", "filled-1", "permuted", "gaps"}


def test_the_user_s_file_is_not_touched(right):
    _, before, after, folder = right
    assert before == after
    assert sorted(p.name for p in folder.iterdir()) == ["arm.toml", "arm.xlsx"]


def test_answers_are_those_of_the_right_triangles(right):
    found, *_ = right
    for name, size, turn in [
        ("anchor-right-triangle", 50, math.degrees(math.atan2(3, 4))),
        ("downward-left", 130, 180 + math.degrees(math.atan2(5, 12))),
        ("in-newtons", 500 / 4.4482216152605, 360 - math.degrees(math.atan2(3, 4))),
        ("slopes", 120, 0),
    ]:
        magnitude, direction = found.findings(name)
        assert as_float(magnitude.number) == pytest.approx(size, rel=1e-12)
        assert as_float(magnitude.reference.middle) == pytest.approx(size, rel=1e-12)
        apart = (as_float(direction.number) - turn + 180) % 360 - 180
        assert apart == pytest.approx(0, abs=1e-9)


def test_stored_and_displayed_are_both_judged_and_kept(right):
    found, *_ = right
    (shown,) = found.findings("in-newtons", "magnitude", "displayed")
    assert shown.reported == "112.4" and shown.verdict == "pass"
    (stored,) = found.findings("in-newtons", "magnitude")
    assert stored.reported.startswith("112.4044715")
    kept = found.content["cases"][found.case("in-newtons").case.id]["received"]["Arm!B17"]
    assert kept["displayed"] == "112.4" and kept["number"] == stored.reported


def test_an_inexact_value_in_pounds_is_solved_again(right):
    """300 N is no double of pounds: the record shows both, the reference is that of the double."""
    found, *_ = right
    leaves = found.content["cases"][found.case("in-newtons").case.id]["handed"]
    pull = next(x for x in leaves if x["take"] == "magnitude")
    assert not pull["exact"] and pull["handed_value"].startswith("67.44")
    solved_for = found.case("in-newtons").handed.given.forces[0].force.magnitude
    assert solved_for != 300 and as_float(solved_for) == pytest.approx(300, rel=1e-15)


def test_a_zero_resultant_declines_and_its_size_passes(right):
    found, *_ = right
    assert found.verdict("balanced", "magnitude") == "pass"
    # three equal pulls in doubles balance to 1e-14; the form says "no direction"
    assert found.verdict("balanced", "angle") in ("pass", "not applicable")


def test_every_row_and_cell_is_covered(right):
    found, *_ = right
    (part,) = found.content["coverage"]
    assert len(part["inputs"]) == 16 and not part["never_varied"] and not part["never_judged"]
    assert part["formula_cells"] == len(FORMULAS) and not part["never_exercised"]


def test_counts_add_up(right):
    found, *_ = right
    counts = found.content["counts"]
    assert sum(counts["cases"].values()) == len(found.run.runs) == len(found.content["order"])
    assert sum(counts["readings"].values()) == counts["total"]
    assert counts["total"] == sum(len(r.findings) for r in found.run.runs)


def test_engine_and_trust_stand_in_the_record(right):
    found, *_ = right
    identity = found.content["calculator"]["identity"]
    assert identity["trust"]["outcome"] == "agrees"
    assert identity["trust"]["compared"] == len(FORMULAS)
    assert "ironcalc" in identity["engine"] and identity["program_of_use"] is False


def test_a_sum_one_row_short_is_found_by_filled_rows(checked):
    """No catalogue case has more than three forces: only the made cases fill the last row."""
    found = checked({"D14": "=SUM(D6:D12)"}, formats={"B17": "0.0"})
    assert found.result == "not met"
    failing = {
        r.case.id.rpartition("/")[2]
        for r in found.run.runs
        if any(f.verdict == "fail" for f in r.findings)
    }
    assert failing and all(found.case(name).made for name in failing)
    assert {"filled-1", "filled-2"} <= failing


PER_ROW = """
[[family.output]]
answer = "components"
key = "*"
take = "component"
along = "+x"
unit = "lbf"
place = "Arm!D6:D13"
says = "to the right"
criterion = { relative = "0.01 %", absolute = "0.01 lbf", reason = "read to a hundredth" }
"""
DIRECTION = 'criterion = { absolute = "0.01 deg", reason = "read to a hundredth" }\n'


def test_answers_row_by_row_are_read_where_their_rows_were_put(checked):
    """Rows in reverse, and with blanks between: each force's component stands in its own row."""
    found = checked(replace={DIRECTION: DIRECTION + PER_ROW})
    assert found.result == "met", found.run.overall.because
    for name in ("permuted", "gaps"):
        run = found.case(name)
        rows = run.placement["forces"]
        read = {line.view.key: line.place for line in run.outputs if line.view.key is not None}
        assert read == {f"force {n + 1}": f"Arm!D{6 + row}" for n, row in enumerate(rows)}
        assert rows != tuple(range(len(rows)))


def test_a_row_that_reads_its_neighbour_is_found(checked):
    """The sum is right all the same where two rows are exchanged: only their answers tell."""
    changes = {"D6": "=B7*SIN(RADIANS(C7))", "D7": "=B6*SIN(RADIANS(C6))"}
    found = checked(changes, replace={DIRECTION: DIRECTION + PER_ROW})
    failing = {f.output for r in found.run.runs for f in r.findings if f.verdict == "fail"}
    assert failing == {
        f"components [force {n}] component along +x" for n in (1, 2, 7, 8)
    }  # in reverse the seventh and eighth stand there


def test_another_unit_row_by_row_is_explained_though_rows_were_put_elsewhere(checked):
    per_row = PER_ROW.replace('unit = "lbf"', 'unit = "N"', 1).replace('"0.01 lbf"', '"0.01 N"')
    found = checked(replace={DIRECTION: DIRECTION + per_row})
    assert found.result == "not met"
    told = diagnosis_data(found.run)["suggestions"]
    assert len(told) == 1 and "is in lbf" in told[0] and "Unexplained" not in told[0]


def test_a_wrong_quadrant_is_found_where_the_resultant_points_down(checked):
    found = checked({"B18": '=IF(B17<0.000001,"no direction",DEGREES(ATAN(D14/E14)))'})
    assert found.result == "not met"
    assert found.verdict("downward-left", "angle") == "fail"
    assert found.verdict("anchor-right-triangle", "angle") == "pass"
    (off,) = found.findings("downward-left", "angle")
    assert as_float(off.deviation.size()) == pytest.approx(180, abs=1e-9)
    assert found.run.verdicts["fail"] and all(
        f.output.startswith("resultant angle")
        for r in found.run.runs
        for f in r.findings
        if f.verdict == "fail"
    )


@pytest.mark.parametrize(
    ("formula", "criterion", "result"),
    [
        ("ROUND({},0)", 'rounded_to = "1 lbf", manner = "nearest"', "met"),
        ("ROUND({},0)", 'relative = "0.001 %", absolute = "0.01 lbf"', "not met"),
        ("ROUNDUP({},0)", 'rounded_to = "1 lbf", manner = "nearest"', "not met"),
        (
            "ROUNDUP({},0)",
            'rounded_to = "1 lbf", manner = "up", computed_within = "0.000001 lbf"',
            "met",
        ),
        ("ROUNDDOWN({},0)", 'rounded_to = "1 lbf", manner = "up"', "not met"),
    ],
)
def test_rounding_is_a_criterion_of_its_own(checked, formula, criterion, result):
    size = formula.format("ROUND(SQRT(D14^2+E14^2),9)")
    found = checked(
        {"B17": f"={size}"},
        size=f'{criterion}, reason = "whole pounds"',
    )
    if result == "met":
        assert found.result == "met", found.run.overall.because
    else:
        assert found.result == "not met"
        assert {f.output for r in found.run.runs for f in r.findings if f.verdict == "fail"} == {
            "resultant magnitude"
        }


def test_a_display_that_shows_something_else_fails_where_the_stored_value_passes(checked):
    found = checked(formats={"B17": "0.0,"})  # shows thousands
    assert found.verdict("downward-left", "magnitude") == "pass"
    assert found.verdict("downward-left", "magnitude", "displayed") == "fail"
    assert found.result == "not met"


def test_a_blank_output_is_no_answer_and_not_met(checked):
    found = checked(direction="G18")
    assert found.verdict("anchor-right-triangle", "angle") == "no answer"
    assert found.result == "insufficient"


def test_an_empty_text_counts_as_blank(checked):
    found = checked({"B18": '=IF(C6=90,"",MOD(DEGREES(ATAN2(E14,D14)),360))'})
    assert found.verdict("anchor-right-triangle", "angle") == "no answer"
    assert found.verdict("downward-left", "angle") == "pass"


def test_an_error_value_is_an_error(checked):
    found = checked({"B18": '=IF(B17<0.000001,"no direction",1/(B17-B17))'})
    (finding,) = found.findings("anchor-right-triangle", "angle")
    assert finding.verdict == "error" and finding.reported == "#DIV/0!"
    assert found.result == "not met"


def test_an_error_value_listed_as_a_refusal_is_one(checked):
    found = checked(
        {"B18": "=IF(C6=90,1/0,MOD(DEGREES(ATAN2(E14,D14)),360))"},
        replace={'texts = ["no direction"]': 'errors = ["#DIV/0!"]'},
    )
    assert found.verdict("anchor-right-triangle", "angle") == "refused"
    assert found.result == "insufficient"


def test_a_text_that_is_no_listed_refusal_is_an_error(checked):
    found = checked({"B18": '=IF(C6=90,"see note 3",MOD(DEGREES(ATAN2(E14,D14)),360))'})
    (finding,) = found.findings("anchor-right-triangle", "angle")
    assert finding.verdict == "error" and "see note 3" in finding.why


def test_a_sheet_that_answers_an_angle_at_zero_is_not_failed_for_it(checked):
    found = checked({"B18": "=MOD(DEGREES(ATAN2(E14,D14)),360)"})
    assert found.verdict("balanced", "magnitude") == "pass"
    assert found.verdict("balanced", "angle") == "not applicable"
    assert found.result == "met", found.run.overall.because


def test_a_workbook_that_the_engine_does_not_speak_is_refused(tmp_path, walk):
    path = write_form(tmp_path / "arm.xlsx")
    write_form(path, keep_results=False)
    store(path, {**stored_results(FORMULAS), "B17": 1.0})
    with pytest.raises(CalculatorFileError, match="does not speak this workbook"):
        walk(describe(tmp_path))


@pytest.mark.office
def test_without_stored_values_two_engines_are_compared(checked):
    found = checked(keep_results=False)
    identity = found.content["calculator"]["identity"]
    assert identity["trust"]["outcome"] == "not shown"
    assert "agrees with" in identity["note"] or "no second engine" in identity["note"]
    assert found.result == "met", found.run.overall.because


@pytest.mark.office
def test_the_office_engine_judges_alike(checked, right):
    find_office()
    found = checked(formats={"B17": "0.0", "B18": '0.0"°"'}, engine="office")
    assert found.result == "met", found.run.overall.because
    assert "LibreOffice" in found.content["calculator"]["identity"]["engine"]
    embedded = right[0]
    for run in found.run.runs:
        name = run.case.id.rpartition("/")[2]
        other = embedded.case(name)
        assert [f.verdict for f in run.findings] == [f.verdict for f in other.findings], name


@pytest.mark.parametrize(
    ("options", "said"),
    [
        ({"sheet": "Boom"}, "Boom"),
        ({"direction": "B0"}, "B0"),
        ({"direction": "total_pull"}, "total_pull"),
        ({"replace": {"C6:C13": "D6:D13"}}, "holds a formula"),
        ({"engine": "pencil"}, "engine"),
        ({"replace": {'file = "arm.xlsx"': 'file = "legs.xlsx"'}}, "legs.xlsx"),
        ({"replace": {'file = "arm.xlsx"': 'file = "arm.xlsx"\ncolour = "red"'}}, "colour"),
        ({"size": 'relative = "1 %"'}, "reason"),
    ],
)
def test_a_wrong_mapping_is_a_sentence(tmp_path, options, said):
    write_form(tmp_path / "arm.xlsx")
    path = describe(tmp_path, **options)
    command("check", path, "--out", "out", cwd=tmp_path).refuses(said)
    assert sorted(p.name for p in tmp_path.iterdir()) == ["arm.toml", "arm.xlsx"]


def broken_files(good):
    yield "empty", b""
    yield "text", b"pull, angle\n1, 2\n"
    yield "cut", good[: len(good) // 2]
    yield "other-zip", b"PK\x05\x06" + b"\0" * 18
    yield "old-binary", bytes.fromhex("d0cf11e0a1b11ae1") + b"\0" * 600


@pytest.mark.parametrize("kind", ["empty", "text", "cut", "other-zip", "old-binary"])
def test_a_broken_workbook_is_a_sentence(tmp_path, kind):
    path = write_form(tmp_path / "arm.xlsx")
    path.write_bytes(dict(broken_files(path.read_bytes()))[kind])
    path = describe(tmp_path)
    command("check", path, "--out", "out", cwd=tmp_path).refuses("arm.xlsx")
    assert sorted(p.name for p in tmp_path.iterdir()) == ["arm.toml", "arm.xlsx"]


def validated(folder, *rules, **options):
    """The form with data validation, a rule and its cells at a time."""
    write_form(folder / "arm.xlsx")
    book = openpyxl.load_workbook(folder / "arm.xlsx")
    for cells, how in rules:
        rule = DataValidation(**{"showErrorMessage": True, **how})
        rule.add(cells)
        book["Arm"].add_data_validation(rule)
    book.save(folder / "arm.xlsx")
    store(folder / "arm.xlsx", stored_results(FORMULAS))
    return describe(folder, **options)


UP_TO_100 = ("B6:B13", {"type": "decimal", "formula1": "0", "formula2": "100"})


def test_what_a_cell_lets_nobody_type_is_outside_the_scope(tmp_path, walk):
    found = walk(validated(tmp_path, UP_TO_100))
    outside = {name: run.condition for name, run in ((n, found.case(n)) for n in CASES)}
    assert outside["downward-left"] == (
        "forces[*].force magnitude: a number from 0 to 100 "
        "(data validation: Arm!B6:B13 takes nothing else)"
    )
    assert outside["anchor-right-triangle"] == outside["slopes"] == ""  # 100 lbf is the limit
    assert found.content["calculator"]["identity"]["noticed"]["validation"] == [
        "Arm!B6:B13: a number from 0 to 100"
    ]
    (scope,) = found.content["scope"]
    assert scope["conditions"][-1]["reason"].startswith("data validation: Arm!B6:B13")
    assert sum(found.content["counts"]["cases"].values()) == len(found.run.runs)


def test_a_record_of_it_is_reproduced_and_the_reports_say_it(tmp_path, walk):
    found = walk(validated(tmp_path, UP_TO_100, ("C6:C13", {"type": "custom", "formula1": "TRUE"})))
    record = sealed(found.content, circumstances_of(found.run))
    write_record(record, tmp_path / "record.json")
    said = verify(tmp_path / "record.json")
    assert said.holds, said
    for text in (markdown_text(record), html_text(record)):
        assert "data validation of inputs" in text
        assert "custom (TRUE), not followed here" in text.replace("<wbr>", "")


def test_a_rule_that_only_warns_leaves_the_scope_as_it_is(tmp_path, walk):
    cells, how = UP_TO_100
    found = walk(validated(tmp_path, (cells, {**how, "errorStyle": "warning"})))
    assert found.case("downward-left").asked
    assert found.content["calculator"]["identity"]["noticed"]["validation"] == [
        "Arm!B6:B13: a number from 0 to 100, others after a warning"
    ]


def test_whole_numbers_only(tmp_path, walk):
    found = walk(
        validated(tmp_path, ("B6:B13", {"type": "whole", "formula1": "0", "formula2": "999"}))
    )
    assert found.case("downward-left").asked
    assert "a whole number from 0 to 999" in found.case("in-newtons").condition
