"""A block that slips or tips: which comes first, and at what force.

Lengths along the plane count from the middle of the base toward where the force pulls
(forward); heights count from the base, at right angles to it. Sources of the method:
D. W. Baker and W. Haynes, "Engineering Statics: Open and Interactive", chapter 9 (slipping
vs. tipping); R. C. Hibbeler, "Engineering Mechanics: Statics", section 8.2, from memory.
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

__all__ = ["StandingBlock", "SlipOrTip"]


@attrs.frozen
class StandingBlock:
    weight: Exact = quantity(FORCE, "of the block", sign="positive")
    breadth: Exact = quantity(LENGTH, "of the base, along the plane", sign="positive")
    centre_height: Exact = quantity(LENGTH, "of the centre of gravity", sign="positive")
    friction: Exact = quantity(NUMBER, "coefficient of static friction", sign="positive")
    force_height: Exact = quantity(LENGTH, "at which the force acts", sign="not negative")
    force_along: Exact = quantity(
        LENGTH,
        "where it acts, forward of the middle of the base; of no account along the plane",
        default=fmpq(0),
    )
    force_angle: Angle = angle(
        "of the force, from forward along the plane toward away from it", default=Turn(fmpq(0))
    )
    centre_along: Exact = quantity(
        LENGTH, "of the centre of gravity, forward of the middle of the base", default=fmpq(0)
    )
    incline: Angle = angle(
        "of the plane, rising forward; negative: the force pulls downhill", default=Turn(fmpq(0))
    )
    force: Exact = quantity(FORCE, "applied", sign="not negative", default=fmpq(0))


def slip_lever(cosine: Number, sine: Number, friction: Number) -> Number:
    """cos b + mu sin b: what a unit of force does against friction."""
    return cosine + friction * sine


def tip_lever(height: Number, ahead: Number, cosine: Number, sine: Number) -> Number:
    """Arm of the force about an edge that lies ``ahead`` of it: y cos b + ahead sin b."""
    return height * cosine + ahead * sine


def standing_arm(half: Number, height: Number, cosine: Number, sine: Number) -> Number:
    """Arm of the weight about the edge at ``half`` from it: half cos a + y sin a."""
    return half * cosine + height * sine


def balanced_at(weight: Number, arm: Number, lever: Number) -> Number:
    """Force whose turning just balances the weight's."""
    return weight * arm / lever


_FIRST = ("slips", "tips forward", "tips back", "slips and tips at once", "neither")
_STATES = (
    "holds",
    "on the point of slipping",
    "on the point of tipping",
    "on the point of slipping and tipping",
    "slips",
    "tips",
    "slips and tips",
    "lifts off",
)
_TILTED = ("slips", "slips and tips at once", "tips")
_NONE = NoAnswer("no solution", "in this direction and at this place no force does it")
_LIFTS = NoAnswer("no solution", "the force lifts the block off first")
_FALLS = NoAnswer("not defined", "the block does not stand without being held")
_MOVES = NoAnswer("not defined", "the block moves")


class _Terms:
    """The givens as numbers, with cosines and sines of the plane and of the force."""

    def __init__(self, given: StandingBlock, ar: Arithmetic) -> None:
        self.weight, self.mu, self.force = (
            ar.bring(x) for x in (given.weight, given.friction, given.force)
        )
        self.half = ar.bring(given.breadth) / 2
        self.gx, self.gy = ar.bring(given.centre_along), ar.bring(given.centre_height)
        self.px, self.py = ar.bring(given.force_along), ar.bring(given.force_height)
        self.cos, self.sin = ar.cos_sin(given.incline)
        self.c, self.s = ar.cos_sin(given.force_angle)
        self.normal = self.weight * self.cos - self.force * self.s
        self.drive = self.force * self.c - self.weight * self.sin


def _slip(t: _Terms, ar: Arithmetic, rules: SimpleNamespace) -> tuple[Number | NoAnswer, bool]:
    """The force that makes it slip forward, and whether it needs one."""
    lever = rules.slip_lever(t.c, t.s, t.mu)
    drag = t.sin + t.mu * t.cos
    stands = ar.sign(drag, "friction and weight against slipping forward") > 0
    if ar.sign(lever, "grip of the force for slipping") <= 0:
        return _NONE, stands
    force = rules.balanced_at(t.weight, drag, lever)
    left = t.weight * t.cos - force * t.s
    if ar.sign(left, "normal force when it slips") <= 0:
        return _LIFTS, stands
    return force, stands


