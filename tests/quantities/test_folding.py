from __future__ import annotations

import pytest
from flint import fmpq

from refsolver.arithmetic.exact import Constant, Exact, product, quotient, square_root, total
from refsolver.quantities.folding import (
    PI,
    difference,
    negative,
    over,
    pi_multiple,
    power,
    split,
    times,
)

ROOT_2, ROOT_3 = square_root(fmpq(2)), square_root(fmpq(3))


def test_rational_factors_gather_in_front():
    expected = product(fmpq(5, 4), PI)
    assert over(times(fmpq(5), PI), fmpq(4)) == expected
    assert times(PI, fmpq(5, 4)) == expected
    assert times(times(fmpq(1, 4), PI), fmpq(5)) == expected


def test_factors_gather_from_both_sides_of_a_quotient():
    value = over(times(fmpq(3), ROOT_2), times(fmpq(4), ROOT_3))
    assert value == product(fmpq(3, 4), Constant("quotient", (ROOT_2, ROOT_3)))


def test_a_rational_over_a_constant_keeps_one_as_numerator():
    assert over(fmpq(50), ROOT_2) == product(fmpq(50), Constant("quotient", (fmpq(1), ROOT_2)))


def test_zero_and_one_disappear():
    assert times(fmpq(0), ROOT_2) == 0
    assert times(fmpq(1), ROOT_2) == ROOT_2
    assert negative(negative(ROOT_2)) == ROOT_2
    assert difference(ROOT_2, fmpq(0)) == ROOT_2
    assert power(ROOT_2, 1) == ROOT_2
    assert power(ROOT_2, 0) == 1


def test_division_by_the_rational_zero_is_an_error():
    with pytest.raises(ZeroDivisionError):
        over(ROOT_2, fmpq(0))
    with pytest.raises(ZeroDivisionError):
        power(fmpq(0), -1)


def test_split_sees_through_trees_built_without_folding():
    unfolded = Constant("product", (Constant("product", (fmpq(2), ROOT_2)), fmpq(3)))
    assert split(unfolded) == (6, ROOT_2)


@pytest.mark.parametrize(
    ("x", "multiple"),
    [
        (PI, 1),
        (product(PI, fmpq(3)), 3),
        (quotient(PI, fmpq(4)), fmpq(1, 4)),
        (total(quotient(PI, fmpq(2)), quotient(PI, fmpq(3))), fmpq(5, 6)),
        (product(fmpq(2), total(PI, PI)), 4),
        (fmpq(0), 0),
    ],
)
def test_rational_multiples_of_pi_are_recognised(x: Exact, multiple: fmpq):
    assert pi_multiple(x) == multiple


@pytest.mark.parametrize(
    "x", [fmpq(1), ROOT_2, product(ROOT_2, PI), total(PI, fmpq(1)), quotient(fmpq(1), PI)]
)
def test_other_numbers_are_no_multiple_of_pi(x: Exact):
    assert pi_multiple(x) is None
