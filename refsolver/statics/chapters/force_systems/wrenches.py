"""The wrench: the force and the least couple, along one axis, that replace a system in space.

Sources of the method: any text of statics, for instance R. C. Hibbeler, "Engineering
Mechanics: Statics", section 4.8 (from memory); the central axis goes back to L. Poinsot,
"Elements de statique" (1803) (from memory).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import SimpleNamespace
from typing import Any

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.quantities.dimensions import FORCE, LENGTH, MOMENT
from refsolver.quantities.kinds import (
    Choice,
    ChoiceKind,
    LineKind,
    NoAnswer,
    ScalarKind,
    Value,
    VectorKind,
)
from refsolver.statics.chapters.force_systems.reduction import NO_COUPLES, System
from refsolver.statics.contract import (
    Answer,
    Mistake,
    Residual,
    Solution,
)
from refsolver.statics.drawing import Arrow, Drawing, Mark, Stroke, Turning
from refsolver.statics.forces.moment_rules import (
    REVERSED,
    WRONG_Y,
    turning_space,
)
from refsolver.statics.forces.systems import (
    SpaceSystem,
    arm_from,
    is_zero,
    placed,
    sum_of,
)
from refsolver.statics.registry import register
from refsolver.statics.vectors import Numbers, added, cross, dot, length, scaled


def pitch_of(force: Numbers, moment: Numbers, ar: Arithmetic) -> Number:
    """p = R . M / R^2."""
    return dot(force, moment) / dot(force, force)


def pitch_from_whole_couple(force: Numbers, moment: Numbers, ar: Arithmetic) -> Number:
    return length(moment, ar) / length(force, ar)


def axis_point(force: Numbers, moment: Numbers, ar: Arithmetic) -> Numbers:
    """The point of the central axis nearest the origin, R x M / R^2."""
    return scaled(1 / dot(force, force), cross(force, moment))


def axis_point_reversed(force: Numbers, moment: Numbers, ar: Arithmetic) -> Numbers:
    return scaled(1 / dot(force, force), cross(moment, force))


def axis_through_origin(force: Numbers, moment: Numbers, ar: Arithmetic) -> Numbers:
    return scaled(0, force)


@register
class Wrench(System):
    name = "force-systems/wrench"
    title = "The wrench that replaces a system in space"
    givens = SpaceSystem
    space = 3
    answers = {
        "force": Answer(VectorKind(FORCE, 3), "the force of the wrench", ("no direction",)),
        "moment": Answer(
            ScalarKind(MOMENT),
            "the least moment, along the force: positive for a right-handed wrench",
            ("no wrench axis",),
        ),
        "couple": Answer(
            VectorKind(MOMENT, 3),
            "the couple of the wrench; where the force is zero, the whole couple",
            ("no direction",),
        ),
        "pitch": Answer(
            ScalarKind(LENGTH), "moment over force, with its sign", ("no wrench axis",)
        ),
        "axis": Answer(LineKind(3), "the central axis", ("no wrench axis", "no intercept")),
        "reduces to": Answer(
            ChoiceKind(("wrench", "single force", "couple", "equilibrium")),
            "what the system amounts to",
        ),
    }
    rules = {
        "arm_from": arm_from,
        "turning": turning_space,
        "summed": sum_of,
        "couples_summed": sum_of,
        "pitch_of": pitch_of,
        "axis_point": axis_point,
    }
    mistakes = (
        NO_COUPLES,
        REVERSED,
        WRONG_Y,
        Mistake(
            "pitch from the whole couple",
            "the whole moment at the origin is divided by the force, not its part along it",
            {"pitch_of": pitch_from_whole_couple},
        ),
        Mistake(
            "axis on the other side",
            "M x R is used for the place of the axis instead of R x M",
            {"axis_point": axis_point_reversed},
        ),
        Mistake(
            "axis through the origin",
            "the axis is left where the system was reduced",
            {"axis_point": axis_through_origin},
        ),
    )
    method = (
        "R = sum of F, M = sum of r x F + sum of couples; p = R . M / R^2, couple p R, axis "
        "through R x M / R^2 along R"
    )
    second_method = (
        "the moments of the system and of the wrench on its axis, as areas of triangles, about "
        "three points not in a line"
    )

    def solve(self, given: SpaceSystem, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        reduced = self.reduced_to(given, self.origin(ar), rules, ar)
        force, whole = reduced.force, reduced.couple
        if is_zero(force, "resultant", ar):
            return Solution(self._without_force(force, whole, ar), (reduced.sheet,))
        pitch = rules.pitch_of(force, whole, ar)
        turning = ar.sign(dot(force, whole), "resultant times moment")
        answers = {
            "force": force,
            "moment": pitch * length(force, ar),
            "couple": scaled(pitch, force),
            "pitch": pitch,
            "axis": (rules.axis_point(force, whole, ar), force),
            "reduces to": Choice(
                "single force" if turning == 0 else "wrench",
                {"resultant times moment": dot(force, whole)},
            ),
        }
        return Solution(answers, (reduced.sheet,))

    @staticmethod
    def _without_force(force: Numbers, whole: Numbers, ar: Arithmetic) -> dict[str, Any]:
        refused = NoAnswer("no wrench axis", "the resultant is proven zero")
        still = is_zero(whole, "moment of the system without resultant", ar)
        return {
            "force": force,
            "moment": refused,
            "couple": whole,
            "pitch": refused,
            "axis": refused,
            "reduces to": Choice("equilibrium" if still else "couple"),
        }

    def check(
        self, given: SpaceSystem, answers: Mapping[str, Value], ar: Arithmetic
    ) -> Sequence[Residual]:
        force, couple = answers["force"], answers["couple"]
        word = answers["reduces to"].word
        without = {"equilibrium": (force, couple), "couple": (force,), "single force": (couple,)}
        vanishing = [
            Residual(f"nothing else of a {word}", x, 1 + length(force, ar) + length(couple, ar))
            for v in without.get(word, ())
            for x in v
        ]
        axis = (word in ("wrench", "single force")) != isinstance(answers["axis"], NoAnswer)
        one = dot(force, force) * 0 + 1
        vanishing.append(Residual("axis of a force", 0 * one if axis else one, one))
        if isinstance(answers["axis"], NoAnswer):
            return vanishing + self.gaps_about(given, self.origin(ar), force, couple, ar)
        at, along = answers["axis"]
        residuals = self.gaps_about(given, at, force, couple, ar)
        square, size = dot(couple, couple), residuals[0].size
        long = length(force, ar) * length(along, ar)
        residuals += [
            Residual(f"axis along the force, {letter}", x, long)
            for letter, x in zip("xyz", cross(along, force), strict=True)
        ]
        moment, pitch = answers["moment"], answers["pitch"]
        return [
            *vanishing,
            *residuals,
            Residual("least moment and couple", moment * moment - square, size * size),
            Residual("pitch", square - pitch * dot(couple, force), size * size),
        ]

    def figure(self, given: SpaceSystem, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        parts = [*self.drawn_system(given, ar), Mark((0.0, 0.0, 0.0), "O")]
        if isinstance(answers["axis"], NoAnswer):
            parts.append(Turning((0.0, 0.0, 0.0), answers["couple"], "C", "answer"))
        else:
            at, along = answers["axis"]
            places = (at, *(place for place, _ in placed(given.forces, ar)))
            reach = 1.2 * max(length(place, ar) for place in places) or 1.0
            unit = scaled(reach / length(along, ar), along)
            parts += [
                Stroke(added(at, scaled(-1, unit)), added(at, unit), "central axis", "axis"),
                Arrow(at, along, "R", "answer"),
                Turning(at, answers["couple"], "C", "answer"),
            ]
        caption = (
            f"{len(given.forces)} forces and {len(given.couples)} couples in space; they reduce "
            f"to: {answers['reduces to'].word}. Force and couple are drawn on the central axis"
        )
        return Drawing(tuple(parts), caption, 3)
