"""Bridles of unequal legs: level load, load that hangs as it must, legs in space.

Sources of the method: equilibrium of a particle and of a rigid body held by two or three
cables, R. C. Hibbeler, "Engineering Mechanics: Statics", chapters 3 and 5, from memory;
scope and caution as in :mod:`.equal_legs`.
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
from refsolver.quantities.kinds import (
    ChoiceKind,
    NoAnswer,
    PointKind,
    ScalarKind,
    TableKind,
    Value,
)
from refsolver.statics import cautions
from refsolver.statics.bodies.equilibrium import equilibrium
from refsolver.statics.bodies.free_body import Action, Body, Unknown
from refsolver.statics.bodies.supports import CONSTRAINTS, constraint_of
from refsolver.statics.contract import (
    Answer,
    Column,
    Family,
    Mistake,
    Residual,
    Row,
    Sheet,
    Solution,
    choice,
    many,
    point,
    quantity,
    text,
)
from refsolver.statics.drawing import Arrow, Drawing, Mark, Primitive, Stroke
from refsolver.statics.naming import distinct_names, keys_of
from refsolver.statics.random_givens import decimal
from refsolver.statics.registry import register
from refsolver.statics.sheets import number_sheet
from refsolver.statics.vectors import Numbers, added, brought, cross, dot, length, minus, scaled

__all__ = [
    "BridleInSpace",
    "HangingBridle",
    "HangingLoad",
    "Leg",
    "SpaceBridle",
    "TwoLegBridle",
    "TwoLegs",
]

# --- two unequal legs under a level load --------------------------------------------------


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
        spread = math.exp(rng.uniform(*map(math.log, kappa)))
        digits = 2 + max(0, math.ceil(math.log10(kappa[1])))
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


# --- a load that hangs as it must ---------------------------------------------------------


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
        spread = math.exp(rng.uniform(*map(math.log, kappa)))
        digits = 2 + max(0, math.ceil(math.log10(kappa[1])))
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


# --- legs in space ------------------------------------------------------------------------


@attrs.frozen
class Leg:
    lug: tuple[Exact, ...] = point("where the leg is made fast to the load", space=3)
    carries: str = choice(("yes", "no"), "whether it is assumed to carry", default="yes")
    name: str = text("what it is called")


@attrs.frozen
class SpaceBridle:
    load: Exact = quantity(FORCE, "weight of the load, plumb below the hook", sign="positive")
    hook: tuple[Exact, ...] = point("the hook, z up", space=3)
    legs: tuple[Leg, ...] = many(Leg, "the legs of the bridle")
    sharing: str = text("the assumption that says which legs carry")
    sharing_source: str = text("where that assumption comes from")

    def __attrs_post_init__(self) -> None:
        distinct_names(self.legs, "leg")
        for key, leg in zip(keys_of(self.legs, "leg"), self.legs, strict=True):
            if leg.lug == self.hook:
                raise ValueError(f"{key} has no length: its lug is at the hook")


def leg_run(hook: Numbers, lug: Numbers) -> Numbers:
    """From the hook down to the lug."""
    return minus(lug, hook)


_SPACE_REFUSALS = ("redundant", "mechanism", "improper constraint", "no solution")


@register
class BridleInSpace(Family):
    name = "rigging/bridle-in-space"
    title = "Bridle of three legs or more in space"
    givens = SpaceBridle
    answers = {
        "tensions": Answer(
            TableKind(ScalarKind(FORCE), "leg"), "in each leg that carries", _SPACE_REFUSALS
        ),
        "angles": Answer(TableKind(ScalarKind(ANGLE), "leg"), "of each leg with the horizontal"),
        "constraint": Answer(
            ChoiceKind(CONSTRAINTS),
            "determinate: three legs in different planes; redundant: more legs carry than "
            "equilibrium determines",
        ),
    }
    rules = {"leg_run": leg_run}
    mistakes = (
        Mistake(
            "plan only",
            "the legs are taken as vertical",
            rules={"leg_run": lambda hook, lug: (0 * hook[0], 0 * hook[1], lug[2] - hook[2])},
        ),
    )
    method = "three equations of the hook: sum of q (lug - hook) + W upward = 0, T = q L"
    second_method = "moments of the load about every lug: weight plumb below the hook, other legs"
    caution = cautions.RIGGING

    def solve(self, given: SpaceBridle, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        carrying = [
            (leg, key)
            for leg, key in zip(given.legs, keys_of(given.legs, "leg"), strict=True)
            if leg.carries == "yes"
        ]

        def unknowns(a: Arithmetic) -> list[Unknown]:
            hook = brought(given.hook, a)
            return [
                Unknown(key, (Action("hook", rules.leg_run(hook, brought(leg.lug, a))),))
                for leg, key in carrying
            ]

        def upward(a: Arithmetic) -> list[Action]:
            zero = a.bring(fmpq(0))
            return [Action("hook", (zero, zero, a.bring(given.load)))]

        found = equilibrium([Body("hook", rigid=False)], 3, unknowns, upward, ar, of=(given, rules))
        hook = brought(given.hook, ar)
        missing = found.refusal() or self._pushing(found.values, ar)
        tensions: dict[str, Value] = {}
        angles: dict[str, Value] = {}
        for leg, key in zip(given.legs, keys_of(given.legs, "leg"), strict=True):
            run = rules.leg_run(hook, brought(leg.lug, ar))
            level = length(run[:2], ar)
            angles[key] = ar.atan2(-run[2], level, f"{key}: inclination")
            if leg.carries == "yes":
                why = missing or found.missing(key)
                tensions[key] = why or found.values[key] * length(run, ar)
        known = {key: t for key, t in tensions.items() if not isinstance(t, NoAnswer)}
        answers = {"tensions": tensions, "angles": angles, "constraint": constraint_of(found)}
        return Solution(answers, (number_sheet("Tensions", known, self.method),))

    def _pushing(self, values: Mapping[str, Number], ar: Arithmetic) -> NoAnswer | None:
        for key, q in values.items():
            if ar.sign(q, f"{key} pulls") < 0:
                return NoAnswer("no solution", f"{key} would have to push")
        return None

    def check(
        self, given: SpaceBridle, answers: Mapping[str, Value], ar: Arithmetic
    ) -> Sequence[Residual]:
        tensions = answers["tensions"]
        if any(isinstance(t, NoAnswer) for t in tensions.values()):
            return []
        hook, load = brought(given.hook, ar), ar.bring(given.load)
        lugs = dict(
            zip(
                keys_of(given.legs, "leg"),
                (brought(leg.lug, ar) for leg in given.legs),
                strict=True,
            )
        )
        zero = ar.bring(fmpq(0))
        residuals = []
        for pole, about in lugs.items():
            arm = minus(hook, about)
            totals, size = cross(arm, (zero, zero, -load)), load * _reach(arm, ar)
            for key, tension in tensions.items():
                run = minus(hook, lugs[key])
                pull = scaled(tension / length(run, ar), run)
                arm = minus(lugs[key], about)
                totals = added(totals, cross(arm, pull))
                size = size + tension * _reach(arm, ar)
            residuals += [
                Residual(f"moments about {pole} along {a}", x, size)
                for a, x in zip("xyz", totals, strict=True)
            ]
        return residuals

    def figure(self, given: SpaceBridle, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        hook = brought(given.hook, ar)
        parts: list[Primitive] = [Mark(hook, "hook")]
        for leg, key in zip(given.legs, keys_of(given.legs, "leg"), strict=True):
            lug = brought(leg.lug, ar)
            parts.append(Stroke(hook, lug, key))
            tension = answers["tensions"].get(key)
            if tension is not None and not isinstance(tension, NoAnswer):
                run = minus(hook, lug)
                parts.append(Arrow(lug, scaled(tension / length(run, ar), run), key, "answer"))
        low = min(brought(leg.lug, ar)[2] for leg in given.legs)
        parts.append(Arrow((hook[0], hook[1], low), (0.0, 0.0, -ar.bring(given.load)), "W"))
        return Drawing(tuple(parts), f"Bridle of {len(given.legs)} legs in space, to scale", 3)

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> SpaceBridle:
        """Three legs; the nearer the lugs to one line in plan, the larger the condition."""
        spread = math.exp(rng.uniform(*map(math.log, kappa)))
        digits = 2 + max(0, math.ceil(math.log10(kappa[1])))
        width = decimal(3 / spread, digits) + fmpq(1, 10**digits)
        level, row = fmpq(0), fmpq(rng.randint(1, 9))
        lugs = ((fmpq(-3), row - width, level), (fmpq(3), row - width, level),
                (level, row + width, level))  # fmt: skip
        legs = tuple(Leg(lug, name="ABC"[i]) for i, lug in enumerate(lugs))
        hook = (decimal(rng.uniform(-0.3, 0.3), 2), row, decimal(rng.uniform(2, 6), 2))
        return SpaceBridle(fmpq(rng.randint(100, 99999)), hook, legs)

    def filled(self, rows: Mapping[str, int], rng: random.Random) -> SpaceBridle | None:
        if rows.get("legs", 3) != 3:
            return None
        return self.propose((1, 10), rng)


def _reach(parts: Numbers, ar: Arithmetic) -> Number:
    return ar.size(parts[0]) + ar.size(parts[1]) + ar.size(parts[2])
