"""A campaign: generated cases by the thousand or million, by range of condition number.

The catalogue shows that a calculator agrees with print; a campaign looks for the case
that breaks it. Memory stays the same whatever the number of cases: a case is made, put,
judged, counted and forgotten, and only the worst of each cell are kept, as case files.
"""

from __future__ import annotations

import contextlib
import functools
from collections.abc import Generator, Iterator, Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import attrs
from tabulate import tabulate

from refsolver._version import __version__
from refsolver.calculators.file import CalculatorFile, read_calculator_file
from refsolver.calculators.opening import open_calculator
from refsolver.catalogue.userfile import write_text
from refsolver.checking.judging import VERDICTS
from refsolver.records.canonical import canonical, digest
from refsolver.records.locking import locked
from refsolver.runs.campaign_log import LOG, CampaignLog
from refsolver.runs.campaign_plan import RANGES, planned, range_of
from refsolver.runs.progress import Progress, silent
from refsolver.runs.shards import (
    Plan,
    Shard,
    close_calculators,
    generated_text,
    kept_open,
    run_shard,
)
from refsolver.runs.stopping import Stopping
from refsolver.runs.tally import CellTally, added, cell_data
from refsolver.runs.workers import on_cluster, on_processes

__all__ = ["RANGES", "CampaignResult", "range_of", "run_campaign"]


@attrs.frozen
class CampaignResult:
    """A finished (or stopped) campaign."""

    folder: Path
    content: dict[str, Any]
    written: tuple[Path, ...]
    complete: bool

    def text(self) -> str:
        """For people: what was counted, and where the rest is."""
        counted = [*self.content["cases"].items(), *self.content["verdicts"].items()]
        rows = [[word, number] for word, number in counted]
        said = [tabulate(rows, headers=["", "number"], disable_numparse=True, tablefmt="simple")]
        if not self.complete:
            begun = any(self.content["cases"].values())
            said.append(
                "stopped before the end: the same command with --resume goes on"
                if begun
                else "stopped before any case was judged: the same command begins anew"
            )
        said += [f"written: {path}" for path in self.written[:2]]
        kept = len(self.written) - 2
        if kept:
            said.append(f"written: {self.folder / 'worst'} ({kept} worst cases)")
        return "\n".join(said)

    @property
    def passed(self) -> bool:
        """Whether it was finished and every reading passes or is not applicable."""
        bad = [v for v in VERDICTS if v not in ("pass", "not applicable")]
        return self.complete and not any(self.content["verdicts"].get(v) for v in bad)


def run_campaign(
    path: Path,
    folder: Path,
    *,
    count: int,
    seed: int = 1,
    digits: int = 30,
    families: Sequence[str] = (),
    ranges: Sequence[tuple[float, float]] = RANGES,
    workers: int = 1,
    cluster: str | None = None,
    resume: bool = False,
    progress: Progress | None = None,
) -> CampaignResult:
    """Puts about ``count`` generated cases to the calculator, spread evenly over the cells.

    Writes ``campaign.json`` (the same bytes whatever the number of workers, but for the
    circumstances), ``campaign.md`` and the worst cases as case files in ``worst``. A
    campaign that is stopped (Ctrl-C) says so in both and goes on with ``resume``. Raises
    CalculatorFileError, RecordError, NoGenerator.
    """
    started = datetime.now(UTC)
    file = read_calculator_file(path)
    plan, left_out = planned(file, count, seed, digits, families, ranges)
    alone = workers == 1 and cluster is None
    with (
        _identified(plan, file, alone) as (plan, same),
        locked(folder),
        CampaignLog(folder / LOG, same, resume) as log,
    ):
        cells, done = [CellTally() for _ in plan.cells], set()
        if resume:
            for number, tally in log.finished():
                done.add(number)
                index = number % len(plan.cells)
                cells[index] = added(cells[index], tally)
        complete = _work(plan, cells, done, log, workers, cluster, progress)
        content = {**_content(same, plan, cells, complete), "left_out": left_out}
        circumstances = {
            "started": started.isoformat(timespec="seconds"),
            "ended": datetime.now(UTC).isoformat(timespec="seconds"),
            "workers": workers if cluster is None else "a cluster",
        }
        written = _write(folder, file, plan, cells, content, circumstances)
        if complete:
            log.remove()
    return CampaignResult(folder, content, written, complete)


