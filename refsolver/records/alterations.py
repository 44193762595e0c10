"""What of a record's file is not as it was sealed."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from refsolver.records.canonical import canonical, digest

__all__ = ["alterations", "stated"]


def stated(record: Mapping[str, Any]) -> str:
    """What the record says of which calculator; "" where it states no calculator."""
    content = record.get("content", {})
    calculator, overall = content.get("calculator", {}), content.get("overall", {})
    if "name" not in calculator:
        return ""
    result = str(overall.get("result", "nothing")).upper()
    return f"{calculator['name']}, version {calculator.get('version', '')}: {result}"


def alterations(raw: bytes, record: Mapping[str, Any]) -> Iterator[str]:
    """Every part whose bytes are not those that were sealed."""
    identity = record.get("identity", {})
    sections = identity.get("sections", {})
    content = record.get("content", {})
    for name in sorted(set(sections) | set(content)):
        if name not in content:
            yield f"content.{name} is missing"
        elif name not in sections:
            yield f"content.{name} was added"
        elif digest(content[name]) != sections[name]:
            yield f"content.{name} was altered"
    if digest(content) != identity.get("content"):
        yield "the content as a whole does not match its hash"
    if digest(record.get("circumstances", {})) != identity.get("circumstances"):
        yield "circumstances were altered"
    if set(identity) != {"content", "circumstances", "sections"} or set(record) != {
        "format", "content", "circumstances", "identity",
    }:  # fmt: skip
        yield "the record has parts that do not belong to it"
    if raw != canonical(record) + b"\n":
        yield "the file is not written in canonical form: bytes were changed or added"
