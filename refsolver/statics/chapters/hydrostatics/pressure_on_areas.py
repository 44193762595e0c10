"""Even pressure on an area: force, pressure and area.

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

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.exact import Exact
from refsolver.quantities.dimensions import (
    AREA,
    FORCE,
    LENGTH,
    PRESSURE,
)
from refsolver.quantities.kinds import ScalarKind, Value
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
    quantity,
)
from refsolver.statics.drawing import Arrow, Drawing, Region
from refsolver.statics.random_givens import drawn
from refsolver.statics.registry import register
from refsolver.statics.sheets import number_sheet

__all__ = [
    "PressureOnArea",
    "PressureOnAreaGivens",
]


@attrs.frozen
class PressureOnAreaGivens:
    force: Exact | None = quantity(FORCE, "spread evenly", sign="positive", default=None)
    pressure: Exact | None = quantity(PRESSURE, "the same all over", sign="positive", default=None)
    area: Exact | None = quantity(AREA, "on which it acts", sign="positive", default=None)
    diameter: Exact | None = quantity(
        LENGTH, "of a circular area, where no area is stated", sign="positive", default=None
    )

    def __attrs_post_init__(self) -> None:
        if self.area is not None and self.diameter is not None:
            raise ValueError("the area is stated by 'area' or by 'diameter', not by both")
        known = (self.force, self.pressure, self.area or self.diameter)
        if sum(x is not None for x in known) != 2:
            raise ValueError("state two of force, pressure and area (or diameter)")


def pressure_of(force: Number, area: Number) -> Number:
    """p = F / A."""
    return force / area


@register
class PressureOnArea(Family):
    name = "hydrostatics/pressure-on-area"
    title = "Even pressure on an area: force, pressure or area from the other two"
    givens = PressureOnAreaGivens
    reach = (1.0, 3.0)
    reach_because = "products and quotients of positive numbers"
    answers = {
        "force": Answer(ScalarKind(FORCE), "p A"),
        "pressure": Answer(ScalarKind(PRESSURE), "F / A"),
        "area": Answer(ScalarKind(AREA), "F / p"),
        "diameter": Answer(ScalarKind(LENGTH), "of the circle that has this area"),
    }
    rules = {"circle_area": circle_area, "pressure_of": pressure_of}
    mistakes = (
        DIAMETER_FOR_RADIUS,
        Mistake(
            "square of the diameter",
            "the area of a circle is taken as the square on its diameter",
            rules={"circle_area": lambda diameter, ar: diameter * diameter},
        ),
        Mistake(
            "force times area",
            "force and area are multiplied to find the pressure",
            rules={"pressure_of": lambda force, area: force * area},
        ),
    )
    method = "p = F / A, A = pi d^2 / 4 of a circle"
    second_method = "p times A gives F again; the area of the circle by its radius"
    caution = cautions.PRESSES

    def solve(self, given: Any, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        area = area_of(given, ar, rules)
        if area is None:
            force, pressure = ar.bring(given.force), ar.bring(given.pressure)
            area = force / pressure
        elif given.force is None:
            pressure = ar.bring(given.pressure)
            force = pressure * area
        else:
            force = ar.bring(given.force)
            pressure = rules.pressure_of(force, area)
        diameter = ar.sqrt(4 * area / ar.pi())
        answers = {"force": force, "pressure": pressure, "area": area, "diameter": diameter}
        sheets = (
            number_sheet("Area", {"A": area}, "A = pi d^2 / 4", AREA),
            number_sheet("Pressure", {"p": pressure}, self.method, PRESSURE),
            number_sheet("Force", {"F": force}),
        )
        return Solution(answers, sheets)

    def check(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Sequence[Residual]:
        force, area = answers["force"], answers["area"]
        radius = answers["diameter"] / 2
        circle = radius * radius * ar.pi()
        residuals = [
            Residual("p A", answers["pressure"] * area - force, force),
            Residual("circle of this area", circle - area, area),
        ]
        for name in ("force", "pressure", "area", "diameter"):
            stated = getattr(given, name)
            if stated is not None:
                size = ar.bring(stated)
                residuals.append(Residual(f"stated {name}", answers[name] - size, size))
        return residuals

    def figure(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        half = answers["diameter"] / 2
        plate = ((-half, 0.0), (half, 0.0), (half, -half / 4), (-half, -half / 4))
        push = Arrow((0.0, 0.0), (0.0, -answers["force"]), "F", pushes=True)
        parts = (Region(plate, "area"), push)
        return Drawing(parts, "The force and a round plate of that area, its diameter to scale")

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> PressureOnAreaGivens:
        """Products and quotients alone: well conditioned whatever is asked."""
        force, pressure, size = drawn(rng, 10, 990), drawn(rng, 1, 99), drawn(rng, 1, 9)
        known = rng.choice(("force", "pressure", "both"))
        if known == "both":
            return PressureOnAreaGivens(force, pressure)
        shape = {rng.choice(("area", "diameter")): size}
        stated: dict[str, Exact] = {known: force if known == "force" else pressure}
        return PressureOnAreaGivens(**stated, **shape)
