"""Two legs of stated length: how the load hangs, and what the legs carry.

Source of the method: equilibrium of a particle and of a rigid body held by two cables,
R. C. Hibbeler, "Engineering Mechanics: Statics", chapters 3 and 5, from memory; scope and
caution as in :mod:`.equal_legs`.
"""

from __future__ import annotations

import math
import random
from collections.abc import Mapping, Sequence
from types import SimpleNamespace

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.exact import Exact
from refsolver.quantities.dimensions import ANGLE, FORCE, LENGTH
from refsolver.quantities.kinds import NoAnswer, PointKind, ScalarKind, TableKind, Value
from refsolver.statics import cautions
from refsolver.statics.contract import Answer, Family, Mistake, Residual, Solution, quantity
from refsolver.statics.drawing import Arrow, Drawing, Mark, Primitive, Stroke
from refsolver.statics.random_givens import decimal, figures_for, log_uniform
from refsolver.statics.registry import register
from refsolver.statics.sheets import number_sheet
from refsolver.statics.vectors import Numbers, added, brought, dot, length, minus, scaled

__all__ = ["HangingBridle", "HangingLoad"]


@attrs.frozen
class HangingBridle:
    load: Exact = quantity(FORCE, "weight of the load", sign="positive")
    left_leg: Exact = quantity(LENGTH, "of the left leg", sign="positive")
    right_leg: Exact = quantity(LENGTH, "of the right leg", sign="positive")
    spacing: Exact = quantity(LENGTH, "of the lugs, along the load", sign="positive")
    along: Exact = quantity(LENGTH, "of the centre of gravity from the left lug toward the right")
    below: Exact = quantity(LENGTH, "of the centre of gravity below the line of the lugs")


def hook_along(left: Number, right: Number, spacing: Number) -> Number:
    """Where the hook stands along the lugs: (L1^2 - L2^2 + s^2) / (2 s)."""
    return (left * left - right * right + spacing * spacing) / (2 * spacing)


