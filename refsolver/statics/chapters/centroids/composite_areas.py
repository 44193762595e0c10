"""Centroids of plane areas put together from simple parts.

Source of the method: D. W. Baker and W. Haynes, "Engineering Statics: Open and
Interactive", chapter 7 (centroids using composite parts).
"""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from types import SimpleNamespace

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.quantities.dimensions import AREA, LENGTH, VOLUME
from refsolver.quantities.kinds import NoAnswer, PointKind, ScalarKind, TableKind, Value
from refsolver.statics.areas.composite import TABLE, Part, parts_of, reach_of
from refsolver.statics.areas.figures import area_drawing
from refsolver.statics.areas.integrals import moments_of_parts
from refsolver.statics.areas.mistakes import (
    DIAMETER,
    HOLE_ADDED,
    OPENING_NOT_HALVED,
    ROUND_AT_HALF,
    ROUND_FROM_CROWN,
    TRIANGLE_AT_HALF,
)
from refsolver.statics.areas.samples import area_of_rows, sample_area
from refsolver.statics.areas.shapes import AreaGivens
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
from refsolver.statics.drawing import Drawing, Mark
from refsolver.statics.forces.systems import sum_of
from refsolver.statics.registry import register

NO_CENTROID = "the areas of the parts and of the holes cancel"


def first_moment(area: Number, distance: Number) -> Number:
    """A d."""
    return area * distance


def _not_weighted(
    given: AreaGivens, answers: Mapping[str, Value], ar: Arithmetic
) -> Mapping[str, Value] | None:
    """The mean of the parts' centroids; None where nothing could be weighted."""
    parts = parts_of(given, ar)
    if len(parts) < 2 or isinstance(answers["centroid"], NoAnswer):
        return None
    mean = tuple(sum_of([p.centroid[i] for p in parts], ar) / len(parts) for i in range(2))
    return {**answers, "centroid": mean}


def _axes_exchanged(
    given: AreaGivens, answers: Mapping[str, Value], ar: Arithmetic
) -> Mapping[str, Value]:
    centroid = answers["centroid"]
    return {
        **answers,
        "Q_x": answers["Q_y"],
        "Q_y": answers["Q_x"],
        "centroid": centroid if isinstance(centroid, NoAnswer) else centroid[::-1],
    }


@register
class CompositeCentroid(Family):
    name = "centroids/composite-area"
    title = "Centroid of a plane area put together from simple parts"
    givens = AreaGivens
    answers = {
        "area": Answer(ScalarKind(AREA), "holes taken off"),
        "Q_x": Answer(ScalarKind(VOLUME), "first moment about the x axis, sum of A y"),
        "Q_y": Answer(ScalarKind(VOLUME), "first moment about the y axis, sum of A x"),
        "centroid": Answer(PointKind(), "of the whole", ("no point",)),
        "areas": Answer(TableKind(ScalarKind(AREA), "part"), "of each part, a hole's negative"),
        "centroids": Answer(TableKind(PointKind(), "part"), "of each part"),
    }
    rules = {**TABLE, "first_moment": first_moment}
    mistakes = (
        HOLE_ADDED,
        TRIANGLE_AT_HALF,
        ROUND_FROM_CROWN,
        ROUND_AT_HALF,
        OPENING_NOT_HALVED,
        DIAMETER,
        Mistake(
            "centroids averaged",
            "the mean of the parts' centroids is taken, not weighted by their areas",
            answers=_not_weighted,
        ),
        Mistake(
            "axes exchanged",
            "the first moment about the x axis is divided to give x instead of y",
            answers=_axes_exchanged,
        ),
    )
    method = "A = sum of A_i, Q_x = sum of A_i y_i, x = Q_y / A, y = Q_x / A; holes negative"
    second_method = (
        "integrals over the whole: Green's theorem along straight sides and power curves, quarters "
        "of an ellipse expanded about its centre, sectors in polar coordinates; no part's centroid"
    )

    def solve(self, given: AreaGivens, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        parts = parts_of(given, ar, rules)
        area = sum_of([p.area * p.sign for p in parts], ar)
        first = [
            sum_of([p.sign * rules.first_moment(p.area, p.centroid[i]) for p in parts], ar)
            for i in range(2)
        ]
        answers: dict[str, Value] = {
            "area": area,
            "Q_x": first[1],
            "Q_y": first[0],
            "centroid": NoAnswer("no point", NO_CENTROID),
            "areas": {p.name: p.area * p.sign for p in parts},
            "centroids": {p.name: p.centroid for p in parts},
        }
        if ar.sign(area, "area of the whole") != 0:
            answers["centroid"] = (first[0] / area, first[1] / area)
        return Solution(answers, lambda: (self._sheet(parts, area, first),))

    def _sheet(self, parts: Sequence[Part], area: Number, first: Sequence[Number]) -> Sheet:
        columns = (
            Column("A", AREA), Column("x", LENGTH), Column("y", LENGTH),
            Column("A x", VOLUME), Column("A y", VOLUME),
        )  # fmt: skip
        rows = []
        for p in parts:
            signed = p.area * p.sign
            rows.append(Row(p.name, (signed, *p.centroid, *(signed * x for x in p.centroid))))
        rows.append(Row("sum", (area, None, None, *first)))
        return Sheet("Parts of the area", columns, tuple(rows), self.method)

    def check(
        self, given: AreaGivens, answers: Mapping[str, Value], ar: Arithmetic
    ) -> Sequence[Residual]:
        of_parts = list(moments_of_parts(given, ar))
        area, along_x, along_y = (sum_of([part[i] for _, part in of_parts], ar) for i in range(3))
        total, reach = reach_of(parts_of(given, ar), ar)
        residuals = [
            Residual("area", answers["area"] - area, total),
            Residual("Q_x", answers["Q_x"] - along_y, total * reach),
            Residual("Q_y", answers["Q_y"] - along_x, total * reach),
        ]
        for key, (own, *moments, _, _, _) in of_parts:
            residuals.append(Residual(f"area of {key}", answers["areas"][key] - own, total))
            residuals += [
                Residual(f"first moment of {key} in {letter}", own * x - moment, total * reach)
                for letter, x, moment in zip("xy", answers["centroids"][key], moments, strict=True)
            ]
        if not isinstance(answers["centroid"], NoAnswer):
            x, y = answers["centroid"]
            residuals.append(Residual("first moment in x", x * area - along_x, total * reach))
            residuals.append(Residual("first moment in y", y * area - along_y, total * reach))
        return residuals

    def figure(self, given: AreaGivens, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        marks = [Mark(place, name) for name, place in answers["centroids"].items()]
        marks = marks if len(marks) > 1 else []
        if not isinstance(answers["centroid"], NoAnswer):
            marks.append(Mark(answers["centroid"], "centroid", "answer"))
        return area_drawing(
            given, ar, "the parts of the area, holes open, with their centroids and that of the "
            "whole, to scale", *marks,
        )  # fmt: skip

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> AreaGivens:
        """Random parts; for a larger ``kappa`` thin walls, the holes almost filling the solid."""
        return sample_area(kappa, rng)

    def filled(self, rows: Mapping[str, int], rng: random.Random) -> AreaGivens | None:
        return area_of_rows(rows, rng) if any(rows.values()) else None
