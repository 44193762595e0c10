"""The span that a cable of known length covers under its own weight.

Source of the method: the catenary's identities s^2 = y^2 - c^2 and T = w y, any text of
statics, for instance R. C. Hibbeler, "Engineering Mechanics: Statics", section 7.4, from
memory. Everything is in closed form; no root is sought.
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
from refsolver.quantities.dimensions import ANGLE, FORCE, LENGTH, LINE_LOAD
from refsolver.quantities.kinds import NoAnswer, ScalarKind, TableKind, Value
from refsolver.statics import cautions
from refsolver.statics.chapters.cables.cable import (
    dips_of,
    drawn_cable,
    end_sheet,
    greatest_for_horizontal,
    inclination,
    no_solution,
    shares,
    stated_one,
    supports_level,
)
from refsolver.statics.chapters.cables.profiles import (
    NO_LOW_POINT,
    horizontal_for_greatest,
    tension_of,
)
from refsolver.statics.contract import Answer, Family, Mistake, Residual, Solution, quantity, text
from refsolver.statics.drawing import Drawing, Mark
from refsolver.statics.random_givens import decimal, figures_for, log_uniform, rounded, share_of
from refsolver.statics.registry import register
from refsolver.statics.sheets import number_sheet
from refsolver.statics.vectors import brought

__all__ = ["CatenarySpan", "CutCable"]

_STATED = ("dip", "horizontal", "greatest", "parameter")
_EASY = 30
"""A condition number up to which the quantity stated makes no difference."""


@attrs.frozen
class CutCable:
    length: Exact = quantity(LENGTH, "of the cable between its supports", sign="positive")
    load: Exact = quantity(LINE_LOAD, "weight per length of cable", sign="positive")
    rise: Exact = quantity(
        LENGTH, "of the second support above the first (negative: below)", default=fmpq(0)
    )
    dip: Exact | None = quantity(
        LENGTH,
        "of the lowest point, between the supports, below the first; or state another of these "
        "four",
        default=None,
    )
    horizontal: Exact | None = quantity(
        FORCE, "the horizontal tension", sign="positive", default=None
    )
    greatest: Exact | None = quantity(FORCE, "the greatest tension", sign="positive", default=None)
    parameter: Exact | None = quantity(
        LENGTH, "c of y = c cosh(x/c): horizontal tension over weight per length",
        sign="positive", default=None,
    )  # fmt: skip
    first: str = text("name of the first support", default="first")
    second: str = text("name of the second support", default="second")

    def __attrs_post_init__(self) -> None:
        stated_one(self, _STATED)
        if self.first == self.second:
            raise ValueError(f"both supports go by the name {self.first!r}: rename one")


# --- rules --------------------------------------------------------------------------------


def part_of_span(parameter: Number, slope: Number, ar: Arithmetic) -> Number:
    """x = c asinh(y') from the lowest point to where the slope is y'."""
    return parameter * ar.asinh(slope)


def _parabolic_part(parameter: Number, slope: Number, ar: Arithmetic) -> Number:
    """x = c y', as if the load were uniform along the span."""
    return parameter * slope


def _length_given_as_span(
    given: Any, answers: Mapping[str, Value], ar: Arithmetic
) -> Mapping[str, Value] | None:
    if isinstance(answers["span"], NoAnswer):
        return None
    return {**answers, "span": ar.bring(given.length)}


def _half_span_given(
    given: Any, answers: Mapping[str, Value], ar: Arithmetic
) -> Mapping[str, Value] | None:
    if isinstance(answers["span"], NoAnswer):
        return None
    return {**answers, "span": answers["span"] / 2}


# --- the parameter and the arc left of the lowest point, from each way of stating ----------


@attrs.frozen
class _Found:
    """The parameter c, and the signed lengths from the lowest point back to the first support
    and on to the second."""

    parameter: Number
    arcs: tuple[Number, Number]
    inside: bool = False


def _by_dip(given: CutCable, ar: Arithmetic) -> _Found | str:
    """With d1, d2 the dips and q = d1 + d2 + 2c: (s1 - s2) S = (d1 - d2) q, s1 + s2 = S.

    Put into s1^2 = d1 (q - d2), a quadratic in q, of whose roots the smaller belongs to a
    lowest point between the supports.
    """
    found = dips_of(given, ar)
    if isinstance(found, str):
        return found
    (first, second), _ = found
    whole, rise = brought((given.length, given.rise), ar)
    both = first + second
    if ar.sign(whole - both, "cable beyond both dips") <= 0:
        return "the cable does not exceed the sum of both dips"
    share = 4 * first * second / (whole * whole)
    root = ar.sqrt(both * both - rise * rise * (1 + share))
    q = whole * whole * (1 + share) / (both + root)
    left = (whole - rise * q / whole) / 2
    return _Found((q - both) / 2, (left, whole - left), True)


def _by_greatest(given: CutCable, ar: Arithmetic) -> _Found | str:
    """T^2 - (T - w |h|)^2 = w^2 (s_high^2 - s_low^2) and s_high + s_low = S; H from T."""
    assert given.greatest is not None
    whole, rise, load, greatest = brought(
        (given.length, given.rise, given.load, given.greatest), ar
    )
    lower = greatest - load * ar.size(rise)
    beyond = (greatest * greatest - lower * lower) / (load * load * whole)
    high = (whole + beyond) / 2
    square = greatest * greatest - load * load * high * high
    if ar.sign(whole * whole - rise * rise, "cable beyond the rise") <= 0:
        return "the cable does not exceed the difference of the levels"
    signs = [
        ar.sign(square, "tension beyond the weight it carries"),
        ar.sign(lower, "tension at the lower support"),
    ]
    if min(signs) <= 0:
        return "the greatest tension does not exceed the weight that hangs on that support"
    arcs = (whole - high, high)
    second_higher = ar.sign(rise, "the second support above the first") >= 0
    return _Found(ar.sqrt(square) / load, arcs if second_higher else (arcs[1], arcs[0]))


def _by_parameter(given: CutCable, ar: Arithmetic) -> _Found | str:
    """sqrt(S^2 - h^2) = 2 c sinh d; the slopes at the ends from half sum and difference."""
    whole, rise, load = brought((given.length, given.rise, given.load), ar)
    square = whole * whole - rise * rise
    if ar.sign(square, "cable beyond the rise") <= 0:
        return "the cable does not exceed the difference of the levels"
    if given.parameter is not None:
        c = ar.bring(given.parameter)
    else:
        assert given.horizontal is not None
        c = ar.bring(given.horizontal) / load
    # s1 + s2 = S and s2 - s1 = 2 c cosh d sinh(mid) = h sqrt(1 + 4 c^2 / (S^2 - h^2)).
    apart = rise * ar.sqrt(1 + 4 * c * c / square)
    return _Found(c, ((whole - apart) / 2, (whole + apart) / 2))


def _found(given: CutCable, ar: Arithmetic) -> _Found | str:
    if given.dip is not None:
        return _by_dip(given, ar)
    return (_by_greatest if given.greatest is not None else _by_parameter)(given, ar)


# --- the family ---------------------------------------------------------------------------

_REFUSED = ("no solution",)


@register
class CatenarySpan(Family):
    name = "cables/catenary-span"
    title = "The span covered by a cable of known length under its own weight"
    givens = CutCable
    answers = {
        "span": Answer(ScalarKind(LENGTH), "horizontal distance of the supports", _REFUSED),
        "parameter": Answer(ScalarKind(LENGTH), "c of y = c cosh(x/c)", _REFUSED),
        "horizontal": Answer(ScalarKind(FORCE), "the horizontal tension", _REFUSED),
        "greatest": Answer(
            ScalarKind(FORCE), "the greatest tension, at the higher support", _REFUSED
        ),
        "dip": Answer(
            ScalarKind(LENGTH),
            "of the point with a level tangent below the first support",
            ("no solution", "not defined"),
        ),
        "tensions": Answer(
            TableKind(ScalarKind(FORCE), "support"), "at the supports", _REFUSED
        ),
        "inclinations": Answer(
            TableKind(ScalarKind(ANGLE), "support"),
            "of the tangent at the supports, from left to right, positive where it rises",
            _REFUSED,
        ),
    }  # fmt: skip
    rules = {"part_of_span": part_of_span, "tension": tension_of}
    mistakes = (
        supports_level,
        greatest_for_horizontal,
        horizontal_for_greatest,
        Mistake("parabola for the catenary", "the parts of the span are taken as c times the "
                "slope", rules={"part_of_span": _parabolic_part}),
        Mistake("length given as the span", "the cable is taken as long as its span",
                answers=_length_given_as_span),
        Mistake("half the span given", "the distance from the lowest point to one support is "
                "given", answers=_half_span_given),
    )  # fmt: skip
    method = (
        "s = c y' from the lowest point, y^2 = c^2 + s^2, T = w y, x = c asinh y'; "
        "c and both parts s from what is stated, in closed form"
    )
    second_method = (
        "sqrt(S^2 - h^2) = 2 c sinh(L / 2c); T2 - T1 = w h; T = H cosh(x/c) at the supports; "
        "what is stated found again"
    )
    caution = cautions.CABLES

    def solve(self, given: Any, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        found = _found(given, ar)
        if isinstance(found, str):
            return Solution(no_solution(self.answers, found))
        c, keys = found.parameter, (given.first, given.second)
        horizontal = ar.bring(given.load) * c
        left, right = (arc / c for arc in found.arcs)
        slopes = dict(zip(keys, (-left, right), strict=True))
        tensions = {key: rules.tension(horizontal, p, ar) for key, p in slopes.items()}
        higher = ar.sign(ar.bring(given.rise), "the second support above the first")
        inside = found.inside or higher == 0
        if not inside:
            lower = left if higher > 0 else right
            inside = ar.sign(lower, "the cable goes down from its lower support") >= 0
        angles = {key: inclination(p, f"at {key}", ar) for key, p in slopes.items()}
        answers = {
            "span": rules.part_of_span(c, left, ar) + rules.part_of_span(c, right, ar),
            "parameter": c,
            "horizontal": horizontal,
            "greatest": tensions[given.second if higher >= 0 else given.first],
            "dip": c * (ar.sqrt(1 + left * left) - 1) if inside else NO_LOW_POINT,
            "tensions": tensions,
            "inclinations": angles,
        }
        sheets = (
            number_sheet("Parameter and arcs from the lowest point",
                         {"c": c, "to the first": found.arcs[0], "to the second": found.arcs[1]},
                         self.method, LENGTH),
            end_sheet("Supports", slopes, tensions),
            number_sheet("Span", {"L": answers["span"]}, "", LENGTH),
        )  # fmt: skip
        return Solution(answers, sheets)

    def check(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Sequence[Residual]:
        if isinstance(answers["span"], NoAnswer):
            return []
        whole, rise, load = brought((given.length, given.rise, given.load), ar)
        c, span, horizontal = answers["parameter"], answers["span"], answers["horizontal"]
        one, two = answers["tensions"][given.first], answers["tensions"][given.second]
        bulge = 2 * c * ar.sinh(span / (2 * c))
        off = bulge * bulge + rise * rise - whole * whole
        total = one + two + load * whole
        residuals = [
            Residual("length over the span", off, whole * whole),
            Residual("horizontal tension", horizontal - load * c, total),
            Residual("tensions and levels", two - one - load * rise, total),
        ]
        lifted = 0 * total
        for key, sense in ((given.first, -1), (given.second, 1)):
            pull, angle = answers["tensions"][key], answers["inclinations"][key]
            lifted = lifted + pull * ar.sin(angle) * sense
            off = pull * ar.cos(angle) - horizontal
            residuals.append(Residual(f"horizontal tension at {key}", off, total))
        residuals.append(Residual("vertical pulls", lifted - load * whole, total))
        product = (answers["greatest"] - one) * (answers["greatest"] - two)
        residuals.append(Residual("greatest tension", product, total * total))
        if not isinstance(answers["dip"], NoAnswer):
            off = one - load * (c + answers["dip"])
            residuals.append(Residual("level of the lowest point", off, total))
        for name in ("horizontal", "greatest", "parameter", "dip"):
            if getattr(given, name) is not None:
                stated = ar.bring(getattr(given, name))
                size = stated + (c if name in ("dip", "parameter") else total)
                residuals.append(Residual(f"stated {name}", answers[name] - stated, size))
        return residuals

    def figure(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        if isinstance(answers["span"], NoAnswer):
            marks = (Mark((0.0, 0.0), given.first), Mark((0.0, ar.bring(given.rise)), given.second))
            return Drawing(marks, "the levels of two supports that no such cable joins")
        c, span, horizontal = answers["parameter"], answers["span"], answers["horizontal"]
        ends = [math.tan(answers["inclinations"][key]) for key in (given.first, given.second)]
        start = math.asinh(ends[0])
        points = [
            (span * s, c * (math.cosh(start + span * s / c) - math.cosh(start))) for s in shares(60)
        ]
        reactions = {
            given.first: (-horizontal, -horizontal * ends[0]),
            given.second: (horizontal, horizontal * ends[1]),
        }
        parts = tuple(drawn_cable(points, reactions))
        return Drawing(parts, "a hanging cable and the forces of its supports, to scale")

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> CutCable:
        """A greatest tension about 1/kappa beyond what hangs on it, or another quantity."""
        spread = log_uniform(rng, kappa)
        places = figures_for(kappa[1]) + 2
        if spread > _EASY:
            return _at_its_limit(spread, rng)
        whole, load = rng.uniform(20, 500), rng.uniform(0.5, 10)
        rise = whole * rng.uniform(-0.5, 0.5)
        stated = rng.choice(_STATED)
        values = {
            "dip": max(0.0, -rise) + (whole - abs(rise)) / 2 * (1 - rng.uniform(0.1, 0.9) / spread),
            "horizontal": whole * load * rng.uniform(0.3, 9),
            "greatest": load * ((whole**2 + rise**2) / (2 * whole) + abs(rise)) * (1 + 2 / spread),
            "parameter": whole * rng.uniform(0.2, 20),
        }
        chosen: dict[str, Any] = {stated: decimal(values[stated], places)}
        return CutCable(decimal(whole, 2), decimal(load, 2), decimal(rise, places), **chosen)


def _at_its_limit(spread: float, rng: random.Random) -> CutCable:
    """A greatest tension hardly beyond what hangs on it, or a dip hardly less than slack."""
    whole, load = decimal(rng.uniform(20, 500), 1), decimal(rng.uniform(0.5, 10), 1)
    rise = rounded(whole * decimal(rng.uniform(0.1, 0.5), 2) * rng.choice((-1, 1)), 2)
    share, size = share_of(spread, rng), max(rise, -rise)
    places = figures_for(spread) + 3
    if rng.random() < 0.5:
        least = load * ((whole * whole + rise * rise) / (2 * whole) + size)
        return CutCable(whole, load, rise, greatest=rounded(least * (1 + share), places))
    dip = max(fmpq(0), -rise) + (whole - size) / 2 * (1 - share)
    return CutCable(whole, load, rise, dip=rounded(dip, places))
