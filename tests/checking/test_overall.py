"""Coverage and the overall result: three passes among hundreds left out are not enough."""

from __future__ import annotations

import pytest

from refsolver.calculators.contract import Received, Slot
from refsolver.calculators.file import read_calculator_file
from refsolver.calculators.mapping import Handed
from refsolver.checking.coverage import Coverage, Judged, coverage_of, verdict_counts
from refsolver.checking.judging import VERDICTS, Finding
from refsolver.checking.overall import overall

FAMILY = "concurrent-forces/plane-resultant"
TOML = """
[calculator]
name = "Two-row sheet (made up)"
version = "1"
owner = "nobody"
[workbook]
file = "sheet.xlsx"
[[family]]
name = "concurrent-forces/plane-resultant"
[[family.input]]
given = "forces[*].name"
place = "S!A1:A2"
says = "name"
[[family.input]]
given = "forces[*].force"
take = "component"
along = "+x"
unit = "lbf"
place = "S!B1:B2"
says = "pull"
[[family.output]]
answer = "resultant"
take = "magnitude"
unit = "lbf"
place = "S!B4"
says = "total"
criterion = { absolute = "1 lbf", reason = "a test" }
[[family.output]]
answer = "resultant"
take = "angle"
unit = "deg"
place = "S!B5"
says = "direction"
criterion = { absolute = "1 deg", reason = "a test" }
"""
SIZE, TURN = "resultant magnitude", "resultant angle from +x toward +y in -180..180"


@pytest.fixture(scope="module")
def file(tmp_path_factory):
    path = tmp_path_factory.mktemp("file") / "sheet.toml"
    path.write_text(TOML)
    return read_calculator_file(path)


def judged(pulls, verdicts=("pass", "pass"), counts=True, exercised=None):
    """A case with these pulls in the rows, and a verdict for each output."""
    slots = [Slot(f"S!A{n}", f"forces[{n}].name", "", number=False) for n in (1, 2)]
    for n, pull in enumerate(pulls, 1):
        given = f"forces[{n}].force" if pull else ""
        slots.append(Slot(f"S!B{n}", given, pull))
    findings = tuple(
        Finding(output, output, "stored", verdict)
        for output, verdict in zip((SIZE, TURN), verdicts, strict=True)
    )
    received = Received(exercised=exercised or {})
    return Judged(FAMILY, counts, Handed(tuple(slots), None, ()), received, findings)


FULL = [judged(("10", "5")), judged(("20", "6")), judged(("30", "7"))]


def result(file, runs, least=3, selfcheck=0):
    counts = verdict_counts(f for run in runs for f in run.findings)
    return overall(counts, coverage_of(file, runs), least, selfcheck)


def test_enough_of_everything_is_met(file):
    found = result(file, FULL)
    assert found.result == "met" and found.because == () and "3 cases" in found.rule


@pytest.mark.parametrize("verdict", ["fail", "error"])
def test_one_failure_is_not_met(file, verdict):
    found = result(file, [*FULL, judged(("1", "2"), ("pass", verdict))])
    assert found.result == "not met" and found.because[0] == f"1 reading: {verdict}"


@pytest.mark.parametrize("verdict", ["no answer", "refused", "not proven"])
def test_anything_left_without_an_answer_is_insufficient(file, verdict):
    found = result(file, [*FULL, judged(("1", "2"), ("pass", verdict))])
    assert found.result == "insufficient" and f"1 reading: {verdict}" in found.because


def test_not_applicable_alone_does_no_harm(file):
    assert result(file, [*FULL, judged(("1", "2"), ("pass", "not applicable"))]).result == "met"


def test_too_few_cases_are_insufficient(file):
    found = result(file, FULL[:2])
    assert found.result == "insufficient"
    assert f"{FAMILY}: judged in 2 cases, 3 are asked" in found.because
    assert result(file, FULL[:2], least=2).result == "met"


def test_nothing_judged_is_insufficient(file):
    assert result(file, []).result == "insufficient"


def test_an_output_judged_too_rarely_is_insufficient(file):
    runs = [*FULL[:2], judged(("30", "7"), ("pass", "not applicable"))]
    found = result(file, runs)
    assert found.result == "insufficient"
    assert found.because == (f"{FAMILY}: {TURN} judged in 2 cases, 3 are asked",)


