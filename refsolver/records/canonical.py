"""The canonical record: one JSON text, its content hash, and writing it safely.

A record has three parts: ``content`` (everything that must be the same when the same
check is repeated), ``circumstances`` (when, where, how long, raw text that varies from
run to run) and ``identity`` (the hashes of the other two). Canonical form: UTF-8, keys
sorted, no spaces, no floats that do not read back to themselves.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from refsolver.catalogue.recognising import mistaken_file
from refsolver.catalogue.userfile import FileUnreadable, file_bytes, json_of, write_text

__all__ = [
    "FORMAT",
    "RecordError",
    "canonical",
    "digest",
    "read_record",
    "record_bytes",
    "record_of",
    "sealed",
    "understood",
    "write_record",
]

FORMAT = "refsolver record, version 1"


class RecordError(ValueError):
    """A record that cannot be read or has been altered; says which part."""


def canonical(data: Any) -> bytes:
    """The canonical bytes of JSON-able data. NaN and infinities are refused."""
    return json.dumps(
        data, sort_keys=True, ensure_ascii=False, allow_nan=False, separators=(",", ":")
    ).encode("utf-8")


def digest(data: Any) -> str:
    """SHA-256 of the canonical bytes, in hexadecimal."""
    return hashlib.sha256(canonical(data)).hexdigest()


def sealed(content: dict[str, Any], circumstances: dict[str, Any]) -> dict[str, Any]:
    """The whole record with its identity: one hash for each part, section by section."""
    return {
        "format": FORMAT,
        "content": content,
        "circumstances": circumstances,
        "identity": {
            "content": digest(content),
            "circumstances": digest(circumstances),
            "sections": {name: digest(part) for name, part in content.items()},
        },
    }


def write_record(record: dict[str, Any], path: Path) -> None:
    """The record at ``path``, whole or not at all."""
    write_text(path, canonical(record).decode("utf-8") + "\n")


def read_record(path: Path) -> dict[str, Any]:
    """A record from a file. Raises RecordError where it is none; hashes are not checked."""
    return record_of(record_bytes(path), path)


def record_bytes(path: Path) -> bytes:
    """The bytes of a file, or of what a pipe brings. Raises RecordError."""
    try:
        return file_bytes(path, piped=True)
    except FileUnreadable as error:
        raise RecordError(str(error)) from None


def record_of(raw: bytes, path: Path) -> dict[str, Any]:
    """The record in the bytes of ``path``. Raises RecordError where they hold none."""
    try:
        record = json_of(raw)
    except ValueError as error:
        another = mistaken_file(path, raw, "a record of a check")
        raise RecordError(
            f"{path}: {another}"
            if another
            else f"{path}: is not a record ({error}); name the record.json that a check wrote"
        ) from None
    if not isinstance(record, dict) or record.get("format") != FORMAT:
        another = mistaken_file(path, raw, "a record of a check")
        raise RecordError(
            f"{path}: {another}"
            if another
            else f"{path}: is not a record of this format ({FORMAT}); name the record.json that a "
            "check wrote"
        )
    for part in ("content", "circumstances", "identity"):
        if not isinstance(record.get(part), dict):
            raise RecordError(f"{path}: the record has no {part}; {_MADE_OTHERWISE}")
    return record


@contextlib.contextmanager
def understood(path: Path | str) -> Iterator[None]:
    """What a record of another build runs into while it is used becomes a RecordError.

    Its hashes say that nobody altered it since it was sealed; they do not say that it was
    this program that wrote it.
    """
    try:
        yield
    except RecordError:
        raise
    except (LookupError, TypeError, AttributeError, ValueError, ArithmeticError) as error:
        raise RecordError(
            f"{path}: is not built as this version builds a record "
            f"({type(error).__name__}: {str(error)[:200]}); {_MADE_OTHERWISE}"
        ) from error


_MADE_OTHERWISE = (
    "it was made by hand or by another version: use the record that the check itself wrote, or "
    "the version it names under suite"
)
