"""Frames and machines in the plane: the forces at pins, links, contacts, cables and supports.

Sources of the method: R. C. Hibbeler, "Engineering Mechanics: Statics", section 6.6 (frames
and machines), from memory; D. W. Baker and W. Haynes, "Engineering Statics: Open and
Interactive", chapter 6. Proper constraint is a question of rank, see
:mod:`refsolver.statics.bodies.equilibrium`.

Signs: x to the right, y up, moments counter-clockwise positive. The force at a connection is
that on its first body. A link or cable is positive in tension, a contact when it presses.
"""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from types import SimpleNamespace
from typing import Any

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.quantities.dimensions import FORCE, MOMENT, NUMBER
from refsolver.quantities.kinds import (
    Choice,
    ChoiceKind,
    NoAnswer,
    ScalarKind,
    TableKind,
    Value,
    VectorKind,
)
from refsolver.statics import cautions
from refsolver.statics.bodies.equilibrium import Equilibrium, equilibrium
from refsolver.statics.bodies.free_body import Action, Body
from refsolver.statics.bodies.loads import triangle_acts_at
from refsolver.statics.bodies.support_residuals import count_residuals
from refsolver.statics.bodies.supports import (
    CONSTRAINTS,
    ONE_WAY,
    STATES,
    assembled,
    constraint_of,
)
from refsolver.statics.chapters.frames.bodies import bodies_close
from refsolver.statics.chapters.frames.drawn import drawn_frame
from refsolver.statics.chapters.frames.frame import (
    FRAME_RULES,
    Frame,
    cables_of,
    changes_shape,
    connection_keys,
    frame_loads,
    frame_unknowns,
    known_tensions,
    parts_between,
    plane_supports,
)
from refsolver.statics.chapters.frames.samples import frame_of_difficulty, frame_with_rows
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
from refsolver.statics.drawing import Drawing
from refsolver.statics.naming import keys_of
from refsolver.statics.registry import register
from refsolver.statics.vectors import (
    Numbers,
    added,
    length,
    scaled,
)

__all__ = ["PlaneFrame"]

_REFUSALS = ("mechanism", "redundant", "improper constraint")


# --- mistakes -----------------------------------------------------------------------------


def _without_last(field: str) -> Any:
    def without(given: Frame) -> Frame | None:
        items = getattr(given, field)
        return attrs.evolve(given, **{field: items[:-1]}) if items else None

    return without


def _one_part_over_a_pulley(given: Frame) -> Frame | None:
    """Of two parts at one point of a body, only the first pulls."""
    kept, seen = [], set()
    for part in given.cable_parts:
        place = (part.cable, part.body, part.at)
        if place not in seen:
            kept.append(part)
        seen.add(place)
    if len(kept) == len(given.cable_parts):
        return None
    return attrs.evolve(given, cable_parts=tuple(kept))


def _on_the_second_body(
    given: Frame, answers: Mapping[str, Value], ar: Arithmetic
) -> Mapping[str, Value] | None:
    turned = {
        key: force if isinstance(force, NoAnswer) else tuple(-x for x in force)
        for key, force in answers["connections"].items()
    }
    return {**answers, "connections": turned} if turned else None


def _on_the_supports(
    given: Frame, answers: Mapping[str, Value], ar: Arithmetic
) -> Mapping[str, Value] | None:
    turned = {
        key: force if isinstance(force, NoAnswer) else tuple(-x for x in force)
        for key, force in answers["reactions"].items()
    }
    return {**answers, "reactions": turned} if turned else None


