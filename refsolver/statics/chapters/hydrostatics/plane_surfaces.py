"""Plane surfaces under fluids at rest: what the families of such surfaces share.

A surface lies in a plane that slopes at an angle; its shape is told by its width at each
distance ``s`` down the slope from its upper edge. Every fluid is taken as if alone, with
the excess of its weight over the fluid above it (:class:`.fluids.Load`), on the part of the
surface below its level. Source of the method: any text of hydrostatics, for instance
B. S. Massey, "Mechanics of Fluids", chapter 2 (from memory): F = gamma h_c A, and the centre
of pressure lies sin(slope) I_c / (h_c A) below the centroid, measured along the slope.
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
from refsolver.statics import cautions
from refsolver.statics.chapters.hydrostatics.drawn import surface_drawing
from refsolver.statics.chapters.hydrostatics.fluids import (
    DENSITY_MISTAKES,
    Fluid,
    Load,
    at_most_upright,
    gravity_given,
    layered,
    loads_of,
    needs_gravity,
    weight_of_density,
)
from refsolver.statics.chapters.hydrostatics.surface_strips import (
    Integrated,
    Piece,
    Section,
    Wall,
    cut_of,
    depth_at,
    integrated,
    strip_residuals,
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
    many,
    quantity,
)
from refsolver.statics.drawing import Drawing
from refsolver.statics.forces.systems import sum_of
from refsolver.statics.naming import distinct_names

__all__ = ["RULES", "SURFACE_ANSWERS", "PlaneSurface", "Surface"]


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
    caution = cautions.STILL_FLUIDS

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

    def by_strips(self, given: Any, ar: Arithmetic) -> Integrated:
        """The pressures walked down through the layers and integrated piece by piece."""
        rules = self.rule_set()
        pieces = self.pieces(given, ar, rules)
        loads = loads_of(given.fluids, given.gravity, ar, rules)
        return integrated(pieces, loads, ar.bring(given.pressure), Wall.of(given, ar), ar)

    def check(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Sequence[Residual]:
        return strip_residuals(answers, self.by_strips(given, ar))

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


def _pressed(
    load: Load, piece: Piece, wall: Wall, ar: Arithmetic, rules: SimpleNamespace
) -> tuple[Number, ...] | None:
    """Force, moment about the upper edge, then the row of the working."""
    cut = cut_of(load, piece, wall, rules.depth_at, ar)
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
