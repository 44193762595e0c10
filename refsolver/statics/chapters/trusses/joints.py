"""Joints of a frame: given by coordinates, laid off from another joint, or where lines meet.

A joint may be stated by coordinates, by distance and direction from another joint, or as
the point where a line through one joint meets a line through another. Exact statements
stay exact: a slope 3:4 and a distance of 5 give rational coordinates.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, TypeAlias

import attrs
from flint import arb

from refsolver.arithmetic.contract import Arithmetic
from refsolver.arithmetic.enclosure import EnclosureArithmetic
from refsolver.arithmetic.exact import Exact
from refsolver.quantities.dimensions import LENGTH
from refsolver.quantities.leaves import Direction
from refsolver.statics.bodies.free_body import heading
from refsolver.statics.contract import direction as direction_given
from refsolver.statics.contract import point, quantity, text
from refsolver.statics.vectors import (
    Numbers,
    added,
    brought,
    cross_plane,
    dot,
    minus,
    scaled,
    unit_vector,
)

__all__ = [
    "PlaneJoint",
    "SpaceJoint",
    "apart",
    "check_joints",
    "known_joint",
    "places_of",
]

_NAME = "what it is called"
_AT = "its coordinates"
_FROM = "the joint it is laid off from, where no coordinates are stated"
_DISTANCE = "how far it is from that joint"
_ALONG = "the direction from that joint to it"


@attrs.frozen
class PlaneJoint:
    name: str = text(_NAME, default=attrs.NOTHING)
    at: tuple[Exact, ...] | None = point(_AT, default=None)
    from_joint: str = text(_FROM)
    direction: Direction | None = direction_given(_ALONG, default=None)
    distance: Exact | None = quantity(LENGTH, _DISTANCE, sign="positive", default=None)
    second_joint: str = text("a joint whose line through it fixes it, instead of the distance")
    second_direction: Direction | None = direction_given(
        "the direction of the line through that second joint", default=None
    )


@attrs.frozen
class SpaceJoint:
    name: str = text(_NAME, default=attrs.NOTHING)
    at: tuple[Exact, ...] | None = point(_AT, space=3, default=None)
    from_joint: str = text(_FROM)
    direction: Direction | None = direction_given(_ALONG, space=3, default=None)
    distance: Exact | None = quantity(LENGTH, _DISTANCE, sign="positive", default=None)


Joint: TypeAlias = PlaneJoint | SpaceJoint

_WAYS = {
    ("at",): "coordinates",
    ("from_joint", "direction", "distance"): "laid off",
    ("from_joint", "direction", "second_joint", "second_direction"): "where two lines meet",
}


def _way(joint: Joint) -> str:
    stated = tuple(
        a.name
        for a in attrs.fields(type(joint))
        if a.name != "name" and getattr(joint, a.name) not in (None, "")
    )
    if stated not in _WAYS:
        ways = "; or ".join(", ".join(f"'{key}'" for key in keys) for keys in _WAYS)
        raise ValueError(f"joint {joint.name!r}: state {ways}; not {', '.join(stated) or 'none'}")
    return _WAYS[stated]


def check_joints(joints: Sequence[Joint]) -> None:
    """Raises ValueError for joints without a name, named twice, or not placed."""
    names = [joint.name for joint in joints]
    if "" in names:
        raise ValueError(f"joints[{names.index('') + 1}] has no name")
    twice = sorted({name for name in names if names.count(name) > 1})
    if twice:
        raise ValueError(f"two joints are called {', '.join(map(repr, twice))}: rename one")
    for joint in joints:
        if _way(joint) != "coordinates":
            for other in filter(None, _others(joint)):
                known_joint(other, names, f"joint {joint.name!r}")
        if _way(joint) == "where two lines meet" and _parallel(joint):
            raise ValueError(f"joint {joint.name!r}: its two lines are parallel and do not meet")
    _in_order(joints)


def known_joint(name: str, names: Sequence[str], where: str) -> None:
    """Raises ValueError where there is no such joint."""
    if name not in names:
        raise ValueError(f"{where}: there is no joint {name!r}; there are {', '.join(names)}")


def _others(joint: Joint) -> tuple[str, str]:
    return joint.from_joint, getattr(joint, "second_joint", "")


def _parallel(joint: Any) -> bool:
    ar = EnclosureArithmetic()
    lines = heading(joint.direction, ar), heading(joint.second_direction, ar)
    return bool(cross_plane(*lines).contains(0))


def _in_order(joints: Sequence[Joint]) -> list[Joint]:
    """Every joint after those it is laid off from; ValueError where they go round in a circle."""
    done: dict[str, Joint] = {"": joints[0]}
    waiting = list(joints)
    while waiting:
        ready = [j for j in waiting if all(other in done for other in _others(j))]
        if not ready:
            names = ", ".join(j.name for j in waiting)
            raise ValueError(f"joints {names} are laid off from one another in a circle")
        done.update((joint.name, joint) for joint in ready)
        waiting = [j for j in waiting if j.name not in done]
    del done[""]
    return list(done.values())


def places_of(joints: Sequence[Joint], ar: Arithmetic) -> dict[str, Numbers]:
    """The coordinates of every joint, in the order stated."""
    places: dict[str, Numbers] = {}
    for joint in joints if all(j.at is not None for j in joints) else _in_order(joints):
        places[joint.name] = _place(joint, places, ar)
    return {joint.name: places[joint.name] for joint in joints}


def _place(joint: Any, places: Mapping[str, Numbers], ar: Arithmetic) -> Numbers:
    if joint.at is not None:
        return brought(joint.at, ar)
    start = places[joint.from_joint]
    if joint.distance is not None:
        run = unit_vector(joint.direction, ar)
        return added(start, scaled(ar.bring(joint.distance), run))
    along, other = heading(joint.direction, ar), heading(joint.second_direction, ar)
    gap = minus(places[joint.second_joint], start)
    return added(start, scaled(cross_plane(gap, other) / cross_plane(along, other), along))


def apart(a: str, b: str, places: Mapping[str, Sequence[arb]]) -> bool:
    """Whether two joints, placed in balls, are proven not to coincide."""
    gap = minus(places[a], places[b])
    return not dot(gap, gap).contains(0)
