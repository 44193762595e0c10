"""Moments of forces about an axis in space.

Source of the method: any text of statics, for instance R. C. Hibbeler, "Engineering
Mechanics: Statics", section 4.5 (from memory): M_axis = u . (r x F).
"""

from __future__ import annotations

import math
import random
from collections.abc import Mapping, Sequence
from types import SimpleNamespace
from typing import Any

import attrs

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.exact import Exact, rational
from refsolver.quantities.dimensions import LENGTH, MOMENT
from refsolver.quantities.kinds import NoAnswer, ScalarKind, TableKind, Value, VectorKind
from refsolver.quantities.leaves import ByRun, Components, Direction
from refsolver.statics import cautions
from refsolver.statics.contract import (
    Answer,
    Column,
    Family,
    Mistake,
    Residual,
    Row,
    Sheet,
    Solution,
    direction,
    many,
    point,
)
from refsolver.statics.drawing import Arrow, Drawing, Primitive, Stroke, Turning
from refsolver.statics.forces.moment_rules import (
    REVERSED,
    WRONG_Y,
    arm_from_origin,
    listed,
    turning_space,
    zero_force,
)
from refsolver.statics.forces.systems import (
    SpaceForceAt,
    arm_from,
    distance_to_line,
    is_zero,
    is_zero_force,
    moment_columns,
    placed,
    run_of,
    size_of_areas,
    sum_of,
    triangle_moment,
)
from refsolver.statics.naming import distinct_names, keys_of, of_names_alone
from refsolver.statics.random_givens import (
    decimal,
    drawn_forces,
    drawn_point,
    figures_for,
    log_uniform,
)
from refsolver.statics.registry import register
from refsolver.statics.vectors import (
    Numbers,
    brought,
    cross,
    dot,
    length,
    minus,
    scaled,
    unit_vector,
    vector,
)


@attrs.frozen
class AxisGivens:
    forces: tuple[SpaceForceAt, ...] = many(SpaceForceAt, "the forces with their places")
    through: tuple[Exact, ...] = point("a point of the axis", space=3)
    along: Direction = direction("the positive direction of the axis", space=3)

    @of_names_alone
    def __attrs_post_init__(self) -> None:
        distinct_names(self.forces, "force")


def unit_of_axis(along: Direction, ar: Arithmetic) -> Numbers:
    """The unit vector of the axis."""
    return unit_vector(along, ar)


def axis_not_normalised(along: Direction, ar: Arithmetic) -> Numbers:
    return brought(along.run, ar) if isinstance(along, ByRun) else unit_vector(along, ar)


def part_along(moment: Numbers, unit: Numbers, ar: Arithmetic) -> Number:
    """u . M."""
    return dot(moment, unit)


def whole_moment(moment: Numbers, unit: Numbers, ar: Arithmetic) -> Number:
    return length(moment, ar)


def _run_of_axis(along: Direction, ar: Arithmetic) -> Numbers:
    return brought(along.run, ar) if isinstance(along, ByRun) else unit_vector(along, ar)


def _distance_between(
    arm: Numbers, axis: Numbers, run: Numbers, key: str, ar: Arithmetic
) -> Number:
    """The shortest distance between the axis and a line, parallel to it or not."""
    across = cross(axis, run)
    if is_zero(across, f"{key} across the axis", ar):
        return distance_to_line(arm, axis, ar)
    return ar.size(dot(arm, across)) / length(across, ar)


