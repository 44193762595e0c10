"""What a campaign has counted so far, shard by shard, so that it can be gone on with.

One line of JSON for what must be the same to go on, then one a finished shard, written in
one piece. A line torn by the end of the process is dropped; a damaged one is refused.
"""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from refsolver.catalogue.userfile import json_of
from refsolver.records.canonical import RecordError, canonical
from refsolver.records.locking import open_own
from refsolver.runs.tally import CellTally, cell_data, cell_from

__all__ = ["LOG", "CampaignLog"]

LOG = "campaign.log"


class CampaignLog:
    """An open log. Raises RecordError where an old one does not fit or is damaged."""

    def __init__(self, path: Path, same: Mapping[str, Any], resume: bool) -> None:
        self.path = path
        self._head = canonical(dict(same))
        length = self._checked() if resume else 0
        if not resume:
            if path.is_dir() and not path.is_symlink():
                raise RecordError(f"{path}: is a folder, where the log goes; move it away")
            path.parent.mkdir(parents=True, exist_ok=True)
            path.unlink(missing_ok=True)
        self._empty = not resume
        self._file = open_own(path, os.O_WRONLY | os.O_APPEND)
        if resume and os.fstat(self._file).st_size > length:  # a torn last line
            os.ftruncate(self._file, length)
        if not resume:
            self._write(dict(same))

    def _checked(self) -> int:
        """The length of the whole lines; the head must say the same."""
        if not self.path.exists():
            raise RecordError(f"{self.path}: there is nothing to go on with; run without --resume")
        if not self.path.is_file():
            raise RecordError(f"{self.path}: is no ordinary file; run without --resume")
        lines = _lines(self.path)
        head = next(lines, (0, {}))[1]
        if canonical(head) != self._head:
            now = json.loads(self._head)
            names = [n for n in {**head, **now} if head.get(n) != now.get(n)]
            raise RecordError(
                f"{self.path}: the campaign begun there cannot be gone on with, because this is "
                f"not the same: {', '.join(names)}. Run without --resume to start over"
            )
        length = len(self.path.read_bytes().partition(b"\n")[0]) + 1
        for end, _ in lines:
            length = end
        return length

    def finished(self) -> Iterator[tuple[int, CellTally]]:
        """Number and tally of each shard in the log, one after the other."""
        lines = _lines(self.path)
        next(lines)
        for number, (_, line) in enumerate(lines, 2):
            try:
                yield int(line["shard"]), cell_from(line["tally"])
            except (LookupError, TypeError, AttributeError, ValueError):
                raise _damaged(self.path, number) from None

    def add(self, shard: int, tally: CellTally) -> None:
        self._write({"shard": shard, "tally": cell_data(tally)})
        self._empty = False

    def _write(self, line: Mapping[str, Any]) -> None:
        text = json.dumps(line, allow_nan=False, separators=(",", ":"))
        left = memoryview(f"{_sum(text)} {text}\n".encode("ascii"))
        while left:
            left = left[os.write(self._file, left) :]

    def __enter__(self) -> CampaignLog:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Lets go of the file, and removes it where it holds no shard; harmless when done."""
        if self._file >= 0:
            os.close(self._file)
            self._file = -1
            if self._empty:
                self.path.unlink(missing_ok=True)

    def remove(self) -> None:
        """The campaign is complete: the log has served."""
        self.close()
        self.path.unlink(missing_ok=True)


def _sum(text: str) -> str:
    return hashlib.sha256(text.encode("ascii")).hexdigest()[:16]


def _lines(path: Path) -> Iterator[tuple[int, dict[str, Any]]]:
    """The end in bytes and the content of every whole line, without holding the file."""
    end = 0
    with path.open("rb") as file:
        for number, raw in enumerate(file, 1):
            if not raw.endswith(b"\n"):
                return
            end += len(raw)
            stated, _, text = raw.decode("ascii", "replace").rstrip("\n").partition(" ")
            if _sum(text.encode("ascii", "replace").decode("ascii")) != stated:
                raise _damaged(path, number)
            try:
                line = json_of(text.encode())
            except ValueError:
                raise _damaged(path, number) from None
            if not isinstance(line, dict):
                raise _damaged(path, number)
            yield end, line


def _damaged(path: Path, number: int) -> RecordError:
    return RecordError(f"{path}: line {number} is damaged; run without --resume to start over")
