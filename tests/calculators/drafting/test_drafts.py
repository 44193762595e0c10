"""Drafts: what is proposed for several layouts, what is marked, and what is refused."""

from __future__ import annotations

import tomllib
import zipfile

import openpyxl
import pytest

from refsolver.calculators.drafting.blank import blank_draft
from refsolver.calculators.drafting.writing import draft_workbook, write_draft
from refsolver.calculators.file import CalculatorFileError, read_calculator_file
from refsolver.catalogue.schema import CaseFileError
from refsolver.statics.registry import families


def drafted(path, *names):
    draft = draft_workbook(path, path.with_suffix(".toml"), names)
    return draft, tomllib.loads(draft.text)


def marks(value):
    if isinstance(value, dict):
        return sum(map(marks, value.values()))
    if isinstance(value, list):
        return sum(map(marks, value))
    return int(isinstance(value, str) and (value == "decide" or value.startswith("decide:")))


@pytest.mark.parametrize(
    ("layout", "family"),
    [
        ("pulls", "concurrent-forces/plane-resultant"),
        ("sling", "rigging/equal-legs"),
        ("belt", "friction/belt"),
        ("moments", "moments/plane-point"),
        ("wide", "concurrent-forces/plane-resultant"),
    ],
)
def test_the_family_is_ranked_first_with_its_reason_and_stays_a_guess(build, layout, family):
    draft, data = drafted(build(layout))
    assert draft.ranking[0][0] == family and "fit" in draft.ranking[0][1]
    assert data["family"][0]["name"] == f"decide: {family}"


@pytest.mark.parametrize("layout", ["pulls", "sling", "belt", "moments", "wide"])
def test_every_mark_is_counted_and_refused_with_its_line(build, layout):
    path = build(layout)
    draft, data = drafted(path)
    assert draft.to_decide == marks(data)
    target = path.with_suffix(".toml")
    write_draft(draft, target)
    with pytest.raises(CaseFileError) as refused:
        read_calculator_file(target)
    assert len(refused.value.complaints) == marks(data)
    lines = draft.text.splitlines()
    for complaint in refused.value.complaints:
        number = int(complaint.key.removeprefix("line "))
        assert '"decide' in lines[number - 1]


@pytest.mark.parametrize("layout", ["pulls", "sling", "belt", "moments", "wide"])
def test_criteria_are_never_proposed(build, layout):
    _, data = drafted(build(layout))
    for output in data["family"][0]["output"]:
        assert output["criterion"] == {"absolute": "decide", "reason": "decide"}


def test_conventions_are_guesses_with_the_words_they_rest_on(build):
    draft, data = drafted(build("pulls"), "concurrent-forces/plane-resultant")
    angle = data["family"][0]["input"][1]
    assert (angle["from"], angle["toward"], angle["range"]) == (
        "decide: +y",
        "decide: +x",
        "decide",
    )
    assert 'guess, from "from vertical" in the label' in draft.text
    assert 'guess, from "clockwise" in the label' in draft.text
    out = data["family"][0]["output"][1]
    assert out["range"] == "decide: 0..360" and 'from "MOD(..., 360)" in the formula' in draft.text
    assert out["toward"] == "decide: +x" and "the label of the angles typed in" in draft.text
    assert data["refusals"]["texts"] == ["decide: no direction"]


def test_words_are_quoted_and_units_marked_where_they_are_guessed(build):
    _, data = drafted(build("pulls"), "concurrent-forces/plane-resultant")
    pull = data["family"][0]["input"][0]
    assert pull["says"] == "Pull (lb)" and pull["unit"] == "decide: lbf"
    _, data = drafted(build("pulls", {"B4": "Pull (lbf)"}), "concurrent-forces/plane-resultant")
    assert data["family"][0]["input"][0]["unit"] == "lbf"
    _, data = drafted(build("pulls", {"B4": "Pull"}), "concurrent-forces/plane-resultant")
    assert data["family"][0]["input"][0]["unit"] == "decide"


def test_without_words_a_convention_is_left_open(build):
    _, data = drafted(build("pulls", {"C4": "Angle"}), "concurrent-forces/plane-resultant")
    angle = data["family"][0]["input"][1]
    assert (angle["from"], angle["toward"]) == ("decide", "decide")
    assert angle["unit"] == "decide: deg"


def test_what_is_not_recognised_has_to_be_decided_too(build):
    _, data = drafted(build("sling"))
    family = data["family"][0]
    assert [i["says"] for i in family["input"] if i["given"] == "decide"] == ["Allowance factor"]
    assert [o["says"] for o in family["output"] if o["answer"] == "decide"] == ["Hook allowance"]


def test_choices_without_a_place_are_what_the_calculator_takes_for_granted(build):
    _, data = drafted(build("sling"))
    assert data["family"][0]["fixed"] == {
        "sharing": "decide", "measured_from": "decide: vertical",
    }  # fmt: skip


