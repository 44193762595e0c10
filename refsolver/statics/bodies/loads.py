"""Loads on a rigid body: givens, and the actions they are of a free body.

:class:`Acting` and what follows it serve the second method: forces by their points,
line loads by Simpson's rule, moments about any point.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from types import SimpleNamespace
from typing import Any

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.exact import Exact
from refsolver.quantities.dimensions import FORCE, LINE_LOAD, MOMENT
from refsolver.quantities.leaves import ByRun, Direction, Vector
from refsolver.statics.bodies.free_body import Action, couple_on, moment_of
from refsolver.statics.bodies.supports import PlaneSupport, SpaceSupport
from refsolver.statics.contract import Residual, many, point, quantity, text
from refsolver.statics.contract import direction as direction_given
from refsolver.statics.contract import vector as vector_given
from refsolver.statics.naming import distinct_names, keys_of
from refsolver.statics.vectors import (
    Numbers,
    added,
    brought,
    length,
    minus,
    scaled,
    unit_vector,
    vector,
)

__all__ = [
    "Acting",
    "applied_couple",
    "applied_moment",
    "BODY",
    "DOWN",
    "LineLoad",
    "moments_close",
    "plane_loads",
    "PlaneBody",
    "PlaneCouple",
    "PlaneLoad",
    "poles_of",
    "RULES",
    "simpson",
    "space_loads",
    "SpaceBody",
    "SpaceCouple",
    "SpaceLoad",
    "triangle_acts_at",
    "triangle_force",
    "triangles_of",
]


BODY = "body"
DOWN = ByRun((fmpq(0), fmpq(-1)))


@attrs.frozen
class PlaneLoad:
    force: Vector = vector_given(FORCE, "the force")
    at: tuple[Exact, ...] = point("a point on its line of action")
    name: str = text("what it is called")


@attrs.frozen
class PlaneCouple:
    moment: Exact = quantity(MOMENT, "of the couple, counter-clockwise positive")
    name: str = text("what it is called")


@attrs.frozen
class LineLoad:
    """A load spread along a straight line, its intensity uniform or changing linearly."""

    start: tuple[Exact, ...] = point("where it begins")
    end: tuple[Exact, ...] = point("where it ends")
    at_start: Exact = quantity(LINE_LOAD, "intensity where it begins, per length of that line")
    at_end: Exact = quantity(LINE_LOAD, "intensity where it ends")
    direction: Direction = direction_given("of the load; down where none is stated", default=DOWN)
    name: str = text("what it is called")


@attrs.frozen
class PlaneBody:
    supports: tuple[PlaneSupport, ...] = many(PlaneSupport, "what holds the body")
    forces: tuple[PlaneLoad, ...] = many(
        PlaneLoad, "the known forces, weights among them", minimum=0, default=()
    )
    couples: tuple[PlaneCouple, ...] = many(PlaneCouple, "the known couples", minimum=0, default=())
    line_loads: tuple[LineLoad, ...] = many(LineLoad, "loads along a line", minimum=0, default=())

    def __attrs_post_init__(self) -> None:
        distinct_names(self.supports, "support")
        distinct_names((*self.forces, *self.line_loads, *self.couples), "load")


@attrs.frozen
class SpaceLoad:
    force: Vector = vector_given(FORCE, "the force", space=3)
    at: tuple[Exact, ...] = point("a point on its line of action", space=3)
    name: str = text("what it is called")


@attrs.frozen
class SpaceCouple:
    moment: Vector = vector_given(MOMENT, "of the couple, by the right-hand rule", space=3)
    name: str = text("what it is called")


@attrs.frozen
class SpaceBody:
    supports: tuple[SpaceSupport, ...] = many(SpaceSupport, "what holds the body")
    forces: tuple[SpaceLoad, ...] = many(
        SpaceLoad, "the known forces, weights among them", minimum=0, default=()
    )
    couples: tuple[SpaceCouple, ...] = many(SpaceCouple, "the known couples", minimum=0, default=())

    def __attrs_post_init__(self) -> None:
        distinct_names(self.supports, "support")
        distinct_names((*self.forces, *self.couples), "load")


# --- rules --------------------------------------------------------------------------------


def triangle_force(peak: Number, base: Number) -> Number:
    """The resultant of a triangular load: half the peak times the base."""
    return peak * base / 2


def triangle_acts_at(base: Number) -> Number:
    """Its distance from the end where the load is zero: two thirds of the base."""
    return base * 2 / 3


def applied_moment(at: Numbers, force: Numbers) -> Numbers:
    """The moment of a known force about the origin."""
    return moment_of(at, force)


def applied_couple(moment: Numbers) -> Numbers:
    """A couple enters the moment equation with its own value, wherever it acts."""
    return moment


RULES: dict[str, Callable[..., Any]] = {
    "resolved": vector,
    "applied_moment": applied_moment,
    "applied_couple": applied_couple,
    "triangle_force": triangle_force,
    "triangle_acts_at": triangle_acts_at,
}


# --- loads as actions ---------------------------------------------------------------------


def forces_on(given: Any, ar: Arithmetic, rules: SimpleNamespace) -> list[tuple[str, Action]]:
    found = []
    for item, key in zip(given.forces, keys_of(given.forces, "force"), strict=True):
        force, at = rules.resolved(item.force, ar), brought(item.at, ar)
        found.append((key, Action(BODY, force, rules.applied_moment(at, force))))
    return found


def plane_loads(
    given: PlaneBody, ar: Arithmetic, rules: SimpleNamespace
) -> list[tuple[str, Action]]:
    found = forces_on(given, ar, rules)
    for line, key in zip(given.line_loads, keys_of(given.line_loads, "line load"), strict=True):
        found += triangles_of(line, key, ar, rules)
    for item, key in zip(given.couples, keys_of(given.couples, "couple"), strict=True):
        found.append((key, couple_on(BODY, rules.applied_couple((ar.bring(item.moment),)))))
    return found


def triangles_of(
    line: LineLoad, key: str, ar: Arithmetic, rules: SimpleNamespace
) -> list[tuple[str, Action]]:
    """A linear load as two triangles, each growing from zero at one end to the other."""
    start, end = brought(line.start, ar), brought(line.end, ar)
    span = minus(end, start)
    base = length(span, ar)
    along = unit_vector(line.direction, ar)
    share = rules.triangle_acts_at(base) / base
    found = []
    for word, peak, zero_end, reach in (
        ("greatest at its end", line.at_end, start, span),
        ("greatest at its start", line.at_start, end, tuple(-x for x in span)),
    ):
        force = scaled(rules.triangle_force(ar.bring(peak), base), along)
        at = added(zero_end, scaled(share, reach))
        found.append(
            (f"{key}, triangle {word}", Action(BODY, force, rules.applied_moment(at, force)))
        )
    return found


def space_loads(
    given: SpaceBody, ar: Arithmetic, rules: SimpleNamespace
) -> list[tuple[str, Action]]:
    found = forces_on(given, ar, rules)
    for item, key in zip(given.couples, keys_of(given.couples, "couple"), strict=True):
        moment = rules.applied_couple(rules.resolved(item.moment, ar))
        found.append((key, couple_on(BODY, moment)))
    return found


# --- the second method --------------------------------------------------------------------


@attrs.frozen
class Acting:
    """A force at a point, and a couple, kept apart for moments about any other point."""

    at: Numbers
    force: Numbers
    couple: Numbers = ()


def simpson(line: LineLoad, ar: Arithmetic) -> list[Acting]:
    """Three forces with the resultant and the moments of a linear load.

    Simpson's rule is exact for cubics, and intensity times distance is a quadratic.
    """
    start, end = brought(line.start, ar), brought(line.end, ar)
    first, last = ar.bring(line.at_start), ar.bring(line.at_end)
    along = scaled(length(minus(end, start), ar), unit_vector(line.direction, ar))
    middle = tuple(x / 2 for x in added(start, end))
    return [
        Acting(start, scaled(first / 6, along)),
        Acting(middle, scaled((first + last) / 3, along)),
        Acting(end, scaled(last / 6, along)),
    ]


def moments_close(
    acting: Sequence[Acting], about: Mapping[str, Numbers], ar: Arithmetic
) -> list[Residual]:
    """Moments of everything about each of some points; no force equation is used.

    Their size is that of all forces times all arms about all points: a force that vanishes,
    or that acts at the point, leaves the size of the case as it is.
    """
    residuals = []
    zero = ar.bring(fmpq(0))
    forces, reach, couples = zero, zero, zero
    for item in acting:
        forces = forces + _spread(item.force, ar)
        couples = couples + (_spread(item.couple, ar) if item.couple else zero)
        for pole in about.values():
            reach = reach + _spread(minus(item.at, pole), ar)
    size = forces * reach + couples
    for name, pole in about.items():
        totals: Numbers = (zero,) * len(moment_of(pole, pole))
        for item in acting:
            totals = added(totals, moment_of(minus(item.at, pole), item.force))
            if item.couple:
                totals = added(totals, item.couple)
        letters = ("",) if len(totals) == 1 else (" along x", " along y", " along z")
        residuals += [
            Residual(f"moments about {name}{letter}", x, size)
            for letter, x in zip(letters, totals, strict=True)
        ]
    return residuals


def _spread(parts: Numbers, ar: Arithmetic) -> Number:
    """The sum of the sizes of the components."""
    total = ar.size(parts[0])
    for part in parts[1:]:
        total = total + ar.size(part)
    return total


def poles_of(given: Any, space: int, ar: Arithmetic) -> dict[str, Numbers]:
    """Every support, and one point off along each axis, so that they never lie in a line."""
    names = keys_of(given.supports, "support")
    poles = {
        name: brought(support.at, ar) for name, support in zip(names, given.supports, strict=True)
    }
    first = poles[names[0]]
    reach = ar.bring(fmpq(1))
    for item in (*given.supports, *given.forces):
        for x, start in zip(brought(item.at, ar), first, strict=True):
            reach = reach + ar.size(x - start)
    for i, letter in enumerate("xyz"[:space]):
        poles[f"a point along {letter} from {names[0]}"] = tuple(
            x + reach if i == j else x for j, x in enumerate(first)
        )
    return poles