@register
class AxisMoment(Family):
    name = "moments/space-axis"
    title = "Moment of forces about an axis"
    givens = AxisGivens
    answers = {
        "moment": Answer(
            ScalarKind(MOMENT), "about the axis, positive by the right-hand rule along it"
        ),
        "vector": Answer(
            VectorKind(MOMENT, 3), "the same as a vector along the axis", ("no direction",)
        ),
        "moments": Answer(
            TableKind(ScalarKind(MOMENT), "force"), "of each force about the axis"
        ),
        "distances": Answer(
            TableKind(ScalarKind(LENGTH), "force"),
            "shortest distance between the axis and each line of action",
            ("not defined",),
        ),
    }  # fmt: skip
    rules = {
        "arm_from": arm_from,
        "turning": turning_space,
        "unit_of_axis": unit_of_axis,
        "part_along": part_along,
    }
    mistakes = (
        Mistake(
            "arm from the origin",
            "the arm is taken from the origin instead of a point of the axis",
            {"arm_from": arm_from_origin},
        ),
        REVERSED,
        WRONG_Y,
        Mistake(
            "axis vector not of unit length",
            "the vector between two points of the axis is used without dividing by its length",
            {"unit_of_axis": axis_not_normalised},
        ),
        Mistake(
            "moment about the point for moment about the axis",
            "the magnitude of the moment about a point of the axis is given",
            {"part_along": whole_moment},
        ),
    )
    method = "M = u . (r x F), u the unit vector of the axis, r from a point of the axis"
    second_method = (
        "the same determinant about another point of the axis, with each force slid along "
        "its line, and M = distance times the part of the force across the axis"
    )
    caution = cautions.MOMENTS

    def solve(self, given: Any, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        keys = keys_of(given.forces, "force")
        through, unit = brought(given.through, ar), rules.unit_of_axis(given.along, ar)
        forces = placed(given.forces, ar)
        about_point = [rules.turning(rules.arm_from(at, through), f, ar) for at, f in forces]
        moments = [rules.part_along(moment, unit, ar) for moment in about_point]
        total = sum_of(moments, ar)
        sheet = Sheet(
            "Moments about the axis",
            (*moment_columns(3), Column("u . M", MOMENT)),
            (
                *(
                    Row(key, (*vector_moment, moment))
                    for key, vector_moment, moment in zip(keys, about_point, moments, strict=True)
                ),
                Row("sum", (None, None, None, total)),
            ),
            self.method,
        )
        answers = {
            "moment": total,
            "vector": scaled(total, unit),
            "moments": listed(keys, moments),
            "distances": listed(keys, self._distances(given, keys, ar)),
        }
        return Solution(answers, (sheet,))

    @staticmethod
    def _distances(given: AxisGivens, keys: Sequence[str], ar: Arithmetic) -> list[Any]:
        through, axis = brought(given.through, ar), _run_of_axis(given.along, ar)
        distances: list[Any] = []
        for key, item in zip(keys, given.forces, strict=True):
            if is_zero_force(item.force, key, ar):
                distances.append(zero_force(key))
                continue
            arm = minus(brought(item.at, ar), through)
            distances.append(_distance_between(arm, axis, run_of(item.force, ar), key, ar))
        return distances

    def check(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Sequence[Residual]:
        unit = unit_vector(given.along, ar)
        through = brought(given.through, ar)
        pole = tuple(p + 2 * u for p, u in zip(through, unit, strict=True))
        residuals, total, sizes = [], answers["moment"] * 0, []
        for key, item in zip(answers["moments"], given.forces, strict=True):
            at, run = brought(item.at, ar), run_of(item.force, ar)
            force = vector(item.force, ar)
            slid = tuple(a + 3 * d for a, d in zip(at, run, strict=True))
            size = size_of_areas(pole, slid, force, ar)
            moment = dot(triangle_moment(pole, slid, force), unit)
            residuals.append(
                Residual(f"{key}: slid, other pole", moment - answers["moments"][key], size)
            )
            distance = answers["distances"][key]
            if not isinstance(distance, NoAnswer):
                across = cross(unit, force)
                gap = distance * distance * dot(across, across) - moment * moment
                residuals.append(Residual(f"{key}: distance times part across", gap, size * size))
            total = total + moment
            sizes.append(size)
        size = sum_of(sizes, ar)
        residuals.append(Residual("sum", total - answers["moment"], size))
        residuals.append(
            Residual("vector along the axis", dot(answers["vector"], unit) - total, size)
        )
        across = cross(answers["vector"], unit)
        residuals += [
            Residual(f"vector across the axis, {axis}", x, size)
            for axis, x in zip("xyz", across, strict=True)
        ]
        return residuals

    def figure(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        through, unit = brought(given.through, ar), unit_vector(given.along, ar)
        forces = placed(given.forces, ar)
        stations = [dot(minus(at, through), unit) for at, _ in forces]
        low, high = min([*stations, 0.0]), max([*stations, 0.0])
        arms = (length(minus(at, through), ar) for at, _ in forces)
        beyond = max([high - low, *arms]) / 5 or 1.0
        ends = [low - beyond, high + beyond]
        start, end = (tuple(p + t * u for p, u in zip(through, unit, strict=True)) for t in ends)
        parts: list[Primitive] = [Stroke(start, end, "axis", "axis")]
        for key, (at, force), t in zip(answers["moments"], forces, stations, strict=True):
            foot = tuple(p + t * u for p, u in zip(through, unit, strict=True))
            parts += [Arrow(at, force, key), Stroke(foot, at, role="construction")]
        parts.append(Turning(end, answers["vector"], "M", "answer"))
        caption = (
            f"an axis in space, {len(forces)} forces at their places and the moment M about "
            "the axis, to scale"
        )
        return Drawing(tuple(parts), caption, 3)

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> AxisGivens:
        """Random forces and a last one, across the axis, that nearly undoes their moment."""
        from refsolver.arithmetic.double import DoubleArithmetic

        given = self.filled({"forces": rng.randint(1, 5)}, rng)
        ar = DoubleArithmetic()
        solved = self.solve(given, ar, self.rule_set()).answers
        target = log_uniform(rng, kappa)
        unit, through = unit_vector(given.along, ar), brought(given.through, ar)
        arm = cross(unit, tuple(rng.uniform(-1, 1) for _ in range(3)))
        arm = scaled(rng.uniform(1, 9) / math.sqrt(dot(arm, arm)), arm)
        goal = -solved["moment"] * (1 - 1 / target)
        force = scaled(goal / dot(arm, arm), cross(unit, arm))
        places = figures_for(target)
        last = SpaceForceAt(
            Components(tuple(decimal(x, places) for x in force)),
            tuple(decimal(p + a, places) for p, a in zip(through, arm, strict=True)),
        )
        return attrs.evolve(given, forces=(*given.forces, last))

    def filled(self, rows: Mapping[str, int], rng: random.Random) -> AxisGivens:
        forces = drawn_forces(SpaceForceAt, 3, rows.get("forces", 1), rng)
        run = (*(rational(rng.randint(-9, 9)) for _ in range(2)), rational(rng.randint(1, 9)))
        return AxisGivens(tuple(forces), drawn_point(rng, 3), ByRun(run))
