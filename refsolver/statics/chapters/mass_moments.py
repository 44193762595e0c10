"""Mass moments of inertia of bodies put together from simple ones, about one axis.

Source of the method: R. C. Hibbeler, "Engineering Mechanics: Statics", section 10.8, from
memory: I = sum of (own I + m d^2), own I = c m l^2 with the coefficient of the body.
"""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from types import SimpleNamespace
from typing import Any

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.exact import Exact
from refsolver.quantities.dimensions import LENGTH, MASS, MASS_MOMENT
from refsolver.quantities.kinds import ScalarKind, Value
from refsolver.statics.contract import (
    Answer,
    Column,
    Family,
    Mistake,
    Residual,
    Row,
    Sheet,
    Solution,
    choice,
    many,
    quantity,
)
from refsolver.statics.drawing import Drawing, Mark, Stroke
from refsolver.statics.random_givens import drawn
from refsolver.statics.registry import register

COEFFICIENTS = {
    "point mass": fmpq(0),
    "rod across the axis": fmpq(1, 12),
    "disc or solid cylinder": fmpq(1, 2),
    "ring": fmpq(1),
    "solid sphere": fmpq(2, 5),
    "thin spherical shell": fmpq(2, 3),
}
"""Own I over m l^2; l is the length of a rod and the radius of everything round."""


@attrs.frozen
class Body:
    mass: Exact = quantity(MASS, "its mass", sign="positive")
    shape: str = choice(tuple(COEFFICIENTS), "what it is", default="point mass")
    size: Exact = quantity(
        LENGTH, "length of a rod, radius of a round body", sign="not negative", default=fmpq(0)
    )
    distance: Exact = quantity(
        LENGTH, "from its mass centre to the axis", sign="not negative", default=fmpq(0)
    )

    def __attrs_post_init__(self) -> None:
        if self.shape != "point mass" and self.size == 0:
            raise ValueError(f"a {self.shape} needs a size (length or radius)")


@attrs.frozen
class BodiesAboutAxis:
    bodies: tuple[Body, ...] = many(Body, "the bodies turning together")


def own_moment(coefficient: Number, mass: Number, size: Number) -> Number:
    """c m l^2 about the parallel axis through the mass centre."""
    return coefficient * mass * size * size


def shift(mass: Number, distance: Number) -> Number:
    """The term of the parallel axis theorem, m d^2."""
    return mass * distance * distance


def _sum(values: Sequence[Number], ar: Arithmetic) -> Number:
    return sum(values, ar.bring(fmpq(0)))


@register
class CompositeBody(Family):
    name = "mass-moments/composite"
    title = "Mass moment of inertia of several bodies about one axis"
    givens = BodiesAboutAxis
    answers = {
        "moment of inertia": Answer(ScalarKind(MASS_MOMENT), "of all bodies about the axis"),
        "mass": Answer(ScalarKind(MASS), "of all bodies"),
        "radius of gyration": Answer(ScalarKind(LENGTH), "root of I over m"),
    }
    rules = {"own_moment": own_moment, "shift": shift}
    mistakes = (
        Mistake(
            "parallel axis term left out",
            "every body is taken about its own mass centre",
            rules={"shift": lambda mass, distance: mass * distance * distance * 0},
        ),
        Mistake(
            "bodies taken as points",
            "only m d^2 of each body is added up",
            rules={"own_moment": lambda coefficient, mass, size: mass * size * size * 0},
        ),
    )
    method = "I = sum of (c m l^2 + m d^2); k = sqrt(I / m)"
    second_method = (
        "each body replaced by point masses of the same mass, mass centre and own moment"
    )

    def solve(self, given: Any, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        rows, terms, masses = [], [], []
        for number, body in enumerate(given.bodies, 1):
            mass, distance = ar.bring(body.mass), ar.bring(body.distance)
            coefficient = ar.bring(COEFFICIENTS[body.shape])
            own = rules.own_moment(coefficient, mass, ar.bring(body.size))
            moved = rules.shift(mass, distance)
            rows.append(Row(f"{body.shape} {number}", (mass, distance, own, moved)))
            terms.append(own + moved)
            masses.append(mass)
        total, mass = _sum(terms, ar), _sum(masses, ar)
        columns = (
            Column("m", MASS),
            Column("d", LENGTH),
            Column("own I", MASS_MOMENT),
            Column("m d^2", MASS_MOMENT),
        )
        answers = {
            "moment of inertia": total,
            "mass": mass,
            "radius of gyration": ar.sqrt(total / mass),
        }
        return Solution(answers, (Sheet("Bodies", columns, tuple(rows), self.method),))

    def check(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Sequence[Residual]:
        points = [_as_points(body, ar) for body in given.bodies]
        total, k = _sum(points, ar), answers["radius of gyration"]
        size = total + _sum([_bound(b, ar) for b in given.bodies], ar)
        if ar.sign(size, "size of the bodies") == 0:
            size = answers["mass"]
        return (
            Residual(
                "moment of inertia by point masses", answers["moment of inertia"] - total, size
            ),
            Residual("radius of gyration", k * k * answers["mass"] - total, size),
        )

    def figure(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        parts: list[Any] = [Mark((0.0, 0.0), "axis", "axis")]
        for level, body in enumerate(given.bodies, 1):
            d, half = ar.bring(body.distance), ar.bring(body.size)
            half = half / 2 if body.shape.startswith("rod") else half
            parts.append(Stroke((d - half, -level * 0.1), (d + half, -level * 0.1), body.shape))
            parts.append(Mark((d, -level * 0.1)))
        k = answers["radius of gyration"]
        parts.append(Mark((k, 0.0), "k", "answer"))
        return Drawing(tuple(parts), "distances and extents of the bodies from the axis, to scale")

    def generate(self, kappa: tuple[float, float], rng: random.Random) -> BodiesAboutAxis:
        """A sum of positive terms, well conditioned whatever ``kappa``."""
        return _drawn_bodies(rng.randint(1, 6), rng)

    def filled(self, rows: Mapping[str, int], rng: random.Random) -> BodiesAboutAxis | None:
        return _drawn_bodies(rows["bodies"], rng) if rows.get("bodies", 0) else None


def _bound(body: Body, ar: Arithmetic) -> Number:
    reach = ar.bring(body.size) + ar.bring(body.distance)
    return ar.bring(body.mass) * reach * reach


def _as_points(body: Body, ar: Arithmetic) -> Number:
    """m/2 at either side of the mass centre, on the line to the axis, at l sqrt(c)."""
    reach = ar.bring(body.size) * ar.sqrt(ar.bring(COEFFICIENTS[body.shape]))
    near, far = ar.bring(body.distance) - reach, ar.bring(body.distance) + reach
    return ar.bring(body.mass) / 2 * (near * near + far * far)


def _drawn_bodies(count: int, rng: random.Random) -> BodiesAboutAxis:
    shapes = tuple(COEFFICIENTS)
    return BodiesAboutAxis(
        tuple(
            Body(
                drawn(rng, 1, 90), rng.choice(shapes), drawn(rng, 0.1, 2, 2), drawn(rng, 0.1, 3, 2)
            )
            for _ in range(count)
        )
    )
