from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from refsolver.quantities import dimensions as d
from refsolver.quantities.dimensions import Dimension

powers = st.integers(-4, 4)
some_dimension = st.builds(Dimension, powers, powers, powers, powers)


@given(some_dimension, some_dimension, some_dimension)
def test_products_and_quotients_form_a_commutative_group(a: Dimension, b: Dimension, c: Dimension):
    assert a * b == b * a
    assert (a * b) * c == a * (b * c)
    assert a / b * b == a
    assert a / a == d.NUMBER


@given(some_dimension, st.integers(-3, 3), st.integers(-3, 3))
def test_powers_add(a: Dimension, m: int, n: int):
    assert a**m * a**n == a ** (m + n)


def test_weight_is_mass_times_acceleration():
    assert d.MASS * d.ACCELERATION == d.FORCE
    assert d.DENSITY * d.ACCELERATION == d.SPECIFIC_WEIGHT
    assert d.MASS_PER_LENGTH * d.ACCELERATION == d.LINE_LOAD


def test_bending_stress_is_moment_times_depth_over_second_moment():
    assert d.MOMENT * d.LENGTH / d.SECOND_MOMENT == d.PRESSURE


def test_power_is_torque_times_angular_speed_per_angle():
    assert d.TORSIONAL_STIFFNESS * d.ANGULAR_SPEED == d.POWER


@pytest.mark.parametrize(
    ("dimension", "name"),
    [
        (d.FORCE, "force"),
        (d.MOMENT, "moment or energy"),
        (d.NUMBER, "plain number"),
        (d.FORCE * d.LENGTH**2, "force length^2"),
        (d.LENGTH**-1, "length^-1"),
    ],
)
def test_names_are_trade_words_or_powers(dimension: Dimension, name: str):
    assert dimension.name == name


def test_no_two_named_dimensions_share_a_name():
    named = {value for value in vars(d).values() if isinstance(value, Dimension)}
    assert len({value.name for value in named}) == len(named)
