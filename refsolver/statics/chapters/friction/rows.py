"""Two blocks in a row on a plane, held together by a cord, a bar or their contact.

Sources of the method, from memory: R. K. Bansal, "A Textbook of Engineering Mechanics",
chapter 8; A. K. Tayal, "Engineering Mechanics", chapter 6 (two blocks on a plane). Cords are light
and run along the plane.
"""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from types import SimpleNamespace

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.exact import Angle, Exact, Turn
from refsolver.quantities.dimensions import ANGLE, FORCE, NUMBER
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
    choice,
    quantity,
)
from refsolver.statics.drawing import Arrow, Drawing, Mark, Primitive, Stroke
from refsolver.statics.random_givens import decimal, figures_for, gap_for
from refsolver.statics.registry import register
from refsolver.statics.residuals import of_sign
from refsolver.statics.sheets import number_sheet

__all__ = ["SLOPE_MISTAKES", "BlocksInARow", "TwoInARow", "slope_grip", "slope_pull"]


@attrs.frozen
class TwoInARow:
    lower: Exact = quantity(FORCE, "weight of the lower block", sign="positive")
    upper: Exact = quantity(FORCE, "weight of the upper block", sign="positive")
    lower_friction: Exact = quantity(NUMBER, "coefficient of the lower", sign="not negative")
    upper_friction: Exact = quantity(NUMBER, "coefficient of the upper", sign="not negative")
    link: str = choice(("cord", "contact", "bar"), "what joins them; a bar pulls and pushes")
    incline: Angle = angle("of the plane above the level", default=Turn(fmpq(0)))


def mean_friction(lower: Number, upper: Number, mu_lower: Number, mu_upper: Number) -> Number:
    """Tangent of the angle at which both slide: coefficients weighed by the weights."""
    return (lower * mu_lower + upper * mu_upper) / (lower + upper)


_LINK = {
    "cord": NoAnswer("not defined", "the cord goes slack: the blocks slide each by itself"),
    "contact": NoAnswer("not defined", "the blocks part: they slide each by itself"),
}
_ROW_STATES = ("holds", "on the point of slipping", "slips")


