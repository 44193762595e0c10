"""What a case file becomes: plain frozen data, exact throughout."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any, Literal, TypeAlias

import attrs
from flint import fmpq

from refsolver.quantities.literals import Literal as Printed
from refsolver.quantities.units import Unit, UnitSystem
from refsolver.quantities.views import View

__all__ = [
    "CITABLE",
    "EXPLANATIONS",
    "Case",
    "CaseFileError",
    "Complaint",
    "Explanation",
    "Published",
    "Source",
    "SourceKind",
    "Work",
]

SourceKind: TypeAlias = Literal[
    "published example", "handbook table", "standard", "common practice", "constructed"
]
CITABLE: tuple[str, ...] = ("published example", "handbook table", "standard")
"""The kinds that name a work and a place in it."""

ReadAs: TypeAlias = Literal["read", "second hand", "from memory"]

EXPLANATIONS: dict[str, str] = {
    "misprint": "the printed value is wrong; the proven one is right",
    "intermediate rounding": "the source rounded on the way, and the rounding shows",
    "graphical reading": "the source measured the answer on a drawing",
    "rounded constant": "the source used a rounded constant (pi, g, a root, a table value)",
    "rounded table": "the source's givens are themselves rounded values of a table",
    "last-digit convention": "the source cut or rounded the last digit in its own manner",
    "slip of the transcription": "the second-hand text is wrong; the work itself was not read",
    "simplified method": "the source answers with an approximate method, and says so",
}
"""Why a printed answer may differ from the proven one, each with its meaning."""


@attrs.frozen
class Complaint:
    """One thing wrong with a file: where, what, and how to mend it."""

    path: str
    key: str
    what: str
    mend: str = ""

    def __str__(self) -> str:
        where = f"{self.path}: {_cut(self.key)}" if self.key else self.path
        return f"{where}: {_cut(self.what)}" + (f" ({self.mend})" if self.mend else "")


_LONGEST = 1000
"""Characters of a file that are shown in one complaint about it."""


def _cut(text: str) -> str:
    if len(text) <= _LONGEST:
        return text
    return f"{text[: _LONGEST // 2]} ... {text[-_LONGEST // 2 :]} ({len(text)} characters)"


class CaseFileError(ValueError):
    """A file that cannot be used; carries every complaint, not only the first."""

    def __init__(self, complaints: list[Complaint]) -> None:
        super().__init__("\n".join(str(c) for c in complaints))
        self.complaints = complaints


@attrs.frozen
class Work:
    """A work that cases cite, as listed in ``sources.toml``."""

    key: str
    citation: str
    kind: SourceKind
    read: ReadAs
    read_from: str = ""
    licence: str = ""


@attrs.frozen
class Source:
    """Where a case comes from. ``work`` and ``place`` are empty unless the kind is citable."""

    kind: SourceKind
    work: str = ""
    place: str = ""
    read: ReadAs | Literal[""] = ""
    by: str = ""
    """Constructed: how the answer is known. Common practice: what the trade knows."""

    @property
    def second_hand(self) -> bool:
        return self.read == "second hand"


@attrs.frozen
class Explanation:
    """Why the printed value is not the proven one rounded."""

    why: str
    note: str


@attrs.frozen
class Published:
    """One answer as printed, or an expected refusal.

    ``value`` is in the case's coherent units (an angle: in turns or radians, as
    ``literal`` and ``unit`` say); ``tolerance`` is in ``unit`` and None where the default
    (half a unit of the last printed digit, ties allowed) holds.
    """

    view: View
    key: str
    literal: Printed | None = None
    unit: Unit | None = None
    word: str = ""
    refused: str = ""
    tolerance: fmpq | None = None
    reason: str = ""
    explained: Explanation | None = None


@attrs.frozen
class Case:
    """One case: exact givens, what was published about it, and where it comes from."""

    id: str
    path: Path
    text: str
    sha256: str
    title: str
    statement: str
    family: str
    source: Source
    units: UnitSystem
    unit_words: bool
    """True where the file says that lb and kg are forces."""
    given: Any
    literals: Mapping[str, Printed]
    """Each leaf's text as the file has it, by the leaf's path name."""
    published: tuple[Published, ...]
    topics: tuple[str, ...] = ()
    note: str = ""
    features: tuple[str, ...] = ()
    """What the scope of a calculator may select by (quadrants met, number of rows ...)."""
