"""Centroids of composite areas: moving, mirroring, cutting; refusals; mistakes."""

from __future__ import annotations

import random

import attrs
import pytest
from flint import fmpq
from hypothesis import given, settings
from hypothesis import strategies as st

from refsolver.arithmetic.double import DoubleArithmetic
from refsolver.arithmetic.exact import Constant, Radian, Slope, Turn
from refsolver.quantities.kinds import NoAnswer
from refsolver.quantities.views import View
from refsolver.statics.areas.samples import SHAPES
from refsolver.statics.areas.shapes import (
    AreaGivens,
    Corner,
    Disc,
    Polygon,
    QuarterDisc,
    Rectangle,
    Sector,
    Spandrel,
    Triangle,
    tables,
)
from refsolver.statics.prover import asks_of, prove
from refsolver.statics.reference import Proven
from refsolver.statics.registry import family

FAMILY = family("centroids/composite-area")
MOMENTS = family("second-moments/composite")
TINY = fmpq(1, 10**20)

small = st.integers(-20, 20).map(fmpq)
sizes = st.integers(1, 12).map(fmpq)
places = st.tuples(small, small)
PLACE = [View("centroid", "coordinate", along=a) for a in ("+x", "+y")]


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


def moved(case, by):
    """The same area carried along a vector."""

    def carried(row):
        if isinstance(row, Polygon):
            return attrs.evolve(row, corners=tuple(Corner(shifted(c.at)) for c in row.corners))
        names = [n for n in ("corner", "a", "b", "c", "centre", "vertex") if hasattr(row, n)]
        points = {n: getattr(row, n) for n in names if isinstance(getattr(row, n), tuple)}
        return attrs.evolve(row, **{n: shifted(p) for n, p in points.items()})

    def shifted(at):
        return tuple(x + d for x, d in zip(at, by, strict=True))

    rows = {name: tuple(carried(r) for r in table) for name, table in tables(case).items()}
    return AreaGivens(**rows)


@given(st.sampled_from(sorted(SHAPES)), st.integers(0, 10**6), places)
@settings(max_examples=40, deadline=None)
def test_a_centroid_moves_with_its_area(table, seed, by):
    row = SHAPES[table](random.Random(seed))
    case = AreaGivens(
        **{table: (row,)}, **({} if table == "discs" else {"discs": (Disc(by, fmpq(2)),)})
    )
    before = values(FAMILY, case, *PLACE)
    after = values(FAMILY, moved(case, by), *PLACE)
    assert close(after, [x + d for x, d in zip(before, by, strict=True)])


@given(places, sizes, sizes, st.integers(1, 9))
@settings(max_examples=25, deadline=None)
def test_a_rectangle_cut_in_two_has_the_same_centroid(corner, width, height, tenths):
    part = width * tenths / 10
    cut = AreaGivens(
        rectangles=(
            Rectangle(corner, part, height),
            Rectangle((corner[0] + part, corner[1]), width - part, height),
        )
    )
    middle = [corner[0] + width / 2, corner[1] + height / 2]
    assert close(values(FAMILY, cut, *PLACE), middle)


