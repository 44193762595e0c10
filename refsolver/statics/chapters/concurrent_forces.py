"""Concurrent forces: one equivalent force, in the plane and in space.

Sources of the method: any text of statics, for instance R. C. Hibbeler, "Engineering
Mechanics: Statics", chapter 2 (addition of rectangular components).
"""

from __future__ import annotations

import math
import random
from collections.abc import Mapping, Sequence
from types import SimpleNamespace
from typing import Any, ClassVar

import attrs

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.exact import Turn, rational
from refsolver.quantities.dimensions import FORCE
from refsolver.quantities.kinds import TableKind, Value, VectorKind
from refsolver.quantities.leaves import ByAngle, ByAzimuth, Polar, Vector
from refsolver.statics.contract import (
    Answer,
    Column,
    Family,
    Residual,
    Row,
    Sheet,
    Solution,
    many,
    text,
)
from refsolver.statics.contract import vector as vector_given
from refsolver.statics.drawing import Arrow, Drawing
from refsolver.statics.registry import register
from refsolver.statics.vectors import Numbers, dot, length, scaled, unit_vector, vector


@attrs.frozen
class PlaneForce:
    force: Vector = vector_given(FORCE, "the force")
    name: str = text("what it is called")


@attrs.frozen
class PlaneForces:
    forces: tuple[PlaneForce, ...] = many(PlaneForce, "the forces, all through one point")


@attrs.frozen
class SpaceForce:
    force: Vector = vector_given(FORCE, "the force", space=3)
    name: str = text("what it is called")


@attrs.frozen
class SpaceForces:
    forces: tuple[SpaceForce, ...] = many(SpaceForce, "the forces, all through one point")


def component_sum(parts: Sequence[Number]) -> Number:
    """The algebraic sum of components along one axis."""
    total = parts[0]
    for part in parts[1:]:
        total = total + part
    return total


def keys_of(items: Sequence[Any], word: str) -> list[str]:
    """The name of each item, or ``word`` and its number where it has none."""
    return [item.name or f"{word} {number}" for number, item in enumerate(items, 1)]


