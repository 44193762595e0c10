"""Frames and machines in the plane: givens, and the unknowns and loads they are of their bodies.

Bodies are rigid; connections join two of them, supports hold one to the ground, a cable
pulls on all its parts with one tension. A connection is stated by its action on its first
body; the second one feels the opposite.

==========  ==============================================================================
connection  what it exerts
==========  ==============================================================================
pin         a force, both its components unknown
fixed       a force and a couple
slider      a force along the stated direction (across the slot), either way
contact     a force along the stated direction (away from the second body), a push only
link        a force along the straight bar from ``at`` to ``far``, either way
cable       the same, a pull only
==========  ==============================================================================

A link or cable of a connection is a two-force member between two bodies. A cable that runs
over frictionless pulleys is stated part by part; where it runs over a pulley that turns
freely on a body, both its parts may be put at the pulley's centre, because their moments
about it cancel.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import SimpleNamespace
from typing import Any

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic
from refsolver.arithmetic.enclosure import EnclosureArithmetic
from refsolver.arithmetic.exact import Exact
from refsolver.quantities.dimensions import FORCE, LINE_LOAD, MOMENT
from refsolver.quantities.leaves import Direction, Vector
from refsolver.statics.bodies.equilibrium import Equilibrium, gives_way
from refsolver.statics.bodies.free_body import (
    Action,
    Unknown,
    between,
    couple_on,
    force_on,
    heading,
)
from refsolver.statics.bodies.loads import (
    DOWN,
    RULES,
    LineLoad,
    triangles_of,
)
from refsolver.statics.bodies.supports import PLANE_KINDS, PlaneSupport, parts_of
from refsolver.statics.contract import choice, many, point, quantity, text
from refsolver.statics.contract import direction as direction_given
from refsolver.statics.contract import vector as vector_given
from refsolver.statics.naming import distinct_names, keys_of
from refsolver.statics.vectors import Numbers, brought, dot, minus, scaled, unit_vector

__all__ = [
    "STRAIGHT",
    "FRAME_RULES",
    "CablePart",
    "Connection",
    "Frame",
    "FrameBody",
    "FrameCouple",
    "FrameForce",
    "FrameLineLoad",
    "FrameSupport",
    "KnownTension",
    "cables_of",
    "changes_shape",
    "connection_keys",
    "frame_loads",
    "frame_unknowns",
    "known_tensions",
    "parts_between",
    "plane_supports",
]

CONNECTION_KINDS = ("pin", "fixed", "slider", "contact", "link", "cable")
STRAIGHT = ("link", "cable")
_ALONG = ("slider", "contact")
_BODY = "the body it acts on"
_NAME = "what it is called"


@attrs.frozen
class FrameBody:
    name: str = text(_NAME, default=attrs.NOTHING)


@attrs.frozen
class Connection:
    kind: str = choice(CONNECTION_KINDS, "how they are joined")
    first: str = text("the body on which its force is stated", default=attrs.NOTHING)
    second: str = text("the other body, which feels the opposite force", default=attrs.NOTHING)
    at: tuple[Exact, ...] = point("where it acts on the first body")
    far: tuple[Exact, ...] | None = point(
        "of a link or cable: where it is fastened to the second body", default=None
    )
    direction: Direction | None = direction_given(
        "of a slider: across the slot; of a contact: of the push on the first body", default=None
    )
    name: str = text(_NAME)

    def __attrs_post_init__(self) -> None:
        for key, kinds in (("far", STRAIGHT), ("direction", _ALONG)):
            stated = getattr(self, key) is not None
            if stated != (self.kind in kinds):
                word = "takes no" if stated else "needs its"
                raise ValueError(f"a {self.kind} between two bodies {word} '{key}'")


@attrs.frozen
class FrameSupport:
    kind: str = choice(PLANE_KINDS, "what holds the body there")
    body: str = text("the body it holds", default=attrs.NOTHING)
    at: tuple[Exact, ...] = point("where it acts on the body")
    direction: Direction | None = direction_given(
        "of a roller, rocker or contact: away from the surface; of a cable or link: from the body "
        "along it; of a slider or guide: across the slot",
        default=None,
    )
    name: str = text(_NAME)

    def __attrs_post_init__(self) -> None:
        PlaneSupport(self.kind, self.at, self.direction, self.name)


@attrs.frozen
class FrameForce:
    force: Vector = vector_given(FORCE, "the force")
    at: tuple[Exact, ...] = point("a point on its line of action")
    body: str = text(_BODY, default=attrs.NOTHING)
    name: str = text(_NAME)


@attrs.frozen
class FrameCouple:
    moment: Exact = quantity(MOMENT, "of the couple, counter-clockwise positive")
    body: str = text(_BODY, default=attrs.NOTHING)
    name: str = text(_NAME)


@attrs.frozen
class FrameLineLoad:
    """A load spread along a straight line, its intensity uniform or changing linearly."""

    start: tuple[Exact, ...] = point("where it begins")
    end: tuple[Exact, ...] = point("where it ends")
    at_start: Exact = quantity(LINE_LOAD, "intensity where it begins, per length of that line")
    at_end: Exact = quantity(LINE_LOAD, "intensity where it ends")
    body: str = text(_BODY, default=attrs.NOTHING)
    direction: Direction = direction_given("of the load; down where none is stated", default=DOWN)
    name: str = text(_NAME)

    def plain(self) -> LineLoad:
        return LineLoad(self.start, self.end, self.at_start, self.at_end, self.direction)


@attrs.frozen
class CablePart:
    """One straight part of a cable, as it pulls on one body."""

    cable: str = text("the cable it is a part of", default=attrs.NOTHING)
    body: str = text("the body it pulls", default=attrs.NOTHING)
    at: tuple[Exact, ...] = point("where it pulls: its end, or the centre of a free pulley")
    direction: Direction = direction_given("from the body along that part")


@attrs.frozen
class KnownTension:
    cable: str = text("a cable whose tension is known", default=attrs.NOTHING)
    tension: Exact = quantity(FORCE, "its tension", sign="positive")


@attrs.frozen
class Frame:
    bodies: tuple[FrameBody, ...] = many(FrameBody, "the rigid bodies")
    connections: tuple[Connection, ...] = many(
        Connection, "what joins two bodies", minimum=0, default=()
    )
    supports: tuple[FrameSupport, ...] = many(
        FrameSupport, "what holds a body to the ground", minimum=0, default=()
    )
    forces: tuple[FrameForce, ...] = many(
        FrameForce, "the known forces, weights among them", minimum=0, default=()
    )
    couples: tuple[FrameCouple, ...] = many(FrameCouple, "the known couples", minimum=0, default=())
    line_loads: tuple[FrameLineLoad, ...] = many(
        FrameLineLoad, "loads along a line", minimum=0, default=()
    )
    cable_parts: tuple[CablePart, ...] = many(
        CablePart, "the parts of cables that run over pulleys", minimum=0, default=()
    )
    tensions: tuple[KnownTension, ...] = many(
        KnownTension, "the cables whose tension is known", minimum=0, default=()
    )

    def __attrs_post_init__(self) -> None:
        _check_names(self)
        ar = EnclosureArithmetic()
        for n, item in enumerate(self.connections, 1):
            if item.first == item.second:
                raise ValueError(f"connections[{n}] joins {item.first!r} with itself")
            if item.far is not None:
                gap = minus(brought(item.far, ar), brought(item.at, ar))
                if dot(gap, gap).contains(0):
                    raise ValueError(f"connections[{n}]: a {item.kind} needs a length")


def _check_names(frame: Frame) -> None:
    names = [body.name for body in frame.bodies]
    if "" in names:
        raise ValueError(f"bodies[{names.index('') + 1}] has no name")
    distinct_names(frame.bodies, "body")
    distinct_names(frame.connections, "connection")
    distinct_names(frame.supports, "support")
    distinct_names((*frame.forces, *frame.line_loads, *frame.couples), "load")
    for word in ("supports", "forces", "couples", "line_loads", "cable_parts"):
        for n, item in enumerate(getattr(frame, word), 1):
            _known(item.body, names, f"{word}[{n}]")
    for n, item in enumerate(frame.connections, 1):
        for name in (item.first, item.second):
            _known(name, names, f"connections[{n}]")
    cables = cables_of(frame)
    if "" in cables:
        raise ValueError("every cable part says of which 'cable' it is")
    known = [item.cable for item in frame.tensions]
    for n, cable in enumerate(known, 1):
        if cable not in cables or known.count(cable) > 1:
            raise ValueError(f"tensions[{n}]: {cable!r} has no parts, or two tensions")


def _known(name: str, names: Sequence[str], where: str) -> None:
    if name not in names:
        raise ValueError(f"{where}: there is no body {name!r}; there are {', '.join(names)}")


def cables_of(frame: Frame) -> list[str]:
    """The names of the cables, in the order of their parts."""
    return list(dict.fromkeys(part.cable for part in frame.cable_parts))


def known_tensions(frame: Frame) -> dict[str, Exact]:
    return {item.cable: item.tension for item in frame.tensions}


def connection_keys(frame: Frame) -> list[str]:
    return keys_of(frame.connections, "connection")


def plane_supports(frame: Frame) -> list[PlaneSupport]:
    """The supports as those of one body."""
    return [PlaneSupport(s.kind, s.at, s.direction, s.name) for s in frame.supports]


# --- rules --------------------------------------------------------------------------------


def link_run(at: Numbers, far: Numbers) -> Numbers:
    """Along a link or cable, from where it acts on the first body to its far end."""
    return minus(far, at)


FRAME_RULES: dict[str, Any] = {**RULES, "link_run": link_run}


# --- as free bodies -----------------------------------------------------------------------


def parts_between(
    item: Connection, key: str, ar: Arithmetic, rules: SimpleNamespace
) -> list[tuple[str, Numbers, bool]]:
    """The unknowns of a connection on its first body: (key, direction, is a couple)."""
    head = f"connection {key}"
    if item.kind in STRAIGHT:
        assert item.far is not None
        return [(head, rules.link_run(brought(item.at, ar), brought(item.far, ar)), False)]
    if item.direction is not None:
        return [(head, heading(item.direction, ar), False)]
    zero, one = ar.bring(fmpq(0)), ar.bring(fmpq(1))
    parts = [(f"{head}: along x", (one, zero), False), (f"{head}: along y", (zero, one), False)]
    return [*parts, (f"{head}: couple", (one,), True)] if item.kind == "fixed" else parts


def frame_unknowns(frame: Frame, ar: Arithmetic, rules: SimpleNamespace) -> list[Unknown]:
    found = []
    for item, key in zip(frame.connections, connection_keys(frame), strict=True):
        at = brought(item.at, ar)
        for name, along, turns in parts_between(item, key, ar, rules):
            action = couple_on(item.first, along) if turns else force_on(item.first, along, at)
            found.append(between(name, action, item.second))
    names = keys_of(frame.supports, "support")
    for held, support, name in zip(frame.supports, plane_supports(frame), names, strict=True):
        at = brought(support.at, ar)
        for part in parts_of(support, name, ar):
            found.append(Unknown(part.key, (part.action(held.body, at),)))
    known = known_tensions(frame)
    for cable in cables_of(frame):
        if cable not in known:
            found.append(Unknown(f"cable {cable}", tuple(_pulls(frame, cable, ar))))
    return found


def _pulls(frame: Frame, cable: str, ar: Arithmetic) -> list[Action]:
    """What one unit of a cable's tension does."""
    return [
        force_on(part.body, unit_vector(part.direction, ar), brought(part.at, ar))
        for part in frame.cable_parts
        if part.cable == cable
    ]


