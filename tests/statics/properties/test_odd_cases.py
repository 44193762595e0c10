"""Odd givens of every family are refused when read, answered, or refused for a reason.

``REFSOLVER_PROPERTIES=50`` tries 75 cases a family instead of three.
"""

from __future__ import annotations

import contextlib
import os
import random

import pytest

from refsolver.quantities.kinds import NoAnswer
from refsolver.statics.prover import NotProven, asks_of, prove
from refsolver.statics.registry import families
from tests.statics.properties.claims import drawn_case
from tests.statics.properties.odd import odd

CASES = 3 * int(os.environ.get("REFSOLVER_PROPERTIES", "2")) // 2


OF_VIEWS = frozenset({"no direction", "no intercept", "not defined"})
"""What the view of a vector, line or function may add to the refusals of an answer."""


def _odd_case(owner, number):
    for attempt in range(100):
        rng = random.Random(f"{owner.name} odd {number} {attempt}")
        with contextlib.suppress(ValueError):
            return odd(owner, drawn_case(owner, rng), rng)
    raise AssertionError("every odd case is refused")


@pytest.mark.parametrize("owner", families().values(), ids=lambda f: f.name)
def test_odd_givens_are_answered_or_refused(owner):
    for number in range(CASES):
        case = _odd_case(owner, number)
        reference = prove(owner, case, asks_of(owner, case), digits=15, strict=True)
        if reference.stopped.startswith("undecided"):
            continue
        assert not reference.stopped, (reference.stopped, case)
        assert reference.residuals == "close", (reference.residuals, case)
        assert reference.second_opinion == "agrees", (reference.second_opinion, case)
        for view, outcome in reference.outcomes.items():
            assert not isinstance(outcome, NotProven), (view.describe(), outcome.why, case)
            if isinstance(outcome, NoAnswer):
                assert outcome.reason in {*owner.answers[view.answer].refusals, *OF_VIEWS}, case
