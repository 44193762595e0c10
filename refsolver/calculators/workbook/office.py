"""LibreOffice Calc as a workbook engine: one long-lived process of the system's own."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterable
from pathlib import Path

import attrs

from refsolver.calculators.one_run import run_once
from refsolver.calculators.workbook.engine import EngineAbsent
from refsolver.calculators.workbook.worker_engine import WorkerEngine
from refsolver.calculators.worker import Worker

__all__ = ["OfficeEngine", "OfficePrograms", "converted_to_xlsx", "find_office"]

WORKER = Path(__file__).with_name("office_worker.py")
PROBE_LIMIT = 20.0
PIPES = "/tmp"
"""Where LibreOffice puts the pipe it is talked to through; one that is killed leaves it."""

WANTED = (
    "LibreOffice Calc is needed, and its bridge to the system's Python: "
    "on Debian and its kin install libreoffice-calc and python3-uno"
)


@attrs.frozen
class OfficePrograms:
    """The two programs the engine needs: LibreOffice, and a Python that can talk to it."""

    soffice: Path
    python: Path


def find_office() -> OfficePrograms:
    """Where LibreOffice and a Python with its bridge are; :class:`~.engine.EngineAbsent`."""
    soffice = next(filter(None, map(_existing, _soffices())), None)
    if soffice is None:
        raise EngineAbsent(f"LibreOffice was not found. {WANTED}.")
    for python in filter(None, map(_existing, _pythons(soffice))):
        probe = run_once([str(python), "-c", "import uno"], env=_environment(), limit=PROBE_LIMIT)
        if probe.exit_code == 0:
            return OfficePrograms(soffice, python)
    raise EngineAbsent(f"{soffice} is there, but no Python that can talk to it. {WANTED}.")


def _existing(path: str | None) -> Path | None:
    return Path(path) if path is not None and Path(path).is_file() else None


def _soffices() -> Iterable[str | None]:
    yield shutil.which("soffice")
    yield shutil.which("libreoffice")
    yield "/usr/lib/libreoffice/program/soffice"
    yield "/Applications/LibreOffice.app/Contents/MacOS/soffice"
    yield from sorted(map(str, Path("/opt").glob("libreoffice*/program/soffice")), reverse=True)


def _pythons(soffice: Path) -> Iterable[str]:
    program = soffice.resolve().parent
    yield "/usr/bin/python3"
    yield str(program / "python")
    yield str(program.parent / "Resources" / "python")


def _environment() -> dict[str, str]:
    """This process's environment without what would mislead another Python."""
    kept = {k: v for k, v in os.environ.items() if not k.startswith(("PYTHON", "VIRTUAL_ENV"))}
    return kept | {"LC_ALL": "C.UTF-8", "PYTHONDONTWRITEBYTECODE": "1"}


class OfficeEngine(WorkerEngine):
    """LibreOffice Calc: the engine of record, and the only one that reads .ods and .xls.

    It runs with a private profile (always recalculates what it loads, runs no macro, follows
    no link, English formats) on a private copy. It differs from other spreadsheet programs
    here and there without a word: ``ATAN2(0,0)`` is 0, a sum that nearly cancels snaps to 0,
    ``0^0`` is 1, CONVERT has the pound-force to seven figures, SQRT(-1) is ``Err:502``;
    booleans are numbers with a logical format. The record therefore names the engine.
    Raises :class:`~.engine.EngineAbsent` where it is not installed.
    """

    name = "LibreOffice Calc"
    kinds = frozenset({"xlsx", "xlsm", "ods", "xls"})

    def __init__(
        self,
        programs: OfficePrograms | None = None,
        *,
        limit: float = 60.0,
        start_limit: float = 90.0,
    ) -> None:
        programs = programs or find_office()
        folder = self.private_folder()
        scratch = folder / "scratch"
        scratch.mkdir()
        worker = Worker(
            [str(programs.python), str(WORKER), str(programs.soffice), str(folder)],
            env=_environment() | {"TMPDIR": str(scratch)},
            start_limit=start_limit,
            greets=True,
        )
        super().__init__(worker, folder, limit)

    def close(self) -> None:
        super().close()
        for left in Path(PIPES).glob(f"OSL_PIPE_*_{self._folder.name}-*"):
            left.unlink(missing_ok=True)

    def save_as_xlsx(self, target: Path) -> None:
        """Write the open workbook, as it is now, to ``target`` as .xlsx."""
        self._ensure_open()
        self._ask(do="export", path=str(target.absolute()))


def converted_to_xlsx(path: Path, target: Path, programs: OfficePrograms | None = None) -> Path:
    """Write an .ods or .xls workbook to ``target`` as .xlsx, to read its formulas there.

    The formulas become those of the .xlsx format, the results LibreOffice's own.
    """
    with OfficeEngine(programs) as engine:
        engine.open(path)
        engine.save_as_xlsx(target)
    return target
