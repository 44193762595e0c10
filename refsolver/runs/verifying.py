"""Has a record been altered, can it be reproduced, and is this copy the validated one?

Reproducing needs the record alone: the text of each case and of the calculator file, what
was handed over and what was received are all in it. The references are proven again, the
verdicts taken again and the diagnosis made again, by the installed version.
"""

from __future__ import annotations

import hashlib
import tempfile
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

import attrs

from refsolver._version import __version__
from refsolver.calculators.contract import Failure, Received
from refsolver.calculators.file import CalculatorFile, FamilySection, read_calculator_file
from refsolver.calculators.scope import condition_from
from refsolver.catalogue.catalogue import Catalogue
from refsolver.catalogue.reading import read_case
from refsolver.catalogue.schema import CaseFileError, Work
from refsolver.catalogue.userfile import FileUnreadable, file_bytes
from refsolver.records.alterations import alterations, stated
from refsolver.records.building import suite_data
from refsolver.records.canonical import (
    RecordError,
    canonical,
    record_bytes,
    record_of,
    understood,
)
from refsolver.records.findings import findings_data
from refsolver.records.runs import CaseRun
from refsolver.reporting.views import REPORTS, report_texts
from refsolver.runs.detection import detection, detection_data
from refsolver.runs.diagnosis import diagnosis_data
from refsolver.runs.one_case import judged_run, prepared_run
from refsolver.runs.questions import Question, with_units
from refsolver.runs.restating import (
    case_differences,
    catalogue_differences,
    conclusion_differences,
)
from refsolver.runs.situations import Situations

__all__ = ["Verification", "copy_differences", "verify"]


@attrs.frozen
class Verification:
    """What verifying a record showed; every list is empty where all is well."""

    record: str
    altered: tuple[str, ...]
    not_reproduced: tuple[str, ...]
    copy: tuple[str, ...]
    reproduced: int
    """Readings whose reference and verdict came out again."""
    complete: bool
    """False for the record of a run that was stopped."""
    judged: int
    """Cases that were judged."""
    not_judged: int
    """Cases within the scope that a stopped run did not reach."""
    diagnosis: str
    """``reproduced``, ``not recorded``, ``not tried`` (readings were not reproduced), ``differs``,
    or ``of another version``: it differs, and other versions know other mistakes."""

    unchecked: str = ""
    """What could not be looked at, and why; "" where everything was."""
    reports: tuple[str, ...] = ()
    """Reports in the record's folder that do not say what the record says."""
    states: str = ""
    """The calculator, its version and the overall result, as the record has them."""

    @property
    def intact(self) -> bool:
        """Whether the record is unaltered and comes out again; of a copy it says nothing."""
        return not (self.altered or self.not_reproduced)

    @property
    def holds(self) -> bool:
        return self.intact and not self.copy and not self.reports

    def text(self, copy: Path | None = None, signed: bool | None = None) -> str:
        """What holds and what does not, each by itself: the record, a copy, a signature."""
        said = "holds" if self.intact and signed is not False else "DOES NOT HOLD"
        if signed and self.intact:
            said += ", signed"
        if not self.complete:
            said += (
                f"; INCOMPLETE: the run was stopped with {self.judged} of "
                f"{self.judged + self.not_judged} cases judged"
            )
        lines = [
            f"record {self.record[:16]}... {said}; {self.reproduced} readings reproduced; "
            f"diagnosis {self.diagnosis}"
        ]
        if self.states and self.intact:
            lines.append(f"it states: {self.states}")
        lines += [
            f"{name} beside it IS NOT the report of this record: it was altered or is of another "
            "run"
            for name in self.reports
        ]
        if copy is not None and not self.intact:
            lines.append(f"of {copy.name} nothing can be said by a record that does not hold")
        elif copy is not None:
            is_not = "IS NOT" if self.copy else "is"
            lines.append(f"{copy.name} {is_not} the calculator that this record is about")
        return "\n".join(lines)


def verify(path: Path, copy: Path | None = None, *, reproduce: bool = True) -> Verification:
    """Verifies the record at ``path``, and whether ``copy`` is the calculator it is about.

    Raises RecordError where the file is no record at all.
    """
    raw = record_bytes(path)
    record = record_of(raw, path)
    with understood(path):
        found = _verified(raw, record, copy, reproduce)
        if not reproduce or not found.intact:
            return found
        other, unmade = _other_reports(path, record)
        unchecked = "; ".join(filter(None, (found.unchecked, unmade)))
        return attrs.evolve(found, reports=tuple(other), unchecked=unchecked)


