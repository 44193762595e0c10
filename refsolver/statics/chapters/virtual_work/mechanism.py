"""Mechanisms of one freedom: where their points go, and what the forces on them do.

The position is told by one angle t. Every point moves as ``place + cosine * cos t +
sine * sin t`` with three stated vectors. That holds for every point of a bar turning about
a fixed pin, of linkages of equal bars (scissors, lazy tongs, toggles, rhombi), of
parallelogram linkages, and of a bar whose ends slide along two straight guides.

Sources of the method: R. C. Hibbeler, "Engineering Mechanics: Statics", chapter 11
(virtual work, potential energy, stability), from memory; springs and constant forces by
their potential energy: C. Lanczos, "The Variational Principles of Mechanics", from memory.
"""

from __future__ import annotations

import attrs
from flint import fmpq

from refsolver.arithmetic.exact import Angle, Exact, Turn
from refsolver.quantities.dimensions import (
    FORCE,
    LENGTH,
    MOMENT,
    NUMBER,
    STIFFNESS,
    TORSIONAL_STIFFNESS,
)
from refsolver.quantities.leaves import Vector
from refsolver.statics.contract import angle, many, point, quantity, text
from refsolver.statics.contract import vector as vector_given
from refsolver.statics.naming import distinct_names, keys_of

__all__ = [
    "ACTING",
    "BarCouple",
    "Cord",
    "LinkSpring",
    "Mechanism",
    "MovingPoint",
    "PointForce",
    "TorsionSpring",
    "keys_of_parts",
    "links_of",
]

ACTING = {
    "forces": "force",
    "couples": "couple",
    "springs": "spring",
    "cords": "cord",
    "torsion_springs": "torsion spring",
}
"""The tables of what acts, and what a row is called."""

_ORIGIN = (fmpq(0), fmpq(0))


@attrs.frozen
class MovingPoint:
    name: str = text("what it is called", default=attrs.NOTHING)
    place: tuple[Exact, ...] = point("the part that does not move", default=_ORIGIN)
    cosine: tuple[Exact, ...] = point("what the cosine of the angle multiplies", default=_ORIGIN)
    sine: tuple[Exact, ...] = point("what the sine of the angle multiplies", default=_ORIGIN)


@attrs.frozen
class PointForce:
    at: str = text("the point it acts at", default=attrs.NOTHING)
    force: Vector = vector_given(FORCE, "the force, of constant size and direction")
    name: str = text("what it is called")


@attrs.frozen
class BarCouple:
    moment: Exact = quantity(MOMENT, "of the couple, positive in the sense of the angle")
    turns: Exact = quantity(
        NUMBER, "how far its bar turns for each unit of the angle", default=fmpq(1)
    )
    name: str = text("what it is called")


@attrs.frozen
class LinkSpring:
    start: str = text("the point at one end", default=attrs.NOTHING)
    end: str = text("the point at the other end", default=attrs.NOTHING)
    stiffness: Exact = quantity(STIFFNESS, "force over stretch", sign="positive")
    unstretched: Exact = quantity(LENGTH, "its length without load", sign="not negative")
    name: str = text("what it is called")


@attrs.frozen
class Cord:
    start: str = text("the point at one end", default=attrs.NOTHING)
    end: str = text("the point at the other end", default=attrs.NOTHING)
    tension: Exact = quantity(FORCE, "kept constant, by a counterweight", sign="positive")
    name: str = text("what it is called")


@attrs.frozen
class TorsionSpring:
    stiffness: Exact = quantity(TORSIONAL_STIFFNESS, "moment over rotation", sign="positive")
    relaxed: Angle = angle("the angle of its bar where it carries nothing", default=Turn(fmpq(0)))
    turns: Exact = quantity(
        NUMBER, "how far its bar turns for each unit of the angle", default=fmpq(1)
    )
    name: str = text("what it is called")


@attrs.frozen(kw_only=True)
class Mechanism:
    points: tuple[MovingPoint, ...] = many(
        MovingPoint,
        "the points where something acts, each at place + cosine * cos t + sine * sin t",
        minimum=0,
        default=(),
    )
    forces: tuple[PointForce, ...] = many(
        PointForce, "the known forces, weights too", minimum=0, default=()
    )
    couples: tuple[BarCouple, ...] = many(BarCouple, "the known couples", minimum=0, default=())
    springs: tuple[LinkSpring, ...] = many(
        LinkSpring, "springs between two points", minimum=0, default=()
    )
    cords: tuple[Cord, ...] = many(
        Cord, "cords of constant tension between two points", minimum=0, default=()
    )
    torsion_springs: tuple[TorsionSpring, ...] = many(
        TorsionSpring, "torsion springs", minimum=0, default=()
    )

    def __attrs_post_init__(self) -> None:
        distinct_names(self.points, "point")
        if not any(getattr(self, table) for table in ACTING):
            raise ValueError("nothing acts on the mechanism")
        keys_of_parts(self)
        known = {p.name for p in self.points}
        links = links_of(self)
        used = [load.at for load in self.forces]
        used += [name for link in links for name in (link.start, link.end)]
        for name in used:
            if name not in known:
                listed = ", ".join(sorted(known)) or "none"
                raise ValueError(f"there is no point {name!r}; there are: {listed}")
        for link in links:
            if link.start == link.end:
                raise ValueError(f"a spring or cord has both ends at {link.start!r}")


def links_of(given: Mechanism) -> list[LinkSpring | Cord]:
    """The springs and then the cords: everything that joins two points."""
    return [*given.springs, *given.cords]


def keys_of_parts(given: Mechanism) -> dict[str, list[str]]:
    """The names of everything that acts, by table. Raises ValueError for one used twice."""
    keys = {table: keys_of(getattr(given, table), word) for table, word in ACTING.items()}
    every = [key for names in keys.values() for key in names]
    twice = sorted({key for key in every if every.count(key) > 1})
    if twice:
        raise ValueError(f"two go by the name {' and by '.join(map(repr, twice))}: rename one")
    return keys
