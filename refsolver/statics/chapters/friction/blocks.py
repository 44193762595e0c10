"""A block on a plane: does it hold, what friction acts, which force moves it.

Sources of the method: D. W. Baker and W. Haynes, "Engineering Statics: Open and
Interactive", chapter 9 (dry friction, Coulomb); R. C. Hibbeler, "Engineering Mechanics:
Statics", sections 8.1 and 8.2, from memory.
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
from refsolver.statics.drawing import Arrow, Drawing, Stroke
from refsolver.statics.random_givens import decimal, figures_for, gap_for
from refsolver.statics.registry import register
from refsolver.statics.residuals import of_sign
from refsolver.statics.sheets import number_sheet

__all__ = ["Block", "BlockOnPlane"]


@attrs.frozen
class Block:
    weight: Exact = quantity(FORCE, "of the block", sign="positive")
    static: Exact = quantity(NUMBER, "coefficient of static friction", sign="not negative")
    kinetic: Exact | None = quantity(
        NUMBER, "coefficient once it slides", sign="not negative", default=None
    )
    incline: Angle = angle("of the plane above the horizontal", default=Turn(fmpq(0)))
    force: Exact = quantity(FORCE, "applied", sign="not negative", default=fmpq(0))
    force_angle: Angle = angle(
        "of the force, from up along the plane toward away from it", default=Turn(fmpq(0))
    )


def normal_force(weight: Number, cosine: Number, away: Number) -> Number:
    """N = W cos(incline) less the part of the force that lifts off."""
    return weight * cosine - away


def driving_force(weight: Number, sine: Number, along: Number) -> Number:
    """What friction must balance, up the plane positive."""
    return along - weight * sine


def limiting_friction(friction: Number, normal: Number) -> Number:
    """mu N."""
    return friction * normal


def impending_force(weight: Number, plane: Number, force: Number) -> Number:
    """W (sin + m cos) / (cos + m sin), numerator of the plane over that of the force."""
    return weight * plane / force


_WORDS = (
    "holds",
    "on the point of slipping up",
    "on the point of slipping down",
    "slips up",
    "slips down",
    "on the point of slipping either way",
    "lifts off",
)
_SLIPS: Mapping[str, tuple[int | None, int | None]] = {
    "holds": (-1, -1),
    "on the point of slipping up": (0, -1),
    "on the point of slipping down": (-1, 0),
    "on the point of slipping either way": (0, 0),
    "slips up": (1, None),
    "slips down": (None, 1),
}
"""Signs of the drive up, and down, beyond the limiting friction."""
_JAMS = NoAnswer("no solution", "in this direction no force, however large, does it")
_LIFTS = NoAnswer("no solution", "the force lifts the block off before it slips")
_OFF = NoAnswer("not defined", "the force lifts the block off the plane")
_UNKNOWN = NoAnswer("not defined", "it slides, and no coefficient of kinetic friction is stated")


def _state(drive: Number, limit: Number, ar: Arithmetic) -> str:
    up = ar.sign(drive - limit, "drive up the plane against limiting friction")
    down = ar.sign(-drive - limit, "drive down the plane against limiting friction")
    if up > 0 or down > 0:
        return "slips up" if up > 0 else "slips down"
    if up == 0 and down == 0:
        return "on the point of slipping either way"
    if up == 0 or down == 0:
        return f"on the point of slipping {'up' if up == 0 else 'down'}"
    return "holds"


def _friction(state: str, drive: Number, kinetic: Number | None) -> Number | NoAnswer:
    """Up the plane positive: what balances the drive, or what opposes the slip."""
    if not state.startswith("slips"):
        return -drive
    if kinetic is None:
        return _UNKNOWN
    return -kinetic if state == "slips up" else kinetic


def _at_rest(
    given: Block, answers: Mapping[str, Value], pushed: tuple[Number, Number], ar: Arithmetic
) -> list[Residual]:
    """The block under its weight and the force, ``pushed`` level and upright by them."""
    cosine, sine = ar.cos_sin(given.incline)
    level, upright = pushed
    along, across = level * cosine + upright * sine, upright * cosine - level * sine
    mu, word = ar.bring(given.static), answers["state"].word
    size = (ar.bring(given.weight) + ar.bring(given.force)) * (1 + mu)
    normal, friction = answers["normal"], answers["friction"]
    if isinstance(normal, NoAnswer) or word == "lifts off":
        return [of_sign("lifted off", 1, across, size, ar)]
    limit = answers["limiting friction"]
    residuals = [
        Residual("limiting friction", limit - mu * normal, size),
        Residual("forces across the plane", normal + across, size),
    ]
    for (way, sense), sign in zip((("up", 1), ("down", -1)), _SLIPS[word], strict=True):
        if sign is not None:
            residuals.append(of_sign(f"slip {way}", sign, sense * along - limit, size, ar))
    if isinstance(friction, NoAnswer):
        return residuals
    if word.startswith("slips"):
        kinetic = ar.bring(given.kinetic) * normal  # type: ignore[arg-type]
        off = friction + kinetic if word == "slips up" else friction - kinetic
        return [*residuals, Residual("kinetic friction", off, size + kinetic)]
    # With the plane's two forces all forces balance, level and upright.
    off = level + friction * cosine - normal * sine
    residuals.append(Residual("level forces", off, size))
    off = upright + friction * sine + normal * cosine
    return [*residuals, Residual("upright forces", off, size)]


@register
class BlockOnPlane(Family):
    name = "friction/block"
    title = "A block on a rough plane"
    givens = Block
    answers = {
        "state": Answer(ChoiceKind(_WORDS), "of a block put there at rest"),
        "normal": Answer(ScalarKind(FORCE), "of the plane on the block", ("not defined",)),
        "friction": Answer(
            ScalarKind(FORCE), "on the block, up the plane positive", ("not defined",)
        ),
        "limiting friction": Answer(
            ScalarKind(FORCE), "greatest static friction", ("not defined",)
        ),
        "force to move up": Answer(
            ScalarKind(FORCE), "in the direction stated, slip up impending", ("no solution",)
        ),
        "force to hold": Answer(
            ScalarKind(FORCE),
            "in the direction stated, slip down impending; negative: it holds without, and may "
            "be pulled so much the other way",
            ("no solution",),
        ),
        "angle of repose": Answer(ScalarKind(ANGLE), "incline at which it just holds by itself"),
    }
    rules = {
        "normal_force": normal_force,
        "driving_force": driving_force,
        "limiting_friction": limiting_friction,
        "impending_force": impending_force,
    }
    mistakes = (
        Mistake(
            "normal taken as the weight",
            "neither the incline nor the force's part off the plane is counted",
            rules={"normal_force": lambda weight, cosine, away: weight},
        ),
        Mistake(
            "force left out of the normal",
            "the normal force is W cos(incline) whatever the force does",
            rules={"normal_force": lambda weight, cosine, away: weight * cosine},
        ),
        Mistake(
            "friction at its limit",
            "friction is reported as mu N although the block holds",
            answers=lambda given, answers, ar: (
                None
                if isinstance(answers["friction"], NoAnswer)
                else {**answers, "friction": answers["limiting friction"]}
            ),
        ),
    )
    method = (
        "N = W cos(a) - P sin(b), friction = W sin(a) - P cos(b) while not over mu N; "
        "P = W (sin(a) +- mu cos(a)) / (cos(b) +- mu sin(b))"
    )
    second_method = (
        "level and upright equilibrium of block, normal and friction; the forces at impending "
        "slip put back as applied forces"
    )
    caution = cautions.SLIDING

    def solve(self, given: Block, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        weight, mu = ar.bring(given.weight), ar.bring(given.static)
        cosine, sine = ar.cos_sin(given.incline)
        c, s = ar.cos_sin(given.force_angle)
        force = ar.bring(given.force)
        normal = rules.normal_force(weight, cosine, force * s)
        drive = rules.driving_force(weight, sine, force * c)
        one = ar.bring(fmpq(1))
        # At impending slip N = W cos(a + b) / grip: a force leaning back of upright lifts.
        presses = ar.sign(cosine * c - sine * s, "force short of upright") > 0
        answers: dict[str, Value] = dict.fromkeys(self.answers, _OFF)
        answers["angle of repose"] = ar.atan2(mu, one, "angle of repose")
        for name, m in (("force to move up", mu), ("force to hold", -mu)):
            grip = c + m * s
            acts = ar.sign(grip, f"{name}: grip of the direction") > 0
            moved = rules.impending_force(weight, sine + m * cosine, grip) if acts else _JAMS
            answers[name] = moved if not acts or presses else _LIFTS
        forces = {"normal": normal, "drive up the plane": drive}
        if ar.sign(normal, "normal force") < 0:
            answers["state"] = Choice("lifts off", {"normal": normal})
            return Solution(answers, (number_sheet("Forces", forces, self.method),))
        limit = rules.limiting_friction(mu, normal)
        word = _state(drive, limit, ar)
        kinetic = None if given.kinetic is None else ar.bring(given.kinetic) * normal
        answers["state"] = Choice(word, {"up": limit - drive, "down": limit + drive})
        answers["normal"] = normal
        answers["limiting friction"] = limit
        answers["friction"] = _friction(word, drive, kinetic)
        forces["limiting friction"] = limit
        return Solution(answers, (number_sheet("Forces", forces, self.method),))

    def check(
        self, given: Block, answers: Mapping[str, Value], ar: Arithmetic
    ) -> Sequence[Residual]:
        weight, mu, force = (ar.bring(x) for x in (given.weight, given.static, given.force))
        cosine, sine = ar.cos_sin(given.incline)
        c, s = ar.cos_sin(given.force_angle)
        residuals = []
        for name, m in (("force to move up", mu), ("force to hold", -mu)):
            found = answers[name]
            if not isinstance(found, NoAnswer):
                off = found * c - weight * sine - m * (weight * cosine - found * s)
                size = (ar.size(found) + weight) * (1 + mu)
                residuals.append(Residual(name, off, size))
        repose = answers["angle of repose"]
        off = ar.sin(repose) - mu * ar.cos(repose)
        residuals.append(Residual("angle of repose", off, 1 + mu))
        level = force * (c * cosine - s * sine)
        upright = force * (c * sine + s * cosine) - weight
        return residuals + _at_rest(given, answers, (level, upright), ar)

    def figure(self, given: Block, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        cosine, sine = ar.cos_sin(given.incline)
        c, s = ar.cos_sin(given.force_angle)
        force = ar.bring(given.force)
        push = (force * (c * cosine - s * sine), force * (c * sine + s * cosine))
        parts: list[Arrow | Stroke] = [
            Stroke((-cosine, -sine), (cosine, sine), "plane"),
            Arrow((0.0, 0.0), (0.0, -ar.bring(given.weight)), "W"),
            Arrow((0.0, 0.0), push, "P"),
        ]
        normal, friction = answers["normal"], answers["friction"]
        if not isinstance(normal, NoAnswer):
            parts.append(Arrow((0.0, 0.0), (-normal * sine, normal * cosine), "N", "answer"))
        if not isinstance(friction, NoAnswer):
            along = (friction * cosine, friction * sine)
            parts.append(Arrow((0.0, 0.0), along, "friction", "answer"))
        return Drawing(tuple(parts), "a block on a plane with the forces on it, to scale")

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> Block:
        """A pull along the plane that leaves about 1/kappa of the weight's pull to friction."""
        gap = gap_for(rng, kappa, 2.7)
        places = figures_for(kappa[1])
        incline, weight = rng.uniform(10, 50), rng.randint(100, 999)
        drive = weight * math.sin(math.radians(incline)) * (1 - gap)
        tilt = rng.uniform(0, 20)
        return Block(
            fmpq(weight),
            decimal(rng.uniform(0.2, 0.7), 2),
            decimal(rng.uniform(0.1, 0.2), 2),
            Turn(decimal(incline, places) / 360),
            decimal(drive / math.cos(math.radians(tilt)), places),
            Turn(decimal(tilt, places) / 360),
        )
