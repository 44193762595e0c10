"""Weight and coefficient of a block from two forces that just move it.

Source of the method, from memory: B. K. Sarkar, "Theory of Machines", chapter 3; R. K.
Bansal, "A Textbook of Engineering Mechanics", chapter 8 (a pull and a push that just move one
body; one body on two inclines).
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
from refsolver.quantities.kinds import NoAnswer, ScalarKind, Value
from refsolver.statics import cautions
from refsolver.statics.contract import (
    Answer,
    Family,
    Mistake,
    Residual,
    Solution,
    angle,
    quantity,
)
from refsolver.statics.drawing import Arrow, Drawing, Primitive, Stroke
from refsolver.statics.random_givens import decimal, figures_for, gap_for
from refsolver.statics.registry import register
from refsolver.statics.sheets import number_sheet

__all__ = ["TwoTrials", "WeightAndFriction"]


@attrs.frozen
class TwoTrials:
    first: Exact = quantity(FORCE, "that just moves the block up or along", sign="positive")
    second: Exact = quantity(FORCE, "that just moves it in the second trial", sign="positive")
    first_incline: Angle = angle("of the plane, rising with the force", default=Turn(fmpq(0)))
    second_incline: Angle = angle("of the plane in the second trial", default=Turn(fmpq(0)))
    first_angle: Angle = angle(
        "of the force, from along the plane toward away from it; negative: it presses",
        default=Turn(fmpq(0)),
    )
    second_angle: Angle = angle("of the force in the second trial", default=Turn(fmpq(0)))


def lifting_part(force: Number, sine: Number) -> Number:
    """P sin b: what the force takes off the normal force."""
    return force * sine


def normal_part(cosine: Number) -> Number:
    """cos a: the weight's share across the plane."""
    return cosine


_SAME = NoAnswer("no unique answer", "both trials say the same: any coefficient goes with them")
_TWO = NoAnswer("no unique answer", "two coefficients fit both trials")
_NONE = NoAnswer("no solution", "no coefficient with a positive weight fits both trials")


