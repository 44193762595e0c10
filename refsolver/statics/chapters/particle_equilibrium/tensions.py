"""A particle held by cables, springs, bars and contacts of known direction.

Sources of the method: R. C. Hibbeler, "Engineering Mechanics: Statics", chapter 3
(equilibrium of a particle, springs, cables over frictionless pulleys), from memory;
D. W. Baker and W. Haynes, "Engineering Statics: Open and Interactive", chapter 3.
Determinacy: rank of the matrix of directions against the matrix with the load added
(Rouche-Capelli theorem).
"""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from types import SimpleNamespace
from typing import Any, ClassVar

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.quantities.dimensions import FORCE, LENGTH
from refsolver.quantities.kinds import (
    Choice,
    ChoiceKind,
    NoAnswer,
    ScalarKind,
    TableKind,
    Value,
    VectorKind,
)
from refsolver.quantities.leaves import ByRun
from refsolver.statics import cautions
from refsolver.statics.chapters.particle_equilibrium.held_particle import (
    ONE_WAY,
    PlaneParticle,
    SpaceParticle,
)
from refsolver.statics.chapters.particle_equilibrium.hooke import stretch_of
from refsolver.statics.chapters.particle_equilibrium.spans import (
    Basis,
    basis_of,
    coefficients,
    lies_in,
)
from refsolver.statics.chapters.particle_equilibrium.tension_samples import (
    plane_of_difficulty,
    plane_with_rows,
    space_of_difficulty,
    space_with_rows,
)
from refsolver.statics.contract import Answer, Family, Mistake, Residual, Sheet, Solution
from refsolver.statics.drawing import Arrow, Drawing
from refsolver.statics.forces.concurrent import component_sum
from refsolver.statics.forces.pulls import along_direction, closure, pull_of
from refsolver.statics.naming import keys_of
from refsolver.statics.registry import register
from refsolver.statics.residuals import of_bearing
from refsolver.statics.sheets import number_sheet, vector_sheet
from refsolver.statics.vectors import Numbers, added, brought, length, scaled, unit_vector, vector

__all__ = ["PlaneTensions", "SpaceTensions"]


def pull_direction(support: Any, ar: Arithmetic) -> tuple[Numbers, Number]:
    """The direction d and length l of a support: its force is (T / l) d.

    A run keeps its own length, which leaves the equations rational. Both parts of a cable
    over a pulley pull with the same tension, so their unit vectors add.
    """
    if support.other_part is not None:
        both = added(unit_vector(support.direction, ar), unit_vector(support.other_part, ar))
        return both, ar.bring(fmpq(1))
    if isinstance(support.direction, ByRun):
        run = brought(support.direction.run, ar)
        return run, length(run, ar)
    return unit_vector(support.direction, ar), ar.bring(fmpq(1))


def _one_part_only(support: Any, ar: Arithmetic) -> tuple[Numbers, Number]:
    return pull_direction(attrs.evolve(support, other_part=None), ar)


def _run_for_unit(support: Any, ar: Arithmetic) -> tuple[Numbers, Number]:
    along, size = pull_direction(support, ar)
    return (along, ar.bring(fmpq(1))) if isinstance(support.direction, ByRun) else (along, size)


def _stiffness_times_force(force: Number, stiffness: Number) -> Number:
    return force * stiffness


def _signs_dropped(
    given: Any, answers: Mapping[str, Value], ar: Arithmetic
) -> Mapping[str, Value] | None:
    found = answers["forces"]
    if any(isinstance(x, NoAnswer) for x in found.values()):
        return None
    return {**answers, "forces": {key: ar.size(x) for key, x in found.items()}}


_MISTAKES = (
    Mistake(
        "one part over the pulley left out",
        "the cable over the pulley is counted once; it pulls with both its parts",
        rules={"pull_direction": _one_part_only},
    ),
    Mistake(
        "run taken for a unit vector",
        "a direction's run is not divided by its length",
        rules={"pull_direction": _run_for_unit},
    ),
    Mistake(
        "stretch multiplied",
        "the stretch is taken as stiffness times force",
        rules={"stretch": _stiffness_times_force},
    ),
    Mistake(
        "sign of a force dropped",
        "a push is reported as a pull of the same size",
        answers=_signs_dropped,
    ),
    Mistake(
        "last force left out",
        "the last known force of the table is not read",
        givens=lambda given: (
            attrs.evolve(given, forces=given.forces[:-1]) if len(given.forces) > 1 else None
        ),
    ),
)

