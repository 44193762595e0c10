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
