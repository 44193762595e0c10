"""Two pistons on one fluid.

Source of the method: any text of physics, for instance P. P. Urone and R. Hinrichs,
"College Physics", OpenStax, sections on pressure and on Pascal's principle: p = F / A, and
a pressure put on an enclosed fluid acts undiminished throughout it.
"""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from types import SimpleNamespace
from typing import Any

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.exact import Exact, rational
from refsolver.quantities.dimensions import (
    AREA,
    FORCE,
    LENGTH,
    NUMBER,
    PRESSURE,
    SPECIFIC_WEIGHT,
)
from refsolver.quantities.kinds import NoAnswer, ScalarKind, Value
from refsolver.statics import cautions
from refsolver.statics.chapters.hydrostatics.pressed_areas import (
    DIAMETER_FOR_RADIUS,
    area_of,
    circle_area,
)
from refsolver.statics.contract import (
    Answer,
    Family,
    Mistake,
    Residual,
    Solution,
    one,
    quantity,
)
from refsolver.statics.drawing import Arrow, Drawing, Primitive, Region
from refsolver.statics.random_givens import decimal, drawn, figures_for, log_uniform
from refsolver.statics.registry import register
from refsolver.statics.sheets import number_sheet

__all__ = ["Piston", "Press", "PressForce"]


@attrs.frozen
class Piston:
    area: Exact | None = quantity(AREA, "of the piston", sign="positive", default=None)
    diameter: Exact | None = quantity(
        LENGTH, "of the piston, where no area is stated", sign="positive", default=None
    )

    def __attrs_post_init__(self) -> None:
        if (self.area is None) == (self.diameter is None):
            raise ValueError("a piston is stated by its area or by its diameter, by one")


@attrs.frozen
class Press:
    force: Exact = quantity(FORCE, "on the driving piston", sign="positive")
    driving: Piston = one(Piston, "the piston that is pushed")
    driven: Piston = one(Piston, "the piston that lifts or presses")
    travel: Exact | None = quantity(LENGTH, "of the driving piston", sign="positive", default=None)
    rise: Exact = quantity(
        LENGTH, "of the driven piston's face above that of the driving one", default=rational(0)
    )
    specific_weight: Exact | None = quantity(
        SPECIFIC_WEIGHT, "of the fluid, needed with a rise", sign="positive", default=None
    )

    def __attrs_post_init__(self) -> None:
        if (self.rise != 0) != (self.specific_weight is not None):
            raise ValueError("a rise and the specific weight of the fluid belong together")


