"""Valid files, spoilt at random: bytes, lines, values; and again sealed where they have hashes."""

from __future__ import annotations

import io
import json
import random
import re
import zipfile
from pathlib import Path

from refsolver.records.canonical import canonical, sealed
from tests.hostile.bases import chained, summed

NASTY = (
    "", "0", "-0", "nan", "-inf", "1e400", "1e-400", "1e999999999", "1/0", "sqrt(-1)", "=1+1",
    "٣", "１", "−5", "10 Ν", "1,5", "1.2.3", "\x00", "\ufeff", "\u202e12", "a" * 3000,
    "9" * 6000, "(" * 500, "[" * 2000, "{}", "[]", "[[]]", "null", "true", "1e5", "-1", "3.5",
    "99999999999999999999999999", '"', "'", "\\", "\n", "..", "../x", "/etc/passwd", "%s", "{0}",
    "{python}", "A1", "Pulls!A1:XFD1048576", "[*]", "*", "kN", "deg", "2030-01-01", "'; --",
    "<script>", "&#0;", "#REF!", "#DIV/0!", "1-2-3", "0x1p3", "1_000", "1e", ".", "+", "e",
)  # fmt: skip
_VALUE = re.compile(rb'"[^"\n]*"|(?<=[=:,\[ ])-?[0-9.][0-9.eE+-]*|true|false|null')
_PARTS = ("xl/worksheets/sheet1.xml", "xl/workbook.xml", "xl/styles.xml", "[Content_Types].xml")


def mutated(raw: bytes, draw: random.Random) -> bytes:
    """The bytes with one to four changes."""
    for _ in range(draw.randint(1, 4)):
        raw = draw.choice((_value, _value, _value, _line, _bytes, _chunk))(raw, draw)
    return raw


def _value(raw: bytes, draw: random.Random) -> bytes:
    """A value replaced by another of the file, or by one from the list."""
    found = list(_VALUE.finditer(raw))
    if not found:
        return _bytes(raw, draw)
    at = draw.choice(found)
    if draw.random() < 0.3:
        new = draw.choice(found)[0]
    else:
        text = draw.choice(NASTY).encode("utf-8", "surrogatepass")
        new = b'"' + text + b'"' if draw.random() < 0.6 else text
    return raw[: at.start()] + new + raw[at.end() :]


def _line(raw: bytes, draw: random.Random) -> bytes:
    lines = raw.splitlines(keepends=True) or [b""]
    at = draw.randrange(len(lines))
    other = lines[draw.randrange(len(lines))]
    what = draw.randrange(3)
    if what == 0:
        del lines[at]
    elif what == 1:
        lines.insert(at, other)
    else:
        lines[at] = other
    return b"".join(lines)


def _bytes(raw: bytes, draw: random.Random) -> bytes:
    data = bytearray(raw)
    for _ in range(draw.randint(1, 8)):
        at = draw.randrange(len(data) + 1)
        what = draw.randrange(3)
        if what == 0 and at < len(data):
            data[at] = draw.randrange(256)
        elif what == 1:
            del data[at : at + draw.randint(1, 20)]
        else:
            data[at:at] = bytes(draw.randrange(256) for _ in range(draw.randint(1, 4)))
    return bytes(data)


def _chunk(raw: bytes, draw: random.Random) -> bytes:
    start, end = sorted(draw.randrange(len(raw) + 1) for _ in range(2))
    end = min(end, start + 5000)
    at = draw.randrange(len(raw) + 1)
    return raw[:at] + raw[start:end] + raw[at:]


def mutated_package(raw: bytes, draw: random.Random) -> bytes:
    """A zip package with a part of it spoilt, or its own bytes."""
    if draw.random() < 0.2:
        return mutated(raw, draw)
    made = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(raw)) as old, zipfile.ZipFile(made, "w") as new:
        names = old.namelist()
        wanted = draw.choice([n for n in _PARTS if n in names] if draw.random() < 0.7 else names)
        for name in names:
            data = old.read(name)
            if name != wanted:
                new.writestr(name, data)
            elif draw.random() < 0.95:
                new.writestr(name, mutated(data, draw))
    return made.getvalue()


def sealed_again(raw: bytes) -> bytes:
    """A record with the hashes of what it holds now, where it still is JSON."""
    try:
        record = json.loads(raw)
        return canonical(sealed(record["content"], record["circumstances"])) + b"\n"
    except (ValueError, LookupError, TypeError, AttributeError, RecursionError):
        return raw


def chained_again(raw: bytes) -> bytes:
    """A journal with the chain of its lines, where they still are JSON."""
    try:
        return chained(raw.decode("utf-8").splitlines()).encode("ascii")
    except (ValueError, TypeError, AttributeError, RecursionError):
        return raw


def summed_again(raw: bytes) -> bytes:
    """A campaign's log with the sums of its lines."""
    try:
        lines = [line.partition(" ")[2] for line in raw.decode("ascii").splitlines()]
    except ValueError:
        return raw
    return "".join(map(summed, lines)).encode("ascii")


def named(folder: Path, name: str) -> bytes:
    return (folder / name).read_bytes()
