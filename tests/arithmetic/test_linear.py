"""Exact square systems against sympy and by putting the solution in."""

from __future__ import annotations

import pytest
import sympy
from flint import arb, fmpq
from hypothesis import given
from hypothesis import strategies as st

from refsolver.arithmetic.contract import Singular
from refsolver.arithmetic.linear import solve_exact

small = st.builds(fmpq, st.integers(-4, 4), st.integers(1, 3))


def dot(row, column):
    return sum((x * y for x, y in zip(row, column, strict=True)), fmpq(0))


@st.composite
def squares(draw):
    """Products of thin factors, so that deficits of rank are common."""
    size, inner = draw(st.integers(1, 5)), draw(st.integers(1, 5))
    left = [[draw(small) for _ in range(inner)] for _ in range(size)]
    right = [[draw(small) for _ in range(inner)] for _ in range(size)]
    return [[dot(row, column) for column in right] for row in left]


@given(squares(), st.data())
def test_a_solution_satisfies_its_equations_where_there_is_just_one(matrix, data):
    right = [data.draw(small) for _ in matrix]
    rows = [[sympy.Rational(int(x.p), int(x.q)) for x in row] for row in matrix]
    if sympy.Matrix(rows).det() == 0:
        with pytest.raises(Singular, match="the frame"):
            solve_exact(matrix, right, "the frame")
        return
    solution = solve_exact(matrix, right, "the frame")
    assert [dot(row, solution) for row in matrix] == right


def test_integers_are_taken_as_they_are():
    assert solve_exact([[2, 1], [1, fmpq(1, 2) + 1]], [5, fmpq(11, 2)], "it") == [1, 3]
    assert solve_exact([], [], "nothing") == []


@pytest.mark.parametrize("entry", [0.5, True, "1", arb(1)])
def test_only_exact_entries_are_taken(entry):
    with pytest.raises(TypeError, match="rationals and integers"):
        solve_exact([[entry]], [1], "the frame")
    with pytest.raises(TypeError, match="rationals and integers"):
        solve_exact([[1]], [entry], "the frame")


@pytest.mark.parametrize(
    ("matrix", "right"),
    [([[1, 2]], [1]), ([[1], [2]], [1, 2]), ([[1, 2], [3]], [1, 1]), ([[1]], []), ([], [1])],
)
def test_what_is_no_square_is_refused(matrix, right):
    with pytest.raises(ValueError):
        solve_exact(matrix, right, "the frame")
