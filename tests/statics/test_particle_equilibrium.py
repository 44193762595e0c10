"""Particles in equilibrium: determinacy decided exactly, cables, pulleys, springs."""

import random

import pytest
from flint import arb, ctx, fmpq, fmpq_mat
from hypothesis import given, settings
from hypothesis import strategies as st

from refsolver.arithmetic.double import DoubleArithmetic
from refsolver.arithmetic.exact import Turn
from refsolver.quantities.kinds import NoAnswer
from refsolver.quantities.leaves import ByAngle, ByRun, Components, Polar
from refsolver.quantities.views import View
from refsolver.statics.chapters.particle_equilibrium.cords import (
    KnotAndCounterweights,
    PulleyOnCable,
)
from refsolver.statics.chapters.particle_equilibrium.held_particle import (
    PlaneParticle,
    PlaneSupport,
    SpaceParticle,
    SpaceSupport,
)
from refsolver.statics.chapters.particle_equilibrium.springs import PlaneSpring, RingOnSprings
from refsolver.statics.drawing import Arrow
from refsolver.statics.forces.concurrent import PlaneForce, SpaceForce
from refsolver.statics.prover import asks_of, prove
from refsolver.statics.reference import Proven
from refsolver.statics.registry import family
from refsolver.statics.vectors import vector

small = st.integers(-3, 3)
plane_runs = st.tuples(small, small).filter(any)
space_runs = st.tuples(small, small, small).filter(any)


def exact(run):
    return tuple(fmpq(x) for x in run)


def plane(load, *runs):
    supports = tuple(PlaneSupport(ByRun(exact(run))) for run in runs)
    return PlaneParticle((PlaneForce(Components(exact(load))),), supports)


def space(load, *runs):
    supports = tuple(SpaceSupport(ByRun(exact(run))) for run in runs)
    return SpaceParticle((SpaceForce(Components(exact(load))),), supports)


def forces(name, given, count):
    views = [View("forces", key=f"support {n}") for n in range(1, count + 1)]
    return list(prove(family(name), given, views, digits=20).outcomes.values())


def expected(load, runs):
    """For each support a reason, or the force over the length of its run.

    By fmpq_mat's rank and reduced echelon form, which the family does not use.
    """
    space = len(load)
    matrix = fmpq_mat([[fmpq(run[i]) for run in runs] for i in range(space)])
    wide = fmpq_mat([[*(fmpq(run[i]) for run in runs), fmpq(-load[i])] for i in range(space)])
    if wide.rank() > matrix.rank():
        return ["improper constraint" if len(runs) >= space else "no solution"] * len(runs)
    echelon, rank = wide.rref()
    answers = ["redundant"] * len(runs)
    for row in range(rank):
        entries = [echelon[row, j] for j in range(len(runs))]
        if sum(x != 0 for x in entries) == 1:
            answers[next(j for j, x in enumerate(entries) if x != 0)] = echelon[row, len(runs)]
    return answers


def agrees(outcome, wanted, run):
    if isinstance(wanted, str):
        return isinstance(outcome, NoAnswer) and outcome.reason == wanted
    square = wanted * wanted * sum(x * x for x in run)
    low, high = sorted((outcome.enclosure.lower**2, outcome.enclosure.upper**2))
    inside = low <= square <= high
    return inside and (wanted == 0 or (outcome.enclosure.middle > 0) == (wanted > 0))


@settings(max_examples=150, deadline=None)
@given(plane_runs, st.lists(plane_runs, min_size=1, max_size=4))
def test_plane_supports_are_decided_as_by_echelon_form(load, runs):
    found = forces("particle-equilibrium/plane-tensions", plane(load, *runs), len(runs))
    for outcome, wanted, run in zip(found, expected(load, runs), runs, strict=True):
        assert agrees(outcome, wanted, run), (outcome, wanted)


@settings(max_examples=150, deadline=None)
@given(space_runs, st.lists(space_runs, min_size=1, max_size=5))
def test_space_supports_are_decided_as_by_echelon_form(load, runs):
    found = forces("particle-equilibrium/space-tensions", space(load, *runs), len(runs))
    for outcome, wanted, run in zip(found, expected(load, runs), runs, strict=True):
        assert agrees(outcome, wanted, run), (outcome, wanted)


