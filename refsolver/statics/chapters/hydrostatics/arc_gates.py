"""Gates and walls curved to an arc of a circle, under a fluid at rest.

Source of the method: any text of hydrostatics, for instance B. S. Massey, "Mechanics of
Fluids", chapter 2 (from memory): the horizontal part is the force on the upright
projection, the vertical part the weight of the fluid, real or imagined, between the face
and the level of the free surface; the resultant passes the centre.
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
from refsolver.arithmetic.enclosure import seen_sign
from refsolver.arithmetic.exact import Angle, Exact, Slope, Turn
from refsolver.quantities.dimensions import AREA, FORCE, LENGTH
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
    angle,
    choice,
    quantity,
)
from refsolver.statics.drawing import Arrow, Curve, Drawing, Mark, Primitive, Stroke
from refsolver.statics.forces.systems import sum_of
from refsolver.statics.random_givens import drawn, log_uniform, share_of
from refsolver.statics.registry import register
from refsolver.statics.sheets import number_sheet

__all__ = ["Arc", "ArcGate"]


@attrs.frozen
class Arc:
    radius: Exact = quantity(LENGTH, "of the arc", sign="positive")
    width: Exact = quantity(LENGTH, "of the gate, along its axis", sign="positive")
    centre_depth: Exact = quantity(
        LENGTH, "of the centre of the arc below the surface; negative above it"
    )
    upper: Angle = angle("from the level of the centre up to the upper end; below it negative")
    lower: Angle = angle("from the level of the centre up to the lower end; below it negative")
    wetted: str = choice(("convex", "concave"), "the side that the fluid presses", default="convex")
    specific_weight: Exact | None = specific_weight_given("weight per volume of the fluid")
    density: Exact | None = density_given("density of the fluid, where that is not stated")
    gravity: Exact | None = gravity_given()

    def __attrs_post_init__(self) -> None:
        weight_stated_once(self, "the fluid")
        needs_gravity((self,), self.gravity)
        ends = [a.turns for a in (self.upper, self.lower) if isinstance(a, Turn)]
        slopes = [a for a in (self.upper, self.lower) if isinstance(a, Slope)]
        behind = any(seen_sign(a.run) == -1 for a in slopes)
        if behind or any(abs(turns) > fmpq(1, 4) for turns in ends):
            raise ValueError("the ends of the arc lie from -90 to 90 degrees")
        if self.upper == self.lower or (len(ends) == 2 and ends[0] <= ends[1]):
            raise ValueError("'upper' is the angle of the higher end, above 'lower'")


@attrs.frozen
class _Ends:
    """Radius, depth of the centre, and (angle, cosine, sine) of both ends."""

    radius: Number
    depth: Number
    upper: tuple[Number, Number, Number]
    lower: tuple[Number, Number, Number]


def projected_height(ends: _Ends) -> Number:
    """R (sin u - sin l)."""
    return ends.radius * (ends.upper[2] - ends.lower[2])


def strip_up_to_the_surface(ends: _Ends) -> Number:
    """The block between the level of the centre and the surface."""
    return ends.depth * ends.radius * (ends.upper[1] - ends.lower[1])


def between_arc_and_centre(ends: _Ends) -> Number:
    """Sector less triangles: R^2 (u - l - sin u cos u + sin l cos l) / 2."""
    (u, cu, su), (low, cl, sl) = ends.upper, ends.lower
    return ends.radius * ends.radius * (u - low - su * cu + sl * cl) / 2


_OUT = NoAnswer("not defined", "the upper end of the arc stands out of the fluid")


@register
class ArcGate(Family):
    name = "hydrostatics/arc-gate"
    title = "Force of a fluid on a gate or wall curved to an arc of a circle"
    givens = Arc
    answers = {
        "force": Answer(
            VectorKind(FORCE, 2), "x from the fluid through the gate, y up", ("not defined",)
        ),
        "depth of horizontal": Answer(
            ScalarKind(LENGTH), "of the horizontal part below the surface", ("not defined",)
        ),
        "distance of vertical": Answer(
            ScalarKind(LENGTH),
            "of the vertical part from the centre, toward the arc",
            ("not defined",),
        ),
    }
    rules = {
        "weight_of_density": weight_of_density,
        "projected_height": projected_height,
        "strip": strip_up_to_the_surface,
        "between": between_arc_and_centre,
        "in_radians": lambda a, ar: ar.radians(a),
    }
    mistakes = (
        Mistake(
            "length of the arc for its projection",
            "the horizontal part is taken on the length of the arc",
            rules={"projected_height": lambda ends: ends.radius * (ends.upper[0] - ends.lower[0])},
        ),
        Mistake(
            "block up to the surface left out",
            "the vertical part is the weight between arc and centre alone",
            rules={"strip": lambda ends: strip_up_to_the_surface(ends) * 0},
        ),
        Mistake(
            "segment left out",
            "the arc is taken as if its ends alone held up the fluid",
            rules={"between": lambda ends: between_arc_and_centre(ends) * 0},
        ),
        Mistake(
            "degrees for radians",
            "the angle of the sector enters in degrees",
            rules={"in_radians": lambda a, ar: ar.radians(a) * 180 / ar.pi()},
        ),
        Mistake(
            "vertical part reversed",
            "the fluid is taken on the other side of the arc",
            givens=lambda given: attrs.evolve(
                given, wetted="concave" if given.wetted == "convex" else "convex"
            ),
        ),
        *DENSITY_MISTAKES,
    )
    method = (
        "horizontal: gamma h_c on the upright projection; vertical: gamma times the area between "
        "the arc and the surface, block and sector less triangles, times the width"
    )
    second_method = (
        "the pressures integrated along the arc, by half sum and half difference of the angles; "
        "their moment about the centre by itself"
    )
    caution = cautions.STILL_FLUIDS

    def _ends(self, given: Arc, ar: Arithmetic, rules: SimpleNamespace) -> _Ends:
        upper, lower = (
            (rules.in_radians(a, ar), *ar.cos_sin(a)) for a in (given.upper, given.lower)
        )
        return _Ends(ar.bring(given.radius), ar.bring(given.centre_depth), upper, lower)

    def solve(self, given: Any, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        ends = self._ends(given, ar, rules)
        weight = weight_of_fluid(given, given.gravity, ar, rules) * ar.bring(given.width)
        first, last = (ends.depth - ends.radius * end[2] for end in (ends.upper, ends.lower))
        if ar.sign(first, "upper end under the surface") < 0:
            return Solution(dict.fromkeys(self.answers, _OUT))
        height = rules.projected_height(ends)
        horizontal = weight * height * (first + last) / 2
        strip, between = rules.strip(ends), rules.between(ends)
        lift = weight * (strip + between)
        deep = (first * first + first * last + last * last) * 2 / (3 * (first + last))
        answers = {
            "force": (horizontal, lift if given.wetted == "convex" else -lift),
            "depth of horizontal": deep,
            "distance of vertical": (deep - ends.depth) * horizontal / lift,
        }
        areas = {"block": strip, "sector less triangles": between}
        sheets = (
            number_sheet("Depths", {"upper end": first, "lower end": last}, "", LENGTH),
            number_sheet("Areas beside the arc", areas, self.method, AREA),
            number_sheet("Forces", {"horizontal": horizontal, "vertical": answers["force"][1]}),
        )
        return Solution(answers, sheets)

    def check(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Sequence[Residual]:
        if isinstance(answers["force"], NoAnswer):
            return []
        rules = self.rule_set()
        ends = self._ends(given, ar, rules)
        r, depth, su, sl = ends.radius, ends.depth, ends.upper[2], ends.lower[2]
        per = weight_of_fluid(given, given.gravity, ar, rules) * ar.bring(given.width) * r
        middle, half = (ends.upper[0] + ends.lower[0]) / 2, (ends.upper[0] - ends.lower[0]) / 2
        cm, sm, sh = ar.cos(middle), ar.sin(middle), ar.sin(half)
        twice = ar.sin(2 * half)
        horizontal = per * (2 * depth * cm * sh - r * ar.sin(2 * middle) * twice / 2)
        lift = per * (r * (2 * half - ar.cos(2 * middle) * twice) / 2 - 2 * depth * sm * sh)
        turning = per * r * (
            r * (su * su * su - sl * sl * sl) / 3 - depth * (su * su - sl * sl) / 2
        )  # fmt: skip
        x, y = answers["force"]
        sense = 1 if given.wetted == "convex" else -1
        size = per * (ar.size(depth) + r)
        heights = [depth - r * s for s in (su, (su + sl) / 2, sl)]
        second = (
            per
            * (su - sl)
            / 6
            * sum_of([h * h * n for h, n in zip(heights, (1, 4, 1), strict=True)], ar)
        )
        reach, deep = ar.size(depth) + r, answers["depth of horizontal"]
        return [
            Residual("horizontal along the arc", x - horizontal, size),
            Residual("vertical along the arc", y - lift * sense, size),
            Residual("moment about the surface", deep * x - second, size * reach),
            Residual(
                "moment about the centre",
                answers["distance of vertical"] * lift - turning,
                size * reach,
            ),
        ]

    def figure(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        ends = self._ends(given, ar, self.rule_set())
        r, u, low = ends.radius, ends.upper[0], ends.lower[0]
        turns = [low + (u - low) * i / 32 for i in range(33)]
        sense = -1 if given.wetted == "convex" else 1
        arc = tuple((sense * r * math.cos(a), r * math.sin(a)) for a in turns)
        left = min(x for x, _ in arc) - r
        level = Stroke((left, ends.depth), (0.5 * r, ends.depth), "surface", "construction")
        parts: list[Primitive] = [level, Curve(arc, "gate"), Mark((0.0, 0.0), "centre")]
        if not isinstance(answers["force"], NoAnswer):
            x, y = answers["force"]
            size = math.hypot(x, y) or 1.0
            at = (-r * x / size, -r * y / size) if sense < 0 else (r * x / size, r * y / size)
            parts.append(Arrow(at, (x, y), "F", "answer", pushes=True))
        return Drawing(tuple(parts), "The arc with its centre and the resultant, to scale")

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> Arc:
        """An arc of about 1/kappa radians: differences of sines and cosines."""
        lower = fmpq(rng.randint(-90, 60))
        upper = fmpq(rng.randint(int(lower) + 5, 90))
        spread = log_uniform(rng, kappa)
        if spread > 20:
            upper = lower + 57 * share_of(spread, rng)
        radius = drawn(rng, 1, 9)
        return Arc(
            radius,
            drawn(rng, 1, 9),
            radius + drawn(rng, 0, 5),
            Turn(upper / 360),
            Turn(lower / 360),
            rng.choice(("convex", "concave")),
            drawn(rng, 5, 15, 2),
        )
