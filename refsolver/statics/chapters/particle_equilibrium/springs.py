"""A ring held by springs in a place that is known.

Sources of the method: R. C. Hibbeler, "Engineering Mechanics: Statics", chapter 3
(linearly elastic springs), from memory.
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
from refsolver.arithmetic.exact import Exact
from refsolver.quantities.dimensions import FORCE, LENGTH, STIFFNESS
from refsolver.quantities.kinds import ScalarKind, TableKind, Value, VectorKind
from refsolver.statics import cautions
from refsolver.statics.chapters.particle_equilibrium.hooke import stretch_of
from refsolver.statics.contract import (
    Answer,
    Family,
    Mistake,
    Residual,
    Solution,
    many,
    point,
    quantity,
    text,
)
from refsolver.statics.drawing import Arrow, Drawing, Mark, Stroke
from refsolver.statics.forces.concurrent import PlaneForce, component_sum, plane_force_row
from refsolver.statics.naming import distinct_names, keys_of
from refsolver.statics.random_givens import decimal, log_uniform, places_for
from refsolver.statics.registry import register
from refsolver.statics.sheets import number_sheet, vector_sheet
from refsolver.statics.vectors import (
    Numbers,
    added,
    brought,
    cross_plane,
    dot,
    length,
    minus,
    scaled,
    vector,
)

__all__ = ["PlaneSpring", "PlaneSprings", "RingOnSprings"]


@attrs.frozen
class PlaneSpring:
    anchor: tuple[Exact, ...] = point("where its far end is fixed")
    stiffness: Exact = quantity(STIFFNESS, "force over stretch", sign="positive")
    unstretched: Exact = quantity(LENGTH, "its length without load", sign="positive")
    name: str = text("what it is called")


@attrs.frozen
class RingOnSprings:
    ring: tuple[Exact, ...] = point("the place of the ring")
    springs: tuple[PlaneSpring, ...] = many(PlaneSpring, "the springs")
    forces: tuple[PlaneForce, ...] = many(
        PlaneForce, "further known forces on the ring", minimum=0, default=()
    )

    def __attrs_post_init__(self) -> None:
        distinct_names(self.springs, "spring")
        distinct_names(self.forces, "force")
        for key, spring in zip(keys_of(self.springs, "spring"), self.springs, strict=True):
            if spring.anchor == self.ring:
                raise ValueError(f"{key}: its ends coincide, so its pull has no direction")


def spring_pull(stiffness: Number, stretch: Number) -> Number:
    """Hooke's law, F = k s; negative pushes."""
    return stiffness * stretch


def stretch_from(reach: Number, unstretched: Number) -> Number:
    """The length in place less the unstretched length."""
    return reach - unstretched


def _whole_length(reach: Number, unstretched: Number) -> Number:
    return reach


