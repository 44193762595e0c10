"""Block brakes: one shoe pressed on a drum by a lever, for both turnings of the drum.

Where friction turns the lever the same way as the effort the drum helps, and the brake may
lock itself. Sources of the method, from memory: R. S. Khurmi and J. K. Gupta, "Theory of
Machines", chapter 19 (equivalent coefficient of a pivoted shoe, 4 mu sin h / (2 h + sin 2 h)
for a contact of 2 h); B. K. Sarkar, "Theory of Machines", chapter 10.
"""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from types import SimpleNamespace

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.exact import Angle, Exact
from refsolver.quantities.dimensions import FORCE, LENGTH, MOMENT, NUMBER
from refsolver.quantities.kinds import Choice, ChoiceKind, NoAnswer, ScalarKind, Value
from refsolver.statics import cautions
from refsolver.statics.chapters.friction.braking import LOCKS, STATES, effort_or_torque
from refsolver.statics.contract import (
    Answer,
    Column,
    Family,
    Mistake,
    Residual,
    Row,
    Sheet,
    Solution,
    angle,
    quantity,
)
from refsolver.statics.drawing import Arrow, Drawing, Primitive, Stroke, drawn_circle
from refsolver.statics.random_givens import decimal, figures_for, gap_for
from refsolver.statics.registry import register
from refsolver.statics.residuals import of_sign

__all__ = ["ShoeBrake", "ShoeBrakeForces"]


@attrs.frozen
class ShoeBrake:
    friction: Exact = quantity(NUMBER, "coefficient of friction", sign="positive")
    radius: Exact = quantity(LENGTH, "of the drum", sign="positive")
    effort_arm: Exact = quantity(LENGTH, "of the effort about the fulcrum", sign="positive")
    shoe_arm: Exact = quantity(
        LENGTH, "of the normal force of the shoe about the fulcrum", sign="positive"
    )
    friction_arm: Exact = quantity(
        LENGTH, "of the friction of the shoe about the fulcrum", sign="not negative"
    )
    contact: Angle | None = angle("subtended by a wide shoe; none: a narrow one", default=None)
    effort: Exact | None = quantity(FORCE, "at the lever", sign="positive", default=None)
    torque: Exact | None = quantity(MOMENT, "braking, on the drum", sign="positive", default=None)

    def __attrs_post_init__(self) -> None:
        effort_or_torque(self)


def wide_shoe(friction: Number, half_sine: Number, sine: Number, contact: Number) -> Number:
    """4 mu sin h / (2 h + sin 2 h) for a contact of 2 h."""
    return 4 * friction * half_sine / (contact + sine)


def lever_of_shoe(shoe_arm: Number, friction: Number, friction_arm: Number, sense: int) -> Number:
    """Moment of the shoe for a unit of normal force: x - mu c where the drum helps (+1)."""
    return shoe_arm - sense * friction * friction_arm


_TURNINGS = ("drum helping", "drum opposing")
_FLAT = NoAnswer("not defined", "the contact is not between 0 and 180 degrees")
_NEVER = NoAnswer("no solution", "the friction passes through the fulcrum: it never locks itself")


def _coefficient(given: ShoeBrake, ar: Arithmetic, rules: SimpleNamespace) -> Number | NoAnswer:
    mu = ar.bring(given.friction)
    if given.contact is None:
        return mu
    cosine, sine = ar.cos_sin(given.contact)
    contact = ar.radians(given.contact)
    if (
        ar.sign(contact, "angle of contact") <= 0
        or ar.sign(ar.pi() - contact, "angle of contact short of half a turn") <= 0
    ):
        return _FLAT
    return rules.wide_shoe(mu, ar.sqrt((1 - cosine) / 2), sine, contact)