_REASONS = {
    "redundant": "more supports than directions they span: equilibrium leaves their forces open",
    "improper constraint": (
        "the supports are enough in number but parallel or in one plane, and the load lies "
        "outside it"
    ),
    "no solution": "the load lies outside what so few supports can balance",
}


def _answers(space: int) -> dict[str, Answer]:
    return {
        "forces": Answer(
            TableKind(ScalarKind(FORCE), "support"),
            "the force of each support, positive along its stated direction: a pull of a cable, "
            "spring or bar, a push of a contact",
            tuple(_REASONS),
        ),
        "vectors": Answer(
            TableKind(VectorKind(FORCE, space), "support"),
            "the force of each support on the particle, of both parts where it has two",
            (*_REASONS, "no direction"),
        ),
        "stretches": Answer(
            TableKind(ScalarKind(LENGTH), "spring"),
            "how much longer than unloaded each spring of stated stiffness is",
            tuple(_REASONS),
        ),
        "state": Answer(
            ChoiceKind(("holds", "idle", "cannot hold")),
            "holds: every cable pulls and every contact pushes; idle: one of them carries "
            "nothing; cannot hold: one of them would have to act the other way",
            tuple(_REASONS),
        ),
    }


class _Tensions(Family):
    """Shared by plane and space."""

    space: ClassVar[int]
    rules = {
        "resolved": vector,
        "component_sum": component_sum,
        "pull_direction": pull_direction,
        "stretch": stretch_of,
    }
    mistakes = _MISTAKES
    caution = cautions.TENSIONS
    method = "sum of all forces = 0 along each axis, solved by Cramer's rule for the unknown ones"
    second_method = (
        "the polygon of all forces closes: its closing side from magnitudes and angles (law of "
        "cosines), and the projections of all forces on each; Hooke's law"
    )

    def solve(self, given: Any, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        keys = keys_of(given.supports, "support")
        loads = [rules.resolved(item.force, ar) for item in given.forces]
        load = tuple(rules.component_sum([p[i] for p in loads], ar) for i in range(self.space))
        pairs = [rules.pull_direction(support, ar) for support in given.supports]
        basis = basis_of([along for along, _ in pairs], keys, ar)
        per_length = self._per_length(load, [along for along, _ in pairs], keys, basis, ar)
        forces = {
            key: q if isinstance(q, NoAnswer) else q * size
            for key, q, (_, size) in zip(keys, per_length, pairs, strict=True)
        }
        answers = {
            "forces": forces,
            "vectors": {
                key: q if isinstance(q, NoAnswer) else scaled(q, along)
                for key, q, (along, _) in zip(keys, per_length, pairs, strict=True)
            },
            "stretches": _stretches(given, forces, ar, rules),
            "state": _state(given, forces, per_length, ar),
        }
        return Solution(answers, lambda: _working(given, loads, load, pairs, forces, self.method))

    def _per_length(
        self,
        load: Numbers,
        directions: Sequence[Numbers],
        keys: Sequence[str],
        basis: Basis,
        ar: Arithmetic,
    ) -> list[Number | NoAnswer]:
        """Force over length of each support's direction, or why there is none."""
        if not lies_in(load, basis, "the load", ar):
            enough = len(directions) >= self.space
            reason = "improper constraint" if enough else "no solution"
            return [NoAnswer(reason, _REASONS[reason]) for _ in directions]
        open_force = NoAnswer("redundant", _REASONS["redundant"])
        found: list[Number | NoAnswer] = [open_force for _ in directions]
        shared = _shared_places(directions, keys, basis, ar)
        balancing = coefficients(tuple(-x for x in load), basis)
        for place, value in zip(basis.places, balancing, strict=True):
            if place not in shared:
                found[place] = value
        return found

    def check(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Sequence[Residual]:
        forces = answers["forces"]
        if any(isinstance(x, NoAnswer) for x in forces.values()):
            return []
        names = keys_of(given.forces, "force")
        pulls = [pull_of(item.force, ar) for item in given.forces]
        for (key, size), support in zip(forces.items(), given.supports, strict=True):
            names.append(key)
            pulls.append(along_direction(size, support.direction, ar))
            if support.other_part is not None:
                names.append(f"{key}, other part")
                pulls.append(along_direction(size, support.other_part, ar))
        zero = tuple(ar.bring(fmpq(0)) for _ in range(self.space))
        residuals = closure(pulls, names, zero, ar)
        vectors = [vector(item.force, ar) for item in given.forces]
        vectors += answers["vectors"].values()
        sizes = component_sum([length(v, ar) for v in vectors], ar)
        for i, letter in enumerate("xyz"[: self.space]):
            total = component_sum([v[i] for v in vectors], ar)
            residuals.append(Residual(f"vectors along {letter}", total, sizes))
        for (key, size), support in zip(forces.items(), given.supports, strict=True):
            if support.stiffness is not None:
                back = answers["stretches"][key] * ar.bring(support.stiffness)
                residuals.append(Residual(f"Hooke's law, {key}", back - size, ar.size(back)))
        one_way = [
            forces[key]
            for key, support in zip(forces, given.supports, strict=True)
            if support.kind in ONE_WAY
        ]
        return [*residuals, *of_bearing(answers["state"].word, one_way, sizes, ar)]

    def figure(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        origin = (0.0,) * self.space
        arrows = [
            Arrow(origin, vector(item.force, ar), label)
            for item, label in zip(given.forces, keys_of(given.forces, "force"), strict=True)
        ]
        for (key, size), support in zip(answers["forces"].items(), given.supports, strict=True):
            for direction in (support.direction, support.other_part):
                if direction is None or isinstance(size, NoAnswer):
                    continue
                arrows.append(
                    Arrow(origin, scaled(size, unit_vector(direction, ar)), key, "answer")
                )
        caption = (
            f"a particle under {len(given.forces)} known forces and the forces of "
            f"{len(given.supports)} supports, drawn to scale from the particle"
        )
        return Drawing(tuple(arrows), caption, self.space)


def _shared_places(
    directions: Sequence[Numbers], keys: Sequence[str], basis: Basis, ar: Arithmetic
) -> set[int]:
    """The supports of the basis that take part in a set of forces balanced in itself."""
    shared = set()
    for place, direction in enumerate(directions):
        if place in basis.places:
            continue
        for i, share in zip(basis.places, coefficients(direction, basis), strict=True):
            if ar.sign(share, f"share of {keys[i]} in {keys[place]}") != 0:
                shared.add(i)
    return shared


def _stretches(
    given: Any, forces: Mapping[str, Any], ar: Arithmetic, rules: SimpleNamespace
) -> dict[str, Any]:
    return {
        key: force
        if isinstance(force, NoAnswer)
        else rules.stretch(force, ar.bring(support.stiffness))
        for (key, force), support in zip(forces.items(), given.supports, strict=True)
        if support.stiffness is not None
    }


def _state(
    given: Any, forces: Mapping[str, Any], per_length: Sequence[Any], ar: Arithmetic
) -> Choice | NoAnswer:
    """Decided on the forces over length, which stay rational where the directions are."""
    for force in forces.values():
        if isinstance(force, NoAnswer):
            return force
    signs, margins = [], {}
    for (key, force), q, support in zip(forces.items(), per_length, given.supports, strict=True):
        if support.kind in ONE_WAY:
            signs.append(ar.sign(q, f"sense of the force of {key}"))
            margins[key] = force
    word = "cannot hold" if -1 in signs else "idle" if 0 in signs else "holds"
    return Choice(word, margins)


def _working(
    given: Any,
    loads: Sequence[Numbers],
    load: Numbers,
    pairs: Sequence[tuple[Numbers, Number]],
    forces: Mapping[str, Any],
    method: str,
) -> tuple[Sheet, ...]:
    known = dict(zip(keys_of(given.forces, "force"), loads, strict=True))
    units = {key: scaled(1 / size, d) for key, (d, size) in zip(forces, pairs, strict=True)}
    sheets = [
        vector_sheet("Known forces", FORCE, {**known, "sum": load}),
        vector_sheet("Directions of the supports", None, units),
    ]
    found = {key: x for key, x in forces.items() if not isinstance(x, NoAnswer)}
    if found:
        sheets.append(number_sheet("Forces of the supports", found, method))
    return tuple(sheets)


@register
class PlaneTensions(_Tensions):
    name = "particle-equilibrium/plane-tensions"
    title = "Forces of the supports of a particle in the plane"
    givens = PlaneParticle
    space = 2
    answers = _answers(2)

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> PlaneParticle:
        return plane_of_difficulty(kappa, rng)

    def filled(self, rows: Mapping[str, int], rng: random.Random) -> PlaneParticle | None:
        return plane_with_rows(rows, rng)


@register
class SpaceTensions(_Tensions):
    name = "particle-equilibrium/space-tensions"
    title = "Forces of the supports of a particle in space"
    givens = SpaceParticle
    space = 3
    answers = _answers(3)

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> SpaceParticle:
        return space_of_difficulty(kappa, rng)

    def filled(self, rows: Mapping[str, int], rng: random.Random) -> SpaceParticle | None:
        return space_with_rows(rows, rng)
