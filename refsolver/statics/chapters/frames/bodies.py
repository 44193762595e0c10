"""Every body of a frame cut free, as a second method for frames and machines.

The moments of everything on a body about three points that do not lie in a line, from
points and components; no force equation is used. The same for the whole, on which inner
forces do not act.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.quantities.kinds import NoAnswer, Value
from refsolver.statics.bodies.loads import Acting, moments_close, simpson
from refsolver.statics.bodies.supports import ONE_WAY
from refsolver.statics.chapters.frames.frame import Frame, connection_keys, known_tensions
from refsolver.statics.contract import Residual
from refsolver.statics.forces.systems import sum_of
from refsolver.statics.naming import keys_of
from refsolver.statics.residuals import of_bearing
from refsolver.statics.vectors import Numbers, brought, length, minus, scaled, unit_vector, vector

__all__ = ["bodies_close"]

_MOVES = ("mechanism", "improper constraint")


def bodies_close(frame: Frame, answers: Mapping[str, Value], ar: Arithmetic) -> list[Residual]:
    """Residuals of every body on which everything is known, and of the whole.

    None where the frame moves: its loads need not balance, and they are all that is known.
    """
    state = answers["state"]
    if isinstance(state, NoAnswer) and state.reason in _MOVES:
        return []
    outer, inner = _outer(frame, answers, ar), _inner(frame, answers, ar)
    poles = _poles(frame, ar)
    residuals = _lines(frame, answers, ar) + _bearing(frame, answers, ar)
    for body in frame.bodies:
        acting = [*outer[body.name], *inner[body.name]]
        residuals += _about(f"body {body.name}", acting, poles, ar)
    everything = [item for body in frame.bodies for item in outer[body.name]]
    return residuals + _about("the whole", everything, poles, ar)


def _about(
    name: str, acting: Sequence[Any], poles: Mapping[str, Numbers], ar: Arithmetic
) -> list[Residual]:
    if not acting or None in acting:
        return []
    return [
        Residual(f"{name}: {residual.name}", residual.value, residual.size)
        for residual in moments_close(acting, poles, ar)
    ]


def _outer(
    frame: Frame, answers: Mapping[str, Value], ar: Arithmetic
) -> dict[str, list[Acting | None]]:
    """Loads, reactions and cables by body; None stands for what has no answer."""
    found: dict[str, list[Acting | None]] = {body.name: [] for body in frame.bodies}
    zero = ar.bring(fmpq(0))
    nothing = (zero, zero)
    for item in frame.forces:
        found[item.body].append(Acting(brought(item.at, ar), vector(item.force, ar)))
    for line in frame.line_loads:
        found[line.body] += simpson(line.plain(), ar)
    for turn in frame.couples:
        found[turn.body].append(Acting(nothing, nothing, (ar.bring(turn.moment),)))
    for support, key in zip(frame.supports, keys_of(frame.supports, "support"), strict=True):
        force = answers["reactions"].get(key, nothing)
        couple = answers["couples"].get(key, zero)
        found[support.body].append(_acting(brought(support.at, ar), force, couple))
    known = known_tensions(frame)
    for part in frame.cable_parts:
        tension = answers["tensions"][part.cable] if part.cable not in known else None
        size = ar.bring(known[part.cable]) if tension is None else tension
        along = unit_vector(part.direction, ar)
        pull = size if isinstance(size, NoAnswer) else scaled(size, along)
        found[part.body].append(_acting(brought(part.at, ar), pull, zero))
    return found


def _acting(at: Numbers, force: Value, couple: Value) -> Acting | None:
    if isinstance(force, NoAnswer) or isinstance(couple, NoAnswer):
        return None
    return Acting(at, force, (couple,))


def _inner(
    frame: Frame, answers: Mapping[str, Value], ar: Arithmetic
) -> dict[str, list[Acting | None]]:
    """What the connections exert, by body: as answered on the first, the opposite on the other."""
    found: dict[str, list[Acting | None]] = {body.name: [] for body in frame.bodies}
    zero = ar.bring(fmpq(0))
    for item, key in zip(frame.connections, connection_keys(frame), strict=True):
        couple = answers["connection_couples"].get(key, zero)
        here = _acting(brought(item.at, ar), answers["connections"][key], couple)
        there = None
        if here is not None:
            place = brought(item.at if item.far is None else item.far, ar)
            there = attrs.evolve(
                here, at=place, force=tuple(-x for x in here.force), couple=(-here.couple[0],)
            )
        found[item.first].append(here)
        found[item.second].append(there)
    return found


def _poles(frame: Frame, ar: Arithmetic) -> dict[str, Numbers]:
    """Three points beyond the frame, not in a line."""
    spots = [
        brought(item.at, ar)
        for items in (frame.connections, frame.supports, frame.forces, frame.cable_parts)
        for item in items
    ]
    reach = ar.bring(fmpq(1))
    for spot in spots:
        for x in spot:
            reach = reach + ar.size(x)
    corners = ((1, 0), (0, 1), (-1, -1))
    return {f"point {n}": tuple(reach * c for c in corner) for n, corner in enumerate(corners, 1)}


def _lines(frame: Frame, answers: Mapping[str, Value], ar: Arithmetic) -> list[Residual]:
    """That every force of a stated line acts along it."""
    residuals: list[Residual] = []
    outer = _outer_size(frame, answers, ar)
    for item, key in zip(frame.connections, connection_keys(frame), strict=True):
        if key not in answers["connection_forces"]:
            continue
        if item.far is not None:
            run = minus(brought(item.far, ar), brought(item.at, ar))
            along = scaled(1 / length(run, ar), run)
        else:
            assert item.direction is not None
            along = unit_vector(item.direction, ar)
        force, size = answers["connections"][key], answers["connection_forces"][key]
        residuals += _on_line(f"line of {key}", force, size, along, outer, ar)
    for support, key in zip(frame.supports, keys_of(frame.supports, "support"), strict=True):
        if support.direction is not None:
            force, size = answers["reactions"][key], answers["support_forces"][key]
            along = unit_vector(support.direction, ar)
            residuals += _on_line(f"line of support {key}", force, size, along, outer, ar)
    return residuals


def _bearing(frame: Frame, answers: Mapping[str, Value], ar: Arithmetic) -> list[Residual]:
    """The state by the least of what can act one way only."""
    if isinstance(answers["state"], NoAnswer):
        return []
    keys = connection_keys(frame)
    forces = [
        answers["connection_forces"][key]
        for item, key in zip(frame.connections, keys, strict=True)
        if item.kind in ONE_WAY
    ]
    names = keys_of(frame.supports, "support")
    forces += [
        answers["support_forces"][name]
        for item, name in zip(frame.supports, names, strict=True)
        if item.kind in ONE_WAY
    ]
    forces += answers["tensions"].values()
    size = sum_of([_outer_size(frame, answers, ar), *(ar.size(x) for x in forces)], ar)
    return of_bearing(answers["state"].word, forces, size, ar)


def _outer_size(frame: Frame, answers: Mapping[str, Value], ar: Arithmetic) -> Number:
    """What of loads and reactions may cancel in a force that is idle."""
    loads = [x for item in frame.forces for x in vector(item.force, ar)]
    turns = [ar.bring(item.moment) for item in frame.couples]
    pushed = [force for force in answers["reactions"].values() if not isinstance(force, NoAnswer)]
    held = [x for force in pushed for x in force]
    return sum_of([ar.size(x) for x in (*loads, *turns, *held)], ar)


def _on_line(
    name: str, force: Value, size: Value, along: Numbers, outer: Number, ar: Arithmetic
) -> list[Residual]:
    if isinstance(force, NoAnswer):
        return []
    return [
        Residual(f"{name}, along {letter}", x - y, ar.size(size) + outer)
        for letter, x, y in zip("xy", force, scaled(size, along), strict=True)
    ]
