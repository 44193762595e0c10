"""Plane surfaces under fluids at rest: what the families of such surfaces share.

A surface lies in a plane that slopes at an angle; its shape is told by its width at each
distance ``s`` down the slope from its upper edge. Every fluid is taken as if alone, with
the excess of its weight over the fluid above it (:class:`~refsolver.statics.fluids.Load`),
on the part of the surface below its level. Source of the method: any text of
hydrostatics, for instance B. S. Massey, "Mechanics of Fluids", chapter 2 (from memory):
F = gamma h_c A, and the centre of pressure lies sin(slope) I_c / (h_c A) below the
centroid, measured along the slope.
"""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Callable, Mapping, Sequence
from types import SimpleNamespace
from typing import Any, ClassVar

import attrs

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.exact import Angle, Exact, Turn, rational
from refsolver.quantities.dimensions import (
    AREA,
    FORCE,
    LENGTH,
    MOMENT,
    PRESSURE,
    SECOND_MOMENT,
)
from refsolver.quantities.kinds import NoAnswer, ScalarKind, Value
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
    many,
    quantity,
)
from refsolver.statics.drawing import Drawing
from refsolver.statics.fluid_drawing import surface_drawing
from refsolver.statics.fluids import (
    CAUTION,
    DENSITY_MISTAKES,
    SIDES,
    Fluid,
    Load,
    at_most_upright,
    gravity_given,
    layered,
    loads_of,
    needs_gravity,
    weight_of_density,
)
from refsolver.statics.naming import distinct_names
from refsolver.statics.systems import sum_of

__all__ = [
    "RULES",
    "SURFACE_ANSWERS",
    "Moments",
    "Piece",
    "PlaneSurface",
    "Section",
    "Strips",
    "Surface",
    "Wall",
]


@attrs.frozen(kw_only=True)
class Surface:
    """What every plane surface states, whatever its shape."""

    depth: Exact = quantity(LENGTH, "of its upper edge below the level of all depths")
    slope: Angle = angle("of the surface from the horizontal", default=Turn(rational(1, 4)))
    fluids: tuple[Fluid, ...] = many(Fluid, "the fluids on its two sides", ordered=True)
    gravity: Exact | None = gravity_given()
    pressure: Exact = quantity(
        PRESSURE, "gauge pressure of the gas above the front fluids", default=rational(0)
    )

    def __attrs_post_init__(self) -> None:
        distinct_names(self.fluids, "fluid")
        needs_gravity(self.fluids, self.gravity)
        layered(self.fluids)
        at_most_upright(self.slope, "the slope of a surface")


@attrs.frozen
class Section:
    """An area: its size, its centroid below the upper edge, I about the level centroid axis."""

    area: Number
    centroid: Number
    own: Number


Moments = tuple[Number, Number, Number]
"""The integrals of w, w s and w s^2 over a stretch of the slope."""


@attrs.frozen
class Piece:
    """A part of the surface between two distances down the slope.

    ``section`` gives what lies below a cut, by a table of shapes (None: all of it);
    ``strips`` gives the integrals between two distances by another route, ``start`` and
    ``end`` being passed as the very objects.
    """

    name: str
    start: Number
    end: Number
    section: Callable[[Number | None, str], Section]
    strips: Callable[[Number, Number, str], Moments]


def depth_at(depth: Number, along: Number, sine: Number) -> Number:
    """z = z_top + s sin(slope)."""
    return depth + along * sine


def mean_depth(start: Number, centroid: Number, end: Number) -> Number:
    """The depth at which the pressure is the mean one: that of the centroid."""
    return centroid


def eccentric_moment(section: Section, start: Number) -> Number:
    """I about the level axis through the centroid."""
    return section.own


def _at_centroid(section: Section, start: Number) -> Number:
    return section.own * 0


def _about_the_edge(section: Section, start: Number) -> Number:
    arm = section.centroid - start
    return section.own + section.area * arm * arm


RULES: dict[str, Callable[..., Any]] = {
    "weight_of_density": weight_of_density,
    "depth_at": depth_at,
    "mean_depth": mean_depth,
    "eccentric_moment": eccentric_moment,
}


def _without_the_back(given: Any) -> Any:
    front = tuple(fluid for fluid in given.fluids if fluid.side == "front")
    if not front or len(front) == len(given.fluids):
        return None
    stated = any(fluid.density is not None for fluid in front)
    return attrs.evolve(given, fluids=front, gravity=given.gravity if stated else None)


