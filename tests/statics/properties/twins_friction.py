"""Friction: families that must agree, and one family asked twice."""

from __future__ import annotations

import random
from typing import Any

import attrs
from flint import arb, fmpq

from refsolver.arithmetic.enclosure import EnclosureArithmetic, evaluate, seen_sign
from refsolver.arithmetic.exact import Slope, Turn, total
from refsolver.quantities.folding import over, times
from refsolver.quantities.kinds import NoAnswer
from refsolver.statics.contract import Family
from tests.statics.properties.claims import Answers, Claim
from tests.statics.properties.motions import opposite
from tests.statics.properties.twinning import ONE, PI, RIGHT, TWO, ZERO, asked, picked, twin


@twin("friction/block")
def slips_before_it_tips(owner: Family, given: Any, rng: random.Random) -> Claim | None:
    """A block that cannot tip is a block."""
    other = asked(
        "friction/slip-or-tip",
        weight=given.weight,
        breadth=fmpq(1000),
        centre_height=fmpq(1, 1000),
        friction=given.static,
        force_height=ZERO,
        force_angle=given.force_angle,
        incline=given.incline,
    )
    names = {"force to move up": "force to slip", "angle of repose": "angle of repose"}
    return (
        Claim(given, [other], lambda found: picked(found, names))
        if seen_sign(given.static) == 1
        else None
    )


@twin("friction/slip-or-tip")
def slips_as_a_block_does(owner: Family, given: Any, rng: random.Random) -> Claim | None:
    other = asked(
        "friction/block",
        weight=given.weight,
        static=given.friction,
        incline=given.incline,
        force_angle=given.force_angle,
    )
    names = {"force to slip": "force to move up", "angle of repose": "angle of repose"}
    return Claim(given, [other], lambda found: picked(found, names))


@twin("friction/two-trials")
def two_trials_of_a_known_block(owner: Family, given: Any, rng: random.Random) -> Claim | None:
    """Slopes of 3 in 4 and the like keep the force that just moves a block rational."""
    friction, weight = fmpq(rng.randint(1, 30), 40), fmpq(rng.randint(1, 99))

    def trial() -> tuple[fmpq, Slope, Slope]:
        (a, b, c), (p, q, r) = (rng.choice(((3, 4, 5), (5, 12, 13), (0, 1, 1))) for _ in "ab")
        up, across = weight * fmpq(a, c), weight * fmpq(b, c)
        force = (up + friction * across) / (fmpq(q, r) + friction * fmpq(p, r))
        return force, Slope(fmpq(a), fmpq(b)), Slope(fmpq(p), fmpq(q))

    first, second = trial(), trial()
    if first == second:
        return None
    found = owner.givens(
        first=first[0],
        second=second[0],
        first_incline=first[1],
        second_incline=second[1],
        first_angle=first[2],
        second_angle=second[2],
    )
    answers = {"coefficient": evaluate(friction), "weight": evaluate(weight)}
    return Claim(found, [(owner, found)], lambda again: _unless_refused(again, answers))


def _unless_refused(found: Answers, answers: Answers) -> Answers:
    """Where two trials say the same thing there is nothing to claim."""
    return {n: x for n, x in answers.items() if not isinstance(found[n], NoAnswer)}


@twin("friction/blocks-over-a-pulley")
def a_weight_that_hangs_is_a_force(owner: Family, given: Any, rng: random.Random) -> Claim | None:
    given = attrs.evolve(given, second_incline=RIGHT, second_friction=ZERO, second=None)
    other = asked(
        "friction/block",
        weight=given.first,
        static=given.first_friction,
        incline=given.first_incline,
    )

    names = {"least second weight": "force to hold", "greatest second weight": "force to move up"}

    def expect(found: Answers) -> Answers:
        return {
            name: force
            for name, force in picked(found, names).items()
            if not isinstance(force, NoAnswer) and bool(force > 0)
        }

    return Claim(given, [other], expect)


