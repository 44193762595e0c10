"""Systems with irrational entries, worked by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest
from flint import arb, ctx
from hypothesis import example, given, settings
from hypothesis import strategies as st

from refsolver.arithmetic.algebraic import AlgebraicArithmetic, algebraic_decisions
from refsolver.arithmetic.algebraic_number import Unseparated
from refsolver.arithmetic.algebraic_system import _determinant
from refsolver.arithmetic.contract import NotAlgebraic
from refsolver.arithmetic.exact import Turn, rational


def is_regular(cells, cap=20_000):
    """The decision about a system of entries a + b root 3."""

    def run(ar):
        root = ar.sqrt(rational(3))
        rows = [[rational(a) + b * root for a, b in row] for row in cells]
        ar.solve_linear(rows, [rational(1)] * len(rows), "frame")

    return algebraic_decisions(run, 64, cap)["frame"]


def in_doubles(cells):
    """The determinant by numpy; one that is not zero is beyond 1e-7, for its norm is whole."""
    return np.linalg.det(np.array([[a + b * math.sqrt(3) for a, b in row] for row in cells]))


def test_whole_loads_on_an_irrational_frame():
    """[[root 2, 1], [1, root 2]] x = (2, 0) has the solution (2 root 2, -2)."""
    ar = AlgebraicArithmetic()
    r = ar.sqrt(rational(2))
    one = rational(1)
    x, y = ar.solve_linear([[r, one], [one, r]], [rational(2), rational(0)], "frame")
    assert ar.sign(x - 2 * r, "x") == 0 and ar.sign(y + 2, "y") == 0
    assert ar.decisions["frame"] == 1
    assert ar.solve_linear([[r, one], [one, r]], [rational(0)] * 2, "idle") == [0, 0]


small = st.integers(-2, 2)
entry = st.tuples(small, small)


@st.composite
def systems(draw):
    """Squares in which rows and columns may be sums of others, anywhere."""
    size = draw(st.integers(1, 5))
    cells = [[draw(entry) for _ in range(size)] for _ in range(size)]
    for _ in range(draw(st.integers(0, 2))):
        i, j, k = (draw(st.integers(0, size - 1)) for _ in range(3))
        for row in cells:
            row[i] = tuple(a + b for a, b in zip(row[j], row[k], strict=True))
    return cells


@settings(max_examples=40, deadline=None)
@given(systems())
def test_singular_or_regular_is_decided_as_numpy_does(cells):
    assert is_regular(cells) == int(abs(in_doubles(cells)) > 1e-8)


@pytest.mark.parametrize("place", range(4))
def test_a_column_that_depends_on_another_is_seen_wherever_it_stands(place):
    """The precision that shows it is that of the bound, not a cap that is never enough."""
    columns = [[(1, 1), (0, 2), (1, 0), (2, 1)], [(0, 1), (1, 1), (3, 0), (0, 0)]]
    columns.append([(5, 0), (0, 0), (1, -1), (1, 1)])
    columns.insert(place, [(2 * a, 2 * b) for a, b in columns[place % 3]])
    assert is_regular(columns, cap=2000) == 0
    assert is_regular(list(zip(*columns, strict=True)), cap=2000) == 0
    assert abs(in_doubles(columns)) < 1e-8


ACROSS = [[(n == 3 - i, 0) for n in range(4)] for i in range(4)]
TURNED = [[(n == (i + 1) % 4, 0) for n in range(4)] for i in range(4)]


@settings(max_examples=60, deadline=None)
@given(systems())
@example(ACROSS)  # of sign +
@example(TURNED)  # of sign -
def test_the_determinant_is_that_of_numpy_and_narrows(cells):
    for bits in (100, 400):
        with ctx.workprec(bits):
            root = arb(3).sqrt()
            found = _determinant([[a + b * root for a, b in row] for row in cells])
            assert abs(float(found) - in_doubles(cells)) < 1e-6
            assert found.rad() < arb(2) ** (30 - bits)


def test_entries_that_are_not_algebraic_are_asked_for_what_would_settle_them():
    """pi times a sum that is zero, as more digits show: no more is known of pi."""

    def run(ar):
        (a, b), (c, d), (_, both) = (
            ar.cos_sin(Turn(rational(tenths, 3600))) for tenths in (123, 456, 579)
        )
        zero = b * c + a * d - both
        rows = [[ar.pi() * zero, rational(0)], [rational(1), ar.pi()]]
        ar.solve_linear(rows, [rational(1)] * 2, "frame")

    with ctx.workprec(53), pytest.raises(Unseparated, match="undecided: frame") as caught:
        run(AlgebraicArithmetic())
    assert caught.value.name == "frame" and caught.value.needed_bits > 53
    with pytest.raises(NotAlgebraic, match="frame: entries not known to be algebraic"):
        algebraic_decisions(run, 53, 2000)
