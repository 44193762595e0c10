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
from refsolver.arithmetic.exact import Exact, product
from refsolver.quantities.dimensions import LENGTH, MASS, MASS_MOMENT
from refsolver.quantities.kinds import NoAnswer, ScalarKind, Value
from refsolver.statics.areas.second_moment_sums import gyration
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
from refsolver.statics.forces.systems import sum_of
from refsolver.statics.random_givens import decimal, drawn, figures_for, log_uniform
from refsolver.statics.registry import register

COEFFICIENTS = {
    "point mass": fmpq(0),
    "rod across the axis": fmpq(1, 12),
    "disc or solid cylinder": fmpq(1, 2),
    "ring": fmpq(1),
    "solid sphere": fmpq(2, 5),
    "thin spherical shell": fmpq(2, 3),
    "cone about its axis": fmpq(3, 10),
    "hollow cylinder": fmpq(1, 2),
    "rectangular plate across the axis": fmpq(1, 12),
}
"""Own I over m (l^2 + s^2); l is the length of a rod, the radius of everything round, or a
side of a plate; s the inner radius of a hollow cylinder or the plate's other side, else 0."""

TWO_SIZES = ("hollow cylinder", "rectangular plate across the axis")


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
    second: Exact = quantity(
        LENGTH,
        "inner radius of a hollow cylinder, other side of a plate",
        sign="not negative",
        default=fmpq(0),
    )
    kind: str = choice(("solid", "hole"), "whether it adds or is cut out", default="solid")

    def __attrs_post_init__(self) -> None:
        if self.shape != "point mass" and self.size == 0:
            raise ValueError(f"a {self.shape} needs a size (length or radius)")
        if (self.second != 0) != (self.shape in TWO_SIZES):
            needs = "needs a" if self.shape in TWO_SIZES else "has no"
            raise ValueError(f"a {self.shape} {needs} second size")


@attrs.frozen
class BodiesAboutAxis:
    bodies: tuple[Body, ...] = many(Body, "the bodies turning together")


def own_moment(coefficient: Number, mass: Number, size: Number, second: Number) -> Number:
    """c m (l^2 + s^2) about the parallel axis through the mass centre."""
    return coefficient * mass * (size * size + second * second)


def shift(mass: Number, distance: Number) -> Number:
    """The term of the parallel axis theorem, m d^2."""
    return mass * distance * distance


def _holes_filled(given: BodiesAboutAxis) -> BodiesAboutAxis | None:
    if not any(body.kind == "hole" for body in given.bodies):
        return None
    return BodiesAboutAxis(tuple(attrs.evolve(body, kind="solid") for body in given.bodies))


def _diameters(given: BodiesAboutAxis) -> BodiesAboutAxis | None:
    """Twice the size of everything round."""
    straight = ("point mass", "rod across the axis", "rectangular plate across the axis")
    bodies = tuple(
        body
        if body.shape in straight
        else attrs.evolve(
            body, size=product(fmpq(2), body.size), second=product(fmpq(2), body.second)
        )
        for body in given.bodies
    )
    return None if bodies == given.bodies else BodiesAboutAxis(bodies)


