"""What the input cells of a workbook let a user type, as conditions of its scope.

A value that its user could not type says nothing about the workbook in use: where a cell refuses
it, the case is not applicable, and the condition is named with the cells.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import attrs

from refsolver.calculators.file import CalculatorFileError, FamilySection
from refsolver.calculators.lines import Condition, InputLine
from refsolver.calculators.workbook.allowed import Allowed, allowed_by, rules_for
from refsolver.calculators.workbook.contents import WorkbookContents
from refsolver.calculators.workbook.references import CellRef
from refsolver.calculators.workbook.validation import Validation

__all__ = ["held_to_rules", "told_rules"]


def held_to_rules(
    section: FamilySection,
    contents: WorkbookContents,
    cells_of: Callable[[str], Sequence[CellRef]],
    typed: Sequence[CellRef],
) -> FamilySection:
    """The section with the rules of its input cells; ``typed`` are those of every family.

    Raises CalculatorFileError where a word that is mapped is none that the cell takes.
    """
    scope = list(section.scope)
    for line in section.inputs:
        for rule in rules_for(contents, cells_of(line.place)):
            allowed = allowed_by(rule, contents, typed) if rule.refuses else None
            if allowed is None:
                continue
            if line.field.shape in ("choice", "text"):
                _check_words(line, rule, allowed)
            else:
                scope.append(_condition(line, rule, allowed))
    return attrs.evolve(section, scope=tuple(scope))


def _condition(line: InputLine, rule: Validation, allowed: Allowed) -> Condition:
    return Condition(
        "input",
        line.id,
        reason=f"data validation: {rule.cells} takes nothing else",
        sentence=f"{line.id}: {allowed.words}",
        at_least=allowed.at_least,
        at_most=allowed.at_most,
        resolution=allowed.step,
        above=allowed.above,
        below=allowed.below,
        one_of=allowed.numbers,
        of_cells=True,
    )


def _check_words(line: InputLine, rule: Validation, allowed: Allowed) -> None:
    """Raises CalculatorFileError for a choice whose words the cell refuses; names are any text."""
    if line.field.shape == "text" or allowed.listed is None:
        return
    words = line.words or {word: word for word in line.field.choices}
    refused = [word for word in words.values() if not allowed.takes(word)]
    if refused:
        raise CalculatorFileError(
            f"input {line.id}: {rule.cells} refuses {refused[0]!r} (data validation); write under "
            f"words {allowed.words} for each that it knows, and leave the others out"
        )


def told_rules(contents: WorkbookContents, inputs: Sequence[CellRef]) -> list[str]:
    """Every rule of the input cells in a sentence, those that are not followed too."""
    return [_told(rule, allowed_by(rule, contents, inputs)) for rule in rules_for(contents, inputs)]


def _told(rule: Validation, allowed: Allowed | None) -> str:
    if allowed is None:
        limits = " and ".join(text for text in (rule.first, rule.second) if text)
        return f"{rule.cells}: {rule.kind} ({limits}), not followed here"
    manner = "" if rule.refuses else ", others after a warning"
    return f"{rule.cells}: {allowed.words}{manner}"
