"""A sheave whose pin rubs: pull to raise and to lower.

The reaction of the pin touches the friction circle of radius r sin(phi), tan(phi) = mu.
Sources of the method: D. W. Baker and W. Haynes, "Engineering Statics: Open and
Interactive", chapter 9 (journal bearings); R. C. Hibbeler, "Engineering Mechanics:
Statics", section 8.7, from memory.
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
from refsolver.quantities.dimensions import FORCE, LENGTH, NUMBER
from refsolver.quantities.kinds import ScalarKind, Value
from refsolver.statics import cautions
from refsolver.statics.chapters.friction.friction_circle import (
    friction_radius,
    sine_of_friction_angle,
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
from refsolver.statics.drawing import Arrow, Drawing, Primitive, drawn_circle
from refsolver.statics.limits import reaches
from refsolver.statics.random_givens import decimal, figures_for, gap_for
from refsolver.statics.registry import register
from refsolver.statics.sheets import number_sheet

__all__ = ["PinnedSheave", "SheaveOnPin"]


@attrs.frozen
class PinnedSheave:
    load: Exact = quantity(FORCE, "tension of the loaded part of the rope", sign="positive")
    radius: Exact = quantity(LENGTH, "of the sheave, to the middle of the rope", sign="positive")
    pin_radius: Exact = quantity(LENGTH, "of the pin", sign="positive")
    friction: Exact = quantity(NUMBER, "coefficient at the pin", sign="not negative")
    between: Angle = angle(
        "between the pulls of the two parts of the rope; 0: both run the same way",
        default=Turn(fmpq(0)),
    )

    def __attrs_post_init__(self) -> None:
        if reaches(self.pin_radius, self.radius):
            raise ValueError("the pin must be smaller than its sheave")


def cosine_between(cosine: Number) -> Number:
    """Of the angle between the pulls, for the reaction S^2 = T^2 + W^2 + 2 T W cos(g)."""
    return cosine


def _ratio(share: Number, cosine: Number, ar: Arithmetic) -> Number:
    """The greater root of x + 1/x = 2 (1 + k^2 cos g) / (1 - k^2).

    Its discriminant is written as a product, in which nothing positive is subtracted.
    """
    square = share * share
    root = ar.sqrt(square * (1 + cosine) * (2 - square * (1 - cosine)))
    return (1 + square * cosine + root) / (1 - square)


@register
class SheaveOnPin(Family):
    name = "friction/sheave-on-pin"
    title = "Pull over a sheave whose pin rubs"
    givens = PinnedSheave
    answers = {
        "friction circle": Answer(ScalarKind(LENGTH), "its radius, r sin(phi)"),
        "pull to raise": Answer(ScalarKind(FORCE), "the loaded part about to move away"),
        "pull to lower": Answer(ScalarKind(FORCE), "the loaded part about to come back"),
        "reaction, raising": Answer(ScalarKind(FORCE), "of the pin, without the sheave's weight"),
        "reaction, lowering": Answer(ScalarKind(FORCE), "of the pin, without the sheave's weight"),
        "efficiency": Answer(ScalarKind(NUMBER), "load over the pull that raises it"),
    }
    rules = {
        "sine_of_friction_angle": sine_of_friction_angle,
        "friction_radius": friction_radius,
        "cosine_between": cosine_between,
    }
    mistakes = (
        Mistake(
            "coefficient for the sine",
            "the friction circle is given the radius mu r",
            rules={"sine_of_friction_angle": lambda friction, ar: friction},
        ),
        Mistake(
            "parts taken as parallel",
            "the angle between the parts of the rope is forgotten",
            rules={"cosine_between": lambda cosine: cosine * 0 + 1},
        ),
        Mistake(
            "raising for lowering",
            "both ways are given the greater pull",
            answers=lambda given, answers, ar: {
                **answers,
                "pull to lower": answers["pull to raise"],
            },
        ),
    )
    method = (
        "(T - W) R = r_f S with S^2 = T^2 + W^2 + 2 T W cos(g), r_f = r sin(phi); both pulls are "
        "roots of one equation and their product is W^2"
    )
    second_method = "moments about the pin's axis against the reaction on the friction circle"
    caution = cautions.SHEAVES

    def solve(self, given: PinnedSheave, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        sine = rules.sine_of_friction_angle(ar.bring(given.friction), ar)
        circle = rules.friction_radius(ar.bring(given.pin_radius), sine)
        share = circle / ar.bring(given.radius)
        cosine, _ = ar.cos_sin(given.between)
        cosine = rules.cosine_between(cosine)
        ratio = _ratio(share, cosine, ar)
        load = ar.bring(given.load)
        pulls = {"raising": load * ratio, "lowering": load / ratio}
        reactions = {
            f"reaction, {way}": ar.sqrt(pull * pull + load * load + 2 * pull * load * cosine)
            for way, pull in pulls.items()
        }
        answers: dict[str, Value] = {
            "friction circle": circle,
            "pull to raise": pulls["raising"],
            "pull to lower": pulls["lowering"],
            **reactions,
            "efficiency": 1 / ratio,
        }
        return Solution(answers, (number_sheet("Pulls", {**pulls, **reactions}, self.method),))

    def check(
        self, given: PinnedSheave, answers: Mapping[str, Value], ar: Arithmetic
    ) -> Sequence[Residual]:
        load, radius, mu = (ar.bring(x) for x in (given.load, given.radius, given.friction))
        cosine, sine = ar.cos_sin(given.between)
        pin, circle = ar.bring(given.pin_radius), answers["friction circle"]
        off = circle * circle * (1 + mu * mu) - mu * mu * pin * pin
        residuals = [Residual("friction circle", off, pin * pin * (1 + mu * mu))]
        for way, name, sense in (("raising", "raise", 1), ("lowering", "lower", -1)):
            pull, reaction = answers[f"pull to {name}"], answers[f"reaction, {way}"]
            size = (pull + load) * radius
            off = sense * (pull - load) * radius - circle * reaction
            residuals.append(Residual(f"moments about the pin, {way}", off, size))
            # Head to tail: the parts along and across the loaded part close the triangle.
            along, across = load + pull * cosine, pull * sine
            off = along * along + across * across - reaction * reaction
            residuals.append(Residual(f"reaction, {way}", off, (pull + load) * (pull + load)))
        off = answers["efficiency"] * answers["pull to raise"] - load
        residuals.append(Residual("efficiency", off, load))
        return residuals

    def figure(self, given: PinnedSheave, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        radius, load = ar.bring(given.radius), ar.bring(given.load)
        cosine, sine = ar.cos_sin(given.between)
        pull = answers["pull to raise"]
        parts: list[Primitive] = [
            drawn_circle((0.0, 0.0), radius, "sheave"),
            drawn_circle((0.0, 0.0), ar.bring(given.pin_radius), "pin"),
            Arrow((-radius, 0.0), (0.0, -load), "W"),
            Arrow((radius * cosine, radius * sine), (pull * sine, -pull * cosine), "T", "answer"),
        ]
        return Drawing(tuple(parts), "a sheave on its pin, the load about to rise, to scale")

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> PinnedSheave:
        """Rope parts nearly opposite: their reaction is about 1/kappa of their sum."""
        gap = gap_for(rng, kappa, 1.5, 1.0)
        places = 2 + figures_for(kappa[1])
        short = decimal(math.degrees(2 * math.asin(gap)), places)
        pin = rng.uniform(10, 40)
        return PinnedSheave(
            fmpq(rng.randint(100, 9999)),
            decimal(pin * rng.uniform(3, 10), 1),
            decimal(pin, 1),
            decimal(rng.uniform(0.05, 0.4), 3),
            Turn((180 - short) / 360),
        )
