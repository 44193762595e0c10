"""Friction at its limits: what is known there is known exactly, and states follow from it."""

from __future__ import annotations

import random
from typing import Any

import attrs
from flint import arb, fmpq

from refsolver.arithmetic.enclosure import evaluate
from refsolver.arithmetic.exact import Angle, Slope, Turn, negated, total
from refsolver.quantities.folding import difference, over
from refsolver.quantities.kinds import Choice, NoAnswer, Value
from refsolver.statics.contract import Family
from tests.statics.properties.claims import Answers, Claim
from tests.statics.properties.mirrors import each
from tests.statics.properties.motions import opposite
from tests.statics.properties.twinning import ONE, ZERO, asked, picked, twin

TRIANGLES = ((3, 4, 5), (5, 12, 13), (8, 15, 17))


def supplement(angle: Angle) -> Angle | None:
    """The angle seen from behind the upright; None where it cannot be stated exactly."""
    if isinstance(angle, Turn):
        return Turn(fmpq(1, 2) - angle.turns)
    return Slope(angle.rise, negated(angle.run)) if isinstance(angle, Slope) else None


def _from_behind(given: Any, **changes: Any) -> Any | None:
    angle = supplement(given.force_angle)
    if angle is None:
        return None
    try:
        return attrs.evolve(given, incline=opposite(given.incline), force_angle=angle, **changes)
    except ValueError:
        return None


BEHIND = {
    "slips up": "slips down",
    "slips down": "slips up",
    "on the point of slipping up": "on the point of slipping down",
    "on the point of slipping down": "on the point of slipping up",
}


@twin("friction/block")
def a_block_seen_from_behind(owner: Family, given: Any, rng: random.Random) -> Claim | None:
    other = _from_behind(given)
    if other is None:
        return None

    def expect(before: Answers) -> Answers:
        word = before["state"].word
        return {
            "state": Choice(BEHIND.get(word, word)),
            "friction": each(before["friction"], lambda x: -x),
            **{name: before[name] for name in ("normal", "limiting friction", "angle of repose")},
        }

    return Claim(other, [(owner, given)], expect)


@twin("friction/slip-or-tip")
def a_standing_block_seen_from_behind(
    owner: Family, given: Any, rng: random.Random
) -> Claim | None:
    other = _from_behind(
        given, force_along=negated(given.force_along), centre_along=negated(given.centre_along)
    )
    if other is None:
        return None

    def expect(before: Answers) -> Answers:
        def minus(x: Any) -> Any:
            return -x

        return {
            "state": before["state"],
            "normal": before["normal"],
            "friction": each(before["friction"], minus),
            "normal offset": each(before["normal offset"], minus),
            "angle of repose": before["angle of repose"],
        }

    return Claim(other, [(owner, given)], expect)


@twin("friction/slip-or-tip")
def pushed_where_slipping_and_tipping_meet(owner: Family, given: Any, rng: random.Random) -> Claim:
    """On a level, mu W at h turns the block over its edge where mu h is the reach of W."""
    friction, half = fmpq(rng.randint(1, 30), 40), fmpq(rng.randint(4, 40), 8)
    weight, tall = fmpq(rng.randint(1, 99)), fmpq(rng.randint(1, 40), 8)
    aside = fmpq(rng.randint(-3, 3), 8)
    height = (half - aside) / friction
    push = friction * weight
    block = owner.givens(
        weight=weight,
        breadth=2 * half,
        centre_height=tall,
        friction=friction,
        force_height=height,
        centre_along=aside,
        force=push,
    )
    rises = (half + aside) / tall
    tilted = (
        "slips" if friction < rises else "tips" if friction > rises else "slips and tips at once"
    )

    def expect() -> Answers:
        return {
            "force to slip": evaluate(push),
            "force to tip": evaluate(push),
            "force to move": evaluate(push),
            "first": Choice("slips and tips at once"),
            "greatest height": evaluate(height),
            "state": Choice("on the point of slipping and tipping"),
            "angle of tipping": evaluate(rises).atan(),
            "angle of repose": evaluate(friction).atan(),
            "when tilted": Choice(tilted),
        }

    return Claim(block, [], expect)


