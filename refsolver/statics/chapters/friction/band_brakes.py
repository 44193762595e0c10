"""Band brakes worked by a lever: effort and torque for both turnings of the drum.

The effort turns the lever so as to pull one end of the band tighter; the other end lies on
the fulcrum (simple brake) or is let out by the lever (differential brake). Sources of the
method, from memory: R. S. Khurmi and J. K. Gupta, "Theory of Machines", chapter 19; T. Bevan,
"The Theory of Machines", chapter 8 (band brakes, also with blocks).
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
    integer,
    quantity,
)
from refsolver.statics.drawing import Arrow, Curve, Drawing, Primitive, Stroke, drawn_circle
from refsolver.statics.random_givens import decimal, figures_for, gap_for
from refsolver.statics.registry import register
from refsolver.statics.residuals import of_sign

__all__ = ["BandBrake", "BandBrakeForces"]


@attrs.frozen
class BandBrake:
    friction: Exact = quantity(NUMBER, "coefficient of friction", sign="not negative")
    radius: Exact = quantity(LENGTH, "of the drum", sign="positive")
    effort_arm: Exact = quantity(LENGTH, "of the effort about the fulcrum", sign="positive")
    pull_arm: Exact = quantity(LENGTH, "of the band end that the effort pulls", sign="positive")
    ease_arm: Exact = quantity(
        LENGTH,
        "of the band end that the effort lets out; 0: it is fixed or lies on the fulcrum",
        sign="not negative",
        default=fmpq(0),
    )
    lap: Angle | None = angle("of contact of a plain band", default=None)
    blocks: int = integer("number of blocks under the band; 0: a plain band", default=0)
    block_angle: Angle | None = angle("subtended by a block at the axis", default=None)
    effort: Exact | None = quantity(FORCE, "at the lever", sign="positive", default=None)
    torque: Exact | None = quantity(MOMENT, "braking, on the drum", sign="positive", default=None)

    def __attrs_post_init__(self) -> None:
        effort_or_torque(self)
        if (self.lap is None) == (self.blocks == 0):
            raise ValueError("state the 'lap' of a plain band, or the 'blocks' under it")
        if (self.blocks == 0) != (self.block_angle is None):
            raise ValueError("blocks are stated by 'blocks' and 'block_angle' together")


def lap_in_radians(lap: Angle, ar: Arithmetic) -> Number:
    """The angle of contact in radians."""
    return ar.radians(lap)


def lever_moment(pulled: Number, eased: Number, pull_arm: Number, ease_arm: Number) -> Number:
    """T a of the end pulled, less T b of the end let out."""
    return pulled * pull_arm - eased * ease_arm


def turning_of(ratio: Number) -> Number:
    """T1 - T2 for a slack tension of one."""
    return ratio - 1


def block_tangent(cosine: Number, sine: Number) -> Number:
    """Tangent of half the block's angle."""
    return sine / (1 + cosine)


_TURNINGS = ("pulled end slack", "pulled end tight")
_JAMS = NoAnswer("not defined", "a block grips by itself: friction angle and half angle exceed 90")
_NO_CONTACT = NoAnswer("not defined", "the band or a block touches the drum along no angle")
_NO_GRIP = NoAnswer("no solution", "without grip there is no braking torque")


def _ratio(given: BandBrake, ar: Arithmetic, rules: SimpleNamespace) -> Number | NoAnswer:
    """Tight over slack: exp(mu lap), or ((1 + mu t) / (1 - mu t))^n of n blocks."""
    mu = ar.bring(given.friction)
    if given.lap is not None:
        if ar.sign(ar.radians(given.lap), "angle of contact") <= 0:
            return _NO_CONTACT
        return ar.exp(mu * rules.lap_in_radians(given.lap, ar))
    cosine, sine = ar.cos_sin(given.block_angle)  # type: ignore[arg-type]
    if (
        ar.sign(sine, "sine of a block's angle") <= 0
        or ar.sign(1 + cosine, "angle of a block short of half a turn") <= 0
    ):
        return _NO_CONTACT
    grip = mu * rules.block_tangent(cosine, sine)
    if ar.sign(1 - grip, "grip of a block short of jamming") <= 0:
        return _JAMS
    step, ratio = (1 + grip) / (1 - grip), ar.bring(fmpq(1))
    for _ in range(given.blocks):
        ratio = ratio * step
    return ratio


