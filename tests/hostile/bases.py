"""Valid files of every kind that this program reads, for tests that spoil them.

The calculator adds up plane pulls. Its scenario and every number are made up.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import Any

import attrs
import openpyxl

from refsolver.calculators.answer_sheet import SheetCase, write_sheet
from refsolver.calculators.by_exchange import FORMAT, INDEX
from refsolver.calculators.file import read_calculator_file
from refsolver.catalogue.catalogue import Catalogue
from refsolver.records.building import circumstances_of, content_of
from refsolver.records.canonical import sealed, write_record
from refsolver.records.journal import JOURNAL, Journal
from refsolver.runs.campaign import run_campaign
from refsolver.runs.campaign_log import LOG
from refsolver.runs.check import opened_check, run_check
from refsolver.runs.checking import _same as same_of
from tests import plane_pulls

FAMILY = "concurrent-forces/plane-resultant"
ONE = f"{FAMILY}/anchor-three-four-five"
"""A case of the catalogue."""

CASE = """\
title = "Two lines at a bollard"
family = "concurrent-forces/plane-resultant"
statement = "Two mooring lines pull at right angles. What one pull replaces them?"
[source]
kind = "constructed"
by = "a 3-4-5 triangle"
[[given.forces]]
force = { magnitude = "30 kN", angle = "0 deg" }
[[given.forces]]
force = { magnitude = "40 kN", angle = "90 deg" }
[[published]]
answer = "resultant"
take = "magnitude"
value = "50 kN"
"""

HEAD = """\
[calculator]
name = "Bollard pulls (made up)"
version = "1"
owner = "a harbour that does not exist"
"""
OUTPUT = """
[[family.output]]
answer = "resultant"
take = "magnitude"
unit = "kN"
place = "r"
says = "the pull"
criterion = { relative = "0.1 %", absolute = "1e-9 kN", reason = "doubles" }
"""
KIND = {
    "function": '[python]\nfunction = "bollard:total"\n',
    "program": '[command]\nargv = ["{python}", "{calculator_folder}/bollard.py"]\n',
    "sheet": '[sheet]\nfile = "filled.xlsx"\n',
    "workbook": '[workbook]\nfile = "bollard.xlsx"\n',
}
SCOPE = """
[[family.scope]]
count = "forces"
at_most = 4
reason = "four rows"
"""
MODULE = """\
import json, math, sys

def total(case):
    turns = [(float(p["size"]), math.radians(float(p["turn"]))) for p in case["pulls"]]
    x = math.fsum(size * math.cos(turn) for size, turn in turns)
    y = math.fsum(size * math.sin(turn) for size, turn in turns)
    return {"r": math.hypot(x, y)}

if __name__ == "__main__":
    print(json.dumps(total(json.load(sys.stdin))))
"""


def calculator(kind: str) -> str:
    """The text of a calculator file."""
    inputs = plane_pulls.inputs()
    output = OUTPUT
    if kind == "sheet":
        inputs = inputs.replace("place =", "decimals = 2\nplace =")
    if kind == "workbook":
        inputs = inputs.replace("pulls[*].size", "Pulls!A2:A5")
        inputs = inputs.replace("pulls[*].turn", "Pulls!B2:B5")
        output = output.replace('"r"', '"Pulls!D2"')
    return f'{HEAD}{KIND[kind]}\n[[family]]\nname = "{FAMILY}"\n{SCOPE}{inputs}{output}'


def workbook(path: Path) -> None:
    """A workbook that adds up four pulls."""
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "Pulls"
    sheet.append(["Pull (kN)", "Angle (deg)"])
    for row in range(2, 6):
        sheet.cell(row, 1, 0)
        sheet.cell(row, 2, 0)
    sheet["C2"] = "=SUMPRODUCT(A2:A5,COS(RADIANS(B2:B5)))"
    sheet["C3"] = "=SUMPRODUCT(A2:A5,SIN(RADIANS(B2:B5)))"
    sheet["D2"] = "=SQRT(C2^2+C3^2)"
    book.save(path)


@attrs.frozen
class Bases:
    """A folder with one valid file of each kind, under the names that the tests use."""

    folder: Path

    @classmethod
    def made(cls, folder: Path) -> Bases:
        (folder / "case.toml").write_text(CASE)
        for kind in KIND:
            (folder / f"{kind}.toml").write_text(calculator(kind))
        (folder / "bollard.py").write_text(MODULE)
        workbook(folder / "bollard.xlsx")
        bases = cls(folder)
        bases._sheet()
        bases._record()
        bases._journal()
        bases._campaign()
        bases._exchange("program", "exchange", "01-bollard")
        bases._exchange("workbook", "copies", "01-bollard.xlsx")
        return bases

    def _exchange(self, kind: str, name: str, copy: str) -> None:
        """A folder that holds the answers to one case."""
        there = self.folder / name
        (there / copy).parent.mkdir(parents=True, exist_ok=True)
        if kind == "workbook":
            workbook(there / copy)
        else:
            (there / copy).mkdir()
            (there / copy / "stdout.txt").write_text('{"r": 5}')
        file = read_calculator_file(self.folder / f"{kind}.toml")
        index = {"format": FORMAT, "calculator": file.sha256, "program": "", "cases": {ONE: copy}}
        (there / INDEX).write_text(json.dumps(index))

    def _sheet(self) -> None:
        path = self.folder / "filled.xlsx"
        inputs = (("pulls[0].size", "size", "30", "kN", ""),)
        cases = [SheetCase(ONE, "A bollard", "Made up.", inputs, (("r", "the pull", "kN"),))]
        write_sheet(path, {"calculator": "Bollard pulls"}, cases, ["made up"])
        book = openpyxl.load_workbook(path)
        book["To read"].cell(2, 6).value = "12.5 kN"
        book.save(path)

    def _record(self) -> None:
        cases = self.folder / "cases"
        (cases / FAMILY).mkdir(parents=True)
        (cases / "sources.toml").write_text("")
        (cases / FAMILY / "bollard.toml").write_text(CASE)
        file = read_calculator_file(self.folder / "function.toml")
        run = run_check(file, Catalogue(cases))
        write_record(sealed(content_of(run), circumstances_of(run)), self.folder / "record.json")

    def _journal(self) -> None:
        (self.folder / "out").mkdir()
        file = read_calculator_file(self.folder / "function.toml")
        with opened_check(file, Catalogue()) as check:
            same = same_of(check, check.calculator.identity())
            journal = Journal.begin(self.folder / "out" / JOURNAL, same, check.started)
            check.put(journal)
            journal.close()

    def _campaign(self) -> None:
        """One that was stopped after its first shard."""

        def stopped(items: Iterable[Any], total: int, done: int = 0) -> Iterator[Any]:
            yield next(iter(items))
            raise KeyboardInterrupt

        with contextlib.suppress(KeyboardInterrupt):
            run_campaign(self.folder / "function.toml", self.folder, count=10, progress=stopped)
        assert (self.folder / LOG).exists()


def chained(lines: Sequence[str]) -> str:
    """Lines of a journal with the chain of hashes that belongs to them."""
    chain, made = "", []
    for line in lines:
        data = json.loads(line)
        data.pop("chain", None)
        text = json.dumps(data, separators=(",", ":"))
        chain = hashlib.sha256(f"{chain}\n{text}".encode("ascii")).hexdigest()
        made.append(f'{text[:-1]},"chain":"{chain}"}}\n')
    return "".join(made)


def summed(line: str) -> str:
    """A line of a campaign's log with the sum that belongs to it."""
    return f"{hashlib.sha256(line.encode('ascii')).hexdigest()[:16]} {line}\n"
