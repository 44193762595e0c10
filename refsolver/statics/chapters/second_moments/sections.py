"""Properties of a cross-section about its centroid: moments, moduli, principal axes.

Sources of the method: D. W. Baker and W. Haynes, "Engineering Statics: Open and
Interactive", chapter 10; elastic section modulus S = I / c: any text of strength of
materials, from memory; principal axes: A. P. Boresi and R. J. Schmidt, "Advanced Mechanics
of Materials".
"""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from types import SimpleNamespace

from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.quantities.dimensions import AREA, LENGTH, SECOND_MOMENT, VOLUME
from refsolver.quantities.kinds import (
    DirectionKind,
    Kind,
    NoAnswer,
    PointKind,
    ScalarKind,
    Value,
)
from refsolver.statics import cautions
from refsolver.statics.areas.composite import parts_of, reach_of, signed_sums
from refsolver.statics.areas.extents import Extents, extents_of
from refsolver.statics.areas.figures import area_drawing
from refsolver.statics.areas.integrals import central_zeros, moments_by_integrals
from refsolver.statics.areas.mistakes import DIAMETER, HOLE_ADDED
from refsolver.statics.areas.samples import area_of_rows, sample_area
from refsolver.statics.areas.second_moment_sums import (
    MOMENT_MISTAKES,
    MOMENT_RULES,
    about,
    gyrations,
)
from refsolver.statics.areas.shapes import AreaGivens
from refsolver.statics.chapters.second_moments.principal import (
    PRINCIPAL_MISTAKES,
    PRINCIPAL_RULES,
    Moments,
    principal_axes,
    principal_residuals,
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
from refsolver.statics.drawing import Drawing, Mark, Primitive, Stroke
from refsolver.statics.forces.systems import sum_of
from refsolver.statics.registry import register

_FIBRES = ("top", "bottom", "left", "right")
_REFUSED = ("not defined",)


def fibre_distances(low: Number, high: Number, centre: Number) -> tuple[Number, Number]:
    """From the centroid to the outermost fibres on either side."""
    return (centre - low, high - centre)


def half_the_depth(low: Number, high: Number, centre: Number) -> tuple[Number, Number]:
    return ((high - low) / 2, (high - low) / 2)


def other_way_round(low: Number, high: Number, centre: Number) -> tuple[Number, Number]:
    return (high - centre, centre - low)


def _scalar(dimension: Kind, says: str) -> Answer:
    return Answer(dimension, says, _REFUSED)


@register
class SectionProperties(Family):
    name = "second-moments/section"
    title = "Properties of a cross-section about its centroid"
    givens = AreaGivens
    answers = {
        "area": Answer(ScalarKind(AREA), "holes taken off"),
        "centroid": Answer(PointKind(), "of the whole", ("no point",)),
        "I_x": _scalar(ScalarKind(SECOND_MOMENT), "about the level central axis"),
        "I_y": _scalar(ScalarKind(SECOND_MOMENT), "about the upright central axis"),
        "I_xy": _scalar(ScalarKind(SECOND_MOMENT), "central product, integral of +x y"),
        "polar": _scalar(ScalarKind(SECOND_MOMENT), "about the centroid, I_x + I_y"),
        "k_x": _scalar(ScalarKind(LENGTH), "radius of gyration, root of I_x over A"),
        "k_y": _scalar(ScalarKind(LENGTH), "radius of gyration, root of I_y over A"),
        "polar k": _scalar(ScalarKind(LENGTH), "root of the polar moment over A"),
        **{
            f"c_{side}": _scalar(
                ScalarKind(LENGTH), f"from the centroid to the outermost fibre at the {side}; "
                "a hole is taken not to cut off the whole fibre",
            )
            for side in _FIBRES
        },
        **{
            f"S_{axis} {side}": _scalar(
                ScalarKind(VOLUME), f"elastic section modulus of that fibre, I_{axis} over c_{side}"
            )
            for axis, side in zip("xxyy", _FIBRES, strict=True)
        },
        "maximum": _scalar(ScalarKind(SECOND_MOMENT), "the largest about any central axis"),
        "minimum": _scalar(ScalarKind(SECOND_MOMENT), "the smallest"),
        "major axis": Answer(
            DirectionKind(), "about which it is largest; a line without sense",
            ("not defined", "no unique answer"),
        ),
        "minor axis": Answer(
            DirectionKind(), "about which it is smallest; a line without sense",
            ("not defined", "no unique answer"),
        ),
    }  # fmt: skip
    rules = {**MOMENT_RULES, **PRINCIPAL_RULES, "fibre_distances": fibre_distances}
    mistakes = (
        *MOMENT_MISTAKES,
        *PRINCIPAL_MISTAKES,
        HOLE_ADDED,
        DIAMETER,
        Mistake(
            "half the depth for the fibre",
            "the outermost fibres are taken half the depth away, whatever the centroid",
            rules={"fibre_distances": half_the_depth},
        ),
        Mistake(
            "fibres exchanged",
            "the modulus of one side is given for the other",
            rules={"fibre_distances": other_way_round},
        ),
    )
    method = (
        "I = sum of (own I + A d^2) about the centroid, k = sqrt(I / A), S = I / c, "
        "tan 2 theta = -2 I_xy/(I_x - I_y)"
    )
    second_method = (
        "integrals over the whole instead of parts (Green's theorem, polar coordinates), moved to "
        "the centroid; S c = I put back; the matrix of moments applied to the principal axes. The "
        "outermost fibres are read from the outline once"
    )
    caution = cautions.SECTIONS

    def solve(self, given: AreaGivens, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        parts = parts_of(given, ar)
        area, first = signed_sums(parts, ar)
        if ar.sign(area, "area of the whole") == 0:
            why = "the areas of the parts and of the holes cancel"
            missing: dict[str, Value] = dict.fromkeys(self.answers, NoAnswer("not defined", why))
            return Solution({**missing, "area": area, "centroid": NoAnswer("no point", why)})
        centre = (first[0] / area, first[1] / area)
        own = about(parts, centre, rules, ar)
        zeros = central_zeros(given, ar)
        if zeros.product:
            own["I_xy"] = ar.bring(fmpq(0))
        of = Moments(own["I_x"], own["I_y"], own["I_xy"])
        found = principal_axes(of, ar, rules, zeros)
        answers: dict[str, Value] = {
            "area": area,
            "centroid": centre,
            **own,
            **gyrations(own, area, "", ar),
            **self._fibres(given, centre, own, ar, rules),
            "maximum": found.maximum,
            "minimum": found.minimum,
            "major axis": found.major,
            "minor axis": found.minor,
        }
        columns = (Column("A", AREA), Column("x", LENGTH), Column("y", LENGTH))
        rows = tuple(Row(p.name, (p.area * p.sign, *p.centroid)) for p in parts)
        return Solution(answers, (Sheet("Parts of the section", columns, rows, self.method),))

    def _fibres(
        self,
        given: AreaGivens,
        centre: Sequence[Number],
        own: Mapping[str, Number],
        ar: Arithmetic,
        rules: SimpleNamespace,
    ) -> dict[str, Value]:
        reach = extents_of(given, ar)
        if reach is None:
            nothing = NoAnswer("not defined", "no part is solid, so there is no fibre")
            sides = [f"c_{side}" for side in _FIBRES]
            moduli = [f"S_{a} {side}" for a, side in zip("xxyy", _FIBRES, strict=True)]
            return dict.fromkeys([*sides, *moduli], nothing)
        bottom, top = rules.fibre_distances(reach.bottom, reach.top, centre[1])
        left, right = rules.fibre_distances(reach.left, reach.right, centre[0])
        found: dict[str, Value] = {}
        for axis, side, c in zip("xxyy", _FIBRES, (top, bottom, left, right), strict=True):
            found[f"c_{side}"] = c
            beyond = ar.sign(c, f"fibre at the {side} beyond the centroid") > 0
            outside = NoAnswer("not defined", f"the {side} fibre does not lie beyond the centroid")
            found[f"S_{axis} {side}"] = own[f"I_{axis}"] / c if beyond else outside
        return found

    def check(
        self, given: AreaGivens, answers: Mapping[str, Value], ar: Arithmetic
    ) -> Sequence[Residual]:
        area, qx, qy, i_x, i_y, i_xy = moments_by_integrals(given, ar)
        parts = parts_of(given, ar)
        total, reach = reach_of(parts, ar)
        residuals = [Residual("area", answers["area"] - area, total)]
        if isinstance(answers["centroid"], NoAnswer):
            return residuals
        x, y = answers["centroid"]
        size = sum_of([p.own[0] + p.own[1] for p in parts], ar) + total * reach * reach
        of = Moments(i_x - qy * y, i_y - qx * x, i_xy - qx * y)
        residuals += [
            Residual("first moment in x", x * area - qx, total * reach),
            Residual("first moment in y", y * area - qy, total * reach),
            Residual("I_x", answers["I_x"] - of.i_x, size),
            Residual("I_y", answers["I_y"] - of.i_y, size),
            Residual("I_xy", answers["I_xy"] - of.i_xy, size),
            Residual("polar", answers["polar"] - of.i_x - of.i_y, size),
            *principal_residuals(of, answers, size),
        ]
        for k, moment in (("k_x", of.i_x), ("k_y", of.i_y), ("polar k", of.i_x + of.i_y)):
            if not isinstance(answers[k], NoAnswer):
                residuals.append(Residual(k, answers[k] * answers[k] * area - moment, size))
        for axis, side in zip("xxyy", _FIBRES, strict=True):
            modulus, moment = answers[f"S_{axis} {side}"], of.i_x if axis == "x" else of.i_y
            if not isinstance(modulus, NoAnswer):
                gap = modulus * answers[f"c_{side}"] - moment
                residuals.append(Residual(f"S_{axis} {side}", gap, size))
        return [*residuals, *_depths(extents_of(given, ar), answers, reach)]

    def figure(self, given: AreaGivens, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        marks: list[Primitive] = []
        if not isinstance(answers["centroid"], NoAnswer):
            marks.append(Mark(answers["centroid"], "centroid", "answer"))
            marks += _axes(given, answers, ar)
        return area_drawing(
            given, ar, "the section, its centroid and its principal axes, to scale", *marks
        )

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> AreaGivens:
        """Random parts; for a larger ``kappa`` thin walls, the holes almost filling the solid."""
        return sample_area(kappa, rng)

    def filled(self, rows: Mapping[str, int], rng: random.Random) -> AreaGivens | None:
        return area_of_rows(rows, rng) if any(rows.values()) else None


def _depths(reach: Extents | None, answers: Mapping[str, Value], size: Number) -> list[Residual]:
    """Both fibre distances of an axis, from the centroid to the outermost fibres."""
    if reach is None:
        return []
    x, y = answers["centroid"]
    return [
        Residual("fibre at the top", y + answers["c_top"] - reach.top, size),
        Residual("fibre at the bottom", y - answers["c_bottom"] - reach.bottom, size),
        Residual("fibre on the left", x - answers["c_left"] - reach.left, size),
        Residual("fibre on the right", x + answers["c_right"] - reach.right, size),
    ]


def _axes(given: AreaGivens, answers: Mapping[str, Value], ar: Arithmetic) -> list[Primitive]:
    reach = extents_of(given, ar)
    if reach is None:
        return []
    x, y = answers["centroid"]
    half = max(reach.right - reach.left, reach.top - reach.bottom) * 0.6
    strokes: list[Primitive] = []
    for name in ("major axis", "minor axis"):
        axis = answers[name]
        if not isinstance(axis, NoAnswer):
            size = (axis[0] ** 2 + axis[1] ** 2) ** 0.5
            u, v = axis[0] / size * half, axis[1] / size * half
            strokes.append(Stroke((x - u, y - v), (x + u, y + v), name, "answer"))
    return strokes
