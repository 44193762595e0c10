"""A system of forces and couples reduced to a point: what the families of reduction share."""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from types import SimpleNamespace
from typing import Any, ClassVar

import attrs

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.exact import rational
from refsolver.quantities.leaves import Components
from refsolver.statics import cautions
from refsolver.statics.contract import Family, Mistake, Residual, Row, Sheet
from refsolver.statics.drawing import Arrow, Primitive, Turning
from refsolver.statics.forces.moment_rules import cells_of
from refsolver.statics.forces.systems import (
    PlaneCouple,
    PlaneForceAt,
    SpaceCouple,
    SpaceForceAt,
    force_columns,
    moment_columns,
    moment_gaps,
    placed,
    sum_of,
    sum_of_vectors,
)
from refsolver.statics.naming import keys_of
from refsolver.statics.random_givens import (
    decimal,
    drawn,
    drawn_point,
    drawn_vector,
    figures_for,
    log_uniform,
)
from refsolver.statics.vectors import Numbers, length, vector

__all__ = ["NO_COUPLES", "Reduced", "System"]


def couples_left_out(parts: Sequence[Number], ar: Arithmetic) -> Number:
    return ar.bring(rational(0))


NO_COUPLES = Mistake(
    "couples left out",
    "only the moments of the forces are added; couples of the system are forgotten",
    {"couples_summed": couples_left_out},
)


@attrs.frozen
class Reduced:
    """The force and the couple at a point, and the working that leads there."""

    force: Numbers
    couple: Numbers
    sheet: Sheet


class System(Family):
    """Forces and couples of the plane or of space, reduced to a point."""

    space: ClassVar[int]
    caution = cautions.FORCE_SYSTEMS

    def _couples(self, given: Any, ar: Arithmetic) -> list[Numbers]:
        if self.space == 2:
            return [(ar.bring(item.moment),) for item in given.couples]
        return [vector(item.moment, ar) for item in given.couples]

    def reduced_to(
        self, given: Any, about: Numbers, rules: SimpleNamespace, ar: Arithmetic
    ) -> Reduced:
        keys = [*keys_of(given.forces, "force"), *keys_of(given.couples, "couple")]
        forces, couples = placed(given.forces, ar), self._couples(given, ar)
        moments = [
            cells_of(rules.turning(rules.arm_from(at, about), force, ar)) for at, force in forces
        ]
        turns = 1 if self.space == 2 else 3
        resultant = sum_of_vectors([force for _, force in forces], self.space, ar)
        total = tuple(
            rules.summed([moment[i] for moment in moments], ar)
            + rules.couples_summed([couple[i] for couple in couples], ar)
            for i in range(turns)
        )
        none = (None,) * self.space
        sheet = Sheet(
            "Forces, and moments about the point",
            (*force_columns(self.space), *moment_columns(self.space)),
            (
                *(
                    Row(key, (*force, *moment))
                    for key, (_, force), moment in zip(keys, forces, moments, strict=False)
                ),
                *(
                    Row(key, (*none, *couple))
                    for key, couple in zip(keys[len(forces) :], couples, strict=True)
                ),
                Row("sum", (*resultant, *total)),
            ),
            "R = sum of F, M = sum of r x F + sum of couples",
        )
        return Reduced(resultant, total, sheet)

    def gaps_about(
        self, given: Any, at: Numbers, force: Numbers, couple: Numbers, ar: Arithmetic
    ) -> list[Residual]:
        """The system against a force through a point and a couple, about three points."""
        forces, couples = placed(given.forces, ar), self._couples(given, ar)
        return moment_gaps(forces, couples, (at, force), couple, ar)

    def drawn_system(self, given: Any, ar: Arithmetic) -> list[Primitive]:
        parts: list[Primitive] = []
        keys = [*keys_of(given.forces, "force"), *keys_of(given.couples, "couple")]
        forces = placed(given.forces, ar)
        for key, (at, force) in zip(keys, forces, strict=False):
            parts.append(Arrow(at, force, key))
        for key, item in zip(keys[len(forces) :], given.couples, strict=True):
            moment = ar.bring(item.moment) if self.space == 2 else vector(item.moment, ar)
            parts.append(Turning((0.0,) * self.space, moment, key))
        return parts

    def origin(self, ar: Arithmetic) -> Numbers:
        return tuple(ar.bring(rational(0)) for _ in range(self.space))

    def _force_at(self, rng: random.Random) -> Any:
        force, at = drawn_vector(rng, self.space), drawn_point(rng, self.space)
        return (PlaneForceAt if self.space == 2 else SpaceForceAt)(force, at)

    def _couple(self, rng: random.Random) -> Any:
        if self.space == 2:
            return PlaneCouple(rng.choice((-1, 1)) * drawn(rng, 10, 990))
        return SpaceCouple(drawn_vector(rng, 3))

    def _system(self, forces: Sequence[Any], couples: Sequence[Any], rng: random.Random) -> Any:
        return self.givens(tuple(forces), tuple(couples))

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> Any:
        """Random forces, and a last one that cancels them down to about 1/kappa of their sum."""
        from refsolver.arithmetic.double import DoubleArithmetic

        ar = DoubleArithmetic()
        forces = [self._force_at(rng) for _ in range(rng.randint(1, 5))]
        acting = [force for _, force in placed(forces, ar)]
        total = sum_of_vectors(acting, self.space, ar)
        size = sum_of([length(force, ar) for force in acting], ar)
        target = log_uniform(rng, kappa)
        left = [size / target / 2 * rng.choice((-1, 1)) for _ in total]
        last = Components(
            tuple(decimal(a - b, figures_for(target)) for a, b in zip(left, total, strict=True))
        )
        forces.append(attrs.evolve(forces[0], force=last, at=drawn_point(rng, self.space)))
        couples = [self._couple(rng) for _ in range(rng.randint(0, 2))]
        return self._system(forces, couples, rng)

    def filled(self, rows: Mapping[str, int], rng: random.Random) -> Any | None:
        forces = [self._force_at(rng) for _ in range(rows.get("forces", 0))]
        couples = [self._couple(rng) for _ in range(rows.get("couples", 0))]
        return self._system(forces, couples, rng) if forces or couples else None
