"""Rolling resistance: the force that keeps a wheel or a load on rollers moving.

The ground's reaction acts the coefficient of rolling resistance (a length) ahead of the
point beneath the axle; that this length is small beside the radius is taken throughout, as
the trade does. Sources of the method: I. J. Levinson, "Statics and Strength of Materials",
chapter 6; R. C. Hibbeler, "Engineering Mechanics: Statics", section 8.8, both from memory.
"""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from types import SimpleNamespace

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.exact import Angle, Exact, Slope, Turn
from refsolver.quantities.dimensions import ANGLE, FORCE, LENGTH, MOMENT, NUMBER
from refsolver.quantities.kinds import Choice, ChoiceKind, ScalarKind, Value
from refsolver.statics import cautions
from refsolver.statics.contract import (
    Answer,
    Family,
    Mistake,
    Residual,
    Solution,
    angle,
    quantity,
)
from refsolver.statics.drawing import Arrow, Drawing, Primitive, Stroke, drawn_circle
from refsolver.statics.random_givens import decimal, figures_for, gap_for
from refsolver.statics.registry import register
from refsolver.statics.residuals import of_sign
from refsolver.statics.sheets import number_sheet

__all__ = ["Rolling", "RollingResistance"]


@attrs.frozen
class Rolling:
    load: Exact = quantity(FORCE, "on the wheel or the rollers, weight included", sign="positive")
    radius: Exact = quantity(LENGTH, "of wheel or roller", sign="positive")
    coefficient: Exact = quantity(LENGTH, "of rolling resistance at the ground", sign="positive")
    upper_coefficient: Exact | None = quantity(
        LENGTH,
        "under the load; stated: a load on light rollers; none: a wheel pulled at its axle",
        sign="positive",
        default=None,
    )
    incline: Angle = angle("of the ground above the level", default=Turn(fmpq(0)))


def lever_of_resistance(
    radius: Number, coefficient: Number, upper: Number | None
) -> tuple[Number, Number]:
    """What the normal force turns with, and what the pull turns with: a/r or (a + b)/(2 r)."""
    if upper is None:
        return coefficient, radius
    return coefficient + upper, 2 * radius


def normal_force(load: Number, cosine: Number) -> Number:
    """W cos(incline)."""
    return load * cosine


_STATES = ("rolls down", "on the point of rolling down", "stays")


