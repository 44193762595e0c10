"""Linear systems in balls on the directed cases of ``systems.txt``.

Signed zeros, coefficients from 2^-1074 to 2^1023, rows that must change places, Hilbert's
matrices, Kahan's and Rump's ill-conditioned systems of two equations, intervals. Every system
within the intervals must be solved within the balls: those of their ends are solved here in
fractions.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import product
from pathlib import Path

import pytest
from flint import arb, ctx, fmpq

from refsolver.arithmetic.contract import Undecided
from refsolver.arithmetic.enclosure import EnclosureArithmetic
from tests.arithmetic.vectors import interval

BITS = 320
LINES = [
    line
    for line in Path(__file__).with_name("systems.txt").read_text(encoding="utf-8").splitlines()
    if line[0] != "#"
]

Ends = tuple[Fraction, Fraction]


def read(line: str) -> tuple[list[list[Ends]], list[Ends], bool]:
    plain = line.removesuffix(" singular")
    left, right = plain.split("|")
    rows = [[interval(x) for x in row.split()] for row in left.split(";")]
    return rows, [interval(x) for x in right.split(";") for x in [x.strip()]], plain != line


def ball(ends: Ends) -> arb:
    low, high = (fmpq(x.numerator, x.denominator) for x in ends)
    with ctx.workprec(4000):
        return arb(low) if low == high else arb((low + high) / 2, (high - low) / 2)


def in_fractions(rows: list[list[Fraction]], right: list[Fraction]) -> list[Fraction]:
    """Gauss and Jordan, the rows taken in any order that does."""
    table = [[*row, x] for row, x in zip(rows, right, strict=True)]
    for i in range(len(table)):
        pivot = next(k for k in range(i, len(table)) if table[k][i])
        table[i], table[pivot] = table[pivot], table[i]
        table[i] = [x / table[i][i] for x in table[i]]
        for k, row in enumerate(table):
            if k != i:
                table[k] = [x - row[i] * y for x, y in zip(row, table[i], strict=True)]
    return [row[-1] for row in table]


def corners(rows: list[list[Ends]], right: list[Ends]) -> list[list[Fraction]]:
    flat = [x for row in rows for x in row] + right
    size, found = len(rows), []
    for entries in product(*(sorted(set(ends)) for ends in flat)):
        table = [list(entries[i * size : (i + 1) * size]) for i in range(size)]
        found.append(in_fractions(table, list(entries[size * size :])))
    return found


@pytest.mark.parametrize("line", LINES)
def test_every_system_within_the_balls_is_solved_within_the_balls(line):
    rows, right, singular = read(line)
    with ctx.workprec(BITS):
        matrix, sides = [[ball(x) for x in row] for row in rows], [ball(x) for x in right]
        ar = EnclosureArithmetic()
        if singular:
            with pytest.raises(Undecided):
                ar.solve_linear(matrix, sides, "it")
            return
        solution = ar.solve_linear(matrix, sides, "it")
        exact = corners(rows, right)
        scale = max(abs(x) for one in exact for x in one)
        for i, x in enumerate(solution):
            for one in exact:
                value = one[i]
                assert (x * value.denominator - value.numerator).contains(0)
            if len(exact) == 1:
                assert x.rad() <= ball((scale, scale)) * arb(2) ** -60
