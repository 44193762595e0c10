"""Trusses: givens, and the unknowns and loads they are of their joints.

Joints are particles; a member is a bar between two of them, its unknown the force density
N/L, so that no square root enters the equations. Tension is positive.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import SimpleNamespace
from typing import Any, TypeAlias

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.elimination import Elimination
from refsolver.arithmetic.enclosure import EnclosureArithmetic
from refsolver.quantities.dimensions import FORCE
from refsolver.quantities.leaves import Direction, Vector
from refsolver.statics.bodies.equilibrium import Equilibrium, gives_way
from refsolver.statics.bodies.free_body import Action, Unknown, between, pull_on
from refsolver.statics.bodies.independence import OPAQUE, Rationals
from refsolver.statics.bodies.supports import PlaneSupport, SpaceSupport, parts_of
from refsolver.statics.chapters.trusses.joints import (
    PlaneJoint,
    SpaceJoint,
    apart,
    check_joints,
    known_joint,
    places_of,
)
from refsolver.statics.contract import choice, many, text
from refsolver.statics.contract import direction as direction_given
from refsolver.statics.contract import vector as vector_given
from refsolver.statics.vectors import Numbers, length, minus, vector

__all__ = [
    "RULES",
    "Member",
    "PlaneTruss",
    "PlaneTrussLoad",
    "PlaneTrussSupport",
    "SpaceTruss",
    "SpaceTrussLoad",
    "SpaceTrussSupport",
    "Truss",
    "changes_shape",
    "held",
    "loads_on",
    "member_keys",
    "support_keys",
    "unknowns_in",
]

_DIRECTION = (
    "of a roller: away from its surface; of a link: from the joint along it, positive when it pulls"
)
_NAME = "what it is called; by its joint where none is stated"


@attrs.frozen
class Member:
    start: str = text("the joint at one end", default=attrs.NOTHING)
    end: str = text("the joint at the other end", default=attrs.NOTHING)
    name: str = text('what it is called; by its joints ("AB", or "A1-B2") where none is stated')


@attrs.frozen
class PlaneTrussSupport:
    kind: str = choice(("pin", "roller", "link"), "what holds the joint")
    joint: str = text("the joint it holds", default=attrs.NOTHING)
    direction: Direction | None = direction_given(_DIRECTION, default=None)
    name: str = text(_NAME)

    def __attrs_post_init__(self) -> None:
        held(self, 2)


@attrs.frozen
class SpaceTrussSupport:
    kind: str = choice(("ball", "roller", "link"), "what holds the joint")
    joint: str = text("the joint it holds", default=attrs.NOTHING)
    direction: Direction | None = direction_given(_DIRECTION, space=3, default=None)
    name: str = text(_NAME)

    def __attrs_post_init__(self) -> None:
        held(self, 3)


def held(support: Any, space: int) -> PlaneSupport | SpaceSupport:
    """The support as one of a body: what it can exert. Raises ValueError as that one does."""
    at = (fmpq(0),) * space
    if space == 2:
        return PlaneSupport(support.kind, at, support.direction, support.name)
    return SpaceSupport(support.kind, at, support.direction, name=support.name)


@attrs.frozen
class PlaneTrussLoad:
    force: Vector = vector_given(FORCE, "the force on the joint")
    joint: str = text("the joint it acts on", default=attrs.NOTHING)
    name: str = text("what it is called")


@attrs.frozen
class SpaceTrussLoad:
    force: Vector = vector_given(FORCE, "the force on the joint", space=3)
    joint: str = text("the joint it acts on", default=attrs.NOTHING)
    name: str = text("what it is called")


@attrs.frozen
class PlaneTruss:
    joints: tuple[PlaneJoint, ...] = many(PlaneJoint, "the joints", minimum=2)
    members: tuple[Member, ...] = many(Member, "the members, each between two joints")
    supports: tuple[PlaneTrussSupport, ...] = many(PlaneTrussSupport, "what holds the truss")
    loads: tuple[PlaneTrussLoad, ...] = many(
        PlaneTrussLoad, "the loads on the joints", minimum=0, default=()
    )

    def __attrs_post_init__(self) -> None:
        _check(self)


@attrs.frozen
class SpaceTruss:
    joints: tuple[SpaceJoint, ...] = many(SpaceJoint, "the joints", minimum=2)
    members: tuple[Member, ...] = many(Member, "the members, each between two joints")
    supports: tuple[SpaceTrussSupport, ...] = many(SpaceTrussSupport, "what holds the truss")
    loads: tuple[SpaceTrussLoad, ...] = many(
        SpaceTrussLoad, "the loads on the joints", minimum=0, default=()
    )

    def __attrs_post_init__(self) -> None:
        _check(self)


Truss: TypeAlias = Any
"""A :class:`PlaneTruss` or a :class:`SpaceTruss`; they have the same tables."""


def member_keys(members: Sequence[Member]) -> list[str]:
    """The name of each member, or its two joints: "AB", or "A1-B2" where one has a long name."""
    return [
        m.name or (m.start + m.end if len(m.start) == len(m.end) == 1 else f"{m.start}-{m.end}")
        for m in members
    ]


def support_keys(supports: Sequence[PlaneTrussSupport | SpaceTrussSupport]) -> list[str]:
    """The name of each support, or that of its joint."""
    return [s.name or s.joint for s in supports]


def _check(truss: Truss) -> None:
    check_joints(truss.joints)
    names = [joint.name for joint in truss.joints]
    places = places_of(truss.joints, EnclosureArithmetic())
    for n, member in enumerate(truss.members, 1):
        for joint in (member.start, member.end):
            known_joint(joint, names, f"members[{n}]")
        if member.start == member.end or not apart(member.start, member.end, places):
            raise ValueError(f"members[{n}] has no length: {member.start!r} to {member.end!r}")
    for word, items in (("supports", truss.supports), ("loads", truss.loads)):
        for n, item in enumerate(items, 1):
            known_joint(item.joint, names, f"{word}[{n}]")
    _distinct(member_keys(truss.members), "members")
    _distinct(support_keys(truss.supports), "supports")


def _distinct(keys: Sequence[str], word: str) -> None:
    twice = sorted({key for key in keys if keys.count(key) > 1})
    if twice:
        raise ValueError(f"two {word} go by the name {', '.join(map(repr, twice))}: name them")


# --- rules --------------------------------------------------------------------------------


def member_run(start: Numbers, end: Numbers) -> Numbers:
    """From the joint at one end of a member to the joint at the other."""
    return minus(end, start)


def member_force(density: Number, run: Numbers, ar: Arithmetic) -> Number:
    """The force of a member from its force density: N = q L."""
    return density * length(run, ar)


RULES: dict[str, Any] = {
    "resolved": vector,
    "member_run": member_run,
    "member_force": member_force,
}


# --- as free bodies -----------------------------------------------------------------------


def unknowns_in(truss: Truss, space: int, ar: Arithmetic, rules: SimpleNamespace) -> list[Unknown]:
    """The force density of every member ("member AB") and the parts of every support."""
    places = places_of(truss.joints, ar)
    found = []
    for member, key in zip(truss.members, member_keys(truss.members), strict=True):
        run = rules.member_run(places[member.start], places[member.end])
        found.append(between(f"member {key}", pull_on(member.start, run), member.end))
    for support, key in zip(truss.supports, support_keys(truss.supports), strict=True):
        for part in parts_of(held(support, space), key, ar):
            found.append(Unknown(part.key, (pull_on(support.joint, part.along),)))
    return found


def loads_on(truss: Truss, ar: Arithmetic, rules: SimpleNamespace) -> list[Action]:
    return [pull_on(item.joint, rules.resolved(item.force, ar)) for item in truss.loads]


def changes_shape(truss: Truss, found: Equilibrium, ar: Arithmetic) -> bool:
    """Whether a free motion is more than one of the whole, so that members or joints give way.

    A motion of the whole is a translation and a rotation; any other lies outside their span.
    Not told where joints are not at rational places.
    """
    exact: Arithmetic = Rationals()  # type: ignore[assignment]
    places = places_of(truss.joints, exact)
    if any(OPAQUE in at for at in places.values()):
        return False
    whole = _motions_of_the_whole(places, found.names)
    # A rotation of joints in one line, about that line, moves none.
    whole = [motion for motion in whole if any(x != 0 for x in motion.values())]
    independent = Elimination(whole, len(found.names))
    whole = [whole[j] for _, j in sorted(independent.pivots, key=lambda pivot: pivot[1])]
    return gives_way(found, whole, ar, "motions of the whole")


def _motions_of_the_whole(
    places: Mapping[str, Numbers], names: Sequence[str]
) -> list[dict[int, fmpq]]:
    """Velocities by equation: one unit along each axis, one unit turn in each plane of axes."""
    space = len(next(iter(places.values())))
    rows = {name: i for i, name in enumerate(names)}
    planes = ((0, 1), (1, 2), (2, 0)) if space == 3 else ((0, 1),)
    found: list[dict[int, fmpq]] = [{} for _ in range(space + len(planes))]
    for joint, at in places.items():
        row = [rows[f"{joint}: forces along {letter}"] for letter in "xyz"[:space]]
        for axis in range(space):
            found[axis][row[axis]] = fmpq(1)
        for turn, (i, j) in zip(found[space:], planes, strict=True):
            turn[row[i]], turn[row[j]] = -at[j], at[i]
    return found