@register
class WeightAndFriction(Family):
    name = "friction/two-trials"
    title = "Weight and coefficient from two forces that just move a block"
    givens = TwoTrials
    answers = {
        "coefficient": Answer(
            ScalarKind(NUMBER), "of friction", ("no unique answer", "no solution")
        ),
        "weight": Answer(
            ScalarKind(FORCE), "of the block", ("no unique answer", "no solution")
        ),
        "friction angle": Answer(
            ScalarKind(ANGLE), "its tangent is the coefficient",
            ("no unique answer", "no solution"),
        ),
    }  # fmt: skip
    rules = {"lifting_part": lifting_part, "normal_part": normal_part}
    mistakes = (
        Mistake(
            "force left out of the normal",
            "the part of the force across the plane does not change the normal force",
            rules={"lifting_part": lambda force, sine: force * 0},
        ),
        Mistake(
            "push taken as a pull",
            "a force that presses is taken to lift",
            rules={"lifting_part": lambda force, sine: -force * sine},
        ),
        Mistake(
            "normal taken as the weight",
            "the incline is not counted in the normal force",
            rules={"normal_part": lambda cosine: cosine * 0 + 1},
        ),
        Mistake(
            "angle for its tangent",
            "the friction angle in radians is reported as the coefficient",
            answers=lambda given, answers, ar: {
                **answers,
                "coefficient": answers["friction angle"],
            },
        ),
    )
    method = (
        "P (cos b + mu sin b) = W (sin a + mu cos a) for both trials; W eliminated leaves one "
        "equation of second degree in mu"
    )
    second_method = "both trials with the answers, as forces along and across the plane"
    caution = cautions.TRIALS

    def solve(self, given: TwoTrials, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        found = _coefficient(*_trials(given, ar, rules), ar)
        if isinstance(found, NoAnswer):
            return Solution(dict.fromkeys(self.answers, found))
        mu, weight = found
        one = ar.bring(fmpq(1))
        answers: dict[str, Value] = {
            "coefficient": mu,
            "weight": weight,
            "friction angle": ar.atan2(mu, one, "friction angle"),
        }
        return Solution(answers, (number_sheet("Weight", {"W": weight}, self.method),))

    def check(
        self, given: TwoTrials, answers: Mapping[str, Value], ar: Arithmetic
    ) -> Sequence[Residual]:
        mu, weight = answers["coefficient"], answers["weight"]
        if isinstance(mu, NoAnswer):
            return []
        residuals = []
        for name in ("first", "second"):
            force = ar.bring(getattr(given, name))
            cosine, sine = ar.cos_sin(getattr(given, f"{name}_incline"))
            c, s = ar.cos_sin(getattr(given, f"{name}_angle"))
            normal = weight * cosine - force * s
            off = force * c - weight * sine - mu * normal
            size = (weight + force) * (1 + mu)
            residuals.append(Residual(f"along the plane, {name} trial", off, size))
        c, s = ar.cos(answers["friction angle"]), ar.sin(answers["friction angle"])
        residuals.append(Residual("friction angle", s - mu * c, 1 + mu))
        return residuals

    def figure(self, given: TwoTrials, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        parts: list[Primitive] = []
        for name, x in (("first", 0.0), ("second", 3.0)):
            cosine, sine = ar.cos_sin(getattr(given, f"{name}_incline"))
            c, s = ar.cos_sin(getattr(given, f"{name}_angle"))
            force = ar.bring(getattr(given, name))
            push = (force * (c * cosine - s * sine), force * (c * sine + s * cosine))
            parts.append(Stroke((x - cosine, -sine), (x + cosine, sine), f"{name} plane"))
            parts.append(Arrow((x, 0.0), push, "P1" if x == 0 else "P2"))
            if not isinstance(answers["weight"], NoAnswer):
                parts.append(Arrow((x, 0.0), (0.0, -answers["weight"]), "W", "answer"))
        return Drawing(tuple(parts), "a block in two trials, its weight found, to scale")

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> TwoTrials:
        """Inclines that differ little, so that the trials tell nearly the same."""
        gap = gap_for(rng, kappa, 4.0, 1.0)
        places = 2 + figures_for(kappa[1])
        weight, mu = rng.uniform(100, 999), rng.uniform(0.15, 0.5)
        inclines = [rng.uniform(5, 20)]
        inclines.append(inclines[0] + 30 * gap)
        forces = [
            weight * (math.sin(math.radians(a)) + mu * math.cos(math.radians(a))) for a in inclines
        ]
        return TwoTrials(
            decimal(forces[0], places),
            decimal(forces[1], places),
            Turn(decimal(inclines[0], places) / 360),
            Turn(decimal(inclines[1], places) / 360),
        )


@attrs.frozen
class _Trial:
    """P (cos b + mu sin b) = W (sin a + mu cos a): the numbers beside W and mu."""

    along: Number
    off: Number
    sine: Number
    cosine: Number


def _trials(given: TwoTrials, ar: Arithmetic, rules: SimpleNamespace) -> tuple[_Trial, _Trial]:
    found = []
    for name in ("first", "second"):
        cosine, sine = ar.cos_sin(getattr(given, f"{name}_incline"))
        c, s = ar.cos_sin(getattr(given, f"{name}_angle"))
        force = ar.bring(getattr(given, name))
        across = rules.normal_part(cosine)
        found.append(_Trial(force * c, rules.lifting_part(force, s), sine, across))
    return found[0], found[1]


def _coefficient(one: _Trial, two: _Trial, ar: Arithmetic) -> tuple[Number, Number] | NoAnswer:
    """The coefficient that is not negative and leaves a positive weight, and that weight."""
    square = one.off * two.cosine - two.off * one.cosine
    middle = one.along * two.cosine + one.off * two.sine
    middle = middle - two.along * one.cosine - two.off * one.sine
    constant = one.along * two.sine - two.along * one.sine
    roots = _roots(square, middle, constant, ar)
    if isinstance(roots, NoAnswer):
        return roots
    fitting = []
    for number, mu in enumerate(roots, 1):
        drive, drag = one.along + mu * one.off, one.sine + mu * one.cosine
        if (
            ar.sign(mu, f"coefficient {number}") >= 0
            and ar.sign(drive, f"force against friction {number}") > 0
            and ar.sign(drag, f"resistance of a unit of weight {number}") > 0
        ):
            fitting.append((mu, drive / drag))
    if len(fitting) == 1:
        return fitting[0]
    return _TWO if fitting else _NONE


def _roots(
    square: Number, middle: Number, constant: Number, ar: Arithmetic
) -> list[Number] | NoAnswer:
    """Of square mu^2 + middle mu + constant, a root of zero kept apart to stay exact."""
    bent = ar.sign(square, "coefficient of the square")
    rests = ar.sign(constant, "what is left without friction")
    if bent == 0:
        if ar.sign(middle, "difference of the trials") == 0:
            return _SAME if rests == 0 else _NONE
        return [-constant / middle]
    if rests == 0:
        return [square * 0, -middle / square]
    inside = middle * middle - 4 * square * constant
    order = ar.sign(inside, "discriminant")
    if order < 0:
        return _NONE
    if order == 0:
        return [-middle / (2 * square)]
    root = ar.sqrt(inside)
    return [(root - middle) / (2 * square), (-root - middle) / (2 * square)]
