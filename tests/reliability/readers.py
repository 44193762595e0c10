"""Every reader of the program, given a file; what each may refuse it with."""

from __future__ import annotations

import json
import random
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any
from unittest.mock import patch

import attrs

from refsolver.calculators.answer_sheet import SheetProblem, read_sheet
from refsolver.calculators.by_exchange import INDEX, ExchangeCalculator
from refsolver.calculators.criteria import CriterionError
from refsolver.calculators.drafting.writing import draft_workbook
from refsolver.calculators.file import read_calculator_file
from refsolver.calculators.numbertext import UnreadableNumber, read_number
from refsolver.calculators.opening import open_calculator
from refsolver.calculators.workbook.contents import read_contents
from refsolver.calculators.workbook.embedded import EmbeddedEngine
from refsolver.calculators.workbook.engine import EngineFailure, EngineRefused
from refsolver.calculators.workbook.references import CellRef
from refsolver.calculators.workbook.stored import stored_values
from refsolver.catalogue.catalogue import Catalogue
from refsolver.catalogue.reading import read_case
from refsolver.quantities.literals import read_literal
from refsolver.records.canonical import read_record, understood
from refsolver.records.comparing import compared
from refsolver.records.journal import JOURNAL, Journal
from refsolver.reporting.csv import csv_text
from refsolver.reporting.html import html_text
from refsolver.runs import restating
from refsolver.runs.campaign_log import LOG, CampaignLog
from refsolver.runs.problems import UNUSABLE_INPUT
from refsolver.runs.verifying import verify
from tests.hostile.bases import Bases
from tests.reliability.mutations import (
    chained_again,
    mutated,
    mutated_package,
    sealed_again,
    summed_again,
)

Mutation = Callable[[bytes, random.Random], bytes]
REFUSALS = (*(e for e in UNUSABLE_INPUT if e is not OSError), SheetProblem, CriterionError)


@attrs.frozen
class Reader:
    """A reader: the valid file it is tried with, how that is spoilt, and the reading itself."""

    base: str
    spoil: Mutation
    read: Callable[[Path], Any]
    refusals: tuple[type[BaseException], ...] = REFUSALS


def _sometimes(again: Callable[[bytes], bytes]) -> Mutation:
    def spoil(raw: bytes, draw: random.Random) -> bytes:
        made = mutated(raw, draw)
        return again(made) if draw.random() < 0.7 else made

    return spoil


def readers(bases: Bases, work: Path) -> dict[str, Reader]:
    """All of them by name; ``work`` is a folder in which the spoilt file lies among valid ones."""
    works = Catalogue().works
    journal_head = json.loads((bases.folder / "out" / JOURNAL).read_text().splitlines()[0])
    log_head = json.loads((bases.folder / LOG).read_text().splitlines()[0].partition(" ")[2])
    program = read_calculator_file(bases.folder / "program.toml")
    book = read_calculator_file(bases.folder / "workbook.toml")

    def opened(path: Path) -> None:
        file = read_calculator_file(path)
        if file.kind in ("command", "sheet"):
            open_calculator(file).close()

    def exchange(file: Any) -> Callable[[Path], None]:
        def read(path: Path) -> None:
            folder = work / "exchange"
            shutil.copy(path, folder / INDEX)
            ExchangeCalculator(file, folder).close()

        return read

    def record(path: Path) -> None:
        found = read_record(path)
        with understood(path):
            compared(found, found)
        # the catalogue of the record's one case, or most of the time goes into hashing the other
        with patch.object(restating, "Catalogue", lambda: Catalogue(bases.folder / "cases")):
            verify(path)

    def report(path: Path) -> None:
        found = read_record(path)
        with understood(path):
            html_text(found)
            csv_text(found)

    engine = EmbeddedEngine()

    def computed(path: Path) -> None:
        engine.open(path)
        for answer in engine.run([{CellRef("Pulls", 3, 1): 3.0}], [CellRef("Pulls", 2, 4)]):
            if isinstance(answer, EngineFailure):
                raise answer

    def log(path: Path) -> None:
        with CampaignLog(path, log_head, resume=True) as found:
            list(found.finished())

    return {
        "case file": Reader("case.toml", mutated, lambda p: read_case(p, "spoilt", works)),
        "calculator file (function)": Reader("function.toml", mutated, opened),
        "calculator file (program)": Reader("program.toml", mutated, opened),
        "calculator file (workbook)": Reader("workbook.toml", mutated, opened),
        "record": Reader("record.json", _sometimes(sealed_again), record),
        "record, for the reports": Reader("record.json", _sometimes(sealed_again), report),
        "journal": Reader(
            "out/record.journal",
            _sometimes(chained_again),
            lambda p: Journal.resume(p, journal_head["same"]).close(),
        ),
        "log of a campaign": Reader(LOG, _sometimes(summed_again), log),
        "folder of exchange (program)": Reader("exchange/" + INDEX, mutated, exchange(program)),
        "folder of exchange (workbook)": Reader("copies/" + INDEX, mutated, exchange(book)),
        "answer sheet": Reader("filled.xlsx", mutated_package, read_sheet),
        "workbook": Reader("bollard.xlsx", mutated_package, read_contents),
        "workbook, stored results": Reader("bollard.xlsx", mutated_package, stored_values),
        "workbook, computed": Reader(
            "bollard.xlsx", mutated_package, computed, (*REFUSALS, EngineRefused, EngineFailure)
        ),
        "workbook, drafted": Reader(
            "bollard.xlsx",
            mutated_package,
            lambda p: draft_workbook(p, work / "draft.toml", ["concurrent-forces/plane-resultant"]),
        ),
        "number of a calculator": Reader(
            "case.toml", _texts, lambda p: read_number(_text(p)), (UnreadableNumber,)
        ),
        "number of a case": Reader("case.toml", _texts, lambda p: read_literal(_text(p))),
    }


def _text(path: Path) -> str:
    return path.read_bytes().decode("utf-8", "replace")


_NUMBERS = (
    b"-12.5 kN", b"1 3/4 in", b"5*sqrt(2) m", b"1.25e-3 N", b"10,300 lbf", b"3:4", b"2pi/3 rad",
    b"4.448 222 E+00 N", b"1.5D+02", b"12.5 \xc2\xb0", b"(1+2)/7 kip", b"6.0 x 10^3 N*m",
)  # fmt: skip


def _texts(raw: bytes, draw: random.Random) -> bytes:
    return mutated(draw.choice(_NUMBERS), draw)
