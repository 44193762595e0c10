"""What equilibrium says of bodies on any lines of action, against ranks and null spaces in doubles.

Forces act at multiples of 30 degrees, half of them irrational, so that every way of solving is
taken: whole fractions, fractions beside numbers, numbers alone. numpy looks at the matrix as a
whole, by singular values, and writes its moments by itself.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from flint import arb, ctx, fmpq
from hypothesis import example, given, settings
from hypothesis import strategies as st

from refsolver.arithmetic.algebraic import algebraic_decisions
from refsolver.arithmetic.double import DoubleArithmetic
from refsolver.arithmetic.enclosure import EnclosureArithmetic
from refsolver.arithmetic.exact import Turn
from refsolver.arithmetic.multiprecision import MultiprecisionArithmetic
from refsolver.quantities.leaves import ByAngle
from refsolver.statics.bodies.equilibrium import equilibrium, gives_way
from refsolver.statics.bodies.free_body import Body, Unknown, between, force_on, heading

BODIES = {"one": 0, "two": 3}
WHOLE = np.array([[1, 0, 0, 1, 0, 0], [0, 1, 0, 0, 1, 0], [0, 0, 1, 0, 0, 1]])
SMALL = 1e-9


def line(twelfths, at, ar, body="one", looks=False):
    """A force of one unit; ``looks``: whether it is asked where it points."""
    along = heading(ByAngle(Turn(fmpq(twelfths, 12))), ar)
    if looks:
        ar.sign(along[0], f"which way {twelfths} points")
    return force_on(body, along, tuple(ar.bring(fmpq(x)) for x in at))


def built(rows, ar, looks):
    """Unknowns on one body, on the other, or between both."""
    found = []
    for n, (twelfths, at, where) in enumerate(rows, 1):
        body = "two" if where == "two" else "one"
        action = line(twelfths, at, ar, body, looks)
        both = between(f"u{n}", action, "two") if where == "both" else Unknown(f"u{n}", (action,))
        found.append(both)
    return found


def column(twelfths, at, where):
    """The same in doubles."""
    turn = math.tau * twelfths / 12
    force = np.array([math.cos(turn), math.sin(turn)])
    part = [*force, at[0] * force[1] - at[1] * force[0]]
    nothing = [0.0] * 3
    return np.array(
        {"one": [*part, *nothing], "two": [*nothing, *part], "both": [*part, *np.negative(part)]}[
            where
        ]
    )


def rank(matrix):
    return int(np.linalg.matrix_rank(matrix, tol=SMALL)) if matrix.size else 0


def null_space(matrix):
    """Its rows are a basis of what the matrix takes to nothing."""
    _, sizes, basis = np.linalg.svd(matrix)
    return basis[sum(size > SMALL for size in sizes) :]


def seen(rows, loads, looks):
    """What each arithmetic says, each with whether bodies move apart; one after another."""

    def solved(ar):
        found = equilibrium(
            [Body(name) for name in BODIES],
            2,
            lambda a: built(rows, a, looks[0]),
            lambda a: [line(*load[:2], a, load[2], looks[1]) for load in loads],
            ar,
        )
        whole = [{i: fmpq(1) for i in np.flatnonzero(motion).tolist()} for motion in WHOLE]
        outcomes.append((ar, found, gives_way(found, whole, ar, "whole")))

    outcomes = []
    decisions = algebraic_decisions(solved, 128, 200_000)
    del outcomes[:-1]
    with ctx.workprec(128):
        solved(EnclosureArithmetic(decisions))
    solved(MultiprecisionArithmetic(128, decisions))
    solved(DoubleArithmetic(decisions))
    return outcomes


angles = st.sampled_from((0, 3, 6, 9, 1, 2, 4, 5, 8, 11))
points = st.sampled_from(((0, 0), (2, 0), (0, 1), (2, 1), (1, -1)))
unknown = st.tuples(angles, points, st.sampled_from(("one", "two", "both", "both")))
load = st.tuples(angles, points, st.sampled_from(("one", "two")))
PIN = [(0, (0, 0), "one"), (3, (0, 0), "one")]
HINGE = [(0, (2, 0), "both"), (3, (2, 0), "both")]
LEANING = [(1, (2, 0), "both"), (4, (2, 0), "both")]
TWICE = [
    *[(1, (0, 0), "one")] * 2, (2, (2, 1), "one"),
    (1, (2, 0), "two"), (2, (0, 1), "two"), (4, (2, 1), "two"),
]  # fmt: skip


@settings(max_examples=60, deadline=None)
@given(
    st.lists(unknown, min_size=1, max_size=7),
    st.lists(load, max_size=2),
    st.tuples(st.booleans(), st.booleans()),
)
@example([*PIN, *HINGE, (3, (2, 1), "two")], [(2, (1, -1), "two")], (False, False))
@example(TWICE, [(0, (2, 0), "two")], (False, False))
@example(TWICE[::-1], [(0, (2, 0), "two")], (True, False))
@example([*PIN, *HINGE, (1, (2, 1), "one")], [(0, (2, 0), "two")], (False, False))
@example([*PIN, *HINGE], [(1, (2, 0), "two")], (False, True))
@example([*PIN, *LEANING], [(0, (2, 0), "two")], (False, False))
@example([*PIN, *LEANING], [(4, (2, 0), "two"), (3, (0, 0), "one")], (False, False))
@example([*PIN, *LEANING, (1, (0, 1), "both")], [(1, (2, 0), "two")], (False, False))
@example([*PIN, *LEANING, (1, (0, 1), "both"), (3, (2, 0), "one")], [], (True, False))
def test_what_is_held_determined_and_free_is_what_numpy_sees(rows, loads, looks):
    matrix = np.column_stack([column(*row) for row in rows])
    right = -sum((column(*load) for load in loads), np.zeros(6))
    best = np.linalg.lstsq(matrix, right, rcond=SMALL)[0]
    idle = null_space(matrix.T)
    balanced = bool(np.all(np.abs(idle @ right) < 1e-7))
    fixed = {f"u{n}" for n, x in enumerate(null_space(matrix).T, 1) if np.all(np.abs(x) < 1e-7)}
    apart = len(idle) > len(WHOLE) - rank(WHOLE @ matrix)
    moving = [name for name, i in BODIES.items() if np.any(np.abs(idle[:, i : i + 3]) > 1e-7)]
    rational = all(twelfths % 3 == 0 for twelfths, _, _ in rows)
    for ar, found, changes_shape in seen(rows, loads, looks):
        assert (found.rank, found.free_motions) == (rank(matrix), len(idle)), ar
        assert found.redundants == len(null_space(matrix))
        assert bool(found.motions) == (rational and len(idle) > 0)
        assert not found.motions or found.moving() == moving
        assert bool(found.unbalanced) != balanced
        if found.motions or found.columns or not found.free_motions:
            assert changes_shape == apart
        assert set(found.values) == (fixed if balanced else set())
        for key, value in found.values.items():
            ball = value if isinstance(value, arb) else getattr(value, "ball", value)
            assert float(ball) == pytest.approx(best[int(key[1:]) - 1], abs=1e-7), key
