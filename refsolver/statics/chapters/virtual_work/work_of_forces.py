"""The work of forces and couples over stated displacements.

Source of the method: W = F . d and W = M a, any text of mechanics, for instance G. Strang and
E. Herman, "Calculus", volume 3, section 2.3 (work as a scalar product); virtual work:
R. C. Hibbeler, "Engineering Mechanics: Statics", section 11.1, from memory.
"""

from __future__ import annotations

import math
import random
from collections.abc import Mapping, Sequence
from types import SimpleNamespace
from typing import Any

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.exact import Angle, Exact, Turn
from refsolver.quantities.dimensions import ENERGY, FORCE, LENGTH, MOMENT
from refsolver.quantities.kinds import ScalarKind, TableKind, Value
from refsolver.quantities.leaves import Components, Vector
from refsolver.statics.contract import (
    Answer,
    Family,
    Mistake,
    Residual,
    Solution,
    angle,
    many,
    quantity,
    text,
)
from refsolver.statics.contract import vector as vector_given
from refsolver.statics.drawing import Arrow, Drawing, Mark, Primitive, Stroke
from refsolver.statics.naming import distinct_names, keys_of
from refsolver.statics.random_givens import decimal, figures_for, log_uniform
from refsolver.statics.registry import register
from refsolver.statics.sheets import number_sheet
from refsolver.statics.vectors import Numbers, added, cross, dot, length, vector

__all__ = ["DisplacedForce", "ForcesAndDisplacements", "TurnedCouple", "WorkOfForces"]


@attrs.frozen
class DisplacedForce:
    force: Vector = vector_given(FORCE, "the force, constant on the way", space=3)
    displacement: Vector = vector_given(LENGTH, "of the point it acts at", space=3)
    name: str = text("what it is called")


@attrs.frozen
class TurnedCouple:
    moment: Exact = quantity(MOMENT, "of the couple")
    turned: Angle = angle("through which its body turns, positive in the sense of the couple")
    name: str = text("what it is called")


@attrs.frozen
class ForcesAndDisplacements:
    forces: tuple[DisplacedForce, ...] = many(
        DisplacedForce, "the forces and the displacements of their points", minimum=0, default=()
    )
    couples: tuple[TurnedCouple, ...] = many(
        TurnedCouple, "the couples and the rotations of their bodies", minimum=0, default=()
    )

    def __attrs_post_init__(self) -> None:
        if not self.forces and not self.couples:
            raise ValueError("there is no force and no couple to do work")
        distinct_names([*self.forces, *self.couples], "force")


# --- rules --------------------------------------------------------------------------------


def work_of_force(force: Numbers, displacement: Numbers, ar: Arithmetic) -> Number:
    """The scalar product F . d."""
    return dot(force, displacement)


def turned_radians(turned: Angle, ar: Arithmetic) -> Number:
    """The rotation in radians."""
    return ar.radians(turned)


def _magnitudes_multiplied(force: Numbers, displacement: Numbers, ar: Arithmetic) -> Number:
    return length(force, ar) * length(displacement, ar)


def _sine_for_cosine(force: Numbers, displacement: Numbers, ar: Arithmetic) -> Number:
    return length(cross(force, displacement), ar)


