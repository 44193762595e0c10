"""Which place of a workbook is which number of a family, and which family fits best.

Scores add up evidence: the unit's dimension, words that the label shares with the family,
the shape (a column against a table). They rank proposals and decide nothing: a match that
is not clearly ahead is unsure and gets marked.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from itertools import product
from types import MappingProxyType

import attrs

from refsolver.calculators.drafting.fields import Field, Fields
from refsolver.calculators.drafting.scoring import score, takes_a_root
from refsolver.calculators.drafting.slots import (
    Slot,
    input_slots,
    output_slots,
    required_givens,
)
from refsolver.calculators.drafting.topics import nearness
from refsolver.calculators.drafting.words import tokens
from refsolver.statics.contract import Family

__all__ = ["ASSUMED", "Fit", "Match", "fit", "ranked"]

ASSUMED = "an axis that the calculator takes for granted"
"""The axis of a force whose direction has no place in the workbook."""

_LEAST = 1.9
_CLEAR = 0.75
"""By how much a match must lead to be proposed without a mark."""

_CERTAIN = 4.0

_MOST_WAYS = 9
"""In which the tables of a workbook are taken for those of a family, one by one."""

_TOPIC = 3.0
"""What the words of the workbook count beside what fits."""

_MOST_CONTEXT = 1.0
"""What a match lends to others of the same given or answer."""


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
    """The proposals for one family. ``title`` is the text of the workbook's headings.

    What is counted ("Leg A", "Leg B") is tried as the rows of a table and each by itself.
    """
    tried = (fields,) if fields.apart is None else (fields, fields.apart)
    best = max((_best_fit(family, each) for each in tried), key=lambda fit: fit.score)
    return attrs.evolve(best, score=best.score + _TOPIC * nearness(tokens(title), family))


def _best_fit(family: Family, fields: Fields) -> Fit:
    outputs = _with_axes(_matched(fields.outputs, output_slots(family), outputs=True))
    found = (_fit(family, fields, homes, outputs) for homes in _homes(family, fields))
    return max(found, key=lambda fit: fit.score)


def _homes(family: Family, fields: Fields) -> list[dict[str, str]]:
    """The ways to take each table of the workbook for one of the family's, few as they are."""
    of_workbook = sorted({field.table for field in fields.inputs if field.rows > 1})
    of_family = sorted({_table_of(slot) for slot in input_slots(family) if slot.row})
    if len(of_family) ** len(of_workbook) > _MOST_WAYS:
        return [{}]
    return [
        dict(zip(of_workbook, each, strict=True))
        for each in product(of_family, repeat=len(of_workbook))
    ] or [{}]


def _fit(
    family: Family, fields: Fields, homes: Mapping[str, str], outputs: tuple[Match, ...]
) -> Fit:
    inputs = _with_axes(_matched(fields.inputs, input_slots(family), outputs=False, homes=homes))
    got = {match.slot.of for match in inputs}
    tables = {_table_of(match.slot) for match in inputs if match.slot.row}
    missing = tuple(of for of in required_givens(family, tables) if of not in got)
    left_inputs = _left(fields.inputs, inputs)
    left_outputs = _left(fields.outputs, outputs)
    score = (
        sum(min(match.score, 7.0) for match in (*inputs, *outputs))
        - _lacking(family, missing, got)
        - 1.5 * len(left_inputs)
        - 1.0 * sum(field.final for field in left_outputs)
    )
    return Fit(family, inputs, outputs, missing, left_inputs, left_outputs, score)


def _lacking(family: Family, missing: Sequence[str], got: Collection[str]) -> float:
    """What tells against a family: givens without a place.

    A calculator may well take a choice, or a whole table such as the supports, for granted.
    """
    words = {slot.of for slot in input_slots(family) if slot.shape == "choice"}
    met = {of.partition("[*]")[0] for of in got}
    against = 0.0
    absent: set[str] = set()
    for of in missing:
        table, is_row, _ = of.partition("[*]")
        if is_row and table not in met:
            absent.add(table)
        elif of in words:
            against += 1.0
        else:
            against += 2.0 if is_row else 3.0
    return against + 2.5 * len(absent)


