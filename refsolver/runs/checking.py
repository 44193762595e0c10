"""A check as a user asks for it: files in, record and reports out."""

from __future__ import annotations

import contextlib
from collections import Counter
from collections.abc import Mapping, Sequence
from datetime import datetime
from pathlib import Path
from typing import Any

import attrs
from tabulate import tabulate

from refsolver.calculators.file import CalculatorFile, CalculatorFileError, read_calculator_file
from refsolver.catalogue.catalogue import Catalogue
from refsolver.catalogue.userfile import write_text
from refsolver.records.building import circumstances_of, content_of, same_run, suite_data
from refsolver.records.canonical import (
    RecordError,
    canonical,
    read_record,
    sealed,
    write_record,
)
from refsolver.records.changes import changes_since
from refsolver.records.journal import JOURNAL, Journal, JournalError
from refsolver.records.locking import locked
from refsolver.records.runs import CheckRun
from refsolver.reporting.accepted import acceptances, counted
from refsolver.reporting.pdf import browser
from refsolver.reporting.views import REPORTS, write_reports
from refsolver.runs.check import OpenCheck, opened_check
from refsolver.runs.detection import detection, detection_data
from refsolver.runs.diagnosis import diagnosis_data
from refsolver.runs.progress import Progress
from refsolver.runs.situations import Situations
from refsolver.runs.stopping import Stopping
from refsolver.runs.verifying import verify

__all__ = ["CheckResult", "check_and_report", "demo_files"]

RECORD = "record.json"
KEPT = "record-before.json"
"""The last complete record, kept while an incomplete one stands in its place."""


@attrs.frozen
class CheckResult:
    """What a check came to, and where everything was written."""

    record: dict[str, Any]
    folder: Path
    written: tuple[Path, ...]
    resumable: bool = True
    """Whether a run that was stopped can be gone on with, or is simply run again."""

    @property
    def result(self) -> str:
        return str(self.record["content"]["overall"]["result"])

    @property
    def complete(self) -> bool:
        return bool(self.record["content"]["overall"]["complete"])

    def summary(self) -> dict[str, Any]:
        content = self.record["content"]
        return {
            "calculator": content["calculator"]["name"],
            "result": self.result,
            "complete": self.complete,
            "because": content["overall"]["because"],
            "cases": content["counts"]["cases"],
            "readings": content["counts"]["readings"],
            "accepted": counted(acceptances(self.record)),
            "record": self.record["identity"]["content"],
            "files": [str(path) for path in self.written],
        }

    def text(self) -> str:
        content = self.record["content"]
        counts = content["counts"]
        accepted = counted(acceptances(self.record))
        lines = [
            f"{content['calculator']['name']}, version {content['calculator']['version']}: "
            f"{self.result.upper()}",
            *_first("  because: ", content["overall"]["because"], 12),
            *_first("  not applicable: ", _left_out(content), 5),
            *([f"short set: {content['short']['says']}"] if "short" in content else []),
            "",
            tabulate(
                [
                    [what, name, number]
                    for what in ("cases", "readings")
                    for name, number in counts[what].items()
                    if number
                ],
                headers=["", "", "number"],
            ),
            "",
            *(f"accepted deviations: {said}\n" for said in [accepted] if said),
            *(f"written: {path}" for path in self.written),
        ]
        return "\n".join(lines)

    def stopped(self) -> str:
        """How far a stopped run came, in words."""
        cases = self.record["content"]["counts"]["cases"]
        judged, left = cases["asked"], cases["not judged"]
        return (
            f"{judged} of {judged + left} cases judged; {self.folder / RECORD} and its reports "
            "are marked incomplete"
        )


def _first(head: str, said: Sequence[str], most: int) -> list[str]:
    """The first of some sentences, each under the head, and how many more there are."""
    more = [f"{head}and {len(said) - most} more, in the report"] if len(said) > most else []
    return [f"{head}{text}" for text in said[:most]] + more


def _left_out(content: Mapping[str, Any]) -> list[str]:
    """Why cases were not applicable, the commonest reason first, with how many each left out."""
    counted = Counter(
        case["condition"].partition(", not ")[0]
        for case in content["cases"].values()
        if case["state"] == "not applicable"
    )
    return [f"{n} case{'s' * (n > 1)}: {reason}" for reason, n in counted.most_common()]


def demo_files() -> list[Path]:
    """The calculator files of the shipped demonstration."""
    from refsolver import demo

    return sorted(Path(str(demo.__file__)).parent.glob("*.toml"))


