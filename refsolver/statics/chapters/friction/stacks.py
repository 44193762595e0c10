"""A block upon a block, the upper one pulled.

Sources of the method, from memory: R. C. Hibbeler, "Engineering Mechanics: Statics", section
8.2. The plane falls in the direction of the pull where its incline is positive.
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
from refsolver.statics.chapters.friction.two_blocks import LEVEL, grip, two_blocks
from refsolver.statics.contract import (
    Answer,
    Family,
    Mistake,
    Residual,
    Solution,
    angle,
    quantity,
)
from refsolver.statics.drawing import Arrow, Drawing
from refsolver.statics.forces.systems import sum_of
from refsolver.statics.random_givens import decimal, figures_for, gap_for
from refsolver.statics.registry import register
from refsolver.statics.residuals import of_least, of_sign
from refsolver.statics.sheets import number_sheet

__all__ = ["LEVEL", "PulledOnTop", "StackedBlocks", "grip", "two_blocks"]


def drag(weight: Number, friction: Number, cosine: Number, sine: Number) -> Number:
    """W (mu cos a - sin a): what a weight on the falling plane needs to be moved."""
    return weight * (friction * cosine - sine)


@attrs.frozen
class PulledOnTop:
    upper: Exact = quantity(FORCE, "weight of the upper block", sign="positive")
    lower: Exact = quantity(FORCE, "weight of the lower block", sign="positive")
    between: Exact = quantity(NUMBER, "coefficient between the blocks", sign="not negative")
    below: Exact = quantity(NUMBER, "coefficient under the lower block", sign="not negative")
    incline: Angle = angle("of the plane, falling in the direction of the pull", default=LEVEL)
    pull_angle: Angle = angle(
        "of the pull on the upper block, from along the plane toward away from it", default=LEVEL
    )


_ONE, _BOTH = "the upper slides on the lower", "both move together"
_FIRST = (_ONE, "all at once", _BOTH)
_NEVER = NoAnswer("no solution", "in this direction no force, however large, does it")
_ROLLS = NoAnswer("not defined", "the blocks do not stay by themselves")


@register
class StackedBlocks(Family):
    name = "friction/stacked-blocks"
    title = "A pull on the upper of two stacked blocks"
    givens = PulledOnTop
    answers = {
        "force to slide the upper": Answer(
            ScalarKind(FORCE), "on a lower block at rest", ("no solution", "not defined")
        ),
        "force to move both": Answer(
            ScalarKind(FORCE), "without slip between them", ("no solution", "not defined")
        ),
        "first": Answer(ChoiceKind(_FIRST), "as the pull grows", ("no solution", "not defined")),
        "force to move": Answer(
            ScalarKind(FORCE), "the lesser of the two", ("no solution", "not defined")
        ),
    }
    rules = {"grip": grip, "drag": drag}
    mistakes = (
        Mistake(
            "pull left out of the normal",
            "the part of the pull across the plane does not change the normal force",
            rules={"grip": lambda cosine, sine, friction: cosine},
        ),
        Mistake(
            "incline forgotten",
            "the weights are taken to have no part along the plane",
            rules={"drag": lambda weight, friction, cosine, sine: weight * friction * cosine},
        ),
        Mistake(
            "both taken to move",
            "it is taken for granted that the blocks move together",
            answers=lambda given, answers, ar: {
                **answers,
                "first": Choice(_BOTH),
                "force to move": answers["force to move both"],
            },
        ),
    )
    method = (
        "P (cos b + mu1 sin b) = W1 (mu1 cos a - sin a); both: "
        "P (cos b + mu2 sin b) = (W1 + W2)(mu2 cos a - sin a); the lesser governs"
    )
    second_method = "each force put back: the friction it needs is mu times the normal force left"
    caution = cautions.SLIDING

    def solve(self, given: PulledOnTop, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        upper, lower = ar.bring(given.upper), ar.bring(given.lower)
        cosine, sine = ar.cos_sin(given.incline)
        c, s = ar.cos_sin(given.pull_angle)
        forward = ar.sign(c, "part of the pull along the plane") > 0
        found: dict[str, Number | NoAnswer] = {}
        for name, weight, mu in (
            (_ONE, upper, ar.bring(given.between)),
            (_BOTH, upper + lower, ar.bring(given.below)),
        ):
            need = rules.drag(weight, mu, cosine, sine)
            if ar.sign(need, f"friction beyond the incline: {name}") < 0:
                return Solution(dict.fromkeys(self.answers, _ROLLS))
            hold = rules.grip(c, s, mu)
            acts = forward and ar.sign(hold, f"grip of the pull: {name}") > 0
            found[name] = need / hold if acts else _NEVER
        one, both = found.values()
        first, least = _lesser(one, both, ar)
        answers: dict[str, Value] = {
            "force to slide the upper": one,
            "force to move both": both,
            "first": first,
            "force to move": least,
        }
        shown = {name: x for name, x in found.items() if not isinstance(x, NoAnswer)}
        return Solution(answers, (number_sheet("Pull at which ...", shown, self.method),))

    def check(
        self, given: PulledOnTop, answers: Mapping[str, Value], ar: Arithmetic
    ) -> Sequence[Residual]:
        upper, lower = ar.bring(given.upper), ar.bring(given.lower)
        cosine, sine = ar.cos_sin(given.incline)
        c, s = ar.cos_sin(given.pull_angle)
        residuals = []
        for name, weight, exact in (
            ("force to slide the upper", upper, given.between),
            ("force to move both", upper + lower, given.below),
        ):
            force, mu = answers[name], ar.bring(exact)
            if isinstance(force, NoAnswer):
                continue
            needed = force * c + weight * sine
            left = weight * cosine - force * s
            size = (weight + force) * (1 + mu)
            residuals.append(Residual(name, needed - mu * left, size))
        found = [answers[name] for name in ("force to slide the upper", "force to move both")]
        forces = [x for x in found if not isinstance(x, NoAnswer)]
        if forces:
            size = sum_of([upper + lower, *forces], ar)
            least = answers["force to move"]
            residuals.append(of_least("force to move", least, forces, size, ar))
        if len(forces) == 2:
            one, both = forces
            sign = _FIRST.index(answers["first"].word) - 1
            residuals.append(of_sign("first", sign, one - both, size, ar))
        return residuals

    def figure(self, given: PulledOnTop, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        cosine, sine = ar.cos_sin(given.incline)
        c, s = ar.cos_sin(given.pull_angle)
        parts = two_blocks(given.incline, ar)
        pull = answers["force to move"]
        if not isinstance(pull, NoAnswer):
            push = (pull * (c * cosine + s * sine), pull * (s * cosine - c * sine))
            at = (cosine + 1.5 * sine, 1.5 * cosine - sine)
            parts.append(Arrow(at, push, "P", "answer"))
        return Drawing(tuple(parts), "a block upon a block, the upper pulled")

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> PulledOnTop:
        """A plane within about 1/kappa of the repose of the lower block."""
        gap = gap_for(rng, kappa, 1.9)
        places = 2 + figures_for(kappa[1])
        below = rng.uniform(0.2, 0.4)
        steep = math.atan(below * (1 - gap))
        return PulledOnTop(
            fmpq(rng.randint(50, 900)),
            fmpq(rng.randint(50, 900)),
            decimal(rng.uniform(0.45, 0.7), 2),
            decimal(below, places),
            Turn(decimal(math.degrees(steep), places) / 360),
            Turn(fmpq(rng.randint(0, 30), 360)),
        )


def _lesser(one: Number | NoAnswer, both: Number | NoAnswer, ar: Arithmetic) -> tuple[Value, Value]:
    if isinstance(one, NoAnswer) or isinstance(both, NoAnswer):
        if isinstance(one, NoAnswer):
            return (_NEVER, _NEVER) if isinstance(both, NoAnswer) else (Choice(_BOTH), both)
        return Choice(_ONE), one
    order = ar.sign(one - both, "sliding the upper against moving both")
    return Choice(_FIRST[1 + order], {"upper": one, "both": both}), both if order > 0 else one
