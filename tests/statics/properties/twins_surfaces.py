"""Fluids on surfaces: deeper by equal steps, on the upright projection, and what is put back."""

from __future__ import annotations

import random
from typing import Any

import attrs
from flint import arb, fmpq

from refsolver.arithmetic.enclosure import EnclosureArithmetic, evaluate
from refsolver.quantities.folding import over, times
from refsolver.quantities.kinds import Choice, NoAnswer
from refsolver.statics.chapters.hydrostatics.plane_surfaces import Fluid
from refsolver.statics.chapters.hydrostatics.straight_sided_surfaces import Panel
from refsolver.statics.contract import Family
from tests.statics.properties.claims import Answers, Claim
from tests.statics.properties.twinning import ONE, PI, RIGHT, TWO, ZERO, asked, picked, twin
from tests.statics.properties.units_and_rows import named

LINEAR_IN_DEPTH = (
    "force", "horizontal", "vertical", "moment about top", "moment about bottom",
    "mean pressure", "pressure at top", "pressure at bottom",
)  # fmt: skip


@twin(
    "hydrostatics/straight-sided-surface",
    "hydrostatics/curved-sided-surface",
    "hydrostatics/round-surface",
)
def deeper_by_equal_steps(owner: Family, given: Any, rng: random.Random) -> Claim | None:
    """Under one fluid every force and moment is linear in the depth, and M / F is its place."""
    if not isinstance(given.depth, fmpq) or given.depth < 0:
        return None
    fluid = attrs.evolve(given.fluids[0], top=ZERO, side="front")
    step = fmpq(rng.randint(1, 20), 4)
    first, second, third = (
        attrs.evolve(given, fluids=(fluid,), depth=given.depth + step * n) for n in range(3)
    )
    _, sine = EnclosureArithmetic.cos_sin(given.slope)

    def expect(a: Answers, b: Answers) -> Answers:
        after = {name: 2 * b[name] - a[name] for name in LINEAR_IN_DEPTH}
        if not after["force"] > 0:
            return after
        place = after["moment about top"] / after["force"]
        return {
            **after,
            "from top": place,
            "from bottom": after["moment about bottom"] / after["force"],
            "depth": evaluate(third.depth) + place * sine,
        }

    return Claim(third, [(owner, first), (owner, second)], expect)


def _upright(given: Any, depth: Any, height: Any) -> tuple[Family, Any]:
    return asked(
        "hydrostatics/straight-sided-surface",
        depth=depth,
        slope=RIGHT,
        fluids=(Fluid(specific_weight=given.specific_weight, density=given.density),),
        gravity=given.gravity,
        panels=(Panel(given.width, given.width, height),),
    )


@twin("hydrostatics/leaning-face")
def the_level_push_is_that_on_the_projection(
    owner: Family, given: Any, rng: random.Random
) -> Claim | None:
    if given.set_back == 0:
        return None

    def expect(found: Answers, own: Answers) -> Answers:
        level, up = own["force"]
        height = evaluate(given.depth) - found["depth"]
        place = (own["moment about foot"] - level * height) / -up
        return {
            "force": (found["force"], up),
            "depth of horizontal": found["depth"],
            "distance of vertical": place,
        }

    return Claim(given, [_upright(given, ZERO, given.depth), (owner, given)], expect)


@twin("hydrostatics/arc-gate")
def a_quarter_of_a_circle(owner: Family, given: Any, rng: random.Random) -> Claim:
    """The level part as on its projection; every pressure, so the whole, passes the centre."""
    low = attrs.evolve(
        given,
        upper=attrs.evolve(RIGHT, turns=ZERO),
        lower=attrs.evolve(RIGHT, turns=fmpq(-1, 4)),
        centre_depth=fmpq(rng.randint(1, 20), 4),
    )

    def expect(found: Answers, own: Answers) -> Answers:
        level, up = own["force"]
        below = found["depth"] - evaluate(low.centre_depth)
        block = evaluate(low.centre_depth) * evaluate(low.radius)
        sector = arb.pi() * evaluate(low.radius) ** 2 / 4
        weight = found["pressure at top"] / evaluate(low.centre_depth)
        return {
            "force": (
                found["force"] * (1 if level > 0 else -1),
                weight * (block + sector) * evaluate(low.width) * (1 if up > 0 else -1),
            ),
            "depth of horizontal": found["depth"],
            "distance of vertical": abs(level) * below / abs(up),
        }

    return Claim(low, [_upright(low, low.centre_depth, low.radius), (owner, low)], expect)


