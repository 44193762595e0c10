"""Reactions of a determinate beam.

The beam itself, its signs and its sources are in :mod:`.beam`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import SimpleNamespace

from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic
from refsolver.quantities.dimensions import FORCE, MOMENT, NUMBER
from refsolver.quantities.kinds import (
    ChoiceKind,
    NoAnswer,
    ScalarKind,
    TableKind,
    Value,
    VectorKind,
)
from refsolver.statics.bodies.equilibrium import Equilibrium
from refsolver.statics.bodies.support_residuals import count_residuals
from refsolver.statics.bodies.supports import CONSTRAINTS, assembled, constraint_of, parts_of
from refsolver.statics.chapters.beams.beam import (
    Beam,
    beam_equilibrium,
    supports_of,
)
from refsolver.statics.chapters.beams.family import REFUSALS, BeamFamily, load_sheet
from refsolver.statics.chapters.beams.sections import (
    everything_left_of,
    moment_residual,
    sum_residual,
)
from refsolver.statics.contract import (
    Answer,
    Residual,
    Solution,
)
from refsolver.statics.drawing import Arrow, Primitive, Turning
from refsolver.statics.naming import keys_of
from refsolver.statics.registry import register

__all__ = ["BeamReactions"]


def _hinge_forces(given: Beam, found: Equilibrium) -> dict[str, Value]:
    forces: dict[str, Value] = {}
    for key in keys_of(given.hinges, "hinge"):
        parts = [f"{key}: along {letter}" for letter in "xy"]
        missing = [m for m in (found.missing(part) for part in parts) if m is not None]
        forces[key] = missing[0] if missing else tuple(found.values[part] for part in parts)
    return forces


@register
class BeamReactions(BeamFamily):
    name = "beams/reactions"
    title = "Reactions of a beam, with or without hinges"
    answers = {
        "reactions": Answer(
            TableKind(VectorKind(FORCE, 2), "support"),
            "the force of each support on the beam",
            (*REFUSALS, "no direction"),
        ),
        "couples": Answer(
            TableKind(ScalarKind(MOMENT), "support"),
            "the couple of each fixed support on the beam, counter-clockwise positive",
            REFUSALS,
        ),
        "hinges": Answer(
            TableKind(VectorKind(FORCE, 2), "hinge"),
            "the force that the part right of each hinge puts on the part left of it; a load at "
            "the hinge counts to the right part",
            (*REFUSALS, "no direction"),
        ),
        "constraint": Answer(
            ChoiceKind(CONSTRAINTS),
            "how the supports and hinges hold the beam; partially constrained: free to move, but "
            "not by these loads",
        ),
        "degree": Answer(
            ScalarKind(NUMBER), "unknowns in excess of the independent equations of equilibrium"
        ),
    }
    method = (
        "for each part between hinges: sum of F_x = 0, sum of F_y = 0, sum of moments about the "
        "left end = 0"
    )
    second_method = (
        "moments of the whole beam about every support and about a point above it, and of all "
        "that lies left of each hinge about that hinge; line loads by repeated integration"
    )

    def solve(self, given: Beam, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        found = beam_equilibrium(given, ar, rules)
        names = keys_of(given.supports, "support")
        tables = assembled(supports_of(given), names, found, ar)
        answers: dict[str, Value] = {
            "reactions": tables["reactions"],
            "couples": tables["couples"],
            "hinges": _hinge_forces(given, found),
            "constraint": constraint_of(found),
            "degree": ar.bring(fmpq(found.redundants)),
        }
        return Solution(answers, lambda: (load_sheet(given, ar, rules, self.method),))

    def check(
        self, given: Beam, answers: Mapping[str, Value], ar: Arithmetic
    ) -> Sequence[Residual]:
        names = keys_of(given.supports, "support")
        unknowns = sum(
            len(parts_of(s, n, ar)) for s, n in zip(supports_of(given), names, strict=True)
        )
        parts = len(given.hinges) + 1
        counted = count_residuals(unknowns + 2 * len(given.hinges), 3 * parts, answers, ar)
        tables = (answers["reactions"], answers["couples"], answers["hinges"])
        if any(isinstance(x, NoAnswer) for table in tables for x in table.values()):
            return counted
        acting = everything_left_of(given, answers, ar)
        residuals = [
            moment_residual(f"moments about {key}", acting, ar.bring(support.at), ar)
            for support, key in zip(given.supports, names, strict=True)
        ]
        beyond = ar.bring(given.length) * 2
        residuals.append(moment_residual("moments beyond the beam", acting, beyond, ar))
        along = [force[0] for _, force, _ in acting]
        residuals.append(sum_residual("forces along the beam", along, ar))
        for hinge, key in zip(given.hinges, keys_of(given.hinges, "hinge"), strict=True):
            left = everything_left_of(given, answers, ar, hinge.at)
            here = ar.bring(hinge.at)
            residuals.append(moment_residual(f"moments about {key}", left, here, ar))
            for i, letter in enumerate("xy"):
                terms = [force[i] for _, force, _ in left] + [answers["hinges"][key][i]]
                residuals.append(sum_residual(f"{letter} passed by {key}", terms, ar))
        return counted + residuals

    def drawn_answers(
        self, given: Beam, answers: Mapping[str, Value], ar: Arithmetic
    ) -> list[Primitive]:
        parts: list[Primitive] = []
        for support, key in zip(given.supports, keys_of(given.supports, "support"), strict=True):
            spot = (ar.bring(support.at), 0.0)
            force, couple = answers["reactions"][key], answers["couples"].get(key)
            if not isinstance(force, NoAnswer):
                parts.append(Arrow(spot, force, key, "answer", pushes=True))
            if couple is not None and not isinstance(couple, NoAnswer):
                parts.append(Turning(spot, couple, key, "answer"))
        return parts
