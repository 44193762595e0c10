"""Surfaces swept by turning a line about an axis of its plane.

Source of the method: the theorems of Pappus and Guldinus, any text of statics, for
instance R. C. Hibbeler, "Engineering Mechanics: Statics", section 9.3, from memory.
"""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from types import SimpleNamespace
from typing import Any

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic
from refsolver.arithmetic.exact import Angle, Turn
from refsolver.quantities.dimensions import AREA, LENGTH
from refsolver.quantities.kinds import NoAnswer, Value
from refsolver.statics.areas.extents import Extents, arc_outermost, outermost_of
from refsolver.statics.areas.shapes import QUADRANTS, checked_opening
from refsolver.statics.chapters.centroids.lines import (
    LINE_TABLE,
    ArcPiece,
    LineGivens,
    Segment,
    integrals_along,
    line_points,
    named_pieces,
    pieces_of,
)
from refsolver.statics.chapters.centroids.sweeps import (
    ACROSS,
    SWEEP_MISTAKES,
    Swept,
    axis_stroke,
    path_of_centroid,
    sweep_answers,
    turning_axis,
    whole_turn,
)
from refsolver.statics.contract import (
    Mistake,
    Residual,
    Solution,
)
from refsolver.statics.drawing import Curve, Drawing, Mark, Primitive
from refsolver.statics.forces.systems import sum_of
from refsolver.statics.random_givens import drawn, log_uniform, share_of
from refsolver.statics.registry import register
from refsolver.statics.vectors import Numbers, added, brought


@attrs.frozen
class TurnedLine(LineGivens):
    axis: str = turning_axis()
    turn: Angle = whole_turn()

    def __attrs_post_init__(self) -> None:
        LineGivens.__attrs_post_init__(self)
        checked_opening(self.turn)


@register
class SweptSurface(Swept):
    name = "centroids/pappus-surface"
    title = "Surface swept by turning a line about an axis"
    givens = TurnedLine
    swept, amount, dimensions = "surface", "length", (AREA, LENGTH)
    answers = sweep_answers("surface", "length", (AREA, LENGTH))
    rules = {**LINE_TABLE, "path_of_centroid": path_of_centroid}
    mistakes = (
        *SWEEP_MISTAKES,
        Mistake(
            "area's formula for an arc",
            "an arc's centroid is taken from the table of areas, 2 r sin(alpha) / (3 alpha)",
            rules={"arc_offset": lambda radius, sine, half: radius * sine * 2 / (half * 3)},
        ),
    )
    method = "S = L d phi: the length times the way of its centroid (Pappus and Guldinus)"
    second_method = "S = phi times the integral of the distance along the line, without centroids"

    def solve(self, given: TurnedLine, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        pieces = pieces_of(given, ar, rules)
        size = sum_of([p.length for p in pieces], ar)
        side = self._side(_reach(given, ar), given.axis, ar)
        if isinstance(side, str):
            return self._missing(side)
        first = sum_of([p.length * p.centroid[ACROSS[given.axis]] for p in pieces], ar)
        return self._answered(size, first / size * side, ar.radians(given.turn), ar, rules)

    def check(
        self, given: TurnedLine, answers: Mapping[str, Value], ar: Arithmetic
    ) -> Sequence[Residual]:
        if isinstance(answers["surface"], NoAnswer):
            return ()
        pieces = integrals_along(given, ar)
        size, along_x, along_y = (sum_of([p[i] for p in pieces], ar) for i in range(3))
        moment = (along_x, along_y)[ACROSS[given.axis]]
        sizes = size, size + ar.size(moment) / size
        return self._closed(given, answers, size, moment, sizes, _reach(given, ar), ar)

    def figure(self, given: TurnedLine, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        parts: list[Primitive] = [
            Curve(line_points(row, ar), name) for name, row in named_pieces(given)
        ]
        parts.append(axis_stroke(_reach(given, ar), given.axis))
        parts.append(Mark((0.0, 0.0), "O", "axis"))
        return Drawing(tuple(parts), "the line and the axis it turns about, to scale")

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> TurnedLine:
        """Pieces beside the axis; for a larger ``kappa`` one whose ends nearly coincide."""
        spread = log_uniform(rng, kappa)
        if spread > 20:
            near = (drawn(rng, 10, 30), drawn(rng, 10, 30))
            far = tuple(x * (1 + share_of(spread, rng)) for x in near)
            return TurnedLine(
                (Segment(near, far),), axis=rng.choice("xy"), turn=Turn(drawn(rng, 30, 360) / 360)
            )
        found = self.filled({"segments": rng.randint(1, 3), "arcs": rng.randint(0, 2)}, rng)
        assert found is not None
        return found

    def filled(self, rows: Mapping[str, int], rng: random.Random) -> TurnedLine | None:
        if not any(rows.values()) or not set(rows) <= {"segments", "arcs"}:
            return None

        def place() -> tuple[fmpq, ...]:
            return (drawn(rng, 10, 30), drawn(rng, 10, 30))

        return TurnedLine(
            tuple(Segment(place(), place()) for _ in range(rows.get("segments", 0))),
            tuple(
                ArcPiece(
                    place(), drawn(rng, 1, 9), Turn(drawn(rng, -180, 180) / 360),
                    Turn(drawn(rng, 5, 355) / 360),
                )
                for _ in range(rows.get("arcs", 0))
            ),
            axis=rng.choice("xy"),
            turn=Turn(drawn(rng, 30, 360) / 360),
        )  # fmt: skip


def _reach(given: LineGivens, ar: Arithmetic) -> Extents:
    points: list[tuple[str, Numbers]] = []
    for name, row in named_pieces(given):
        points += [(f"{name}, {n}", p) for n, p in enumerate(_outermost(name, row, ar), 1)]
    return outermost_of(points, ar)


def _outermost(name: str, row: Any, ar: Arithmetic) -> list[Numbers]:
    if isinstance(row, Segment):
        return [brought(row.start, ar), brought(row.end, ar)]
    if isinstance(row, ArcPiece):
        centre, r = brought(row.centre, ar), ar.bring(row.radius)
        return [added(centre, (r * u, r * v)) for u, v in arc_outermost(name, row, ar)]
    signs, vertex = QUADRANTS[row.quadrant], brought(row.vertex, ar)
    sides = (ar.bring(row.width), ar.bring(row.height))
    u, v = sides if row.axis == "y" else sides[::-1]
    return [vertex, added(vertex, (u * signs[0], v * signs[1]))]
