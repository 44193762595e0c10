from __future__ import annotations

import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest

from refsolver.calculators.workbook.contents import read_contents
from refsolver.calculators.workbook.embedded import EmbeddedEngine
from refsolver.calculators.workbook.engine import EngineRefused
from refsolver.calculators.workbook.files import WorkbookUnreadable, kind_of_workbook

COMPOUND = bytes.fromhex("D0CF11E0A1B11AE1")


def _broken(path: Path, what: str) -> Path:
    match what:
        case "empty":
            path.write_bytes(b"")
        case "text":
            path.write_text("pull,angle\n120,30\n")
        case "zip":
            with zipfile.ZipFile(path, "w") as package:
                package.writestr("notes.txt", "no workbook in here")
        case "document":
            with zipfile.ZipFile(path, "w") as package:
                package.writestr("[Content_Types].xml", "wordprocessingml.document.main+xml")
        case "binary":
            with zipfile.ZipFile(path, "w") as package:
                package.writestr("[Content_Types].xml", "ms-excel.sheet.binary.macroEnabled.main")
        case "cut short":
            path.write_bytes(b"PK\x03\x04 and no more")
        case "protected":  # ECMA-376 packages with a password lie in this stream: [MS-OFFCRYPTO]
            path.write_bytes(COMPOUND + "EncryptedPackage\0".encode("utf-16-le"))
        case "compound":
            path.write_bytes(COMPOUND + bytes(512))
    return path


@pytest.mark.parametrize(
    ("what", "message"),
    [
        ("empty", "0 bytes"),
        ("text", "is not a workbook"),
        ("zip", "holds no workbook"),
        ("document", "not a workbook"),
        ("binary", "save it as .xlsx"),
        ("cut short", "damaged or cut short"),
        ("protected", "protected by a password"),
        ("compound", "holds no workbook"),
    ],
)
def test_what_is_no_workbook_is_refused_with_its_name_and_the_reason(
    tmp_path: Path, what: str, message: str
) -> None:
    path = _broken(tmp_path / "loads.xlsx", what)
    with pytest.raises(WorkbookUnreadable, match=message) as problem:
        kind_of_workbook(path)
    assert str(path) in str(problem.value)


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(WorkbookUnreadable, match="is not there"):
        kind_of_workbook(tmp_path / "none.xlsx")


def test_the_kind_is_in_the_bytes_not_in_the_name(resultant: Path, tmp_path: Path) -> None:
    renamed = tmp_path / "resultant.xls"
    renamed.write_bytes(resultant.read_bytes())
    assert kind_of_workbook(renamed) == "xlsx"


def test_a_part_that_is_no_xml(resultant: Path, tmp_path: Path) -> None:
    path = tmp_path / "torn.xlsx"
    with zipfile.ZipFile(resultant) as old, zipfile.ZipFile(path, "w") as new:
        for name in old.namelist():
            torn = name == "xl/worksheets/sheet1.xml"
            new.writestr(name, b"<worksheet" if torn else old.read(name))
    with pytest.raises(WorkbookUnreadable, match="cannot be read"):
        read_contents(path)
    with EmbeddedEngine() as engine, pytest.raises(EngineRefused, match="cannot open"):
        engine.open(path)


def test_a_style_that_is_not_there_is_a_refusal_and_prints_nothing(
    resultant: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """What openpyxl prints of it would stand in the JSON that a program reads."""
    path = tmp_path / "odd.xlsx"
    with zipfile.ZipFile(resultant) as old, zipfile.ZipFile(path, "w") as new:
        for name in old.namelist():
            data = old.read(name)
            if name == "xl/styles.xml":
                assert b'xfId="0"' in data
                data = data.replace(b'xfId="0"', b'xfId="3366"')
            new.writestr(name, data)
    with pytest.raises(WorkbookUnreadable, match="cannot be read"):
        read_contents(path)
    assert capsys.readouterr() == ("", "")


def test_formulas_are_read_from_xlsx_only(make: Callable[..., Path], tmp_path: Path) -> None:
    path = tmp_path / "a.ods"
    with zipfile.ZipFile(path, "w") as package:
        package.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")
        package.writestr("META-INF/manifest.xml", "<manifest/>")
    with pytest.raises(WorkbookUnreadable, match="convert the .ods workbook first"):
        read_contents(path)


def test_an_encrypted_opendocument_workbook(tmp_path: Path) -> None:
    path = tmp_path / "a.ods"
    with zipfile.ZipFile(path, "w") as package:
        package.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")
        package.writestr("META-INF/manifest.xml", "<manifest:encryption-data/>")
    with pytest.raises(WorkbookUnreadable, match="protected by a password"):
        kind_of_workbook(path)
