"""A change of unit leaves the quantity as it is, and every mistake of units shows."""

import random

import pytest
from flint import fmpq
from hypothesis import given as drawn
from hypothesis import settings
from hypothesis import strategies as st

from refsolver.arithmetic.double import DoubleArithmetic
from refsolver.quantities.conversion import in_unit
from refsolver.quantities.unit_table import UNITS
from refsolver.quantities.units import UnitSystem, read_unit
from refsolver.quantities.views import View
from refsolver.statics.prover import prove
from refsolver.statics.registry import families

CONVERSIONS = [f for name, f in families().items() if name.startswith("unit-conversion/")]


@pytest.mark.parametrize("family", CONVERSIONS, ids=lambda f: f.name)
def test_the_answer_is_the_quantity_stated(family):
    given = family.propose((1.0, 1e6), random.Random(7))
    reference = prove(family, given, [View("quantity")])
    assert reference.residuals == "close"


@pytest.mark.parametrize("family", CONVERSIONS, ids=lambda f: f.name)
def test_a_quantity_of_zero_stays_zero(family):
    given = family.givens(fmpq(0))
    solution = family.solve(given, DoubleArithmetic(), family.rule_set())
    assert solution.answers["quantity"] == 0


@pytest.mark.parametrize("family", CONVERSIONS, ids=lambda f: f.name)
def test_every_mistake_changes_the_answer(family):
    ar = DoubleArithmetic()
    given = family.givens(fmpq(7, 2))
    answers = family.solve(given, ar, family.rule_set()).answers
    for mistake in family.mistakes:
        assert mistake.answers(given, answers, ar)["quantity"] != answers["quantity"], mistake.name


COMPOUND = {
    "area": ("m^2", "mm^2", "in^2", "ft^2", "yd^2"),
    "volume": ("m^3", "in^3", "ft^3", "L", "gal-UK"),
    "second-moment": ("m^4", "mm^4", "in^4", "ft^4"),
    "moment": ("N m", "kN m", "lbf ft", "kip in", "J"),
    "speed": ("m/s", "km/h", "ft/s", "mi/h", "knot"),
    "acceleration": ("m/s^2", "ft/s^2", "g_n"),
}


def units_of(family):
    own = [name for name, unit in UNITS.items() if unit.dimension == family.dimension]
    return sorted({*own, *COMPOUND.get(family.name.partition("/")[2], ())})


def converted(family, value, stated, asked):
    """From one unit to another as a case goes: coherent units, proof, unit asked for."""
    system = UnitSystem.of([stated])
    given = family.givens(system.bring(value, stated))
    (outcome,) = prove(family, given, [View("quantity")]).outcomes.values()
    return in_unit(outcome.enclosure, system, asked, family.dimension)


@pytest.mark.parametrize("family", CONVERSIONS, ids=lambda f: f.name)
@settings(max_examples=25, deadline=None)
@drawn(st.data())
def test_there_and_back_is_where_it_started(family, data):
    pick = st.sampled_from(units_of(family)).map(read_unit)
    first, second = data.draw(pick), data.draw(pick)
    value = data.draw(st.fractions(-1000, 1000, max_denominator=1000))
    value = fmpq(value.numerator, value.denominator)
    there = converted(family, value, first, second).middle
    back = converted(family, there, second, first)
    width = fmpq(1, 10**25) * (abs(value) + 1)
    assert abs(back.middle - value) <= width
    doubled = converted(family, 2 * value, first, second).middle
    assert abs(doubled - 2 * there) <= fmpq(1, 10**25) * (abs(there) + 1)
