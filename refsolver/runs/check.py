"""A check: the catalogue is put to a calculator, judged, and made into a record."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from refsolver.calculators.file import CalculatorFile
from refsolver.calculators.opening import open_calculator
from refsolver.catalogue.catalogue import Catalogue
from refsolver.catalogue.schema import Case
from refsolver.checking.coverage import Judged, coverage_of, verdict_counts
from refsolver.checking.overall import overall
from refsolver.records.runs import CaseRun, CheckRun
from refsolver.runs.one_case import asked_of, judged_run, prepared_run
from refsolver.runs.questions import questions_for
from refsolver.runs.selfcheck import check_case

__all__ = ["run_check"]

_BATCH = 64


def run_check(
    file: CalculatorFile,
    catalogue: Catalogue,
    *,
    digits: int = 30,
    exchange: Path | None = None,
    only: Callable[[Case], bool] = lambda case: True,
    progress: Callable[[Iterable[Any], int], Iterable[Any]] | None = None,
) -> CheckRun:
    """Puts every applicable case to the calculator and judges the answers.

    ``exchange`` is a folder that the program of use has filled. ``only`` restricts the
    cases (a trial, a short set). Raises CalculatorFileError where the calculator cannot be
    opened; whatever it does once open is a finding.
    """
    started = datetime.now(UTC)
    calculator = open_calculator(file, exchange)
    file = calculator.file
    try:
        held: frozenset[str] | None = getattr(calculator, "cases", None)
        questions = [
            question
            for question in questions_for(file, catalogue, calculator.takes_doubles, held)
            if only(question.case) and (held is None or question.case.id in held)
        ]
        doubles = calculator.takes_doubles
        prepared = [prepared_run(question, doubles) for question in questions]
        asked = [index for index, run in enumerate(prepared) if run.asked]
        batches = [asked[i : i + _BATCH] for i in range(0, len(asked), _BATCH)]
        for batch in batches if progress is None else progress(batches, len(batches)):
            answers = calculator.ask([asked_of(prepared[i]) for i in batch])
            for i, received in zip(batch, answers, strict=True):
                prepared[i] = judged_run(prepared[i], received, file, doubles, digits)
        identity = calculator.identity()
    finally:
        calculator.close()
    return _finished(file, catalogue, identity, doubles, digits, prepared, started)


def _finished(
    file: CalculatorFile,
    catalogue: Catalogue,
    identity: Mapping[str, Any],
    takes_doubles: bool,
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
        takes_doubles=takes_doubles,
        digits=digits,
        runs=tuple(runs),
        selfcheck=selfcheck,
        coverage=coverage,
        verdicts=verdicts,
        overall=overall(verdicts, coverage, file.least_cases, wrong),
        started=started,
        ended=datetime.now(UTC),
    )
