"""The catalogue: every case file below one folder, by id.

A case's id is its path below the folder without the suffix:
``concurrent-forces/plane-resultant/three-ropes``. The index (``index.json``) lists what
the ``cases`` command shows, with the hash of each file, so that listing needs no parsing.
"""

from __future__ import annotations

import difflib
import hashlib
import json
from collections.abc import Iterator, Mapping
from functools import cached_property
from pathlib import Path
from typing import Any

import attrs

from refsolver.catalogue.reading import read_case
from refsolver.catalogue.schema import Case, CaseFileError, Complaint, Work
from refsolver.catalogue.works import read_works

__all__ = ["Catalogue", "UnknownCase", "index_entry", "shipped_folder"]

SOURCES = "sources.toml"
INDEX = "index.json"


class UnknownCase(LookupError):
    """No case has this id; the message names the nearest ones."""


def shipped_folder() -> Path:
    """The catalogue that came with the program: inside the package, or beside it in a clone."""
    package = Path(__file__).resolve().parent.parent
    inside = package / "cases"
    return inside if (inside / SOURCES).exists() else package.parent / "cases"


@attrs.define(slots=False)
class Catalogue:
    """The cases below ``folder``; files are read when asked for."""

    folder: Path = attrs.field(factory=shipped_folder)

    @cached_property
    def works(self) -> Mapping[str, Work]:
        return read_works(self.folder / SOURCES)

    @cached_property
    def paths(self) -> Mapping[str, Path]:
        """Every case file by id, sorted."""
        found = (p for p in self.folder.rglob("*.toml") if p.name != SOURCES)
        return {p.relative_to(self.folder).with_suffix("").as_posix(): p for p in sorted(found)}

    def read(self, id: str) -> Case:
        """The case of that id. Raises UnknownCase or CaseFileError."""
        if id not in self.paths:
            near = difflib.get_close_matches(id, self.paths, n=3, cutoff=0.4)
            hint = f"; did you mean {' or '.join(near)}?" if near else ""
            raise UnknownCase(f"there is no case {id!r}{hint} (refsolver cases lists them)")
        case = read_case(self.paths[id], id, self.works)
        if not id.startswith(case.family + "/"):
            raise CaseFileError(
                [
                    Complaint(
                        str(case.path),
                        "family",
                        f"{case.family!r} does not match its folder",
                        f"move it to {case.family}/",
                    )  # fmt: skip
                ]
            )
        return case

    def cases(self, families: tuple[str, ...] = ()) -> Iterator[Case]:
        """All cases (of some families), in order of id. Raises at the first unusable file."""
        for id in self.paths:
            if not families or id.startswith(tuple(f"{name}/" for name in families)):
                yield self.read(id)

    @property
    def hash(self) -> str:
        """One hash over the ids and the bytes of all files."""
        digest = hashlib.sha256()
        for id, path in self.paths.items():
            digest.update(f"{id}\0{hashlib.sha256(path.read_bytes()).hexdigest()}\n".encode())
        digest.update((self.folder / SOURCES).read_bytes())
        return digest.hexdigest()

    def index(self) -> list[dict[str, Any]]:
        """The shipped index; made afresh where the folder has none."""
        path = self.folder / INDEX
        if path.exists():
            listed: list[dict[str, Any]] = json.loads(path.read_text(encoding="utf-8"))
            return listed
        return self.make_index()

    def make_index(self) -> list[dict[str, Any]]:
        return [index_entry(case) for case in self.cases()]


def index_entry(case: Case) -> dict[str, Any]:
    """What listings show of a case."""
    return {
        "id": case.id,
        "family": case.family,
        "title": case.title,
        "source": {
            "kind": case.source.kind,
            "work": case.source.work,
            "place": case.source.place,
            "read": case.source.read,
        },
        "published": len(case.published),
        "topics": list(case.topics),
        "sha256": case.sha256,
    }
