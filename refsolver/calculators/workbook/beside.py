"""Two engines on the same cases: where their cells differ, stored values and displayed texts."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from refsolver.calculators.workbook.engine import (
    CellInput,
    EngineFailure,
    Readings,
    WorkbookEngine,
    cell_value_to_dict,
)
from refsolver.calculators.workbook.graph import DependencyGraph
from refsolver.calculators.workbook.references import CellRef
from refsolver.calculators.workbook.trust import differing, numbers_upstream

__all__ = ["EngineBeside"]


class EngineBeside:
    """A second engine that is put the same cases, and what it sees otherwise.

    ``engine`` opens ``path``, which may be a converted copy of the workbook; ``cells`` are
    compared. Stored values agree as in :func:`~.trust.trust_check`: within 1e-10, or within
    what rounding explains where terms cancel. Texts must be the same; a text that an engine
    cannot tell is counted and not compared.
    """

    def __init__(
        self,
        engine: WorkbookEngine,
        path: Path,
        cells: Sequence[CellRef],
        graph: DependencyGraph,
    ) -> None:
        self.engine = engine
        self.cells = list(dict.fromkeys(cells))
        self._graph = graph
        self._numbers = numbers_upstream(graph, self.cells)
        engine.open(path)

    def compared(
        self,
        batch: Sequence[Mapping[CellRef, CellInput]],
        answers: Sequence[Readings | EngineFailure],
    ) -> list[dict[str, Any]]:
        """For each case what differs from the other engine's answer, JSON-able.

        ``cells`` and ``texts`` count what was compared, ``untold`` the texts that were not;
        ``stored`` and ``displayed`` have by cell the pair (other engine's, this one's);
        ``failure`` says why a case was not compared.
        """
        own = self.engine.run(batch, self.cells, self.cells)
        return [
            self._one(case, judged, beside)
            for case, judged, beside in zip(batch, answers, own, strict=True)
        ]

    def _one(
        self,
        case: Mapping[CellRef, CellInput],
        judged: Readings | EngineFailure,
        beside: Readings | EngineFailure,
    ) -> dict[str, Any]:
        for answer in (judged, beside):
            if isinstance(answer, EngineFailure):
                return {"failure": str(answer)}
        assert isinstance(judged, Readings) and isinstance(beside, Readings)
        found = differing(self.engine, self._graph, judged, beside, self._numbers, case)
        texts = {c: (judged.displayed[c], beside.displayed[c]) for c in self.cells}
        told = {c: pair for c, pair in texts.items() if None not in pair}
        return {
            "cells": len(self.cells),
            "texts": len(told),
            "untold": len(texts) - len(told),
            "stored": {
                str(c): [cell_value_to_dict(judged.values[c]), cell_value_to_dict(beside.values[c])]
                for c in found
            },
            "displayed": {str(c): list(pair) for c, pair in told.items() if pair[0] != pair[1]},
        }
