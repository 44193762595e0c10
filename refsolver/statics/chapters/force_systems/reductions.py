"""Reduction of forces and couples: to a force and a couple at a point, and to one force.

Sources of the method: any text of statics, for instance R. C. Hibbeler, "Engineering
Mechanics: Statics", sections 4.7 and 4.8 (from memory).
"""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from types import SimpleNamespace
from typing import Any

import attrs

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.exact import Exact, rational
from refsolver.quantities.dimensions import FORCE, MOMENT
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
    point,
)
from refsolver.statics.drawing import Arrow, Drawing, Mark, Stroke, Turning
from refsolver.statics.forces.moment_rules import (
    ABOUT_ORIGIN,
    REVERSED,
    WRONG_Y,
    arms_swapped,
    cells_of,
    products_added,
    slant_arm,
    sum_of_sizes,
    turning_space,
)
from refsolver.statics.forces.systems import (
    PlaneSystem,
    SpaceSystem,
    arm_from,
    is_zero,
    sum_of,
    turning_plane,
)
from refsolver.statics.random_givens import (
    drawn_point,
)
from refsolver.statics.registry import register
from refsolver.statics.vectors import Numbers, brought, dot, length


@attrs.frozen(kw_only=True)
class PlaneReductionGivens(PlaneSystem):
    about: tuple[Exact, ...] = point("the point to which the system is reduced")


@attrs.frozen(kw_only=True)
class SpaceReductionGivens(SpaceSystem):
    about: tuple[Exact, ...] = point("the point to which the system is reduced", space=3)


