"""A cable under its own weight between two supports: it hangs in a catenary.

Source of the method: R. C. Hibbeler, "Engineering Mechanics: Statics", section 7.4 (cable
subjected to its own weight), from memory; supports at different levels by the hyperbolic
functions of half the sum and half the difference of the end parameters: H. M. Irvine,
"Cable Structures", chapter 1, from memory.
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
from refsolver.quantities.dimensions import FORCE, LENGTH, LINE_LOAD
from refsolver.quantities.kinds import NoAnswer, ScalarKind, Value
from refsolver.statics import cautions
from refsolver.statics.chapters.cables.cable import (
    STATES,
    Station,
    checked_stations,
    dips_of,
    greatest_for_horizontal,
    nearly_straight,
    no_solution,
    stated_one,
    stations_anywhere,
    stations_in_a_row,
    supports_level,
)
from refsolver.statics.chapters.cables.catenary_roots import (
    by_dips,
    by_length,
    by_sag,
    by_tension,
    half_angle,
    least_tension,
)
from refsolver.statics.chapters.cables.profiles import (
    ANSWERS,
    Curve,
    described,
    dip_taken_for_sag,
    drawn,
    horizontal_for_greatest,
    lowest_at_midspan,
    tension_of,
    uniform_residuals,
)
from refsolver.statics.contract import (
    Answer,
    Family,
    Mistake,
    Residual,
    Solution,
    choice,
    many,
    quantity,
    text,
)
from refsolver.statics.drawing import Drawing
from refsolver.statics.random_givens import decimal, figures_for, log_uniform
from refsolver.statics.registry import register
from refsolver.statics.vectors import brought

__all__ = ["Catenary", "HangingCable"]

_STATED = ("length", "sag", "dip", "horizontal", "greatest", "parameter")
_EASY = 30
"""A condition number up to which the quantity stated makes no difference."""


@attrs.frozen
class HangingCable:
    span: Exact = quantity(LENGTH, "horizontal distance of the supports", sign="positive")
    load: Exact = quantity(LINE_LOAD, "weight per length of cable", sign="positive")
    rise: Exact = quantity(
        LENGTH, "of the second support above the first (negative: below)", default=fmpq(0)
    )
    length: Exact | None = quantity(
        LENGTH,
        "of the cable between its supports; or state another of these six",
        sign="positive",
        default=None,
    )
    sag: Exact | None = quantity(
        LENGTH,
        "at midspan below the line joining the supports",
        sign="positive",
        default=None,
    )
    dip: Exact | None = quantity(
        LENGTH, "of the lowest point, between the supports, below the first", default=None
    )
    horizontal: Exact | None = quantity(
        FORCE, "the horizontal tension", sign="positive", default=None
    )
    greatest: Exact | None = quantity(FORCE, "the greatest tension", sign="positive", default=None)
    parameter: Exact | None = quantity(
        LENGTH, "c of y = c cosh(x/c): horizontal tension over weight per length",
        sign="positive", default=None,
    )  # fmt: skip
    state: str = choice(STATES, "which of two states with one greatest tension", default=STATES[0])
    stations: tuple[Station, ...] = many(
        Station, "places where the cable is asked for", minimum=0, default=()
    )
    first: str = text("name of the first support", default="first")
    second: str = text("name of the second support", default="second")

    def __attrs_post_init__(self) -> None:
        if stated_one(self, _STATED) != "greatest" and self.state != STATES[0]:
            raise ValueError("a 'deeper' state is a matter of a stated greatest tension only")
        checked_stations(self.stations, self.span, (self.first, self.second))


# --- rules --------------------------------------------------------------------------------


def half_span_from_sag(span: Number, sag: Number, m: Number, ar: Arithmetic) -> Number:
    """L / (2 c) of the catenary with this sag."""
    return by_sag(2 * sag / span, m, ar)


def _parabola_from_sag(span: Number, sag: Number, m: Number, ar: Arithmetic) -> Number:
    """L / (2 c) with c = L^2 / (8 f)."""
    return 4 * sag / span


def arc_length(span: Number, d: Number, middle: Number, ar: Arithmetic) -> Number:
    """c (sinh of one end - sinh of the other) = 2 c sinh d cosh(middle)."""
    return span * ar.sinh(d) * ar.cosh(middle) / d


def _arc_by_series(span: Number, d: Number, middle: Number, ar: Arithmetic) -> Number:
    """L + 8 f^2 / (3 L) with the sag of the catenary."""
    sag = span * (ar.cosh(d) - 1) * ar.cosh(middle) / (2 * d)
    return span + 8 * sag * sag / (3 * span)


def _half_the_length(given: HangingCable) -> HangingCable | None:
    if given.length is None or not isinstance(given.length, fmpq):
        return None
    return attrs.evolve(given, length=given.length / 2)


def _twice_the_length(given: HangingCable) -> HangingCable | None:
    if given.length is None or not isinstance(given.length, fmpq):
        return None
    return attrs.evolve(given, length=given.length * 2)


def _other_state(given: HangingCable) -> HangingCable | None:
    if given.greatest is None:
        return None
    return attrs.evolve(given, state=STATES[1 - STATES.index(given.state)])


# --- half the span over the parameter, from each way of stating the case --------------------


@attrs.frozen
class _Shape:
    """``d`` = L / (2 c), and the parameters x/c of both ends where a dip gives them."""

    d: Number
    ends: tuple[Number, Number] | None = None
    level: tuple[bool, bool] = (False, False)


def _by_dip(given: HangingCable, ar: Arithmetic) -> _Shape | str:
    found = dips_of(given, ar)
    if isinstance(found, str):
        return found
    dips, signs = found
    span = ar.bring(given.span)
    kept = [dip for dip, sign in zip(dips, signs, strict=True) if sign]
    c = by_dips(span, kept, ar)
    left, right = (
        2 * half_angle(dip, c, ar) if sign else 0 * span
        for dip, sign in zip(dips, signs, strict=True)
    )
    return _Shape(span / (2 * c), (-left, right), (signs[0] == 0, signs[1] == 0))


def _by_length(given: HangingCable, ar: Arithmetic) -> _Shape | str:
    assert given.length is not None
    span, rise, whole = brought((given.span, given.rise, given.length), ar)
    square = whole * whole - rise * rise
    if ar.sign(square - span * span, "cable beyond the chord") <= 0:
        return "the cable does not exceed the distance of its supports"
    return _Shape(by_length(ar.sqrt(square) / span, ar))


def _by_greatest(given: HangingCable, ar: Arithmetic) -> _Shape | str:
    assert given.greatest is not None
    span, rise, load, greatest = brought((given.span, given.rise, given.load, given.greatest), ar)
    m = ar.size(rise) / span
    ratio = 2 * greatest / (load * span) - m
    too_small = "no cable of this weight has so small a greatest tension over this span"
    if ar.sign(ratio, "greatest tension beyond the weight of the rise") <= 0:
        return too_small
    there, least = least_tension(m, ar)
    if ar.sign(ratio * ratio - least, "greatest tension beyond the least possible") < 0:
        return too_small
    return _Shape(by_tension(ratio, m, there, given.state == STATES[1], ar))


def _shape(given: HangingCable, ar: Arithmetic, rules: SimpleNamespace) -> _Shape | str:
    span, load, rise = brought((given.span, given.load, given.rise), ar)
    if given.parameter is not None:
        return _Shape(span / (2 * ar.bring(given.parameter)))
    if given.horizontal is not None:
        return _Shape(span * load / (2 * ar.bring(given.horizontal)))
    if given.sag is not None:
        return _Shape(rules.half_span_from_sag(span, ar.bring(given.sag), rise / span, ar))
    if given.dip is not None:
        return _by_dip(given, ar)
    return (_by_length if given.length is not None else _by_greatest)(given, ar)


def _curve(given: HangingCable, shape: _Shape, ar: Arithmetic, rules: SimpleNamespace) -> Curve:
    """y' = sinh(middle + d u) at u half spans from midspan."""
    span, load, rise = brought((given.span, given.load, given.rise), ar)
    d = shape.d
    c = span / (2 * d)
    middle = ar.asinh(rise / (2 * c * ar.sinh(d)))
    start, end = shape.ends or (middle - d, middle + d)
    down = ar.sinh(start / 2)

    def slope(u: Number) -> Number:
        return ar.sinh(middle + d * u)

    def height(u: Number) -> Number:
        return 2 * c * ar.sinh(start + d * (1 + u) / 2) * ar.sinh(d * (1 + u) / 2)

    return Curve(
        load * c,
        sag=c * ar.cosh(middle) * (ar.cosh(d) - 1),
        length=rules.arc_length(span, d, middle, ar),
        low=(-c * start, -2 * c * down * down),
        slope=slope,
        height=height,
        ends=None if shape.ends is None else (ar.sinh(start), ar.sinh(end)),
        inside=given.dip is not None,
        level_ends=shape.level,
    )


