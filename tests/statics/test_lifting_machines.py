"""Lifting machines: families that must agree, refusals, figures, generated cases."""

from __future__ import annotations

import random

import attrs
import pytest
from flint import fmpq
from hypothesis import given, settings
from hypothesis import strategies as st

from refsolver.arithmetic.double import DoubleArithmetic
from refsolver.quantities.kinds import NoAnswer
from refsolver.quantities.views import View
from refsolver.statics.chapters.lifting_machines.laws_of_machines import Law
from refsolver.statics.chapters.lifting_machines.machines import Gear, Machine
from refsolver.statics.prover import prove
from refsolver.statics.reference import NotProven, Proven
from refsolver.statics.registry import family

PERFORMANCE = family("lifting-machines/performance")
LAW = family("lifting-machines/law")
TINY = fmpq(1, 10**22)
ALL = pytest.mark.parametrize("owner", [PERFORMANCE, LAW], ids=lambda f: f.name)


def middles(owner, case, *names):
    found = list(prove(owner, case, [View(n) for n in names], strict=True).outcomes.values())
    assert all(isinstance(x, Proven) for x in found), found
    return [x.enclosure.middle for x in found]


def ratio_of(kind, **stated):
    case = Machine(kind, load=fmpq(100), efficiency=fmpq(1, 2), **stated)
    return middles(PERFORMANCE, case, "velocity ratio")[0]


counts = st.integers(1, 60)


@settings(max_examples=30, deadline=None)
@given(counts, counts, counts, counts)
def test_gears_multiply_what_arms_give(arm, radius, driven, driver):
    stated = {"effort_arm": fmpq(arm), "load_arm": fmpq(radius)}
    alone = ratio_of("gears alone", gears=(Gear(driven, driver),))
    both = ratio_of("arms", gears=(Gear(driven, driver),), **stated)
    assert abs(both - alone * ratio_of("arms", **stated)) < TINY * both


@settings(max_examples=30, deadline=None)
@given(counts, counts)
def test_a_differential_block_is_an_axle_driven_by_its_own_sheave(small, more):
    large = fmpq(small + more)
    block = ratio_of("differential block", load_arm=large, smaller=fmpq(small))
    axle = ratio_of("differential axle", effort_arm=large, load_arm=large, smaller=fmpq(small))
    assert abs(block - axle) < TINY * axle


@settings(max_examples=30, deadline=None)
@given(counts, counts, counts)
def test_a_differential_screw_is_a_screw_of_the_difference(arm, small, more):
    both = ratio_of(
        "differential screw",
        effort_arm=fmpq(arm),
        load_arm=fmpq(small + more),
        smaller=fmpq(small),
    )
    one = ratio_of("screw", effort_arm=fmpq(arm), load_arm=fmpq(more))
    assert abs(both - one) < TINY * one


@settings(max_examples=30, deadline=None)
@given(counts, counts, st.integers(1, 9))
def test_the_law_scales_with_the_forces(first, step, factor):
    law = Law(fmpq(30), fmpq(400), fmpq(first), fmpq(7), fmpq(first + step), fmpq(9))
    scale = {
        name: getattr(law, name) * factor
        for name in ("load", "first", "first_effort", "second", "second_effort")
    }
    names = ("slope", "efficiency", "offset")
    a, b = middles(LAW, law, *names), middles(LAW, attrs.evolve(law, **scale), *names)
    assert abs(a[0] - b[0]) < TINY
    assert abs(a[1] - b[1]) < TINY
    assert abs(a[2] * factor - b[2]) < TINY * 1000


@ALL
@pytest.mark.parametrize("seed", range(8))
def test_generated_cases_are_proven(owner, seed):
    case = owner.propose((1.5, 1e4), random.Random(seed))
    asks = [View(name) for name in owner.answers]
    outcomes = prove(owner, case, asks, strict=True).outcomes.values()
    assert not any(isinstance(x, NotProven) for x in outcomes)


def test_a_differential_without_difference_lifts_nothing():
    case = Machine(
        "differential block",
        load_arm=fmpq(3),
        smaller=fmpq(3),
        load=fmpq(1),
        efficiency=fmpq(1),
    )
    outcomes = prove(PERFORMANCE, case, [View(n) for n in PERFORMANCE.answers]).outcomes
    assert all(isinstance(x, NoAnswer) for x in outcomes.values())
    ar = DoubleArithmetic()
    answers = PERFORMANCE.solve(case, ar, PERFORMANCE.rule_set()).answers
    (lever,) = PERFORMANCE.figure(case, answers, ar).parts
    assert lever.start != lever.end


@pytest.mark.parametrize(
    ("change", "word"),
    [
        ({"load": None}, "state two"),
        ({"efficiency": fmpq(1, 2)}, "state two"),
        ({"smaller": fmpq(1)}, "takes no 'smaller'"),
        ({"effort_arm": None}, "needs 'effort_arm'"),
    ],
)
def test_givens_that_do_not_fit_are_refused(change, word):
    stated = {
        "kind": "arms",
        "effort_arm": fmpq(4),
        "load_arm": fmpq(1),
        "load": fmpq(8),
        "effort": fmpq(3),
    }
    with pytest.raises(ValueError, match=word):
        Machine(**(stated | change))


def test_a_screw_of_efficiency_one_half_is_decided():
    case = Machine(
        "screw",
        effort_arm=fmpq(1),
        load_arm=fmpq(1, 7),
        load=fmpq(5),
        efficiency=fmpq(1, 2),
    )
    (state,) = prove(PERFORMANCE, case, [View("state")]).outcomes.values()
    assert state.word == "on the point of running back"


@ALL
def test_figures_are_drawn(owner):
    ar = DoubleArithmetic()
    case = owner.propose((1.5, 30), random.Random(3))
    drawing = owner.figure(case, owner.solve(case, ar, owner.rule_set()).answers, ar)
    assert drawing.caption
    assert drawing.parts


def test_every_filled_gear_matters():
    case = PERFORMANCE.filled({"gears": 4}, random.Random(2))
    (whole,) = middles(PERFORMANCE, case, "velocity ratio")
    for left_out in range(4):
        gears = case.gears[:left_out] + case.gears[left_out + 1 :]
        assert middles(PERFORMANCE, attrs.evolve(case, gears=gears), "velocity ratio") != [whole]
    assert PERFORMANCE.filled({"gears": 1000}, random.Random(2)) is None
    assert PERFORMANCE.filled({"gears": 2, "arms": 2}, random.Random(2)) is None
