"""Second moments carried to a parallel axis, and what follows from tabulated section values.

Source of the method: D. W. Baker and W. Haynes, "Engineering Statics: Open and
Interactive", chapter 10 (parallel axis theorem, radius of gyration); section modulus
S = I / c: any text of strength of materials, from memory.
"""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from types import SimpleNamespace

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.enclosure import seen_sign
from refsolver.arithmetic.exact import Exact
from refsolver.quantities.dimensions import AREA, LENGTH, SECOND_MOMENT, VOLUME
from refsolver.quantities.folding import difference, times
from refsolver.quantities.kinds import ScalarKind, Value
from refsolver.statics import cautions
from refsolver.statics.contract import (
    Answer,
    Family,
    Mistake,
    Residual,
    Solution,
    quantity,
)
from refsolver.statics.drawing import Drawing, Region, Stroke
from refsolver.statics.random_givens import decimal, drawn, figures_for, log_uniform
from refsolver.statics.registry import register
from refsolver.statics.sheets import number_sheet


@attrs.frozen
class AxisChange:
    area: Exact = quantity(AREA, "the area", sign="positive")
    moment: Exact = quantity(SECOND_MOMENT, "about the axis that is known", sign="positive")
    known: Exact = quantity(
        LENGTH, "from the centroid to that axis", sign="not negative", default=fmpq(0)
    )
    wanted: Exact = quantity(
        LENGTH, "from the centroid to the parallel axis asked", sign="not negative", default=fmpq(0)
    )

    def __attrs_post_init__(self) -> None:
        carried_over = times(self.area, times(self.known, self.known))
        if seen_sign(difference(self.moment, carried_over)) in (-1, 0):
            raise ValueError(
                "no area has this moment: it must exceed A d^2 of the axis that is known"
            )


def carried(area: Number, distance: Number) -> Number:
    """A d^2."""
    return area * distance * distance