def _other_reports(path: Path, record: Mapping[str, Any]) -> tuple[list[str], str]:
    """The reports in the folder of a check that the record does not give; what was not looked at.

    They are made again, which only the same versions of everything do to the letter.
    """
    suite = record["content"]["suite"]
    there = [path.with_name(name) for name in REPORTS if path.with_name(name).exists()]
    if path.name != "record.json" or not there:
        return [], ""
    if suite != suite_data(Catalogue(), suite["digits"]):
        return [], "the reports beside it, which other versions or another catalogue gave"
    texts = report_texts(record)
    other = []
    for report in there:
        try:
            same = file_bytes(report) == texts[report.name].encode("utf-8")
        except FileUnreadable:
            same = False
        if not same:
            other.append(report.name)
    printed = path.with_name("report.pdf").exists()
    return other, "report.pdf, which no program makes twice alike" if printed else ""


def _verified(
    raw: bytes, record: Mapping[str, Any], copy: Path | None, reproduce: bool
) -> Verification:
    altered = tuple(alterations(raw, record))
    differing: list[str] = []
    count = 0
    diagnosis, unchecked = "not tried", ""
    if reproduce and not altered:
        again: list[_Again] = []
        for name, problem in _reproduced(record["content"], again):
            if problem:
                differing.append(f"{name}: {problem}")
            else:
                count += 1
        if again:
            elsewhere, unchecked = catalogue_differences(record["content"], again[0].file)
            differing += elsewhere
        if again and not differing:
            differing += conclusion_differences(
                record["content"], again[0].file, again[0].runs, _works(record["content"])
            )
        if again and not differing:
            situations = Situations(again[0].file)
            diagnosis = _diagnosis(record["content"], again[0], situations)
            differing += _detection_differences(record["content"], again[0], situations)
        if diagnosis == "differs":
            differing.append("diagnosis: the same readings are explained otherwise now")
    cases = record.get("content", {}).get("counts", {}).get("cases", {})
    return Verification(
        record=str(record.get("identity", {}).get("content", "")),
        altered=altered,
        not_reproduced=tuple(differing),
        copy=() if copy is None else tuple(copy_differences(record, copy)),
        reproduced=count,
        complete=bool(record.get("content", {}).get("overall", {}).get("complete")),
        judged=cases.get("asked", 0),
        not_judged=cases.get("not judged", 0),
        diagnosis=diagnosis,
        unchecked=unchecked,
        states=stated(record),
    )


@attrs.frozen
class _Again:
    """The run made again: the calculator file as it was, and every case that was judged."""

    file: CalculatorFile
    runs: list[CaseRun] = attrs.field(factory=list)


def _detection_differences(
    content: Mapping[str, Any], again: _Again, situations: Situations
) -> Iterator[str]:
    """Whether the mistakes said to be revealed are; another version knows other mistakes."""
    if "detection" not in content or content["suite"]["version"] != __version__:
        return
    now = detection_data(detection(again.runs, situations))
    if canonical(now) != canonical(content["detection"]):
        yield "detection: other mistakes would have been revealed"


def _diagnosis(content: Mapping[str, Any], again: _Again, situations: Situations) -> str:
    """What became of the recorded diagnosis; as in :class:`Verification`."""
    if "diagnosis" not in content:
        return "not recorded"
    if canonical(diagnosis_data(again, situations)) == canonical(content["diagnosis"]):
        return "reproduced"
    return "differs" if content["suite"]["version"] == __version__ else "of another version"


def _reproduced(content: Mapping[str, Any], made: list[_Again]) -> Iterator[tuple[str, str]]:
    """Each recorded reading, with what differs now ("" where nothing does).

    The run made again is put into ``made``, and is whole once all readings were given.
    """
    with tempfile.TemporaryDirectory(prefix="refsolver-") as folder:
        try:
            file = _calculator_file(content, Path(folder))
        except CaseFileError as error:
            yield "calculator", f"its file cannot be read by this version: {error}"
            return
        again = _Again(file)
        made.append(again)
        works = _works(content)
        if sorted(content["order"]) != sorted(content["cases"]):
            yield "order", "does not list each case once"
            return
        for name in content["order"]:
            case = content["cases"][name]
            path = Path(folder) / "case.toml"
            path.write_bytes(case["text"].encode("utf-8"))
            try:
                yield from _case(name, case, content, again, path, works)
            except (CaseFileError, LookupError, ValueError) as error:
                yield name, f"cannot be repeated by this version: {error}"