@twin("friction/rolling")
def rolling_is_friction_of_a_over_r(owner: Family, given: Any, rng: random.Random) -> Claim | None:
    if given.upper_coefficient is not None:
        return None
    other = asked(
        "friction/block",
        weight=given.load,
        static=over(given.coefficient, given.radius),
        incline=given.incline,
    )
    names = {
        "force to roll up": "force to move up",
        "resistance": "limiting friction",
        "rolling angle": "angle of repose",
    }

    def expect(found: Answers) -> Answers:
        ratio = evaluate(given.coefficient) / evaluate(given.radius)
        alike = {n: x for n, x in picked(found, names).items() if not isinstance(x, NoAnswer)}
        return {**alike, "resistance ratio": ratio}

    return Claim(given, [other], expect)


@twin("friction/rolling")
def up_and_down_a_level_are_alike(owner: Family, given: Any, rng: random.Random) -> Claim:
    given = attrs.evolve(given, incline=Turn(ZERO))
    names = {"force to roll up": "force to roll down", "force to roll down": "resistance"}
    return Claim(given, [(owner, given)], lambda found: picked(found, names))


@twin("friction/screw")
def a_screw_is_a_plane_wound_up(owner: Family, given: Any, rng: random.Random) -> Claim | None:
    """The effort acts level, so that it leans from the plane of the thread into it."""
    given = attrs.evolve(given, thread_angle=None, collar_friction=ZERO, collar_radius=ZERO)
    lead = times(fmpq(given.starts), given.pitch)
    climb = Slope(lead, times(PI, given.mean_diameter))
    other = asked(
        "friction/block",
        weight=given.load,
        static=given.friction,
        incline=climb,
        force_angle=opposite(climb),
    )

    def expect(found: Answers) -> Answers:
        radius = evaluate(given.mean_diameter) / 2
        up, hold = found["force to move up"], found["force to hold"]
        after: dict[str, Any] = {}
        if not isinstance(up, NoAnswer):
            after["raising torque"] = up * radius
        if not isinstance(hold, NoAnswer):
            after["lowering torque"] = -hold * radius
        return after

    return Claim(given, [other], expect)


@twin("friction/belt")
def laps_follow_each_other(owner: Family, given: Any, rng: random.Random) -> Claim | None:
    """What is tight where one lap ends is slack where the next begins: ratios multiply."""
    if not isinstance(given.lap, Turn) or given.known == "difference":
        return None
    share = fmpq(rng.randint(1, 9), 10)
    cut = [attrs.evolve(given, lap=Turn(given.lap.turns * s)) for s in (share, 1 - share)]

    def expect(first: Answers, second: Answers) -> Answers:
        if isinstance(first["ratio"], NoAnswer):
            return {}
        ratio = first["ratio"] * second["ratio"]
        tension = evaluate(given.tension)
        far = {"slack": tension / ratio} if given.known == "tight" else {"tight": tension * ratio}
        return {"ratio": ratio, **far}

    return Claim(given, [(owner, one) for one in cut], expect)


@twin("friction/band-brake")
def a_band_is_a_belt(owner: Family, given: Any, rng: random.Random) -> Claim | None:
    if given.lap in (None, Turn(ZERO)) or given.blocks:
        return None
    other = asked("friction/belt", friction=given.friction, lap=given.lap, tension=ONE)
    return Claim(given, [other], lambda found: {"tension ratio": found["ratio"]})


@twin("friction/belt-lap")
def laps_make_whole_turns(owner: Family, given: Any, rng: random.Random) -> Claim:
    """Both laps of an open belt make one turn; those of a crossed one are alike."""

    def expect(found: Answers) -> Answers:
        lap = found["lap on the larger"]
        if isinstance(lap, NoAnswer):
            return {}
        return {
            "lap on the smaller": 2 * arb.pi() - lap if given.run == "open" else lap,
            "lean": (lap - arb.pi()) / 2,
        }

    return Claim(given, [(owner, given)], expect)


