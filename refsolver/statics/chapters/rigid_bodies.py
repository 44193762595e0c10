"""Equilibrium of one rigid body, in the plane and in space: the reactions of its supports.

Sources of the method: R. C. Hibbeler, "Engineering Mechanics: Statics", chapter 5, from
memory; D. W. Baker and W. Haynes, "Engineering Statics: Open and Interactive", chapter 5.
Proper constraint is a question of rank, see :mod:`refsolver.statics.free_body`.

Signs: x to the right, y up, moments counter-clockwise positive; in space right-handed axes
and moment vectors by the right-hand rule. A reaction is what the support does to the body.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Mapping, Sequence
from types import SimpleNamespace
from typing import Any, ClassVar

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.arithmetic.exact import Exact, Turn
from refsolver.quantities.dimensions import FORCE, LINE_LOAD, MOMENT, NUMBER
from refsolver.quantities.kinds import (
    ChoiceKind,
    NoAnswer,
    ScalarKind,
    TableKind,
    Value,
    VectorKind,
)
from refsolver.quantities.leaves import (
    ByAngle,
    ByAzimuth,
    ByRun,
    Components,
    Direction,
    Polar,
    Vector,
)
from refsolver.statics.chapters.concurrent_forces import decimal, distinct_names, keys_of
from refsolver.statics.contract import (
    Answer,
    Column,
    Family,
    Mistake,
    Residual,
    Row,
    Sheet,
    Solution,
    many,
    point,
    quantity,
    text,
)
from refsolver.statics.contract import direction as direction_given
from refsolver.statics.contract import vector as vector_given
from refsolver.statics.drawing import Arrow, Curve, Drawing, Pin, Primitive, Stroke, Turning
from refsolver.statics.free_body import (
    Action,
    Body,
    couple_on,
    equilibrium,
    moment_of,
)
from refsolver.statics.registry import register
from refsolver.statics.supports import (
    CONSTRAINTS,
    STATES,
    PlaneSupport,
    SpaceSupport,
    assembled,
    bearing_state,
    constraint_of,
    unknowns_of,
)
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
    "CAUTION",
    "LineLoad",
    "PlaneBody",
    "PlaneCouple",
    "PlaneLoad",
    "PlaneReactions",
    "SpaceBody",
    "SpaceCouple",
    "SpaceLoad",
    "SpaceReactions",
    "triangle_acts_at",
    "triangle_force",
]

CAUTION = (
    "Reactions of an idealised rigid body. Supports, fixings and foundations are designed to "
    "the applicable code, for every load case and with its factors, by a licensed engineer."
)

_BODY = "body"
_DOWN = ByRun((fmpq(0), fmpq(-1)))


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
    direction: Direction = direction_given("of the load; down where none is stated", default=_DOWN)
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


_RULES: dict[str, Callable[..., Any]] = {
    "resolved": vector,
    "applied_moment": applied_moment,
    "applied_couple": applied_couple,
    "triangle_force": triangle_force,
    "triangle_acts_at": triangle_acts_at,
}


# --- loads as actions ---------------------------------------------------------------------


def _forces(given: Any, ar: Arithmetic, rules: SimpleNamespace) -> list[tuple[str, Action]]:
    found = []
    for item, key in zip(given.forces, keys_of(given.forces, "force"), strict=True):
        force, at = rules.resolved(item.force, ar), brought(item.at, ar)
        found.append((key, Action(_BODY, force, rules.applied_moment(at, force))))
    return found


def _plane_loads(
    given: PlaneBody, ar: Arithmetic, rules: SimpleNamespace
) -> list[tuple[str, Action]]:
    found = _forces(given, ar, rules)
    for line, key in zip(given.line_loads, keys_of(given.line_loads, "line load"), strict=True):
        found += _triangles(line, key, ar, rules)
    for item, key in zip(given.couples, keys_of(given.couples, "couple"), strict=True):
        found.append((key, couple_on(_BODY, rules.applied_couple((ar.bring(item.moment),)))))
    return found


def _triangles(
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
            (f"{key}, triangle {word}", Action(_BODY, force, rules.applied_moment(at, force)))
        )
    return found


def _space_loads(
    given: SpaceBody, ar: Arithmetic, rules: SimpleNamespace
) -> list[tuple[str, Action]]:
    found = _forces(given, ar, rules)
    for item, key in zip(given.couples, keys_of(given.couples, "couple"), strict=True):
        moment = rules.applied_couple(rules.resolved(item.moment, ar))
        found.append((key, couple_on(_BODY, moment)))
    return found


# --- the second method --------------------------------------------------------------------


@attrs.frozen
class _Acting:
    """A force at a point, and a couple, kept apart for moments about any other point."""

    at: Numbers
    force: Numbers
    couple: Numbers = ()


def _simpson(line: LineLoad, ar: Arithmetic) -> list[_Acting]:
    """Three forces with the resultant and the moments of a linear load.

    Simpson's rule is exact for cubics, and intensity times distance is a quadratic.
    """
    start, end = brought(line.start, ar), brought(line.end, ar)
    first, last = ar.bring(line.at_start), ar.bring(line.at_end)
    along = scaled(length(minus(end, start), ar), unit_vector(line.direction, ar))
    middle = tuple(x / 2 for x in added(start, end))
    return [
        _Acting(start, scaled(first / 6, along)),
        _Acting(middle, scaled((first + last) / 3, along)),
        _Acting(end, scaled(last / 6, along)),
    ]


def _moments_close(
    acting: Sequence[_Acting], about: Mapping[str, Numbers], ar: Arithmetic
) -> list[Residual]:
    """Moments of everything about each of some points; no force equation is used."""
    residuals = []
    for name, pole in about.items():
        terms: list[Numbers] = []
        for item in acting:
            terms.append(moment_of(minus(item.at, pole), item.force))
            if item.couple:
                terms.append(item.couple)
        total, size = terms[0], ar.bring(fmpq(0))
        for term in terms[1:]:
            total = added(total, term)
        for term in terms:
            for x in term:
                size = size + ar.size(x)
        letters = ("",) if len(total) == 1 else (" along x", " along y", " along z")
        residuals += [
            Residual(f"moments about {name}{letter}", x, size)
            for letter, x in zip(letters, total, strict=True)
        ]
    return residuals


def _poles(given: Any, space: int, ar: Arithmetic) -> dict[str, Numbers]:
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


# --- answers ------------------------------------------------------------------------------

_REFUSALS = ("mechanism", "redundant", "improper constraint")


def _answers(space: int) -> dict[str, Answer]:
    couple = ScalarKind(MOMENT) if space == 2 else VectorKind(MOMENT, 3)
    sense = "counter-clockwise positive" if space == 2 else "by the right-hand rule"
    return {
        "reactions": Answer(
            TableKind(VectorKind(FORCE, space), "support"),
            "the force of each support on the body",
            (*_REFUSALS, "no direction"),
        ),
        "couples": Answer(
            TableKind(couple, "support"),
            f"the couple of each support that can exert one, on the body, {sense}",
            _REFUSALS,
        ),
        "forces": Answer(
            TableKind(ScalarKind(FORCE), "support"),
            "of each support with a stated direction: its force, positive along it",
            _REFUSALS,
        ),
        "constraint": Answer(
            ChoiceKind(CONSTRAINTS),
            "determinate; partially constrained: free to move, but not by these loads; redundant: "
            "more unknowns than equilibrium determines; improperly constrained: enough unknowns, "
            "yet free to move; mechanism: it moves under these loads",
        ),
        "degree": Answer(
            ScalarKind(NUMBER), "unknowns in excess of the independent equations of equilibrium"
        ),
        "state": Answer(
            ChoiceKind(STATES),
            "holds: every cable pulls and every contact pushes; idle: one of them carries "
            "nothing; cannot hold: one of them would have to act the other way",
            _REFUSALS,
        ),
    }


def _left_out(field: str) -> Callable[[Any], Any | None]:
    def without(given: Any) -> Any | None:
        items = getattr(given, field)
        return attrs.evolve(given, **{field: items[:-1]}) if items else None

    return without


def _reactions_reversed(
    given: Any, answers: Mapping[str, Value], ar: Arithmetic
) -> Mapping[str, Value] | None:
    def turned(value: Value) -> Value:
        if isinstance(value, NoAnswer):
            return value
        return tuple(-x for x in value) if isinstance(value, tuple) else -value

    return {
        **answers,
        **{
            name: {key: turned(x) for key, x in answers[name].items()}
            for name in ("reactions", "couples", "forces")
        },
    }


def _components_exchanged(at: Numbers, force: Numbers) -> Numbers:
    """Moment arms taken along the force instead of across it."""
    if len(at) == 2:
        return (at[0] * force[0] - at[1] * force[1],)
    return moment_of(force, at)


_COMMON_MISTAKES = (
    Mistake(
        "couple left out",
        "the last applied couple does not enter the moment equation",
        givens=_left_out("couples"),
    ),
    Mistake(
        "couple reversed",
        "applied couples enter the moment equation with the wrong sign",
        rules={"applied_couple": lambda moment: tuple(-x for x in moment)},
    ),
    Mistake(
        "last force left out",
        "the last force of the table is not read",
        givens=_left_out("forces"),
    ),
    Mistake(
        "force on the support reported",
        "the action of the body on its supports is reported as the reaction",
        answers=_reactions_reversed,
    ),
)

_PLANE_MISTAKES = (
    *_COMMON_MISTAKES,
    Mistake(
        "arm along the force",
        "the moment of a force is taken as F_x x - F_y y instead of F_y x - F_x y",
        rules={"applied_moment": _components_exchanged},
    ),
    Mistake(
        "moment of the horizontal part left out",
        "the moment of F_x about the origin is not counted",
        rules={"applied_moment": lambda at, force: (at[0] * force[1],)},
    ),
    Mistake(
        "triangular load not halved",
        "a triangular load is taken as its peak times its base",
        rules={"triangle_force": lambda peak, base: peak * base},
    ),
    Mistake(
        "triangular load at the wrong third",
        "a triangular load acts at one third from its zero end instead of two thirds",
        rules={"triangle_acts_at": lambda base: base / 3},
    ),
    Mistake(
        "line load at its middle",
        "the resultant of a triangular load is put at the middle of its base",
        rules={"triangle_acts_at": lambda base: base / 2},
    ),
)

_SPACE_MISTAKES = (
    *_COMMON_MISTAKES,
    Mistake(
        "vector product reversed",
        "the moment of a force is taken as F x r",
        rules={"applied_moment": _components_exchanged},
    ),
)


class _Reactions(Family):
    """Shared by plane and space."""

    space: ClassVar[int]
    rules = _RULES
    caution = CAUTION

    def loads(self, given: Any, ar: Arithmetic, rules: SimpleNamespace) -> list[tuple[str, Action]]:
        raise NotImplementedError

    def solve(self, given: Any, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        names = keys_of(given.supports, "support")
        loads = self.loads(given, ar, rules)
        bodies = [_BODY] * len(names)
        found = equilibrium(
            [Body(_BODY)],
            self.space,
            lambda a: unknowns_of(given.supports, names, bodies, a),
            [action for _, action in loads],
            ar,
        )
        refusal = found.refusal()
        tables = assembled(given.supports, names, found, ar)
        answers: dict[str, Value] = {
            **tables,
            "constraint": constraint_of(found),
            "degree": ar.bring(fmpq(found.redundants)),
            "state": refusal or bearing_state(given.supports, names, tables["forces"], ar),
        }
        return Solution(answers, self._working(loads, found.values))

    def _working(
        self, loads: Sequence[tuple[str, Action]], values: Mapping[str, Number]
    ) -> tuple[Sheet, ...]:
        letters = "xyz"[: self.space]
        about = ("about the origin",) if self.space == 2 else tuple(f"about {a}" for a in letters)
        columns = tuple(Column(f"force along {a}", FORCE) for a in letters)
        columns += tuple(Column(f"moment {word}", MOMENT) for word in about)
        rows = tuple(Row(key, (*action.force, *action.moment)) for key, action in loads)
        applied = Sheet("Loads", columns, rows, self.method)
        unknowns = Sheet(
            "Unknowns",
            (Column("value"),),
            tuple(Row(key, (x,)) for key, x in values.items()),
            "coherent units; a force of stated direction counts in lengths of its direction vector",
        )
        return (applied, unknowns) if values else (applied,)

    def acting(self, given: Any, ar: Arithmetic) -> list[_Acting]:
        """The loads again, by their points of action, for the second method."""
        return [_Acting(brought(x.at, ar), vector(x.force, ar)) for x in given.forces]

    def check(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Sequence[Residual]:
        acting = self.acting(given, ar)
        names = keys_of(given.supports, "support")
        nothing = (ar.bring(fmpq(0)),) * self.space
        for support, name in zip(given.supports, names, strict=True):
            force = answers["reactions"].get(name, nothing)
            couple = answers["couples"].get(name, ())
            if isinstance(force, NoAnswer) or isinstance(couple, NoAnswer):
                return []
            couple = couple if isinstance(couple, tuple) else (couple,)
            acting.append(_Acting(brought(support.at, ar), force, couple))
        return _moments_close(acting, _poles(given, self.space, ar), ar)

    def figure(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        names = keys_of(given.supports, "support")
        parts: list[Primitive] = []
        spots = [brought(item.at, ar) for item in (*given.supports, *given.forces)]
        parts += [Stroke(spots[0], spot) for spot in spots[1:]]
        for support, name, spot in zip(given.supports, names, spots, strict=False):
            parts.append(_drawn_support(support, name, spot, ar))
            force = answers["reactions"].get(name)
            if force is not None and not isinstance(force, NoAnswer):
                parts.append(Arrow(spot, force, name, "answer"))
            couple = answers["couples"].get(name)
            if couple is not None and not isinstance(couple, NoAnswer):
                parts.append(Turning(spot, couple, name, "answer"))
        for item, key in zip(given.forces, keys_of(given.forces, "force"), strict=True):
            parts.append(Arrow(brought(item.at, ar), vector(item.force, ar), key))
        parts += self.drawn_loads(given, ar)
        caption = (
            f"Rigid body with {len(given.supports)} supports ({', '.join(names)}) and "
            f"{len(given.forces)} forces, to scale, with the reactions found"
        )
        return Drawing(tuple(parts), caption, self.space)

    def drawn_loads(self, given: Any, ar: Arithmetic) -> list[Primitive]:
        raise NotImplementedError


_PIN_KIND: dict[str, Any] = {
    "fixed": "fixed", "guide": "fixed", "roller": "roller", "rocker": "roller",
    "contact": "contact", "cable": "link", "link": "link", "slider": "roller", "ball": "ball",
}  # fmt: skip


def _drawn_support(support: Any, name: str, spot: Numbers, ar: Arithmetic) -> Primitive:
    angle = 90.0
    if support.direction is not None and len(spot) == 2:
        u = unit_vector(support.direction, ar)
        angle = math.degrees(math.atan2(u[1], u[0]))
    return Pin(spot, _PIN_KIND.get(support.kind, "pin"), angle, name)


@register
class PlaneReactions(_Reactions):
    name = "rigid-bodies/plane-reactions"
    title = "Reactions of a rigid body in the plane"
    givens = PlaneBody
    space = 2
    answers = _answers(2)
    mistakes = _PLANE_MISTAKES
    method = (
        "sum of F_x = 0, sum of F_y = 0, sum of moments about the origin (x F_y - y F_x) = 0; the "
        "supports hold the body properly if these are independent"
    )
    second_method = (
        "moments of all loads and reactions about every support and two further points, with "
        "line loads replaced by Simpson's rule (exact here); no force equation is used"
    )

    def loads(
        self, given: PlaneBody, ar: Arithmetic, rules: SimpleNamespace
    ) -> list[tuple[str, Action]]:
        return _plane_loads(given, ar, rules)

    def acting(self, given: PlaneBody, ar: Arithmetic) -> list[_Acting]:
        found = super().acting(given, ar)
        for line in given.line_loads:
            found += _simpson(line, ar)
        nothing = (ar.bring(fmpq(0)),) * 2
        for item in given.couples:
            found.append(_Acting(nothing, nothing, (ar.bring(item.moment),)))
        return found

    def drawn_loads(self, given: PlaneBody, ar: Arithmetic) -> list[Primitive]:
        parts: list[Primitive] = []
        keys = keys_of(given.line_loads, "line load")
        for line, key in zip(given.line_loads, keys, strict=True):
            ends = brought(line.start, ar), brought(line.end, ar)
            parts.append(Curve(ends, key, "given"))
            along = unit_vector(line.direction, ar)
            reach = length(minus(ends[1], ends[0]), ar)
            for end, size in zip(ends, (line.at_start, line.at_end), strict=True):
                parts.append(Arrow(end, scaled(ar.bring(size) * reach / 2, along), "", pushes=True))
        middle = brought(given.supports[0].at, ar)
        for item, key in zip(given.couples, keys_of(given.couples, "couple"), strict=True):
            parts.append(Turning(middle, ar.bring(item.moment), key))
        return parts

    def generate(self, kappa: tuple[float, float], rng: random.Random) -> PlaneBody:
        """A pin and a roller close together, or a roller whose line nearly meets the pin."""
        spread = math.exp(rng.uniform(*map(math.log, kappa)))
        places = 3 + max(0, math.ceil(math.log10(kappa[1])))
        reach = rng.uniform(2, 20)
        turned = rng.uniform(0, 360)
        lean = math.degrees(math.asin(min(1.0, 1 / spread))) if spread > 1 else 90.0
        bearing = math.radians(turned)
        supports = (
            PlaneSupport("pin", (fmpq(0), fmpq(0)), name="A"),
            PlaneSupport(
                "roller",
                (
                    decimal(reach * math.cos(bearing), places),
                    decimal(reach * math.sin(bearing), places),
                ),
                ByAngle(Turn(decimal(turned + lean, places) / 360)),
                name="B",
            ),
        )
        return PlaneBody(supports, _scattered(reach, rng.randint(1, 5), rng))

    def filled(self, rows: Mapping[str, int], rng: random.Random) -> PlaneBody | None:
        """A pin and a roller, or as many unknowns as are asked in a determinate set."""
        kinds = _PLANE_SETS.get(rows.get("supports", 2))
        if kinds is None:
            return None
        supports = tuple(_plane_support(kind, i, rng) for i, kind in enumerate(kinds))
        couples = tuple(
            PlaneCouple(fmpq(rng.randint(11, 990))) for _ in range(rows.get("couples", 0))
        )
        lines = tuple(_level_line(i, rng) for i in range(rows.get("line_loads", 0)))
        return PlaneBody(supports, _scattered(9, rows.get("forces", 0), rng), couples, lines)


_PLANE_SETS = {1: ("fixed",), 2: ("pin", "roller"), 3: ("link", "link", "roller")}


def _plane_support(kind: str, index: int, rng: random.Random) -> PlaneSupport:
    at = (fmpq(7 * index), fmpq(rng.randint(-1, 1) + 2 * index * index))
    directions = {"roller": (0, 1), "link": (3, 4 - 7 * index)}
    run = directions.get(kind)
    direction = ByRun((fmpq(run[0]), fmpq(run[1]))) if run else None
    return PlaneSupport(kind, at, direction, name="ABC"[index])


def _level_line(index: int, rng: random.Random) -> LineLoad:
    start = fmpq(3 * index + 1)
    end = start + rng.randint(1, 3)
    sizes = [fmpq(rng.randint(10, 99)) for _ in range(2)]
    return LineLoad((start, fmpq(1)), (end, fmpq(1)), sizes[0], sizes[1])


def _scattered(reach: float, count: int, rng: random.Random) -> tuple[PlaneLoad, ...]:
    return tuple(
        PlaneLoad(
            Polar(
                decimal(rng.uniform(10, 990), 1),
                ByAngle(Turn(decimal(rng.uniform(0, 360), 1) / 360)),
            ),
            (decimal(rng.uniform(-reach, reach), 2), decimal(rng.uniform(-reach, reach), 2)),
        )
        for _ in range(count)
    )


@register
class SpaceReactions(_Reactions):
    name = "rigid-bodies/space-reactions"
    title = "Reactions of a rigid body in space"
    givens = SpaceBody
    space = 3
    answers = _answers(3)
    mistakes = _SPACE_MISTAKES
    method = (
        "sum of F = 0 and sum of r x F + M = 0 about the origin, six equations; the supports hold "
        "the body properly if these are independent"
    )
    second_method = (
        "moments of all loads and reactions about every support and three further points; no "
        "force equation is used"
    )

    def loads(
        self, given: SpaceBody, ar: Arithmetic, rules: SimpleNamespace
    ) -> list[tuple[str, Action]]:
        return _space_loads(given, ar, rules)

    def acting(self, given: SpaceBody, ar: Arithmetic) -> list[_Acting]:
        found = super().acting(given, ar)
        nothing = (ar.bring(fmpq(0)),) * 3
        found += [_Acting(nothing, nothing, vector(item.moment, ar)) for item in given.couples]
        return found

    def drawn_loads(self, given: SpaceBody, ar: Arithmetic) -> list[Primitive]:
        middle = brought(given.supports[0].at, ar)
        return [
            Turning(middle, vector(item.moment, ar), key)
            for item, key in zip(given.couples, keys_of(given.couples, "couple"), strict=True)
        ]

    def generate(self, kappa: tuple[float, float], rng: random.Random) -> SpaceBody:
        """A mast on a ball and socket with three links, two of them nearly in one plane."""
        spread = math.exp(rng.uniform(*map(math.log, kappa)))
        places = 3 + max(0, math.ceil(math.log10(kappa[1])))
        height = decimal(rng.uniform(4, 12), 2)
        half = math.degrees(math.asin(min(1.0, 1 / spread)))
        middle = rng.uniform(0, 360)
        down = Turn(decimal(-rng.uniform(20, 60), 1) / 360)
        across = Turn(decimal(middle + 90, 1) / 360)
        supports = [SpaceSupport("ball", (fmpq(0),) * 3, name="A")]
        for i, offset in enumerate((-half, half)):
            azimuth = Turn(decimal(middle + offset, places) / 360)
            supports.append(
                SpaceSupport(
                    "link", (fmpq(0), fmpq(0), height), ByAzimuth(azimuth, down), name="BC"[i]
                )
            )
        supports.append(
            SpaceSupport("link", (fmpq(2), fmpq(0), fmpq(1)), ByAzimuth(across, down), name="D")
        )
        return SpaceBody(tuple(supports), _scattered_in_space(rng.randint(1, 4), rng))

    def filled(self, rows: Mapping[str, int], rng: random.Random) -> SpaceBody | None:
        supports = _SPACE_SETS.get(rows.get("supports", 4))
        if supports is None:
            return None
        couples = tuple(
            SpaceCouple(Components(tuple(fmpq(rng.randint(11, 99)) for _ in range(3))))
            for _ in range(rows.get("couples", 0))
        )
        return SpaceBody(supports, _scattered_in_space(rows.get("forces", 0), rng), couples)


def _scattered_in_space(count: int, rng: random.Random) -> tuple[SpaceLoad, ...]:
    return tuple(
        SpaceLoad(
            Components(tuple(fmpq(rng.choice((-1, 1)) * rng.randint(11, 990)) for _ in range(3))),
            tuple(decimal(rng.uniform(-9, 9), 2) for _ in range(3)),
        )
        for _ in range(count)
    )


def _at(*coordinates: int) -> tuple[Exact, ...]:
    return tuple(fmpq(x) for x in coordinates)


def _run(*parts: int) -> Direction:
    return ByRun(tuple(fmpq(x) for x in parts))


_SPACE_SETS: dict[int, tuple[SpaceSupport, ...]] = {
    1: (SpaceSupport("fixed", _at(1, 2, 0), name="A"),),
    2: (
        SpaceSupport("hinge", _at(0, 0, 0), _run(1, 0, 0), "carried", "A"),
        SpaceSupport("link", _at(2, 3, 0), _run(0, 1, 2), name="B"),
    ),
    3: (
        SpaceSupport("ball", _at(0, 0, 0), name="A"),
        SpaceSupport("journal bearing", _at(5, 0, 1), _run(1, 0, 0), name="B"),
        SpaceSupport("link", _at(2, 3, 0), _run(0, 1, 2), name="C"),
    ),
    4: (
        SpaceSupport("ball", _at(0, 0, 0), name="A"),
        SpaceSupport("link", _at(5, 0, 0), _run(0, 3, 4), name="B"),
        SpaceSupport("link", _at(5, 0, 0), _run(0, -3, 4), name="C"),
        SpaceSupport("link", _at(0, 4, 0), _run(1, 0, 2), name="D"),
    ),
}
