"""Reading TOML with complaints that carry the path of the key."""

from __future__ import annotations

import hashlib
from collections.abc import Collection, Mapping
from decimal import Decimal
from pathlib import Path
from typing import Any, TypeVar

import tomli

from refsolver.catalogue.recognising import Wanted, mistaken_file, mistaken_table
from refsolver.catalogue.schema import CaseFileError, Complaint
from refsolver.catalogue.userfile import FileUnreadable, file_bytes, first_bytes
from refsolver.quantities.nearest import did_you_mean

__all__ = ["TomlReader", "read_toml"]

_LARGEST = 4_000_000
"""Bytes; the largest case file of the catalogue has some thousands."""

_BYTE_ORDER_MARK = "\ufeff"
"""Some editors put it before a text in UTF-8; it is no part of it."""


T = TypeVar("T")


class TomlReader:
    """Collects complaints while a file is read; a failed part reads as None."""

    def __init__(self, path: str) -> None:
        self.path = path
        self.complaints: list[Complaint] = []

    def complain(self, key: str, what: str, mend: str = "") -> None:
        self.complaints.append(Complaint(self.path, key, what, mend))

    def stop_if_wrong(self) -> None:
        if self.complaints:
            raise CaseFileError(self.complaints)

    def table(self, data: Any, key: str) -> dict[str, Any]:
        if isinstance(data, dict):
            return data
        self.complain(key, f"a table is expected, not {data!r}")
        return {}

    def words(self, data: Mapping[str, Any], key: str, default: str | None = None) -> str:
        value = data.get(key, default)
        if isinstance(value, str) and (value.strip() or default is not None):
            return value.strip()
        what = "a text is missing" if value is None else f"a text is expected: {value!r}"
        self.complain(key, what, f'write {key} = "..."')
        return ""

    def listed(self, table: Mapping[str, Any], key: str, name: str, kind: type[T]) -> tuple[T, ...]:
        """A list of texts or of whole numbers; a single text is not taken letter by letter."""
        value = table.get(name, [])
        if isinstance(value, list) and all(type(x) is kind for x in value):
            return tuple(value)
        words = "texts" if kind is str else "whole numbers"
        self.complain(f"{key}.{name}", f"a list of {words} is expected, not {value!r}")
        return ()

    def yes_or_no(self, table: Mapping[str, Any], key: str, name: str) -> bool:
        value = table.get(name, False)
        if type(value) is not bool:
            self.complain(f"{key}.{name}", f"true or false is expected, not {value!r}")
        return bool(value)

    def unknown_keys(self, data: Mapping[str, Any], known: Collection[str], key: str) -> None:
        for name in data:
            if name not in known:
                where = f"{key}.{name}" if key else name
                near = did_you_mean(name, known, most=1, cutoff=0.6)
                hint = f"{near} known here: {', '.join(known)}".lstrip()
                self.complain(where, "unknown key", hint)


def read_toml(
    path: Path, wanted: Wanted, *, piped: bool = False
) -> tuple[dict[str, Any], str, str]:
    """The parsed file, its text and the hash of its bytes. Raises CaseFileError.

    Where it is another file than the one ``wanted``, the complaint says what it is. With
    ``piped`` it may be a pipe (see :func:`~.userfile.file_bytes`).
    """
    raw = b""
    try:
        raw = file_bytes(path, _LARGEST, piped=piped)
        text = raw.decode("utf-8")
        data = tomli.loads(text.removeprefix(_BYTE_ORDER_MARK), parse_float=Decimal)
    except FileUnreadable as error:
        said = mistaken_file(path, first_bytes(path), wanted)
        raise CaseFileError([Complaint(str(path), "", said or error.why)]) from None
    except (ValueError, ArithmeticError, RecursionError) as error:
        said = mistaken_file(path, raw, wanted)
        complaint = Complaint(str(path), "", said) if said else _no_toml(path, error)
        raise CaseFileError([complaint]) from None
    said = mistaken_table(data, wanted)
    if said is not None:
        raise CaseFileError([Complaint(str(path), "", said)])
    return data, text, hashlib.sha256(raw).hexdigest()


def _no_toml(path: Path, error: Exception) -> Complaint:
    if isinstance(error, UnicodeDecodeError):
        what = f"is not UTF-8 text (byte {error.start})"
        return Complaint(str(path), "", what, "save it as UTF-8")
    if isinstance(error, tomli.TOMLDecodeError):
        what, mend = f"is not valid TOML: {error}", 'a text stands in quotes: key = "text"'
        return Complaint(str(path), "", what, mend)
    if isinstance(error, RecursionError):
        what, mend = "is nested too deeply to be read", "take brackets out of one another"
        return Complaint(str(path), "", what, mend)
    # what is left: a bare number that no computer takes in one go
    what = "holds a bare number of thousands of digits"
    return Complaint(str(path), "", what, "write numbers as texts")
