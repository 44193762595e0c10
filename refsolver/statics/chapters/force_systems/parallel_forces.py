"""Parallel forces: their resultant and their centre, along a line and in space.

Source of the method: any text of statics, for instance R. C. Hibbeler, "Engineering
Mechanics: Statics", section 4.8 (from memory).
"""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from types import SimpleNamespace
from typing import Any

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.exact import Exact, rational
from refsolver.quantities.dimensions import FORCE, LENGTH, MOMENT
from refsolver.quantities.kinds import NoAnswer, PointKind, ScalarKind, TableKind, Value, VectorKind
from refsolver.quantities.leaves import ByRun, Direction
from refsolver.statics import cautions
from refsolver.statics.chapters.force_systems.forces_on_a_line import (
    OnLine,
    drawn_loads,
    drawn_on_line,
    drawn_sizes,
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
    direction,
    many,
    point,
    quantity,
    text,
)
from refsolver.statics.drawing import Arrow, Drawing, Mark, Primitive
from refsolver.statics.forces.moment_rules import listed, sum_of_sizes
from refsolver.statics.forces.systems import along_axes, sum_of, sum_of_vectors
from refsolver.statics.naming import distinct_names, keys_of, of_names_alone
from refsolver.statics.random_givens import decimal, drawn_point, figures_for, log_uniform
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
)


@attrs.frozen
class OnLineGivens:
    forces: tuple[OnLine, ...] = many(OnLine, "the parallel forces")

    @of_names_alone
    def __attrs_post_init__(self) -> None:
        distinct_names(self.forces, "force")


@attrs.frozen
class InSpace:
    force: Exact = quantity(FORCE, "its size; negative where it acts the other way")
    at: tuple[Exact, ...] = point("where it acts", space=3)
    name: str = text("what it is called")


@attrs.frozen
class InSpaceGivens:
    forces: tuple[InSpace, ...] = many(InSpace, "the parallel forces")
    along: Direction = direction("the direction in which a positive force acts", space=3)

    @of_names_alone
    def __attrs_post_init__(self) -> None:
        distinct_names(self.forces, "force")


def first_moment(force: Number, at: Number) -> Number:
    """F x."""
    return force * at


def mean_place(moment: Number, resultant: Number, places: Sequence[Number]) -> Number:
    """Sum of F x over sum of F."""
    return moment / resultant


def unweighted_place(moment: Number, resultant: Number, places: Sequence[Number]) -> Number:
    total = places[0]
    for place in places[1:]:
        total = total + place
    return total / len(places)


_UNWEIGHTED = Mistake(
    "mean of the places",
    "the places are averaged without regard to the sizes of the forces",
    {"mean_place": unweighted_place},
)
_NO_SIGNS = Mistake(
    "forces added without sign",
    "a force acting the other way is counted as if it acted the same way",
    {"summed": sum_of_sizes},
)


def _no_point(moment_is_zero: bool) -> NoAnswer:
    found = "they are in equilibrium" if moment_is_zero else "they form a couple"
    return NoAnswer("no point", f"the forces add up to zero: {found}")


def _nearly_balanced(kappa: tuple[float, float], rng: random.Random) -> list[fmpq]:
    """Random sizes, and a last one that cancels their sum down to about 1/kappa."""
    sizes = drawn_sizes(rng, rng.randint(1, 6))
    size = sum((abs(x) for x in sizes), rational(0))
    target = log_uniform(rng, kappa)
    left = decimal(float(size.p) / float(size.q) / target, figures_for(target))
    return [*sizes, left - sum(sizes, rational(0))]


