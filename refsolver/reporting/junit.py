"""The findings as JUnit XML, for continuous integration.

One suite a family, one test case a reading:

==============================  =====================================================
verdict                         element
==============================  =====================================================
pass                            none
fail, no answer, refused        ``failure`` with the verdict as its type
error, not proven               ``error`` with the verdict as its type
not applicable                  ``skipped`` with the reason; a case that was not asked
                                is one skipped test case
not judged (a stopped run)      one skipped test case for the case
==============================  =====================================================

A last suite, ``overall result``, holds one test case that fails unless the result is
``met``: too few cases would otherwise look like success. Accepted deviations are properties
of their test case, those that speak of no failing reading of the overall result.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any
from xml.etree import ElementTree

from refsolver.quantities.visible import visible
from refsolver.reporting.accepted import Acceptance
from refsolver.reporting.arrangement import Arrangement, Reading, arranged
from refsolver.reporting.cells import deviation, reference, reported, tolerance
from refsolver.reporting.words import STOPPED

__all__ = ["junit_text"]

_ELEMENTS = {
    "fail": "failure",
    "no answer": "failure",
    "refused": "failure",
    "error": "error",
    "not proven": "error",
    "not applicable": "skipped",
    "not judged": "skipped",
}
_UNPRINTABLE = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
"""Characters that XML 1.0 does not allow."""


def junit_text(record: Mapping[str, Any]) -> str:
    """The whole file as text."""
    arrangement = arranged(record)
    calculator = arrangement.content["calculator"]
    top = ElementTree.Element(
        "testsuites", name=_clean(f"{calculator['name']}, version {calculator['version']}")
    )
    for family in dict.fromkeys(s["family"] for s in arrangement.content["mapping"]):
        _family(top, family, arrangement)
    _overall(top, arrangement)
    suites = list(top)
    for name in ("tests", "failures", "errors", "skipped"):
        top.set(name, str(sum(int(suite.get(name, "0")) for suite in suites)))
    ElementTree.indent(top)
    body = ElementTree.tostring(top, encoding="unicode")
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{body}\n'


def _family(top: ElementTree.Element, family: str, arrangement: Arrangement) -> None:
    suite = ElementTree.SubElement(top, "testsuite", name=family)
    seconds = arrangement.record["circumstances"].get("seconds", {})
    for id in arrangement.content["order"]:
        data = arrangement.content["cases"][id]
        if data["family"] != family:
            continue
        findings = data.get("findings", ())
        if data["state"] != "asked":
            _test(suite, id, "case", data["state"], data["condition"] or STOPPED)
        for finding in findings:
            reading = Reading(id, family, finding)
            test = _test(suite, id, _name(finding), reading.verdict, _why(finding))
            test.set("time", f"{seconds.get(id, 0) / len(findings):.6f}")
            found = arrangement.acceptance(id, finding)
            if found is not None:
                _properties(test, [found])
    _sum_up(suite)


def _properties(element: ElementTree.Element, found: Sequence[Acceptance]) -> None:
    """What is said of accepted deviations; the failure itself stays."""
    properties = ElementTree.Element("properties")
    for each in found:
        facts = {
            "accepted": each.state,
            "accepted.reading": each.entry["sentence"],
            "accepted.reason": each.entry["reason"],
            "accepted.approved_by": each.entry["approved_by"],
            "accepted.expires": each.entry["expires"],
        }
        for name, value in facts.items():
            ElementTree.SubElement(properties, "property", name=name, value=_clean(str(value)))
    element.insert(0, properties)


def _name(finding: Mapping[str, Any]) -> str:
    line, output = finding["line"], finding["output"]
    return f"{output} ({finding['judged']})" if line else str(output)


def _why(finding: Mapping[str, Any]) -> str:
    unit = finding["unit"]
    parts = [
        finding["why"],
        f"reported {reported(finding)}, reference {reference(finding)} {unit}".rstrip(),
        f"deviation {deviation(finding)}, tolerance {tolerance(finding)}",
    ]
    return "; ".join(part for part in parts if part)


def _test(
    suite: ElementTree.Element, id: str, name: str, verdict: str, why: str
) -> ElementTree.Element:
    test = ElementTree.SubElement(suite, "testcase", classname=_clean(id), name=_clean(name))
    if verdict in _ELEMENTS:
        found = ElementTree.SubElement(test, _ELEMENTS[verdict], message=_clean(why))
        if _ELEMENTS[verdict] != "skipped":
            found.set("type", verdict)
    return test


def _overall(top: ElementTree.Element, arrangement: Arrangement) -> None:
    overall = arrangement.content["overall"]
    suite = ElementTree.SubElement(top, "testsuite", name="overall result")
    test = ElementTree.SubElement(suite, "testcase", classname="overall", name="overall result")
    if overall["result"] != "met":
        because = "; ".join(overall["because"])
        found = ElementTree.SubElement(
            test, "failure", type=overall["result"], message=_clean(because)
        )
        found.text = _clean(overall["rule"])
    unused = [a for a in arrangement.accepted if not a.entry["readings"]]
    if unused:
        _properties(test, unused)
    _sum_up(suite)


def _sum_up(suite: ElementTree.Element) -> None:
    suite.set("tests", str(len(suite)))
    for attribute, element in (
        ("failures", "failure"),
        ("errors", "error"),
        ("skipped", "skipped"),
    ):
        suite.set(attribute, str(sum(test.find(element) is not None for test in suite)))


def _clean(text: str) -> str:
    return _UNPRINTABLE.sub("\ufffd", visible(text))