@register
class BlocksInARow(Family):
    name = "friction/blocks-in-a-row"
    title = "Two blocks in a row on a rough plane"
    givens = TwoInARow
    answers = {
        "angle of repose": Answer(
            ScalarKind(ANGLE), "incline at which both are about to slide down", ("not defined",)
        ),
        "link at repose": Answer(
            ScalarKind(FORCE), "between the blocks then, tension positive", ("not defined",)
        ),
        "state": Answer(
            ChoiceKind(_ROW_STATES), "of the two together at the incline", ("not defined",)
        ),
        "force to move up": Answer(
            ScalarKind(FORCE), "along the plane: a cord or bar pulled, blocks in contact pushed"
        ),
        "link, moving up": Answer(ScalarKind(FORCE), "between the blocks then, tension positive"),
    }
    rules = {
        "slope_pull": slope_pull,
        "slope_grip": slope_grip,
        "mean_friction": mean_friction,
    }
    mistakes = (
        *SLOPE_MISTAKES,
        Mistake(
            "plain mean of the coefficients",
            "the coefficients are averaged without the weights",
            rules={"mean_friction": lambda lower, upper, a, b: (a + b) / 2},
        ),
        Mistake(
            "lower and upper exchanged",
            "the coefficients are given to the wrong blocks",
            rules={"mean_friction": lambda lower, upper, a, b: mean_friction(lower, upper, b, a)},
        ),
    )
    method = (
        "tan(a) = (mu1 W1 + mu2 W2)/(W1 + W2); link W1 (sin a - mu1 cos a); up: sum of "
        "W (sin + mu cos), link W1 (sin + mu1 cos) pulled, -W2 (sin + mu2 cos) pushed"
    )
    second_method = "equilibrium of the upper block alone, and of both, along the plane"
    caution = cautions.SLIDING

    def solve(self, given: TwoInARow, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        lower, upper, mu1, mu2 = _row(given, ar)
        answers: dict[str, Value] = {}
        order = ar.sign(mu2 - mu1, "coefficient of the upper against the lower")
        works = given.link == "bar" or order == 0 or (order > 0) == (given.link == "cord")
        cosine, sine = ar.cos_sin(given.incline)
        if works:
            mean, one = rules.mean_friction(lower, upper, mu1, mu2), ar.bring(fmpq(1))
            answers["angle of repose"] = ar.atan2(mean, one, "angle of repose")
            answers["link at repose"] = lower * (mean - mu1) / ar.sqrt(1 + mean * mean)
            drive = sine - mean * cosine
            word = _ROW_STATES[1 + ar.sign(drive, "drive of both down the plane")]
            answers["state"] = Choice(word, {"drive": drive})
        else:
            names = ("angle of repose", "link at repose", "state")
            answers |= dict.fromkeys(names, _LINK[given.link])
        parts = [
            rules.slope_pull(weight, cosine, sine) + rules.slope_grip(weight, mu, cosine)
            for weight, mu in ((lower, mu1), (upper, mu2))
        ]
        answers["force to move up"] = parts[0] + parts[1]
        answers["link, moving up"] = -parts[1] if given.link == "contact" else parts[0]
        forces = {"lower": parts[0], "upper": parts[1]}
        return Solution(answers, (number_sheet("Each moved up", forces, self.method),))

    def check(
        self, given: TwoInARow, answers: Mapping[str, Value], ar: Arithmetic
    ) -> Sequence[Residual]:
        lower, upper, mu1, mu2 = _row(given, ar)
        cosine, sine = ar.cos_sin(given.incline)
        size = (lower + upper) * (1 + mu1 + mu2)
        pull, link = answers["force to move up"], answers["link, moving up"]
        # On the upper block: a pull at it and the cord below, or the push of the lower one.
        net = -link if given.link == "contact" else pull - link
        off = net - upper * sine - mu2 * upper * cosine
        residuals = [Residual("upper block moved up", off, size)]
        net = pull - lower * (sine + mu1 * cosine) - upper * (sine + mu2 * cosine)
        residuals.append(Residual("both moved up", net, size))
        repose = answers["angle of repose"]
        if not isinstance(repose, NoAnswer):
            c, s = ar.cos(repose), ar.sin(repose)
            tension = answers["link at repose"]
            off = upper * s + tension - mu2 * upper * c
            residuals.append(Residual("upper block at repose", off, size))
            off = (lower + upper) * s - (mu1 * lower + mu2 * upper) * c
            residuals.append(Residual("both at repose", off, size))
            down = upper * (sine - mu2 * cosine) + lower * (sine - mu1 * cosine)
            sign = _ROW_STATES.index(answers["state"].word) - 1
            residuals.append(of_sign("drive of both down the plane", sign, down, size, ar))
        return residuals

    def figure(self, given: TwoInARow, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        cosine, sine = ar.cos_sin(given.incline)
        places = ((1.0 * cosine, 1.0 * sine), (3.0 * cosine, 3.0 * sine))
        parts: list[Primitive] = [
            Stroke((0.0, 0.0), (4.0 * cosine, 4.0 * sine), "plane"),
            Stroke(places[0], places[1], given.link),
            *(Mark(at, label) for at, label in zip(places, ("lower", "upper"), strict=True)),
            Arrow(places[0], (0.0, -ar.bring(given.lower)), "W1"),
            Arrow(places[1], (0.0, -ar.bring(given.upper)), "W2"),
        ]
        pull = answers["force to move up"]
        at = places[0] if given.link == "contact" else places[1]
        parts.append(Arrow(at, (pull * cosine, pull * sine), "P", "answer"))
        return Drawing(tuple(parts), "two blocks in a row on the plane, moved up")

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> TwoInARow:
        """Coefficients that differ by about 1/kappa: so small is the link's force at repose."""
        gap = gap_for(rng, kappa, 1.8)
        places = 2 + figures_for(kappa[1])
        low = rng.uniform(0.2, 0.4)
        return TwoInARow(
            fmpq(rng.randint(50, 900)),
            fmpq(rng.randint(50, 900)),
            decimal(low, places),
            decimal(low * (1 + gap), places),
            rng.choice(("cord", "bar")),
            Turn(fmpq(rng.randint(5, 40), 360)),
        )


def _row(given: TwoInARow, ar: Arithmetic) -> tuple[Number, Number, Number, Number]:
    return (
        ar.bring(given.lower),
        ar.bring(given.upper),
        ar.bring(given.lower_friction),
        ar.bring(given.upper_friction),
    )
