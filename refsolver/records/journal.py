"""The journal of a check that is still running: what the calculator answered, case by case.

It lies beside the record and is gone once the record is complete. One line of JSON for the
head (what must be the same for the run to be gone on with), then one for each answered case
and each time the run was gone on with, written at once and in one piece. A run that is
ended at any moment leaves a journal whose last line may be torn; that line is dropped.
Each line carries a SHA-256 over its own text and the one before it, so that a line that was
altered, lost or put in is noticed.

Only what was received is kept. References and verdicts are made again from it, by the same
version, so that a run that was gone on with has the record of one that was not disturbed.
"""

from __future__ import annotations

import hashlib
import json
import os
import time
from collections.abc import Iterator, Mapping
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import attrs

from refsolver.calculators.contract import Failure, Received
from refsolver.catalogue.userfile import FileUnreadable, file_bytes
from refsolver.records.canonical import RecordError, canonical
from refsolver.records.locking import open_own

__all__ = ["JOURNAL", "Journal", "JournalError", "plain"]

JOURNAL = "record.journal"
"""The name of the journal in the folder of the record."""

_FORMAT = "refsolver journal, version 1"
_SHOWN = 60
_ON_DISK = 1.0
"""Seconds after which the disk itself must have what was written, for the power may fail."""


class JournalError(RecordError):
    """A journal that cannot be gone on with; says what differs, or where it is damaged."""


@attrs.define
class Journal:
    """An open journal. ``answered`` has what it held when it was opened, by case id."""

    path: Path
    started: str
    """When the run began (ISO 8601)."""
    continued: list[dict[str, Any]]
    """Each time the run was gone on with: ``at``, and ``answered``, the cases known then."""
    answered: dict[str, Received]
    _chain: str
    _file: int
    _empty: bool = True
    _on_disk: float = 0.0

    @classmethod
    def begin(cls, path: Path, same: Mapping[str, Any], started: datetime) -> Journal:
        """A new journal at ``path``, in place of one that may be there."""
        _cleared(path)
        at = started.isoformat(timespec="seconds")
        journal = cls(path, at, [], {}, "", _opened(path))
        journal._write({"format": _FORMAT, "started": at, "same": dict(same)})
        return journal

    @classmethod
    def resume(cls, path: Path, same: Mapping[str, Any]) -> Journal:
        """The journal at ``path``, to be written on.

        Raises JournalError where ``same`` is not what the run was begun with, or where a
        line is damaged.
        """
        lines, length, chain = _read(path)
        head = next(lines, {})
        if head.get("format") != _FORMAT:
            raise JournalError(
                f"{path}: is no journal of this format ({_FORMAT}). Run the check again without "
                "--resume to start over"
            )
        continued: list[dict[str, Any]] = []
        answered: dict[str, Received] = {}
        try:
            started = datetime.fromisoformat(head["started"]).isoformat(timespec="seconds")
            _hold_same(path, head["same"], same)
            for line in lines:
                if "case" in line:
                    answered[line["case"]] = _received(line["received"])
                else:
                    continued.append({"at": str(line["at"]), "answered": int(line["answered"])})
        except (LookupError, TypeError, AttributeError, ValueError) as error:
            if isinstance(error, JournalError):
                raise
            raise JournalError(
                f"{path}: its lines are not those that a check writes ({error}). Run the check "
                "again without --resume to start over"
            ) from None
        file = _opened(path)
        if os.fstat(file).st_size > length:  # a torn last line
            os.ftruncate(file, length)
        journal = cls(path, started, continued, answered, chain, file, not answered)
        again = {"at": datetime.now(UTC).isoformat(timespec="seconds"), "answered": len(answered)}
        journal.continued.append(again)
        journal._write(again)
        return journal

    def add(self, case: str, received: Received) -> None:
        """Keeps what was received for a case."""
        self._write({"case": case, "received": _data(received)})
        self._empty = False

    def _write(self, line: Mapping[str, Any]) -> None:
        text = json.dumps(line, allow_nan=False, separators=(",", ":"))
        self._chain = _linked(self._chain, text)
        left = memoryview(f'{text[:-1]},"chain":"{self._chain}"}}\n'.encode("ascii"))
        while left:
            left = left[os.write(self._file, left) :]
        now = time.monotonic()
        if now - self._on_disk > _ON_DISK:
            os.fsync(self._file)
            self._on_disk = now

    def close(self) -> None:
        """Lets go of the file, and removes it where it holds no answer; harmless when done."""
        if self._file >= 0:
            os.close(self._file)
            self._file = -1
            if self._empty:
                self.path.unlink(missing_ok=True)

    def remove(self) -> None:
        """The record is complete: the journal has served."""
        self.close()
        self.path.unlink(missing_ok=True)


