"""The working of every family: tables in which each number is of its column's dimension.

Told by other units (dimensional homogeneity, as in ``properties/units_and_rows.py``): the
numbers of a column go with the factor of its dimension. And it leads somewhere: one of its
numbers is an answer.
"""

from __future__ import annotations

import random
from collections.abc import Mapping

import pytest
from flint import arb, ctx, fmpq

from refsolver.arithmetic.contract import Undecided
from refsolver.arithmetic.enclosure import EnclosureArithmetic
from refsolver.quantities.dimensions import Dimension
from refsolver.quantities.kinds import NoAnswer
from refsolver.statics.givens import restated
from refsolver.statics.prover import prove
from refsolver.statics.registry import families

MIXED = "Unknowns"
"""A table of forces, couples and shares of a run of any length, which has no one dimension."""

PARTS_ONLY = frozenset({
    "beams/internal-forces", "force-systems/parallel-space", "friction/pivot-or-collar",
    "mass-moments/composite", "particle-equilibrium/one-cord", "second-moments/composite",
    "second-moments/section", "second-moments/symmetric-section",
})  # fmt: skip
"""Their tables hold what the answers are made of, and leave the last step to them."""

FORCE, LENGTH, TIME = fmpq(7, 3), fmpq(5, 11), fmpq(13, 17)


def factor(dimension):
    powers = FORCE**dimension.force * LENGTH**dimension.length
    return fmpq(powers) * fmpq(TIME**dimension.time)


def solved(owner, given):
    try:
        solution = owner.solve(given, EnclosureArithmetic(), owner.rule_set())
    except Undecided:
        found = prove(owner, given, (), residuals=False, second_opinion=False).decisions
        solution = owner.solve(given, EnclosureArithmetic(found), owner.rule_set())
    working = solution.working
    return solution.answers, working() if callable(working) else working


def numbers(value):
    """Every number in the value of an answer."""
    if isinstance(value, Mapping):
        value = list(value.values())
    if isinstance(value, tuple | list):
        for part in value:
            yield from numbers(part)
    elif not isinstance(value, NoAnswer | str) and value is not None:
        try:
            yield arb(value)
        except (TypeError, ValueError):
            return


def near(a, b):
    return (a - b).contains(0) and (a - b).rad() <= (abs(a) + 1) / 2**100


@pytest.mark.parametrize("name", sorted(families()))
def test_each_number_of_the_working_is_of_its_column(name):
    owner = families()[name]
    given = owner.propose((1.0, 30.0), random.Random(f"working of {name}"))
    with ctx.workprec(200):
        answers, sheets = solved(owner, given)
        _, others = solved(owner, restated(given, factor))
        assert sheets, "there is no working"
        cells = []
        for sheet, other in zip(sheets, others, strict=True):
            assert isinstance(sheet.title, str) and sheet.title and sheet.rows, sheet
            for column in sheet.columns:
                assert isinstance(column.head, str) and column.head
                assert column.dimension is None or isinstance(column.dimension, Dimension)
            for row, again in zip(sheet.rows, other.rows, strict=True):
                assert isinstance(row.label, str) and row.label == again.label
                for column, one, two in zip(sheet.columns, row.cells, again.cells, strict=True):
                    where = (sheet.title, row.label, column.head)
                    if one is None or isinstance(one, str | NoAnswer):
                        assert one == two, where
                        continue
                    cells.append(arb(one))
                    if sheet.title == MIXED:
                        continue
                    ratio = factor(column.dimension) if column.dimension else 1
                    assert near(arb(one) * ratio, arb(two)), (where, one, two)
        wanted = [x for value in answers.values() for x in numbers(value)]
        leads_there = any(near(x, cell) for x in wanted for cell in cells)
        assert leads_there == (name not in PARTS_ONLY), "no answer stands in it"
