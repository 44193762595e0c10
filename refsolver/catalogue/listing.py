"""The shipped index of the catalogue: what listings show, with the hash of each file.

Listing needs no parsing this way. The index is made from the cases by
``refsolver cases index`` and checked in the continuous integration.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from refsolver.catalogue.place import INDEX, shipped_folder
from refsolver.catalogue.userfile import write_text
from refsolver.quantities.nearest import did_you_mean

__all__ = ["NothingListed", "chosen", "index_is_current", "listed", "write_index"]


def listed(folder: Path | None = None) -> list[dict[str, Any]]:
    """The entries of the index; made afresh where the folder has none."""
    folder = folder or shipped_folder()
    path = folder / INDEX
    if path.exists():
        found: list[dict[str, Any]] = json.loads(path.read_text(encoding="utf-8"))
        return found
    return _entries(folder)


class NothingListed(LookupError):
    """No case of the catalogue is of that family or topic; the message names the nearest."""


def chosen(
    entries: Sequence[Mapping[str, Any]], family: str | None, topic: str | None
) -> list[Mapping[str, Any]]:
    """The entries of a family or chapter, with a topic word; None leaves either open.

    Raises NothingListed where the catalogue has no such family, chapter or topic.
    """
    names = {entry["family"] for entry in entries}
    chapters = {name.partition("/")[0] for name in names}
    topics = {topic for entry in entries for topic in entry["topics"]}
    for what, wanted, known in (
        ("family or chapter", family, names | chapters),
        ("topic", topic, topics),
    ):
        if wanted is not None and wanted.rstrip("/") not in known:
            near = did_you_mean(wanted, sorted(known))
            hint = f"; {near}" if near else ""
            raise NothingListed(
                f"no case is of the {what} {wanted!r}{hint} (refsolver cases --families lists "
                "the families)"
            )
    prefix = "" if family is None else family.rstrip("/")
    return [
        entry
        for entry in entries
        if (not prefix or f"{entry['family']}/".startswith(f"{prefix}/"))
        and (topic is None or topic in entry["topics"])
    ]


def _entries(folder: Path) -> list[dict[str, Any]]:
    from refsolver.catalogue.catalogue import Catalogue, index_entry

    return [index_entry(case) for case in Catalogue(folder).cases()]


def _text(folder: Path) -> str:
    lines = ",\n".join(
        json.dumps(entry, ensure_ascii=False, sort_keys=True) for entry in _entries(folder)
    )
    return f"[\n{lines}\n]\n"


def index_is_current(folder: Path | None = None) -> bool:
    """Whether the index says what the case files say."""
    folder = folder or shipped_folder()
    path = folder / INDEX
    return path.exists() and path.read_text(encoding="utf-8") == _text(folder)


def write_index(folder: Path | None = None) -> int:
    """Writes the index, whole or not at all; returns the number of cases."""
    folder = folder or shipped_folder()
    text = _text(folder)
    write_text(folder / INDEX, text)
    return len(json.loads(text))
