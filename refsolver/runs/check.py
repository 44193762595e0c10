"""A check: the catalogue is put to a calculator, judged, and made into a record."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import UTC, datetime
from typing import Any

import attrs

from refsolver.calculators.contract import Asked, Calculator, Received
from refsolver.calculators.file import CalculatorFile, FamilySection, OutputLine
from refsolver.calculators.mapping import Handed, NotApplicable, hand_over, places_of
from refsolver.calculators.opening import open_calculator
from refsolver.catalogue.catalogue import Catalogue
from refsolver.catalogue.schema import Case
from refsolver.checking.coverage import Judged, coverage_of, verdict_counts
from refsolver.checking.judging import judge
from refsolver.checking.overall import overall
from refsolver.quantities.kinds import TableKind
from refsolver.records.runs import CaseRun, CheckRun
from refsolver.runs.questions import Question, questions_for
from refsolver.runs.selfcheck import check_case
from refsolver.statics.prover import Reference, keys_of_table, prove
from refsolver.statics.registry import family

__all__ = ["run_check", "with_outputs"]

_BATCH = 64


def run_check(
    file: CalculatorFile,
    catalogue: Catalogue,
    *,
    digits: int = 30,
    only: Callable[[Case], bool] = lambda case: True,
    progress: Callable[[Iterable[Any], int], Iterable[Any]] | None = None,
) -> CheckRun:
    """Puts every applicable case to the calculator and judges the answers.

    ``only`` restricts the cases (a trial, a short set). Raises CalculatorFileError where
    the calculator cannot be opened; whatever it does once open is a finding.
    """
    started = datetime.now(UTC)
    calculator = open_calculator(file)
    file = calculator.file
    try:
        questions = [
            question
            for question in questions_for(file, catalogue, calculator.takes_doubles)
            if only(question.case)
        ]
        prepared = [_prepared(question, calculator) for question in questions]
        asked = [index for index, run in enumerate(prepared) if run.asked]
        batches = [asked[i : i + _BATCH] for i in range(0, len(asked), _BATCH)]
        for batch in batches if progress is None else progress(batches, len(batches)):
            answers = calculator.ask([_asked(prepared[i]) for i in batch])
            for i, received in zip(batch, answers, strict=True):
                prepared[i] = _judged(prepared[i], received, file, calculator, digits)
        identity = calculator.identity()
    finally:
        calculator.close()
    return _finished(file, catalogue, identity, digits, prepared, started)


def _finished(
    file: CalculatorFile,
    catalogue: Catalogue,
    identity: Mapping[str, Any],
    digits: int,
    runs: Sequence[CaseRun],
    started: datetime,
) -> CheckRun:
    coverage = coverage_of(
        file,
        [
            Judged(run.case.family, run.counts, run.handed, run.received, run.findings)
            for run in runs
            if run.handed is not None and run.received is not None
        ],
    )
    selfcheck = tuple(
        answer
        for run in runs
        if run.asked and run.case.published
        for answer in check_case(run.case, digits)
    )
    wrong = sum(a.agreement in ("disagree", "not proven") for a in selfcheck)
    verdicts = verdict_counts(f for run in runs for f in run.findings)
    return CheckRun(
        file=file,
        catalogue=catalogue,
        identity=identity,
        digits=digits,
        runs=tuple(runs),
        selfcheck=selfcheck,
        coverage=coverage,
        verdicts=verdicts,
        overall=overall(verdicts, coverage, file.least_cases, wrong),
        started=started,
        ended=datetime.now(UTC),
    )


def _prepared(question: Question, calculator: Calculator) -> CaseRun:
    case, section = question.case, question.section
    try:
        handed = hand_over(
            case, section, takes_doubles=calculator.takes_doubles, placement=question.placement
        )
        outputs = _expanded(section, handed)
    except NotApplicable as outside:
        return CaseRun(case, question.made, condition=str(outside))
    counts = not question.made and _counts(case, section)
    return CaseRun(case, question.made, handed=handed, outputs=outputs, counts=counts)


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
        if line.view.key != "*" or not isinstance(kind, TableKind):
            found.append(line)
            continue
        keys = keys_of_table(owner, handed.given, line.view.answer)
        places = places_of(line.place, len(keys))
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


def _asked(run: CaseRun) -> Asked:
    assert run.handed is not None
    return Asked(run.case.id, run.case.family, run.handed.slots, run.outputs)


def _judged(
    run: CaseRun, received: Received, file: CalculatorFile, calculator: Calculator, digits: int
) -> CaseRun:
    assert run.handed is not None
    handed = run.handed
    if received.handed:
        section = file.section(run.case.family)
        handed = hand_over(
            run.case, section, takes_doubles=calculator.takes_doubles, as_sent=received.handed
        )
    owner, given = family(run.case.family), handed.given
    views = list(dict.fromkeys(line.view for line in run.outputs))

    def reprove(wanted: int) -> Reference:
        return prove(owner, given, views, digits=wanted)

    reference = reprove(digits)
    findings = judge(
        run.outputs, received, file.refusals, reference, reprove, given, run.case.units
    )
    return attrs.evolve(
        run, handed=handed, received=received, reference=reference, findings=tuple(findings)
    )