@register
class ParallelOnLine(Family):
    name = "force-systems/parallel-line"
    title = "Parallel forces along a line and their centre"
    givens = OnLineGivens
    answers = {
        "resultant": Answer(ScalarKind(FORCE), "their algebraic sum"),
        "moment": Answer(
            ScalarKind(MOMENT), "sum of force times place, about the origin of the places"
        ),
        "moments": Answer(TableKind(ScalarKind(MOMENT), "force"), "force times place of each"),
        "position": Answer(
            ScalarKind(LENGTH), "where the resultant acts, the centre of the forces", ("no point",)
        ),
    }
    rules = {"first_moment": first_moment, "summed": sum_of, "mean_place": mean_place}
    mistakes = (_UNWEIGHTED, _NO_SIGNS)
    method = "R = sum of F, x = sum of F x / sum of F"
    second_method = (
        "the moment about the centre found vanishes, and moments about two other places agree "
        "with those of the resultant"
    )
    caution = cautions.PARALLEL_FORCES

    def solve(self, given: OnLineGivens, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        keys = keys_of(given.forces, "force")
        forces = [ar.bring(item.force) for item in given.forces]
        places = [ar.bring(item.at) for item in given.forces]
        moments = [rules.first_moment(f, x) for f, x in zip(forces, places, strict=True)]
        resultant, moment = rules.summed(forces, ar), sum_of(moments, ar)
        position: Any
        if ar.sign(resultant, "sum of the forces") == 0:
            position = _no_point(ar.sign(moment, "moment of forces without sum") == 0)
        else:
            position = rules.mean_place(moment, resultant, places)
        sheet = Sheet(
            "Forces and moments",
            (Column("F", FORCE), Column("x", LENGTH), Column("F x", MOMENT)),
            (
                *(
                    Row(key, tuple(cells))
                    for key, *cells in zip(keys, forces, places, moments, strict=True)
                ),
                Row(
                    "sum",
                    (resultant, None if isinstance(position, NoAnswer) else position, moment),
                ),
            ),
            self.method,
        )
        answers = {
            "resultant": resultant,
            "moment": moment,
            "moments": listed(keys, moments),
            "position": position,
        }
        return Solution(answers, (sheet,))

    def check(
        self, given: OnLineGivens, answers: Mapping[str, Value], ar: Arithmetic
    ) -> Sequence[Residual]:
        loads = [(ar.bring(item.force), ar.bring(item.at)) for item in given.forces]
        resultant, moment = answers["resultant"], answers["moment"]
        residuals = []
        for number, pole in enumerate((rational(-3), rational(7)), 1):
            a = ar.bring(pole)
            turning = sum_of([f * (x - a) for f, x in loads], ar)
            size = sum_of([ar.size(f) * (ar.size(x) + ar.size(a)) for f, x in loads], ar)
            gap = turning - (moment - resultant * a)
            residuals.append(Residual(f"moments about place {number}", gap, size))
            residuals += [
                Residual(f"moment of {key} about place {number}", f * (x - a) - m + f * a, size)
                for (key, m), (f, x) in zip(answers["moments"].items(), loads, strict=True)
            ]
        if not isinstance(answers["position"], NoAnswer):
            c = answers["position"]
            turning = sum_of([f * (x - c) for f, x in loads], ar)
            size = sum_of([ar.size(f) * (ar.size(x) + ar.size(c)) for f, x in loads], ar)
            residuals.append(Residual("moment about the centre", turning, size))
        return residuals

    def figure(self, given: OnLineGivens, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        parts = drawn_on_line(given.forces, ar)
        if not isinstance(answers["position"], NoAnswer):
            at = (answers["position"], 0.0)
            parts.append(Arrow(at, (0.0, -answers["resultant"]), "R", "answer", pushes=True))
        caption = (
            f"{len(given.forces)} parallel forces across a line, a positive one drawn downward, "
            "and their resultant R at their centre, to scale"
        )
        return Drawing(tuple(parts), caption)

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> OnLineGivens:
        """Random forces, the last of which cancels the others down to about 1/kappa."""
        return OnLineGivens(drawn_loads(rng, _nearly_balanced(kappa, rng)))

    def filled(self, rows: Mapping[str, int], rng: random.Random) -> OnLineGivens:
        return OnLineGivens(drawn_loads(rng, drawn_sizes(rng, rows.get("forces", 1))))


def centre_of(moments: Numbers, resultant: Number, places: Sequence[Numbers]) -> Numbers:
    """Sum of F r over sum of F, axis by axis."""
    return tuple(moment / resultant for moment in moments)


def unweighted_centre(moments: Numbers, resultant: Number, places: Sequence[Numbers]) -> Numbers:
    return tuple(
        unweighted_place(moment, resultant, [place[i] for place in places])
        for i, moment in enumerate(moments)
    )


@register
class ParallelInSpace(Family):
    name = "force-systems/parallel-space"
    title = "Parallel forces in space and their centre"
    givens = InSpaceGivens
    answers = {
        "resultant": Answer(VectorKind(FORCE, 3), "their sum", ("no direction",)),
        "moment": Answer(VectorKind(MOMENT, 3), "their moment about the origin", ("no direction",)),
        "centre": Answer(PointKind(3), "the centre of the parallel forces", ("no point",)),
    }
    rules = {"summed": sum_of, "centre_of": centre_of}
    mistakes = (
        Mistake(
            "mean of the places",
            "the places are averaged without regard to the sizes of the forces",
            {"centre_of": unweighted_centre},
        ),
        _NO_SIGNS,
    )
    method = "R = (sum of F) e, r = sum of F r / sum of F, M = (sum of F r) x e"
    second_method = (
        "turned to three other directions the forces have no moment about the centre, the "
        "property that defines it; and M = sum of r x F e"
    )
    caution = cautions.PARALLEL_FORCES

    def solve(self, given: InSpaceGivens, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        keys = keys_of(given.forces, "force")
        unit = unit_vector(given.along, ar)
        forces = [ar.bring(item.force) for item in given.forces]
        places = [brought(item.at, ar) for item in given.forces]
        weighted = [scaled(f, at) for f, at in zip(forces, places, strict=True)]
        sums = sum_of_vectors(weighted, 3, ar)
        resultant = rules.summed(forces, ar)
        moment = cross(sums, unit)
        centre: Any
        if ar.sign(resultant, "sum of the forces") == 0:
            still = all(
                ar.sign(x, f"moment of forces without sum along {letter}") == 0
                for x, letter in zip(moment, "xyz", strict=True)
            )
            centre = _no_point(still)
        else:
            centre = rules.centre_of(sums, resultant, places)
        sheet = Sheet(
            "Forces times places",
            (Column("F", FORCE), *(Column(f"F r {axis}", MOMENT) for axis in along_axes(3))),
            (
                *(
                    Row(key, (f, *products))
                    for key, f, products in zip(keys, forces, weighted, strict=True)
                ),
                Row("sum", (resultant, *sums)),
            ),
            self.method,
        )
        answers = {"resultant": scaled(resultant, unit), "moment": moment, "centre": centre}
        return Solution(answers, (sheet,))

    def check(
        self, given: InSpaceGivens, answers: Mapping[str, Value], ar: Arithmetic
    ) -> Sequence[Residual]:
        unit = unit_vector(given.along, ar)
        loads = [(ar.bring(item.force), brought(item.at, ar)) for item in given.forces]
        turning = sum_of_vectors([cross(at, scaled(f, unit)) for f, at in loads], 3, ar)
        size = sum_of([ar.size(f) * length(at, ar) for f, at in loads], ar)
        residuals = [
            Residual(f"moment about the origin along {letter}", gap, size)
            for letter, gap in zip("xyz", minus(turning, answers["moment"]), strict=True)
        ]
        along = sum_of([f for f, _ in loads], ar)
        residuals.append(
            Residual(
                "resultant along its direction",
                dot(answers["resultant"], unit) - along,
                sum_of([ar.size(f) for f, _ in loads], ar),
            )
        )
        size = sum_of([ar.size(f) for f, _ in loads], ar)
        residuals += [
            Residual(f"resultant across its direction, {letter}", x, size)
            for letter, x in zip("xyz", cross(answers["resultant"], unit), strict=True)
        ]
        if not isinstance(answers["centre"], NoAnswer):
            residuals += self._turned(loads, answers["centre"], ar)
        return residuals

    @staticmethod
    def _turned(
        loads: Sequence[tuple[Number, Numbers]], centre: Numbers, ar: Arithmetic
    ) -> list[Residual]:
        size = sum_of([ar.size(f) * (length(at, ar) + length(centre, ar)) for f, at in loads], ar)
        residuals = []
        for number, turned in enumerate(((1, 2, -2), (2, -1, 3), (-3, 1, 1)), 1):
            other = brought([rational(x) for x in turned], ar)
            moment = sum_of_vectors(
                [cross(minus(at, centre), scaled(f, other)) for f, at in loads], 3, ar
            )
            residuals += [
                Residual(f"direction {number}: moment along {letter}", gap, size)
                for letter, gap in zip("xyz", moment, strict=True)
            ]
        return residuals

    def figure(self, given: InSpaceGivens, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        unit = unit_vector(given.along, ar)
        parts: list[Primitive] = [
            Arrow(brought(item.at, ar), scaled(ar.bring(item.force), unit), key)
            for key, item in zip(keys_of(given.forces, "force"), given.forces, strict=True)
        ]
        if not isinstance(answers["centre"], NoAnswer):
            parts.append(Arrow(answers["centre"], answers["resultant"], "R", "answer"))
        parts.append(Mark((0.0, 0.0, 0.0), "O"))
        caption = f"{len(given.forces)} parallel forces in space and their resultant R, to scale"
        return Drawing(tuple(parts), caption, 3)

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> InSpaceGivens:
        """Random forces, the last of which cancels the others down to about 1/kappa."""
        return self._placed(_nearly_balanced(kappa, rng), rng)

    def filled(self, rows: Mapping[str, int], rng: random.Random) -> InSpaceGivens:
        return self._placed(drawn_sizes(rng, rows.get("forces", 1)), rng)

    @staticmethod
    def _placed(sizes: Sequence[fmpq], rng: random.Random) -> InSpaceGivens:
        run = (*(rational(rng.randint(-5, 5)) for _ in range(2)), rational(rng.randint(1, 5)))
        forces = tuple(InSpace(size, drawn_point(rng, 3)) for size in sizes)
        return InSpaceGivens(forces, ByRun(run))
