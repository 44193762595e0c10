"""Sea walls and dam faces that lean back, straight or by a power of the height.

Source of the method: any text of hydrostatics, for instance B. S. Massey, "Mechanics of
Fluids", chapter 2 (from memory): the horizontal part is the force on the upright
projection, the vertical part the weight of the fluid, real or imagined, between the face
and the level of the free surface.
"""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from types import SimpleNamespace
from typing import Any

import attrs

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.exact import Exact
from refsolver.quantities.dimensions import AREA, FORCE, LENGTH, MOMENT
from refsolver.quantities.kinds import NoAnswer, ScalarKind, Value, VectorKind
from refsolver.statics import cautions
from refsolver.statics.chapters.hydrostatics.fluids import (
    DENSITY_MISTAKES,
    density_given,
    gravity_given,
    needs_gravity,
    specific_weight_given,
    weight_of_density,
    weight_of_fluid,
    weight_stated_once,
)
from refsolver.statics.contract import (
    Answer,
    Family,
    Mistake,
    Residual,
    Solution,
    integer,
    quantity,
)
from refsolver.statics.drawing import Arrow, Curve, Drawing, Primitive, Stroke
from refsolver.statics.polynomials import integral, through, value
from refsolver.statics.random_givens import drawn
from refsolver.statics.registry import register
from refsolver.statics.sheets import number_sheet

__all__ = ["LeaningFace", "LeaningFaceGivens"]


@attrs.frozen
class LeaningFaceGivens:
    depth: Exact = quantity(LENGTH, "of the foot of the face below the surface", sign="positive")
    width: Exact = quantity(LENGTH, "of the wall along the shore", sign="positive")
    set_back: Exact = quantity(
        LENGTH, "of the face at the surface, behind its foot", sign="not negative"
    )
    power: int = integer(
        "n of set back = (height / depth)^n: 1 straight, 2 a parabola upright at its foot",
        minimum=1,
        default=1,
    )
    specific_weight: Exact | None = specific_weight_given("weight per volume of the fluid")
    density: Exact | None = density_given("density of the fluid, where that is not stated")
    gravity: Exact | None = gravity_given()

    def __attrs_post_init__(self) -> None:
        weight_stated_once(self, "the fluid")
        needs_gravity((self,), self.gravity)


def area_over(set_back: Number, depth: Number, power: int) -> Number:
    """a h / (n + 1): the fluid that stands over the face."""
    return set_back * depth / (power + 1)


_UPRIGHT = NoAnswer("no point", "the face is upright and carries no weight of fluid")


