"""Virtual work: bad givens, conventions, and properties that hold exactly."""

import random
from functools import partial

import attrs
import pytest
from flint import arb, ctx, fmpq
from hypothesis import given as drawn
from hypothesis import settings
from hypothesis import strategies as st

from refsolver.arithmetic.derivative import DerivativeArithmetic
from refsolver.arithmetic.enclosure import EnclosureArithmetic
from refsolver.arithmetic.exact import Slope, Turn
from refsolver.catalogue.blank import blank_case
from refsolver.quantities.kinds import NoAnswer
from refsolver.quantities.leaves import ByRun, Components
from refsolver.quantities.views import View
from refsolver.statics.chapters.virtual_work.balanced import MechanismBetween, PlacedMechanism
from refsolver.statics.chapters.virtual_work.drawn import mechanism_with_rows, weight
from refsolver.statics.chapters.virtual_work.held import HeldMechanism
from refsolver.statics.chapters.virtual_work.mechanism import (
    BarCouple,
    LinkSpring,
    Mechanism,
    MovingPoint,
    PointForce,
    TorsionSpring,
)
from refsolver.statics.chapters.virtual_work.rocking import RockingBody
from refsolver.statics.chapters.virtual_work.slider_crank import CrankAndRod
from refsolver.statics.chapters.virtual_work.work_of_forces import ForcesAndDisplacements
from refsolver.statics.prover import asks_of, prove
from refsolver.statics.registry import families, family

BITS = 160
few = settings(max_examples=12, deadline=None)
seeds = st.integers(0, 10**6)
ROWS = {"points": 3, "forces": 4, "couples": 1, "springs": 2, "cords": 1, "torsion_springs": 1}


def solved(name, given):
    owner = families()[f"virtual-work/{name}"]
    with ctx.workprec(BITS):
        return owner.solve(given, EnclosureArithmetic(), owner.rule_set()).answers


def tables(seed, **rows):
    return mechanism_with_rows({**ROWS, **rows}, random.Random(seed))


def degrees(n):
    return Turn(fmpq(n) / 360)


ARM = MovingPoint("tip", cosine=(fmpq(2), fmpq(0)), sine=(fmpq(0), fmpq(2)))
LOAD = PointForce("tip", weight(fmpq(10)))


# --- what is refused in the givens ----------------------------------------------------------


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (partial(Mechanism, points=(ARM,)), "nothing acts"),
        (partial(Mechanism, points=(ARM, ARM), forces=(LOAD,)), "two go by the name 'tip'"),
        (partial(Mechanism, forces=(LOAD,)), "there is no point 'tip'; there are: none"),
        (
            partial(
                Mechanism,
                points=(ARM,),
                springs=(LinkSpring("tip", "tip", fmpq(1), fmpq(1)),),
            ),
            "both ends at 'tip'",
        ),
        (
            partial(
                Mechanism,
                points=(ARM,),
                forces=(attrs.evolve(LOAD, name="M"),),
                couples=(BarCouple(fmpq(1), name="M"),),
            ),
            "two go by the name 'M'",
        ),
        (
            partial(
                HeldMechanism, points=(ARM,), forces=(LOAD,), angle=degrees(0), holding_at="tip"
            ),
            "both 'holding_at' and 'holding_along'",
        ),
        (
            partial(
                HeldMechanism,
                points=(ARM,),
                forces=(LOAD,),
                angle=degrees(0),
                holding_at="top",
                holding_along=ByRun((fmpq(0), fmpq(1))),
            ),
            "no point 'top' for the sought force",
        ),
        (
            partial(
                MechanismBetween, points=(ARM,), forces=(LOAD,), start=degrees(9), end=degrees(1)
            ),
            "must be less than",
        ),
        (
            partial(
                MechanismBetween, points=(ARM,), forces=(LOAD,), start=degrees(0), end=degrees(361)
            ),
            "more than one turn",
        ),
        (
            partial(
                MechanismBetween,
                points=(ARM,),
                forces=(LOAD,),
                start=degrees(0),
                end=Slope(fmpq(1), fmpq(1)),
            ),
            "in degrees",
        ),
        (ForcesAndDisplacements, "no force and no couple"),
        (partial(CrankAndRod, fmpq(1), fmpq(2), degrees(30)), "nothing acts on the crank"),
        (partial(RockingBody, fmpq(1)), "flat on flat"),
        (partial(RockingBody, fmpq(1), fmpq(2), None, "hollow"), "hollow support needs"),
    ],
)
def test_givens_that_make_no_case_are_refused(make, words):
    with pytest.raises(ValueError, match=words):
        make()


