"""The record of a check: the same check twice gives the same bytes; changes are said."""

from __future__ import annotations

import pytest

from refsolver.calculators.file import read_calculator_file
from refsolver.records.building import circumstances_of, content_of
from refsolver.records.canonical import canonical, read_record, sealed
from refsolver.records.changes import changes_since
from refsolver.runs.check import run_check
from refsolver.runs.checking import check_and_report
from tests.plane_pulls import inputs, output

MODULE = """
import math
def total(plate):
    x = sum(p["size"] * math.cos(math.radians(p["turn"])) for p in plate["pulls"])
    y = sum(p["size"] * math.sin(math.radians(p["turn"])) for p in plate["pulls"])
    return {"r": math.hypot(x, y) * 1.004}
"""
AGREED = '{ relative = "0.1 %", absolute = "0.01 lbf", reason = "as agreed" }'
TOML = """
[calculator]
name = "Gate post pulls (made up)"
version = "1"
owner = "a yard that does not exist"
[python]
function = "gate:total"
[[family]]
name = "concurrent-forces/plane-resultant"
[[family.scope]]
count = "forces"
at_most = 6
reason = "six hinges"
"""
TOML += inputs("lbf") + output(AGREED, "lbf")
LOOSER = ("0.1 %", "1 %")


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    folder = tmp_path_factory.mktemp("gate")
    (folder / "gate.py").write_text(MODULE)
    return folder


@pytest.fixture(scope="module")
def recorded(folder, catalogue):
    """Two records of the same check, and one under a looser criterion."""

    def record(text):
        (folder / "gate.toml").write_text(text)
        run = run_check(read_calculator_file(folder / "gate.toml"), catalogue)
        return sealed(content_of(run), circumstances_of(run))

    return record(TOML), record(TOML), record(TOML.replace(*LOOSER))


def test_the_same_check_twice_gives_the_same_content(recorded):
    first, second, other = recorded
    assert first["identity"]["content"] == second["identity"]["content"]
    assert canonical(first["content"]) == canonical(second["content"])
    assert first["identity"]["content"] != other["identity"]["content"]


def test_the_content_names_no_folder_and_no_time(recorded, folder):
    text = canonical(recorded[0]["content"]).decode()
    assert str(folder) not in text and "/tmp" not in text
    assert recorded[0]["circumstances"]["started"][:10] not in text


def test_counts_add_up_to_what_was_asked(recorded):
    content = recorded[0]["content"]
    counts = content["counts"]
    cases = content["cases"]
    assert sum(counts["cases"].values()) == len(cases) == len(content["order"])
    findings = [f for case in cases.values() for f in case.get("findings", [])]
    assert sum(counts["readings"].values()) == counts["total"] == len(findings)
    asked = sum(case["state"] == "asked" for case in cases.values())
    assert asked == counts["cases"]["asked"] == len(findings)  # one output a case
    by_family = counts["provenance"]["concurrent-forces/plane-resultant"]
    assert sum(by_family.values()) == asked
    for verdict, number in counts["readings"].items():
        assert number == sum(f["verdict"] == verdict for f in findings)


def test_a_failed_case_carries_working_and_drawing(recorded):
    case = recorded[0]["content"]["cases"]["concurrent-forces/plane-resultant/slopes"]
    assert case["findings"][0]["verdict"] == "fail"
    assert any("sum" in row for sheet in case["working"] for row in sheet["rows"])
    assert case["drawing"]
    assert case["findings"][0]["reference"]["shown"].startswith("120")


def test_the_text_of_every_file_is_in_the_record(recorded, folder):
    content = recorded[0]["content"]
    assert content["calculator"]["file"]["text"] == TOML
    for id, case in content["cases"].items():
        assert f'family = "{id.rpartition("/")[0].removesuffix("/made")}"' in case["text"]


def test_changed_criteria_are_said(recorded):
    first, second, looser = recorded
    assert changes_since(None, first["content"]) == {"previous": "", "items": []}
    assert changes_since(first, second["content"])["items"] == []
    found = changes_since(first, looser["content"])
    assert found["previous"] == first["identity"]["content"]
    old, new = found["items"]
    assert old.startswith("acceptance criteria: no longer: resultant magnitude: within 0.1 %")
    assert new.startswith("acceptance criteria: new: resultant magnitude: within 1 %")
    assert "(as agreed)" in new


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("as agreed", "as it turned out", "acceptance criteria: new"),
        ("at_most = 6", "at_most = 4", "scope: new"),
        ("six hinges", "six hooks", "scope: new"),
        ('says = "turn"', 'says = "twist"', "mapping: new"),
        ('place = "r"', 'place = "r"\njudge = "stored"', "acceptance criteria: new"),
    ],
)
def test_changes_of_reason_scope_and_mapping_are_said(recorded, folder, catalogue, old, new, said):
    assert old in TOML
    (folder / "gate.toml").write_text(TOML.replace(old, new, 1))
    file = read_calculator_file(folder / "gate.toml")
    run = run_check(file, catalogue, only=lambda case: "slopes" in case.id)
    items = changes_since(recorded[0], content_of(run))["items"]
    assert any(item.startswith(said) for item in items), items


def test_a_second_check_beside_the_first_says_what_changed(folder, tmp_path, catalogue):
    for text in (TOML, TOML.replace(*LOOSER)):
        (folder / "gate.toml").write_text(text)
        found = check_and_report(folder / "gate.toml", tmp_path, catalogue=catalogue)
    record = read_record(tmp_path / "record.json")
    assert record == found.record
    items = record["circumstances"]["changes"]["items"]
    assert len(items) == 2 and "0.1 %" in items[0] and "1 %" in items[1]


def test_an_earlier_record_that_is_none_is_left_out_of_account(folder, tmp_path, catalogue):
    (tmp_path / "record.json").write_text("something else")
    (folder / "gate.toml").write_text(TOML)
    found = check_and_report(folder / "gate.toml", tmp_path, catalogue=catalogue)
    assert found.record["circumstances"]["changes"] == {"previous": "", "items": []}


def test_the_summary_keeps_cases_and_readings_apart(folder, tmp_path, catalogue):
    (folder / "gate.toml").write_text(TOML.replace("at_most = 6", "at_most = 2"))
    text = check_and_report(folder / "gate.toml", tmp_path, catalogue=catalogue).text()
    (line,) = [line.split() for line in text.splitlines() if "not applicable " in line]
    assert line[:3] == ["cases", "not", "applicable"] and int(line[3]) >= 1
