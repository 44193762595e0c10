"""Determinate beams: reactions, internal forces, extremes; line loads by themselves.

The beam itself, its signs and its sources are in :mod:`refsolver.statics.beam`.
"""

from __future__ import annotations

import math
import random
from collections.abc import Mapping, Sequence
from itertools import pairwise
from types import SimpleNamespace
from typing import Any, ClassVar

import attrs
from flint import fmpq

from refsolver.arithmetic.contract import Arithmetic, Number
from refsolver.quantities.dimensions import FORCE, LENGTH, MOMENT, NUMBER
from refsolver.quantities.kinds import (
    ChoiceKind,
    FunctionKind,
    NoAnswer,
    Piece,
    ScalarKind,
    TableKind,
    Value,
    VectorKind,
)
from refsolver.quantities.leaves import ByRun
from refsolver.statics import cautions
from refsolver.statics.beam import (
    RULES,
    Beam,
    BeamLineLoad,
    Diagrams,
    acting_on,
    beam_equilibrium,
    diagrams,
    spread_of,
    stations,
    supports_of,
)
from refsolver.statics.beam_drawing import drawn_beam, drawn_function, drawn_line_load
from refsolver.statics.beam_samples import beam_with_rows, line_sample, overhanging_beam
from refsolver.statics.beam_sections import (
    along_curve,
    everything_left_of,
    moment_residual,
    right_pieces,
    right_sections,
    spread_as_force,
    sum_residual,
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
    many,
)
from refsolver.statics.drawing import Arrow, Drawing, Mark, Primitive, Stroke, Turning
from refsolver.statics.equilibrium import Equilibrium
from refsolver.statics.extremes import changes_of_sign, extreme, places
from refsolver.statics.naming import distinct_names, keys_of
from refsolver.statics.polynomials import derivative, integral, value
from refsolver.statics.random_givens import decimal
from refsolver.statics.registry import register
from refsolver.statics.supports import CONSTRAINTS, assembled, constraint_of
from refsolver.statics.vectors import added

__all__ = [
    "BeamExtremes",
    "BeamFamily",
    "BeamReactions",
    "InternalForces",
    "LineLoads",
    "LineResultant",
    "load_sheet",
]

_REFUSALS = ("mechanism", "redundant", "improper constraint")


# --- mistakes of every family of beams ----------------------------------------------------


def _couple_reversed(moment: Number) -> Number:
    return -moment


def _load_not_halved(intensity: Sequence[Number], length: Number) -> Number:
    """The last intensity over the whole length, as if the load were uniform."""
    return value(intensity, length) * length


def _at_the_middle(intensity: Sequence[Number], length: Number) -> Number:
    return value(integral(intensity, 0 * length), length) * length / 2


def _last_left_out(field: str) -> Any:
    def without(given: Any) -> Any | None:
        items = getattr(given, field)
        return attrs.evolve(given, **{field: items[:-1]}) if items else None

    return without


_MISTAKES = (
    Mistake(
        "couple reversed",
        "applied couples enter with the wrong sign",
        rules={"applied_couple": _couple_reversed},
    ),
    Mistake("couple left out", "the last couple is not read", givens=_last_left_out("couples")),
    Mistake(
        "last force left out", "the last point load is not read", givens=_last_left_out("forces")
    ),
    Mistake(
        "last line load left out",
        "the last line load is not read",
        givens=_last_left_out("line_loads"),
    ),
    Mistake(
        "triangular load not halved",
        "a load that grows from zero is taken at its end value over its whole length",
        rules={"line_resultant": _load_not_halved},
    ),
    Mistake(
        "line load at its middle",
        "the resultant of every line load is put at the middle of its length",
        rules={"line_first_moment": _at_the_middle},
    ),
)


# --- what every family of beams shares ----------------------------------------------------