# --- properties -----------------------------------------------------------------------------


@few
@drawn(seeds, st.integers(-80, 80))
def test_what_holds_a_mechanism_is_the_slope_of_its_energy(seed, angle):
    """The holding couple, the first derivative, and equilibrium once the couple acts."""
    rows = tables(seed)
    held = solved("holding-force", HeldMechanism(**rows, angle=degrees(angle)))
    placed = solved("stability", PlacedMechanism(**rows, angle=degrees(angle)))
    with ctx.workprec(BITS):
        assert held["couple"].overlaps(placed["first"])
        assert held["couple"].rad() < arb("1e-30")


@few
@drawn(seeds, st.integers(-80, 80))
def test_effects_of_forces_add(seed, angle):
    """The couple that holds all loads is the sum of those that hold each table alone."""
    rows = tables(seed)
    whole = solved("holding-force", HeldMechanism(**rows, angle=degrees(angle)))["couple"]
    acting = ("forces", "couples", "springs", "cords", "torsion_springs")
    with ctx.workprec(BITS):
        total = arb(0)
        for table in acting:
            alone = {**rows, **{other: () for other in acting if other != table}}
            total += solved("holding-force", HeldMechanism(**alone, angle=degrees(angle)))["couple"]
        assert abs(total - whole) < arb("1e-30")


@few
@drawn(seeds)
def test_positions_are_in_equilibrium_and_their_stability_is_that_of_the_place(seed):
    """Each position found, turned back into a fraction of a degree, is driven back or away."""
    rows = mechanism_with_rows({"points": 2, "forces": 3, "springs": 1}, random.Random(seed))
    between = MechanismBetween(**rows, start=degrees(-171), end=degrees(189))
    states = solved("equilibrium-positions", between)["positions"]
    assert len(states) % 2 == 0, "V' has the period of a turn, so it rises as often as it falls"
    words = [state["stability"].word for state in states]
    assert all(a != b for a, b in zip(words, words[1:], strict=False))
    for state in states:
        with ctx.workprec(BITS):
            turns = state["angle"] / (2 * arb.pi())
            mantissa, exponent = (turns + arb("1e-6")).mid().man_exp()
            beyond = Turn(fmpq(int(mantissa)) * fmpq(2) ** int(exponent))
        placed = solved("stability", PlacedMechanism(**rows, angle=beyond))
        driven = placed["balance"].word
        stable = state["stability"].word == "stable"
        assert driven == ("driven to smaller angles" if stable else "driven to larger angles")


@few
@drawn(seeds, st.integers(-170, 170))
def test_moving_the_whole_mechanism_aside_changes_nothing(seed, angle):
    rows = tables(seed)
    moved = tuple(
        attrs.evolve(p, place=(p.place[0] + 7, p.place[1] - fmpq(5, 3))) for p in rows["points"]
    )
    here = solved("stability", PlacedMechanism(**rows, angle=degrees(angle)))
    there = solved("stability", PlacedMechanism(**{**rows, "points": moved}, angle=degrees(angle)))
    with ctx.workprec(BITS):
        assert abs(here["first"] - there["first"]) < arb("1e-30")
        assert abs(here["second"] - there["second"]) < arb("1e-30")


@few
@drawn(st.integers(1, 179), st.integers(1, 30), st.integers(31, 90))
def test_a_crank_and_rod_turned_round_the_line_is_the_same(angle, crank, rod):
    """Mirrored about the slider's line, with the couple reversed."""
    make = partial(CrankAndRod, fmpq(crank), fmpq(rod))
    here = solved("slider-crank", make(degrees(angle), couple=fmpq(7)))
    there = solved("slider-crank", make(degrees(-angle), couple=fmpq(-7)))
    with ctx.workprec(BITS):
        for answer in ("slider", "force", "rod_force"):
            assert here[answer].overlaps(there[answer])


@pytest.mark.parametrize("angle", ["100", "181.97", "-90.5"])
def test_a_rod_folded_over_its_crank_stays_on_the_axis(angle):
    """Of one length they fold on the far side, and no force on the slider is felt there."""
    places = len(angle.partition(".")[2])
    turned = Turn(fmpq(int(angle.replace(".", "")), 360 * 10**places))
    case = CrankAndRod(fmpq(99, 50), fmpq(99, 50), turned, couple=fmpq(5))
    owner = family("virtual-work/slider-crank")
    found = prove(owner, case, [View(name) for name in owner.answers], strict=True).outcomes
    slider, displacement, force, _ = found.values()
    assert slider.how == displacement.how == "zero" and force.reason == "no solution"