def _without_the_gas(given: Any) -> Any:
    return None if given.pressure == 0 else attrs.evolve(given, pressure=rational(0))


SURFACE_MISTAKES = (
    Mistake(
        "pressure at the lower edge",
        "the pressure at the bottom is taken over the whole area, not that at the centroid",
        rules={"mean_depth": lambda start, centroid, end: end},
    ),
    Mistake(
        "centre of pressure at the centroid",
        "the force is placed at the centroid",
        rules={"eccentric_moment": _at_centroid},
    ),
    Mistake(
        "second moment about the upper edge",
        "the centre of pressure is found with I about the edge, not about the centroid",
        rules={"eccentric_moment": _about_the_edge},
    ),
    Mistake(
        "depth measured along the slope",
        "distances down an inclined surface are taken for depths",
        rules={"depth_at": lambda depth, along, sine: depth + along},
    ),
    Mistake(
        "gas pressure left out",
        "the pressure above the fluid is not added",
        givens=_without_the_gas,
    ),
    Mistake(
        "fluid behind left out",
        "what presses from the other side is not taken off",
        givens=_without_the_back,
    ),
    *DENSITY_MISTAKES,
)

SURFACE_ANSWERS = {
    "force": Answer(ScalarKind(FORCE), "of all fluids, square to the surface, toward the back"),
    "depth": Answer(
        ScalarKind(LENGTH), "of the centre of pressure below the level of depths", ("no point",)
    ),
    "from top": Answer(
        ScalarKind(LENGTH),
        "distance of the centre of pressure from the upper edge, along the slope",
        ("no point",),
    ),
    "from bottom": Answer(
        ScalarKind(LENGTH), "the same from the lower edge, along the slope", ("no point",)
    ),
    "horizontal": Answer(ScalarKind(FORCE), "the horizontal part of the force"),
    "vertical": Answer(ScalarKind(FORCE), "its vertical part"),
    "moment about top": Answer(ScalarKind(MOMENT), "of the force about the upper edge"),
    "moment about bottom": Answer(ScalarKind(MOMENT), "of the force about the lower edge"),
    "mean pressure": Answer(ScalarKind(PRESSURE), "force over area of the whole surface"),
    "pressure at top": Answer(ScalarKind(PRESSURE), "front less back, at the upper edge"),
    "pressure at bottom": Answer(ScalarKind(PRESSURE), "front less back, at the lower edge"),
}

_NO_POINT = NoAnswer("no point", "the forces on the two sides balance")


