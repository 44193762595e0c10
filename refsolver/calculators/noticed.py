"""What a reviewer should know of a workbook, as its record and its reports carry it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from refsolver.calculators.typed_cells import told_rules
from refsolver.calculators.workbook.graph import DependencyGraph
from refsolver.calculators.workbook.references import CellRef
from refsolver.calculators.workbook.survey import Survey, VolatileCell, survey

__all__ = ["noticed"]


def noticed(
    graph: DependencyGraph, inputs: Sequence[CellRef], outputs: Sequence[CellRef]
) -> dict[str, Any]:
    """By kind of thing; what most workbooks have not is left out where there is none of it."""
    found = survey(graph, outputs)
    feeding = graph.upstream(outputs).formulas
    seldom = {
        "changing": _changing(found),
        "computed": [str(cell) for cell in found.computed],
        "functions": [
            f"{cell} ({', '.join(names)})"
            for cell, names in found.unlisted.items()
            if cell in feeding
        ],
        "names": [
            f"{cell} ({', '.join(names)})"
            for cell, names in found.unknown.items()
            if cell in feeding
        ],
        "data_tables": [str(cell) for cell in found.data_tables],
        "validation": told_rules(graph.contents, inputs),
        "iteration": _iteration(graph),
        "precision_as_displayed": found.precision_as_displayed,
        "dates_from_1904": found.dates_from_1904,
    }
    return {
        "hidden_sheets": list(found.hidden_sheets),
        "macros": found.macros,
        "external": list(found.external_targets),
        "volatile": [_volatile(cell) for cell in found.volatile],
        **{name: value for name, value in seldom.items() if value},
    }


def _volatile(cell: VolatileCell) -> str:
    feeds = f"; feeds {', '.join(map(str, cell.feeds))}" if cell.feeds else ""
    return f"{cell.cell} ({', '.join(sorted(cell.functions))}{feeds})"


def _changing(found: Survey) -> list[str]:
    """The outputs that another day, or another run, would change."""
    return [str(c) for c in dict.fromkeys(c for v in found.volatile if v.changing for c in v.feeds)]


def _iteration(graph: DependencyGraph) -> str:
    stated = graph.contents.iterative
    if stated is None:
        return ""
    rounds, change = stated.split()
    return (
        f"at most {rounds} rounds, until nothing changes by more than {change}; each case begins "
        "from the workbook as it is stored, a user's next one from the results of the last"
    )
