"""Areas put together from simple parts: centroid and second moments; principal axes.

Sources of the method: D. W. Baker and W. Haynes, "Engineering Statics: Open and
Interactive", chapter 10 (parallel axis theorem, composite shapes); principal axes: A. P.
Boresi and R. J. Schmidt, "Advanced Mechanics of Materials", from memory.
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
from refsolver.quantities.dimensions import AREA, LENGTH, SECOND_MOMENT
from refsolver.quantities.kinds import NoAnswer, PointKind, ScalarKind, Value
from refsolver.statics.areas import (
    AreaGivens,
    Disc,
    Part,
    QuarterDisc,
    Rectangle,
    Triangle,
    moments_by_corners_and_quadrants,
    parts_of,
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
)
from refsolver.statics.drawing import Drawing, Mark, Region
from refsolver.statics.random_givens import drawn, drawn_point
from refsolver.statics.registry import register

PAIRS = ((1, 1), (0, 0), (0, 1))
"""Coordinates multiplied in I_x, I_y and I_xy."""
NAMES = ("I_x", "I_y", "I_xy")
_NO_CENTROID = "the areas of the parts and of the holes cancel"


def shift(area: Number, u: Number, v: Number) -> Number:
    """The term of the parallel axis theorem, A u v."""
    return area * u * v


def own_moment(own: Number) -> Number:
    """The part's second moment about axes through its own centroid."""
    return own


def _sum(values: Sequence[Number], ar: Arithmetic) -> Number:
    return sum(values, ar.bring(fmpq(0)))


def _holes_filled(given: AreaGivens) -> AreaGivens | None:
    tables = {a.name: getattr(given, a.name) for a in attrs.fields(AreaGivens)}
    if not any(row.kind == "hole" for rows in tables.values() for row in rows):
        return None
    return AreaGivens(
        **{k: tuple(attrs.evolve(x, kind="solid") for x in rows) for k, rows in tables.items()}
    )


