"""Directions in every form they are stated in, and vector algebra, against numpy."""

from __future__ import annotations

import itertools
import math
import random

import numpy as np
import pytest
from flint import fmpq

from refsolver.arithmetic.double import DoubleArithmetic
from refsolver.arithmetic.exact import Radian, Slope, Turn
from refsolver.quantities.leaves import (
    AXIS,
    ByAngle,
    ByAxisAngles,
    ByAzimuth,
    ByRun,
    Components,
    Polar,
)
from refsolver.statics.bodies.free_body import heading
from refsolver.statics.bodies.independence import Rationals
from refsolver.statics.forces.systems import (
    distance_to_line,
    is_zero_force,
    run_of,
    triangle_moment,
)
from refsolver.statics.vectors import (
    added,
    cross,
    cross_plane,
    dot,
    length,
    magnitude_of,
    minus,
    scaled,
    unit_vector,
    vector,
)

AR = DoubleArithmetic()
PLANE_AXES = [
    (a, b) for a, b in itertools.product(("+x", "-x", "+y", "-y"), repeat=2) if a[1] != b[1]
]


def axis(name, space):
    found = np.zeros(space)
    index, sense = AXIS[name]
    found[index] = sense
    return found


@pytest.mark.parametrize(("start", "toward"), PLANE_AXES)
@pytest.mark.parametrize("degrees", [0, 20, 90, 137, 251, -40])
def test_an_angle_turns_from_one_axis_toward_another(start, toward, degrees):
    angle = math.radians(degrees)
    expected = math.cos(angle) * axis(start, 2) + math.sin(angle) * axis(toward, 2)
    for stated in (Turn(fmpq(degrees, 360)), Radian(fmpq(*angle.as_integer_ratio()))):
        direction = ByAngle(stated, start, toward)
        assert unit_vector(direction, AR) == pytest.approx(expected)
        assert vector(Polar(fmpq(-7, 2), direction), AR) == pytest.approx(-3.5 * expected)


@pytest.mark.parametrize(("start", "toward"), PLANE_AXES)
def test_a_slope_leads_along_the_same_line_without_a_root(start, toward):
    direction = ByAngle(Slope(fmpq(5), fmpq(12)), start, toward)
    rise, run = (direction.angle.rise, direction.angle.run)
    expected = float(run) * axis(start, 2) + float(rise) * axis(toward, 2)
    assert [float(x) for x in heading(direction, Rationals())] == pytest.approx(expected)
    assert unit_vector(direction, AR) == pytest.approx(expected / 13)


@pytest.mark.parametrize("up", ["+z", "-z", "+y", "-x"])
def test_azimuth_and_elevation(up):
    plane = [a for a in ("+x", "-y", "+z") if a[1] != up[1]]
    for start, toward in (plane, plane[::-1]):
        turn, rise = math.radians(65), math.radians(-25)
        direction = ByAzimuth(Turn(fmpq(65, 360)), Turn(fmpq(-25, 360)), start, toward, up)
        level = math.cos(turn) * axis(start, 3) + math.sin(turn) * axis(toward, 3)
        expected = math.cos(rise) * level + math.sin(rise) * axis(up, 3)
        assert unit_vector(direction, AR) == pytest.approx(expected)


def test_angles_from_the_axes():
    """60 and 45 degrees leave 60 or 120: 1/4 + 1/2 + 1/4 = 1; three angles are normalised."""
    sixty, half, other = (Turn(fmpq(n, 360)) for n in (60, 45, 120))
    root = math.sqrt(0.5)
    for sense in (1, -1):
        for place in range(3):
            angles, expected = [sixty, half], [0.5, root]
            angles.insert(place, None)
            expected.insert(place, 0.5 * sense)
            found = unit_vector(ByAxisAngles(tuple(angles), sense), AR)
            assert found == pytest.approx(expected)
    assert unit_vector(ByAxisAngles((sixty, half, other)), AR) == pytest.approx((0.5, root, -0.5))
    near = unit_vector(ByAxisAngles((sixty, sixty, sixty)), AR)
    assert near == pytest.approx([math.sqrt(1 / 3)] * 3)


def test_runs_and_components_are_vectors_as_they_stand():
    assert unit_vector(ByRun((fmpq(-2), fmpq(3), fmpq(6))), AR) == pytest.approx(
        (-2 / 7, 3 / 7, 6 / 7)
    )
    along = Components((fmpq(3), fmpq(-4)))
    assert vector(along, AR) == (3, -4) == run_of(along, AR)
    assert magnitude_of(along, AR) == 5
    backward = Polar(fmpq(-10), ByRun((fmpq(3), fmpq(-4))))
    assert vector(backward, AR) == pytest.approx((-6, 8))
    assert magnitude_of(backward, AR) == 10
    assert run_of(backward, AR) == (3, -4)
    level = Polar(fmpq(-10), ByAngle(Turn(fmpq(0))))
    assert run_of(level, AR) == (1, 0)


def test_a_force_is_zero_by_its_size_or_by_all_of_its_components():
    east = ByRun((fmpq(1), fmpq(0)))
    for force in (Polar(fmpq(0), east), Components((fmpq(0), fmpq(0)))):
        assert is_zero_force(force, "F", DoubleArithmetic())
    for force in (
        Polar(fmpq(-2), east),
        *(Components(x) for x in ((fmpq(0), fmpq(3)), (fmpq(3), fmpq(0)))),
    ):
        assert not is_zero_force(force, "F", DoubleArithmetic())


@pytest.mark.parametrize("seed", range(5))
def test_algebra_is_that_of_numpy(seed):
    rng = random.Random(seed)
    a, b, c = ([rng.uniform(-9, 9) for _ in range(3)] for _ in range(3))
    assert dot(a, b) == pytest.approx(np.dot(a, b))
    assert cross(a, b) == pytest.approx(np.cross(a, b))
    assert cross_plane(a[:2], b[:2]) == pytest.approx(np.linalg.det([a[:2], b[:2]]))
    assert length(a, AR) == pytest.approx(np.linalg.norm(a))
    assert added(a, b) == pytest.approx(np.add(a, b))
    assert minus(a, b) == pytest.approx(np.subtract(a, b))
    assert scaled(-3.0, a) == pytest.approx(np.multiply(-3, a))
    for n in (2, 3):
        pole, at, force = (np.pad(x[:n], (0, 3 - n)) for x in (a, b, c))
        moment = np.cross(at - pole, force)
        assert triangle_moment(a[:n], b[:n], c[:n]) == pytest.approx(
            moment[-1:] if n == 2 else moment
        )
        apart = np.linalg.norm(np.cross(pole, at)) / np.linalg.norm(at)
        assert distance_to_line(a[:n], b[:n], AR) == pytest.approx(apart)


def test_vectors_of_two_lengths_have_no_sum_and_no_product():
    for operation in (dot, added, minus):
        with pytest.raises(ValueError, match="of 2 and 3 components"):
            operation((1.0, 2.0), (1.0, 2.0, 3.0))
