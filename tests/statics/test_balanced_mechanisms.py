"""Mechanisms balanced at every angle, joined points that meet, positions about to meet."""

import random

import attrs
import pytest
from flint import arb, ctx, fmpq
from hypothesis import given as drawn
from hypothesis import settings
from hypothesis import strategies as st

from refsolver.arithmetic import root_search
from refsolver.arithmetic.algebraic import algebraic_decisions
from refsolver.arithmetic.enclosure import EnclosureArithmetic
from refsolver.arithmetic.exact import Constant, Turn, total
from refsolver.quantities.kinds import NoAnswer
from refsolver.quantities.views import View
from refsolver.statics.chapters.virtual_work.balanced import MechanismBetween, PlacedMechanism
from refsolver.statics.chapters.virtual_work.drawn import mechanism_with_rows, weight
from refsolver.statics.chapters.virtual_work.energy import PotentialEnergy
from refsolver.statics.chapters.virtual_work.idle import angles_that_tell, nothing_does_work
from refsolver.statics.chapters.virtual_work.mechanism import (
    BarCouple,
    Cord,
    LinkSpring,
    MovingPoint,
    PointForce,
    TorsionSpring,
)
from refsolver.statics.chapters.virtual_work.meeting_points import meeting_pair
from refsolver.statics.difficulty import RANGES
from refsolver.statics.prover import prove
from refsolver.statics.reference import NotProven, Proven, Word
from refsolver.statics.registry import families

BITS = 160
few = settings(max_examples=12, deadline=None)
seeds = st.integers(0, 10**6)
ARM = MovingPoint("tip", cosine=(fmpq(2), fmpq(0)), sine=(fmpq(0), fmpq(2)))
LOAD = PointForce("tip", weight(fmpq(10)))


def degrees(n):
    return Turn(fmpq(n) / 360)


def balanced_beam(more=0):
    """Equal moments on both sides of the pin, on one of them a little more."""
    left = MovingPoint("left", cosine=(fmpq(-2), fmpq(0)), sine=(fmpq(0), fmpq(-2)))
    heavier = PointForce("left", weight(-LOAD.force.along[1] + more), "other")
    return MechanismBetween(
        points=(left, ARM), forces=(LOAD, heavier), start=degrees(-10), end=degrees(50)
    )


def test_equilibrium_everywhere_is_proven_and_no_list_of_positions_given():
    owner = families()["virtual-work/equilibrium-positions"]
    given = balanced_beam()
    asked = [View("count"), View("positions", "value", pick=1, part="angle")]
    for outcome in prove(owner, given, asked, strict=True).outcomes.values():
        assert isinstance(outcome, NoAnswer) and outcome.reason == "no unique answer"
    placed = PlacedMechanism(points=given.points, forces=given.forces, angle=degrees(20))
    stability = families()["virtual-work/stability"]
    (word,) = prove(stability, placed, [View("stability")]).outcomes.values()
    assert word == Word("neutral")


HOOK = MovingPoint("hook", place=(fmpq(0), fmpq(1, 2)))
EYE = MovingPoint("eye", cosine=(fmpq(0), fmpq(1, 4)), sine=(fmpq(1, 4), fmpq(0)))
TIP = MovingPoint("lamp", cosine=(fmpq(0), fmpq(1, 2)), sine=(fmpq(1, 2), fmpq(0)))
LAMP = {
    "points": (HOOK, EYE, TIP),
    "forces": (PointForce("lamp", weight(fmpq(25, 2))),),
    "springs": (LinkSpring("hook", "eye", fmpq(50), fmpq(1, 8)),),
    "cords": (Cord("hook", "eye", fmpq(25, 4)),),
    "start": degrees(-170),
    "end": degrees(175),
}
"""A spring and a cord that pull together as a spring of no length, which holds the lamp."""


def as_double(x):
    """The double next to a rational, exactly."""
    return fmpq(*(float(x.p) / float(x.q)).as_integer_ratio())


def lamp(**changed):
    return MechanismBetween(**{**LAMP, **changed})


def beam_with_a_third():
    """1/3 on an arm of 1 against 1 on an arm of 1/3, one of them handed over as a double."""
    return MechanismBetween(
        points=(
            MovingPoint("long", cosine=(fmpq(1), fmpq(0)), sine=(fmpq(0), fmpq(1))),
            MovingPoint("short", cosine=(fmpq(-1, 3), fmpq(0)), sine=(fmpq(0), fmpq(-1, 3))),
        ),
        forces=(
            PointForce("long", weight(as_double(fmpq(1, 3)))),
            PointForce("short", weight(fmpq(1))),
        ),
        start=degrees(-100),
        end=degrees(100),
    )


