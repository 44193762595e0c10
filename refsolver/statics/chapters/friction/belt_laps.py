"""A belt round two pulleys: its angles of contact and its length.

Source of the method, from memory: A. K. Tayal, "Engineering Mechanics", chapter 7 (open and
crossed belts); the same geometry stands in every text on belt drives.
"""

from __future__ import annotations

import math
import random
from collections.abc import Mapping, Sequence
from types import SimpleNamespace

import attrs

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.exact import Exact
from refsolver.quantities.dimensions import ANGLE, LENGTH
from refsolver.quantities.kinds import NoAnswer, ScalarKind, Value
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
from refsolver.statics.drawing import Drawing, Primitive, Stroke, drawn_circle
from refsolver.statics.limits import exceeds
from refsolver.statics.random_givens import decimal, figures_for, gap_for
from refsolver.statics.registry import register
from refsolver.statics.sheets import number_sheet

__all__ = ["BeltLaps", "TwoPulleys"]


@attrs.frozen
class TwoPulleys:
    larger: Exact = quantity(LENGTH, "radius of the larger pulley", sign="positive")
    smaller: Exact = quantity(LENGTH, "radius of the smaller pulley", sign="positive")
    centres: Exact = quantity(LENGTH, "from axis to axis", sign="positive")
    run: str = choice(("open", "crossed"), "how the belt runs", default="open")

    def __attrs_post_init__(self) -> None:
        if exceeds(self.smaller, self.larger):
            raise ValueError("'smaller' must not exceed 'larger'")


def lean(larger: Number, smaller: Number, run: str) -> Number:
    """R - r of an open belt, R + r of a crossed one: its straight parts lean by this over C."""
    return larger - smaller if run == "open" else larger + smaller


def extra_lap(leaning: Number) -> Number:
    """What a pulley's lap differs from half a turn: the belt leans at both ends."""
    return 2 * leaning


_TOUCH = NoAnswer("no solution", "the pulleys stand too close for the belt to run between them")


