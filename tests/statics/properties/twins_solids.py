"""Solids, lines, plates and rods: families that must agree, and one family asked twice."""

from __future__ import annotations

import random
from typing import Any

import attrs
from flint import arb, fmpq

from refsolver.arithmetic.exact import Turn, total
from refsolver.quantities.folding import over
from refsolver.quantities.kinds import NoAnswer
from refsolver.statics.contract import Family
from refsolver.statics.givens import fields
from refsolver.statics.registry import family
from tests.statics.properties.claims import Answers, Claim
from tests.statics.properties.twinning import ONE, TWO, ZERO, asked, picked, twin

SOLIDS = (
    "boxes", "cylinders", "cones", "spheres", "half_spheres", "paraboloids", "wedges",
    "tetrahedra",
)  # fmt: skip


def _with_density(given: Any, owner: Family, density: fmpq) -> Any:
    """The same solids, all of one density."""
    rows = {name: fields(owner.givens)[name].of for name in SOLIDS}
    return owner.givens(
        **{
            name: tuple(
                row(density=density, **attrs.asdict(solid, recurse=False))
                for solid in getattr(given, name)
            )
            for name, row in rows.items()
        }
    )


@twin("centroids/composite-volume")
def a_solid_of_one_density(owner: Family, given: Any, rng: random.Random) -> Claim:
    other = family(rng.choice(("centroids/mass-centre", "centroids/centre-of-gravity")))
    density = fmpq(rng.randint(1, 9), 4)
    total = "mass" if "mass" in other.answers else "weight"

    def expect(found: Answers) -> Answers:
        return {
            "volume": found[total] / density,
            "centre": found["centre"],
            "centroids": found["centroids"],
        }

    return Claim(given, [(other, _with_density(given, other, density))], expect)


@twin("centroids/centre-of-gravity")
def weights_for_masses(owner: Family, given: Any, rng: random.Random) -> Claim:
    """Where gravity is the same everywhere, centre of gravity and mass centre are one."""
    other = family("centroids/mass-centre")
    tables = {
        name: tuple(
            fields(other.givens)[name].of(**attrs.asdict(row, recurse=False))
            for row in getattr(given, name)
        )
        for name in (*SOLIDS, "lumps")
    }
    names = {
        "weight": "mass", "first moment": "first moment", "centre": "centre", "weights": "masses",
        "centroids": "centroids",
    }  # fmt: skip
    return Claim(given, [(other, other.givens(**tables))], lambda found: picked(found, names))


def _from_the_axis(found: Answers, axis: str) -> Answers:
    if isinstance(found["centroid"], NoAnswer):
        return {}
    return {"distance": abs(found["centroid"][1 if axis == "x" else 0])}


@twin("centroids/pappus-volume")
def what_is_turned_is_an_area(owner: Family, given: Any, rng: random.Random) -> Claim:
    tables = fields(family("centroids/composite-area").givens)
    other = asked("centroids/composite-area", **{name: getattr(given, name) for name in tables})

    def expect(found: Answers, swept: Answers) -> Answers:
        if isinstance(swept["area"], NoAnswer):  # the axis cuts it
            return {}
        return {"area": found["area"], **_from_the_axis(found, given.axis)}

    return Claim(given, [other, (owner, given)], expect)


@twin("centroids/pappus-surface")
def what_is_turned_is_a_line(owner: Family, given: Any, rng: random.Random) -> Claim:
    tables = fields(family("centroids/composite-line").givens)
    other = asked("centroids/composite-line", **{name: getattr(given, name) for name in tables})

    def expect(found: Answers, swept: Answers) -> Answers:
        if isinstance(swept["length"], NoAnswer):  # the axis cuts it
            return {}
        return {"length": found["length"], **_from_the_axis(found, given.axis)}

    return Claim(given, [other, (owner, given)], expect)


PLATE = ("mass", "M_x", "M_y", "I_x", "I_y", "polar")


@twin("centroids/ring-lamina")
def a_ring_cut_along_a_radius(owner: Family, given: Any, rng: random.Random) -> Claim | None:
    if not isinstance(given.start, Turn) or not isinstance(given.opening, Turn):
        return None
    first = given.opening.turns * fmpq(rng.randint(1, 9), 10)
    cut = [
        attrs.evolve(given, opening=Turn(first)),
        attrs.evolve(
            given,
            start=Turn(given.start.turns + first),
            opening=Turn(given.opening.turns - first),
        ),
    ]
    return Claim(given, [(owner, one) for one in cut], lambda a, b: {n: a[n] + b[n] for n in PLATE})


@twin("centroids/ring-lamina")
def a_ring_cut_along_an_arc(owner: Family, given: Any, rng: random.Random) -> Claim:
    between = over(total(given.inner, given.outer), TWO)
    cut = [attrs.evolve(given, outer=between), attrs.evolve(given, inner=between)]
    return Claim(given, [(owner, one) for one in cut], lambda a, b: {n: a[n] + b[n] for n in PLATE})


@twin("centroids/rod")
def a_rod_cut_in_two(owner: Family, given: Any, rng: random.Random) -> Claim | None:
    between = over(total(given.start, given.end), TWO)
    cut = [attrs.evolve(given, end=between), attrs.evolve(given, start=between)]
    names = ("mass", "first moment", "moment of inertia")
    return Claim(given, [(owner, one) for one in cut], lambda a, b: {n: a[n] + b[n] for n in names})


@twin("centroids/lamina")
def an_even_plate_is_its_area(owner: Family, given: Any, rng: random.Random) -> Claim:
    term = attrs.evolve(given.density[0], coefficient=ONE, power_x=ZERO, power_y=ZERO)
    even = attrs.evolve(given, density=(term,))
    tables = fields(family("second-moments/between-curves").givens)
    other = asked("second-moments/between-curves", **{n: getattr(given, n) for n in tables})
    names = {"mass": "area", "centre": "centroid", "I_x": "I_x", "I_y": "I_y", "polar": "polar"}
    return Claim(even, [other], lambda found: picked(found, names))


@twin("centroids/solid-of-revolution")
def an_area_swept_once_round(owner: Family, given: Any, rng: random.Random) -> Claim:
    """V is 2 pi times the first moment about the axis (Pappus and Guldinus)."""
    other = family("centroids/between-curves")

    def expect(found: Answers, swept: Answers) -> Answers:
        if isinstance(found["Q_x"], NoAnswer) or isinstance(swept["volume"], NoAnswer):
            return {}  # the axis cuts it
        return {"volume": found["Q_x"] * 2 * arb.pi()}

    return Claim(given, [(other, given), (owner, given)], expect)


@twin("centroids/under-curve")
def a_power_between_curves(owner: Family, given: Any, rng: random.Random) -> Claim | None:
    if given.law != "power":
        return None
    region = fields(family("centroids/between-curves").givens)["regions"].of
    term = fields(region)["upper"].of(given.height, fmpq(given.power))
    other = asked(
        "centroids/between-curves",
        regions=(region(given.start, given.end, (term,)),),
        reference=given.reference,
    )
    names = ("area", "Q_x", "Q_y", "centroid")

    def expect(found: Answers) -> Answers:
        return {n: found[n] for n in names if not isinstance(found[n], NoAnswer)}

    return Claim(given, [other], expect)
