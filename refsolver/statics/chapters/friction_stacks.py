"""A block upon a block: the upper pulled, or the lower drawn from under an upper that is tied.

Sources of the method, from memory: R. C. Hibbeler, "Engineering Mechanics: Statics", section
8.2; A. K. Tayal, "Engineering Mechanics", chapter 6 (the lower block drawn from under one that
a rope holds). The plane falls in the direction of the pull where its incline is positive.
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
from refsolver.statics.chapters.components import number_sheet
from refsolver.statics.contract import (
    Answer,
    Family,
    Mistake,
    Residual,
    Solution,
    angle,
    quantity,
)
from refsolver.statics.drawing import Arrow, Drawing, Primitive, Region, Stroke
from refsolver.statics.random_givens import decimal, figures_for, gap_for
from refsolver.statics.registry import register

__all__ = ["BlockUnderTied", "DrawnFromUnder", "PulledOnTop", "StackedBlocks"]

_CAUTION = "Friction coefficients scatter widely: tie or chock what must not slide."
_LEVEL = Turn(fmpq(0))


def grip(cosine: Number, sine: Number, friction: Number) -> Number:
    """cos b + mu sin b: what a unit of pull does against friction."""
    return cosine + friction * sine


def drag(weight: Number, friction: Number, cosine: Number, sine: Number) -> Number:
    """W (mu cos a - sin a): what a weight on the falling plane needs to be moved."""
    return weight * (friction * cosine - sine)


def _blocks(given: PulledOnTop | DrawnFromUnder, ar: Arithmetic) -> list[Primitive]:
    cosine, sine = ar.cos_sin(given.incline)

    def turned(x: float, y: float) -> tuple[float, float]:
        return x * cosine + y * sine, y * cosine - x * sine

    boxes = (((-2.0, 0.0), (2.0, 1.0)), ((-1.0, 1.0), (1.0, 2.0)))
    parts: list[Primitive] = [Stroke(turned(-4.0, 0.0), turned(4.0, 0.0), "plane")]
    for ((x1, y1), (x2, y2)), label in zip(boxes, ("lower", "upper"), strict=True):
        corners = ((x1, y1), (x2, y1), (x2, y2), (x1, y2))
        parts.append(Region(tuple(turned(x, y) for x, y in corners), label))
    return parts


# --- the upper pulled ---------------------------------------------------------------------


@attrs.frozen
class PulledOnTop:
    upper: Exact = quantity(FORCE, "weight of the upper block", sign="positive")
    lower: Exact = quantity(FORCE, "weight of the lower block", sign="positive")
    between: Exact = quantity(NUMBER, "coefficient between the blocks", sign="not negative")
    below: Exact = quantity(NUMBER, "coefficient under the lower block", sign="not negative")
    incline: Angle = angle("of the plane, falling in the direction of the pull", default=_LEVEL)
    pull_angle: Angle = angle(
        "of the pull on the upper block, from along the plane toward away from it", default=_LEVEL
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
    caution = _CAUTION

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
        return residuals

    def figure(self, given: PulledOnTop, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        cosine, sine = ar.cos_sin(given.incline)
        c, s = ar.cos_sin(given.pull_angle)
        parts = _blocks(given, ar)
        pull = answers["force to move"]
        if not isinstance(pull, NoAnswer):
            push = (pull * (c * cosine + s * sine), pull * (s * cosine - c * sine))
            at = (cosine + 1.5 * sine, 1.5 * cosine - sine)
            parts.append(Arrow(at, push, "P", "answer"))
        return Drawing(tuple(parts), "a block upon a block, the upper pulled")

    def generate(self, kappa: tuple[float, float], rng: random.Random) -> PulledOnTop:
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


# --- the lower drawn from under -----------------------------------------------------------


@attrs.frozen
class DrawnFromUnder:
    upper: Exact = quantity(FORCE, "weight of the upper block, tied back", sign="positive")
    lower: Exact = quantity(FORCE, "weight of the lower block", sign="positive")
    between: Exact = quantity(NUMBER, "coefficient between the blocks", sign="not negative")
    below: Exact = quantity(NUMBER, "coefficient under the lower block", sign="not negative")
    incline: Angle = angle("of the plane, falling in the direction of the pull", default=_LEVEL)
    pull_angle: Angle = angle(
        "of the pull on the lower block, from along the plane toward away from it", default=_LEVEL
    )
    rope_angle: Angle = angle(
        "of the rope that ties the upper block back, from along the plane toward away from it",
        default=_LEVEL,
    )


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
    caution = _CAUTION

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
        parts = _blocks(given, ar)
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

    def generate(self, kappa: tuple[float, float], rng: random.Random) -> DrawnFromUnder:
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
