"""A check as a user asks for it: files in, record and reports out."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

import attrs
from tabulate import tabulate

from refsolver.calculators.file import CalculatorFileError, read_calculator_file
from refsolver.calculators.mapping import NotApplicable, hand_over
from refsolver.calculators.opening import open_calculator
from refsolver.catalogue.catalogue import Catalogue
from refsolver.records.building import circumstances_of, content_of
from refsolver.records.canonical import RecordError, read_record, sealed, write_record
from refsolver.records.changes import changes_since
from refsolver.reporting.views import write_reports
from refsolver.runs.check import run_check
from refsolver.runs.diagnosis import diagnosis_data
from refsolver.runs.one_case import with_outputs
from refsolver.runs.questions import with_units
from refsolver.runs.solving import read_any_case

__all__ = ["CheckResult", "check_and_report", "demo_files", "trial_text"]

RECORD = "record.json"


@attrs.frozen
class CheckResult:
    """What a check came to, and where everything was written."""

    record: dict[str, Any]
    folder: Path
    written: tuple[Path, ...]

    @property
    def result(self) -> str:
        return str(self.record["content"]["overall"]["result"])

    def summary(self) -> dict[str, Any]:
        content = self.record["content"]
        return {
            "calculator": content["calculator"]["name"],
            "result": self.result,
            "because": content["overall"]["because"],
            "cases": content["counts"]["cases"],
            "readings": content["counts"]["readings"],
            "record": self.record["identity"]["content"],
            "files": [str(path) for path in self.written],
        }

    def text(self) -> str:
        content = self.record["content"]
        counts = content["counts"]
        lines = [
            f"{content['calculator']['name']}, version {content['calculator']['version']}: "
            f"{self.result.upper()}",
            *(f"  because: {reason}" for reason in content["overall"]["because"][:12]),
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
            *(f"written: {path}" for path in self.written),
        ]
        return "\n".join(lines)


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
    progress: Callable[[Iterable[Any], int], Iterable[Any]] | None = None,
    catalogue: Catalogue | None = None,
) -> CheckResult:
    """Runs the check of a calculator file and writes record and reports.

    ``out`` is the folder to write to (by default ``<file>-check`` in the working folder);
    ``exchange`` is a folder that the program of use has filled;
    with ``many`` each calculator has a folder of its own in it. A record already there is
    the previous one: what changed since in criteria, scope or mapping is said.
    ``catalogue`` is the one that came along unless another is given.
    """
    file = read_calculator_file(path)
    folder = Path(f"{path.stem}-check") if out is None else out / path.stem if many else out
    previous = _previous(folder / RECORD)
    run = run_check(
        file, catalogue or Catalogue(), digits=digits, exchange=exchange, progress=progress
    )
    content = content_of(run) | {"diagnosis": diagnosis_data(run)}
    circumstances = circumstances_of(run) | {"changes": changes_since(previous, content)}
    record = sealed(content, circumstances)
    write_record(record, folder / RECORD)
    return CheckResult(record, folder, (folder / RECORD, *write_reports(record, folder, pdf=pdf)))


def _previous(path: Path) -> dict[str, Any] | None:
    if not path.exists():
        return None
    try:
        return read_record(path)
    except RecordError:
        return None


def trial_text(path: Path, name: str) -> str:
    """One case put to the calculator: exactly what is handed over, sent and received."""
    file = read_calculator_file(path)
    case = read_any_case(name)
    if case.family not in [section.family for section in file.sections]:
        raise CalculatorFileError(f"{path}: no [[family]] {case.family}, which {name} asks for")
    calculator = open_calculator(file)
    try:
        section = calculator.file.section(case.family)
        case = with_units(case, section)
        handed = hand_over(case, section, takes_doubles=calculator.takes_doubles)
        question = with_outputs(case, section, handed)
        trial = getattr(calculator, "trial", None)
        shown: dict[str, Any] = (
            trial(question) if trial else {"received": calculator.ask([question])[0]}
        )
    except NotApplicable as outside:
        return f"{name} is not applicable: {outside}"
    finally:
        calculator.close()
    received = shown["received"]
    parts = [
        f"{case.title}\n{case.statement}",
        tabulate(
            [[x.place, x.says, x.case_value, x.handed_value, x.unit] for x in handed.leaves],
            headers=["place", "the calculator's words", "case", "handed over", "unit"],
            disable_numparse=True,
        ),
    ]
    for name, sent in shown.get("sent", {}).items():
        parts.append(f"sent as {name}:\n{sent.decode('utf-8', 'replace')}")
    for name, found in shown.get("in_echo", {}).items():
        parts.append(f"CAUTION: pattern {name} also matches the text sent: {found}")
    if shown.get("unprinted"):
        parts.append(f"CAUTION: never printed by the template: {', '.join(shown['unprinted'])}")
    for name, raw in received.raw.items():
        if name not in ("sent",) and raw not in (b"", {}, ""):
            parts.append(f"received, {name}:\n{_readable(raw)}")
    if received.failure is not None:
        parts.append(f"no answer: {received.failure.kind}: {received.failure.detail}")
    parts.append(
        tabulate(
            [[place, json.dumps(dict(value))] for place, value in received.values.items()],
            headers=["place", "read"],
            disable_numparse=True,
        )
    )
    return "\n\n".join(parts)


def _readable(raw: Any) -> str:
    if isinstance(raw, bytes):
        return raw.decode("utf-8", "replace")
    return json.dumps(raw, default=str)
