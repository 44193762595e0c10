"""Everything that is the user's to mend, for the command line to print as a sentence."""

from __future__ import annotations

import errno

from refsolver.calculators.file import CalculatorFileError
from refsolver.calculators.workbook.engine import EngineAbsent
from refsolver.calculators.workbook.files import WorkbookUnreadable
from refsolver.catalogue.catalogue import UnknownCase
from refsolver.catalogue.listing import NothingListed
from refsolver.catalogue.schema import CaseFileError
from refsolver.catalogue.userfile import FileUnreadable
from refsolver.quantities.reading_error import ReadingError
from refsolver.quantities.views import ViewError
from refsolver.records.canonical import RecordError
from refsolver.records.signing import SigningError
from refsolver.reporting.arrangement import ReportError
from refsolver.reporting.pdf import PdfError
from refsolver.runs.crew import LostWorker
from refsolver.runs.shards import NoGenerator
from refsolver.statics.registry import UnknownFamily

__all__ = ["UNUSABLE_INPUT", "said"]

UNUSABLE_INPUT = (
    CalculatorFileError,
    CaseFileError,
    EngineAbsent,
    FileUnreadable,
    LostWorker,
    NoGenerator,
    NothingListed,
    OSError,
    PdfError,
    ReadingError,
    RecordError,
    ReportError,
    SigningError,
    UnknownCase,
    UnknownFamily,
    ViewError,
    WorkbookUnreadable,
)

_NOT_ALLOWED = (
    "this user may not write or read there; give another place (--out), or other permissions"
)
_MENDS = {
    errno.EACCES: _NOT_ALLOWED,
    errno.EPERM: _NOT_ALLOWED,
    errno.EROFS: "what lies there can only be read; give another place with --out",
    errno.ENOSPC: "no room is left there; make room, or give another place with --out",
    errno.EDQUOT: "the room allotted is used up; make room, or give another place with --out",
    errno.EFBIG: "files may not grow so large there; give another place with --out",
    errno.ENOENT: "a part of this path is not there; check the name",
    errno.ENOTDIR: "a file is in the way where a folder is meant; give another name",
    errno.EISDIR: "a folder is in the way where a file goes; give another name, or move it away",
    errno.EEXIST: "something is in the way; give another name, or move it away",
    errno.ENOTEMPTY: "something is in the way; give another name, or move it away",
    errno.ELOOP: "is a symbolic link that leads to itself; give another name",
    errno.ENAMETOOLONG: "the name is longer than this system takes; shorten it",
    errno.EMFILE: "too many files are open; raise the limit (ulimit -n), or use fewer workers",
    errno.EINVAL: "this system does not take that name; give another",
}


def said(fault: BaseException) -> str:
    """A problem in a sentence: for what the system refuses, where, what, and what to do."""
    if not isinstance(fault, OSError) or fault.errno is None:
        return "\n".join(map(_cut, str(fault).split("\n")[:_MOST_LINES]))
    places = [str(name) for name in (fault.filename, fault.filename2) if name is not None]
    where = f"{' -> '.join(places)}: " if places else ""
    what = fault.strerror or str(fault)
    if not places and "temporary directory" in what:
        return f"{what}: name a folder that can be written in TMPDIR"
    if not places and fault.errno == errno.ENOENT:
        return f"{what}: the current folder is gone; change to another"
    return f"{where}{what}: {_MENDS.get(fault.errno, 'give another place with --out')}"


_LONGEST, _MOST_LINES = 2500, 200


def _cut(line: str) -> str:
    if len(line) <= _LONGEST:
        return line
    return f"{line[: _LONGEST // 2]} ... {line[-_LONGEST // 2 :]} ({len(line)} characters)"
