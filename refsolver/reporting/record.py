"""A record as Python code reads it: its parts, its result, its findings as a data frame."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import attrs

from refsolver.records import canonical
from refsolver.reporting.csv import frame

if TYPE_CHECKING:
    import pandas

__all__ = ["Record", "read_record"]


@attrs.frozen
class Record:
    """A record that was read from its file. ``data`` is everything in it, as JSON has it."""

    path: Path
    data: dict[str, Any] = attrs.field(repr=False)

    @property
    def content(self) -> dict[str, Any]:
        """What is the same whenever the check is repeated."""
        return dict(self.data["content"])

    @property
    def circumstances(self) -> dict[str, Any]:
        """When, where, how long, and raw text that varies from run to run."""
        return dict(self.data["circumstances"])

    @property
    def identity(self) -> str:
        """The SHA-256 of the content, as stated in the file."""
        return str(self.data["identity"]["content"])

    @property
    def result(self) -> str:
        """``met``, ``not met`` or ``insufficient``."""
        return str(self.data["content"]["overall"]["result"])

    def to_frame(self) -> pandas.DataFrame:
        """All findings as a pandas data frame: one row a reading, and one for each case that
        was not asked. See :func:`refsolver.reporting.csv.frame` for the columns.

        Raises ReportError where the record's counts do not add up.
        """
        return frame(self.data)


def read_record(path: Path | str) -> Record:
    """The record at ``path``.

    Raises RecordError where the file is no record. Hashes are not checked: ``refsolver
    verify`` does that.
    """
    return Record(Path(path), canonical.read_record(Path(path)))