@given(places, places, places)
@settings(max_examples=25, deadline=None)
def test_a_triangle_is_a_polygon_of_three_corners_either_way_round(a, b, c):
    turn = (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
    triangle = AreaGivens(triangles=(Triangle(a, b, c),))
    asked = [View("area"), *PLACE]
    for corners in ((a, b, c), (c, b, a)):
        polygon = AreaGivens(polygons=(Polygon(tuple(map(Corner, corners))),))
        if turn == 0:
            assert outcomes(FAMILY, polygon, *PLACE)[0].reason == "no point"
        else:
            assert close(values(FAMILY, polygon, *asked), values(FAMILY, triangle, *asked))


@given(sizes, st.integers(-179, 179), st.integers(1, 359))
@settings(max_examples=25, deadline=None)
def test_a_sector_cut_in_two_is_the_same_area(radius, start, opening):
    first = Turn(fmpq(start, 360))
    whole = Sector((fmpq(1), fmpq(2)), radius, first, Turn(fmpq(opening, 360)))
    cut = fmpq(opening, 1080)
    parts = (
        attrs.evolve(whole, opening=Turn(cut)),
        attrs.evolve(whole, start=Turn(first.turns + cut), opening=Turn(2 * cut)),
    )
    asked = [View(n) for n in ("area", "I_x", "I_y", "I_xy", "centroidal I_xy")]
    one, two = AreaGivens(sectors=(whole,)), AreaGivens(sectors=parts)
    assert close(values(MOMENTS, one, *asked), values(MOMENTS, two, *asked))


@pytest.mark.parametrize("quadrant", ["first", "second", "third", "fourth"])
def test_a_quarter_disc_is_a_sector(quadrant):
    start = ["first", "second", "third", "fourth"].index(quadrant)
    sector = Sector((fmpq(2), fmpq(-3)), fmpq(5), Turn(fmpq(start, 4)), Turn(fmpq(1, 4)))
    quarter = QuarterDisc((fmpq(2), fmpq(-3)), fmpq(5), quadrant)
    asked = asks_of(MOMENTS, AreaGivens(sectors=(sector,)))
    asked = [v for v in asked if v.key is None]
    found = values(MOMENTS, AreaGivens(sectors=(sector,)), *asked)
    assert close(found, values(MOMENTS, AreaGivens(quarter_discs=(quarter,)), *asked))


@pytest.mark.parametrize(
    "opening",
    [Radian(Constant("quotient", (Constant("pi"), fmpq(3)))),
     Slope(Constant("sqrt", (fmpq(3),)), fmpq(1))],
    ids=["radians", "slope"],
)  # fmt: skip
def test_an_opening_may_be_stated_in_any_way(opening):
    rows = [
        Sector((fmpq(0), fmpq(0)), fmpq(4), Turn(fmpq(1, 12)), o)
        for o in (opening, Turn(fmpq(1, 6)))
    ]
    stated, turned = (AreaGivens(sectors=(row,)) for row in rows)
    assert close(values(FAMILY, stated, *PLACE), values(FAMILY, turned, *PLACE))


@given(sizes, sizes, st.integers(1, 5), st.sampled_from(["first", "second", "third", "fourth"]))
@settings(max_examples=20, deadline=None)
def test_a_spandrel_and_what_is_left_of_its_rectangle(width, height, power, quadrant):
    both = tuple(
        Spandrel((fmpq(3), fmpq(4)), width, height, power, side, quadrant)
        for side in ("under", "above")
    )
    x = 3 + (width / 2 if quadrant in ("first", "fourth") else -width / 2)
    y = 4 + (height / 2 if quadrant in ("first", "second") else -height / 2)
    asked = [View("area"), *PLACE]
    assert close(values(FAMILY, AreaGivens(spandrels=both), *asked), [width * height, x, y])


def test_nothing_left_has_no_centroid():
    disc = Disc((fmpq(1), fmpq(2)), fmpq(3))
    case = AreaGivens(discs=(disc, attrs.evolve(disc, kind="hole")))
    found = outcomes(FAMILY, case, View("area"), *PLACE)
    assert found[0].how == "zero"
    assert [x.reason for x in found[1:]] == ["no point", "no point"]


def test_parts_go_by_their_names():
    row = Rectangle((fmpq(0), fmpq(0)), fmpq(1), fmpq(1), name="web")
    disc = Disc((fmpq(0), fmpq(0)), fmpq(1))
    case = AreaGivens(rectangles=(row, attrs.evolve(row, name="")), discs=(disc,))
    answers = FAMILY.solve(case, DoubleArithmetic(), FAMILY.rule_set()).answers
    assert list(answers["areas"]) == ["web", "rectangle 2", "disc 1"]


def test_bad_shapes_are_refused():
    with pytest.raises(ValueError, match="at least one part"):
        AreaGivens()
    with pytest.raises(ValueError, match="at least three corners"):
        Polygon((Corner((fmpq(0), fmpq(0))),))
    corners = [(0, 0), (4, 4), (4, 0), (0, 4)]
    with pytest.raises(ValueError, match="sides 1 and 3 of the polygon cross"):
        Polygon(tuple(Corner((fmpq(x), fmpq(y))) for x, y in corners))


@pytest.mark.parametrize(
    "opening",
    [Turn(fmpq(0)), Turn(fmpq(13, 12)), Turn(fmpq(-1, 4)), Radian(fmpq(7)),
     Slope(fmpq(-1), fmpq(1))],
    ids=str,
)  # fmt: skip
def test_an_opening_is_above_zero_and_at_most_a_turn(opening):
    with pytest.raises(ValueError, match="360 degrees"):
        Sector((fmpq(0), fmpq(0)), fmpq(1), Turn(fmpq(0)), opening)


@pytest.mark.parametrize("kappa", [(1, 2), (1e3, 1e4), (1e9, 1e10)])
@pytest.mark.parametrize("owner", [FAMILY, MOMENTS], ids=lambda f: f.name)
def test_generated_cases_are_proven_strictly_and_drawn(owner, kappa):
    for seed in range(4):
        case = owner.propose(kappa, random.Random(seed))
        reference = prove(owner, case, asks_of(owner, case), strict=True)
        assert all(isinstance(x, Proven | NoAnswer) for x in reference.outcomes.values())
        assert reference.residuals == "close"
        ar = DoubleArithmetic(reference.decisions)
        drawing = owner.figure(case, owner.solve(case, ar, owner.rule_set()).answers, ar)
        assert drawing.caption and drawing.parts


@pytest.mark.parametrize("target", [1e2, 1e6])
def test_generated_walls_are_as_thin_as_asked(target):
    case = FAMILY.propose((target, target * 1.01), random.Random(1))
    areas = FAMILY.solve(case, DoubleArithmetic(), FAMILY.rule_set()).answers["areas"].values()
    assert target / 3 < sum(map(abs, areas)) / abs(sum(areas)) < target * 3


@pytest.mark.parametrize("table", sorted(SHAPES))
def test_every_filled_row_matters(table):
    case = FAMILY.filled({table: 4}, random.Random(3))
    rows = getattr(case, table)
    assert len(rows) == 4
    for i in range(4):
        less = attrs.evolve(case, **{table: rows[:i] + rows[i + 1 :]})
        assert values(FAMILY, less, *PLACE) != values(FAMILY, case, *PLACE)


@pytest.mark.parametrize("third", [fmpq(1, 3), fmpq(2, 7)])
def test_flat_triangles_and_polygons_count_for_nothing(third):
    """Corners on one line whose coordinates no ball holds exactly."""
    corners = [(third * k, third * k + fmpq(1, 7)) for k in (0, 1, 3)]
    flat = Triangle(*corners)
    polygon = Polygon(tuple(map(Corner, corners)))
    square = Rectangle((fmpq(0), fmpq(0)), fmpq(2), fmpq(2))
    case = AreaGivens(rectangles=(square,), triangles=(flat,), polygons=(polygon,))
    for owner in (FAMILY, MOMENTS):
        assert close(values(owner, case, View("area"), *PLACE), [4, 1, 1])