@contextlib.contextmanager
def _identified(
    plan: Plan, file: CalculatorFile, alone: bool
) -> Iterator[tuple[Plan, dict[str, Any]]]:
    """The plan for the calculator as it is, and what must not change while it is followed.

    The calculator stays open for the work of this process ``alone``; others open their own.
    """
    with contextlib.closing(open_calculator(file)) as calculator:
        same = _same(plan, file, calculator.identity())
        plan = attrs.evolve(plan, identity=digest(same["calculator"]))
        if alone:
            with kept_open(plan, calculator):
                yield plan, same
            return
    yield plan, same


def _same(plan: Plan, file: CalculatorFile, identity: dict[str, Any]) -> dict[str, Any]:
    """What must not change while a campaign goes on."""
    return {
        "solver": __version__,
        "calculator": {
            "name": file.name,
            "version": file.version,
            "owner": file.owner,
            "file": file.path.name,
            "sha256": file.sha256,
            "identity": digest(identity),
        },
        "seed": plan.seed,
        "digits": plan.digits,
        "cells": [cell.name for cell in plan.cells],
        "cases a cell": plan.each,
        "cases a shard": plan.size,
    }


def _work(
    plan: Plan,
    cells: list[CellTally],
    done: set[int],
    log: CampaignLog,
    workers: int,
    cluster: str | None,
    progress: Progress | None,
) -> bool:
    """Works on every shard that is left; False where it was asked to stop."""
    left = (shard for shard in plan.shards() if shard.number not in done)
    work = functools.partial(run_shard, plan)
    with Stopping() as stopping:
        results: Generator[tuple[Shard, CellTally], None, None] = (
            on_processes(work, left, workers, close_calculators)
            if cluster is None
            else on_cluster(work, left, cluster)
        )
        with contextlib.closing(results):
            left_over = plan.shard_count - len(done)
            for shard, tally in (progress or silent)(_until_stopped(results, stopping), left_over):
                log.add(shard.number, tally)
                cells[shard.cell] = added(cells[shard.cell], tally)
        return not stopping.asked


def _until_stopped(results: Iterator[Any], stopping: Stopping) -> Iterator[Any]:
    while True:
        try:
            item = stopping.next_of(results)
        except (StopIteration, KeyboardInterrupt):
            return
        yield item


def _content(
    same: dict[str, Any], plan: Plan, cells: Sequence[CellTally], complete: bool
) -> dict[str, Any]:
    total = CellTally()
    for tally in cells:
        total = added(total, tally)
    return {
        **same,
        "complete": complete,
        "cases": {"asked": total.cases, "outside the scope": total.outside},
        "verdicts": {name: n for name, n in total.verdicts.items() if n},
        "results": [
            {
                "family": cell.family,
                "from": cell.low,
                "to": cell.high,
                **_public(cell_data(tally)),
            }
            for cell, tally in zip(plan.cells, cells, strict=True)
        ],
    }


def _public(data: dict[str, Any]) -> dict[str, Any]:
    worst = [
        {
            "case": -one["number"],
            "output": one["output"],
            "verdict": one["verdict"],
            "share_of_tolerance": one["share"],
            "relative": one["relative"],
        }
        for one in data["worst"]
    ]
    return {**data, "worst": worst}


def _write(
    folder: Path,
    file: CalculatorFile,
    plan: Plan,
    cells: Sequence[CellTally],
    content: dict[str, Any],
    circumstances: dict[str, Any],
) -> tuple[Path, ...]:
    from refsolver.reporting.campaign import campaign_text

    written = []
    for cell, tally in zip(plan.cells, cells, strict=True):
        for one in tally.worst:
            number = -one.number
            slug = f"{cell.family.replace('/', '-')}-{cell.low:.0e}-{cell.high:.0e}-{number}"
            path = folder / "worst" / f"{slug.replace('+', '').replace(' ', '-')}.toml"
            write_text(path, generated_text(plan, cell, number, file.section(cell.family)))
            written.append(path)
    whole = {"content": content, "hash": digest(content), "circumstances": circumstances}
    write_text(folder / "campaign.json", canonical(whole).decode() + "\n")
    write_text(folder / "campaign.md", campaign_text(whole))
    return (folder / "campaign.json", folder / "campaign.md", *written)
