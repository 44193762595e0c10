"""A cable under a load spread uniformly along the span: it hangs in a parabola.

Source of the method: R. C. Hibbeler, "Engineering Mechanics: Statics", section 7.4 (cable
subjected to a distributed load), from memory. Length of the arc of a parabola: any table
of integrals, for instance H. B. Dwight, "Tables of Integrals", from memory.
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
from refsolver.quantities.kinds import NoAnswer, Value
from refsolver.statics import cautions
from refsolver.statics.chapters.cables.cable import (
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
from refsolver.statics.contract import Family, Mistake, Residual, Solution, many, quantity, text
from refsolver.statics.drawing import Drawing
from refsolver.statics.random_givens import decimal, figures_for, log_uniform
from refsolver.statics.registry import register
from refsolver.statics.vectors import brought

__all__ = ["ParabolicCable", "UniformCable"]

_STATED = ("sag", "dip", "horizontal", "greatest", "length")
_EASY = 30
"""A condition number up to which the quantity stated makes no difference."""


@attrs.frozen
class UniformCable:
    span: Exact = quantity(LENGTH, "horizontal distance of the supports", sign="positive")
    load: Exact = quantity(LINE_LOAD, "per horizontal length, acting down", sign="positive")
    rise: Exact = quantity(
        LENGTH, "of the second support above the first (negative: below)", default=fmpq(0)
    )
    sag: Exact | None = quantity(
        LENGTH,
        "at midspan below the line joining the supports; or state another of these five",
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
    length: Exact | None = quantity(
        LENGTH, "of the cable between its supports", sign="positive", default=None
    )
    stations: tuple[Station, ...] = many(
        Station, "places where the cable is asked for", minimum=0, default=()
    )
    first: str = text("name of the first support", default="first")
    second: str = text("name of the second support", default="second")

    def __attrs_post_init__(self) -> None:
        stated_one(self, _STATED)
        checked_stations(self.stations, self.span, (self.first, self.second))


# --- rules --------------------------------------------------------------------------------


def horizontal_from_sag(load: Number, span: Number, sag: Number) -> Number:
    """H = w L^2 / (8 f)."""
    return load * span * span / (8 * sag)


def arc_length(m: Number, k: Number, span: Number, ar: Arithmetic) -> Number:
    """Of the parabola with slopes m - k to m + k: the integral of sqrt(1 + y'^2)."""
    return span * (_primitive(m + k, ar) - _primitive(m - k, ar)) / (2 * k)


def _primitive(p: Number, ar: Arithmetic) -> Number:
    return (p * ar.sqrt(1 + p * p) + ar.asinh(p)) / 2


def _arc_by_series(m: Number, k: Number, span: Number, ar: Arithmetic) -> Number:
    """L + 8 f^2 / (3 L), with the like for the chord, f = k L / 4."""
    return span * (1 + m * m / 2 + k * k / 6)


def _half_span_in_place_of_span(load: Number, span: Number, sag: Number) -> Number:
    return load * span * span / (2 * sag)


def _eighth_for_half(load: Number, span: Number, sag: Number) -> Number:
    return load * span * span / (32 * sag)


# --- half the change of slope over the span, from each way of stating the case -------------


def _by_dip(given: UniformCable, ar: Arithmetic) -> Number | str:
    """H = w L^2 / (2 (sqrt(d1) + sqrt(d2))^2), each part of the span a half parabola."""
    found = dips_of(given, ar)
    if isinstance(found, str):
        return found
    (first, second), _ = found
    span, load = brought((given.span, given.load), ar)
    both = first + second + 2 * ar.sqrt(first * second)
    return load * span * span / (2 * both)


def _by_greatest(given: UniformCable, ar: Arithmetic) -> Number | str:
    """T^2 = H^2 + (w L / 2 + H |h| / L)^2 at the higher support grows with H."""
    assert given.greatest is not None
    span, load, greatest = brought((given.span, given.load, given.greatest), ar)
    half, m = load * span / 2, ar.size(ar.bring(given.rise)) / span
    if ar.sign(greatest - half, "greatest tension beyond half the load") <= 0:
        return "the greatest tension does not exceed half the load, which hangs on each support"
    stretch = 1 + m * m
    root = ar.sqrt(m * m * half * half + stretch * (greatest * greatest - half * half))
    return (root - m * half) / stretch


def _by_length(given: UniformCable, ar: Arithmetic) -> Number | str:
    """The mean of sqrt(1 + p^2) over m - k to m + k grows with k, from the chord's.

    It is less than the chord's plus k^2 / 6 (the second derivative is below 1) and more
    than k / 2 (the mean of |p|), which brackets k away from the trivial root 0.
    """
    assert given.length is not None
    span, load, rise, whole = brought((given.span, given.load, given.rise, given.length), ar)
    if ar.sign(whole * whole - span * span - rise * rise, "cable beyond the chord") <= 0:
        return "the cable does not exceed the distance of its supports"
    m, s = rise / span, whole / span
    low = ar.sqrt(6 * (s - ar.sqrt(1 + m * m))) / 2
    reach = 2 * s - low

    def too_long(share: Number) -> Number:
        k = low + share * reach
        return _primitive(m + k, ar) - _primitive(m - k, ar) - 2 * k * s

    def slope(share: Number) -> Number:
        k = low + share * reach
        steep, flat = m + k, m - k
        ends = ar.sqrt(1 + steep * steep) + ar.sqrt(1 + flat * flat)
        return reach * (ends - 2 * s)

    share = ar.root(too_long, slope, (fmpq(0), fmpq(1)), "half the change of slope")
    return load * span / (2 * (low + share * reach))


def _horizontal(given: UniformCable, ar: Arithmetic, rules: SimpleNamespace) -> Number | str:
    if given.horizontal is not None:
        return ar.bring(given.horizontal)
    if given.sag is not None:
        load, span, sag = brought((given.load, given.span, given.sag), ar)
        return rules.horizontal_from_sag(load, span, sag)
    if given.dip is not None:
        return _by_dip(given, ar)
    return (_by_greatest if given.greatest is not None else _by_length)(given, ar)


def _curve(
    given: UniformCable, horizontal: Number, ar: Arithmetic, rules: SimpleNamespace
) -> Curve:
    """y' = m + k u at u half spans from midspan; y = L (1 + u) (2 m - k (1 - u)) / 4."""
    span, load, rise = brought((given.span, given.load, given.rise), ar)
    m, k = rise / span, load * span / (2 * horizontal)
    to_low = (k - m) * span / (2 * k)
    return Curve(
        horizontal,
        sag=k * span / 4,
        length=rules.arc_length(m, k, span, ar),
        low=(to_low, -(k - m) * to_low / 2),
        slope=lambda u: m + k * u,
        height=lambda u: span * (1 + u) * (2 * m - k * (1 - u)) / 4,
        inside=given.dip is not None,
    )


# --- the family ---------------------------------------------------------------------------


@register
class ParabolicCable(Family):
    name = "cables/parabolic"
    title = "A cable under a load spread uniformly along the span (a parabola)"
    givens = UniformCable
    answers = ANSWERS
    rules = {
        "horizontal_from_sag": horizontal_from_sag,
        "arc_length": arc_length,
        "tension": tension_of,
    }
    mistakes = (
        supports_level,
        greatest_for_horizontal,
        horizontal_for_greatest,
        lowest_at_midspan,
        Mistake("series taken for the length", "L + 8 f^2 / (3 L) is given as the exact length",
                rules={"arc_length": _arc_by_series}),
        Mistake("half span expected", "w L^2 / (2 f) is used, which wants half the span",
                rules={"horizontal_from_sag": _half_span_in_place_of_span}),
        Mistake("half span taken for the span", "half the span is put in where the span belongs",
                rules={"horizontal_from_sag": _eighth_for_half}),
        dip_taken_for_sag,
    )  # fmt: skip
    method = (
        "H = w L^2 / (8 f); y' = h/L + (w/H)(x - L/2); T = H sqrt(1 + y'^2); "
        "length = H/w [G(y'2) - G(y'1)], G(p) = (p sqrt(1 + p^2) + asinh p) / 2"
    )
    second_method = (
        "moments about a support and about the lowest point; T^2 = H^2 + V^2; the arc in "
        "exponentials of the inclination's parameter; what is stated found again"
    )
    caution = cautions.CABLES

    def solve(self, given: Any, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        horizontal = _horizontal(given, ar, rules)
        if isinstance(horizontal, str):
            return Solution(no_solution(self.answers, horizontal))
        return described(given, _curve(given, horizontal, ar, rules), ar, rules, self.method)

    def check(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Sequence[Residual]:
        if isinstance(answers["horizontal"], NoAnswer):
            return []
        span, load, rise = brought((given.span, given.load, given.rise), ar)
        residuals = uniform_residuals(given, answers, load * span, ar)
        horizontal, left = answers["horizontal"], answers["reactions"][given.first]
        size = load * span * span + horizontal * ar.size(rise)
        moment = left[1] * span - left[0] * rise - load * span * span / 2
        residuals.append(Residual("moments about the second support", moment, size))
        off = horizontal * answers["sag"] * 8 - load * span * span
        residuals.append(Residual("moments of half the cable", off, size))
        if not isinstance(answers["lowest"], NoAnswer):
            x, y = answers["lowest"]
            off = load * x - left[1]
            residuals.append(Residual("load left of the lowest point", off, load * span))
            off = 2 * horizontal * y + load * x * x
            residuals.append(Residual("moments about the lowest point", off, size))
        keys = iter(given.stations)
        for key in list(answers["heights"])[1:-1]:
            x = ar.bring(next(keys).at)
            up = horizontal * answers["heights"][key] + left[1] * x - load * x * x / 2
            residuals.append(Residual(f"moments about {key}", up, size))
            steep = answers["tensions"][key] * ar.sin(answers["inclinations"][key])
            off = steep + left[1] - load * x
            residuals.append(Residual(f"load up to {key}", off, load * span))
        total = self._arc(answers, given.second, ar) + self._arc(answers, given.first, ar)
        off = answers["length"] * 4 * load - horizontal * total
        residuals.append(Residual("length of the arc", off, answers["length"] * load))
        return residuals

    def _arc(self, answers: Mapping[str, Value], key: str, ar: Arithmetic) -> Number:
        """sinh 2t + 2t where the outward slope at this end is sinh t."""
        steep = answers["reactions"][key][1]
        t = ar.log((steep + answers["tensions"][key]) / answers["horizontal"])
        return ar.sinh(2 * t) + 2 * t

    def figure(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        curve = None
        if not isinstance(answers["horizontal"], NoAnswer):
            curve = _curve(given, answers["horizontal"], ar, self.rule_set())
        caption = "a parabolic cable and the forces of its supports, to scale"
        return drawn(given, answers, curve, ar, caption)

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> UniformCable:
        """A cable about 1/kappa longer than its chord, or another quantity stated."""
        spread = log_uniform(rng, kappa)
        places = figures_for(kappa[1]) + 2
        if spread > _EASY:
            return UniformCable(**nearly_straight(spread, rng))
        span, rise = rng.uniform(20, 500), rng.uniform(-20, 20)
        stated = rng.choice(_STATED)
        chord = math.hypot(span, rise)
        values = {
            "length": chord * (1 + rng.uniform(0.01, 0.2) / spread),
            "sag": span * rng.uniform(0.02, 0.3),
            "dip": max(0.0, -rise) + span * rng.uniform(0.01, 0.2) / spread,
            "horizontal": rng.uniform(100, 9000),
            "greatest": span * rng.uniform(6, 60),
        }
        chosen: dict[str, Any] = {stated: decimal(values[stated], places)}
        stations = stations_anywhere(span, rng)
        return UniformCable(
            decimal(span, 2),
            decimal(rng.uniform(0.5, 10), 2),
            decimal(rise, places),
            stations=stations,
            **chosen,
        )

    def filled(self, rows: Mapping[str, int], rng: random.Random) -> UniformCable | None:
        if set(rows) != {"stations"} or rows["stations"] < 1:
            return None
        stations = stations_in_a_row(rows["stations"], rng)
        return UniformCable(fmpq(100), fmpq(3), fmpq(5), fmpq(8), stations=stations)