@register
class CompositeBody(Family):
    name = "mass-moments/composite"
    title = "Mass moment of inertia of several bodies about one axis"
    givens = BodiesAboutAxis
    answers = {
        "moment of inertia": Answer(ScalarKind(MASS_MOMENT), "of all bodies about the axis"),
        "mass": Answer(ScalarKind(MASS), "of all bodies"),
        "radius of gyration": Answer(ScalarKind(LENGTH), "root of I over m", ("not defined",)),
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
            rules={"own_moment": lambda coefficient, mass, size, second: mass * size * size * 0},
        ),
        Mistake("hole added", "what is cut out is counted as solid", givens=_holes_filled),
        Mistake("diameter for radius", "the diameter is put in for the radius", givens=_diameters),
        Mistake(
            "distance not squared", "m d is added instead of m d^2",
            rules={"shift": lambda mass, distance: mass * distance},
        ),
    )  # fmt: skip
    method = "I = sum of (c m (l^2 + s^2) + m d^2), what is cut out negative; k = sqrt(I / m)"
    second_method = (
        "each body replaced by point masses of the same mass, mass centre and own moment"
    )

    def solve(self, given: Any, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        rows, terms, masses = [], [], []
        for number, body in enumerate(given.bodies, 1):
            mass, distance = ar.bring(body.mass), ar.bring(body.distance)
            coefficient = ar.bring(COEFFICIENTS[body.shape])
            mass = mass * (-1 if body.kind == "hole" else 1)
            own = rules.own_moment(coefficient, mass, ar.bring(body.size), ar.bring(body.second))
            moved = rules.shift(mass, distance)
            rows.append(Row(f"{body.shape} {number}", (mass, distance, own, moved)))
            terms.append(own + moved)
            masses.append(mass)
        total, mass = sum_of(terms, ar), sum_of(masses, ar)
        columns = (
            Column("m", MASS),
            Column("d", LENGTH),
            Column("own I", MASS_MOMENT),
            Column("m d^2", MASS_MOMENT),
        )
        answers = {
            "moment of inertia": total,
            "mass": mass,
            "radius of gyration": gyration_of(total, mass, ar),
        }
        return Solution(answers, (Sheet("Bodies", columns, tuple(rows), self.method),))

    def check(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Sequence[Residual]:
        points = [_as_points(body, ar) for body in given.bodies]
        total, k = sum_of(points, ar), answers["radius of gyration"]
        size = sum_of([_bound(b, ar) for b in given.bodies], ar)
        found = [
            Residual(
                "moment of inertia by point masses", answers["moment of inertia"] - total, size
            )
        ]
        kinds = {"solid": [], "hole": []}  # type: dict[str, list[Number]]
        for body in given.bodies:
            kinds["hole" if body.kind == "hole" else "solid"].append(ar.bring(body.mass))
        left, cut = (sum_of(masses, ar) for masses in kinds.values())
        found.append(Residual("mass left", answers["mass"] + cut - left, left + cut))
        if not isinstance(k, NoAnswer):
            found.append(Residual("radius of gyration", k * k * answers["mass"] - total, size))
        return found

    def figure(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        parts: list[Any] = [Mark((0.0, 0.0), "axis", "axis")]
        spans = []
        for body in given.bodies:
            d, half = ar.bring(body.distance), ar.bring(body.size)
            half = half / 2 if body.shape.startswith("rod") else half
            spans.append((d - half, d, d + half))
        row = max(abs(x) for span in spans for x in span) / 10
        for level, (body, (low, d, high)) in enumerate(zip(given.bodies, spans, strict=True), 1):
            down = -level * row
            parts += [Stroke((low, down), (high, down), body.shape), Mark((d, down))]
        k = answers["radius of gyration"]
        if not isinstance(k, NoAnswer):
            parts.append(Mark((k, 0.0), "k", "answer"))
        return Drawing(tuple(parts), "distances and extents of the bodies from the axis, to scale")

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> BodiesAboutAxis:
        """Random bodies, the last cut out again so that about 1/kappa of the moment is left."""
        from refsolver.arithmetic.double import DoubleArithmetic

        given = _drawn_bodies(rng.randint(1, 6), rng)
        target = log_uniform(rng, kappa)
        if target < 3:
            return given
        whole = self.solve(given, DoubleArithmetic(), self.rule_set()).answers["moment of inertia"]
        size = drawn(rng, 0.5, 2, 2)
        mass = 2 * whole * (1 - 2 / target) / float(size * size)
        cut = Body(
            decimal(mass, figures_for(target) + 2), "disc or solid cylinder", size, kind="hole"
        )
        return BodiesAboutAxis((*given.bodies, cut))

    def filled(self, rows: Mapping[str, int], rng: random.Random) -> BodiesAboutAxis | None:
        return _drawn_bodies(rows["bodies"], rng) if rows.get("bodies", 0) else None


def gyration_of(moment: Number, mass: Number, ar: Arithmetic) -> Value:
    """sqrt(I / m); refused where what is cut out leaves no mass, or the signs differ."""
    if ar.sign(mass, "mass of the whole") == 0:
        return NoAnswer("not defined", "what is cut out leaves no mass")
    return gyration(moment, mass, "moment of inertia", "mass", ar)


def _bound(body: Body, ar: Arithmetic) -> Number:
    reach = ar.bring(body.size) + ar.bring(body.second) + ar.bring(body.distance)
    return ar.bring(body.mass) * reach * reach


def _as_points(body: Body, ar: Arithmetic) -> Number:
    """m/2 at either side of the mass centre, at the own radius of gyration, toward the axis."""
    size, second = ar.bring(body.size), ar.bring(body.second)
    square = ar.bring(COEFFICIENTS[body.shape]) * (size * size + second * second)
    reach = ar.sqrt(square)
    near, far = ar.bring(body.distance) - reach, ar.bring(body.distance) + reach
    sign = -1 if body.kind == "hole" else 1
    return sign * ar.bring(body.mass) / 2 * (near * near + far * far)


def _drawn_bodies(count: int, rng: random.Random) -> BodiesAboutAxis:
    return BodiesAboutAxis(tuple(_drawn_body(rng) for _ in range(count)))


def _drawn_body(rng: random.Random) -> Body:
    shape = rng.choice(tuple(COEFFICIENTS))
    second = drawn(rng, 0.1, 2, 2) if shape in TWO_SIZES else fmpq(0)
    return Body(drawn(rng, 1, 90), shape, drawn(rng, 0.1, 2, 2), drawn(rng, 0.1, 3, 2), second)
