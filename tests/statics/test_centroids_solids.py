"""Composite solids and bodies: moving, cutting, mirroring; refusals; mistakes."""

from __future__ import annotations

import pickle
import random

import attrs
import pytest
from flint import fmpq
from hypothesis import given, settings
from hypothesis import strategies as st

from refsolver.arithmetic.double import DoubleArithmetic
from refsolver.quantities.views import View
from refsolver.statics.chapters.centroids.solid_givens import MassGivens, MassLump, SolidGivens
from refsolver.statics.chapters.centroids.solids import (
    SHAPES,
    Box,
    Cone,
    Cylinder,
    HalfSphere,
    Sphere,
    Tetrahedron,
    Wedge,
)
from refsolver.statics.prover import asks_of, prove
from refsolver.statics.reference import Proven
from refsolver.statics.registry import family

VOLUME = family("centroids/composite-volume")
MASS = family("centroids/mass-centre")
WEIGHT = family("centroids/centre-of-gravity")
FAMILIES = pytest.mark.parametrize("owner", [VOLUME, MASS, WEIGHT], ids=lambda f: f.name)
TINY = fmpq(1, 10**18)
ORIGIN = (fmpq(0),) * 3

small = st.integers(-20, 20).map(fmpq)
sizes = st.integers(1, 12).map(fmpq)
places = st.tuples(small, small, small)
axes = st.sampled_from(["+x", "-x", "+y", "-y", "+z", "-z"])
CENTRE = [View("centre", "coordinate", along=a) for a in ("+x", "+y", "+z")]


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


def moved(row, by):
    points = {
        f.name: tuple(x + d for x, d in zip(getattr(row, f.name), by, strict=True))
        for f in attrs.fields(type(row))
        if isinstance(getattr(row, f.name), tuple)
    }
    return attrs.evolve(row, **points)


@given(st.sampled_from(sorted(SHAPES)), st.integers(0, 10**6), places)
@settings(max_examples=30, deadline=None)
def test_a_centre_moves_with_its_body(table, seed, by):
    case = VOLUME.filled({table: 1}, random.Random(seed))
    before = values(VOLUME, case, *CENTRE)
    there = attrs.evolve(case, **{table: (moved(getattr(case, table)[0], by),)})
    assert close(values(VOLUME, there, *CENTRE), [x + d for x, d in zip(before, by, strict=True)])


@given(sizes, sizes, axes, st.integers(1, 9))
@settings(max_examples=20, deadline=None)
def test_a_cone_cut_across_is_a_frustum_and_a_cone(radius, height, axis, tenths):
    share = fmpq(tenths, 10)
    whole = Cone(ORIGIN, radius, height, axis)
    index, sense = "xyz".index(axis[1]), 1 if axis[0] == "+" else -1
    middle = tuple(sense * height * share if i == index else fmpq(0) for i in range(3))
    parts = (
        Cone(ORIGIN, radius, height * share, axis, radius * (1 - share)),
        Cone(middle, radius * (1 - share), height * (1 - share), axis),
    )
    asked = [View("volume"), *CENTRE]
    one, two = SolidGivens(cones=(whole,)), SolidGivens(cones=parts)
    assert close(values(VOLUME, one, *asked), values(VOLUME, two, *asked))


@given(places, sizes, axes)
@settings(max_examples=10, deadline=None)
def test_two_half_spheres_make_a_sphere(centre, radius, axis):
    other = {"+": "-", "-": "+"}[axis[0]] + axis[1]
    halves = SolidGivens(
        half_spheres=(HalfSphere(centre, radius, axis), HalfSphere(centre, radius, other))
    )
    sphere = SolidGivens(spheres=(Sphere(centre, radius),))
    asked = [View("volume"), *CENTRE]
    assert close(values(VOLUME, halves, *asked), values(VOLUME, sphere, *asked))


