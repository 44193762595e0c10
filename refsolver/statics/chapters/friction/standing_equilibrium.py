"""A block standing on a plane, by other routes: the forces put back, and its state."""

from __future__ import annotations

from collections.abc import Mapping

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.quantities.kinds import NoAnswer, Value
from refsolver.statics.chapters.friction.standing_block import Terms
from refsolver.statics.contract import Residual
from refsolver.statics.forces.systems import sum_of
from refsolver.statics.residuals import of_least, of_sign

__all__ = ["first_residuals", "held_residuals", "state_residuals", "turning_about_base"]


def turning_about_base(t: Terms, force: Number) -> Number:
    """Moment about the middle of the base, forward positive, of a force and of the weight."""
    push = (force * t.c, force * t.s)
    pull = (-t.weight * t.sin, -t.weight * t.cos)
    return (t.py * push[0] - t.px * push[1]) + (t.gy * pull[0] - t.gx * pull[1])


def first_residuals(t: Terms, answers: Mapping[str, Value], ar: Arithmetic) -> list[Residual]:
    """The least of the forces that move it, and which it is."""
    if isinstance(answers["force to move"], NoAnswer):
        return []
    named = {"slips": "force to slip", "tips forward": "force to tip",
             "tips back": "force to tip back"}  # fmt: skip
    forces = {
        word: answers[name]
        for word, name in named.items()
        if not isinstance(answers[name], NoAnswer)
    }
    move, word = answers["force to move"], answers["first"].word
    size = sum_of([t.weight, *(ar.size(x) for x in forces.values())], ar)
    residuals = [of_least("force to move", move, list(forces.values()), size, ar)]
    if word in named:
        return [*residuals, Residual("first", move - forces.get(word, move + size), size)]
    tips = [x for name, x in forces.items() if name != "slips"]
    return [*residuals, of_least("tips as it slips", forces["slips"], tips, size, ar)]


_STATE_SIGNS: Mapping[str, tuple[int, int]] = {
    "holds": (1, 1),
    "on the point of slipping": (0, 1),
    "on the point of tipping": (1, 0),
    "on the point of slipping and tipping": (0, 0),
    "slips": (-1, 1),
    "tips": (1, -1),
    "slips and tips": (-1, -1),
}
"""Signs of the lesser margins against slipping and tipping; a zero passes for either."""


def state_residuals(
    t: Terms, answers: Mapping[str, Value], reach: Number, ar: Arithmetic
) -> list[Residual]:
    """The state by level and upright forces, and by moments about both edges."""
    level = t.force * (t.c * t.cos - t.s * t.sin)
    upright = t.force * (t.c * t.sin + t.s * t.cos) - t.weight
    along, normal = level * t.cos + upright * t.sin, level * t.sin - upright * t.cos
    word, size = answers["state"].word, (t.weight + t.force) * (1 + t.mu)
    if word == "lifts off":
        return [of_sign("lifted off", 1, -normal, size, ar)]
    slips = t.mu * normal - ar.size(along)
    turning = turning_about_base(t, t.force)
    slip, tip = _STATE_SIGNS[word]
    return [
        of_sign("margin against slipping", slip, slips, size, ar),
        of_sign(
            "margin against tipping", tip, t.half * normal - ar.size(turning), size * reach, ar
        ),
    ]


def held_residuals(
    t: Terms, answers: Mapping[str, Value], reach: Number, ar: Arithmetic
) -> list[Residual]:
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
