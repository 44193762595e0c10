"""A leaf as an unknown: the same value, and the same derivative, as by other routes."""

from __future__ import annotations

import pytest
from flint import arb, ctx, fmpq
from hypothesis import given
from hypothesis import strategies as st

from refsolver.arithmetic.contract import Undecided
from refsolver.arithmetic.derivative import DerivativeArithmetic
from refsolver.arithmetic.double import DoubleArithmetic
from refsolver.arithmetic.enclosure import EnclosureArithmetic
from refsolver.arithmetic.exact import Radian, Turn
from refsolver.arithmetic.multiprecision import MultiprecisionArithmetic, exact_value
from refsolver.arithmetic.strict import StrictArithmetic
from refsolver.arithmetic.substituted import Substituted, TangentArithmetic

rationals = st.builds(fmpq, st.integers(1, 400), st.integers(1, 60))


@pytest.fixture(autouse=True, scope="module")
def precision():
    with ctx.workprec(160):
        yield


def everything(ar, x, y, turn):
    """One number through every guarded function; y and x are leaves, turn an angle."""
    a, b, radians = ar.bring(x), ar.bring(y), ar.radians(turn)
    c, s = ar.cos_sin(turn)
    p, q = ar.solve_linear([[a, b], [c - 2, a + 3]], [a * a, s], "a small system")
    whole = ar.sqrt(a * a + b) + ar.atan2(a + s + 2, b, "some direction") + p / (q * q + 1)
    whole = whole + ar.exp(-a / 100) * ar.log(a + 1) - ar.cosh(s) * ar.sinh(c) + ar.asinh(a)
    whole = whole + ar.size(s - 2) + ar.larger(a, a + b, "the larger") + ar.cos(radians) / 7
    root = ar.root(lambda t: t * t * t + t - a, lambda t: 3 * t * t + 1, (fmpq(0), fmpq(500)), "r")
    return 1 - (2 - whole) + ar.sin(radians) + root + 1 / a


@given(rationals, rationals, rationals)
def test_a_substituted_leaf_is_the_leaf(x, y, turns):
    turn = Turn(turns)
    plain = everything(EnclosureArithmetic(), x, y, turn)
    token = fmpq(1)
    ar = EnclosureArithmetic()
    assert plain.overlaps(everything(Substituted(ar, token, ar.bring(x)), token, y, turn))
    token = Turn(fmpq(0))
    assert plain.overlaps(everything(Substituted(ar, token, ar.bring(turns)), x, y, token))
    token = Radian(fmpq(0))
    radians = ar.radians(turn)
    assert plain.overlaps(everything(Substituted(ar, token, radians), x, y, token))


@given(rationals, rationals, rationals)
def test_tangents_are_the_derivatives_of_the_many_seeded_arithmetic(x, y, turns):
    leaf, turn = fmpq(x.p, x.q), Turn(turns)
    seeded = DerivativeArithmetic([leaf, turn])
    by_leaf, by_radian = seeded.derivatives(everything(seeded, leaf, y, turn))
    ar = EnclosureArithmetic()
    token = fmpq(1)
    found = everything(TangentArithmetic(ar, token, ar.bring(leaf)), token, y, turn)
    assert found.rate.overlaps(by_leaf)
    assert found.rate.rad() < arb(2) ** -60 * (1 + abs(found.rate))
    token = Turn(fmpq(0))
    found = everything(TangentArithmetic(ar, token, ar.bring(turns)), leaf, y, token)
    assert found.rate.overlaps(by_radian * 2 * arb.pi())


def test_the_other_arithmetics_carry_tangents_too():
    x, y, turn = fmpq(7, 3), fmpq(5), Turn(fmpq(1, 11))
    token = fmpq(1)
    ar = EnclosureArithmetic()
    proven = everything(TangentArithmetic(ar, token, ar.bring(x)), token, y, turn).rate
    mp = MultiprecisionArithmetic(160)
    second = everything(TangentArithmetic(mp, token, mp.bring(x)), token, y, turn).rate
    assert abs(arb(exact_value(second)) - proven) < arb(2) ** -130
    plain = DoubleArithmetic()
    rate = everything(TangentArithmetic(plain, token, plain.bring(x)), token, y, turn).rate
    assert abs(arb(rate) - proven) < 1e-12
    strict = StrictArithmetic()
    rate = everything(TangentArithmetic(strict, token, strict.bring(x)), token, y, turn).rate
    assert rate.ball.overlaps(proven)


@pytest.mark.parametrize(
    "ar",
    [EnclosureArithmetic(), StrictArithmetic(), DoubleArithmetic(), MultiprecisionArithmetic(99)],
)
def test_decisions_at_trial_values_are_kept_apart(ar):
    one = ar.bring(fmpq(1))
    assert ar.sign(one, "sense") == 1
    assert ar.apart().sign(-one, "sense") == -1
    assert ar.decisions["sense"] == 1


def test_a_size_whose_sense_is_open_is_undecided():
    token = fmpq(1)
    ar = TangentArithmetic(EnclosureArithmetic(), token, arb(0, 1))
    with pytest.raises(Undecided):
        ar.size(ar.bring(token))


def tangents():
    token, balls = fmpq(1), EnclosureArithmetic()
    ar = TangentArithmetic(balls, token, balls.bring(fmpq(2)))
    return ar, ar.bring(token), balls


def test_trial_values_are_kept_apart():
    ar, x, balls = tangents()
    assert ar.sign(x, "sense") == 1
    apart = ar.apart()
    assert apart.sign(-apart.bring(ar._token), "sense") == -1
    assert balls.decisions == {"sense": 1} and ar.takes_rationals


def test_what_does_not_depend_on_the_leaf_has_no_rate():
    ar, x, _ = tangents()
    two, three = ar.bring(fmpq(2)), ar.bring(fmpq(3))
    found = ar.solve_linear([[two, 1], [1, two]], [three, 3], "plain")
    assert [y.value.contains(1) for y in found] == [True, True] and [y.rate for y in found] == [
        0,
        0,
    ]
    moving = ar.solve_linear([[x, 1], [1, x]], [three, 3], "moving")
    for y in moving:  # 3/(x + 1)
        assert y.value.contains(1) and (y.rate + fmpq(1, 3)).contains(0)


def test_of_two_that_are_equal_the_first_is_kept_with_its_rate():
    ar, x, _ = tangents()
    two = ar.bring(fmpq(2))
    assert ar.larger(x, two, "tie") is x and ar.larger(two, x, "other tie") is two
    assert ar.larger(x - 1, two, "below") is two and ar.larger(x * 2, two, "above").rate == 2


def test_a_size_turns_the_rate_where_it_turns_the_value():
    ar, x, balls = tangents()
    assert ar.size(x).rate == 1 and ar.size(-x).rate == 1 and ar.size(x - 5).rate == -1
    zero = ar.size(x - 2)
    assert zero.value == 0 and zero.rate == 1
    assert len(balls.decisions) == 4  # each under a name of its own