@register
class LeaningFace(Family):
    name = "hydrostatics/leaning-face"
    title = "Force of a fluid on a sea wall or dam face that leans back, straight or curved"
    givens = LeaningFaceGivens
    reach = (1.0, 6.0)
    reach_because = "products and powers of positive numbers, and sums of them"
    answers = {
        "force": Answer(VectorKind(FORCE, 2), "x from the fluid through the wall, y up"),
        "depth of horizontal": Answer(
            ScalarKind(LENGTH), "of the horizontal part below the surface"
        ),
        "distance of vertical": Answer(
            ScalarKind(LENGTH), "of the vertical part behind the foot", ("no point",)
        ),
        "moment about foot": Answer(
            ScalarKind(MOMENT), "of both parts, turning the wall away from the fluid positive"
        ),
    }
    rules = {
        "weight_of_density": weight_of_density,
        "area_over": area_over,
        "place_over": lambda set_back, power: set_back * (power + 1) / (2 * (2 * power + 1)),
    }
    mistakes = (
        Mistake(
            "weight of the fluid left out",
            "only the horizontal part is counted",
            rules={"area_over": lambda set_back, depth, power: set_back * depth * 0},
        ),
        Mistake(
            "area under the curve for the area over it",
            "n / (n + 1) of the rectangle is taken, not 1 / (n + 1)",
            rules={
                "area_over": lambda set_back, depth, power: set_back * depth * power / (power + 1)
            },
        ),
        Mistake(
            "fluid over the face taken as a triangle",
            "the curved face is replaced by a straight one",
            givens=lambda given: attrs.evolve(given, power=1) if given.power > 1 else None,
        ),
        *DENSITY_MISTAKES,
    )
    method = (
        "horizontal: gamma h / 2 on the upright projection, at 2 h / 3; vertical: the weight of "
        "the fluid over the face, gamma b a h / (n + 1), at a (n + 1) / (2 (2 n + 1)) from the foot"
    )
    second_method = (
        "the pressures integrated up the face by the polynomial through equally spaced values"
    )
    caution = cautions.STILL_FLUIDS

    def solve(self, given: Any, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        weight = weight_of_fluid(given, given.gravity, ar, rules) * ar.bring(given.width)
        depth, back = ar.bring(given.depth), ar.bring(given.set_back)
        horizontal = weight * depth * depth / 2
        area = rules.area_over(back, depth, given.power)
        carried = weight * area
        place = rules.place_over(back, given.power)
        answers: dict[str, Value] = {
            "force": (horizontal, -carried),
            "depth of horizontal": 2 * depth / 3,
            "distance of vertical": place,
            "moment about foot": horizontal * depth / 3 + carried * place,
        }
        if ar.sign(back, "set back of the face") == 0:
            answers["distance of vertical"] = _UPRIGHT
        sheets = (
            number_sheet("Fluid over the face", {"area": area}, self.method, AREA),
            number_sheet("Forces", {"horizontal": horizontal, "down": carried}),
        )
        return Solution(answers, sheets)

    def check(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Sequence[Residual]:
        rules, n = self.rule_set(), given.power
        weight = weight_of_fluid(given, given.gravity, ar, rules) * ar.bring(given.width)
        depth, back = ar.bring(given.depth), ar.bring(given.set_back)
        heights = [depth * i / (2 * n + 1) for i in range(2 * n + 2)]
        places = [back * _power(y / depth, n) for y in heights]
        leans = [back * n * _power(y / depth, n - 1) / depth for y in heights]
        pressures = [weight * (depth - y) for y in heights]

        def whole(values: Sequence[Number]) -> Number:
            return value(integral(through(values, depth), depth * 0), depth)

        across = whole(pressures)
        down = whole([p * k for p, k in zip(pressures, leans, strict=True)])
        over = [p * k * x for p, k, x in zip(pressures, leans, places, strict=True)]
        side = [p * y for p, y in zip(pressures, heights, strict=True)]
        x, y = answers["force"]
        size = weight * depth * (depth + back)
        turning = whole(side) + whole(over)
        arm = depth - answers["depth of horizontal"]
        off_foot = answers["moment about foot"] - turning
        residuals = [
            Residual("horizontal up the face", x - across, size),
            Residual("vertical up the face", y + down, size),
            Residual("moment about the foot", off_foot, size * (depth + back)),
            Residual("place of the horizontal", arm * x - whole(side), size * depth),
        ]
        if not isinstance(answers["distance of vertical"], NoAnswer):
            off = answers["distance of vertical"] * down - whole(over)
            residuals.append(Residual("place of the vertical", off, size * back))
        return residuals

    def figure(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        depth, back = ar.bring(given.depth), ar.bring(given.set_back)
        face = tuple((back * (i / 24) ** given.power, -depth + depth * i / 24) for i in range(25))
        x, y = answers["force"]
        deep = -answers["depth of horizontal"]
        parts: list[Primitive] = [
            Stroke((-depth, 0.0), (back, 0.0), "surface", "construction"),
            Curve(face, "face"),
            Arrow((0.0, deep), (x, 0.0), "horizontal", "answer", pushes=True),
        ]
        if not isinstance(answers["distance of vertical"], NoAnswer):
            at = (answers["distance of vertical"], 0.0)
            parts.append(Arrow(at, (0.0, y), "weight of the fluid", "answer"))
        return Drawing(tuple(parts), "A section across the face with both parts of the force")

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> LeaningFaceGivens:
        """Sums of one sign, well conditioned whatever is asked."""
        return LeaningFaceGivens(
            drawn(rng, 1, 9),
            drawn(rng, 1, 9),
            drawn(rng, 0.1, 5),
            rng.randint(1, 4),
            drawn(rng, 5, 15, 2),
        )


def _power(x: Number, n: int) -> Number:
    result = x * 0 + 1
    for _ in range(n):
        result = result * x
    return result
