"""What lies outside the scope of a calculator, and what it takes for granted."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import attrs
from flint import ctx, fmpq

from refsolver.calculators.file import CalculatorFileError, FamilySection
from refsolver.calculators.granted import fixed_for, is_granted
from refsolver.calculators.lines import Condition, InputLine
from refsolver.calculators.partly_stated import PARTED, left_open, not_stated
from refsolver.catalogue.schema import Case
from refsolver.statics.contract import Given
from refsolver.statics.givens import leaf as leaf_at
from refsolver.statics.givens import pattern_of, walk

__all__ = ["NotApplicable", "check_excluded", "check_scope", "mapped_leaves"]

_BITS = 300


class NotApplicable(Exception):
    """The case lies outside the calculator's scope; the message names the condition."""


def check_excluded(case: Case, scope: Sequence[Condition]) -> None:
    """Raises NotApplicable for a case left out by name or by a feature."""
    for condition in scope:
        if condition.kind == "exclude" and case.id in condition.ids:
            raise NotApplicable(f"excluded by name: {condition.reason}")
        if condition.kind == "without" and condition.target in case.features:
            raise NotApplicable(f"{condition.sentence}: {condition.reason}")


def mapped_leaves(
    case: Case, section: FamilySection
) -> Iterator[tuple[str, Any, Given, Sequence[InputLine]]]:
    """Every leaf that the calculator takes, with its path, what it is and the lines that take it.

    Raises NotApplicable at a leaf that it does not take, or not wholly, and that is not what it
    takes for granted.
    """
    _check_stated(case, section)
    for path, leaf, field in walk(case.given):
        pattern = pattern_of(path)
        lines = section.lines_by_given.get(pattern, ())
        if lines:
            _check_rest(lines, leaf)
            yield path, leaf, field, lines
        else:
            _check_not_needed(path, pattern, leaf, field, section, case)


def _check_stated(case: Case, section: FamilySection) -> None:
    """What the calculator takes for granted and the case does not have at all."""
    for name, granted in section.fixed.items():
        if "[" not in name and leaf_at(case.given, name) is None:
            raise NotApplicable(
                f"the calculator takes {name} = {' or '.join(granted)} for granted, and the case "
                "does not state it"
            )


def _check_rest(lines: Sequence[InputLine], leaf: Any) -> None:
    """What the lines do not state of a leaf must be what the calculator takes for granted."""
    if lines[0].field.shape not in PARTED:
        return
    problem = left_open(lines)
    if problem:
        raise CalculatorFileError(f"{lines[0].given}: {problem}")
    with ctx.workprec(_BITS):
        outside = not_stated(lines, leaf)
    if outside:
        raise NotApplicable(outside)


def _check_not_needed(
    path: str, pattern: str, leaf: Any, field: Given, section: FamilySection, case: Case
) -> None:
    """A leaf without an input must be what the calculator takes for granted."""
    if field.shape == "text":
        return
    granted = fixed_for(section.fixed, path, pattern)
    if granted is None:
        if leaf == _default(case.given, path):
            return
        raise NotApplicable(f"the calculator has no input for {pattern}")
    if not is_granted(granted, path, leaf, field, case):
        stated = case.literals.get(path)
        held = str(leaf) if stated is None else stated.text
        name = path if path in section.fixed else pattern
        raise NotApplicable(
            f"the calculator takes {name} = {' or '.join(granted)} for granted, not {held}"
        )


def _default(given: Any, path: str) -> Any:
    """What the leaf is where a case does not state it; NOTHING where it must be stated."""
    parent, _, name = path.rpartition(".")
    owner = leaf_at(given, parent) if parent else given
    return getattr(attrs.fields(type(owner)), name.partition("[")[0]).default


def check_scope(
    scope: Sequence[Condition],
    numbers: Mapping[str, Sequence[fmpq]],
    case: Case,
    rows: Mapping[str, int],
) -> None:
    """Raises NotApplicable where a number handed over, or of rows, is beyond its limits."""
    for condition in scope:
        if condition.kind == "count":
            values: Sequence[fmpq] = [fmpq(rows.get(condition.target, 0))]
        elif condition.kind == "input":
            values = numbers.get(condition.target, [])
        else:
            continue
        for value in values:
            low, high, step = condition.at_least, condition.at_most, condition.resolution
            if (
                (low is not None and value < low)
                or (high is not None and value > high)
                or (step is not None and not (value / step).q == 1)
            ):
                raise NotApplicable(f"{condition.sentence} ({condition.reason})")