@twin("friction/ladder")
def a_ladder_on_the_point_of_slipping(owner: Family, given: Any, rng: random.Random) -> Claim:
    """On a slope of 4 in 3 and the like everything that the limit takes is rational."""
    run, rise, long = rng.choice(TRIANGLES)
    cosine, sine = fmpq(run, long), fmpq(rise, long)
    length, wall = fmpq(rng.randint(2, 12)), fmpq(rng.randint(0, 10), 40)
    weights = (fmpq(rng.randint(1, 99)), fmpq(rng.randint(1, 99)))
    at = (length / 2, length * fmpq(rng.randint(1, 9), 10))
    turning = sum(w * x for w, x in zip(weights, at, strict=True)) * cosine
    pushed = turning / (length * (sine + wall * cosine))
    borne = sum(weights) - wall * pushed
    needed = pushed / borne
    ladder = owner.givens(
        length=length,
        slope=Slope(fmpq(rise), fmpq(run)),
        weight=weights[0],
        centre=at[0],
        load=weights[1],
        load_at=at[1],
        floor_friction=needed,
        wall_friction=wall,
    )

    def expect() -> Answers:
        return {
            "floor coefficient needed": evaluate(needed),
            "least slope": arb(fmpq(rise, run)).atan(),
            "greatest climb": evaluate(at[1]),
            "force at the foot": arb(0),
            "state": Choice("on the point of slipping"),
        }

    return Claim(ladder, [], expect)


TURNINGS = ("pulled end slack", "pulled end tight")
LOCKS = {"locks itself": "needs an effort", "needs an effort": "locks itself"}


@twin("friction/band-brake")
def ends_of_the_band_exchanged(owner: Family, given: Any, rng: random.Random) -> Claim | None:
    """The lever turns the other way; what one turning of the drum asked the other asks."""
    if given.torque is None:
        return None
    try:
        other = attrs.evolve(given, pull_arm=given.ease_arm, ease_arm=given.pull_arm)
    except ValueError:
        return None

    def expect(before: Answers) -> Answers:
        after: dict[str, Value] = {}
        for here, there in (TURNINGS, TURNINGS[::-1]):
            after[f"effort, {here}"] = each(before[f"effort, {there}"], lambda x: -x)
            for what in ("torque", "tight side", "slack side"):
                after[f"{what}, {here}"] = before[f"{what}, {there}"]
            word = before[f"state, {there}"]
            if not isinstance(word, NoAnswer):
                after[f"state, {here}"] = Choice(LOCKS.get(word.word, word.word))
        ratio = before["tension ratio"]
        if not isinstance(ratio, NoAnswer):
            after["locking arm"] = ratio * evaluate(given.pull_arm)
        return after

    return Claim(other, [(owner, given)], expect)


@twin("friction/belt-lap")
def pulleys_that_one_belt_fits(owner: Family, given: Any, rng: random.Random) -> Claim | None:
    """Crossed, a belt fits all pulleys of one sum; open, it keeps its laps at one difference."""
    by = over(given.smaller, fmpq(rng.randint(3, 9)))
    crossed = given.run == "crossed"
    smaller = difference(given.smaller, by) if crossed else total(given.smaller, by)
    try:
        other = attrs.evolve(given, larger=total(given.larger, by), smaller=smaller)
    except ValueError:
        return None

    def expect(before: Answers) -> Answers:
        if isinstance(before["length"], NoAnswer):
            return {}
        names = ("lap on the larger", "lap on the smaller", "lean", "straight part")
        more = arb(0) if crossed else 2 * arb.pi() * evaluate(by)
        return {**{n: before[n] for n in names}, "length": before["length"] + more}

    return Claim(other, [(owner, given)], expect)


@twin("friction/screw")
def a_screw_without_friction_runs_back(owner: Family, given: Any, rng: random.Random) -> Claim:
    """The work of a turn lifts the load by the lead, and comes back when it sinks."""
    smooth = attrs.evolve(
        given, friction=ZERO, collar_friction=ZERO, collar_radius=ZERO, thread_angle=None
    )

    def expect() -> Answers:
        torque = evaluate(given.load) * evaluate(given.pitch) * given.starts / (2 * arb.pi())
        after: dict[str, Value] = {
            "raising torque": torque,
            "lowering torque": -torque,
            "torque ratio": arb(-1),
            "efficiency": arb(1),
            "state": Choice("runs back"),
        }
        if given.lever is not None:
            effort = torque / evaluate(given.lever)
            after |= {"raising effort": effort, "lowering effort": -effort}
        if given.speed is not None:
            after["raising power"] = torque * evaluate(given.speed)
        return after

    return Claim(smooth, [], expect)