def lamp_on_a_longer_eye():
    """The cord on an eye a last bit further out, so that two roots all but cancel."""
    other = attrs.evolve(EYE, name="beside", sine=(fmpq(1, 4) * (1 + fmpq(1, 2**52)), fmpq(0)))
    return lamp(points=(*LAMP["points"], other), cords=(Cord("hook", "beside", fmpq(25, 4)),))


def lamp_on_four_of_each():
    """So many lengths that angles cannot tell whether it is balanced; a last bit more tension."""
    springs = [LinkSpring(f"hook {i}", f"eye {i}", fmpq(50), fmpq(1, 8), f"s{i}") for i in range(4)]
    cords = [Cord(f"hook {i}", f"eye {i}", fmpq(25, 4), f"c{i}") for i in range(4)]
    cords[0] = attrs.evolve(cords[0], tension=fmpq(25, 4) * (1 + fmpq(1, 2**52)))
    points = [attrs.evolve(p, name=f"{p.name} {i}") for i in range(4) for p in (HOOK, EYE)]
    return lamp(
        points=(TIP, *points),
        forces=(PointForce("lamp", weight(fmpq(50))),),
        springs=tuple(springs),
        cords=tuple(cords),
    )


OUT_OF_BALANCE = {
    "beam": (beam_with_a_third, [-90, 90]),
    "weight": (lambda: lamp(forces=(PointForce("lamp", weight(fmpq(25, 2) * (1 - fmpq(1, 2**52)))),
                                    )), [0]),
    "tension": (lambda: lamp(springs=(LinkSpring("hook", "eye", fmpq(50), fmpq(1, 3)),),
                             cords=(Cord("hook", "eye", as_double(fmpq(50, 3))),)), [0]),
    "eye": (lamp_on_a_longer_eye, None),
    "four of each": (lamp_on_four_of_each, [0]),
    "1e-20": (lambda: lamp(cords=(Cord("hook", "eye", fmpq(25, 4) + fmpq(1, 10**20)),)), [0]),
}  # fmt: skip


@pytest.mark.parametrize("form", OUT_OF_BALANCE)
def test_what_is_out_of_balance_by_its_last_bits_has_its_positions(form, monkeypatch):
    """By hand: nothing does work but the excess, whose lever (or the rate of the length it
    pulls along) vanishes where the beam is upright, and where the arm is."""
    make, places = OUT_OF_BALANCE[form]
    owner = families()["virtual-work/equilibrium-positions"]
    evaluations = []
    first = PotentialEnergy.first
    monkeypatch.setattr(
        PotentialEnergy, "first", lambda *where: evaluations.append(1) or first(*where)
    )
    asked = [View("count"), View("positions", "value", pick=1, part="angle")]
    reference = prove(owner, make(), asked, strict=form == "beam")
    assert (reference.residuals, reference.second_opinion) == ("close", "agrees")
    count, where = reference.outcomes.values()
    assert len(evaluations) < 3000
    assert isinstance(count, Proven) and isinstance(where, Proven)
    if places is not None:
        assert count.ball.overlaps(arb(len(places)))
        assert (360 * where.ball).overlaps(arb(places[0]))


def test_what_takes_more_than_may_be_looked_at_is_not_proven(monkeypatch):
    monkeypatch.setattr(root_search, "MOST_EVALUATIONS", 700)
    evaluations = []
    first = PotentialEnergy.first
    monkeypatch.setattr(
        PotentialEnergy, "first", lambda *where: evaluations.append(1) or first(*where)
    )
    owner = families()["virtual-work/equilibrium-positions"]
    (outcome,) = prove(owner, lamp_on_a_longer_eye(), [View("count")]).outcomes.values()
    assert isinstance(outcome, NotProven)
    assert "positions of equilibrium" in outcome.why and "given up after 700" in outcome.why
    assert len(evaluations) < 1400


def test_a_beam_that_is_hardly_out_of_balance_has_its_position():
    given = balanced_beam(fmpq(1, 10**9))
    wider = attrs.evolve(given, start=degrees(-100), end=degrees(100))
    owner = families()["virtual-work/equilibrium-positions"]
    with ctx.workprec(BITS):
        ar = EnclosureArithmetic()
        for case in (given, wider):
            energy = PotentialEnergy(case, ar, owner.rule_set())
            first = lambda c, s, of=energy: of.first(0 * c, c, s)[0]  # noqa: E731
            assert nothing_does_work(case, first, case.start.turns, case.end.turns, ar) == []


