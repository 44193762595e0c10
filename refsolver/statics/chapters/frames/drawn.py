"""Frames and machines to scale: each body as lines between the points where something acts."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from refsolver.arithmetic.contract import Arithmetic
from refsolver.quantities.kinds import NoAnswer, Value
from refsolver.statics.bodies.drawn import drawn_line_load, drawn_support
from refsolver.statics.chapters.frames.frame import STRAIGHT, Frame, connection_keys, known_tensions
from refsolver.statics.drawing import Arrow, Drawing, Mark, Primitive, Role, Stroke, Turning
from refsolver.statics.naming import keys_of
from refsolver.statics.vectors import Numbers, brought, scaled, unit_vector, vector

__all__ = ["drawn_frame"]


def drawn_frame(given: Frame, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
    """Bodies, connections, supports with their reactions, and loads."""
    parts: list[Primitive] = []
    for body in given.bodies:
        parts += _drawn_body(given, body.name, ar)
    parts += _drawn_connections(given, ar)
    parts += _drawn_supports(given, answers, ar)
    parts += _drawn_loads(given, ar)
    parts += _drawn_cables(given, answers, ar)
    names = ", ".join(body.name for body in given.bodies)
    caption = (
        f"{len(given.bodies)} bodies ({names}), each drawn as lines between the points where "
        f"something acts on it, {len(given.connections)} connections, to scale, with loads "
        "and reactions"
    )
    return Drawing(tuple(parts), caption)


def _points_of(given: Frame, body: str, ar: Arithmetic) -> list[Numbers]:
    """Where something acts on a body, each point once."""
    spots = []
    for item in given.connections:
        if item.first == body:
            spots.append(brought(item.at, ar))
        if item.second == body:
            spots.append(brought(item.at if item.far is None else item.far, ar))
    placed: list[Any] = [*given.supports, *given.forces, *given.cable_parts]
    spots += [brought(item.at, ar) for item in placed if item.body == body]
    if len(set(spots)) < 2:  # a load may lie off the body, so it only helps out
        for line in given.line_loads:
            if line.body == body:
                spots += [brought(line.start, ar), brought(line.end, ar)]
    return list(dict.fromkeys(spots))


def _drawn_body(given: Frame, body: str, ar: Arithmetic) -> list[Primitive]:
    """Lines to the nearest point already joined, so that a straight bar comes out straight."""
    parts: list[Primitive] = []
    spots = _points_of(given, body, ar)
    if len(spots) == 1:
        return [Mark(spots[0], body, "construction")]
    joined, left = spots[:1], spots[1:]
    while left:
        start, end = min(((a, b) for a in joined for b in left), key=lambda pair: math.dist(*pair))
        parts.append(Stroke(start, end, body if not parts else ""))
        joined.append(end)
        left.remove(end)
    return parts


def _drawn_connections(given: Frame, ar: Arithmetic) -> list[Primitive]:
    parts: list[Primitive] = []
    for item, key in zip(given.connections, connection_keys(given), strict=True):
        at = brought(item.at, ar)
        if item.kind in STRAIGHT:
            assert item.far is not None
            parts.append(Stroke(at, brought(item.far, ar), key, "construction"))
        else:
            parts.append(Mark(at, key))
    return parts


def _drawn_supports(given: Frame, answers: Mapping[str, Value], ar: Arithmetic) -> list[Primitive]:
    parts: list[Primitive] = []
    for item, key in zip(given.supports, keys_of(given.supports, "support"), strict=True):
        at = brought(item.at, ar)
        parts.append(drawn_support(item, at, ar))
        force = answers["reactions"].get(key)
        if force is not None and not isinstance(force, NoAnswer):
            parts.append(Arrow(at, force, key, "answer"))
        couple = answers["couples"].get(key)
        if couple is not None and not isinstance(couple, NoAnswer):
            parts.append(Turning(at, couple, key, "answer"))
    return parts


def _drawn_loads(given: Frame, ar: Arithmetic) -> list[Primitive]:
    parts: list[Primitive] = []
    for item, key in zip(given.forces, keys_of(given.forces, "force"), strict=True):
        parts.append(Arrow(brought(item.at, ar), vector(item.force, ar), key))
    keys = keys_of(given.line_loads, "line load")
    for line, key in zip(given.line_loads, keys, strict=True):
        parts += drawn_line_load(line.plain(), key, ar)
    for turn, key in zip(given.couples, keys_of(given.couples, "couple"), strict=True):
        spot = (_points_of(given, turn.body, ar) or [(0.0, 0.0)])[0]
        parts.append(Turning(spot, ar.bring(turn.moment), key))
    return parts


def _drawn_cables(given: Frame, answers: Mapping[str, Value], ar: Arithmetic) -> list[Primitive]:
    """The pull of every part of a cable whose tension is given or found."""
    parts: list[Primitive] = []
    known = known_tensions(given)
    for part in given.cable_parts:
        given_one = part.cable in known
        tension = ar.bring(known[part.cable]) if given_one else answers["tensions"][part.cable]
        if isinstance(tension, NoAnswer):
            continue
        pull = scaled(tension, unit_vector(part.direction, ar))
        role: Role = "given" if given_one else "answer"
        parts.append(Arrow(brought(part.at, ar), pull, part.cable, role))
    return parts
