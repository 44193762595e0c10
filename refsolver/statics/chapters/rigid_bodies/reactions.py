"""Equilibrium of one rigid body, in the plane and in space: the reactions of its supports.

Sources of the method: R. C. Hibbeler, "Engineering Mechanics: Statics", chapter 5, from
memory; D. W. Baker and W. Haynes, "Engineering Statics: Open and Interactive", chapter 5.
Proper constraint is a question of rank, see :mod:`refsolver.statics.bodies.equilibrium`.

Signs: x to the right, y up, moments counter-clockwise positive; in space right-handed axes
and moment vectors by the right-hand rule. A reaction is what the support does to the body.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Mapping, Sequence
from types import SimpleNamespace
from typing import Any, ClassVar

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.quantities.dimensions import FORCE, MOMENT, NUMBER
from refsolver.quantities.kinds import (
    ChoiceKind,
    NoAnswer,
    ScalarKind,
    TableKind,
    Value,
    VectorKind,
)
from refsolver.statics import cautions
from refsolver.statics.bodies.drawn import drawn_line_load, drawn_support
from refsolver.statics.bodies.equilibrium import equilibrium
from refsolver.statics.bodies.free_body import Action, Body, moment_of
from refsolver.statics.bodies.loads import (
    BODY,
    RULES,
    Acting,
    LineLoad,
    PlaneBody,
    PlaneCouple,
    PlaneLoad,
    SpaceBody,
    SpaceCouple,
    SpaceLoad,
    moments_close,
    plane_loads,
    poles_of,
    simpson,
    space_loads,
    triangle_acts_at,
    triangle_force,
)
from refsolver.statics.bodies.support_residuals import count_residuals, support_residuals
from refsolver.statics.bodies.supports import (
    CONSTRAINTS,
    STATES,
    assembled,
    bearing_state,
    constraint_of,
    unknowns_of,
)
from refsolver.statics.chapters.rigid_bodies.samples import (
    plane_body,
    plane_body_with_rows,
    space_body,
    space_body_with_rows,
)
from refsolver.statics.contract import (
    Answer,
    Column,
    Family,
    Mistake,
    Residual,
    Row,
    Sheet,
    Solution,
)
from refsolver.statics.drawing import Arrow, Drawing, Primitive, Stroke, Turning
from refsolver.statics.forces.systems import sum_of
from refsolver.statics.naming import keys_of
from refsolver.statics.registry import register
from refsolver.statics.vectors import (
    Numbers,
    brought,
    vector,
)

__all__ = [
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
    rules = RULES
    caution = cautions.REACTIONS

    def loads(self, given: Any, ar: Arithmetic, rules: SimpleNamespace) -> list[tuple[str, Action]]:
        raise NotImplementedError

    def solve(self, given: Any, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        names = keys_of(given.supports, "support")
        loads = self.loads(given, ar, rules)
        bodies = [BODY] * len(names)
        found = equilibrium(
            [Body(BODY)],
            self.space,
            lambda a: unknowns_of(given.supports, names, bodies, a),
            lambda a: [action for _, action in self.loads(given, a, rules)],
            ar,
            of=(self, given, rules),
        )
        refusal = found.refusal()
        tables = assembled(given.supports, names, found, ar)
        answers: dict[str, Value] = {
            **tables,
            "constraint": constraint_of(found),
            "degree": ar.bring(fmpq(found.redundants)),
            "state": refusal or bearing_state(given.supports, names, tables["forces"], ar),
        }
        return Solution(answers, lambda: self._working(loads, found.values))

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

    def acting(self, given: Any, ar: Arithmetic) -> list[Acting]:
        """The loads again, by their points of action, for the second method."""
        return [Acting(brought(x.at, ar), vector(x.force, ar)) for x in given.forces]

    def check(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Sequence[Residual]:
        acting = self.acting(given, ar)
        names = keys_of(given.supports, "support")
        unknowns = unknowns_of(given.supports, names, [BODY] * len(names), ar)
        counted = count_residuals(len(unknowns), 3 * self.space - 3, answers, ar)
        nothing = (ar.bring(fmpq(0)),) * self.space
        for support, name in zip(given.supports, names, strict=True):
            force = answers["reactions"].get(name, nothing)
            couple = answers["couples"].get(name, ())
            if isinstance(force, NoAnswer) or isinstance(couple, NoAnswer):
                return counted
            couple = couple if isinstance(couple, tuple) else (couple,)
            acting.append(Acting(brought(support.at, ar), force, couple))
        parts = [x for item in acting for x in (*item.force, *item.couple)]
        size = sum_of([ar.size(x) for x in parts], ar)
        residuals = counted + moments_close(acting, poles_of(given, self.space, ar), ar)
        return residuals + support_residuals(given.supports, names, answers, size, ar)

    def figure(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        names = keys_of(given.supports, "support")
        parts: list[Primitive] = []
        spots = [brought(item.at, ar) for item in (*given.supports, *given.forces)]
        parts += [Stroke(spots[0], spot) for spot in spots[1:]]
        for support, name, spot in zip(given.supports, names, spots, strict=False):
            parts.append(drawn_support(support, spot, ar, name))
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
        return plane_loads(given, ar, rules)

    def acting(self, given: PlaneBody, ar: Arithmetic) -> list[Acting]:
        found = super().acting(given, ar)
        for line in given.line_loads:
            found += simpson(line, ar)
        nothing = (ar.bring(fmpq(0)),) * 2
        for item in given.couples:
            found.append(Acting(nothing, nothing, (ar.bring(item.moment),)))
        return found

    def drawn_loads(self, given: PlaneBody, ar: Arithmetic) -> list[Primitive]:
        parts: list[Primitive] = []
        keys = keys_of(given.line_loads, "line load")
        for line, key in zip(given.line_loads, keys, strict=True):
            parts += drawn_line_load(line, key, ar)
        middle = brought(given.supports[0].at, ar)
        for item, key in zip(given.couples, keys_of(given.couples, "couple"), strict=True):
            parts.append(Turning(middle, ar.bring(item.moment), key))
        return parts

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> PlaneBody:
        return plane_body(kappa, rng)

    def filled(self, rows: Mapping[str, int], rng: random.Random) -> PlaneBody | None:
        return plane_body_with_rows(rows, rng)


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
        return space_loads(given, ar, rules)

    def acting(self, given: SpaceBody, ar: Arithmetic) -> list[Acting]:
        found = super().acting(given, ar)
        nothing = (ar.bring(fmpq(0)),) * 3
        found += [Acting(nothing, nothing, vector(item.moment, ar)) for item in given.couples]
        return found

    def drawn_loads(self, given: SpaceBody, ar: Arithmetic) -> list[Primitive]:
        middle = brought(given.supports[0].at, ar)
        return [
            Turning(middle, vector(item.moment, ar), key)
            for item, key in zip(given.couples, keys_of(given.couples, "couple"), strict=True)
        ]

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> SpaceBody:
        return space_body(kappa, rng)

    def filled(self, rows: Mapping[str, int], rng: random.Random) -> SpaceBody | None:
        return space_body_with_rows(rows, rng)
