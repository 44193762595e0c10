"""Rectangular walls that a fluid, or mud or earth taken as one, is about to tip over.

Source of the method: D. W. Baker and W. Haynes, "Engineering Statics: Open and
Interactive", chapter 7, section on fluid statics: the resultant just passes the toe.
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
from refsolver.quantities.dimensions import (
    LENGTH,
    NUMBER,
)
from refsolver.quantities.kinds import NoAnswer, ScalarKind, Value
from refsolver.statics import cautions
from refsolver.statics.chapters.hydrostatics.fluids import (
    DENSITY_MISTAKES,
    WeighedFluid,
    gravity_given,
    needs_gravity,
    weight_of_density,
    weight_of_fluid,
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
from refsolver.statics.drawing import Drawing, Mark, Primitive, Region, Stroke
from refsolver.statics.limits import exceeds
from refsolver.statics.random_givens import drawn
from refsolver.statics.registry import register
from refsolver.statics.sheets import number_sheet

__all__ = ["TippingWall", "TippingWallGivens"]


@attrs.frozen(kw_only=True)
class TippingWallGivens:
    height: Exact = quantity(LENGTH, "of the wall", sign="positive")
    width: Exact | None = quantity(
        LENGTH, "its thickness, where the depth is asked", sign="positive", default=None
    )
    depth: Exact | None = quantity(
        LENGTH, "of the fluid, where the width is asked", sign="positive", default=None
    )
    wall: WeighedFluid = one(WeighedFluid, "what the wall is made of")
    fluid: WeighedFluid = one(WeighedFluid, "what it holds back, mud or earth taken as a fluid too")
    gravity: Exact | None = gravity_given()

    def __attrs_post_init__(self) -> None:
        if (self.width is None) == (self.depth is None):
            raise ValueError("state either the width or the depth; the other is the answer")
        needs_gravity((self.wall, self.fluid), self.gravity)
        if exceeds(self.depth, self.height):
            raise ValueError("the fluid stands higher than the wall")


_NEVER = NoAnswer("no solution", "the wall stands with the fluid at its top")


@register
class TippingWall(Family):
    name = "hydrostatics/tipping-wall"
    title = "A rectangular wall about to tip: least width, or greatest depth of the fluid"
    givens = TippingWallGivens
    reach = (1.0, 4.0)
    reach_because = "products, powers and roots of positive numbers"
    answers = {
        "width": Answer(ScalarKind(LENGTH), "least that stands"),
        "depth": Answer(ScalarKind(LENGTH), "greatest that it holds", ("no solution",)),
        "depth over height": Answer(ScalarKind(NUMBER), "of that depth", ("no solution",)),
    }
    rules = {
        "weight_of_density": weight_of_density,
        "thrust_arm": lambda fluid: fluid / 3,
        "thrust": lambda fluid: fluid / 2,
    }
    mistakes = (
        Mistake(
            "thrust at half the depth",
            "the fluid is taken to press at the middle of its depth",
            rules={"thrust_arm": lambda fluid: fluid / 2},
        ),
        Mistake(
            "pressure at the foot over the whole depth",
            "the greatest pressure is taken for the mean one",
            rules={"thrust": lambda fluid: fluid},
        ),
        *DENSITY_MISTAKES,
    )
    method = "moments about the toe: gamma_w H b^2 / 2 = gamma_f h^3 / 6"
    second_method = "the resultant of weight and thrust passes the toe: slopes compared"
    caution = cautions.DAMS

    def solve(self, given: Any, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        stone = weight_of_fluid(given.wall, given.gravity, ar, rules)
        water = weight_of_fluid(given.fluid, given.gravity, ar, rules)
        height = ar.bring(given.height)
        # The thrust gamma h^2 / 2 and its arm h / 3, of a unit depth and weight.
        cube = rules.thrust(water) * rules.thrust_arm(ar.bring(fmpq(1)))
        if given.width is None:
            depth = ar.bring(given.depth)
            width = ar.sqrt(2 * cube * depth * depth * depth / (stone * height))
        else:
            width = ar.bring(given.width)
            limit = stone * width * width / (2 * height * height * cube)
            spare = ar.sign(1 - limit, "tips before the fluid reaches its top")
            if spare < 0:
                refused = dict.fromkeys(("depth", "depth over height"), _NEVER)
                return Solution({"width": width, **refused})
            share = _cube_root(limit, ar) if spare else ar.bring(fmpq(1))
            depth = share * height
        answers = {"width": width, "depth": depth, "depth over height": depth / height}
        lengths = {"width": width, "depth": depth}
        return Solution(answers, (number_sheet("At tipping", lengths, self.method, LENGTH),))

    def check(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Sequence[Residual]:
        if isinstance(answers["depth"], NoAnswer):
            return []
        rules = self.rule_set()
        width, depth, height = answers["width"], answers["depth"], ar.bring(given.height)
        weight = weight_of_fluid(given.wall, given.gravity, ar, rules) * width * height
        thrust = weight_of_fluid(given.fluid, given.gravity, ar, rules) * depth * depth / 2
        # From where both meet, half a width behind the toe and h / 3 up, down to the toe.
        residuals = [
            Residual("slope of the resultant", thrust * (depth / 3) - weight * (width / 2),
                     weight * width),
            Residual("depth over height", answers["depth over height"] * height - depth, height),
        ]  # fmt: skip
        stated = "depth" if given.width is None else "width"
        size = ar.bring(getattr(given, stated))
        return [*residuals, Residual(f"stated {stated}", answers[stated] - size, size)]

    def figure(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        width, height = answers["width"], ar.bring(given.height)
        full = isinstance(answers["depth"], NoAnswer)
        depth = height if full else answers["depth"]
        corners = ((0.0, 0.0), (width, 0.0), (width, height), (0.0, height))
        parts: tuple[Primitive, ...] = (
            Region(corners, "wall"),
            Stroke((-height, depth), (0.0, depth), "surface", "construction"),
            Mark((width, 0.0), "toe"),
        )
        return Drawing(parts, "The wall in section with the fluid at which it tips, to scale")

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> TippingWallGivens:
        """Powers and roots alone: well conditioned whatever is asked."""
        height, stone, water = drawn(rng, 2, 9), drawn(rng, 18, 26), drawn(rng, 9, 14)
        size: dict[str, Exact] = (
            {"depth": height * drawn(rng, 0.3, 1, 2)}
            if rng.random() < 0.5
            else {"width": height * drawn(rng, 0.05, 0.3, 3)}
        )
        return TippingWallGivens(
            height=height, wall=WeighedFluid(stone), fluid=WeighedFluid(water), **size
        )


def _cube_root(x: Number, ar: Arithmetic) -> Number:
    """Of a number between 0 and 1, proven."""
    return ar.root(
        lambda t: t * t * t - x,
        lambda t: 3 * t * t,
        (fmpq(0), fmpq(1)),
        "depth over height",
    )
