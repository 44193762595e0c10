"""Which place of a workbook is which number of a family, and which family fits best.

Scores add up evidence: the unit's dimension, words that the label shares with the family,
the shape (a column against a table). They rank proposals and decide nothing: a match that
is not clearly ahead is unsure and gets marked.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

import attrs

from refsolver.calculators.drafting.fields import Field, Fields
from refsolver.calculators.drafting.slots import (
    Slot,
    input_slots,
    output_slots,
    required_givens,
)
from refsolver.calculators.drafting.words import axis_in, hinted_dimension, kinds_of, tokens
from refsolver.quantities.dimensions import ANGLE, NUMBER
from refsolver.statics.contract import Family

__all__ = ["ASSUMED", "Fit", "Match", "fit", "ranked"]

ASSUMED = "an axis that the calculator takes for granted"
"""The axis of a force whose direction has no place in the workbook."""

_LEAST = 2.5
_CLEAR = 0.75
"""By how much a match must lead to be proposed without a mark."""

_CERTAIN = 4.0

_SAID_ONLY = {
    "run": {"run", "rise", "slope"},
    "slope": {"slope", "gradient"},
    "cosine": {"cosine", "cos"},
    "size": {"size", "absolute", "greatest"},
    "intercept": {"intercept", "cut", "crosse", "line", "distance"},
    "foot": {"foot", "perpendicular"},
    "pierces": {"pierce"},
    "axis angle": {"x", "y", "z", "alpha", "beta", "gamma"},
    "azimuth": {"azimuth", "bearing", "plan"},
    "elevation": {"elevation", "above", "inclination"},
    "distance": {"distance"},
}
"""Ways of taking a number that a label must speak of to be proposed."""


@attrs.frozen
class Match:
    """A place of the workbook proposed for a number of the family."""

    field: Field
    slot: Slot
    score: float
    why: str
    sure: bool
    others: tuple[str, ...]
    """The other numbers of the family that fit nearly as well."""


@attrs.frozen
class Fit:
    """How a family fits a workbook."""

    family: Family
    inputs: tuple[Match, ...]
    outputs: tuple[Match, ...]
    missing: tuple[str, ...]
    """Patterns of givens that every case states and no place was found for."""
    left_inputs: tuple[Field, ...]
    left_outputs: tuple[Field, ...]
    score: float

    def why(self) -> str:
        """One sentence: what was found a place for, and what was not."""
        takes = len(self.inputs), len(self.inputs) + len(self.left_inputs)
        final = [f for f in self.left_outputs if f.final]
        gives = len(self.outputs), len(self.outputs) + len(final)
        said = f"{takes[0]} of {takes[1]} inputs and {gives[0]} of {gives[1]} results fit"
        matched = [f'"{m.field.says}"' for m in (*self.inputs, *self.outputs) if m.field.says]
        if matched:
            said += f" ({', '.join(matched[:4])})"
        if self.missing:
            said += f"; no place for {', '.join(self.missing)}"
        return said


def ranked(families: Sequence[Family], fields: Fields, title: str) -> list[Fit]:
    """The families that take and give something of this workbook, the best first."""
    fits = [fit(family, fields, title) for family in families]
    return sorted(
        (f for f in fits if f.inputs and f.outputs), key=lambda f: (-f.score, f.family.name)
    )


def fit(family: Family, fields: Fields, title: str = "") -> Fit:
    """The proposals for one family. ``title`` is the text of the workbook's headings."""
    inputs = _with_axes(_matched(fields.inputs, input_slots(family), outputs=False))
    outputs = _matched(fields.outputs, output_slots(family), outputs=True)
    got = {match.slot.of for match in inputs}
    missing = tuple(of for of in required_givens(family) if of not in got)
    left_inputs = _left(fields.inputs, inputs)
    left_outputs = _left(fields.outputs, outputs)
    score = (
        sum(min(match.score, 7.0) for match in (*inputs, *outputs))
        - 3.0 * len(missing)
        - 1.5 * len(left_inputs)
        - 1.0 * sum(field.final for field in left_outputs)
        + min(1.5, 0.5 * len(tokens(title) & tokens(family.title)))
    )
    return Fit(family, inputs, outputs, missing, left_inputs, left_outputs, score)


def _with_axes(matches: Sequence[Match]) -> tuple[Match, ...]:
    """A size without a direction is a component along an axis that somebody must name."""
    turned = {m.slot.of for m in matches if m.slot.take != "magnitude"}
    return tuple(
        attrs.evolve(m, slot=attrs.evolve(m.slot, take="component", along=ASSUMED))
        if m.slot.take == "magnitude" and m.slot.of not in turned
        else m
        for m in matches
    )


def _left(fields: Sequence[Field], matches: Sequence[Match]) -> tuple[Field, ...]:
    used = {match.field.cells for match in matches}
    return tuple(field for field in fields if field.cells not in used)