def _sizes_added(given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Mapping[str, Value]:
    total = 0 * answers["total"]
    for work in answers["works"].values():
        total = total + ar.size(work)
    return {**answers, "total": total}


@register
class WorkOfForces(Family):
    name = "virtual-work/work-of-forces"
    title = "Work of forces and couples over stated displacements"
    givens = ForcesAndDisplacements
    answers = {
        "works": Answer(
            TableKind(ScalarKind(ENERGY), "force"),
            "of each force and couple; negative where it acts against the displacement",
        ),
        "total": Answer(
            ScalarKind(ENERGY),
            "the sum; zero for every displacement that the constraints allow is equilibrium",
        ),
    }
    rules = {"work": work_of_force, "radians": turned_radians}
    mistakes = (
        Mistake(
            "magnitudes multiplied",
            "force and distance are multiplied whatever the angle between them",
            rules={"work": _magnitudes_multiplied},
        ),
        Mistake(
            "sine for cosine",
            "the component across the displacement is taken",
            rules={"work": _sine_for_cosine},
        ),
        Mistake(
            "degrees for radians",
            "a couple is multiplied by its rotation in degrees",
            rules={"radians": lambda turned, ar: ar.radians(turned) * 180 / ar.pi()},
        ),
        Mistake(
            "works added without sign",
            "work against a displacement is added, not subtracted",
            answers=_sizes_added,
        ),
    )
    method = "W = F . d for a force, W = M a for a couple turned through a radians; the sum of all"
    second_method = (
        "law of cosines, 2 F . d = |F|^2 + |d|^2 - |F - d|^2 in numbers; sine and cosine of work "
        "over couple are those of the rotation"
    )

    def solve(self, given: Any, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        keys = iter(keys_of([*given.forces, *given.couples], "force"))
        works: dict[str, Number] = {}
        for item in given.forces:
            force, displacement = vector(item.force, ar), vector(item.displacement, ar)
            works[next(keys)] = rules.work(force, displacement, ar)
        for item in given.couples:
            works[next(keys)] = ar.bring(item.moment) * rules.radians(item.turned, ar)
        values = list(works.values())
        total = values[0]
        for work in values[1:]:
            total = total + work
        sheets = (number_sheet("Work", {**works, "sum": total}, self.method, ENERGY),)
        return Solution({"works": works, "total": total}, sheets)

    def check(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Sequence[Residual]:
        keys = iter(answers["works"])
        left = answers["total"]
        size = ar.bring(fmpq(1))
        residuals = []
        for item in given.forces:
            key = next(keys)
            force, displacement = vector(item.force, ar), vector(item.displacement, ar)
            apart = added(force, tuple(-x for x in displacement))
            squares = dot(force, force) + dot(displacement, displacement)
            off = squares - dot(apart, apart) - 2 * answers["works"][key]
            residuals.append(Residual(f"law of cosines, {key}", off, squares))
            size = size + squares
        for item in given.couples:
            key = next(keys)
            work, moment = answers["works"][key], ar.bring(item.moment)
            size = size + ar.size(work)
            if item.moment == 0:
                residuals.append(Residual(f"no couple, {key}", work, size))
                continue
            cosine, sine = ar.cos_sin(item.turned)
            turned = work / moment
            residuals.append(Residual(f"sine, {key}", ar.sin(turned) - sine, 1 + 0 * size))
            residuals.append(Residual(f"cosine, {key}", ar.cos(turned) - cosine, 1 + 0 * size))
        for work in answers["works"].values():
            left = left - work
        return [*residuals, Residual("sum of the works", left, size)]

    def figure(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        vectors = [(vector(f.force, ar), vector(f.displacement, ar)) for f in given.forces]
        space = 3 if any(x[2] != 0 for pair in vectors for x in pair) else 2
        parts: list[Primitive] = []
        start: Numbers = (0.0,) * space
        for key, (force, moved) in zip(keys_of(given.forces, "force"), vectors, strict=True):
            end = added(start, moved[:space])
            parts += [
                Stroke(start, end, "", "construction"),
                Mark(end, ""),
                Arrow(start, force[:space], key),
            ]
            start = end
        if not parts:
            parts.append(Mark(start, "couples only"))
        caption = "each force at the start of the displacement of its point, one after another"
        return Drawing(tuple(parts), caption, space)

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> ForcesAndDisplacements:
        """A force nearly across its displacement, so that about 1/kappa of it works."""
        spread = log_uniform(rng, kappa)
        places = figures_for(kappa[1])
        turn = rng.uniform(0, math.tau)
        lean = turn + math.acos(1 / (1 + spread))
        size, reach = rng.uniform(10, 900), rng.uniform(1, 20)
        force = Components(
            (decimal(size * math.cos(lean), places), decimal(size * math.sin(lean), places),
             fmpq(0))
        )  # fmt: skip
        moved = Components(
            (decimal(reach * math.cos(turn), places), decimal(reach * math.sin(turn), places),
             decimal(rng.uniform(-5, 5), 1))
        )  # fmt: skip
        turned = Turn(decimal(rng.uniform(1, 90), 1) / 360)
        return ForcesAndDisplacements(
            (DisplacedForce(force, moved, "F"),),
            (TurnedCouple(decimal(rng.uniform(-90, 90), 1), turned, "M"),),
        )

    def filled(self, rows: Mapping[str, int], rng: random.Random) -> ForcesAndDisplacements | None:
        if set(rows) - {"forces", "couples"} or not rows or min(rows.values()) < 1:
            return None
        return ForcesAndDisplacements(
            tuple(_drawn_force(rng) for _ in range(rows.get("forces", 0))),
            tuple(
                TurnedCouple(
                    decimal(rng.uniform(1, 90), 1), Turn(decimal(rng.uniform(1, 90), 1) / 360)
                )
                for _ in range(rows.get("couples", 0))
            ),
        )


def _drawn_force(rng: random.Random) -> DisplacedForce:
    force, moved = (
        Components(tuple(decimal(rng.uniform(low, high), 1) for _ in range(3)))
        for low, high in ((10, 90), (1, 9))
    )
    return DisplacedForce(force, moved)
