"""The potential energy of a mechanism of one freedom, and what goes wrong with it.

Two routes to the same derivatives: from the energy (:class:`PotentialEnergy`), and by the
virtual work of the forces (:func:`virtual_work`), against which answers are checked. The
mechanism and the sources are in :mod:`.mechanism`.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from types import SimpleNamespace
from typing import Any

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.statics.chapters.virtual_work.mechanism import (
    ACTING,
    Cord,
    LinkSpring,
    Mechanism,
    MovingPoint,
    keys_of_parts,
    links_of,
)
from refsolver.statics.contract import Mistake
from refsolver.statics.vectors import Numbers, added, brought, dot, length, minus, scaled, vector

__all__ = [
    "MISTAKES",
    "RULES",
    "PotentialEnergy",
    "joined_by_length",
    "positions",
    "rate_of",
    "virtual_work",
    "without_separation",
]


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


class PotentialEnergy:
    """The potential energy of a mechanism: its givens are brought in once for many angles.

    A position is the angle ``t`` in radians with its cosine ``c`` and its sine ``s``.
    """

    def __init__(self, given: Mechanism, ar: Arithmetic, rules: SimpleNamespace) -> None:
        self._ar, self._rules = ar, rules
        self._points = {
            p.name: (brought(p.place, ar), brought(p.cosine, ar), brought(p.sine, ar))
            for p in given.points
        }
        keys = keys_of_parts(given)
        self._forces = [
            (key, load.at, vector(load.force, ar))
            for key, load in zip(keys["forces"], given.forces, strict=True)
        ]
        self._couples = [
            (key, ar.bring(couple.moment) * ar.bring(couple.turns))
            for key, couple in zip(keys["couples"], given.couples, strict=True)
        ]
        self._springs = [
            (key, spring, ar.bring(spring.stiffness), ar.bring(spring.unstretched))
            for key, spring in zip(keys["springs"], given.springs, strict=True)
        ]
        self._cords = [
            (key, cord, ar.bring(cord.tension))
            for key, cord in zip(keys["cords"], given.cords, strict=True)
        ]
        self._twists = [
            (key, ar.bring(twist.turns), ar.bring(twist.stiffness), ar.radians(twist.relaxed))
            for key, twist in zip(keys["torsion_springs"], given.torsion_springs, strict=True)
        ]

    def first(self, t: Number, c: Number, s: Number) -> tuple[Number, dict[str, Number]]:
        """The first derivative by the angle, in radians, and its parts by what they come from.

        That of a spring is k (1 - l0/l) u and that of a cord F u / l, where u = l l'.
        """
        places, rates = self._places(c, s), self._rates(c, s)
        parts: dict[str, Number] = {}
        for key, at, force in self._forces:
            parts[key] = -dot(force, rates[at])
        for key, moment in self._couples:
            parts[key] = -moment
        for key, spring, stiffness, unstretched in self._springs:
            apart, rate = _apart(spring, places), _apart(spring, rates)
            share = self._share(spring, unstretched, apart)
            parts[key] = stiffness * share * dot(apart, rate)
        for key, cord, tension in self._cords:
            apart, rate = _apart(cord, places), _apart(cord, rates)
            parts[key] = tension * dot(apart, rate) / length(apart, self._ar)
        for key, turns, stiffness, relaxed in self._twists:
            parts[key] = stiffness * turns * (turns * t - relaxed)
        total = 0 * c
        for part in parts.values():
            total = total + part
        return total, parts

    def second(self, c: Number, s: Number) -> Number:
        """The second derivative by the angle, in radians.

        That of a spring is k [(1 - l0/l) u' + l0 u^2 / l^3] and that of a cord
        F (u' / l - u^2 / l^3), where u = l l'.
        """
        places, rates = self._places(c, s), self._rates(c, s)
        bends = {name: minus(point[0], places[name]) for name, point in self._points.items()}
        total = 0 * c
        for _, at, force in self._forces:
            total = total - dot(force, bends[at])
        for _, spring, stiffness, unstretched in self._springs:
            apart, rate, bend = (_apart(spring, of) for of in (places, rates, bends))
            bent = dot(rate, rate) + dot(apart, bend)
            curved = self._share(spring, unstretched, apart) * bent
            if spring.unstretched != 0:
                u, square = dot(apart, rate), dot(apart, apart)
                curved = curved + unstretched * u * u / (square * self._ar.sqrt(square))
            total = total + stiffness * curved
        for _, cord, tension in self._cords:
            apart, rate, bend = (_apart(cord, of) for of in (places, rates, bends))
            u, square = dot(apart, rate), dot(apart, apart)
            bent = dot(rate, rate) + dot(apart, bend)
            total = total + tension * (bent - u * u / square) / self._ar.sqrt(square)
        for _, turns, stiffness, _ in self._twists:
            total = total + stiffness * turns * turns
        return total

    def _places(self, c: Number, s: Number) -> dict[str, Numbers]:
        return {
            name: added(place, added(scaled(c, cosine), scaled(s, sine)))
            for name, (place, cosine, sine) in self._points.items()
        }

    def _rates(self, c: Number, s: Number) -> dict[str, Numbers]:
        return {
            name: self._rules.rate(cosine, sine, c, s)
            for name, (_, cosine, sine) in self._points.items()
        }

    def _share(self, spring: LinkSpring, unstretched: Number, apart: Numbers) -> Number:
        """1 - l0/l; no root is taken of a spring that is only as long as it is stretched."""
        if spring.unstretched == 0:
            return 1
        return self._rules.stretch_share(unstretched, length(apart, self._ar))


def _apart(link: LinkSpring | Cord, of: dict[str, Numbers]) -> Numbers:
    return minus(of[link.end], of[link.start])


# --- the second method --------------------------------------------------------------------


def virtual_work(
    given: Mechanism, t: Number, c: Number, s: Number, ar: Arithmetic
) -> tuple[Number, Number, Number]:
    """Work for each radian of what acts, its derivative, and the size of the terms.

    Written apart from :class:`PotentialEnergy`: the displacement of a point is its place a
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
    acting = sum(len(getattr(given, name)) for name in ACTING)
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
