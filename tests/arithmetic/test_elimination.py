"""Sparse elimination in fractions, against FLINT's dense matrices."""

from __future__ import annotations

from flint import arb, fmpq, fmpq_mat
from hypothesis import given
from hypothesis import strategies as st

from refsolver.arithmetic.elimination import Elimination

entry = st.sampled_from([0, 0, 0, 1, -1, 2, fmpq(1, 3)]).map(fmpq)
matrices = st.tuples(st.integers(1, 6), st.integers(1, 6)).flatmap(
    lambda size: st.lists(
        st.lists(entry, min_size=size[1], max_size=size[1]), min_size=size[0], max_size=size[0]
    )
)


def columns_of(rows):
    return [{i: row[j] for i, row in enumerate(rows)} for j in range(len(rows[0]))]


def times(rows, vector):
    return [sum((x * vector.get(j, 0) for j, x in enumerate(row)), fmpq(0)) for row in rows]


@given(matrices)
def test_rank_and_null_spaces_are_those_of_the_dense_matrix(rows):
    found = Elimination(columns_of(rows), len(rows))
    assert found.rank == fmpq_mat(rows).rank()
    assert len(found.free) == len(rows[0]) - found.rank
    assert len(found.idle) == len(rows) - found.rank
    null_vectors, motions = found.null_vectors(), found.motions()
    assert len(null_vectors) == len(found.free) and len(motions) == len(found.idle)
    for place, vector in zip(found.free, null_vectors, strict=True):
        assert times(rows, vector) == [0] * len(rows)
        assert [vector.get(j, 0) for j in found.free] == [j == place for j in found.free]
    turned = [list(column) for column in zip(*rows, strict=True)]
    for place, vector in zip(found.idle, motions, strict=True):
        assert times(turned, vector) == [0] * len(turned)
        assert [vector.get(i, 0) for i in found.idle] == [i == place for i in found.idle]


@given(matrices, st.data())
def test_a_solution_solves_what_can_be_solved(rows, data):
    """A right side made from a known solution leaves nothing; any other leaves its misfit."""
    chosen = {j: data.draw(entry) for j in range(len(rows[0]))}
    right = dict(enumerate(times(rows, chosen)))
    found = Elimination(columns_of(rows), len(rows))
    values, left = found.solve(right)
    assert left == {}
    assert times(rows, values) == [right[i] for i in range(len(rows))]
    for j in found.determined():
        assert values.get(j, 0) == chosen[j]
    for i in found.idle:
        _, left = found.solve({**right, i: right[i] + 1})
        assert left == {i: 1}


@given(matrices)
def test_what_is_determined_is_what_no_null_vector_moves(rows):
    reduced, rank = fmpq_mat(rows).rref()
    pivots = [next(j for j in range(len(rows[0])) if reduced[i, j] != 0) for i in range(rank)]
    free = [j for j in range(len(rows[0])) if j not in pivots]
    bound = {p for i, p in enumerate(pivots) if any(reduced[i, f] != 0 for f in free)}
    assert set(Elimination(columns_of(rows), len(rows)).determined()) == set(pivots) - bound


def test_what_no_load_reaches_is_absent_whatever_the_numbers():
    """Two separate pairs of equations; balls load the first pair only."""
    rows = [[1, 1, 0, 0], [1, -1, 0, 0], [0, 0, 1, 2], [0, 0, 1, 3]]
    found = Elimination(columns_of([[fmpq(x) for x in row] for row in rows]), 4)
    values, left = found.solve({0: arb(1) / 3})
    assert set(values) == {0, 1}
    assert left == {}
    assert values[0].contains(fmpq(1, 6))


def test_a_square_with_one_diagonal_less_is_a_mechanism_and_with_both_is_stressed():
    """Force densities in a unit square A(0,0) B(1,0) C(1,1) D(0,1), A and B held.

    Free joints C and D, each with an equation across and one upward; bars BC, CD, DA, with or
    without the diagonals AC and BD. Counted by hand: 3 bars leave one mechanism (the sway),
    5 one self-stress.
    """
    columns = {
        "BC": {0: fmpq(0), 1: fmpq(-1)},
        "CD": {0: fmpq(-1), 1: fmpq(0), 2: fmpq(1), 3: fmpq(0)},
        "DA": {2: fmpq(0), 3: fmpq(-1)},
        "AC": {0: fmpq(-1), 1: fmpq(-1)},
        "BD": {2: fmpq(1), 3: fmpq(-1)},
    }
    three = Elimination([columns[bar] for bar in ("BC", "CD", "DA")], 4)
    (sway,) = three.motions()
    assert list(three.null_vectors()) == [] and sway[0] == sway[2] != 0
    assert sway.get(1, 0) == sway.get(3, 0) == 0
    (stress,) = Elimination(list(columns.values()), 4).null_vectors()
    sizes = [stress[i] / stress[4] for i in range(5)]
    assert sizes == [-1, -1, -1, 1, 1]
