"""How many cells of a workbook were judged by their number alone, for want of the text shown."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

__all__ = ["unshown_words"]


def unshown_words(content: Mapping[str, Any]) -> str:
    """A sentence where the text shown was to be judged and is not known; "" where it was judged."""
    known = [shown for case in content["cases"].values() for shown in _shown(content, case)]
    if all(known):
        return ""
    return (
        f"What {known.count(False)} of {len(known)} numbers show in their cells is not known to "
        "the engine (dates, conditions in number formats, General with many digits): of these "
        "the number alone was judged."
    )


def _shown(content: Mapping[str, Any], case: Mapping[str, Any]) -> Iterator[bool]:
    """Of each number read whose text was to be judged too, whether the text is known."""
    judged = {
        line["place"]: criterion["judged"]
        for mapped, stated in zip(content["mapping"], content["criteria"], strict=True)
        if mapped["family"] == case["family"]
        for line, criterion in zip(mapped["outputs"], stated["outputs"], strict=True)
    }
    if content["calculator"]["kind"] != "workbook" or set(judged.values()) == {"stored"}:
        return
    for place, value in case.get("received", {}).items():
        if "number" in value and judged.get(place) != "stored":
            yield "displayed" in value
