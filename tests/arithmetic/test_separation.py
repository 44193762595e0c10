"""The separation bound against sympy's minimal polynomials and known small numbers.

Outside checks: sympy (minimal polynomials, an independent algorithm by resultants and
Groebner bases) and FLINT's isolation of polynomial roots.
"""

from __future__ import annotations

from math import prod

import pytest
import sympy
from flint import arb, ctx, fmpq, fmpz_poly
from hypothesis import given
from hypothesis import strategies as st

from refsolver.arithmetic.algebraic import AlgebraicArithmetic, algebraic_decisions
from refsolver.arithmetic.exact import Turn, rational
from refsolver.arithmetic.separation import (
    Bounds,
    Radical,
    _log2_above,
    _power_log2_above,
    _root_above,
    field,
    linear_system,
    square_part,
)

X = sympy.Symbol("x")


def cosine(ar, k, n):
    return ar.cos_sin(Turn(rational(k, n)))[0]


def root(ar, q):
    return ar.sqrt(rational(q) if isinstance(q, int) else q)


def sympy_cosine(k, n):
    return sympy.cos(2 * sympy.pi * sympy.Rational(k, n))


# Each number twice: for the arithmetic, and for sympy.
NUMBERS = {
    "cosine of 1/5 turn": (lambda ar: cosine(ar, 1, 5), sympy_cosine(1, 5)),
    "cosine of 1/7 turn": (lambda ar: cosine(ar, 1, 7), sympy_cosine(1, 7)),
    "cosine of 1/16 turn": (lambda ar: cosine(ar, 1, 16), sympy_cosine(1, 16)),
    "two cosines": (
        lambda ar: 3 * cosine(ar, 1, 5) - cosine(ar, 1, 9) / 2,
        3 * sympy_cosine(1, 5) - sympy_cosine(1, 9) / 2,
    ),
    "roots of 2 and 3": (
        lambda ar: root(ar, 2) + root(ar, 3) * 5,
        sympy.sqrt(2) + 5 * sympy.sqrt(3),
    ),
    "roots that depend": (
        lambda ar: root(ar, 2) + root(ar, 3) - root(ar, 6) / 7,
        sympy.sqrt(2) + sympy.sqrt(3) - sympy.sqrt(6) / 7,
    ),
    "root among cosines": (
        lambda ar: cosine(ar, 1, 5) + root(ar, 5) * 2 + root(ar, 2),
        sympy_cosine(1, 5) + 2 * sympy.sqrt(5) + sympy.sqrt(2),
    ),
    "product": (
        lambda ar: (1 + root(ar, 2)) * (cosine(ar, 1, 5) - 3),
        (1 + sympy.sqrt(2)) * (sympy_cosine(1, 5) - 3),
    ),
    "nested": (lambda ar: root(ar, 3 + root(ar, 2)), sympy.sqrt(3 + sympy.sqrt(2))),
    "twice nested": (
        lambda ar: root(ar, 2 + root(ar, 2 + root(ar, 3))),
        sympy.sqrt(2 + sympy.sqrt(2 + sympy.sqrt(3))),
    ),
    "nested and a fraction": (
        lambda ar: root(ar, (root(ar, 5) - 1) / 6) - fmpq(1, 3),
        sympy.sqrt((sympy.sqrt(5) - 1) / 6) - sympy.Rational(1, 3),
    ),
    "root of a quotient of roots": (
        lambda ar: root(ar, fmpq(8, 27)) + 1,
        sympy.sqrt(sympy.Rational(8, 27)) + 1,
    ),
}
# With the product of what each was divided by.
QUOTIENTS = {
    "one over a sum": (
        lambda ar: 1 / (2 + root(ar, 3)),
        1 / (2 + sympy.sqrt(3)),
        2 + sympy.sqrt(3),
    ),
    "over a cosine": (
        lambda ar: root(ar, 2) / cosine(ar, 1, 5),
        sympy.sqrt(2) / sympy_cosine(1, 5),
        2 * sympy_cosine(1, 5),
    ),
    "root of a quotient": (
        lambda ar: root(ar, 1 / (3 + root(ar, 2))),
        sympy.sqrt(1 / (3 + sympy.sqrt(2))),
        3 + sympy.sqrt(2),
    ),
    "two denominators": (
        lambda ar: 1 / (2 + root(ar, 3)) + 5 / (1 + root(ar, 2)),
        1 / (2 + sympy.sqrt(3)) + 5 / (1 + sympy.sqrt(2)),
        (2 + sympy.sqrt(3)) * (1 + sympy.sqrt(2)),
    ),
    "one of three without denominator": (
        lambda ar: 7 - root(ar, 2) / (2 + root(ar, 3)) - 1 / (4 - root(ar, 5)),
        7 - sympy.sqrt(2) / (2 + sympy.sqrt(3)) - 1 / (4 - sympy.sqrt(5)),
        (2 + sympy.sqrt(3)) * (4 - sympy.sqrt(5)),
    ),
    "quotient of quotients": (
        lambda ar: (root(ar, 2) / (2 + root(ar, 3))) / (1 / (3 - root(ar, 2))),
        sympy.sqrt(2) * (3 - sympy.sqrt(2)) / (2 + sympy.sqrt(3)),
        2 + sympy.sqrt(3),
    ),
}


