"""Second moments of areas between curves, by integration.

Source of the method: see :mod:`refsolver.statics.areas.between_curves`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import SimpleNamespace

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.quantities.dimensions import AREA, LENGTH, SECOND_MOMENT
from refsolver.quantities.kinds import NoAnswer, PointKind, ScalarKind, Value
from refsolver.statics import cautions
from refsolver.statics.areas.between_curves import (
    MISTAKES,
    NO_CENTROID,
    CurveAreas,
    CurveFamily,
    first_moments,
    integrals_by_green,
    sizes_of,
    strip_own,
)
from refsolver.statics.areas.curves import (
    Strip,
    faults,
    plus_of,
    strips_of,
    times,
)
from refsolver.statics.areas.second_moment_sums import gyrations
from refsolver.statics.contract import (
    Answer,
    Column,
    Mistake,
    Residual,
    Row,
    Sheet,
    Solution,
)
from refsolver.statics.forces.systems import sum_of
from refsolver.statics.polynomials import product
from refsolver.statics.registry import register

_MOMENTS = ("I_x", "I_y", "I_xy", "polar")
_RADII = (("k_x", "I_x"), ("k_y", "I_y"), ("polar k", "polar"))
_REFUSED = ("not defined",)


@register
class CurveMoments(CurveFamily):
    name = "second-moments/between-curves"
    title = "Second moments of an area between curves"
    answers = {
        "area": Answer(ScalarKind(AREA), "between the edges", _REFUSED),
        "centroid": Answer(PointKind(), "of the whole", ("no point", *_REFUSED)),
        "I_x": Answer(ScalarKind(SECOND_MOMENT), "about the x axis", _REFUSED),
        "I_y": Answer(ScalarKind(SECOND_MOMENT), "about the y axis", _REFUSED),
        "I_xy": Answer(ScalarKind(SECOND_MOMENT), "product, integral of +x y", _REFUSED),
        "polar": Answer(ScalarKind(SECOND_MOMENT), "about the origin", _REFUSED),
        **{k: Answer(ScalarKind(LENGTH), f"root of {n} over A", _REFUSED) for k, n in _RADII},
        **{
            f"centroidal {n}": Answer(
                ScalarKind(SECOND_MOMENT), "about axes through the centroid", _REFUSED
            )
            for n in _MOMENTS
        },
    }
    mistakes = (
        *MISTAKES,
        Mistake(
            "strip's own moment left out",
            "h^3/12 of the strips is left out of I_x",
            rules={"strip_own": lambda height: times(strip_own(height), 0)},
        ),
    )
    method = (
        "I_x = integral of (h^3/12 + h y^2) dx with h = u - l and y = (u + l)/2, I_y = integral of "
        "x^2 h dx, I_xy = integral of x y h dx; about the centroid less A d^2"
    )
    second_method = (
        "Green's theorem along the edges: I_x = int x y^2 dy, I_y = 1/3 int x^3 dy, "
        "I_xy = 1/2 int x^2 y dy"
    )
    caution = cautions.SECTIONS

    def solve(self, given: CurveAreas, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        strips = strips_of(given.regions, given.reference, given.half, ar)
        wrong = faults(strips, ar)
        if wrong is not None:
            return Solution(dict.fromkeys(self.answers, wrong))
        area, along_x, along_y = first_moments(strips, ar, rules)
        moments = self._moments(strips, ar, rules)
        answers: dict[str, Value] = {"area": area, **moments}
        if ar.sign(area, "area of the whole") == 0:
            missing = NoAnswer("not defined", NO_CENTROID)
            answers.update({k: missing for k, _ in _RADII})
            answers.update({f"centroidal {n}": missing for n in _MOMENTS})
            answers["centroid"] = NoAnswer("no point", NO_CENTROID)
        else:
            x, y = along_x / area, along_y / area
            answers["centroid"] = (x, y)
            answers.update(gyrations(moments, area, "", ar))
            own = {
                "I_x": moments["I_x"] - along_y * y,
                "I_y": moments["I_y"] - along_x * x,
                "I_xy": moments["I_xy"] - along_x * y,
            }
            own["polar"] = own["I_x"] + own["I_y"]
            answers.update({f"centroidal {n}": m for n, m in own.items()})
        columns = tuple(Column(n, SECOND_MOMENT) for n in _MOMENTS)
        rows = tuple(
            Row(strip.name, tuple(self._moments([strip], ar, rules).values())) for strip in strips
        )
        return Solution(answers, (Sheet("Regions", columns, rows, self.method),))

    def _moments(
        self, strips: Sequence[Strip], ar: Arithmetic, rules: SimpleNamespace
    ) -> dict[str, Number]:
        sums: dict[str, list[Number]] = {name: [] for name in _MOMENTS[:3]}
        for strip in strips:
            height = rules.strip_height(strip.upper, strip.lower)
            centre = rules.strip_centre(strip.upper, strip.lower)
            carried = product(height, product(centre, centre))
            mixed = product(height, product(strip.x, centre))
            sums["I_x"].append(strip.sum(plus_of(rules.strip_own(height), carried), ar))
            sums["I_y"].append(strip.sum(product(height, product(strip.x, strip.x)), ar))
            sums["I_xy"].append(strip.sum(mixed, ar))
        found = {name: sum_of(parts, ar) for name, parts in sums.items()}
        return {**found, "polar": found["I_x"] + found["I_y"]}

    def check(
        self, given: CurveAreas, answers: Mapping[str, Value], ar: Arithmetic
    ) -> Sequence[Residual]:
        strips = strips_of(given.regions, given.reference, given.half, ar)
        if isinstance(answers["area"], NoAnswer):
            return ()
        area, along_x, along_y, i_x, i_y, i_xy = integrals_by_green(strips, ar)
        size, reach = sizes_of(strips, ar)
        whole = {"I_x": i_x, "I_y": i_y, "I_xy": i_xy, "polar": i_x + i_y}
        fourth = size * reach * reach
        found = [Residual("area", answers["area"] - area, size)]
        found += [Residual(n, answers[n] - m, fourth) for n, m in whole.items()]
        if isinstance(answers["centroid"], NoAnswer):
            return found
        x, y = answers["centroid"]
        found.append(Residual("first moment in x", x * area - along_x, size * reach))
        found.append(Residual("first moment in y", y * area - along_y, size * reach))
        shifts = {"I_x": y * y, "I_y": x * x, "I_xy": x * y, "polar": x * x + y * y}
        for n, shift in shifts.items():
            gap = answers[f"centroidal {n}"] + area * shift - whole[n]
            found.append(Residual(f"centroidal {n}", gap, fourth))
        for k, n in _RADII:
            if not isinstance(answers[k], NoAnswer):
                found.append(Residual(k, answers[k] * answers[k] * area - whole[n], fourth))
        return found
