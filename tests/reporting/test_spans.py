"""Between which values a calculator was tried, and where its criteria were blunt."""

from __future__ import annotations

import json

import pytest

from refsolver.reporting import words
from refsolver.reporting.html import html_text
from refsolver.reporting.markdown import markdown_text
from refsolver.reporting.spans import blunt_words, spans_of


def finding(reference, tolerance, *, line="pull", unit="kN", verdict="pass", judged="stored"):
    return {
        "line": line, "output": line, "judged": judged, "verdict": verdict, "unit": unit,
        "reference": {"shown": reference, "lower": reference, "upper": reference},
        "tolerance": {"below": tolerance, "above": tolerance},
    }  # fmt: skip


def leaf(given, value, take="magnitude", unit="kN"):
    return {"given": given, "take": take, "unit": unit, "says": "P", "handed_value": value}


def content(*cases):
    return {
        "cases": {
            str(n): {"family": "f", "handed": handed, "findings": found}
            for n, (handed, found) in enumerate(cases)
        }
    }


def test_the_range_of_an_input_is_that_of_all_rows_of_the_cases_judged():
    spans = spans_of(
        content(
            ([leaf("forces[1].force", "3"), leaf("forces[2].force", "-0.5")], [finding("1", "0")]),
            ([leaf("forces[1].force", "12.25")], [finding("1", "0")]),
            ([leaf("forces[1].force", "1e9")], [finding("1", "0", verdict="error")]),
            ([leaf("name", "the mast", take="word", unit="")], [finding("1", "0")]),
        ),
        "f",
    )
    (only,) = spans.inputs
    assert (only.name, only.least, only.most) == ("forces[*].force (magnitude)", "-0.5", "12.25")


def test_a_wide_tolerance_of_an_angle_is_said():
    """5 degrees either way are let pass unsaid; 0.1 rad is 5.7 degrees."""
    turns = [finding("1", t, line="turn", unit="deg") for t in ("5", "5.01", "90")]
    radians = [finding("0", "0.1", line="bend", unit="rad")]
    spans = spans_of(content(([], turns + radians)), "f")
    assert [each.wide for each in spans.outputs] == [2, 1]
    said = blunt_words([spans])
    assert said.startswith("The tolerance of an angle is more than 5 degrees in 3 of 4 readings")


def test_a_tolerance_that_is_a_large_part_of_the_value_is_counted():
    """0.01 kN is 1 % of 1 kN (not beyond), 2 % of -0.5 kN and half of 0.02 kN."""
    values = ("1", "-0.5", "0.02", "0")
    angles = [finding("1", "5", line="turn", unit="deg")]
    spans = spans_of(content(([], [finding(v, "0.01") for v in values] + angles)), "f")
    pull, turn = spans.outputs
    assert (pull.readings, pull.sized, pull.blunt) == (4, 3, (2, 1))
    assert (pull.least, pull.most) == ("-0.5", "1")
    assert turn.blunt is None and turn.wide == 0
    assert "more than 10 % of the reference value in 1 of 3 readings" in blunt_words([spans])


def test_sharp_criteria_need_no_word():
    assert blunt_words([spans_of(content(([], [finding("1", "1e-9")])), "f")]) == ""


def test_both_reports_show_the_ranges(record):
    family = record["content"]["mapping"][0]["family"]
    spans = spans_of(json.loads(json.dumps(record["content"])), family)
    text, page = markdown_text(record), html_text(record)
    for span in spans.inputs:
        assert span.most in text and span.most in page
    assert words.RANGE in text and words.RANGE in page
    assert ("How sharp the criteria were" in text) == bool(blunt_words([spans]))


@pytest.mark.parametrize("make", [markdown_text, html_text])
def test_where_nothing_was_judged_nothing_is_said_to_pass(record, resealed, make):
    content = record["content"]
    for case in content["cases"].values():
        for name in ("findings", "handed"):
            case.pop(name, None)
        case["state"], case["condition"] = "not applicable", "too long"
    content["counts"] |= {
        "readings": {}, "total": 0, "provenance": {},
        "cases": {"asked": 0, "not applicable": len(content["cases"])},
    }  # fmt: skip
    content["accepted"], content["diagnosis"] = [], {}
    said = make(resealed(record))
    assert words.NOTHING_JUDGED in said and words.ALL_PASS not in said


def test_the_number_and_the_text_shown_are_told_apart(record):
    first = next(c for c in record["content"]["cases"].values() if c.get("findings"))
    for finding in first["findings"]:
        finding["judged"] = "displayed"
    name = first["findings"][0]["output"]
    assert f"{name} (displayed)" in markdown_text(record).replace("\\", "")
