"""Ties: an answer that lies exactly on the limit is proven to be there, or not claimed."""

from __future__ import annotations

from fractions import Fraction

import attrs
import pytest
from flint import fmpq

from refsolver.arithmetic.detached import Enclosure
from refsolver.arithmetic.exact import Turn
from refsolver.calculators.lines import OutputLine
from refsolver.checking.equality import (
    SolvedByAlgebra,
    equality,
    proven_equal,
    simple_rational,
)
from refsolver.quantities.dimensions import ANGLE, FORCE
from refsolver.quantities.kinds import LineKind
from refsolver.quantities.leaves import ByAngle, Components, Polar
from refsolver.quantities.units import UnitSystem, read_unit
from refsolver.quantities.views import RANGES, View, checked
from refsolver.statics.forces.concurrent import PlaneForce, PlaneForces, SpaceForce, SpaceForces
from refsolver.statics.forces.systems import PlaneForceAt, PlaneSystem
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


def from_right(span):
    view = View("resultant", "angle", start="+x", toward="+y", range=span)
    return attrs.evolve(TURNED, view=checked(view, OWNER.answers["resultant"].kind))


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
    assert proven_equal(SolvedByAlgebra(OWNER, RIGHT), SYSTEM, LINE, q(value)) is equal


def test_a_unit_of_the_line_other_than_the_case_s_is_converted():
    line = attrs.evolve(LINE, unit=read_unit("kip"))
    assert proven_equal(SolvedByAlgebra(OWNER, RIGHT), SYSTEM, line, q("0.05005"))


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
    assert proven_equal(SolvedByAlgebra(OWNER, PARALLEL), SYSTEM, TURNED, q(value)) is equal


@pytest.mark.parametrize("degrees", ["0", "45", "72", "90", "135", "180", "270", "-30"])
def test_a_plane_angle_is_proven_all_round(degrees):
    """Measured from the vertical toward the right, so that 90 degrees stands for none."""
    forces = PlaneForces((polar("12.5", degrees), polar("7.1", degrees)))
    right = 90 - q(degrees)
    assert proven_equal(SolvedByAlgebra(OWNER, forces), SYSTEM, TURNED, right)
    assert not proven_equal(SolvedByAlgebra(OWNER, forces), SYSTEM, TURNED, right + 180)
    assert not proven_equal(SolvedByAlgebra(OWNER, forces), SYSTEM, TURNED, -right + 1)


def test_an_angle_in_space_is_not_claimed():
    owner = family("concurrent-forces/space-resultant")
    kind = owner.answers["resultant"].kind
    straight = SpaceForces((SpaceForce(Components((q("1"), q("1"), q("0")))),))
    for view in (
        View("resultant", "elevation", along="+z"),
        View("resultant", "azimuth", start="+x", toward="+y"),
    ):
        line = attrs.evolve(TURNED, view=checked(view, kind))
        assert not proven_equal(SolvedByAlgebra(owner, straight), SYSTEM, line, q("45"))
        assert not proven_equal(SolvedByAlgebra(owner, straight), SYSTEM, line, q("0"))


def test_an_irrational_magnitude_is_not_claimed():
    forces = PlaneForces((polar("1", "0"), polar("1", "90")))
    near = q("1.41421356237309504880168872420969807856967187537694")
    assert not proven_equal(SolvedByAlgebra(OWNER, forces), SYSTEM, LINE, near)


@pytest.mark.parametrize("span", RANGES)
def test_a_direction_that_does_not_exist_equals_nothing(span):
    forces = PlaneForces((polar("5", "0"), polar("5", "180")))
    assert not proven_equal(SolvedByAlgebra(OWNER, forces), SYSTEM, from_right(span), q("0"))


@pytest.mark.parametrize(
    ("span", "degrees", "right", "wrong"),
    [
        ("0..180", "-26.565", ("153.435", "-26.565"), ("26.565",)),  # it repeats
        ("0..180", "153.435", ("153.435",), ("26.565", "153.4350001")),
        ("-90..90", "153.435", ("-26.565",), ("153.435", "26.565")),
        ("-90..90", "-90", ("90",), ("-90",)),
        ("-90..90", "90", ("90",), ("-90", "89")),
        ("0..90", "153.435", ("26.565",), ("153.435", "-26.565", "26.5650001")),
        ("0..90", "-26.565", ("26.565",), ("-26.565", "63.435")),
        ("0..90", "206.565", ("26.565",), ("206.565",)),
        ("0..90", "-90", ("90",), ("-90", "0")),
        ("0..90", "180", ("0",), ("180", "90")),
        ("0..360", "-26.565", ("333.435",), ("26.565", "153.435")),
    ],
)
def test_an_angle_is_proven_within_its_range(span, degrees, right, wrong):
    """The range of an undirected line folds the angle, or makes it acute."""
    given, line = PlaneForces((polar("12.5", degrees),)), from_right(span)
    for value in right:
        assert proven_equal(SolvedByAlgebra(OWNER, given), SYSTEM, line, q(value)), value
    for value in wrong:
        assert not proven_equal(SolvedByAlgebra(OWNER, given), SYSTEM, line, q(value)), value


def test_radians_that_are_no_part_of_a_turn_are_not_claimed():
    line = attrs.evolve(TURNED, unit=read_unit("rad"))
    assert not proven_equal(SolvedByAlgebra(OWNER, PARALLEL), SYSTEM, line, q("0.46"))
    upward = PlaneForces((polar("1", "90"),))
    assert proven_equal(SolvedByAlgebra(OWNER, upward), SYSTEM, line, q("0"))


def test_the_angle_of_a_line_of_action_is_not_claimed():
    """What a line cuts off on the axes is no component of its direction."""
    owner = family("force-systems/single-force")
    up = Components((q("0"), q("1")))
    given = PlaneSystem(
        (PlaneForceAt(up, (q("0"), q("0"))), PlaneForceAt(polar("3", "30").force, (q("1"), q("2"))))
    )
    kind = owner.answers["line"].kind
    assert isinstance(kind, LineKind)
    for degrees in ("30", "45", "60", "120"):
        view = checked(View("line", "angle"), kind)
        found = equality(
            SolvedByAlgebra(owner, given), SYSTEM, view, ANGLE, read_unit("deg"), q(degrees)
        )
        assert found is None


def test_a_simple_rational_may_lie_at_an_end_of_its_enclosure():
    third, width = fmpq(1, 3), fmpq(1, 10**40)
    assert simple_rational(Enclosure(third, third + width)) == third
    assert simple_rational(Enclosure(third - width, third)) == third
    assert simple_rational(Enclosure(third, third)) == third
    assert simple_rational(Enclosure(third + width, third + 2 * width)) is None


def test_a_simple_rational_is_claimed_only_where_there_is_room_for_one():
    """Two fractions with denominators up to 10^12 differ by 10^-24 or more."""
    third = fmpq(1, 3)
    for width, claimed in ((fmpq(9, 10**25), True), (fmpq(1, 10**24), False)):
        found = simple_rational(Enclosure(third - width / 2, third + width / 2))
        assert (found == third) is claimed


def test_the_simple_rational_of_a_narrow_enclosure():
    width = fmpq(1, 10**40)
    assert simple_rational(Enclosure(q("0.125") - width, q("0.125") + width)) == q("0.125")
    third = fmpq(1, 3)
    assert simple_rational(Enclosure(third - width, third + width)) == third
    root = q("1.4142135623730950488016887242096980785696718753769")
    assert simple_rational(Enclosure(root - width, root + width)) is None
    assert simple_rational(Enclosure(q("0.1"), q("0.2"))) is None
