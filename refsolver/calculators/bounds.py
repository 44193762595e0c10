"""What came back, cut to a size that any number of cases can be kept at.

No answer that is read off a calculator is ten thousand characters long; one that is says
something about the calculator, but not more by its full length. Raw text beyond the limit
is kept as its beginning with its length and SHA-256.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from typing import Any

import attrs

from refsolver.calculators.contract import Failure, Received

__all__ = ["bounded"]

_VALUE = 10_000
"""Characters of one value."""

_DETAIL = 2_000
"""Characters of what went wrong."""

_RAW = 65_536
"""Bytes of each raw text."""


def bounded(received: Received) -> Received:
    """The same, with nothing in it longer than the limits and all of it writable as UTF-8."""
    failure = received.failure
    if failure is None and _is_plain(received.values) and _is_plain(received.raw):
        return received
    return attrs.evolve(
        received,
        values={place: _value(value) for place, value in received.values.items()},
        raw={name: _raw(part) for name, part in received.raw.items()},
        failure=None if failure is None else Failure(failure.kind, _detail(failure.detail)),
    )


def _is_plain(found: Mapping[str, Any]) -> bool:
    """Whether all of it is short texts in ASCII, as what a workbook gives nearly always is."""
    for part in found.values():
        if type(part) is not dict:
            return False
        try:
            text = "".join((*part, *part.values()))
        except TypeError:  # something else than a text
            return False
        if len(text) > _VALUE or not text.isascii():
            return False
    return True


def _value(value: Mapping[str, Any]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for key, part in value.items():
        if not isinstance(part, str):
            found[key] = part
        elif len(part) > _VALUE:
            return {"error": f"a {key} of {len(part)} characters"}
        else:
            found[key] = _writable(part)
    return found


def _detail(text: str) -> str:
    cut = text if len(text) <= _DETAIL else f"{text[:_DETAIL]} ... ({len(text)} characters)"
    return _writable(cut)


def _writable(text: str) -> str:
    """Half a surrogate pair, which UTF-8 has no bytes for, is shown by its code."""
    return text.encode("utf-8", "backslashreplace").decode("utf-8")


def _raw(part: Any) -> Any:
    if isinstance(part, bytes):
        return part if len(part) <= _RAW else _beginning(part)
    if isinstance(part, str):
        text = _writable(part)
        return text if len(text) <= _RAW else _beginning(text.encode("utf-8"))
    if isinstance(part, Mapping) and any(isinstance(x, bytes | str) for x in part.values()):
        return {_writable(str(name)): _raw(x) for name, x in part.items()}
    if not isinstance(part, Mapping | list | tuple):
        return part
    text = json.dumps(part, default=str)  # in ASCII
    return json.loads(text) if len(text) <= _RAW else _beginning(text.encode("ascii"))


def _beginning(data: bytes) -> dict[str, Any]:
    return {
        "beginning": data[:_RAW].decode("utf-8", "backslashreplace"),
        "bytes": len(data),
        "sha256": hashlib.sha256(data).hexdigest(),
    }