def squared_denominator(ar):
    once = 1 / (2 + root(ar, 3))
    return once * once + 3 * once


def assert_integer_within(expression, house, degree):
    polynomial = sympy.Poly(sympy.minimal_polynomial(expression, X), X)
    coefficients = [int(c) for c in polynomial.all_coeffs()]
    assert coefficients[0] == 1
    assert degree % polynomial.degree() == 0
    for conjugate, _ in fmpz_poly(coefficients[::-1]).complex_roots():
        assert not abs(conjugate) > house


@pytest.mark.parametrize("name", NUMBERS)
def test_scaled_number_is_an_algebraic_integer_within_its_bounds(name):
    build, expression = NUMBERS[name]
    bounds = build(AlgebraicArithmetic()).bounds
    assert not bounds.below
    scale = sympy.Rational(bounds.den, bounds.num)
    assert_integer_within(expression * scale, bounds.house, bounds.field.degree)


@pytest.mark.parametrize("name", QUOTIENTS)
def test_quotient_times_its_divisors_is_an_algebraic_integer_within_its_bounds(name):
    build, expression, divisors = QUOTIENTS[name]
    bounds = build(AlgebraicArithmetic()).bounds
    house = prod(divisor.house**exponent for divisor, exponent in bounds.below.items())
    scale = sympy.Rational(bounds.den, bounds.num)
    degree = bounds.field.degree
    assert_integer_within(
        sympy.radsimp(sympy.expand(expression * divisors) * scale), bounds.house, degree
    )
    assert_integer_within(sympy.expand(divisors), house, degree)


def test_highest_power_of_a_divisor_is_the_common_one():
    bounds = squared_denominator(AlgebraicArithmetic()).bounds
    assert list(bounds.below.values()) == [2]
    assert bounds.house == 1 + 3 * 4  # 1 + 3 (2 + sqrt 3), the root's bound being 2


@pytest.mark.parametrize("name", NUMBERS | QUOTIENTS)
def test_number_keeps_the_distance_of_its_bound(name):
    build, expression, *_ = (NUMBERS | QUOTIENTS)[name]
    x = build(AlgebraicArithmetic())
    assert abs(x.ball) > arb(2) ** -x.bounds.separation
    polynomial = sympy.Poly(sympy.minimal_polynomial(expression, X), X)
    assert x.bounds.field.degree >= polynomial.degree()


def test_unknowns_are_quotients_of_determinants_within_their_bounds():
    ar = AlgebraicArithmetic()
    two, three = sympy.sqrt(2), sympy.sqrt(3)
    matrix = [[two, 1 + three, 0], [3 - two, three, 2], [1, 5 * two, three]]
    right = [three, 5, 1 - two]
    brought = [
        [root(ar, 2), 1 + root(ar, 3), 0],
        [3 - root(ar, 2), root(ar, 3), 2],
        [1, 5 * root(ar, 2), root(ar, 3)],
    ]
    # Factors of whole equations drop out again.
    factors = [rational(3, 7), rational(40), rational(1, 10**9)]
    brought = [[q * x for x in row] for q, row in zip(factors, brought, strict=True)]
    loads = [3 * root(ar, 3) / 7, 200, (1 - root(ar, 2)) / 10**9]
    unknowns = ar.solve_linear(brought, loads, "system")
    determinant = sympy.expand(sympy.Matrix(matrix).det())
    for j, unknown in enumerate(unknowns):
        bounds = unknown.bounds
        assert (bounds.num, bounds.den, bounds.field.degree) == (1, 1, 4)
        ((divisor, exponent),) = bounds.below.items()
        assert exponent == 1
        replaced = sympy.Matrix(matrix)
        replaced[:, j] = sympy.Matrix(right)
        assert_integer_within(sympy.expand(replaced.det()), bounds.house, 4)
        assert_integer_within(determinant, divisor.house, 4)


