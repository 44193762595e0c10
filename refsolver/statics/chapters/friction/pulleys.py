"""Two blocks on two planes, joined by a cord over a pulley.

Sources of the method, from memory: R. K. Bansal, "A Textbook of Engineering Mechanics",
chapter 8; A. K. Tayal, "Engineering Mechanics", chapter 6 (two blocks over a pulley). The pulley
turns without friction; the cord is light and runs along the planes.
"""

from __future__ import annotations

import math
import random
from collections.abc import Mapping, Sequence
from types import SimpleNamespace

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.exact import Angle, Exact, Turn
from refsolver.quantities.dimensions import FORCE, NUMBER
from refsolver.quantities.kinds import Choice, ChoiceKind, NoAnswer, ScalarKind, Value
from refsolver.statics import cautions
from refsolver.statics.chapters.friction.slopes import SLOPE_MISTAKES, slope_grip, slope_pull
from refsolver.statics.contract import (
    Answer,
    Family,
    Mistake,
    Residual,
    Solution,
    angle,
    quantity,
)
from refsolver.statics.drawing import Arrow, Drawing, Mark, Primitive, Stroke
from refsolver.statics.random_givens import decimal, figures_for, gap_for
from refsolver.statics.registry import register
from refsolver.statics.residuals import of_sign
from refsolver.statics.sheets import number_sheet

__all__ = ["BlocksOverAPulley", "OverAPulley"]


@attrs.frozen
class OverAPulley:
    first: Exact = quantity(FORCE, "weight of the first block", sign="positive")
    first_incline: Angle = angle("of its plane, rising to the pulley")
    first_friction: Exact = quantity(NUMBER, "its coefficient", sign="not negative")
    second: Exact | None = quantity(
        FORCE, "weight of the second block; none where it is asked", sign="positive", default=None
    )
    second_incline: Angle = angle(
        "of its plane, rising to the pulley; a right angle: it hangs", default=Turn(fmpq(1, 4))
    )
    second_friction: Exact = quantity(
        NUMBER, "its coefficient; of no account where it hangs", sign="not negative",
        default=fmpq(0),
    )  # fmt: skip


_PULLEY_STATES = (
    "first goes down",
    "on the point of first going down",
    "holds",
    "on the point of first going up",
    "first goes up",
    "on the point of either way",
)
_BEYOND: Mapping[str, Mapping[str, int | None]] = {
    "first goes down": {"least": -1, "greatest": None},
    "on the point of first going down": {"least": 0, "greatest": None},
    "holds": {"least": 1, "greatest": -1},
    "on the point of first going up": {"least": None, "greatest": 0},
    "first goes up": {"least": None, "greatest": 1},
    "on the point of either way": {"least": 0, "greatest": 0},
}
"""Signs of the second weight beyond the least, and the greatest, that holds."""
_ALONE = NoAnswer("no solution", "the first block stays by itself: no second weight is needed")
_ANY = NoAnswer("no solution", "the second block stays by itself however heavy it is")
_SLACK = NoAnswer("no solution", "the first block goes to the pulley by itself: the cord is slack")
_IDLE = NoAnswer("no solution", "the second block does not pull at the cord however heavy it is")
_NO_SECOND = NoAnswer("not defined", "no second weight is stated")


