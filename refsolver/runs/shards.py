"""Generated cases, a shard at a time: made from a seed, put, judged, counted, forgotten.

A shard is a stretch of numbers within one *cell*: one family in one range of condition
numbers. Case ``n`` of a cell depends on the plan, the cell and ``n`` alone, so that the
result is the same whatever the number of workers, and any case can be made again.
"""

from __future__ import annotations

import contextlib
import math
import os
import random
from collections.abc import Callable, Iterator, Sequence
from functools import partial
from pathlib import Path
from typing import Any

import attrs

from refsolver.arithmetic.columns import at
from refsolver.calculators.bounds import bounded
from refsolver.calculators.contract import Calculator
from refsolver.calculators.file import FamilySection, read_calculator_file
from refsolver.calculators.opening import open_calculator
from refsolver.catalogue.schema import Case, Source
from refsolver.catalogue.writing import case_text
from refsolver.quantities.units import UnitSystem
from refsolver.records.runs import CaseRun
from refsolver.runs.one_case import asked_of, judged_run, prepared_run
from refsolver.runs.questions import Question, rows_allowed, units_of
from refsolver.runs.quick_shards import Left, counted_quickly
from refsolver.runs.tally import CellTally
from refsolver.statics.columns import stacked
from refsolver.statics.contract import Cases
from refsolver.statics.difficulty import reachable_part
from refsolver.statics.prover import prove
from refsolver.statics.reference import NotProven, Proven, Reference
from refsolver.statics.registry import family

__all__ = [
    "Cell",
    "NoGenerator",
    "Plan",
    "Shard",
    "close_calculators",
    "generated",
    "generated_text",
    "kept_open",
    "run_shard",
]

_THOROUGH = 200
"""Every so many cases one goes the way of a check, residuals and second opinion included, and
what was handed over and proven in columns must agree with it."""


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
    identity: str = ""
    """A hash of what the calculator was at the beginning: for another it is opened anew."""

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

    def __str__(self) -> str:
        return f"shard {self.number} ({self.count} cases)"


def generated(plan: Plan, cell: Cell, number: int, section: FamilySection) -> Any:
    """The givens of one generated case. Raises NoGenerator."""
    first = number - number % plan.size
    count = min(plan.size, plan.each - first)
    for cases in _many(plan, cell, section, first, count) or ():
        if number in cases.numbers:
            return at(cases.given, cases.numbers.index(number))
    return _one(plan, cell, number)


def _many(
    plan: Plan, cell: Cell, section: FamilySection, first: int, count: int
) -> list[Cases] | None:
    """Cases made in columns, for a family that makes them so; their rows within the scope."""
    owner = family(cell.family)
    rng = random.Random(f"{plan.seed} {cell.name} from {first}")
    within = reachable_part(owner, (cell.low, cell.high))
    made = owner.propose_many(within, rng, count, rows_allowed(section, owner))
    if made is None:
        return None
    return [attrs.evolve(m, numbers=tuple(first + n for n in m.numbers)) for m in made]


def _one(plan: Plan, cell: Cell, number: int) -> Any:
    rng = random.Random(f"{plan.seed} {cell.name} {number}")
    try:
        owner = family(cell.family)
        return owner.propose(reachable_part(owner, (cell.low, cell.high)), rng)
    except NotImplementedError:
        raise NoGenerator(
            f"{cell.family} has no generator of cases; name others with --family"
        ) from None


def _made(
    plan: Plan, cell: Cell, section: FamilySection, shard: Shard
) -> tuple[list[Cases], list[tuple[int, Any]]]:
    """The cases of a shard: those in columns, and those in none."""
    many = _many(plan, cell, section, shard.first, shard.count)
    if many is not None:
        return many, []
    numbers = range(shard.first, shard.first + shard.count)
    return stacked([(number, _one(plan, cell, number)) for number in numbers])


def generated_text(plan: Plan, cell: Cell, number: int, section: FamilySection) -> str:
    """The case file of one generated case, to keep and to run again."""
    return case_text(
        family(cell.family),
        generated(plan, cell, number, section),
        units_of(section),
        title=f"Generated case {number} of seed {plan.seed}",
        statement=f"{family(cell.family).title}. Invented values, condition number asked: "
        f"{cell.low:g} to {cell.high:g}.",
        by=f"made from the seed {plan.seed}; proven by the solver alone",
    )


