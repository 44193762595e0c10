"""Gravity dams and walls against a fluid: overturning, sliding, pressure on the base.

Source of the method: any text of hydraulics or masonry, for instance B. S. Massey,
"Mechanics of Fluids", and M. Merriman, "A Text-Book on Retaining Walls and Masonry Dams"
(both from memory): moments about the toe; a joint that takes no tension; the middle third.
"""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from types import SimpleNamespace
from typing import Any

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.exact import Exact, rational
from refsolver.quantities.dimensions import (
    FORCE,
    LENGTH,
    MOMENT,
    NUMBER,
    PRESSURE,
)
from refsolver.quantities.kinds import Choice, ChoiceKind, NoAnswer, ScalarKind, Value
from refsolver.statics import cautions
from refsolver.statics.chapters.hydrostatics.dam_strips import WITHIN, bearing_of, by_strips
from refsolver.statics.chapters.hydrostatics.fluids import (
    DENSITY_MISTAKES,
    WeighedFluid,
    gravity_given,
    needs_gravity,
    weight_of_density,
    weight_of_fluid,
)
from refsolver.statics.contract import (
    Answer,
    Column,
    Family,
    Mistake,
    Residual,
    Row,
    Sheet,
    Solution,
    one,
    quantity,
)
from refsolver.statics.drawing import Arrow, Drawing, Mark, Primitive, Region, Stroke
from refsolver.statics.forces.systems import sum_of
from refsolver.statics.limits import exceeds
from refsolver.statics.random_givens import (
    drawn,
    figures_for,
    log_uniform,
    rounded,
    share_of,
)
from refsolver.statics.registry import register
from refsolver.statics.residuals import least_of, of_sign

__all__ = ["Dam", "GravityDam"]


@attrs.frozen(kw_only=True)
class Dam:
    height: Exact = quantity(LENGTH, "from base to crest", sign="positive")
    crest: Exact = quantity(LENGTH, "width of the crest", sign="not negative")
    upstream_run: Exact = quantity(
        LENGTH, "of the heel in front of the crest's edge", sign="not negative",
        default=rational(0),
    )  # fmt: skip
    downstream_run: Exact = quantity(
        LENGTH, "of the toe behind the crest's edge", sign="not negative", default=rational(0)
    )
    length: Exact = quantity(LENGTH, "of the dam that is looked at, say 1 m", sign="positive")
    dam: WeighedFluid = one(WeighedFluid, "what the dam is made of")
    fluid: WeighedFluid = one(WeighedFluid, "what it holds back")
    upstream: Exact = quantity(LENGTH, "depth of the fluid upstream", sign="positive")
    downstream: Exact = quantity(
        LENGTH, "depth of the fluid downstream", sign="not negative", default=rational(0)
    )
    uplift: Exact = quantity(
        NUMBER, "share of the full pressure that acts under the base", sign="not negative",
        default=rational(0),
    )  # fmt: skip
    friction: Exact | None = quantity(
        NUMBER, "coefficient of friction at the base", sign="positive", default=None
    )
    gravity: Exact | None = gravity_given()

    def __attrs_post_init__(self) -> None:
        needs_gravity((self.dam, self.fluid), self.gravity)
        for name in ("upstream", "downstream"):
            depth = getattr(self, name)
            if exceeds(depth, self.height):
                raise ValueError(f"{name}: the fluid stands higher than the dam")
        if exceeds(self.uplift, fmpq(1)):
            raise ValueError("the uplift is a share from 0 to 1")
        if self.crest == 0 and self.upstream_run == 0 and self.downstream_run == 0:
            raise ValueError("a dam needs a base: state the crest or the runs of its faces")


@attrs.frozen
class _Action:
    """A force, its arm about the toe, and whether it turns the dam over."""

    key: str
    force: Number
    arm: Number
    upsets: bool
    upright: int
    """+1 down, -1 up, 0 horizontal."""


def thrust_height(depth: Number) -> Number:
    """h / 3 above the base."""
    return depth / 3


def over_the_face(weight: Number, depth: Number, run: Number, height: Number) -> Number:
    """Fluid that stands over a sloping face: gamma b h (run h / height) / 2."""
    return weight * depth * depth * run / height / 2


def toe_beyond_the_third(mean: Number, arm: Number, base: Number) -> Number:
    """2 V / (3 a) over the length: a triangle, since the joint takes no tension."""
    return mean * base * 2 / (3 * arm)