FIELDS = [
    (1, (2,), [sympy.sqrt(2)]),
    (1, (2, 3, 6), [sympy.sqrt(2), 3 * sympy.sqrt(3), 5 * sympy.sqrt(6)]),
    (1, (6, 10, 15), [sympy.sqrt(6), 3 * sympy.sqrt(10), 5 * sympy.sqrt(15)]),
    (5, (5,), [sympy_cosine(1, 5), sympy.sqrt(5)]),
    (8, (2, 3), [sympy_cosine(1, 8), sympy.sqrt(2), 3 * sympy.sqrt(3)]),
    (20, (5, 2), [sympy_cosine(1, 20), sympy.sqrt(2), sympy.sqrt(5)]),
    (12, (3, 7), [sympy_cosine(1, 12), sympy.sqrt(3), sympy.sqrt(7)]),
    (28, (7,), [sympy_cosine(1, 28), sympy.sqrt(7)]),
    (7, (7,), [sympy_cosine(1, 7), sympy.sqrt(7)]),
    (13, (13,), [sympy_cosine(1, 13), sympy.sqrt(13)]),
]


@pytest.mark.parametrize(("order", "radicals", "generators"), FIELDS)
def test_degree_of_a_field_is_that_of_a_primitive_element(order, radicals, generators):
    element = sum(2**i * g for i, g in enumerate(generators))
    expected = sympy.degree(sympy.minimal_polynomial(element, X), X)
    assert field(order, frozenset(radicals)).degree == expected


def test_degree_of_one_nested_root_doubles():
    assert field(5, frozenset({Radical()})).degree == 4
    assert field(5, frozenset({Radical(), Radical(), 3})).degree == 16


def test_degree_of_an_order_too_long_to_factor_is_still_a_bound():
    order = (2**61 - 1) * (2**89 - 1)
    assert field(order).degree >= (2**61 - 2) * (2**89 - 2) // 2


@given(st.integers(1, 10**12))
def test_square_part(n):
    m, d = square_part(n)
    assert m * m * d == n
    assert all(exponent == 1 for exponent in sympy.factorint(d).values())


def test_square_part_of_a_number_too_long_to_factor():
    large = (2**89 - 1) * (2**107 - 1)
    for n in (large, large * 360**2, large * large):
        m, d = square_part(n)
        assert m * m * d == n
    assert square_part(large * large) == (large, 1)


@given(st.integers(1, 10**40), st.integers(1, 10**40))
def test_bound_of_a_rational_is_below_it(p, q):
    x = fmpq(p, q)
    t = Bounds.of_rational(x).separation
    assert fmpq(2) ** -t <= x < fmpq(2) ** (2 - t)


@given(st.integers(1, 10**40), st.integers(1, 10**40))
def test_common_factor_of_a_sum_is_drawn_out(p, q):
    ar = AlgebraicArithmetic()
    plain = 3 * cosine(ar, 1, 5) - 7 * root(ar, 2)
    unit = fmpq(p, q)
    scaled = 3 * (cosine(ar, 1, 5) * unit) - 7 * (root(ar, 2) * unit)
    assert scaled.bounds.house == plain.bounds.house


# Numbers that are small, but not zero. The nine roots each, 3·10^-37 apart, are a known example
# in the literature on comparing sums of roots (quoted from memory, made from equal sums of
# powers); those of three and four are the closest with radicands up to 60 and 40, by search.
SUMS_OF_ROOTS = [
    ([10, 11], [5, 18]),
    ([1, 40, 60], [12, 17, 56]),
    ([7, 12, 22, 28], [9, 13, 14, 33]),
    (
        [1000000 + i for i in (1, 25, 31, 84, 87, 134, 158, 182, 198)],
        [1000000 + i for i in (2, 18, 42, 66, 113, 116, 169, 175, 199)],
    ),
    ([1000001, 999999], [1000000, 1000000]),
    ([10**12 + 1, 10**12 - 1], [10**12, 10**12]),
]


def sum_of_roots(ar, radicands):
    return sum((root(ar, n) for n in radicands), fmpq(0))


@pytest.mark.parametrize(("one", "other"), SUMS_OF_ROOTS)
def test_close_sums_of_roots_are_told_apart(one, other):
    def run(ar):
        return ar.sign(sum_of_roots(ar, one) - sum_of_roots(ar, other), "difference")

    with ctx.workprec(2000):
        difference = sum_of_roots(AlgebraicArithmetic(), one) - sum_of_roots(
            AlgebraicArithmetic(), other
        )
        assert abs(difference.ball) > arb(2) ** -difference.bounds.separation
        expected = 1 if difference.ball > 0 else -1
    assert algebraic_decisions(run, 53, 5000) == {"difference": expected}


