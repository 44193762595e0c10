"""What a file is that was given in place of another, and what to do with it instead."""

from __future__ import annotations

import io
import re
import zipfile
import zlib
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Literal, TypeAlias

import tomli

from refsolver.catalogue.userfile import json_of

__all__ = ["Wanted", "mistaken_file", "mistaken_table"]

Wanted: TypeAlias = Literal[
    "a calculator file", "a case file", "a list of sources", "a record of a check"
]

_MENDS = {
    ("a calculator file", "a record of a check"): (
        "is a record of a check, not a calculator file; verify it (refsolver verify), or give the "
        "calculator file it was made from"
    ),
    ("a calculator file", "the record of a campaign"): (
        "is the record of a campaign, not a calculator file; give the calculator file it was "
        "made from"
    ),
    ("a calculator file", "the journal of a run"): (
        "is the journal of a run, not a calculator file; give the calculator file of that run, "
        "with --resume"
    ),
    ("a calculator file", "the index of a folder of exchange"): (
        "is the index of a folder of exchange, not a calculator file; give the calculator file, "
        "and the folder with --exchange"
    ),
    ("a calculator file", "an answer sheet"): (
        "is an answer sheet, not a calculator file; give the calculator file it was written for, "
        "and name the sheet in it (file = ... under [sheet])"
    ),
    ("a calculator file", "a workbook"): (
        "is a workbook, not a calculator file; have one drafted from it (refsolver draft), and "
        "give that"
    ),
    ("a calculator file", "a Python program"): (
        "is a Python program, not a calculator file; have a blank one written for its function "
        "(refsolver draft --python MODULE:FUNCTION), and give that"
    ),
    ("a calculator file", "a case file"): (
        "is a case file, not a calculator file; solve it (refsolver solve), or give the calculator "
        "file to which cases are put"
    ),
    ("a case file", "a record of a check"): (
        "is a record of a check, not a case file; verify it (refsolver verify), or name one of the "
        "cases it lists"
    ),
    ("a case file", "a calculator file"): (
        "is a calculator file, not a case file; check it (refsolver check), or name a case "
        "(refsolver cases lists them)"
    ),
    ("a record of a check", "a calculator file"): (
        "is a calculator file, not a record of a check; check it (refsolver check), and name the "
        "record.json which that writes"
    ),
    ("a record of a check", "a case file"): (
        "is a case file, not a record of a check; solve it (refsolver solve), or name the "
        "record.json that a check wrote"
    ),
    ("a record of a check", "the record of a campaign"): (
        "is the record of a campaign, not of a check; name the record.json that a check wrote"
    ),
    ("a record of a check", "the journal of a run"): (
        "is the journal of a run that was cut short; go on with the run (refsolver check "
        "--resume), and name the record.json which that writes"
    ),
}
"""By what is wanted and what is there instead."""

_WANTED: dict[Wanted, str] = {
    "a calculator file": "give a calculator file (refsolver draft writes one)",
    "a case file": "give a case file (refsolver cases new writes a blank one), or name a case",
    "a list of sources": "give the sources.toml of a catalogue",
    "a record of a check": "name the record.json that a check wrote",
}

_STATED = re.compile(rb'"format": ?"refsolver (record|journal|exchange), version')
_FORMATS = {
    b"record": "a record of a check",
    b"journal": "the journal of a run",
    b"exchange": "the index of a folder of exchange",
}

_SUFFIXES = (".xlsx", ".xlsm", ".xlsb", ".xls", ".ods")
_NAMED = {".py": "a Python program", ".md": "a text in Markdown"}
_DAMAGE = (
    zipfile.BadZipFile, zlib.error, OSError, EOFError, ValueError, RuntimeError,
    NotImplementedError,
)  # fmt: skip
_COMPOUND = bytes.fromhex("d0cf11e0a1b11ae1")


def mistaken_file(path: Path, raw: bytes, wanted: Wanted) -> str | None:
    """What a file that could not be read as ``wanted`` is instead, and how to mend it.

    ``raw`` are its bytes, or the first of them. None where it is not known.
    """
    kind = _kind(path, raw)
    return None if kind is None or kind == wanted else _problem(wanted, kind)


def mistaken_table(data: Mapping[str, Any], wanted: Wanted) -> str | None:
    """The same of a file in TOML, from what it holds; None where it may be what is wanted."""
    kind = _kind_of_table(data)
    return None if kind is None or kind == wanted else _problem(wanted, kind)


def _problem(wanted: Wanted, kind: str) -> str:
    if (wanted, kind) in _MENDS:
        return _MENDS[wanted, kind]
    return f"is {kind}, not {wanted}; {_WANTED[wanted]}"


def _kind_of_table(data: Mapping[str, Any]) -> str | None:
    if isinstance(data.get("calculator"), dict) or isinstance(data.get("family"), list):
        return "a calculator file"
    if isinstance(data.get("family"), str) and {"given", "statement", "published"} & data.keys():
        return "a case file"
    if data and all(isinstance(work, dict) and "citation" in work for work in data.values()):
        return "a list of sources"
    return None


def _kind(path: Path, raw: bytes) -> str | None:
    text = raw.lstrip(b"\xef\xbb\xbf \t\r\n")
    if text.startswith((b"{", b"[{")):
        return _kind_of_json(text)
    if raw.startswith(b"PK\x03\x04"):
        return _kind_of_package(path, raw)
    for start, kind in (
        (_COMPOUND, "a workbook" if path.suffix.lower() in _SUFFIXES else "an office file"),
        (b"%pdf-", "a PDF"),
        (b"<?xml", "a file in XML"),
        (b"<!doctype html", "a web page"),
        (b"<html", "a web page"),
    ):
        if text[: len(start)].lower() == start:
            return kind
    if path.suffix in _NAMED:
        return _NAMED[path.suffix]
    return "a table of values (CSV)" if _is_csv(text) else _kind_of_toml(text)


def _kind_of_toml(text: bytes) -> str | None:
    try:
        return _kind_of_table(tomli.loads(text.decode("utf-8")))
    except (ValueError, ArithmeticError, RecursionError):
        return None


def _kind_of_json(text: bytes) -> str | None:
    stated = _STATED.search(text)
    if stated:
        return _FORMATS[stated[1]]
    if text.startswith(b'{"circumstances":{'):  # as it is written; the format stands at its end
        return "the record of a campaign" if b'"cases a cell":' in text else "a record of a check"
    try:
        json_of(text)
    except ValueError:
        return None
    return "a file in JSON"


def _kind_of_package(path: Path, raw: bytes) -> str | None:
    """Its list of parts stands at the end of the file, which ``raw`` may lack."""
    try:
        with zipfile.ZipFile(io.BytesIO(raw)) as package:
            if "xl/workbook.xml" in package.namelist():
                with package.open("xl/workbook.xml") as part:
                    sheets = part.read(1_000_000)
                named = all(
                    f'name="{n}"'.encode() in sheets for n in ("Head", "To type", "To read")
                )
                return "an answer sheet" if named else "a workbook"
    except _DAMAGE:
        pass
    return "a workbook" if path.suffix.lower() in _SUFFIXES else "an archive (zip)"


def _is_csv(text: bytes) -> bool:
    """Two first lines of as many values, without an equals sign."""
    lines = [line for line in text[:20_000].splitlines()[:2] if line.strip()]
    return len(lines) == 2 and any(
        lines[0].count(mark) == lines[1].count(mark) > 0 and b"=" not in lines[0]
        for mark in (b",", b";", b"\t")
    )
