"""Exact leaves: what is folded, what is kept as an expression, what is refused."""

from __future__ import annotations

import pickle
from fractions import Fraction

import pytest
from flint import fmpq

from refsolver.arithmetic.exact import (
    Constant,
    negated,
    product,
    quotient,
    rational,
    square_root,
    total,
)

ROOT = Constant("sqrt", (fmpq(2),))
ZERO, ONE, TWO = fmpq(0), fmpq(1), fmpq(2)


def test_rationals_are_folded_and_nothing_else():
    assert total(fmpq(1, 2), fmpq(1, 3)) == fmpq(5, 6)
    assert total(ZERO, ROOT) is ROOT and total(ROOT, ZERO) is ROOT
    assert total(ONE, ROOT) == Constant("sum", (ONE, ROOT))
    assert total(ROOT, ONE) == Constant("sum", (ROOT, ONE))
    assert total(ROOT, ROOT) == Constant("sum", (ROOT, ROOT))
    assert product(fmpq(2, 3), fmpq(3, 4)) == fmpq(1, 2)
    assert product(ONE, ROOT) is ROOT and product(ROOT, ONE) is ROOT
    assert product(ZERO, ROOT) == ZERO and product(ROOT, ZERO) == ZERO
    assert product(TWO, ROOT) == Constant("product", (TWO, ROOT))
    assert product(ROOT, TWO) == Constant("product", (ROOT, TWO))
    assert quotient(ONE, fmpq(3)) == fmpq(1, 3)
    assert quotient(ROOT, TWO) == Constant("product", (ROOT, fmpq(1, 2)))
    assert quotient(TWO, ROOT) == Constant("quotient", (TWO, ROOT))
    assert negated(fmpq(3, 4)) == fmpq(-3, 4)
    assert negated(ROOT) == Constant("product", (fmpq(-1), ROOT))
    with pytest.raises(ZeroDivisionError):
        quotient(ROOT, ZERO)


def test_roots_are_rational_where_they_can_be():
    assert square_root(fmpq(9, 4)) == fmpq(3, 2) and square_root(ZERO) == ZERO
    assert square_root(TWO) == ROOT
    assert square_root(ROOT) == Constant("sqrt", (ROOT,))
    with pytest.raises(ValueError, match="negative"):
        square_root(fmpq(-1))


def test_floats_never_become_exact():
    assert rational(Fraction(3, 4), 2) == fmpq(3, 8) and rational(6, 4) == fmpq(3, 2)
    for wrong in ((0.5,), (1, 2.0), (True,), ("1",)):
        with pytest.raises(TypeError, match="never floats"):
            rational(*wrong)


def test_exact_numbers_hash_and_pickle():
    assert hash(Constant("sum", (ONE, ROOT))) == hash(Constant("sum", (ONE, ROOT)))
    assert pickle.loads(pickle.dumps(product(TWO, ROOT))) == product(TWO, ROOT)
