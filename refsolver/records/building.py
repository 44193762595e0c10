"""Building the record of a check: every fact a reviewer or an auditor may ask for.

``content`` holds nothing that differs when the same check is repeated with the same
calculator, catalogue and versions; what differs goes to ``circumstances``. Numbers are
decimal texts: enclosures rounded outward, reported values exactly as they came.

The sections of ``content``:

``suite``          program, catalogue, libraries, digits asked
``calculator``     identity, text of its file, program files or formula identity
``mapping``        what is handed over and read back, as sentences with the quoted words
``scope``          the conditions, as sentences with their reasons
``criteria``       the acceptance criteria, as sentences with their reasons
``cases``          by id: text of the case file, source, what was handed over, what was
                   received, working and drawing where something failed, findings
``counts``         verdicts, cases (those that a stopped run did not reach are ``not
                   judged``), provenance by family
``coverage``       what was judged how often, what was never varied or exercised
``engines``        where the cells of two workbook engines differ, of a run with both
``accepted``       deviations that the calculator file says are accepted, with the failing
                   readings each speaks of (whether one has expired is no matter of content:
                   the day on which the run ended decides, and that is a circumstance)
``overall``        result, rule, reasons
``selfcheck``      this installation against the published answers of the cases used
``families``       method, second method and caution of each family used
``short``          where only the short set was put: its size, the cases left out and outside
"""

from __future__ import annotations

import importlib.metadata
import platform
import sys
from collections.abc import Iterable, Mapping
from typing import Any

import attrs
from flint import fmpq

from refsolver._version import __version__
from refsolver.arithmetic.detached import Enclosure
from refsolver.arithmetic.double import DoubleArithmetic
from refsolver.arithmetic.exact import Constant, quotient
from refsolver.calculators.file import CalculatorFile, FamilySection
from refsolver.calculators.lines import InputLine, OutputLine
from refsolver.calculators.partly_stated import assumed
from refsolver.calculators.scope import condition_data
from refsolver.catalogue.catalogue import Catalogue
from refsolver.catalogue.schema import Case, Work
from refsolver.checking.coverage import Coverage
from refsolver.quantities.conversion import enclosed
from refsolver.quantities.dimensions import ANGLE, NUMBER
from refsolver.quantities.printing import proven_text
from refsolver.quantities.units import UnitSystem
from refsolver.records.accepting import accepted_data
from refsolver.records.canonical import digest
from refsolver.records.drawings import drawing_data, drawing_units
from refsolver.records.engines import engines_data
from refsolver.records.findings import findings_data
from refsolver.records.journal import plain
from refsolver.records.runs import CaseRun, CheckRun
from refsolver.statics.contract import Column
from refsolver.statics.reference import Reference
from refsolver.statics.registry import family

__all__ = [
    "case_facts",
    "circumstances_of",
    "content_of",
    "convention_words",
    "derived_of",
    "same_run",
    "suite_data",
    "working_data",
]

_LIBRARIES = ("python-flint", "mpmath", "numpy", "pandas", "openpyxl", "ironcalc", "jinja2")
_BAD = ("fail", "error", "no answer", "refused", "not proven")


def content_of(run: CheckRun) -> dict[str, Any]:
    """The ``content`` part of the record of a check."""
    return {
        "suite": suite_data(run.catalogue, run.digits),
        "cases": {case_run.case.id: _case(case_run, run.takes_doubles) for case_run in run.runs},
        **derived_of(run, run.catalogue.works),
        **({} if run.short is None else {"short": dict(run.short)}),
        **({} if (engines := engines_data(run)) is None else {"engines": engines}),
    }


def derived_of(run: CheckRun, works: Mapping[str, Work]) -> dict[str, Any]:
    """The sections that follow from the calculator file and the readings of a check."""
    return {
        "calculator": _calculator(run),
        "mapping": [_mapping(section) for section in run.file.sections],
        "scope": [_scope(section) for section in run.file.sections],
        "criteria": [_criteria(section) for section in run.file.sections],
        "order": [case_run.case.id for case_run in run.runs],
        "counts": _counts(run),
        "coverage": _coverage(run.coverage),
        "accepted": accepted_data(run),
        "overall": {
            "result": run.overall.result,
            "rule": run.overall.rule,
            "because": list(run.overall.because),
            "complete": run.complete,
        },
        "selfcheck": _selfcheck(run),
        "families": _families(run.file),
        "sources": _sources(run, works),
    }


