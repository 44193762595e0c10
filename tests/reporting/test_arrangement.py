"""The record regrouped: nothing lost, nothing twice, and a record that lies is refused."""

from __future__ import annotations

import pytest

from refsolver.reporting.arrangement import ReportError, arranged, readings
from refsolver.reporting.html import html_text
from refsolver.reporting.markdown import markdown_text


def test_the_planted_mistakes_give_every_kind_of_verdict(record):
    met = {reading.verdict for reading in readings(record)}
    assert met == {"pass", "fail", "error", "no answer", "refused", "not applicable"}


def test_every_reading_stands_in_exactly_one_place(record):
    a = arranged(record)
    failing = [r for case in a.failing for r in case.readings if r.verdict != "pass"]
    passing = [r for _, found in a.passes for r in found]
    unjudged = [r for r in a.unjudged if r.case not in {case.id for case in a.failing}]
    placed = [
        (r.case, r.finding["output"], r.finding["judged"]) for r in failing + passing + unjudged
    ]
    assert len(placed) == len(set(placed)) == record["content"]["counts"]["total"]


def test_verdict_counts_are_listed_in_full_and_add_up(record):
    a = arranged(record)
    assert sum(n for _, n in a.verdicts) == record["content"]["counts"]["total"]
    assert dict(a.verdicts)["not proven"] == 0


def test_provenance_rows_end_with_their_sums(record):
    heads, rows = arranged(record).provenance
    assert heads[:3] == ("read at the source", "second hand", "from memory")
    for _, numbers in rows:
        assert sum(numbers[:-1]) == numbers[-1]
    assert sum(numbers[-1] for _, numbers in rows) == record["content"]["counts"]["cases"]["asked"]


def test_excluded_cases_are_named_with_their_reason(record):
    assert arranged(record).excluded == (
        (
            "concurrent-forces/plane-resultant",
            "concurrent-forces/plane-resultant/rope-on-a-crane",
            "a crane hook is outside the desk's purpose",
        ),
    )


@pytest.mark.parametrize(
    ("what", "spoil"),
    [
        ("total", lambda counts: counts.update(total=counts["total"] + 1)),
        ("verdict", lambda counts: counts["readings"].update({"pass": 1000})),
        ("cases", lambda counts: counts["cases"].update(asked=1)),
        ("provenance", lambda counts: counts["provenance"].popitem()),
    ],
)
def test_counts_that_do_not_add_up_are_refused(record, what, spoil):
    spoil(record["content"]["counts"])
    with pytest.raises(ReportError, match=what):
        arranged(record)


def test_a_case_taken_out_of_the_record_is_noticed(record):
    record["content"]["order"].pop()
    with pytest.raises(ReportError):
        arranged(record)


@pytest.mark.parametrize(
    ("identity", "says"),
    [
        ({"program_of_use": True}, "by the user's own program"),
        (
            {"program_of_use": False, "engine": {"name": "some engine", "version": "4.5"}},
            "NOT computed by the user's own program, but by an engine of this suite: "
            "some engine 4.5",
        ),
        ({"runtime": "Python 3.12"}, "called by this suite, in Python 3.12"),
        ({"program_of_use": True, "files": []}, "NO FILE OF IT WAS HASHED"),
        ({"runtime": "Python 3.12", "files": []}, "NO FILE OF IT WAS HASHED"),
        ({"address": "http://localhost:1/x", "files": []}, "A service of the user's answered at "),
        ({"address": "http://localhost:1/x", "files": []}, "NO FILE OF IT WAS HASHED"),
    ],
)
def test_which_program_computed_the_results_is_said(record, identity, says):
    record["content"]["calculator"]["identity"] = identity
    said = arranged(record).computed[1]
    assert says in said
    assert ("HASHED" in said) == (identity.get("files") == [])


def test_numbers_judged_without_the_text_they_show_are_counted(record):
    """Where the text was to be judged too; a word, or a line that judges the number, is none."""
    content = record["content"]
    lines = [line for section in content["criteria"] for line in section["outputs"]]
    for line in lines:
        line["judged"] = "stored"
    lines[0]["judged"] = "both"
    content["calculator"]["kind"] = "workbook"
    section = content["mapping"][0]
    place = section["outputs"][0]["place"]
    cases = [c for c in content["cases"].values() if c["family"] == section["family"]]
    cases = [case for case in cases if case.get("received")]
    for case in cases:
        case["received"] = {place: {"number": "1", "displayed": "1.0"}}
    assert arranged(record).unshown == ""
    cases[0]["received"] = {place: {"number": "1"}}
    cases[1]["received"] = {place: {"text": "none"}}
    said = arranged(record).unshown
    assert f"What 1 of {len(cases) - 1} numbers" in said
    assert said in markdown_text(record) and said in html_text(record)
    lines[0]["judged"] = "stored"
    assert arranged(record).unshown == ""