@register
class HangingLoad(Family):
    name = "rigging/hanging-load"
    title = "Two legs of given length: how the load tilts, and what the legs carry"
    givens = HangingBridle
    answers = {
        "tensions": Answer(
            TableKind(ScalarKind(FORCE), "leg"), "in the legs left and right", ("no solution",)
        ),
        "tilt": Answer(
            ScalarKind(ANGLE),
            "of the line of the lugs from the level, positive where the right lug stands higher",
            ("no solution",),
        ),
        "hook": Answer(
            PointKind(2),
            "x along the lugs from the left one, y at right angles to them, away from the load",
            ("no solution",),
        ),
    }
    rules = {"hook_along": hook_along}
    mistakes = (
        Mistake(
            "hook over the middle",
            "the hook is put over the middle of the lugs although the legs differ",
            rules={"hook_along": lambda left, right, spacing: spacing / 2},
        ),
    )
    method = (
        "hook from the triangle of legs and lugs; the centre of gravity hangs plumb below it; the "
        "legs balance W along that plumb line"
    )
    second_method = (
        "both leg lengths from the hook; moments of the legs about the centre of gravity vanish "
        "and their sum is W"
    )
    caution = cautions.RIGGING

    def solve(self, given: HangingBridle, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        left, right, spacing = brought((given.left_leg, given.right_leg, given.spacing), ar)
        x = rules.hook_along(left, right, spacing)
        if ar.sign(left * left - x * x, "legs long enough to meet") <= 0:
            return self._nothing("the legs do not reach from lug to lug over a hook")
        y = ar.sqrt(left * left - x * x)
        plumb = (x - ar.bring(given.along), y + ar.bring(given.below))
        if ar.sign(plumb[1], "hook above the centre of gravity") <= 0:
            return self._nothing("the centre of gravity does not lie below the hook")
        up = scaled(1 / length(plumb, ar), plumb)
        load = ar.bring(given.load)
        both = load * up[1] / y
        q2 = (both * x - load * up[0]) / spacing
        densities = {"left": both - q2, "right": q2}
        for key, q in densities.items():
            if ar.sign(q, f"{key} leg pulls") < 0:
                return self._nothing(f"the {key} leg would have to push")
        tensions = {"left": densities["left"] * left, "right": densities["right"] * right}
        tilt = ar.atan2(up[0], up[1], "tilt")
        sheet = number_sheet("Legs", tensions, self.method)
        return Solution({"tensions": tensions, "tilt": tilt, "hook": (x, y)}, (sheet,))

    def _nothing(self, evidence: str) -> Solution:
        missing = NoAnswer("no solution", evidence)
        return Solution(
            {"tensions": {"left": missing, "right": missing}, "tilt": missing, "hook": missing}
        )

    def check(
        self, given: HangingBridle, answers: Mapping[str, Value], ar: Arithmetic
    ) -> Sequence[Residual]:
        if isinstance(answers["hook"], NoAnswer):
            return []
        hook, load = answers["hook"], ar.bring(given.load)
        weight_at = (ar.bring(given.along), -ar.bring(given.below))
        lugs = {
            "left": (ar.bring(fmpq(0)),) * 2,
            "right": (ar.bring(given.spacing), ar.bring(fmpq(0))),
        }
        stated = {"left": ar.bring(given.left_leg), "right": ar.bring(given.right_leg)}
        residuals, turning, reach = [], ar.bring(fmpq(0)), ar.bring(fmpq(0))
        sums: Numbers = (turning, turning)
        for key, lug in lugs.items():
            leg = minus(hook, lug)
            own = stated[key] * stated[key]
            residuals.append(Residual(f"length {key}", dot(leg, leg) - own, own))
            pull = scaled(answers["tensions"][key] / stated[key], leg)
            arm = minus(lug, weight_at)
            turning = turning + arm[0] * pull[1] - arm[1] * pull[0]
            reach = reach + ar.size(arm[0]) + ar.size(arm[1])
            sums = added(sums, pull)
        c, s = ar.cos(answers["tilt"]), ar.sin(answers["tilt"])
        residuals.append(Residual("moments about the centre of gravity", turning, load * reach))
        residuals.append(Residual("level sum", sums[0] * c - sums[1] * s, load))
        residuals.append(Residual("upright sum", sums[0] * s + sums[1] * c - load, load))
        return residuals

    def figure(self, given: HangingBridle, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        spacing = ar.bring(given.spacing)
        weight_at = (ar.bring(given.along), -ar.bring(given.below))
        tilt = answers["tilt"]
        if isinstance(tilt, NoAnswer):
            parts: tuple[Primitive, ...] = (
                Stroke((0.0, 0.0), (spacing, 0.0), "lugs"),
                Mark(weight_at, "G"),
            )
            return Drawing(parts, "Lugs and centre of gravity; the bridle cannot hold this load")
        c, s = math.cos(tilt), math.sin(tilt)

        def turned(p: Sequence[float]) -> tuple[float, float]:
            return (p[0] * c - p[1] * s, p[0] * s + p[1] * c)

        hook, left, right = (turned(p) for p in (answers["hook"], (0.0, 0.0), (spacing, 0.0)))
        centre = turned(weight_at)
        parts = (
            Stroke(hook, left, "left leg"),
            Stroke(hook, right, "right leg"),
            Stroke(left, right, "lugs"),
            Mark(centre, "G"),
            Arrow(centre, (0.0, -ar.bring(given.load)), "W"),
            Stroke(hook, centre, role="construction"),
        )
        return Drawing(parts, "The load as it hangs, its centre of gravity plumb below the hook")

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> HangingBridle:
        """The flatter the legs, the larger the condition number."""
        spread = log_uniform(rng, kappa)
        digits = figures_for(kappa[1])
        s = rng.uniform(2, 9)
        x = s * rng.uniform(0.4, 0.6)
        y = s / math.sqrt(spread)
        return HangingBridle(
            fmpq(rng.randint(100, 99999)),
            decimal(math.hypot(x, y), digits),
            decimal(math.hypot(s - x, y), digits),
            decimal(s, digits),
            decimal(x + rng.uniform(-0.05, 0.05) * s, 2),
            decimal(rng.uniform(0, 0.3) * s, 2),
        )
