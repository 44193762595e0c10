"""Dry journal bearings: friction circle, torque, force at a lever, power.

The reaction of a journal about to turn touches the friction circle of radius r sin(phi),
tan(phi) = mu. For small coefficients the trade takes mu r instead; both are answered.
Sources of the method: D. W. Baker and W. Haynes, "Engineering Statics: Open and
Interactive", chapter 9 (journal bearings); R. S. Khurmi and J. K. Gupta, "Theory of
Machines", chapter 10 (mu W r), from memory.
"""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from types import SimpleNamespace

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic
from refsolver.arithmetic.exact import Exact
from refsolver.quantities.dimensions import ANGULAR_SPEED, FORCE, LENGTH, MOMENT, NUMBER, POWER
from refsolver.quantities.kinds import NoAnswer, ScalarKind, Value
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
    quantity,
)
from refsolver.statics.drawing import Arrow, Drawing, Primitive, drawn_circle
from refsolver.statics.random_givens import decimal
from refsolver.statics.registry import register
from refsolver.statics.sheets import number_sheet

__all__ = ["Journal", "JournalBearing"]


@attrs.frozen
class Journal:
    load: Exact = quantity(FORCE, "of the journal on its bearing", sign="positive")
    radius: Exact = quantity(LENGTH, "of the journal", sign="positive")
    friction: Exact = quantity(NUMBER, "coefficient of friction", sign="not negative")
    lever: Exact | None = quantity(
        LENGTH, "radius at which a force turns it, itself no load", sign="positive", default=None
    )
    speed: Exact | None = quantity(ANGULAR_SPEED, "of rotation", sign="positive", default=None)


_NO_LEVER = NoAnswer("not defined", "no lever is stated")
_NO_SPEED = NoAnswer("not defined", "no speed is stated")
_EXACT, _SMALL = "by the friction circle", "by mu r"


@register
class JournalBearing(Family):
    name = "friction/journal-bearing"
    title = "Friction torque of a dry journal bearing"
    givens = Journal
    reach = (1.0, 5.0)
    reach_because = "products, and the root of a sum of squares"
    answers = {
        "friction circle": Answer(ScalarKind(LENGTH), "its radius, r sin(phi)"),
        **{
            f"torque, {way}": Answer(ScalarKind(MOMENT), f"that turns it, {way}")
            for way in (_EXACT, _SMALL)
        },
        **{
            f"force, {way}": Answer(ScalarKind(FORCE), f"at the lever, {way}", ("not defined",))
            for way in (_EXACT, _SMALL)
        },
        **{
            f"power, {way}": Answer(ScalarKind(POWER), f"lost to friction, {way}", ("not defined",))
            for way in (_EXACT, _SMALL)
        },
        "normal force": Answer(ScalarKind(FORCE), "where the journal touches, R cos(phi)"),
        "friction": Answer(ScalarKind(FORCE), "where the journal touches, R sin(phi)"),
    }
    rules = {
        "sine_of_friction_angle": sine_of_friction_angle,
        "friction_radius": friction_radius,
    }
    mistakes = (
        Mistake(
            "coefficient for the sine",
            "the friction circle is given the radius mu r",
            rules={"sine_of_friction_angle": lambda friction, ar: friction},
        ),
        Mistake(
            "diameter for radius",
            "the diameter of the journal is used for its radius",
            rules={"friction_radius": lambda radius, sine: 2 * radius * sine},
        ),
        Mistake(
            "load taken as the normal force",
            "friction is mu R and the normal force the whole load",
            answers=lambda given, answers, ar: {
                **answers,
                "normal force": ar.bring(given.load),
                "friction": ar.bring(given.load) * ar.bring(given.friction),
            },
        ),
    )
    method = "T = R r sin(phi), tan(phi) = mu; for small mu T = mu R r; power = T w"
    second_method = "N and mu N at the point of contact balance R and turn with the arm r"
    caution = cautions.JOURNALS

    def solve(self, given: Journal, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        load, radius, mu = (ar.bring(x) for x in (given.load, given.radius, given.friction))
        sine = rules.sine_of_friction_angle(mu, ar)
        circle = rules.friction_radius(radius, sine)
        answers: dict[str, Value] = {
            "friction circle": circle,
            "normal force": load / ar.sqrt(1 + mu * mu),
            "friction": load * sine,
        }
        for way, arm in ((_EXACT, circle), (_SMALL, rules.friction_radius(radius, mu))):
            torque = load * arm
            answers[f"torque, {way}"] = torque
            answers[f"force, {way}"] = (
                _NO_LEVER if given.lever is None else torque / ar.bring(given.lever)
            )
            answers[f"power, {way}"] = (
                _NO_SPEED if given.speed is None else torque * ar.bring(given.speed)
            )
        radii = {"journal": radius, "friction circle": circle}
        return Solution(answers, (number_sheet("Radii", radii, self.method, LENGTH),))

    def check(
        self, given: Journal, answers: Mapping[str, Value], ar: Arithmetic
    ) -> Sequence[Residual]:
        load, radius, mu = (ar.bring(x) for x in (given.load, given.radius, given.friction))
        normal, friction = answers["normal force"], answers["friction"]
        exact, small = answers[f"torque, {_EXACT}"], answers[f"torque, {_SMALL}"]
        turn = (load + normal) * radius * (1 + mu)
        residuals = [
            Residual("limiting friction", friction - mu * normal, load * (1 + mu)),
            Residual("reaction", normal * normal + friction * friction - load * load, load * load),
            Residual("moment at the contact", exact - friction * radius, turn),
            Residual("circle", answers["friction circle"] * load - exact, turn),
            Residual("by mu r", small - mu * load * radius, turn),
        ]
        for way, torque in ((_EXACT, exact), (_SMALL, small)):
            if given.lever is not None:
                off = answers[f"force, {way}"] * ar.bring(given.lever) - torque
                residuals.append(Residual(f"lever, {way}", off, turn))
            if given.speed is not None:
                off = answers[f"power, {way}"] / ar.bring(given.speed) - torque
                residuals.append(Residual(f"power, {way}", off, turn))
        return residuals

    def figure(self, given: Journal, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        radius, circle = ar.bring(given.radius), answers["friction circle"]
        load = ar.bring(given.load)
        parts: list[Primitive] = [drawn_circle((0.0, 0.0), radius, "journal")]
        if circle > 0:
            parts.append(drawn_circle((0.0, 0.0), circle, "friction circle"))
        parts.append(Arrow((0.0, 0.0), (0.0, -load), "load"))
        parts.append(Arrow((circle, 0.0), (0.0, load), "reaction", "answer"))
        return Drawing(tuple(parts), "a journal with its friction circle, to scale")

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> Journal:
        """Products and a root of a sum: the condition number stays small whatever is asked."""
        return Journal(
            fmpq(rng.randint(100, 99999)),
            decimal(rng.uniform(5, 100), 1),
            decimal(rng.uniform(0.02, 0.6), 3),
            decimal(rng.uniform(150, 600), 1),
            fmpq(rng.randint(5, 300)),
        )
