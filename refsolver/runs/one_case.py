"""One case, from the question to its findings; a check and a verification share it."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

import attrs
from flint import fmpq

from refsolver.calculators.contract import Asked, Received
from refsolver.calculators.file import CalculatorFile, FamilySection, Refusals
from refsolver.calculators.lines import OutputLine
from refsolver.calculators.mapping import Handed, NotApplicable, hand_over, places_of
from refsolver.catalogue.schema import Case
from refsolver.checking.equality import SolvedByAlgebra, proven_equal
from refsolver.checking.judging import Finding, judge
from refsolver.quantities.kinds import TableKind
from refsolver.quantities.units import UNITLESS, UnitSystem
from refsolver.records.runs import CaseRun
from refsolver.runs.borders import beside, may_be_beside_a_border, on_a_border, reported_in_doubles
from refsolver.runs.questions import Question, in_system, units_of
from refsolver.statics.contract import Family
from refsolver.statics.prover import keys_of_tables, prove
from refsolver.statics.reference import Reference
from refsolver.statics.registry import family

__all__ = [
    "Proving",
    "asked_of",
    "judged_readings",
    "judged_run",
    "prepared_run",
    "rows_of",
    "with_outputs",
]

Proving = Callable[..., Reference]
"""The prover, or one that keeps what it has proven: the arguments are those of ``prove``."""


def prepared_run(question: Question, takes_doubles: bool) -> CaseRun:
    """The case handed over, or not applicable for the reason stated."""
    case, section = question.case, question.section
    try:
        handed = hand_over(case, section, takes_doubles=takes_doubles, placement=question.placement)
        outputs = _expanded(section, handed, question.placement)
    except NotApplicable as outside:
        return CaseRun(case, question.made, condition=str(outside))
    counts = not question.made and _counts(case, section)
    return CaseRun(
        case,
        question.made,
        handed=handed,
        outputs=outputs,
        counts=counts,
        placement=question.placement,
    )


def _counts(case: Case, section: FamilySection) -> bool:
    """Cases from memory never count towards coverage; a file may require reading at source."""
    if section.read_at_source:
        return case.source.read == "read"
    return case.source.read != "from memory"


Placement = Mapping[str, tuple[int, ...]]


def _expanded(
    section: FamilySection, handed: Handed, placement: Placement | None = None
) -> tuple[OutputLine, ...]:
    """Output lines with ``key = "*"`` become one line a key, in order of the keys.

    Where the rows of a table were put elsewhere, what is read of a row is read there too.
    """
    found: list[OutputLine] = []
    owner = family(section.family)
    tables: dict[str, list[str]] | None = None
    apart: Mapping[str, Sequence[str]] = {}
    moved: Mapping[str, Sequence[str]] = {}
    for line in section.outputs:
        kind = owner.answers[line.view.answer].kind
        if not isinstance(kind, TableKind):
            found.append(line)
            continue
        if tables is None:
            tables = keys_of_tables(owner, handed.given)
            if placement:
                apart, moved = _moved(owner, handed.given, placement)
        keys = tables.get(line.view.answer, [])
        if line.view.key != "*":
            if line.view.key not in keys:
                raise NotApplicable(f"the case has no {kind.keyed_by} {line.view.key!r}")
            found.append(line)
            continue
        rows = rows_of(apart.get(line.view.answer, keys), moved, placement or {})
        most = max(rows, default=-1) + 1
        named = "{key}" in line.place
        places = [line.place] * most if named else places_of(line.place, most)
        if places is None:
            raise NotApplicable(f"{len(keys)} {line.view.answer}, more than its places")
        found += [
            attrs.evolve(
                line,
                view=attrs.evolve(line.view, key=key),
                place=(places[row] if row < len(places) else line.place).replace("{key}", key),
                line=line.id,
            )
            for key, row in zip(keys, rows, strict=True)
        ]
    return tuple(found)


def rows_of(
    keys: Sequence[str], rows: Mapping[str, Sequence[str]], placement: Placement
) -> Sequence[int]:
    """Which row of the calculator each key stands in: its own place where rows were moved.

    ``rows`` has the keys that the rows of the moved tables would have. Keys of anything else
    (the supports of a beam whose loads were moved) stay where they are, however many there are.
    """
    for name, known in rows.items():
        if keys and set(keys) <= set(known):
            moved = [placement[name][known.index(key)] for key in keys]
            # Where some rows have no such answer, the others' stand one below the other.
            return moved if len(keys) == len(known) else [sorted(moved).index(m) for m in moved]
    if sorted(keys) == sorted(key for known in rows.values() for key in known):
        below: list[int] = []  # several tables, one below the other
        for name in rows:
            below += [len(below) + row for row in placement[name]]
        return below
    found = list(range(len(keys)))
    for name, known in rows.items():  # rows among other keys, the supports of a cable, say
        if set(known) <= set(keys):
            stand = [keys.index(key) for key in known]
            for row, place in zip(stand, placement[name], strict=True):
                found[row] = stand[place]
    return found


def _moved(
    owner: Family, given: Any, placement: Placement
) -> tuple[Mapping[str, Sequence[str]], Mapping[str, Sequence[str]]]:
    """The keys of each table of answers, and the keys of the rows of each moved table.

    Rows of two tables may have one name, and keys are numbered like rows without being
    theirs; so each row is given a name of its own. Where the case refers to it by its name, the
    rows go by the names they have, and the tables of answers, left out, by their own keys.
    """
    named = {
        name: tuple(
            attrs.evolve(item, name=f"{name}, row {number}")
            for number, item in enumerate(getattr(given, name), 1)
        )
        for name in placement
        if all(hasattr(item, "name") for item in getattr(given, name))
    }
    try:
        given = attrs.evolve(given, **named)
        tables = keys_of_tables(owner, given)
    except ValueError:
        return {}, _names_of_rows(given, placement)
    return tables, {name: [item.name for item in items] for name, items in named.items()}


def _names_of_rows(given: Any, placement: Placement) -> dict[str, list[str]]:
    rows = {}
    for name in placement:
        word = name.replace("_", " ").removesuffix("s")
        items = enumerate(getattr(given, name), 1)
        rows[name] = [getattr(item, "name", "") or f"{word} {n}" for n, item in items]
    return rows


def with_outputs(case: Case, section: FamilySection, handed: Handed) -> Asked:
    """The question that a case handed over by hand asks (a trial)."""
    return Asked(case.id, case.family, handed.slots, _expanded(section, handed))


def asked_of(run: CaseRun) -> Asked:
    """The question to put to the calculator."""
    assert run.handed is not None
    return Asked(run.case.id, run.case.family, run.handed.slots, run.outputs)


def judged_run(
    run: CaseRun,
    received: Received,
    file: CalculatorFile,
    takes_doubles: bool,
    digits: int,
    thorough: bool = True,
    proving: Proving = prove,
) -> CaseRun:
    """The run with its findings: the reference is solved for what was really handed over.

    Unless ``thorough`` the proof goes without residuals and second opinion.
    """
    assert run.handed is not None
    handed = run.handed
    if received.handed:
        handed = hand_over(
            run.case,
            file.section(run.case.family),
            takes_doubles=takes_doubles,
            placement=run.placement,
            as_sent=received.handed,
        )
    reference, findings = judged_readings(
        run.case,
        handed,
        run.outputs,
        received,
        file.refusals,
        digits,
        thorough,
        proving,
        units_of(file.section(run.case.family)),
    )
    return attrs.evolve(
        run, handed=handed, received=received, reference=reference, findings=tuple(findings)
    )


def judged_readings(
    case: Case,
    handed: Handed,
    outputs: Sequence[OutputLine],
    received: Received,
    refusals: Refusals,
    digits: int,
    thorough: bool = True,
    proving: Proving = prove,
    own: UnitSystem | None = None,
) -> tuple[Reference, list[Finding]]:
    """The reference for what was handed over, and a finding for each reading of it."""
    owner, given = family(case.family), handed.given
    views = list(dict.fromkeys(line.view for line in outputs))
    solved = SolvedByAlgebra(owner, given)

    def reprove(wanted: int) -> Reference:
        return proving(
            owner, given, views, digits=wanted, residuals=thorough, second_opinion=thorough
        )

    def exactly(line: OutputLine, value: fmpq) -> bool:
        return proven_equal(solved, case.units, line, value)

    reference = reprove(digits)
    findings = judge(outputs, received, refusals, reference, reprove, given, case.units, exactly)
    lines = {line.id: line for line in outputs}
    findings = reported_in_doubles(findings, lines, case.units, owner, given)
    if own is not None and UNITLESS not in (own, case.units) and own != case.units:
        findings = reported_in_doubles(
            findings, lines, own, owner, in_system(given, case.units, own)
        )
    if handed.inexact and may_be_beside_a_border(findings, lines, case):
        findings = _as_stated(
            findings, case, outputs, received, refusals, digits, thorough, proving
        )
    return reference, findings


def _as_stated(
    findings: Sequence[Finding],
    case: Case,
    outputs: Sequence[OutputLine],
    received: Received,
    refusals: Refusals,
    digits: int,
    thorough: bool,
    proving: Proving,
) -> list[Finding]:
    """The findings, those beside a border and right for the case as stated not applicable."""
    exact = Handed((), case.given, ())
    _, stated = judged_readings(case, exact, outputs, received, refusals, digits, thorough, proving)
    lines = {line.id: line for line in outputs}
    border = on_a_border(findings, stated)
    return [
        beside(found, other, lines[found.output], border)
        for found, other in zip(findings, stated, strict=True)
    ]
