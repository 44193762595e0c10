"""Checks and campaigns ended by SIGKILL at random moments, gone on with, and looked at.

    python -m tests.reliability kills --kills 100       100 in all, shared among four kinds

The runs are those of ``tests/runs/test_resume.py`` and ``tests/runs/test_campaign.py``. A moment
is drawn within what is left of a run by the length of its journal; where the run has ended
before all the same, that is no kill, and another is drawn.
"""

from __future__ import annotations

import json
import os
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import attrs

from refsolver.catalogue.catalogue import Catalogue
from refsolver.records.alterations import alterations
from refsolver.records.canonical import canonical, digest, read_record
from refsolver.records.journal import JOURNAL
from refsolver.runs.campaign_log import LOG
from tests.hostile.bases import CASE, FAMILY
from tests.runs.conftest import CASES, case_text
from tests.runs.test_campaign import described
from tests.runs.test_resume import ROOT, Bench

KINDS = ("check of a function", "check of a program", "check of a workbook", "campaign")
BENCHES = dict(zip(KINDS[:3], ("function", "program", "workbook"), strict=True))


@attrs.define
class Tally:
    """What the kills of one kind came to."""

    kills: int = 0
    too_late: int = 0
    whole: int = 0
    broken: int = 0
    completed: int = 0
    other: int = 0


@attrs.frozen
class Length:
    """Seconds of a run that was not disturbed, and how its journal grew meanwhile."""

    first: float
    """Until the journal was begun."""
    last: float
    """Until it grew no more."""
    whole: float
    journal: int
    """Its bytes then."""

    def left(self, journal: Path) -> float:
        """Seconds that a run takes which goes on with what this journal holds."""
        done = min(1.0, _size(journal) / self.journal)
        return self.whole - done * (self.last - self.first)


def _size(path: Path) -> int:
    try:
        return path.stat().st_size
    except FileNotFoundError:
        return 0


@attrs.frozen
class Kind:
    """How a run of this kind is started, where its record lies, and whether that is whole."""

    folder: Path
    start: Callable[[bool], subprocess.Popen[str]]
    """Given whether to go on with what is there."""
    record: str
    journal: str
    is_whole: Callable[[Path], bool]
    nothing_left: Callable[[], None] = lambda: None

    def content(self) -> bytes:
        data = json.loads((self.folder / "out" / self.record).read_bytes())["content"]
        return canonical(data)

    def watched(self) -> Length:
        """How long a run takes that starts over and is let end."""
        begun, grown, size = time.monotonic(), [], 0
        process = self.start(False)
        while process.poll() is None:
            if (now := _size(self.folder / "out" / self.journal)) > size:
                size = now
                grown.append(time.monotonic() - begun)
            time.sleep(0.002)
        whole = time.monotonic() - begun
        process.communicate()
        return Length(grown[0], grown[-1], whole, size)

    def finished(self) -> bytes:
        """The content of the record, once the run has come to its end."""
        process = self.start((self.folder / "out").exists())
        said = process.communicate(timeout=600)[1]
        if process.returncode not in (0, 1):
            raise RuntimeError(said)
        return self.content()


def _sealed(path: Path) -> bool:
    return not list(alterations(path.read_bytes(), read_record(path)))


def _hashed(path: Path) -> bool:
    data = json.loads(path.read_bytes())
    return bool(digest(data["content"]) == data["hash"])


def _kind(title: str, folder: Path) -> Kind:
    if title in BENCHES:
        catalogue = folder / "cases"
        (catalogue / FAMILY).mkdir(parents=True)
        (catalogue / "sources.toml").write_text("")
        (catalogue / FAMILY / "bollard.toml").write_text(CASE)
        for name, case in CASES.items():
            (catalogue / FAMILY / f"{name}.toml").write_text(case_text(*case))
        (folder / "run").mkdir()
        bench = Bench(folder / "run", BENCHES[title], Catalogue(catalogue))
        return Kind(
            bench.folder, lambda go_on: bench.start("--resume"), "record.json", JOURNAL, _sealed,
            bench.none_left_behind,
        )  # fmt: skip
    path = described(folder)

    def start(go_on: bool) -> subprocess.Popen[str]:
        resumable = go_on and (folder / "out" / "campaign.log").exists()
        words = ["campaign", path.name, "--cases", "400", "--out", "out", "--digits", "15",
                 "--workers", "2"]  # fmt: skip
        return subprocess.Popen(
            [sys.executable, "-m", "refsolver", *words, *(["--resume"] if resumable else [])],
            cwd=folder, env={**os.environ, "PYTHONPATH": str(ROOT)}, text=True,
            stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.PIPE,
        )  # fmt: skip

    return Kind(folder, start, "campaign.json", LOG, _hashed)


def killed(title: str, kills: int, seed: int, folder: Path) -> Tally:
    """The tally of one kind."""
    kind, tally, draw = _kind(title, folder), Tally(), random.Random(f"{seed} {title}")
    out = kind.folder / "out"
    length = kind.watched()
    undisturbed = kind.content()
    shutil.rmtree(out)
    while tally.kills < kills:
        if tally.too_late > 2 * kills:
            raise RuntimeError(f"{title}: most runs end before their moment: {tally}")
        seconds = draw.uniform(0.02, 1.0) * length.left(out / kind.journal)
        process = kind.start(out.exists())
        time.sleep(seconds)
        process.kill()
        process.communicate()
        if process.returncode != -signal.SIGKILL:
            tally.too_late += 1
            continue
        tally.kills += 1
        kind.nothing_left()
        record = out / kind.record
        if record.exists():
            whole = kind.is_whole(record)
            tally.whole += whole
            tally.broken += not whole
        if tally.kills % 5 == 0 or tally.kills == kills:
            same = kind.finished() == undisturbed
            tally.completed += same
            tally.other += not same
            # every other time the complete record stays, as the old one of the next run
            if tally.kills % 10 == 5:
                shutil.rmtree(out)
    return tally


def figures(kills: int, seed: int) -> dict[str, Any]:
    rows: dict[str, Any] = {}
    for title in KINDS:
        with tempfile.TemporaryDirectory() as name:
            tally = killed(title, -(-kills // len(KINDS)), seed, Path(name))
        print(f"{title}: {tally}", flush=True)
        rows[title] = {
            "kills": tally.kills, "ended before": tally.too_late, "records whole": tally.whole,
            "records broken": tally.broken, "gone on with, the same": tally.completed,
            "gone on with, otherwise": tally.other,
        }  # fmt: skip
    return {"seed": seed, "rows": rows}
