"""Resultants: invariances, closing polygons, names, and what the closure residuals see."""

import pytest
from flint import fmpq
from hypothesis import given, settings
from hypothesis import strategies as st

from refsolver.arithmetic.enclosure import EnclosureArithmetic
from refsolver.arithmetic.exact import Turn
from refsolver.quantities.kinds import NoAnswer
from refsolver.quantities.leaves import ByAngle, ByAzimuth, ByRun, Components, Polar
from refsolver.quantities.views import View
from refsolver.statics.forces.concurrent import PlaneForce, PlaneForces, SpaceForce, SpaceForces
from refsolver.statics.forces.pulls import plane_heading, product, pull_of
from refsolver.statics.naming import keys_of
from refsolver.statics.prover import prove
from refsolver.statics.registry import family
from refsolver.statics.vectors import dot, vector

PLANE = family("concurrent-forces/plane-resultant")
SPACE = family("concurrent-forces/space-resultant")
SIZE = View("resultant", "magnitude")
ANGLE = View("resultant", "angle")

sizes = st.integers(1, 10**6).map(lambda n: fmpq(n, 1000))
turns = st.integers(0, 35999).map(lambda n: fmpq(n, 36000))
pulls = st.lists(st.tuples(sizes, turns), min_size=1, max_size=8)
whole = st.integers(-99, 99).map(fmpq)
triples = st.lists(st.tuples(whole, whole, whole), min_size=1, max_size=6)


def plane(items):
    return PlaneForces(tuple(PlaneForce(Polar(f, ByAngle(Turn(t)))) for f, t in items))


def space(items):
    return SpaceForces(tuple(SpaceForce(Components(v)) for v in items))


def outcome(owner, forces, view):
    return prove(owner, forces, [view], digits=20).outcomes[view]


def overlap(a, b, shift=0):
    return a.lower <= b.upper + shift and b.lower + shift <= a.upper


@settings(max_examples=60, deadline=None)
@given(pulls, st.randoms())
def test_the_order_of_the_forces_does_not_matter(items, rng):
    shuffled = list(items)
    rng.shuffle(shuffled)
    one, other = (outcome(PLANE, plane(x), SIZE).enclosure for x in (items, shuffled))
    assert overlap(one, other)


@settings(max_examples=60, deadline=None)
@given(pulls, turns)
def test_turning_all_forces_turns_the_resultant(items, turn):
    turned = plane([(f, t + turn) for f, t in items])
    one, other = outcome(PLANE, plane(items), SIZE), outcome(PLANE, turned, SIZE)
    assert overlap(one.enclosure, other.enclosure)
    before, after = outcome(PLANE, plane(items), ANGLE), outcome(PLANE, turned, ANGLE)
    if isinstance(before, NoAnswer):
        assert isinstance(after, NoAnswer)
        return
    excess = after.enclosure.middle - before.enclosure.middle - turn
    assert abs(excess - round(float(excess.p) / float(excess.q))) < fmpq(1, 10**15)


@settings(max_examples=60, deadline=None)
@given(pulls, st.integers(1, 10**6))
def test_another_unit_scales_the_size_and_keeps_the_direction(items, factor):
    scaled = plane([(f * factor, t) for f, t in items])
    one, other = outcome(PLANE, plane(items), SIZE), outcome(PLANE, scaled, SIZE)
    assert overlap(
        other.enclosure, type(one.enclosure)(*(factor * x for x in _ends(one.enclosure)))
    )
    a, b = outcome(PLANE, plane(items), ANGLE), outcome(PLANE, scaled, ANGLE)
    assert a == b or overlap(a.enclosure, b.enclosure)


def _ends(enclosure):
    return enclosure.lower, enclosure.upper


@settings(max_examples=40, deadline=None)
@given(pulls)
def test_a_polygon_closed_by_its_reversed_sides_is_proven_zero(items):
    """A decimal-degree balance: only algebra can prove it."""
    back = [(f, t + fmpq(1, 2)) for f, t in reversed(items)]
    found = prove(PLANE, plane(items + back), [SIZE, ANGLE], digits=20).outcomes
    assert found[SIZE].how == "zero" and found[ANGLE].reason == "no direction"


@settings(max_examples=60, deadline=None)
@given(triples)
def test_whole_components_add_exactly(items):
    views = [View("resultant", "component", along=f"+{x}") for x in "xyz"]
    found = prove(SPACE, space(items), views, digits=20).outcomes
    for view, total in zip(views, map(sum, zip(*items, strict=True)), strict=True):
        assert found[view].enclosure.lower == found[view].enclosure.upper == total


@settings(max_examples=60, deadline=None)
@given(turns, turns, turns, turns, st.sampled_from(["+z", "-z", "+y"]))
def test_the_angle_route_gives_the_scalar_product_of_the_component_route(a, b, c, d, up):
    """The cosine between directions by their angles shares no step with the components."""
    start, toward = ("+z", "-x") if up == "+y" else ("-y", "+x")
    frame = {"start": start, "toward": toward, "up": up}
    first = Polar(fmpq(7), ByAzimuth(Turn(a), Turn(b), **frame))
    second = Polar(fmpq(-3, 2), ByAzimuth(Turn(c), Turn(d), **frame))
    ar = EnclosureArithmetic()
    by_angles = product(pull_of(first, ar), pull_of(second, ar), ar)
    assert by_angles.overlaps(dot(vector(first, ar), vector(second, ar)))


@pytest.mark.parametrize("start", ["+x", "-x", "+y", "-y"])
@pytest.mark.parametrize("sense", ["+", "-"])
def test_a_heading_is_the_angle_from_x(start, sense):
    toward = sense + ("y" if start[1] == "x" else "x")
    direction = ByAngle(Turn(fmpq(1, 17)), start, toward)
    ar = EnclosureArithmetic()
    c, s = ar.cos_sin(Turn(plane_heading(direction)))
    x, y = vector(Polar(fmpq(1), direction), ar)
    assert c.overlaps(x) and s.overlaps(y)


def test_no_heading_where_no_rational_angle_is_stated():
    assert plane_heading(ByRun((fmpq(1), fmpq(2)))) is None
    assert plane_heading(None) is None


def test_two_forces_may_not_share_a_name():
    force = Polar(fmpq(1), ByRun((fmpq(1), fmpq(0))))
    with pytest.raises(ValueError, match="'a'"):
        PlaneForces((PlaneForce(force, "a"), PlaneForce(force, "a")))
    with pytest.raises(ValueError, match="'force 2'"):
        PlaneForces((PlaneForce(force, "force 2"), PlaneForce(force)))
    assert keys_of((PlaneForce(force, "a"), PlaneForce(force)), "force") == ["a", "force 2"]


def test_the_working_adds_up_row_by_row():
    given = plane([(fmpq(50), fmpq(0)), (fmpq(20), fmpq(1, 4))])
    sheet = prove(PLANE, given, [SIZE]).sheets()[0]
    assert [row.label for row in sheet.rows] == ["force 1", "force 2", "sum"]
    assert [x.middle for x in sheet.rows[-1].cells] == [50, 20]
