"""A straight beam along x: givens, reactions, and the internal forces piece by piece.

Sources of the method: R. C. Hibbeler, "Engineering Mechanics: Statics", chapter 7, from
memory; N. M. Holtz, G. A. Hartley and H. A. Khoo, "Introductory Structural Analysis",
chapter 2 (beams with hinges), for the loads at a hinge.

Signs, for all families of beams: x from the left end, y up; loads and reactions by their
components; couples counter-clockwise positive. At a section N is positive in tension, V
positive where the part left of the section is pushed up by its loads (dM/dx = V), M
positive where it sags (tension below). A calculator with V the other way round is reached
through the mapping (``negate``).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from itertools import pairwise
from types import SimpleNamespace
from typing import Any

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.exact import Exact
from refsolver.quantities.dimensions import FORCE, LENGTH, LINE_LOAD, MOMENT
from refsolver.quantities.kinds import NoAnswer, Piece
from refsolver.quantities.leaves import ByRun, Direction, Vector
from refsolver.statics.bodies.equilibrium import Equilibrium, equilibrium
from refsolver.statics.bodies.free_body import (
    Action,
    Body,
    Unknown,
    between,
    couple_on,
    force_on,
)
from refsolver.statics.bodies.supports import PlaneSupport, parts_of, unknowns_of
from refsolver.statics.contract import choice, many, quantities, quantity, text
from refsolver.statics.contract import direction as direction_given
from refsolver.statics.contract import vector as vector_given
from refsolver.statics.limits import exceeds
from refsolver.statics.naming import distinct_names, keys_of
from refsolver.statics.polynomials import integral, moved, through, value
from refsolver.statics.vectors import Numbers, added, unit_vector, vector

__all__ = [
    "RULES",
    "Beam",
    "BeamCouple",
    "BeamForce",
    "BeamHinge",
    "BeamLineLoad",
    "BeamSupport",
    "Diagrams",
    "Spread",
    "acting_on",
    "beam_equilibrium",
    "diagrams",
    "spread_of",
    "stations",
    "supports_of",
]

_DOWN = ByRun((fmpq(0), fmpq(-1)))
_UP = ByRun((fmpq(0), fmpq(1)))


@attrs.frozen
class BeamSupport:
    kind: str = choice(("pin", "roller", "fixed"), "how the beam is held there")
    at: fmpq = quantity(LENGTH, "from the left end", sign="not negative")
    direction: Direction | None = direction_given(
        "of the reaction of a roller; up where none is stated", default=None
    )
    name: str = text("what it is called")

    def __attrs_post_init__(self) -> None:
        if self.direction is not None and self.kind != "roller":
            raise ValueError(f"only a roller has a 'direction', not a support of kind {self.kind}")


@attrs.frozen
class BeamHinge:
    at: fmpq = quantity(LENGTH, "from the left end", sign="positive")
    name: str = text("what it is called")


@attrs.frozen
class BeamForce:
    force: Vector = vector_given(FORCE, "the force on the beam")
    at: fmpq = quantity(LENGTH, "from the left end", sign="not negative")
    name: str = text("what it is called")


@attrs.frozen
class BeamCouple:
    moment: Exact = quantity(MOMENT, "of the couple, counter-clockwise positive")
    at: fmpq = quantity(LENGTH, "from the left end", sign="not negative")
    name: str = text("what it is called")


@attrs.frozen
class BeamLineLoad:
    """A load along part of the beam.

    One intensity is a uniform load; two are its values at start and end, linear between;
    three or more are its values at equal steps from start to end, joined by the one
    polynomial through them (three: a parabola).
    """

    start: fmpq = quantity(LENGTH, "from the left end", sign="not negative")
    end: fmpq = quantity(LENGTH, "from the left end", sign="positive")
    intensities: tuple[Exact, ...] = quantities(
        LINE_LOAD,
        "one: uniform; two: at start and end, linear; more: at equal steps, on one polynomial",
    )
    direction: Direction = direction_given("of the load; down where none is stated", default=_DOWN)
    name: str = text("what it is called")

    def __attrs_post_init__(self) -> None:
        if all(isinstance(x, fmpq) for x in (self.start, self.end)) and self.start >= self.end:
            raise ValueError("a line load ends to the right of its start")


@attrs.frozen
class Beam:
    length: fmpq = quantity(LENGTH, "of the beam", sign="positive")
    supports: tuple[BeamSupport, ...] = many(BeamSupport, "what holds the beam")
    hinges: tuple[BeamHinge, ...] = many(
        BeamHinge,
        "internal hinges; a force at a hinge acts on the part to its right",
        minimum=0,
        default=(),
    )
    forces: tuple[BeamForce, ...] = many(BeamForce, "point loads", minimum=0, default=())
    couples: tuple[BeamCouple, ...] = many(BeamCouple, "couples", minimum=0, default=())
    line_loads: tuple[BeamLineLoad, ...] = many(
        BeamLineLoad, "loads along part of the beam", minimum=0, default=()
    )

    def __attrs_post_init__(self) -> None:
        distinct_names(self.supports, "support")
        distinct_names(self.hinges, "hinge")
        distinct_names((*self.forces, *self.couples, *self.line_loads), "load")
        places = _places(self)
        for what, at in places:
            if not isinstance(at, fmpq):
                raise ValueError(f"{what}: a position along a beam is a rational number")
            if exceeds(at, self.length):
                raise ValueError(f"{what} lies beyond the end of the beam")
        self._check_hinges()

    def _check_hinges(self) -> None:
        hinges = [hinge.at for hinge in self.hinges]
        if len(set(hinges)) < len(hinges) or self.length in hinges:
            raise ValueError("hinges lie inside the beam, at different places")
        for couple in self.couples:
            if couple.at in hinges:
                raise ValueError(
                    "a couple exactly at a hinge does not say on which side it acts: "
                    "move it to the part that it turns"
                )
        for support in self.supports:
            if support.kind == "fixed" and support.at in hinges:
                raise ValueError(
                    "a fixed support exactly at a hinge does not say which side it holds"
                )


def _places(beam: Beam) -> list[tuple[str, Exact]]:
    found: list[tuple[str, Exact]] = [("the length", beam.length)]
    tables: tuple[tuple[tuple[Any, ...], str], ...] = (
        (beam.supports, "support"),
        (beam.hinges, "hinge"),
        (beam.forces, "force"),
        (beam.couples, "couple"),
    )
    for items, word in tables:
        found += [(k, x.at) for k, x in zip(keys_of(items, word), items, strict=True)]
    for key, line in zip(keys_of(beam.line_loads, "line load"), beam.line_loads, strict=True):
        found += [(key, line.start), (key, line.end)]
    return found


# --- loads --------------------------------------------------------------------------------


@attrs.frozen
class Spread:
    """A line load: intensity as a polynomial of the distance from its start, and direction."""

    start: fmpq
    end: fmpq
    intensity: Numbers
    along: Numbers


def line_intensity(intensities: Sequence[Number], length: Number) -> Numbers:
    """The polynomial through intensities at equal steps."""
    return through(intensities, length)


def line_resultant(intensity: Numbers, length: Number) -> Number:
    """The area under a load: its antiderivative at the end."""
    return value(integral(intensity, 0 * length), length)


def line_first_moment(intensity: Numbers, length: Number) -> Number:
    """The first moment of the area about the start of the load."""
    return value(integral((0 * length, *intensity), 0 * length), length)


def applied_couple(moment: Number) -> Number:
    """A couple enters with its own value, wherever it acts."""
    return moment


def bending_from_shear(shear: Numbers, start: Number) -> Numbers:
    """M over a piece from V: dM/dx = V."""
    return integral(shear, start)


RULES: dict[str, Callable[..., Any]] = {
    "resolved": vector,
    "line_intensity": line_intensity,
    "line_resultant": line_resultant,
    "line_first_moment": line_first_moment,
    "applied_couple": applied_couple,
    "bending_from_shear": bending_from_shear,
}


def spread_of(line: BeamLineLoad, ar: Arithmetic, rules: SimpleNamespace) -> Spread:
    """A line load with its polynomial."""
    length = ar.bring(line.end) - ar.bring(line.start)
    values = [ar.bring(x) for x in line.intensities]
    along = unit_vector(line.direction, ar)
    return Spread(line.start, line.end, rules.line_intensity(values, length), along)


def supports_of(beam: Beam) -> list[PlaneSupport]:
    """The supports as supports of a plane body whose axis is y = 0."""
    return [_as_plane(support) for support in beam.supports]


def _as_plane(support: BeamSupport) -> PlaneSupport:
    direction = (support.direction or _UP) if support.kind == "roller" else None
    return PlaneSupport(support.kind, (support.at, fmpq(0)), direction, support.name)


def _part_names(beam: Beam) -> list[str]:
    return [f"part {i}" for i in range(1, len(beam.hinges) + 2)] if beam.hinges else ["beam"]


def _part_of(at: fmpq, beam: Beam, *, right: bool = True) -> int:
    """Which part a place belongs to, counted from 0; a hinge belongs to its right or left."""
    hinges = [hinge.at for hinge in beam.hinges]
    return sum(h <= at if right else h < at for h in hinges)


def acting_on(beam: Beam, ar: Arithmetic, rules: SimpleNamespace) -> list[tuple[str, Action]]:
    """All loads as actions on the parts between hinges, moments about the left end."""
    parts = _part_names(beam)
    zero = ar.bring(fmpq(0))
    found = []
    for item, key in zip(beam.forces, keys_of(beam.forces, "force"), strict=True):
        force = rules.resolved(item.force, ar)
        body = parts[_part_of(item.at, beam)]
        found.append((key, force_on(body, force, (ar.bring(item.at), zero))))
    for couple, key in zip(beam.couples, keys_of(beam.couples, "couple"), strict=True):
        moment = rules.applied_couple(ar.bring(couple.moment))
        found.append((key, couple_on(parts[_part_of(couple.at, beam)], (moment,))))
    for line, key in zip(beam.line_loads, keys_of(beam.line_loads, "line load"), strict=True):
        found += _cut_at_hinges(line, key, beam, parts, ar, rules)
    return found


def _cut_at_hinges(
    line: BeamLineLoad,
    key: str,
    beam: Beam,
    parts: Sequence[str],
    ar: Arithmetic,
    rules: SimpleNamespace,
) -> list[tuple[str, Action]]:
    spread = spread_of(line, ar, rules)
    inside = sorted(h.at for h in beam.hinges if line.start < h.at < line.end)
    cuts = [line.start, *inside, line.end]
    found = []
    for a, b in pairwise(cuts):
        left, span = ar.bring(a), ar.bring(b) - ar.bring(a)
        here = moved(spread.intensity, left - ar.bring(line.start))
        total = rules.line_resultant(here, span)
        turning = left * total + rules.line_first_moment(here, span)
        force = tuple(total * u for u in spread.along)
        body = parts[_part_of(a, beam)]
        label = key if not inside else f"{key} on {body}"
        found.append((label, Action(body, force, (turning * spread.along[1],))))
    return found


def beam_equilibrium(beam: Beam, ar: Arithmetic, rules: SimpleNamespace) -> Equilibrium:
    """Equilibrium of the parts between the hinges, each hinge passing a force.

    The unknowns of a hinge, "name: along x" and "name: along y", act on the part to its
    left. A support at a hinge holds the part to its left.
    """
    supports, names = supports_of(beam), keys_of(beam.supports, "support")
    parts = _part_names(beam)
    bodies = [parts[_part_of(s.at, beam, right=False)] for s in beam.supports]

    def unknowns(a: Arithmetic) -> list[Unknown]:
        return unknowns_of(supports, names, bodies, a) + _hinge_unknowns(beam, parts, a)

    def loads(a: Arithmetic) -> list[Action]:
        return [action for _, action in acting_on(beam, a, rules)]

    return equilibrium([Body(part) for part in parts], 2, unknowns, loads, ar, of=(beam, rules))


def _hinge_unknowns(beam: Beam, parts: Sequence[str], ar: Arithmetic) -> list[Unknown]:
    zero, one = ar.bring(fmpq(0)), ar.bring(fmpq(1))
    found = []
    for hinge, key in zip(beam.hinges, keys_of(beam.hinges, "hinge"), strict=True):
        left = _part_of(hinge.at, beam, right=False)
        at = (ar.bring(hinge.at), zero)
        for letter, along in (("x", (one, zero)), ("y", (zero, one))):
            action = force_on(parts[left], along, at)
            found.append(between(f"{key}: along {letter}", action, parts[left + 1]))
    return found


# --- internal forces ----------------------------------------------------------------------


def stations(beam: Beam) -> list[fmpq]:
    """Where anything begins, ends or acts: the ends of the pieces, from left to right."""
    places: set[Any] = {at for _, at in _places(beam)}
    return sorted(places | {fmpq(0)})


@attrs.frozen
class Diagrams:
    """N, V and M as pieces between the stations, and where each of them may jump."""

    axial: tuple[Piece, ...]
    shear: tuple[Piece, ...]
    moment: tuple[Piece, ...]
    force_at: frozenset[fmpq]
    couple_at: frozenset[fmpq]


def diagrams(
    beam: Beam, found: Equilibrium, ar: Arithmetic, rules: SimpleNamespace
) -> Diagrams | NoAnswer:
    """N, V, M from the left end: sums of all forces to the left of the section."""
    refusal = found.refusal()
    if refusal:
        return refusal
    for key in found.keys:
        missing = found.missing(key)
        if missing:
            return missing
    forces, couples = _concentrated(beam, found, ar, rules)
    spreads = [spread_of(line, ar, rules) for line in beam.line_loads]
    zero = ar.bring(fmpq(0))
    at = stations(beam)
    pieces: dict[str, list[Piece]] = {"N": [], "V": [], "M": []}
    n = v = m = zero
    for a, b in pairwise(at):
        start, end = ar.bring(a), ar.bring(b)
        for own, force in forces.get(a, ()):
            n, v = n - force[0], v + force[1]
            if own is not a:
                m = m + force[1] * (start - ar.bring(own))
        for moment in couples.get(a, ()):
            m = m - moment
        along, across = _beside(spreads, a, ar)
        n, v = n - along, v + across
        axial_load, cross_load = _load_over(spreads, a, b, ar)
        axial = integral(tuple(-c for c in axial_load), n)
        shear = integral(cross_load, v)
        bending = rules.bending_from_shear(shear, m)
        for key, curve in (("N", axial), ("V", shear), ("M", bending)):
            pieces[key].append(Piece(start, end, tuple(curve)))
        span = end - start
        n, v, m = value(axial, span), value(shear, span), value(bending, span)
    return Diagrams(
        tuple(pieces["N"]),
        tuple(pieces["V"]),
        tuple(pieces["M"]),
        frozenset(forces),
        frozenset(couples),
    )


def _beside(spreads: Sequence[Spread], a: fmpq, ar: Arithmetic) -> tuple[Number, Number]:
    """Nothing, but with its derivative: what lies between a station and another given there.

    Where a line load begins or ends at the same place as something else, the station is one
    of several equal givens; a change of the others moves the end of the load past it.
    """
    along = across = ar.bring(fmpq(0))
    for spread in spreads:
        for edge, sense in ((spread.start, 1), (spread.end, -1)):
            if edge == a and edge is not a:
                gap = (ar.bring(a) - ar.bring(edge)) * sense
                reach = ar.bring(edge) - ar.bring(spread.start)
                load = gap * value(spread.intensity, reach)
                along, across = along + load * spread.along[0], across + load * spread.along[1]
    return along, across


def _load_over(
    spreads: Sequence[Spread], a: fmpq, b: fmpq, ar: Arithmetic
) -> tuple[Numbers, Numbers]:
    """The x and y components of all line loads on a piece, from its own start."""
    zero = ar.bring(fmpq(0))
    along: Numbers = (zero,)
    across: Numbers = (zero,)
    for spread in spreads:
        if spread.start <= a and b <= spread.end:
            here = moved(spread.intensity, ar.bring(a) - ar.bring(spread.start))
            along = _sum(along, tuple(spread.along[0] * c for c in here), zero)
            across = _sum(across, tuple(spread.along[1] * c for c in here), zero)
    return along, across


def _sum(p: Numbers, q: Numbers, zero: Number) -> Numbers:
    size = max(len(p), len(q))
    pad = [zero] * size
    return added((*p, *pad)[:size], (*q, *pad)[:size])


def _concentrated(
    beam: Beam, found: Equilibrium, ar: Arithmetic, rules: SimpleNamespace
) -> tuple[Mapping[fmpq, list[tuple[fmpq, Numbers]]], Mapping[fmpq, list[Number]]]:
    """Point loads and couples, reactions among them, by position; forces with their own."""
    forces: dict[fmpq, list[tuple[fmpq, Numbers]]] = {}
    couples: dict[fmpq, list[Number]] = {}
    for load in beam.forces:
        forces.setdefault(load.at, []).append((load.at, rules.resolved(load.force, ar)))
    for couple in beam.couples:
        moment = rules.applied_couple(ar.bring(couple.moment))
        couples.setdefault(couple.at, []).append(moment)
    names = keys_of(beam.supports, "support")
    for support, name in zip(beam.supports, names, strict=True):
        at = support.at
        for part in parts_of(_as_plane(support), name, ar):
            size = found.values[part.key]
            if part.turns:
                couples.setdefault(at, []).append(size)
            else:
                force = tuple(size * u for u in part.along)
                forces.setdefault(at, []).append((at, force))
    return forces, couples