def _matched(fields: Sequence[Field], slots: Sequence[Slot], *, outputs: bool) -> tuple[Match, ...]:
    base = {
        (f.cells, s.key): found
        for f in fields
        for n, s in enumerate(slots)
        if (found := _score(f, s, outputs)) is not None and found[0] - n / 1000 > 0
    }
    left = list(fields)
    chosen: list[Match] = []
    while left:
        offers = [
            (found[0] + _context(field, slot, chosen) - number / 1000, field, slot, found[1])
            for field in left
            for number, slot in enumerate(slots)
            if (found := base.get((field.cells, slot.key))) is not None
            and not _taken(field, slot, chosen, outputs)
        ]
        if not offers:
            break
        best = max(offers, key=lambda offer: offer[0])
        if best[0] < _LEAST:
            break
        near = [
            offer
            for offer in offers
            if offer[1] is best[1]
            and offer[0] > best[0] - _CLEAR
            and _meaning(offer[2]) != _meaning(best[2])
        ]
        sure = best[0] >= _CERTAIN and not near
        others = tuple(dict.fromkeys(_named(o[2]) for o in near))
        chosen.append(Match(best[1], best[2], best[0], best[3], sure, others))
        left.remove(best[1])
    order = {field.cells: place for place, field in enumerate(fields)}
    return tuple(sorted(chosen, key=lambda match: order[match.field.cells]))


def _meaning(slot: Slot) -> tuple[str, str, str]:
    return slot.of, slot.take, slot.part


def _named(slot: Slot) -> str:
    return f"{slot.of} ({slot.take})" if slot.take not in ("value", "word") else slot.of


def _taken(field: Field, slot: Slot, chosen: Sequence[Match], outputs: bool) -> bool:
    """Another place has this number already, or one that rules it out."""
    polar = ("magnitude", "angle")
    for match in chosen:
        if match.slot.key == slot.key:
            return True
        if outputs:
            continue
        same = match.slot.of == slot.of and slot.shape == "vector"
        if same and (match.slot.take in polar) != (slot.take in polar):
            return True
        if same and "value" in (match.slot.take, slot.take):
            return True
        if slot.row and match.slot.row:
            tables = field.table == match.field.table
            if tables != (_table_of(slot) == _table_of(match.slot)):
                return True
    return False


def _table_of(slot: Slot) -> str:
    return slot.of.partition("[*]")[0]


def _context(field: Field, slot: Slot, chosen: Sequence[Match]) -> float:
    """A number of the same given or answer, or of the same table, was found before."""
    if any(match.slot.of == slot.of for match in chosen):
        return 1.0
    return 0.5 if any(slot.row and _table_of(m.slot) == _table_of(slot) for m in chosen) else 0.0


def _score(field: Field, slot: Slot, outputs: bool) -> tuple[float, str] | None:
    """How well a place fits a number, and on what that rests; None where it cannot."""
    words = tokens(field.words)
    by_dimension = _by_dimension(field, slot, words)
    by_rows = _by_rows(field, slot, outputs)
    by_axis = _by_axis(field, slot)
    wanted = _SAID_ONLY.get(slot.take)
    if by_dimension is None or by_rows is None or by_axis is None:
        return None
    if wanted is not None and not words & wanted:
        return None
    if slot.take == "elevation" and slot.along != "+z":
        return None
    score, why = by_dimension[0] + by_rows + by_axis, [by_dimension[1]]
    named = words & slot.named
    said = (words & slot.said) - named
    kinds = kinds_of(words) & kinds_of(slot.named)
    if named:
        score += 3 + 0.75 * (len(named) - 1)
        why.append(f"the word {' and '.join(sorted(named))}")
    if said:
        score += min(1.5, 0.75 * len(said))
        why.append(f"also {' and '.join(sorted(said))}")
    if kinds and not named:
        score += 1.5
        why.append(f"a word for {' and '.join(sorted(kinds))}")
    if slot.dimension == ANGLE and "angle" in kinds_of(words):
        score += 1.0
        why.append("a word for an angle")
    if slot.take == "magnitude" and re.search(r"SQRT\(|\^0\.5|\^\(1/2\)", field.formula.upper()):
        score += 1.0
        why.append("its formula takes a square root")
    if outputs and not field.final:
        score -= 0.25
    return score, "; ".join(filter(None, why))


def _by_dimension(field: Field, slot: Slot, words: frozenset[str]) -> tuple[float, str] | None:
    if slot.dimension is None:
        fits = not field.unit.known and (slot.shape != "integer" or not field.is_text)
        return (0.5 if slot.shape == "integer" or field.is_text else -1.0, "") if fits else None
    if field.is_text:
        return None
    if field.unit.known:
        meaning = field.unit.meanings.get(slot.dimension)
        if meaning is None:
            return None
        return (3.0 if meaning[1] else 2.0), f'the unit "{field.unit.text.strip("()[]")}"'
    hint = ANGLE if field.as_angle else hinted_dimension(words)
    if hint == slot.dimension:
        why = "formulas take it as an angle" if field.as_angle else f"it sounds like {hint.name}"
        return 1.5, why
    if slot.dimension == NUMBER:
        return (0.5 if hint is None else -1.0), ""
    return (-0.25 if hint is None and slot.dimension != ANGLE else -2.0), ""


def _by_rows(field: Field, slot: Slot, outputs: bool) -> float | None:
    if field.rows > 1:
        return 1.0 if slot.row else None
    return -1.0 if slot.row else 0.0


def _by_axis(field: Field, slot: Slot) -> float | None:
    found = None if field.as_angle and slot.dimension != ANGLE else axis_in(field.words)
    if slot.along and slot.take != "elevation":
        return 2.0 if found is not None and found[0][1] == slot.along[1] else None
    return -1.5 if found is not None and slot.take == "magnitude" else 0.0
