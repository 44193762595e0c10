"""Volumes and surfaces swept by turning an area or a line about an axis of its plane.

Source of the method: the theorems of Pappus and Guldinus, any text of statics, for
instance R. C. Hibbeler, "Engineering Mechanics: Statics", section 9.3, from memory.
"""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from types import SimpleNamespace
from typing import Any, ClassVar

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.exact import Angle, Turn
from refsolver.quantities.dimensions import AREA, LENGTH, VOLUME, Dimension
from refsolver.quantities.kinds import NoAnswer, ScalarKind, Value
from refsolver.statics.area_extents import Extents, arc_outermost, extents_of, outermost_of
from refsolver.statics.area_figures import area_drawing
from refsolver.statics.area_integrals import moments_by_integrals
from refsolver.statics.area_mistakes import HOLE_ADDED, ROUND_FROM_CROWN, TRIANGLE_AT_HALF
from refsolver.statics.area_samples import SHAPES
from refsolver.statics.areas import TABLE, parts_of, reach_of, signed_sums
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
    choice,
)
from refsolver.statics.drawing import Curve, Drawing, Mark, Primitive, Stroke
from refsolver.statics.lines import (
    LINE_TABLE,
    ArcPiece,
    LineGivens,
    Segment,
    integrals_along,
    line_points,
    named_pieces,
    pieces_of,
)
from refsolver.statics.random_givens import decimal, drawn, figures_for, log_uniform
from refsolver.statics.registry import register
from refsolver.statics.shapes import QUADRANTS, AreaGivens, Rectangle, checked_opening
from refsolver.statics.systems import sum_of
from refsolver.statics.vectors import Numbers, added, brought

_FULL = Turn(fmpq(1))


def _axis() -> Any:
    return choice(("x", "y"), "the axis it turns about", default="x")


def _turn() -> Any:
    return angle("through which it turns", default=_FULL)


@attrs.frozen
class TurnedArea(AreaGivens):
    axis: str = _axis()
    turn: Angle = _turn()

    def __attrs_post_init__(self) -> None:
        AreaGivens.__attrs_post_init__(self)
        checked_opening(self.turn)


@attrs.frozen
class TurnedLine(LineGivens):
    axis: str = _axis()
    turn: Angle = _turn()

    def __attrs_post_init__(self) -> None:
        LineGivens.__attrs_post_init__(self)
        checked_opening(self.turn)


def path_of_centroid(distance: Number, turn: Number) -> Number:
    """The way the centroid goes: distance times the turn in radians."""
    return distance * turn


_MISTAKES = (
    Mistake(
        "half the way", "the centroid's way is taken as pi d for a whole turn, not 2 pi d",
        rules={"path_of_centroid": lambda distance, turn: distance * turn / 2},
    ),
    Mistake(
        "turned about the other axis", "the distance from the wrong axis is taken",
        givens=lambda given: attrs.evolve(given, axis="y" if given.axis == "x" else "x"),
    ),
)  # fmt: skip


class _Swept(Family):
    """Shared: an amount (area or length) times the way of its centroid."""

    swept: ClassVar[str]
    amount: ClassVar[str]
    dimensions: ClassVar[tuple[Dimension, Dimension]]

    def _missing(self, why: str) -> Solution:
        return Solution(dict.fromkeys(self.answers, NoAnswer("not defined", why)))

    def _side(self, reach: Extents | None, axis: str, ar: Arithmetic) -> int | str:
        """+1 or -1 for the side of the axis on which it lies, or why there is none."""
        if reach is None:
            return "no part is solid"
        low, high = (reach.bottom, reach.top) if axis == "x" else (reach.left, reach.right)
        below = ar.sign(low, f"least distance from the {axis} axis") < 0
        above = ar.sign(high, f"greatest distance from the {axis} axis") > 0
        if below and above:
            return f"it lies on both sides of the {axis} axis: turn the two parts by themselves"
        return -1 if below else 1

    def _answered(
        self, amount: Number, distance: Number, turn: Number, ar: Arithmetic, rules: SimpleNamespace
    ) -> Solution:
        way = rules.path_of_centroid(distance, turn)
        answers: dict[str, Value] = {
            self.swept: amount * way,
            self.amount: amount,
            "distance": distance,
            "way": way,
        }
        rows = [
            Row(self.amount, (amount, None)),
            Row("distance of the centroid", (None, distance)),
            Row("way of the centroid", (None, way)),
        ]
        columns = (Column(self.amount, self.dimensions[1]), Column("length", LENGTH))
        return Solution(answers, (Sheet("Sweep", columns, tuple(rows), self.method),))


