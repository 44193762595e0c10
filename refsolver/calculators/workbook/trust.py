"""Does this engine speak this workbook? Asked before any answer of it is used."""

from __future__ import annotations

import random
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Literal, TypeAlias

import attrs

from refsolver.calculators.workbook.contents import WorkbookContents, read_contents
from refsolver.calculators.workbook.engine import (
    BlankCell,
    BooleanCell,
    CellInput,
    CellValue,
    EngineFailure,
    ErrorCell,
    NumberCell,
    Readings,
    TextCell,
    WorkbookEngine,
)
from refsolver.calculators.workbook.formulas import CHANGING_FUNCTIONS
from refsolver.calculators.workbook.graph import DependencyGraph
from refsolver.calculators.workbook.references import CellRef
from refsolver.calculators.workbook.stored import stored_values
from refsolver.calculators.workbook.survey import input_problem

__all__ = [
    "Disagreement",
    "EngineComparison",
    "EngineDifference",
    "TrustCheck",
    "TrustOutcome",
    "compare_engines",
    "differing",
    "numbers_upstream",
    "trust_check",
]

TrustOutcome: TypeAlias = Literal["agrees", "disagrees", "not shown"]

RELATIVE_TOLERANCE = 1e-10
_MOST_NAMED = 3
_MOST_SAID = 60
STANDARD_ERRORS = frozenset({"#DIV/0!", "#N/A", "#NAME?", "#NULL!", "#NUM!", "#REF!", "#VALUE!"})

NOT_CALCULATED = {
    "#NAME?": "a function or name that it does not know",
    "#ERROR!": "a formula that it cannot read",
    "#N/IMPL!": "a function that it does not have",
    "#CIRC!": "a formula that rests on its own result",
    "Err:522": "a formula that rests on its own result",
    "Err:523": "an iteration that does not settle",
    "Err:540": "the contents of another document",
}
"""Error values by which an engine says that it cannot calculate a formula, rather than that
its result is an error: of both engines, found by asking them."""

STIR = 2.0**-44
STIR_HARDER = 64
SMOOTH = 16
NOISE_FACTOR = 8
DRAWS = 2


@attrs.frozen
class Disagreement:
    """A formula cell whose stored and recalculated values differ."""

    cell: CellRef
    stored: CellValue
    recalculated: CellValue


@attrs.frozen
class TrustCheck:
    """What recalculating a workbook with its own inputs showed.

    ``outcome`` is ``agrees``, ``disagrees`` or ``not shown``, ``reason`` says why in words.
    ``compared`` formula cells were compared: those the outputs rest on, or every one of the
    workbook where ``whole_workbook`` is true, because a formula makes references while it
    runs. Not compared were ``changing`` (upstream, but the clock or a random number moves
    them), ``left_out`` (they call the clock or a random number and feed no output) and
    ``without_stored`` (no result in the file). ``unreached`` are the outputs for which the
    file holds no result, an empty text or an error.
    """

    engine: str
    outcome: TrustOutcome
    reason: str
    compared: int
    disagreements: tuple[Disagreement, ...]
    changing: tuple[CellRef, ...]
    left_out: tuple[CellRef, ...]
    without_stored: tuple[CellRef, ...]
    unreached: tuple[CellRef, ...]
    whole_workbook: bool


@attrs.frozen
class EngineDifference:
    """A cell that two engines see differently in the case of this number (from 0)."""

    case: int
    cell: CellRef
    first: CellValue
    second: CellValue


@attrs.frozen
class EngineComparison:
    """What putting the same cases to two engines showed.

    ``failures`` are the cases, by number, that an engine did not answer.
    """

    first: str
    second: str
    cases: int
    compared: int
    differences: tuple[EngineDifference, ...]
    failures: dict[int, EngineFailure]

    @property
    def agree(self) -> bool:
        """Whether something was compared and nothing differed or failed."""
        return bool(self.compared) and not self.differences and not self.failures