def test_cases_from_memory_do_not_count(file):
    found = result(file, [*FULL[:2], judged(("30", "7"), counts=False)])
    assert found.result == "insufficient"
    assert f"{FAMILY}: judged in 2 cases, 3 are asked" in found.because


def test_a_row_that_never_changes_or_stays_blank_is_insufficient(file):
    same = [judged((str(n), "5")) for n in (1, 2, 3)]
    found = result(file, same)
    assert found.because == (f"{FAMILY}: input S!B2 was given 1 values",)
    blank = [judged((str(n), "")) for n in (1, 2, 3)]
    assert result(file, blank).because == (f"{FAMILY}: input S!B2 was given 0 values",)


def test_a_value_counts_as_varied_only_where_something_was_judged(file):
    runs = [judged((str(n), "5")) for n in (1, 2, 3)]
    runs.append(judged(("4", "6"), ("not applicable", "not applicable")))
    assert result(file, runs).result == "insufficient"


def test_a_failed_self_check_forbids_met(file):
    found = result(file, FULL, selfcheck=1)
    assert found.result == "insufficient" and "self-check" in found.because[0]


def test_coverage_lists_what_was_never_judged_varied_or_exercised(file):
    runs = [
        judged((str(n), "5"), ("pass", "refused"), exercised={"S!B4": n, "S!C1": 0})
        for n in (1, 2, 3)
    ]
    (part,) = coverage_of(file, runs).families
    assert part.never_judged == [TURN] and part.outputs == {SIZE: 3, TURN: 0}
    assert part.never_varied == ["S!B2"] and part.values == {"S!B1": 3, "S!B2": 1}
    assert part.never_exercised == ["S!C1"]


def test_two_values_are_what_varied_and_exercised_mean(file):
    runs = [judged((str(n), "5"), exercised={"S!B4": n, "S!B5": n > 1}) for n in (1, 2)]
    (part,) = coverage_of(file, runs).families
    assert part.values["S!B1"] == 2 and part.never_varied == ["S!B2"]
    assert part.exercised == {"S!B4": 2, "S!B5": 2} and part.never_exercised == []


def test_inputs_that_no_case_reaches_are_listed_where_they_are_countable(tmp_path):
    """Rows of a sheet are there to be filled; a field a row is there as often as it is asked."""
    single = TOML.replace('given = "forces[*].force"', 'given = "forces[*].force"').replace(
        '"S!B1:B2"', '"pulls[*].across"'
    )
    single = (
        single.replace('"S!A1:A2"', '"pulls[*].name"').replace("S!B4", "R").replace("S!B5", "A")
    )
    single = single.replace('[workbook]\nfile = "sheet.xlsx"', '[python]\nfunction = "m:f"')
    path = tmp_path / "field.toml"
    path.write_text(single)
    (part,) = coverage_of(read_calculator_file(path), []).families
    assert part.values == {} and part.outputs == {SIZE: 0, TURN: 0}


def test_inputs_of_a_sheet_are_listed_before_any_case(file):
    (part,) = coverage_of(file, []).families
    assert part.values == {"S!B1": 0, "S!B2": 0} and part.cases == 0


def test_counts_list_every_verdict_and_add_up():
    findings = [Finding("a", "a", "stored", verdict) for verdict in VERDICTS * 2]
    counted = verdict_counts(findings)
    assert counted == dict.fromkeys(VERDICTS, 2) and sum(counted.values()) == len(findings)


def test_a_run_that_was_stopped_is_never_met():
    passes = dict.fromkeys(VERDICTS, 0) | {"pass": 40}
    nothing_lacks = Coverage(families=())
    assert overall(passes, nothing_lacks, 3, 0, unjudged=0, asked=10).result == "met"
    found = overall(passes, nothing_lacks, 3, 0, unjudged=1, asked=10)
    assert found.result == "insufficient"
    assert found.because == ("the run was stopped: 9 of 10 cases judged, 1 not",)
    found = overall(passes | {"fail": 1}, nothing_lacks, 3, 0, unjudged=1, asked=10)
    assert found.result == "not met" and found.because[0].startswith("the run was stopped")