def check_and_report(
    path: Path,
    out: Path | None,
    *,
    digits: int = 30,
    exchange: Path | None = None,
    pdf: bool = False,
    many: bool = False,
    resume: bool = False,
    short: bool = False,
    progress: Progress | None = None,
    stopping: Stopping | None = None,
    catalogue: Catalogue | None = None,
) -> CheckResult:
    """Runs the check of a calculator file and writes record and reports.

    ``out`` is the folder to write to (by default ``<file>-check`` in the working folder);
    ``exchange`` is a folder that the program of use has filled;
    with ``many`` each calculator has a folder of its own in it. A record already there is
    the previous one: what changed since in criteria, scope or mapping is said.
    With ``short`` only the short set of cases is put. ``catalogue`` is the one that came
    along unless another is given.

    A journal in the folder keeps what was answered until the record is complete; with
    ``resume`` a run that was cut short is gone on with. Where ``stopping`` asks for it the
    record is written as it is then, marked incomplete. Raises JournalError where a run
    cannot be gone on with, FolderInUse where another check is writing into the folder, and
    KeyboardInterrupt where nothing was judged yet.
    """
    file = read_calculator_file(path)
    folder = Path(f"{path.stem}-check") if out is None else out / path.stem if many else out
    stopping = stopping or Stopping()
    stopping.release()
    if pdf:
        browser()  # absent, it is said before the calculator is asked
    with opened_check(
        file, catalogue or Catalogue(), digits=digits, exchange=exchange, short=short
    ) as check:
        if resume and not check.calculator.resumable:
            raise CalculatorFileError(
                f"{path}: its answers lie ready in files, so there is nothing to resume; run the "
                "check again without --resume"
            )
        with locked(folder), contextlib.ExitStack() as stack:
            identity = check.calculator.identity()
            same = _same(check, identity)
            _tidy(folder)
            if resume and (record := _finished_before(folder, file, same)) is not None:
                return CheckResult(record, folder, _views(record, folder, pdf))
            stopping.hold()
            journal = _journal(check, folder, same, resume)
            if journal is not None:
                stack.callback(journal.close)
            check.put(journal, stopping, progress)
            if stopping.asked and not any(run.judged for run in check.runs):
                raise KeyboardInterrupt
            before, identity = identity, check.calculator.identity()
            if journal is not None and canonical(before) != canonical(identity):
                raise CalculatorFileError(
                    f"{path}: the calculator itself was changed while it was checked, so that "
                    "nobody can say which of them answered; run the check again"
                )
            check.calculator.close()
            return _written(check.finished(identity), folder, pdf, journal)


def _same(check: OpenCheck, identity: dict[str, Any]) -> dict[str, Any]:
    cases = [(run.case.id, run.case.sha256) for run in check.runs]
    same = same_run(check.file, identity, suite_data(check.catalogue, check.digits), cases)
    return same | {"whether only the short set is put": check.short is not None}


def _journal(check: OpenCheck, folder: Path, same: dict[str, Any], resume: bool) -> Journal | None:
    """Where answers are kept; None for a calculator whose answers lie ready in files."""
    path = folder / JOURNAL
    if not check.calculator.resumable:
        return None
    if resume and path.exists():
        return Journal.resume(path, same)
    return Journal.begin(path, same, check.started)


def _tidy(folder: Path) -> None:
    """Removes what a run that was killed while it wrote has left: nobody else writes here."""
    for name in (RECORD, KEPT, *REPORTS):
        for left in folder.glob(f".{name}.*"):
            left.unlink(missing_ok=True)


def _views(record: dict[str, Any], folder: Path, pdf: bool) -> tuple[Path, ...]:
    return (folder / RECORD, *write_reports(record, folder, pdf=pdf))


def _finished_before(
    folder: Path, file: CalculatorFile, same: dict[str, Any]
) -> dict[str, Any] | None:
    """The complete record of this very check, where one lies in the folder and no journal.

    It is verified like any other, for nobody is asked again what it says. Raises JournalError
    where it does not hold.
    """
    record = _read(folder / RECORD)
    if record is None or (folder / JOURNAL).exists():
        return None
    content = record["content"]
    if not content["overall"]["complete"]:
        return None
    cases = [(id, content["cases"][id]["sha256"]) for id in content["order"]]
    before = same_run(file, content["calculator"]["identity"], content["suite"], cases)
    before["the calculator file"] = content["calculator"]["file"]["sha256"]
    before["whether only the short set is put"] = "short" in content
    if canonical(before) != canonical(same):
        return None
    found = verify(folder / RECORD)
    if not found.intact:
        raise JournalError(
            f"{folder / RECORD}: is not as a check writes it "
            f"({(*found.altered, *found.not_reproduced)[0]}); run the check again without --resume "
            "to start over"
        )
    return record


def _written(run: CheckRun, folder: Path, pdf: bool, journal: Journal | None) -> CheckResult:
    """Record and reports in the folder; the journal has served where the run is complete."""
    if journal is not None:
        run = attrs.evolve(
            run,
            started=datetime.fromisoformat(journal.started),
            continued=tuple(journal.continued),
        )
    situations = Situations(run.file)
    content = content_of(run) | {
        "diagnosis": diagnosis_data(run, situations),
        "detection": detection_data(detection(run.runs, situations)),
    }
    circumstances = circumstances_of(run)
    before = _read(folder / RECORD)
    changes = _changes(before, folder, content, circumstances["started"])
    record = sealed(content, circumstances | {"changes": changes})
    if not run.complete and before is not None and before["content"]["overall"]["complete"]:
        write_text(folder / KEPT, (folder / RECORD).read_bytes())
    write_record(record, folder / RECORD)
    written = _views(record, folder, pdf)
    if run.complete:
        (folder / KEPT).unlink(missing_ok=True)
        if journal is not None:
            journal.remove()
    return CheckResult(record, folder, written, resumable=journal is not None)


def _changes(
    before: dict[str, Any] | None, folder: Path, content: dict[str, Any], started: str
) -> dict[str, Any]:
    """What changed since the previous record: the last complete one, else an incomplete one.

    What an earlier part of this very run wrote is not previous; what it said still holds.
    """
    if before is not None and not before["content"]["overall"]["complete"]:
        circumstances: dict[str, Any] = before["circumstances"]
        if circumstances["started"] == started:
            return dict(circumstances["changes"])
        before = _read(folder / KEPT) or before
    return changes_since(before, content)


def _read(path: Path) -> dict[str, Any] | None:
    if not path.exists():
        return None
    try:
        return read_record(path)
    except RecordError:
        return None
