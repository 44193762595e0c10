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

from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic
from refsolver.arithmetic.exact import Turn
from refsolver.quantities.dimensions import ANGLE, FORCE, LENGTH
from refsolver.quantities.kinds import Choice, ChoiceKind, NoAnswer, ScalarKind, Value
from refsolver.statics import cautions
from refsolver.statics.chapters.friction.standing_block import (
    FIRST,
    MOVES,
    STATES,
    TILTED,
    StandingBlock,
    Terms,
    balanced_at,
    first_of,
    greatest_height,
    slip_force,
    slip_lever,
    standing_arm,
    state_of,
    tilting,
    tip_force,
    tip_lever,
)
from refsolver.statics.chapters.friction.standing_equilibrium import (
    first_residuals,
    held_residuals,
    state_residuals,
    turning_about_base,
)
from refsolver.statics.contract import (
    Answer,
    Family,
    Mistake,
    Residual,
    Solution,
)
from refsolver.statics.drawing import Arrow, Drawing, Primitive, Region, Stroke
from refsolver.statics.random_givens import decimal, figures_for, gap_for
from refsolver.statics.registry import register
from refsolver.statics.residuals import of_sign
from refsolver.statics.sheets import number_sheet

__all__ = ["StandingBlock", "SlipOrTip"]


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
        "first": Answer(ChoiceKind(FIRST), "as the force grows", ("not defined",)),
        "force to move": Answer(
            ScalarKind(FORCE), "the least of them", ("no solution", "not defined")
        ),
        "greatest height": Answer(
            ScalarKind(LENGTH), "of a force at this angle that slips the block and does not tip it",
            ("no solution", "not defined"),
        ),
        "state": Answer(ChoiceKind(STATES), "under the force applied"),
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
        "when tilted": Answer(ChoiceKind(TILTED), "as the plane is raised, no force applied"),
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
    caution = cautions.TIPPING

    def solve(self, given: StandingBlock, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        t = Terms(given, ar)
        found = {
            "slips": slip_force(t, ar, rules),
            "tips forward": tip_force(t, "forward", ar, rules),
            "tips back": tip_force(t, "back", ar, rules),
        }
        forces = {name: force for name, (force, _) in found.items()}
        stands = all(needs for _, needs in found.values())
        first, least = first_of(forces, stands, ar)
        word, margins = state_of(t, ar)
        answers: dict[str, Value] = {
            "force to slip": forces["slips"],
            "force to tip": forces["tips forward"],
            "force to tip back": forces["tips back"],
            "first": first,
            "force to move": least,
            "greatest height": greatest_height(t, forces["slips"], stands, ar, rules),
            "state": Choice(word, margins),
            **dict.fromkeys(("normal", "friction", "normal offset"), MOVES),
            **tilting(t, ar),
        }
        if word == "holds" or word.startswith("on the point"):
            across = t.half - margins["tipping forward"] / t.normal
            answers |= {"normal": t.normal, "friction": -t.drive, "normal offset": across}
        shown = {name: x for name, x in forces.items() if not isinstance(x, NoAnswer)}
        return Solution(answers, (number_sheet("Force at which it ...", shown, self.method),))

    def check(
        self, given: StandingBlock, answers: Mapping[str, Value], ar: Arithmetic
    ) -> Sequence[Residual]:
        t = Terms(given, ar)
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
            off = turning_about_base(t, force) - edge * t.half * normal
            residuals.append(Residual(name, off, size * reach))
        height, slip = answers["greatest height"], answers["force to slip"]
        if not isinstance(height, NoAnswer):
            normal = t.weight * t.cos - slip * t.s
            off = turning_about_base(t, slip) + slip * t.c * (height - t.py) - t.half * normal
            size = (t.weight + slip) * (reach + ar.size(height))
            residuals.append(Residual("greatest height", off, size))
        if not isinstance(answers["normal"], NoAnswer):
            residuals += held_residuals(t, answers, reach, ar)
        c, s = ar.cos(answers["angle of tipping"]), ar.sin(answers["angle of tipping"])
        residuals.append(Residual("tilted until it tips", s * t.gy - c * (t.half + t.gx), reach))
        c, s = ar.cos(answers["angle of repose"]), ar.sin(answers["angle of repose"])
        residuals.append(Residual("tilted until it slips", s - c * t.mu, 1 + t.mu))
        later = answers["angle of repose"] - answers["angle of tipping"]
        sign = TILTED.index(answers["when tilted"].word) - 1
        residuals.append(of_sign("when tilted", sign, later, 0 * later + 1, ar))
        return residuals + first_residuals(t, answers, ar) + state_residuals(t, answers, reach, ar)

    def figure(self, given: StandingBlock, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        t = Terms(given, ar)

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

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> StandingBlock:
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
