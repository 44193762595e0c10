"""Centres of point masses and of bent wires: moving, joining, cutting; refusals; mistakes."""

from __future__ import annotations

import random

import attrs
import pytest
from flint import fmpq
from hypothesis import given, settings
from hypothesis import strategies as st

from refsolver.arithmetic.double import DoubleArithmetic
from refsolver.arithmetic.exact import Turn
from refsolver.quantities.views import View
from refsolver.statics.chapters.centroids.lines import ArcPiece, LineGivens, ParabolaPiece, Segment
from refsolver.statics.chapters.centroids.lines_in_space import SpaceLine, SpaceSegment
from refsolver.statics.chapters.centroids.point_masses import PlaneMass, PlaneMasses
from refsolver.statics.prover import asks_of, prove
from refsolver.statics.reference import Proven
from refsolver.statics.registry import family

PLANE = family("centroids/point-masses-plane")
SPACE = family("centroids/point-masses-space")
LINE = family("centroids/composite-line")
WIRE = family("centroids/line-in-space")
FAMILIES = pytest.mark.parametrize("owner", [PLANE, SPACE, LINE, WIRE], ids=lambda f: f.name)
TINY = fmpq(1, 10**18)

small = st.integers(-20, 20).map(fmpq)
places = st.tuples(small, small)
masses = st.integers(1, 30).map(fmpq)
CENTRE = [View("centre", "coordinate", along=a) for a in ("+x", "+y")]
CENTROID = [View("centroid", "coordinate", along=a) for a in ("+x", "+y")]


def values(owner, case, *views):
    reference = prove(owner, case, list(views), strict=True)
    assert reference.residuals == "close", reference.residuals
    found = [reference.outcomes[v] for v in views]
    assert all(isinstance(x, Proven) for x in found), found
    return [x.enclosure.middle for x in found]


def close(found, expected):
    return all(abs(a - b) <= TINY for a, b in zip(found, expected, strict=True))


@given(st.lists(st.tuples(masses, places), min_size=2, max_size=5), places)
@settings(max_examples=30, deadline=None)
def test_masses_move_and_join(rows, by):
    """Moved together they move their centre; two of them act as one at their own centre."""
    case = PlaneMasses(tuple(PlaneMass(m, at) for m, at in rows))
    before = values(PLANE, case, *CENTRE)
    moved = PlaneMasses(tuple(PlaneMass(m, (at[0] + by[0], at[1] + by[1])) for m, at in rows))
    assert close(values(PLANE, moved, *CENTRE), [x + d for x, d in zip(before, by, strict=True)])
    pair = values(PLANE, PlaneMasses(case.masses[:2]), *CENTRE)
    joined = PlaneMass(rows[0][0] + rows[1][0], (_short(pair[0]), _short(pair[1])))
    assert close(values(PLANE, PlaneMasses((joined, *case.masses[2:])), *CENTRE), before)


def _short(x):
    """The rational of small denominator that an enclosure's middle stands for."""
    from fractions import Fraction

    near = Fraction(int(x.p), int(x.q)).limit_denominator(10**4)
    return fmpq(near.numerator, near.denominator)


@given(places, places, st.integers(1, 9))
@settings(max_examples=20, deadline=None)
def test_a_wire_cut_in_two_has_the_same_centroid(a, b, tenths):
    if a == b:
        return
    share = fmpq(tenths, 10)
    middle = tuple(x + share * (y - x) for x, y in zip(a, b, strict=True))
    case = LineGivens((Segment(a, middle), Segment(middle, b)))
    assert close(values(LINE, case, *CENTROID), [(x + y) / 2 for x, y in zip(a, b, strict=True)])


@given(masses, st.integers(-179, 179), st.integers(2, 359))
@settings(max_examples=20, deadline=None)
def test_an_arc_cut_in_two_is_the_same_wire(radius, start, opening):
    first, cut = fmpq(start, 360), fmpq(opening, 1080)
    centre = (fmpq(3), fmpq(-1))
    whole = ArcPiece(centre, radius, Turn(first), Turn(3 * cut))
    parts = (
        attrs.evolve(whole, opening=Turn(cut)),
        attrs.evolve(whole, start=Turn(first + cut), opening=Turn(2 * cut)),
    )
    asked = [View("length"), *CENTROID]
    one, two = LineGivens(arcs=(whole,)), LineGivens(arcs=parts)
    assert close(values(LINE, one, *asked), values(LINE, two, *asked))


@given(masses, masses, st.sampled_from(["first", "second", "third", "fourth"]))
@settings(max_examples=15, deadline=None)
def test_a_parabola_laid_on_its_side(width, height, quadrant):
    """x and y change places with the axis; the second and fourth quadrant too."""
    other = {"second": "fourth", "fourth": "second"}.get(quadrant, quadrant)
    up = ParabolaPiece((fmpq(0), fmpq(0)), width, height, "y", quadrant)
    side = attrs.evolve(up, axis="x", quadrant=other)
    x, y = values(LINE, LineGivens(parabolas=(up,)), *CENTROID)
    assert close(values(LINE, LineGivens(parabolas=(side,)), *CENTROID), [y, x])


def test_bad_lines_are_refused():
    at = (fmpq(1), fmpq(2))
    with pytest.raises(ValueError, match="two different ends"):
        Segment(at, at)
    with pytest.raises(ValueError, match="two different ends"):
        SpaceSegment((*at, fmpq(0)), (*at, fmpq(0)))
    with pytest.raises(ValueError, match="at least one piece"):
        LineGivens()
    with pytest.raises(ValueError, match="360 degrees"):
        ArcPiece(at, fmpq(1), Turn(fmpq(0)), Turn(fmpq(2)))
    with pytest.raises(ValueError, match="'A'"):
        PlaneMasses((PlaneMass(fmpq(1), at, "A"), PlaneMass(fmpq(2), at, "A")))


def test_a_wire_in_a_plane_is_a_wire_in_space():
    ends = [((0, 0), (3, 4)), ((3, 4), (8, -8))]
    plane = LineGivens(tuple(Segment(*(tuple(map(fmpq, p)) for p in e)) for e in ends))
    space = SpaceLine(tuple(SpaceSegment(*(tuple(map(fmpq, (*p, 0))) for p in e)) for e in ends))
    assert close(values(LINE, plane, *CENTROID), values(WIRE, space, *CENTROID))


@FAMILIES
@pytest.mark.parametrize("kappa", [(1, 2), (1e3, 1e4), (1e9, 1e10)])
def test_generated_cases_are_proven_strictly_and_drawn(owner, kappa):
    for seed in range(4):
        case = owner.propose(kappa, random.Random(seed))
        reference = prove(owner, case, asks_of(owner, case), strict=True)
        assert all(isinstance(x, Proven) for x in reference.outcomes.values())
        assert reference.residuals == "close"
        ar = DoubleArithmetic(reference.decisions)
        answers = owner.solve(case, ar, owner.rule_set()).answers
        drawing = owner.figure(case, answers, ar)
        assert drawing.caption and drawing.parts
        centre = answers["centre" if "masses" in owner.name else "centroid"]
        assert max(map(abs, centre)) < 40 / kappa[0]


@FAMILIES
def test_every_filled_row_matters(owner):
    table = "masses" if "masses" in owner.name else "segments"
    case = owner.filled({table: 5}, random.Random(2))
    place = CENTRE if table == "masses" else CENTROID
    for i in range(5):
        rows = getattr(case, table)
        less = attrs.evolve(case, **{table: rows[:i] + rows[i + 1 :]})
        assert values(owner, less, *place) != values(owner, case, *place)
