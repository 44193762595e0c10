"""Second moments of areas put together from simple parts, about stated and centroidal axes.

Source of the method: D. W. Baker and W. Haynes, "Engineering Statics: Open and
Interactive", chapter 10 (parallel axis theorem, composite shapes, radius of gyration).
"""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from types import SimpleNamespace

from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic
from refsolver.quantities.dimensions import AREA, LENGTH, SECOND_MOMENT
from refsolver.quantities.kinds import NoAnswer, PointKind, ScalarKind, TableKind, Value
from refsolver.statics import cautions
from refsolver.statics.areas.composite import Part, parts_of, reach_of, signed_sums
from refsolver.statics.areas.figures import area_drawing
from refsolver.statics.areas.integrals import central_zeros, moments_by_integrals
from refsolver.statics.areas.mistakes import DIAMETER, HOLE_ADDED
from refsolver.statics.areas.samples import area_of_rows, sample_area
from refsolver.statics.areas.second_moment_sums import (
    ALL_NAMES,
    MOMENT_MISTAKES,
    MOMENT_RULES,
    NAMES,
    about,
    gyrations,
    of_part,
)
from refsolver.statics.areas.shapes import AreaGivens
from refsolver.statics.contract import (
    Answer,
    Column,
    Family,
    Residual,
    Row,
    Sheet,
    Solution,
)
from refsolver.statics.drawing import Drawing, Mark
from refsolver.statics.forces.systems import sum_of
from refsolver.statics.registry import register

NO_CENTROID = "the areas of the parts and of the holes cancel"
RADII = (("k_x", "I_x"), ("k_y", "I_y"), ("polar k", "polar"))


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
            k: Answer(
                ScalarKind(LENGTH), f"radius of gyration, root of {n} over A", ("not defined",)
            )
            for k, n in RADII
        },
        **{
            f"centroidal {n}": Answer(
                ScalarKind(SECOND_MOMENT), "about axes through the centroid", ("not defined",)
            )
            for n in NAMES
        },
        "centroidal polar": Answer(
            ScalarKind(SECOND_MOMENT), "about the centroid", ("not defined",)
        ),
        **{
            f"centroidal {k}": Answer(
                ScalarKind(LENGTH), f"root of centroidal {n} over A", ("not defined",)
            )
            for k, n in RADII
        },
        "parts I_x": Answer(
            TableKind(ScalarKind(SECOND_MOMENT), "part"), "of each part about the x axis"
        ),
        "parts I_y": Answer(
            TableKind(ScalarKind(SECOND_MOMENT), "part"), "of each part about the y axis"
        ),
    }
    rules = MOMENT_RULES
    mistakes = (*MOMENT_MISTAKES, HOLE_ADDED, DIAMETER)
    method = (
        "I = sum of (own I + A d^2) of the parts, holes negative; centroid = sum A r / sum A; "
        "k = sqrt(I / A)"
    )
    second_method = (
        "integrals over the whole: Green's theorem along straight sides and power curves, quarters "
        "of an ellipse expanded about its centre, sectors in polar coordinates, without centroid "
        "and parallel axes of the parts"
    )
    caution = cautions.SECTIONS

    def solve(self, given: AreaGivens, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        parts = parts_of(given, ar)
        area, first = signed_sums(parts, ar)
        moments = about(parts, (0, 0), rules, ar)
        answers: dict[str, Value] = {"area": area, **moments}
        if ar.sign(area, "area of the whole") == 0:
            answers["centroid"] = NoAnswer("no point", NO_CENTROID)
            missing = NoAnswer("not defined", NO_CENTROID)
            answers.update({k: missing for k, _ in RADII})
            answers.update({f"centroidal {n}": missing for n in (*ALL_NAMES, *dict(RADII))})
        else:
            centre = (first[0] / area, first[1] / area)
            own = about(parts, centre, rules, ar)
            if central_zeros(given, ar).product:
                own["I_xy"] = ar.bring(fmpq(0))
            answers["centroid"] = centre
            answers.update(gyrations(moments, area, "", ar))
            answers.update({f"centroidal {n}": x for n, x in own.items()})
            answers.update(gyrations(own, area, "centroidal ", ar))
        for k, name in enumerate(("parts I_x", "parts I_y")):
            answers[name] = {p.name: of_part(p, k, (0, 0), rules) for p in parts}
        return Solution(answers, lambda: (self._sheet(parts),))

    def _sheet(self, parts: Sequence[Part]) -> Sheet:
        columns = (
            Column("A", AREA), Column("x", LENGTH), Column("y", LENGTH),
            *(Column(f"own {n}", SECOND_MOMENT) for n in NAMES),
        )  # fmt: skip
        rows = tuple(Row(p.name, (p.area * p.sign, *p.centroid, *p.own)) for p in parts)
        return Sheet("Parts of the area", columns, rows, self.method)

    def check(
        self, given: AreaGivens, answers: Mapping[str, Value], ar: Arithmetic
    ) -> Sequence[Residual]:
        area, qx, qy, *about_origin = moments_by_integrals(given, ar)
        parts = parts_of(given, ar)
        total, reach = reach_of(parts, ar)
        size = sum_of([p.own[0] + p.own[1] for p in parts], ar) + total * reach * reach
        residuals = [Residual("area", answers["area"] - area, total)]
        pairs = zip(NAMES, about_origin, strict=True)
        residuals += [Residual(n, answers[n] - x, size) for n, x in pairs]
        whole = dict(zip(NAMES, about_origin, strict=True))
        for k, name in enumerate(("I_x", "I_y")):
            of_parts = sum_of(list(answers[f"parts {name}"].values()), ar)
            residuals.append(Residual(f"{name} of the parts", of_parts - about_origin[k], size))
        residuals += _radii(whole, area, "", answers, size)
        if isinstance(answers["centroid"], NoAnswer):
            return residuals
        x, y = answers["centroid"]
        residuals.append(Residual("first moment in x", x * area - qx, total * reach))
        residuals.append(Residual("first moment in y", y * area - qy, total * reach))
        shifts = (qy * y, qx * x, qx * y)
        own = {n: whole[n] - moved for n, moved in zip(NAMES, shifts, strict=True)}
        residuals += [
            Residual(f"own {n}", answers[f"centroidal {n}"] - value, size)
            for n, value in own.items()
        ]
        return [*residuals, *_radii(own, area, "centroidal ", answers, size)]

    def figure(self, given: AreaGivens, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        marks = []
        if not isinstance(answers["centroid"], NoAnswer):
            marks.append(Mark(answers["centroid"], "centroid", "answer"))
        return area_drawing(
            given, ar, "the parts of the area, holes open, and its centroid", *marks
        )

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> AreaGivens:
        """Random parts; for a larger ``kappa`` thin walls, the holes almost filling the solid."""
        return sample_area(kappa, rng)

    def filled(self, rows: Mapping[str, int], rng: random.Random) -> AreaGivens | None:
        return area_of_rows(rows, rng) if any(rows.values()) else None


def _radii(
    moments: Mapping[str, Value], area: Value, where: str, answers: Mapping[str, Value], size: Value
) -> list[Residual]:
    """k^2 A = I for every radius of gyration that there is."""
    whole = {**moments, "polar": moments["I_x"] + moments["I_y"]}
    return [
        Residual(
            f"{where}{k}", answers[f"{where}{k}"] * answers[f"{where}{k}"] * area - whole[n], size
        )
        for k, n in RADII
        if not isinstance(answers[f"{where}{k}"], NoAnswer)
    ] + [Residual(f"{where}polar", answers[f"{where}polar"] - whole["polar"], size)]
