"""Trusses in the plane and in space: the force in every member, and what holds the truss.

Sources of the method: R. C. Hibbeler, "Engineering Mechanics: Statics", chapter 6 (joints,
sections, space trusses), from memory; N. M. Holtz, G. A. Hartley and H. A. Khoo,
"Introductory Structural Analysis", chapter 3. Stability is a question of rank, not of
counting alone, see :mod:`refsolver.statics.bodies.equilibrium`.

Signs: tension positive. x to the right, y up; right-handed axes in space. A reaction is
what the support does to the truss.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Mapping, Sequence
from types import SimpleNamespace
from typing import Any, ClassVar

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.quantities.dimensions import FORCE, LENGTH, LINE_LOAD, NUMBER
from refsolver.quantities.kinds import (
    Choice,
    ChoiceKind,
    NoAnswer,
    ScalarKind,
    TableKind,
    Value,
    VectorKind,
)
from refsolver.quantities.leaves import ByRun
from refsolver.statics import cautions
from refsolver.statics.bodies.drawn import drawn_support
from refsolver.statics.bodies.equilibrium import equilibrium
from refsolver.statics.bodies.free_body import Body
from refsolver.statics.bodies.support_residuals import count_residuals
from refsolver.statics.bodies.supports import CONSTRAINTS, assembled, constraint_of
from refsolver.statics.chapters.trusses.joints import places_of
from refsolver.statics.chapters.trusses.samples import (
    plane_truss,
    space_truss,
    truss_with_rows,
)
from refsolver.statics.chapters.trusses.sections import sections_close, senses_close
from refsolver.statics.chapters.trusses.truss import (
    RULES,
    PlaneTruss,
    SpaceTruss,
    changes_shape,
    held,
    loads_on,
    member_keys,
    support_keys,
    unknowns_in,
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
from refsolver.statics.drawing import Arrow, Drawing, Mark, Primitive, Stroke
from refsolver.statics.registry import register
from refsolver.statics.vectors import Numbers, vector

__all__ = ["SENSES", "PlaneTrussForces", "SpaceTrussForces"]

SENSES = ("tension", "compression", "zero")

_REFUSALS = ("mechanism", "redundant", "improper constraint")


def _answers(space: int) -> dict[str, Answer]:
    return {
        "forces": Answer(
            TableKind(ScalarKind(FORCE), "member"),
            "the force in each member, tension positive",
            _REFUSALS,
        ),
        "senses": Answer(
            TableKind(ChoiceKind(SENSES), "member"),
            "whether each member is in tension, in compression, or without force",
            _REFUSALS,
        ),
        "reactions": Answer(
            TableKind(VectorKind(FORCE, space), "support"),
            "the force of each support on the truss",
            (*_REFUSALS, "no direction"),
        ),
        "support_forces": Answer(
            TableKind(ScalarKind(FORCE), "support"),
            "of each roller and link: its force, positive along its stated direction",
            _REFUSALS,
        ),
        "zero_members": Answer(
            ScalarKind(NUMBER), "how many members carry no force under these loads", _REFUSALS
        ),
        "constraint": Answer(
            ChoiceKind(CONSTRAINTS),
            "determinate; partially constrained: free to move, but not by these loads; redundant: "
            "more members and reactions than equilibrium determines; improperly constrained: "
            "enough of them, yet the whole is free to move; mechanism: it changes its shape, or "
            "moves under these loads",
        ),
        "degree": Answer(
            ScalarKind(NUMBER),
            "degree of static indeterminacy: members and reactions in excess of the independent "
            "equations of the joints",
        ),
        "free_motions": Answer(
            ScalarKind(NUMBER), "independent motions that members and supports leave free"
        ),
    }


# --- mistakes -----------------------------------------------------------------------------


def _last_load_left_out(given: Any) -> Any | None:
    return attrs.evolve(given, loads=given.loads[:-1]) if given.loads else None


def _loads_at_supports_left_out(given: Any) -> Any | None:
    held_joints = {support.joint for support in given.supports}
    kept = tuple(item for item in given.loads if item.joint not in held_joints)
    return attrs.evolve(given, loads=kept) if len(kept) < len(given.loads) else None


def _rollers_upright(given: Any) -> Any | None:
    space = 2 if isinstance(given, PlaneTruss) else 3
    up = ByRun((*(fmpq(0),) * (space - 1), fmpq(1)))
    turned = tuple(
        attrs.evolve(s, direction=up) if s.kind == "roller" else s for s in given.supports
    )
    return attrs.evolve(given, supports=turned)


def _table_changed(
    answer: str, change: Callable[[Any, Arithmetic], Any]
) -> Callable[[Any, Mapping[str, Value], Arithmetic], Mapping[str, Value] | None]:
    def changed(
        given: Any, answers: Mapping[str, Value], ar: Arithmetic
    ) -> Mapping[str, Value] | None:
        if any(isinstance(x, NoAnswer) for x in answers[answer].values()):
            return None
        return {**answers, answer: {k: change(x, ar) for k, x in answers[answer].items()}}

    return changed


_MISTAKES = (
    Mistake(
        "tension and compression exchanged",
        "a member that pulls on its joints is reported as compressed, and the other way round",
        answers=_table_changed("forces", lambda x, ar: -x),
    ),
    Mistake(
        "sense of a member dropped",
        "compression is reported without its sign",
        answers=_table_changed("forces", lambda x, ar: ar.size(x)),
    ),
    Mistake(
        "force on the support reported",
        "the action of the truss on its supports is reported as the reaction",
        answers=_table_changed("reactions", lambda x, ar: tuple(-part for part in x)),
    ),
    Mistake(
        "component for the whole",
        "the component of an inclined member's force along x is reported as its force",
        rules={"member_force": lambda density, run, ar: density * ar.size(run[0])},
    ),
    Mistake(
        "length left out",
        "the force density N/L is reported as the force",
        rules={"member_force": lambda density, run, ar: density},
    ),
    Mistake(
        "run and rise exchanged",
        "the sine of a member's inclination is taken for its cosine, and the other way round",
        rules={
            "member_run": lambda start, end: tuple(
                b - a for a, b in zip(start[::-1], end[::-1], strict=True)
            )
        },
    ),
    Mistake(
        "roller taken as upright",
        "the reaction of an inclined roller is taken as vertical",
        givens=_rollers_upright,
    ),
    Mistake(
        "loads at supports left out",
        "a load on a supported joint is taken to go straight into the support",
        givens=_loads_at_supports_left_out,
    ),
    Mistake(
        "last load left out",
        "the last load of the table is not read",
        givens=_last_load_left_out,
    ),
)


# --- families -----------------------------------------------------------------------------


class _Forces(Family):
    """Shared by plane and space."""

    space: ClassVar[int]
    rules = RULES
    mistakes = _MISTAKES
    caution = cautions.TRUSSES
    second_method = (
        "method of sections: the first joint, the first two, the first three ... cut out as one "
        "body, moments about three points; rollers and links act along their lines"
    )

    def solve(self, given: Any, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        names = support_keys(given.supports)
        found = equilibrium(
            [Body(joint.name, rigid=False) for joint in given.joints],
            self.space,
            lambda a: unknowns_in(given, self.space, a, rules),
            lambda a: loads_on(given, a, rules),
            ar,
            of=(self, given, rules),
        )
        found = attrs.evolve(found, deforms=changes_shape(given, found, ar))
        places = places_of(given.joints, ar)
        keys = member_keys(given.members)
        runs = {
            key: rules.member_run(places[m.start], places[m.end])
            for m, key in zip(given.members, keys, strict=True)
        }
        missing = {} if len(found.values) == len(found.keys) else _missing(keys, found)
        densities = {k: missing.get(k) or found.values[f"member {k}"] for k in keys}
        senses = {k: _sense(k, q, ar) for k, q in densities.items()}
        supports = [held(support, self.space) for support in given.supports]
        tables = assembled(supports, names, found, ar)
        answers: dict[str, Value] = {
            "forces": {
                k: q if isinstance(q, NoAnswer) else rules.member_force(q, runs[k], ar)
                for k, q in densities.items()
            },
            "senses": senses,
            "reactions": tables["reactions"],
            "support_forces": tables["forces"],
            "zero_members": _count(senses, ar),
            "constraint": constraint_of(found),
            "degree": ar.bring(fmpq(found.redundants)),
            "free_motions": ar.bring(fmpq(found.free_motions)),
        }
        return Solution(answers, lambda: self._working(given, places, densities, answers))

    def _working(
        self,
        given: Any,
        places: Mapping[str, Numbers],
        densities: Mapping[str, Value],
        answers: Mapping[str, Value],
    ) -> tuple[Sheet, ...]:
        letters = "xyz"[: self.space]
        joints = Sheet(
            "Joints",
            tuple(Column(a, LENGTH) for a in letters),
            tuple(Row(name, place) for name, place in places.items()),
        )
        members = Sheet(
            "Members",
            (Column("force density N/L", LINE_LOAD), Column("force N", FORCE)),
            tuple(
                Row(key, (q, answers["forces"][key]))
                for key, q in densities.items()
                if not isinstance(q, NoAnswer)
            ),
            self.method,
        )
        supports = Sheet(
            "Reactions",
            tuple(Column(f"along {a}", FORCE) for a in letters),
            tuple(
                Row(key, force)
                for key, force in answers["reactions"].items()
                if not isinstance(force, NoAnswer)
            ),
        )
        return tuple(sheet for sheet in (joints, members, supports) if sheet.rows)

    def check(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Sequence[Residual]:
        kept = given.supports
        unknowns = len(given.members) + sum(self.space if s.direction is None else 1 for s in kept)
        excess = ar.bring(fmpq(unknowns - self.space * len(given.joints)))
        one = ar.bring(fmpq(1))
        off = answers["degree"] - answers["free_motions"] - excess
        counted = [
            Residual("unknowns less equations", off, one),
            *count_residuals(unknowns, self.space * len(given.joints), answers, ar),
        ]
        return [*counted, *sections_close(given, answers, ar), *senses_close(given, answers, ar)]

    def figure(self, given: Any, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        places = places_of(given.joints, ar)
        parts: list[Primitive] = [
            _drawn_member(places[m.start], places[m.end], m.name, key, answers)
            for m, key in zip(given.members, member_keys(given.members), strict=True)
        ]
        names = support_keys(given.supports)
        for support, key in zip(given.supports, names, strict=True):
            at, force = places[support.joint], answers["reactions"][key]
            parts.append(drawn_support(support, at, ar))
            if not isinstance(force, NoAnswer):
                parts.append(Arrow(at, force, f"reaction {key}", "answer"))
        for item in given.loads:
            force = vector(item.force, ar)
            parts.append(_drawn_load(places[item.joint], force, item.name, places))
        parts += [Mark(place, name) for name, place in places.items()]
        caption = (
            f"Truss with {len(given.joints)} joints and {len(given.members)} members, held at "
            f"{', '.join(names)}, to scale, with loads and reactions; members without force are "
            "dashed"
        )
        return Drawing(tuple(parts), caption, self.space)

    def filled(self, rows: Mapping[str, int], rng: random.Random) -> Any | None:
        return truss_with_rows(rows, self.space, rng)


def _missing(keys: Sequence[str], found: Any) -> dict[str, NoAnswer]:
    """Why the members that equilibrium leaves open have no force."""
    reasons = {key: found.missing(f"member {key}") for key in keys}
    return {key: reason for key, reason in reasons.items() if reason}


def _sense(key: str, density: Any, ar: Arithmetic) -> Choice | NoAnswer:
    if isinstance(density, NoAnswer):
        return density
    sign = ar.sign(density, f"sense of {key}")
    return Choice(SENSES[0] if sign > 0 else SENSES[1 if sign < 0 else 2], {key: density})


def _count(senses: Mapping[str, Choice | NoAnswer], ar: Arithmetic) -> Number | NoAnswer:
    for sense in senses.values():
        if isinstance(sense, NoAnswer):
            return sense
    words = [sense.word for sense in senses.values() if isinstance(sense, Choice)]
    return ar.bring(fmpq(words.count("zero")))


def _drawn_member(
    start: Numbers, end: Numbers, name: str, key: str, answers: Mapping[str, Value]
) -> Primitive:
    sense = answers["senses"][key]
    idle = isinstance(sense, Choice) and sense.word == "zero"
    return Stroke(start, end, name, "construction" if idle else "body")


def _drawn_load(at: Numbers, force: Numbers, name: str, places: Mapping[str, Numbers]) -> Primitive:
    """Onto its joint from outside the truss, or away from it, whichever leaves the bars clear."""
    middle = [sum(place[i] for place in places.values()) / len(places) for i in range(len(at))]
    inward = sum(f * (m - x) for f, m, x in zip(force, middle, at, strict=True))
    return Arrow(at, force, name, pushes=inward > 0)


@register
class PlaneTrussForces(_Forces):
    name = "trusses/plane-truss"
    title = "Plane truss: member forces and reactions"
    givens = PlaneTruss
    space = 2
    answers = _answers(2)
    method = (
        "at every joint sum of q (run of each member) + reactions + loads = 0 along x and y; "
        "N = q L; the truss is stable if these equations are independent"
    )

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> PlaneTruss:
        return plane_truss(kappa, rng)


@register
class SpaceTrussForces(_Forces):
    name = "trusses/space-truss"
    title = "Space truss: member forces and reactions"
    givens = SpaceTruss
    space = 3
    answers = _answers(3)
    method = (
        "at every joint sum of q (run of each member) + reactions + loads = 0 along x, y and z; "
        "N = q L; the truss is stable if these equations are independent"
    )

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> SpaceTruss:
        return space_truss(kappa, rng)
