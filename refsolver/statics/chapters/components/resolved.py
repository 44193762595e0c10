"""Components of one force: along the axes, and along two oblique axes.

Sources of the method: R. C. Hibbeler, "Engineering Mechanics: Statics", chapter 2
(parallelogram law, rectangular components, dot product); D. W. Baker and W. Haynes,
"Engineering Statics: Open and Interactive", chapter 2. The first from memory.
"""

from __future__ import annotations

import math
import random
from collections.abc import Mapping, Sequence
from types import SimpleNamespace
from typing import Any

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.exact import Turn
from refsolver.quantities.dimensions import FORCE
from refsolver.quantities.kinds import NoAnswer, ScalarKind, Value, VectorKind
from refsolver.quantities.leaves import ByAzimuth, ByRun, Direction, Polar, Vector
from refsolver.statics.contract import (
    Answer,
    Family,
    Mistake,
    Residual,
    Solution,
)
from refsolver.statics.contract import direction as direction_given
from refsolver.statics.contract import vector as vector_given
from refsolver.statics.drawing import Arrow, Drawing
from refsolver.statics.forces.concurrent import plan_not_reduced, run_not_divided
from refsolver.statics.forces.pulls import Pull, along_direction, product, pull_of
from refsolver.statics.random_givens import decimal, places_for, plane_direction, plane_force, small
from refsolver.statics.registry import register
from refsolver.statics.sheets import number_sheet, vector_sheet
from refsolver.statics.vectors import (
    Numbers,
    cross_plane,
    dot,
    length,
    minus,
    scaled,
    unit_vector,
    vector,
)

__all__ = [
    "OBLIQUE_WORDS",
    "Oblique",
    "PlaneRectangular",
    "SpaceRectangular",
]

_PLUS_X = ByRun((fmpq(1), fmpq(0)))


def perpendicular(u: Numbers) -> Numbers:
    """The plane vector turned by a quarter turn, counter-clockwise."""
    return (-u[1], u[0])


def _clockwise(u: Numbers) -> Numbers:
    return (u[1], -u[0])


def along_line(force: Numbers, unit: Numbers) -> Number:
    """The rectangular component along a unit vector: their scalar product."""
    return dot(force, unit)


# --- rectangular components ---------------------------------------------------------------


@attrs.frozen
class PlaneForceAndAxis:
    force: Vector = vector_given(FORCE, "the force")
    axis: Direction = direction_given("the first axis; +x where none is stated", default=_PLUS_X)


