"""Concurrent forces: one equivalent force, in the plane and in space.

Sources of the method: any text of statics, for instance R. C. Hibbeler, "Engineering
Mechanics: Statics", chapter 2 (addition of rectangular components); from memory.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Mapping, Sequence
from types import SimpleNamespace
from typing import Any, ClassVar

import attrs
import numpy as np

from refsolver.arithmetic.columns import Leaves, at
from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.exact import Turn, rational
from refsolver.quantities.dimensions import FORCE
from refsolver.quantities.kinds import TableKind, Value, VectorKind
from refsolver.quantities.leaves import ByAngle, ByAzimuth, Polar
from refsolver.statics import cautions
from refsolver.statics.contract import (
    Answer,
    Cases,
    Column,
    Family,
    Mistake,
    Residual,
    Row,
    Sheet,
    Solution,
)
from refsolver.statics.drawing import Arrow, Drawing
from refsolver.statics.forces.concurrent import (
    PlaneForce,
    PlaneForces,
    SpaceForce,
    SpaceForces,
    component_sum,
    plan_not_reduced,
    plane_force_row,
    run_not_divided,
)
from refsolver.statics.forces.pulls import closure, product, pull_of
from refsolver.statics.naming import keys_of
from refsolver.statics.random_givens import decimal, figures_for, log_uniform
from refsolver.statics.registry import register
from refsolver.statics.vectors import (
    Numbers,
    added,
    dot,
    length,
    minus,
    scaled,
    vector,
)

__all__ = [
    "PlaneResultant",
    "SpaceResultant",
]


def _sum_of_sizes(parts: Sequence[Number], ar: Arithmetic) -> Number:
    return component_sum([ar.size(part) for part in parts], ar)


def _without_the_last(given: Any) -> Any | None:
    return attrs.evolve(given, forces=given.forces[:-1]) if len(given.forces) > 1 else None


def _equilibrant_for_resultant(
    given: Any, answers: Mapping[str, Value], ar: Arithmetic
) -> Mapping[str, Value]:
    return {
        **answers,
        "resultant": answers["equilibrant"],
        "equilibrant": answers["resultant"],
    }


def _magnitudes_added(
    given: Any, answers: Mapping[str, Value], ar: Arithmetic
) -> Mapping[str, Value] | None:
    """The true direction with the sum of the magnitudes; None where there is no direction."""
    resultant = answers["resultant"]
    size = length(resultant, ar)
    if ar.sign(size, "resultant when magnitudes are added") == 0:
        return None
    added = component_sum([length(part, ar) for part in answers["components"].values()], ar)
    total = scaled(added / size, resultant)
    return {**answers, "resultant": total, "equilibrant": tuple(-x for x in total)}


def _height_left_out(
    given: Any, answers: Mapping[str, Value], ar: Arithmetic
) -> Mapping[str, Value]:
    def flat(v: Numbers) -> Numbers:
        return (v[0], v[1], 0 * v[2])

    return {
        **answers,
        "resultant": flat(answers["resultant"]),
        "equilibrant": flat(answers["equilibrant"]),
    }


_MISTAKES = (
    Mistake("magnitudes added", "the magnitudes are added as plain numbers",
            answers=_magnitudes_added),
    Mistake("last force left out", "the last force of the table is not read",
            givens=_without_the_last),
    Mistake("equilibrant for resultant", "the force that balances them is given for their sum",
            answers=_equilibrant_for_resultant),
    Mistake("signs of components dropped", "components to the left or down count as positive",
            rules={"component_sum": _sum_of_sizes}),
    Mistake("run taken for a unit vector", "the slope's or the points' differences are not "
            "divided by their length", rules={"resolved": run_not_divided}),
)  # fmt: skip

_SPACE_MISTAKES = (
    *_MISTAKES,
    Mistake("plan component not reduced", "the whole force is taken in plan, not its part "
            "level with it", rules={"resolved": plan_not_reduced}),
    Mistake("third component left out", "the resultant is formed in plan only",
            answers=_height_left_out),
)  # fmt: skip


def counted(count: int) -> str:
    """ "1 force", "3 forces"."""
    return "1 force" if count == 1 else f"{count} forces"


class _Resultant(Family):
    """Shared by plane and space: they differ in the number of components only."""

    space: ClassVar[int]
    rules = {"resolved": vector, "component_sum": component_sum}
    method = "X = sum of F_x, Y = sum of F_y (and Z), R = sqrt(X^2 + Y^2 + Z^2)"
    caution = cautions.RESULTANTS
    second_method = (
        "R^2 from the magnitudes and the angles between every two forces (law of cosines), "
        "and the projection of the resultant on each force"
    )

    def solve(self, given: Any, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        parts = [rules.resolved(item.force, ar) for item in given.forces]
        total = tuple([rules.component_sum(along, ar) for along in zip(*parts, strict=True)])
        keys = keys_of(given.forces, "force")
        answers = {
            "resultant": total,
            "equilibrant": tuple([-x for x in total]),
            "components": dict(zip(keys, parts, strict=True)),
        }
        return Solution(answers, lambda: (self._sheet(keys, parts, total),))

    def _sheet(self, keys: Sequence[str], parts: Sequence[Numbers], total: Numbers) -> Sheet:
        rows = [Row(key, part) for key, part in zip(keys, parts, strict=True)]
        columns = tuple(Column(f"along {letter}", FORCE) for letter in "xyz"[: self.space])
        return Sheet("Components", columns, (*rows, Row("sum", total)), self.method)

    def check(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Sequence[Residual]:
        pulls = [pull_of(item.force, ar) for item in given.forces]
        keys, total = keys_of(given.forces, "force"), answers["resultant"]
        residuals = closure(pulls, keys, total, ar)
        sizes = residuals[0].size
        open_sides = added(total, answers["equilibrant"]), total
        for part in answers["components"].values():
            open_sides = open_sides[0], minus(open_sides[1], part)
        for name, side in zip(("equilibrant", "components"), open_sides, strict=True):
            residuals.append(Residual(f"{name} against the resultant", dot(side, side), sizes))
        for key, pull in zip(keys, pulls, strict=True):
            own = product(pull, pull, ar)
            along = dot(answers["components"][key], scaled(pull.size, pull.along))
            residuals.append(Residual(f"components of {key} along it", along - own, sizes))
        return residuals

    def figure(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        origin = (0.0,) * self.space
        arrows = [
            Arrow(origin, vector(item.force, ar), label)
            for item, label in zip(given.forces, keys_of(given.forces, "force"), strict=True)
        ]
        total = answers["resultant"]
        if dot(total, total) > 0:
            arrows.append(Arrow(origin, total, "R", "answer"))
        caption = f"{counted(len(given.forces))} through one point and the resultant R, to scale"
        return Drawing(tuple(arrows), caption, self.space)


def _space_force(magnitude: float, azimuth: float, rise: float, places: int) -> SpaceForce:
    turned, raised = (Turn(decimal(a, places + 1) / 360) for a in (azimuth, rise))
    return SpaceForce(Polar(decimal(magnitude, places), ByAzimuth(turned, raised)))


def _left_over(sizes: float, kappa: tuple[float, float], rng: random.Random) -> float:
    """The size of a resultant that is 1/kappa of the sum of the sizes."""
    return sizes / log_uniform(rng, kappa)


def _places(kappa: tuple[float, float]) -> int:
    return figures_for(kappa[1]) - 1


def _cancelling(
    kappa: tuple[float, float], rng: random.Random, pulls: int, count: int
) -> PlaneForces:
    """In columns, random pulls and one that cancels them down to about 1/kappa of their sum.

    Trigonometry goes through the standard library: numpy's may differ between processors,
    and the cases must not.
    """
    draw = np.random.Generator(np.random.PCG64(rng.getrandbits(64))).random
    sizes, turns = 10 + 980 * draw((pulls, count)), 360 * draw((pulls, count))
    angles = turns * (math.pi / 180)
    low, high = map(math.log, kappa)
    left = _total(sizes) / _by(math.exp, low + (high - low) * draw(count))
    turn = 2 * math.pi * draw(count)
    x = left * _by(math.cos, turn) - _total(sizes * _by(math.cos, angles))
    y = left * _by(math.sin, turn) - _total(sizes * _by(math.sin, angles))
    last = _by(math.hypot, x, y), _by(math.atan2, y, x) * (180 / math.pi) % 360
    places = _places(kappa)
    unit, degree = rational(1, 10**places), rational(1, 360 * 10 ** (places + 1))
    forces = []
    for size, turned in zip([*sizes, last[0]], [*turns, last[1]], strict=True):
        magnitude: Any = Leaves(_whole(size * 10.0**places), unit)
        turns_of: Any = Leaves(_whole(turned * 10.0 ** (places + 1)), degree)
        forces.append(PlaneForce(Polar(magnitude, ByAngle(Turn(turns_of)))))
    return PlaneForces(tuple(forces))


def _by(function: Callable[..., float], *arrays: Any) -> Any:
    flat = map(function, *(array.ravel().tolist() for array in arrays))
    return np.array(list(flat)).reshape(arrays[0].shape)


def _total(rows: Any) -> Any:
    """The sum over the rows, in their order on any processor."""
    total = rows[0]
    for row in rows[1:]:
        total = total + row
    return total


def _whole(values: Any) -> list[int]:
    return list(map(int, np.rint(values).tolist()))


@register
class PlaneResultant(_Resultant):
    name = "concurrent-forces/plane-resultant"
    title = "Resultant of concurrent forces in the plane"
    givens = PlaneForces
    reach = (1.0, 1e18)
    reach_because = "its pulls are drawn in double precision"
    space = 2
    answers = {
        "resultant": Answer(VectorKind(FORCE, 2), "the one equivalent force", ("no direction",)),
        "equilibrant": Answer(
            VectorKind(FORCE, 2), "the force that balances them", ("no direction",)
        ),
        "components": Answer(TableKind(VectorKind(FORCE, 2), "force"), "each force along the axes"),
    }
    mistakes = _MISTAKES

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> PlaneForces:
        """Random pulls and one that cancels them down to about 1/kappa of their sum."""
        made: PlaneForces = at(self.propose_many(kappa, rng, 1, {})[0].given, 0)
        return made

    def propose_many(
        self,
        kappa: tuple[float, float],
        rng: random.Random,
        count: int,
        rows: Mapping[str, tuple[int, int]],
    ) -> Sequence[Cases]:
        least, most = rows.get("forces", (2, 7))
        by_rows: dict[int, list[int]] = {}
        for number in range(count):
            pulls = rng.randint(max(1, least - 1), max(1, most - 1))
            by_rows.setdefault(pulls, []).append(number)
        return [
            Cases(tuple(numbers), _cancelling(kappa, rng, pulls, len(numbers)))
            for pulls, numbers in by_rows.items()
        ]

    def filled(self, rows: Mapping[str, int], rng: random.Random) -> PlaneForces | None:
        if set(rows) != {"forces"} or rows["forces"] < 1:
            return None
        return PlaneForces(
            tuple(
                plane_force_row(rng.uniform(10, 990), rng.uniform(0, 360), 1)
                for _ in range(rows["forces"])
            )
        )


@register
class SpaceResultant(_Resultant):
    name = "concurrent-forces/space-resultant"
    title = "Resultant of concurrent forces in space"
    givens = SpaceForces
    space = 3
    answers = {
        "resultant": Answer(VectorKind(FORCE, 3), "the one equivalent force", ("no direction",)),
        "equilibrant": Answer(
            VectorKind(FORCE, 3), "the force that balances them", ("no direction",)
        ),
        "components": Answer(TableKind(VectorKind(FORCE, 3), "force"), "each force along the axes"),
    }
    mistakes = _SPACE_MISTAKES

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> SpaceForces:
        """Random pulls and one that cancels them down to about 1/kappa of their sum."""
        pulls: list[tuple[float, float, float]] = [
            (rng.uniform(10, 990), rng.uniform(0, 360), rng.uniform(-90, 90))
            for _ in range(rng.randint(1, 6))
        ]
        sums = [0.0, 0.0, 0.0]
        for f, azimuth, rise in pulls:
            level = f * math.cos(math.radians(rise))
            sums[0] += level * math.cos(math.radians(azimuth))
            sums[1] += level * math.sin(math.radians(azimuth))
            sums[2] += f * math.sin(math.radians(rise))
        left = _left_over(sum(f for f, _, _ in pulls), kappa, rng)
        last = [left / math.sqrt(3) * rng.choice((-1, 1)) - s for s in sums]
        plan = math.hypot(last[0], last[1])
        azimuth = math.degrees(math.atan2(last[1], last[0])) % 360
        pulls.append((math.hypot(plan, last[2]), azimuth, math.degrees(math.atan2(last[2], plan))))
        return SpaceForces(tuple(_space_force(f, a, e, _places(kappa)) for f, a, e in pulls))

    def filled(self, rows: Mapping[str, int], rng: random.Random) -> SpaceForces | None:
        if set(rows) != {"forces"} or rows["forces"] < 1:
            return None
        return SpaceForces(
            tuple(
                _space_force(rng.uniform(10, 990), rng.uniform(0, 360), rng.uniform(-80, 80), 1)
                for _ in range(rows["forces"])
            )
        )
