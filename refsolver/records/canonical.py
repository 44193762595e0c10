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
import os
import tempfile
from pathlib import Path
from typing import Any

__all__ = [
    "FORMAT",
    "RecordError",
    "canonical",
    "digest",
    "read_record",
    "sealed",
    "write_record",
    "write_text",
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


def write_text(path: Path, text: str | bytes) -> None:
    """Writes to a temporary file in the same folder, then renames it over ``path``."""
    path.parent.mkdir(parents=True, exist_ok=True)
    data = text.encode("utf-8") if isinstance(text, str) else text
    handle, temporary = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(handle)
        umask = os.umask(0)
        os.umask(umask)
        Path(temporary).chmod(0o666 & ~umask)
        Path(temporary).replace(path)
    except BaseException:
        with contextlib.suppress(OSError):
            Path(temporary).unlink()
        raise


def read_record(path: Path) -> dict[str, Any]:
    """A record from a file. Raises RecordError where it is none; hashes are not checked."""
    try:
        record = json.loads(path.read_text(encoding="utf-8"))
    except OSError as error:
        raise RecordError(f"{path}: cannot be read: {error.strerror}") from None
    except (UnicodeDecodeError, json.JSONDecodeError) as error:
        raise RecordError(f"{path}: is not a record ({error})") from None
    if not isinstance(record, dict) or record.get("format") != FORMAT:
        raise RecordError(f"{path}: is not a record of this format ({FORMAT})")
    return record
