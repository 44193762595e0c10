"""Several calculators checked one after the other, and their records side by side."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

from refsolver.calculators.file import CalculatorFileError, read_calculator_file
from refsolver.catalogue.catalogue import Catalogue
from refsolver.catalogue.userfile import write_text
from refsolver.reporting.side_by_side import side_by_side
from refsolver.runs.checking import CheckResult, check_and_report
from refsolver.runs.progress import Progress
from refsolver.runs.stopping import Stopping

__all__ = ["SIDE_BY_SIDE", "check_each", "write_side_by_side"]

SIDE_BY_SIDE = "side-by-side.md"


def check_each(
    paths: Sequence[Path],
    out: Path | None,
    *,
    digits: int = 30,
    pdf: bool = False,
    resume: bool = False,
    short: bool = False,
    progress: Progress | None = None,
    stopping: Stopping | None = None,
    catalogue: Catalogue | None = None,
) -> Iterator[CheckResult]:
    """Checks each calculator file, each with a folder of its own for record and reports.

    Every file is read before the first is asked, so that a slip in the last one does not
    cost the runs of the others. Ends early where ``stopping`` asks for it. Raises
    CalculatorFileError where two have one name, or would have on a disk that takes large and
    small letters for the same.
    """
    stems = [path.stem for path in paths]
    for stem in stems:
        if sum(stem.casefold() == other.casefold() for other in stems) > 1:
            raise CalculatorFileError(
                f"two calculator files are named {stem}: their reports would have one folder; "
                "rename one"
            )
    for path in paths:
        read_calculator_file(path)
    for path in paths:
        if stopping is not None and stopping.asked:
            return
        yield check_and_report(
            path,
            out,
            digits=digits,
            pdf=pdf,
            many=True,
            resume=resume,
            short=short,
            progress=progress,
            stopping=stopping,
            catalogue=catalogue,
        )


def write_side_by_side(results: Sequence[CheckResult], out: Path | None) -> Path:
    """Writes ``side-by-side.md`` to ``out`` (or the working folder); returns its path."""
    path = (out or Path()) / SIDE_BY_SIDE
    write_text(path, side_by_side({result.folder.name: result.record for result in results}))
    return path
