"""Everything that is the user's to mend, for the command line to print as a sentence."""

from __future__ import annotations

from refsolver.calculators.file import CalculatorFileError
from refsolver.catalogue.catalogue import UnknownCase
from refsolver.catalogue.schema import CaseFileError
from refsolver.quantities.reading_error import ReadingError
from refsolver.quantities.views import ViewError
from refsolver.records.canonical import RecordError
from refsolver.records.signing import SigningError
from refsolver.runs.shards import NoGenerator
from refsolver.runs.workers import LostWorker
from refsolver.statics.registry import UnknownFamily

__all__ = ["UNUSABLE_INPUT"]

UNUSABLE_INPUT = (
    CalculatorFileError,
    CaseFileError,
    LostWorker,
    NoGenerator,
    OSError,
    ReadingError,
    RecordError,
    SigningError,
    UnknownCase,
    UnknownFamily,
    ViewError,
)
