"""Equilibrium of a particle whose place or direction is not known beforehand.

A load on one cord, a pulley running on a cable, a knot between two counterweights.
Sources of the method: any text of statics, for instance
S. Timoshenko and D. H. Young, "Engineering Mechanics", chapter on concurrent forces
(triangle of forces, equal tension on both sides of a frictionless pulley), from memory.
"""

from __future__ import annotations

import math
import random
from collections.abc import Mapping, Sequence
from types import SimpleNamespace
from typing import Any

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.exact import Exact
from refsolver.quantities.dimensions import ANGLE, FORCE, LENGTH
from refsolver.quantities.kinds import (
    DirectionKind,
    NoAnswer,
    PointKind,
    ScalarKind,
    TableKind,
    Value,
    VectorKind,
)
from refsolver.statics import cautions
from refsolver.statics.contract import (
    Answer,
    Family,
    Mistake,
    Residual,
    Solution,
    many,
    quantity,
)
from refsolver.statics.drawing import Arrow, Drawing, Mark, Stroke
from refsolver.statics.forces.concurrent import PlaneForce, component_sum, plane_force_row
from refsolver.statics.forces.pulls import closure, pull_of
from refsolver.statics.naming import distinct_names, keys_of
from refsolver.statics.random_givens import decimal, log_uniform, places_for
from refsolver.statics.registry import register
from refsolver.statics.sheets import number_sheet, vector_sheet
from refsolver.statics.vectors import (
    Numbers,
    added,
    brought,
    cross_plane,
    dot,
    length,
    minus,
    scaled,
    vector,
)

__all__ = ["OneCord", "RunningPulley", "TwoCounterweights"]


# --- a load on one cord -------------------------------------------------------------------


@attrs.frozen
class LoadOnOneCord:
    forces: tuple[PlaneForce, ...] = many(PlaneForce, "the forces on the load, its weight too")
    length: Exact = quantity(LENGTH, "of the cord", sign="positive")

    def __attrs_post_init__(self) -> None:
        distinct_names(self.forces, "force")


_NO_PLACE = NoAnswer("no unique answer", "the forces balance: the cord is slack in any direction")


def _weight_for_tension(
    given: Any, answers: Mapping[str, Value], ar: Arithmetic
) -> Mapping[str, Value]:
    return {**answers, "cord": (0 * answers["cord"][0], answers["cord"][1])}


def _drop_for_rise(
    given: Any, answers: Mapping[str, Value], ar: Arithmetic
) -> Mapping[str, Value] | None:
    if isinstance(answers["rise"], NoAnswer):
        return None
    return {**answers, "rise": ar.bring(given.length) - answers["rise"]}


