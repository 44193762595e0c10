"""Principal axes and turned axes of an area whose second moments are known.

Sources of the method: A. P. Boresi and R. J. Schmidt, "Advanced Mechanics of Materials"
(principal axes); the formulas of turned axes and Mohr's circle: any text of statics, for
instance R. C. Hibbeler, "Engineering Mechanics: Statics", sections 10.6 and 10.7, from memory.
"""

from __future__ import annotations

import math
import random
from collections.abc import Mapping, Sequence
from types import SimpleNamespace

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.exact import Angle, Constant, Exact, Turn, negated
from refsolver.quantities.dimensions import SECOND_MOMENT
from refsolver.quantities.folding import times
from refsolver.quantities.kinds import DirectionKind, NoAnswer, ScalarKind, Value
from refsolver.statics import cautions
from refsolver.statics.chapters.second_moments.principal import (
    PRINCIPAL_MISTAKES,
    PRINCIPAL_RULES,
    Moments,
    principal_axes,
    principal_residuals,
    quadratic_form,
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
    angle,
    quantity,
)
from refsolver.statics.drawing import Drawing, Primitive, Stroke
from refsolver.statics.limits import exceeds
from refsolver.statics.random_givens import decimal, drawn, figures_for, log_uniform
from refsolver.statics.registry import register
from refsolver.statics.vectors import Numbers


@attrs.frozen
class MomentsOfArea:
    i_x: Exact = quantity(SECOND_MOMENT, "about the x axis", sign="positive")
    i_y: Exact = quantity(SECOND_MOMENT, "about the y axis", sign="positive")
    i_xy: Exact = quantity(SECOND_MOMENT, "product: integral of +x y", default=fmpq(0))
    turn: Angle = angle("of the axes u, v from x, y, counter-clockwise", default=Turn(fmpq(0)))

    def __attrs_post_init__(self) -> None:
        x, y, xy = self.i_x, self.i_y, self.i_xy
        stated = all(isinstance(i, fmpq | Constant) for i in (x, y, xy))
        if stated and exceeds(times(xy, xy), times(x, y)):
            raise ValueError(
                "no area has these moments: I_xy^2 may not exceed I_x I_y (compare their units)"
            )


def doubled(cosine: Number, sine: Number) -> Numbers:
    """Cosine and sine of twice the angle."""
    return (cosine * cosine - sine * sine, cosine * sine * 2)


def not_doubled(cosine: Number, sine: Number) -> Numbers:
    return (cosine, sine)


def _product_reversed(given: MomentsOfArea) -> MomentsOfArea:
    return attrs.evolve(given, i_xy=negated(given.i_xy))