@register
class ShoeBrakeForces(Family):
    name = "friction/shoe-brake"
    title = "Effort and torque of a block brake"
    givens = ShoeBrake
    answers = {
        "coefficient": Answer(
            ScalarKind(NUMBER), "that acts, of a wide shoe the equivalent one", ("not defined",)
        ),
        **{
            f"{what}, {turning}": Answer(
                ScalarKind(MOMENT if what == "torque" else FORCE),
                says,
                ("no solution", "not defined")
                if turning == _TURNINGS[0] and what != "effort"
                else ("not defined",),
            )
            for turning in _TURNINGS
            for what, says in {
                "effort": "at the lever; negative: it must be held off",
                "torque": "braking, on the drum",
                "normal": "of the shoe on the drum",
                "friction": "of the shoe on the drum",
            }.items()
        },
        "state": Answer(ChoiceKind(STATES), "with the drum helping", ("not defined",)),
        "locking arm": Answer(
            ScalarKind(LENGTH), "least arm of the friction at which the brake locks itself",
            ("not defined",),
        ),
        "locking coefficient": Answer(
            ScalarKind(NUMBER), "least equivalent coefficient at which it locks itself",
            ("no solution", "not defined"),
        ),
    }  # fmt: skip
    rules = {"wide_shoe": wide_shoe, "lever_of_shoe": lever_of_shoe}
    mistakes = (
        Mistake(
            "friction left out of the lever",
            "the moment of the friction about the fulcrum is forgotten",
            rules={"lever_of_shoe": lambda shoe_arm, mu, friction_arm, sense: shoe_arm},
        ),
        Mistake(
            "turning sense exchanged",
            "the drum is taken to turn the other way",
            rules={"lever_of_shoe": lambda x, mu, c, sense: x + sense * mu * c},
        ),
        Mistake(
            "wide shoe taken as narrow",
            "the equivalent coefficient is forgotten",
            rules={"wide_shoe": lambda friction, half_sine, sine, contact: friction},
        ),
        Mistake(
            "diameter for radius",
            "the diameter of the drum is used for its radius",
            givens=lambda given: (
                attrs.evolve(given, radius=2 * given.radius)
                if isinstance(given.radius, fmpq)
                else None
            ),
        ),
    )
    method = (
        "N (x -+ mu' c) = P L, drum helping -, opposing +; friction mu' N, torque mu' N r; "
        "mu' = 4 mu sin h / (2 h + sin 2 h) for a contact of 2 h"
    )
    second_method = (
        "moments about the axis of the drum and about the fulcrum with the friction found"
    )
    caution = cautions.BRAKES

    def solve(self, given: ShoeBrake, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        mu = _coefficient(given, ar, rules)
        if isinstance(mu, NoAnswer):
            return Solution(dict.fromkeys(self.answers, mu))
        shoe_arm, friction_arm = ar.bring(given.shoe_arm), ar.bring(given.friction_arm)
        has_arm = ar.sign(friction_arm, "arm of the friction") > 0
        answers: dict[str, Value] = {
            "coefficient": mu,
            "locking arm": shoe_arm / mu,
            "locking coefficient": shoe_arm / friction_arm if has_arm else _NEVER,
        }
        rows = []
        for turning, sense in zip(_TURNINGS, (1, -1), strict=True):
            lever = rules.lever_of_shoe(shoe_arm, mu, friction_arm, sense)
            order = ar.sign(lever, f"lever of the shoe, {turning}")
            if sense > 0:
                answers["state"] = Choice(STATES[1 + order], {"lever": lever})
            found = _one_way(given, mu, lever, order, ar)
            answers |= {f"{what}, {turning}": x for what, x in found.items()}
            shown = (found[what] for what in ("effort", "normal", "friction"))
            rows.append(Row(turning, tuple(None if isinstance(x, NoAnswer) else x for x in shown)))
        columns = tuple(Column(head, FORCE) for head in ("effort", "normal", "friction"))
        return Solution(answers, (Sheet("Shoe", columns, tuple(rows), self.method),))

    def check(
        self, given: ShoeBrake, answers: Mapping[str, Value], ar: Arithmetic
    ) -> Sequence[Residual]:
        mu = answers["coefficient"]
        if isinstance(mu, NoAnswer):
            return []
        residuals = []
        shoe_arm, friction_arm = ar.bring(given.shoe_arm), ar.bring(given.friction_arm)
        if given.contact is not None:
            # The contact split in two: 2 h + sin 2 h = 2 (h + sin h cos h).
            cosine, _ = ar.cos_sin(given.contact)
            c, s = ar.sqrt((1 + cosine) / 2), ar.sqrt((1 - cosine) / 2)
            off = mu * (ar.radians(given.contact) / 2 + s * c) - 2 * ar.bring(given.friction) * s
            residuals.append(Residual("equivalent coefficient", off, 1 + mu))
        off = answers["locking arm"] - friction_arm
        sign = STATES.index(answers["state"].word) - 1
        size = answers["locking arm"] + friction_arm
        residuals.append(of_sign("friction inside the locking arm", sign, off, size, ar))
        locking = answers["locking coefficient"]
        if not isinstance(locking, NoAnswer):
            off = locking * friction_arm - answers["locking arm"] * mu
            residuals.append(Residual("locking", off, shoe_arm))
        for turning, sense in zip(_TURNINGS, (1, -1), strict=True):
            normal, friction, effort, torque = (
                answers[f"{what}, {turning}"] for what in ("normal", "friction", "effort", "torque")
            )
            if isinstance(normal, NoAnswer):
                continue
            arm = ar.bring(given.effort_arm)
            lever = effort * arm + sense * friction * friction_arm - normal * shoe_arm
            size = ar.size(effort) * arm + friction * friction_arm + normal * shoe_arm
            radius = ar.bring(given.radius)
            residuals += [
                Residual(f"moments about the fulcrum, {turning}", lever, size),
                Residual(f"moments about the axis, {turning}", torque - friction * radius, torque),
                Residual(f"limiting friction, {turning}", friction - mu * normal, normal),
            ]
        return residuals

    def figure(self, given: ShoeBrake, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        radius, shoe_arm, arm, down = (
            ar.bring(x)
            for x in (given.radius, given.shoe_arm, given.effort_arm, given.friction_arm)
        )
        parts: list[Primitive] = [
            drawn_circle((shoe_arm, -down - radius), radius, "drum"),
            Stroke((0.0, 0.0), (arm, 0.0), "lever"),
            Stroke((shoe_arm, 0.0), (shoe_arm, -down), "shoe"),
        ]
        effort = answers[f"effort, {_TURNINGS[0]}"]
        if not isinstance(effort, NoAnswer):
            parts.append(Arrow((arm, 0.0), (0.0, -effort), "P", "answer", pushes=True))
        normal = answers[f"normal, {_TURNINGS[0]}"]
        if not isinstance(normal, NoAnswer):
            parts.append(Arrow((shoe_arm, -down), (0.0, normal), "N", "answer", pushes=True))
        return Drawing(tuple(parts), "the drum, its shoe and the lever with its fulcrum at the end")

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> ShoeBrake:
        """A narrow shoe within about 1/kappa of locking itself."""
        gap = gap_for(rng, kappa, 2.7)
        places = 2 + figures_for(kappa[1])
        friction, shoe_arm = rng.uniform(0.2, 0.5), rng.uniform(200, 400)
        locking = shoe_arm / friction
        return ShoeBrake(
            decimal(friction, places),
            fmpq(rng.randint(100, 300)),
            fmpq(rng.randint(500, 1500)),
            decimal(shoe_arm, places),
            decimal(locking * (1 + rng.choice((-1, 1)) * gap), places),
            torque=fmpq(rng.randint(1000, 99999)),
        )


def _one_way(
    given: ShoeBrake, mu: Number, lever: Number, order: int, ar: Arithmetic
) -> dict[str, Value]:
    """Effort, torque, normal force and friction for one turning of the drum."""
    arm, radius = ar.bring(given.effort_arm), ar.bring(given.radius)
    if given.torque is not None:
        torque = ar.bring(given.torque)
        friction = torque / radius
        normal = friction / mu
        return {
            "effort": normal * lever / arm,
            "torque": torque,
            "normal": normal,
            "friction": friction,
        }
    effort = ar.bring(given.effort)  # type: ignore[arg-type]
    if order <= 0:
        return {"effort": effort, **dict.fromkeys(("torque", "normal", "friction"), LOCKS)}
    normal = effort * arm / lever
    friction = mu * normal
    return {"effort": effort, "torque": friction * radius, "normal": normal, "friction": friction}
