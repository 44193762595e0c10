"""Acceptance criteria: every kind, both sides, rounding manners, and what is refused."""

from __future__ import annotations

from fractions import Fraction

import pytest
from flint import fmpq
from hypothesis import given
from hypothesis import strategies as st

from refsolver.arithmetic.detached import Enclosure
from refsolver.calculators.criteria import CriterionError, read_criterion
from refsolver.quantities.dimensions import ANGLE, FORCE, NUMBER
from refsolver.quantities.units import read_unit

LBF = read_unit("lbf")


def q(text):
    return fmpq(Fraction(text).numerator, Fraction(text).denominator)


def at(text):
    return Enclosure(q(text), q(text))


def read(unit=LBF, dimension=FORCE, **table):
    return read_criterion({"reason": "a test", **table}, unit, dimension, "criterion")


def ends(criterion, reference, **scales):
    """What is allowed below and above an exact reference."""
    band = criterion.band(at(reference), {k.replace("_", " "): at(v) for k, v in scales.items()})
    assert band.below.is_exact and band.above.is_exact
    return band.below.lower, band.above.lower


@pytest.mark.parametrize(
    ("table", "reference", "allowed"),
    [
        ({"relative": "1 %"}, "-50", "0.5"),
        ({"relative": "0.01"}, "50", "0.5"),
        ({"relative": "1 %"}, "0", "0"),
        ({"absolute": "0.25 lbf"}, "50", "0.25"),
        ({"absolute": "0.001 kip"}, "50", "1"),
        ({"relative": "1 %", "absolute": "0.25 lbf"}, "50", "0.5"),
        ({"relative": "1 %", "absolute": "0.25 lbf"}, "5", "0.25"),
        ({"relative": "1 %", "absolute": "0.25 lbf", "combine": "smaller"}, "50", "0.25"),
        ({"fraction": "1 %", "of": "largest force"}, "50", "0.8"),
        ({"fraction": "1 %", "of": "largest force", "relative": "2 %"}, "50", "1"),
    ],
)
def test_parts(table, reference, allowed):
    assert ends(read(**table), reference, largest_force="80") == (q(allowed), q(allowed))


def test_sides_may_differ_with_a_named_safe_side():
    criterion = read(
        below={"absolute": "0 lbf"}, above={"relative": "5 %"}, safe_side="a tension never low"
    )
    assert ends(criterion, "200") == (0, 10)
    assert "safe side: a tension never low" in criterion.words("lbf")


@pytest.mark.parametrize(
    ("manner", "reference", "accepted"),
    [
        ("nearest", "12.4", ["12"]),
        ("nearest", "12.5", ["12", "13"]),
        ("up", "12.4", ["13"]),
        ("up", "12", ["12", "13"]),
        ("down", "12.4", ["12"]),
        ("down", "-12.4", ["-13"]),
        ("up", "-12.4", ["-12"]),
        ("cut", "12.4", ["12"]),
        ("cut", "-12.4", ["-12"]),
    ],
)
def test_rounding_to_a_step(manner, reference, accepted):
    below, above = ends(read(rounded_to="1 lbf", manner=manner), reference)
    found = [str(n) for n in range(-15, 16) if -below <= n - q(reference) <= above]
    assert found == sorted(accepted, key=float)


@pytest.mark.parametrize(
    ("reference", "half"),
    [("12.34", "0.05"), ("9.99", "0.005"), ("1234", "5"), ("0.0123", "0.00005"), ("0", "0")],
)
def test_significant_figures(reference, half):
    criterion = read(significant=3, manner="nearest")
    assert ends(criterion, reference) == (q(half), q(half))


def test_a_reference_across_a_power_of_ten_is_enclosed():
    """9.9999999 or 10.0000001: the step is a hundredth or a tenth, and both are kept."""
    criterion = read(significant=3, manner="nearest")
    band = criterion.band(Enclosure(q("9.9999999"), q("10.0000001")), {})
    assert (band.below.lower, band.below.upper) == (q("0.005"), q("0.05"))


def test_a_value_computed_within_a_stated_amount_before_it_is_rounded():
    criterion = read(rounded_to="1 lbf", manner="up", computed_within="0.001 lbf")
    assert ends(criterion, "12") == (q("0.001"), q("1.001"))
    assert "computed within 0.001 lbf" in criterion.words("lbf")


@given(
    st.fractions(-1000, 1000, max_denominator=1000),
    st.sampled_from(["nearest", "up", "down", "cut"]),
)
def test_a_right_rounding_always_passes(reference, manner):
    import math

    rounded = {
        "nearest": math.floor(reference + Fraction(1, 2)),
        "up": math.ceil(reference),
        "down": math.floor(reference),
        "cut": math.trunc(reference),
    }[manner]
    below, above = ends(read(rounded_to="1 lbf", manner=manner), reference)
    assert -below <= q(rounded - reference) <= above
    for off in (-2, 2):
        assert not -below <= q(rounded + off - reference) <= above


def test_an_enclosed_reference_gives_an_enclosed_allowance():
    band = read(relative="1 %").band(Enclosure(q("99"), q("101")), {})
    assert (band.above.lower, band.above.upper) == (q("0.99"), q("1.01"))
    across = read(relative="1 %").band(Enclosure(q("-1"), q("2")), {})
    assert (across.above.lower, across.above.upper) == (0, q("0.02"))