def circumstances_of(run: CheckRun) -> dict[str, Any]:
    """The ``circumstances`` part: when, where, how long, and raw text that may vary."""
    return {
        "started": run.started.isoformat(timespec="seconds"),
        "ended": run.ended.isoformat(timespec="seconds"),
        "platform": platform.platform(),
        "machine": platform.machine(),
        "seconds": {
            r.case.id: round(r.received.seconds, 6) for r in run.runs if r.received is not None
        },
        "raw": {r.case.id: plain(r.received.raw) for r in run.runs if r.received is not None},
        "file": str(run.file.path),
        **({"continued": [dict(again) for again in run.continued]} if run.continued else {}),
    }


def same_run(
    file: CalculatorFile, identity: Mapping[str, Any], suite: Mapping[str, Any], cases: Any
) -> dict[str, Any]:
    """What must be the same for a run to be gone on with, each under words that name it.

    ``cases`` lists the id and the hash of each case in order.
    """
    return {
        "the calculator file": file.sha256,
        "the calculator itself (its files, its engine or its runtime)": plain(identity),
        "the catalogue": suite["catalogue"],
        "the cases put": digest([list(case) for case in cases]),
        "the version of refsolver": suite["version"],
        "the version of Python": suite["python"],
        "the libraries": suite["libraries"],
        "the digits asked": suite["digits"],
    }


def suite_data(catalogue: Catalogue, digits: int) -> dict[str, Any]:
    """Program, libraries and catalogue, with their versions."""
    found = {}
    for name in _LIBRARIES:
        try:
            found[name] = importlib.metadata.version(name)
        except importlib.metadata.PackageNotFoundError:
            found[name] = "not installed"
    return {
        "program": "refsolver",
        "version": __version__,
        "python": sys.version.split()[0],
        "libraries": found,
        "catalogue": catalogue.hash,
        "digits": digits,
    }


def _calculator(run: CheckRun) -> dict[str, Any]:
    file = run.file
    return {
        "name": file.name,
        "version": file.version,
        "owner": file.owner,
        "description": file.description,
        "kind": file.kind,
        "file": {"name": file.path.name, "text": file.text, "sha256": file.sha256},
        "identity": dict(run.identity),
        "takes_doubles": run.takes_doubles,
        "refusals": plain(attrs.asdict(file.refusals)),
    }


def _unit(unit: Any) -> str:
    return "" if unit is None else str(unit.name)


def convention_words(line: InputLine | OutputLine) -> str:
    """From which axis, in which sense and range, with which sign: in words."""
    take: str | None
    start: str
    toward: str
    if isinstance(line, InputLine):
        take, start, toward = line.take, line.start, line.toward
        along, span = line.along, line.range
    else:
        view = line.view
        take, start, toward = view.take, view.start or "+x", view.toward or "+y"
        along, span = view.along, view.range or ""
    words = []
    if take in ("angle", "azimuth"):
        words.append(f"measured from {start} toward {toward}")
        if span:
            words.append(f"in the range {span}")
    if along is not None:
        words.append(f"along {along}")
    if line.negate:
        words.append("with the sign reversed")
    words += _input_words(line) if isinstance(line, InputLine) else _output_words(line)
    return ", ".join(words)


def _input_words(line: InputLine) -> list[str]:
    words = [f'{case} written as "{word}"' for case, word in line.words.items()]
    if line.decimals is not None:
        words.append(f"rounded to {line.decimals} decimals")
    if line.blank:
        words.append(f"{line.blank} in rows that are not used")
    return words


def _output_words(line: OutputLine) -> list[str]:
    words = [f'"{word}" read as {unit.name}' for word, unit in line.units.items()]
    words += [f'"{word}" read as {choice}' for word, choice in line.words.items()]
    for name, part in (("sense", line.sense), ("quadrant", line.quadrant)):
        if part is not None:
            signs = ", ".join(
                f'"{word}" {"".join("+" if sign > 0 else "-" for sign in signs)}'
                for word, signs in part.words.items()
            )
            words.append(f"its {name} read from {part.place} ({signs})")
    return words


