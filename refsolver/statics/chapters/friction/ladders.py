"""A ladder between floor and wall: forces, least coefficient, least slope, greatest climb.

Against a smooth wall the forces follow from equilibrium; against a rough one they do so
only while slip impends at both ends. Distances count from the foot along the ladder.
Sources of the method: OpenStax, "University Physics", volume 1, section 12.3 (ladder at a
smooth wall); R. C. Hibbeler, "Engineering Mechanics: Statics", section 8.2, from memory.
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
from refsolver.quantities.dimensions import ANGLE, FORCE, LENGTH, NUMBER
from refsolver.quantities.kinds import Choice, ChoiceKind, NoAnswer, ScalarKind, Value
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
from refsolver.statics.limits import exceeds
from refsolver.statics.random_givens import decimal, figures_for, gap_for
from refsolver.statics.registry import register
from refsolver.statics.residuals import of_sign
from refsolver.statics.sheets import number_sheet

__all__ = ["Ladder", "LadderOnAWall"]


@attrs.frozen
class Ladder:
    length: Exact = quantity(LENGTH, "of the ladder", sign="positive")
    slope: Angle = angle("of the ladder above the floor")
    weight: Exact = quantity(FORCE, "of the ladder", sign="not negative")
    centre: Exact | None = quantity(
        LENGTH, "of gravity of the ladder, from its foot; none: the middle",
        sign="not negative", default=None,
    )  # fmt: skip
    load: Exact = quantity(FORCE, "of a person or thing on it", sign="not negative",
                           default=fmpq(0))  # fmt: skip
    load_at: Exact | None = quantity(
        LENGTH, "where the load stands, from the foot; none: at the top",
        sign="not negative", default=None,
    )  # fmt: skip
    floor_friction: Exact | None = quantity(
        NUMBER, "coefficient at the floor; none where it is asked", sign="not negative",
        default=None,
    )  # fmt: skip
    wall_friction: Exact = quantity(
        NUMBER, "coefficient at the wall", sign="not negative", default=fmpq(0)
    )

    def __attrs_post_init__(self) -> None:
        if self.weight == 0 and self.load == 0:
            raise ValueError("a ladder without weight needs a 'load'")
        for name in ("centre", "load_at"):
            if exceeds(getattr(self, name), self.length):
                raise ValueError(f"{name!r} lies beyond the end of the ladder")


def centre_of(length: Number) -> Number:
    """Of a uniform ladder."""
    return length / 2


def wall_lever(cosine: Number, sine: Number, friction: Number) -> Number:
    """sin + mu_w cos: what a unit of the wall's normal force turns against the weights."""
    return sine + friction * cosine


def weight_lever(cosine: Number, sine: Number) -> Number:
    """cos: level distance for a unit along the ladder."""
    return cosine


def floor_normal(weights: Number, wall: Number, friction: Number) -> Number:
    """W - mu_w N_w."""
    return weights - friction * wall


_STATES = ("holds", "on the point of slipping", "slips")
_UPRIGHT = NoAnswer("not defined", "the ladder does not lean from the floor against the wall")
_NO_FLOOR = NoAnswer("not defined", "no coefficient of the floor is stated")
_NO_LOAD = NoAnswer("not defined", "no load is stated")
_ROUGH = NoAnswer("redundant", "the wall is rough: how it shares with the floor is not known")
_HOLDS = NoAnswer("no solution", "it holds with the load at the top")
_SLIPS = NoAnswer("no solution", "it slips wherever the load stands")
_ANY = NoAnswer("no solution", "it holds at every slope")


@attrs.frozen
class _Terms:
    length: Number
    cosine: Number
    sine: Number
    weights: tuple[Number, Number]
    places: tuple[Number, Number]
    wall: Number

    @property
    def total(self) -> Number:
        return self.weights[0] + self.weights[1]

    @property
    def turning(self) -> Number:
        """Weights times their places along the ladder."""
        (w, p), (a, b) = self.weights, self.places
        return w * a + p * b


def _terms(given: Ladder, ar: Arithmetic, rules: SimpleNamespace) -> _Terms:
    length = ar.bring(given.length)
    cosine, sine = ar.cos_sin(given.slope)
    centre = rules.centre_of(length) if given.centre is None else ar.bring(given.centre)
    at = length if given.load_at is None else ar.bring(given.load_at)
    weights = (ar.bring(given.weight), ar.bring(given.load))
    return _Terms(length, cosine, sine, weights, (centre, at), ar.bring(given.wall_friction))