@register
class BlocksOverAPulley(Family):
    name = "friction/blocks-over-a-pulley"
    title = "Two blocks on two planes joined over a pulley"
    givens = OverAPulley
    answers = {
        "least second weight": Answer(
            ScalarKind(FORCE), "the first block about to go down", ("no solution",)
        ),
        "greatest second weight": Answer(
            ScalarKind(FORCE), "the first block about to go up", ("no solution",)
        ),
        "cord, first going down": Answer(
            ScalarKind(FORCE), "tension at the least second weight", ("no solution",)
        ),
        "cord, first going up": Answer(
            ScalarKind(FORCE), "tension at the greatest second weight", ("no solution",)
        ),
        "state": Answer(
            ChoiceKind(_PULLEY_STATES), "with the second weight stated", ("not defined",)
        ),
    }
    rules = {"slope_pull": slope_pull, "slope_grip": slope_grip}
    mistakes = (
        *SLOPE_MISTAKES,
        Mistake(
            "sine and cosine exchanged",
            "the part of the weight along the plane is taken by the cosine",
            rules={"slope_pull": lambda weight, cosine, sine: weight * cosine},
        ),
        Mistake(
            "one way only",
            "friction is taken to hold the first block back both ways",
            answers=lambda given, answers, ar: {
                **answers,
                "least second weight": answers["greatest second weight"],
                "cord, first going down": answers["cord, first going up"],
            },
        ),
    )
    method = (
        "least: W2 (sin b + mu2 cos b) = W1 (sin a - mu1 cos a); greatest: "
        "W2 (sin b - mu2 cos b) = W1 (sin a + mu1 cos a)"
    )
    second_method = "the cord's tension put on each block, with its friction at the limit"
    caution = cautions.SLIDING

    def solve(self, given: OverAPulley, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        one = ar.bring(fmpq(1))
        first = _sliding(
            ar.bring(given.first), given.first_incline, given.first_friction, ar, rules
        )
        unit = _sliding(one, given.second_incline, given.second_friction, ar, rules)
        needed = ar.sign(first[0], "pull of the first block beyond its friction")
        free = ar.sign(unit[0], "pull of the second block beyond its friction")
        holds = ar.sign(unit[1], "pull of the second block with its friction")
        none = _ALONE if needed <= 0 else None if holds > 0 else _IDLE
        stays = ar.sign(first[1], "pull of the first block with its friction") > 0
        most = _SLACK if not stays else None if free > 0 else _ANY
        answers: dict[str, Value] = {
            "least second weight": first[0] / unit[1] if none is None else none,
            "cord, first going down": first[0] if none is None else none,
            "greatest second weight": first[1] / unit[0] if most is None else most,
            "cord, first going up": first[1] if most is None else most,
            "state": _NO_SECOND,
        }
        if given.second is not None:
            second = ar.bring(given.second)
            margins = {"up": first[1] - second * unit[0], "down": second * unit[1] - first[0]}
            answers["state"] = Choice(_pulley_state(margins, ar), margins)
        forces = {"first, held": first[0], "first, drawn up": first[1]}
        return Solution(answers, (number_sheet("Cord", forces, self.method),))

    def check(
        self, given: OverAPulley, answers: Mapping[str, Value], ar: Arithmetic
    ) -> Sequence[Residual]:
        residuals = []
        weight, mu1, mu2 = (
            ar.bring(x) for x in (given.first, given.first_friction, given.second_friction)
        )
        for name, key, sense in (("least", "down", -1), ("greatest", "up", 1)):
            second, tension = answers[f"{name} second weight"], answers[f"cord, first going {key}"]
            if isinstance(second, NoAnswer):
                continue
            c1, s1 = ar.cos_sin(given.first_incline)
            c2, s2 = ar.cos_sin(given.second_incline)
            size = (weight + second) * (1 + mu1 + mu2)
            off = tension - sense * mu1 * weight * c1 - weight * s1
            residuals.append(Residual(f"first block, {name}", off, size))
            off = tension + sense * mu2 * second * c2 - second * s2
            residuals.append(Residual(f"second block, {name}", off, size))
            if given.second is not None:
                order = _BEYOND[answers["state"].word][name]
                if order is not None:
                    off = ar.bring(given.second) - second
                    residuals.append(of_sign(f"second weight and the {name}", order, off, size, ar))
        return residuals

    def figure(self, given: OverAPulley, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        c1, s1 = ar.cos_sin(given.first_incline)
        c2, s2 = ar.cos_sin(given.second_incline)
        first, second = (-3.0 * c1, -3.0 * s1), (3.0 * c2, -3.0 * s2)
        parts: list[Primitive] = [
            Stroke((0.0, 0.0), (-5.0 * c1, -5.0 * s1), "first plane"),
            Stroke((0.0, 0.0), (5.0 * c2, -5.0 * s2), "second plane"),
            Mark((0.0, 0.0), "pulley"),
            Arrow(first, (0.0, -ar.bring(given.first)), "W1"),
        ]
        for name in ("least", "greatest"):
            weight = answers[f"{name} second weight"]
            if not isinstance(weight, NoAnswer):
                parts.append(Arrow(second, (0.0, -weight), name, "answer"))
        return Drawing(tuple(parts), "two blocks on their planes, joined over the pulley")

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> OverAPulley:
        """A first plane within about 1/kappa of its angle of repose."""
        gap = gap_for(rng, kappa, 1.9)
        places = 2 + figures_for(kappa[1])
        friction = rng.uniform(0.2, 0.6)
        steep = math.atan(friction * (1 + gap))
        second = rng.choice((90.0, rng.uniform(40, 80)))
        return OverAPulley(
            fmpq(rng.randint(100, 999)),
            Turn(decimal(math.degrees(steep), places) / 360),
            decimal(friction, places),
            fmpq(rng.randint(10, 999)),
            Turn(decimal(second, 2) / 360),
            decimal(rng.uniform(0.1, 0.4), 2),
        )


def _sliding(
    weight: Number, incline: Angle, friction: Exact, ar: Arithmetic, rules: SimpleNamespace
) -> tuple[Number, Number]:
    """Tension that just holds the block, and tension that just draws it up."""
    cosine, sine = ar.cos_sin(incline)
    pull = rules.slope_pull(weight, cosine, sine)
    grip = rules.slope_grip(weight, ar.bring(friction), cosine)
    return pull - grip, pull + grip


def _pulley_state(margins: Mapping[str, Number], ar: Arithmetic) -> str:
    up = ar.sign(margins["up"], "margin against the first going up")
    down = ar.sign(margins["down"], "margin against the first going down")
    if up == 0 and down == 0:
        return _PULLEY_STATES[5]
    if up <= 0:
        return _PULLEY_STATES[3 - up]
    return _PULLEY_STATES[1 + down]