@register
class BeltLaps(Family):
    name = "friction/belt-lap"
    title = "Angles of contact and length of a belt round two pulleys"
    givens = TwoPulleys
    answers = {
        "lap on the larger": Answer(ScalarKind(ANGLE), "angle of contact", ("no solution",)),
        "lap on the smaller": Answer(ScalarKind(ANGLE), "angle of contact", ("no solution",)),
        "lean": Answer(
            ScalarKind(ANGLE), "of the straight parts against the line of centres",
            ("no solution",),
        ),
        "straight part": Answer(ScalarKind(LENGTH), "of the belt, each", ("no solution",)),
        "length": Answer(ScalarKind(LENGTH), "of the belt", ("no solution",)),
    }  # fmt: skip
    rules = {"lean": lean, "extra_lap": extra_lap}
    mistakes = (
        Mistake(
            "lean counted once",
            "half a turn is changed by the lean and not by twice the lean",
            rules={"extra_lap": lambda leaning: leaning},
        ),
        Mistake(
            "crossed taken as open",
            "the difference of the radii is used for a crossed belt, and the other way about",
            rules={
                "lean": lambda larger, smaller, run: (
                    larger + smaller if run == "open" else larger - smaller
                )
            },
        ),
        Mistake(
            "laps exchanged",
            "the larger angle of contact is given to the smaller pulley",
            answers=lambda given, answers, ar: {
                **answers,
                "lap on the larger": answers["lap on the smaller"],
                "lap on the smaller": answers["lap on the larger"],
            },
        ),
        Mistake(
            "centres for the straight part",
            "the straight part is taken as long as the distance of the axes",
            answers=lambda given, answers, ar: (
                None
                if isinstance(answers["length"], NoAnswer)
                else {
                    **answers,
                    "straight part": ar.bring(given.centres),
                    "length": answers["length"]
                    + 2 * (ar.bring(given.centres) - answers["straight part"]),
                }
            ),
        ),
    )
    method = (
        "sin(a) = (R - r)/C open, (R + r)/C crossed; laps pi + 2 a and pi - 2 a open, both "
        "pi + 2 a crossed; length 2 C cos(a) and both radii times their laps"
    )
    second_method = "cosine of half each lap, and the right triangle of lean and straight part"
    caution = cautions.ROPES_BY_WRAPS

    def solve(self, given: TwoPulleys, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        large, small, apart = (ar.bring(x) for x in (given.larger, given.smaller, given.centres))
        across = rules.lean(large, small, given.run)
        if ar.sign(apart - across, "distance of the axes against the lean") <= 0:
            return Solution(dict.fromkeys(self.answers, _TOUCH))
        straight = ar.sqrt((apart - across) * (apart + across))
        leaning = ar.atan2(across, straight, "lean")
        more = rules.extra_lap(leaning)
        on_large = ar.pi() + more
        on_small = ar.pi() - more if given.run == "open" else on_large
        length = 2 * straight + large * on_large + small * on_small
        answers: dict[str, Value] = {
            "lap on the larger": on_large,
            "lap on the smaller": on_small,
            "lean": leaning,
            "straight part": straight,
            "length": length,
        }
        lengths = {
            "straight part": straight,
            "on the larger": large * on_large,
            "on the smaller": small * on_small,
            "belt": length,
        }
        return Solution(answers, (number_sheet("Lengths", lengths, self.method, LENGTH),))

    def check(
        self, given: TwoPulleys, answers: Mapping[str, Value], ar: Arithmetic
    ) -> Sequence[Residual]:
        straight = answers["straight part"]
        if isinstance(straight, NoAnswer):
            return []
        large, small, apart = (ar.bring(x) for x in (given.larger, given.smaller, given.centres))
        across = large - small if given.run == "open" else large + small
        first, second = answers["lap on the larger"], answers["lap on the smaller"]
        size = apart + large + small
        towards = 1 if given.run == "open" else -1
        ends = answers["length"] - large * first - small * second
        return [
            Residual("half lap of the larger", apart * ar.cos(first / 2) + across, size),
            Residual(
                "half lap of the smaller", apart * ar.cos(second / 2) - towards * across, size
            ),
            Residual(
                "right triangle", straight * straight + across * across - apart * apart, size * size
            ),
            Residual("lean", apart * ar.sin(answers["lean"]) - across, size),
            Residual("straight parts", ends * ends - 4 * straight * straight, size * size),
        ]

    def figure(self, given: TwoPulleys, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        large, small, apart = (ar.bring(x) for x in (given.larger, given.smaller, given.centres))
        parts: list[Primitive] = []
        for x, radius, label in ((0.0, large, "larger"), (apart, small, "smaller")):
            parts.append(drawn_circle((x, 0.0), radius, label))
        leaning = answers["lean"]
        if not isinstance(leaning, NoAnswer):
            c, s = math.cos(leaning), math.sin(leaning)
            far = small if given.run == "open" else -small
            for sense in (1, -1):
                start = (large * s, sense * large * c)
                end = (apart + far * s, sense * far * c)
                parts.append(Stroke(start, end, "belt" if sense > 0 else "", "answer"))
        return Drawing(tuple(parts), "two pulleys and the straight parts of their belt, to scale")

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> TwoPulleys:
        """Axes that lie by about 1/kappa farther apart than they must: short straight parts."""
        gap = gap_for(rng, kappa, 0.55, 3.0)
        places = 2 + figures_for(kappa[1])
        small, run = rng.uniform(5, 30), rng.choice(("open", "crossed"))
        large = small * rng.uniform(1.5, 4)
        apart = (large - small if run == "open" else large + small) * (1 + gap)
        return TwoPulleys(
            decimal(large, places), decimal(small, places), decimal(apart, places), run
        )