def frame_loads(frame: Frame, ar: Arithmetic, rules: SimpleNamespace) -> list[tuple[str, Action]]:
    """All that is known, by name."""
    found = []
    for item, key in zip(frame.forces, keys_of(frame.forces, "force"), strict=True):
        force, at = rules.resolved(item.force, ar), brought(item.at, ar)
        found.append((key, Action(item.body, force, rules.applied_moment(at, force))))
    keys = keys_of(frame.line_loads, "line load")
    for line, key in zip(frame.line_loads, keys, strict=True):
        for label, action in triangles_of(line.plain(), key, ar, rules):
            found.append((label, attrs.evolve(action, body=line.body)))
    for turn, key in zip(frame.couples, keys_of(frame.couples, "couple"), strict=True):
        found.append((key, couple_on(turn.body, rules.applied_couple((ar.bring(turn.moment),)))))
    for cable, tension in known_tensions(frame).items():
        size = ar.bring(tension)
        for pull in _pulls(frame, cable, ar):
            moment = scaled(size, pull.moment)
            found.append((f"cable {cable}", Action(pull.body, scaled(size, pull.force), moment)))
    return found


def changes_shape(frame: Frame, found: Equilibrium, ar: Arithmetic) -> bool:
    """Whether a free motion is more than one of the whole, all bodies moving as one."""
    rows = {name: i for i, name in enumerate(found.names)}
    whole: list[Mapping[int, fmpq]] = [
        {rows[f"{body.name}: {word}"]: fmpq(1) for body in frame.bodies}
        for word in ("forces along x", "forces along y", "moments")
    ]
    return gives_way(found, whole, ar, "motions of the whole")
