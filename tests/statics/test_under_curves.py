"""Areas under one elementary curve: powers in closed form, where a curve turns negative."""

from __future__ import annotations

import random

import pytest
from flint import fmpq
from hypothesis import given, settings
from hypothesis import strategies as st

from refsolver.arithmetic.double import DoubleArithmetic
from refsolver.arithmetic.exact import Constant, product
from refsolver.quantities.views import View
from refsolver.statics.areas.between_curves import CurveAreas
from refsolver.statics.areas.curves import CurveTerm, Region
from refsolver.statics.chapters.centroids.under_curves import UnderCurve
from refsolver.statics.prover import asks_of, prove
from refsolver.statics.reference import Proven
from refsolver.statics.registry import family

FAMILY = family("centroids/under-curve")
BETWEEN = family("centroids/between-curves")
ASKED = [View("area"), View("Q_x"), View("Q_y")]
ONE, ZERO = fmpq(1), fmpq(0)
PI = Constant("pi")

sizes = st.integers(1, 9).map(fmpq)


def outcomes(owner, case, *views):
    reference = prove(owner, case, list(views), strict=True)
    assert reference.residuals == "close", reference.residuals
    return [reference.outcomes[v] for v in views]


def values(owner, case, *views):
    found = outcomes(owner, case, *views)
    assert all(isinstance(x, Proven) for x in found), found
    return [x.enclosure.middle for x in found]


@given(st.integers(0, 5), sizes, sizes, sizes)
@settings(max_examples=20, deadline=None)
def test_a_power_is_a_region_between_curves(power, start, span, height):
    case = UnderCurve(start, start + span, height, ONE, "power", power)
    region = Region(start, start + span, (CurveTerm(height, fmpq(power)),))
    pairs = zip(
        values(FAMILY, case, *ASKED),
        values(BETWEEN, CurveAreas((region,), ONE), *ASKED),
        strict=True,
    )
    assert all(abs(a - b) <= abs(b) / 10**25 for a, b in pairs)


@pytest.mark.parametrize(
    ("law", "start", "end", "fits"),
    [
        ("sine", ZERO, PI, True),
        ("sine", PI, product(fmpq(2), PI), False),
        ("sine", ZERO, product(fmpq(3), PI), False),
        ("sine", fmpq(3), fmpq(4), False),
        ("cosine", -ONE, ONE, True),
        ("cosine", ONE, fmpq(2), False),
        ("logarithm", ONE, fmpq(2), True),
        ("logarithm", fmpq(1, 2), fmpq(2), False),
        ("exponential", fmpq(-3), fmpq(-1), True),
    ],
)
def test_a_curve_below_the_axis_is_refused(law, start, end, fits):
    found = outcomes(FAMILY, UnderCurve(start, end, ONE, ONE, law), *ASKED)
    assert [isinstance(x, Proven) for x in found] == [fits] * 3
    assert fits or {x.reason for x in found} == {"not defined"}


def test_odd_powers_left_of_the_origin_are_refused():
    (found,) = outcomes(FAMILY, UnderCurve(-ONE, ONE, ONE, ONE, "power", 3), ASKED[0])
    assert found.reason == "not defined"
    (area,) = values(FAMILY, UnderCurve(-ONE, ONE, ONE, ONE, "power", 2), ASKED[0])
    assert abs(area - fmpq(2, 3)) <= fmpq(1, 10**20)


def test_bad_ends_are_refused():
    with pytest.raises(ValueError, match="end beyond its start"):
        UnderCurve(ONE, ONE, ONE, ONE)
    with pytest.raises(ValueError, match=r"right of x = 0"):
        UnderCurve(ZERO, ONE, ONE, ONE, "logarithm")


def test_generated_cases_are_proven_strictly_and_drawn():
    for seed in range(15):
        case = FAMILY.propose((1, 10), random.Random(seed))
        reference = prove(FAMILY, case, asks_of(FAMILY, case), strict=True)
        assert all(isinstance(x, Proven) for x in reference.outcomes.values())
        assert reference.residuals == "close"
        ar = DoubleArithmetic(reference.decisions)
        drawing = FAMILY.figure(case, FAMILY.solve(case, ar, FAMILY.rule_set()).answers, ar)
        assert drawing.caption and drawing.parts