class PlaneSurface(Family):
    """A plane surface of some shape; a family says of what pieces it is made."""

    answers = SURFACE_ANSWERS
    rules = RULES
    mistakes: ClassVar[tuple[Mistake, ...]] = SURFACE_MISTAKES
    method = (
        "each fluid alone, with the excess of its weight over the fluid above it, on the part "
        "below its level: F = gamma h_c A, moment about the upper edge gamma (h_c A s_c + "
        "sin(slope) I_c); the sum of all, and their quotient is the place of the force"
    )
    caution = CAUTION

    @abstractmethod
    def pieces(self, given: Any, ar: Arithmetic, rules: SimpleNamespace) -> list[Piece]:
        """The surface from its upper edge down, the first piece starting at 0."""

    @abstractmethod
    def outline(self, given: Any) -> Sequence[tuple[float, float]]:
        """(s, width) down the slope, for the drawing."""

    def solve(self, given: Any, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        pieces, wall = self.pieces(given, ar, rules), Wall.of(given, ar)
        loads = loads_of(given.fluids, given.gravity, ar, rules)
        gas = ar.bring(given.pressure)
        whole = [(piece, piece.section(None, piece.name)) for piece in pieces]
        forces = [gas * section.area for _, section in whole]
        moments = [gas * section.area * section.centroid for _, section in whole]
        rows = []
        for load in loads:
            for piece in pieces:
                part = _pressed(load, piece, wall, ar, rules)
                if part is not None:
                    forces.append(part[0])
                    moments.append(part[1])
                    rows.append(Row(f"{load.key} on {piece.name}", part[2:]))
        force, moment = sum_of(forces, ar), sum_of(moments, ar)
        area = sum_of([section.area for _, section in whole], ar)
        reach = pieces[-1].end
        answers = _answers(force, moment, area, reach, wall, ar)
        for name, along in (("top", None), ("bottom", reach)):
            answers[f"pressure at {name}"] = _pressure(gas, along, loads, wall, name, ar, rules)
        rows.append(Row("sum, gas included", (area, None, None, None, force, moment)))
        columns = (
            Column("A", AREA), Column("h_c", LENGTH), Column("s_c", LENGTH),
            Column("I_c", SECOND_MOMENT), Column("F", FORCE), Column("moment", MOMENT),
        )  # fmt: skip
        return Solution(answers, (Sheet("Fluids", columns, tuple(rows), self.method),))

    def by_strips(
        self, given: Any, ar: Arithmetic
    ) -> tuple[Strips, list[Number], tuple[Number, Number, Wall]]:
        """The pressures walked down through the layers and integrated piece by piece.

        Returns the force and moment, the pressures at the upper and the lower edge, and
        (area, whole length down the slope, place of the wall).
        """
        rules = self.rule_set()
        pieces, wall = self.pieces(given, ar, rules), Wall.of(given, ar)
        loads = loads_of(given.fluids, given.gravity, ar, rules)
        nothing = ar.bring(rational(0))
        total = Strips(nothing, nothing, nothing)
        edges = [nothing, nothing]
        reach = pieces[-1].end
        for side in SIDES:
            gas = ar.bring(given.pressure) if side == "front" else nothing
            own = [load for load in loads if load.side == side]
            sense = 1 if side == "front" else -1
            for number, piece in enumerate(pieces):
                for first, last, at_zero, rise in _lines(piece, own, gas, wall, ar, rules):
                    parts = piece.strips(first, last, f"{side} of {piece.name}")
                    total = total.plus(at_zero * sense, rise * sense, parts, reach, ar)
                    if number == 0 and first is piece.start:
                        edges[0] = edges[0] + at_zero * sense
                    if number == len(pieces) - 1 and last is piece.end:
                        edges[1] = edges[1] + (at_zero + rise * reach) * sense
        areas = [p.strips(p.start, p.end, f"area of {p.name}")[0] for p in pieces]
        return total, edges, (sum_of(areas, ar), reach, wall)

    def check(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Sequence[Residual]:
        total, edges, (area, reach, wall) = self.by_strips(given, ar)
        return _residuals(answers, total, area, edges, (reach, wall), ar)

    def figure(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        return self.drawn(given, answers, ar)

    def drawn(
        self, given: Any, answers: Mapping[str, Value], ar: Arithmetic, under: bool = False
    ) -> Drawing:
        """The figure; ``under``: the front fluid lies below a sloping surface."""
        place = answers["from top"]
        return surface_drawing(
            (ar.bring(given.depth), *ar.cos_sin(given.slope)),
            self.outline(given),
            [(f.name, f.side, ar.bring(f.top)) for f in given.fluids],
            None if isinstance(place, NoAnswer) else (place, answers["force"]),
            under,
        )


@attrs.frozen
class Wall:
    """Depth of the upper edge, and cosine and sine of the slope."""

    depth: Number
    cosine: Number
    sine: Number

    @classmethod
    def of(cls, given: Any, ar: Arithmetic) -> Wall:
        return cls(ar.bring(given.depth), *ar.cos_sin(given.slope))


def _cut(
    load: Load, piece: Piece, wall: Wall, ar: Arithmetic, rules: SimpleNamespace
) -> Number | None:
    """Where the level of a fluid meets a piece: its start if above, None if not reached."""
    name = f"surface of {load.key} above the {{}} end of {piece.name}"
    low = rules.depth_at(wall.depth, piece.end, wall.sine) - load.level
    if ar.sign(low, name.format("lower")) <= 0:
        return None
    high = rules.depth_at(wall.depth, piece.start, wall.sine) - load.level
    if ar.sign(high, name.format("upper")) >= 0:
        return piece.start
    return piece.end - low / (low - high) * (piece.end - piece.start)


def _pressed(
    load: Load, piece: Piece, wall: Wall, ar: Arithmetic, rules: SimpleNamespace
) -> tuple[Number, ...] | None:
    """Force, moment about the upper edge, then the row of the working."""
    cut = _cut(load, piece, wall, ar, rules)
    if cut is None:
        return None
    name = f"{load.key} on {piece.name}"
    section = piece.section(None if cut is piece.start else cut, name)
    depths = [
        rules.depth_at(wall.depth, s, wall.sine) - load.level
        for s in (cut, section.centroid, piece.end)
    ]
    weighed = rules.mean_depth(*depths) * section.area
    own = rules.eccentric_moment(section, cut)
    force = load.excess * weighed
    moment = load.excess * (weighed * section.centroid + wall.sine * own)
    return force, moment, section.area, depths[1], section.centroid, own, force, moment


def _pressure(
    gas: Number,
    along: Number | None,
    loads: Sequence[Load],
    wall: Wall,
    name: str,
    ar: Arithmetic,
    rules: SimpleNamespace,
) -> Number:
    depth = wall.depth if along is None else rules.depth_at(wall.depth, along, wall.sine)
    total = gas
    for load in loads:
        below = depth - load.level
        if ar.sign(below, f"{name} edge below the surface of {load.key}") > 0:
            total = total + load.excess * below
    return total


def _answers(
    force: Number, moment: Number, area: Number, reach: Number, wall: Wall, ar: Arithmetic
) -> dict[str, Value]:
    answers: dict[str, Value] = {
        "force": force,
        "horizontal": force * wall.sine,
        "vertical": force * wall.cosine,
        "moment about top": moment,
        "moment about bottom": force * reach - moment,
        "mean pressure": force / area,
    }
    if ar.sign(force, "force on the surface") == 0:
        return answers | dict.fromkeys(("depth", "from top", "from bottom"), _NO_POINT)
    place = moment / force
    places = {
        "depth": wall.depth + place * wall.sine,
        "from top": place,
        "from bottom": reach - place,
    }
    return answers | places


Line = tuple[Number, Number, Number, Number]
"""A stretch of the slope on which the pressure is linear: from, to, p at s = 0, dp/ds."""


def _lines(
    piece: Piece,
    loads: Sequence[Load],
    gas: Number,
    wall: Wall,
    ar: Arithmetic,
    rules: SimpleNamespace,
) -> list[Line]:
    """The pressure of one side on a piece, walked down through the layers."""
    lines: list[Line] = []
    first, at_zero, rise = piece.start, gas, gas * 0
    at_level, last = gas, None
    for load in loads:
        if last is not None:
            at_level = at_level + last.weight * (load.level - last.level)
        last = load
        cut = _cut(load, piece, wall, ar, rules)
        if cut is None:
            break
        if cut is not piece.start:
            lines.append((first, cut, at_zero, rise))
        first = cut
        at_zero = at_level + load.weight * (wall.depth - load.level)
        rise = load.weight * wall.sine
    return [*lines, (first, piece.end, at_zero, rise)]


@attrs.frozen
class Strips:
    """Force, moment about the upper edge, and the size of the terms of the force."""

    force: Number
    moment: Number
    size: Number

    def plus(
        self, at_zero: Number, rise: Number, parts: Moments, reach: Number, ar: Arithmetic
    ) -> Strips:
        zeroth, first, second = parts
        size = ar.size(at_zero) * ar.size(zeroth) + ar.size(rise) * ar.size(zeroth) * reach
        return Strips(
            self.force + at_zero * zeroth + rise * first,
            self.moment + at_zero * first + rise * second,
            self.size + size,
        )


def _residuals(
    answers: Mapping[str, Value],
    total: Strips,
    area: Number,
    edges: Sequence[Number],
    place: tuple[Number, Wall],
    ar: Arithmetic,
) -> list[Residual]:
    (reach, wall), size = place, total.size
    turning = size * reach
    force = answers["force"]
    parts = answers["horizontal"] * wall.sine + answers["vertical"] * wall.cosine
    lower = force * reach - total.moment
    residuals = [
        Residual("force by strips", force - total.force, size),
        Residual("parts along the normal", parts - total.force, size),
        Residual("moment by strips", answers["moment about top"] - total.moment, turning),
        Residual("moment about the lower edge", answers["moment about bottom"] - lower, turning),
        Residual("mean pressure", answers["mean pressure"] * area - total.force, size),
        Residual("pressure at top", answers["pressure at top"] - edges[0], size / area),
        Residual("pressure at bottom", answers["pressure at bottom"] - edges[1], size / area),
    ]
    if not isinstance(answers["from top"], NoAnswer):
        deep = (answers["depth"] - wall.depth) * force - total.moment * wall.sine
        low = (reach - answers["from bottom"]) * force
        residuals += [
            Residual("place by strips", answers["from top"] * force - total.moment, turning),
            Residual("place from the lower edge", low - total.moment, turning),
            Residual("depth of the place", deep, turning),
        ]
    return residuals