def _with_axes(matches: Sequence[Match]) -> tuple[Match, ...]:
    """A size without a direction is a component along an axis that somebody must name."""
    turned = {m.slot.of for m in matches if m.slot.take != "magnitude"}
    return tuple(
        attrs.evolve(m, slot=attrs.evolve(m.slot, take="component", along=ASSUMED))
        if m.slot.take == "magnitude"
        and m.slot.of not in turned
        and not takes_a_root(m.field.formula)
        else m
        for m in matches
    )


def _left(fields: Sequence[Field], matches: Sequence[Match]) -> tuple[Field, ...]:
    used = {match.field.cells for match in matches}
    return tuple(field for field in fields if field.cells not in used)


@attrs.frozen
class _Offer:
    """A place that a number may stand in, and how well it fits by itself."""

    field: Field
    slot: Slot
    score: float
    why: str


def _matched(
    fields: Sequence[Field],
    slots: Sequence[Slot],
    *,
    outputs: bool,
    homes: Mapping[str, str] = MappingProxyType({}),
) -> tuple[Match, ...]:
    """Places for numbers, the best first; each match may lend weight to the next.

    ``homes`` says for tables of the workbook which of the family's they are.
    """
    offers = [
        _Offer(field, slot, found[0] - number / 1000, found[1])
        for field in fields
        for number, slot in enumerate(slots)
        if homes.get(field.table, _table_of(slot)) == _table_of(slot)
        and (found := score(field, slot, outputs)) is not None
    ]
    offers = sorted(
        (offer for offer in offers if offer.score + _MOST_CONTEXT >= _LEAST), key=lambda o: -o.score
    )
    chosen: list[Match] = []
    while True:
        offers, best = _best(offers, chosen, outputs)
        if best is None or best[0] < _LEAST:
            break
        near = [
            other
            for other in offers
            if other.field is best[1].field
            and _meaning(other.slot) != _meaning(best[1].slot)
            and other.score + _context(other.slot, chosen) > best[0] - _CLEAR
            and not _taken(other.field, other.slot, chosen, outputs)
        ]
        sure = best[0] >= _CERTAIN and not near
        others = tuple(dict.fromkeys(_named(other.slot) for other in near))
        chosen.append(Match(best[1].field, best[1].slot, best[0], best[1].why, sure, others))
        offers = [offer for offer in offers if offer.field is not best[1].field]
    order = {field.cells: place for place, field in enumerate(fields)}
    return tuple(sorted(chosen, key=lambda match: order[match.field.cells]))


def _best(
    offers: Sequence[_Offer], chosen: Sequence[Match], outputs: bool
) -> tuple[list[_Offer], tuple[float, _Offer] | None]:
    """The best offer with the weight that earlier matches lend it, and the offers still open.

    ``offers`` come with the highest first, so that few are looked at.
    """
    best: tuple[float, _Offer] | None = None
    gone: set[int] = set()
    for place, offer in enumerate(offers):
        if best is not None and offer.score + _MOST_CONTEXT <= best[0]:
            break
        if _taken(offer.field, offer.slot, chosen, outputs):
            gone.add(place)
            continue
        total = offer.score + _context(offer.slot, chosen)
        if best is None or total > best[0]:
            best = (total, offer)
    return [offer for place, offer in enumerate(offers) if place not in gone], best


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
        if slot.row and match.slot.row and (field.table or match.field.table):
            tables = field.table == match.field.table
            if tables != (_table_of(slot) == _table_of(match.slot)):
                return True
    return False


def _table_of(slot: Slot) -> str:
    return slot.of.partition("[*]")[0]


def _context(slot: Slot, chosen: Sequence[Match]) -> float:
    """A number of the same given or answer, or of the same table, was found before."""
    if any(match.slot.of == slot.of for match in chosen):
        return _MOST_CONTEXT
    return 0.5 if any(slot.row and _table_of(m.slot) == _table_of(slot) for m in chosen) else 0.0
