"""Areas between curves: cutting, mirroring, the shapes of a table; refusals; mistakes."""

from __future__ import annotations

import random

import attrs
import pytest
from flint import fmpq
from hypothesis import given, settings
from hypothesis import strategies as st

from refsolver.arithmetic.double import DoubleArithmetic
from refsolver.quantities.views import View
from refsolver.statics.areas.between_curves import CurveAreas
from refsolver.statics.areas.curves import CurveTerm, Region
from refsolver.statics.areas.shapes import AreaGivens, Spandrel
from refsolver.statics.prover import asks_of, prove
from refsolver.statics.reference import Proven
from refsolver.statics.registry import family

CENTROID = family("centroids/between-curves")
MOMENTS = family("second-moments/between-curves")
COMPOSITE = family("second-moments/composite")
FAMILIES = pytest.mark.parametrize("owner", [CENTROID, MOMENTS], ids=lambda f: f.name)
TINY = fmpq(1, 10**18)
PLACE = [View("centroid", "coordinate", along=a) for a in ("+x", "+y")]
SIX = [View(n) for n in ("area", "I_x", "I_y", "I_xy")]

sizes = st.integers(1, 9).map(fmpq)
powers = st.integers(0, 6).map(lambda k: fmpq(k, 2))
ONE = fmpq(1)


def outcomes(owner, case, *views):
    reference = prove(owner, case, list(views), strict=True)
    assert reference.residuals == "close", reference.residuals
    return [reference.outcomes[v] for v in views]


def values(owner, case, *views):
    found = outcomes(owner, case, *views)
    assert all(isinstance(x, Proven) for x in found), found
    return [x.enclosure.middle for x in found]


def close(found, expected):
    return all(abs(a - b) <= TINY for a, b in zip(found, expected, strict=True))


def under(*terms, start=0, end=1, kind="solid"):
    rows = tuple(CurveTerm(fmpq(c), fmpq(p)) for c, p in terms)
    return Region(fmpq(start), fmpq(end), rows, (), kind)


@given(powers, sizes, sizes)
@settings(max_examples=30, deadline=None)
def test_a_power_by_the_formulas_of_a_general_spandrel(n, a, b):
    """a b/(n + 1) at a (n + 1)/(n + 2), b (n + 1)/(4 n + 2).

    Baker and Haynes, "Engineering Statics", chapter 7, general spandrel (the area; the
    centroid by integration).
    """
    case = CurveAreas((Region(fmpq(0), a, (CurveTerm(b, n),)),), a)
    found = values(CENTROID, case, View("area"), *PLACE)
    place = [a * (n + 1) / (n + 2), b * (n + 1) / (4 * n + 2)]
    assert close(found, [a * b / (n + 1), *place])


@given(st.integers(1, 4), sizes, sizes)
@settings(max_examples=20, deadline=None)
def test_a_spandrel_is_an_area_under_a_curve(n, a, b):
    curve = CurveAreas((Region(fmpq(0), a, (CurveTerm(b, fmpq(n)),)),), a)
    shape = AreaGivens(spandrels=(Spandrel((fmpq(0), fmpq(0)), a, b, n),))
    assert close(values(MOMENTS, curve, *SIX), values(COMPOSITE, shape, *SIX))


@given(st.integers(1, 9), powers, sizes)
@settings(max_examples=20, deadline=None)
def test_a_region_cut_in_two_is_the_same_area(tenths, n, b):
    cut = fmpq(tenths, 10)
    terms = (CurveTerm(b, n), CurveTerm(ONE))
    whole = Region(fmpq(0), ONE, terms)
    parts = (Region(fmpq(0), cut, terms), Region(cut, ONE, terms))
    one, two = CurveAreas((whole,), ONE), CurveAreas(parts, ONE)
    assert close(values(MOMENTS, one, *SIX, *PLACE), values(MOMENTS, two, *SIX, *PLACE))


@given(sizes, sizes, sizes)
@settings(max_examples=20, deadline=None)
def test_the_reference_only_rescales_the_terms(a, b, reference):
    plain = CurveAreas((Region(ONE, ONE + a, (CurveTerm(b, fmpq(2)),)),), ONE)
    terms = (CurveTerm(b * reference * reference, fmpq(2)),)
    scaled = CurveAreas((Region(ONE, ONE + a, terms),), reference)
    assert close(values(MOMENTS, plain, *SIX), values(MOMENTS, scaled, *SIX))


