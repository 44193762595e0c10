"""Spoilt files that are too large, or too binary, to lie in a list: made when they are needed.

Each is by the valid file that it replaces (see bases.py), its name, and what the complaint
must contain.
"""

from __future__ import annotations

import io
import json
import zipfile
from collections.abc import Callable
from pathlib import Path

import openpyxl
from openpyxl.worksheet.formula import ArrayFormula

from refsolver.records.canonical import canonical, sealed
from tests.hostile.bases import chained, summed

Spoil = Callable[[Path], None]
SPOILT: dict[tuple[str, str], tuple[str, Spoil]] = {}


def spoils(file: str, name: str, says: str) -> Callable[[Spoil], Spoil]:
    def noted(spoil: Spoil) -> Spoil:
        SPOILT[file, name] = (says, spoil)
        return spoil

    return noted


def replaced(path: Path, old: str, new: str) -> None:
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")


@spoils("case.toml", "nesting", "nested too deeply")
def _(path: Path) -> None:
    path.write_text(f"title = {'[' * 100_000}{']' * 100_000}\n")


@spoils("case.toml", "ten million digits", "case.toml")
def _(path: Path) -> None:
    replaced(path, '"30 kN"', f'"{"1" * 10_000_000} kN"')


@spoils("case.toml", "a million digits", "given.forces")
def _(path: Path) -> None:
    replaced(path, '"30 kN"', f'"{"1" * 1_000_000} kN"')


@spoils("case.toml", "a bare number of ten thousand digits", "write numbers as texts")
def _(path: Path) -> None:
    replaced(path, '"30 kN"', "1" * 10_000)


@spoils("case.toml", "brackets in an expression", "given.forces")
def _(path: Path) -> None:
    replaced(path, '"30 kN"', f'"{"(" * 100_000}1{")" * 100_000} kN"')


@spoils("case.toml", "a thousand roots", "given.forces")
def _(path: Path) -> None:
    replaced(path, '"30 kN"', f'"{"sqrt(" * 3000}2{")" * 3000} kN"')


@spoils("case.toml", "a tower of powers", "given.forces")
def _(path: Path) -> None:
    replaced(path, '"30 kN"', '"9^9^9^9^9 kN"')


@spoils("case.toml", "an endless file", "at most")
def _(path: Path) -> None:
    with path.open("ab") as file:
        file.truncate(1 << 40)  # sparse


@spoils("function.toml", "nesting", "nested too deeply")
def _(path: Path) -> None:
    replaced(path, "[calculator]", f"x = {'[' * 100_000}{']' * 100_000}\n[calculator]")


@spoils("function.toml", "a key of a million letters", "unknown key")
def _(path: Path) -> None:
    replaced(path, "[calculator]", f"{'k' * 1_000_000} = 1\n[calculator]")


@spoils("function.toml", "a criterion of a million digits", "criterion")
def _(path: Path) -> None:
    replaced(path, '"0.1 %"', f'"0.{"1" * 1_000_000} %"')


@spoils("record.json", "nesting", "nested too deeply")
def _(path: Path) -> None:
    path.write_text("[" * 200_000 + "]" * 200_000)


@spoils("record.json", "a number of a million digits", "name the record.json")
def _(path: Path) -> None:
    path.write_text('{"format": ' + "1" * 1_000_000 + "}")


@spoils("record.json", "sealed, and built otherwise", "not built as this version")
def _(path: Path) -> None:
    path.write_bytes(canonical(sealed({"cases": {"x": []}}, {})) + b"\n")


@spoils("out/record.journal", "a line that nobody wrote, chained", "not those that a check writes")
def _(path: Path) -> None:
    lines = path.read_text().splitlines()
    path.write_text(chained([*lines, '{"case": ["x"], "received": 3}']))


@spoils("out/record.journal", "answers that are none, chained", "not those that a check writes")
def _(path: Path) -> None:
    lines = path.read_text().splitlines()
    data = json.loads(lines[1])
    data["received"]["values"] = [1, 2]
    path.write_text(chained([lines[0], json.dumps(data)]))


@spoils("out/record.journal", "nesting", "damaged")
def _(path: Path) -> None:
    with path.open("a") as file:
        file.write("[" * 100_000 + "\n")


@spoils("campaign.log", "a tally that is none, with its sum", "damaged")
def _(path: Path) -> None:
    with path.open("a") as file:
        file.write(summed('{"shard":1,"tally":[]}'))


@spoils("campaign.log", "a list, with its sum", "damaged")
def _(path: Path) -> None:
    with path.open("a") as file:
        file.write(summed("[" * 50_000 + "]" * 50_000))


@spoils("exchange/exchange.json", "a folder elsewhere", "no name within the folder")
def _(path: Path) -> None:
    data = json.loads(path.read_text())
    data["cases"] = dict.fromkeys(data["cases"], "../../etc")
    path.write_text(json.dumps(data))


