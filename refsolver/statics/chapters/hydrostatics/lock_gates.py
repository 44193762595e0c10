"""Pairs of lock gates that meet at an angle.

Source of the method: any text of hydrostatics, for instance J. F. Douglas, J. M. Gasiorek
and J. A. Swaffield, "Fluid Mechanics", chapter 3 (second hand): three forces in a plan hold
each gate, so that hinge and mitre push alike; moments share the hinge force.
"""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from types import SimpleNamespace
from typing import Any

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.enclosure import seen_sign
from refsolver.arithmetic.exact import Angle, Exact, Turn, rational
from refsolver.quantities.dimensions import FORCE, LENGTH
from refsolver.quantities.folding import difference
from refsolver.quantities.kinds import ScalarKind, Value
from refsolver.statics import cautions
from refsolver.statics.chapters.hydrostatics.fluids import (
    DENSITY_MISTAKES,
    density_given,
    gravity_given,
    is_acute,
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
    quantity,
)
from refsolver.statics.drawing import Arrow, Drawing, Pin, Primitive, Stroke
from refsolver.statics.random_givens import decimal, drawn, figures_for, log_uniform
from refsolver.statics.registry import register
from refsolver.statics.sheets import number_sheet

__all__ = ["LockGates", "LockGatesGivens"]


@attrs.frozen
class LockGatesGivens:
    width: Exact = quantity(LENGTH, "of each gate", sign="positive")
    lean: Angle = angle("of each gate from the line across the lock")
    upstream: Exact = quantity(LENGTH, "depth of the fluid upstream", sign="positive")
    lower_hinge: Exact = quantity(LENGTH, "height above the bottom")
    upper_hinge: Exact = quantity(LENGTH, "height above the bottom")
    downstream: Exact = quantity(
        LENGTH, "depth of the fluid downstream", sign="not negative", default=rational(0)
    )
    specific_weight: Exact | None = specific_weight_given("weight per volume of the fluid")
    density: Exact | None = density_given("density of the fluid, where that is not stated")
    gravity: Exact | None = gravity_given()

    def __attrs_post_init__(self) -> None:
        weight_stated_once(self, "the fluid")
        needs_gravity((self,), self.gravity)
        if not is_acute(self.lean):
            raise ValueError("the lean of the gates lies between 0 and 90 degrees")
        if seen_sign(difference(self.upper_hinge, self.lower_hinge)) in (-1, 0):
            raise ValueError("'upper_hinge' is higher than 'lower_hinge'")


def between_gates(force: Number, sine: Number, cosine: Number) -> Number:
    """P / (2 sin a): square to the gate, hinge and mitre each carry half of the force."""
    return force / (2 * sine)


def height_of_difference(first: Number, second: Number) -> Number:
    """(h1^3 - h2^3) / (3 (h1^2 - h2^2)), written without the difference."""
    return (first * first + first * second + second * second) / (3 * (first + second))


