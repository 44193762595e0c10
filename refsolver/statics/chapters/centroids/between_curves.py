"""Centroids of areas between curves, by integration.

Source of the method: see :mod:`refsolver.statics.areas.between_curves`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import SimpleNamespace

from refsolver.arithmetic.contract import Arithmetic
from refsolver.quantities.dimensions import AREA, VOLUME
from refsolver.quantities.kinds import NoAnswer, PointKind, ScalarKind, Value
from refsolver.statics.areas.between_curves import (
    NO_CENTROID,
    CurveAreas,
    CurveFamily,
    first_moments,
    integrals_by_green,
    sizes_of,
)
from refsolver.statics.areas.curves import (
    faults,
    strips_of,
)
from refsolver.statics.contract import (
    Answer,
    Column,
    Residual,
    Row,
    Sheet,
    Solution,
)
from refsolver.statics.registry import register


@register
class CurveCentroid(CurveFamily):
    name = "centroids/between-curves"
    title = "Centroid of an area between curves"
    answers = {
        "area": Answer(ScalarKind(AREA), "between the edges", ("not defined",)),
        "Q_x": Answer(ScalarKind(VOLUME), "first moment about the x axis", ("not defined",)),
        "Q_y": Answer(ScalarKind(VOLUME), "first moment about the y axis", ("not defined",)),
        "centroid": Answer(PointKind(), "of the whole", ("no point", "not defined")),
    }
    method = (
        "A = integral of (u - l) dx, Q_y = integral of x (u - l) dx, Q_x = integral of "
        "(u + l)/2 (u - l) dx, x = Q_y / A, y = Q_x / A"
    )
    second_method = "Green's theorem along the edges: A = int x dy, Q_y = 1/2 int x^2 dy, ..."

    def solve(self, given: CurveAreas, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        strips = strips_of(given.regions, given.reference, given.half, ar)
        wrong = faults(strips, ar)
        if wrong is not None:
            return Solution(dict.fromkeys(self.answers, wrong))
        area, along_x, along_y = first_moments(strips, ar, rules)
        answers: dict[str, Value] = {
            "area": area,
            "Q_x": along_y,
            "Q_y": along_x,
            "centroid": NoAnswer("no point", NO_CENTROID),
        }
        if ar.sign(area, "area of the whole") != 0:
            answers["centroid"] = (along_x / area, along_y / area)
        columns = (Column("A", AREA), Column("Q_y", VOLUME), Column("Q_x", VOLUME))
        rows = tuple(Row(strip.name, first_moments([strip], ar, rules)) for strip in strips)
        return Solution(answers, (Sheet("Regions", columns, rows, self.method),))

    def check(
        self, given: CurveAreas, answers: Mapping[str, Value], ar: Arithmetic
    ) -> Sequence[Residual]:
        strips = strips_of(given.regions, given.reference, given.half, ar)
        if isinstance(answers["area"], NoAnswer):
            return ()
        area, along_x, along_y, *_ = integrals_by_green(strips, ar)
        size, reach = sizes_of(strips, ar)
        found = [
            Residual("area", answers["area"] - area, size),
            Residual("Q_x", answers["Q_x"] - along_y, size * reach),
            Residual("Q_y", answers["Q_y"] - along_x, size * reach),
        ]
        if not isinstance(answers["centroid"], NoAnswer):
            x, y = answers["centroid"]
            found.append(Residual("first moment in x", x * area - along_x, size * reach))
            found.append(Residual("first moment in y", y * area - along_y, size * reach))
        return found