@register
class BandBrakeForces(Family):
    name = "friction/band-brake"
    title = "Effort and torque of a band brake"
    givens = BandBrake
    answers = {
        "tension ratio": Answer(ScalarKind(NUMBER), "tight over slack", ("not defined",)),
        **{
            f"{what}, {turning}": Answer(
                ScalarKind(MOMENT if what == "torque" else FORCE),
                f"{says}, the drum turning so that the {turning.replace(' end', ' end is')}",
                ("no solution", "not defined"),
            )
            for turning in _TURNINGS
            for what, says in {
                "effort": "at the lever; negative: it must be held off",
                "torque": "braking, on the drum",
                "tight side": "its tension",
                "slack side": "its tension",
            }.items()
        },
        **{
            f"state, {turning}": Answer(
                ChoiceKind(STATES),
                f"the drum turning so that the {turning.replace(' end', ' end is')}",
                ("not defined",),
            )
            for turning in _TURNINGS
        },
        "locking arm": Answer(
            ScalarKind(LENGTH), "arm of the pulled end at which the brake locks itself when that "
            "end is slack", ("not defined",),
        ),
    }  # fmt: skip
    rules = {
        "lap_in_radians": lap_in_radians,
        "lever_moment": lever_moment,
        "turning_of": turning_of,
        "block_tangent": block_tangent,
    }
    mistakes = (
        Mistake(
            "degrees for radians",
            "the angle of contact in degrees is put into the exponential",
            rules={
                "lap_in_radians": lambda lap, ar: (
                    ar.radians(lap) / ar.pi() * 180 if isinstance(lap, Turn) else ar.radians(lap)
                )
            },
        ),
        Mistake(
            "end let out taken as pulled",
            "both ends of the band are given the same turning sense on the lever",
            rules={"lever_moment": lambda pulled, eased, a, b: pulled * a + eased * b},
        ),
        Mistake(
            "slack side left out",
            "the torque is the tight tension times the radius",
            rules={"turning_of": lambda ratio: ratio},
        ),
        Mistake(
            "whole angle of a block",
            "the tangent of the whole angle of a block is used",
            rules={"block_tangent": lambda cosine, sine: sine / cosine},
        ),
        Mistake(
            "turning sense exchanged",
            "the tight side is put where the slack side is",
            answers=lambda given, answers, ar: {
                **answers,
                **{
                    key: answers[key.replace(_TURNINGS[i], _TURNINGS[1 - i])]
                    for i in (0, 1)
                    for key in answers
                    if key.endswith(_TURNINGS[i])
                },
            },
        ),
    )
    method = (
        "T1 / T2 = exp(mu lap), or ((1 + mu tan h)/(1 - mu tan h))^n of n blocks; torque "
        "(T1 - T2) r; lever P L = T_pulled a - T_eased b"
    )
    second_method = "logarithm of the ratio; moments of the lever and of the drum with the answers"
    caution = cautions.BRAKES

    def solve(self, given: BandBrake, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        ratio = _ratio(given, ar, rules)
        if isinstance(ratio, NoAnswer):
            return Solution(dict.fromkeys(self.answers, ratio))
        answers: dict[str, Value] = {
            "tension ratio": ratio,
            "locking arm": ratio * ar.bring(given.ease_arm),
        }
        grips = ar.sign(ar.bring(given.friction), "coefficient of friction") > 0
        rows = []
        for turning in _TURNINGS:
            found = _one_way(given, turning, ratio, grips, ar, rules)
            answers |= {f"{what}, {turning}": x for what, x in found.items()}
            shown = (found[what] for what in ("tight side", "slack side", "effort"))
            rows.append(Row(turning, tuple(None if isinstance(x, NoAnswer) else x for x in shown)))
        columns = tuple(Column(head, FORCE) for head in ("tight", "slack", "effort"))
        return Solution(answers, (Sheet("Band", columns, tuple(rows), self.method),))

    def check(
        self, given: BandBrake, answers: Mapping[str, Value], ar: Arithmetic
    ) -> Sequence[Residual]:
        ratio = answers["tension ratio"]
        if isinstance(ratio, NoAnswer):
            return []
        mu = ar.bring(given.friction)
        if given.lap is not None:
            exponent = mu * ar.radians(given.lap)
            off = ar.log(ratio) - exponent
            residuals = [Residual("logarithm of the ratio", off, 1 + ar.size(exponent))]
        else:
            residuals = [_blocks_left(given, ratio, ar)]
        pull, ease = ar.bring(given.pull_arm), ar.bring(given.ease_arm)
        locking = answers["locking arm"]
        # With that arm the slack end, pulled, balances the tight one by itself.
        residuals.append(Residual("locked", locking - ratio * ease, ratio * (pull + ease)))
        for turning, beyond in zip(_TURNINGS, (pull - locking, ratio * pull - ease), strict=True):
            sign = STATES.index(answers[f"state, {turning}"].word) - 1
            size = (1 + ratio) * (pull + ease) + locking
            residuals.append(of_sign(f"state, {turning}", sign, beyond, size, ar))
        for turning in _TURNINGS:
            if not isinstance(answers[f"tight side, {turning}"], NoAnswer):
                residuals += _balance(given, turning, answers, ar)
        return residuals

    def figure(self, given: BandBrake, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        lap = given.lap
        turned = float(ar.radians(lap)) if lap is not None else 1.5 * math.pi
        radius, pull, ease = (ar.bring(x) for x in (given.radius, given.pull_arm, given.ease_arm))
        start = -math.pi / 2 + turned / 2
        band = tuple(
            (1.04 * radius * math.cos(start + math.pi - turned * i / 60),
             1.04 * radius * math.sin(start + math.pi - turned * i / 60))
            for i in range(61)
        )  # fmt: skip
        level = -2 * radius
        parts: list[Primitive] = [
            drawn_circle((0.0, 0.0), radius, "drum"),
            Curve(band, "band"),
            Stroke((-ease, level), (ar.bring(given.effort_arm), level), "lever"),
        ]
        effort = answers[f"effort, {_TURNINGS[0]}"]
        if not isinstance(effort, NoAnswer):
            at = (ar.bring(given.effort_arm), level)
            parts.append(Arrow(at, (0.0, -effort), "P", "answer", pushes=True))
            tight, slack = (answers[f"{x} side, {_TURNINGS[0]}"] for x in ("tight", "slack"))
            parts.append(Arrow((pull, level), (0.0, slack), "slack", "answer"))
            parts.append(Arrow((-ease, level), (0.0, tight), "tight", "answer"))
        return Drawing(tuple(parts), "the drum, its band and the lever, pulled end slack")

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> BandBrake:
        """A differential brake within about 1/kappa of locking itself."""
        gap = gap_for(rng, kappa, 3.0)
        places = 2 + figures_for(kappa[1])
        friction, lap, ease = rng.uniform(0.1, 0.4), rng.randint(180, 270), rng.randint(20, 60)
        lock = ease * math.exp(friction * math.radians(lap))
        pull = lock * (1 + rng.choice((-1, 1)) * gap)
        return BandBrake(
            decimal(friction, places),
            fmpq(rng.randint(100, 400)),
            fmpq(rng.randint(400, 900)),
            decimal(max(pull, 1.0), places),
            fmpq(ease),
            Turn(fmpq(lap, 360)),
            torque=fmpq(rng.randint(1000, 99999)),
        )


def _one_way(
    given: BandBrake, turning: str, ratio: Number, grips: bool, ar: Arithmetic,
    rules: SimpleNamespace,
) -> dict[str, Value]:  # fmt: skip
    """Effort, torque, tensions and state for one turning of the drum."""
    arms = (ar.bring(given.pull_arm), ar.bring(given.ease_arm))
    one = ar.bring(fmpq(1))
    tensions = (one, ratio) if turning == _TURNINGS[0] else (ratio, one)
    lever = rules.lever_moment(*tensions, *arms)
    order = ar.sign(lever, f"lever moment, {turning}")
    found: dict[str, Value] = {"state": Choice(STATES[1 + order], {"lever moment": lever})}
    radius, arm = ar.bring(given.radius), ar.bring(given.effort_arm)
    if given.torque is None:
        effort = ar.bring(given.effort)  # type: ignore[arg-type]
        if order <= 0:
            return {**found, "effort": effort,
                    **dict.fromkeys(("torque", "tight side", "slack side"), LOCKS)}  # fmt: skip
        slack = effort * arm / lever
        torque = slack * rules.turning_of(ratio) * radius
    elif not grips:
        whats = ("effort", "torque", "tight side", "slack side")
        return {**found, **dict.fromkeys(whats, _NO_GRIP)}
    else:
        torque = ar.bring(given.torque)
        slack = torque / (rules.turning_of(ratio) * radius)
        effort = slack * lever / arm
    return {**found, "effort": effort, "torque": torque,
            "tight side": slack * ratio, "slack side": slack}  # fmt: skip


def _blocks_left(given: BandBrake, ratio: Number, ar: Arithmetic) -> Residual:
    """Block after block on a unit of tight tension, by half angles written as roots."""
    cosine, _ = ar.cos_sin(given.block_angle)  # type: ignore[arg-type]
    mu = ar.bring(given.friction)
    rise, run = mu * ar.sqrt((1 - cosine) / 2), ar.sqrt((1 + cosine) / 2)
    tight, slack = ratio, ar.bring(fmpq(1))
    for _ in range(given.blocks):
        tight, slack = tight * (run - rise), slack * (run + rise)
    return Residual("block after block", tight - slack, tight + slack)


def _balance(
    given: BandBrake, turning: str, answers: Mapping[str, Value], ar: Arithmetic
) -> list[Residual]:
    tight, slack, effort, torque = (
        answers[f"{what}, {turning}"] for what in ("tight side", "slack side", "effort", "torque")
    )
    pull, ease, arm, radius = (
        ar.bring(x) for x in (given.pull_arm, given.ease_arm, given.effort_arm, given.radius)
    )
    pulled, eased = (slack, tight) if turning == _TURNINGS[0] else (tight, slack)
    lever = pulled * pull - eased * ease - effort * arm
    size = (tight + slack) * (pull + ease) + ar.size(effort) * arm
    drum = torque + slack * radius - tight * radius
    ratio = answers["tension ratio"] * slack - tight
    return [
        Residual(f"moments of the lever, {turning}", lever, size),
        Residual(f"moments of the drum, {turning}", drum, (tight + slack) * radius),
        Residual(f"ratio, {turning}", ratio, tight + slack),
    ]
