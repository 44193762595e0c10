"""A block standing on a plane under a force: what slips it, what tips it, how it bears.

Lengths along the plane count from the middle of the base toward where the force pulls
(forward); heights count from the base, at right angles to it.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import SimpleNamespace

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.exact import Angle, Exact, Turn
from refsolver.quantities.dimensions import FORCE, LENGTH, NUMBER
from refsolver.quantities.kinds import Choice, NoAnswer, Value
from refsolver.statics.contract import angle, quantity

__all__ = [
    "FIRST",
    "MOVES",
    "STATES",
    "TILTED",
    "StandingBlock",
    "Terms",
    "balanced_at",
    "first_of",
    "greatest_height",
    "slip_force",
    "slip_lever",
    "standing_arm",
    "state_of",
    "tilting",
    "tip_force",
    "tip_lever",
]


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


FIRST = ("slips", "tips forward", "tips back", "slips and tips at once", "neither")
STATES = (
    "holds",
    "on the point of slipping",
    "on the point of tipping",
    "on the point of slipping and tipping",
    "slips",
    "tips",
    "slips and tips",
    "lifts off",
)
TILTED = ("slips", "slips and tips at once", "tips")
NONE = NoAnswer("no solution", "in this direction and at this place no force does it")
LIFTS = NoAnswer("no solution", "the force lifts the block off first")
FALLS = NoAnswer("not defined", "the block does not stand without being held")
MOVES = NoAnswer("not defined", "the block moves")


class Terms:
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


def slip_force(t: Terms, ar: Arithmetic, rules: SimpleNamespace) -> tuple[Number | NoAnswer, bool]:
    """The force that makes it slip forward, and whether it needs one."""
    lever = rules.slip_lever(t.c, t.s, t.mu)
    drag = t.sin + t.mu * t.cos
    stands = ar.sign(drag, "friction and weight against slipping forward") > 0
    if ar.sign(lever, "grip of the force for slipping") <= 0:
        return NONE, stands
    force = rules.balanced_at(t.weight, drag, lever)
    left = t.weight * t.cos - force * t.s
    if ar.sign(left, "normal force when it slips") <= 0:
        return LIFTS, stands
    return force, stands


def tip_force(
    t: Terms, way: str, ar: Arithmetic, rules: SimpleNamespace
) -> tuple[Number | NoAnswer, bool]:
    """The force that tips it over the forward or the rear edge, and whether it needs one."""
    sense = 1 if way == "forward" else -1
    arm = rules.standing_arm(t.half - sense * t.gx, t.gy, t.cos, sense * t.sin)
    lever = sense * rules.tip_lever(t.py, sense * t.half - t.px, t.c, t.s)
    stands = ar.sign(arm, f"weight against tipping {way}") > 0
    if ar.sign(lever, f"lever of the force for tipping {way}") <= 0:
        return NONE, stands
    force = rules.balanced_at(t.weight, arm, lever)
    left = t.weight * t.cos - force * t.s
    if ar.sign(left, f"normal force when it tips {way}") <= 0:
        return LIFTS, stands
    return force, stands


def state_of(t: Terms, ar: Arithmetic) -> tuple[str, dict[str, Number]]:
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


def first_of(
    forces: Mapping[str, Number | NoAnswer], stands: bool, ar: Arithmetic
) -> tuple[Value, Value]:
    """Which of slipping and tipping comes first, and its force."""
    if not stands:
        return FALLS, FALLS
    found = {name: x for name, x in forces.items() if not isinstance(x, NoAnswer)}
    if not found:
        return Choice("neither"), NONE
    word, least = next(iter(found.items()))
    for name, force in list(found.items())[1:]:
        order = ar.sign(force - least, f"force at which it {name} against {word}")
        if order == 0:
            word = "slips and tips at once"
        elif order < 0:
            word, least = name, force
    return Choice(word, dict(found)), least


def greatest_height(
    t: Terms, slip: Number | NoAnswer, stands: bool, ar: Arithmetic, rules: SimpleNamespace
) -> Number | NoAnswer:
    """Where the force that slips it tips it as well."""
    if not stands:
        return FALLS
    if isinstance(slip, NoAnswer):
        return slip
    if ar.sign(t.c, "part of the force along the plane") <= 0:
        return NONE
    arm = rules.standing_arm(t.half - t.gx, t.gy, t.cos, t.sin)
    return (t.weight * arm / slip - (t.half - t.px) * t.s) / t.c


def tilting(t: Terms, ar: Arithmetic) -> dict[str, Value]:
    """Both angles and which is reached first."""
    behind, one = t.half + t.gx, ar.bring(fmpq(1))
    order = ar.sign(t.mu * t.gy - behind, "slipping against tipping when tilted")
    return {
        "angle of repose": ar.atan2(t.mu, one, "angle of repose"),
        "angle of tipping": ar.atan2(behind, t.gy, "angle of tipping"),
        "when tilted": Choice(TILTED[1 + order]),
    }
