"""Sections, principal axes, parallel axes: turning, mirroring, refusals, mistakes."""

from __future__ import annotations

import math
import random

import attrs
import pytest
from flint import fmpq
from hypothesis import given, settings
from hypothesis import strategies as st

from refsolver.arithmetic.double import DoubleArithmetic
from refsolver.arithmetic.exact import Constant, Radian, Turn
from refsolver.quantities.kinds import NoAnswer
from refsolver.quantities.views import View
from refsolver.statics.areas.shapes import (
    AreaGivens,
    Corner,
    Disc,
    HalfDisc,
    Polygon,
    QuarterDisc,
    Rectangle,
    Sector,
)
from refsolver.statics.chapters.second_moments.parallel_axes import AxisChange
from refsolver.statics.chapters.second_moments.principal_axes import MomentsOfArea
from refsolver.statics.prover import asks_of, prove
from refsolver.statics.reference import Proven
from refsolver.statics.registry import family

SECTION = family("second-moments/section")
AXES = family("second-moments/principal-axes")
PARALLEL = family("second-moments/parallel-axis")
SYMMETRIC = family("second-moments/symmetric-section")
ALL = [SECTION, AXES, PARALLEL, SYMMETRIC]
FAMILIES = pytest.mark.parametrize("owner", ALL, ids=lambda f: f.name)
TINY = fmpq(1, 10**20)

sizes = st.integers(1, 12).map(fmpq)
small = st.integers(-12, 12).map(fmpq)
moments = st.tuples(st.integers(1, 40), st.integers(1, 40), st.integers(-40, 40)).filter(
    lambda m: m[2] * m[2] <= m[0] * m[1]
)


def outcomes(owner, case, *views):
    reference = prove(owner, case, list(views), strict=True)
    assert reference.residuals == "close", reference.residuals
    return [reference.outcomes[v] for v in views]


def values(owner, case, *names):
    found = outcomes(owner, case, *[n if isinstance(n, View) else View(n) for n in names])
    assert all(isinstance(x, Proven) for x in found), found
    return [x.enclosure.middle for x in found]


def close(found, expected):
    return all(abs(a - b) <= TINY for a, b in zip(found, expected, strict=True))


def major(case, owner=AXES):
    return outcomes(owner, case, View("major axis", "angle", range="-90..90"))[0]


@given(moments, st.integers(-90, 90))
@settings(max_examples=30, deadline=None)
def test_turned_axes_keep_sum_and_determinant(m, degrees):
    case = MomentsOfArea(*map(fmpq, m), Turn(fmpq(degrees, 360)))
    u, v, uv = values(AXES, case, "I_u", "I_v", "I_uv")
    assert abs(u + v - m[0] - m[1]) <= TINY
    assert abs(u * v - uv * uv - (m[0] * m[1] - m[2] * m[2])) <= TINY


@given(moments, st.integers(-80, 80))
@settings(max_examples=30, deadline=None)
def test_principal_axes_turn_with_the_area(m, degrees):
    """The moments of axes turned by phi have the same principal moments, phi nearer."""
    if (m[0] == m[1] and m[2] == 0) or m[2] * m[2] == m[0] * m[1]:
        return  # no axes, or moments that rounding makes impossible
    case = MomentsOfArea(*map(fmpq, m), Turn(fmpq(degrees, 360)))
    u, v, uv = values(AXES, case, "I_u", "I_v", "I_uv")
    turned = MomentsOfArea(*(fmpq(round(x * 10**25), 10**25) for x in (u, v, uv)))
    gap = major(case).enclosure.middle - major(turned).enclosure.middle - fmpq(degrees, 360)
    halves = gap * 2
    assert abs(halves - round(halves)) <= fmpq(1, 10**15)
    largest = [values(AXES, c, "maximum")[0] for c in (case, turned)]
    assert abs(largest[0] - largest[1]) <= fmpq(1, 10**15)


@given(moments)
@settings(max_examples=30, deadline=None)
def test_a_mirrored_area_has_mirrored_axes(m):
    case = MomentsOfArea(*map(fmpq, m))
    mirrored = attrs.evolve(case, i_xy=-case.i_xy)
    one, other = major(case), major(mirrored)
    if isinstance(one, NoAnswer):
        assert m[0] == m[1] and m[2] == 0
        assert one.reason == other.reason == "no unique answer"
    else:
        both = (one.enclosure.middle + other.enclosure.middle) * 2
        assert abs(both - round(both)) <= TINY


def test_moments_that_no_area_has_are_refused():
    with pytest.raises(ValueError, match=r"may not exceed I_x I_y"):
        MomentsOfArea(fmpq(1), fmpq(4), fmpq(3))
    with pytest.raises(ValueError, match=r"must exceed A d\^2"):
        AxisChange(fmpq(2), fmpq(8), fmpq(2))
    with pytest.raises(ValueError, match=r"must exceed A d\^2"):
        AxisChange(Constant("pi"), fmpq(12), fmpq(2))


@given(sizes, sizes, small, small)
@settings(max_examples=20, deadline=None)
def test_a_rectangle_by_its_handbook_formulas(b, h, x, y):
    """b h^3/12, b h^2/6, h/sqrt(12): L. De Coppet Berg, "Safe Building", table I."""
    case = AreaGivens(rectangles=(Rectangle((x, y), b, h),))
    found = values(SECTION, case, "I_x", "S_x top", "S_x bottom", "S_y left", "S_y right")
    fibres = [b * h * h / 6] * 2 + [h * b * b / 6] * 2
    assert close(found, [b * h * h * h / 12, *fibres])
    assert abs(values(SECTION, case, "k_x")[0] ** 2 - h * h / 12) <= TINY


