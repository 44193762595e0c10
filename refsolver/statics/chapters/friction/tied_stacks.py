"""A block drawn from under another that a rope ties back.

Source of the method, from memory: A. K. Tayal, "Engineering Mechanics", chapter 6 (the lower
block drawn from under one that a rope holds). The plane falls in the direction of the pull
where its incline is positive.
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
from refsolver.quantities.kinds import NoAnswer, ScalarKind, Value
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
from refsolver.statics.random_givens import decimal, figures_for, gap_for
from refsolver.statics.registry import register
from refsolver.statics.sheets import number_sheet

__all__ = ["BlockUnderTied", "DrawnFromUnder"]


@attrs.frozen
class DrawnFromUnder:
    upper: Exact = quantity(FORCE, "weight of the upper block, tied back", sign="positive")
    lower: Exact = quantity(FORCE, "weight of the lower block", sign="positive")
    between: Exact = quantity(NUMBER, "coefficient between the blocks", sign="not negative")
    below: Exact = quantity(NUMBER, "coefficient under the lower block", sign="not negative")
    incline: Angle = angle("of the plane, falling in the direction of the pull", default=LEVEL)
    pull_angle: Angle = angle(
        "of the pull on the lower block, from along the plane toward away from it", default=LEVEL
    )
    rope_angle: Angle = angle(
        "of the rope that ties the upper block back, from along the plane toward away from it",
        default=LEVEL,
    )


_NEVER = NoAnswer("no solution", "in this direction no force, however large, does it")
_OFF = NoAnswer("not defined", "the pull would lift both blocks off the plane")
_LIFTS = NoAnswer("not defined", "the rope would lift the upper block off the lower")


def rope_grip(cosine: Number, sine: Number, friction: Number) -> Number:
    """cos d + mu sin d of the rope."""
    return cosine + friction * sine


def floor_load(lower: Number, upper_normal: Number) -> Number:
    """Normal force under the lower block before the pull: both count."""
    return lower + upper_normal


@register
class BlockUnderTied(Family):
    name = "friction/block-under-tied"
    title = "A block drawn from under one that a rope holds"
    givens = DrawnFromUnder
    answers = {
        "force to draw out": Answer(
            ScalarKind(FORCE), "slip impending above and below; negative: it slides by itself",
            ("no solution", "not defined"),
        ),
        "rope": Answer(ScalarKind(FORCE), "its tension then", ("not defined",)),
        "normal between": Answer(ScalarKind(FORCE), "between the blocks then", ("not defined",)),
        "normal below": Answer(
            ScalarKind(FORCE), "under the lower block then", ("no solution", "not defined")
        ),
    }  # fmt: skip
    rules = {"grip": grip, "rope_grip": rope_grip, "floor_load": floor_load}
    mistakes = (
        Mistake(
            "rope left out of the normal",
            "the rope's part across the plane does not change the normal force",
            rules={"rope_grip": lambda cosine, sine, friction: cosine},
        ),
        Mistake(
            "pull left out of the normal",
            "the pull's part across the plane does not change the normal force",
            rules={"grip": lambda cosine, sine, friction: cosine},
        ),
        Mistake(
            "upper block not on the floor",
            "the friction below is taken from the lower weight alone",
            rules={"floor_load": lambda lower, upper_normal: lower},
        ),
    )
    method = (
        "rope S (cos d + mu1 sin d) = W1 (sin a + mu1 cos a), N1 = W1 cos a - S sin d; "
        "P (cos b + mu2 sin b) = mu1 N1 + mu2 (W2 cos a + N1) - W2 sin a"
    )
    second_method = "level and upright equilibrium of both blocks together, and of the upper"
    caution = cautions.SLIDING

    def solve(self, given: DrawnFromUnder, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        upper, lower, mu1, mu2 = (
            ar.bring(x) for x in (given.upper, given.lower, given.between, given.below)
        )
        cosine, sine = ar.cos_sin(given.incline)
        hold = rules.rope_grip(*ar.cos_sin(given.rope_angle), mu1)
        _, s = ar.cos_sin(given.rope_angle)
        if ar.sign(hold, "grip of the rope") <= 0:
            return Solution(dict.fromkeys(self.answers, _LIFTS))
        rope = upper * (sine + mu1 * cosine) / hold
        between = upper * cosine - rope * s
        if ar.sign(between, "normal force between the blocks") < 0:
            return Solution(dict.fromkeys(self.answers, _LIFTS))
        c, s = ar.cos_sin(given.pull_angle)
        answers: dict[str, Value] = {"rope": rope, "normal between": between}
        load = rules.floor_load(lower * cosine, between)
        force, below = _drawn(
            mu1 * between + mu2 * load - lower * sine, load, rules.grip(c, s, mu2), (c, s), ar
        )
        answers |= {"force to draw out": force, "normal below": below}
        shown = {name: x for name, x in answers.items() if not isinstance(x, NoAnswer)}
        return Solution(answers, (number_sheet("Slip impending", shown, self.method),))

    def check(
        self, given: DrawnFromUnder, answers: Mapping[str, Value], ar: Arithmetic
    ) -> Sequence[Residual]:
        rope, between = answers["rope"], answers["normal between"]
        if isinstance(rope, NoAnswer):
            return []
        upper, lower, mu1, mu2 = (
            ar.bring(x) for x in (given.upper, given.lower, given.between, given.below)
        )
        cosine, sine = ar.cos_sin(given.incline)
        size = (upper + lower + ar.size(rope)) * (1 + mu1 + mu2)
        rope_along, rope_across = (rope * x for x in ar.cos_sin(given.rope_angle))
        level, upright = _turned(mu1 * between - rope_along, between + rope_across, cosine, sine)
        residuals = [
            Residual("level forces on the upper", level, size),
            Residual("upright forces on the upper", upright - upper, size),
        ]
        force, below = answers["force to draw out"], answers["normal below"]
        if isinstance(force, NoAnswer):
            return residuals
        pull_along, pull_across = (force * x for x in ar.cos_sin(given.pull_angle))
        along = pull_along - rope_along - mu2 * below
        across = pull_across + rope_across + below
        level, upright = _turned(along, across, cosine, sine)
        size = size + ar.size(force) * (1 + mu2)
        residuals += [
            Residual("level forces on both", level, size),
            Residual("upright forces on both", upright - upper - lower, size),
        ]
        return residuals

    def figure(
        self, given: DrawnFromUnder, answers: Mapping[str, Value], ar: Arithmetic
    ) -> Drawing:
        cosine, sine = ar.cos_sin(given.incline)
        parts = two_blocks(given.incline, ar)
        pairs = (("force to draw out", given.pull_angle, 1, (2.0, 0.5)),
                 ("rope", given.rope_angle, -1, (-1.0, 1.5)))  # fmt: skip
        for name, turn, sense, (x, y) in pairs:
            force = answers[name]
            if isinstance(force, NoAnswer):
                continue
            c, s = ar.cos_sin(turn)
            push = _turned(sense * force * c, force * s, cosine, sine)
            at = (x * cosine + y * sine, y * cosine - x * sine)
            parts.append(Arrow(at, push, name, "answer"))
        return Drawing(tuple(parts), "the lower block drawn from under the upper, which is tied")

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> DrawnFromUnder:
        """A plane that leaves about 1/kappa of the lower weight's part to the pull."""
        gap = gap_for(rng, kappa, 2.8)
        places = 2 + figures_for(kappa[1])
        upper, lower = rng.randint(50, 500), rng.randint(50, 900)
        between, below = rng.uniform(0.1, 0.3), rng.uniform(0.1, 0.3)
        # With rope and pull along the plane slip needs no pull at this tangent.
        free = (between * upper + below * (upper + lower)) / lower
        steep = math.atan(free * (1 - gap))
        return DrawnFromUnder(
            fmpq(upper),
            fmpq(lower),
            decimal(between, places),
            decimal(below, places),
            Turn(decimal(math.degrees(steep), places) / 360),
            Turn(fmpq(rng.randint(0, 30), 360)),
        )


def _drawn(
    need: Number, load: Number, draw: Number, pull: tuple[Number, Number], ar: Arithmetic
) -> tuple[Number | NoAnswer, Number | NoAnswer]:
    """The pull and the normal force that it leaves below."""
    if (
        ar.sign(pull[0], "part of the pull along the plane") <= 0
        or ar.sign(draw, "grip of the pull") <= 0
    ):
        return _NEVER, _NEVER
    force = need / draw
    below = load - force * pull[1]
    if ar.sign(below, "normal force below") <= 0:
        return _OFF, _OFF
    return force, below


def _turned(along: Number, across: Number, cosine: Number, sine: Number) -> tuple[Number, Number]:
    """Along and across a plane that falls: level and upright."""
    return along * cosine + across * sine, across * cosine - along * sine
