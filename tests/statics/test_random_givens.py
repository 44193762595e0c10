"""Random givens: decimals as exact as they are printed, within their ranges, spread as said."""

from __future__ import annotations

import decimal
import math
import random
from collections import Counter

import pytest
from flint import fmpq
from hypothesis import given
from hypothesis import strategies as st

from refsolver.quantities.leaves import ByAngle, ByAzimuth, ByRun, Components, Polar
from refsolver.statics import random_givens as made

MANY = range(400)
seeds = st.integers(0, 10**6).map(random.Random)
places_ = st.integers(0, 8)


def number(x):
    return int(x.p) / int(x.q)


def is_decimal(x, places):
    return (x * 10**places).q == 1


@given(st.integers(-(10**9), 10**9), st.integers(1, 10**4), places_)
def test_rounded_is_half_up_as_in_the_decimal_module(p, q, places):
    """At ties between two decimals the upper one; the decimal module says half away from zero."""
    found = made.rounded(fmpq(p, q), places)
    assert is_decimal(found, places) and -1 <= (fmpq(p, q) - found) * 2 * 10**places < 1
    if p > 0 and 10**6 % q == 0:
        exact = decimal.Decimal(p) / decimal.Decimal(q)
        half_up = exact.quantize(decimal.Decimal(10) ** -places, decimal.ROUND_HALF_UP)
        assert found == fmpq(*half_up.as_integer_ratio())


@given(st.floats(-1e6, 1e6), st.integers(0, 6))
def test_decimal_is_the_nearest_one(value, places):
    found = made.decimal(value, places)
    assert is_decimal(found, places)
    assert abs(found - fmpq(*value.as_integer_ratio())) * 2 * 10**places <= 1 + fmpq(1, 10**3)


@given(seeds, st.floats(-50, 50), st.floats(0, 90), places_)
def test_drawn_lies_in_its_range(rng, low, width, places):
    x = made.drawn(rng, low, low + width, places)
    assert is_decimal(x, places)
    assert low - 10.0**-places <= number(x) <= low + width + 10.0**-places


def test_what_is_drawn_unless_said_otherwise():
    """One decimal; points by two, within 10 either way, and over all of it."""
    rng = random.Random(1)
    assert {made.drawn(rng, 0, 1) for _ in MANY} == {fmpq(n, 10) for n in range(11)}
    for space in (2, 3):
        points = [made.drawn_point(rng, space) for _ in MANY]
        every = [x for point in points for x in point]
        assert {len(point) for point in points} == {space}
        assert all(is_decimal(x, 2) for x in every) and not all(is_decimal(x, 1) for x in every)
        assert -10 <= min(every) < -9 and 9 < max(every) <= 10
    near = [x for _ in MANY for x in made.drawn_point(rng, 2, 3.0)]
    assert -3 <= min(near) < fmpq(-27, 10) and fmpq(27, 10) < max(near) <= 3


def turns(vectors, take):
    """The least and the greatest angle, in degrees."""
    degrees = [take(v.direction).turns * 360 for v in vectors]
    assert all(is_decimal(x, 1) for x in degrees)
    return min(degrees), max(degrees)


@pytest.mark.parametrize("space", [2, 3])
def test_vectors_are_stated_in_every_way(space):
    rng = random.Random(space)
    vectors = [made.drawn_vector(rng, space) for _ in range(1200)]
    forms = Counter(type(v) if isinstance(v, Components) else type(v.direction) for v in vectors)
    angled = ByAngle if space == 2 else ByAzimuth
    assert set(forms) == {Components, ByRun, angled} and min(forms.values()) > 300
    polar = [v for v in vectors if isinstance(v, Polar)]
    sizes = [v.magnitude for v in polar]
    assert 10 <= min(sizes) < 40 and 960 < max(sizes) <= 990
    assert all(is_decimal(x, 1) for x in sizes)
    parts = [x for v in vectors if isinstance(v, Components) for x in v.along]
    assert -990 <= min(parts) < -950 and 950 < max(parts) <= 990
    assert {len(v.along) for v in vectors if isinstance(v, Components)} == {space}
    runs = [v.direction.run for v in polar if isinstance(v.direction, ByRun)]
    assert {len(run) for run in runs} == {space}
    assert {run[-1] for run in runs} == {n for n in range(-12, 13) if n}
    assert {x for run in runs for x in run[:-1]} == set(range(-12, 13))
    turned = [v for v in polar if isinstance(v.direction, angled)]
    low, high = turns(turned, lambda d: d.angle if space == 2 else d.azimuth)
    assert 0 <= low < 5 and 355 < high <= 360
    if space == 3:
        low, high = turns(turned, lambda d: d.elevation)
        assert -90 <= low < -85 and 85 < high <= 90