class _ForceCouple(System):
    """A force and a couple at a stated point."""

    method = "R = sum of F through the point, M = sum of r x F + sum of couples about it"
    second_method = (
        "the moments of the system and of its force and couple, as areas of triangles, about "
        "three points not in a line"
    )

    def solve(self, given: Any, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        reduced = self.reduced_to(given, brought(given.about, ar), rules, ar)
        moment = reduced.couple[0] if self.space == 2 else reduced.couple
        return Solution({"resultant": reduced.force, "moment": moment}, (reduced.sheet,))

    def check(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Sequence[Residual]:
        about, couple = brought(given.about, ar), cells_of(answers["moment"])
        return self.gaps_about(given, about, answers["resultant"], couple, ar)

    def figure(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        about = brought(given.about, ar)
        parts = [
            *self.drawn_system(given, ar),
            Mark(about, "point of reduction"),
            Arrow(about, answers["resultant"], "R", "answer"),
            Turning(about, answers["moment"], "M", "answer"),
        ]
        caption = (
            f"{len(given.forces)} forces and {len(given.couples)} couples, and the force R and "
            "couple M at the stated point that replace them, to scale"
        )
        return Drawing(tuple(parts), caption, self.space)

    def _system(self, forces: Sequence[Any], couples: Sequence[Any], rng: random.Random) -> Any:
        about = drawn_point(rng, self.space)
        return self.givens(tuple(forces), tuple(couples), about=about)


@register
class PlaneReduction(_ForceCouple):
    name = "force-systems/plane-reduction"
    title = "Force and couple at a point that replace a plane system"
    givens = PlaneReductionGivens
    space = 2
    answers = {
        "resultant": Answer(VectorKind(FORCE, 2), "the force at the point", ("no direction",)),
        "moment": Answer(ScalarKind(MOMENT), "the couple there, counter-clockwise positive"),
    }
    rules = {
        "arm_from": arm_from,
        "turning": turning_plane,
        "summed": sum_of,
        "couples_summed": sum_of,
    }
    mistakes = (
        ABOUT_ORIGIN,
        NO_COUPLES,
        Mistake(
            "products added",
            "x F_y + y F_x is formed instead of x F_y - y F_x",
            {"turning": products_added},
        ),
        Mistake(
            "arms of the components swapped",
            "each component is multiplied by the distance along itself",
            {"turning": arms_swapped},
        ),
        Mistake(
            "slant distance as the arm",
            "each force is multiplied by the distance to its point of application",
            {"turning": slant_arm},
        ),
        Mistake(
            "moments added without sign",
            "all moments of forces are taken as turning the same way",
            {"summed": sum_of_sizes},
        ),
    )


@register
class SpaceReduction(_ForceCouple):
    name = "force-systems/space-reduction"
    title = "Force and couple at a point that replace a system in space"
    givens = SpaceReductionGivens
    space = 3
    answers = {
        "resultant": Answer(VectorKind(FORCE, 3), "the force at the point", ("no direction",)),
        "moment": Answer(VectorKind(MOMENT, 3), "the couple there", ("no direction",)),
    }
    rules = {
        "arm_from": arm_from,
        "turning": turning_space,
        "summed": sum_of,
        "couples_summed": sum_of,
    }
    mistakes = (ABOUT_ORIGIN, NO_COUPLES, REVERSED, WRONG_Y)


def line_of(force: Numbers, moment: Number, ar: Arithmetic) -> Numbers:
    """(a, b, c) of the line a x + b y = c along which R has the moment M: x R_y - y R_x = M."""
    return force[1], -force[0], moment


def line_on_the_other_side(force: Numbers, moment: Number, ar: Arithmetic) -> Numbers:
    return force[1], -force[0], -moment


def line_by_whole_force(force: Numbers, moment: Number, ar: Arithmetic) -> Numbers:
    """A line that meets the axes at M / R instead of M / R_y and M / R_x."""
    whole = length(force, ar)
    return whole, -whole, moment


def _no_more_than(answers: Mapping[str, Value], size: Number, ar: Arithmetic) -> list[Residual]:
    """What the word says to vanish vanishes, and there is a line where it says so."""
    word, force = answers["reduces to"].word, answers["resultant"]
    line = 0 if (word == "single force") != isinstance(answers["line"], NoAnswer) else 1
    residuals = [Residual("line of the single force", 0 * size + line, 0 * size + 1)]
    if word != "single force":
        residuals.append(Residual("no resultant", dot(force, force), dot(force, force) + size))
    if word == "equilibrium":
        residuals.append(Residual("no moment", answers["moment"], size))
    return residuals


@register
class SingleForce(System):
    name = "force-systems/single-force"
    title = "The single force that replaces a plane system, and its line of action"
    givens = PlaneSystem
    space = 2
    answers = {
        "resultant": Answer(VectorKind(FORCE, 2), "the single force", ("no direction",)),
        "moment": Answer(
            ScalarKind(MOMENT),
            "of the system about the origin, counter-clockwise positive; where the resultant is "
            "zero, the couple it reduces to",
        ),
        "line": Answer(LineKind(2), "the line of action", ("no line of action", "no intercept")),
        "reduces to": Answer(
            ChoiceKind(("single force", "couple", "equilibrium")), "what the system amounts to"
        ),
    }
    rules = {
        "arm_from": arm_from,
        "turning": turning_plane,
        "summed": sum_of,
        "couples_summed": sum_of,
        "line_of": line_of,
    }
    mistakes = (
        NO_COUPLES,
        Mistake(
            "line on the other side",
            "the distance of the line is laid off to the wrong side of the origin",
            {"line_of": line_on_the_other_side},
        ),
        Mistake(
            "intercept by the whole force",
            "the moment is divided by R instead of by the component across the axis",
            {"line_of": line_by_whole_force},
        ),
        Mistake(
            "products added",
            "x F_y + y F_x is formed instead of x F_y - y F_x",
            {"turning": products_added},
        ),
        Mistake(
            "moments added without sign",
            "all moments of forces are taken as turning the same way",
            {"summed": sum_of_sizes},
        ),
    )
    method = (
        "R = sum of F, M = sum of (x F_y - y F_x) + sum of couples about the origin; the line "
        "of action is x R_y - y R_x = M"
    )
    second_method = (
        "the moments of the system and of R on its line, as areas of triangles, about three "
        "points not in a line"
    )

    def solve(self, given: PlaneSystem, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        reduced = self.reduced_to(given, self.origin(ar), rules, ar)
        force, moment = reduced.force, reduced.couple[0]
        line: Any = NoAnswer("no line of action", "the resultant is proven zero")
        word = "single force"
        if is_zero(force, "resultant", ar):
            turning = ar.sign(moment, "moment of the system without resultant")
            word = "equilibrium" if turning == 0 else "couple"
        else:
            line = rules.line_of(force, moment, ar)
        margins = {"resultant": length(force, ar), "moment": ar.size(moment)}
        answers = {
            "resultant": force,
            "moment": moment,
            "line": line,
            "reduces to": Choice(word, margins),
        }
        return Solution(answers, (reduced.sheet,))

    def check(
        self, given: PlaneSystem, answers: Mapping[str, Value], ar: Arithmetic
    ) -> Sequence[Residual]:
        origin, force = self.origin(ar), answers["resultant"]
        residuals = self.gaps_about(given, origin, force, (answers["moment"],), ar)
        if not isinstance(answers["line"], NoAnswer):
            foot = _foot(answers["line"])
            none = (ar.bring(rational(0)),)
            residuals += self.gaps_about(given, foot, force, none, ar)
        size = residuals[0].size
        return [*residuals, *_no_more_than(answers, size, ar)]

    def figure(self, given: PlaneSystem, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        parts = [*self.drawn_system(given, ar), Mark((0.0, 0.0), "O")]
        if isinstance(answers["line"], NoAnswer):
            parts.append(Turning((0.0, 0.0), answers["moment"], "M", "answer"))
        else:
            foot, force = _foot(answers["line"]), answers["resultant"]
            parts += [
                Stroke((0.0, 0.0), foot, "distance", "construction"),
                Arrow(foot, force, "R", "answer"),
            ]
        caption = (
            f"{len(given.forces)} forces and {len(given.couples)} couples in the plane; they "
            f"reduce to: {answers['reduces to'].word}. R is drawn on its line of action, to scale"
        )
        return Drawing(tuple(parts), caption)


def _foot(line: Numbers) -> Numbers:
    a, b, c = line
    square = a * a + b * b
    return a * c / square, b * c / square
