"""A change of unit leaves the quantity as it is, and every mistake of units shows."""

import random

import pytest
from flint import fmpq

from refsolver.arithmetic.double import DoubleArithmetic
from refsolver.quantities.views import View
from refsolver.statics.prover import prove
from refsolver.statics.registry import families

CONVERSIONS = [f for name, f in families().items() if name.startswith("unit-conversion/")]


@pytest.mark.parametrize("family", CONVERSIONS, ids=lambda f: f.name)
def test_the_answer_is_the_quantity_stated(family):
    given = family.generate((1.0, 1e6), random.Random(7))
    reference = prove(family, given, [View("quantity")])
    assert reference.residuals == "close"


@pytest.mark.parametrize("family", CONVERSIONS, ids=lambda f: f.name)
def test_a_quantity_of_zero_stays_zero(family):
    given = family.givens(fmpq(0))
    solution = family.solve(given, DoubleArithmetic(), family.rule_set())
    assert solution.answers["quantity"] == 0


@pytest.mark.parametrize("family", CONVERSIONS, ids=lambda f: f.name)
def test_every_mistake_changes_the_answer(family):
    ar = DoubleArithmetic()
    given = family.givens(fmpq(7, 2))
    answers = family.solve(given, ar, family.rule_set()).answers
    for mistake in family.mistakes:
        assert mistake.answers(given, answers, ar)["quantity"] != answers["quantity"], mistake.name
