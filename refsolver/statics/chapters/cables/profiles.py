"""A cable under a uniform load between two supports: what is the same for every curve.

A curve (parabola or catenary) says where it is and how steep at each place; from the
horizontal tension and these slopes follow tensions, reactions and the lowest point.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import SimpleNamespace
from typing import Any

import attrs

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.quantities.dimensions import ANGLE, FORCE, LENGTH
from refsolver.quantities.kinds import (
    NoAnswer,
    PointKind,
    ScalarKind,
    TableKind,
    Value,
    VectorKind,
)
from refsolver.statics.chapters.cables.cable import (
    drawn_cable,
    drawn_supports,
    end_sheet,
    inclination,
    shares,
)
from refsolver.statics.contract import Answer, Column, Mistake, Residual, Row, Sheet, Solution
from refsolver.statics.drawing import Drawing, Mark
from refsolver.statics.naming import keys_of
from refsolver.statics.vectors import brought

__all__ = [
    "ANSWERS",
    "NO_LOW_POINT",
    "Curve",
    "described",
    "dip_taken_for_sag",
    "drawn",
    "horizontal_for_greatest",
    "lowest_at_midspan",
    "tension_of",
    "uniform_residuals",
]

NO_LOW_POINT = NoAnswer(
    "not defined", "the level tangent lies outside the span: the lower support is the lowest point"
)

_REFUSED = ("no solution",)

ANSWERS: dict[str, Answer] = {
    "horizontal": Answer(
        ScalarKind(FORCE), "the horizontal tension, the same everywhere", _REFUSED
    ),
    "greatest": Answer(ScalarKind(FORCE), "the greatest tension, at the higher support", _REFUSED),
    "least": Answer(ScalarKind(FORCE), "the least tension in the cable", _REFUSED),
    "reactions": Answer(
        TableKind(VectorKind(FORCE, 2), "support"),
        "of each support on the cable (y up)",
        _REFUSED,
    ),
    "lowest": Answer(
        PointKind(2),
        "the point with a level tangent, from the first support (y up)",
        ("no solution", "not defined"),
    ),
    "sag": Answer(ScalarKind(LENGTH), "at midspan, below the line joining the supports", _REFUSED),
    "length": Answer(ScalarKind(LENGTH), "of the cable between its supports", _REFUSED),
    "heights": Answer(
        TableKind(ScalarKind(LENGTH), "place"),
        "of supports and stations above the first support (negative: below)",
        _REFUSED,
    ),
    "tensions": Answer(TableKind(ScalarKind(FORCE), "place"), "at supports and stations", _REFUSED),
    "inclinations": Answer(
        TableKind(ScalarKind(ANGLE), "place"),
        "of the tangent at supports and stations, from left to right, positive where it rises",
        _REFUSED,
    ),
}


def tension_of(horizontal: Number, slope: Number, ar: Arithmetic) -> Number:
    """T = H sqrt(1 + y'^2)."""
    return horizontal * ar.sqrt(1 + slope * slope)


@attrs.frozen
class Curve:
    """A cable's curve: places are given by their offset from midspan in half spans (-1 to 1).

    ``low`` is the point with a level tangent, wherever it lies. ``inside`` says that it is
    known to lie within the span; ``level_ends`` that it is known to be an end.
    """

    horizontal: Number
    sag: Number
    length: Number
    low: tuple[Number, Number]
    slope: Callable[[Number], Number]
    height: Callable[[Number], Number]
    ends: tuple[Number, Number] | None = None
    """The slopes at the supports, where they are known better than from their offsets."""
    inside: bool = False
    level_ends: tuple[bool, bool] = (False, False)


@attrs.frozen
class _Place:
    key: str
    offset: Number
    level: bool


def _places(given: Any, curve: Curve, level_supports: bool, ar: Arithmetic) -> list[_Place]:
    span = ar.bring(given.span)
    one = span / span
    first = _Place(given.first, -one, curve.level_ends[0])
    second = _Place(given.second, one, curve.level_ends[1])
    between = []
    for key, station in zip(keys_of(given.stations, "station"), given.stations, strict=True):
        beyond = 2 * ar.bring(station.at) - span
        level = level_supports and ar.sign(beyond, f"{key} beyond midspan") == 0
        between.append(_Place(key, beyond / span, level))
    return [first, *between, second]


def described(
    given: Any, curve: Curve, ar: Arithmetic, rules: SimpleNamespace, note: str
) -> Solution:
    """All answers of a uniformly loaded cable, and its working."""
    higher = ar.sign(ar.bring(given.rise), "the second support above the first")
    places = _places(given, curve, higher == 0, ar)
    slopes = {place.key: curve.slope(place.offset) for place in places}
    if curve.ends is not None:
        slopes[given.first], slopes[given.second] = curve.ends
    tensions = {key: rules.tension(curve.horizontal, p, ar) for key, p in slopes.items()}
    first, second = given.first, given.second
    inside, lower = True, given.first
    if not curve.inside and higher != 0:
        lower = first if higher > 0 else second
        downhill = -slopes[first] if higher > 0 else slopes[second]
        inside = ar.sign(downhill, "the cable goes down from its lower support") >= 0
    angles = {
        place.key: inclination(slopes[place.key], f"at {place.key}", ar, place.level)
        for place in places
    }
    heights = {place.key: curve.height(place.offset) for place in places}
    heights[first], heights[second] = 0 * curve.sag, ar.bring(given.rise)
    answers: dict[str, Value] = {
        "horizontal": curve.horizontal,
        "greatest": tensions[second] if higher >= 0 else tensions[first],
        "least": curve.horizontal if inside else tensions[lower],
        "reactions": {
            first: (-curve.horizontal, -curve.horizontal * slopes[first]),
            second: (curve.horizontal, curve.horizontal * slopes[second]),
        },
        "lowest": curve.low if inside else NO_LOW_POINT,
        "sag": curve.sag,
        "length": curve.length,
        "heights": heights,
        "tensions": tensions,
        "inclinations": angles,
    }
    sheets = (
        Sheet(
            "Curve",
            (Column("H", FORCE), Column("sag", LENGTH), Column("length", LENGTH)),
            (Row("cable", (curve.horizontal, curve.sag, curve.length)),),
            note,
        ),
        Sheet(
            "Level tangent",
            (Column("along x", LENGTH), Column("along y", LENGTH)),
            (Row("point", curve.low),),
        ),
        end_sheet("Places", slopes, tensions),
    )
    return Solution(answers, sheets)


def uniform_residuals(
    given: Any, answers: Mapping[str, Value], weight: Number, ar: Arithmetic
) -> list[Residual]:
    """What holds for every uniformly loaded cable whose whole weight is ``weight``.

    The whole cable in equilibrium, T^2 = H^2 + V^2 at both ends, the tangents along the
    pulls, and what is stated found again.
    """
    first, second = answers["reactions"][given.first], answers["reactions"][given.second]
    total = weight + answers["greatest"]
    residuals = [
        Residual("level pulls", first[0] + second[0], total),
        Residual("horizontal tension", second[0] - answers["horizontal"], total),
        Residual("vertical pulls", first[1] + second[1] - weight, total),
    ]
    horizontal = answers["horizontal"]
    ends = ((given.first, first, -1), (given.second, second, 1))
    product = 0 * total + 1
    for key, force, sense in ends:
        pull = answers["tensions"][key]
        square = pull * pull - horizontal * horizontal - force[1] * force[1]
        residuals.append(Residual(f"triangle of forces at {key}", square, total * total))
        angle = answers["inclinations"][key]
        off = force[1] * sense - pull * ar.sin(angle)
        residuals.append(Residual(f"tangent at {key}", off, total))
        product = product * (answers["greatest"] - pull) / total
    residuals.append(Residual("greatest tension", product, product * 0 + 1))
    for key, pull in answers["tensions"].items():
        off = pull * ar.cos(answers["inclinations"][key]) - horizontal
        residuals.append(Residual(f"horizontal tension at {key}", off, total))
    least = answers["least"] - horizontal
    if isinstance(answers["lowest"], NoAnswer):
        ends_off = [answers["least"] - answers["tensions"][key] for key, _, _ in ends]
        least = ends_off[0] * ends_off[1] / total
    residuals.append(Residual("least tension", least, total))
    for name in ("horizontal", "greatest", "length", "sag"):
        if getattr(given, name) is not None:
            stated = ar.bring(getattr(given, name))
            residuals.append(Residual(f"stated {name}", answers[name] - stated, stated))
    if given.dip is not None:
        dip = ar.bring(given.dip)
        size = ar.size(dip) + ar.size(ar.bring(given.rise))
        residuals.append(Residual("stated dip", answers["lowest"][1] + dip, size))
    residuals.append(Residual("first support", answers["heights"][given.first], total))
    rise, span = brought((given.rise, given.span), ar)
    residuals.append(Residual("second support", answers["heights"][given.second] - rise, span))
    return residuals


def drawn(
    given: Any,
    answers: Mapping[str, Value],
    curve: Curve | None,
    ar: Arithmetic,
    caption: str,
) -> Drawing:
    """The curve to scale, or the supports alone where there is none."""
    span, rise = brought((given.span, given.rise), ar)
    if curve is None:
        parts = drawn_supports(span, rise, (given.first, given.second))
        return Drawing(tuple(parts), "two supports; no cable satisfies what is stated")
    points = [(span * s, curve.height(2 * s - 1)) for s in shares(60)]
    points[0], points[-1] = (0.0, 0.0), (span, rise)
    parts = drawn_cable(points, answers["reactions"])
    for key, station in zip(keys_of(given.stations, "station"), given.stations, strict=True):
        parts.append(Mark((ar.bring(station.at), answers["heights"][key]), key))
    return Drawing(tuple(parts), caption)


# --- mistakes -----------------------------------------------------------------------------


def _horizontal_for_greatest(
    given: Any, answers: Mapping[str, Value], ar: Arithmetic
) -> Mapping[str, Value] | None:
    if isinstance(answers["horizontal"], NoAnswer):
        return None
    return {**answers, "greatest": answers["horizontal"]}


def _lowest_at_midspan(
    given: Any, answers: Mapping[str, Value], ar: Arithmetic
) -> Mapping[str, Value] | None:
    if isinstance(answers["lowest"], NoAnswer):
        return None
    return {**answers, "lowest": (ar.bring(given.span) / 2, answers["lowest"][1])}


def _dip_taken_for_sag(given: Any) -> Any | None:
    if given.dip is None or given.rise == 0 or given.dip == 0:
        return None
    return attrs.evolve(given, dip=None, sag=given.dip)


horizontal_for_greatest = Mistake(
    "horizontal tension for the greatest",
    "the tension at the lowest point is given for the greatest",
    answers=_horizontal_for_greatest,
)

lowest_at_midspan = Mistake(
    "lowest point at midspan",
    "the lowest point is put at midspan whatever the levels of the supports",
    answers=_lowest_at_midspan,
)

dip_taken_for_sag = Mistake(
    "dip taken for the sag",
    "the depth of the lowest point below a support is used as the sag below the line joining "
    "the supports",
    givens=_dip_taken_for_sag,
)