def trust_check(
    engine: WorkbookEngine,
    path: Path,
    outputs: Sequence[CellRef],
    inputs: Iterable[CellRef] = (),
    graph: DependencyGraph | None = None,
) -> TrustCheck:
    """Recalculate the workbook as it is and compare with the results stored in its file.

    ``outputs`` and ``inputs`` are the mapped cells. ``graph`` is the workbook's own, read
    from ``path`` where it is not given (for .ods and .xls give that of the converted copy).
    Numbers agree within 1e-10 of the larger, or within what the rounding of the numbers
    upstream explains (see :func:`_slack`); texts must be the same; an error agrees with an
    error of the same code, or of a code only one program has. A cell upstream without a stored
    result disagrees where the engine says that it cannot calculate it. Opens ``path`` in
    ``engine``.
    """
    graph = graph or DependencyGraph(read_contents(path))
    contents = graph.contents
    upstream = graph.upstream(outputs)
    whole = bool(upstream.computed)
    cells = contents.formulas.keys() | contents.filled.keys() if whole else upstream.formulas
    changing = graph.changing(cells)
    stored = stored_values(path)
    comparable = sorted(cell for cell in cells - changing if cell in stored)
    bare = sorted(upstream.formulas - changing - stored.keys())
    engine.open(path)
    values = engine.read([*comparable, *bare])
    numbers = numbers_upstream(graph, comparable)
    suspects = [c for c in comparable if not _same(stored[c], values[c])]
    slack = _slack(engine, graph, numbers, {}, suspects)
    found = [c for c in suspects if not _same(stored[c], values[c], slack.get(c, 0.0))]
    wrong = [Disagreement(c, stored[c], values[c]) for c in found]
    wrong += [Disagreement(c, BlankCell(), values[c]) for c in bare if _not_calculated(values[c])]
    unreached = tuple(c for c in outputs if not _is_result(stored.get(c)))
    outcome, reason = _verdict(
        contents, stored, wrong, len(comparable), outputs, list(inputs), unreached
    )
    return TrustCheck(
        engine=engine.identity(),
        outcome=outcome,
        reason=reason,
        compared=len(comparable),
        disagreements=tuple(wrong),
        changing=tuple(sorted(changing)),
        left_out=_left_out(graph, cells),
        without_stored=tuple(sorted(cells - changing - stored.keys())),
        unreached=unreached,
        whole_workbook=whole,
    )


def _left_out(graph: DependencyGraph, compared: Iterable[CellRef]) -> tuple[CellRef, ...]:
    others = graph.contents.formulas.keys() - set(compared)
    return tuple(
        sorted(c for c, functions in graph.functions(others) if functions & CHANGING_FUNCTIONS)
    )


def _verdict(
    contents: WorkbookContents,
    stored: Mapping[CellRef, CellValue],
    wrong: Sequence[Disagreement],
    compared: int,
    outputs: Sequence[CellRef],
    inputs: Sequence[CellRef],
    unreached: Sequence[CellRef],
) -> tuple[TrustOutcome, str]:
    if wrong:
        return "disagrees", _differences(wrong, compared)
    if not compared and not any(contents.formula_at(cell) for cell in stored):
        return "not shown", "the file holds no stored results"
    if not compared:
        return "not shown", "no formula with a stored result feeds the outputs"
    if inputs and not any(_is_result(stored.get(cell)) for cell in inputs):
        return "not shown", "every mapped input is blank in the file"
    if len(unreached) == len(outputs):
        return "not shown", "no output shows a result with the inputs stored in the file"
    return "agrees", f"{compared} formula cells as stored in the file"


def _not_calculated(value: CellValue) -> bool:
    return isinstance(value, ErrorCell) and value.code in NOT_CALCULATED


def _differences(wrong: Sequence[Disagreement], compared: int) -> str:
    """How many cells differ, and the first of them by name."""
    differ = [one for one in wrong if not isinstance(one.stored, BlankCell)]
    said = f"{len(differ)} of {compared} formula cells differ from the file: " if differ else ""
    named = [
        f"{one.cell} is {_said(one.recalculated)}"
        + (f", stored {_said(one.stored)}" if one in differ else "")
        for one in wrong[:_MOST_NAMED]
    ]
    more = len(wrong) - len(named)
    return said + "; ".join(named) + (f"; and {more} more" if more else "")


def _said(value: CellValue) -> str:
    match value:
        case NumberCell(number):
            return f"{number:.15g}"
        case TextCell(text):
            return repr(text[:_MOST_SAID])
        case BooleanCell(truth):
            return str(truth).upper()
        case ErrorCell(code):
            why = NOT_CALCULATED.get(code)
            return f"{code} ({why})" if why else code
        case BlankCell():
            return "blank"


def _is_result(value: CellValue | None) -> bool:
    match value:
        case None | BlankCell() | ErrorCell() | TextCell(""):
            return False
    return True


def compare_engines(
    first: WorkbookEngine,
    second: WorkbookEngine,
    path: Path,
    reads: Sequence[CellRef],
    cases: Sequence[Mapping[CellRef, CellInput]],
    graph: DependencyGraph | None = None,
) -> EngineComparison:
    """Put the same cases to two engines and compare what they answer.

    For workbooks without stored results, and wherever a second opinion is wanted. Values
    agree as in :func:`trust_check`. Opens ``path`` in both engines.
    """
    graph = graph or DependencyGraph(read_contents(path))
    numbers = numbers_upstream(graph, reads)
    for engine in (first, second):
        engine.open(path)
    answers = zip(first.run(cases, reads), second.run(cases, reads), strict=True)
    compared = 0
    differences: list[EngineDifference] = []
    failures: dict[int, EngineFailure] = {}
    for number, (one, other) in enumerate(answers):
        if isinstance(one, EngineFailure):
            failures[number] = one
        elif isinstance(other, EngineFailure):
            failures[number] = other
        else:
            compared += len(one.values)
            found = differing(first, graph, one, other, numbers, cases[number])
            differences += [
                EngineDifference(number, c, one.values[c], other.values[c]) for c in found
            ]
    return EngineComparison(
        first.identity(), second.identity(), len(cases), compared, tuple(differences), failures
    )


