"""The works that cases cite: ``cases/sources.toml``."""

from __future__ import annotations

from pathlib import Path
from typing import Any, get_args

from refsolver.catalogue.schema import CITABLE, CaseFileError, Complaint, ReadAs, Work
from refsolver.catalogue.toml import read_toml

__all__ = ["read_works"]

_KEYS = {"citation", "kind", "read", "read_from", "licence"}


def read_works(path: Path) -> dict[str, Work]:
    """The works by key. Raises CaseFileError with every complaint."""
    data, _, _ = read_toml(path, "a list of sources")
    complaints: list[Complaint] = []
    works: dict[str, Work] = {}
    for key, table in data.items():
        work = _work(str(path), key, table, complaints)
        if work is not None:
            works[key] = work
    if complaints:
        raise CaseFileError(complaints)
    return works


def _work(path: str, key: str, table: Any, complaints: list[Complaint]) -> Work | None:
    if not isinstance(table, dict):
        complaints.append(Complaint(path, key, "a table [work-key] is expected"))
        return None
    before = len(complaints)
    for name in table.keys() - _KEYS:
        complaints.append(
            Complaint(path, f"{key}.{name}", "unknown key", f"known: {', '.join(sorted(_KEYS))}")
        )
    if not str(table.get("citation", "")).strip():
        complaints.append(Complaint(path, f"{key}.citation", "author, title, edition are missing"))
    if table.get("kind") not in CITABLE:
        complaints.append(Complaint(path, f"{key}.kind", f"is one of: {', '.join(CITABLE)}"))
    if table.get("read") not in get_args(ReadAs):
        complaints.append(
            Complaint(path, f"{key}.read", f"is one of: {', '.join(get_args(ReadAs))}")
        )
    if len(complaints) > before:
        return None
    return Work(
        key,
        str(table["citation"]).strip(),
        table["kind"],
        table["read"],
        str(table.get("read_from", "")).strip(),
        str(table.get("licence", "")).strip(),
    )
