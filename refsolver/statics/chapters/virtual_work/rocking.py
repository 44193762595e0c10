"""A body balanced on a curved surface: does it rock back or roll away?

Source of the method: R. C. Hibbeler, "Engineering Mechanics: Statics", section 11.7
(stability of equilibrium), and any text for two rounded bodies, 1/h > 1/r + 1/R; from
memory.
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
from refsolver.arithmetic.exact import Exact
from refsolver.quantities.dimensions import FORCE, LENGTH, MOMENT
from refsolver.quantities.kinds import Choice, ChoiceKind, NoAnswer, ScalarKind, Value
from refsolver.statics import cautions
from refsolver.statics.contract import (
    Answer,
    Family,
    Mistake,
    Residual,
    Solution,
    choice,
    quantity,
)
from refsolver.statics.drawing import Curve, Drawing, Mark, Primitive
from refsolver.statics.random_givens import decimal, log_uniform
from refsolver.statics.registry import register
from refsolver.statics.residuals import of_sign
from refsolver.statics.sheets import number_sheet

__all__ = ["RockingBody", "RockingStability"]

_WORDS = ("stable", "unstable", "neutral")


@attrs.frozen
class RockingBody:
    height: Exact = quantity(
        LENGTH, "of the centre of gravity above the point of contact", sign="positive"
    )
    body_radius: Exact | None = quantity(
        LENGTH, "of the body's rounded bottom; none where it is flat", sign="positive", default=None
    )
    support_radius: Exact | None = quantity(
        LENGTH, "of the surface it stands on; none where that is flat", sign="positive",
        default=None,
    )  # fmt: skip
    support: str = choice(("convex", "hollow"), "how that surface is curved", default="convex")
    weight: Exact | None = quantity(FORCE, "of the body", sign="positive", default=None)

    def __attrs_post_init__(self) -> None:
        if self.body_radius is None and self.support_radius is None:
            raise ValueError("flat on flat does not roll: state 'body_radius' or 'support_radius'")
        if self.support == "hollow" and (self.support_radius is None or self.body_radius is None):
            raise ValueError("a hollow support needs 'support_radius' and 'body_radius'")


# --- rules --------------------------------------------------------------------------------


def critical_height(body: Number | None, support: Number | None, hollow: bool) -> Number:
    """1 / (1/r + 1/R), R negative for a hollow; r or R alone where the other is flat."""
    if body is None or support is None:
        return support if body is None else body
    return body * support / (support - body if hollow else support + body)


def _support_taken_flat(body: Number | None, support: Number | None, hollow: bool) -> Number:
    return support if body is None else body


def _hollow_taken_convex(body: Number | None, support: Number | None, hollow: bool) -> Number:
    return critical_height(body, support, False)


def _radii_added(body: Number | None, support: Number | None, hollow: bool) -> Number:
    if body is None or support is None:
        return critical_height(body, support, hollow)
    return body + support


def _doubled(given: RockingBody) -> RockingBody | None:
    radii = {
        name: getattr(given, name) * 2
        for name in ("body_radius", "support_radius")
        if isinstance(getattr(given, name), fmpq)
    }
    return attrs.evolve(given, **radii) if radii else None


_TOO_SMALL = NoAnswer("no solution", "a body does not roll in a hollow of its own radius or less")
_NO_WEIGHT = NoAnswer("not defined", "no weight is stated")


@register
class RockingStability(Family):
    name = "virtual-work/rocking"
    title = "A body balanced on a curved surface: stable or not"
    givens = RockingBody
    answers = {
        "critical": Answer(
            ScalarKind(LENGTH),
            "height of the centre of gravity at which stability is lost",
            ("no solution",),
        ),
        "margin": Answer(
            ScalarKind(LENGTH), "critical height less height; negative: unstable", ("no solution",)
        ),
        "stability": Answer(
            ChoiceKind(_WORDS),
            "by the second derivative of the potential energy; neutral where it is zero, so that "
            "higher derivatives decide",
            ("no solution",),
        ),
        "stiffness": Answer(
            ScalarKind(MOMENT),
            "righting moment for each radian of small rocking; negative: it tips further",
            ("no solution", "not defined"),
        ),
    }
    rules = {"critical_height": critical_height}
    mistakes = (
        Mistake("support taken flat", "the curvature of one of the two surfaces is forgotten",
                rules={"critical_height": _support_taken_flat}),
        Mistake("hollow taken for a hump", "the curvature of a hollow is added, not subtracted",
                rules={"critical_height": _hollow_taken_convex}),
        Mistake("radii added", "the sum of the radii is taken for the critical height",
                rules={"critical_height": _radii_added}),
        Mistake("diameter for radius", "diameters are put in as radii",
                givens=_doubled),
    )  # fmt: skip
    method = (
        "critical height = 1 / (1/r + 1/R), R negative for a hollow; V'' = W (critical - height) "
        "for the rotation of the body"
    )
    second_method = (
        "the curvatures of body and support add to 1 / critical; righting moment over weight is "
        "1 / (sum of the curvatures) - h"
    )
    caution = cautions.ROCKING

    def solve(self, given: Any, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        height = ar.bring(given.height)
        radii: list[Number | None] = [
            None if x is None else ar.bring(x) for x in (given.body_radius, given.support_radius)
        ]
        body, support = radii
        hollow = given.support == "hollow"
        if hollow and body is not None and support is not None:
            room = ar.sign(support - body, "hollow larger than the body")
            if room <= 0:
                return Solution(dict.fromkeys(self.answers, _TOO_SMALL))
        critical = rules.critical_height(body, support, hollow)
        margin = critical - height
        sign = ar.sign(margin, "critical height less height")
        word = _WORDS[0 if sign > 0 else 1 if sign < 0 else 2]
        stiffness = _NO_WEIGHT if given.weight is None else ar.bring(given.weight) * margin
        answers: dict[str, Value] = {
            "critical": critical,
            "margin": margin,
            "stability": Choice(word, {"margin": margin}),
            "stiffness": stiffness,
        }
        rows = {"critical": critical, "height": height, "margin": margin}
        return Solution(answers, (number_sheet("Heights", rows, self.method, LENGTH),))

    def check(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Sequence[Residual]:
        if isinstance(answers["critical"], NoAnswer):
            return []
        height, critical = ar.bring(given.height), answers["critical"]
        one = height / height
        curved = [
            0 * one if x is None else one / ar.bring(x)
            for x in (given.body_radius, given.support_radius)
        ]
        total = curved[0] - curved[1] if given.support == "hollow" else curved[0] + curved[1]
        residuals = [
            Residual("sum of the curvatures", total * critical - one, one),
            Residual("margin", answers["margin"] + height - critical, height + critical),
        ]
        sign = {"stable": 1, "neutral": 0, "unstable": -1}[answers["stability"].word]
        size = one + ar.size(height * total)
        residuals.append(of_sign("righting arm", sign, one - height * total, size, ar))
        if not isinstance(answers["stiffness"], NoAnswer):
            weight = ar.bring(given.weight)
            off = answers["stiffness"] * total - weight * (one - height * total)
            residuals.append(Residual("righting moment", off, weight * (one + height * total)))
        return residuals

    def figure(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        height = ar.bring(given.height)
        reach = height
        parts: list[Primitive] = [Mark((0.0, 0.0), "contact"), Mark((0.0, height), "G")]
        sense = 1 if given.support == "hollow" else -1
        for radius, up, label in (
            (given.body_radius, 1, "body"),
            (given.support_radius, sense, "support"),
        ):
            if radius is None:
                parts.append(Curve(((-reach, 0.0), (reach, 0.0)), label))
                continue
            r = ar.bring(radius)
            turns = [math.pi * (i - 20) / 40 for i in range(41)]
            points = tuple((r * math.sin(a), up * r * (1 - math.cos(a))) for a in turns)
            parts.append(Curve(points, label))
        return Drawing(tuple(parts), "body, support and centre of gravity, upright, to scale")

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> RockingBody:
        """A height within about 1/kappa of the critical one."""
        spread = log_uniform(rng, kappa)
        places = 4 + max(0, math.ceil(math.log10(kappa[1])))
        body, support = rng.uniform(0.1, 2), rng.uniform(2.1, 9)
        kind = rng.choice(("convex", "hollow", "flat body", "flat support"))
        bent = {"flat body": 1 / support, "flat support": 1 / body,
                "hollow": 1 / body - 1 / support}.get(kind, 1 / body + 1 / support)  # fmt: skip
        return RockingBody(
            decimal((1 + rng.choice((-1, 1)) * 0.5 / spread) / bent, places),
            None if kind == "flat body" else decimal(body, 12 + places),
            None if kind == "flat support" else decimal(support, 12 + places),
            "hollow" if kind == "hollow" else "convex",
            decimal(rng.uniform(1, 900), 1),
        )