def _tip(
    t: _Terms, way: str, ar: Arithmetic, rules: SimpleNamespace
) -> tuple[Number | NoAnswer, bool]:
    """The force that tips it over the forward or the rear edge, and whether it needs one."""
    sense = 1 if way == "forward" else -1
    arm = rules.standing_arm(t.half - sense * t.gx, t.gy, t.cos, sense * t.sin)
    lever = sense * rules.tip_lever(t.py, sense * t.half - t.px, t.c, t.s)
    stands = ar.sign(arm, f"weight against tipping {way}") > 0
    if ar.sign(lever, f"lever of the force for tipping {way}") <= 0:
        return _NONE, stands
    force = rules.balanced_at(t.weight, arm, lever)
    left = t.weight * t.cos - force * t.s
    if ar.sign(left, f"normal force when it tips {way}") <= 0:
        return _LIFTS, stands
    return force, stands


def _state(t: _Terms, ar: Arithmetic) -> tuple[str, dict[str, Number]]:
    """Of the block under the force applied."""
    if ar.sign(t.normal, "normal force") <= 0:
        return "lifts off", {"normal": t.normal}
    over = t.force * tip_lever(t.py, -t.px, t.c, t.s)
    over = over + t.weight * (t.gx * t.cos - t.gy * t.sin)
    margins = {
        "slipping forward": t.mu * t.normal - t.drive,
        "slipping back": t.mu * t.normal + t.drive,
        "tipping forward": t.half * t.normal - over,
        "tipping back": t.half * t.normal + over,
    }
    signs = [ar.sign(x, f"margin against {name}") for name, x in margins.items()]
    slip, tip = min(signs[:2]), min(signs[2:])
    if slip > 0 and tip > 0:
        return "holds", margins
    if slip < 0 or tip < 0:
        moves = "slips and tips" if slip < 0 and tip < 0 else "slips" if slip < 0 else "tips"
        return moves, margins
    both = "slipping and tipping" if slip == tip else "slipping" if slip == 0 else "tipping"
    return f"on the point of {both}", margins


def _first(
    forces: Mapping[str, Number | NoAnswer], stands: bool, ar: Arithmetic
) -> tuple[Value, Value]:
    """Which of slipping and tipping comes first, and its force."""
    if not stands:
        return _FALLS, _FALLS
    found = {name: x for name, x in forces.items() if not isinstance(x, NoAnswer)}
    if not found:
        return Choice("neither"), _NONE
    word, least = next(iter(found.items()))
    for name, force in list(found.items())[1:]:
        order = ar.sign(force - least, f"force at which it {name} against {word}")
        if order == 0:
            word = "slips and tips at once"
        elif order < 0:
            word, least = name, force
    return Choice(word, dict(found)), least


