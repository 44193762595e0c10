"""Projection of a force on a line, and the angle between two vectors.

Sources of the method: R. C. Hibbeler, "Engineering Mechanics: Statics", chapter 2 (dot
product), from memory; D. W. Baker and W. Haynes, "Engineering Statics: Open and
Interactive", chapter 2.
"""

from __future__ import annotations

import math
import random
from collections.abc import Mapping, Sequence
from types import SimpleNamespace
from typing import Any, ClassVar

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.quantities.dimensions import ANGLE, FORCE
from refsolver.quantities.kinds import NoAnswer, ScalarKind, Value, VectorKind
from refsolver.quantities.leaves import ByRun, Direction, Polar, Vector
from refsolver.statics.contract import Answer, Family, Mistake, Residual, Solution
from refsolver.statics.contract import direction as direction_given
from refsolver.statics.contract import vector as vector_given
from refsolver.statics.drawing import Arrow, Drawing, Stroke
from refsolver.statics.forces.pulls import along_direction, product, pull_of
from refsolver.statics.random_givens import decimal, places_for, plane_direction, plane_force, small
from refsolver.statics.registry import register
from refsolver.statics.sheets import number_sheet, vector_sheet
from refsolver.statics.vectors import (
    Numbers,
    brought,
    cross,
    cross_plane,
    dot,
    length,
    minus,
    scaled,
    unit_vector,
    vector,
)

__all__ = ["PlaneAngle", "PlaneProjection", "SpaceAngle", "SpaceProjection"]

_SQUARE_FORCE = FORCE**2


# --- projection on a line -----------------------------------------------------------------


@attrs.frozen
class PlaneForceAndLine:
    force: Vector = vector_given(FORCE, "the force")
    line: Direction = direction_given("the direction of the line")


@attrs.frozen
class SpaceForceAndLine:
    force: Vector = vector_given(FORCE, "the force", space=3)
    line: Direction = direction_given("the direction of the line", space=3)


def scalar_projection(force: Numbers, unit: Numbers) -> Number:
    """F . u, positive with the line's direction."""
    return dot(force, unit)