@given(sizes, st.integers(-180, 180), st.integers(1, 360))
@settings(max_examples=40, deadline=None)
def test_a_sector_reaches_as_far_as_its_points_do(radius, start, opening):
    """The outermost fibres against many points of the arc, in doubles."""
    sector = Sector((fmpq(0), fmpq(0)), radius, Turn(fmpq(start, 360)), Turn(fmpq(opening, 360)))
    answers = SECTION.solve(
        AreaGivens(sectors=(sector,)), DoubleArithmetic(), SECTION.rule_set()
    ).answers
    turns = [math.radians(start + opening * i / 720) for i in range(721)]
    r, (x, y) = float(radius.p), answers["centroid"]
    xs = [0.0, *(r * math.cos(t) for t in turns)]
    ys = [0.0, *(r * math.sin(t) for t in turns)]
    expected = (max(ys) - y, y - min(ys), x - min(xs), max(xs) - x)
    found = [answers[f"c_{side}"] for side in ("top", "bottom", "left", "right")]
    assert found == pytest.approx(expected, abs=r * 2e-5)


def test_a_sector_by_radians_reaches_its_radius_all_around():
    first = Sector((fmpq(0), fmpq(0)), fmpq(2), Radian(fmpq(-1, 2)), Radian(fmpq(11, 2)))
    found = values(SECTION, AreaGivens(sectors=(first,)), "c_top", "c_bottom", "c_left", "c_right")
    assert close([found[0] + found[1], found[2] + found[3]], [4, 4])


def test_corners_in_any_order_of_turning():
    corners = tuple(Corner((fmpq(x), fmpq(y))) for x, y in ((0, 0), (6, 0), (6, 2), (2, 5), (0, 5)))
    one = AreaGivens(polygons=(Polygon(corners),))
    other = AreaGivens(polygons=(Polygon(corners[::-1]),))
    names = [v for v in asks_of(SECTION, one) if v.take != "angle"]
    assert close(values(SECTION, one, *names), values(SECTION, other, *names))


def test_refusals():
    disc = Disc((fmpq(0), fmpq(0)), fmpq(1))
    hole = attrs.evolve(disc, kind="hole")
    nothing = AreaGivens(discs=(disc, hole))
    asked = [View("centroid", "coordinate", along="+x"), View("I_x"), View("S_y right")]
    found = outcomes(SECTION, nothing, *asked)
    assert [x.reason for x in found] == ["no point", "not defined", "not defined"]
    (fibre,) = outcomes(SECTION, AreaGivens(discs=(hole,)), View("c_top"))
    assert fibre.reason == "not defined" and "no part is solid" in fibre.evidence
    round_one = outcomes(
        SECTION, AreaGivens(discs=(disc,)), View("minor axis", "angle", range="-90..90")
    )
    assert round_one[0].reason == "no unique answer"


@FAMILIES
@pytest.mark.parametrize("kappa", [(1, 2), (1e3, 1e4), (1e9, 1e10)])
def test_generated_cases_are_proven_strictly_and_drawn(owner, kappa):
    for seed in range(4):
        case = owner.propose(kappa, random.Random(seed))
        reference = prove(owner, case, asks_of(owner, case), strict=True)
        assert all(isinstance(x, Proven | NoAnswer) for x in reference.outcomes.values())
        assert reference.residuals == "close"
        ar = DoubleArithmetic(reference.decisions)
        drawing = owner.figure(case, owner.solve(case, ar, owner.rule_set()).answers, ar)
        assert drawing.caption and drawing.parts


@pytest.mark.parametrize("target", [1e1, 1e5])
def test_generated_moments_are_as_uneven_as_asked(target):
    case = AXES.propose((target, target * 1.01), random.Random(5))
    answers = AXES.solve(case, DoubleArithmetic(), AXES.rule_set()).answers
    assert answers["maximum"] / answers["minimum"] == pytest.approx(target, rel=0.2)
    case = PARALLEL.propose((target, target * 1.01), random.Random(5))
    answers = PARALLEL.solve(case, DoubleArithmetic(), PARALLEL.rule_set()).answers
    moment = float(case.moment.p) / float(case.moment.q)
    assert moment / answers["centroidal"] == pytest.approx(target, rel=0.5)


PLACE = (fmpq(1), fmpq(2))


@pytest.mark.parametrize(
    "case",
    [
        AreaGivens(
            sectors=(
                Sector(PLACE, fmpq(1), Turn(fmpq(-1, 12)), Turn(fmpq(1, 18))),
                Sector(PLACE, fmpq(1), Turn(fmpq(-1, 36)), Turn(fmpq(1, 9))),
            )
        ),
        AreaGivens(
            rectangles=(Rectangle((fmpq(0), fmpq(0)), fmpq(10), fmpq(4)),),
            quarter_discs=(
                QuarterDisc((fmpq(0), fmpq(0)), fmpq(2), "second"),
                QuarterDisc((fmpq(10), fmpq(0)), fmpq(2), "first"),
            ),
        ),
        AreaGivens(
            rectangles=(Rectangle((fmpq(0), fmpq(0)), fmpq(6), fmpq(4)),),
            half_discs=(HalfDisc((fmpq(3), fmpq(4)), fmpq(2), "+y"),),
            discs=(Disc((fmpq(3), fmpq(4)), fmpq(1), "hole"),),
        ),
    ],
    ids=["two sectors", "two quarters", "half disc and hole"],
)
def test_a_symmetry_is_proven_although_pi_stands_beside_sines(case):
    (product,) = outcomes(SECTION, case, View("I_xy"))
    assert product.how == "zero"
    quarters = major(case, SECTION).enclosure.middle * 4
    assert close([quarters], [round(quarters)])
