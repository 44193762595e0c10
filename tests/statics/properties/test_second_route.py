"""The second route of a family, ``check``, is one: it notices every answer that is wrong.

Every number of every answer is made wrong by a millionth, every word replaced by each other
one, one at a time; a residual must then exclude zero. What no residual speaks of would be
proven by one route alone.
"""

from __future__ import annotations

import random
from itertools import chain, count

import pytest
from flint import ctx

from refsolver.arithmetic.enclosure import EnclosureArithmetic
from refsolver.statics.prover import asks_of, prove
from refsolver.statics.registry import families
from tests.statics.properties.claims import catalogued_cases, drawn_case
from tests.statics.properties.wrong import Wrongs

BITS = 200
FEWEST, DRAWN = 3, 12
"""Cases tried of each family; more of them, then the catalogue, while something is left."""


@pytest.mark.parametrize("owner", families().values(), ids=lambda f: f.name)
def test_every_answer_that_is_wrong_is_noticed(owner):
    rng = random.Random(f"{owner.name}, wrong")
    wrongs = Wrongs()
    cases = chain((drawn_case(owner, rng) for _ in range(DRAWN)), catalogued_cases(owner))
    for number, given in zip(count(1), cases, strict=False):
        reference = prove(owner, given, asks_of(owner, given), digits=20, second_opinion=False)
        if reference.stopped:
            continue
        with ctx.workprec(max(BITS, reference.bits)):
            ar = EnclosureArithmetic(reference.decisions)
            answers = owner.solve(given, ar, owner.rule_set()).answers
            wrongs(owner, given, answers, lambda r=reference: EnclosureArithmetic(r.decisions))
        if number >= FEWEST and not wrongs.left(owner):
            return
    assert not wrongs.left(owner), "wrong, and no residual says so; or never had a value"