class _Resultant(Family):
    """Shared by plane and space: they differ in the number of components only."""

    space: ClassVar[int]
    rules = {"resolved": vector, "component_sum": component_sum}
    method = "X = sum of F_x, Y = sum of F_y (and Z), R = sqrt(X^2 + Y^2 + Z^2)"
    second_method = (
        "R^2 from the magnitudes and the angles between every two forces (law of cosines), "
        "and the projection of the resultant on each force"
    )

    def solve(self, given: Any, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        parts = [rules.resolved(item.force, ar) for item in given.forces]
        total = tuple(rules.component_sum([p[i] for p in parts]) for i in range(self.space))
        keys = keys_of(given.forces, "force")
        sheet = Sheet(
            "Components",
            tuple(Column(f"along {letter}", FORCE) for letter in "xyz"[: self.space]),
            (
                *(Row(key, part) for key, part in zip(keys, parts, strict=True)),
                Row("sum", total),
            ),
            self.method,
        )
        answers = {
            "resultant": total,
            "equilibrant": tuple(-x for x in total),
            "components": dict(zip(keys, parts, strict=True)),
        }
        return Solution(answers, (sheet,))

    def check(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Sequence[Residual]:
        pulls = [(_size(item.force, ar), _unit(item.force, ar)) for item in given.forces]
        resultant = answers["resultant"]
        square = sum_of = pulls[0][0] * 0
        for i, (a, u) in enumerate(pulls):
            sum_of = sum_of + ar.size(a)
            square = square + a * a
            for b, v in pulls[i + 1 :]:
                square = square + 2 * a * b * dot(u, v)
        residuals = [
            Residual("law of cosines", square - dot(resultant, resultant), sum_of * sum_of)
        ]
        for key, (_, u) in zip(keys_of(given.forces, "force"), pulls, strict=True):
            projected = component_sum([b * dot(u, v) for b, v in pulls])
            residuals.append(
                Residual(f"projection on {key}", projected - dot(resultant, u), sum_of)
            )
        return residuals

    def figure(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        origin = (0.0,) * self.space
        arrows = [
            Arrow(origin, vector(item.force, ar), label)
            for item, label in zip(given.forces, keys_of(given.forces, "force"), strict=True)
        ]
        arrows.append(Arrow(origin, answers["resultant"], "R", "answer"))
        caption = f"{len(given.forces)} forces through one point and their resultant R, to scale"
        return Drawing(tuple(arrows), caption, self.space)


def _size(force: Vector, ar: Arithmetic) -> Number:
    return ar.bring(force.magnitude) if isinstance(force, Polar) else length(vector(force, ar), ar)


def _unit(force: Vector, ar: Arithmetic) -> Numbers:
    """The direction of a force; a zero force given by components has none and counts as zero."""
    if isinstance(force, Polar):
        return unit_vector(force.direction, ar)
    along = vector(force, ar)
    size = length(along, ar)
    if ar.sign(size, f"size of the force with components {force.along}") == 0:
        return along
    return scaled(1 / size, along)


def _decimal(value: float, places: int) -> Any:
    return rational(round(value * 10**places), 10**places)


@register
class PlaneResultant(_Resultant):
    name = "concurrent-forces/plane-resultant"
    title = "Resultant of concurrent forces in the plane"
    givens = PlaneForces
    space = 2
    answers = {
        "resultant": Answer(VectorKind(FORCE, 2), "the one equivalent force", ("no direction",)),
        "equilibrant": Answer(
            VectorKind(FORCE, 2), "the force that balances them", ("no direction",)
        ),
        "components": Answer(TableKind(VectorKind(FORCE, 2), "force"), "each force along the axes"),
    }

    def generate(self, kappa: tuple[float, float], rng: random.Random) -> PlaneForces:
        """Random pulls and one that cancels them down to about 1/kappa of their sum."""
        pulls = [(rng.uniform(10, 990), rng.uniform(0, 360)) for _ in range(rng.randint(1, 6))]
        x = sum(f * math.cos(math.radians(a)) for f, a in pulls)
        y = sum(f * math.sin(math.radians(a)) for f, a in pulls)
        left = sum(f for f, _ in pulls) / math.exp(rng.uniform(*map(math.log, kappa)))
        turn = rng.uniform(0, 2 * math.pi)
        x, y = left * math.cos(turn) - x, left * math.sin(turn) - y
        pulls.append((math.hypot(x, y), math.degrees(math.atan2(y, x)) % 360))
        places = 1 + max(0, math.ceil(math.log10(kappa[1])))
        return PlaneForces(
            tuple(
                PlaneForce(Polar(_decimal(f, places), ByAngle(Turn(_decimal(a, places + 1) / 360))))
                for f, a in pulls
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

    def generate(self, kappa: tuple[float, float], rng: random.Random) -> SpaceForces:
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
        left = sum(f for f, _, _ in pulls) / math.exp(rng.uniform(*map(math.log, kappa)))
        last = [left / math.sqrt(3) * rng.choice((-1, 1)) - s for s in sums]
        plan = math.hypot(last[0], last[1])
        azimuth = math.degrees(math.atan2(last[1], last[0])) % 360
        pulls.append((math.hypot(plan, last[2]), azimuth, math.degrees(math.atan2(last[2], plan))))
        places = 1 + max(0, math.ceil(math.log10(kappa[1])))
        return SpaceForces(
            tuple(
                SpaceForce(
                    Polar(
                        _decimal(f, places),
                        ByAzimuth(
                            Turn(_decimal(a, places + 1) / 360),
                            Turn(_decimal(e, places + 1) / 360),
                        ),
                    )
                )
                for f, a, e in pulls
            )
        )
