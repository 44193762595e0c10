"""Supports of a rigid body: what each can exert, as unknowns of a free body.

The table of supports is the usual one (R. C. Hibbeler, "Engineering Mechanics: Statics",
tables 5-1 and 5-2; ISO and textbook practice agree), from memory:

==================  ==========================================================
plane               unknowns
==================  ==========================================================
pin                 force along x, force along y
fixed               force along x, force along y, couple
roller, rocker      force along the stated direction, away from the surface
contact             the same, but it can only push
cable               force along the stated direction, can only pull
link                force along the stated direction, either way
slider              force across the slot or rod, along the stated direction
guide               the same and a couple (a collar that cannot turn on its rod)
couple              a couple alone
==================  ==========================================================

==================  ==========================================================
space               unknowns
==================  ==========================================================
ball                three forces
fixed               three forces, three couples
journal bearing     two forces across the axis (and two couples, if carried)
thrust bearing      three forces (and two couples across the axis, if carried)
hinge               three forces (and two couples across the axis, if carried)
roller, contact     force along the stated direction, away from the surface
cable, link         force along the stated direction
==================  ==========================================================

Rollers, rockers, sliders, links and bearings are taken to act either way, as is usual in
hand calculation; a contact and a cable are not.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.exact import Exact
from refsolver.quantities.kinds import Choice, NoAnswer, Value
from refsolver.quantities.leaves import Direction
from refsolver.statics.bodies.equilibrium import Equilibrium
from refsolver.statics.bodies.free_body import Action, Unknown, couple_on, force_on, heading
from refsolver.statics.contract import choice, point, text
from refsolver.statics.contract import direction as direction_given
from refsolver.statics.vectors import Numbers, added, brought, length, scaled

__all__ = [
    "CONSTRAINTS",
    "ONE_WAY",
    "PLANE_KINDS",
    "STATES",
    "Part",
    "PlaneSupport",
    "SpaceSupport",
    "assembled",
    "bearing_state",
    "constraint_of",
    "parts_of",
    "unknowns_of",
]

PLANE_KINDS = (
    "pin", "fixed", "roller", "rocker", "contact", "cable", "link", "slider", "guide", "couple",
)  # fmt: skip
SPACE_KINDS = (
    "ball", "fixed", "journal bearing", "thrust bearing", "hinge", "roller", "contact", "cable",
    "link",
)  # fmt: skip

ONE_WAY = ("contact", "cable")
_DIRECTED = ("roller", "rocker", "contact", "cable", "link", "slider", "guide")
_AXLED = ("journal bearing", "thrust bearing", "hinge")

_DIRECTION = (
    "of a roller, rocker or contact: away from the surface; of a cable or link: from the body "
    "along it; of a slider or guide: across the slot"
)

STATES = ("holds", "idle", "cannot hold")
CONSTRAINTS = (
    "determinate",
    "partially constrained",
    "redundant",
    "improperly constrained",
    "mechanism",
)


@attrs.frozen
class PlaneSupport:
    kind: str = choice(PLANE_KINDS, "what holds the body there")
    at: tuple[Exact, ...] = point("where it acts on the body")
    direction: Direction | None = direction_given(_DIRECTION, default=None)
    name: str = text("what it is called")

    def __attrs_post_init__(self) -> None:
        _check_direction(self)


@attrs.frozen
class SpaceSupport:
    kind: str = choice(SPACE_KINDS, "what holds the body there")
    at: tuple[Exact, ...] = point("where it acts on the body", space=3)
    direction: Direction | None = direction_given(
        f"{_DIRECTION}; of a bearing or hinge: its axis", space=3, default=None
    )
    couples: str = choice(
        ("none", "carried"),
        "whether a bearing or hinge also holds the body against turning across its axis",
        default="none",
    )
    name: str = text("what it is called")

    def __attrs_post_init__(self) -> None:
        _check_direction(self)
        if self.couples == "carried" and self.kind not in _AXLED:
            raise ValueError(f"'couples' belongs to a bearing or hinge, not to a {self.kind}")


def _check_direction(support: PlaneSupport | SpaceSupport) -> None:
    needs = support.kind in (*_DIRECTED, *_AXLED)
    if needs and support.direction is None:
        raise ValueError(f"a {support.kind} needs its 'direction': {_DIRECTION}")
    if not needs and support.direction is not None:
        raise ValueError(f"a {support.kind} takes no 'direction'")


@attrs.frozen
class Part:
    """One unknown of a support: ``size * along`` is its force, or its couple."""

    key: str
    along: Numbers
    turns: bool = False

    def action(self, body: str, at: Numbers) -> Action:
        return couple_on(body, self.along) if self.turns else force_on(body, self.along, at)


def parts_of(support: PlaneSupport | SpaceSupport, name: str, ar: Arithmetic) -> list[Part]:
    """The unknowns of a support, keyed "name: along x" and the like."""
    if isinstance(support, PlaneSupport):
        return _plane_parts(support, name, ar)
    return _space_parts(support, name, ar)


def _plane_parts(support: PlaneSupport, name: str, ar: Arithmetic) -> list[Part]:
    couple = Part(f"{name}: couple", (ar.bring(fmpq(1)),), turns=True)
    if support.kind == "couple":
        return [couple]
    if support.direction is not None:
        force = Part(f"{name}: force", heading(support.direction, ar))
        return [force, couple] if support.kind == "guide" else [force]
    forces = _along_axes(name, 2, ar)
    return [*forces, couple] if support.kind == "fixed" else forces


def _space_parts(support: SpaceSupport, name: str, ar: Arithmetic) -> list[Part]:
    if support.direction is None:
        forces = _along_axes(name, 3, ar)
        if support.kind == "fixed":
            forces += _along_axes(name, 3, ar, turns=True)
        return forces
    along = heading(support.direction, ar)
    if support.kind not in _AXLED:
        return [Part(f"{name}: force", along)]
    across = _across(along, name, ar)
    forces = (
        [Part(f"{name}: force {i}", a) for i, a in enumerate(across, 1)]
        if support.kind == "journal bearing"
        else _along_axes(name, 3, ar)
    )
    if support.couples == "carried":
        forces += [Part(f"{name}: couple {i}", a, turns=True) for i, a in enumerate(across, 1)]
    return forces


def _along_axes(name: str, space: int, ar: Arithmetic, *, turns: bool = False) -> list[Part]:
    word = "couple about" if turns else "along"
    return [
        Part(
            f"{name}: {word} {letter}",
            tuple(ar.bring(fmpq(int(i == j))) for j in range(space)),
            turns,
        )
        for i, letter in enumerate("xyz"[:space])
    ]


def _across(axis: Numbers, name: str, ar: Arithmetic) -> tuple[Numbers, Numbers]:
    """Two independent vectors perpendicular to an axis, without a square root."""
    a, b, c = axis
    zero = ar.bring(fmpq(0))
    if ar.sign(a, f"{name}: axis along x") != 0:
        return (-b, a, zero), (-c, zero, a)
    if ar.sign(b, f"{name}: axis along y") != 0:
        return (b, -a, zero), (zero, -c, b)
    return (c, zero, -a), (zero, c, -b)


def unknowns_of(
    supports: Sequence[PlaneSupport | SpaceSupport],
    names: Sequence[str],
    bodies: Sequence[str],
    ar: Arithmetic,
) -> list[Unknown]:
    """All unknowns of the supports, each on the body that stands beside it."""
    return [
        Unknown(part.key, (part.action(body, brought(support.at, ar)),))
        for support, name, body in zip(supports, names, bodies, strict=True)
        for part in parts_of(support, name, ar)
    ]


def assembled(
    supports: Sequence[PlaneSupport | SpaceSupport],
    names: Sequence[str],
    found: Equilibrium,
    ar: Arithmetic,
) -> dict[str, dict[str, Value]]:
    """The tables "reactions" (vectors), "couples" and "forces" (signed) of the supports.

    A table holds the supports that can exert such a thing: every one with a force,
    every one with a couple, every one whose force has a stated line.
    """
    tables: dict[str, dict[str, Value]] = {"reactions": {}, "couples": {}, "forces": {}}
    for support, name in zip(supports, names, strict=True):
        parts = parts_of(support, name, ar)
        pushes, turns = [p for p in parts if not p.turns], [p for p in parts if p.turns]
        if pushes:
            tables["reactions"][name] = _combined(pushes, found)
        if turns:
            couple = _combined(turns, found)
            plane = isinstance(support, PlaneSupport) and not isinstance(couple, NoAnswer)
            tables["couples"][name] = couple[0] if plane else couple
        if support.kind in _DIRECTED:
            (part,) = pushes
            missing = found.missing(part.key)
            tables["forces"][name] = missing or found.values[part.key] * length(part.along, ar)
    return tables


def _combined(parts: Sequence[Part], found: Equilibrium) -> Any:
    for part in parts:
        missing = found.missing(part.key)
        if missing:
            return missing
    total = scaled(found.values[parts[0].key], parts[0].along)
    for part in parts[1:]:
        total = added(total, scaled(found.values[part.key], part.along))
    return total


def constraint_of(found: Equilibrium) -> Choice:
    """How the supports hold the body (or bodies), in the words of :data:`CONSTRAINTS`."""
    if not found.free_motions:
        return Choice("redundant" if found.redundants else "determinate")
    refusal = found.refusal()
    if refusal is None:
        return Choice("partially constrained")
    improper = refusal.reason == "improper constraint"
    return Choice("improperly constrained" if improper else "mechanism")


def bearing_state(
    supports: Sequence[PlaneSupport | SpaceSupport],
    names: Sequence[str],
    forces: Mapping[str, Value],
    ar: Arithmetic,
) -> Choice | NoAnswer:
    """Whether every cable pulls and every contact pushes (:data:`STATES`)."""
    one_way = {
        name: forces[name]
        for support, name in zip(supports, names, strict=True)
        if support.kind in ONE_WAY
    }
    for value in one_way.values():
        if isinstance(value, NoAnswer):
            return value
    signs = [ar.sign(x, f"{name} pulls or pushes as it can") for name, x in one_way.items()]
    margins: dict[str, Number] = dict(one_way)
    if -1 in signs:
        return Choice("cannot hold", margins)
    return Choice("idle" if 0 in signs else "holds", margins)
