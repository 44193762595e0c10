"""What directions span, against the rank and the solutions that numpy finds."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from flint import fmpq
from hypothesis import given, settings
from hypothesis import strategies as st

from refsolver.arithmetic.enclosure import EnclosureArithmetic
from refsolver.statics.bodies.independence import Rationals
from refsolver.statics.chapters.particle_equilibrium.spans import (
    basis_of,
    coefficients,
    lies_in,
    wedge,
)

small = st.integers(-2, 2)


def rows(space, most):
    return st.lists(st.tuples(*[small] * space), min_size=1, max_size=most)


def exact(vectors):
    return [tuple(fmpq(x) for x in vector) for vector in vectors]


def rank(vectors):
    return int(np.linalg.matrix_rank(np.array(vectors, dtype=float)))


def dependent(numbers):
    return all(x == 0 for x in numbers)


@pytest.mark.parametrize("space", [2, 3])
@settings(deadline=None, max_examples=60)
@given(st.data())
def test_a_wedge_vanishes_where_the_rank_falls_short(space, data):
    vectors = data.draw(rows(space, space + 1))
    assert dependent(wedge(exact(vectors))) == (rank(vectors) < len(vectors))


def test_nothing_and_too_many_are_dependent():
    assert wedge([]) == ()
    assert wedge(exact([(1, 0), (0, 1), (1, 1)])) == ()
    assert wedge(exact([(3, 1), (2, 5)])) == (13,)
    assert wedge(exact([(1, 0, 0), (0, 1, 0), (0, 0, 1)])) == (1,)


@pytest.mark.parametrize("space", [2, 3])
@settings(deadline=None, max_examples=60)
@given(st.data())
def test_a_basis_has_the_first_independent_ones_and_gives_back_what_lies_in_it(space, data):
    vectors = data.draw(rows(space, 4))
    names = [f"d{n}" for n in range(len(vectors))]
    basis = basis_of(exact(vectors), names, Rationals())
    firsts = [
        n
        for n in range(len(vectors))
        if rank(vectors[: n + 1]) > rank([*vectors[:n], (0,) * space])
    ]
    assert list(basis.places) == firsts and basis.rank == rank(vectors)
    assert list(basis.directions) == [exact(vectors)[n] for n in firsts]
    for vector in itertools.product((-1, 0, 2), repeat=space):
        inside = rank([*vectors, vector]) == basis.rank
        (wanted,) = exact([vector])
        assert lies_in(wanted, basis, "v", Rationals()) == inside
        if inside:
            shares = coefficients(wanted, basis)
            parts = [[c * x for x in d] for c, d in zip(shares, basis.directions, strict=True)]
            assert tuple(sum(column, fmpq(0)) for column in zip(*parts, strict=True)) in (
                wanted,
                (),
            )


def test_decisions_are_named_after_the_directions():
    ar = EnclosureArithmetic()
    balls = [tuple(ar.bring(x) for x in v) for v in exact([(1, 0, 0), (2, 0, 0), (0, 1, 1)])]
    assert basis_of(balls, ["left", "middle", "right"], ar).places == (0, 2)
    assert ar.decisions["left independent: x"] == 1
    assert ar.decisions["left and middle independent: z"] == 0
    assert lies_in(balls[0], basis_of(balls, "abc", ar), "pull", ar)
    assert ar.decisions["pull outside"] == 0


@pytest.mark.parametrize("level", [0, 1, 2])
def test_shares_in_a_coordinate_plane(level):
    """Two directions whose wedge has one component that is not zero, each in turn."""
    one, two = [3, 1], [1, 2]
    for vector in (one, two):
        vector.insert(level, 0)
    basis = basis_of(exact([one, two]), "ab", Rationals())
    (sought,) = exact([[2 * a - 5 * b for a, b in zip(one, two, strict=True)]])
    assert coefficients(sought, basis) == [2, -5]
