"""Areas between curves: givens, sums over strips, and what their families share.

Source of the method: D. W. Baker and W. Haynes, "Engineering Statics: Open and
Interactive", chapter 7 (centroids using integration) and chapter 10 (moment of inertia of
a differential strip).
"""

from __future__ import annotations

import random
from collections.abc import Callable, Mapping, Sequence
from types import SimpleNamespace
from typing import Any, ClassVar

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.exact import Exact
from refsolver.quantities.dimensions import LENGTH
from refsolver.quantities.kinds import NoAnswer, Value
from refsolver.statics.areas.curves import (
    CurveTerm,
    Region,
    Strip,
    checked_regions,
    drawn_points,
    half_powers,
    minus_of,
    plus_of,
)
from refsolver.statics.areas.integrals import by_green, side
from refsolver.statics.contract import (
    Family,
    Mistake,
    many,
    quantity,
)
from refsolver.statics.drawing import Drawing, Mark, Primitive
from refsolver.statics.drawing import Region as Drawn
from refsolver.statics.forces.systems import sum_of
from refsolver.statics.polynomials import Polynomial, product, value
from refsolver.statics.random_givens import decimal, drawn, figures_for, log_uniform

__all__ = [
    "NO_CENTROID",
    "MISTAKES",
    "CurveAreas",
    "CurveFamily",
    "first_moments",
    "integrals_by_green",
    "sizes_of",
    "strip_own",
]

NO_CENTROID = "the areas of the regions and of the holes cancel"


@attrs.frozen
class CurveAreas:
    regions: tuple[Region, ...] = many(Region, "between an upper and a lower curve")
    reference: Exact = quantity(
        LENGTH, "the x at which a term has its stated height: 1 m for a formula in metres",
        sign="positive",
    )  # fmt: skip

    def __attrs_post_init__(self) -> None:
        if not self.regions:
            raise ValueError("at least one region is needed")
        checked_regions(self.regions, self.half)

    @property
    def half(self) -> bool:
        """Whether half powers occur."""
        return half_powers([t.power for region in self.regions for t in region.terms])


def strip_height(upper: Polynomial, lower: Polynomial) -> Polynomial:
    return minus_of(upper, lower)


def strip_centre(upper: Polynomial, lower: Polynomial) -> Polynomial:
    """Half way between the edges."""
    return tuple(c / 2 for c in plus_of(upper, lower))


def strip_own(height: Polynomial) -> Polynomial:
    """h^3/12 over its width, about the middle of a strip."""
    return tuple(c / 12 for c in product(height, product(height, height)))


def half_the_height(upper: Polynomial, lower: Polynomial) -> Polynomial:
    return tuple(c / 2 for c in minus_of(upper, lower))


def at_the_top(upper: Polynomial, lower: Polynomial) -> Polynomial:
    return upper


def under_the_upper(upper: Polynomial, lower: Polynomial) -> Polynomial:
    return upper


RULES: Mapping[str, Callable[..., Any]] = {
    "strip_height": strip_height,
    "strip_centre": strip_centre,
    "strip_own": strip_own,
}
MISTAKES = (
    Mistake(
        "strip's centre at half its height",
        "a strip's centre is taken half its height above the x axis, not half way between the "
        "edges",
        rules={"strip_centre": half_the_height},
    ),
    Mistake(
        "strip's centre at its top",
        "y of the upper edge is used for y of the strip's centre",
        rules={"strip_centre": at_the_top},
    ),
    Mistake(
        "lower edge left out",
        "the area is taken down to the x axis",
        rules={"strip_height": under_the_upper},
    ),
)


class CurveFamily(Family):
    """Shared by centroid and second moments."""

    givens = CurveAreas
    rules = RULES
    mistakes: ClassVar[tuple[Mistake, ...]] = MISTAKES

    def figure(self, given: CurveAreas, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        parts: list[Primitive] = [
            Drawn(drawn_points(region, given.reference, ar), region.name, region.kind == "hole")
            for region in given.regions
        ]
        parts.append(Mark((0.0, 0.0), "O", "axis"))
        if not isinstance(answers["centroid"], NoAnswer):
            parts.append(Mark(answers["centroid"], "centroid", "answer"))
        return Drawing(tuple(parts), "the regions between their curves and the centroid, to scale")

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> CurveAreas:
        """Two curves so near each other that the strip is 1/kappa of their height."""
        target = log_uniform(rng, kappa)
        places = figures_for(target)
        half = rng.random() < 0.4
        powers = [fmpq(k, 2 if half else 1) for k in rng.sample(range(1, 5), 2)]
        lower = [CurveTerm(drawn(rng, 5, 20)), CurveTerm(drawn(rng, 1, 9), powers[0])]
        gap = decimal(rng.uniform(5, 20) / target, places)
        bulge = CurveTerm(decimal(rng.uniform(1, 5) / target, places), powers[1])
        start = drawn(rng, 0 if half else -4, 4)
        raised = attrs.evolve(lower[0], coefficient=lower[0].coefficient + gap)  # type: ignore[operator]
        region = Region(
            start if half else abs(start), abs(start) + drawn(rng, 1, 5), (raised, lower[1], bulge),
            tuple(lower),
        )  # fmt: skip
        return CurveAreas((region,), drawn(rng, 1, 4))

    def filled(self, rows: Mapping[str, int], rng: random.Random) -> CurveAreas | None:
        count = rows.get("regions", 0)
        if set(rows) != {"regions"} or count < 1:
            return None
        regions = [
            attrs.evolve(self.propose((1, 2), rng).regions[0], name=f"region {n}")
            for n in range(1, count + 1)
        ]
        return CurveAreas(tuple(regions), drawn(rng, 1, 4))


def first_moments(
    strips: Sequence[Strip], ar: Arithmetic, rules: SimpleNamespace
) -> tuple[Number, Number, Number]:
    """Area, int x, int y."""
    area, along_x, along_y = [], [], []
    for strip in strips:
        height = rules.strip_height(strip.upper, strip.lower)
        centre = rules.strip_centre(strip.upper, strip.lower)
        area.append(strip.sum(height, ar))
        along_x.append(strip.sum(product(height, strip.x), ar))
        along_y.append(strip.sum(product(height, centre), ar))
    return sum_of(area, ar), sum_of(along_x, ar), sum_of(along_y, ar)


def integrals_by_green(strips: Sequence[Strip], ar: Arithmetic) -> list[Number]:
    """The six integrals along the edges, lower forward and upper back."""
    totals = [ar.bring(fmpq(0)) for _ in range(6)]
    for strip in strips:
        ends = [
            side(*((value(strip.x, s), value(y, s)) for y in (strip.lower, strip.upper)))
            for s in (strip.low, strip.high)
        ]
        forward = by_green([strip.piece(strip.lower), ends[1]], ar)
        back = by_green([strip.piece(strip.upper), ends[0]], ar)
        totals = [t + strip.sign * (f - b) for t, f, b in zip(totals, forward, back, strict=True)]
    return totals


def sizes_of(strips: Sequence[Strip], ar: Arithmetic) -> tuple[Number, Number]:
    """A bound of the areas under the edges, and of the distances from the origin."""
    reach = sum_of(
        [
            sum_of([ar.size(c) * _grown(ar.size(s), k) for k, c in enumerate(p)], ar)
            for strip in strips
            for p in (strip.x, strip.upper, strip.lower)
            for s in (strip.low, strip.high)
        ],
        ar,
    )
    return reach * reach, reach


def _grown(s: Number, exponent: int) -> Number:
    found: Number = 1
    for _ in range(exponent):
        found = found * s
    return found
