"""Ties: an answer that lies exactly on the limit is proven to be there, or not claimed."""

from __future__ import annotations

from fractions import Fraction

import attrs
import pytest
from flint import fmpq

from refsolver.arithmetic.detached import Enclosure
from refsolver.arithmetic.exact import Turn
from refsolver.calculators.file import OutputLine
from refsolver.checking.equality import proven_equal, simple_rational
from refsolver.quantities.dimensions import ANGLE, FORCE
from refsolver.quantities.leaves import ByAngle, Components, Polar
from refsolver.quantities.units import UnitSystem, read_unit
from refsolver.quantities.views import View, checked
from refsolver.statics.chapters.concurrent_forces import PlaneForce, PlaneForces
from refsolver.statics.registry import family

OWNER = family("concurrent-forces/plane-resultant")
SYSTEM = UnitSystem.of([read_unit("lbf")])
LINE = OutputLine(
    checked(View("resultant", "magnitude"), OWNER.answers["resultant"].kind),
    FORCE, read_unit("lbf"), "r", "R", None,
)  # fmt: skip
TURNED = attrs.evolve(
    LINE,
    view=checked(
        View("resultant", "angle", start="+y", toward="+x"), OWNER.answers["resultant"].kind
    ),
    dimension=ANGLE,
    unit=read_unit("deg"),
)


def q(text):
    return fmpq(Fraction(text).numerator, Fraction(text).denominator)


def polar(size, degrees):
    return PlaneForce(Polar(q(size), ByAngle(Turn(q(degrees) / 360))))


RIGHT = PlaneForces((PlaneForce(Components((q("30.03"), q("40.04")))),))
PARALLEL = PlaneForces((polar("12.5", "63.435"), polar("7.1", "63.435")))


@pytest.mark.parametrize(
    ("value", "equal"), [("50.05", True), ("50.0500000000000000000001", False), ("-50.05", False)]
)
def test_a_magnitude_that_is_rational_is_proven(value, equal):
    assert proven_equal(OWNER, RIGHT, SYSTEM, LINE, q(value)) is equal


def test_a_unit_of_the_line_other_than_the_case_s_is_converted():
    line = attrs.evolve(LINE, unit=read_unit("kip"))
    assert proven_equal(OWNER, RIGHT, SYSTEM, line, q("0.05005"))


@pytest.mark.parametrize(
    ("value", "equal"),
    [
        ("26.565", True),  # from the vertical, of 63.435 degrees from the right
        ("26.5650000000000000001", False),
        ("206.565", False),  # the same line, the other way
        ("386.565", True),  # a whole turn on
    ],
)
def test_a_plane_angle_is_proven_by_cross_and_dot_products(value, equal):
    assert proven_equal(OWNER, PARALLEL, SYSTEM, TURNED, q(value)) is equal


def test_an_irrational_magnitude_is_not_claimed():
    forces = PlaneForces((polar("1", "0"), polar("1", "90")))
    near = q("1.41421356237309504880168872420969807856967187537694")
    assert not proven_equal(OWNER, forces, SYSTEM, LINE, near)


def test_a_direction_that_does_not_exist_equals_nothing():
    forces = PlaneForces((polar("5", "0"), polar("5", "180")))
    assert not proven_equal(OWNER, forces, SYSTEM, TURNED, q("0"))


def test_the_simple_rational_of_a_narrow_enclosure():
    width = fmpq(1, 10**40)
    assert simple_rational(Enclosure(q("0.125") - width, q("0.125") + width)) == q("0.125")
    third = fmpq(1, 3)
    assert simple_rational(Enclosure(third - width, third + width)) == third
    root = q("1.4142135623730950488016887242096980785696718753769")
    assert simple_rational(Enclosure(root - width, root + width)) is None
    assert simple_rational(Enclosure(q("0.1"), q("0.2"))) is None