@settings(max_examples=40, deadline=None)
@given(st.integers(1, 1799), st.integers(1, 1799), st.integers(0, 3599))
def test_three_balanced_pulls_obey_the_sine_rule(a, b, spin):
    """Lami's theorem, at decimal degrees: each pull over the sine of the opposite angle."""
    c = 3600 - a - b
    if not 0 < c < 1800:
        return
    ray = [fmpq(spin, 3600), fmpq(spin + a, 3600), fmpq(spin + a + b, 3600)]
    load = Polar(fmpq(1), ByAngle(Turn(ray[0])))
    supports = tuple(PlaneSupport(ByAngle(Turn(turn))) for turn in ray[1:])
    particle = PlaneParticle((PlaneForce(load),), supports)
    first, second = forces("particle-equilibrium/plane-tensions", particle, 2)
    with ctx.workprec(120):
        sine = [arb.sin_pi_fmpq(fmpq(2 * x, 3600)) for x in (a, b, c)]
        for outcome, opposite in ((first, sine[2]), (second, sine[0])):
            assert (outcome.ball * sine[1]).overlaps(opposite)


def state(given):
    view = View("state")
    return prove(family("particle-equilibrium/plane-tensions"), given, [view]).outcomes[view]


def test_a_cable_cannot_push_and_a_bar_can():
    cable = plane((0, -1), (1, 1), (1, 0))
    assert state(cable).word == "cannot hold"
    bar = PlaneParticle(
        cable.forces, (cable.supports[0], PlaneSupport(ByRun(exact((1, 0))), kind="bar"))
    )
    assert state(bar).word == "holds"


def test_wrong_givens_are_refused_in_words():
    run = ByRun(exact((1, 0)))
    with pytest.raises(ValueError, match="stiffness belongs to"):
        PlaneSupport(run, stiffness=fmpq(3))
    with pytest.raises(ValueError, match="only a cable"):
        PlaneSupport(run, other_part=run, kind="bar")
    with pytest.raises(ValueError, match="its ends coincide"):
        RingOnSprings(exact((1, 2)), (PlaneSpring(exact((1, 2)), fmpq(1), fmpq(1)),))


def outcomes(name, given):
    owner = family(name)
    return prove(owner, given, asks_of(owner, given), digits=25).outcomes


lengths = st.integers(1, 400).map(lambda n: fmpq(n, 20))


@settings(max_examples=80, deadline=None)
@given(lengths, lengths, st.integers(-200, 200).map(lambda n: fmpq(n, 20)))
def test_a_running_pulley_lies_on_the_ellipse_of_its_cable(reach, span, rise):
    """Both focal distances together make the cable; no lower point of the ellipse exists."""
    found = outcomes(
        "particle-equilibrium/running-pulley", PulleyOnCable(reach, span, fmpq(1), rise)
    )
    if reach * reach <= span * span + rise * rise:
        assert all(isinstance(o, NoAnswer) for o in found.values())
        return
    x = found[View("place", "coordinate", along="+x")].enclosure.middle
    y = found[View("place", "coordinate", along="+y")].enclosure.middle
    x, y, d, h, total = (float(v.p) / float(v.q) for v in (x, y, span, rise, reach))

    def focal(at, level):
        return (at**2 + level**2) ** 0.5 + ((d - at) ** 2 + (h - level) ** 2) ** 0.5

    assert focal(x, y) == pytest.approx(total, rel=1e-12)
    for step in (1e-3, -1e-3):
        assert focal(x + step * total, y) >= total * (1 - 1e-12)


@settings(max_examples=60, deadline=None)
@given(*[st.integers(1, 60).map(fmpq)] * 3)
def test_counterweights_need_a_triangle(left, right, load):
    given = KnotAndCounterweights(left, right, load, fmpq(5))
    found = outcomes("particle-equilibrium/two-counterweights", given)
    flat = 2 * max(left, right, load) >= left + right + load
    between = found[View("between", "value")]
    assert isinstance(between, NoAnswer) == flat


def test_a_spring_in_its_own_length_pulls_nothing():
    ring = RingOnSprings(exact((0, 0)), (PlaneSpring(exact((3, 4)), fmpq(7), fmpq(5)),))
    found = outcomes("particle-equilibrium/plane-springs", ring)
    force = found[View("forces", "value", key="spring 1")]
    assert isinstance(force, Proven) and force.enclosure.is_zero


def test_a_table_of_one_spring_is_filled_and_one_of_none_is_not():
    owner = family("particle-equilibrium/plane-springs")
    assert len(owner.filled({"springs": 1}, random.Random(1)).springs) == 1
    assert owner.filled({"springs": 0}, random.Random(1)) is None


def test_loads_are_drawn_at_the_particle():
    owner, ar = family("particle-equilibrium/plane-tensions"), DoubleArithmetic()
    case = owner.filled({"forces": 3, "supports": 2}, random.Random(1))
    parts = owner.figure(case, owner.solve(case, ar, owner.rule_set()).answers, ar).parts
    drawn = [(p.at, p.vector) for p in parts if isinstance(p, Arrow) and p.role == "given"]
    loads = [tuple(vector(item.force, ar)) for item in case.forces]
    assert [(tuple(at), tuple(force)) for at, force in drawn] == [((0, 0), x) for x in loads]
