"""One case, from the question to its findings; a check and a verification share it."""

from __future__ import annotations

from collections.abc import Sequence

import attrs
from flint import fmpq

from refsolver.calculators.contract import Asked, Received
from refsolver.calculators.file import CalculatorFile, FamilySection, OutputLine, Refusals
from refsolver.calculators.mapping import Handed, NotApplicable, hand_over, places_of
from refsolver.catalogue.schema import Case
from refsolver.checking.equality import proven_equal
from refsolver.checking.judging import Finding, judge
from refsolver.quantities.kinds import TableKind
from refsolver.records.runs import CaseRun
from refsolver.runs.questions import Question
from refsolver.statics.prover import Reference, keys_of_table, prove
from refsolver.statics.registry import family

__all__ = ["asked_of", "judged_readings", "judged_run", "prepared_run", "with_outputs"]


def prepared_run(question: Question, takes_doubles: bool) -> CaseRun:
    """The case handed over, or not applicable for the reason stated."""
    case, section = question.case, question.section
    try:
        handed = hand_over(case, section, takes_doubles=takes_doubles, placement=question.placement)
        outputs = _expanded(section, handed)
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


def _expanded(section: FamilySection, handed: Handed) -> tuple[OutputLine, ...]:
    """Output lines with ``key = "*"`` become one line a key, in order of the keys."""
    found: list[OutputLine] = []
    owner = family(section.family)
    for line in section.outputs:
        kind = owner.answers[line.view.answer].kind
        if not isinstance(kind, TableKind):
            found.append(line)
            continue
        keys = keys_of_table(owner, handed.given, line.view.answer)
        if line.view.key != "*":
            if line.view.key not in keys:
                raise NotApplicable(f"the case has no {kind.keyed_by} {line.view.key!r}")
            found.append(line)
            continue
        named = "{key}" in line.place
        places = [line.place] * len(keys) if named else places_of(line.place, len(keys))
        if places is None:
            raise NotApplicable(f"{len(keys)} {line.view.answer}, more than its places")
        found += [
            attrs.evolve(
                line,
                view=attrs.evolve(line.view, key=key),
                place=place.replace("{key}", key),
                line=line.id,
            )
            for key, place in zip(keys, places, strict=False)
        ]
    return tuple(found)


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
        run.case, handed, run.outputs, received, file.refusals, digits, thorough
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
) -> tuple[Reference, list[Finding]]:
    """The reference for what was handed over, and a finding for each reading of it."""
    owner, given = family(case.family), handed.given
    views = list(dict.fromkeys(line.view for line in outputs))

    def reprove(wanted: int) -> Reference:
        return prove(
            owner, given, views, digits=wanted, residuals=thorough, second_opinion=thorough
        )

    def exactly(line: OutputLine, value: fmpq) -> bool:
        return proven_equal(owner, given, case.units, line, value)

    reference = reprove(digits)
    findings = judge(outputs, received, refusals, reference, reprove, given, case.units, exactly)
    return reference, findings
