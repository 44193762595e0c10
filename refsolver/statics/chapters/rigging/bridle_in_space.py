"""A bridle of three legs or more in space.

Source of the method: equilibrium of a particle and of a rigid body held by three cables,
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
from refsolver.quantities.dimensions import ANGLE, FORCE
from refsolver.quantities.kinds import ChoiceKind, NoAnswer, ScalarKind, TableKind, Value
from refsolver.statics import cautions
from refsolver.statics.bodies.equilibrium import equilibrium
from refsolver.statics.bodies.free_body import Action, Body, Unknown
from refsolver.statics.bodies.supports import CONSTRAINTS, constraint_of
from refsolver.statics.contract import (
    Answer,
    Family,
    Mistake,
    Residual,
    Solution,
    choice,
    many,
    point,
    quantity,
    text,
)
from refsolver.statics.drawing import Arrow, Drawing, Mark, Primitive, Stroke
from refsolver.statics.naming import distinct_names, keys_of
from refsolver.statics.random_givens import decimal, figures_for, log_uniform
from refsolver.statics.registry import register
from refsolver.statics.residuals import of_inclination
from refsolver.statics.sheets import number_sheet
from refsolver.statics.vectors import Numbers, added, brought, cross, length, minus, scaled

__all__ = ["BridleInSpace", "Leg", "SpaceBridle"]


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
        hook, load = brought(given.hook, ar), ar.bring(given.load)
        lugs = dict(
            zip(
                keys_of(given.legs, "leg"),
                (brought(leg.lug, ar) for leg in given.legs),
                strict=True,
            )
        )
        zero, one = ar.bring(fmpq(0)), ar.bring(fmpq(1))
        residuals: list[Residual] = []
        for key, lug in lugs.items():
            run = minus(hook, lug)
            level = ar.sqrt(run[0] * run[0] + run[1] * run[1])
            residuals += of_inclination(key, answers["angles"][key], (level, run[2]), ar)
        if any(isinstance(t, NoAnswer) for t in tensions.values()):
            return residuals
        word = "determinate" if len(tensions) == 3 else "partially constrained"
        off = zero if answers["constraint"].word == word else one
        residuals.append(Residual("legs that carry", off, one))
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
        spread = log_uniform(rng, kappa)
        digits = figures_for(kappa[1])
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