def _mapping(section: FamilySection) -> dict[str, Any]:
    inputs = [
        {
            "given": line.given, "take": line.take, "place": line.place, "unit": _unit(line.unit),
            "convention": convention_words(line), "says": line.says,
            "sentence": _sentence(f"{line.given} ({line.take})", line, "goes to"),
        }
        for line in section.inputs
    ]  # fmt: skip
    outputs = [
        {
            "answer": line.id, "place": line.place, "unit": _unit(line.unit),
            "convention": convention_words(line), "says": line.says,
            "sense": "" if line.sense is None else line.sense.place,
            "quadrant": "" if line.quadrant is None else line.quadrant.place,
            "sentence": _sentence(line.view.describe(), line, "is read from"),
        }
        for line in section.outputs
    ]  # fmt: skip
    return {
        "family": section.family,
        "inputs": inputs,
        "outputs": outputs,
        "fixed": {name: " or ".join(texts) for name, texts in section.fixed.items()},
        "assumed": [
            sentence
            for given in dict.fromkeys(line.given for line in section.inputs)
            for sentence in assumed([line for line in section.inputs if line.given == given])
        ],
    }


def _sentence(what: str, line: InputLine | OutputLine, verb: str) -> str:
    unit = f" in {_unit(line.unit)}" if line.unit is not None else ""
    convention = convention_words(line)
    said = f"{what} {verb} {line.place}{unit}"
    if convention:
        said += f", {convention}"
    return f'{said}; the calculator calls it "{line.says}".'


def _scope(section: FamilySection) -> dict[str, Any]:
    return {
        "family": section.family,
        "conditions": [condition_data(c) for c in section.scope],
        "read_at_source": section.read_at_source,
        "gaps": section.gaps,
        "ladder": section.ladder,
    }


def _criteria(section: FamilySection) -> dict[str, Any]:
    return {
        "family": section.family,
        "outputs": [
            {
                "output": line.id,
                "unit": _unit(line.unit),
                "judged": line.judge,
                "sentence": "the word must be the same"
                if line.criterion is None
                else line.criterion.words(_unit(line.unit)),
                "reason": "" if line.criterion is None else line.criterion.reason,
                "safe_side": "" if line.criterion is None else line.criterion.safe_side,
            }
            for line in section.outputs
        ],
    }


def _case(run: CaseRun, takes_doubles: bool) -> dict[str, Any]:
    data = case_facts(run)
    if run.reference is None:
        return data
    data["findings"] = findings_data(run, takes_doubles)
    if any(f.verdict in _BAD for f in run.findings):
        data["drawing"] = _drawing(run)
    return data


def case_facts(run: CaseRun) -> dict[str, Any]:
    """What the record says of a case, but for its findings and its drawing."""
    case = run.case
    data: dict[str, Any] = {
        "title": case.title,
        "statement": case.statement,
        "family": case.family,
        "topics": list(case.topics),
        "note": case.note,
        "source": attrs.asdict(case.source),
        "made": run.made,
        "counts": run.counts,
        "text": case.text,
        "sha256": case.sha256,
        "state": _state(run),
        "condition": run.condition,
        "placement": (
            None if run.placement is None else {n: list(at) for n, at in run.placement.items()}
        ),
    }
    if run.handed is None or run.received is None or run.reference is None:
        return data
    data["handed"] = [leaf.data() for leaf in run.handed.leaves]
    data["as_sent"] = dict(run.received.handed)
    data["inexact"] = run.handed.inexact
    data["received"] = {place: dict(value) for place, value in run.received.values.items()}
    data["failure"] = None if run.received.failure is None else attrs.asdict(run.received.failure)
    data["proof"] = {
        "digits": run.reference.digits,
        "bits": run.reference.bits,
        "zeros": list(run.reference.zeros),
        "residuals": run.reference.residuals,
        "second_opinion": run.reference.second_opinion,
    }
    if any(f.verdict in _BAD for f in run.findings):
        data["working"] = working_data(run.reference, case)
    return data