def test_a_size_without_a_direction_asks_for_the_axis(build):
    cells = {"A1": "Load (kN)", "B1": "At (m)", "A2": 10, "B2": 2, "A3": 5, "B3": 3}
    cells |= {"D1": "Moment (kN m)", "D2": "=SUMPRODUCT(A2:A6,B2:B6)"}
    draft, data = drafted(build(changes=cells), "moments/plane-point")
    load = data["family"][0]["input"][0]
    assert load["take"] == "component" and load["along"] == "decide"
    assert "no direction is typed in" in draft.text


def test_signs_that_we_count_one_way_are_asked_for(build):
    _, data = drafted(build("moments"))
    assert all(output["negate"] == "decide" for output in data["family"][0]["output"])


def test_a_scope_for_the_rows_there_are(build):
    _, data = drafted(build("pulls"))
    (scope,) = data["family"][0]["scope"]
    assert scope["count"] == "forces" and scope["at_most"] == 8 and "B5:B12" in scope["reason"]


def test_a_family_that_fits_badly_still_gets_a_file_that_says_what_is_missing(build):
    _, data = drafted(build("sling"), "friction/screw")
    places = {i["given"]: i["place"] for i in data["family"][0]["input"]}
    assert places["pitch"] == "decide" and places["mean_diameter"] == "decide"


@pytest.mark.office
def test_an_opendocument_workbook_gives_the_same_draft(build, as_kind):
    path = build("pulls")
    ods = as_kind(path, "ods")
    one, other = drafted(path)[0].text, drafted(ods)[0].text
    assert other.replace(".ods", ".xlsx") == one


def test_hidden_sheets_and_macros_are_said(build):
    path = build("pulls")
    book = openpyxl.load_workbook(path)
    book.create_sheet("Factors").sheet_state = "hidden"
    book.save(path)
    add_macros(path)
    text = drafted(path)[0].text
    assert "# Hidden sheets: Factors." in text and "macros; they are never run" in text


def test_a_draft_is_never_written_over_a_file(build):
    path = build("pulls")
    target = path.with_suffix(".toml")
    target.write_text("mine")
    with pytest.raises(CalculatorFileError, match="not written over"):
        write_draft(drafted(path)[0], target)
    assert target.read_text() == "mine"


def test_the_workbook_is_named_from_where_the_draft_lies(build, tmp_path):
    path = build("pulls")
    draft = draft_workbook(path, tmp_path / "below" / "pulls.toml")
    assert tomllib.loads(draft.text)["workbook"]["file"] == "../pulls.xlsx"


def truncated(path):
    path.write_bytes(path.read_bytes()[:900])


def emptied(path):
    path.write_bytes(b"")


def encrypted(path):
    start = bytes.fromhex("D0CF11E0A1B11AE1")
    path.write_bytes(start + "EncryptedPackage\0".encode("utf-16-le"))


def without_formulas(path):
    book = openpyxl.Workbook()
    book.active["A1"], book.active["B1"] = "Load (kN)", 3
    book.save(path)


def macros_alone(path):
    without_formulas(path)
    add_macros(path)


def add_macros(path):
    with zipfile.ZipFile(path) as package:
        parts = {name: package.read(name) for name in package.namelist()}
    parts["xl/vbaProject.bin"] = b"made up"
    with zipfile.ZipFile(path, "w") as package:
        for name, data in parts.items():
            package.writestr(name, data)


def no_labels(path):
    book = openpyxl.Workbook()
    book.active["B2"] = "=1+1"
    book.save(path)


@pytest.mark.parametrize(
    ("harm", "said"),
    [
        (truncated, "damaged or cut short"),
        (emptied, "empty"),
        (encrypted, "password"),
        (without_formulas, "holds no formula: it computes nothing"),
        (macros_alone, "come from macros"),
        (no_labels, "no labelled input"),
    ],
)
def test_workbooks_that_cannot_be_drafted_are_refused_in_a_sentence(build, harm, said):
    path = build("pulls")
    harm(path)
    with pytest.raises(CalculatorFileError, match=said) as refused:
        drafted(path)
    assert str(path) in str(refused.value)


@pytest.mark.parametrize("kind", ["command", "python", "sheet"])
def test_blanks_list_what_every_case_states_and_all_answers(kind):
    for name, family in families().items():
        draft = blank_draft(kind, [name], function="shop:answer", title="shop")
        data = tomllib.loads(draft.text)
        assert kind in data and draft.to_decide == marks(data) > 3
        for answer in family.answers:
            assert f"{answer}: " in draft.text.replace("\n# ", " ")


def test_a_blank_names_dimensions_and_choices(tmp_path):
    text = blank_draft("python", ["rigging/equal-legs"], function="a:b", title="x").text
    assert "of force: N, lbf" in text and "every leg, three legs, two legs" in text
    assert 'function = "a:b"' in text
