"""Internal forces along a beam, and where they are greatest or vanish.

The beam itself, its signs and its sources are in :mod:`.beam`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise
from types import SimpleNamespace

from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.quantities.dimensions import FORCE, LENGTH, MOMENT
from refsolver.quantities.kinds import FunctionKind, NoAnswer, Piece, ScalarKind, TableKind, Value
from refsolver.statics.chapters.beams.beam import (
    Beam,
    Diagrams,
    beam_equilibrium,
    diagrams,
    stations,
)
from refsolver.statics.chapters.beams.drawn import drawn_function
from refsolver.statics.chapters.beams.extremes import changes_of_sign, extreme, places
from refsolver.statics.chapters.beams.extremes_from_the_right import (
    EXTREMES,
    extremes_from_the_right,
)
from refsolver.statics.chapters.beams.family import REFUSALS, BeamFamily, load_sheet
from refsolver.statics.chapters.beams.sections import right_sections
from refsolver.statics.contract import Answer, Column, Residual, Row, Sheet, Solution
from refsolver.statics.drawing import Mark, Primitive, Stroke
from refsolver.statics.naming import keys_of
from refsolver.statics.polynomials import derivative, value
from refsolver.statics.registry import register

__all__ = ["BeamExtremes", "InternalForces"]


def _solved(given: Beam, ar: Arithmetic, rules: SimpleNamespace) -> Diagrams | NoAnswer:
    return diagrams(given, beam_equilibrium(given, ar, rules), ar, rules)


def _diagram_sheet(found: Diagrams, note: str) -> Sheet:
    columns = tuple(
        Column(head, dimension)
        for head, dimension in (
            ("from", LENGTH),
            ("to", LENGTH),
            ("N at from", FORCE),
            ("V at from", FORCE),
            ("V at to", FORCE),
            ("M at from", MOMENT),
            ("M at to", MOMENT),
        )
    )
    rows = []
    pieces = zip(found.axial, found.shear, found.moment, strict=True)
    for number, (n, v, m) in enumerate(pieces, 1):
        span = n.end - n.start
        ends = [x for p in (v, m) for x in (p.coefficients[0], value(p.coefficients, span))]
        rows.append(Row(f"piece {number}", (n.start, n.end, n.coefficients[0], *ends)))
    return Sheet("Internal forces at the ends of the pieces", columns, tuple(rows), note)


_METHOD = (
    "sections from the left: N = -sum of F_x, V = sum of F_y, M = sum of F_y (x - x_i) - sum of "
    "couples, of all that acts left of the section"
)


_SHARES = (fmpq(1, 2), fmpq(1, 3))


def _at(pieces: Sequence[Piece], x: fmpq, at: Sequence[fmpq], ar: Arithmetic) -> Number:
    i = next(i for i in range(len(pieces)) if at[i] < x < at[i + 1])
    return value(pieces[i].coefficients, ar.bring(x) - pieces[i].start)


@register
class InternalForces(BeamFamily):
    name = "beams/internal-forces"
    title = "Axial force, shear force and bending moment along a beam"
    answers = {
        "axial": Answer(
            FunctionKind(FORCE),
            "N along the beam, tension positive",
            (*REFUSALS, "not defined"),
        ),
        "shear": Answer(
            FunctionKind(FORCE),
            "V along the beam, positive where the part on the left is pushed up",
            (*REFUSALS, "not defined"),
        ),
        "moment": Answer(
            FunctionKind(MOMENT),
            "M along the beam, sagging positive",
            (*REFUSALS, "not defined"),
        ),
    }
    method = _METHOD
    second_method = (
        "sections from the right end, in the middle and at a third of every piece; M vanishes at "
        "every hinge and end, and dM/dx = V throughout"
    )

    def solve(self, given: Beam, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        found = _solved(given, ar, rules)
        if isinstance(found, NoAnswer):
            return self.refused(found, given, ar, rules)
        answers = {"axial": found.axial, "shear": found.shear, "moment": found.moment}
        return Solution(
            answers,
            lambda: (load_sheet(given, ar, rules, ""), _diagram_sheet(found, self.method)),
        )

    def check(
        self, given: Beam, answers: Mapping[str, Value], ar: Arithmetic
    ) -> Sequence[Residual]:
        if isinstance(answers["moment"], NoAnswer):
            return []
        at = stations(given)
        one = ar.bring(fmpq(1))
        residuals = []
        section = right_sections(given, ar)
        for x in [(a + share * (b - a)) for a, b in pairwise(at) for share in _SHARES]:
            for name, other in zip(("axial", "shear", "moment"), section(x), strict=True):
                here = _at(answers[name], x, at, ar)
                size = one + ar.size(here) + ar.size(other)
                residuals.append(Residual(f"{name} from the right at {x}", here - other, size))
        for hinge, key in zip(given.hinges, keys_of(given.hinges, "hinge"), strict=True):
            piece = answers["moment"][at.index(hinge.at)]
            residuals.append(Residual(f"moment at {key}", piece.coefficients[0], one))
        for i, (v, m) in enumerate(zip(answers["shear"], answers["moment"], strict=True), 1):
            slopes = zip(derivative(m.coefficients), v.coefficients, strict=True)
            for k, (slope, shear) in enumerate(slopes):
                size = one + ar.size(slope)
                residuals.append(Residual(f"dM/dx = V, piece {i}, power {k}", slope - shear, size))
        return residuals

    def drawn_answers(
        self, given: Beam, answers: Mapping[str, Value], ar: Arithmetic
    ) -> list[Primitive]:
        if isinstance(answers["moment"], NoAnswer):
            return []
        length = ar.bring(given.length)
        parts: list[Primitive] = []
        for row, (name, letter) in enumerate((("shear", "V"), ("moment", "M")), 1):
            base = -row * length / 3
            parts.append(Stroke((0.0, base), (length, base), letter, "axis"))
            parts.append(drawn_function(answers[name], base, length / 8, letter))
        return parts


def _extreme_answers() -> dict[str, Answer]:
    found: dict[str, Answer] = {}
    for name, of, _ in EXTREMES:
        dimension = MOMENT if of == "moment" else FORCE
        found[name] = Answer(ScalarKind(dimension), f"the {name}, with its sign", REFUSALS)
        found[f"{name} at"] = Answer(
            ScalarKind(LENGTH),
            f"where the {name} stands, from the left end",
            (*REFUSALS, "no unique answer"),
        )
    found["greatest moment"] = Answer(
        ScalarKind(MOMENT), "the greatest size of the moment, without sign", REFUSALS
    )
    found["greatest shear"] = Answer(
        ScalarKind(FORCE), "the greatest size of the shear, without sign", REFUSALS
    )
    found["zero shear"] = Answer(
        TableKind(ScalarKind(LENGTH), "number from the left"),
        "where the shear changes sign, gradually or by a jump",
        (*REFUSALS, "no unique answer"),
    )
    found["moment at zero shear"] = Answer(
        TableKind(ScalarKind(MOMENT), "number from the left"),
        "the moment there: a local extreme",
        REFUSALS,
    )
    found["contraflexure"] = Answer(
        TableKind(ScalarKind(LENGTH), "number from the left"),
        "where the moment changes sign",
        (*REFUSALS, "no unique answer"),
    )
    return found


@register
class BeamExtremes(BeamFamily):
    name = "beams/extremes"
    title = "Greatest moments and shears of a beam, zero shear and contraflexure"
    answers = _extreme_answers()
    method = f"{_METHOD}; extremes of M where V changes sign, of V where its slope does or it jumps"
    second_method = (
        "shear and moment of each piece from the part right of it, at inner points; at every place "
        "found they have the value found, and vanish where they must"
    )

    def solve(self, given: Beam, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        found = _solved(given, ar, rules)
        if isinstance(found, NoAnswer):
            return self.refused(found, given, ar, rules)
        answers = {**_extremes(given, found, ar), **_zeros(found, ar)}
        return Solution(answers, lambda: (_diagram_sheet(found, self.method),))

    def check(
        self, given: Beam, answers: Mapping[str, Value], ar: Arithmetic
    ) -> Sequence[Residual]:
        if isinstance(answers["greatest moment"], NoAnswer):
            return []
        return extremes_from_the_right(given, answers, ar)

    def drawn_answers(
        self, given: Beam, answers: Mapping[str, Value], ar: Arithmetic
    ) -> list[Primitive]:
        parts: list[Primitive] = []
        for name, word in (("zero shear", "V = 0"), ("contraflexure", "M = 0")):
            table = answers[name]
            if isinstance(table, NoAnswer):
                continue
            parts += [
                Mark((x, 0.0), f"{word} ({key})", "answer")
                for key, x in table.items()
                if not isinstance(x, NoAnswer)
            ]
        return parts


def _extremes(given: Beam, found: Diagrams, ar: Arithmetic) -> dict[str, Value]:
    at = stations(given)
    candidates = {
        "moment": places(found.moment, at, found.couple_at, ar, "moment"),
        "shear": places(found.shear, at, found.force_at, ar, "shear"),
    }
    answers: dict[str, Value] = {}
    for name, of, sense in EXTREMES:
        best = extreme(candidates[of], ar, name, sense)
        answers[name], answers[f"{name} at"] = best.value, best.at
    for of in ("moment", "shear"):
        high, low = answers[f"largest {of}"], answers[f"smallest {of}"]
        answers[f"greatest {of}"] = ar.larger(high, -low, f"greatest {of}: up against down")
    return answers


def _zeros(found: Diagrams, ar: Arithmetic) -> dict[str, Value]:
    shear = changes_of_sign(found.shear, ar, "shear")
    moment = changes_of_sign(found.moment, ar, "moment")
    return {
        "zero shear": {str(i): change.at for i, change in enumerate(shear, 1)},
        "moment at zero shear": {
            str(i): value(found.moment[change.piece].coefficients, change.offset)
            for i, change in enumerate(shear, 1)
        },
        "contraflexure": {str(i): change.at for i, change in enumerate(moment, 1)},
    }