@twin("friction/face-size")
def the_face_that_bears_the_pressure(owner: Family, given: Any, rng: random.Random) -> Claim | None:
    """A flat face of known radii leaves a known pressure; asked for that, it comes back."""
    inner, ratio = fmpq(rng.randint(1, 40)), fmpq(rng.randint(11, 40), 10)
    outer, load = inner * ratio, fmpq(rng.randint(1, 999))
    friction, speed = given.friction, fmpq(rng.randint(1, 99))
    mean = rng.random() < 0.5
    width = (outer * outer - inner * inner) if mean else 2 * inner * (outer - inner)
    wear = owner.givens(
        ratio=ratio,
        pressure=over(load / width, PI),
        friction=friction,
        pressure_is="mean" if mean else "greatest",
        surfaces=given.surfaces,
        load=load,
        speed=speed,
    )
    bearing = asked(
        "friction/pivot-or-collar",
        friction=friction,
        outer=outer,
        inner=inner,
        surfaces=given.surfaces,
        load=load,
        speed=speed,
    )

    def expect(found: Answers) -> Answers:
        after: dict[str, Any] = {}
        for way in ("uniform wear", "uniform pressure") if mean else ("uniform wear",):
            after[f"inner radius, {way}"] = evaluate(inner)
            after[f"outer radius, {way}"] = evaluate(outer)
            for what in ("load", "torque", "power"):
                after[f"{what}, {way}"] = found[f"{what}, {way}"]
        return after

    return Claim(wear, [bearing], expect)


@twin("friction/pivot-or-collar")
def rings_under_one_pressure_add_up(owner: Family, given: Any, rng: random.Random) -> Claim | None:
    between = over(total(given.inner, given.outer), TWO)
    pressed = attrs.evolve(
        given, pressure=fmpq(rng.randint(1, 90)), load=None, torque=None, power=None, speed=None
    )
    rings = [attrs.evolve(pressed, outer=between), attrs.evolve(pressed, inner=between)]
    names = ("torque, uniform pressure", "load, uniform pressure")
    return Claim(
        pressed,
        [(owner, ring) for ring in rings],
        lambda a, b: {n: a[n] + b[n] for n in names if not isinstance(a[n], NoAnswer)},
    )


@twin("friction/journal-bearing")
def a_journal_has_the_friction_circle_of_a_pin(
    owner: Family, given: Any, rng: random.Random
) -> Claim | None:
    other = asked(
        "friction/sheave-on-pin",
        load=ONE,
        radius=times(fmpq(5), given.radius),
        pin_radius=given.radius,
        friction=given.friction,
    )
    load = evaluate(given.load)
    return Claim(
        given,
        [other],
        lambda found: {
            "friction circle": found["friction circle"],
            "torque, by the friction circle": found["friction circle"] * load,
        },
    )


@twin("friction/sheave-on-pin")
def raising_undoes_lowering(owner: Family, given: Any, rng: random.Random) -> Claim:
    """Loaded with what just lowers, the pull that raises is the load: the ropes change parts."""

    def expect(found: Answers) -> Answers:
        load = evaluate(given.load)
        return {"pull to lower": load * load / found["pull to raise"]}

    return Claim(given, [(owner, given)], expect)


@twin("friction/shoe-brake")
def friction_through_the_fulcrum_neither_helps_nor_opposes(
    owner: Family, given: Any, rng: random.Random
) -> Claim:
    given = attrs.evolve(given, friction_arm=ZERO)
    quantities = ("effort", "torque", "normal", "friction")
    names = {f"{q}, drum helping": f"{q}, drum opposing" for q in quantities}
    return Claim(given, [(owner, given)], lambda found: picked(found, names))


@twin("friction/wedge")
def a_wedge_without_friction_is_a_plane(
    owner: Family, given: Any, rng: random.Random
) -> Claim | None:
    if given.wedge_angle == Turn(ZERO):
        return None
    given = attrs.evolve(
        given,
        friction=ZERO,
        floor_friction=ZERO,
        wall_friction=ZERO,
        wedge_weight=ZERO,
        wedges=1,
    )
    other = asked(
        "friction/block",
        weight=given.load,
        static=ZERO,
        incline=given.wedge_angle,
        force_angle=opposite(given.wedge_angle),
    )

    def expect(found: Answers) -> Answers:
        return {
            "force to drive in": found["force to move up"],
            "face normal, driving in": found_normal(found, given),
        }

    def found_normal(found: Answers, case: Any) -> Any:
        c, _ = _cosine_sine(case.wedge_angle)
        return evaluate(case.load) / c

    return Claim(given, [other], expect)


def _cosine_sine(angle: Any) -> tuple[Any, Any]:
    return EnclosureArithmetic.cos_sin(angle)
