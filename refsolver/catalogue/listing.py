"""The shipped index of the catalogue: what listings show, with the hash of each file.

Listing needs no parsing this way. The index is made from the cases by
``refsolver cases index`` and checked in the continuous integration.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from refsolver.catalogue.place import INDEX, shipped_folder
from refsolver.catalogue.userfile import write_text

__all__ = ["index_is_current", "listed", "write_index"]


def listed(folder: Path | None = None) -> list[dict[str, Any]]:
    """The entries of the index; made afresh where the folder has none."""
    folder = folder or shipped_folder()
    path = folder / INDEX
    if path.exists():
        found: list[dict[str, Any]] = json.loads(path.read_text(encoding="utf-8"))
        return found
    return _entries(folder)


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