def differing(
    engine: WorkbookEngine,
    graph: DependencyGraph,
    one: Readings,
    other: Readings,
    numbers: Mapping[CellRef, float],
    case: Mapping[CellRef, CellInput],
) -> list[CellRef]:
    """The cells whose stored values differ by more than rounding; ``engine`` tries it out."""
    suspects = [c for c, value in one.values.items() if not _same(value, other.values[c])]
    given = {c: v for c, v in case.items() if isinstance(v, float | int)}
    kept = {c: v for c, v in numbers.items() if c not in case}
    slack = _slack(engine, graph, {**kept, **given}, case, suspects)
    return [c for c in suspects if not _same(one.values[c], other.values[c], slack.get(c, 0.0))]


def _same(one: CellValue, other: CellValue, slack: float = 0.0) -> bool:
    match one, other:
        case ((NumberCell(a) | BooleanCell(a)), (NumberCell(b) | BooleanCell(b))):
            return abs(a - b) <= max(RELATIVE_TOLERANCE * max(abs(a), abs(b)), slack)
        case ErrorCell(a), ErrorCell(b):
            return a == b or not {a, b} <= STANDARD_ERRORS
        case ((BlankCell() | TextCell("")), (BlankCell() | TextCell(""))):
            return True
    return one == other


def numbers_upstream(graph: DependencyGraph, cells: Iterable[CellRef]) -> dict[CellRef, float]:
    """The typed-in numbers the cells rest on, where they may be set."""
    contents = graph.contents
    return {
        cell: value.value
        for cell in sorted(graph.upstream(cells).constants)
        if isinstance(value := contents.constants[cell], NumberCell)
        and input_problem(contents, cell) is None
    }


def _slack(
    engine: WorkbookEngine,
    graph: DependencyGraph,
    numbers: Mapping[CellRef, float],
    case: Mapping[CellRef, CellInput],
    cells: Sequence[CellRef],
) -> dict[CellRef, float]:
    """How far rounding alone may move each cell's number: the tolerance where terms cancel.

    Every number upstream is stirred by one part in 2^44, up or down at random, and again 64
    times as hard. A cell that moves in proportion may differ by 8 times its movement at the
    gentle stir. One that does not, and is below 2^-44 of the largest number it reads that
    did move, is a sum that cancels whatever the numbers are (a residual): it may differ by
    as much as that. Anything else (a branch, a lookup, an error) is allowed nothing.
    """
    if not cells:
        return {}
    rng = random.Random(0)
    batch: list[dict[CellRef, CellInput]] = [dict(case)]
    for _ in range(DRAWS):
        signs = {cell: rng.choice((-STIR, STIR)) for cell in numbers}
        for strength in (1, STIR_HARDER):
            stirred = {c: v * (1.0 + strength * signs[c]) for c, v in numbers.items()}
            batch.append({**case, **stirred})
    direct = {cell: _read_directly(graph, cell) for cell in cells}
    answers = engine.run(batch, list({*cells, *(c for found in direct.values() for c in found)}))
    return {cell: _slack_of(_tracked(answers, cell), answers, direct[cell]) for cell in cells}


def _slack_of(
    values: list[float], answers: Sequence[Readings | EngineFailure], reads: Sequence[CellRef]
) -> float:
    if not values:
        return 0.0
    gentle = max(abs(value - values[0]) for value in values[1::2])
    hard = max(abs(value - values[0]) for value in values[2::2])
    if hard > SMOOTH * gentle:
        return NOISE_FACTOR * hard / STIR_HARDER
    tracked = [_tracked(answers, cell) for cell in reads]
    scale = max((abs(v[0]) for v in tracked if v and any(x != v[0] for x in v)), default=0.0)
    return STIR * scale if abs(values[0]) <= STIR * scale else 0.0


def _read_directly(graph: DependencyGraph, cell: CellRef) -> list[CellRef]:
    """The cells with contents among those the cell's formula names."""
    reads = graph.reads(cell)
    return [c for area in (reads.areas if reads else ()) for c in graph.cells_in(area)]


def _tracked(answers: Sequence[Readings | EngineFailure], cell: CellRef) -> list[float]:
    """The cell's number in every answer; nothing where one of them is no number."""
    values = [None if isinstance(a, EngineFailure) else a.values[cell] for a in answers]
    numbers = [value.value for value in values if isinstance(value, NumberCell)]
    return numbers if len(numbers) == len(values) else []
