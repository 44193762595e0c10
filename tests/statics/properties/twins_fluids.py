"""Fluids and floating: families that must agree, and one family asked twice."""

from __future__ import annotations

import random
from typing import Any

import attrs
from flint import fmpq

from refsolver.arithmetic.enclosure import evaluate, seen_sign
from refsolver.arithmetic.exact import Constant, Exact, Slope, total
from refsolver.quantities.folding import difference, over, times
from refsolver.quantities.kinds import NoAnswer
from refsolver.statics.chapters.hydrostatics.fluids import WeighedFluid
from refsolver.statics.chapters.hydrostatics.hydraulic_press import Piston
from refsolver.statics.chapters.hydrostatics.plane_surfaces import Fluid
from refsolver.statics.chapters.hydrostatics.straight_sided_surfaces import Panel
from refsolver.statics.contract import Family
from tests.statics.properties.claims import Answers, Claim
from tests.statics.properties.twinning import ONE, PI, ZERO, asked, picked, twin
from tests.statics.properties.units_and_rows import named


@twin("hydrostatics/floating-prism")
def the_share_submerged_is_that_of_the_densities(
    owner: Family, given: Any, rng: random.Random
) -> Claim | None:
    share, depth = fmpq(rng.randint(1, 9), 10), fmpq(rng.randint(1, 40), 8)
    plan = _plan(given)
    weight = times(times(share * depth, given.specific_weight), plan)
    row = next(iter(given.weights), None)
    if row is None:
        return None
    prism = attrs.evolve(
        given,
        weights=(attrs.evolve(row, weight=weight, height=depth / 2),),
        pull=ZERO,
        depth=depth,
        draught_allowed=None,
    )
    other = asked("hydrostatics/floating-share", body=share, fluid=ONE)

    def expect(found: Answers) -> Answers:
        draught = found["submerged"] * evaluate(depth)
        return {"draught": draught, "centre of buoyancy": draught / 2}

    return Claim(prism, [other], expect)


def _plan(given: Any) -> Exact:
    if given.diameter is None:
        return times(given.length, given.breadth)
    return times(over(PI, fmpq(4)), times(given.diameter, given.diameter))


@twin("hydrostatics/floating-share")
def the_two_shares_make_the_whole(owner: Family, given: Any, rng: random.Random) -> Claim:
    def expect(found: Answers) -> Answers:
        if isinstance(found["submerged"], NoAnswer):
            return {}
        return {"above": 1 - found["submerged"], "body": found["submerged"] * found["fluid"]}

    return Claim(given, [(owner, given)], expect)


OVER = {"cone point down": "cone point up", "cone point up": "cone point down"}


@twin("hydrostatics/floating-solid")
def what_is_under_water_of_the_light_is_over_it_of_the_heavy(
    owner: Family, given: Any, rng: random.Random
) -> Claim | None:
    lighter = difference(ONE, given.relative_density)
    if given.shape == "wedge edge down" or seen_sign(lighter) != 1:
        return None
    other = attrs.evolve(
        given,
        shape=OVER.get(given.shape, given.shape),
        relative_density=lighter,
    )
    names = {"depth": "above", "above": "depth", "waterline": "waterline"}
    return Claim(other, [(owner, given)], lambda found: picked(found, names))


@twin("hydrostatics/hydrometer")
def another_reference_moves_every_mark(owner: Family, given: Any, rng: random.Random) -> Claim:
    """The fluid of the first mark becomes the reference."""
    given = named(given)
    first = given.marks[0]
    marks = tuple(
        attrs.evolve(m, relative_density=over(m.relative_density, first.relative_density))
        for m in given.marks
    )
    other = attrs.evolve(
        given, reference=times(given.reference, first.relative_density), marks=marks
    )

    def expect(found: Answers) -> Answers:
        start = found["marks"][first.name]
        return {"marks": {key: x - start for key, x in found["marks"].items()}}

    return Claim(other, [(owner, given)], expect)


@twin("hydrostatics/pressure-on-area")
def a_press_of_one_piston(owner: Family, given: Any, rng: random.Random) -> Claim | None:
    if given.force is None or (given.area is None and given.diameter is None):
        return None
    stated = Piston(given.area, given.diameter)
    other = asked("hydrostatics/press", force=given.force, driving=stated, driven=stated)
    names = {"pressure": "pressure", "force": "force"}
    return Claim(given, [other], lambda found: picked(found, names))


@twin("hydrostatics/submerged-body", "hydrostatics/two-weighings")
def weighed_in_air_and_in_the_fluid(owner: Family, given: Any, rng: random.Random) -> Claim | None:
    volume, heavy = fmpq(rng.randint(1, 60), 7), fmpq(rng.randint(1, 90), 5)
    fluid = fmpq(rng.randint(1, 60), 6)
    body = asked("hydrostatics/submerged-body", volume=volume, weight=heavy * volume, fluid=fluid)
    weighed = asked(
        "hydrostatics/two-weighings",
        first=ZERO,
        in_first=heavy * volume,
        second=fluid,
        in_second=(heavy - fluid) * volume,
    )
    names = {"volume": "volume", "weight": "weight", "body": "body"}
    here, there = (body, weighed) if owner is body[0] else (weighed, body)
    return Claim(here[1], [there], lambda found: picked(found, names))


@twin("hydrostatics/tipping-wall")
def on_the_point_of_tipping_either_way(
    owner: Family, given: Any, rng: random.Random
) -> Claim | None:
    """gamma_w b^2 H / 2 = gamma_f d^3 / 6 solved for the height, the one that stays rational."""
    wall, fluid = fmpq(rng.randint(18, 26)), fmpq(rng.randint(8, 15))
    width, depth = fmpq(rng.randint(4, 40), 20), fmpq(rng.randint(20, 60), 10)
    height = fluid * depth**3 / (3 * wall * width * width)
    if height < depth:
        return None
    stated = {"height": height, "wall": WeighedFluid(wall), "fluid": WeighedFluid(fluid)}
    wide = owner.givens(width=width, **stated)
    deep = owner.givens(depth=depth, **stated)
    return Claim(wide, [(owner, deep)], lambda found: {**found, "depth": evaluate(depth)})


@twin("hydrostatics/leaning-face")
def a_straight_face_is_a_plate(owner: Family, given: Any, rng: random.Random) -> Claim | None:
    """Above a sloping plate the fluid presses down; behind the plate stands the wall."""
    if given.power != 1:
        return None
    squares = total(times(given.depth, given.depth), times(given.set_back, given.set_back))
    along = Constant("sqrt", (squares,))
    other = asked(
        "hydrostatics/straight-sided-surface",
        depth=ZERO,
        slope=Slope(given.depth, given.set_back),
        fluids=(Fluid(specific_weight=given.specific_weight, density=given.density),),
        gravity=given.gravity,
        panels=(Panel(given.width, given.width, along),),
    )

    def expect(found: Answers) -> Answers:
        return {
            "force": (found["horizontal"], -found["vertical"]),
            "moment about foot": found["moment about bottom"],
        }

    return Claim(given, [other], expect)