class BeamFamily(Family):
    """What every question about a beam has in common."""

    givens = Beam
    rules = RULES
    mistakes: ClassVar[tuple[Mistake, ...]] = _MISTAKES
    caution = cautions.BEAMS

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> Beam:
        return overhanging_beam(kappa, rng)

    def filled(self, rows: Mapping[str, int], rng: random.Random) -> Beam | None:
        return beam_with_rows(rows, rng)

    def figure(self, given: Beam, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        parts = drawn_beam(given, ar)
        supports = ", ".join(s.kind for s in given.supports)
        caption = (
            f"Beam with supports ({supports}), {len(given.forces)} point loads, "
            f"{len(given.line_loads)} line loads and {len(given.couples)} couples, to scale"
        )
        return Drawing((*parts, *self.drawn_answers(given, answers, ar)), caption)

    def drawn_answers(
        self, given: Beam, answers: Mapping[str, Value], ar: Arithmetic
    ) -> list[Primitive]:
        return []


# --- reactions ----------------------------------------------------------------------------


def load_sheet(given: Beam, ar: Arithmetic, rules: SimpleNamespace, note: str) -> Sheet:
    """Every load with its force and its moment about the left end."""
    columns = (
        Column("force along x", FORCE),
        Column("force along y", FORCE),
        Column("moment about the left end", MOMENT),
    )
    rows = tuple(
        Row(key, (*action.force, *action.moment)) for key, action in acting_on(given, ar, rules)
    )
    return Sheet("Loads", columns, rows, note)


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
            (*_REFUSALS, "no direction"),
        ),
        "couples": Answer(
            TableKind(ScalarKind(MOMENT), "support"),
            "the couple of each fixed support on the beam, counter-clockwise positive",
            _REFUSALS,
        ),
        "hinges": Answer(
            TableKind(VectorKind(FORCE, 2), "hinge"),
            "the force that the part right of each hinge puts on the part left of it; a load at "
            "the hinge counts to the right part",
            (*_REFUSALS, "no direction"),
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
        return Solution(answers, (load_sheet(given, ar, rules, self.method),))

    def check(
        self, given: Beam, answers: Mapping[str, Value], ar: Arithmetic
    ) -> Sequence[Residual]:
        tables = (answers["reactions"], answers["couples"], answers["hinges"])
        if any(isinstance(x, NoAnswer) for table in tables for x in table.values()):
            return []
        acting = everything_left_of(given, answers, ar)
        residuals = [
            moment_residual(f"moments about {key}", acting, ar.bring(support.at), ar)
            for support, key in zip(given.supports, keys_of(given.supports, "support"), strict=True)
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
        return residuals

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


# --- internal forces ----------------------------------------------------------------------


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
            (*_REFUSALS, "not defined"),
        ),
        "shear": Answer(
            FunctionKind(FORCE),
            "V along the beam, positive where the part on the left is pushed up",
            (*_REFUSALS, "not defined"),
        ),
        "moment": Answer(
            FunctionKind(MOMENT),
            "M along the beam, sagging positive",
            (*_REFUSALS, "not defined"),
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
            sheet = load_sheet(given, ar, rules, self.method)
            return Solution(dict.fromkeys(self.answers, found), (sheet,))
        answers = {"axial": found.axial, "shear": found.shear, "moment": found.moment}
        return Solution(
            answers,
            (load_sheet(given, ar, rules, ""), _diagram_sheet(found, self.method)),
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


# --- extremes -----------------------------------------------------------------------------

_EXTREMES = (
    ("largest moment", "moment", 1),
    ("smallest moment", "moment", -1),
    ("largest shear", "shear", 1),
    ("smallest shear", "shear", -1),
)


def _extreme_answers() -> dict[str, Answer]:
    found: dict[str, Answer] = {}
    for name, of, _ in _EXTREMES:
        dimension = MOMENT if of == "moment" else FORCE
        found[name] = Answer(ScalarKind(dimension), f"the {name}, with its sign", _REFUSALS)
        found[f"{name} at"] = Answer(
            ScalarKind(LENGTH),
            f"where the {name} stands, from the left end",
            (*_REFUSALS, "no unique answer"),
        )
    found["greatest moment"] = Answer(
        ScalarKind(MOMENT), "the greatest size of the moment, without sign", _REFUSALS
    )
    found["greatest shear"] = Answer(
        ScalarKind(FORCE), "the greatest size of the shear, without sign", _REFUSALS
    )
    found["zero shear"] = Answer(
        TableKind(ScalarKind(LENGTH), "number from the left"),
        "where the shear changes sign, gradually or by a jump",
        (*_REFUSALS, "no unique answer"),
    )
    found["moment at zero shear"] = Answer(
        TableKind(ScalarKind(MOMENT), "number from the left"),
        "the moment there: a local extreme",
        _REFUSALS,
    )
    found["contraflexure"] = Answer(
        TableKind(ScalarKind(LENGTH), "number from the left"),
        "where the moment changes sign",
        (*_REFUSALS, "no unique answer"),
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
            sheet = load_sheet(given, ar, rules, self.method)
            return Solution(dict.fromkeys(self.answers, found), (sheet,))
        answers = {**_extremes(given, found, ar), **_zeros(found, ar)}
        return Solution(answers, (_diagram_sheet(found, self.method),))

    def check(
        self, given: Beam, answers: Mapping[str, Value], ar: Arithmetic
    ) -> Sequence[Residual]:
        if isinstance(answers["greatest moment"], NoAnswer):
            return []
        return _extremes_from_the_right(given, answers, ar)

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
    for name, of, sense in _EXTREMES:
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


def _extremes_from_the_right(
    given: Beam, answers: Mapping[str, Value], ar: Arithmetic
) -> list[Residual]:
    """Each place and value found, against the functions of the right-hand parts.

    Which piece a place lies in is not decided again: a product over all pieces vanishes
    where one of its factors does.
    """
    pieces = right_pieces(given, ar)
    shears, moments = [v for v, _ in pieces], [m for _, m in pieces]
    residuals = []
    for key, x in answers["zero shear"].items():
        if isinstance(x, NoAnswer):
            continue
        here = answers["moment at zero shear"][key]
        steps = [x - ar.bring(at) for at in stations(given)]
        level = [along_curve(piece, x) for piece in shears]
        residuals.append(_one_vanishes(f"shear at zero shear {key}", [*level, *steps], ar))
        off = [here - along_curve(piece, x) for piece in moments]
        residuals.append(_one_vanishes(f"moment at zero shear {key}", off, ar))
    for key, x in answers["contraflexure"].items():
        if not isinstance(x, NoAnswer):
            jumps = [x - ar.bring(couple.at) for couple in given.couples]
            level = [along_curve(piece, x) for piece in moments]
            residuals.append(_one_vanishes(f"contraflexure {key}", [*level, *jumps], ar))
    for name, of, _ in _EXTREMES:
        x = answers[f"{name} at"]
        if not isinstance(x, NoAnswer):
            curves = moments if of == "moment" else shears
            off = [answers[name] - along_curve(piece, x) for piece in curves]
            residuals.append(_one_vanishes(name, off, ar))
    return residuals


def _one_vanishes(name: str, factors: Sequence[Number], ar: Arithmetic) -> Residual:
    product = size = ar.bring(fmpq(1))
    for factor in factors:
        product, size = product * factor, size * (1 + ar.size(factor))
    return Residual(name, product, size)


# --- line loads by themselves -------------------------------------------------------------


@attrs.frozen
class LineLoads:
    line_loads: tuple[BeamLineLoad, ...] = many(BeamLineLoad, "loads along one line")

    def __attrs_post_init__(self) -> None:
        distinct_names(self.line_loads, "line load")
        for line in self.line_loads:
            if not (isinstance(line.start, fmpq) and isinstance(line.end, fmpq)):
                raise ValueError("a position along a beam is a rational number")


@register
class LineResultant(Family):
    name = "beams/line-resultant"
    title = "The force equivalent to loads along a line"
    givens = LineLoads
    answers = {
        "resultant": Answer(VectorKind(FORCE, 2), "the sum of all line loads", ("no direction",)),
        "moment": Answer(
            ScalarKind(MOMENT), "of all line loads about x = 0, counter-clockwise positive"
        ),
        "position": Answer(
            ScalarKind(LENGTH),
            "x where the resultant crosses the line",
            ("no line of action", "no intercept"),
        ),
        "totals": Answer(
            TableKind(ScalarKind(FORCE), "line load"),
            "the force of each line load, positive in its direction",
        ),
        "places": Answer(
            TableKind(ScalarKind(LENGTH), "line load"),
            "x of the force of each line load",
            ("no line of action",),
        ),
    }
    rules = RULES
    mistakes = tuple(m for m in _MISTAKES if m.name in (
        "last line load left out", "triangular load not halved", "line load at its middle",
    ))  # fmt: skip
    method = "W = integral of w, W x = integral of w x; the resultant acts at sum of moments / R_y"
    second_method = (
        "each load as its antiderivatives at its far end, with the polynomial by Lagrange's "
        "products; the resultant at the place found has the moment of all loads about x = 0 and "
        "about the end of the last"
    )
    caution = cautions.LOADS_ALONG_A_LINE

    def solve(self, given: LineLoads, ar: Arithmetic, rules: SimpleNamespace) -> Solution:
        zero = ar.bring(fmpq(0))
        total: tuple[Number, ...] = (zero, zero)
        moment = zero
        totals: dict[str, Value] = {}
        places_of_loads: dict[str, Value] = {}
        for line, key in zip(given.line_loads, keys_of(given.line_loads, "line load"), strict=True):
            spread = spread_of(line, ar, rules)
            start = ar.bring(line.start)
            length = ar.bring(line.end) - start
            size = rules.line_resultant(spread.intensity, length)
            first = rules.line_first_moment(spread.intensity, length)
            totals[key] = size
            places_of_loads[key] = (
                start + first / size
                if ar.sign(size, f"force of {key}")
                else NoAnswer("no line of action", f"the force of {key} is zero")
            )
            total = added(total, tuple(size * u for u in spread.along))
            moment = moment + (start * size + first) * spread.along[1]
        answers: dict[str, Value] = {
            "resultant": total,
            "moment": moment,
            "position": _crossing(total, moment, ar),
            "totals": totals,
            "places": places_of_loads,
        }
        rows = tuple(
            Row(
                key,
                (
                    size,
                    None if isinstance(places_of_loads[key], NoAnswer) else places_of_loads[key],
                ),
            )
            for key, size in totals.items()
        )
        sheet = Sheet("Line loads", (Column("W", FORCE), Column("at x", LENGTH)), rows, self.method)
        return Solution(answers, (sheet,))

    def check(
        self, given: LineLoads, answers: Mapping[str, Value], ar: Arithmetic
    ) -> Sequence[Residual]:
        acting = [spread_as_force(line, line.end, ar) for line in given.line_loads]
        zero = ar.bring(fmpq(0))
        residuals = [
            sum_residual(f"forces along {letter}", [f[i] for _, f, _ in acting] + [-total], ar)
            for i, (letter, total) in enumerate(zip("xy", answers["resultant"], strict=True))
        ]
        poles = {"x = 0": zero, "the far end": ar.bring(max(x.end for x in given.line_loads))}
        for word, pole in poles.items():
            turning = [(at - pole) * f[1] + c for at, f, c in acting]
            own = -answers["moment"] + pole * answers["resultant"][1]
            residuals.append(sum_residual(f"moments about {word}", [*turning, own], ar))
            if not isinstance(answers["position"], NoAnswer):
                own = -(answers["position"] - pole) * answers["resultant"][1]
                residuals.append(
                    sum_residual(f"moment of the resultant about {word}", [*turning, own], ar)
                )
        # A load that changes sign may all but cancel within itself: what cancels is its
        # whole, up to the farthest place.
        whole = _gross(given, ar)
        return [attrs.evolve(each, size=each.size + whole) for each in residuals]

    def figure(self, given: LineLoads, answers: Mapping[str, Value], ar: Arithmetic) -> Drawing:
        reach = ar.bring(max(line.end for line in given.line_loads))
        parts: list[Primitive] = [Stroke((0.0, 0.0), (reach, 0.0))]
        for line, key in zip(given.line_loads, keys_of(given.line_loads, "line load"), strict=True):
            parts += drawn_line_load(line, key, reach / 12, ar)
        if not isinstance(answers["position"], NoAnswer):
            spot = (answers["position"], 0.0)
            parts.append(Arrow(spot, answers["resultant"], "R", "answer", pushes=True))
        caption = f"{len(given.line_loads)} line loads and the one force equal to them, to scale"
        return Drawing(tuple(parts), caption)

    def propose(self, kappa: tuple[float, float], rng: random.Random) -> LineLoads:
        """A load, and one the other way that leaves about 1/kappa of it."""
        spread = math.exp(rng.uniform(*map(math.log, kappa)))
        digits = 2 + max(0, math.ceil(math.log10(kappa[1])))
        first = line_sample(fmpq(10), rng)
        mean = (first.intensities[0] + first.intensities[-1]) / 2  # type: ignore[operator]
        rest = mean * (first.end - first.start) * decimal(1 - 1 / spread, digits) / 4
        up = ByRun((fmpq(0), fmpq(1)))
        return LineLoads((first, BeamLineLoad(fmpq(6), fmpq(10), (rest,), up)))

    def filled(self, rows: Mapping[str, int], rng: random.Random) -> LineLoads | None:
        count = rows.get("line_loads", 1)
        return LineLoads(tuple(line_sample(fmpq(10), rng) for _ in range(count))) if count else None


def _gross(given: LineLoads, ar: Arithmetic) -> Number:
    """A number not smaller than the forces, and the moments per length, that make up the loads."""
    total = ar.bring(fmpq(0))
    for line in given.line_loads:
        for intensity in line.intensities:
            total = total + ar.size(ar.bring(intensity)) * ar.bring(line.end - line.start)
    return total


def _crossing(total: Sequence[Number], moment: Number, ar: Arithmetic) -> Value:
    if ar.sign(total[1], "resultant across the line") != 0:
        return moment / total[1]
    if ar.sign(total[0], "resultant along the line") == 0:
        return NoAnswer("no line of action", "the loads balance or form a couple")
    return NoAnswer("no intercept", "the resultant lies along the line")
