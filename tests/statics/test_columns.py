"""Cases proven in columns against the same cases proven one by one, in every family."""

from __future__ import annotations

import random

import pytest
from flint import arb, ctx, fmpq

from refsolver.arithmetic.columns import at
from refsolver.arithmetic.exact import Turn
from refsolver.quantities.leaves import ByAngle, Polar
from refsolver.quantities.views import View
from refsolver.statics.chapters.force_systems.parallel_forces import OnLine
from refsolver.statics.columns import prove_columns, stacked
from refsolver.statics.forces.concurrent import PlaneForce, PlaneForces
from refsolver.statics.prover import asks_of, prove
from refsolver.statics.reference import Proven
from refsolver.statics.registry import families, family

COUNT = 6

PLANE = "concurrent-forces/plane-resultant"


@pytest.mark.parametrize("name", sorted(families()))
def test_a_family_in_columns_gives_what_each_case_gives(name):
    owner = family(name)
    try:
        givens = [
            (n, owner.propose((1.0, 100.0), random.Random(f"{name} {n}"))) for n in range(COUNT)
        ]
    except NotImplementedError:
        pytest.skip("makes no cases")
    groups, alone = stacked(givens)
    assert sorted([n for g in groups for n in g.numbers] + [n for n, _ in alone]) == [*range(COUNT)]
    for cases in groups:
        for position, number in enumerate(cases.numbers):
            assert at(cases.given, position) == dict(givens)[number]
        asks = asks_of(owner, dict(givens)[cases.numbers[0]])
        found = prove_columns(owner, cases, asks, 30)
        for position, number in enumerate(cases.numbers[:3]):
            proven = [ask for ask in asks if found[ask][position] is not None]
            alone_too = prove(
                owner, dict(givens)[number], proven, residuals=False, second_opinion=False
            ).outcomes
            for ask in proven:
                assert isinstance(alone_too[ask], Proven), (number, ask)
                assert alone_too[ask].ball.overlaps(found[ask][position]), (number, ask)


def test_families_that_count_are_proven_in_columns():
    """Not a proof of speed, but that the columns are used where they matter."""
    for name in (PLANE, "concurrent-forces/space-resultant", "components/plane-rectangular"):
        owner = family(name)
        givens = [(n, owner.propose((1.0, 100.0), random.Random(n))) for n in range(20)]
        groups, alone = stacked(givens)
        assert not alone
        for cases in groups:
            asks = asks_of(owner, dict(givens)[cases.numbers[0]])
            found = prove_columns(owner, cases, asks, 30)
            assert all(ball is not None for column in found.values() for ball in column)


@pytest.mark.parametrize("kappa", [(1.0, 100.0), (1e9, 1e13), (1e13, 1e17)])
def test_precision_is_raised_where_the_case_needs_it_and_restored(kappa):
    owner = family(PLANE)
    (cases,) = owner.propose_many(kappa, random.Random(1), 40, {"forces": (5, 5)})
    ask, angle = View("resultant", "magnitude"), View("resultant", "angle", range="0..360")
    before = ctx.prec
    found = prove_columns(owner, cases, [ask, angle], 30)
    assert ctx.prec == before
    for position in range(40):
        own = prove(owner, at(cases.given, position), [ask, angle], second_opinion=False)
        for view in (ask, angle):
            ball = found[view][position]
            assert ball.rel_accuracy_bits() >= 100
            assert own.outcomes[view].ball.overlaps(ball)


def test_a_made_case_hardly_leaves_more_than_asked_for():
    """The ratio of the sum of the sizes to the resultant is the condition asked."""
    owner = family(PLANE)
    for cases in owner.propose_many((1e3, 1e4), random.Random(3), 60, {"forces": (2, 8)}):
        for position in range(len(cases.numbers)):
            given = at(cases.given, position)
            view = View("resultant", "magnitude")
            left = prove(owner, given, [view], second_opinion=False).outcomes[view].ball
            total = sum((force.force.magnitude for force in given.forces), fmpq(0))
            assert 1e3 < float(total / left) < 3e4


def test_forms_are_told_apart():
    """A leaf left out is not one that is stated."""
    owner = family("hydrostatics/floating-share")
    givens = [(n, owner.propose((1.0, 100.0), random.Random(n))) for n in range(30)]
    groups, alone = stacked(givens)
    for cases in groups:
        forms = {
            tuple(x is None for x in (g.body, g.fluid, g.submerged))
            for g in (dict(givens)[n] for n in cases.numbers)
        }
        assert len(forms) == 1


def test_spare_bits_reach_what_raising_the_precision_does_not():
    """Two pulls that cancel but for one part in 10^30: the rest is the difference of sizes."""
    owner, ask, rest = family(PLANE), View("resultant", "magnitude"), fmpq(1, 10**30)

    def pull(size, turns):
        return PlaneForce(Polar(size, ByAngle(Turn(turns))))

    givens = [
        (n, PlaneForces((pull(fmpq(n), turn), pull(n + rest, turn + fmpq(1, 2)))))
        for n, turn in ((1, fmpq(17, 360)), (2, fmpq(91, 360)))
    ]
    (cases,), alone = stacked(givens)
    assert not alone
    assert prove_columns(owner, cases, [ask], 1)[ask] == [None, None]
    for ball in prove_columns(owner, cases, [ask], 1, spare=110)[ask]:
        assert ball.rel_accuracy_bits() >= 4 and ball.overlaps(arb(rest))


def test_cases_that_a_decision_parts_are_proven_all_the_same():
    """Resultants up, down and none: the place of each, and none where there is none."""
    owner = family("force-systems/parallel-line")
    ask = View("position")
    pairs = ((5, -3), (3, -5), (4, -4), (9, -1), (1, -9))
    givens = [
        (n, owner.givens((OnLine(fmpq(a), fmpq(2)), OnLine(fmpq(b), fmpq(7)))))
        for n, (a, b) in enumerate(pairs)
    ]
    (cases,), alone = stacked(givens)
    assert not alone
    for (a, b), ball in zip(pairs, prove_columns(owner, cases, [ask], 30)[ask], strict=True):
        if a + b == 0:
            assert ball is None
        else:
            assert ball.overlaps(arb(fmpq(2 * a + 7 * b, a + b)))


def test_what_cannot_be_looked_at_leaves_the_others():
    """A row that is not in the table: its cases are left to be told by themselves."""
    owner = family("force-systems/parallel-line")
    givens = [(n, owner.givens((OnLine(fmpq(n), fmpq(2)),))) for n in (1, 2)]
    (cases,), _ = stacked(givens)
    absent, there = View("moments", key="nobody"), View("moment")
    found = prove_columns(owner, cases, [absent, there], 30)
    assert found[absent] == [None, None]
    assert [ball.overlaps(arb(2 * n)) for n, ball in zip((1, 2), found[there], strict=True)] == [
        True, True,
    ]  # fmt: skip