@twin("hydrostatics/floating-share")
def a_density_put_back(owner: Family, given: Any, rng: random.Random) -> Claim:
    fluid = fmpq(rng.randint(5, 60), 4)
    body = fluid * fmpq(rng.randint(1, 9), 10)
    share = owner.givens(body=body, submerged=body / fluid)
    stated = owner.givens(body=body, fluid=fluid)
    case, other = rng.choice(((share, stated), (stated, share)))
    return Claim(case, [(owner, other)], lambda found: found)


STATED = (
    ("weight", "apparent", "fluid"),
    ("volume", "body", "fluid"),
    ("weight", "apparent", "volume"),
    ("weight", "body", "fluid"),
)


@twin("hydrostatics/submerged-body")
def whatever_two_of_it_are_stated(owner: Family, given: Any, rng: random.Random) -> Claim:
    volume, body = fmpq(rng.randint(1, 60), 7), fmpq(rng.randint(1, 60), 6)
    fluid = fmpq(rng.randint(1, 60), 6)
    whole = {
        "weight": body * volume,
        "apparent": (body - fluid) * volume,
        "volume": volume,
        "body": body,
        "fluid": fluid,
    }
    stated = rng.choice(STATED)
    case = owner.givens(**{name: whole[name] for name in stated})
    state = "sinks" if body > fluid else "rises" if body < fluid else "hovers"

    def expect() -> Answers:
        return {
            **{name: evaluate(x) for name, x in whole.items()},
            "buoyancy": evaluate(fluid * volume),
            "state": Choice(state),
        }

    return Claim(case, [], expect)


@twin("hydrostatics/hydrometer")
def as_much_less_as_the_fluid_is_heavier(owner: Family, given: Any, rng: random.Random) -> Claim:
    """The volume displaced is that of the weight in the reference fluid."""
    heavier = fmpq(rng.randint(11, 30), 10)
    other = attrs.evolve(given, reference=times(given.reference, heavier))

    def expect(found: Answers) -> Answers:
        return {"displaced": found["displaced"] / evaluate(heavier)}

    return Claim(other, [(owner, given)], expect)


@twin("hydrostatics/pressure-on-area")
def a_force_put_back(owner: Family, given: Any, rng: random.Random) -> Claim:
    force, diameter = fmpq(rng.randint(1, 99)), fmpq(rng.randint(1, 40), 8)
    area = times(over(PI, fmpq(4)), diameter * diameter)
    stated = {"force": force, "area": area, "pressure": over(force, area)}
    two = rng.sample(sorted(stated), 2)
    case = owner.givens(**{name: stated[name] for name in two})

    def expect() -> Answers:
        return {
            **{name: evaluate(x) for name, x in stated.items()},
            "diameter": evaluate(diameter),
        }

    return Claim(case, [], expect)


@twin("hydrostatics/press")
def a_press_turned_round(owner: Family, given: Any, rng: random.Random) -> Claim:
    """On one level the forces are as the areas, the travels as the areas turned over."""
    level = attrs.evolve(given, rise=ZERO, specific_weight=None, travel=ONE)
    other = attrs.evolve(level, driving=level.driven, driven=level.driving)

    def expect(found: Answers) -> Answers:
        return {"ratio": 1 / found["ratio"], "travel": 1 / found["travel"]}

    return Claim(other, [(owner, level)], expect)


@twin("hydrostatics/pressure-along-columns")
def a_column_walked_in_two_steps(owner: Family, given: Any, rng: random.Random) -> Claim:
    given = named(given)
    number = rng.randrange(len(given.columns))
    row = given.columns[number]
    half = attrs.evolve(row, drop=over(row.drop, TWO))
    cut = [half, attrs.evolve(half, name=f"{row.name} again")]
    other = attrs.evolve(
        given, columns=(*given.columns[:number], *cut, *given.columns[number + 1 :])
    )
    names = {name: name for name in ("end", "rise", "ratio")}
    return Claim(other, [(owner, given)], lambda found: picked(found, names))


@twin("hydrostatics/floating-solid")
def shares_of_the_depth_make_one(owner: Family, given: Any, rng: random.Random) -> Claim:
    def expect(found: Answers) -> Answers:
        if any(isinstance(found[n], NoAnswer) for n in ("depth", "above", "depth share")):
            return {}
        return {"depth share": found["depth"] / (found["depth"] + found["above"])}

    return Claim(given, [(owner, given)], expect)
