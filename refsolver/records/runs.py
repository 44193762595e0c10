"""What a run hands to the record: plain data, computed elsewhere."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any, Literal

import attrs

from refsolver.arithmetic.detached import Enclosure
from refsolver.calculators.contract import Received
from refsolver.calculators.file import CalculatorFile
from refsolver.calculators.lines import OutputLine
from refsolver.calculators.mapping import Handed
from refsolver.catalogue.catalogue import Catalogue
from refsolver.catalogue.schema import Case
from refsolver.checking.coverage import Coverage
from refsolver.checking.judging import Finding
from refsolver.checking.overall import Overall
from refsolver.statics.reference import Reference

__all__ = ["Agreement", "CaseRun", "CheckRun", "CheckedAnswer"]

Agreement = Literal["agree", "explained", "disagree", "not proven"]


@attrs.frozen
class CheckedAnswer:
    """One printed answer beside the proven one, both in the printed unit."""

    case: str
    answer: str
    agreement: Agreement
    printed: str
    proven: Enclosure | None
    unit: str
    why: str = ""
    stale: bool = False
    """The case explains a difference that is not there."""


@attrs.frozen
class CaseRun:
    """One case: asked and judged, to be asked, or not applicable for the reason stated."""

    case: Case
    made: bool
    condition: str = ""
    handed: Handed | None = None
    outputs: tuple[OutputLine, ...] = ()
    received: Received | None = None
    reference: Reference | None = None
    findings: tuple[Finding, ...] = ()
    counts: bool = True
    placement: Mapping[str, tuple[int, ...]] | None = None

    @property
    def asked(self) -> bool:
        """Whether it is put to the calculator, now or later."""
        return self.handed is not None

    @property
    def judged(self) -> bool:
        """Whether what came back was judged; a run that was stopped leaves cases that were not."""
        return self.received is not None


@attrs.frozen
class CheckRun:
    """Everything a record is made of."""

    file: CalculatorFile
    catalogue: Catalogue
    identity: Mapping[str, Any]
    takes_doubles: bool
    digits: int
    runs: tuple[CaseRun, ...]
    selfcheck: tuple[CheckedAnswer, ...]
    coverage: Coverage
    verdicts: Mapping[str, int]
    overall: Overall
    started: datetime
    ended: datetime
    complete: bool = True
    """False where the run was stopped before every case was judged."""
    continued: tuple[Mapping[str, Any], ...] = ()
    """When the run was gone on with (``at``), and how many cases were ``answered`` then."""
    short: Mapping[str, Any] | None = None
    """Where only the short set was put: what it is, and the cases it leaves out."""