# --- the family ---------------------------------------------------------------------------


@register
class Catenary(Family):
    name = "cables/catenary"
    title = "A cable hanging under its own weight over a given span (a catenary)"
    givens = HangingCable
    answers = {
        **ANSWERS,
        "parameter": Answer(
            ScalarKind(LENGTH), "c of y = c cosh(x/c), horizontal tension over weight per length",
            ("no solution",),
        ),
    }  # fmt: skip
    rules = {
        "half_span_from_sag": half_span_from_sag,
        "arc_length": arc_length,
        "tension": tension_of,
    }
    mistakes = (
        supports_level,
        greatest_for_horizontal,
        horizontal_for_greatest,
        lowest_at_midspan,
        Mistake("parabola for the catenary", "the horizontal tension is taken as w L^2 / (8 f)",
                rules={"half_span_from_sag": _parabola_from_sag}),
        Mistake("series taken for the length", "L + 8 f^2 / (3 L) is given as the exact length",
                rules={"arc_length": _arc_by_series}),
        Mistake("half the length", "half of the cable is put in as the whole",
                givens=_half_the_length),
        Mistake("twice the length", "the whole cable is put in as half of it",
                givens=_twice_the_length),
        Mistake("the other state", "of the two states with this greatest tension the other is "
                "taken", givens=_other_state),
        dip_taken_for_sag,
    )  # fmt: skip
    method = (
        "y = c cosh(x/c) with H = w c; with d = L/(2c): sqrt(S^2 - h^2) = 2 c sinh d, h = "
        "2 c sinh d sinh(mid), S = 2 c sinh d cosh(mid); T = H cosh; d from what is stated by a "
        "proven root"
    )
    second_method = (
        "T^2 = H^2 + V^2 and T2 - T1 = w h at the supports; the vertical pulls carry the weight; "
        "the span from c (asinh V2/H + asinh V1/H); what is stated found again"
    )
    caution = cautions.CABLES

    def solve(self, given: Any, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        shape = _shape(given, ar, rules)
        if isinstance(shape, str):
            return Solution(no_solution(self.answers, shape))
        curve = _curve(given, shape, ar, rules)
        found = described(given, curve, ar, rules, self.method)
        parameter = ar.bring(given.span) / (2 * shape.d)
        return Solution({**found.answers, "parameter": parameter}, found.working)

    def check(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Sequence[Residual]:
        if isinstance(answers["horizontal"], NoAnswer):
            return []
        span, load, rise = brought((given.span, given.load, given.rise), ar)
        weight = load * answers["length"]
        residuals = uniform_residuals(given, answers, weight, ar)
        horizontal, c = answers["horizontal"], answers["parameter"]
        total = weight + answers["greatest"]
        left, right = answers["reactions"][given.first], answers["reactions"][given.second]
        one, two = answers["tensions"][given.first], answers["tensions"][given.second]
        reach = ar.asinh(left[1] / horizontal) + ar.asinh(right[1] / horizontal)
        size = c * (ar.asinh(total / horizontal) + 1)
        residuals += [
            Residual("parameter", horizontal - load * c, total),
            Residual("span", c * reach - span, size),
            Residual("tensions and levels", two - one - load * rise, total),
            Residual("sag", *self._sag(given, answers, ar)),
        ]
        if given.parameter is not None:
            stated = ar.bring(given.parameter)
            residuals.append(Residual("stated parameter", c - stated, stated))
        if not isinstance(answers["lowest"], NoAnswer):
            x, y = answers["lowest"]
            residuals.append(
                Residual("level of the lowest point", one + load * y - horizontal, total)
            )
            off = x - c * ar.asinh(left[1] / horizontal)
            residuals.append(Residual("place of the lowest point", off, size))
        keys = iter(given.stations)
        for key in list(answers["heights"])[1:-1]:
            x = ar.bring(next(keys).at)
            place = x / c - ar.asinh(left[1] / horizontal)
            steep = answers["tensions"][key] * ar.sin(answers["inclinations"][key])
            off = steep - horizontal * ar.sinh(place)
            residuals.append(Residual(f"slope at {key}", off, total))
            off = answers["tensions"][key] - one - load * answers["heights"][key]
            residuals.append(Residual(f"level of {key}", off, total))
        return residuals

    def _sag(
        self, given: HangingCable, answers: Mapping[str, Value], ar: Arithmetic
    ) -> tuple[Number, Number]:
        """The mean of the end tensions less that at midspan is w times the sag."""
        span, load = brought((given.span, given.load), ar)
        horizontal = answers["horizontal"]
        left = answers["reactions"][given.first][1]
        middle = horizontal * ar.cosh(
            span / (2 * answers["parameter"]) - ar.asinh(left / horizontal)
        )
        ends = answers["tensions"][given.first] + answers["tensions"][given.second]
        return ends / 2 - middle - load * answers["sag"], ends + horizontal

    def figure(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        curve = None
        if not isinstance(answers["horizontal"], NoAnswer):
            shape = _Shape(ar.bring(given.span) / (2 * answers["parameter"]))
            curve = _curve(given, shape, ar, self.rule_set())
        caption = "a hanging cable and the forces of its supports, to scale"
        return drawn(given, answers, curve, ar, caption)

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> HangingCable:
        """A cable about 1/kappa longer than its chord, or another quantity stated."""
        spread = log_uniform(rng, kappa)
        places = figures_for(kappa[1]) + 2
        if spread > _EASY:
            return HangingCable(**nearly_straight(spread, rng))
        span, rise = rng.uniform(20, 500), rng.uniform(-20, 20)
        stated = rng.choice(_STATED)
        load = rng.uniform(0.5, 10)
        values = {
            "length": math.hypot(span, rise) * (1 + rng.uniform(0.01, 0.2) / spread),
            "sag": span * rng.uniform(0.02, 0.3),
            "dip": max(0.0, -rise) + span * rng.uniform(0.01, 0.2) / spread,
            "horizontal": span * load * rng.uniform(0.3, 9),
            "greatest": load * (span * rng.uniform(0.9, 6) + abs(rise)),
            "parameter": span * rng.uniform(0.2, 20),
        }
        stations = stations_anywhere(span, rng)
        chosen: dict[str, Any] = {stated: decimal(values[stated], places)}
        if stated == "greatest":
            chosen["state"] = rng.choice(STATES)
        return HangingCable(
            decimal(span, 2), decimal(load, 2), decimal(rise, places), stations=stations, **chosen
        )

    def filled(self, rows: Mapping[str, int], rng: random.Random) -> HangingCable | None:
        if set(rows) != {"stations"} or rows["stations"] < 1:
            return None
        stations = stations_in_a_row(rows["stations"], rng)
        return HangingCable(fmpq(100), fmpq(3), fmpq(5), fmpq(120), stations=stations)