def test_a_frustum_of_equal_ends_is_a_cylinder():
    cone = SolidGivens(cones=(Cone(ORIGIN, fmpq(3), fmpq(5), "-y", fmpq(3)),))
    cylinder = SolidGivens(cylinders=(Cylinder(ORIGIN, fmpq(3), fmpq(5), "-y"),))
    asked = [View("volume"), *CENTRE]
    assert close(values(VOLUME, cone, *asked), values(VOLUME, cylinder, *asked))


@given(places, places, places, places)
@settings(max_examples=20, deadline=None)
def test_corners_of_a_tetrahedron_in_any_order(a, b, c, d):
    one = SolidGivens(tetrahedra=(Tetrahedron(a, b, c, d),))
    other = SolidGivens(tetrahedra=(Tetrahedron(b, a, d, c), Tetrahedron(d, b, a, c)))
    volumes = values(VOLUME, one, View("volume")) + values(VOLUME, other, View("volume"))
    assert close([2 * volumes[0]], volumes[1:])


@given(sizes, sizes, sizes, st.sampled_from("xyz"))
@settings(max_examples=10, deadline=None)
def test_two_wedges_make_a_box(x, y, z, length):
    pair = (Wedge(ORIGIN, x, y, z, length), Wedge((x, y, z), -x, -y, -z, length))
    asked = [View("volume"), *CENTRE]
    box = SolidGivens(boxes=(Box(ORIGIN, x, y, z),))
    assert close(values(VOLUME, SolidGivens(wedges=pair), *asked), values(VOLUME, box, *asked))


def test_a_lump_counts_at_its_point():
    case = MassGivens(lumps=(MassLump(fmpq(2), ORIGIN), MassLump(fmpq(6), (fmpq(4), *ORIGIN[:2]))))
    assert close(values(MASS, case, View("mass"), *CENTRE), [8, 3, 0, 0])


def test_refusals():
    sphere = Sphere(ORIGIN, fmpq(2))
    case = SolidGivens(spheres=(sphere, attrs.evolve(sphere, kind="hole")))
    found = outcomes(VOLUME, case, View("volume"), CENTRE[0])
    assert found[0].how == "zero" and found[1].reason == "no point"
    with pytest.raises(ValueError, match="at least one part"):
        SolidGivens()
    with pytest.raises(ValueError, match="extent along each axis"):
        Wedge(ORIGIN, fmpq(1), fmpq(0), fmpq(1))


@FAMILIES
@pytest.mark.parametrize("kappa", [(1, 2), (1e3, 1e4), (1e9, 1e10)])
def test_generated_cases_are_proven_strictly_and_drawn(owner, kappa):
    for seed in range(4):
        case = owner.propose(kappa, random.Random(seed))
        assert pickle.loads(pickle.dumps(case)) == case
        reference = prove(owner, case, asks_of(owner, case), strict=True)
        assert all(isinstance(x, Proven) for x in reference.outcomes.values())
        assert reference.residuals == "close"
        ar = DoubleArithmetic(reference.decisions)
        drawing = owner.figure(case, owner.solve(case, ar, owner.rule_set()).answers, ar)
        assert drawing.caption and drawing.parts


@pytest.mark.parametrize("target", [1e2, 1e6])
def test_generated_walls_are_as_thin_as_asked(target):
    case = VOLUME.propose((target, target * 1.01), random.Random(4))
    volumes = VOLUME.solve(case, DoubleArithmetic(), VOLUME.rule_set()).answers["volumes"].values()
    assert target / 3 < sum(map(abs, volumes)) / sum(volumes) < target * 3


@FAMILIES
@pytest.mark.parametrize("table", [*sorted(SHAPES), "lumps"])
def test_every_filled_row_matters(owner, table):
    if table == "lumps" and owner is VOLUME:
        return
    case = owner.filled({table: 3}, random.Random(3))
    rows = getattr(case, table)
    assert len(rows) == 3
    for i in range(3):
        less = attrs.evolve(case, **{table: rows[:i] + rows[i + 1 :]})
        assert values(owner, less, *CENTRE) != values(owner, case, *CENTRE)