def _case(plan: Plan, cell: Cell, section: FamilySection, units: UnitSystem, given: Any) -> Case:
    """The case of these givens, whichever of the cell it is."""
    id = f"{cell.family}/generated/{cell.low:g}-{cell.high:g}"
    return Case(
        id=id,
        path=Path(f"{id}.toml"),
        text="",
        sha256="",
        title="Generated case",
        statement="",
        family=cell.family,
        source=Source("constructed", by=f"seed {plan.seed}"),
        units=units,
        unit_words=False,
        given=given,
        literals={},
        published=(),
    )


def run_shard(plan: Plan, shard: Shard) -> CellTally:
    """Makes the cases of a shard, puts them to the calculator, and counts the verdicts.

    The calculator is opened once a process and stays so until :func:`close_calculators`.
    Raises CalculatorFileError, NoGenerator.
    """
    calculator = _opened(plan)
    cell = plan.cells[shard.cell]
    section = calculator.file.section(cell.family)
    case_of = partial(_case, plan, cell, section, units_of(section))
    tally = CellTally()
    many, alone = _made(plan, cell, section, shard)
    left = [Left(number, given) for number, given in alone]
    for cases in many:
        left += counted_quickly(
            cases, calculator, section, case_of, tally, plan.digits,
            spare=math.ceil(math.log2(cell.high)), by_itself=_is_thorough,
        )  # fmt: skip
    for number, run in _judged(calculator, section, case_of, left, plan.digits, tally):
        tally.add(number, run.findings)
    return tally


def _is_thorough(number: int) -> bool:
    return number % _THOROUGH == 0


def _judged(
    calculator: Calculator,
    section: FamilySection,
    case_of: Callable[[Any], Case],
    left: Sequence[Left],
    digits: int,
    tally: CellTally,
) -> Iterator[tuple[int, CaseRun]]:
    """Cases one by one as in a check; those that have an answer already are not asked again."""
    runs = [
        prepared_run(Question(case_of(one.given), section, made=True), calculator.takes_doubles)
        for one in left
    ]
    tally.outside += sum(not run.asked for run in runs)
    put = [(one, run) for one, run in zip(left, runs, strict=True) if run.asked]
    answers = calculator.ask([asked_of(run) for one, run in put if one.received is None])
    for one, run in put:
        received = next(answers) if one.received is None else one.received
        yield (
            one.number,
            judged_run(
                run,
                bounded(received),
                calculator.file,
                calculator.takes_doubles,
                digits,
                thorough=_is_thorough(one.number),
                proving=partial(_proven_twice, one, run),
            ),
        )


def _proven_twice(one: Left, run: CaseRun, *arguments: Any, **options: Any) -> Reference:
    """The proof; nothing is proven where it does not bear out what was found in columns."""
    reference = prove(*arguments, **options)
    why = ""
    if one.doubles and one.doubles != _doubles(run):
        why = "what was handed over in columns is not what the case hands over"
    for view, ball in one.balls.items():
        outcome = reference.outcomes.get(view)
        if isinstance(outcome, Proven) and not outcome.ball.overlaps(ball):
            why = f"{view.describe()}: proven otherwise in columns"
    if why:
        reference.outcomes = {view: NotProven(why) for view in reference.outcomes}
    return reference


def _doubles(run: CaseRun) -> dict[str, Any]:
    assert run.handed is not None
    return {slot.place: slot.handed for slot in run.handed.slots}


_OPEN: dict[tuple[int, Path], tuple[str, Calculator]] = {}
"""By process, for what was opened before a fork is not the new process's to ask or close."""


@contextlib.contextmanager
def kept_open(plan: Plan, calculator: Calculator) -> Iterator[None]:
    """Shards of this plan that are run in this process are put to this calculator meanwhile."""
    _keep(plan, calculator)
    try:
        yield
    finally:
        _close(plan.calculator)


def _keep(plan: Plan, calculator: Calculator) -> None:
    _close(plan.calculator)
    _OPEN[os.getpid(), plan.calculator] = plan.identity, calculator


def _opened(plan: Plan) -> Calculator:
    identity, calculator = _OPEN.get((os.getpid(), plan.calculator), ("", None))
    if calculator is None or identity != plan.identity:
        calculator = open_calculator(read_calculator_file(plan.calculator))
        _keep(plan, calculator)
    return calculator


def _close(path: Path) -> None:
    found = _OPEN.pop((os.getpid(), path), None)
    if found is not None:
        found[1].close()


def close_calculators() -> None:
    """Closes every calculator that was opened in this process."""
    for process, path in list(_OPEN):
        if process == os.getpid():
            _close(path)