def test_vectors_and_forces_of_other_sizes():
    rng = random.Random(5)
    sizes = [
        v.magnitude
        for v in (made.drawn_vector(rng, 2, 3.0, 4.0) for _ in MANY)
        if isinstance(v, Polar)
    ]
    assert {number(x) for x in sizes} == {n / 10 for n in range(30, 41)}
    pairs = made.drawn_forces(lambda force, at: (force, at), 3, 7, rng)
    assert len(pairs) == 7
    assert all(isinstance(f, Polar | Components) and len(at) == 3 for f, at in pairs)


@given(seeds, st.floats(1, 1e12), st.floats(1, 1e6))
def test_log_uniform_lies_between_its_ends(rng, low, ratio):
    x = made.log_uniform(rng, (low, low * ratio))
    assert low * (1 - 1e-12) <= x <= low * ratio * (1 + 1e-12)


def test_every_decade_is_as_likely_as_the_next():
    rng = random.Random(2)
    drawn = [made.log_uniform(rng, (1.0, 1e4)) for _ in range(4000)]
    shares = [made.small((1.0, 1e4), rng) for _ in range(4000)]
    for decades in (drawn, [1 / abs(x) for x in shares]):
        counts = Counter(math.floor(math.log10(x)) for x in decades)
        assert set(counts) == set(range(4)) and max(counts.values()) < 1.2 * min(counts.values())
    assert 0.45 < sum(x > 0 for x in shares) / len(shares) < 0.55


@pytest.mark.parametrize(
    ("kappa", "needed"), [(0.2, 0), (1, 0), (1.5, 1), (10, 1), (11, 2), (1e3, 3), (1e10, 10)]
)
def test_decimals_that_tell_a_cancellation(kappa, needed):
    """The least number of places with 10^-places not above 1/kappa, and two or three more."""
    assert needed == next(n for n in range(99) if 10.0**n >= kappa)
    assert made.figures_for(kappa) == needed + 2
    assert made.places_for((0.1, kappa)) == needed + 3


@given(seeds, st.floats(1, 1e9), st.floats(0.01, 3))
def test_a_gap_is_the_cost_over_the_condition_number(rng, kappa, cost):
    assert made.gap_for(rng, (kappa, kappa), cost) == pytest.approx(min(0.9, cost / kappa))
    assert made.gap_for(rng, (kappa, kappa), cost, 0.3) == pytest.approx(min(0.3, cost / kappa))


@given(seeds, st.floats(1.01, 1e10))
def test_a_share_is_of_about_three_figures_and_never_nothing(rng, spread):
    share = made.share_of(spread, rng)
    assert share > 0 and is_decimal(share, made.figures_for(spread) + 1)
    assert 0.29 <= number(share) * spread <= 1.02


def test_shares_are_spread_over_their_range():
    rng = random.Random(3)
    shares = [number(made.share_of(1e4, rng)) * 1e4 for _ in MANY]
    assert 0.3 <= min(shares) < 0.32 and 0.98 < max(shares) <= 1


@given(st.floats(-720, 720), st.floats(1, 1e6))
def test_a_plane_direction_is_within_one_turn(degrees, most):
    turned = made.plane_direction(degrees, (1.0, most))
    assert (turned.start, turned.toward) == ("+x", "+y")
    assert is_decimal(turned.angle.turns * 360, made.places_for((1.0, most)))
    off = (number(turned.angle.turns) * 360 - degrees) / 360
    assert 0 <= turned.angle.turns <= 1 and abs(off - round(off)) < 1e-3 / most


def test_plane_forces_are_of_10_to_990():
    rng = random.Random(4)
    sizes = [made.plane_force(rng, 30, (1.0, 10.0)).magnitude for _ in MANY]
    assert 10 <= min(sizes) < 30 and 970 < max(sizes) <= 990
    assert all(is_decimal(x, 1) for x in sizes)
    assert not all(is_decimal(x, 0) for x in sizes)
    assert made.plane_force(rng, 30, (1.0, 10.0)).direction == made.plane_direction(30, (1.0, 10.0))
