"""Centre of mass of point masses, in the plane and in space.

Source of the method: E. Herman, G. Strang et al., "Calculus Volume 2", OpenStax, section
2.6 (moments and centres of mass).
"""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from types import SimpleNamespace
from typing import Any, ClassVar

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.exact import Exact
from refsolver.quantities.dimensions import LENGTH, MASS
from refsolver.quantities.kinds import PointKind, ScalarKind, Value, VectorKind
from refsolver.statics import cautions
from refsolver.statics.contract import (
    Answer,
    Column,
    Family,
    Mistake,
    Residual,
    Row,
    Sheet,
    Solution,
    many,
    point,
    quantity,
    text,
)
from refsolver.statics.drawing import Drawing, Mark
from refsolver.statics.forces.systems import sum_of
from refsolver.statics.naming import distinct_names, keys_of
from refsolver.statics.random_givens import (
    decimal,
    drawn,
    drawn_point,
    figures_for,
    log_uniform,
)
from refsolver.statics.registry import register
from refsolver.statics.vectors import Numbers, brought, minus


@attrs.frozen
class PlaneMass:
    mass: Exact = quantity(MASS, "its mass", sign="positive")
    at: tuple[Exact, ...] = point("where it is")
    name: str = text("what it is called")


@attrs.frozen
class SpaceMass:
    mass: Exact = quantity(MASS, "its mass", sign="positive")
    at: tuple[Exact, ...] = point("where it is", space=3)
    name: str = text("what it is called")


@attrs.frozen
class PlaneMasses:
    masses: tuple[PlaneMass, ...] = many(PlaneMass, "the point masses")

    def __attrs_post_init__(self) -> None:
        distinct_names(self.masses, "mass")


@attrs.frozen
class SpaceMasses:
    masses: tuple[SpaceMass, ...] = many(SpaceMass, "the point masses")

    def __attrs_post_init__(self) -> None:
        distinct_names(self.masses, "mass")


def moment_of_mass(mass: Number, distance: Number, ar: Arithmetic) -> Number:
    """m x."""
    return mass * distance


def without_sign(mass: Number, distance: Number, ar: Arithmetic) -> Number:
    return mass * ar.size(distance)


def _not_weighted(
    given: Any, answers: Mapping[str, Value], ar: Arithmetic
) -> Mapping[str, Value] | None:
    places = [brought(item.at, ar) for item in given.masses]
    mean = tuple(sum_of(list(along), ar) / len(places) for along in zip(*places, strict=True))
    return {**answers, "centre": mean} if len(places) > 1 else None


def _divided_by_count(
    given: Any, answers: Mapping[str, Value], ar: Arithmetic
) -> Mapping[str, Value]:
    count = len(given.masses)
    return {**answers, "centre": tuple(m / count for m in answers["first moment"])}


def _coordinates_exchanged(
    given: Any, answers: Mapping[str, Value], ar: Arithmetic
) -> Mapping[str, Value]:
    x, y, *z = answers["centre"]
    return {**answers, "centre": (y, x, *z)}


