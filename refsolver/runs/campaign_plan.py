"""What a campaign is to do: its families, ranges and shards, before anything is asked."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from refsolver.calculators.command_batch import cases_a_run
from refsolver.calculators.file import CalculatorFile, CalculatorFileError
from refsolver.runs.shards import Cell, NoGenerator, Plan, generated
from refsolver.statics.contract import Unreachable
from refsolver.statics.difficulty import RANGES, reachable_part
from refsolver.statics.registry import family

__all__ = ["RANGES", "planned", "range_of"]

_LARGEST = 1e40

_MOST = 1000
"""Cases a shard: more do not make a case cheaper."""


def range_of(text: str) -> tuple[float, float]:
    """A range written ``LOW..HIGH``. Raises CalculatorFileError."""
    low, dots, high = text.partition("..")
    try:
        found = float(low), float(high)
    except ValueError:
        found = (0.0, 0.0)
    if not dots or not 1 <= found[0] < found[1] <= _LARGEST:
        raise CalculatorFileError(
            f"--range {text}: two numbers LOW..HIGH are expected, from 1 to {_LARGEST:g}, the "
            "lower one first"
        )
    return found


def planned(
    file: CalculatorFile,
    count: int,
    seed: int,
    digits: int,
    families: Sequence[str],
    ranges: Sequence[tuple[float, float]],
) -> tuple[Plan, list[dict[str, Any]]]:
    """The plan, and the ranges that a family cannot reach, which are left out of it.

    Raises NoGenerator, UnknownFamily, CalculatorFileError.
    """
    mapped = [section.family for section in file.sections]
    wanted = [family(name).name for name in families] or mapped
    missing = [name for name in wanted if name not in mapped]
    if missing:
        raise NoGenerator(f"{file.path}: no [[family]] {missing[0]}; it has {', '.join(mapped)}")
    asked = [Cell(name, low, high) for name in wanted for low, high in ranges]
    whys = [(cell, _beyond_reach(cell)) for cell in asked]
    beyond = [(cell, why) for cell, why in whys if why]
    if len(beyond) == len(asked):
        raise NoGenerator(beyond[0][1])
    cells = tuple(cell for cell, why in whys if not why)
    each = max(1, -(-count // len(cells)))
    size = _shard_size(file, each, each * len(cells))
    plan = Plan(file.path.resolve(), seed, digits, cells, each, size)
    for cell in cells:
        generated(plan, cell, 0, file.section(cell.family))
    left_out = [
        {"family": cell.family, "from": cell.low, "to": cell.high, "why": why}
        for cell, why in beyond
    ]
    return plan, left_out


def _shard_size(file: CalculatorFile, each: int, total: int) -> int:
    """Cases a shard, of ``each`` a cell; the same whatever the number of workers.

    Functions and workbooks take the cases of a shard together, and what a shard costs beside
    its cases is shared by them; there are to be enough shards for several workers all the same.
    Other calculators take one case after the other, perhaps for seconds each, or so many a run,
    of which a shard has a whole number.
    """
    if file.kind in ("python", "workbook"):
        return min(_MOST, max(100, total // 25))
    batch = (cases_a_run(file) if file.kind == "command" else None) or 1
    runs = -(-min(_MOST, max(25, each // 100)) // batch)
    return runs * batch


def _beyond_reach(cell: Cell) -> str:
    """Why the family has no case in this range; empty where it has."""
    try:
        reachable_part(family(cell.family), (cell.low, cell.high))
    except Unreachable as problem:
        return str(problem)
    return ""