@pytest.mark.parametrize("k", [1, 5, 20, 60, 200])
def test_powers_of_a_small_unit_are_not_zero(k):
    """(sqrt 2 - 1)^k has norm 1 or -1, so it comes as near to the bound as a number can."""

    def power(ar):
        return prod([root(ar, 2) - 1] * k, start=fmpq(1))

    with ctx.workprec(60 + 4 * k):
        x = power(AlgebraicArithmetic())
        assert x.ball > arb(2) ** -x.bounds.separation
    assert algebraic_decisions(lambda ar: ar.sign(power(ar), "power"), 53, 5000) == {"power": 1}


def convergent(x: arb, digits: int) -> fmpq:
    """A best approximation p/q of x with q near 10^digits, by its continued fraction."""
    p, q, last_p, last_q = 1, 0, 0, 1
    while q < 10**digits:
        whole = int(x.floor().unique_fmpz())
        p, q, last_p, last_q = whole * p + last_p, whole * q + last_q, p, q
        x = 1 / (x - whole)
    return fmpq(p, q)


@pytest.mark.parametrize("digits", [3, 10, 40, 75])
@pytest.mark.parametrize("order", [5, 7, 16, 360])
def test_best_rational_approximations_are_not_taken_for_the_number(order, digits):
    with ctx.workprec(900):
        near = convergent(cosine(AlgebraicArithmetic(), 1, order).ball, digits)
        x = cosine(AlgebraicArithmetic(), 1, order) - near
        assert abs(x.ball) < arb(10) ** (1 - 2 * digits)
        assert abs(x.ball) > arb(2) ** -x.bounds.separation
        expected = {"x": 1 if x.ball > 0 else -1}
    assert algebraic_decisions(lambda ar: ar.sign(cosine(ar, 1, order) - near, "x"), 53, 20000) == (
        expected
    )


def test_determinant_bound_of_rationals_holds_the_true_determinant():
    """Hadamard's own example of equality (orthogonal rows of +1 and -1) and a sparse one."""
    hadamard = [[1, 1, 1, 1], [1, -1, 1, -1], [1, 1, -1, -1], [1, -1, -1, 1]]
    entries = [[Bounds.of_rational(fmpq(x)) for x in row] for row in hadamard]
    bounds, unknowns = linear_system(entries, entries[0])
    assert bounds.house == 16
    assert all(x.house <= 16 for x in unknowns)
    sparse = [[Bounds.of_rational(fmpq(1000)), None], [None, Bounds.of_rational(fmpq(1, 1000))]]
    bounds, unknowns = linear_system(sparse, [None, None])
    assert (bounds.num, bounds.den, bounds.house, unknowns) == (1000, 1000, 1, [])


# --- rounding of bounds: never below


@pytest.mark.parametrize(
    "n", [1, 2, 3, 7, 2**64, 2**64 + 1, 2**200, 2**200 + 1, 2**200 - 1, 10**80]
)
@pytest.mark.parametrize("exponent", [1, 2, 15, 16, 17, 1000])
def test_the_bits_of_a_power_are_never_too_few_and_hardly_too_many(n, exponent):
    bits = _power_log2_above(n, exponent)
    assert 2**bits >= n**exponent
    assert 2 ** (bits - 2 - exponent // 8) < n**exponent


@given(st.integers(1, 10**30), st.integers(1, 10**30))
def test_the_bits_of_a_quotient_are_never_too_few(numerator, denominator):
    bits = _log2_above(numerator, denominator)
    assert fmpq(2) ** bits >= fmpq(numerator, denominator)
    assert fmpq(2) ** (bits - 2) < fmpq(numerator, denominator)


@given(st.integers(1, 10**30))
def test_the_root_above_is_the_least_integer_not_below(n):
    assert (_root_above(n) - 1) ** 2 < n <= _root_above(n) ** 2


def test_a_radicand_too_large_to_factor_counts_as_a_root_of_its_own():
    """The degree may be too high by a factor of two, never too low."""
    large = 10**120 + 1
    assert field(840, frozenset({large})).degree == 2 * field(840).degree
    # 7 is 3 modulo 4: its root lies in the field where 7 and 4 divide the order
    assert field(28, frozenset({7})).degree == field(28).degree
    assert field(7, frozenset({7})).degree == 2 * field(7).degree
    assert field(5, frozenset({5})).degree == field(5).degree
