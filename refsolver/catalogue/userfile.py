"""A user's files: read as bytes or JSON, from ordinary files of a bounded size; written whole.

A device or a folder in place of a file would hang the program or fill its memory, as would a
pipe, which is taken only where what it brings is read once. JSON has ways of stopping a reader
(nesting, numbers of a million digits, half a surrogate pair) that are no ``JSONDecodeError``.
All of it is said in a sentence here.
"""

from __future__ import annotations

import contextlib
import errno
import json
import math
import os
import stat
import tempfile
from pathlib import Path
from typing import Any

__all__ = [
    "FileUnreadable", "file_bytes", "first_bytes", "json_of", "plain_reason", "write_text",
]  # fmt: skip

_RECORD_SIZE = 2_000_000_000
_PIPED_SIZE = 200_000_000

_ROOM = 4096
"""Bytes asked for beyond the stated size; a file of the system may state none."""

_MENDS = {
    errno.ENOENT: "cannot be read: it is not there; check the name",
    errno.EACCES: "cannot be read by this user; change its permissions",
    errno.EPERM: "cannot be read by this user; change its permissions",
    errno.EISDIR: "cannot be read: it is a folder; name the file in it",
    errno.ENOTDIR: "cannot be read: a part of the path is a file, not a folder; check the name",
    errno.ELOOP: "cannot be read: a symbolic link leads to itself; name the file",
    errno.ENAMETOOLONG: "cannot be read: its name is longer than this system takes; shorten it",
}


class FileUnreadable(ValueError):
    """A file that cannot be read; ``why`` says the reason and how to mend it."""

    def __init__(self, path: Path, why: str) -> None:
        super().__init__(f"{path}: {why}")
        self.path = path
        self.why = why


def plain_reason(error: OSError) -> str:
    """Why a file could not be read, in words, with what to do where that is known."""
    known = _MENDS.get(error.errno or 0)
    return known or f"cannot be read ({error.strerror or error})"


def file_bytes(path: Path, most: int = _RECORD_SIZE, *, piped: bool = False) -> bytes:
    """The bytes of an ordinary file of at most ``most`` bytes. Raises FileUnreadable.

    With ``piped`` it may be a pipe that somebody writes to (``<(command)``, ``/dev/stdin``): for
    callers that read it once.
    """
    try:
        str(path).encode("utf-8")
    except UnicodeEncodeError:
        raise FileUnreadable(path, "has a name that is no text in UTF-8; rename it") from None
    try:
        # a pipe would wait for a writer, were it opened in the usual way
        handle = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | _BINARY)
    except OSError as error:
        raise FileUnreadable(path, plain_reason(error)) from None
    except ValueError as error:  # a zero byte in the name
        raise FileUnreadable(path, f"is no name of a file ({error})") from None
    try:
        found = os.fstat(handle)
        if piped and stat.S_ISFIFO(found.st_mode):
            return _drained(path, handle, min(most, _PIPED_SIZE))
        _check_ordinary(path, found, most)
        return _read(handle, found.st_size, most + 1)
    except OSError as error:
        raise FileUnreadable(path, plain_reason(error)) from None
    finally:
        os.close(handle)


def first_bytes(path: Path, most: int = 1 << 16) -> bytes:
    """How an ordinary file begins, however long it is; empty where it cannot be read."""
    with contextlib.suppress(OSError, ValueError):
        if path.is_file():
            with path.open("rb") as file:
                return file.read(most)
    return b""


def _read(handle: int, expected: int, most: int) -> bytes:
    """What is to be read, at most ``most`` bytes; room is taken for what is expected."""
    parts: list[bytes] = []
    while most and (part := os.read(handle, min(most, expected + _ROOM))):
        parts.append(part)
        most -= len(part)
    return parts[0] if len(parts) == 1 else b"".join(parts)


def _drained(path: Path, handle: int, most: int) -> bytes:
    """Everything that a pipe brings until its writer closes it."""
    os.set_blocking(handle, True)
    data = _read(handle, 1 << 16, most + 1)
    if not data:
        raise FileUnreadable(path, "nothing came through this pipe; name a file instead")
    if len(data) > most:
        raise FileUnreadable(
            path, f"more than {most} bytes came through this pipe, which is more than is read; "
            "check what writes to it",
        )  # fmt: skip
    return data


def _check_ordinary(path: Path, found: os.stat_result, most: int) -> None:
    if stat.S_ISDIR(found.st_mode):
        raise FileUnreadable(path, _MENDS[errno.EISDIR])
    if not stat.S_ISREG(found.st_mode):
        raise FileUnreadable(
            path,
            "is no ordinary file (a device or a pipe); save what it "
            "brings as a file, and name that",
        )
    if found.st_size > most:
        raise FileUnreadable(
            path, f"is {found.st_size} bytes long; at most {most} are read, so this is hardly "
            "the file that is meant: check the name",
        )  # fmt: skip


_BINARY = getattr(os, "O_BINARY", 0)


def json_of(raw: bytes) -> Any:
    """What JSON bytes (UTF-8) hold. Raises ValueError, whatever is wrong with them.

    Refused beside what is no JSON: NaN and infinities however written, texts with half a
    surrogate pair (they cannot be written again), nesting and numbers beyond all measure.
    """
    try:
        data = json.loads(raw.decode("utf-8"), parse_constant=_refused, parse_float=_finite)
    except UnicodeDecodeError as error:
        raise ValueError(f"no UTF-8 text: byte {error.start}") from None
    except RecursionError:
        raise ValueError("nested too deeply") from None
    if b"\\ud" in raw or b"\\uD" in raw:
        _writable(data)
    return data


def _refused(word: str) -> Any:
    raise ValueError(f"{word} is no number")


def _finite(text: str) -> float:
    number = float(text)
    if not math.isfinite(number):
        raise ValueError(f"{text[:20]} is beyond every double")
    return number


def _writable(data: Any) -> None:
    try:
        json.dumps(data, ensure_ascii=False).encode("utf-8")
    except UnicodeEncodeError:
        raise ValueError("a text holds half a surrogate pair") from None


def write_text(path: Path, text: str | bytes) -> None:
    """Writes to a temporary file in the same folder, then renames it over ``path``."""
    path.parent.mkdir(parents=True, exist_ok=True)
    data = text.encode("utf-8") if isinstance(text, str) else text
    try:
        handle, temporary = tempfile.mkstemp(dir=path.parent, prefix=".written-")
    except OSError as error:  # named by what was to be written
        raise OSError(error.errno, error.strerror, str(path)) from None
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
