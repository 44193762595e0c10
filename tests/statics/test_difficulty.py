"""Every family makes cases by range of condition number, measured, and says what it cannot."""

import math
import random
import re

import pytest

from refsolver.quantities.kinds import FunctionKind
from refsolver.runs.campaign import RANGES
from refsolver.statics import difficulty
from refsolver.statics.conditioning import condition_number
from refsolver.statics.contract import Unreachable
from refsolver.statics.prover import asks_of, prove
from refsolver.statics.reference import NotProven, Proven
from refsolver.statics.registry import families, family

PLANE = family("concurrent-forces/plane-resultant")


@pytest.mark.parametrize("kappa", [(1, 1e2), (1e5, 1e9), (1e13, 1e17), (1e20, 1e21), (50, 60)])
@pytest.mark.parametrize("owner", [PLANE, family("cables/parabolic")], ids=lambda f: f.name)
def test_a_generated_case_lies_in_its_range_and_comes_again(owner, kappa):
    if not reaches(owner, kappa):
        return
    one, again = (owner.generate(kappa, random.Random(4)) for _ in range(2))
    assert one == again
    assert kappa[0] <= condition_number(owner, one) <= kappa[1]
    assert owner.generate(kappa, random.Random(5)) != one


class _Bounded(type(PLANE)):
    reach = (1.0, 50.0)
    reach_because = "it is only a trial"


def test_a_range_that_no_case_reaches_is_said_to_be_so():
    with pytest.raises(Unreachable, match=r"from 100 to 1000; they lie from 1 to 50: it is only"):
        _Bounded().generate((1e2, 1e3), random.Random(1))


def test_a_range_that_nothing_was_found_in_is_said_to_be_so():
    class Stubborn(type(PLANE)):
        def propose(self, kappa, rng):
            return super().propose((1.0, 1.0), rng)

    with pytest.raises(Unreachable, match="of 60 cases drawn, none"):
        Stubborn().generate((1e16, 1e17), random.Random(1))


def reaches(owner, kappa):
    return owner.reach[0] <= kappa[1] and kappa[0] <= owner.reach[1]


def is_of_the_ladder(owner, kappa, seed):
    """A case of this range: its condition number measured, every answer proven."""
    given = owner.generate(kappa, random.Random(f"{owner.name} {kappa} {seed}"))
    found = condition_number(owner, given)
    assert kappa[0] * (1 - 1e-9) <= found <= kappa[1] * (1 + 1e-9)
    reference = prove(owner, given, asks_of(owner, given), digits=18, second_opinion=False)
    unproven = [v for v, o in reference.outcomes.items() if isinstance(o, NotProven)]
    assert not unproven, (seed, unproven[0].describe(), reference.outcomes[unproven[0]])
    assert reference.residuals in ("close", "not asked")
    whole = all(isinstance(answer.kind, FunctionKind) for answer in owner.answers.values())
    assert whole or any(isinstance(found, Proven) for found in reference.outcomes.values())


HEAVY = (
    "centroids/lamina",
    "hydrostatics/curved-sided-surface",
    "second-moments/between-curves",
    "second-moments/composite",
    "second-moments/section",
    "virtual-work/equilibrium-positions",
    "virtual-work/holding-force",
)
"""Seconds a case: only the thorough run goes through all of their ranges, and fewer times."""


@pytest.mark.parametrize(
    "name", [pytest.param(n, marks=pytest.mark.slow) if n in HEAVY else n for n in families()]
)
def test_every_family_reaches_what_it_claims_and_says_what_it_cannot(name):
    owner = families()[name]
    for kappa in RANGES:
        if reaches(owner, kappa):
            is_of_the_ladder(owner, kappa, 1)
        else:
            with pytest.raises(Unreachable, match=re.escape(owner.reach_because)):
                owner.generate(kappa, random.Random(1))


@pytest.mark.slow
@pytest.mark.parametrize("name", families())
def test_every_family_reaches_what_it_claims_with_other_numbers(name):
    owner = families()[name]
    for kappa in RANGES:
        for seed in range(2, 4 if name in HEAVY else 6) if reaches(owner, kappa) else ():
            is_of_the_ladder(owner, kappa, seed)


def test_what_bounds_the_reach_is_said():
    """A family that is well conditioned whatever its givens says why."""
    bounded = {n: f for n, f in families().items() if f.reach[1] < RANGES[-1][0]}
    assert len(bounded) == 19
    assert all(f.reach_because for f in bounded.values())


class _Aimed(type(PLANE)):
    """Its cases are the condition numbers aimed at."""

    def propose(self, kappa, rng):
        return kappa[0]


def drawn_with(monkeypatch, measured, kappa=(1e2, 1e3)):
    monkeypatch.setattr(difficulty, "condition_number", lambda owner, aim: measured(aim))
    return difficulty.case_within(_Aimed(), kappa, random.Random(1))


def test_an_aim_that_misses_by_a_factor_is_corrected_by_it(monkeypatch):
    assert 1e2 <= 40 * drawn_with(monkeypatch, lambda aim: 40 * aim) <= 1e3


def test_a_range_is_held_to_within_the_rounding(monkeypatch):
    for found, taken in (
        (1e2 * (1 - 1e-10), True), (1e2 * (1 - 1e-8), False), (None, False), (math.inf, False),
        (1e3 * (1 + 1e-10), True), (1e3 * (1 + 1e-8), False),
    ):  # fmt: skip
        if taken:
            drawn_with(monkeypatch, lambda aim, found=found: found)
        else:
            with pytest.raises(Unreachable, match="of 60 cases drawn, none"):
                drawn_with(monkeypatch, lambda aim, found=found: found)


def test_the_part_of_a_range_that_is_reached():
    owner = _Bounded()
    for kappa, part in (((1, 1e2), (1, 50)), ((7, 9), (7, 9)), ((50, 1e2), (50, 50))):
        assert difficulty.reachable_part(owner, kappa) == part
    with pytest.raises(Unreachable):
        difficulty.reachable_part(owner, (51, 1e2))
