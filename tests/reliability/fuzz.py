"""Spoilt files for every reader, by the thousand: each is read or refused, never a traceback.

    python -m tests.reliability fuzz                    10 000 tries for each reader
    python -m tests.reliability fuzz --tries 500 --seed 7

A try that works for more than twenty seconds, or waits for minutes, counts as a hang. Files that
broke a reader are kept in the folder that is named at the end.
"""

from __future__ import annotations

import random
import shutil
import signal
import tempfile
import time
import traceback
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import attrs

from tests.hostile.bases import Bases
from tests.reliability.readers import Reader, readers

SECONDS = 20
"""Of the processor: a busy machine makes no hang."""
MINUTES = 5
"""By the clock: a reader that waits for something uses no processor."""


class Hang(BaseException):
    """A try that took too long."""


@attrs.define
class Tally:
    """What became of the tries of one reader."""

    tries: int = 0
    read: int = 0
    refused: int = 0
    broken: list[str] = attrs.field(factory=list)
    slowest: float = 0.0


def try_one(reader: Reader, path: Path) -> str:
    """ "read", "refused", or the last line of the traceback."""
    try:
        reader.read(path)
    except reader.refusals as refusal:
        return "refused" if str(refusal).strip() else "refused without a word"
    except Hang:
        return f"no end within {SECONDS} s of work or {MINUTES} minutes"
    except Exception as fault:
        place = traceback.extract_tb(fault.__traceback__)[-1]
        return f"{type(fault).__name__}: {str(fault)[:120]} ({Path(place.filename).name})"
    return "read"


def _hang(*_: Any) -> None:
    raise Hang


def _alarms(seconds: float, minutes: float) -> None:
    """Set, or with zeros stop, the two clocks of a try."""
    signal.setitimer(signal.ITIMER_PROF, seconds)
    signal.setitimer(signal.ITIMER_REAL, 60 * minutes)


def fuzz(tries: int, seed: int, kept: Path) -> Iterator[tuple[str, Tally]]:
    """Each reader's tally, after so many tries for each of them."""
    for clock in (signal.SIGPROF, signal.SIGALRM):
        signal.signal(clock, _hang)
    with tempfile.TemporaryDirectory() as name:
        work = Path(name)
        (work / "bases").mkdir()
        bases = Bases.made(work / "bases")
        here = work / "here"
        shutil.copytree(bases.folder, here)
        for title, reader in readers(bases, here).items():
            draw = random.Random(f"{seed} {title}")
            raw = (bases.folder / reader.base).read_bytes()
            spoilt = here / f"spoilt{Path(reader.base).suffix}"
            tally = Tally()
            for _ in range(tries):
                spoilt.write_bytes(reader.spoil(raw, draw))
                begun = time.process_time()
                _alarms(SECONDS, MINUTES)
                said = try_one(reader, spoilt)
                _alarms(0, 0)
                tally.slowest = max(tally.slowest, time.process_time() - begun)
                tally.tries += 1
                tally.read += said == "read"
                tally.refused += said == "refused"
                if said not in ("read", "refused"):
                    if said not in tally.broken:
                        kept.mkdir(parents=True, exist_ok=True)
                        shutil.copy(spoilt, kept / f"{title}-{len(tally.broken)}{spoilt.suffix}")
                    tally.broken.append(said)
            yield title, tally


def figures(tries: int, seed: int) -> dict[str, Any]:
    kept = Path(tempfile.gettempdir()) / "refsolver-fuzz"
    rows: dict[str, Any] = {}
    for title, tally in fuzz(tries, seed, kept):
        print(f"{title}: {tally.tries} tries, {len(tally.broken)} broken", flush=True)
        for said in sorted(set(tally.broken)):
            print(f"    {said}", flush=True)
        rows[title] = {
            "tries": tally.tries, "read": tally.read, "refused": tally.refused,
            "tracebacks or hangs": len(tally.broken), "slowest, s": round(tally.slowest, 1),
        }  # fmt: skip
    if any(row["tracebacks or hangs"] for row in rows.values()):
        print(f"files that broke a reader: {kept}")
    return {"seed": seed, "rows": rows}