@twin("friction/shoe-brake")
def a_shoe_on_the_point_of_locking_itself(owner: Family, given: Any, rng: random.Random) -> Claim:
    shoe, arm = fmpq(rng.randint(10, 90)), fmpq(rng.randint(100, 400))
    limit = shoe / arm
    brake = attrs.evolve(given, friction=limit, shoe_arm=shoe, friction_arm=arm, contact=None)

    def expect() -> Answers:
        return {
            "coefficient": evaluate(limit),
            "locking arm": evaluate(arm),
            "locking coefficient": evaluate(limit),
            "state": Choice("on the point of locking itself"),
        }

    return Claim(brake, [], expect)


@twin("friction/wedge")
def a_wedge_without_friction_loses_no_work(
    owner: Family, given: Any, rng: random.Random
) -> Claim | None:
    if given.wedge_angle == Turn(ZERO):
        return None
    smooth = attrs.evolve(
        given, friction=ZERO, floor_friction=ZERO, wall_friction=ZERO, wedge_weight=ZERO
    )

    def expect(found: Answers) -> Answers:
        drive = found["force to drive in"]
        if isinstance(drive, NoAnswer):
            return {}
        return {
            "efficiency": arb(1),
            "force to draw out": -drive,
            "state": Choice("is squeezed out"),
        }

    return Claim(smooth, [(owner, smooth)], expect)


@twin("friction/sheave-on-pin")
def a_pin_has_the_friction_circle_of_a_journal(
    owner: Family, given: Any, rng: random.Random
) -> Claim:
    """Both parts pulling the same way S = W + T: (T - W) R = r_f (T + W)."""
    upright = attrs.evolve(given, between=Turn(ZERO))
    other = asked(
        "friction/journal-bearing", load=ONE, radius=given.pin_radius, friction=given.friction
    )

    def expect(found: Answers) -> Answers:
        circle, radius = found["friction circle"], evaluate(given.radius)
        load = evaluate(given.load)
        pull = load * (radius + circle) / (radius - circle)
        return {
            "friction circle": circle,
            "pull to raise": pull,
            "reaction, raising": load + pull,
            "pull to lower": load * load / pull,
            "efficiency": load / pull,
        }

    return Claim(upright, [other], expect)


ROW = {
    "holds": "holds",
    "on the point of slipping down": "on the point of slipping",
    "on the point of slipping either way": "on the point of slipping",
    "slips down": "slips",
}


@twin("friction/blocks-in-a-row")
def two_alike_are_one_block(owner: Family, given: Any, rng: random.Random) -> Claim | None:
    given = attrs.evolve(given, upper_friction=given.lower_friction)
    other = asked(
        "friction/block",
        weight=total(given.lower, given.upper),
        static=given.lower_friction,
        incline=given.incline,
    )

    def expect(found: Answers) -> Answers:
        word = ROW.get(found["state"].word)
        state = {} if word is None else {"state": Choice(word)}
        same = picked(found, {name: name for name in ("force to move up", "angle of repose")})
        return {"link at repose": arb(0), **same, **state}

    return Claim(given, [other], expect)


@twin("friction/stacked-blocks")
def blocks_that_cannot_slide_move_together(
    owner: Family, given: Any, rng: random.Random
) -> Claim | None:
    """The upper one rougher than any pull: both move, as one block of both weights would."""
    rough = attrs.evolve(given, between=fmpq(10**6), incline=Turn(ZERO), pull_angle=Turn(ZERO))
    other = asked(
        "friction/block",
        weight=total(given.upper, given.lower),
        static=given.below,
        incline=Turn(ZERO),
    )
    names = {"force to move both": "force to move up", "force to move": "force to move up"}
    return Claim(
        rough,
        [other],
        lambda found: {**picked(found, names), "first": Choice("both move together")},
    )


@twin("friction/two-trials")
def both_trials_on_a_level(owner: Family, given: Any, rng: random.Random) -> Claim:
    """A level pull and one that lifts at 3 in 4: P1 = mu W, P2 (4/5 + 3/5 mu) = mu W."""
    friction, weight = fmpq(rng.randint(1, 30), 40), fmpq(rng.randint(1, 99))
    lifted = friction * weight / (fmpq(4, 5) + friction * fmpq(3, 5))
    case = owner.givens(
        first=friction * weight,
        second=lifted,
        first_incline=Turn(ZERO),
        second_incline=Turn(ZERO),
        first_angle=Turn(ZERO),
        second_angle=Slope(fmpq(3), fmpq(4)),
    )

    def expect() -> Answers:
        return {
            "coefficient": evaluate(friction),
            "weight": evaluate(weight),
            "friction angle": evaluate(friction).atan(),
        }

    return Claim(case, [], expect)
