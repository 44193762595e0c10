"""Generated cases, a shard at a time: made from a seed, put, judged, counted, forgotten.

A shard is a stretch of numbers within one *cell*: one family in one range of condition
numbers. Case ``n`` of a cell depends on the campaign's seed, the cell and ``n`` alone, so
that the result is the same whatever the number of workers, and any case can be made again.
"""

from __future__ import annotations

import atexit
import random
from collections.abc import Iterator, Sequence
from functools import cache
from pathlib import Path
from typing import Any

import attrs

from refsolver.calculators.bounds import bounded
from refsolver.calculators.contract import Calculator
from refsolver.calculators.file import FamilySection, read_calculator_file
from refsolver.calculators.opening import open_calculator
from refsolver.catalogue.schema import Case, Source
from refsolver.catalogue.writing import case_text
from refsolver.records.runs import CaseRun
from refsolver.runs.one_case import asked_of, judged_run, prepared_run
from refsolver.runs.questions import Question, units_of
from refsolver.runs.tally import CellTally
from refsolver.statics.difficulty import reachable_part
from refsolver.statics.registry import family

__all__ = ["Cell", "NoGenerator", "Plan", "Shard", "generated", "generated_text", "run_shard"]

_THOROUGH = 50
"""Every so many cases the residuals and the second opinion on the arithmetic run along."""


class NoGenerator(ValueError):
    """A family that cannot make cases."""


@attrs.frozen
class Cell:
    """One family in one range of condition numbers."""

    family: str
    low: float
    high: float

    @property
    def name(self) -> str:
        return f"{self.family}, {self.low:g} to {self.high:g}"


@attrs.frozen
class Plan:
    """What a campaign is to do: all that its cases and their verdicts depend on."""

    calculator: Path
    seed: int
    digits: int
    cells: tuple[Cell, ...]
    each: int
    """Cases a cell."""
    size: int
    """Cases a shard."""

    def shards(self) -> Iterator[Shard]:
        """Every shard, the cells taking turns, so that a stopped campaign has some of each."""
        number = 0
        for first in range(0, self.each, self.size):
            for index in range(len(self.cells)):
                yield Shard(number, index, first, min(self.size, self.each - first))
                number += 1

    @property
    def shard_count(self) -> int:
        return len(self.cells) * -(-self.each // self.size)


@attrs.frozen
class Shard:
    number: int
    cell: int
    first: int
    count: int


def generated(plan: Plan, cell: Cell, number: int) -> Any:
    """The givens of one generated case. Raises NoGenerator."""
    owner = family(cell.family)
    rng = random.Random(f"{plan.seed} {cell.name} {number}")
    try:
        return owner.propose(reachable_part(owner, (cell.low, cell.high)), rng)
    except NotImplementedError:
        raise NoGenerator(f"{cell.family} has no generator of cases") from None


def generated_text(plan: Plan, cell: Cell, number: int, section: FamilySection) -> str:
    """The case file of one generated case, to keep and to run again."""
    return case_text(
        family(cell.family),
        generated(plan, cell, number),
        units_of(section),
        title=f"Generated case {number} of seed {plan.seed}",
        statement=f"{family(cell.family).title}. Invented values, condition number asked: "
        f"{cell.low:g} to {cell.high:g}.",
        by=f"made from the seed {plan.seed}; proven by the solver alone",
    )


def _case(plan: Plan, cell: Cell, number: int, section: FamilySection) -> Case:
    id = f"{cell.family}/generated/{cell.low:g}-{cell.high:g}/{number}"
    return Case(
        id=id,
        path=Path(f"{id}.toml"),
        text="",
        sha256="",
        title=f"Generated case {number}",
        statement="",
        family=cell.family,
        source=Source("constructed", by=f"seed {plan.seed}"),
        units=units_of(section),
        unit_words=False,
        given=generated(plan, cell, number),
        literals={},
        published=(),
    )


def run_shard(plan: Plan, shard: Shard) -> CellTally:
    """Makes the cases of a shard, puts them to the calculator, and counts the verdicts.

    The calculator is opened once a process. Raises CalculatorFileError, NoGenerator.
    """
    calculator = _opened(plan.calculator)
    cell = plan.cells[shard.cell]
    section = calculator.file.section(cell.family)
    runs = [
        prepared_run(
            Question(_case(plan, cell, number, section), section, made=True),
            calculator.takes_doubles,
        )
        for number in range(shard.first, shard.first + shard.count)
    ]
    tally = CellTally(outside=sum(not run.asked for run in runs))
    asked = [(number, run) for number, run in enumerate(runs, shard.first) if run.asked]
    for number, run in _judged(calculator, asked, plan.digits):
        tally.add(number, run.findings)
    return tally


def _judged(
    calculator: Calculator, asked: Sequence[tuple[int, CaseRun]], digits: int
) -> Iterator[tuple[int, CaseRun]]:
    answers = calculator.ask([asked_of(run) for _, run in asked])
    for (number, run), received in zip(asked, answers, strict=True):
        yield (
            number,
            judged_run(
                run,
                bounded(received),
                calculator.file,
                calculator.takes_doubles,
                digits,
                thorough=number % _THOROUGH == 0,
            ),
        )


@cache
def _opened(path: Path) -> Calculator:
    calculator = open_calculator(read_calculator_file(path))
    atexit.register(calculator.close)
    return calculator