@pytest.mark.parametrize(
    ("table", "said"),
    [
        ({}, "needs relative"),
        ({"relative": "1 %", "reason": " "}, "reason"),
        ({"relative": "1 lbf"}, "relative"),
        ({"relative": "-1 %"}, "relative"),
        ({"relative": "a bit"}, "relative"),
        ({"absolute": "0.1"}, "needs a unit"),
        ({"absolute": "0.1 ft"}, "length"),
        ({"absolute": "-0.1 lbf"}, "zero or more"),
        ({"fraction": "1 %"}, "of"),
        ({"of": "span"}, "of"),
        ({"fraction": "1 %", "of": "span"}, "length"),
        ({"fraction": "1 %", "of": "the sky"}, "largest force"),
        ({"rounded_to": "1 lbf"}, "manner"),
        ({"rounded_to": "0 lbf", "manner": "up"}, "above zero"),
        ({"rounded_to": "1 lbf", "manner": "sideways"}, "manner"),
        ({"rounded_to": "1 lbf", "manner": "up", "relative": "1 %"}, "of its own"),
        ({"rounded_to": "1 lbf", "manner": "up", "significant": 3}, "of its own"),
        ({"rounded_to": "1 lbf", "manner": "up", "as_vector": True}, "of its own"),
        ({"significant": 0, "manner": "up"}, "significant"),
        ({"significant": True, "manner": "up"}, "significant"),
        ({"relative": "1 %", "manner": "up"}, "rounding"),
        ({"relative": "1 %", "tolerance": "2 %"}, "unknown key"),
        ({"below": {"relative": "1 %"}}, "safe_side"),
        ({"below": {"relative": "1 %"}, "above": {"relative": "2 %"}}, "safe_side"),
        ({"below": "1 %", "above": "2 %", "safe_side": "low"}, "a table is expected"),
        (
            {"below": {"relatve": "1 %"}, "above": {"relative": "1 %"}, "safe_side": "low"},
            "unknown key",
        ),
        (
            {"below": {"relative": "1 %"}, "above": {"relative": "1 %"}, "safe_side": "x",
             "absolute": "1 lbf"},
            "inside",
        ),
        ({"relative": "1 %", "as_vector": True}, "as_vector"),
        ({"absolute": "1 lbf", "as_vector": "yes"}, "as_vector"),
        ({"relative": "1 %", "combine": "both"}, "combine"),
    ],
)  # fmt: skip
def test_what_cannot_be_used_is_refused_by_key(table, said):
    with pytest.raises(CriterionError, match="criterion") as problem:
        read(**table)
    assert said in str(problem.value)


def test_a_number_without_unit_and_an_angle():
    assert ends(read(None, NUMBER, absolute="0.01"), "1") == (q("0.01"), q("0.01"))
    degrees = read(read_unit("deg"), ANGLE, absolute="6 arcmin")
    assert ends(degrees, "1") == (q("0.1"), q("0.1"))
    with pytest.raises(CriterionError, match="unit of the output"):
        read(read_unit("deg"), ANGLE, absolute="0.001 rad")


@pytest.mark.parametrize(
    ("table", "words"),
    [
        ({"relative": "0.5 %", "absolute": "1 lbf"},
         "within 0.5 % of the reference value or 1 lbf, whichever is larger"),
        ({"fraction": "1 %", "of": "sum of forces", "as_vector": True},
         "within 1 % of the sum of forces, as the length of the deviation of the vector"),
        ({"rounded_to": "0.5 lbf", "manner": "down"}, "rounded down to 0.5 lbf"),
        ({"significant": 3, "manner": "cut"}, "cut to 3 significant figures"),
    ],
)  # fmt: skip
def test_words_for_the_report(table, words):
    assert read(**table).words("lbf") == words


def test_a_criterion_that_nothing_misses_is_refused():
    """All that a calculator of zeros would pass."""
    hundred = {"relative": "100 %"}
    for table in (hundred, {"relative": "1.5", "absolute": "1 lbf"}):
        with pytest.raises(CriterionError, match="always answers zero"):
            read(**table)
    with pytest.raises(CriterionError, match="always answers zero"):
        read(below=hundred, above={"relative": "200 %"}, safe_side="either")
    read(below={"relative": "5 %"}, above={"relative": "150 %"}, safe_side="above")
    read(relative="100 %", absolute="0.1 lbf", combine="smaller")


DEGREES, LINES = Enclosure(q("360"), q("360")), Enclosure(q("180"), q("180"))
UNEVEN = {"below": {"absolute": "359 deg"}, "above": {"absolute": "1 deg"}, "safe_side": "below"}


@pytest.mark.parametrize(
    ("table", "all_round"),
    [
        ({"absolute": "180 deg"}, DEGREES),
        ({"absolute": "90 deg"}, LINES),
        (UNEVEN, DEGREES),
        ({"rounded_to": "360 deg", "manner": "nearest"}, DEGREES),
        ({"rounded_to": "1 deg", "manner": "up", "computed_within": "180 deg"}, DEGREES),
        ({"significant": 2, "manner": "nearest", "computed_within": "180 deg"}, DEGREES),
    ],
)
def test_a_criterion_that_no_direction_misses_is_refused(table, all_round):
    table, degrees = {"reason": "a test", **table}, read_unit("deg")
    with pytest.raises(CriterionError, match=r"criterion\.\w+: so wide that every direction"):
        read_criterion(table, degrees, ANGLE, "criterion", all_round)
    read_criterion(table, degrees, ANGLE, "criterion")  # a lap may be of many turns


@pytest.mark.parametrize(
    "table",
    [
        {"absolute": "179.9 deg"},
        {"absolute": "200 deg", "relative": "5 %", "combine": "smaller"},
        {"rounded_to": "359 deg", "manner": "nearest"},
        {"significant": 1, "manner": "nearest"},
    ],
)
def test_a_criterion_that_some_direction_misses_is_read(table):
    read_criterion({"reason": "a test", **table}, read_unit("deg"), ANGLE, "criterion", DEGREES)
