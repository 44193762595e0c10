"""Volumes swept by turning an area about an axis of its plane.

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
from refsolver.quantities.dimensions import AREA, VOLUME
from refsolver.quantities.kinds import NoAnswer, Value
from refsolver.statics.areas.composite import TABLE, parts_of, reach_of, signed_sums
from refsolver.statics.areas.extents import extents_of
from refsolver.statics.areas.figures import area_drawing
from refsolver.statics.areas.integrals import moments_by_integrals
from refsolver.statics.areas.mistakes import HOLE_ADDED, ROUND_FROM_CROWN, TRIANGLE_AT_HALF
from refsolver.statics.areas.samples import SHAPES
from refsolver.statics.areas.shapes import AreaGivens, Rectangle, checked_opening
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
    Residual,
    Solution,
)
from refsolver.statics.drawing import Drawing, Primitive
from refsolver.statics.random_givens import decimal, drawn, figures_for, log_uniform
from refsolver.statics.registry import register


@attrs.frozen
class TurnedArea(AreaGivens):
    axis: str = turning_axis()
    turn: Angle = whole_turn()

    def __attrs_post_init__(self) -> None:
        AreaGivens.__attrs_post_init__(self)
        checked_opening(self.turn)


@register
class SweptVolume(Swept):
    name = "centroids/pappus-volume"
    title = "Volume swept by turning a plane area about an axis"
    givens = TurnedArea
    swept, amount, dimensions = "volume", "area", (VOLUME, AREA)
    answers = sweep_answers("volume", "area", (VOLUME, AREA))
    rules = {**TABLE, "path_of_centroid": path_of_centroid}
    mistakes = (*SWEEP_MISTAKES, HOLE_ADDED, ROUND_FROM_CROWN, TRIANGLE_AT_HALF)
    method = "V = A d phi: the area times the way of its centroid (Pappus and Guldinus)"
    second_method = "V = phi times the integral of the distance over the area, without centroids"

    def solve(self, given: TurnedArea, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        parts = parts_of(given, ar, rules)
        area, first = signed_sums(parts, ar)
        if ar.sign(area, "area of the whole") == 0:
            return self._missing("the areas of the parts and of the holes cancel")
        side = self._side(extents_of(given, ar), given.axis, ar)
        if isinstance(side, str):
            return self._missing(side)
        distance = first[ACROSS[given.axis]] / area * side
        return self._answered(area, distance, ar.radians(given.turn), ar, rules)

    def check(
        self, given: TurnedArea, answers: Mapping[str, Value], ar: Arithmetic
    ) -> Sequence[Residual]:
        if isinstance(answers["volume"], NoAnswer):
            return ()
        area, along_x, along_y, *_ = moments_by_integrals(given, ar)
        moment = (along_x, along_y)[ACROSS[given.axis]]
        sizes = reach_of(parts_of(given, ar), ar)
        return self._closed(given, answers, area, moment, sizes, extents_of(given, ar), ar)

    def figure(self, given: TurnedArea, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        reach = extents_of(given, ar)
        marks: list[Primitive] = [axis_stroke(reach, given.axis)] if reach is not None else []
        return area_drawing(given, ar, "the area and the axis it turns about, to scale", *marks)

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> TurnedArea:
        """A box and its hole beside the axis, 1/kappa of the box left; else a few shapes."""
        target = log_uniform(rng, kappa)
        axis, turn = rng.choice("xy"), Turn(drawn(rng, 30, 360) / 360)
        corner = (drawn(rng, 0, 5), drawn(rng, 0, 5))
        width, height = drawn(rng, 2, 9), drawn(rng, 2, 9)
        box = Rectangle(corner, width, height)
        if target < 3:
            more = _beside(rng)
            return TurnedArea(rectangles=(box,), **more, axis=axis, turn=turn)
        wall = decimal(float(width * height / (width + height)) / target, figures_for(target))
        inside = tuple(x + wall for x in corner)
        hole = Rectangle(inside, width - 2 * wall, height - 2 * wall, "hole")
        return TurnedArea(rectangles=(box, hole), axis=axis, turn=turn)

    def filled(self, rows: Mapping[str, int], rng: random.Random) -> TurnedArea | None:
        if not any(rows.values()) or not set(rows) <= set(SHAPES):
            return None
        made = {t: tuple(_far(t, rng) for _ in range(n)) for t, n in rows.items() if n}
        return TurnedArea(**made, axis=rng.choice("xy"), turn=Turn(drawn(rng, 30, 360) / 360))


def _far(table: str, rng: random.Random) -> Any:
    """A random shape carried so far up and right that it reaches no axis."""
    row = SHAPES[table](rng)
    if table == "polygons":
        corners = tuple(attrs.evolve(c, at=_shifted(c.at)) for c in row.corners)
        return attrs.evolve(row, corners=corners)
    names = [n for n in ("corner", "a", "b", "c", "centre", "vertex") if hasattr(row, n)]
    points = {n: getattr(row, n) for n in names if isinstance(getattr(row, n), tuple)}
    return attrs.evolve(row, **{n: _shifted(p) for n, p in points.items()})


def _shifted(at: Any) -> tuple[fmpq, ...]:
    return tuple(x + 30 for x in at)


def _beside(rng: random.Random) -> dict[str, Any]:
    return {t: (_far(t, rng),) for t in rng.sample(("discs", "half_discs", "triangles"), 2)}
