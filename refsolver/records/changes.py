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

_SWITCHES = {
    "gaps": "blank rows between used ones are allowed",
    "ladder": "the difficulty ladder is put as well",
    "read_at_source": "only cases read at the source count",
}

_READINGS = {
    "stored": "the stored value",
    "displayed": "the displayed text",
    "both": "stored value and displayed text",
}


def changes_since(previous: Mapping[str, Any] | None, content: Mapping[str, Any]) -> dict[str, Any]:
    """Changes in criteria, scope, mapping and accepted deviations, and other states of things.

    ``previous`` is the whole earlier record, None where there is none. The record of
    another calculator is no previous one.
    """
    if previous is None or not _same_calculator(previous, content):
        return {"previous": "", "items": []}
    before = previous["content"]
    return {
        "previous": previous["identity"]["content"],
        "items": list(_changes(before, content)),
    }


def _same_calculator(previous: Mapping[str, Any], content: Mapping[str, Any]) -> bool:
    before = previous.get("content", {}).get("calculator", {})
    return bool(before.get("name") == content["calculator"]["name"])


def _changes(before: Mapping[str, Any], now: Mapping[str, Any]) -> Iterator[str]:
    for section, words in _WATCHED.items():
        old, new = _sentences(before.get(section, [])), _sentences(now[section])
        for sentence in old - new:
            yield f"{words}: no longer: {sentence}"
        for sentence in new - old:
            yield f"{words}: new: {sentence}"
    old, new = ({_sentence(x) for x in content.get("accepted", [])} for content in (before, now))
    for sentence in sorted(old - new):
        yield f"accepted deviations: no longer: {sentence}"
    for sentence in sorted(new - old):
        yield f"accepted deviations: new: {sentence}"
    if before["calculator"]["refusals"] != now["calculator"]["refusals"]:
        yield "what counts as a refusal is another"
    if before["overall"]["rule"] != now["overall"]["rule"]:
        yield "the rule of the overall result is another"
    if before["calculator"]["identity"] != now["calculator"]["identity"]:
        yield "the calculator itself (its files or its engine) is another"
    for key in ("version", "catalogue"):
        if before["suite"][key] != now["suite"][key]:
            yield f"the suite's {key} is another"


def _sentences(sections: Any) -> set[str]:
    found: set[str] = set()
    for section in sections:
        for name in ("conditions", "outputs", "inputs"):
            found |= {_sentence(item) for item in section.get(name, [])}
        found |= {f"{k} = {v} taken for granted" for k, v in section.get("fixed", {}).items()}
        found |= set(section.get("assumed", []))
        found |= {words for key, words in _SWITCHES.items() if section.get(key)}
    return found


def _sentence(item: Mapping[str, Any]) -> str:
    said = str(item["sentence"])
    if "output" in item:
        said = f"{item['output']}: {said}, judged by {_READINGS[item['judged']]}"
    return f"{said} ({item['reason']})" if item.get("reason") else said
