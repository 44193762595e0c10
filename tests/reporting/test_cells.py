"""Facts of a finding as words in a cell."""

from __future__ import annotations

import pytest

from refsolver.reporting import cells


def finding(**changes):
    base = {
        "reported": "1.5", "expected": "", "relative": None, "agreeing_digits": None,
        "reference": None, "deviation": None, "tolerance": None,
    }  # fmt: skip
    return base | changes


def test_where_there_is_nothing_a_dash_stands():
    empty = finding(reported="")
    assert cells.reported(empty) == "(blank)"
    for cell in (cells.reference, cells.deviation, cells.tolerance, cells.share, cells.agreeing):
        assert cell(empty) == "—"


@pytest.mark.parametrize(
    ("shown", "said"),
    [("0.5", "+0.5"), ("-0.5", "-0.5"), ("0", "0"), ("|x| < 2e-31", "|x| < 2e-31")],
)
def test_a_deviation_bears_its_sign(shown, said):
    assert cells.deviation(finding(deviation={"shown": shown})) == said


@pytest.mark.parametrize(
    ("below", "above", "said"), [("0.1", "0.1", "±0.1"), ("0", "0.5", "-0 / +0.5")]
)
def test_a_tolerance_with_two_sides(below, above, said):
    assert cells.tolerance(finding(tolerance={"below": below, "above": above})) == said


@pytest.mark.parametrize(
    ("size", "said"),
    [(0, "0"), (0.94108, "0.941"), (1.0, "1"), (18000.0, "18,000"), (2.5e-9, "2.5e-09"),
     (3.2e7, "3.2e+07"), (None, "—")],
)  # fmt: skip
def test_a_share_of_the_tolerance(size, said):
    assert cells.share(finding(tolerance={"share": size})) == said


def test_digits_that_agree():
    assert cells.agreeing(finding(deviation={"shown": "0"}, agreeing_digits=400.0)) == "all"
    assert cells.agreeing(finding(deviation={"shown": "0"})) == "all"
    assert cells.agreeing(finding(deviation={"shown": "1"}, agreeing_digits=3.46)) == "3.5"
    assert cells.agreeing(finding(deviation={"shown": "1"}, agreeing_digits=-0.9)) == "0.0"