class _PointMasses(Family):
    """Shared by plane and space: they differ in the number of coordinates only."""

    space: ClassVar[int]
    rules = {"moment_of_mass": moment_of_mass}
    mistakes = (
        Mistake(
            "places averaged", "the mean of the places is taken, not weighted by the masses",
            answers=_not_weighted,
        ),
        Mistake(
            "divided by the number of masses",
            "the sum of m x is divided by how many masses there are, not by their sum",
            answers=_divided_by_count,
        ),
        Mistake(
            "coordinates exchanged", "the moment about the x axis gives x instead of y",
            answers=_coordinates_exchanged,
        ),
        Mistake(
            "distances without sign", "masses to the left or below count as if on the other side",
            rules={"moment_of_mass": without_sign},
        ),
    )  # fmt: skip
    method = "m = sum of m_i, centre = sum of m_i r_i / m"
    caution = cautions.CENTRES
    second_method = (
        "masses joined two by two, each pair at the point that divides its line m_2 : m_1"
    )

    def solve(self, given: Any, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        masses = [ar.bring(item.mass) for item in given.masses]
        places = [brought(item.at, ar) for item in given.masses]
        mass = sum_of(masses, ar)
        rows = [
            tuple(rules.moment_of_mass(m, x, ar) for x in place)
            for m, place in zip(masses, places, strict=True)
        ]
        moment = tuple(sum_of(list(along), ar) for along in zip(*rows, strict=True))
        answers = {
            "mass": mass,
            "first moment": moment,
            "centre": tuple(m / mass for m in moment),
        }
        letters = "xyz"[: self.space]
        columns = (Column("m", MASS), *(Column(f"m {a}", MASS * LENGTH) for a in letters))
        labelled = zip(keys_of(given.masses, "mass"), masses, rows, strict=True)
        table = [Row(key, (m, *row)) for key, m, row in labelled]
        table.append(Row("sum", (mass, *moment)))
        return Solution(answers, (Sheet("Masses", columns, tuple(table), self.method),))

    def check(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Sequence[Residual]:
        first, *rest = given.masses
        mass, place = ar.bring(first.mass), brought(first.at, ar)
        reach = sum_of([ar.size(x) for item in given.masses for x in brought(item.at, ar)], ar)
        for item in rest:
            other = ar.bring(item.mass)
            share = other / (mass + other)
            step = minus(brought(item.at, ar), place)
            place = tuple(a + share * d for a, d in zip(place, step, strict=True))
            mass = mass + other
        found = [Residual("mass", answers["mass"] - mass, mass)]
        for letter, x, y, m in zip(
            "xyz", answers["centre"], place, answers["first moment"], strict=False
        ):
            found.append(Residual(f"centre along {letter}", x - y, reach))
            found.append(Residual(f"first moment along {letter}", m - y * mass, reach * mass))
        return found

    def figure(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        marks = [
            Mark(brought(item.at, ar), key)
            for key, item in zip(keys_of(given.masses, "mass"), given.masses, strict=True)
        ]
        marks.append(Mark((0.0,) * self.space, "O", "axis"))
        marks.append(Mark(answers["centre"], "centre of mass", "answer"))
        return Drawing(tuple(marks), "the masses and their common centre, to scale", self.space)

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> Any:
        """Masses whose centre is 1/kappa of their distances away from the origin."""
        target = log_uniform(rng, kappa)
        places = figures_for(target) + 1
        rows = [(drawn(rng, 1, 90), drawn_point(rng, self.space)) for _ in range(rng.randint(1, 5))]
        last = drawn(rng, 1, 90)
        mass = last + sum((m for m, _ in rows), fmpq(0))
        far = []
        for i in range(self.space):
            so_far = sum((m * at[i] for m, at in rows), fmpq(0))
            size = sum((float(m * abs(at[i])) for m, at in rows), 0.0)
            left = size / target / float(mass) * rng.choice((-1, 1))
            far.append(decimal(float((decimal(left, places) * mass - so_far) / last), places))
        return self._of([*rows, (last, tuple(far))])

    def filled(self, rows: Mapping[str, int], rng: random.Random) -> Any | None:
        count = rows.get("masses", 0)
        if set(rows) != {"masses"} or count < 1:
            return None
        return self._of([(drawn(rng, 1, 90), drawn_point(rng, self.space)) for _ in range(count)])

    def _of(self, rows: Sequence[tuple[fmpq, Numbers]]) -> Any:
        item = PlaneMass if self.space == 2 else SpaceMass
        return self.givens(tuple(item(mass, at) for mass, at in rows))


@register
class PlanePointMasses(_PointMasses):
    name = "centroids/point-masses-plane"
    title = "Centre of mass of point masses in the plane"
    givens = PlaneMasses
    space = 2
    answers = {
        "mass": Answer(ScalarKind(MASS), "of all"),
        "first moment": Answer(VectorKind(MASS * LENGTH, 2), "sum of m x and of m y"),
        "centre": Answer(PointKind(), "the centre of mass"),
    }


@register
class SpacePointMasses(_PointMasses):
    name = "centroids/point-masses-space"
    title = "Centre of mass of point masses in space"
    givens = SpaceMasses
    space = 3
    answers = {
        "mass": Answer(ScalarKind(MASS), "of all"),
        "first moment": Answer(VectorKind(MASS * LENGTH, 3), "sum of m x, m y and m z"),
        "centre": Answer(PointKind(3), "the centre of mass"),
    }
