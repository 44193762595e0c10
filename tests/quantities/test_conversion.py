"""Proven numbers in the unit asked for: factors by hand, pi to a thousand digits."""

from __future__ import annotations

import mpmath
import pytest
from flint import fmpq

from refsolver.arithmetic.detached import Enclosure
from refsolver.arithmetic.exact import Constant, product
from refsolver.quantities.conversion import enclosed, factor_to, in_unit
from refsolver.quantities.dimensions import ANGLE, FORCE, LENGTH, NUMBER
from refsolver.quantities.units import UNITLESS, UnitSystem, read_unit

US = UnitSystem.of([read_unit("kip"), read_unit("ft")])


def exactly(x):
    return Enclosure(fmpq(x), fmpq(x))


@pytest.mark.parametrize(
    ("unit", "dimension", "factor"),
    [
        ("lbf", FORCE, fmpq(1000)),
        ("in", LENGTH, fmpq(12)),
        ("kip in", FORCE * LENGTH, fmpq(12)),
        ("psi", FORCE / LENGTH**2, fmpq(1000, 144)),
        ("m", LENGTH, fmpq(3048, 10000)),  # the foot of 1959
        ("%", NUMBER, fmpq(100)),
        ("deg", ANGLE, fmpq(360)),
        ("gon", ANGLE, fmpq(400)),
        ("turn", ANGLE, fmpq(1)),
    ],
)
def test_from_the_system_of_the_case_to_a_unit(unit, dimension, factor):
    assert factor_to(US, read_unit(unit), dimension) == exactly(factor)
    three = in_unit(Enclosure(fmpq(-3), fmpq(4)), US, read_unit(unit), dimension)
    assert three == Enclosure(-3 * factor, 4 * factor)


def test_without_a_unit_a_number_stays_as_it_is():
    assert factor_to(US, None, FORCE) == factor_to(UNITLESS, None, NUMBER) == exactly(1)


@pytest.mark.parametrize("unit", [None, read_unit("rad"), read_unit("mrad")])
def test_turns_to_radians_take_two_pi(unit):
    found = factor_to(US, unit, ANGLE)
    with mpmath.workdps(1010):
        digits = int(mpmath.floor(2 * mpmath.pi * 10**1000))
    scale = 1000 if unit is not None and unit.name == "mrad" else 1
    low, high = fmpq(digits, 10**1000) * scale, fmpq(digits + 1, 10**1000) * scale
    assert low < found.lower < found.upper < high


def test_an_exact_number_encloses_itself():
    assert enclosed(fmpq(1, 3)) == exactly(fmpq(1, 3))
    coarse = enclosed(product(fmpq(2), Constant("pi")), bits=30)
    assert coarse.lower < fmpq(6283186, 10**6) and coarse.upper > fmpq(6283185, 10**6)
    assert fmpq(1, 10**12) < coarse.upper - coarse.lower < fmpq(1, 10**6)
