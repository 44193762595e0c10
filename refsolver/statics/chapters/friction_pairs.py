"""Two blocks that a cord, a bar or their contact holds together.

Sources of the method, from memory: R. K. Bansal, "A Textbook of Engineering Mechanics",
chapter 8; A. K. Tayal, "Engineering Mechanics", chapter 6 (two blocks on a plane, two blocks
over a pulley). Pulleys turn without friction; cords are light and run along the planes.
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
from refsolver.quantities.dimensions import ANGLE, FORCE, NUMBER
from refsolver.quantities.kinds import Choice, ChoiceKind, NoAnswer, ScalarKind, Value
from refsolver.statics.chapters.components import number_sheet
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

__all__ = ["BlocksInARow", "BlocksOverAPulley", "OverAPulley", "TwoInARow"]

_CAUTION = "Friction coefficients scatter widely: wedge, chock or tie what must not slide."


def slope_pull(weight: Number, cosine: Number, sine: Number) -> Number:
    """W sin(incline), down the plane."""
    return weight * sine


def slope_grip(weight: Number, friction: Number, cosine: Number) -> Number:
    """mu W cos(incline), the limiting friction."""
    return weight * friction * cosine


_SLOPE_MISTAKES = (
    Mistake(
        "normal taken as the weight",
        "the limiting friction is mu W, whatever the incline",
        rules={"slope_grip": lambda weight, friction, cosine: weight * friction},
    ),
    Mistake(
        "friction left out",
        "the planes are taken as smooth",
        rules={"slope_grip": lambda weight, friction, cosine: weight * 0},
    ),
)


# --- in a row on one plane ----------------------------------------------------------------


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
        *_SLOPE_MISTAKES,
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
    caution = _CAUTION

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

    def generate(self, kappa: tuple[float, float], rng: random.Random) -> TwoInARow:
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


# --- over a pulley ------------------------------------------------------------------------


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
_ALONE = NoAnswer("no solution", "the first block stays by itself: no second weight is needed")
_ANY = NoAnswer("no solution", "the second block stays by itself however heavy it is")
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
        *_SLOPE_MISTAKES,
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
    caution = _CAUTION

    def solve(self, given: OverAPulley, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        one = ar.bring(fmpq(1))
        first = _sliding(
            ar.bring(given.first), given.first_incline, given.first_friction, ar, rules
        )
        unit = _sliding(one, given.second_incline, given.second_friction, ar, rules)
        needed = ar.sign(first[0], "pull of the first block beyond its friction")
        free = ar.sign(unit[0], "pull of the second block beyond its friction")
        answers: dict[str, Value] = {
            "least second weight": first[0] / unit[1] if needed > 0 else _ALONE,
            "cord, first going down": first[0] if needed > 0 else _ALONE,
            "greatest second weight": first[1] / unit[0] if free > 0 else _ANY,
            "cord, first going up": first[1] if free > 0 else _ANY,
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

    def generate(self, kappa: tuple[float, float], rng: random.Random) -> OverAPulley:
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
