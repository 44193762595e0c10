"""Exact rank, null space and solution against sympy; full rank of balls."""

from __future__ import annotations

import pytest
import sympy
from flint import arb, ctx, fmpq
from hypothesis import given
from hypothesis import strategies as st

from refsolver.arithmetic.contract import Singular
from refsolver.arithmetic.linear import exact_rank, null_space, proven_full_rank, solve_exact


@pytest.fixture(autouse=True, scope="module")
def precision():
    with ctx.workprec(128):
        yield


small = st.builds(fmpq, st.integers(-4, 4), st.integers(1, 3))


@st.composite
def matrices(draw, square=False):
    """Products of thin factors, so that deficits of rank are common."""
    rows = draw(st.integers(1, 5))
    columns = rows if square else draw(st.integers(1, 5))
    inner = draw(st.integers(1, 5))
    left = [[draw(small) for _ in range(inner)] for _ in range(rows)]
    right = [[draw(small) for _ in range(columns)] for _ in range(inner)]
    return product(left, right)


def transposed(matrix):
    return [list(column) for column in zip(*matrix, strict=True)]


def product(a, b):
    def dot(row, column):
        return sum((x * y for x, y in zip(row, column, strict=True)), fmpq(0))

    return [[dot(row, column) for column in transposed(b)] for row in a]


def in_sympy(matrix):
    return sympy.Matrix([[sympy.Rational(int(x.p), int(x.q)) for x in row] for row in matrix])


@given(matrices())
def test_rank_and_null_space_against_sympy(matrix):
    reference = in_sympy(matrix)
    assert exact_rank(matrix) == reference.rank()
    basis = null_space(matrix)
    assert len(basis) == len(matrix[0]) - exact_rank(matrix)
    expected = [[fmpq(int(x.p), int(x.q)) for x in vector] for vector in reference.nullspace()]
    assert basis == expected


@given(matrices())
def test_null_vectors_are_annihilated_and_independent(matrix):
    basis = null_space(matrix)
    for vector in basis:
        assert all(x == 0 for (x,) in product(matrix, [[v] for v in vector]))
    assert exact_rank(basis) == len(basis)


@given(matrices(square=True), st.data())
def test_exact_solution_against_substitution(matrix, data):
    right = [data.draw(small) for _ in matrix]
    if exact_rank(matrix) < len(matrix):
        with pytest.raises(Singular, match="the frame"):
            solve_exact(matrix, right, "the frame")
        return
    solution = solve_exact(matrix, right, "the frame")
    assert [x for (x,) in product(matrix, [[v] for v in solution])] == right


@given(matrices())
def test_full_rank_of_exact_balls_is_the_exact_rank(matrix):
    balls = [[arb(x) for x in row] for row in matrix]
    full = exact_rank(matrix) == min(len(matrix), len(matrix[0]))
    assert proven_full_rank(balls) == full


@pytest.mark.parametrize("distance", ["1e-5", "1e-20", "1e-30"])
def test_a_nearly_dependent_matrix_is_proven_regular(distance):
    assert proven_full_rank([[arb(1), arb(1)], [arb(1), 1 + arb(distance)]])


def test_a_matrix_of_wide_balls_is_not_proven():
    wide = [[arb(1), arb(1)], [arb(1), arb(1, fmpq(1, 1000))]]
    assert not proven_full_rank(wide)
    assert not proven_full_rank([[*row, arb(0)] for row in wide])


def test_balls_at_the_edge_of_singularity():
    """[[1, 1], [1, 1 + d]] with d in [e, 3e] is regular, with d in [-e, e] it may not be."""
    e = fmpq(1, 10**6)
    assert proven_full_rank([[arb(1), arb(1)], [arb(1), arb(1 + 2 * e, e)]])
    assert not proven_full_rank([[arb(1), arb(1)], [arb(1), arb(1, e)]])


def test_tall_and_wide_matrices_of_roots():
    r = [arb(n).sqrt() for n in (2, 3, 5, 6, 7, 10)]
    tall = [[r[0], r[1]], [r[2], r[3]], [r[4], r[5]]]
    wide = transposed(tall)
    assert proven_full_rank(tall) and proven_full_rank(wide)
    dependent = [[r[0], r[0] * r[1]], [r[2], r[2] * r[1]], [r[4], r[4] * r[1]]]
    assert not proven_full_rank(dependent)


def test_not_a_number_proves_nothing():
    assert not proven_full_rank([[arb.nan(), arb(1)], [arb(1), arb(2)]])


def test_empty_matrices():
    assert exact_rank([]) == 0 and solve_exact([], [], "nothing") == []
    assert proven_full_rank([]) and null_space([[], []]) == []
    with pytest.raises(ValueError, match="without rows"):
        null_space([])


@pytest.mark.parametrize("entry", [0.5, True, "1", arb(1)])
def test_only_exact_entries_are_taken(entry):
    for ask in (exact_rank, null_space):
        with pytest.raises(TypeError, match="rationals and integers"):
            ask([[entry]])
    with pytest.raises(TypeError, match="rationals and integers"):
        solve_exact([[1]], [entry], "the frame")


def test_rows_of_unequal_length_are_refused():
    with pytest.raises(ValueError):
        exact_rank([[1, 2], [3]])
    with pytest.raises(ValueError):
        solve_exact([[1, 2]], [1], "the frame")


def test_a_square_with_one_diagonal_less_is_a_mechanism_and_with_both_is_stressed():
    """Force densities in a unit square A(0,0) B(1,0) C(1,1) D(0,1), A and B held.

    Free joints C and D; bars BC, CD, DA, with or without the diagonals AC and BD. Counted
    by hand: 4 equations; 3 bars leave one mechanism (the sway), 5 one self-stress.
    """
    bars = {"BC": (0, 1), "CD": (-1, 0), "DA": (0, -1), "AC": (1, 1), "BD": (-1, 1)}

    def column(bar):
        """Components along C and D of the unit-density force of a bar, from its vector."""
        x, y = bars[bar]
        return {
            "BC": [-x, -y, 0, 0],
            "CD": [x, y, -x, -y],
            "DA": [0, 0, x, y],
            "AC": [-x, -y, 0, 0],
            "BD": [0, 0, -x, -y],
        }[bar]

    def equilibrium(names):
        return transposed([column(name) for name in names])

    three = equilibrium(["BC", "CD", "DA"])
    sways = null_space(transposed(three))
    assert null_space(three) == [] and sways == [[1, 0, 1, 0]]
    (stress,) = null_space(equilibrium(["BC", "CD", "DA", "AC", "BD"]))
    assert stress == [-1, -1, -1, 1, 1]