_MISTAKES = (
    Mistake(
        "force on the other body reported",
        "the force of a pin on its second body is reported as that on its first",
        answers=_on_the_second_body,
    ),
    Mistake(
        "force on the support reported",
        "the action of the frame on its supports is reported as the reaction",
        answers=_on_the_supports,
    ),
    Mistake(
        "one part over a pulley left out",
        "a cable over a pulley is counted once; it pulls with both its parts",
        givens=_one_part_over_a_pulley,
    ),
    Mistake(
        "slope of a link inverted",
        "the run and the rise of a link are exchanged",
        rules={"link_run": lambda at, far: (far[1] - at[1], far[0] - at[0])},
    ),
    Mistake(
        "arm along the force",
        "the moment of a force is taken as F_x x - F_y y instead of F_y x - F_x y",
        rules={"applied_moment": lambda at, force: (at[0] * force[0] - at[1] * force[1],)},
    ),
    Mistake(
        "couple reversed",
        "applied couples enter the moment equation with the wrong sign",
        rules={"applied_couple": lambda moment: tuple(-x for x in moment)},
    ),
    Mistake(
        "triangular load at the wrong third",
        "a triangular load acts at one third from its zero end instead of two thirds",
        rules={"triangle_acts_at": lambda base: triangle_acts_at(base) / 2},
    ),
    Mistake(
        "last force left out",
        "the last force of the table is not read",
        givens=_without_last("forces"),
    ),
)


# --- family -------------------------------------------------------------------------------