@register
class PressForce(Family):
    name = "hydrostatics/press"
    title = "Two pistons on one fluid: the force of the driven piston"
    givens = Press
    answers = {
        "force": Answer(ScalarKind(FORCE), "of the fluid on the driven piston"),
        "pressure": Answer(ScalarKind(PRESSURE), "under the driving piston"),
        "driven pressure": Answer(ScalarKind(PRESSURE), "under the driven piston"),
        "ratio": Answer(ScalarKind(NUMBER), "force of the driven over the driving piston"),
        "travel": Answer(ScalarKind(LENGTH), "of the driven piston", ("not defined",)),
    }
    rules = {
        "circle_area": circle_area,
        "lost_on_the_way_up": lambda weight, rise: weight * rise,
        "travel_ratio": lambda driving, driven: driving / driven,
    }
    mistakes = (
        Mistake(
            "diameters for areas",
            "the forces are taken in the ratio of the diameters, not of their squares",
            rules={"circle_area": lambda diameter, ar: diameter},
        ),
        Mistake(
            "pistons exchanged",
            "the force is divided by the ratio of the areas",
            givens=lambda given: attrs.evolve(given, driving=given.driven, driven=given.driving),
        ),
        Mistake(
            "rise left out",
            "the column of fluid between the pistons is forgotten",
            rules={"lost_on_the_way_up": lambda weight, rise: weight * rise * 0},
        ),
        Mistake(
            "travels like the forces",
            "the driven piston is given the longer way as well as the larger force",
            rules={"travel_ratio": lambda driving, driven: driven / driving},
        ),
        DIAMETER_FOR_RADIUS,
    )
    method = "p = F1 / A1; on the driven piston F2 = (p - gamma rise) A2; travels as A1 / A2"
    second_method = (
        "virtual work: F1 s1 = F2 s2 + gamma rise times the volume moved; areas by radii"
    )
    caution = cautions.PRESSES

    def solve(self, given: Any, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        driving, driven = (area_of(p, ar, rules) for p in (given.driving, given.driven))
        push = ar.bring(given.force)
        pressure = push / driving
        there = pressure
        if given.specific_weight is not None:
            weight = ar.bring(given.specific_weight)
            there = pressure - rules.lost_on_the_way_up(weight, ar.bring(given.rise))
        force = there * driven
        answers: dict[str, Value] = {
            "force": force,
            "pressure": pressure,
            "driven pressure": there,
            "ratio": force / push,
            "travel": NoAnswer("not defined", "no travel is stated"),
        }
        if given.travel is not None:
            answers["travel"] = ar.bring(given.travel) * rules.travel_ratio(driving, driven)
        sheets = (
            number_sheet("Areas", {"A1": driving, "A2": driven}, "A = pi d^2 / 4", AREA),
            number_sheet("Pressures", {"p1": pressure, "p2": there}, self.method, PRESSURE),
            number_sheet("Forces", {"F1": push, "F2": force}),
        )
        return Solution(answers, sheets)

    def check(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Sequence[Residual]:
        first, second = (_by_radius(p, ar) for p in (given.driving, given.driven))
        push, force = ar.bring(given.force), answers["force"]
        column = ar.bring(fmpq(0))
        if given.specific_weight is not None:
            column = ar.bring(given.specific_weight) * ar.bring(given.rise)
        # A unit volume of fluid moved: travels 1 / A1 and 1 / A2.
        size = push / first + ar.size(column)
        residuals = [
            Residual("virtual work", push / first - force / second - column, size),
            Residual("pressure", answers["pressure"] * first - push, push),
            Residual("driven pressure", answers["driven pressure"] * second - force, size * second),
            Residual("ratio", answers["ratio"] * push - force, size * second),
        ]
        if given.travel is not None:
            volume = ar.bring(given.travel) * first
            off = answers["travel"] * second - volume
            residuals.append(Residual("volume moved", off, volume))
        return residuals

    def figure(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        rules = self.rule_set()
        areas = [area_of(p, ar, rules) for p in (given.driving, given.driven)]
        wide = [ar.sqrt(4 * area / ar.pi()) for area in areas if area is not None]
        reach = max(wide)
        tops = (reach, reach + ar.bring(given.rise))
        left, parts = 0.0, list[Primitive]()
        for name, width, top in zip(("driving", "driven"), wide, tops, strict=True):
            corners = ((left, 0.0), (left + width, 0.0), (left + width, top), (left, top))
            parts.append(Region(corners, name))
            left += width + reach
        push = (0.0, -ar.bring(given.force))
        parts.append(Arrow((wide[0] / 2, tops[0]), push, "F1", pushes=True))
        lift = (wide[0] + reach + wide[1] / 2, tops[1])
        parts.append(Arrow(lift, (0.0, answers["force"]), "F2", "answer"))
        return Drawing(tuple(parts), "Two cylinders on one fluid with their pistons, to scale")

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> Press:
        """A rise that takes all but about 1/kappa of the pressure."""
        target = log_uniform(rng, kappa)
        force, area = drawn(rng, 10, 990), drawn(rng, 1, 9)
        head = float(force.p) / float(force.q) * float(area.q) / float(area.p)
        weight = drawn(rng, 5, 15)
        rise = decimal(
            head * (1 - 0.9 / target) * float(weight.q) / float(weight.p), figures_for(target) + 3
        )
        driven = Piston(diameter=drawn(rng, 1, 9))
        travel = drawn(rng, 1, 9) if rng.random() < 0.5 else None
        if rise == 0:
            return Press(force, Piston(area), driven, travel)
        return Press(force, Piston(area), driven, travel, rise, weight)


def _by_radius(piston: Piston, ar: Arithmetic) -> Number:
    if piston.area is not None:
        return ar.bring(piston.area)
    assert piston.diameter is not None
    radius = ar.bring(piston.diameter) / 2
    return radius * radius * ar.pi()
