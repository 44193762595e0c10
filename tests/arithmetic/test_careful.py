"""Double precision that knows what rounding can leave: zeros judged by their own scale.

What comes out is compared with plain double precision and with exact fractions.
"""

from __future__ import annotations

import math

import pytest
from flint import arb, fmpq
from hypothesis import given
from hypothesis import strategies as st

from refsolver.arithmetic.careful import CarefulArithmetic, at_double_precision
from refsolver.arithmetic.contract import Singular, Undecided
from refsolver.arithmetic.double import DoubleArithmetic
from refsolver.arithmetic.exact import Slope, Turn, rational


@pytest.fixture
def ar():
    with at_double_precision():
        yield CarefulArithmetic()


POWERS = st.integers(-30, 30)


@given(POWERS, POWERS)
def test_what_rounding_leaves_is_zero_at_any_scale(p, q):
    """0.1 a + 0.2 b - 0.3 b with a = b, times a second quantity of another size."""
    with at_double_precision():
        ar = CarefulArithmetic()
        a, b = ar.bring(fmpq(10) ** p / 3), ar.bring(fmpq(10) ** q / 7)
        tenth, two, three = (ar.bring(fmpq(k, 10)) for k in (1, 2, 3))
        left = (tenth * a + two * a - three * a) * b
        assert ar.sign(left, "rest") == 0
        assert abs(float(left)) <= 1e-13 * float(a * b)


@given(POWERS, POWERS)
def test_what_is_small_beside_other_numbers_is_not_taken_for_zero(p, q):
    """1e-19 m^4 beside a force of 1e5: a product has the sign of its factors, however small."""
    with at_double_precision():
        ar = CarefulArithmetic()
        ar.bring(fmpq(10) ** 30)
        small = ar.bring(fmpq(10) ** p) * ar.bring(-(fmpq(10) ** q)) * ar.bring(fmpq(1, 3))
        assert ar.sign(small, "product") == -1


def test_a_difference_beyond_rounding_keeps_its_sign(ar):
    a, b = ar.bring(fmpq(1)), ar.bring(1 + fmpq(1, 10**12))
    assert ar.sign(a - b, "difference") == -1
    assert ar.sign(a - ar.bring(1 + fmpq(1, 10**15)), "rounding") == 0


@given(st.decimals(-720, 720, places=3))
def test_values_are_those_of_plain_double_precision(degrees):
    angle = Turn(rational(*degrees.as_integer_ratio()) / 360)
    plain = DoubleArithmetic()
    with at_double_precision():
        careful = CarefulArithmetic()
        for got, wanted in zip(careful.cos_sin(angle), plain.cos_sin(angle), strict=True):
            allowed = 1e-14 * max(1, abs(plain.radians(angle)))
            assert float(got) == pytest.approx(wanted, abs=allowed)


def test_the_cosine_of_a_right_angle_is_zero_within_rounding(ar):
    cosine, sine = ar.cos_sin(Turn(fmpq(1, 4)))
    assert ar.sign(cosine, "cosine") == 0 and ar.sign(sine, "sine") == 1
    assert not (sine / cosine).is_finite()
    assert float(ar.atan2(sine, cosine, "up")) == pytest.approx(math.pi / 2)


def test_directions_beside_the_cut_are_known(ar):
    x, y = ar.cos_sin(Turn(fmpq(1, 2)))
    angle = ar.atan2(y, x, "left")
    assert float(angle) == pytest.approx(math.pi) and angle.rad() < 1e-12
    assert float(ar.radians(Slope(fmpq(-1), fmpq(-1)))) == pytest.approx(-3 * math.pi / 4)


def test_a_root_of_what_rounding_left_is_small(ar):
    root = ar.sqrt(ar.bring(fmpq(1, 3)) * 3 - 1)
    assert abs(float(root)) < 1e-7 and ar.sign(root, "root") == 0
    assert ar.sqrt(arb(-4)) == 0  # a mistake may ask for it, and doubles say 0 too
    assert float(ar.sqrt(arb(4))) == 2


def test_overflow_is_infinite_and_not_a_number_is_undecided(ar):
    assert float(ar.exp(arb(10) ** 4)) == math.inf
    with pytest.raises(Undecided, match="not a number"):
        ar.sign(ar.bring(fmpq(1)) / arb(0), "quotient")


SIZES = st.integers(-4, 4)


@given(st.lists(SIZES, min_size=3, max_size=3), st.lists(SIZES, min_size=3, max_size=3))
def test_systems_are_solved_whatever_their_rows_and_columns_are_scaled_by(rows, columns):
    base, wanted = ((2, 1, 0), (1, 3, 1), (0, 1, 4)), (1, -2, 3)
    right = [sum(a * x for a, x in zip(row, wanted, strict=True)) for row in base]
    r, c = [fmpq(10) ** k for k in rows], [fmpq(10) ** k for k in columns]
    with at_double_precision():
        ar = CarefulArithmetic()
        matrix = [[ar.bring(a * r[i] * c[j]) for j, a in enumerate(row)]
                  for i, row in enumerate(base)]  # fmt: skip
        found = ar.solve_linear(matrix, [ar.bring(b * r[i]) for i, b in enumerate(right)], "system")
        for x, w, scale in zip(found, wanted, c, strict=True):
            assert arb(w / scale) in x
            assert float(x) == pytest.approx(float(w / scale), rel=1e-12)


def test_a_system_singular_within_rounding_is_singular(ar):
    third = ar.bring(fmpq(1, 3))
    matrix = [[third, ar.bring(fmpq(2, 3))], [third * 3, ar.bring(fmpq(2))]]
    with pytest.raises(Singular):
        ar.solve_linear(matrix, [third, third], "parallel")
    assert ar.decisions == {"parallel": 0}
    with pytest.raises(Singular):
        ar.solve_linear([[third, arb(0)], [third, arb(0)]], [third, third], "empty column")


def test_roots_come_with_what_is_known_of_them(ar):
    two = ar.bring(fmpq(2))
    root = ar.root(lambda x: x * x - two, lambda x: 2 * x, (fmpq(0), fmpq(2)), "root of two")
    assert float(root) == pytest.approx(math.sqrt(2), rel=1e-15)
    assert arb(math.sqrt(2)) in root and 0 < root.rad() < 1e-12
    both = ar.roots(lambda x: x * x - two, lambda x: 2 * x, (fmpq(-3), fmpq(3)), "both")
    assert [float(x) for x in both] == pytest.approx([-math.sqrt(2), math.sqrt(2)], rel=1e-15)
