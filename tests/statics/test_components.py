"""Components, projections and angles: what must hold whatever the numbers."""

import pytest
from flint import fmpq
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from refsolver.arithmetic.exact import Turn
from refsolver.quantities.leaves import ByAngle, ByRun, Components, Polar
from refsolver.quantities.views import View
from refsolver.statics.chapters.components.projections import (
    SpaceForceAndLine,
    TwoPlaneVectors,
    TwoSpaceVectors,
)
from refsolver.statics.chapters.components.resolved import ForceAndTwoAxes, PlaneForceAndAxis
from refsolver.statics.prover import prove
from refsolver.statics.registry import family

whole = st.integers(-60, 60)
plane_runs = st.tuples(whole, whole).filter(any)
space_runs = st.tuples(whole, whole, whole).filter(any)
turns = st.integers(0, 3599).map(lambda n: fmpq(n, 3600))


def exact(run):
    return tuple(fmpq(x) for x in run)


def found(name, given, *views, digits=20):
    return list(prove(family(name), given, views, digits=digits).outcomes.values())


def same(enclosure, value):
    return enclosure.lower <= value <= enclosure.upper


FIRST, SECOND = View("first"), View("second")


@settings(max_examples=60, deadline=None)
@given(plane_runs, plane_runs, plane_runs)
def test_oblique_components_put_together_give_the_force(force, first, second):
    """Rational throughout: a and b per length of the runs are solved here by hand."""
    area = first[0] * second[1] - first[1] * second[0]
    assume(area != 0)
    case = ForceAndTwoAxes(Components(exact(force)), ByRun(exact(first)), ByRun(exact(second)))
    a, b = found("components/oblique", case, FIRST, SECOND)
    p = fmpq(force[0] * second[1] - force[1] * second[0], area)
    q = fmpq(first[0] * force[1] - first[1] * force[0], area)
    for outcome, share, run in ((a, p, first), (b, q, second)):
        square = share * share * (run[0] ** 2 + run[1] ** 2)
        enclosure = outcome.enclosure
        low, high = sorted((enclosure.lower**2, enclosure.upper**2))
        assert low <= square <= high
        assert (enclosure.middle > 0) == (share > 0) or share == 0


@settings(max_examples=40, deadline=None)
@given(plane_runs, plane_runs, st.integers(1, 9), st.booleans())
def test_parallel_axes_are_refused_for_the_right_reason(force, axis, factor, reverse):
    other = tuple((-factor if reverse else factor) * x for x in axis)
    case = ForceAndTwoAxes(Components(exact(force)), ByRun(exact(axis)), ByRun(exact(other)))
    on_the_line = force[0] * axis[1] == force[1] * axis[0]
    reason = "no unique answer" if on_the_line else "no solution"
    assert [x.reason for x in found("components/oblique", case, FIRST, SECOND)] == [reason] * 2


@settings(max_examples=40, deadline=None)
@given(turns, turns, turns)
def test_square_axes_give_rectangular_components(force, axis, spin):
    pull = Polar(fmpq(1000, 7), ByAngle(Turn(force)))
    square = ByAngle(Turn(axis + fmpq(1, 4)))
    oblique = found(
        "components/oblique", ForceAndTwoAxes(pull, ByAngle(Turn(axis)), square), FIRST, SECOND
    )
    straight = found(
        "components/plane-rectangular",
        PlaneForceAndAxis(pull, ByAngle(Turn(axis))),
        View("along"),
        View("across"),
    )
    for one, other in zip(oblique, straight, strict=True):
        assert one.enclosure.lower <= other.enclosure.upper
        assert other.enclosure.lower <= one.enclosure.upper


@settings(max_examples=60, deadline=None)
@given(space_runs, space_runs)
def test_a_projection_splits_the_force_exactly(force, line):
    case = SpaceForceAndLine(Components(exact(force)), ByRun(exact(line)))
    views = [
        View(part, "component", along=f"+{x}")
        for part in ("parallel", "perpendicular")
        for x in "xyz"
    ]
    outcomes = found("components/space-projection", case, *views)
    inner = sum(f * u for f, u in zip(force, line, strict=True))
    square = sum(u * u for u in line)
    for i in range(3):
        assert same(outcomes[i].enclosure, fmpq(inner * line[i], square))
        assert same(outcomes[3 + i].enclosure, force[i] - fmpq(inner * line[i], square))


@settings(max_examples=60, deadline=None)
@given(turns, turns)
def test_the_angle_of_two_stated_angles_is_their_difference(a, b):
    pair = TwoPlaneVectors(Polar(fmpq(3), ByAngle(Turn(a))), Polar(fmpq(5), ByAngle(Turn(b))))
    turn, angle, acute = found(
        "components/plane-angle", pair, View("turn"), View("angle"), View("acute")
    )
    difference = (b - a) - (b - a).floor()
    expected = difference - 1 if difference > fmpq(1, 2) else difference
    folded = abs(expected)
    assert same(turn.enclosure, expected) and same(angle.enclosure, folded)
    assert same(acute.enclosure, min(folded, fmpq(1, 2) - folded))


@settings(max_examples=60, deadline=None)
@given(space_runs, space_runs)
def test_the_angle_in_space_does_not_care_for_order_or_length(a, b):
    one = TwoSpaceVectors(Components(exact(a)), Components(exact(b)))
    other = TwoSpaceVectors(Polar(fmpq(2, 3), ByRun(exact(b))), Polar(fmpq(9), ByRun(exact(a))))
    x, y = (
        found("components/space-angle", pair, View("angle"))[0].enclosure for pair in (one, other)
    )
    assert x.lower <= y.upper and y.lower <= x.upper


@pytest.mark.parametrize("power", [5, 40, 150])
def test_axes_hardly_apart_are_not_parallel(power):
    case = ForceAndTwoAxes(
        Components((fmpq(0), fmpq(1))),
        ByRun((fmpq(1), fmpq(0))),
        ByRun((fmpq(1), fmpq(1, 10**power))),
    )
    first, _ = found("components/oblique", case, FIRST, SECOND)
    assert same(first.enclosure, fmpq(-(10**power)))


def test_decimal_degrees_are_proven_parallel():
    case = ForceAndTwoAxes(
        Polar(fmpq(9), ByAngle(Turn(fmpq(1234, 36000)))),
        ByAngle(Turn(fmpq(777, 36000))),
        ByAngle(Turn(fmpq(1, 4) - fmpq(777, 36000)), "-y", "-x"),
    )
    assert [x.reason for x in found("components/oblique", case, FIRST)] == ["no solution"]