@register
class LockGates(Family):
    name = "hydrostatics/lock-gates"
    title = "A pair of lock gates: the force between them and on their hinges"
    givens = LockGatesGivens
    answers = {
        "fluid force": Answer(ScalarKind(FORCE), "on one gate, upstream less downstream"),
        "height": Answer(ScalarKind(LENGTH), "of that force above the bottom"),
        "mitre force": Answer(ScalarKind(FORCE), "between the gates, across the lock"),
        "hinge force": Answer(ScalarKind(FORCE), "on both hinges of one gate together"),
        "upper hinge": Answer(ScalarKind(FORCE), "the share of the upper hinge"),
        "lower hinge": Answer(ScalarKind(FORCE), "the share of the lower hinge"),
    }
    rules = {
        "weight_of_density": weight_of_density,
        "between_gates": between_gates,
        "height_of_difference": height_of_difference,
    }
    mistakes = (
        Mistake(
            "cosine for sine",
            "half the force is divided by the cosine of the lean",
            rules={"between_gates": lambda force, sine, cosine: force / (2 * cosine)},
        ),
        Mistake(
            "half of the force left out",
            "each gate is taken to carry its whole force to the mitre",
            rules={"between_gates": lambda force, sine, cosine: force / sine},
        ),
        Mistake(
            "a third of the upstream depth",
            "the difference of the two forces is placed where the upstream one acts",
            rules={"height_of_difference": lambda first, second: first / 3},
        ),
        *DENSITY_MISTAKES,
    )
    method = (
        "P = gamma b (h1^2 - h2^2) / 2 at (h1^3 - h2^3) / (3 (h1^2 - h2^2)); mitre and hinges each "
        "P / (2 sin a); moments about the lower hinge"
    )
    second_method = (
        "upstream and downstream forces kept apart; equilibrium along and square to the gate, "
        "and moments about the bottom"
    )
    caution = cautions.STILL_FLUIDS

    def solve(self, given: Any, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        weight = weight_of_fluid(given, given.gravity, ar, rules) * ar.bring(given.width)
        first, second = ar.bring(given.upstream), ar.bring(given.downstream)
        force = weight * (first - second) * (first + second) / 2
        height = rules.height_of_difference(first, second)
        cosine, sine = ar.cos_sin(given.lean)
        total = rules.between_gates(force, sine, cosine)
        low, high = ar.bring(given.lower_hinge), ar.bring(given.upper_hinge)
        upper = total * (height - low) / (high - low)
        answers = {
            "fluid force": force,
            "height": height,
            "mitre force": total,
            "hinge force": total,
            "upper hinge": upper,
            "lower hinge": total - upper,
        }
        forces = {k: v for k, v in answers.items() if k != "height"}
        sheets = (
            number_sheet("Heights above the bottom", {"P": height}, "", LENGTH),
            number_sheet("Forces", forces, self.method),
        )
        return Solution(answers, sheets)

    def check(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Sequence[Residual]:
        weight = weight_of_fluid(given, given.gravity, ar, self.rule_set())
        width = ar.bring(given.width)
        depths = (ar.bring(given.upstream), ar.bring(given.downstream))
        forces = [weight * h * h / 2 * width for h in depths]
        acts = [f * h / 3 for f, h in zip(forces, depths, strict=True)]
        net, moment = forces[0] - forces[1], acts[0] - acts[1]
        cosine, sine = ar.cos_sin(given.lean)
        low, high = ar.bring(given.lower_hinge), ar.bring(given.upper_hinge)
        reach = depths[0] + ar.size(low) + ar.size(high)
        size = forces[0] / sine
        upper, lower = answers["upper hinge"], answers["lower hinge"]
        force, hinge, mitre = (answers[k] for k in ("fluid force", "hinge force", "mitre force"))
        # Hinge and mitre share the force equally at each height, so both hinges turn half of it.
        turned = (upper * high + lower * low) * 2 * sine - moment
        return [
            Residual("upstream less downstream", force - net, size),
            Residual("height of the force", answers["height"] * net - moment, size * reach),
            Residual("square to the gate", (hinge + mitre) * sine - net, size),
            Residual("along the gate", (hinge - mitre) * cosine, size),
            Residual("hinges together", upper + lower - hinge, size),
            Residual("moments about the bottom", turned, size * reach),
        ]

    def figure(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        cosine, sine = ar.cos_sin(given.lean)
        width = ar.bring(given.width)
        half, rise = width * cosine, width * sine
        push, total = answers["fluid force"], answers["hinge force"]
        parts: tuple[Primitive, ...] = (
            Stroke((-half, 0.0), (0.0, rise), "gate"),
            Stroke((half, 0.0), (0.0, rise), "gate"),
            Pin((-half, 0.0), "pin", label="hinge"),
            Pin((half, 0.0), "pin", label="hinge"),
            Arrow((half / 2, rise / 2), (-push * sine, -push * cosine), "P", pushes=True),
            Arrow((0.0, rise), (total, 0.0), "mitre", "answer", pushes=True),
        )
        return Drawing(parts, "The two gates in plan, upstream above, with the forces on one")

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> LockGatesGivens:
        """Levels apart by about 1/kappa of the depth."""
        target = log_uniform(rng, kappa)
        upstream = drawn(rng, 3, 9)
        lower = decimal(1 - rng.uniform(0.3, 0.9) / target, figures_for(target))
        return LockGatesGivens(
            drawn(rng, 1, 9), Turn(drawn(rng, 5, 40) / 360), upstream, fmpq(1, 2),
            upstream + drawn(rng, 0, 1), upstream * lower, drawn(rng, 5, 15, 2),
        )  # fmt: skip
