"""Made cases brought within what a calculator can be told.

A case that is made to fill every row states more than many a calculator asks for: a sheet
with a column of weights has no place for a push sideways, and holds its beam at its ends.
What such a calculator takes for granted is put in place of what was made.
"""

from __future__ import annotations

from typing import Any

import attrs
from flint import fmpq

from refsolver.calculators.file import FamilySection
from refsolver.calculators.granted import fixed_for, granted_leaf
from refsolver.quantities.leaves import AXIS, Components
from refsolver.quantities.units import UnitSystem
from refsolver.statics.contract import Given
from refsolver.statics.givens import fields, pattern_of, replaced, walk

__all__ = ["suited"]


def suited(given: Any, section: FamilySection, units: UnitSystem) -> Any | None:
    """The givens as the calculator could be told them; None where they then do not hold.

    Components without an input become zero, what is taken for granted is what it is taken to
    be, what has neither is what the family takes where nothing is stated, and of several
    numbers in one place the first remains.
    """
    changes: dict[str, Any] = {}
    for path, leaf, field in walk(given):
        new = _suited(path, leaf, field, section, given, units)
        if new is not None and new != leaf:
            changes[path] = new
    try:
        return _shortened(replaced(given, changes), section)
    except ValueError:
        return None


def _suited(
    path: str, leaf: Any, field: Given, section: FamilySection, given: Any, units: UnitSystem
) -> Any:
    pattern = pattern_of(path)
    lines = section.lines_by_given.get(pattern, ())
    if lines:
        told = {AXIS[line.along][0] for line in lines if line.along is not None}
        if isinstance(leaf, Components) and all(line.take == "component" for line in lines):
            return Components(
                tuple(x if axis in told else fmpq(0) for axis, x in enumerate(leaf.along))
            )
        return leaf
    granted = fixed_for(section.fixed, path, pattern)
    if granted is None:
        return leaf
    held = [granted_leaf(text, field, given, units) for text in granted]
    return leaf if leaf in held else held[0]


def _shortened(given: Any, section: FamilySection) -> Any:
    """One number where a row has one place for its numbers."""
    for name, field in fields(type(given)).items():
        if field.shape != "many" or field.of is None:
            continue
        many = [
            inner
            for inner, part in fields(field.of).items()
            if part.shape == "quantities" and _one_place(f"{name}[*].{inner}[*]", section)
        ]
        rows = getattr(given, name)
        short = tuple(
            attrs.evolve(row, **{inner: getattr(row, inner)[:1] for inner in many}) for row in rows
        )
        given = attrs.evolve(given, **{name: short}) if many else given
    return given


def _one_place(pattern: str, section: FamilySection) -> bool:
    lines = section.lines_by_given.get(pattern, ())
    return bool(lines) and not any(line.place.count("*") for line in lines)
