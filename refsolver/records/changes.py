"""What differs from the previous record of the same calculator, for the first page."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

__all__ = ["changes_since"]

_WATCHED = {
    "criteria": "acceptance criteria",
    "scope": "scope",
    "mapping": "mapping",
}


def changes_since(previous: Mapping[str, Any] | None, content: Mapping[str, Any]) -> dict[str, Any]:
    """Changes in criteria, scope and mapping, and whether file, program or suite differ.

    ``previous`` is the whole earlier record, None where there is none.
    """
    if previous is None:
        return {"previous": "", "items": []}
    before = previous["content"]
    return {
        "previous": previous["identity"]["content"],
        "items": list(_changes(before, content)),
    }


def _changes(before: Mapping[str, Any], now: Mapping[str, Any]) -> Iterator[str]:
    for section, words in _WATCHED.items():
        old, new = _sentences(before.get(section, [])), _sentences(now[section])
        for sentence in old - new:
            yield f"{words}: no longer: {sentence}"
        for sentence in new - old:
            yield f"{words}: new: {sentence}"
    if before["calculator"]["identity"] != now["calculator"]["identity"]:
        yield "the calculator itself (its files or its engine) is another"
    for key in ("version", "catalogue"):
        if before["suite"][key] != now["suite"][key]:
            yield f"the suite's {key} is another"


def _sentences(sections: Any) -> set[str]:
    found: set[str] = set()
    for section in sections:
        for name in ("conditions", "outputs", "inputs"):
            for item in section.get(name, []):
                subject = item.get("output", "")
                reason = item.get("reason", "")
                said = f"{subject}: {item['sentence']}" if subject else item["sentence"]
                found.add(f"{said} ({reason})" if reason else said)
    return found