@register
class LadderOnAWall(Family):
    name = "friction/ladder"
    title = "A ladder against a wall"
    givens = Ladder
    answers = {
        "wall normal": Answer(
            ScalarKind(FORCE), "of a smooth wall", ("redundant", "not defined")
        ),
        "floor normal": Answer(
            ScalarKind(FORCE), "with a smooth wall", ("redundant", "not defined")
        ),
        "floor friction": Answer(
            ScalarKind(FORCE), "toward the wall, with a smooth wall", ("redundant", "not defined")
        ),
        "floor coefficient needed": Answer(
            ScalarKind(NUMBER), "least, at this slope and load", ("not defined",)
        ),
        "least slope": Answer(
            ScalarKind(ANGLE), "above the floor, slip impending with this load",
            ("no solution", "not defined"),
        ),
        "greatest climb": Answer(
            ScalarKind(LENGTH), "of the load along the ladder, slip impending",
            ("no solution", "not defined"),
        ),
        "force at the foot": Answer(
            ScalarKind(FORCE), "level, toward the wall, that just holds it; negative: it holds",
            ("not defined",),
        ),
        "state": Answer(ChoiceKind(_STATES), "at this slope with this load", ("not defined",)),
    }  # fmt: skip
    rules = {
        "centre_of": centre_of,
        "wall_lever": wall_lever,
        "weight_lever": weight_lever,
        "floor_normal": floor_normal,
    }
    mistakes = (
        Mistake(
            "slope from the wall",
            "the slope is measured from the wall",
            rules={
                "wall_lever": lambda cosine, sine, mu: cosine + mu * sine,
                "weight_lever": lambda cosine, sine: sine,
            },
        ),
        Mistake(
            "wall taken as smooth",
            "the friction of the wall is forgotten",
            givens=lambda given: (
                None if given.wall_friction == 0 else attrs.evolve(given, wall_friction=fmpq(0))
            ),
        ),
        Mistake(
            "floor normal taken as the weight",
            "what the wall's friction carries is still given to the floor",
            rules={"floor_normal": lambda weights, wall, mu: weights},
        ),
        Mistake(
            "weight at the top",
            "the ladder's own weight is put at its upper end",
            rules={"centre_of": lambda length: length},
        ),
        Mistake(
            "ladder without weight",
            "only the load on the ladder is counted",
            givens=lambda given: None if given.load == 0 else attrs.evolve(given, weight=fmpq(0)),
        ),
    )
    method = (
        "moments about the foot: N_w L (sin + mu_w cos) = cos sum(w s); N_f = W - mu_w N_w; slip "
        "impends where N_w = mu_f N_f"
    )
    second_method = "moments about the top, with the limiting forces of the floor"
    caution = cautions.LADDERS

    def solve(self, given: Ladder, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        t = _terms(given, ar, rules)
        if (
            ar.sign(t.sine, "sine of the slope") <= 0
            or ar.sign(t.cosine, "cosine of the slope") < 0
        ):
            return Solution(dict.fromkeys(self.answers, _UPRIGHT))
        wall = t.turning * rules.weight_lever(t.cosine, t.sine)
        wall = wall / (t.length * rules.wall_lever(t.cosine, t.sine, t.wall))
        floor = rules.floor_normal(t.total, wall, t.wall)
        smooth = given.wall_friction == 0
        answers: dict[str, Value] = {
            "wall normal": wall if smooth else _ROUGH,
            "floor normal": floor if smooth else _ROUGH,
            "floor friction": wall if smooth else _ROUGH,
            "floor coefficient needed": wall / floor,
            **dict.fromkeys(("least slope", "greatest climb", "force at the foot", "state"),
                            _NO_FLOOR),
        }  # fmt: skip
        forces = {"wall normal": wall, "floor normal": floor}
        if given.floor_friction is not None:
            mu = ar.bring(given.floor_friction)
            held = wall - mu * floor
            answers |= {
                "least slope": _least_slope(t, mu, ar),
                "greatest climb": _greatest_climb(given, t, mu, ar, rules),
                "force at the foot": held,
                "state": Choice(_STATES[1 + ar.sign(held, "force at the foot")], {"held": held}),
            }
        return Solution(answers, (number_sheet("Slip impending", forces, self.method),))

    def check(
        self, given: Ladder, answers: Mapping[str, Value], ar: Arithmetic
    ) -> Sequence[Residual]:
        t = _terms(given, ar, self.rule_set())
        size = t.total * t.length * (1 + t.wall)
        residuals: list[Residual] = []
        wall, floor = answers["wall normal"], answers["floor normal"]
        if not isinstance(wall, NoAnswer):
            off = _about_the_top(t, floor, answers["floor friction"], t.places[1], t)
            residuals.append(Residual("moments about the top", off, size))
            residuals.append(Residual("upright forces", floor - t.total, t.total))
            off = answers["floor friction"] - wall
            residuals.append(Residual("level forces", off, t.total + wall))
        needed = answers["floor coefficient needed"]
        if not isinstance(needed, NoAnswer):
            floor = t.total / (1 + needed * t.wall)
            off = _about_the_top(t, floor, needed * floor, t.places[1], t)
            residuals.append(Residual("coefficient needed put back", off, size * (1 + needed)))
        if given.floor_friction is not None and not isinstance(answers["state"], NoAnswer):
            residuals += self._limits(ar.bring(given.floor_friction), t, answers, size, ar)
        return residuals

    def _limits(
        self, mu: Number, t: _Terms, answers: Mapping[str, Value], size: Number, ar: Arithmetic
    ) -> list[Residual]:
        residuals = []
        size = size * (1 + mu)
        floor = t.total / (1 + mu * t.wall)
        slope, climb = answers["least slope"], answers["greatest climb"]
        if not isinstance(slope, NoAnswer):
            leaning = attrs.evolve(t, cosine=ar.cos(slope), sine=ar.sin(slope))
            off = _about_the_top(t, floor, mu * floor, t.places[1], leaning)
            residuals.append(Residual("least slope put back", off, size))
        if not isinstance(climb, NoAnswer):
            off = _about_the_top(t, floor, mu * floor, climb, t)
            residuals.append(Residual("greatest climb put back", off, size))
        held = answers["force at the foot"]
        floor = (t.total - t.wall * held) / (1 + mu * t.wall)
        off = _about_the_top(t, floor, held + mu * floor, t.places[1], t)
        size = size + ar.size(held) * t.length * (1 + t.wall)
        residuals.append(Residual("force at the foot put back", off, size))
        sign = _STATES.index(answers["state"].word) - 1
        residuals.append(of_sign("state", sign, held, size, ar))
        return residuals

    def figure(self, given: Ladder, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        t = _terms(given, ar, self.rule_set())
        top = (t.length * t.cosine, t.length * t.sine)
        parts: list[Primitive] = [
            Stroke((-0.2 * t.length, 0.0), (1.2 * top[0], 0.0), "floor"),
            Stroke((top[0], 0.0), (top[0], 1.2 * top[1]), "wall"),
            Stroke((0.0, 0.0), top, "ladder"),
        ]
        for weight, at, label in zip(t.weights, t.places, ("w", "load"), strict=True):
            if weight > 0:
                parts.append(Arrow((at * t.cosine, at * t.sine), (0.0, -weight), label))
        if not isinstance(answers["wall normal"], NoAnswer):
            parts.append(Arrow(top, (-answers["wall normal"], 0.0), "N wall", "answer"))
            foot = (answers["floor friction"], answers["floor normal"])
            parts.append(Arrow((0.0, 0.0), foot, "floor", "answer"))
        return Drawing(tuple(parts), "a ladder with its loads and what floor and wall exert")

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> Ladder:
        """A slope within about 1/kappa of the least one."""
        gap = gap_for(rng, kappa, 6.0, 0.5)
        places = 2 + figures_for(kappa[1])
        length, weight, load = rng.uniform(3, 8), rng.randint(50, 300), rng.randint(0, 900)
        at, floor = rng.uniform(0.2, 0.9), rng.uniform(0.25, 0.6)
        wall = rng.choice((0.0, rng.uniform(0.1, 0.4)))
        share = (weight / 2 + load * at) / (weight + load)
        tangent = max(0.1, share * (1 + floor * wall) / floor - wall)
        slope = math.atan(tangent * (1 + rng.choice((-1, 1)) * gap))
        return Ladder(
            decimal(length, 1),
            Turn(decimal(math.degrees(slope), places) / 360),
            fmpq(weight),
            None,
            fmpq(load),
            decimal(at, places) * decimal(length, 1),
            decimal(floor, places),
            decimal(wall, places),
        )


def _about_the_top(
    t: _Terms, normal: Number, friction: Number, climbed: Number, leaning: _Terms
) -> Number:
    """Moments of the floor's force and of the weights about the upper end."""
    weights = t.weights[0] * (t.length - t.places[0]) + t.weights[1] * (t.length - climbed)
    return (normal * t.length - weights) * leaning.cosine - friction * t.length * leaning.sine


def _least_slope(t: _Terms, mu: Number, ar: Arithmetic) -> Value:
    """tan = sum(w s) / (N_w L) - mu_w with N_w = mu_f W / (1 + mu_f mu_w)."""
    across = mu * t.total * t.length
    rise = t.turning * (1 + mu * t.wall) - t.wall * across
    if ar.sign(rise, "rise of the least slope") <= 0:
        return _ANY
    return ar.atan2(rise, across, "least slope")


def _greatest_climb(
    given: Ladder, t: _Terms, mu: Number, ar: Arithmetic, rules: SimpleNamespace
) -> Value:
    if given.load == 0:
        return _NO_LOAD
    lever = rules.weight_lever(t.cosine, t.sine)
    if ar.sign(lever, "level distance along the ladder") == 0:
        return _HOLDS
    wall = mu * t.total / (1 + mu * t.wall)
    turning = wall * t.length * rules.wall_lever(t.cosine, t.sine, t.wall) / lever
    climb = (turning - t.weights[0] * t.places[0]) / t.weights[1]
    if ar.sign(climb, "greatest climb above the foot") < 0:
        return _SLIPS
    if ar.sign(climb - t.length, "greatest climb against the length") > 0:
        return _HOLDS
    return climb