@register
class RollingResistance(Family):
    name = "friction/rolling"
    title = "Force to keep a wheel or a load on rollers moving"
    givens = Rolling
    answers = {
        "force to roll up": Answer(
            ScalarKind(FORCE), "along the ground, at the axle or on the load, steady motion"
        ),
        "force to roll down": Answer(
            ScalarKind(FORCE), "along the ground, down; negative: so much must hold it back"
        ),
        "resistance": Answer(ScalarKind(FORCE), "of rolling alone, along the ground"),
        "resisting couple": Answer(ScalarKind(MOMENT), "of a wheel, or of all rollers together"),
        "normal": Answer(ScalarKind(FORCE), "of the ground on the wheel"),
        "resistance ratio": Answer(ScalarKind(NUMBER), "resistance over normal force"),
        "rolling angle": Answer(ScalarKind(ANGLE), "incline down which it rolls by itself"),
        "state": Answer(ChoiceKind(_STATES), "left to itself"),
    }
    rules = {"lever_of_resistance": lever_of_resistance, "normal_force": normal_force}
    mistakes = (
        Mistake(
            "diameter for radius",
            "the diameter of the wheel is used for its radius",
            rules={
                "lever_of_resistance": lambda r, a, b: (a, 2 * r) if b is None else (a + b, 4 * r)
            },
        ),
        Mistake(
            "rollers taken as wheels",
            "the pull on a load on rollers is given the radius for its arm",
            rules={"lever_of_resistance": lambda r, a, b: (a, r) if b is None else (a + b, r)},
        ),
        Mistake(
            "normal taken as the weight",
            "the incline is not counted in the normal force",
            rules={"normal_force": lambda load, cosine: load},
        ),
        Mistake(
            "coefficient taken as a number",
            "the length a is multiplied with the load and never divided by the radius",
            rules={"lever_of_resistance": lambda r, a, b: (a if b is None else a + b, r / r)},
        ),
    )
    method = (
        "R = N a/r for a wheel, N (a + b)/(2 r) on rollers, N = W cos(i); up W sin(i) + R, down "
        "R - W sin(i)"
    )
    second_method = (
        "moments about where the ground's reaction acts; the inclines at which it rolls by itself"
    )
    caution = cautions.ROLLING

    def solve(self, given: Rolling, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        load, radius, ground = (ar.bring(x) for x in (given.load, given.radius, given.coefficient))
        upper = None if given.upper_coefficient is None else ar.bring(given.upper_coefficient)
        cosine, sine = ar.cos_sin(given.incline)
        ahead, arm = rules.lever_of_resistance(radius, ground, upper)
        normal = rules.normal_force(load, cosine)
        resistance = normal * ahead / arm
        down = resistance - load * sine
        forces = {
            "normal": normal,
            "resistance": resistance,
            "force to roll up": resistance + load * sine,
            "force to roll down": down,
        }
        word = _STATES[1 + ar.sign(down, "force to roll down")]
        answers: dict[str, Value] = {
            **forces,
            "resisting couple": normal * ahead,
            "resistance ratio": ahead / arm,
            "rolling angle": ar.atan2(ahead, arm, "rolling angle"),
            "state": Choice(word, {"force to roll down": down}),
        }
        return Solution(answers, (number_sheet("Forces", forces, self.method),))

    def check(
        self, given: Rolling, answers: Mapping[str, Value], ar: Arithmetic
    ) -> Sequence[Residual]:
        load, radius = ar.bring(given.load), ar.bring(given.radius)
        ahead = ar.bring(given.coefficient)
        pulled_at = radius
        if given.upper_coefficient is not None:
            # A light roller carries the pull on its top, where the load acts behind its axle.
            ahead = ahead + ar.bring(given.upper_coefficient)
            pulled_at = 2 * radius
        cosine, sine = ar.cos_sin(given.incline)
        size = load * (radius + ahead)
        residuals = []
        for name, sense in (("force to roll up", 1), ("force to roll down", -1)):
            net = answers[name] - sense * load * sine
            off = net * pulled_at - load * cosine * ahead
            residuals.append(Residual(f"moments where the ground acts, {name}", off, size))
        off = answers["resisting couple"] - load * cosine * ahead
        residuals.append(Residual("resisting couple", off, size))
        off = (
            answers["normal"] * cosine
            + (answers["force to roll up"] - answers["resistance"]) * sine
        )
        residuals.append(Residual("upright forces", off - load, load))
        off = answers["resistance ratio"] * answers["normal"] - answers["resistance"]
        residuals.append(Residual("resistance over normal", off, load))
        c, s = ar.cos(answers["rolling angle"]), ar.sin(answers["rolling angle"])
        residuals.append(Residual("rolling angle", s * pulled_at - c * ahead, radius + ahead))
        down, sign = answers["force to roll down"], _STATES.index(answers["state"].word) - 1
        residuals.append(of_sign("state", sign, down, load + ar.size(down), ar))
        return residuals

    def figure(self, given: Rolling, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        cosine, sine = ar.cos_sin(given.incline)
        radius, ahead = ar.bring(given.radius), ar.bring(given.coefficient)
        centre = (-radius * sine, radius * cosine)
        normal, pull = answers["normal"], answers["force to roll up"]
        parts: tuple[Primitive, ...] = (
            Stroke((-2 * radius * cosine, -2 * radius * sine),
                   (2 * radius * cosine, 2 * radius * sine), "ground"),
            drawn_circle(centre, radius, "wheel" if given.upper_coefficient is None else "roller"),
            Arrow(centre, (0.0, -ar.bring(given.load)), "W"),
            Arrow(centre, (pull * cosine, pull * sine), "P", "answer"),
            Arrow((ahead * cosine, ahead * sine), (-normal * sine, normal * cosine), "N", "answer"),
        )  # fmt: skip
        return Drawing(parts, "a wheel rolling up, its normal force ahead of the axle, to scale")

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> Rolling:
        """An incline that differs by about 1/kappa from the one down which it rolls."""
        gap = gap_for(rng, kappa, 5.0)
        places = 3 + figures_for(kappa[1])
        radius, ground = round(rng.uniform(100, 500), 1), rng.uniform(0.2, 3)
        upper = rng.choice((None, rng.uniform(0.2, 3)))
        ratio = ground / radius if upper is None else (ground + upper) / (2 * radius)
        slope = ratio * (1 + rng.choice((-1, 1)) * gap)
        return Rolling(
            fmpq(rng.randint(100, 99999)),
            decimal(radius, 1),
            decimal(ground, places),
            None if upper is None else decimal(upper, places),
            Slope(decimal(slope, 4 + places), fmpq(1)),
        )
