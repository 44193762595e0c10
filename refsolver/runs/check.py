"""A check: the catalogue is put to a calculator, judged, and made into a record."""

from __future__ import annotations

import contextlib
import time
from collections.abc import Callable, Generator, Iterator, Mapping, Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import attrs

from refsolver.calculators.accepted import unknown_case
from refsolver.calculators.bounds import bounded
from refsolver.calculators.contract import Calculator, Received
from refsolver.calculators.file import CalculatorFile, CalculatorFileError
from refsolver.calculators.opening import open_calculator
from refsolver.catalogue.catalogue import Catalogue
from refsolver.catalogue.schema import Case
from refsolver.checking.coverage import Judged, coverage_of, verdict_counts
from refsolver.checking.overall import overall
from refsolver.records.journal import Journal
from refsolver.records.runs import CaseRun, CheckRun
from refsolver.runs.detection import detection
from refsolver.runs.one_case import asked_of, judged_run, prepared_run
from refsolver.runs.progress import Progress, silent
from refsolver.runs.questions import questions_for
from refsolver.runs.selfcheck import check_case
from refsolver.runs.short_set import short_set, with_counts
from refsolver.runs.situations import Situations
from refsolver.runs.stopping import Stopping

__all__ = ["OpenCheck", "concluded", "opened_check", "run_check", "shortened"]

_MOST = 64
"""Cases put to a calculator in one go, at most."""

_QUICK, _SLOW = 0.25, 1.0
"""Seconds for which a batch is soon made larger, and smaller: what is lost at most where a
run is ended by force is about one batch, or one case where a single one takes longer."""


@attrs.define
class OpenCheck:
    """An opened calculator with everything it is to be asked."""

    calculator: Calculator
    file: CalculatorFile
    catalogue: Catalogue
    digits: int
    runs: list[CaseRun]
    started: datetime
    short: Mapping[str, Any] | None = None
    """Where only the short set is put: what it is, and the cases it leaves out."""

    def put(
        self,
        journal: Journal | None = None,
        stopping: Stopping | None = None,
        progress: Progress | None = None,
    ) -> None:
        """Puts every case and judges what comes back, until all are judged or it is to stop.

        What ``journal`` has already is not asked again; what comes back goes into it.
        """
        stopping = stopping or Stopping()
        known = {} if journal is None else journal.answered
        left: list[int] = []
        for index, run in enumerate(self.runs):
            if stopping.asked:
                return
            if run.asked and run.case.id in known:
                self._judge(index, known[run.case.id])
            elif run.asked:
                left.append(index)
        done = sum(run.judged for run in self.runs)
        answers = self._answers(left, stopping)
        with contextlib.closing(answers):
            for index, received in (progress or silent)(answers, len(left) + done, done):
                if journal is not None:
                    journal.add(self.runs[index].case.id, received)
                self._judge(index, received)

    def _answers(
        self, left: list[int], stopping: Stopping
    ) -> Generator[tuple[int, Received], None, None]:
        """What comes back, in order, with the place of its case; ends early to stop."""
        size, at = 1, 0
        while at < len(left):
            batch = left[at : at + size]
            begun = time.monotonic()
            answers = self.calculator.ask([asked_of(self.runs[i]) for i in batch])
            for index in batch:
                try:
                    received = stopping.next_of(answers)
                except KeyboardInterrupt:
                    return
                yield index, bounded(received)
            at += len(batch)
            seconds = time.monotonic() - begun
            if seconds < _QUICK:
                size = min(2 * size, _MOST)
            elif seconds > _SLOW:
                size = max(size // 2, 1)

    def _judge(self, index: int, received: Received) -> None:
        doubles = self.calculator.takes_doubles
        self.runs[index] = judged_run(self.runs[index], received, self.file, doubles, self.digits)

    def finished(self, identity: dict[str, Any]) -> CheckRun:
        """The run with its coverage, its self-check and its overall result."""
        return concluded(
            self.file,
            self.catalogue,
            self.runs,
            identity=identity,
            takes_doubles=self.calculator.takes_doubles,
            digits=self.digits,
            started=self.started,
            short=self.short,
        )


def concluded(
    file: CalculatorFile,
    catalogue: Catalogue,
    runs: Sequence[CaseRun],
    *,
    identity: Mapping[str, Any],
    takes_doubles: bool,
    digits: int,
    started: datetime,
    short: Mapping[str, Any] | None = None,
) -> CheckRun:
    """What judged cases come to: coverage, self-check, counts and overall result."""
    runs = tuple(runs)
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
        if run.judged and run.case.published
        for answer in check_case(run.case, digits)
    )
    wrong = sum(a.agreement in ("disagree", "not proven") for a in selfcheck)
    verdicts = verdict_counts(f for run in runs for f in run.findings)
    asked, judged = sum(run.asked for run in runs), sum(run.judged for run in runs)
    return CheckRun(
        file=file,
        catalogue=catalogue,
        identity=dict(identity),
        takes_doubles=takes_doubles,
        digits=digits,
        runs=runs,
        selfcheck=selfcheck,
        coverage=coverage,
        verdicts=verdicts,
        overall=overall(verdicts, coverage, file.least_cases, wrong, asked - judged, asked),
        started=started,
        ended=datetime.now(UTC),
        complete=asked == judged,
        short=short,
    )


