"""Two legs of any length under a load that stays level.

Source of the method: equilibrium of a particle and of a rigid body held by two cables,
R. C. Hibbeler, "Engineering Mechanics: Statics", chapters 3 and 5, from memory; scope and
caution as in :mod:`.equal_legs`.
"""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from types import SimpleNamespace

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.exact import Exact
from refsolver.quantities.dimensions import ANGLE, FORCE, LENGTH
from refsolver.quantities.kinds import NoAnswer, ScalarKind, TableKind, Value
from refsolver.statics import cautions
from refsolver.statics.contract import (
    Answer,
    Column,
    Family,
    Mistake,
    Residual,
    Row,
    Sheet,
    Solution,
    quantity,
)
from refsolver.statics.drawing import Arrow, Drawing, Primitive, Stroke
from refsolver.statics.random_givens import decimal, figures_for, log_uniform
from refsolver.statics.registry import register
from refsolver.statics.residuals import of_inclination
from refsolver.statics.sheets import number_sheet
from refsolver.statics.vectors import Numbers, brought, length, scaled

__all__ = ["TwoLegBridle", "TwoLegs"]


@attrs.frozen
class TwoLegBridle:
    load: Exact = quantity(FORCE, "weight of the load", sign="positive")
    left_reach: Exact = quantity(
        LENGTH, "level distance from the left lug to the plumb line through hook and weight"
    )
    right_reach: Exact = quantity(LENGTH, "level distance from that plumb line to the right lug")
    left_height: Exact = quantity(LENGTH, "of the hook above the left lug", sign="positive")
    right_height: Exact = quantity(LENGTH, "of the hook above the right lug", sign="positive")


def shares_by_moments(
    load: Number, left: Sequence[Number], right: Sequence[Number]
) -> tuple[Number, Number]:
    """Tension per length of each leg: q1 = W d2 / (d1 h2 + d2 h1), q2 = W d1 / (the same)."""
    (d1, h1), (d2, h2) = left, right
    below = d1 * h2 + d2 * h1
    return load * d2 / below, load * d1 / below


def _equal_shares(
    load: Number, left: Sequence[Number], right: Sequence[Number]
) -> tuple[Number, Number]:
    return load / (2 * left[1]), load / (2 * right[1])


def _arms_exchanged(
    load: Number, left: Sequence[Number], right: Sequence[Number]
) -> tuple[Number, Number]:
    q1, q2 = shares_by_moments(load, left, right)
    return q2, q1


def _slack(which: str) -> NoAnswer:
    return NoAnswer("no solution", f"the {which} leg would have to push")


