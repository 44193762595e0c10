"""Mistaken calculators written from the textbook formula: what the diagnosis says of them."""

from __future__ import annotations

from functools import cache

import pytest

from refsolver.calculators.contract import Received
from refsolver.calculators.fields import at_field, nested
from refsolver.calculators.python_columns import raw_value
from refsolver.calculators.python_worker import ReturnedNumber
from refsolver.catalogue.catalogue import Catalogue
from refsolver.runs.bench import bench
from refsolver.runs.natural_file import forms
from refsolver.statics.registry import family
from tests.runs.practitioners import RIGHT, SLIPS


class Function:
    """A function of fields, asked in this process."""

    def __init__(self, answer):
        self.answer = answer

    def ask(self, questions):
        for question in questions:
            fields = {
                slot.place: slot.double if slot.double is not None else slot.value or None
                for slot in question.slots
            }
            try:
                answers = self.answer(nested(fields))
            except (ArithmeticError, ValueError):
                answers = {}
            yield Received({p: raw_value(number(at_field(answers, p))) for p in question.places})


def number(value):
    return ReturnedNumber(repr(value), "float") if isinstance(value, float) else value


@cache
def benched(name):
    return bench(family(name), forms(family(name))[0], Catalogue())


@pytest.mark.parametrize("name", ["centroids/point-masses-plane", "moments/plane-point"])
def test_without_the_slip_nothing_fails(name):
    runs = benched(name).runs(Function(RIGHT[name]))
    assert {f.verdict for run in runs for f in run.findings} <= {"pass", "not applicable"}


@pytest.mark.parametrize("slip", SLIPS, ids=lambda slip: f"{slip.family}, {slip.words}")
def test_what_is_said_of(slip):
    made = benched(slip.family)
    explanations, _ = made.diagnostician.diagnose(made.runs(Function(slip.answer)))
    if slip.known:
        assert slip.known in (explanations[0].name, *explanations[0].also)
    else:
        assert [e.words() for e in explanations if len(e.explained) == e.failures] == []