@pytest.mark.parametrize("angle", [10, 47, -80])
def test_bars_of_one_length_make_a_toggle(angle):
    """x = 2 r cos t, so dx/dt = -2 r sin t, and M = 2 F r sin t by the work of one radian."""
    case = CrankAndRod(fmpq(99, 50), fmpq(99, 50), degrees(angle), couple=fmpq(5))
    found = solved("slider-crank", case)
    with ctx.workprec(BITS):
        cosine, sine = (f(arb(angle) / 180) for f in (arb.cos_pi, arb.sin_pi))
        reach = 2 * arb(fmpq(99, 50))
        assert abs(found["slider"] - reach * cosine) < arb("1e-30")
        assert abs(found["displacement"] + reach * sine) < arb("1e-30")
        assert abs(found["force"] * reach * sine - 5) < arb("1e-30")


@few
@drawn(st.integers(1, 90), st.integers(1, 90), st.integers(1, 90))
def test_rocking_depends_on_the_sum_of_the_curvatures(height, one, other):
    """Body and support may exchange their radii."""
    here = solved("rocking", RockingBody(fmpq(height), fmpq(one), fmpq(other), weight=fmpq(3)))
    there = solved("rocking", RockingBody(fmpq(height), fmpq(other), fmpq(one), weight=fmpq(3)))
    assert here["stability"].word == there["stability"].word
    with ctx.workprec(BITS):
        assert here["stiffness"].overlaps(there["stiffness"])


# --- conventions and what is not decided ------------------------------------------------------


def test_a_load_on_a_level_arm_drives_it_to_smaller_angles():
    """Counter-clockwise is the sense of the angle, so a weight at the right turns it back."""
    answers = solved("stability", PlacedMechanism(points=(ARM,), forces=(LOAD,), angle=degrees(0)))
    assert answers["balance"].word == "driven to smaller angles"
    held = solved("holding-force", HeldMechanism(points=(ARM,), forces=(LOAD,), angle=degrees(0)))
    assert held["couple"].contains(20) and isinstance(held["force"], NoAnswer)


def test_the_sensitivity_of_a_position_to_a_spring():
    """20 sin a = k a (1 m rod): da/dk = a / (20 cos a - k), by the implicit function theorem."""
    stiffness = fmpq(13)
    rod = MovingPoint("top", cosine=(fmpq(0), fmpq(1)), sine=(fmpq(1), fmpq(0)))
    given = MechanismBetween(
        points=(rod,),
        forces=(PointForce("top", weight(fmpq(20))),),
        torsion_springs=(TorsionSpring(stiffness),),
        start=degrees(5),
        end=degrees(175),
    )
    owner = families()["virtual-work/equilibrium-positions"]
    with ctx.workprec(BITS):
        ar = DerivativeArithmetic([stiffness])
        (state,) = owner.solve(given, ar, owner.rule_set()).answers["positions"]
        a = state["angle"]
        assert abs(a.gradient[0] - a.value / (20 * a.value.cos() - 13)) < arb("1e-20")


def test_a_pull_across_the_way_does_no_work_and_is_proven_to():
    given = ForcesAndDisplacements(
        forces=(
            families()["virtual-work/work-of-forces"]
            .filled({"forces": 1}, random.Random(1))
            .forces[0],
        )
    )
    force = Components((fmpq(3), fmpq(4), fmpq(0)))
    across = attrs.evolve(
        given.forces[0], force=force, displacement=Components((fmpq(-4), fmpq(3), fmpq(9)))
    )
    owner = families()["virtual-work/work-of-forces"]
    case = attrs.evolve(given, forces=(across,))
    outcomes = prove(owner, case, asks_of(owner, case)).outcomes
    assert {outcome.how for outcome in outcomes.values()} == {"zero"}


def test_a_blank_case_says_how_one_of_several_solutions_is_asked_for():
    blank = blank_case("virtual-work/equilibrium-positions")
    assert "pick: the number of the solution; part angle, take: value, size" in blank
    assert "part stability, take: word" in blank
    assert blank.endswith('answer = "positions"\npick = 1\npart = "<part>"\nvalue = "<62.0 lbf>"\n')