@register
class CompositeArea(Family):
    name = "second-moments/composite"
    title = "Second moments of a plane area put together from simple parts"
    givens = AreaGivens
    answers = {
        "area": Answer(ScalarKind(AREA), "holes taken off"),
        "centroid": Answer(PointKind(), "of the whole", ("no point",)),
        **{n: Answer(ScalarKind(SECOND_MOMENT), "about the axes of the origin") for n in NAMES},
        "polar": Answer(ScalarKind(SECOND_MOMENT), "about the origin, I_x + I_y"),
        **{
            f"centroidal {n}": Answer(
                ScalarKind(SECOND_MOMENT), "about axes through the centroid", ("not defined",)
            )
            for n in NAMES
        },
        "centroidal polar": Answer(
            ScalarKind(SECOND_MOMENT), "about the centroid", ("not defined",)
        ),
    }
    rules = {"shift": shift, "own_moment": own_moment}
    mistakes = (
        Mistake(
            "own moments left out",
            "only A d^2 of each part is added up",
            rules={"own_moment": lambda own: own * 0},
        ),
        Mistake(
            "parallel axis term left out",
            "only the parts' own second moments are added up",
            rules={"shift": lambda area, u, v: area * u * v * 0},
        ),
        Mistake("hole added", "what is cut out is counted as solid", givens=_holes_filled),
    )
    method = "I = sum of (own I + A d^2) of the parts, holes negative; centroid = sum A r / sum A"
    second_method = (
        "Green's theorem along straight sides and quarters of a circle expanded about the "
        "centre of the arc, without centroid and parallel axes of the parts"
    )
    caution = "A section's properties alone do not show that a part can carry its load."

    def solve(self, given: Any, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        parts = parts_of(given, ar)
        area = _sum([p.area * p.sign for p in parts], ar)
        first = [_sum([p.area * p.centroid[i] * p.sign for p in parts], ar) for i in range(2)]
        moments = self._about(parts, (0, 0), rules, ar)
        answers: dict[str, Value] = {"area": area, **moments}
        if ar.sign(area, "area of the whole") == 0:
            missing = NoAnswer("not defined", _NO_CENTROID)
            answers["centroid"] = NoAnswer("no point", _NO_CENTROID)
            answers.update({f"centroidal {n}": missing for n in (*NAMES, "polar")})
        else:
            centre = (first[0] / area, first[1] / area)
            answers["centroid"] = centre
            own = self._about(parts, centre, rules, ar)
            answers.update({f"centroidal {n}": x for n, x in own.items()})
        return Solution(answers, (self._sheet(parts),))

    def _about(
        self, parts: Sequence[Part], pole: Sequence[Number], rules: SimpleNamespace, ar: Arithmetic
    ) -> dict[str, Number]:
        values = {}
        for name, (i, j), k in zip(NAMES, PAIRS, range(3), strict=True):
            values[name] = _sum(
                [
                    p.sign
                    * (
                        rules.own_moment(p.own[k])
                        + rules.shift(p.area, p.centroid[i] - pole[i], p.centroid[j] - pole[j])
                    )
                    for p in parts
                ],
                ar,
            )
        return {**values, "polar": values["I_x"] + values["I_y"]}

    def _sheet(self, parts: Sequence[Part]) -> Sheet:
        columns = (
            Column("A", AREA), Column("x", LENGTH), Column("y", LENGTH),
            *(Column(f"own {n}", SECOND_MOMENT) for n in NAMES),
        )  # fmt: skip
        rows = tuple(Row(p.name, (p.area * p.sign, *p.centroid, *p.own)) for p in parts)
        return Sheet("Parts of the area", columns, rows, self.method)

    def check(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Sequence[Residual]:
        area, qx, qy, *about_origin = moments_by_corners_and_quadrants(given, ar)
        parts = parts_of(given, ar)
        total = _sum([p.area for p in parts], ar)
        reach = _sum([ar.size(p.centroid[0]) + ar.size(p.centroid[1]) for p in parts], ar)
        reach = reach + ar.sqrt(total)
        own = _sum([p.own[0] + p.own[1] for p in parts], ar)
        size = own + total * reach * reach
        residuals = [Residual("area", answers["area"] - area, total)]
        pairs = zip(NAMES, about_origin, strict=True)
        residuals += [Residual(n, answers[n] - x, size) for n, x in pairs]
        if isinstance(answers["centroid"], NoAnswer):
            return residuals
        x, y = answers["centroid"]
        residuals.append(Residual("first moment in x", x * area - qx, total * reach))
        residuals.append(Residual("first moment in y", y * area - qy, total * reach))
        shifts = (qy * y, qx * x, qx * y)
        for n, value, moved in zip(NAMES, about_origin, shifts, strict=True):
            residuals.append(Residual(f"own {n}", answers[f"centroidal {n}"] - value + moved, size))
        return residuals

    def figure(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        outlines: list[Any] = []
        for field in attrs.fields(AreaGivens):
            for row in getattr(given, field.name):
                outlines.append(Region(_outline(row, ar), "", row.kind == "hole"))
        if not isinstance(answers["centroid"], NoAnswer):
            outlines.append(Mark(answers["centroid"], "centroid", "answer"))
        outlines.append(Mark((0.0, 0.0), "O", "axis"))
        return Drawing(tuple(outlines), "the parts of the area, holes open, and its centroid")

    def generate(self, kappa: tuple[float, float], rng: random.Random) -> AreaGivens:
        """A few parts; the sums of an area are far from cancelling, whatever ``kappa``."""
        rows = {k: rng.randint(0, 2) for k in ("triangles", "discs", "quarter_discs")}
        return _drawn_area({"rectangles": rng.randint(1, 3), **rows}, rng)

    def filled(self, rows: Mapping[str, int], rng: random.Random) -> AreaGivens | None:
        if rows.get("half_discs", 0) or not any(rows.values()):
            return None
        return _drawn_area(rows, rng)


def _drawn_area(rows: Mapping[str, int], rng: random.Random) -> AreaGivens:
    def place() -> tuple[fmpq, ...]:
        return drawn_point(rng, 2)

    def size() -> fmpq:
        return drawn(rng, 1, 9)

    return AreaGivens(
        tuple(Rectangle(place(), size(), size()) for _ in range(rows.get("rectangles", 0))),
        tuple(Triangle(place(), place(), place()) for _ in range(rows.get("triangles", 0))),
        tuple(Disc(place(), size()) for _ in range(rows.get("discs", 0))),
        (),
        tuple(QuarterDisc(place(), size()) for _ in range(rows.get("quarter_discs", 0))),
    )


def _outline(row: Any, ar: Arithmetic) -> tuple[tuple[float, ...], ...]:
    if isinstance(row, Rectangle):
        x, y = (ar.bring(c) for c in row.corner)
        b, h = ar.bring(row.width), ar.bring(row.height)
        return ((x, y), (x + b, y), (x + b, y + h), (x, y + h))
    if isinstance(row, Triangle):
        return tuple(tuple(ar.bring(c) for c in p) for p in (row.a, row.b, row.c))
    x, y = (ar.bring(c) for c in row.centre)
    r, (start, sweep) = ar.bring(row.radius), _arc(row)
    steps = [math.radians(start + sweep * i / 48) for i in range(49)]
    arc = tuple((x + r * math.cos(t), y + r * math.sin(t)) for t in steps)
    return arc if isinstance(row, Disc) else ((x, y), *arc)


def _arc(row: Any) -> tuple[float, float]:
    if isinstance(row, Disc):
        return 0.0, 360.0
    if isinstance(row, QuarterDisc):
        return {"first": 0.0, "second": 90.0, "third": 180.0, "fourth": 270.0}[row.quadrant], 90.0
    return {"+y": 0.0, "-x": 90.0, "-y": 180.0, "+x": 270.0}[row.bulges], 180.0