def _never_pushes(given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Mapping[str, Value]:
    return {**answers, "forces": {k: ar.size(x) for k, x in answers["forces"].items()}}


@register
class PlaneSprings(Family):
    name = "particle-equilibrium/plane-springs"
    title = "A ring in a given place between springs: the force that holds it there"
    givens = RingOnSprings
    answers = {
        "forces": Answer(
            TableKind(ScalarKind(FORCE), "spring"), "of each spring; positive where it pulls"
        ),
        "stretches": Answer(
            TableKind(ScalarKind(LENGTH), "spring"),
            "of each spring; negative where it is shortened",
        ),
        "holding": Answer(
            VectorKind(FORCE, 2),
            "the further force on the ring that keeps it there",
            ("no direction",),
        ),
    }
    rules = {"stretch": stretch_from, "pull": spring_pull, "component_sum": component_sum}
    mistakes = (
        Mistake(
            "whole length for stretch",
            "the stiffness is multiplied by the length of the spring, not by its stretch",
            rules={"stretch": _whole_length},
        ),
        Mistake(
            "stretch divided",
            "the stretch is divided by the stiffness",
            rules={"pull": lambda stiffness, stretch: stretch_of(stretch, stiffness)},
        ),
        Mistake(
            "push reported as pull", "the sign of a shortened spring is dropped",
            answers=_never_pushes,
        ),
    )  # fmt: skip
    method = "s = l - l0 and F = k s along each spring; holding force = - sum of all forces"
    second_method = (
        "moments about three points, each spring's force taken at its anchor; the lengths by "
        "Pythagoras"
    )
    caution = cautions.TENSIONS

    def solve(self, given: Any, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        ring = brought(given.ring, ar)
        keys = keys_of(given.springs, "spring")
        stretches, forces, parts = {}, {}, {}
        for key, spring in zip(keys, given.springs, strict=True):
            along = minus(brought(spring.anchor, ar), ring)
            reach = length(along, ar)
            stretches[key] = rules.stretch(reach, ar.bring(spring.unstretched))
            forces[key] = rules.pull(ar.bring(spring.stiffness), stretches[key])
            parts[key] = scaled(forces[key] / reach, along)
        for key, item in zip(keys_of(given.forces, "force"), given.forces, strict=True):
            parts[f"{key}, known"] = vector(item.force, ar)
        total = tuple(rules.component_sum([p[i] for p in parts.values()], ar) for i in range(2))
        answers = {
            "forces": forces,
            "stretches": stretches,
            "holding": tuple(-x for x in total),
        }
        sheets = (
            number_sheet("Stretches", stretches, "s = l - l0", LENGTH),
            number_sheet("Forces of the springs", forces, "F = k s"),
            vector_sheet("Forces on the ring", FORCE, {**parts, "sum": total}, self.method),
        )
        return Solution(answers, sheets)

    def check(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Sequence[Residual]:
        ring = brought(given.ring, ar)
        applied = [_Applied(ring, f, length(f, ar)) for f in self._loads(given, answers, ar)]
        residuals = []
        for (key, force), spring in zip(answers["forces"].items(), given.springs, strict=True):
            anchor = brought(spring.anchor, ar)
            along = minus(anchor, ring)
            unstretched, stiffness = ar.bring(spring.unstretched), ar.bring(spring.stiffness)
            reach = unstretched + force / stiffness
            square = dot(along, along)
            residuals.append(Residual(f"length of {key}", reach * reach - square, square))
            stretch = answers["stretches"][key] - force / stiffness
            residuals.append(Residual(f"Hooke's law, {key}", stretch, reach))
            applied.append(_Applied(anchor, scaled(force / reach, along), stiffness * reach))
        for letter, about in zip("ABC", _three_points(ring, ar), strict=True):
            arms = [minus(item.at, about) for item in applied]
            pairs = list(zip(arms, applied, strict=True))
            total = component_sum([cross_plane(arm, item.force) for arm, item in pairs], ar)
            size = component_sum([length(arm, ar) * item.size for arm, item in pairs], ar)
            residuals.append(Residual(f"moments about {letter}", total, size))
        return residuals

    def _loads(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> list[Numbers]:
        return [answers["holding"], *(vector(item.force, ar) for item in given.forces)]

    def figure(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        ring = brought(given.ring, ar)
        parts: list[Any] = [Mark(ring, "ring")]
        for key, spring in zip(keys_of(given.springs, "spring"), given.springs, strict=True):
            parts.append(Stroke(ring, brought(spring.anchor, ar), key))
        for item, label in zip(given.forces, keys_of(given.forces, "force"), strict=True):
            parts.append(Arrow(ring, vector(item.force, ar), label))
        parts.append(Arrow(ring, answers["holding"], "holding force", "answer"))
        return Drawing(tuple(parts), "a ring between springs and the force that holds it, to scale")

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> RingOnSprings:
        """Springs stretched by about 1/kappa of their length."""
        return _ring(kappa, rng, rng.randint(1, 4), rng.randint(0, 2))

    def filled(self, rows: Mapping[str, int], rng: random.Random) -> RingOnSprings | None:
        if set(rows) - {"springs", "forces"} or rows.get("springs", 0) < 1:
            return None
        return _ring((3.0, 30.0), rng, rows["springs"], rows.get("forces", 0))


@attrs.frozen
class _Applied:
    """A force on the ring, where it is taken, and the size of the terms it came from."""

    at: Numbers
    force: Numbers
    size: Number


def _three_points(ring: Numbers, ar: Arithmetic) -> list[Numbers]:
    """Three points not in one line, none of them the ring."""
    one = ar.bring(fmpq(1))
    return [added(ring, (x * one, y * one)) for x, y in ((1, 0), (0, 1), (-2, -3))]


def _ring(
    kappa: tuple[float, float], rng: random.Random, springs: int, forces: int
) -> RingOnSprings:
    places = places_for(kappa)
    ring = (rng.uniform(-1, 1), rng.uniform(-1, 1))
    rows = []
    for _ in range(springs):
        reach, turn = rng.uniform(1, 5), rng.uniform(0, 2 * math.pi)
        share = rng.choice((-1, 1, 1, 1)) / log_uniform(rng, kappa)
        anchor = (ring[0] + reach * math.cos(turn), ring[1] + reach * math.sin(turn))
        rows.append(
            PlaneSpring(
                tuple(decimal(x, places) for x in anchor),
                decimal(rng.uniform(50, 900), 1),
                decimal(reach / (1 + share * 0.9), places),
            )
        )
    return RingOnSprings(
        tuple(decimal(x, places) for x in ring),
        tuple(rows),
        tuple(plane_force_row(rng.uniform(10, 90), rng.uniform(0, 360), 1) for _ in range(forces)),
    )