@register
class PrincipalAxes(Family):
    name = "second-moments/principal-axes"
    title = "Principal and turned axes of known second moments"
    givens = MomentsOfArea
    answers = {
        "maximum": Answer(ScalarKind(SECOND_MOMENT), "the largest about any axis in the plane"),
        "minimum": Answer(ScalarKind(SECOND_MOMENT), "the smallest"),
        "major axis": Answer(
            DirectionKind(), "about which it is largest; a line without sense",
            ("no unique answer",),
        ),
        "minor axis": Answer(
            DirectionKind(), "about which it is smallest; a line without sense",
            ("no unique answer",),
        ),
        "largest product": Answer(ScalarKind(SECOND_MOMENT), "about any pair of axes, half of "
                                  "maximum less minimum"),
        "polar": Answer(ScalarKind(SECOND_MOMENT), "I_x + I_y"),
        "I_u": Answer(ScalarKind(SECOND_MOMENT), "about the turned axis u"),
        "I_v": Answer(ScalarKind(SECOND_MOMENT), "about the turned axis v"),
        "I_uv": Answer(ScalarKind(SECOND_MOMENT), "product about the turned axes"),
    }  # fmt: skip
    rules = {**PRINCIPAL_RULES, "doubled": doubled}
    mistakes = (
        *PRINCIPAL_MISTAKES,
        Mistake(
            "theta for 2 theta",
            "the turned moments are formed with the angle itself, not with its double",
            rules={"doubled": not_doubled},
        ),
        Mistake("product reversed", "I_xy is read with the wrong sign", givens=_product_reversed),
    )
    method = (
        "I = (I_x + I_y)/2 +- R, R = sqrt(((I_x - I_y)/2)^2 + I_xy^2), tan 2 theta = "
        "-2 I_xy/(I_x - I_y); I_u = (I_x + I_y)/2 + (I_x - I_y)/2 cos 2 phi - I_xy sin 2 phi"
    )
    second_method = (
        "the moments as a symmetric matrix: its trace and determinant, and the matrix applied to "
        "the axes found and to the turned axes"
    )
    caution = cautions.SECTIONS

    def solve(self, given: MomentsOfArea, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        of = _numbers(given, ar)
        found = principal_axes(of, ar, rules)
        c, s = rules.doubled(*ar.cos_sin(given.turn))
        mean, half = (of.i_x + of.i_y) / 2, (of.i_x - of.i_y) / 2
        swing = half * c - of.i_xy * s
        answers: dict[str, Value] = {
            "maximum": found.maximum,
            "minimum": found.minimum,
            "major axis": found.major,
            "minor axis": found.minor,
            "largest product": found.radius,
            "polar": of.i_x + of.i_y,
            "I_u": mean + swing,
            "I_v": mean - swing,
            "I_uv": half * s + of.i_xy * c,
        }
        rows = tuple(
            Row(label, (value,))
            for label, value in (
                ("(I_x + I_y)/2", mean), ("(I_x - I_y)/2", half), ("I_xy", of.i_xy),
                ("R", found.radius),
            )
        )  # fmt: skip
        sheet = Sheet("Mohr's circle", (Column("value", SECOND_MOMENT),), rows, self.method)
        return Solution(answers, (sheet,))

    def check(
        self, given: MomentsOfArea, answers: Mapping[str, Value], ar: Arithmetic
    ) -> Sequence[Residual]:
        of = _numbers(given, ar)
        size = of.i_x + of.i_y + ar.size(of.i_xy)
        u = ar.cos_sin(given.turn)
        v = (-u[1], u[0])
        return [
            *principal_residuals(of, answers, size),
            Residual("largest product", answers["largest product"] * 2 - answers["maximum"]
                     + answers["minimum"], size),
            Residual("polar", answers["polar"] - answers["I_u"] - answers["I_v"], size),
            Residual("I_u", answers["I_u"] - quadratic_form(of, u, u), size),
            Residual("I_v", answers["I_v"] - quadratic_form(of, v, v), size),
            Residual("I_uv", answers["I_uv"] + quadratic_form(of, u, v), size),
        ]  # fmt: skip

    def figure(self, given: MomentsOfArea, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        parts: list[Primitive] = [
            Stroke((-1.0, 0.0), (1.0, 0.0), "x", "axis"),
            Stroke((0.0, -1.0), (0.0, 1.0), "y", "axis"),
        ]
        c, s = ar.cos_sin(given.turn)
        if s:
            parts.append(Stroke((-c, -s), (c, s), "u", "construction"))
            parts.append(Stroke((s, -c), (-s, c), "v", "construction"))
        for name in ("major axis", "minor axis"):
            axis = answers[name]
            if not isinstance(axis, NoAnswer):
                length = math.hypot(*axis)
                end = (axis[0] / length, axis[1] / length)
                parts.append(Stroke((-end[0], -end[1]), end, name, "answer"))
        return Drawing(tuple(parts), "the axes x and y, the turned axes and the principal axes")

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> MomentsOfArea:
        """Moments whose smaller principal value is about 1/kappa of the larger."""
        target = log_uniform(rng, kappa)
        largest = rng.uniform(100, 900)
        smallest, lean = largest / target, rng.uniform(-math.pi / 2, math.pi / 2)
        mean, half = (largest + smallest) / 2, (largest - smallest) / 2
        places = figures_for(target)
        x = decimal(mean + half * math.cos(2 * lean), places)
        y = decimal(mean - half * math.cos(2 * lean), places)
        product = decimal(-half * math.sin(2 * lean), places)
        while product * product > x * y:  # only rounding can bring it here
            product = product * fmpq(9, 10)
        return MomentsOfArea(x, y, product, Turn(drawn(rng, -90, 90) / 360))


def _numbers(given: MomentsOfArea, ar: Arithmetic) -> Moments:
    return Moments(ar.bring(given.i_x), ar.bring(given.i_y), ar.bring(given.i_xy))
