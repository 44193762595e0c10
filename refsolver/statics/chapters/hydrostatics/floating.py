"""Floating upright: draught and stability of pontoons and buoys.

Source of the method: any text of hydrostatics, for instance B. S. Massey, "Mechanics of
Fluids", chapter 2 (from memory): the metacentre lies I / V above the centre of buoyancy, I
the second moment of the area at the waterline about the axis of heel and V the volume
displaced; a body is stable while its centre of gravity lies below the metacentre.
"""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from itertools import accumulate
from types import SimpleNamespace
from typing import Any

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.exact import Exact, rational
from refsolver.quantities.dimensions import (
    AREA,
    FORCE,
    LENGTH,
    SECOND_MOMENT,
    SPECIFIC_WEIGHT,
)
from refsolver.quantities.kinds import (
    Choice,
    ChoiceKind,
    NoAnswer,
    ScalarKind,
    TableKind,
    Value,
)
from refsolver.statics.chapters.hydrostatics.fluids import AFLOAT
from refsolver.statics.contract import (
    Answer,
    Family,
    Mistake,
    Residual,
    Solution,
    many,
    quantity,
    text,
)
from refsolver.statics.drawing import Arrow, Drawing, Mark, Primitive, Region, Stroke
from refsolver.statics.forces.systems import sum_of
from refsolver.statics.naming import distinct_names, keys_of
from refsolver.statics.random_givens import decimal, drawn, figures_for, log_uniform
from refsolver.statics.registry import register
from refsolver.statics.residuals import of_sign
from refsolver.statics.sheets import number_sheet

__all__ = ["FloatingPrism", "PlacedWeight", "Prism"]


@attrs.frozen
class PlacedWeight:
    weight: Exact = quantity(FORCE, "of this part or load", sign="positive")
    height: Exact | None = quantity(
        LENGTH, "of its centre of gravity above the bottom of the body", default=None
    )
    name: str = text("what it is called")


@attrs.frozen
class Prism:
    specific_weight: Exact = quantity(
        SPECIFIC_WEIGHT, "weight per volume of the fluid", sign="positive"
    )
    length: Exact | None = quantity(
        LENGTH, "in plan, along the axis about which it may heel", sign="positive", default=None
    )
    breadth: Exact | None = quantity(
        LENGTH, "in plan, across that axis", sign="positive", default=None
    )
    diameter: Exact | None = quantity(
        LENGTH, "in plan, of an upright cylinder instead", sign="positive", default=None
    )
    weights: tuple[PlacedWeight, ...] = many(
        PlacedWeight, "the body itself and its loads", minimum=0, default=()
    )
    pull: Exact = quantity(
        FORCE, "downward, at the middle of the bottom", sign="not negative", default=rational(0)
    )
    depth: Exact | None = quantity(
        LENGTH, "from the bottom to the edge of its sides", sign="positive", default=None
    )
    draught_allowed: Exact | None = quantity(
        LENGTH, "to which a further load may press it", sign="positive", default=None
    )

    def __attrs_post_init__(self) -> None:
        box = (self.length is not None, self.breadth is not None, self.diameter is not None)
        if box not in ((True, True, False), (False, False, True)):
            raise ValueError("state either the length and the breadth, or the diameter")
        distinct_names(self.weights, "weight")


@attrs.frozen
class _Plan:
    area: Number
    second_moment: Number


def box_second_moment(length: Number, breadth: Number) -> Number:
    """l b^3 / 12 about the axis along l."""
    return length * breadth * breadth * breadth / 12


def metacentric_height(buoyancy_at: Number, radius: Number, gravity_at: Number) -> Number:
    """KB + BM - KG."""
    return buoyancy_at + radius - gravity_at


def _plan(given: Prism, ar: Arithmetic, rules: SimpleNamespace) -> _Plan:
    if given.diameter is not None:
        d = ar.bring(given.diameter)
        square = ar.pi() * d * d / 4
        return _Plan(square, square * d * d / 16)
    assert given.length is not None and given.breadth is not None
    length, breadth = ar.bring(given.length), ar.bring(given.breadth)
    return _Plan(length * breadth, rules.second_moment(length, breadth))