def _state(run: CaseRun) -> str:
    if not run.asked:
        return "not applicable"
    return "asked" if run.judged else "not judged"


def working_data(reference: Reference, case: Case, figures: int = 10) -> list[dict[str, Any]]:
    """The working as tables of text, in the case's own units, degrees for angles."""
    sheets = []
    for sheet in reference.sheets():
        dimensions = [column.dimension for column in sheet.columns]
        rows = [
            [row.label, *(_cell(c, d, figures) for c, d in zip(row.cells, dimensions, strict=True))]
            for row in sheet.rows
        ]
        heads = [_head(column, case.units) for column in sheet.columns]
        sheets.append({"title": sheet.title, "note": sheet.note, "columns": heads, "rows": rows})
    return sheets


def _head(column: Column, system: UnitSystem) -> str:
    if column.dimension is None or column.dimension == NUMBER:
        return column.head
    unit = "deg" if column.dimension == ANGLE else system.unit(column.dimension).name
    return f"{column.head} ({unit})" if unit else column.head


def _cell(cell: Any, dimension: Any, figures: int) -> str:
    if cell is None:
        return ""
    if not isinstance(cell, Enclosure):
        return str(cell)
    if dimension == ANGLE:
        cell = _degrees(cell)
    return proven_text(cell, figures)


def _degrees(radians: Enclosure) -> Enclosure:
    return radians.times(enclosed(quotient(fmpq(180), Constant("pi"))))


def _drawing(run: CaseRun) -> dict[str, Any] | None:
    assert run.handed is not None and run.reference is not None
    owner = family(run.case.family)
    ar = DoubleArithmetic(run.reference.decisions)
    try:
        solution = owner.solve(run.handed.given, ar, owner.rule_set())
        drawing = drawing_data(owner.figure(run.handed.given, solution.answers, ar))
    except (ArithmeticError, ValueError):
        return None
    return {**drawing, "units": drawing_units(run.case.units)}


def _counts(run: CheckRun) -> dict[str, Any]:
    states: dict[str, int] = {"asked": 0, "not applicable": 0}
    provenance: dict[str, dict[str, int]] = {}
    for case_run in run.runs:
        state = _state(case_run)
        states[state] = states.get(state, 0) + 1
        if case_run.judged:
            by = provenance.setdefault(case_run.case.family, {})
            name = _provenance(case_run.case)
            by[name] = by.get(name, 0) + 1
    return {
        "cases": states,
        "readings": dict(run.verdicts),
        "total": sum(run.verdicts.values()),
        "provenance": provenance,
    }


def _provenance(case: Case) -> str:
    if case.source.kind in ("constructed", "common practice"):
        return case.source.kind
    return {"read": "read at the source"}.get(case.source.read, case.source.read)


def _coverage(coverage: Coverage) -> list[dict[str, Any]]:
    return [
        {
            "family": part.family,
            "cases": part.cases,
            "outputs": dict(part.outputs),
            "inputs": dict(part.values),
            "never_varied": part.never_varied,
            "never_judged": part.never_judged,
            "never_exercised": part.never_exercised,
            "formula_cells": len(part.exercised),
        }
        for part in coverage.families
    ]


def _selfcheck(run: CheckRun) -> dict[str, Any]:
    kinds = ("agree", "explained", "disagree", "not proven")
    return {
        **{kind: sum(a.agreement == kind for a in run.selfcheck) for kind in kinds},
        "values": len(run.selfcheck),
        "differences": [
            {"case": a.case, "answer": a.answer, "printed": a.printed, "why": a.why}
            for a in run.selfcheck
            if a.agreement != "agree"
        ],
    }


def _families(file: CalculatorFile) -> dict[str, Any]:
    found = {}
    for section in file.sections:
        owner = family(section.family)
        found[owner.name] = {
            "title": owner.title,
            "method": owner.method,
            "second_method": owner.second_method or "no independent check",
            "caution": owner.caution,
        }
    return found


def _sources(run: CheckRun, works: Mapping[str, Work]) -> dict[str, Any]:
    used: Iterable[str] = sorted({r.case.source.work for r in run.runs if r.case.source.work})
    return {key: attrs.asdict(works[key]) for key in used if key in works}
