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

from collections.abc import Callable, Sequence
from types import SimpleNamespace
from typing import Any

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
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
from refsolver.statics.contract import Mistake, angle, many, point, quantity, text
from refsolver.statics.contract import vector as vector_given
from refsolver.statics.naming import distinct_names, keys_of
from refsolver.statics.vectors import Numbers, added, brought, dot, length, minus, scaled, vector

__all__ = [
    "CAUTION",
    "MISTAKES",
    "RULES",
    "BarCouple",
    "Cord",
    "LinkSpring",
    "MovingPoint",
    "PointForce",
    "Slopes",
    "TorsionSpring",
    "Mechanism",
    "energy_slopes",
    "keys_of_parts",
    "links_of",
    "positions",
    "rate_of",
    "joined_by_length",
    "virtual_work",
    "without_separation",
]

CAUTION = (
    "An idealised mechanism: rigid bars, frictionless joints and guides. Lifts, presses and "
    "counterbalanced doors are guarded and designed to the applicable standards."
)

_ACTING = {
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
        if not any(getattr(self, table) for table in _ACTING):
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
    keys = {table: keys_of(getattr(given, table), word) for table, word in _ACTING.items()}
    every = [key for names in keys.values() for key in names]
    twice = sorted({key for key in every if every.count(key) > 1})
    if twice:
        raise ValueError(f"two go by the name {' and by '.join(map(repr, twice))}: rename one")
    return keys


# --- rules --------------------------------------------------------------------------------


def rate_of(cosine: Numbers, sine: Numbers, c: Number, s: Number) -> Numbers:
    """The displacement of a point for each radian: - cosine sin t + sine cos t."""
    return added(scaled(-s, cosine), scaled(c, sine))


def _place_for_rate(cosine: Numbers, sine: Numbers, c: Number, s: Number) -> Numbers:
    return added(scaled(c, cosine), scaled(s, sine))


def stretch_share(unstretched: Number, reach: Number) -> Number:
    """Stretch over length, 1 - l0 / l."""
    return 1 - unstretched / reach


def _whole_length(unstretched: Number, reach: Number) -> Number:
    return 1 + 0 * reach


RULES: dict[str, Callable[..., Any]] = {"rate": rate_of, "stretch_share": stretch_share}


# --- positions and energy -----------------------------------------------------------------


@attrs.frozen
class _Motion:
    """A point: where it is, its first and its second derivative by the angle."""

    at: Numbers
    rate: Numbers
    bend: Numbers

    def less(self, other: _Motion) -> _Motion:
        return _Motion(
            minus(self.at, other.at), minus(self.rate, other.rate), minus(self.bend, other.bend)
        )


@attrs.frozen
class Slopes:
    """First and second derivative of the potential energy by the angle, in radians.

    ``parts`` are the first derivatives by what they come from.
    """

    first: Number
    second: Number
    parts: dict[str, Number]


def positions(
    points: Sequence[MovingPoint], c: Number, s: Number, ar: Arithmetic
) -> dict[str, Numbers]:
    """Every point where the cosine of the angle is ``c`` and its sine ``s``."""
    return {
        p.name: added(
            brought(p.place, ar),
            added(scaled(c, brought(p.cosine, ar)), scaled(s, brought(p.sine, ar))),
        )
        for p in points
    }


def _motions(
    points: Sequence[MovingPoint], c: Number, s: Number, ar: Arithmetic, rules: SimpleNamespace
) -> dict[str, _Motion]:
    found = {}
    for p in points:
        cosine, sine = brought(p.cosine, ar), brought(p.sine, ar)
        swing = added(scaled(c, cosine), scaled(s, sine))
        found[p.name] = _Motion(
            added(brought(p.place, ar), swing),
            rules.rate(cosine, sine, c, s),
            scaled(-1, swing),
        )
    return found


def joined_by_length(given: Mechanism) -> list[tuple[str, str]]:
    """The pairs of points whose distance enters the energy, not only its square."""
    return [
        (link.start, link.end)
        for link in links_of(given)
        if isinstance(link, Cord) or link.unstretched != 0
    ]


def without_separation(
    given: Mechanism, places: dict[str, Numbers], ar: Arithmetic
) -> tuple[str, str] | None:
    """The first pair joined by a spring or cord that lies at one point, so that it has no
    direction; None where there is none."""
    for start, end in joined_by_length(given):
        apart = minus(places[end], places[start])
        if ar.sign(dot(apart, apart), f"distance of {start} and {end}") == 0:
            return start, end
    return None


def energy_slopes(
    given: Mechanism, t: Number, c: Number, s: Number, ar: Arithmetic, rules: SimpleNamespace
) -> Slopes:
    """The derivatives at the angle ``t`` (radians) with cosine ``c`` and sine ``s``."""
    motions = _motions(given.points, c, s, ar, rules)
    zero = 0 * c
    parts: dict[str, Number] = {}
    second = zero
    keys = keys_of_parts(given)
    for key, load in zip(keys["forces"], given.forces, strict=True):
        force = vector(load.force, ar)
        parts[key] = -dot(force, motions[load.at].rate)
        second = second - dot(force, motions[load.at].bend)
    for key, couple in zip(keys["couples"], given.couples, strict=True):
        parts[key] = -ar.bring(couple.moment) * ar.bring(couple.turns)
    for key, spring in zip(keys["springs"], given.springs, strict=True):
        apart = motions[spring.end].less(motions[spring.start])
        first, bent = _of_spring(spring, apart, ar, rules)
        parts[key], second = first, second + bent
    for key, cord in zip(keys["cords"], given.cords, strict=True):
        apart = motions[cord.end].less(motions[cord.start])
        first, bent = _of_length(ar.bring(cord.tension), apart, ar)
        parts[key], second = first, second + bent
    for key, twist in zip(keys["torsion_springs"], given.torsion_springs, strict=True):
        turns = ar.bring(twist.turns)
        stiff = ar.bring(twist.stiffness) * turns
        parts[key] = stiff * (turns * t - ar.radians(twist.relaxed))
        second = second + stiff * turns
    total = zero
    for part in parts.values():
        total = total + part
    return Slopes(total, second, parts)


def _of_length(force: Number, apart: _Motion, ar: Arithmetic) -> tuple[Number, Number]:
    """Of force times distance: F u / l and F (u' / l - u^2 / l^3), u = l l'."""
    square = dot(apart.at, apart.at)
    reach = ar.sqrt(square)
    u = dot(apart.at, apart.rate)
    bent = dot(apart.rate, apart.rate) + dot(apart.at, apart.bend)
    return force * u / reach, force * (bent - u * u / square) / reach


def _of_spring(
    spring: LinkSpring, apart: _Motion, ar: Arithmetic, rules: SimpleNamespace
) -> tuple[Number, Number]:
    """Of k (l - l0)^2 / 2: k (1 - l0/l) u and k [(1 - l0/l) u' + l0 u^2 / l^3]."""
    stiffness = ar.bring(spring.stiffness)
    u = dot(apart.at, apart.rate)
    bent = dot(apart.rate, apart.rate) + dot(apart.at, apart.bend)
    if spring.unstretched == 0:
        return stiffness * u, stiffness * bent
    square = dot(apart.at, apart.at)
    reach, unstretched = ar.sqrt(square), ar.bring(spring.unstretched)
    share = rules.stretch_share(unstretched, reach)
    return (
        stiffness * share * u,
        stiffness * (share * bent + unstretched * u * u / (square * reach)),
    )


# --- the second method --------------------------------------------------------------------


def virtual_work(
    given: Mechanism, t: Number, c: Number, s: Number, ar: Arithmetic
) -> tuple[Number, Number, Number]:
    """Work for each radian of what acts, its derivative, and the size of the terms.

    Written apart from :func:`energy_slopes`: the displacement of a point is its place a
    quarter turn further less its fixed part, springs and cords are forces on two points,
    and a distance l has l' = D . D' / l and l'' = (D'^2 + D . D'' - l'^2) / l.
    """
    here, ahead = positions(given.points, c, s, ar), positions(given.points, -s, c, ar)
    fixed = {p.name: brought(p.place, ar) for p in given.points}
    rates = {name: minus(ahead[name], fixed[name]) for name in here}
    bends = {name: minus(fixed[name], here[name]) for name in here}
    work, change, size = 0 * c, 0 * c, 0 * c
    for load in given.forces:
        force = vector(load.force, ar)
        work = work + dot(force, rates[load.at])
        change = change + dot(force, bends[load.at])
        size = size + length(force, ar) * (length(rates[load.at], ar) + length(bends[load.at], ar))
    for couple in given.couples:
        work = work + ar.bring(couple.moment) * ar.bring(couple.turns)
        size = size + ar.size(ar.bring(couple.moment) * ar.bring(couple.turns))
    for link in links_of(given):
        apart, rate, bend = (minus(x[link.end], x[link.start]) for x in (here, rates, bends))
        square, u = dot(apart, apart), dot(apart, rate)
        bent = dot(rate, rate) + dot(apart, bend)
        if isinstance(link, LinkSpring) and link.unstretched == 0:
            stiffness = ar.bring(link.stiffness)
            work, change = work - stiffness * u, change - stiffness * bent
            size = size + stiffness * (square + dot(rate, rate))
            continue
        reach = ar.sqrt(square)
        lengthening = u / reach
        bent = (bent - lengthening * lengthening) / reach
        if isinstance(link, Cord):
            pull, stiffness = ar.bring(link.tension), 0 * c
        else:
            stiffness = ar.bring(link.stiffness)
            pull = stiffness * (reach - ar.bring(link.unstretched))
        work = work - pull * lengthening
        change = change - pull * bent - stiffness * lengthening * lengthening
        size = size + (ar.size(pull) + stiffness * reach) * (reach + length(rate, ar))
    for twist in given.torsion_springs:
        turns, stiffness = ar.bring(twist.turns), ar.bring(twist.stiffness)
        turned = turns * t - ar.radians(twist.relaxed)
        work = work - stiffness * turned * turns
        change = change - stiffness * turns * turns
        size = size + stiffness * (ar.size(turned) + ar.size(turns)) * ar.size(turns)
    return work, change, size


# --- mistakes -----------------------------------------------------------------------------


def _less(given: Mechanism, table: str, count: int) -> Mechanism | None:
    """With only the first rows of a table; None where nothing is left out, or nothing left."""
    rows = getattr(given, table)
    acting = sum(len(getattr(given, name)) for name in _ACTING)
    if len(rows) == count or acting == len(rows) - count:
        return None
    return attrs.evolve(given, **{table: rows[:count]})


def _springs_left_out(given: Any) -> Any | None:
    return _less(given, "springs", 0)


def _last_force_left_out(given: Any) -> Any | None:
    return _less(given, "forces", max(0, len(given.forces) - 1))


def _couples_reversed(given: Any) -> Any | None:
    turned = tuple(
        attrs.evolve(couple, moment=-couple.moment)
        for couple in given.couples
        if isinstance(couple.moment, fmpq)
    )
    return attrs.evolve(given, couples=turned) if turned else None


MISTAKES = (
    Mistake(
        "place taken for displacement",
        "sine and cosine are exchanged: the place of a point is used as its displacement",
        rules={"rate": _place_for_rate},
    ),
    Mistake(
        "whole length for stretch",
        "the stiffness is multiplied by the length of the spring, not by its stretch",
        rules={"stretch_share": _whole_length},
    ),
    Mistake("springs left out", "the energy of the springs is forgotten", givens=_springs_left_out),
    Mistake(
        "last force left out",
        "the last force of the table is not read",
        givens=_last_force_left_out,
    ),
    Mistake(
        "couple reversed",
        "couples enter with the wrong sense",
        givens=_couples_reversed,
    ),
)
