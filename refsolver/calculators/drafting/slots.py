"""What a family takes and gives, number by number, as a calculator file can map it."""

from __future__ import annotations

from collections.abc import Collection, Iterator

import attrs

from refsolver.calculators.drafting.words import tokens
from refsolver.calculators.line_readers import LEAF_TAKES, leaf_dimension
from refsolver.quantities.dimensions import Dimension
from refsolver.quantities.kinds import (
    AlternativesKind,
    ChoiceKind,
    FunctionKind,
    Kind,
    TableKind,
)
from refsolver.quantities.views import View, dimension_of, takes
from refsolver.statics.contract import Family, Given
from refsolver.statics.givens import fields

__all__ = ["Slot", "input_slots", "output_slots", "required_givens"]

_WITH_AXIS = (
    "component", "coordinate", "run", "elevation", "cosine", "intercept", "foot", "pierces",
    "axis angle",
)  # fmt: skip


@attrs.frozen
class Slot:
    """One number (or word) of a family: a given's part to hand over, or an answer's to read.

    ``of`` is the given's pattern or the answer's name; ``row`` whether it belongs to a row of
    a table; ``named`` the words of its name, ``said`` those of its description.
    """

    of: str
    take: str
    along: str
    dimension: Dimension | None
    row: bool
    named: frozenset[str]
    said: frozenset[str]
    says: str
    shape: str
    choices: tuple[str, ...] = ()
    part: str = ""

    @property
    def key(self) -> tuple[str, str, str, str]:
        return (self.of, self.take, self.along, self.part)


def input_slots(family: Family) -> list[Slot]:
    """Every part of every given that an input line can take."""
    return list(_of_table(family.givens, "", row=False, about=frozenset()))


def _of_table(cls: type, prefix: str, *, row: bool, about: frozenset[str]) -> Iterator[Slot]:
    for name, field in fields(cls).items():
        pattern = f"{prefix}{name}"
        if field.shape in ("many", "one"):
            assert field.of is not None
            many = field.shape == "many"
            inside = about | tokens(name)
            yield from _of_table(
                field.of, f"{pattern}[*]." if many else f"{pattern}.", row=row or many, about=inside
            )
        else:
            yield from _of_leaf(pattern, field, row=row, about=about)


def _of_leaf(pattern: str, field: Given, *, row: bool, about: frozenset[str]) -> Iterator[Slot]:
    many = field.shape == "quantities"
    for take in LEAF_TAKES[field.shape]:
        if field.space == 2 and take in ("axis angle", "azimuth", "elevation"):
            continue
        if take == "angle" and field.space == 3:
            continue
        word = field.shape in ("choice", "text", "integer")
        for along in _axes(take, field.space):
            yield Slot(
                of=f"{pattern}[*]" if many else pattern,
                take=take,
                along=along,
                dimension=None if word else leaf_dimension(field, take),
                row=row or many,
                named=tokens(pattern.rpartition(".")[2]) | about,
                said=tokens(field.says),
                says=field.says,
                shape=field.shape,
                choices=field.choices,
            )


def _axes(take: str, space: int) -> tuple[str, ...]:
    return tuple(f"+{letter}" for letter in "xyz"[:space]) if take in _WITH_AXIS else ("",)


def required_givens(family: Family, tables: Collection[str] = ()) -> list[str]:
    """Patterns of the givens that every case states, or every row of these tables."""
    return list(_required(family.givens, "", tables))


def _required(cls: type, prefix: str, tables: Collection[str]) -> Iterator[str]:
    defaults = {a.name: a.default for a in attrs.fields(cls)}
    for name, field in fields(cls).items():
        if defaults[name] is not attrs.NOTHING and field.shape != "many":
            continue
        may_be_empty = field.minimum == 0 or defaults[name] is not attrs.NOTHING
        if field.shape == "many" and may_be_empty and f"{prefix}{name}" not in tables:
            continue
        if field.shape in ("many", "one"):
            assert field.of is not None
            step = "[*]." if field.shape == "many" else "."
            yield from _required(field.of, f"{prefix}{name}{step}", tables)
        elif field.shape != "text":
            yield f"{prefix}{name}" + ("[*]" if field.shape == "quantities" else "")


def output_slots(family: Family) -> list[Slot]:
    """Every part of every answer that an output line can read."""
    found: list[Slot] = []
    for name, answer in family.answers.items():
        found += _of_kind(name, answer.kind, answer.says, row=False, part="")
    return found


def _of_kind(name: str, kind: Kind, says: str, *, row: bool, part: str) -> Iterator[Slot]:
    if isinstance(kind, TableKind):
        yield from _of_kind(name, kind.of, says, row=True, part=part)
        return
    if isinstance(kind, AlternativesKind):
        for key, inner in kind.of.items():
            yield from _of_kind(name, inner, says, row=row, part=key)
        return
    space = getattr(kind, "space", 2)
    for take in takes(kind):
        for along in _axes(take, space):
            view = View(name, take, along=along or None)
            yield Slot(
                of=name,
                take=take,
                along=along,
                dimension=None if isinstance(kind, ChoiceKind) else dimension_of(view, kind),
                row=row,
                named=tokens(f"{name} {part}"),
                said=tokens(says),
                says=says,
                shape="choice" if isinstance(kind, ChoiceKind)
                else "function" if isinstance(kind, FunctionKind)
                else "number",
                choices=kind.words if isinstance(kind, ChoiceKind) else (),
                part=part,
            )  # fmt: skip
