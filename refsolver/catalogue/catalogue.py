"""The catalogue: every case file below one folder, by id.

A case's id is its path below the folder without the suffix:
``concurrent-forces/plane-resultant/three-ropes``.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping
from functools import cached_property
from pathlib import Path
from typing import Any

import attrs

from refsolver.catalogue.place import SOURCES, shipped_folder
from refsolver.catalogue.reading import read_case
from refsolver.catalogue.schema import Case, CaseFileError, Complaint, Work
from refsolver.catalogue.works import read_works
from refsolver.quantities.nearest import did_you_mean
from refsolver.statics.registry import folder_of

__all__ = ["Catalogue", "UnknownCase", "index_entry"]


class UnknownCase(LookupError):
    """No case has this id; the message names the nearest ones."""


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
            near = did_you_mean(id, self.paths)
            hint = f"; {near}" if near else ""
            raise UnknownCase(f"there is no case {id!r}{hint} (refsolver cases lists them)")
        case = read_case(self.paths[id], id, self.works)
        folder = folder_of(case.family)
        if not id.startswith(folder + "/"):
            raise CaseFileError(
                [
                    Complaint(
                        str(case.path),
                        "family",
                        f"{folder!r} does not match its folder",
                        f"move it to {folder}/",
                    )  # fmt: skip
                ]
            )
        return case

    def cases(self, families: tuple[str, ...] = ()) -> Iterator[Case]:
        """All cases (of some families), in order of id. Raises at the first unusable file."""
        for id in self.paths:
            if not families or id.startswith(tuple(f"{folder_of(name)}/" for name in families)):
                yield self.read(id)

    @property
    def hash(self) -> str:
        """One hash over the ids and the bytes of all files."""
        digest = hashlib.sha256()
        for id, path in self.paths.items():
            digest.update(f"{id}\0{hashlib.sha256(path.read_bytes()).hexdigest()}\n".encode())
        digest.update((self.folder / SOURCES).read_bytes())
        return digest.hexdigest()


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