def _cleared(path: Path) -> None:
    if path.is_dir() and not path.is_symlink():
        raise JournalError(f"{path}: is a folder, where the journal goes; move it away")
    path.unlink(missing_ok=True)


def _opened(path: Path) -> int:
    return open_own(path, os.O_WRONLY | os.O_APPEND)


def _linked(before: str, text: str) -> str:
    return hashlib.sha256(f"{before}\n{text}".encode("ascii")).hexdigest()


def _read(path: Path) -> tuple[Iterator[dict[str, Any]], int, str]:
    """Every whole line without its chain; the length of them all in bytes; the last chain."""
    try:
        raw = file_bytes(path)
    except FileUnreadable as error:
        raise JournalError(str(error)) from None
    length = raw.rfind(b"\n") + 1
    found: list[dict[str, Any]] = []
    chain = ""
    for number, data in enumerate(raw[:length].splitlines(), 1):
        try:
            line: dict[str, Any] = json.loads(data)
            stated = line.pop("chain")
            chain = _linked(chain, json.dumps(line, separators=(",", ":")))
            whole = stated == chain
        except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
            whole = False
        if not whole:
            raise JournalError(
                f"{path}: line {number} is damaged or was altered; what it held cannot be "
                "trusted. Run the check again without --resume to start over"
            )
        found.append(line)
    return iter(found), length, chain


def _hold_same(path: Path, before: Mapping[str, Any], now: Mapping[str, Any]) -> None:
    differing = [
        f"{name}{_shown(before.get(name), now.get(name))}"
        for name in dict.fromkeys([*before, *now])
        if canonical(before.get(name)) != canonical(now.get(name))
    ]
    if differing:
        raise JournalError(
            f"{path}: the run that was begun there cannot be gone on with, because this is not "
            f"the same: {'; '.join(differing)}. Run the check again without --resume to start over"
        )


def _shown(before: Any, now: Any) -> str:
    """Both values in brackets where they are short enough to help."""
    texts = [str(value) for value in (before, now)]
    if any(isinstance(value, Mapping | list) or value is None for value in (before, now)):
        return ""
    return f" (was {texts[0][:_SHOWN]}, is {texts[1][:_SHOWN]})"


def plain(value: Any) -> Any:
    """JSON-able: bytes as text where they are text, else as hexadecimal."""
    if isinstance(value, bytes):
        try:
            return value.decode("utf-8")
        except UnicodeDecodeError:
            return {"hex": value.hex()}
    if isinstance(value, Mapping):
        return {str(k): plain(v) for k, v in value.items()}
    if isinstance(value, list | tuple):
        return [plain(v) for v in value]
    if isinstance(value, str | int | float | bool) or value is None:
        return value
    return str(value)


def _data(received: Received) -> dict[str, Any]:
    """What came back as JSON holds it; the order of keys is kept, for coverage counts by it."""
    return {
        "values": {place: dict(value) for place, value in received.values.items()},
        "raw": plain(received.raw),
        "handed": dict(received.handed),
        "failure": None if received.failure is None else attrs.asdict(received.failure),
        "seconds": received.seconds,
        "exercised": {cell: plain(value) for cell, value in received.exercised.items()},
        "engines": plain(received.engines),
    }


def _received(data: Mapping[str, Any]) -> Received:
    failure = data["failure"]
    found = Received(**{**data, "failure": None if failure is None else Failure(**failure)})
    tables = (found.values, found.raw, found.handed, found.exercised, found.engines,
              *found.values.values())  # fmt: skip
    if not all(isinstance(table, dict) for table in tables):
        raise TypeError("what was received is no table")
    return attrs.evolve(found, seconds=float(found.seconds))