def _works(content: Mapping[str, Any]) -> dict[str, Work]:
    return {key: Work(**data) for key, data in content["sources"].items()}


def _case(
    name: str,
    case: Mapping[str, Any],
    content: Mapping[str, Any],
    again: _Again,
    path: Path,
    works: Mapping[str, Work],
) -> Iterator[tuple[str, str]]:
    file, doubles = again.file, content["calculator"]["takes_doubles"]
    placement, same_version = case.get("placement"), content["suite"]["version"] == __version__
    section = file.section(case["family"])
    question = Question(
        with_units(read_case(path, name, works), section),
        section,
        made=case["made"],
        placement=None if placement is None else {n: tuple(at) for n, at in placement.items()},
    )
    prepared = prepared_run(question, doubles)
    if prepared.asked != (case["state"] in ("asked", "not judged")):
        yield name, f"was {case['state']}, is {prepared.condition or 'within the scope'}"
        return
    if case["state"] != "asked":
        again.runs.append(prepared)
        for problem in case_differences(case, prepared, same_version):
            yield name, problem
        return
    failure = case["failure"]
    received = Received(
        values=case["received"],
        handed=case["as_sent"],
        failure=None if failure is None else Failure(**failure),
    )
    run = judged_run(prepared, received, file, doubles, content["suite"]["digits"])
    again.runs.append(run)
    now = findings_data(run, doubles)
    for before, after in zip(case["findings"], now, strict=False):
        yield f"{name}: {before['output']}", _difference(before, after)
    for problem in case_differences(case, run, same_version):
        yield name, problem
    if len(case["findings"]) != len(now):
        yield name, f"{len(case['findings'])} readings recorded, {len(now)} now"


def _difference(before: Mapping[str, Any], after: Mapping[str, Any]) -> str:
    if before == after:
        return ""
    if before["verdict"] != after["verdict"]:
        return f"was {before['verdict']}, is {after['verdict']}"
    names = sorted(key for key in before if before[key] != after.get(key))
    return f"differs in {', '.join(names)}"


def _calculator_file(content: Mapping[str, Any], folder: Path) -> CalculatorFile:
    """The calculator file as it was, with what its workbook said of places and of cells."""
    stated = content["calculator"]["file"]
    path = folder / Path(stated["name"]).name
    path.write_bytes(stated["text"].encode("utf-8"))
    file = read_calculator_file(path)
    return attrs.evolve(
        file,
        sections=tuple(
            _resolved(section, mapping, scope["conditions"])
            for section, mapping, scope in zip(
                file.sections, content["mapping"], content["scope"], strict=True
            )
        ),
    )


def _resolved(
    section: FamilySection, mapping: Mapping[str, Any], conditions: Sequence[Mapping[str, Any]]
) -> FamilySection:
    of_cells = tuple(c for c in map(condition_from, conditions) if c is not None)
    inputs = tuple(
        attrs.evolve(line, place=data["place"])
        for line, data in zip(section.inputs, mapping["inputs"], strict=True)
    )
    outputs = []
    for line, data in zip(section.outputs, mapping["outputs"], strict=True):
        changes: dict[str, Any] = {"place": data["place"]}
        for name in ("sense", "quadrant"):
            part = getattr(line, name)
            if part is not None:
                changes[name] = attrs.evolve(part, place=data[name])
        outputs.append(attrs.evolve(line, **changes))
    return attrs.evolve(
        section, inputs=inputs, outputs=tuple(outputs), scope=(*section.scope, *of_cells)
    )


def copy_differences(record: Mapping[str, Any], copy: Path) -> Iterator[str]:
    """Why ``copy`` is not the validated calculator; nothing where it is.

    A workbook is the validated one where its formulas, names and constants are, and where the
    outputs whose text was judged show numbers alike, whatever its inputs and stored results;
    other files where their bytes are.
    """
    identity = record["content"]["calculator"]["identity"]
    try:
        sha256 = hashlib.sha256(file_bytes(copy)).hexdigest()
    except FileUnreadable as error:
        raise RecordError(str(error)) from None
    if any(file["sha256"] == sha256 for file in identity.get("files", [])):
        return
    if "formula_identity" not in identity:
        yield f"{copy.name}: its bytes are none of the validated files"
        return
    from refsolver.calculators.by_workbook import differences_of_copy

    for difference in differences_of_copy(copy, identity, _mapped_places(record)):
        yield f"{copy.name}: {difference}"


def _mapped_places(record: Mapping[str, Any]) -> list[str]:
    return [line["place"] for section in record["content"]["mapping"] for line in section["inputs"]]