@register
class PlaneRectangular(Family):
    name = "components/plane-rectangular"
    title = "Rectangular components of a force in the plane"
    givens = PlaneForceAndAxis
    answers = {
        "force": Answer(VectorKind(FORCE, 2), "the force along x and y", ("no direction",)),
        "along": Answer(ScalarKind(FORCE), "its component along the first axis"),
        "across": Answer(
            ScalarKind(FORCE),
            "its component along the second axis, a quarter turn counter-clockwise of the first",
        ),
    }
    rules = {"resolved": vector, "second_axis": perpendicular, "component": along_line}
    method = "F_x = F cos a, F_y = F sin a; F_1 = F . u, F_2 = F . (u turned by 90 degrees)"
    second_method = (
        "Pythagoras, F_1^2 + F_2^2 = F^2, and the angle between force and axis where both are "
        "stated by angles"
    )
    mistakes = (
        Mistake(
            "second axis clockwise",
            "the second axis is taken a quarter turn clockwise of the first",
            rules={"second_axis": _clockwise},
        ),
        Mistake(
            "axes not turned",
            "the components along x and y are given for those along the stated axes",
            givens=lambda given: (
                None if given.axis == _PLUS_X else attrs.evolve(given, axis=_PLUS_X)
            ),
        ),
    )

    def solve(self, given: Any, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        force, axis = rules.resolved(given.force, ar), unit_vector(given.axis, ar)
        second = rules.second_axis(axis)
        along, across = rules.component(force, axis), rules.component(force, second)
        working = (
            vector_sheet("Force", FORCE, {"F": force}),
            vector_sheet("Unit vectors of the axes", None, {"u1": axis, "u2": second}),
            number_sheet("Components", {"F1": along, "F2": across}, self.method),
        )
        return Solution({"force": force, "along": along, "across": across}, working)

    def check(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Sequence[Residual]:
        pull = pull_of(given.force, ar)
        axis = along_direction(ar.bring(fmpq(1)), given.axis, ar)
        square = product(pull, pull, ar)
        along, across, force = answers["along"], answers["across"], answers["force"]
        back = minus(
            force, (
                along * axis.along[0] - across * axis.along[1],
                along * axis.along[1] + across * axis.along[0],
            ),
        )  # fmt: skip
        return [
            Residual("Pythagoras", along * along + across * across - square, square),
            Residual("angle to the first axis", along - product(pull, axis, ar), ar.sqrt(square)),
            Residual("put together again", dot(back, back), square),
        ]

    def figure(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        axis, origin = unit_vector(given.axis, ar), (0.0, 0.0)
        parts = (
            Arrow(origin, answers["force"], "F"),
            Arrow(origin, scaled(answers["along"], axis), "F1", "answer"),
            Arrow(origin, scaled(answers["across"], perpendicular(axis)), "F2", "answer"),
        )
        return Drawing(parts, "A force and its two components at right angles, to scale")

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> PlaneForceAndAxis:
        """A force nearly square to the first axis, by about 1/kappa of a radian."""
        axis = rng.uniform(0, 360)
        off = math.degrees(small(kappa, rng))
        return PlaneForceAndAxis(
            plane_force(rng, axis + 90 + off, kappa), plane_direction(axis, kappa)
        )


@attrs.frozen
class OneSpaceForce:
    force: Vector = vector_given(FORCE, "the force", space=3)


@register
class SpaceRectangular(Family):
    name = "components/space-rectangular"
    title = "Rectangular components and direction angles of a force in space"
    givens = OneSpaceForce
    answers = {
        "force": Answer(VectorKind(FORCE, 3), "the force along x, y and z", ("no direction",)),
    }
    rules = {"resolved": vector}
    method = "F_x = F cos a, F_y = F cos b, F_z = F cos c; F = sqrt(F_x^2 + F_y^2 + F_z^2)"
    second_method = (
        "the squares of the components add to the square of the magnitude stated, and their "
        "projections on the stated direction to the magnitude"
    )

    mistakes = (
        Mistake(
            "run taken for a unit vector",
            "the run or the points' differences are not divided by their length",
            rules={"resolved": run_not_divided},
        ),
        Mistake(
            "plan component not reduced",
            "the whole force is taken in plan, not its part level with it",
            rules={"resolved": plan_not_reduced},
        ),
    )

    def solve(self, given: Any, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        force = rules.resolved(given.force, ar)
        sheet = vector_sheet("Components", FORCE, {"F": force}, self.method)
        size = number_sheet("Magnitude", {"F": length(force, ar)})
        return Solution({"force": force}, (sheet, size))

    def check(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Sequence[Residual]:
        pull = pull_of(given.force, ar)
        square = product(pull, pull, ar)
        force = answers["force"]
        along = dot(force, pull.along)
        line = Pull(ar.bring(fmpq(1)), pull.along, pull.stated)
        size = ar.sqrt(square) * length(pull.along, ar)
        return [
            Residual("magnitude", dot(force, force) - square, square),
            Residual("along its own line", along - product(pull, line, ar), size),
        ]

    def figure(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        x, y, z = answers["force"]
        parts = (
            Arrow((0.0, 0.0, 0.0), (x, y, z), "F"),
            Arrow((0.0, 0.0, 0.0), (x, 0.0, 0.0), "Fx", "answer"),
            Arrow((0.0, 0.0, 0.0), (0.0, y, 0.0), "Fy", "answer"),
            Arrow((0.0, 0.0, 0.0), (0.0, 0.0, z), "Fz", "answer"),
        )
        return Drawing(parts, "A force in space and its components along x, y and z", 3)

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> OneSpaceForce:
        """A force nearly level, or nearly along an axis in plan, by about 1/kappa."""
        places = places_for(kappa)
        off = decimal(math.degrees(small(kappa, rng)), places)
        azimuth = 90 * rng.randint(1, 3) + off
        rise = math.degrees(small(kappa, rng)) if rng.random() < 0.5 else rng.uniform(-80, 80)
        return OneSpaceForce(
            Polar(
                decimal(rng.uniform(10, 990), 1),
                ByAzimuth(Turn(azimuth / 360), Turn(decimal(rise, places) / 360)),
            )
        )


# --- oblique components -------------------------------------------------------------------


@attrs.frozen
class ForceAndTwoAxes:
    force: Vector = vector_given(FORCE, "the force to be resolved")
    first: Direction = direction_given("the first axis")
    second: Direction = direction_given("the second axis, oblique or square to the first")


OBLIQUE_WORDS = {
    "no unique answer": "the axes are parallel, and the force lies along them",
    "no solution": "the axes are parallel, and the force does not lie along them",
}
"""Why a force has no components along two parallel axes."""


def by_parallelogram(
    force: Numbers, first: Numbers, second: Numbers, area: Number
) -> tuple[Number, Number]:
    """a and b in F = a u + b v; ``area`` is u x v."""
    return cross_plane(force, second) / area, cross_plane(first, force) / area


def _by_projection(
    force: Numbers, first: Numbers, second: Numbers, area: Number
) -> tuple[Number, Number]:
    return dot(force, first), dot(force, second)


@register
class Oblique(Family):
    name = "components/oblique"
    title = "Components of a force along two oblique axes"
    givens = ForceAndTwoAxes
    answers = {
        "first": Answer(
            ScalarKind(FORCE),
            "the component along the first axis, positive with its direction",
            tuple(OBLIQUE_WORDS),
        ),
        "second": Answer(
            ScalarKind(FORCE),
            "the component along the second axis, positive with its direction",
            tuple(OBLIQUE_WORDS),
        ),
    }
    rules = {"resolved": vector, "parallelogram": by_parallelogram}
    method = "F = a u + b v by the parallelogram law: a = (F x v) / (u x v), b = (u x F) / (u x v)"
    second_method = (
        "law of cosines, F^2 = a^2 + b^2 + 2 a b (u . v), and the projections of both "
        "components and the force on either axis"
    )
    mistakes = (
        Mistake(
            "projected, not resolved",
            "the force is projected at right angles on each axis; by the parallelogram law it "
            "is not, unless the axes are square",
            rules={"parallelogram": _by_projection},
        ),
        Mistake(
            "components exchanged",
            "the component along one axis is given for the other",
            answers=lambda given, answers, ar: {
                "first": answers["second"],
                "second": answers["first"],
            },
        ),
    )

    def solve(self, given: Any, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        force = rules.resolved(given.force, ar)
        u, v = unit_vector(given.first, ar), unit_vector(given.second, ar)
        area = cross_plane(u, v)
        given_sheets = (
            vector_sheet("Force", FORCE, {"F": force}),
            vector_sheet("Unit vectors of the axes", None, {"u": u, "v": v}),
        )
        if ar.sign(area, "the second axis off the first") == 0:
            off = ar.sign(cross_plane(u, force), "the force off the axes")
            reason = "no solution" if off else "no unique answer"
            none = NoAnswer(reason, OBLIQUE_WORDS[reason])
            return Solution({"first": none, "second": none}, given_sheets)
        a, b = rules.parallelogram(force, u, v, area)
        sheet = number_sheet("Parallelogram", {"a": a, "b": b}, self.method)
        return Solution({"first": a, "second": b}, (*given_sheets, sheet))

    def check(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Sequence[Residual]:
        a, b = answers["first"], answers["second"]
        if isinstance(a, NoAnswer):
            return []
        force = pull_of(given.force, ar)
        one = ar.bring(fmpq(1))
        u, v = (along_direction(one, axis, ar) for axis in (given.first, given.second))
        between, square = product(u, v, ar), product(force, force, ar)
        size = square + a * a + b * b
        return [
            Residual("law of cosines", a * a + b * b + 2 * a * b * between - square, size),
            Residual("on the first axis", a + b * between - product(force, u, ar), ar.sqrt(size)),
            Residual("on the second axis", a * between + b - product(force, v, ar), ar.sqrt(size)),
        ]

    def figure(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        force, origin = vector(given.force, ar), (0.0, 0.0)
        parts: list[Any] = [Arrow(origin, force, "F")]
        for name, axis in (("first", given.first), ("second", given.second)):
            if not isinstance(answers[name], NoAnswer):
                along = scaled(answers[name], unit_vector(axis, ar))
                parts.append(Arrow(origin, along, name, "answer"))
        return Drawing(tuple(parts), "A force and its components along two oblique axes, to scale")

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> ForceAndTwoAxes:
        """Axes about 1/kappa of a radian apart."""
        first = rng.uniform(0, 360)
        second = first + math.degrees(small(kappa, rng)) + rng.choice((0, 180))
        return ForceAndTwoAxes(
            plane_force(rng, rng.uniform(0, 360), kappa),
            plane_direction(first, kappa),
            plane_direction(second, kappa),
        )
