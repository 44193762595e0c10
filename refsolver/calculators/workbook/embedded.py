"""The embedded workbook engine: ironcalc in a worker process."""

from __future__ import annotations

import sys

from refsolver.calculators.workbook.worker_engine import WorkerEngine
from refsolver.calculators.worker import Worker

__all__ = ["EmbeddedEngine"]


class EmbeddedEngine(WorkerEngine):
    """ironcalc: quick, installed with this package, reads .xlsx and .xlsm (macros never run).

    It lives in a process of its own because it holds the interpreter's lock while it works
    and may panic. It is not the program a workbook was made for: see
    :func:`~.survey.embedded_gaps` for what it does not know and :mod:`.trust` for the check
    to make first. One thing is mended in its memory on loading: SUMPRODUCT over a function of
    a range, which it would take for one cell (see
    :func:`~.embedded_worker.without_added_intersections`). Displayed texts come from
    :mod:`.display`, since ironcalc's own lose the sign under the number format ``0`` and
    break ties downwards.
    """

    name = "ironcalc"
    kinds = frozenset({"xlsx", "xlsm"})

    def __init__(self, *, limit: float = 10.0, start_limit: float = 30.0) -> None:
        folder = self.private_folder()
        worker = Worker(
            [sys.executable, "-m", "refsolver.calculators.workbook.embedded_worker"],
            start_limit=start_limit,
            greets=True,
        )
        super().__init__(worker, folder, limit)
