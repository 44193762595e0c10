"""What kind of workbook a file is, told from its bytes; anything else is refused in words."""

from __future__ import annotations

import zipfile
import zlib
from pathlib import Path
from typing import Literal, TypeAlias

from refsolver.catalogue.userfile import FileUnreadable, file_bytes

__all__ = ["WorkbookKind", "WorkbookUnreadable", "kind_of_workbook"]

WorkbookKind: TypeAlias = Literal["xlsx", "xlsm", "ods", "xls"]

ZIP_START = b"PK"
COMPOUND_START = bytes.fromhex("D0CF11E0A1B11AE1")
ODS_TYPE = b"application/vnd.oasis.opendocument.spreadsheet"
MAIN_PARTS: tuple[tuple[bytes, WorkbookKind], ...] = (
    (b"spreadsheetml.sheet.main+xml", "xlsx"),
    (b"spreadsheetml.template.main+xml", "xlsx"),
    (b"ms-excel.sheet.macroEnabled.main+xml", "xlsm"),
    (b"ms-excel.template.macroEnabled.main+xml", "xlsm"),
)

_LARGEST_FILE = 200_000_000
_LARGEST_UNPACKED = 200_000_000
"""Bytes; a workbook of a hundred thousand formulas has some ten million."""

DAMAGE = (zipfile.BadZipFile, zlib.error, KeyError, OSError, RuntimeError, NotImplementedError)
"""What zipfile raises on a package that is cut short, altered or encrypted."""


class WorkbookUnreadable(Exception):
    """The file cannot be read as a workbook: which file, why, and how to mend it."""

    def __init__(self, path: Path, why: str) -> None:
        super().__init__(path, why)
        self.path = path
        self.why = why

    def __str__(self) -> str:
        return f"{self.path}: {self.why}"


def kind_of_workbook(path: Path) -> WorkbookKind:
    """The kind of workbook at ``path``, whatever its name ends in.

    OOXML workbooks (ECMA-376 part 2: a zip package with a content type for its main part),
    OpenDocument spreadsheets (OASIS OpenDocument 1.3 part 2: a zip with a ``mimetype``
    entry) and BIFF workbooks in a compound file. Raises :class:`WorkbookUnreadable`.
    """
    try:
        data = file_bytes(path, _LARGEST_FILE)
    except FileUnreadable as error:
        raise WorkbookUnreadable(path, error.why) from None
    if not data:
        raise WorkbookUnreadable(path, "the file is empty (0 bytes); copy or save it again")
    if data.startswith(COMPOUND_START):
        return _compound(path, data)
    if data.startswith(ZIP_START):
        return _package(path)
    raise WorkbookUnreadable(
        path,
        "is not a workbook (its contents are neither xlsx, xlsm, ods nor xls, whatever its "
        "name says); open it in the program that made it and save it as .xlsx",
    )


def _compound(path: Path, data: bytes) -> WorkbookKind:
    if _holds_stream(data, "EncryptedPackage"):
        raise WorkbookUnreadable(path, _PROTECTED)
    if _holds_stream(data, "Workbook") or _holds_stream(data, "Book"):
        return "xls"
    raise WorkbookUnreadable(path, "is a compound file but holds no workbook; save it as .xlsx")


def _holds_stream(data: bytes, name: str) -> bool:
    return (name + "\0").encode("utf-16-le") in data


_PROTECTED = "is protected by a password; save a copy without one and use the copy"


def _package(path: Path) -> WorkbookKind:
    try:
        with zipfile.ZipFile(path) as package:
            names = set(package.namelist())
            _check_parts(path, package)
            if "[Content_Types].xml" in names:
                return _ooxml(path, package.read("[Content_Types].xml"))
            if "mimetype" in names:
                return _opendocument(path, package)
    except DAMAGE as error:
        raise WorkbookUnreadable(
            path, f"is damaged or cut short ({error}); copy or save it again"
        ) from error
    raise WorkbookUnreadable(path, "is a zip file but holds no workbook; save it as .xlsx")


def _check_parts(path: Path, package: zipfile.ZipFile) -> None:
    """Refuses a package that unpacks beyond all measure, or holds a part twice.

    Names of parts are the same whatever their letters' case (ECMA-376 part 2); of a part that
    is there twice one reader takes the first, another the last, so that what was validated
    would not be what computes.
    """
    size = sum(part.file_size for part in package.infolist())
    if size > _LARGEST_UNPACKED:
        raise WorkbookUnreadable(
            path, f"unpacks to {size} bytes, of which at most {_LARGEST_UNPACKED} are read; save a "
            "copy that holds no more than the calculation",
        )  # fmt: skip
    seen: set[str] = set()
    for name in package.namelist():
        if name.casefold() in seen:
            raise WorkbookUnreadable(
                path, f"holds the part {name!r} twice, so that programs may read it differently; "
                "open it in the program of use and save it again",
            )  # fmt: skip
        seen.add(name.casefold())


def _ooxml(path: Path, types: bytes) -> WorkbookKind:
    for content_type, kind in MAIN_PARTS:
        if content_type in types:
            return kind
    if b"ms-excel.sheet.binary" in types:
        raise WorkbookUnreadable(path, "is a binary workbook (.xlsb); save it as .xlsx")
    raise WorkbookUnreadable(path, "is an office file but not a workbook; save it as .xlsx")


def _opendocument(path: Path, package: zipfile.ZipFile) -> WorkbookKind:
    if not package.read("mimetype").startswith(ODS_TYPE):
        raise WorkbookUnreadable(path, "is an office file but not a workbook; save it as .xlsx")
    if b"encryption-data" in package.read("META-INF/manifest.xml"):
        raise WorkbookUnreadable(path, _PROTECTED)
    return "ods"