@settings(max_examples=4, deadline=None)
@drawn(seeds, st.integers(0, 2))
def test_a_mechanism_is_balanced_at_every_angle_by_its_own_forces_reversed(seed, cords):
    """Each load with its opposite, and each cord with a spring that pulls as much less."""
    rng = random.Random(seed)
    rows = mechanism_with_rows({"points": 3, "forces": 3, "cords": 3}, rng)
    start = fmpq(rng.randint(-180, 0), 360)
    given = MechanismBetween(
        points=rows["points"],
        forces=tuple(
            PointForce(load.at, attrs.evolve(load.force, magnitude=sense * load.force.magnitude),
                       f"{n} {sense}")
            for n, load in enumerate(rows["forces"]) for sense in (1, -1)
        ),
        couples=(BarCouple(fmpq(3)), BarCouple(fmpq(-3))),
        start=Turn(start),
        end=Turn(start + fmpq(rng.randint(10, 360), 360)),
    )  # fmt: skip
    one_more = attrs.evolve(given, cords=rows["cords"][:cords])
    owner = families()["virtual-work/equilibrium-positions"]
    for case, idle in ((given, True), (one_more, cords == 0)):
        answers = prove(owner, case, [View("count")]).outcomes.values()
        assert [isinstance(x, NoAnswer) for x in answers] == [idle]


def test_as_many_angles_are_looked_at_as_the_radicals_ask_for():
    given = balanced_beam()
    assert len(angles_that_tell(given, fmpq(0), fmpq(1))) == 5
    assert angles_that_tell(given, fmpq(0), fmpq(1, 10**9)) == []
    sprung = attrs.evolve(given, torsion_springs=(TorsionSpring(fmpq(1)),))
    assert angles_that_tell(sprung, fmpq(0), fmpq(1)) == []
    for cords, count in ((1, 17), (2, 49), (3, 129), (4, 0)):
        held = attrs.evolve(
            given, cords=tuple(Cord("left", "tip", fmpq(1), f"cord {i}") for i in range(cords))
        )
        halves = angles_that_tell(held, fmpq(-1, 3), fmpq(1, 2))
        assert len(set(halves)) == count
        assert all(x > -fmpq(1733, 1000) for x in halves)


@few
@drawn(seeds, st.integers(-12, 12), st.integers(1, 12), st.sampled_from(["line", "circle", "none"]))
def test_where_joined_points_meet_is_seen_between_the_angles_and_not_at_them(
    seed, first, width, way
):
    """A tip that passes a fixed point at a whole multiple of 30 degrees, or beside it."""
    rng = random.Random(seed)
    start, end = fmpq(first, 12), fmpq(first + width, 12)
    meets = Turn(fmpq(rng.randint(0, 11), 12))
    tip = MovingPoint("tip", cosine=(fmpq(5), fmpq(0)), sine=(fmpq(0), fmpq(5)))
    cosine, sine = (
        Constant("product", (fmpq(5), Constant(name, (meets,)))) for name in ("cos", "sin")
    )
    if way == "line":
        tip = MovingPoint("tip", cosine=(fmpq(5), fmpq(5)))
        place = (cosine, cosine)
    else:
        place = (cosine, sine if way == "circle" else total(sine, fmpq(1, 10**20)))
    given = MechanismBetween(
        points=(tip, MovingPoint("fixed", place)),
        cords=(Cord("tip", "fixed", fmpq(1)),),
        start=Turn(start),
        end=Turn(end),
    )
    passed = {meets.turns, 1 - meets.turns} if way == "line" else {meets.turns}
    inside = way != "none" and any(start < x + n < end for x in passed for n in range(-3, 4))
    found = []

    def run(ar):
        found[:] = [meeting_pair(given, start, end, ar)]

    algebraic_decisions(run, 100, 10_000)
    assert found == [("tip", "fixed") if inside else None]


def test_points_that_never_part_and_points_that_never_move():
    never = MovingPoint("never", (fmpq(1), fmpq(2)))
    for other, meet in ((MovingPoint("other", (fmpq(1), fmpq(2))), True),
                        (MovingPoint("other", (fmpq(1), fmpq(3))), False)):  # fmt: skip
        given = MechanismBetween(
            points=(never, other), cords=(Cord("never", "other", fmpq(1)),),
            start=degrees(40), end=degrees(41),
        )  # fmt: skip
        pair = meeting_pair(given, fmpq(40, 360), fmpq(41, 360), EnclosureArithmetic())
        assert pair == (("never", "other") if meet else None)


@pytest.mark.parametrize("kappa", RANGES)
def test_positions_about_to_meet_are_proven_however_near(kappa):
    owner = families()["virtual-work/equilibrium-positions"]
    given = owner.propose(kappa, random.Random(5))
    (outcome,) = prove(owner, given, [View("count")], digits=15).outcomes.values()
    assert isinstance(outcome, Proven) and outcome.ball.contains_integer()
