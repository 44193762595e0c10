"""The scales that a criterion may be relative to, of givens whose sizes are plain."""

from __future__ import annotations

import pytest
from flint import fmpq

from refsolver.arithmetic.detached import Enclosure
from refsolver.arithmetic.exact import Turn
from refsolver.checking.scales import scale
from refsolver.quantities.leaves import ByAngle, Components, Polar
from refsolver.quantities.units import UnitSystem, read_unit
from refsolver.statics.forces.concurrent import PlaneForce, PlaneForces
from refsolver.statics.forces.systems import PlaneCouple, PlaneForceAt, PlaneSystem
from refsolver.statics.registry import family

SYSTEM = UnitSystem.of([read_unit("lbf"), read_unit("ft")])
LBF, FT, IN = read_unit("lbf"), read_unit("ft"), read_unit("in")


def across(x, y):
    return Components((fmpq(x), fmpq(y)))


def system(*forces, couples=()):
    """Forces (components, place)."""
    return PlaneSystem(
        tuple(PlaneForceAt(across(*f), tuple(fmpq(x) for x in at)) for f, at in forces),
        tuple(PlaneCouple(fmpq(m)) for m in couples),
    )


def near(found, value):
    assert isinstance(found, Enclosure) and found.lower <= value <= found.upper
    assert found.upper - found.lower < fmpq(1, 10**100)


@pytest.mark.parametrize("order", [(0, 1, 2), (2, 1, 0), (1, 2, 0)])
def test_the_largest_force_and_the_sum_whatever_their_order(order):
    three = [PlaneForce(across(3, 4)), PlaneForce(Polar(fmpq(-12), ByAngle(Turn(fmpq(1, 5))))),
             PlaneForce(across(0, 1))]  # fmt: skip
    given = PlaneForces(tuple(three[i] for i in order))
    near(scale("largest force", given, SYSTEM, LBF), 12)
    near(scale("sum of forces", given, SYSTEM, LBF), 18)


def test_a_single_force_is_the_largest():
    given = PlaneForces((PlaneForce(across(-5, 12)),))
    near(scale("largest force", given, SYSTEM, LBF), 13)
    near(scale("largest force", given, SYSTEM, read_unit("kip")), fmpq(13, 1000))


def test_couples_are_no_forces():
    """Without a force the scale is zero, and a criterion relative to it allows nothing."""
    given = system(couples=(40,))
    for name in ("largest force", "sum of forces"):
        near(scale(name, given, SYSTEM, LBF), 0)


@pytest.mark.parametrize(
    ("places", "span"),
    [
        ([(1, 7), (4, 6), (2, 8)], 3),  # 3 across, 2 upward
        ([(-1, -7), (1, 5)], 12),
        ([(3, 4)], 0),  # one point has no extent, however far it lies
    ],
)
def test_the_span_is_the_largest_extent_along_one_axis(places, span):
    given = system(*(((1, 0), at) for at in places))
    near(scale("span", given, SYSTEM, FT), span)
    near(scale("span", given, SYSTEM, IN), 12 * span)


def test_without_points_the_span_is_the_largest_length():
    given = family("particle-equilibrium/running-pulley").givens(
        length=fmpq(30), span=fmpq(24), load=fmpq(900), rise=fmpq(-31)
    )
    near(scale("span", given, SYSTEM, FT), 31)  # the load is no length
    near(scale("largest force", given, SYSTEM, LBF), 900)


def test_without_points_and_lengths_the_span_is_zero():
    near(scale("span", PlaneForces((PlaneForce(across(3, 4)),)), SYSTEM, FT), 0)