@spoils("copies/exchange.json", "a copy elsewhere", "no name within the folder")
def _(path: Path) -> None:
    data = json.loads(path.read_text())
    data["cases"] = dict.fromkeys(data["cases"], "/etc/passwd")
    path.write_text(json.dumps(data))


@spoils("exchange/exchange.json", "nesting", "nested too deeply")
def _(path: Path) -> None:
    path.write_text("[" * 100_000)


def _package(path: Path, change: Callable[[zipfile.ZipFile, zipfile.ZipFile], None]) -> None:
    """The zip package again, with parts added or others put in their place."""
    data = io.BytesIO()
    with (
        zipfile.ZipFile(path) as old,
        zipfile.ZipFile(data, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as new,
    ):
        change(old, new)
    path.write_bytes(data.getvalue())


def _all(old: zipfile.ZipFile, new: zipfile.ZipFile, without: str = "") -> None:
    for name in old.namelist():
        if name != without:
            new.writestr(name, old.read(name))


SHEET = "xl/worksheets/sheet1.xml"

for _file in ("bollard.xlsx", "filled.xlsx"):

    @spoils(_file, "cut short", "damaged or cut short")
    def _(path: Path) -> None:
        path.write_bytes(path.read_bytes()[:-200])

    @spoils(_file, "empty", "empty (0 bytes)")
    def _(path: Path) -> None:
        path.write_bytes(b"")

    @spoils(_file, "a text", "is not a workbook")
    def _(path: Path) -> None:
        path.write_text("Pull;Angle\n1;2\n")

    @spoils(_file, "encrypted", "protected by a password")
    def _(path: Path) -> None:
        head = bytes.fromhex("D0CF11E0A1B11AE1")
        path.write_bytes(head + b"\0" * 504 + "EncryptedPackage\0".encode("utf-16-le"))

    @spoils(_file, "unpacks to a terabyte", "bytes, of which at most")
    def _(path: Path) -> None:
        def large(old: zipfile.ZipFile, new: zipfile.ZipFile) -> None:
            _all(old, new)
            with new.open("xl/media/large.bin", "w", force_zip64=True) as part:
                for _ in range(300):
                    part.write(bytes(1_000_000))

        _package(path, large)

    @spoils(_file, "a part twice", "twice")
    def _(path: Path) -> None:
        def twice(old: zipfile.ZipFile, new: zipfile.ZipFile) -> None:
            _all(old, new)
            new.writestr(SHEET.upper().replace("XL/WORK", "xl/Work"), old.read(SHEET))

        _package(path, twice)

    @spoils(_file, "a billion laughs", "damaged or uses features")
    def _(path: Path) -> None:
        def laughing(old: zipfile.ZipFile, new: zipfile.ZipFile) -> None:
            _all(old, new, SHEET)
            rows = "".join(
                f'<!ENTITY l{n} "{f"&l{n - 1};" * 10 if n else "ha"}">' for n in range(12)
            )
            text = old.read(SHEET).decode().replace("<sheetData", "<a>&l11;</a><sheetData")
            new.writestr(SHEET, f"<!DOCTYPE x [{rows}]>{text}")

        _package(path, laughing)

    @spoils(_file, "broken XML", "damaged or uses features")
    def _(path: Path) -> None:
        def broken(old: zipfile.ZipFile, new: zipfile.ZipFile) -> None:
            _all(old, new, SHEET)
            new.writestr(SHEET, old.read(SHEET)[:-40])

        _package(path, broken)


def _sheet(path: Path, change: Callable[[openpyxl.Workbook], None]) -> None:
    book = openpyxl.load_workbook(path)
    change(book)
    book.save(path)


@spoils("filled.xlsx", "a row twice", "stands in row")
def _(path: Path) -> None:
    def twice(book: openpyxl.Workbook) -> None:
        sheet = book["To read"]
        sheet.append([cell.value for cell in sheet[2]])

    _sheet(path, twice)


@spoils("filled.xlsx", "columns changed", "put them back")
def _(path: Path) -> None:
    _sheet(path, lambda book: book["To read"].insert_cols(3))


@spoils("filled.xlsx", "a sheet missing", "is missing")
def _(path: Path) -> None:
    _sheet(path, lambda book: book.remove(book["To type"]))


@spoils("filled.xlsx", "a chart in place of a sheet", "save it again")
def _(path: Path) -> None:
    def charted(book: openpyxl.Workbook) -> None:
        book.remove(book["Head"])
        book.create_chartsheet("Head")

    _sheet(path, charted)


@spoils("bollard.xlsx", "a formula that fills a whole sheet", "name those that are meant")
def _(path: Path) -> None:
    def filled(book: openpyxl.Workbook) -> None:
        book["Pulls"]["F1"] = ArrayFormula("F1:XFD1048576", "=1")

    _sheet(path, filled)