_NO_WEIGHT = NoAnswer("not defined", "nothing weighs it down")
_NO_HEIGHT = NoAnswer("not defined", "the height of a weight is not stated")
_NO_LIMIT = NoAnswer("not defined", "no allowed draught is stated")
_SINKS = NoAnswer("no solution", "it would float deeper than its sides are high")
_UPRIGHT = (
    "centre of buoyancy", "metacentric radius", "metacentre", "centre of gravity",
    "metacentric height", "state",
)  # fmt: skip


@register
class FloatingPrism(Family):
    name = "hydrostatics/floating-prism"
    title = "A box or cylinder floating upright: draught, metacentre, stability"
    givens = Prism
    answers = {
        "draught": Answer(ScalarKind(LENGTH), "depth of the bottom", ("no solution",)),
        "weight": Answer(ScalarKind(FORCE), "of everything, the pull included"),
        "further load": Answer(
            ScalarKind(FORCE), "up to the allowed draught; negative: too heavy", ("not defined",)
        ),
        "centre of buoyancy": Answer(
            ScalarKind(LENGTH), "height above the bottom", ("not defined", "no solution")
        ),
        "metacentric radius": Answer(
            ScalarKind(LENGTH),
            "of the metacentre above the centre of buoyancy",
            ("not defined", "no solution"),
        ),
        "metacentre": Answer(
            ScalarKind(LENGTH), "height above the bottom", ("not defined", "no solution")
        ),
        "centre of gravity": Answer(
            ScalarKind(LENGTH),
            "height above the bottom, the pull included",
            ("not defined", "no solution"),
        ),
        "metacentric height": Answer(
            ScalarKind(LENGTH),
            "of the metacentre above the centre of gravity; negative: it capsizes",
            ("not defined", "no solution"),
        ),
        "state": Answer(
            ChoiceKind(("stable", "neutral", "unstable")),
            "of floating upright, against heel about the axis along the stated length alone; about "
            "the other one it is asked with length and breadth exchanged",
            ("not defined", "no solution"),
        ),
        "greatest heights": Answer(
            TableKind(ScalarKind(LENGTH), "weight"),
            "height of each weight's centre above the bottom at which it just floats neutral",
            ("not defined", "no solution"),
        ),
        "steadying pull": Answer(
            ScalarKind(FORCE),
            "least downward pull at the middle of the bottom that keeps it from capsizing",
            ("not defined", "no solution"),
        ),
        "draught when pulled": Answer(
            ScalarKind(LENGTH), "under that least pull", ("not defined", "no solution")
        ),
    }
    rules = {
        "second_moment": box_second_moment,
        "centre_of_buoyancy": lambda draught: draught / 2,
        "metacentric_height": metacentric_height,
    }
    mistakes = (
        Mistake(
            "second moment about the other axis",
            "length and breadth are exchanged in l b^3 / 12",
            rules={"second_moment": lambda length, breadth: box_second_moment(breadth, length)},
        ),
        Mistake(
            "centre of buoyancy at the waterline",
            "it is taken at the whole draught above the bottom",
            rules={"centre_of_buoyancy": lambda draught: draught},
        ),
        Mistake(
            "distance of the centres added",
            "the height of gravity above buoyancy is added to I / V",
            rules={
                "metacentric_height": lambda buoyancy_at, radius, gravity_at: (
                    radius + gravity_at - buoyancy_at
                )
            },
        ),
        Mistake(
            "metacentric radius taken for the metacentric height",
            "I / V is reported without the distance of the centres",
            rules={"metacentric_height": lambda buoyancy_at, radius, gravity_at: radius},
        ),
    )
    method = (
        "W = gamma A d; KB = d / 2, BM = I / V, KG = sum of W z / W, GM = KB + BM - KG; least "
        "pull: the draught at which GM is zero, d^2 = 2 (sum of W z / (gamma A) - I / A)"
    )
    second_method = (
        "righting moment per angle as the moment of the wedges that dip and rise, gamma int x^2 "
        "dA, less W (KG - KB); each limit put back into the moments"
    )
    caution = AFLOAT

    def solve(self, given: Any, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        plan = _plan(given, ar, rules)
        per_draught = ar.bring(given.specific_weight) * plan.area
        keys = keys_of(given.weights, "weight")
        weights = [ar.bring(w.weight) for w in given.weights]
        total = sum_of([*weights, ar.bring(given.pull)], ar)
        draught = total / per_draught
        answers: dict[str, Value] = {"draught": draught, "weight": total}
        answers["further load"] = _NO_LIMIT
        if given.draught_allowed is not None:
            answers["further load"] = per_draught * ar.bring(given.draught_allowed) - total
        upright = dict.fromkeys((*_UPRIGHT, "greatest heights"), _NO_WEIGHT)
        pulled = dict.fromkeys(("steadying pull", "draught when pulled"), _NO_WEIGHT)
        if given.depth is not None and (
            ar.sign(ar.bring(given.depth) - draught, "sides above the surface") < 0
        ):
            answers["draught"] = _SINKS
            upright = dict.fromkeys(upright, _SINKS)
        elif given.weights:
            upright = self._upright(given, (draught, total, plan, keys, weights), ar, rules)
        if given.weights:
            pulled = self._pulled(given, weights, per_draught, plan, ar)
        answers |= upright | pulled
        numbers = {k: v for k, v in answers.items() if k in _UPRIGHT[:5]}
        shown = {k: v for k, v in numbers.items() if not isinstance(v, NoAnswer)}
        sheets = [
            number_sheet("Area at the waterline", {"A": plan.area}, "", AREA),
            number_sheet(
                "Second moment of that area", {"I": plan.second_moment}, "", SECOND_MOMENT
            ),
            number_sheet("Weight", {"W": total}),
        ]
        if shown:
            sheets.append(number_sheet("Above the bottom", shown, self.method, LENGTH))
        return Solution(answers, tuple(sheets))

    def _upright(
        self, given: Prism, floating: tuple[Any, ...], ar: Arithmetic, rules: SimpleNamespace
    ) -> dict[str, Value]:
        draught, total, plan, keys, weights = floating
        buoyancy_at = rules.centre_of_buoyancy(draught)
        radius = plan.second_moment / (plan.area * draught)
        answers: dict[str, Value] = dict.fromkeys(_UPRIGHT[3:], _NO_HEIGHT)
        answers |= {
            "centre of buoyancy": buoyancy_at,
            "metacentric radius": radius,
            "metacentre": buoyancy_at + radius,
        }
        moments = _moments(given, weights, ar)
        if all(m is not None for m in moments):
            gravity_at = sum_of([m for m in moments if m is not None], ar) / total
            height = rules.metacentric_height(buoyancy_at, radius, gravity_at)
            sign = ar.sign(height, "metacentre above the centre of gravity")
            word = {1: "stable", 0: "neutral", -1: "unstable"}[sign]
            answers |= {
                "centre of gravity": gravity_at,
                "metacentric height": height,
                "state": Choice(word, {"metacentric height": height}),
            }
        highest: dict[str, Value] = {}
        unknown = sum(m is None for m in moments)
        for key, weight, moment, known in zip(
            keys, weights, moments, _but_one(moments, ar), strict=True
        ):
            if unknown > (moment is None):
                highest[key] = _NO_HEIGHT
                continue
            highest[key] = ((buoyancy_at + radius) * total - known) / weight
        answers["greatest heights"] = highest
        return answers

    def _pulled(
        self, given: Prism, weights: Sequence[Number], per_draught: Number, plan: _Plan,
        ar: Arithmetic,
    ) -> dict[str, Value]:  # fmt: skip
        moments = [m for m in _moments(given, weights, ar) if m is not None]
        names = ("steadying pull", "draught when pulled")
        if len(moments) < len(weights):
            return dict.fromkeys(names, _NO_HEIGHT)
        weight = sum_of(weights, ar)
        alone = weight / per_draught
        square = 2 * (sum_of(moments, ar) / per_draught - plan.second_moment / plan.area)
        pull, draught = weight * 0, alone
        if ar.sign(square - alone * alone, "capsizes without a pull") > 0:
            draught = ar.sqrt(square)
            pull = per_draught * draught - weight
        if given.depth is not None and (
            ar.sign(ar.bring(given.depth) - draught, "sides above the surface when pulled") < 0
        ):
            return dict.fromkeys(names, _SINKS)
        return {names[0]: pull, names[1]: draught}

    def check(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Sequence[Residual]:
        fluid = ar.bring(given.specific_weight)
        area, wedges = _by_columns(given, ar)
        total = answers["weight"]
        loads = [ar.bring(w.weight) for w in given.weights]
        residuals = [
            Residual("weights", sum_of([*loads, ar.bring(given.pull)], ar) - total, total + 1)
        ]
        draught = answers["draught"]
        if not isinstance(draught, NoAnswer):
            volume = draught * area
            residuals.append(Residual("weight displaced", fluid * volume - total, total + 1))
        if given.draught_allowed is not None:
            whole = fluid * area * ar.bring(given.draught_allowed)
            off = answers["further load"] + total - whole
            residuals.append(Residual("allowed draught", off, whole + total))
        moments = _moments(given, loads, ar)
        known = [m for m in moments if m is not None]
        if not isinstance(answers["metacentric radius"], NoAnswer):
            residuals += _upright_residuals(answers, fluid * wedges, loads, moments, ar)
        return residuals + _pull_residuals(given, answers, known, (area, wedges), ar)

    def figure(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        draught = answers["draught"]
        sinks = isinstance(draught, NoAnswer)
        wide = ar.bring(given.breadth if given.diameter is None else given.diameter)
        deep = 0.0 if sinks else draught
        tall = max(1.25 * deep, 0.25 * wide) if given.depth is None else ar.bring(given.depth)
        low = -1.2 * tall if sinks else -deep
        corners = (
            (-wide / 2, low),
            (wide / 2, low),
            (wide / 2, low + tall),
            (-wide / 2, low + tall),
        )
        parts: list[Primitive] = [
            Stroke((-wide, 0.0), (wide, 0.0), "surface", "construction"),
            Region(corners, "body"),
        ]
        labels = {"centre of buoyancy": "B", "metacentre": "M", "centre of gravity": "G"}
        for key, label in labels.items():
            if not isinstance(answers[key], NoAnswer):
                parts.append(Mark((0.0, low + answers[key]), label, "answer"))
        if not isinstance(answers["centre of gravity"], NoAnswer):
            at = (0.0, low + answers["centre of gravity"])
            parts.append(Arrow(at, (0.0, -answers["weight"]), "W"))
        return Drawing(tuple(parts), "The body across its axis of heel, with B, G and M, to scale")

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> Prism:
        """A metacentre above or below the centre of gravity by about 1/kappa."""
        return self._made(log_uniform(rng, kappa), rng.randint(1, 3), rng)

    def _made(self, target: float, count: int, rng: random.Random) -> Prism:
        fluid, length, breadth = drawn(rng, 5, 15, 2), drawn(rng, 4, 9), drawn(rng, 2, 4)
        draught = [drawn(rng, 0.2, 1) for _ in range(count)]
        weights = [fluid * length * breadth * d for d in draught]
        deep = sum(draught, fmpq(0))
        metacentre = deep / 2 + breadth * breadth / (12 * deep)
        off = rng.choice((-1, 1)) * rng.uniform(0.3, 0.9) / target
        high = metacentre * (1 + decimal(off, figures_for(target)))
        rows = [PlacedWeight(weight, high) for weight in weights]
        return Prism(fluid, length, breadth, None, tuple(rows), draught_allowed=deep + 1)

    def filled(self, rows: Mapping[str, int], rng: random.Random) -> Prism | None:
        if set(rows) - {"weights"}:
            return None
        return self._made(3.0, rows.get("weights", 1), rng)


def _moments(given: Prism, weights: Sequence[Number], ar: Arithmetic) -> list[Number | None]:
    """W z of each weight; None where no height is stated."""
    return [
        None if item.height is None else weight * ar.bring(item.height)
        for item, weight in zip(given.weights, weights, strict=True)
    ]


def _but_one(moments: Sequence[Number | None], ar: Arithmetic) -> list[Number]:
    """For each moment the sum of all others that are known, by sums from both ends."""
    zero = ar.bring(fmpq(0))
    known = [zero if m is None else m for m in moments]
    before = list(accumulate(known[:-1], initial=zero))
    after = list(accumulate(reversed(known[1:]), initial=zero))
    return [a + b for a, b in zip(before, reversed(after), strict=True)]


def _by_columns(given: Prism, ar: Arithmetic) -> tuple[Number, Number]:
    """Area at the waterline and int x^2 dA: Simpson's rule, or half the polar moment."""
    if given.diameter is not None:
        r = ar.bring(given.diameter) / 2
        area = ar.pi() * r * r
        return area, area * r * r / 2 / 2
    assert given.length is not None and given.breadth is not None
    length, edge = ar.bring(given.length), ar.bring(given.breadth) / 2
    return 2 * edge * length, 2 * edge / 6 * (edge * edge + edge * edge) * length


def _upright_residuals(
    answers: Mapping[str, Value],
    wedges: Number,
    loads: Sequence[Number],
    moments: Sequence[Number | None],
    ar: Arithmetic,
) -> list[Residual]:
    """``wedges``: the moment per angle of the wedges of fluid that dip and rise."""
    draught, total, low = answers["draught"], answers["weight"], answers["centre of buoyancy"]
    size = wedges + total * draught
    rise = answers["metacentre"] - low
    residuals = [
        Residual("middle of the draught", 2 * low - draught, draught),
        Residual("wedges", total * rise - wedges, size),
        Residual("metacentric radius", answers["metacentric radius"] * total - wedges, size),
    ]
    righting = wedges + total * low
    known = [m for m in moments if m is not None]
    if len(known) == len(loads):
        turning = sum_of(known, ar)
        size = size + sum_of([ar.size(m) for m in known], ar)
        off = total * answers["metacentric height"] - (righting - turning)
        residuals.append(Residual("righting moment", off, size))
        sign = {"stable": 1, "neutral": 0, "unstable": -1}[answers["state"].word]
        residuals.append(of_sign("state", sign, righting - turning, size, ar))
        off = answers["centre of gravity"] * total - turning
        residuals.append(Residual("moments of the weights", off, size))
    for i, (key, height) in enumerate(answers["greatest heights"].items()):
        if not isinstance(height, NoAnswer):
            rest = [m for j, m in enumerate(moments) if j != i and m is not None]
            off = height * loads[i] + sum_of(rest, ar) - righting
            limit = ar.size(height) * loads[i] + ar.size(sum_of(rest, ar)) + righting
            residuals.append(Residual(f"neutral by {key}", off, limit))
    return residuals


def _pull_residuals(
    given: Prism,
    answers: Mapping[str, Value],
    moments: Sequence[Number],
    plan: tuple[Number, Number],
    ar: Arithmetic,
) -> list[Residual]:
    pull, draught = answers["steadying pull"], answers["draught when pulled"]
    if isinstance(pull, NoAnswer):
        return []
    fluid, (area, wedges) = ar.bring(given.specific_weight), plan
    weight = sum_of([ar.bring(w.weight) for w in given.weights], ar)
    size = weight + ar.size(pull)
    found = [Residual("pulled down", fluid * area * draught - weight - pull, size)]
    if ar.sign(pull, "a pull is needed") > 0:
        turning = sum_of(moments, ar)
        righting = fluid * wedges + fluid * area * draught * draught / 2
        found.append(Residual("neutral when pulled", righting - turning, righting))
    return found
