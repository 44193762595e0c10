"""What lies outside the scope of a calculator, and what it takes for granted."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import attrs
from flint import ctx, fmpq

from refsolver.arithmetic.detached import exact_double, nearest_double
from refsolver.calculators.file import CalculatorFileError, FamilySection
from refsolver.calculators.granted import fixed_for, is_granted
from refsolver.calculators.lines import Condition, InputLine
from refsolver.calculators.partly_stated import PARTED, left_open, not_stated
from refsolver.catalogue.schema import Case
from refsolver.statics.contract import Given
from refsolver.statics.givens import leaf as leaf_at
from refsolver.statics.givens import pattern_of, walk

__all__ = [
    "NotApplicable", "check_excluded", "check_scope", "condition_data", "condition_from",
    "mapped_leaves",
]  # fmt: skip

_BITS = 300
_LIMITS = ("at_least", "at_most", "resolution", "above", "below")


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
        if not all(_within(condition, value) for value in values):
            raise NotApplicable(f"{condition.sentence} ({condition.reason})")


def _within(condition: Condition, value: fmpq) -> bool:
    """Whether a number keeps to the condition; the double nearest to a limit stands for it."""
    low, high, step = condition.at_least, condition.at_most, condition.resolution
    above, below, one_of = condition.above, condition.below, condition.one_of
    return (
        (low is None or value >= low or _is(value, low))
        and (high is None or value <= high or _is(value, high))
        and (step is None or _is(value, step * (value / step + fmpq(1, 2)).floor()))
        and (above is None or (value > above and not _is(value, above)))
        and (below is None or (value < below and not _is(value, below)))
        and (one_of is None or any(_is(value, one) for one in one_of))
    )


def _is(value: fmpq, stated: fmpq) -> bool:
    """The number stated, or the double that a calculator is handed for it."""
    if value == stated:
        return True
    double = nearest_double(stated)
    return math.isfinite(double) and bool(exact_double(double) == value)


def condition_data(condition: Condition) -> dict[str, Any]:
    """What a record keeps of a condition, so that :func:`condition_from` gives it again."""
    said = {
        "sentence": condition.sentence, "reason": condition.reason, "kind": condition.kind,
        "ids": list(condition.ids),
    }  # fmt: skip
    if not condition.of_cells:
        return said
    limits = {name: getattr(condition, name) for name in _LIMITS}
    stated = {name: str(limit) for name, limit in limits.items() if limit is not None}
    one_of = None if condition.one_of is None else [str(one) for one in condition.one_of]
    return said | {"input": condition.target, "limits": stated, "one_of": one_of}


def condition_from(data: Mapping[str, Any]) -> Condition | None:
    """The condition of a workbook's cells in a record; None for one of the calculator file."""
    if "limits" not in data:
        return None
    one_of = data["one_of"]
    condition = Condition(
        data["kind"],
        data["input"],
        data["reason"],
        data["sentence"],
        one_of=None if one_of is None else tuple(map(_exact, one_of)),
        of_cells=True,
    )
    limits: dict[str, Any] = {name: _exact(text) for name, text in data["limits"].items()}
    return attrs.evolve(condition, **limits)


def _exact(text: str) -> fmpq:
    return fmpq(*map(int, text.split("/")))