@register
class TwoLegs(Family):
    name = "rigging/two-legs"
    title = "Two legs of any length, the load level beneath the hook"
    givens = TwoLegBridle
    reach = (1.0, 10.0)
    reach_because = "products, quotients and sums of positive numbers"
    answers = {
        "tensions": Answer(
            TableKind(ScalarKind(FORCE), "leg"), "in the legs left and right", ("no solution",)
        ),
        "lengths": Answer(TableKind(ScalarKind(LENGTH), "leg"), "of the legs"),
        "angles": Answer(TableKind(ScalarKind(ANGLE), "leg"), "of the legs with the horizontal"),
        "shares": Answer(
            TableKind(ScalarKind(FORCE), "leg"), "weight each leg takes", ("no solution",)
        ),
        "horizontal": Answer(
            ScalarKind(FORCE),
            "level pull of either leg, which presses the load together",
            ("no solution",),
        ),
    }
    rules = {"shares_by_moments": shares_by_moments}
    mistakes = (
        Mistake(
            "load halved",
            "each leg is given half the load although the weight is off centre",
            rules={"shares_by_moments": _equal_shares},
        ),
        Mistake(
            "arms exchanged",
            "each leg is given the share that belongs to the other",
            rules={"shares_by_moments": _arms_exchanged},
        ),
    )
    method = (
        "the level pulls balance, the vertical parts carry W: T1 = W d2 L1 / (d1 h2 + d2 h1), "
        "T2 = W d1 L2 / (d1 h2 + d2 h1)"
    )
    second_method = "moments about each lug of the weight and of the other leg; L^2 = d^2 + h^2"
    caution = cautions.RIGGING

    def solve(self, given: TwoLegBridle, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        legs = _two_legs(given, ar)
        lengths = {key: length(leg, ar) for key, leg in legs.items()}
        angles = {key: ar.atan2(leg[1], ar.size(leg[0]), f"{key} leg") for key, leg in legs.items()}
        (d1, h1), (d2, h2) = legs.values()
        missing = None
        if ar.sign(d1 * h2 + d2 * h1, "lugs on both sides of the hook") <= 0:
            missing = NoAnswer("no solution", "the left lug does not lie left of the right one")
        found: Mapping[str, Number] = {}
        if missing is None:
            pair = rules.shares_by_moments(ar.bring(given.load), (d1, h1), (d2, h2))
            found = dict(zip(legs, pair, strict=True))
            for key, q in found.items():
                if ar.sign(q, f"{key} leg pulls") < 0:
                    missing = _slack(key)
        answers: dict[str, Value] = {"lengths": lengths, "angles": angles}
        if missing is not None:
            nothing: dict[str, Value] = dict.fromkeys(legs, missing)
            answers |= {"tensions": nothing, "shares": nothing, "horizontal": missing}
            return Solution(answers, (number_sheet("Legs", lengths, self.method, LENGTH),))
        tensions = {key: q * lengths[key] for key, q in found.items()}
        answers["tensions"] = tensions
        answers["shares"] = {key: q * legs[key][1] for key, q in found.items()}
        answers["horizontal"] = found["left"] * d1
        rows = tuple(Row(key, (lengths[key], tensions[key])) for key in legs)
        columns = (Column("L", LENGTH), Column("T", FORCE))
        return Solution(answers, (Sheet("Legs", columns, rows, self.method),))

    def check(
        self, given: TwoLegBridle, answers: Mapping[str, Value], ar: Arithmetic
    ) -> Sequence[Residual]:
        legs = _two_legs(given, ar)
        residuals = []
        for key, (d, h) in legs.items():
            own = answers["lengths"][key]
            residuals.append(Residual(f"length {key}", own * own - d * d - h * h, own * own))
            residuals += of_inclination(key, answers["angles"][key], (ar.size(d), h), ar)
        if isinstance(answers["horizontal"], NoAnswer):
            return residuals
        load = ar.bring(given.load)
        for key, other in (("left", "right"), ("right", "left")):
            (d, h), (d2, h2) = legs[key], legs[other]
            pull = answers["tensions"][key] / answers["lengths"][key]
            # About the other lug: the leg pulls at the hook's end of its line.
            turning = pull * (h * (d + d2) + d * (h2 - h))
            size = load * (ar.size(d) + ar.size(d2) + h + h2)
            residuals.append(Residual(f"moments about the {other} lug", turning - load * d2, size))
            off = answers["shares"][key] - pull * h
            residuals.append(Residual(f"share {key}", off, load))
            off = answers["horizontal"] - pull * d
            residuals.append(
                Residual(f"level pull {key}", off, load + ar.size(answers["horizontal"]))
            )
        return residuals

    def figure(self, given: TwoLegBridle, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        (d1, h1), (d2, h2) = _two_legs(given, ar).values()
        lugs = {"left": (-d1, -h1), "right": (d2, -h2)}
        parts: list[Primitive] = [Stroke((0.0, 0.0), lug, key) for key, lug in lugs.items()]
        parts.append(Stroke(lugs["left"], lugs["right"], "load"))
        parts.append(Arrow((0.0, -max(h1, h2)), (0.0, -ar.bring(given.load)), "W"))
        for key, lug in lugs.items():
            tension = answers["tensions"][key]
            if not isinstance(tension, NoAnswer):
                pull = scaled(-tension / answers["lengths"][key], lug)
                parts.append(Arrow(lug, pull, f"T {key}", "answer"))
        return Drawing(tuple(parts), "Hook over the weight, two legs to the lugs, to scale")

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> TwoLegBridle:
        """Weight nearly under one lug, so that the other leg is nearly idle."""
        spread = log_uniform(rng, kappa)
        digits = figures_for(kappa[1])
        reach = rng.uniform(1, 9)
        return TwoLegBridle(
            fmpq(rng.randint(100, 99999)),
            decimal(reach, digits),
            max(decimal(reach / spread, digits), fmpq(1, 10**digits)),
            decimal(rng.uniform(1, 9), 2),
            decimal(rng.uniform(1, 9), 2),
        )


def _two_legs(given: TwoLegBridle, ar: Arithmetic) -> dict[str, Numbers]:
    """Reach and height of each leg."""
    return {
        "left": brought((given.left_reach, given.left_height), ar),
        "right": brought((given.right_reach, given.right_height), ar),
    }