@register
class PlaneFrame(Family):
    name = "frames/plane-frame"
    title = "Frames and machines in the plane: forces at pins and supports"
    givens = Frame
    answers = {
        "connections": Answer(
            TableKind(VectorKind(FORCE, 2), "connection"),
            "the force of each connection on its first body",
            (*_REFUSALS, "no direction"),
        ),
        "connection_forces": Answer(
            TableKind(ScalarKind(FORCE), "connection"),
            "of each link and cable: its tension; of each slider and contact: its force on the "
            "first body, positive along the stated direction",
            _REFUSALS,
        ),
        "connection_couples": Answer(
            TableKind(ScalarKind(MOMENT), "connection"),
            "the couple of each fixed connection on its first body, counter-clockwise positive",
            _REFUSALS,
        ),
        "reactions": Answer(
            TableKind(VectorKind(FORCE, 2), "support"),
            "the force of each support on its body",
            (*_REFUSALS, "no direction"),
        ),
        "couples": Answer(
            TableKind(ScalarKind(MOMENT), "support"),
            "the couple of each support that can exert one, counter-clockwise positive",
            _REFUSALS,
        ),
        "support_forces": Answer(
            TableKind(ScalarKind(FORCE), "support"),
            "of each support with a stated direction: its force, positive along it",
            _REFUSALS,
        ),
        "tensions": Answer(
            TableKind(ScalarKind(FORCE), "cable"),
            "the tension of each cable that runs over pulleys, where it is not given",
            _REFUSALS,
        ),
        "constraint": Answer(
            ChoiceKind(CONSTRAINTS),
            "determinate; partially constrained: free to move, but not by these loads (as every "
            "hand tool is); redundant: more unknowns than equilibrium determines; improperly "
            "constrained: enough unknowns, yet the whole is free to move; mechanism: its bodies "
            "move against each other, or it moves under these loads",
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
    rules = FRAME_RULES
    mistakes = _MISTAKES
    caution = cautions.FRAMES
    method = (
        "for each body sum of F_x = 0, sum of F_y = 0, sum of moments about the origin = 0, with "
        "equal and opposite forces where two bodies are joined"
    )
    second_method = (
        "moments of everything on each body about three points, and of the outer forces on the "
        "whole, with line loads replaced by Simpson's rule (exact here); no force equation is used"
    )

    def solve(self, given: Frame, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        found = equilibrium(
            [Body(body.name) for body in given.bodies],
            2,
            lambda a: frame_unknowns(given, a, rules),
            lambda a: [action for _, action in frame_loads(given, a, rules)],
            ar,
            of=(given, rules),
        )
        found = attrs.evolve(found, deforms=changes_shape(given, found, ar))
        tables = assembled(plane_supports(given), keys_of(given.supports, "support"), found, ar)
        known = known_tensions(given)
        answers: dict[str, Value] = {
            **_connected(given, found, ar, rules),
            "reactions": tables["reactions"],
            "couples": tables["couples"],
            "support_forces": tables["forces"],
            "tensions": {
                cable: found.missing(f"cable {cable}") or found.values[f"cable {cable}"]
                for cable in cables_of(given)
                if cable not in known
            },
            "constraint": constraint_of(found),
            "degree": ar.bring(fmpq(found.redundants)),
        }
        answers["state"] = found.refusal() or _state(given, answers, ar)
        loads = frame_loads(given, ar, rules)
        return Solution(answers, lambda: _working(loads, answers, self.method))

    def check(
        self, given: Frame, answers: Mapping[str, Value], ar: Arithmetic
    ) -> Sequence[Residual]:
        unknowns = frame_unknowns(given, ar, self.rule_set())
        counted = count_residuals(len(unknowns), 3 * len(given.bodies), answers, ar)
        return counted + bodies_close(given, answers, ar)

    def figure(self, given: Frame, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        return drawn_frame(given, answers, ar)

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> Frame:
        return frame_of_difficulty(kappa, rng)

    def filled(self, rows: Mapping[str, int], rng: random.Random) -> Frame | None:
        return frame_with_rows(rows, rng)


# --- answers ------------------------------------------------------------------------------


def _connected(
    given: Frame, found: Equilibrium, ar: Arithmetic, rules: SimpleNamespace
) -> dict[str, dict[str, Value]]:
    """The tables of the connections."""
    tables: dict[str, dict[str, Value]] = {
        "connections": {}, "connection_forces": {}, "connection_couples": {},
    }  # fmt: skip
    for item, key in zip(given.connections, connection_keys(given), strict=True):
        parts = parts_between(item, key, ar, rules)
        pushes = [(name, along) for name, along, turns in parts if not turns]
        tables["connections"][key] = _combined(pushes, found)
        if item.kind == "fixed":
            name = parts[-1][0]
            tables["connection_couples"][key] = found.missing(name) or found.values[name]
        if item.kind not in ("pin", "fixed"):
            ((name, along),) = pushes
            tables["connection_forces"][key] = found.missing(name) or found.values[name] * length(
                along, ar
            )
    return tables


def _combined(parts: Sequence[tuple[str, Numbers]], found: Equilibrium) -> Value:
    total: Numbers | None = None
    for name, along in parts:
        missing = found.missing(name)
        if missing:
            return missing
        force = scaled(found.values[name], along)
        total = force if total is None else added(total, force)
    return total


def _state(given: Frame, answers: Mapping[str, Value], ar: Arithmetic) -> Choice | NoAnswer:
    """Whether every cable pulls and every contact pushes."""
    one_way = {
        key: answers["connection_forces"][key]
        for item, key in zip(given.connections, connection_keys(given), strict=True)
        if item.kind in ONE_WAY
    }
    for item, key in zip(given.supports, keys_of(given.supports, "support"), strict=True):
        if item.kind in ONE_WAY:
            one_way[f"support {key}"] = answers["support_forces"][key]
    one_way.update({f"cable {key}": value for key, value in answers["tensions"].items()})
    margins: dict[str, Number] = {}
    signs = []
    for key, value in one_way.items():
        if isinstance(value, NoAnswer):
            return value
        margins[key] = value
        signs.append(ar.sign(value, f"{key} pulls or pushes as it can"))
    if -1 in signs:
        return Choice("cannot hold", margins)
    return Choice("idle" if 0 in signs else "holds", margins)


def _working(
    loads: Sequence[tuple[str, Action]], answers: Mapping[str, Value], method: str
) -> tuple[Sheet, ...]:
    columns = (Column("force along x", FORCE), Column("force along y", FORCE))
    applied = Sheet(
        "Loads",
        (*columns, Column("moment about the origin", MOMENT)),
        tuple(Row(f"{key} on {a.body}", (*a.force, *a.moment)) for key, a in loads),
        method,
    )
    forces = Sheet(
        "Forces found",
        columns,
        tuple(
            Row(f"{word} {key}", force)
            for answer, word in (("connections", "connection"), ("reactions", "support"))
            for key, force in answers[answer].items()
            if not isinstance(force, NoAnswer)
        ),
        "of a connection: on its first body",
    )
    return tuple(sheet for sheet in (applied, forces) if sheet.rows)
