"""Centroids of bent wires and other lines put together from pieces.

Sources of the method: R. C. Hibbeler, "Engineering Mechanics: Statics", sections 9.1 and 9.2,
from memory: x = sum of L x / sum of L; arcs: r sin(alpha) / alpha.
"""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from types import SimpleNamespace
from typing import Any

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.exact import Exact, Turn
from refsolver.quantities.dimensions import AREA, LENGTH
from refsolver.quantities.kinds import PointKind, ScalarKind, TableKind, Value
from refsolver.statics.areas.shapes import QUADRANTS
from refsolver.statics.chapters.centroids.lines import (
    LINE_TABLE,
    NOT_WEIGHTED,
    ArcPiece,
    LineGivens,
    ParabolaPiece,
    Segment,
    first_moment,
    integrals_along,
    line_points,
    named_pieces,
    pieces_of,
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
from refsolver.statics.drawing import Curve, Drawing, Mark, Primitive
from refsolver.statics.forces.systems import sum_of
from refsolver.statics.random_givens import (
    decimal,
    drawn,
    drawn_point,
    figures_for,
    log_uniform,
)
from refsolver.statics.registry import register


def sector_for_arc(radius: Number, sine: Number, half: Number) -> Number:
    return radius * sine * 2 / (half * 3)


def opening_not_halved(radius: Number, sine: Number, half: Number) -> Number:
    return radius * sine / (half * 2)


def chord_for_arc(radius: Number, sine: Number, half: Number) -> Number:
    return radius * sine * 2


@register
class CompositeLine(Family):
    name = "centroids/composite-line"
    title = "Centroid of a bent wire or other line in the plane"
    givens = LineGivens
    answers = {
        "length": Answer(ScalarKind(LENGTH), "of all pieces"),
        "Q_x": Answer(ScalarKind(AREA), "first moment about the x axis, sum of L y"),
        "Q_y": Answer(ScalarKind(AREA), "first moment about the y axis, sum of L x"),
        "centroid": Answer(PointKind(), "of the whole"),
        "lengths": Answer(TableKind(ScalarKind(LENGTH), "piece"), "of each piece"),
        "centroids": Answer(TableKind(PointKind(), "piece"), "of each piece"),
    }
    rules = {**LINE_TABLE, "first_moment": first_moment}
    mistakes = (
        NOT_WEIGHTED,
        Mistake(
            "area's formula for an arc",
            "an arc's centroid is taken from the table of areas, 2 r sin(alpha) / (3 alpha)",
            rules={"arc_offset": sector_for_arc},
        ),
        Mistake(
            "opening not halved",
            "the centroid of an arc is divided by its whole opening instead of half of it",
            rules={"arc_offset": opening_not_halved},
        ),
        Mistake(
            "chord for arc", "an arc is weighted by its chord",
            rules={"arc_length": chord_for_arc},
        ),
    )  # fmt: skip
    method = "L = sum of L_i, Q_x = sum of L_i y_i, x = Q_y / L, y = Q_x / L"
    second_method = (
        "int x ds and int y ds along each piece, arcs from their two ends, the parabola with "
        "hyperbolic functions"
    )

    def solve(self, given: LineGivens, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        pieces = pieces_of(given, ar, rules)
        size = sum_of([p.length for p in pieces], ar)
        first = [
            sum_of([rules.first_moment(p.length, p.centroid[i]) for p in pieces], ar)
            for i in range(2)
        ]
        answers: dict[str, Value] = {
            "length": size,
            "Q_x": first[1],
            "Q_y": first[0],
            "centroid": (first[0] / size, first[1] / size),
            "lengths": {p.name: p.length for p in pieces},
            "centroids": {p.name: p.centroid for p in pieces},
        }
        columns = (Column("L", LENGTH), Column("x", LENGTH), Column("y", LENGTH))
        rows = tuple(Row(p.name, (p.length, *p.centroid)) for p in pieces)
        return Solution(answers, (Sheet("Pieces", columns, rows, self.method),))

    def check(
        self, given: LineGivens, answers: Mapping[str, Value], ar: Arithmetic
    ) -> Sequence[Residual]:
        pieces = integrals_along(given, ar)
        size, along_x, along_y = (sum_of([p[i] for p in pieces], ar) for i in range(3))
        x, y = answers["centroid"]
        places = answers["centroids"].values()
        reach = size + sum_of([ar.size(c) for place in places for c in place], ar)
        moment = size * reach
        residuals = [
            Residual("length", answers["length"] - size, size),
            Residual("Q_x", answers["Q_x"] - along_y, moment),
            Residual("Q_y", answers["Q_y"] - along_x, moment),
            Residual("first moment in x", x * size - along_x, moment),
            Residual("first moment in y", y * size - along_y, moment),
        ]
        for (key, place), (own, *sums) in zip(answers["centroids"].items(), pieces, strict=True):
            residuals.append(Residual(f"length of {key}", answers["lengths"][key] - own, size))
            residuals += [
                Residual(f"first moment of {key} in {letter}", own * c - along, moment)
                for letter, c, along in zip("xy", place, sums, strict=True)
            ]
        return residuals

    def figure(self, given: LineGivens, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        parts: list[Primitive] = [
            Curve(line_points(row, ar), name) for name, row in named_pieces(given)
        ]
        parts.append(Mark((0.0, 0.0), "O", "axis"))
        parts.append(Mark(answers["centroid"], "centroid", "answer"))
        return Drawing(tuple(parts), "the pieces of the line and its centroid, to scale")

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> LineGivens:
        """Pieces about a point, moved so that the centroid nearly falls on the origin."""
        target = log_uniform(rng, kappa)
        given = self.filled(
            {"segments": rng.randint(1, 3), "arcs": rng.randint(0, 2),
             "parabolas": rng.randint(0, 1)}, rng,
        )  # fmt: skip
        assert given is not None
        from refsolver.arithmetic.double import DoubleArithmetic

        place = self.solve(given, DoubleArithmetic(), self.rule_set()).answers["centroid"]
        by = [decimal(8 / target - float(x), figures_for(target)) for x in place]
        return _moved(given, tuple(by))

    def filled(self, rows: Mapping[str, int], rng: random.Random) -> LineGivens | None:
        if not any(rows.values()):
            return None
        return LineGivens(
            tuple(
                Segment(drawn_point(rng, 2), drawn_point(rng, 2))
                for _ in range(rows.get("segments", 0))
            ),
            tuple(
                ArcPiece(
                    drawn_point(rng, 2), drawn(rng, 1, 9), Turn(drawn(rng, -180, 180) / 360),
                    Turn(drawn(rng, 5, 355) / 360),
                )
                for _ in range(rows.get("arcs", 0))
            ),
            tuple(
                ParabolaPiece(
                    drawn_point(rng, 2), drawn(rng, 1, 9), drawn(rng, 1, 9), rng.choice("xy"),
                    rng.choice(tuple(QUADRANTS)),
                )
                for _ in range(rows.get("parabolas", 0))
            ),
        )  # fmt: skip


def _moved(given: LineGivens, by: tuple[fmpq, ...]) -> LineGivens:
    def shifted(at: Any) -> tuple[Exact, ...]:
        return tuple(x + d for x, d in zip(at, by, strict=True))

    return LineGivens(
        tuple(attrs.evolve(s, start=shifted(s.start), end=shifted(s.end)) for s in given.segments),
        tuple(attrs.evolve(a, centre=shifted(a.centre)) for a in given.arcs),
        tuple(attrs.evolve(p, vertex=shifted(p.vertex)) for p in given.parabolas),
    )
