"""What a reader of the report should know of a workbook, told without running it."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from typing import Literal, TypeAlias

import attrs

from refsolver.calculators.workbook.contents import WorkbookContents
from refsolver.calculators.workbook.formulas import CHANGING_FUNCTIONS, VOLATILE_FUNCTIONS
from refsolver.calculators.workbook.graph import DependencyGraph, Reads
from refsolver.calculators.workbook.references import CellRef

__all__ = [
    "EMBEDDED_UNKNOWN_FUNCTIONS",
    "Gap",
    "GapKind",
    "Survey",
    "VolatileCell",
    "embedded_gaps",
    "external_problem",
    "input_problem",
    "output_problem",
    "survey",
]

GapKind: TypeAlias = Literal["unknown", "differs"]

EMBEDDED_UNKNOWN_FUNCTIONS = frozenset(
    {
        "AGGREGATE",
        "BAHTTEXT",
        "CUBEKPIMEMBER",
        "CUBEMEMBER",
        "CUBEMEMBERPROPERTY",
        "CUBERANKEDMEMBER",
        "CUBESET",
        "CUBESETCOUNT",
        "CUBEVALUE",
        "DBCS",
        "FILTERXML",
        "GETPIVOTDATA",
        "IMAGE",
        "JIS",
        "PHONETIC",
        "RTD",
        "WEBSERVICE",
    }
)
"""Functions of the .xlsx format that ironcalc 0.9.1 does not know (found by asking it)."""

# fmt: off
MAPPED_IN_SUMPRODUCT = frozenset({
    "ABS", "ACOS", "ACOSH", "ASIN", "ASINH", "ATAN", "ATANH", "CHOOSE", "COS", "COSH", "DEGREES",
    "EVEN", "EXACT", "EXP", "FACT", "IF", "IFERROR", "INDEX", "INT", "LEN", "LN", "LOG10", "MAX",
    "MIN", "ODD", "PI", "POWER", "RADIANS", "ROW", "SIGN", "SIN", "SINH", "SQRT", "SUM", "TAN",
    "TANH", "TRANSPOSE",
})
# fmt: on
"""Functions that ironcalc 0.9.1 calculates inside SUMPRODUCT as LibreOffice Calc does (found
by trying them); others end in an error there, ISNUMBER in a wrong number."""


@attrs.frozen
class VolatileCell:
    """A formula recalculated every time; ``changing`` where its result changes by itself.

    ``feeds`` are the outputs that rest on it.
    """

    cell: CellRef
    functions: frozenset[str]
    changing: bool
    feeds: tuple[CellRef, ...]


@attrs.frozen
class Survey:
    """What was noticed; cells are of the whole workbook, in order.

    ``external`` are the formulas that read other workbooks, with the references;
    ``unknown`` those with names or references that mean nothing; ``unlisted`` those with
    functions that are user-defined or misspelt; ``computed`` those that make references
    while they run and feed an output, so that what the output rests on is not fully known.
    """

    hidden_sheets: tuple[str, ...]
    macros: bool
    external_targets: tuple[str, ...]
    external: dict[CellRef, tuple[str, ...]]
    volatile: tuple[VolatileCell, ...]
    array_formulas: tuple[CellRef, ...]
    data_tables: tuple[CellRef, ...]
    unknown: dict[CellRef, tuple[str, ...]]
    unlisted: dict[CellRef, tuple[str, ...]]
    computed: tuple[CellRef, ...]
    iterative: bool
    precision_as_displayed: bool
    dates_from_1904: bool


@attrs.frozen
class Gap:
    """Something the embedded engine does not do as other programs do.

    ``unknown``: it ends in an error or is left out. ``differs``: the value may be another.
    ``cell`` is None where the whole workbook is concerned.
    """

    cell: CellRef | None
    kind: GapKind
    what: str


def survey(graph: DependencyGraph, outputs: Iterable[CellRef]) -> Survey:
    """Everything :class:`Survey` tells about the workbook and these outputs."""
    contents = graph.contents
    outputs = list(outputs)
    reads = {cell: read for cell in sorted(contents.formulas) if (read := graph.reads(cell))}
    return Survey(
        hidden_sheets=contents.hidden_sheets,
        macros=contents.macros is not None,
        external_targets=contents.external_links,
        external={cell: read.external for cell, read in reads.items() if read.external},
        volatile=_volatile(graph, reads, outputs),
        array_formulas=_of_kind(contents, "array"),
        data_tables=_of_kind(contents, "data table"),
        unknown={cell: read.unknown for cell, read in reads.items() if read.unknown},
        unlisted={c: tuple(sorted(r.unlisted)) for c, r in reads.items() if r.unlisted},
        computed=graph.upstream(outputs).computed,
        iterative=contents.iterative is not None,
        precision_as_displayed=contents.precision_as_displayed,
        dates_from_1904=contents.dates_from_1904,
    )


def _of_kind(contents: WorkbookContents, kind: str) -> tuple[CellRef, ...]:
    return tuple(sorted(c for c, formula in contents.formulas.items() if formula.kind == kind))


def _volatile(
    graph: DependencyGraph, reads: dict[CellRef, Reads], outputs: list[CellRef]
) -> tuple[VolatileCell, ...]:
    found = {c: read.functions & VOLATILE_FUNCTIONS for c, read in reads.items()}
    found = {cell: functions for cell, functions in found.items() if functions}
    feeds: dict[CellRef, list[CellRef]] = {cell: [] for cell in found}
    for output in outputs if found else ():
        upstream = graph.upstream([output]).formulas
        for cell in found.keys() & upstream:
            feeds[cell].append(output)
    return tuple(
        VolatileCell(cell, functions, bool(functions & CHANGING_FUNCTIONS), tuple(feeds[cell]))
        for cell, functions in found.items()
    )


def input_problem(contents: WorkbookContents, cell: CellRef) -> str | None:
    """Why nobody could type into ``cell``, or why doing so changes the workbook; else None."""
    if cell.sheet not in contents.names.sheets:
        return f"the workbook has no sheet {cell.sheet!r}; check the name"
    formula = contents.formula_at(cell)
    if formula is not None and formula.kind != "plain":
        return (
            f"{cell} is filled by the {formula.kind} in {formula.area}, not typed in; map the "
            "cells that a person types into"
        )
    covered = output_problem(contents, cell)
    if covered is not None:
        return covered
    if cell.sheet in contents.locked_sheets and cell not in contents.unlocked:
        return f"{cell} is locked on a protected sheet; map the cell that its users type into"
    if formula is not None:
        return (
            f"{cell} holds a formula ({formula.text}), which an input would replace; map the "
            "cells that a person types into"
        )
    return None


def output_problem(contents: WorkbookContents, cell: CellRef) -> str | None:
    """Why ``cell`` never shows a result of its own; else None."""
    anchor = contents.merged_under(cell)
    return f"{cell} lies under the merged cell {anchor}; map that one" if anchor else None


def external_problem(graph: DependencyGraph, outputs: Iterable[CellRef]) -> str | None:
    """The first cell the outputs rest on that reads another workbook; None without one."""
    for cell in sorted(graph.upstream(outputs).formulas):
        reads = graph.reads(cell)
        for reference in reads.external if reads else ():
            return (
                f"{cell} reads {reference} in another workbook, "
                f"{_target_of(graph.contents, reference)}, which is never opened: put the value "
                "itself into the cell, or have your own program compute with --exchange"
            )
    return None


def _target_of(contents: WorkbookContents, reference: str) -> str:
    """The file that a reference names, or that the number in its brackets stands for."""
    name = re.search(r"\[([^\]]+)\]", reference)
    said = name[1] if name else ""
    targets = contents.external_links
    known = said.isdecimal() and 0 < int(said) <= len(targets)
    return targets[int(said) - 1] if known else said or "not named in the file"


def embedded_gaps(graph: DependencyGraph, cells: Iterable[CellRef]) -> tuple[Gap, ...]:
    """What the embedded engine may not do justice to in the formulas of ``cells``.

    Usually the cells upstream of the outputs. An empty answer is no promise: the check in
    :mod:`.trust` decides.
    """
    gaps = list(_workbook_gaps(graph.contents))
    for cell in sorted(set(cells)):
        reads = graph.reads(cell)
        if reads is not None:
            gaps += [Gap(cell, kind, what) for kind, what in _formula_gaps(reads)]
    return tuple(gaps)


def _workbook_gaps(contents: WorkbookContents) -> Iterator[Gap]:
    if contents.iterative is not None:
        yield Gap(None, "unknown", "iterative calculation is switched on")
    if contents.precision_as_displayed:
        yield Gap(None, "differs", "the workbook calculates with the precision displayed")
    if contents.dates_from_1904:
        yield Gap(None, "differs", "dates count from 1904; the engine counts from 1900")


def _formula_gaps(reads: Reads) -> Iterator[tuple[GapKind, str]]:
    for name in sorted(reads.functions & EMBEDDED_UNKNOWN_FUNCTIONS):
        yield "unknown", f"the function {name}"
    for name in sorted(reads.unlisted):
        yield "unknown", f"{name} is no function of the file format"
    for name in reads.constant_names:
        yield "unknown", f"the name {name} stands for a constant"
    for name in reads.formula_names:
        yield "unknown", f"the name {name} stands for a formula"
    for reference in reads.three_dimensional:
        yield "unknown", f"{reference} runs through several sheets"
    for reference in reads.external:
        yield "unknown", f"{reference} lies in another workbook"
    if reads.unites:
        yield "unknown", "references are united with a comma"
    if reads.intersects:
        yield "unknown", "references are intersected with a space"
    for name in sorted(reads.summed - MAPPED_IN_SUMPRODUCT):
        yield "differs", f"{name} over a range inside SUMPRODUCT"
    for reference in reads.narrowed:
        yield "differs", f"{reference} is taken as a whole, not as the cell beside the formula"
    if "TEXT" in reads.functions:
        yield "differs", "TEXT: the sign is lost under the format 0, ties go down, ° is refused"
    if reads.joins or reads.functions & {"CONCATENATE", "CONCAT", "TEXTJOIN"}:
        yield "differs", "a number joined to a text gets up to 17 digits, elsewhere 15"