@register
class ParallelAxis(Family):
    name = "second-moments/parallel-axis"
    title = "A second moment carried to a parallel axis"
    givens = AxisChange
    answers = {
        "moment": Answer(ScalarKind(SECOND_MOMENT), "about the axis asked"),
        "centroidal": Answer(ScalarKind(SECOND_MOMENT), "about the parallel axis in the centroid"),
        "radius of gyration": Answer(ScalarKind(LENGTH), "about the axis asked, root of I / A"),
    }
    rules = {"carried": carried}
    mistakes = (
        Mistake(
            "distance not squared", "A d is added instead of A d^2",
            rules={"carried": lambda area, distance: area * distance},
        ),
        Mistake(
            "parallel axis term left out", "the moment is taken to be the same about both axes",
            rules={"carried": lambda area, distance: area * distance * 0},
        ),
        Mistake(
            "carried straight over",
            "A d^2 is added with the distance between two axes neither of which is central",
            answers=lambda given, answers, ar: _straight_over(given, answers, ar),
        ),
    )  # fmt: skip
    method = "I_c = I - A d_1^2, I' = I_c + A d_2^2, k = sqrt(I' / A)"
    second_method = "I' - I = A (d_2 - d_1)(d_2 + d_1), and k^2 A = I'"
    caution = cautions.SECTIONS

    def solve(self, given: AxisChange, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        area, moment = ar.bring(given.area), ar.bring(given.moment)
        own = moment - rules.carried(area, ar.bring(given.known))
        there = own + rules.carried(area, ar.bring(given.wanted))
        answers = {
            "moment": there,
            "centroidal": own,
            "radius of gyration": ar.sqrt(there / area),
        }
        rows = {"I_c": own, "I'": there}
        sheet = number_sheet("Parallel axes", rows, self.method, SECOND_MOMENT)
        return Solution(answers, (sheet,))

    def check(
        self, given: AxisChange, answers: Mapping[str, Value], ar: Arithmetic
    ) -> Sequence[Residual]:
        area, moment = ar.bring(given.area), ar.bring(given.moment)
        known, wanted = ar.bring(given.known), ar.bring(given.wanted)
        step = area * (wanted - known) * (wanted + known)
        size = moment + area * (wanted + known) * (wanted + known)
        k = answers["radius of gyration"]
        return [
            Residual("moment", answers["moment"] - moment - step, size),
            Residual("centroidal", answers["centroidal"] + area * known * known - moment, size),
            Residual("radius of gyration", k * k * area - moment - step, size),
        ]

    def figure(self, given: AxisChange, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        k = answers["radius of gyration"]
        places = (
            (0.0, "through the centroid", "construction"),
            (-ar.bring(given.known), "known", "given"),
            (-ar.bring(given.wanted), "asked", "axis"),
            (k - ar.bring(given.wanted), "at the radius of gyration", "answer"),
        )
        width = 2 * k
        strokes = [Stroke((-width, y), (width, y), label, role) for y, label, role in places]  # type: ignore[arg-type]
        return Drawing(tuple(strokes), "the parallel axes at their distances, to scale")

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> AxisChange:
        """A known axis so far away that the central moment is 1/kappa of the known one."""
        target = log_uniform(rng, kappa)
        area, distance = drawn(rng, 1, 90), drawn(rng, 1, 20)
        carried_over = area * distance * distance
        own = float(carried_over) / target
        places = figures_for(target)
        moment = decimal(own, places) + fmpq(1, 10**places) + carried_over
        return AxisChange(area, moment, distance, drawn(rng, 0, 20))


def _straight_over(
    given: AxisChange, answers: Mapping[str, Value], ar: Arithmetic
) -> Mapping[str, Value] | None:
    if isinstance(given.known, fmpq) and given.known == 0:
        return None
    area, gap = ar.bring(given.area), ar.bring(given.wanted) - ar.bring(given.known)
    there = ar.bring(given.moment) + area * gap * gap
    return {**answers, "moment": there, "radius of gyration": ar.sqrt(there / area)}


@attrs.frozen
class TabulatedSection:
    area: Exact = quantity(AREA, "of the section", sign="positive")
    i_x: Exact = quantity(SECOND_MOMENT, "about the central axis across the depth", sign="positive")
    i_y: Exact = quantity(SECOND_MOMENT, "about the central axis across the width", sign="positive")
    depth: Exact = quantity(LENGTH, "overall, across the x axis", sign="positive")
    width: Exact = quantity(LENGTH, "overall, across the y axis", sign="positive")


def extreme_fibre(overall: Number) -> Number:
    """Half of the depth or width of a doubly symmetric section."""
    return overall / 2


_SIDES = (("x", "i_x", "depth"), ("y", "i_y", "width"))


@register
class SymmetricSection(Family):
    name = "second-moments/symmetric-section"
    title = "Section moduli and radii of gyration of a doubly symmetric section"
    givens = TabulatedSection
    reach = (1.0, 2.0)
    reach_because = "quotients, roots and sums of positive numbers"
    answers = {
        "S_x": Answer(ScalarKind(VOLUME), "elastic section modulus, I_x over half the depth"),
        "S_y": Answer(ScalarKind(VOLUME), "elastic section modulus, I_y over half the width"),
        "k_x": Answer(ScalarKind(LENGTH), "radius of gyration, root of I_x over A"),
        "k_y": Answer(ScalarKind(LENGTH), "radius of gyration, root of I_y over A"),
        "polar": Answer(ScalarKind(SECOND_MOMENT), "I_x + I_y"),
        "polar k": Answer(ScalarKind(LENGTH), "root of the polar moment over A"),
    }
    rules = {"extreme_fibre": extreme_fibre}
    mistakes = (
        Mistake(
            "whole depth for the fibre", "the moment is divided by the whole depth or width",
            rules={"extreme_fibre": lambda overall: overall},
        ),
        Mistake(
            "axes exchanged", "depth and width are exchanged",
            givens=lambda given: attrs.evolve(given, depth=given.width, width=given.depth),
        ),
        Mistake(
            "root left out", "I / A is given for its root",
            answers=lambda given, answers, ar: {
                **answers, **{k: answers[k] * answers[k] for k in ("k_x", "k_y", "polar k")}
            },
        ),
    )  # fmt: skip
    method = "S = I / c with c half of the depth or width, k = sqrt(I / A)"
    second_method = "S c = I and k^2 A = I put back, and polar k^2 = k_x^2 + k_y^2"
    caution = cautions.SECTIONS

    def solve(self, given: TabulatedSection, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        area = ar.bring(given.area)
        answers: dict[str, Value] = {}
        rows = {}
        for letter, moment, overall in _SIDES:
            value = ar.bring(getattr(given, moment))
            c = rules.extreme_fibre(ar.bring(getattr(given, overall)))
            answers[f"S_{letter}"], answers[f"k_{letter}"] = value / c, ar.sqrt(value / area)
            rows[f"c from the {letter} axis"] = c
        answers["polar"] = ar.bring(given.i_x) + ar.bring(given.i_y)
        answers["polar k"] = ar.sqrt(answers["polar"] / area)
        return Solution(answers, (number_sheet("Section", rows, self.method, LENGTH),))

    def check(
        self, given: TabulatedSection, answers: Mapping[str, Value], ar: Arithmetic
    ) -> Sequence[Residual]:
        area = ar.bring(given.area)
        residuals = []
        for letter, moment, overall in _SIDES:
            value, whole = ar.bring(getattr(given, moment)), ar.bring(getattr(given, overall))
            modulus, k = answers[f"S_{letter}"], answers[f"k_{letter}"]
            residuals.append(Residual(f"S_{letter}", modulus * whole - value * 2, value))
            residuals.append(Residual(f"k_{letter}", k * k * area - value, value))
        both = answers["k_x"] * answers["k_x"] + answers["k_y"] * answers["k_y"]
        whole = answers["polar k"] * answers["polar k"]
        residuals.append(Residual("polar k", whole - both, both))
        residuals.append(Residual("polar", answers["polar"] - both * area, both * area))
        return residuals

    def figure(
        self, given: TabulatedSection, answers: Mapping[str, Value], ar: Arithmetic
    ) -> Drawing:
        h, b = ar.bring(given.depth) / 2, ar.bring(given.width) / 2
        k_x, k_y = answers["k_x"], answers["k_y"]
        parts = (
            Region(((-b, -h), (b, -h), (b, h), (-b, h)), "outline"),
            Stroke((-b, 0.0), (b, 0.0), "x", "axis"),
            Stroke((0.0, -h), (0.0, h), "y", "axis"),
            Stroke((-b, k_x), (b, k_x), "k_x", "answer"),
            Stroke((k_y, -h), (k_y, h), "k_y", "answer"),
        )
        return Drawing(parts, "depth and width of the section and its radii of gyration, to scale")

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> TabulatedSection:
        """Products and roots of positive numbers, well conditioned whatever ``kappa``."""
        return TabulatedSection(
            drawn(rng, 5, 90), drawn(rng, 100, 9000), drawn(rng, 10, 900), drawn(rng, 5, 40),
            drawn(rng, 4, 20),
        )  # fmt: skip
