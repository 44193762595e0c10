"""Swept volumes and surfaces, and solids of revolution: cutting, sides of the axis; mistakes."""

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
from refsolver.statics.areas.between_curves import CurveAreas
from refsolver.statics.areas.curves import CurveTerm, Region
from refsolver.statics.areas.extents import Extents
from refsolver.statics.areas.samples import SHAPES
from refsolver.statics.areas.shapes import Disc, Rectangle, Triangle
from refsolver.statics.chapters.centroids.lines import ArcPiece, Segment
from refsolver.statics.chapters.centroids.sweeps import axis_stroke
from refsolver.statics.chapters.centroids.swept_surfaces import TurnedLine
from refsolver.statics.chapters.centroids.swept_volumes import TurnedArea
from refsolver.statics.prover import asks_of, prove
from refsolver.statics.reference import Proven
from refsolver.statics.registry import family

VOLUME = family("centroids/pappus-volume")
SURFACE = family("centroids/pappus-surface")
SOLID = family("centroids/solid-of-revolution")
FAMILIES = pytest.mark.parametrize("owner", [VOLUME, SURFACE, SOLID], ids=lambda f: f.name)
TINY = fmpq(1, 10**18)

sizes = st.integers(1, 12).map(fmpq)


def outcomes(owner, case, *names):
    views = [View(n) for n in names]
    reference = prove(owner, case, views, strict=True)
    assert reference.residuals == "close", reference.residuals
    return [reference.outcomes[v] for v in views]


def values(owner, case, *names):
    found = outcomes(owner, case, *names)
    assert all(isinstance(x, Proven) for x in found), found
    return [x.enclosure.middle for x in found]


def close(found, expected):
    return all(abs(a - b) <= TINY for a, b in zip(found, expected, strict=True))


@given(sizes, sizes, sizes, st.sampled_from("xy"))
@settings(max_examples=15, deadline=None)
def test_a_box_beside_the_axis_is_a_tube(low, width, height, axis):
    box = Rectangle((low, low), width, height)
    (found,) = values(VOLUME, TurnedArea(rectangles=(box,), axis=axis), "volume")
    thick, long = (height, width) if axis == "x" else (width, height)
    tube = Region(fmpq(0), long, (CurveTerm(low + thick),), (CurveTerm(low),))
    (solid,) = values(SOLID, CurveAreas((tube,), fmpq(1)), "volume")
    assert close([found], [solid])


@given(sizes, sizes)
@settings(max_examples=10, deadline=None)
def test_a_triangle_is_a_cone_swept_or_sliced(height, radius):
    corner, zero = (height, fmpq(0)), (fmpq(0), fmpq(0))
    area = TurnedArea(triangles=(Triangle(corner, zero, (height, radius)),))
    cone = CurveAreas((Region(fmpq(0), height, (CurveTerm(radius, fmpq(1)),)),), height)
    volume, centroid = values(SOLID, cone, "volume", "centroid")
    assert close(values(VOLUME, area, "volume"), [volume])
    assert close([centroid], [height * 3 / 4])


@given(sizes, st.integers(1, 359))
@settings(max_examples=15, deadline=None)
def test_turns_add(radius, degrees):
    disc = Disc((radius * 2, radius * 3), radius)
    ring = ArcPiece(disc.centre, radius, Turn(fmpq(0)), Turn(fmpq(1)))
    part = Turn(fmpq(degrees, 360))
    rest = Turn(1 - part.turns)
    for owner, make, name in (
        (VOLUME, lambda turn: TurnedArea(discs=(disc,), turn=turn), "volume"),
        (SURFACE, lambda turn: TurnedLine(arcs=(ring,), turn=turn), "surface"),
    ):
        whole, one, other = (values(owner, make(t), name)[0] for t in (Turn(fmpq(1)), part, rest))
        assert close([one + other], [whole])


@given(st.sampled_from(sorted(SHAPES)), st.integers(0, 10**6))
@settings(max_examples=20, deadline=None)
def test_the_other_side_of_the_axis_sweeps_the_same(table, seed):
    case = VOLUME.filled({table: 1}, random.Random(seed))
    here = values(VOLUME, case, "volume", "distance")
    assert all(x > 0 for x in here)


def test_refusals():
    square = Rectangle((fmpq(-1), fmpq(-1)), fmpq(2), fmpq(2))
    (both,) = outcomes(VOLUME, TurnedArea(rectangles=(square,)), "volume")
    assert both.reason == "not defined" and "both sides" in both.evidence
    (hole,) = outcomes(VOLUME, TurnedArea(rectangles=(attrs.evolve(square, kind="hole"),)), "area")
    assert hole.reason == "not defined" and "no part is solid" in hole.evidence
    line = Segment((fmpq(0), fmpq(-1)), (fmpq(0), fmpq(1)))
    (both,) = outcomes(SURFACE, TurnedLine(segments=(line,)), "surface")
    assert both.reason == "not defined" and "both sides" in both.evidence
    region = Region(fmpq(0), fmpq(1), (CurveTerm(fmpq(1)),), (CurveTerm(fmpq(-1)),))
    (below,) = outcomes(SOLID, CurveAreas((region,), fmpq(1)), "volume")
    assert below.reason == "not defined" and "below the x axis" in below.evidence
    with pytest.raises(ValueError, match="360 degrees"):
        TurnedArea(rectangles=(square,), turn=Turn(fmpq(3, 2)))
    with pytest.raises(ValueError, match="at least one part"):
        TurnedArea()


@FAMILIES
@pytest.mark.parametrize("kappa", [(1, 2), (1e3, 1e4), (1e9, 1e10)])
def test_generated_cases_are_proven_strictly_and_drawn(owner, kappa):
    for seed in range(4):
        case = owner.propose(kappa, random.Random(seed))
        reference = prove(owner, case, asks_of(owner, case), strict=True)
        assert all(isinstance(x, Proven) for x in reference.outcomes.values())
        assert reference.residuals == "close"
        ar = DoubleArithmetic(reference.decisions)
        drawing = owner.figure(case, owner.solve(case, ar, owner.rule_set()).answers, ar)
        assert drawing.caption and drawing.parts


@pytest.mark.parametrize(
    ("owner", "table", "name"),
    [(VOLUME, "discs", "volume"), (SURFACE, "segments", "surface"), (SURFACE, "arcs", "surface")],
    ids=["discs", "segments", "arcs"],
)
def test_every_filled_row_matters(owner, table, name):
    case = owner.filled({table: 3}, random.Random(3))
    rows = getattr(case, table)
    for i in range(3):
        less = attrs.evolve(case, **{table: rows[:i] + rows[i + 1 :]})
        assert values(owner, less, name) != values(owner, case, name)


@pytest.mark.parametrize(
    ("reach", "axis", "ends"),
    [
        ((1, 4, 2, 3), "x", ((1, 0), (4, 0))),
        ((1, 4, 2, 3), "y", ((0, 2), (0, 3))),
        ((2, 2, 1, 3), "x", ((1, 0), (3, 0))),  # a line square to the axis
        ((1, 3, 2, 2), "y", ((0, 1), (0, 3))),
    ],
)
def test_the_axis_is_drawn_along_what_turns_about_it(reach, axis, ends):
    stroke = axis_stroke(Extents(*map(fmpq, reach)), axis)
    assert (stroke.start, stroke.end) == ends
