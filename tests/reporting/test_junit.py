"""The JUnit XML, read by junitparser (a general library) as a build server would."""

from __future__ import annotations

from collections import Counter

import junitparser
import pytest

from refsolver.reporting.arrangement import readings
from refsolver.reporting.junit import junit_text

KINDS = {
    "pass": None,
    "fail": junitparser.Failure,
    "no answer": junitparser.Failure,
    "refused": junitparser.Failure,
    "error": junitparser.Error,
    "not proven": junitparser.Error,
    "not applicable": junitparser.Skipped,
}


def parsed(record):
    return junitparser.JUnitXml.fromstring(junit_text(record).encode())


def test_every_reading_is_one_test_case_with_the_element_of_its_verdict(record):
    counts = record["content"]["counts"]
    found = Counter(
        type(case.result[0]) if case.result else None
        for suite in parsed(record)
        if suite.name != "overall result"
        for case in suite
    )
    wanted = Counter(KINDS[r.verdict] for r in readings(record))
    wanted[junitparser.Skipped] += counts["cases"]["not applicable"]
    assert found == wanted


def test_the_totals_are_those_of_the_suites(record):
    xml = parsed(record)
    stated = (xml.tests, xml.failures, xml.errors, xml.skipped)
    xml.update_statistics()
    assert stated == (xml.tests, xml.failures, xml.errors, xml.skipped)


@pytest.mark.parametrize("result", ["met", "not met", "insufficient"])
def test_only_a_result_that_is_met_passes(record, result):
    record["content"]["overall"] |= {"result": result, "because": ["a family: judged in 1 case"]}
    suite = next(s for s in parsed(record) if s.name == "overall result")
    [case] = suite
    assert bool(case.result) == (result != "met")
    if case.result:
        assert (case.result[0].type, case.result[0].message) == (
            result,
            "a family: judged in 1 case",
        )


def test_a_failure_says_what_was_reported_and_what_was_expected(record):
    case = next(
        case
        for suite in parsed(record)
        for case in suite
        if (case.classname or "").endswith("to-the-west") and case.result
    )
    message = case.result[0].message
    assert "reported 71.37" in message
    assert "reference 251.3708805" in message
    assert "tolerance ±0.01" in message


def test_characters_that_xml_forbids_are_replaced(record):
    first = next(r for r in readings(record) if r.verdict == "fail")
    first.finding["reported"] = "\x00\x1b[1m<&>\uffff"
    text = junit_text(record)
    assert "\x1b" not in text
    assert parsed(record).tests > 0
