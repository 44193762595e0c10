"""Belts, bands and ropes round a drum, on the point of slipping.

Sources of the method: the capstan equation, T1 / T2 = exp(mu beta), D. W. Baker and
W. Haynes, "Engineering Statics: Open and Interactive", chapter 9 (flexible belts); in a groove
mu / sin(half the groove angle), R. C. Hibbeler, "Engineering Mechanics: Statics",
section 8.5, from memory.
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
from refsolver.quantities.dimensions import FORCE, LENGTH, MOMENT, NUMBER
from refsolver.quantities.kinds import NoAnswer, ScalarKind, Value
from refsolver.statics import cautions
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
from refsolver.statics.drawing import Arrow, Curve, Drawing, drawn_circle
from refsolver.statics.random_givens import decimal, log_uniform
from refsolver.statics.registry import register
from refsolver.statics.sheets import number_sheet

__all__ = ["Belt", "BeltTensions"]


@attrs.frozen
class Belt:
    friction: Exact = quantity(NUMBER, "coefficient of friction", sign="not negative")
    lap: Angle = angle("angle of contact, whole turns included")
    tension: Exact = quantity(FORCE, "known, or tight less slack", sign="positive")
    known: str = choice(("tight", "slack", "difference"), "what that tension is", default="tight")
    groove: Angle | None = angle("between the sides of a groove", default=None)
    radius: Exact | None = quantity(LENGTH, "of the drum", sign="positive", default=None)


def groove_friction(friction: Number, half_sine: Number) -> Number:
    """mu / sin(half the groove angle)."""
    return friction / half_sine


def lap_in_radians(lap: Angle, ar: Arithmetic) -> Number:
    """The angle of contact in radians."""
    return ar.radians(lap)


def _lies(given: Belt, ar: Arithmetic) -> bool:
    """Whether the belt lies on something: no negative lap, no groove without opening."""
    if ar.sign(ar.radians(given.lap), "angle of contact") < 0:
        return False
    if given.groove is None:
        return True
    cosine, _ = ar.cos_sin(given.groove)
    return ar.sign(1 - cosine, "opening of the groove") > 0


def _exponent(given: Belt, ar: Arithmetic, rules: SimpleNamespace) -> Number:
    friction = ar.bring(given.friction)
    if given.groove is not None:
        cosine, _ = ar.cos_sin(given.groove)
        friction = rules.groove_friction(friction, ar.sqrt((1 - cosine) / 2))
    return friction * rules.lap_in_radians(given.lap, ar)


def _tensions(given: Belt, ratio: Number, ar: Arithmetic) -> tuple[Number, Number]:
    """Tight and slack."""
    known = ar.bring(given.tension)
    if given.known == "tight":
        return known, known / ratio
    slack = known if given.known == "slack" else known / (ratio - 1)
    return slack * ratio, slack


_NO_GRIP = NoAnswer("no solution", "without grip both tensions are equal and have no difference")
_NO_CONTACT = NoAnswer("not defined", "the lap is negative, or the groove has no opening")
_NO_RADIUS = NoAnswer("not defined", "no radius is stated")


@register
class BeltTensions(Family):
    name = "friction/belt"
    title = "Tensions of a belt, band or rope on the point of slipping"
    givens = Belt
    reach = (1.0, 600.0)
    reach_because = "beyond an exponent of some 300 no double holds the tensions"
    answers = {
        "ratio": Answer(ScalarKind(NUMBER), "tight over slack tension", ("not defined",)),
        "tight": Answer(
            ScalarKind(FORCE), "tension of the tight side", ("no solution", "not defined")
        ),
        "slack": Answer(
            ScalarKind(FORCE), "tension of the slack side", ("no solution", "not defined")
        ),
        "difference": Answer(ScalarKind(FORCE), "tight less slack", ("no solution", "not defined")),
        "torque": Answer(
            ScalarKind(MOMENT), "on the drum, (tight - slack) r", ("no solution", "not defined")
        ),
    }
    rules = {"groove_friction": groove_friction, "lap_in_radians": lap_in_radians}
    mistakes = (
        Mistake(
            "degrees for radians",
            "the angle of contact enters the exponent in degrees",
            rules={"lap_in_radians": lambda lap, ar: ar.radians(lap) * 180 / ar.pi()},
        ),
        Mistake(
            "groove left out",
            "the wedging in the groove is forgotten",
            rules={"groove_friction": lambda friction, half_sine: friction},
        ),
        Mistake(
            "tight and slack exchanged",
            "the known tension is taken for the other side's",
            givens=lambda given: (
                None
                if given.known == "difference"
                else attrs.evolve(given, known="slack" if given.known == "tight" else "tight")
            ),
        ),
    )
    method = "tight / slack = exp(mu beta / sin(half groove)), torque = (tight - slack) r"
    second_method = (
        "ln of each half of the contact: the tension at mid-contact is the geometric mean, and "
        "half the exponent, as a hyperbolic tangent, gives difference over sum"
    )
    caution = cautions.ROPES_BY_WRAPS

    def solve(self, given: Belt, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        if not _lies(given, ar):
            return Solution(dict.fromkeys(self.answers, _NO_CONTACT))
        exponent = _exponent(given, ar, rules)
        ratio = ar.exp(exponent)
        answers: dict[str, Value] = {**dict.fromkeys(self.answers, _NO_GRIP), "ratio": ratio}
        if given.known == "difference" and ar.sign(exponent, "grip of the belt") <= 0:
            return Solution(answers, (number_sheet("Ratio", {"ratio": ratio}, "", NUMBER),))
        tight, slack = _tensions(given, ratio, ar)
        forces = {"tight": tight, "slack": slack, "difference": tight - slack}
        answers |= forces
        answers["torque"] = (
            _NO_RADIUS if given.radius is None else (tight - slack) * ar.bring(given.radius)
        )
        sheets = (
            number_sheet("Ratio", {"exponent": exponent, "ratio": ratio}, self.method, NUMBER),
            number_sheet("Tensions", forces, self.method),
        )
        return Solution(answers, sheets)

    def check(
        self, given: Belt, answers: Mapping[str, Value], ar: Arithmetic
    ) -> Sequence[Residual]:
        if isinstance(answers["ratio"], NoAnswer):
            return []
        half = _exponent(given, ar, self.rule_set()) / 2
        off = ar.log(answers["ratio"]) - 2 * half
        residuals = [Residual("logarithm of the ratio", off, 1 + ar.size(half))]
        tight, slack = answers["tight"], answers["slack"]
        if isinstance(tight, NoAnswer):
            return residuals
        total = tight + slack
        off = answers["difference"] * ar.cosh(half) - total * ar.sinh(half)
        residuals.append(Residual("difference over sum", off, total * ar.cosh(half)))
        off = answers["difference"] + slack - tight
        residuals.append(Residual("difference", off, total))
        known = ar.bring(given.tension)
        residuals.append(Residual("the known tension", answers[given.known] - known, total))
        if given.radius is not None:
            radius = ar.bring(given.radius)
            off = answers["torque"] + slack * radius - tight * radius
            residuals.append(Residual("moments about the axis", off, total * radius))
        return residuals

    def figure(self, given: Belt, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        lap = float(ar.radians(given.lap))
        arc = tuple((math.cos(lap * i / 60), math.sin(lap * i / 60)) for i in range(61))
        parts: list[Arrow | Curve] = [drawn_circle((0.0, 0.0), 0.96, "drum"), Curve(arc, "belt")]
        if not isinstance(answers["tight"], NoAnswer):
            end = (-math.sin(lap), math.cos(lap))
            pull = answers["tight"]
            parts.append(Arrow(arc[0], (0.0, -answers["slack"]), "slack", "answer"))
            parts.append(Arrow(arc[-1], (end[0] * pull, end[1] * pull), "tight", "answer"))
        return Drawing(tuple(parts), "a belt round a drum of radius 1, with its two tensions")

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> Belt:
        """A known difference; the slack side's condition number is about twice the exponent.

        It stays below some 600: beyond that no double holds the tensions.
        """
        exponent = min(300.0, max(0.05, (log_uniform(rng, kappa) - 3) / 2))
        friction = min(0.5, exponent / math.pi)
        return Belt(
            decimal(friction, 4),
            Turn(decimal(exponent / friction * 180 / math.pi, 1) / 360),
            fmpq(rng.randint(10, 999)),
            "difference",
            radius=fmpq(rng.randint(1, 9)),
        )