def test_refusals():
    crossing = CurveAreas((under((1, 2), end=2),), ONE)
    line = attrs.evolve(crossing.regions[0], lower=(CurveTerm(ONE, ONE),))
    for region, why in ((line, "cross between"), (attrs.evolve(line, end=ONE), "lies below")):
        case = CurveAreas((region,), ONE)
        for owner in (CENTROID, MOMENTS):
            (found,) = outcomes(owner, case, View("area"))
            assert found.reason == "not defined" and why in found.evidence
    nothing = CurveAreas((under((1, 1)), under((1, 1), kind="hole")), ONE)
    assert outcomes(CENTROID, nothing, *PLACE)[0].reason == "no point"
    found = outcomes(MOMENTS, nothing, PLACE[0], View("k_x"), View("centroidal polar"))
    assert [x.reason for x in found] == ["no point", "not defined", "not defined"]


def test_edges_that_touch_are_no_fault():
    case = CurveAreas((Region(fmpq(-1), ONE, (CurveTerm(ONE, fmpq(2)),)),), ONE)
    assert close(values(CENTROID, case, View("area"), *PLACE), [fmpq(2, 3), 0, fmpq(3, 10)])


def test_bad_regions_are_refused():
    with pytest.raises(ValueError, match="whole number or a half"):
        CurveTerm(ONE, fmpq(1, 3))
    with pytest.raises(ValueError, match="whole number or a half"):
        CurveTerm(ONE, fmpq(-1))
    with pytest.raises(ValueError, match="end beyond its start"):
        under((1, 1), start=2, end=2)
    with pytest.raises(ValueError, match="end beyond its start"):
        under((1, 1), start=fmpq(1, 3), end=fmpq(1, 3))
    with pytest.raises(ValueError, match=r"region 1 starts left of x = 0"):
        CurveAreas((under((1, fmpq(1, 2)), start=-1),), ONE)


@FAMILIES
@pytest.mark.parametrize("kappa", [(1, 2), (1e3, 1e4), (1e9, 1e10)])
def test_generated_cases_are_proven_strictly_and_drawn(owner, kappa):
    for seed in range(6):
        case = owner.propose(kappa, random.Random(seed))
        reference = prove(owner, case, asks_of(owner, case), strict=True)
        assert all(isinstance(x, Proven) for x in reference.outcomes.values())
        assert reference.residuals == "close"
        ar = DoubleArithmetic(reference.decisions)
        drawing = owner.figure(case, owner.solve(case, ar, owner.rule_set()).answers, ar)
        assert drawing.caption and drawing.parts


@FAMILIES
def test_every_filled_row_matters(owner):
    case = owner.filled({"regions": 4}, random.Random(3))
    for i in range(4):
        less = attrs.evolve(case, regions=case.regions[:i] + case.regions[i + 1 :])
        assert values(owner, less, View("area")) != values(owner, case, View("area"))


@pytest.mark.parametrize("power", [3, 4, 5, 6])
@pytest.mark.parametrize("level", [0, 1])
def test_a_power_whose_slope_vanishes_with_it_on_either_side_of_its_vertex(power, level):
    """From -1 to 1/2; an odd power without a level crosses the axis and is refused for that."""
    terms = [(1, power)] + ([(level, 0)] if level else [])
    case = CurveAreas((under(*terms, start=-1, end=fmpq(1, 2)),), ONE)
    asks = (View("area"), View("Q_y"))
    reference = prove(CENTROID, case, asks, strict=True)
    assert reference.residuals == "close"
    found = list(reference.outcomes.values())
    if power % 2 and not level:
        assert {outcome.reason for outcome in found} == {"not defined"}
        return

    def between(n):
        """The integral of x^(n-1) over the region."""
        return (fmpq(1, 2) ** n - fmpq(-1) ** n) / n

    expected = [level * between(k) + between(power + k) for k in (1, 2)]
    assert close([o.enclosure.middle for o in found], expected)