@register
class SlipOrTip(Family):
    name = "friction/slip-or-tip"
    title = "A block that slips or tips"
    givens = StandingBlock
    answers = {
        "force to slip": Answer(
            ScalarKind(FORCE), "slip forward impending; negative: it slips unless held",
            ("no solution",),
        ),
        "force to tip": Answer(
            ScalarKind(FORCE), "about to turn over its forward edge; negative: it falls unheld",
            ("no solution",),
        ),
        "force to tip back": Answer(
            ScalarKind(FORCE), "about to turn over its rear edge", ("no solution",)
        ),
        "first": Answer(ChoiceKind(_FIRST), "as the force grows", ("not defined",)),
        "force to move": Answer(
            ScalarKind(FORCE), "the least of them", ("no solution", "not defined")
        ),
        "greatest height": Answer(
            ScalarKind(LENGTH), "of a force at this angle that slips the block and does not tip it",
            ("no solution", "not defined"),
        ),
        "state": Answer(ChoiceKind(_STATES), "under the force applied"),
        "normal": Answer(ScalarKind(FORCE), "under the force applied", ("not defined",)),
        "friction": Answer(
            ScalarKind(FORCE), "on the block, forward positive", ("not defined",)
        ),
        "normal offset": Answer(
            ScalarKind(LENGTH), "of the normal force, forward of the middle of the base",
            ("not defined",),
        ),
        "angle of repose": Answer(ScalarKind(ANGLE), "incline at which it slips by itself"),
        "angle of tipping": Answer(
            ScalarKind(ANGLE), "incline, rising forward, at which it tips back by itself"
        ),
        "when tilted": Answer(ChoiceKind(_TILTED), "as the plane is raised, no force applied"),
    }  # fmt: skip
    rules = {
        "slip_lever": slip_lever,
        "tip_lever": tip_lever,
        "standing_arm": standing_arm,
        "balanced_at": balanced_at,
    }
    mistakes = (
        Mistake(
            "force left out of the normal",
            "friction is mu W cos(a) whatever the force does",
            rules={"slip_lever": lambda cosine, sine, friction: cosine},
        ),
        Mistake(
            "level part of the force alone",
            "the part of the force across the plane turns nothing",
            rules={"tip_lever": lambda height, ahead, cosine, sine: height * cosine},
        ),
        Mistake(
            "whole breadth for the arm",
            "the weight is given the whole breadth for its arm about the edge",
            rules={"standing_arm": lambda half, y, cosine, sine: 2 * half * cosine + y * sine},
        ),
        Mistake(
            "weight turned upright",
            "the part of the weight along the plane is left out of the turning",
            rules={"standing_arm": lambda half, y, cosine, sine: half * cosine},
        ),
        Mistake(
            "tipping not looked at",
            "it is taken for granted that the block slips",
            answers=lambda given, answers, ar: (
                None
                if isinstance(answers["force to slip"], NoAnswer)
                else {
                    **answers,
                    "first": Choice("slips"),
                    "force to move": answers["force to slip"],
                }
            ),
        ),
    )
    method = (
        "slip: P (cos b + mu sin b) = W (sin a + mu cos a); tip: moments about the edge, "
        "P (y cos b + (B/2 - x) sin b) = W ((B/2 - xg) cos a + yg sin a)"
    )
    second_method = (
        "the forces put back: where the normal force then acts (at the edge), and the friction "
        "that is then needed (mu N)"
    )
    caution = "Friction coefficients scatter widely: tie or chock what must neither slide nor tip."

    def solve(self, given: StandingBlock, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        t = _Terms(given, ar)
        found = {
            "slips": _slip(t, ar, rules),
            "tips forward": _tip(t, "forward", ar, rules),
            "tips back": _tip(t, "back", ar, rules),
        }
        forces = {name: force for name, (force, _) in found.items()}
        stands = all(needs for _, needs in found.values())
        first, least = _first(forces, stands, ar)
        word, margins = _state(t, ar)
        answers: dict[str, Value] = {
            "force to slip": forces["slips"],
            "force to tip": forces["tips forward"],
            "force to tip back": forces["tips back"],
            "first": first,
            "force to move": least,
            "greatest height": _greatest_height(t, forces["slips"], stands, ar, rules),
            "state": Choice(word, margins),
            **dict.fromkeys(("normal", "friction", "normal offset"), _MOVES),
            **_tilting(t, ar),
        }
        if word == "holds" or word.startswith("on the point"):
            across = t.half - margins["tipping forward"] / t.normal
            answers |= {"normal": t.normal, "friction": -t.drive, "normal offset": across}
        shown = {name: x for name, x in forces.items() if not isinstance(x, NoAnswer)}
        return Solution(answers, (number_sheet("Force at which it ...", shown, self.method),))

    def check(
        self, given: StandingBlock, answers: Mapping[str, Value], ar: Arithmetic
    ) -> Sequence[Residual]:
        t = _Terms(given, ar)
        reach = t.half + ar.size(t.gx) + t.gy + ar.size(t.px) + t.py
        residuals: list[Residual] = []
        for name, edge in (("force to slip", 0), ("force to tip", 1), ("force to tip back", -1)):
            force = answers[name]
            if isinstance(force, NoAnswer):
                continue
            normal = t.weight * t.cos - force * t.s
            size = (t.weight + ar.size(force)) * (1 + t.mu)
            if edge == 0:
                off = force * t.c - t.weight * t.sin - t.mu * normal
                residuals.append(Residual(name, off, size))
                continue
            off = _turning(t, force) - edge * t.half * normal
            residuals.append(Residual(name, off, size * reach))
        height, slip = answers["greatest height"], answers["force to slip"]
        if not isinstance(height, NoAnswer):
            normal = t.weight * t.cos - slip * t.s
            off = _turning(t, slip) + slip * t.c * (height - t.py) - t.half * normal
            size = (t.weight + slip) * (reach + ar.size(height))
            residuals.append(Residual("greatest height", off, size))
        if not isinstance(answers["normal"], NoAnswer):
            residuals += _held(t, answers, reach, ar)
        c, s = ar.cos(answers["angle of tipping"]), ar.sin(answers["angle of tipping"])
        residuals.append(Residual("tilted until it tips", s * t.gy - c * (t.half + t.gx), reach))
        c, s = ar.cos(answers["angle of repose"]), ar.sin(answers["angle of repose"])
        residuals.append(Residual("tilted until it slips", s - c * t.mu, 1 + t.mu))
        return residuals

    def figure(self, given: StandingBlock, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        t = _Terms(given, ar)

        def turned(x: float, y: float) -> tuple[float, float]:
            return x * t.cos - y * t.sin, x * t.sin + y * t.cos

        top = max(2 * t.gy, t.py)
        corners = ((-t.half, 0.0), (t.half, 0.0), (t.half, top), (-t.half, top))
        parts: list[Primitive] = [
            Stroke(turned(-3 * t.half, 0.0), turned(3 * t.half, 0.0), "plane"),
            Region(tuple(turned(x, y) for x, y in corners), "block"),
            Arrow(turned(t.gx, t.gy), (0.0, -t.weight), "W"),
        ]
        move = answers["force to move"]
        if not isinstance(move, NoAnswer):
            push = turned(move * t.c, move * t.s)
            parts.append(Arrow(turned(t.px, t.py), push, "P", "answer"))
        return Drawing(tuple(parts), "a block on a plane, the force that first moves it, to scale")

    def generate(self, kappa: tuple[float, float], rng: random.Random) -> StandingBlock:
        """Uphill pull that leaves about 1/kappa of the weight's part to friction."""
        gap = gap_for(rng, kappa, 2.7)
        places = figures_for(kappa[1])
        incline, weight, tilt = rng.uniform(5, 15), rng.randint(100, 999), rng.uniform(-20, 40)
        drive = weight * math.sin(math.radians(incline)) * (1 - gap)
        breadth = rng.uniform(0.5, 2)
        return StandingBlock(
            fmpq(weight),
            decimal(breadth, 2),
            decimal(breadth * rng.uniform(0.4, 1.2), 2),
            decimal(rng.uniform(0.3, 0.7), 2),
            decimal(breadth * rng.uniform(0, 2), 2),
            decimal(breadth * rng.choice((-0.5, 0.5)), 3),
            Turn(decimal(tilt, places) / 360),
            decimal(breadth * rng.uniform(-0.1, 0.1), 3),
            Turn(decimal(incline, places) / 360),
            decimal(drive / math.cos(math.radians(tilt)), places),
        )


def _greatest_height(
    t: _Terms, slip: Number | NoAnswer, stands: bool, ar: Arithmetic, rules: SimpleNamespace
) -> Number | NoAnswer:
    """Where the force that slips it tips it as well."""
    if not stands:
        return _FALLS
    if isinstance(slip, NoAnswer):
        return slip
    if ar.sign(t.c, "part of the force along the plane") <= 0:
        return _NONE
    arm = rules.standing_arm(t.half - t.gx, t.gy, t.cos, t.sin)
    return (t.weight * arm / slip - (t.half - t.px) * t.s) / t.c


def _tilting(t: _Terms, ar: Arithmetic) -> dict[str, Value]:
    """Both angles and which is reached first."""
    behind, one = t.half + t.gx, ar.bring(fmpq(1))
    order = ar.sign(t.mu * t.gy - behind, "slipping against tipping when tilted")
    return {
        "angle of repose": ar.atan2(t.mu, one, "angle of repose"),
        "angle of tipping": ar.atan2(behind, t.gy, "angle of tipping"),
        "when tilted": Choice(_TILTED[1 + order]),
    }


def _turning(t: _Terms, force: Number) -> Number:
    """Moment about the middle of the base, forward positive, of a force and of the weight."""
    push = (force * t.c, force * t.s)
    pull = (-t.weight * t.sin, -t.weight * t.cos)
    return (t.py * push[0] - t.px * push[1]) + (t.gy * pull[0] - t.gx * pull[1])


def _held(t: _Terms, answers: Mapping[str, Value], reach: Number, ar: Arithmetic) -> list[Residual]:
    """Level and upright forces and moments about the forward edge of a block at rest."""
    normal, friction, offset = (answers[n] for n in ("normal", "friction", "normal offset"))
    along, across = friction + t.force * t.c, normal + t.force * t.s
    level = along * t.cos - across * t.sin
    upright = along * t.sin + across * t.cos - t.weight
    size = t.weight + t.force
    push = t.force * (t.py * t.c - (t.px - t.half) * t.s)
    pull = t.weight * ((t.gx - t.half) * t.cos - t.gy * t.sin)
    moment = push + pull - normal * (offset - t.half)
    return [
        Residual("level forces", level, size),
        Residual("upright forces", upright, size),
        Residual("moments about the forward edge", moment, size * (reach + ar.size(offset))),
    ]