class _Projection(Family):
    """Shared by plane and space."""

    space: ClassVar[int]
    rules = {"resolved": vector, "unit_vector": unit_vector, "projection": scalar_projection}
    method = "F_parallel = (F . u) u, F_perpendicular = F - F_parallel"
    second_method = (
        "Pythagoras with the magnitude stated; F . u from the stated angles; the perpendicular "
        "part square to the line, the parallel part along it"
    )

    def solve(self, given: Any, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        force, unit = rules.resolved(given.force, ar), rules.unit_vector(given.line, ar)
        projection = rules.projection(force, unit)
        parallel = scaled(projection, unit)
        square_to = minus(force, parallel)
        working = (
            vector_sheet("Unit vector of the line", None, {"u": unit}),
            number_sheet("Projection", {"F . u": projection}),
            vector_sheet(
                "Parts along and square to the line",
                FORCE,
                {"force": force, "parallel part": parallel, "perpendicular part": square_to},
                self.method,
            ),
        )
        answers = {"projection": projection, "parallel": parallel, "perpendicular": square_to}
        return Solution(answers, working)

    def check(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Sequence[Residual]:
        force = pull_of(given.force, ar)
        line = along_direction(ar.bring(fmpq(1)), given.line, ar)
        square = product(force, force, ar)
        size = ar.sqrt(square)
        parallel, across = answers["parallel"], answers["perpendicular"]
        squares = dot(parallel, parallel) + dot(across, across)
        if self.space == 2:
            off = cross_plane(parallel, line.along)
            turned = off * off
        else:
            turn = cross(parallel, line.along)
            turned = dot(turn, turn)
        return [
            Residual("Pythagoras", squares - square, square),
            Residual("projection", answers["projection"] - product(force, line, ar), size),
            Residual("square to the line", dot(across, line.along), size),
            Residual("along the line", turned, square),
        ]

    def figure(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        origin, force = (0.0,) * self.space, vector(given.force, ar)
        unit = unit_vector(given.line, ar)
        reach = math.sqrt(dot(force, force)) or 1.0
        parts = (
            Stroke(scaled(-reach, unit), scaled(reach, unit), "line", "construction"),
            Arrow(origin, force, "F"),
            Arrow(origin, answers["parallel"], "parallel part", "answer"),
            Arrow(origin, answers["perpendicular"], "perpendicular part", "answer"),
        )
        return Drawing(
            parts, "A force, its part along a line and its part square to it", self.space
        )


def _run_not_divided(line: Direction, ar: Arithmetic) -> Numbers:
    if not isinstance(line, ByRun):
        return unit_vector(line, ar)
    return brought(line.run, ar)


def _projection_answers(space: int) -> dict[str, Answer]:
    return {
        "projection": Answer(
            ScalarKind(FORCE), "the component along the line, positive with its direction"
        ),
        "parallel": Answer(VectorKind(FORCE, space), "the part along the line", ("no direction",)),
        "perpendicular": Answer(
            VectorKind(FORCE, space), "the part square to the line", ("no direction",)
        ),
    }


_PROJECTION_MISTAKES = (
    Mistake(
        "run taken for a unit vector",
        "the line's run is not divided by its length",
        rules={"unit_vector": _run_not_divided},
    ),
    Mistake(
        "sign of the projection dropped",
        "a force against the line's direction is given as along it",
        answers=lambda given, answers, ar: {
            **answers,
            "projection": ar.size(answers["projection"]),
        },
    ),
    Mistake(
        "parts exchanged",
        "the part square to the line is given for the one along it",
        answers=lambda given, answers, ar: {
            **answers,
            "parallel": answers["perpendicular"],
            "perpendicular": answers["parallel"],
        },
    ),
)


@register
class PlaneProjection(_Projection):
    name = "components/plane-projection"
    title = "Projection of a force on a line in the plane"
    givens = PlaneForceAndLine
    space = 2
    answers = _projection_answers(2)
    mistakes = _PROJECTION_MISTAKES

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> PlaneForceAndLine:
        """A force nearly square to the line, by about 1/kappa of a radian."""
        line = rng.uniform(0, 360)
        off = math.degrees(small(kappa, rng))
        side = rng.choice((90, 270))
        return PlaneForceAndLine(
            plane_force(rng, line + side + off, kappa), plane_direction(line, kappa)
        )


@register
class SpaceProjection(_Projection):
    name = "components/space-projection"
    title = "Projection of a force on a line in space"
    givens = SpaceForceAndLine
    space = 3
    answers = _projection_answers(3)
    mistakes = _PROJECTION_MISTAKES

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> SpaceForceAndLine:
        """A force nearly square to the line, by about 1/kappa of a radian."""
        line, force = _nearly_square(kappa, rng)
        places = places_for(kappa)
        size = rng.uniform(10, 990)
        return SpaceForceAndLine(
            Polar(decimal(size, 1), ByRun(tuple(decimal(x, places) for x in force))),
            ByRun(tuple(decimal(x, places) for x in line)),
        )


# --- angle between two vectors ------------------------------------------------------------


@attrs.frozen
class TwoPlaneVectors:
    first: Vector = vector_given(FORCE, "the first vector")
    second: Vector = vector_given(FORCE, "the second vector")


@attrs.frozen
class TwoSpaceVectors:
    first: Vector = vector_given(FORCE, "the first vector", space=3)
    second: Vector = vector_given(FORCE, "the second vector", space=3)


def scalar_product(a: Numbers, b: Numbers) -> Number:
    """a . b from the components."""
    return dot(a, b)


def _in_plan_only(a: Numbers, b: Numbers) -> Number:
    return dot(a[:2], b[:2])


class _Angle(Family):
    """Shared by plane and space; the plane adds the sense of the turn."""

    space: ClassVar[int]
    rules = {"resolved": vector, "scalar_product": scalar_product}
    second_method = (
        "Lagrange's identity, (a . b)^2 + |a x b|^2 = a^2 b^2, with the magnitudes stated; "
        "a . b from the angles stated"
    )

    def _turning(self, a: Numbers, b: Numbers, ar: Arithmetic) -> Number:
        """|a x b|."""
        raise NotImplementedError

    def solve(self, given: Any, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        a, b = rules.resolved(given.first, ar), rules.resolved(given.second, ar)
        inner = rules.scalar_product(a, b)
        working = (
            vector_sheet("Vectors", FORCE, {"a": a, "b": b}),
            number_sheet("Scalar product", {"a . b": inner}, self.method, _SQUARE_FORCE),
        )
        first, second = (_all_zero(v, w, ar) for v, w in ((a, "the first"), (b, "the second")))
        if first or second:
            none = NoAnswer("no direction", "a vector is proven zero, and zero has no direction")
            return Solution({"product": inner, **dict.fromkeys(self._angles, none)}, working)
        return Solution({"product": inner, **self._measured(a, b, inner, ar)}, working)

    _angles: ClassVar[tuple[str, ...]] = ("angle", "acute")

    def _measured(self, a: Numbers, b: Numbers, inner: Number, ar: Arithmetic) -> dict[str, Number]:
        size = self._turning(a, b, ar)
        return {
            "angle": ar.atan2(size, inner, "angle between the vectors"),
            "acute": ar.atan2(size, ar.size(inner), "angle between the lines"),
        }

    def check(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Sequence[Residual]:
        a, b = pull_of(given.first, ar), pull_of(given.second, ar)
        inner = product(a, b, ar)
        squares = product(a, a, ar) * product(b, b, ar)
        root = ar.sqrt(squares)
        residuals = [Residual("scalar product", answers["product"] - inner, root)]
        if isinstance(answers["angle"], NoAnswer):
            return residuals
        along = root * ar.cos(answers["angle"])
        residuals.append(Residual("cosine of the angle", along - inner, root))
        across = root * ar.sin(answers["angle"])
        identity = inner * inner + across * across - squares
        residuals.append(Residual("Lagrange's identity", identity, squares))
        straight = root * ar.cos(answers["acute"]) - ar.size(inner)
        residuals.append(Residual("cosine of the acute angle", straight, root))
        return residuals

    def figure(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        origin = (0.0,) * self.space
        parts = (
            Arrow(origin, vector(given.first, ar), "a"),
            Arrow(origin, vector(given.second, ar), "b"),
        )
        return Drawing(parts, "Two vectors from one point, to scale", self.space)


def _angle_answers() -> dict[str, Answer]:
    return {
        "product": Answer(ScalarKind(_SQUARE_FORCE), "their scalar product"),
        "angle": Answer(
            ScalarKind(ANGLE), "the angle between the vectors, 0 to 180 degrees", ("no direction",)
        ),
        "acute": Answer(
            ScalarKind(ANGLE), "the angle between their lines, 0 to 90 degrees", ("no direction",)
        ),
    }


_ACUTE_ONLY = Mistake(
    "acute angle only",
    "the angle between the lines is given for that between the vectors",
    answers=lambda given, answers, ar: {**answers, "angle": answers["acute"]},
)


@register
class PlaneAngle(_Angle):
    name = "components/plane-angle"
    title = "Angle between two vectors in the plane"
    givens = TwoPlaneVectors
    space = 2
    answers = {
        **_angle_answers(),
        "turn": Answer(
            ScalarKind(ANGLE),
            "the turn from the first to the second, counter-clockwise positive, up to 180 degrees",
            ("no direction",),
        ),
    }
    _angles = ("angle", "acute", "turn")
    method = "cos t = a . b / (|a| |b|), with the sense of the turn from a x b"
    mistakes = (
        _ACUTE_ONLY,
        Mistake(
            "turn clockwise positive",
            "the turn is counted positive clockwise",
            answers=lambda given, answers, ar: (
                None
                if isinstance(answers["turn"], NoAnswer)
                else {**answers, "turn": -answers["turn"]}
            ),
        ),
    )

    def _turning(self, a: Numbers, b: Numbers, ar: Arithmetic) -> Number:
        return ar.size(cross_plane(a, b))

    def _measured(self, a: Numbers, b: Numbers, inner: Number, ar: Arithmetic) -> dict[str, Number]:
        turn = ar.atan2(cross_plane(a, b), inner, "turn from the first to the second")
        return {**super()._measured(a, b, inner, ar), "turn": turn}

    def check(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Sequence[Residual]:
        residuals = list(super().check(given, answers, ar))
        if not isinstance(answers["turn"], NoAnswer):
            a, b = vector(given.first, ar), vector(given.second, ar)
            c, s = ar.cos(answers["turn"]), ar.sin(answers["turn"])
            turned = (c * a[0] - s * a[1], s * a[0] + c * a[1])
            size = length(a, ar) * length(b, ar)
            off = cross_plane(turned, b)
            residuals.append(Residual("the first, turned, lies along the second", off, size))
            off = dot(turned, b) - size
            residuals.append(Residual("the first, turned, points as the second", off, size))
        return residuals

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> TwoPlaneVectors:
        """Vectors about 1/kappa of a radian off one line, or off a right angle."""
        first = rng.uniform(0, 360)
        second = first + rng.choice((0, 90, 180, 270)) + math.degrees(small(kappa, rng))
        return TwoPlaneVectors(plane_force(rng, first, kappa), plane_force(rng, second, kappa))


@register
class SpaceAngle(_Angle):
    name = "components/space-angle"
    title = "Angle between two vectors in space"
    givens = TwoSpaceVectors
    space = 3
    answers = _angle_answers()
    method = "cos t = a . b / (|a| |b|), taken as the angle of (a . b, |a x b|)"
    mistakes = (
        _ACUTE_ONLY,
        Mistake(
            "third component left out",
            "the scalar product is formed in plan only",
            rules={"scalar_product": _in_plan_only},
        ),
    )

    def _turning(self, a: Numbers, b: Numbers, ar: Arithmetic) -> Number:
        return length(cross(a, b), ar)

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> TwoSpaceVectors:
        """Vectors about 1/kappa of a radian off a right angle."""
        places = places_for(kappa)
        first, second = (
            Polar(decimal(rng.uniform(10, 990), 1), ByRun(tuple(decimal(x, places) for x in run)))
            for run in _nearly_square(kappa, rng)
        )
        return TwoSpaceVectors(first, second)


def _all_zero(v: Numbers, name: str, ar: Arithmetic) -> bool:
    return all(ar.sign(x, f"{name}: {letter}") == 0 for x, letter in zip(v, "xyz", strict=False))


def _nearly_square(
    kappa: tuple[float, float], rng: random.Random
) -> tuple[list[float], list[float]]:
    """Two runs of length near 1 whose scalar product is about 1/kappa."""
    while True:
        line = [rng.uniform(-1, 1) for _ in range(3)]
        other = [rng.uniform(-1, 1) for _ in range(3)]
        size = math.sqrt(dot(line, line))
        line = [x / size for x in line] if size > 0.1 else [1.0, 0.0, 0.0]
        inner = dot(line, other)
        square = [x - inner * u for x, u in zip(other, line, strict=True)]
        reach = math.sqrt(dot(square, square))
        if reach > 0.1:
            off = small(kappa, rng)
            return line, [x / reach + off * u for x, u in zip(square, line, strict=True)]
