"""Solids of revolution by discs and washers: regions between curves turned about the x axis.

Source of the method: R. C. Hibbeler, "Engineering Mechanics: Statics", section 9.1 (volumes
by thin discs), from memory: V = integral of pi (R^2 - r^2) dx.
"""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from types import SimpleNamespace

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.quantities.dimensions import LENGTH, VOLUME
from refsolver.quantities.kinds import NoAnswer, ScalarKind, Value
from refsolver.statics.areas.between_curves import CurveAreas, integrals_by_green, sizes_of
from refsolver.statics.areas.curves import Strip, drawn_points, faults, minus_of, strips_of, times
from refsolver.statics.contract import (
    Answer,
    Column,
    Family,
    Mistake,
    Residual,
    Row,
    Sheet,
    Solution,
)
from refsolver.statics.drawing import Drawing, Mark, Primitive, Region, Stroke
from refsolver.statics.forces.systems import sum_of
from refsolver.statics.polynomials import Polynomial, crossings, moved, product
from refsolver.statics.registry import family, register

_REFUSED = ("not defined",)


def washer(outer: Polynomial, inner: Polynomial) -> Polynomial:
    """R^2 - r^2, over pi."""
    return minus_of(product(outer, outer), product(inner, inner))


def width_squared(outer: Polynomial, inner: Polynomial) -> Polynomial:
    width = minus_of(outer, inner)
    return product(width, width)


def hole_left_out(outer: Polynomial, inner: Polynomial) -> Polynomial:
    return product(outer, outer)


def not_squared(outer: Polynomial, inner: Polynomial) -> Polynomial:
    return minus_of(outer, inner)


@register
class SolidOfRevolution(Family):
    name = "centroids/solid-of-revolution"
    title = "Volume and centroid of a solid of revolution about the x axis"
    givens = CurveAreas
    answers = {
        "volume": Answer(ScalarKind(VOLUME), "swept by the regions", _REFUSED),
        "first moment": Answer(
            ScalarKind(VOLUME * LENGTH), "integral of x over the volume", _REFUSED
        ),
        "centroid": Answer(ScalarKind(LENGTH), "its x; it lies on the axis", _REFUSED),
    }
    rules = {"washer": washer}
    mistakes = (
        Mistake("width squared", "(R - r)^2 is taken for R^2 - r^2",
                rules={"washer": width_squared}),
        Mistake("hole left out", "the inner radius is left out", rules={"washer": hole_left_out}),
        Mistake("radius not squared", "R is taken for R^2", rules={"washer": not_squared}),
        Mistake(
            "centroid of the area",
            "the centroid of the turned area is given for that of the solid",
            answers=lambda given, answers, ar: _of_the_area(given, answers, ar),
        ),
    )  # fmt: skip
    method = "V = integral of pi (R^2 - r^2) dx, x = integral of pi (R^2 - r^2) x dx / V"
    second_method = (
        "Pappus and Guldinus: V = 2 pi times the first moment of the area, int x dV = 2 pi times "
        "its product of inertia, both by Green's theorem"
    )

    def solve(self, given: CurveAreas, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        strips = strips_of(given.regions, given.reference, given.half, ar)
        wrong = faults(strips, ar) or _below_the_axis(strips, ar)
        if wrong is not None:
            return Solution(dict.fromkeys(self.answers, wrong))
        pi, volumes, moments = ar.pi(), [], []
        for strip in strips:
            disc = times(rules.washer(strip.upper, strip.lower), pi)
            volumes.append(strip.sum(disc, ar))
            moments.append(strip.sum(product(disc, strip.x), ar))
        volume, moment = sum_of(volumes, ar), sum_of(moments, ar)
        answers: dict[str, Value] = {"volume": volume, "first moment": moment}
        if ar.sign(volume / pi, "volume of the whole, over pi") == 0:
            answers["centroid"] = NoAnswer("not defined", "the regions and the holes cancel")
        else:
            answers["centroid"] = moment / volume
        rows = tuple(Row(s.name, (v, m)) for s, v, m in zip(strips, volumes, moments, strict=True))
        columns = (Column("V", VOLUME), Column("V x", VOLUME * LENGTH))
        return Solution(answers, (Sheet("Regions", columns, rows, self.method),))

    def check(
        self, given: CurveAreas, answers: Mapping[str, Value], ar: Arithmetic
    ) -> Sequence[Residual]:
        if isinstance(answers["volume"], NoAnswer):
            return ()
        strips = strips_of(given.regions, given.reference, given.half, ar)
        _, _, first, _, _, product_of_inertia = integrals_by_green(strips, ar)
        volume, moment = first * ar.pi() * 2, product_of_inertia * ar.pi() * 2
        size, reach = sizes_of(strips, ar)
        found = [
            Residual("volume", answers["volume"] - volume, size * reach * 7),
            Residual("first moment", answers["first moment"] - moment, size * reach * reach * 7),
        ]
        if not isinstance(answers["centroid"], NoAnswer):
            gap = answers["centroid"] * volume - moment
            found.append(Residual("centroid", gap, size * reach * reach * 7))
        return found

    def figure(self, given: CurveAreas, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        parts: list[Primitive] = [
            Region(drawn_points(region, given.reference, ar), region.name, region.kind == "hole")
            for region in given.regions
        ]
        ends = [ar.bring(e) for region in given.regions for e in (region.start, region.end)]
        parts.append(Stroke((min(ends), 0.0), (max(ends), 0.0), "axis", "axis"))
        if not isinstance(answers["centroid"], NoAnswer):
            parts.append(Mark((answers["centroid"], 0.0), "centroid", "answer"))
        return Drawing(tuple(parts), "the regions that turn about the x axis, to scale")

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> CurveAreas:
        """Two curves so near each other that the wall is 1/kappa of the radius."""
        found: CurveAreas = family("centroids/between-curves").propose(kappa, rng)
        return found

    def filled(self, rows: Mapping[str, int], rng: random.Random) -> CurveAreas | None:
        found: CurveAreas | None = family("centroids/between-curves").filled(rows, rng)
        return found


def _below_the_axis(strips: Sequence[Strip], ar: Arithmetic) -> NoAnswer | None:
    for strip in strips:
        name = f"inner radius of {strip.name}"
        edge = moved(strip.lower, strip.low)
        first, found = crossings(edge, strip.high - strip.low, ar, name)
        if first < 0 or found:
            why = f"{strip.name} reaches below the x axis, about which it turns"
            return NoAnswer("not defined", why)
    return None


def _of_the_area(
    given: CurveAreas, answers: Mapping[str, Value], ar: Arithmetic
) -> Mapping[str, Value] | None:
    if isinstance(answers["centroid"], NoAnswer):
        return None
    strips = strips_of(given.regions, given.reference, given.half, ar)
    area: Number
    area, along, *_ = integrals_by_green(strips, ar)
    return {**answers, "centroid": along / area}