@contextlib.contextmanager
def opened_check(
    file: CalculatorFile,
    catalogue: Catalogue,
    *,
    digits: int = 30,
    exchange: Path | None = None,
    only: Callable[[Case], bool] = lambda case: True,
    short: bool = False,
) -> Iterator[OpenCheck]:
    """The calculator, opened, with its questions prepared; closed in the end.

    With ``short`` only the questions of the short set are left.
    Raises CalculatorFileError where the calculator cannot be opened, or where its file
    accepts a deviation of a case that there is not.
    """
    started = datetime.now(UTC)
    calculator = open_calculator(file, exchange)
    try:
        held: frozenset[str] | None = getattr(calculator, "cases", None)
        doubles = calculator.takes_doubles
        questions = list(questions_for(calculator.file, catalogue, doubles, held))
        wrong = unknown_case(file.accepted, {*catalogue.paths, *(q.case.id for q in questions)})
        if wrong:
            raise CalculatorFileError(f"{file.path}: {wrong}")
        runs = [
            prepared_run(question, doubles)
            for question in questions
            if only(question.case) and (held is None or question.case.id in held)
        ]
        says = None
        if short:
            runs, says = shortened(calculator.file, runs)
        yield OpenCheck(calculator, calculator.file, catalogue, digits, runs, started, says)
    finally:
        calculator.close()


def shortened(
    file: CalculatorFile, prepared: list[CaseRun]
) -> tuple[list[CaseRun], dict[str, Any]]:
    """Of all prepared cases those of the short set, and what to say of it."""
    chosen = short_set(detection(prepared, Situations(file)))
    chosen = with_counts(chosen, prepared, file.least_cases)
    asked = [run.case.id for run in prepared if run.asked]
    return [run for run in prepared if run.case.id in chosen.all], {
        "says": chosen.words(),
        "cases": len(chosen.all),
        "of": len(asked),
        "left_out": [id for id in asked if id not in chosen.all],
        "outside_scope": [run.case.id for run in prepared if not run.asked],
    }


def run_check(
    file: CalculatorFile,
    catalogue: Catalogue,
    *,
    digits: int = 30,
    exchange: Path | None = None,
    only: Callable[[Case], bool] = lambda case: True,
    progress: Progress | None = None,
    short: bool = False,
) -> CheckRun:
    """Puts every applicable case to the calculator and judges the answers.

    ``exchange`` is a folder that the program of use has filled. ``only`` restricts the
    cases (a trial); with ``short`` only the short set is put. Raises CalculatorFileError
    where the calculator cannot be opened; whatever it does once open is a finding.
    """
    with opened_check(
        file, catalogue, digits=digits, exchange=exchange, only=only, short=short
    ) as check:
        check.put(progress=progress)
        identity = check.calculator.identity()
    return check.finished(identity)