_NO_HOLD = NoAnswer("no solution", "the resultant passes outside the base")
_NO_FRICTION = NoAnswer("not defined", "no friction is stated")
_NO_THRUST = NoAnswer("not defined", "the thrusts of both sides balance")
_AFLOAT = NoAnswer("not defined", "the uplift lifts the dam: nothing presses on its base")
_WORDS = (WITHIN, "outside the middle third", "overturns")


@register
class GravityDam(Family):
    name = "hydrostatics/gravity-dam"
    title = "A gravity dam or wall: safety against overturning and sliding, and its base"
    givens = Dam
    answers = {
        "weight": Answer(ScalarKind(FORCE), "of the dam"),
        "thrust": Answer(ScalarKind(FORCE), "horizontal, upstream less downstream"),
        "vertical": Answer(ScalarKind(FORCE), "on the base, downward, less the uplift"),
        "overturning moment": Answer(
            ScalarKind(MOMENT), "about the toe, of upstream thrust and uplift"
        ),
        "righting moment": Answer(
            ScalarKind(MOMENT), "about the toe, of all weights and the downstream thrust"
        ),
        "overturning factor": Answer(ScalarKind(NUMBER), "righting over overturning moment"),
        "sliding factor": Answer(
            ScalarKind(NUMBER),
            "friction over thrust, whichever way that acts",
            ("not defined",),
        ),
        "from toe": Answer(
            ScalarKind(LENGTH), "of the point where the resultant cuts the base", ("no solution",)
        ),
        "eccentricity": Answer(
            ScalarKind(LENGTH),
            "of that point from the middle of the base, toward the toe",
            ("no solution",),
        ),
        "pressure at toe": Answer(ScalarKind(PRESSURE), "under the base", ("no solution",)),
        "pressure at heel": Answer(ScalarKind(PRESSURE), "under the base", ("no solution",)),
        "state": Answer(ChoiceKind(_WORDS), "where the resultant cuts the base"),
    }
    rules = {
        "weight_of_density": weight_of_density,
        "thrust_height": thrust_height,
        "over_the_face": over_the_face,
        "beyond_the_third": toe_beyond_the_third,
    }
    mistakes = (
        Mistake(
            "thrust at half the depth",
            "the fluid is taken to press at the middle of its depth",
            rules={"thrust_height": lambda depth: depth / 2},
        ),
        Mistake(
            "fluid over the sloping faces left out",
            "the weight of the fluid that stands on the faces is forgotten",
            rules={"over_the_face": lambda weight, depth, run, height: weight * 0},
        ),
        Mistake(
            "uplift left out",
            "the pressure under the base is forgotten",
            givens=lambda given: (
                None if given.uplift == 0 else attrs.evolve(given, uplift=rational(0))
            ),
        ),
        Mistake(
            "tension taken at the heel",
            "the straight line of pressures is kept where the joint opens",
            rules={"beyond_the_third": lambda mean, arm, base: mean * (4 - 6 * arm / base)},
        ),
        Mistake(
            "downstream fluid left out",
            "what stands against the toe is forgotten",
            givens=lambda given: (
                None if given.downstream == 0 else attrs.evolve(given, downstream=rational(0))
            ),
        ),
        *DENSITY_MISTAKES,
    )
    method = (
        "weights, thrusts gamma b h^2 / 2 at h / 3, uplift; a = (righting - overturning) / V; "
        "pressures V / (B b) (1 + 6 e / B) and (1 - 6 e / B), or 2 V / (3 a b) beyond the third"
    )
    second_method = (
        "the section by its corners, the pressures on the faces by Simpson's rule, the uplift as "
        "two triangles; the pressures under the base put together again"
    )
    caution = cautions.DAMS

    def solve(self, given: Any, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        actions, base = _actions(given, ar, rules)
        zero = ar.bring(fmpq(0))
        vertical = sum_of([a.force * a.upright for a in actions if a.upright], ar)
        thrust = sum_of([a.force if a.upsets else -a.force for a in actions if not a.upright], ar)
        upsetting = sum_of([a.force * a.arm for a in actions if a.upsets], ar)
        righting = sum_of([a.force * a.arm for a in actions if not a.upsets], ar)
        answers: dict[str, Value] = {
            "weight": sum_of([a.force for a in actions[:3]], ar),
            "thrust": thrust,
            "vertical": vertical,
            "overturning moment": upsetting,
            "righting moment": righting,
            "overturning factor": righting / upsetting,
            "sliding factor": _NO_FRICTION,
        }
        if given.friction is not None:
            side = ar.sign(thrust, "upstream thrust beyond the downstream one")
            if ar.sign(vertical, "vertical force on the base") <= 0:
                answers["sliding factor"] = _AFLOAT
            else:
                slides = ar.bring(given.friction) * vertical
                answers["sliding factor"] = slides / (thrust * side) if side else _NO_THRUST
        answers |= _base(righting - upsetting, vertical, base, ar.bring(given.length), ar, rules)
        rows = [Row(a.key, (a.force, a.arm, a.force * a.arm * (-1 if a.upsets else 1)))
                for a in actions]  # fmt: skip
        rows.append(Row("sum", (None, None, righting - upsetting + zero)))
        columns = (Column("force", FORCE), Column("arm", LENGTH), Column("moment", MOMENT))
        return Solution(answers, (Sheet("About the toe", columns, tuple(rows), self.method),))

    def check(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Sequence[Residual]:
        weight, faces, uplift, base = by_strips(given, ar)
        down = weight[0] + faces[1] - uplift[0]
        size = weight[0] + uplift[0] + ar.size(faces[0]) + ar.size(faces[1])
        righting, upsetting = answers["righting moment"], answers["overturning moment"]
        net = weight[1] + faces[2] - uplift[1]
        turning = righting + upsetting
        residuals = [
            Residual("weight by corners", answers["weight"] - weight[0], size),
            Residual("thrust by strips", answers["thrust"] - faces[0], size),
            Residual("vertical", answers["vertical"] - down, size),
            Residual("moment about the toe", righting - upsetting - net, turning),
            Residual("overturning", upsetting - faces[3] - uplift[1], turning),
            Residual(
                "overturning factor", answers["overturning factor"] * upsetting - righting, turning
            ),
        ]
        if not isinstance(answers["sliding factor"], NoAnswer):
            off = answers["sliding factor"] * ar.size(faces[0]) - ar.bring(given.friction) * down
            residuals.append(Residual("sliding", off, size))
        word = answers["state"].word
        # Between toe and heel, or between the third parts, if both moments are righting.
        inner = base / 3 if word != _WORDS[2] else 0 * base
        least = least_of([net - inner * down, (base - inner) * down - net], ar)
        residuals.append(of_sign("state", 1 if word == WITHIN else -1, least, turning, ar))
        if isinstance(answers["from toe"], NoAnswer):
            return residuals
        place = answers["from toe"]
        middle = place + answers["eccentricity"] - base / 2
        residuals.append(Residual("place on the base", place * down - net, turning))
        residuals.append(Residual("middle of the base", middle, base))
        toe, heel = answers["pressure at toe"], answers["pressure at heel"]
        length = ar.bring(given.length)
        bearing, about = bearing_of(answers["state"].word, toe, heel, place, base, ar)
        residuals.append(Residual("pressures under the base", bearing * length - down, size))
        residuals.append(Residual("their moment", about * length - net, turning))
        return residuals

    def figure(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        height, crest = ar.bring(given.height), ar.bring(given.crest)
        heel, toe = ar.bring(given.upstream_run), ar.bring(given.downstream_run)
        base = heel + crest + toe
        corners = ((0.0, 0.0), (base, 0.0), (heel + crest, height), (heel, height))
        up, low = ar.bring(given.upstream), ar.bring(given.downstream)
        parts: list[Primitive] = [
            Region(corners, "dam"),
            Stroke((-base, up), (heel * up / height, up), "surface", "construction"),
            Arrow((heel * up / height / 3, up / 3), (answers["thrust"], 0.0), "thrust",
                  pushes=True),
            Arrow((base / 2, height / 3), (0.0, -answers["vertical"]), "vertical"),
        ]  # fmt: skip
        if low:
            edge = base - toe * low / height
            parts.append(Stroke((edge, low), (2 * base, low), "tail", "construction"))
        if not isinstance(answers["from toe"], NoAnswer):
            parts.append(Mark((base - answers["from toe"], 0.0), "resultant", "answer"))
        return Drawing(tuple(parts), "The section of the dam, the levels and the resultant's place")

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> Dam:
        """A dam that is about to turn over, but for about 1/kappa of its moment."""
        target = log_uniform(rng, kappa)
        height, crest = drawn(rng, 3, 20), drawn(rng, 1, 3)
        fluid, depth = drawn(rng, 9, 11, 1), height * drawn(rng, 0.6, 0.99, 2)
        runs = [drawn(rng, 0, 3), drawn(rng, 0, 6)]
        need = _least_weight(height, crest, runs, fluid, depth)
        heavier = rounded(need * (1 + share_of(target, rng)), figures_for(target) + 2)
        alone = target > 30 or rng.random() < 0.7
        tail = rational(0) if alone else height * drawn(rng, 0, 0.2, 2)
        return Dam(
            height=height, crest=crest, upstream_run=runs[0], downstream_run=runs[1],
            length=fmpq(1), dam=WeighedFluid(heavier), fluid=WeighedFluid(fluid), upstream=depth,
            downstream=tail, friction=drawn(rng, 0.3, 0.8, 2),
            uplift=rational(0) if alone else drawn(rng, 0, 1, 2),
        )  # fmt: skip


def _actions(given: Dam, ar: Arithmetic, rules: SimpleNamespace) -> tuple[list[_Action], Number]:
    length, height = ar.bring(given.length), ar.bring(given.height)
    stone = weight_of_fluid(given.dam, given.gravity, ar, rules) * length
    water = weight_of_fluid(given.fluid, given.gravity, ar, rules) * length
    heel, crest, toe = (
        ar.bring(x) for x in (given.upstream_run, given.crest, given.downstream_run)
    )
    base = heel + crest + toe
    up, low = ar.bring(given.upstream), ar.bring(given.downstream)
    over_heel = rules.over_the_face(water, up, heel, height)
    over_toe = rules.over_the_face(water, low, toe, height)
    share = ar.bring(given.uplift) * water * base / 2
    actions = [
        _Action("dam under the upstream face", stone * heel * height / 2, toe + crest + heel / 3,
                False, 1),
        _Action("dam under the crest", stone * crest * height, toe + crest / 2, False, 1),
        _Action("dam under the downstream face", stone * toe * height / 2, 2 * toe / 3, False, 1),
        _Action("fluid over the upstream face", over_heel, base - heel * up / height / 3, False, 1),
        _Action("fluid over the downstream face", over_toe, toe * low / height / 3, False, 1),
        _Action("upstream thrust", water * up * up / 2, rules.thrust_height(up), True, 0),
        _Action("downstream thrust", water * low * low / 2, rules.thrust_height(low), False, 0),
        _Action("uplift from the heel", share * up, 2 * base / 3, True, -1),
        _Action("uplift from the toe", share * low, base / 3, True, -1),
    ]  # fmt: skip
    return actions, base


def _base(
    moment: Number, vertical: Number, base: Number, length: Number, ar: Arithmetic,
    rules: SimpleNamespace,
) -> dict[str, Value]:  # fmt: skip
    """Where the resultant cuts the base, and the pressures there."""
    names = ("from toe", "eccentricity", "pressure at toe", "pressure at heel")
    held = ar.sign(vertical, "vertical force on the base") > 0
    if not held or ar.sign(moment, "moment about the toe") <= 0:
        return dict.fromkeys(names, _NO_HOLD) | {"state": Choice("overturns")}
    place = moment / vertical
    behind = base - place
    if ar.sign(behind, "resultant in front of the heel") <= 0:
        return dict.fromkeys(names, _NO_HOLD) | {"state": Choice("overturns")}
    mean = vertical / (base * length)
    off = base / 2 - place
    near_toe = ar.sign(3 * place - base, "resultant from the toe beyond a third of the base")
    near_heel = ar.sign(3 * behind - base, "resultant from the heel beyond a third of the base")
    toe, heel = mean * (1 + 6 * off / base), mean * (1 - 6 * off / base)
    if near_toe < 0:
        toe, heel = rules.beyond_the_third(mean, place, base), mean * 0
    elif near_heel < 0:
        toe, heel = mean * 0, rules.beyond_the_third(mean, behind, base)
    word = _WORDS[0] if near_toe >= 0 and near_heel >= 0 else _WORDS[1]
    state = Choice(word, {"from the toe": place, "from the heel": behind})
    return {**dict(zip(names, (place, off, toe, heel), strict=True)), "state": state}


def _least_weight(
    height: fmpq, crest: fmpq, runs: Sequence[fmpq], fluid: fmpq, depth: fmpq
) -> fmpq:
    """The weight per volume at which the empty-tailed dam would just turn over."""
    heel, toe = runs
    base = heel + crest + toe
    arms = (
        heel * height / 2 * (toe + crest + heel / 3)
        + crest * height * (toe + crest / 2)
        + toe * height / 2 * 2 * toe / 3
    )
    over = fluid * depth * depth * heel / height / 2 * (base - heel * depth / height / 3)
    need = (fluid * depth * depth * depth / 6 - over) / arms
    return max(need, fmpq(1))