def _answers(swept: str, amount: str, dimensions: tuple[Dimension, Dimension]) -> dict[str, Answer]:
    refused = ("not defined",)
    return {
        swept: Answer(ScalarKind(dimensions[0]), "swept through the turn", refused),
        amount: Answer(ScalarKind(dimensions[1]), "that is turned", refused),
        "distance": Answer(ScalarKind(LENGTH), "of the centroid from the axis", refused),
        "way": Answer(ScalarKind(LENGTH), "of the centroid through the turn", refused),
    }


@register
class SweptVolume(_Swept):
    name = "centroids/pappus-volume"
    title = "Volume swept by turning a plane area about an axis"
    givens = TurnedArea
    swept, amount, dimensions = "volume", "area", (VOLUME, AREA)
    answers = _answers("volume", "area", (VOLUME, AREA))
    rules = {**TABLE, "path_of_centroid": path_of_centroid}
    mistakes = (*_MISTAKES, HOLE_ADDED, ROUND_FROM_CROWN, TRIANGLE_AT_HALF)
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
        distance = first[1 if given.axis == "x" else 0] / area * side
        return self._answered(area, distance, ar.radians(given.turn), ar, rules)

    def check(
        self, given: TurnedArea, answers: Mapping[str, Value], ar: Arithmetic
    ) -> Sequence[Residual]:
        if isinstance(answers["volume"], NoAnswer):
            return ()
        area, along_x, along_y, *_ = moments_by_integrals(given, ar)
        moment = along_y if given.axis == "x" else along_x
        turn = ar.radians(given.turn)
        total, reach = reach_of(parts_of(given, ar), ar)
        side = self._side(extents_of(given, ar), given.axis, ar)
        swept = moment * turn * (1 if side == 1 else -1)
        return [
            Residual("area", answers["area"] - area, total),
            Residual("volume", answers["volume"] - swept, total * reach * 7),
            Residual("way", answers["way"] * area - swept, total * reach * 7),
            Residual("distance", answers["distance"] * turn - answers["way"], reach * 7),
        ]

    def figure(self, given: TurnedArea, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        reach = extents_of(given, ar)
        marks: list[Primitive] = [_axis_stroke(reach, given.axis)] if reach is not None else []
        return area_drawing(given, ar, "the area and the axis it turns about, to scale", *marks)

    def generate(self, kappa: tuple[float, float], rng: random.Random) -> TurnedArea:
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


def _axis_stroke(reach: Extents, axis: str) -> Stroke:
    if axis == "x":
        return Stroke((float(reach.left), 0.0), (float(reach.right), 0.0), "axis", "axis")
    return Stroke((0.0, float(reach.bottom)), (0.0, float(reach.top)), "axis", "axis")


@register
class SweptSurface(_Swept):
    name = "centroids/pappus-surface"
    title = "Surface swept by turning a line about an axis"
    givens = TurnedLine
    swept, amount, dimensions = "surface", "length", (AREA, LENGTH)
    answers = _answers("surface", "length", (AREA, LENGTH))
    rules = {**LINE_TABLE, "path_of_centroid": path_of_centroid}
    mistakes = (
        *_MISTAKES,
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
        index = 1 if given.axis == "x" else 0
        first = sum_of([p.length * p.centroid[index] for p in pieces], ar)
        return self._answered(size, first / size * side, ar.radians(given.turn), ar, rules)

    def check(
        self, given: TurnedLine, answers: Mapping[str, Value], ar: Arithmetic
    ) -> Sequence[Residual]:
        if isinstance(answers["surface"], NoAnswer):
            return ()
        size, along_x, along_y = integrals_along(given, ar)
        moment = along_y if given.axis == "x" else along_x
        turn = ar.radians(given.turn)
        side = self._side(_reach(given, ar), given.axis, ar)
        swept = moment * turn * (1 if side == 1 else -1)
        reach = size + ar.size(moment) / size
        return [
            Residual("length", answers["length"] - size, size),
            Residual("surface", answers["surface"] - swept, size * reach * 7),
            Residual("way", answers["way"] * size - swept, size * reach * 7),
            Residual("distance", answers["distance"] * turn - answers["way"], reach * 7),
        ]

    def figure(self, given: TurnedLine, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        parts: list[Primitive] = [
            Curve(line_points(row, ar), name) for name, row in named_pieces(given)
        ]
        parts.append(_axis_stroke(_reach(given, ar), given.axis))
        parts.append(Mark((0.0, 0.0), "O", "axis"))
        return Drawing(tuple(parts), "the line and the axis it turns about, to scale")

    def generate(self, kappa: tuple[float, float], rng: random.Random) -> TurnedLine:
        """Pieces beside the axis: sums of positive terms, whatever ``kappa``."""
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