@register
class OneCord(Family):
    name = "particle-equilibrium/one-cord"
    title = "A load on one cord, pulled aside by forces in the plane"
    givens = LoadOnOneCord
    answers = {
        "cord": Answer(VectorKind(FORCE, 2), "the pull of the cord on the load", ("no direction",)),
        "place": Answer(
            PointKind(2),
            "of the load, from the point where the cord is made fast (y up)",
            ("no unique answer",),
        ),
        "rise": Answer(
            ScalarKind(LENGTH),
            "how far the load is above its place when it hangs straight down",
            ("no unique answer",),
        ),
    }
    rules = {"resolved": vector, "component_sum": component_sum}
    mistakes = (
        Mistake(
            "sideways pull left out of the tension",
            "the cord is given the downward load only",
            answers=_weight_for_tension,
        ),
        Mistake(
            "drop given for rise",
            "the depth below the fastening is given for the height gained",
            answers=_drop_for_rise,
        ),
    )
    method = "T = - sum of forces; the cord lies along their resultant R, at L R / |R| from its end"
    second_method = (
        "law of cosines for the pull; moments about the fastening are zero; the cord keeps its "
        "length"
    )
    caution = cautions.TENSIONS

    def solve(self, given: Any, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        parts = [rules.resolved(item.force, ar) for item in given.forces]
        total = tuple(rules.component_sum([p[i] for p in parts], ar) for i in range(2))
        keys = keys_of(given.forces, "force")
        sheet = vector_sheet(
            "Forces", FORCE, {**dict(zip(keys, parts, strict=True)), "sum": total}, self.method
        )
        place: Value = _NO_PLACE
        rise: Value = _NO_PLACE
        axes = zip(total, "xy", strict=True)
        if any(ar.sign(x, f"sum along {letter}") != 0 for x, letter in axes):
            reach = ar.bring(given.length)
            place = scaled(reach / length(total, ar), total)
            rise = reach + place[1]
        answers = {"cord": tuple(-x for x in total), "place": place, "rise": rise}
        return Solution(answers, (sheet,))

    def check(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Sequence[Residual]:
        pulls = [pull_of(item.force, ar) for item in given.forces]
        pull_back = tuple(-x for x in answers["cord"])
        residuals = closure(pulls, keys_of(given.forces, "force"), pull_back, ar)
        place = answers["place"]
        if isinstance(place, NoAnswer):
            return residuals
        reach = ar.bring(given.length)
        moment = component_sum(
            [cross_plane(place, vector(item.force, ar)) for item in given.forces], ar
        )
        size = reach * component_sum([length(scaled(p.size, p.along), ar) for p in pulls], ar)
        down = reach - answers["rise"]
        return [
            *residuals,
            Residual("moments about the fastening", moment, size),
            Residual("length of the cord", dot(place, place) - reach * reach, reach * reach),
            Residual("drop", down + place[1], reach),
        ]

    def figure(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        at = (0.0, 0.0) if isinstance(answers["place"], NoAnswer) else answers["place"]
        parts: list[Any] = [Stroke((0.0, 0.0), at, "cord"), Mark((0.0, 0.0), "fastening")]
        for item, label in zip(given.forces, keys_of(given.forces, "force"), strict=True):
            parts.append(Arrow(at, vector(item.force, ar), label))
        parts.append(Arrow(at, answers["cord"], "T", "answer"))
        return Drawing(tuple(parts), "a load on one cord and the forces on it, to scale")

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> LoadOnOneCord:
        """A load and a pull up that leaves about 1/kappa of it, and a pull aside like it."""
        load = rng.uniform(100, 990)
        left = load / log_uniform(rng, kappa)
        places = places_for(kappa)
        rows = ((load, 270.0), (load - left, 90.0), (left * rng.uniform(0.2, 2), 0.0))
        return LoadOnOneCord(
            tuple(plane_force_row(f, a, places) for f, a in rows),
            decimal(rng.uniform(0.5, 9), 2),
        )

    def filled(self, rows: Mapping[str, int], rng: random.Random) -> LoadOnOneCord | None:
        if set(rows) != {"forces"} or rows["forces"] < 1:
            return None
        return LoadOnOneCord(
            tuple(
                plane_force_row(rng.uniform(10, 990), rng.uniform(0, 360), 1)
                for _ in range(rows["forces"])
            ),
            decimal(rng.uniform(0.5, 9), 2),
        )


# --- a pulley running on a cable ----------------------------------------------------------


@attrs.frozen
class PulleyOnCable:
    length: Exact = quantity(LENGTH, "of the cable from support to support", sign="positive")
    span: Exact = quantity(LENGTH, "horizontal distance of the supports", sign="not negative")
    load: Exact = quantity(FORCE, "the weight on the pulley", sign="positive")
    rise: Exact = quantity(
        LENGTH, "of the second support above the first (negative: below)", default=fmpq(0)
    )


_TOO_SHORT = NoAnswer("no solution", "the cable does not exceed the distance of its supports")


def plumb_of_both_parts(reach: Number, span: Number, ar: Arithmetic) -> Number:
    """The vertical extents of both parts together, sqrt(L^2 - d^2): equally inclined parts."""
    return ar.sqrt(reach * reach - span * span)


def _at_midspan(given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Any:
    if isinstance(answers["place"], NoAnswer):
        return None
    return {**answers, "place": (ar.bring(given.span) / 2, answers["place"][1])}


def _half_the_load(given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Any:
    if isinstance(answers["tension"], NoAnswer):
        return None
    return {**answers, "tension": ar.bring(given.load) / 2}


def _level_supports(given: Any) -> Any | None:
    return None if given.rise == 0 else attrs.evolve(given, rise=fmpq(0))


@register
class RunningPulley(Family):
    name = "particle-equilibrium/running-pulley"
    title = "A load on a pulley that runs freely on a cable of given length"
    givens = PulleyOnCable
    answers = {
        "tension": Answer(ScalarKind(FORCE), "in the cable, the same on both sides",
                          ("no solution",)),
        "place": Answer(PointKind(2), "of the pulley, from the first support (y up)",
                        ("no solution",)),
        "inclination": Answer(ScalarKind(ANGLE), "of both parts to the horizontal",
                              ("no solution",)),
        "parts": Answer(TableKind(ScalarKind(LENGTH), "part"),
                        "the lengths of the parts to the first and to the second support",
                        ("no solution",)),
    }  # fmt: skip
    rules = {"plumb": plumb_of_both_parts}
    mistakes = (
        Mistake("load at midspan", "the pulley is put at midspan whatever the levels",
                answers=_at_midspan),
        Mistake("half the load", "the tension is half the load whatever the inclination",
                answers=_half_the_load),
        Mistake("supports taken level", "the second support is put at the level of the first",
                givens=_level_supports),
    )  # fmt: skip
    method = (
        "both parts are equally inclined: cos a = d / L, 2 T sin a = W, "
        "(l1 - l2) sin a = h, l1 + l2 = L"
    )
    second_method = (
        "the distances of the pulley from the supports add to the cable, their slopes are equal "
        "and opposite, and the vertical pulls resolved by these distances carry the load"
    )
    caution = (
        cautions.TENSIONS
        + " The pulley is frictionless and small, the cable light and inextensible."
    )

    def solve(self, given: Any, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        reach, span, rise, load = brought((given.length, given.span, given.rise, given.load), ar)
        excess = reach * reach - span * span - rise * rise
        if ar.sign(excess, "cable beyond the distance of its supports") <= 0:
            return Solution(dict.fromkeys(self.answers, _TOO_SHORT))
        plumb = rules.plumb(reach, span, ar)
        tension = load * reach / (2 * plumb)
        first = (reach - rise * reach / plumb) / 2
        second = reach - first
        depth = first * plumb / reach
        place = (first * span / reach, -depth)
        answers = {
            "tension": tension,
            "place": place,
            "inclination": ar.atan2(plumb, span, "inclination of the cable"),
            "parts": {"first": first, "second": second},
        }
        sheets = (
            number_sheet("Vertical extent", {"sqrt(L^2 - d^2)": plumb}, self.method, LENGTH),
            number_sheet("Tension", {"T": tension}),
            number_sheet("Lengths", {"l1": first, "l2": second, "depth": depth}, "", LENGTH),
        )
        return Solution(answers, sheets)

    def check(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Sequence[Residual]:
        if isinstance(answers["tension"], NoAnswer):
            return []
        reach, span, rise, load = brought((given.length, given.span, given.rise, given.load), ar)
        to_first = tuple(-x for x in answers["place"])
        to_second = added(to_first, (span, rise))
        one, two = length(to_first, ar), length(to_second, ar)
        tension = answers["tension"]
        pull = added(scaled(tension / one, to_first), scaled(tension / two, to_second))
        steep = reach * ar.sin(answers["inclination"]) * one - to_first[1] * reach
        return [
            Residual("length of the cable", one + two - reach, reach),
            Residual("first part", one - answers["parts"]["first"], reach),
            Residual("second part", two - answers["parts"]["second"], reach),
            Residual("level pulls", pull[0], tension),
            Residual("vertical pulls", pull[1] - load, tension),
            Residual("inclination", steep, reach * reach),
        ]

    def figure(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        ends = ((0.0, 0.0), brought((given.span, given.rise), ar))
        place = answers["place"]
        parts: list[Any] = [Mark(ends[0], "1"), Mark(ends[1], "2")]
        if not isinstance(place, NoAnswer):
            parts += [Stroke(ends[0], place, "cable"), Stroke(place, ends[1])]
            parts.append(Arrow(place, (0.0, -ar.bring(given.load)), "W"))
        return Drawing(tuple(parts), "a pulley on a cable between two supports, to scale")

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> PulleyOnCable:
        """A cable longer than the distance of its supports by about 1/kappa of it."""
        span, rise = rng.uniform(2, 40), rng.uniform(-1, 1)
        extra = 1 / log_uniform(rng, kappa)
        places = places_for(kappa)
        reach = math.hypot(span, rise) * (1 + extra)
        return PulleyOnCable(
            decimal(reach, places),
            decimal(span, places),
            decimal(rng.uniform(10, 990), 1),
            decimal(rise, places),
        )


# --- a knot between two counterweights ----------------------------------------------------


@attrs.frozen
class KnotAndCounterweights:
    left: Exact = quantity(FORCE, "the counterweight over the left pulley", sign="positive")
    right: Exact = quantity(FORCE, "the counterweight over the right pulley", sign="positive")
    load: Exact = quantity(FORCE, "the weight on the knot", sign="positive")
    span: Exact = quantity(LENGTH, "horizontal distance of the pulleys", sign="positive")
    rise: Exact = quantity(
        LENGTH, "of the right pulley above the left one (negative: below)", default=fmpq(0)
    )


_NO_TRIANGLE = NoAnswer(
    "no solution", "no triangle has the three weights for sides: the heaviest wins"
)
_OUT_OF_REACH = NoAnswer(
    "no solution", "with these directions the cords do not meet between the pulleys"
)


def cosine_by_triangle(own: Number, other: Number, load: Number) -> Number:
    """The law of cosines: the angle of the cord with ``own`` pull to the upward vertical."""
    return (load * load + own * own - other * other) / (2 * load * own)


def _other_side_taken(own: Number, other: Number, load: Number) -> Number:
    return cosine_by_triangle(other, own, load)


@register
class TwoCounterweights(Family):
    name = "particle-equilibrium/two-counterweights"
    title = "A knot held by two cords over pulleys with counterweights"
    givens = KnotAndCounterweights
    answers = {
        "left": Answer(DirectionKind(2), "of the left cord, from the knot up to its pulley",
                       ("no solution",)),
        "right": Answer(DirectionKind(2), "of the right cord, from the knot up to its pulley",
                        ("no solution",)),
        "between": Answer(ScalarKind(ANGLE), "the angle between the cords", ("no solution",)),
        "knot": Answer(PointKind(2), "its place from the left pulley (y up)", ("no solution",)),
    }  # fmt: skip
    rules = {"cosine": cosine_by_triangle}
    mistakes = (
        Mistake(
            "sides of the triangle exchanged",
            "each cord is given the angle of the other",
            rules={"cosine": _other_side_taken},
        ),
    )
    method = (
        "triangle of forces with the three weights for sides: cos a = (W^2 + P^2 - Q^2) / (2 W P) "
        "from the vertical; the knot lies where the two cords meet"
    )
    second_method = (
        "the pulls P, Q and the load W in equilibrium along both axes with these directions; "
        "sine rule; both pulleys seen from the knot along the cords"
    )
    caution = cautions.TENSIONS + " The pulleys are frictionless and small, the cords light."

    def solve(self, given: Any, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        left, right, load = brought((given.left, given.right, given.load), ar)
        sides = {"load": (load, left + right), "left": (left, right + load),
                 "right": (right, left + load)}  # fmt: skip
        for name, (one, others) in sides.items():
            if ar.sign(others - one, f"two weights together beyond the third, {name}") <= 0:
                return Solution(dict.fromkeys(self.answers, _NO_TRIANGLE))
        steep = rules.cosine(left, right, load), rules.cosine(right, left, load)
        level = [ar.sqrt(1 - c * c) for c in steep]
        to_left, to_right = (-level[0], steep[0]), (level[1], steep[1])
        inner, turn = dot(to_left, to_right), cross_plane(to_right, to_left)
        answers = {
            "left": to_left,
            "right": to_right,
            "between": ar.atan2(turn, inner, "angle between the cords"),
            "knot": self._knot(given, to_left, to_right, turn, ar),
        }
        sheets = (
            number_sheet(
                "Cosines from the vertical", {"left": steep[0], "right": steep[1]}, self.method,
                FORCE / FORCE,
            ),
            vector_sheet("Directions from the knot", None, {"left": to_left, "right": to_right}),
        )  # fmt: skip
        return Solution(answers, sheets)

    def _knot(
        self, given: Any, to_left: Numbers, to_right: Numbers, turn: Number, ar: Arithmetic
    ) -> Any:
        """l1 u1 = knot to left pulley, l2 u2 = knot to right pulley, l2 u2 - l1 u1 = (d, h)."""
        apart = brought((given.span, given.rise), ar)
        first = cross_plane(to_right, apart) / -turn
        second = cross_plane(to_left, apart) / -turn
        if ar.sign(first, "left cord meets the right") <= 0:
            return _OUT_OF_REACH
        if ar.sign(second, "right cord meets the left") <= 0:
            return _OUT_OF_REACH
        return scaled(-first, to_left)

    def check(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Sequence[Residual]:
        if isinstance(answers["left"], NoAnswer):
            return []
        left, right, load = brought((given.left, given.right, given.load), ar)
        to_left, to_right = answers["left"], answers["right"]
        pulls = added(scaled(left, to_left), scaled(right, to_right))
        one = ar.bring(fmpq(1))
        between = ar.sin(answers["between"])
        residuals = [
            Residual("level pulls", pulls[0], left + right),
            Residual("vertical pulls", pulls[1] - load, load),
            Residual("unit vector, left", dot(to_left, to_left) - 1, one),
            Residual("unit vector, right", dot(to_right, to_right) - 1, one),
            Residual("sine rule, left", left * between - load * to_right[0], left + load),
            Residual("sine rule, right", right * between + load * to_left[0], right + load),
        ]
        knot = answers["knot"]
        if not isinstance(knot, NoAnswer):
            apart = minus(brought((given.span, given.rise), ar), knot)
            size = length(apart, ar) + length(knot, ar)
            residuals.append(Residual("left pulley", cross_plane(knot, to_left), size))
            residuals.append(Residual("right pulley", cross_plane(apart, to_right), size))
        return residuals

    def figure(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        ends = ((0.0, 0.0), brought((given.span, given.rise), ar))
        parts: list[Any] = [Mark(ends[0], "left pulley"), Mark(ends[1], "right pulley")]
        knot = answers["knot"]
        if not isinstance(knot, NoAnswer):
            parts += [Stroke(knot, ends[0], "cord"), Stroke(knot, ends[1], "cord")]
            parts.append(Arrow(knot, (0.0, -ar.bring(given.load)), "W"))
        for end, weight, label in zip(ends, (given.left, given.right), "PQ", strict=True):
            parts.append(Arrow(end, (0.0, -ar.bring(weight)), label))
        return Drawing(tuple(parts), "a knot between two cords with counterweights, to scale")

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> KnotAndCounterweights:
        """Weights that miss a flat triangle by about 1/kappa of the load."""
        left, right = rng.uniform(100, 500), rng.uniform(100, 500)
        short = (left + right) / log_uniform(rng, kappa) / 2
        places = places_for(kappa)
        return KnotAndCounterweights(
            decimal(left, places),
            decimal(right, places),
            decimal(left + right - short, places),
            decimal(rng.uniform(1, 9), 2),
            decimal(rng.uniform(-0.2, 0.2), 2),
        )
