"""Friction: generated cases, mistakes that show, figures, families against plain formulas."""

from __future__ import annotations

import math
import random

import attrs
import pytest
from flint import fmpq

from refsolver.arithmetic.double import DoubleArithmetic
from refsolver.arithmetic.exact import Slope
from refsolver.quantities.kinds import ChoiceKind, NoAnswer
from refsolver.quantities.views import View
from refsolver.statics.chapters.friction.blocks import Block
from refsolver.statics.prover import prove
from refsolver.statics.reference import NotProven, Proven, Word
from refsolver.statics.registry import families
from tests.shipped_cases import cases_of

OWNERS = [owner for name, owner in families().items() if name.startswith("friction/")]
ALL = pytest.mark.parametrize("owner", OWNERS, ids=lambda f: f.name)


@ALL
@pytest.mark.parametrize("kappa", [(1, 10), (1e3, 1e5), (1e8, 1e10)])
def test_generated_cases_are_proven(owner, kappa):
    for seed in range(3):
        case = owner.propose(kappa, random.Random(seed))
        reference = prove(owner, case, [View(n) for n in owner.answers], strict=True)
        assert reference.residuals == "close"
        assert reference.second_opinion == "agrees"
        assert not any(isinstance(o, NotProven) for o in reference.outcomes.values())


@ALL
def test_figures_are_drawn(owner):
    ar = DoubleArithmetic()
    case = owner.propose((1.5, 10), random.Random(5))
    drawing = owner.figure(case, owner.solve(case, ar, owner.rule_set()).answers, ar)
    assert drawing.caption
    assert drawing.parts


@ALL
def test_refusals_are_among_those_declared(owner):
    for seed in range(8):
        case = owner.propose((1.5, 1e3), random.Random(seed))
        ar = DoubleArithmetic()
        for name, value in owner.solve(case, ar, owner.rule_set()).answers.items():
            if isinstance(value, NoAnswer):
                assert value.reason in owner.answers[name].refusals


def middles(name, case, *asks):
    found = prove(families()[name], case, [View(a) for a in asks]).outcomes.values()
    assert all(isinstance(x, Proven) for x in found)
    return [float(x.enclosure.middle.p) / float(x.enclosure.middle.q) for x in found]


@pytest.mark.parametrize("seed", range(12))
def test_screw_by_angles_in_plain_doubles(seed):
    """Against Khurmi and Gupta's form with the angles themselves, W tan(alpha + phi) d / 2."""
    case = families()["friction/screw"].propose((1.2, 5), random.Random(seed))
    up, down = middles("friction/screw", case, "raising torque", "lowering torque")
    load, diameter, pitch, friction = (
        float(x.p) / float(x.q) for x in (case.load, case.mean_diameter, case.pitch, case.friction)
    )
    helix = math.atan2(pitch * case.starts, math.pi * diameter)
    phi = math.atan(friction)
    assert up == pytest.approx(load * diameter / 2 * math.tan(phi + helix), rel=1e-12)
    assert down == pytest.approx(load * diameter / 2 * math.tan(phi - helix), rel=1e-11)


@pytest.mark.parametrize("seed", range(12))
def test_belt_by_small_steps_in_plain_doubles(seed):
    """Midpoint steps of dT = mu T d(beta), the differential equation behind the exponential."""
    case = families()["friction/belt"].propose((1.2, 5), random.Random(seed))
    (ratio,) = middles("friction/belt", case, "ratio")
    exponent = float(case.friction.p) / float(case.friction.q) * math.tau
    exponent *= float(case.lap.turns.p) / float(case.lap.turns.q)
    tension, steps = 1.0, 4000
    for _ in range(steps):
        tension *= (1 + exponent / steps / 2) / (1 - exponent / steps / 2)
    assert ratio == pytest.approx(tension, rel=1e-7)


@pytest.mark.parametrize("seed", range(6))
def test_collar_by_rings_in_plain_doubles(seed):
    """Even pressure p on rings of breadth dr: the sum of mu p 2 pi r^2 dr."""
    case = families()["friction/pivot-or-collar"].propose((1.2, 5), random.Random(seed))
    even, worn = middles(
        "friction/pivot-or-collar", case, "torque, uniform pressure", "torque, uniform wear"
    )
    load, friction, outer, inner = (
        float(x.p) / float(x.q) for x in (case.load, case.friction, case.outer, case.inner)
    )
    steps, breadth = 2000, (outer - inner) / 2000
    radii = [inner + (i + 0.5) * breadth for i in range(steps)]
    area = sum(r * breadth for r in radii)
    push = case.surfaces * friction * load
    assert even == pytest.approx(push * sum(r * r * breadth for r in radii) / area, rel=1e-6)
    assert worn == pytest.approx(push * sum(r * breadth for r in radii) / (outer - inner), rel=1e-9)


@pytest.mark.parametrize("seed", range(6))
def test_the_force_that_holds_a_block_leaves_it_on_the_point(seed):
    """On a 3-4-5 slope everything is rational, so the limits can be put back exactly."""
    rng = random.Random(seed)
    weight, friction = fmpq(rng.randint(1, 99)), fmpq(rng.randint(1, 70), 100)
    slope = Slope(rise=fmpq(3), run=fmpq(4))
    block = Block(weight, friction, incline=slope)
    owner = families()["friction/block"]
    for sense, word in ((1, "up"), (-1, "down")):
        force = weight * (3 + sense * friction * 4) / 5
        held = attrs.evolve(block, force=force)
        (state,) = prove(owner, held, [View("state")]).outcomes.values()
        assert state.word == f"on the point of slipping {word}"


@ALL
def test_every_refusal_and_every_word_has_a_case(owner):
    refused, said = set(), set()
    for case in cases_of(owner.name):
        views = [View(name) for name in owner.answers]
        found = prove(owner, case.given, views, second_opinion=False, residuals=False).outcomes
        for view, outcome in found.items():
            if isinstance(outcome, NoAnswer):
                refused.add((view.answer, outcome.reason))
            elif isinstance(outcome, Word):
                said.add((view.answer, outcome.word))
    assert refused == {(n, r) for n, answer in owner.answers.items() for r in answer.refusals}
    kinds = {name: answer.kind for name, answer in owner.answers.items()}
    words = {(n, w) for n, k in kinds.items() if isinstance(k, ChoiceKind) for w in k.words}
    assert said == words
