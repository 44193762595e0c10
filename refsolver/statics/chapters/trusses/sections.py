"""The method of sections, as a second method for trusses.

The first joint, the first two, the first three ... are cut out as one free body each: the
forces of the members cut, the loads and the reactions on it have no moment about three
points that do not lie in a line. Two such bodies differ by one joint, so that all sections
together say as much as the equilibrium of every joint, and no equation of a joint is used.

Source: A. Ritter's method of sections, any text of statics (from memory).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import attrs

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.quantities.kinds import NoAnswer, Value
from refsolver.statics.bodies.free_body import moment_of
from refsolver.statics.chapters.trusses.joints import places_of
from refsolver.statics.chapters.trusses.truss import Truss, member_keys, support_keys
from refsolver.statics.contract import Residual
from refsolver.statics.forces.systems import sum_of
from refsolver.statics.residuals import of_sign
from refsolver.statics.vectors import Numbers, added, length, minus, scaled, unit_vector, vector

__all__ = ["sections_close", "senses_close"]


@attrs.frozen
class _Moment:
    """The moments of a force about each pole, and a bound of the terms in them."""

    about: tuple[Numbers, ...]
    size: Number

    def __add__(self, other: _Moment) -> _Moment:
        pairs = zip(self.about, other.about, strict=True)
        return _Moment(tuple(added(a, b) for a, b in pairs), self.size + other.size)


def sections_close(truss: Truss, answers: Mapping[str, Value], ar: Arithmetic) -> list[Residual]:
    """Residuals of every section, and of the line of every support; none where refused."""
    forces, reactions = answers["forces"], answers["reactions"]
    if any(isinstance(x, NoAnswer) for x in (*forces.values(), *reactions.values())):
        return []
    places = places_of(truss.joints, ar)
    poles = _poles(places, ar)
    outside = _outside(truss, reactions, places, ar)
    bars = _bars_at(truss)
    cut: dict[str, _Moment] = {}
    part: _Moment | None = None
    # Of idle members and supports what cancels is no more than their rounding.
    loads = sum_of([ar.size(x) for item in truss.loads for x in vector(item.force, ar)], ar)
    residuals, least = _lines(truss, answers, loads, ar), _reach(places, ar) * loads
    for number, (joint, place) in enumerate(places.items(), 1):
        for force in outside[joint]:
            moment = _moment(place, force, poles, ar)
            part = moment if part is None else part + moment
        for key, other in bars[joint]:
            if key in cut:  # its other end is inside already
                del cut[key]
                continue
            run = minus(places[other], place)
            pull = scaled(forces[key] / length(run, ar), run)
            cut[key] = _moment(places[other], pull, poles, ar)
        acting = [*cut.values(), *([] if part is None else [part])]
        if acting:
            residuals += _section(f"section {number}, as far as {joint}", acting, least)
    return residuals


def senses_close(truss: Truss, answers: Mapping[str, Value], ar: Arithmetic) -> list[Residual]:
    """Senses by the signs of the forces, and the count of the idle members; none where refused."""
    forces = answers["forces"]
    if any(isinstance(x, NoAnswer) for x in forces.values()):
        return []
    words = {key: sense.word for key, sense in answers["senses"].items()}
    loads = [x for item in truss.loads for x in vector(item.force, ar)]
    size = sum_of([ar.size(x) for x in (*forces.values(), *loads)], ar)
    signs = {"tension": 1, "compression": -1, "zero": 0}
    residuals = [
        of_sign(f"sense of {key}", signs[words[key]], force, size, ar)
        for key, force in forces.items()
    ]
    idle = answers["zero_members"] - list(words.values()).count("zero")
    return [*residuals, Residual("idle members", idle, 0 * size + 1)]


def _section(name: str, acting: Sequence[_Moment], least: Number) -> list[Residual]:
    total = acting[0]
    for moment in acting[1:]:
        total = total + moment
    return [
        Residual(f"{name}: moments about point {number}{letter}", x, total.size + least)
        for number, about in enumerate(total.about, 1)
        for x, letter in zip(about, ("",) if len(about) == 1 else _ABOUT, strict=True)
    ]


_ABOUT = (" along x", " along y", " along z")


def _moment(at: Numbers, force: Numbers, poles: Sequence[Numbers], ar: Arithmetic) -> _Moment:
    arms = [minus(at, pole) for pole in poles]
    reach = sum_of([ar.size(x) for arm in arms for x in arm], ar)
    size = reach * sum_of([ar.size(x) for x in force], ar)
    return _Moment(tuple(moment_of(arm, force) for arm in arms), size)


def _bars_at(truss: Truss) -> dict[str, list[tuple[str, str]]]:
    """By joint: the members that meet there, each with the joint at its other end."""
    found: dict[str, list[tuple[str, str]]] = {joint.name: [] for joint in truss.joints}
    for member, key in zip(truss.members, member_keys(truss.members), strict=True):
        found[member.start].append((key, member.end))
        found[member.end].append((key, member.start))
    return found


def _outside(
    truss: Truss, reactions: Mapping[str, Numbers], places: Mapping[str, Numbers], ar: Arithmetic
) -> dict[str, list[Numbers]]:
    """Loads and reactions by joint."""
    found: dict[str, list[Numbers]] = {joint: [] for joint in places}
    for item in truss.loads:
        found[item.joint].append(vector(item.force, ar))
    for support, key in zip(truss.supports, support_keys(truss.supports), strict=True):
        found[support.joint].append(reactions[key])
    return found


def _poles(places: Mapping[str, Numbers], ar: Arithmetic) -> list[Numbers]:
    """Three points beyond the truss, not in a line."""
    first, reach = next(iter(places.values())), _reach(places, ar)
    space = len(first)
    corners = ((1, 0, 0), (0, 1, 0), (-1, -1, 1))
    return [
        tuple(x + reach * c for x, c in zip(first, corner[:space], strict=True))
        for corner in corners
    ]


def _reach(places: Mapping[str, Numbers], ar: Arithmetic) -> Number:
    """No joint lies farther from the first one."""
    first, *others = places.values()
    reach = 0 * first[0] + 1
    for place in others:
        for x, start in zip(place, first, strict=True):
            reach = reach + ar.size(x - start)
    return reach


def _lines(
    truss: Truss, answers: Mapping[str, Value], loads: Number, ar: Arithmetic
) -> list[Residual]:
    """That a roller or link acts along its line."""
    residuals = []
    for support, key in zip(truss.supports, support_keys(truss.supports), strict=True):
        if support.direction is None:
            continue
        size = answers["support_forces"][key]
        stated = scaled(size, unit_vector(support.direction, ar))
        for letter, x, y in zip("xyz", answers["reactions"][key], stated, strict=False):
            bound = ar.size(size) + loads
            residuals.append(Residual(f"line of {key}, along {letter}", x - y, bound))
    return residuals
