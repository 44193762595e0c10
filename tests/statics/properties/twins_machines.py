"""Machines, hoists and rocking: families that must agree, and one family asked twice."""

from __future__ import annotations

import random
from typing import Any

import attrs
from flint import arb, fmpq

from refsolver.arithmetic.enclosure import evaluate, seen_sign
from refsolver.arithmetic.exact import Constant, Exact, total
from refsolver.quantities.folding import difference, negative, over, times
from refsolver.quantities.kinds import NoAnswer
from refsolver.statics.chapters.force_systems.forces_on_a_line import OnLine
from refsolver.statics.chapters.rigging.equal_legs import Hitch
from refsolver.statics.contract import Family
from tests.statics.properties.claims import Answers, Claim
from tests.statics.properties.twinning import ONE, PI, TWO, ZERO, asked, twin
from tests.statics.properties.units_and_rows import named


@twin("lifting-machines/performance")
def a_machine_is_known_by_its_ratio(owner: Family, given: Any, rng: random.Random) -> Claim | None:
    if given.smaller is not None and seen_sign(difference(given.load_arm, given.smaller)) != 1:
        return None  # it lifts nothing
    gears = ONE
    for gear in given.gears:
        gears = gears * fmpq(gear.driven, gear.driver)
    alone: Exact
    if given.kind == "arms":
        alone = over(given.effort_arm, given.load_arm)
    elif given.kind == "gears alone":
        alone = ONE
    elif given.kind == "screw":
        alone = over(times(times(TWO, PI), given.effort_arm), given.load_arm)
    elif given.kind == "differential axle":
        alone = over(times(TWO, given.effort_arm), difference(given.load_arm, given.smaller))
    elif given.kind == "pulleys, first order":
        alone = TWO**given.pulleys
    elif given.kind == "pulleys, second order":
        alone = fmpq(given.pulleys)
    elif given.kind == "pulleys, third order":
        alone = TWO**given.pulleys - 1
    else:
        return None
    plain = owner.givens(
        kind="stated ratio",
        velocity_ratio=times(gears, alone),
        load=given.load,
        effort=given.effort,
        efficiency=given.efficiency,
    )
    return Claim(given, [(owner, plain)], lambda found: found)


@twin("rigging/equal-legs")
def one_line_of_the_table_of_loads(owner: Family, given: Any, rng: random.Random) -> Claim | None:
    carrying = {"every leg": given.legs, "three legs": 3, "two legs": 2}[given.sharing]
    shapes = ("angle", "measured_from", "leg_length", "height")
    hitch = Hitch(carrying, name="hitch", **{s: getattr(given, s) for s in shapes})
    other = asked("rigging/bridle-loads", tension=ONE, hitches=(hitch,))

    def expect(found: Answers) -> Answers:
        factor = found["factors"]["hitch"]
        if isinstance(factor, NoAnswer):
            return {"factor": factor, "tension": factor}
        load = evaluate(given.load)
        return {"factor": factor, "tension": load / found["loads"]["hitch"]}

    return Claim(given, [other], expect)


@twin("rigging/bridle-loads")
def each_line_stands_alone(owner: Family, given: Any, rng: random.Random) -> Claim | None:
    given = named(given)
    one = rng.choice(given.hitches)
    alone = attrs.evolve(given, hitches=(one,))
    return Claim(
        alone,
        [(owner, given)],
        lambda found: {n: {one.name: found[n][one.name]} for n in ("loads", "factors")},
    )


@twin("rigging/two-legs")
def levers_share_the_weight(owner: Family, given: Any, rng: random.Random) -> Claim | None:
    """With level lugs the shares are those of a weight between two props."""
    outside = (given.left_reach, given.right_reach)
    if given.left_height != given.right_height or any(seen_sign(x) != 1 for x in outside):
        return None
    levers = asked(
        "force-systems/two-parallel-components",
        forces=(_on_line(given.load, ZERO),),
        first=negative(given.left_reach),
        second=given.right_reach,
    )

    def expect(found: Answers) -> Answers:
        if isinstance(found["first"], NoAnswer):
            return {}
        return {"shares": {"left": found["first"], "right": found["second"]}}

    return Claim(given, [levers], expect)


def _on_line(force: Exact, at: Exact) -> Any:
    return OnLine(force, at)


@twin("rigging/hanging-load")
def legs_alike_hang_level(owner: Family, given: Any, rng: random.Random) -> Claim:
    """With equal legs and the weight amidships the load hangs level, each leg taking half."""
    middle = over(given.spacing, TWO)
    legs = total(given.spacing, fmpq(rng.randint(1, 9)))
    level = attrs.evolve(given, left_leg=legs, right_leg=legs, along=middle)
    other = asked(
        "rigging/equal-legs",
        load=given.load,
        legs=2,
        leg_length=legs,
        height=Constant("sqrt", (difference(times(legs, legs), times(middle, middle)),)),
    )

    def expect(found: Answers) -> Answers:
        return {
            "tilt": arb(0),
            "tensions": {"left": found["tension"], "right": found["tension"]},
        }

    return Claim(level, [other], expect)


@twin("virtual-work/rocking")
def curvatures_add(owner: Family, given: Any, rng: random.Random) -> Claim | None:
    """A round body on a round support rocks as one of the joint radius on a flat one."""
    if given.body_radius is None or given.support_radius is None or given.support != "convex":
        return None
    both = total(given.body_radius, given.support_radius)
    joint = over(times(given.body_radius, given.support_radius), both)
    other = attrs.evolve(given, body_radius=joint, support_radius=None)
    return Claim(other, [(owner, given)], lambda found: found)
