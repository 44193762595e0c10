"""Moments of forces about a point.

Sources of the method: any text of statics, for instance R. C. Hibbeler, "Engineering
Mechanics: Statics", sections 4.1 to 4.4 (from memory): M = r x F, Varignon's theorem.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Mapping, Sequence
from types import SimpleNamespace
from typing import Any, ClassVar

import attrs

from refsolver.arithmetic.contract import Arithmetic
from refsolver.arithmetic.exact import Exact, rational
from refsolver.quantities.dimensions import LENGTH, MOMENT
from refsolver.quantities.kinds import NoAnswer, ScalarKind, TableKind, Value, VectorKind
from refsolver.quantities.leaves import Components, Vector
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
    many,
    point,
)
from refsolver.statics.drawing import Arrow, Drawing, Mark, Primitive, Stroke, Turning
from refsolver.statics.forces.moment_rules import (
    ABOUT_ORIGIN,
    REVERSED,
    WRONG_Y,
    arms_swapped,
    cells_of,
    listed,
    products_added,
    slant_arm,
    sum_of_sizes,
    turning_space,
    zero_force,
)
from refsolver.statics.forces.systems import (
    PlaneForceAt,
    SpaceForceAt,
    along_axes,
    arm_from,
    distance_to_line,
    force_columns,
    is_zero_force,
    moment_columns,
    placed,
    run_of,
    size_of_areas,
    sum_of,
    sum_of_vectors,
    triangle_moment,
    turning_plane,
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
from refsolver.statics.vectors import brought, cross, dot, magnitude_of, minus, scaled


@attrs.frozen
class PlaneMomentGivens:
    forces: tuple[PlaneForceAt, ...] = many(PlaneForceAt, "the forces with their places")
    about: tuple[Exact, ...] = point("the point about which moments are taken")

    @of_names_alone
    def __attrs_post_init__(self) -> None:
        distinct_names(self.forces, "force")


@attrs.frozen
class SpaceMomentGivens:
    forces: tuple[SpaceForceAt, ...] = many(SpaceForceAt, "the forces with their places")
    about: tuple[Exact, ...] = point("the point about which moments are taken", space=3)

    @of_names_alone
    def __attrs_post_init__(self) -> None:
        distinct_names(self.forces, "force")


class _AboutPoint(Family):
    """Shared by plane and space: a moment is a number there and a vector here."""

    space: ClassVar[int]
    method = "M = sum of r x F, r from the point to the place of each force; arm = |r x F| / |F|"
    second_method = (
        "moments as twice the areas of the triangles that pole and force span on the "
        "coordinate planes, and (r . F)^2 + M^2 = r^2 F^2 for each force"
    )
    caution = cautions.MOMENTS

    def solve(self, given: Any, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        keys = keys_of(given.forces, "force")
        about = brought(given.about, ar)
        forces = placed(given.forces, ar)
        arms = [rules.arm_from(at, about) for at, _ in forces]
        moments = [
            rules.turning(arm, force, ar) for arm, (_, force) in zip(arms, forces, strict=True)
        ]
        distances = [
            zero_force(key)
            if is_zero_force(item.force, key, ar)
            else distance_to_line(arm, run_of(item.force, ar), ar)
            for key, item, arm in zip(keys, given.forces, arms, strict=True)
        ]
        total = self._total(moments, rules, ar)
        sheet = Sheet(
            "Moments about the point",
            (
                *(Column(f"r {axis}", LENGTH) for axis in along_axes(self.space)),
                *force_columns(self.space),
                *moment_columns(self.space),
                Column("perpendicular distance", LENGTH),
            ),
            (
                *(
                    Row(key, (*arm, *force, *cells_of(moment), *cells_of(distance)))
                    for key, arm, (_, force), moment, distance in zip(
                        keys, arms, forces, moments, distances, strict=True
                    )
                ),
                Row("sum", (*(None,) * (2 * self.space), *cells_of(total), None)),
            ),
            self.method,
        )
        answers = {
            "moment": total,
            "moments": listed(keys, moments),
            "distances": listed(keys, distances),
        }
        return Solution(answers, (sheet,))

    def _total(self, moments: Sequence[Any], rules: SimpleNamespace, ar: Arithmetic) -> Any:
        if self.space == 2:
            return rules.summed(moments, ar)
        return tuple(rules.summed([moment[i] for moment in moments], ar) for i in range(3))

    def check(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Sequence[Residual]:
        about = brought(given.about, ar)
        forces = placed(given.forces, ar)
        areas = [triangle_moment(about, *force) for force in forces]
        sizes = [size_of_areas(about, at, force, ar) for at, force in forces]
        total = cells_of(answers["moment"])
        gaps = minus(sum_of_vectors(areas, len(total), ar), total)
        residuals = [
            Residual(f"sum of triangle areas, {axis}", gap, sum_of(sizes, ar))
            for axis, gap in zip("xyz", gaps, strict=False)
        ]
        for key, item, (at, force), area, size in zip(
            answers["moments"], given.forces, forces, areas, sizes, strict=True
        ):
            residuals += [
                Residual(f"{key}: area of its triangle, {axis}", gap, size)
                for axis, gap in zip(
                    "xyz", minus(cells_of(answers["moments"][key]), area), strict=False
                )
            ]
            moment, arm = cells_of(answers["moments"][key]), minus(at, about)
            pull = magnitude_of(item.force, ar)
            along = dot(arm, force)
            whole = dot(arm, arm) * pull * pull
            residuals.append(
                Residual(f"{key}: arm and force", along * along + dot(moment, moment) - whole,
                         size * size)
            )  # fmt: skip
            distance = answers["distances"][key]
            if not isinstance(distance, NoAnswer):
                gap = distance * distance * pull * pull - dot(moment, moment)
                residuals.append(Residual(f"{key}: force times distance", gap, size * size))
        return residuals

    def figure(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        about = brought(given.about, ar)
        parts: list[Primitive] = [Mark(about, "point of moments")]
        for key, (at, force) in zip(
            keys_of(given.forces, "force"), placed(given.forces, ar), strict=True
        ):
            parts.append(Arrow(at, force, key))
            run = dot(force, force)
            if run:
                foot = minus(at, scaled(dot(minus(at, about), force) / run, force))
                parts.append(Stroke(about, foot, role="construction"))
        parts.append(Turning(about, answers["moment"], "M", "answer"))
        caption = (
            f"{len(given.forces)} forces at their places, the point about which moments are "
            "taken, the perpendicular distances and the resulting moment M, to scale"
        )
        return Drawing(tuple(parts), caption, self.space)

    def _force_at(self, force: Vector, at: tuple[Exact, ...]) -> Any:
        return (PlaneForceAt if self.space == 2 else SpaceForceAt)(force, at)

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> Any:
        """Random forces and a last one whose moment cancels theirs down to about 1/kappa."""
        about = drawn_point(rng, self.space)
        forces = drawn_forces(self._force_at, self.space, rng.randint(1, 5), rng)
        target = log_uniform(rng, kappa)
        forces.append(_last_force(self._force_at, forces, about, target, rng))
        return self.givens(tuple(forces), about)

    def filled(self, rows: Mapping[str, int], rng: random.Random) -> Any | None:
        forces = drawn_forces(self._force_at, self.space, rows.get("forces", 1), rng)
        return self.givens(tuple(forces), drawn_point(rng, self.space))


def _last_force(
    make: Callable[[Vector, tuple[Exact, ...]], Any],
    forces: Sequence[Any],
    about: tuple[Exact, ...],
    kappa: float,
    rng: random.Random,
) -> Any:
    """A force of components whose moment about a point nearly undoes that of the others.

    In space a single force can only undo the part of the moment across its own arm; the
    arm is chosen across the moment, so that this part is all of it.
    """
    from refsolver.arithmetic.double import DoubleArithmetic

    ar = DoubleArithmetic()
    pole = brought(about, ar)
    moments = [triangle_moment(pole, *force) for force in placed(forces, ar)]
    total = sum_of_vectors(moments, len(moments[0]), ar)
    size = sum(math.sqrt(dot(m, m)) for m in moments)
    goal = [-x * (1 - 1 / kappa) if size else x for x in total]
    places = figures_for(kappa)
    if len(pole) == 2:
        reach = rng.choice((-1, 1)) * rng.uniform(1, 10)
        force = (0.0, goal[0] / reach)
        at = (pole[0] + reach, pole[1] + rng.uniform(-5, 5))
    else:
        arm = cross(goal, tuple(rng.uniform(-1, 1) for _ in range(3)))
        arm = scaled(rng.uniform(1, 10) / math.sqrt(dot(arm, arm)), arm)
        force = scaled(1 / dot(arm, arm), cross(goal, arm))
        at = tuple(p + a for p, a in zip(pole, arm, strict=True))
    exact = tuple(decimal(x, places) for x in force)
    if not any(exact):
        exact = (*exact[:-1], rational(1))
    return make(Components(exact), tuple(decimal(x, places) for x in at))


@register
class PlaneMoment(_AboutPoint):
    name = "moments/plane-point"
    title = "Moment of forces about a point in the plane"
    givens = PlaneMomentGivens
    space = 2
    answers = {
        "moment": Answer(ScalarKind(MOMENT), "their moment together, counter-clockwise positive"),
        "moments": Answer(
            TableKind(ScalarKind(MOMENT), "force"), "of each force, counter-clockwise positive"
        ),
        "distances": Answer(
            TableKind(ScalarKind(LENGTH), "force"),
            "perpendicular distance from the point to each line of action",
            ("not defined",),
        ),
    }
    rules = {"arm_from": arm_from, "turning": turning_plane, "summed": sum_of}
    mistakes = (
        ABOUT_ORIGIN,
        Mistake(
            "slant distance as the arm",
            "the force is multiplied by the distance to its point of application, not by the "
            "perpendicular distance to its line",
            {"turning": slant_arm},
        ),
        Mistake(
            "products added",
            "x F_y + y F_x is formed instead of x F_y - y F_x",
            {"turning": products_added},
        ),
        Mistake(
            "arms of the components swapped",
            "each component is multiplied by the distance along itself",
            {"turning": arms_swapped},
        ),
        Mistake(
            "moments added without sign",
            "all moments are taken as turning the same way",
            {"summed": sum_of_sizes},
        ),
    )


@register
class SpaceMoment(_AboutPoint):
    name = "moments/space-point"
    title = "Moment of forces about a point in space"
    givens = SpaceMomentGivens
    space = 3
    answers = {
        "moment": Answer(VectorKind(MOMENT, 3), "their moment together", ("no direction",)),
        "moments": Answer(
            TableKind(VectorKind(MOMENT, 3), "force"), "of each force", ("no direction",)
        ),
        "distances": Answer(
            TableKind(ScalarKind(LENGTH), "force"),
            "perpendicular distance from the point to each line of action",
            ("not defined",),
        ),
    }
    rules = {"arm_from": arm_from, "turning": turning_space, "summed": sum_of}
    mistakes = (ABOUT_ORIGIN, REVERSED, WRONG_Y)
