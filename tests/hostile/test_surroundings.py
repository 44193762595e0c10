"""Whatever a shell, an account or a disk is like: it works, or it is said what to do.

No home folder, no place for temporary files, pipes for files, folders that can only be read, no
font, a clock that is wrong, and names that few people give to files.
"""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

import refsolver
from refsolver.calculators.file import read_calculator_file
from refsolver.catalogue.catalogue import Catalogue
from refsolver.catalogue.userfile import write_text
from refsolver.records.building import circumstances_of, content_of
from refsolver.records.canonical import canonical, read_record, sealed, write_record
from refsolver.reporting.pdf import PdfError, write_pdf
from refsolver.runs import check
from refsolver.runs.verifying import verify
from tests.hostile.bases import FAMILY, ONE
from tests.hostile.conftest import Command, tree

ROOT = Path(refsolver.__file__).parent.parent
LINUX = pytest.mark.skipif(sys.platform != "linux", reason="pipes and accounts of Linux")
SEVERAL = """
import contextlib, io, json, sys
from refsolver.cli import main
found = []
for arguments in json.loads(sys.argv[1]):
    sys.argv[1:] = arguments
    err = io.StringIO()
    with contextlib.redirect_stderr(err), contextlib.redirect_stdout(io.StringIO()):
        try:
            main()
            status = 0
        except SystemExit as leaving:
            status = int(leaving.code or 0)
    found.append([status, err.getvalue()])
print(json.dumps(found))
"""
"""Several commands in one process: status of each, and what it said on stderr."""


def several(
    folder: Path, *commands: tuple[str, ...], before: tuple[str, ...] = (), **environment: str
) -> list[tuple[int, str]]:
    found = subprocess.run(
        [*before, sys.executable, "-c", SEVERAL, json.dumps(commands)], cwd=folder,
        env={**environment, "PYTHONPATH": str(ROOT)}, text=True, capture_output=True,
        timeout=120, check=False,
    )  # fmt: skip
    assert not found.stderr, found
    return [tuple(one) for one in json.loads(found.stdout)]


@LINUX
def test_next_to_no_environment(folder: Path) -> None:
    """No HOME, no PATH, no LANG, a terminal one column wide, no folder for temporary files."""
    commands = (
        ("solve", "case.toml"), ("check", "function.toml", "--trial", ONE),
        ("check", "program.toml", "--trial", ONE), ("cases", "lint", "case.toml"), ("--help",),
    )  # fmt: skip
    environment = {"LC_ALL": "POSIX", "COLUMNS": "1", "TERM": "dumb", "TMPDIR": "/proc/none"}
    found = several(folder, *commands, **environment)
    assert [status for status, _ in found] == [0] * len(commands), found
    assert not [said for _, said in found if "refsolver:" in said or "Traceback" in said]


def test_no_folder_for_temporary_files_at_all(
    command: Command, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(tempfile, "tempdir", None)
    monkeypatch.setattr(tempfile, "_candidate_tempdir_list", lambda: [str(folder / "none")])
    before = tree(folder)
    for kind in ("program", "workbook"):
        said = command("check", f"{kind}.toml", "--trial", ONE)
        said.refuses("name a folder that can be written in TMPDIR")
    assert command("solve", "case.toml").status == 0
    assert tree(folder) == before


@pytest.fixture
def piped() -> Iterator[object]:
    """The name of a pipe that brings these bytes."""
    opened: list[int] = []

    def name(data: bytes) -> str:
        reading, writing = os.pipe()
        opened.append(reading)
        assert os.write(writing, data) == len(data)
        os.close(writing)
        return f"/dev/fd/{reading}"

    yield name
    for handle in opened:
        os.close(handle)


@LINUX
def test_a_pipe_where_it_is_read_once(command: Command, folder: Path, piped) -> None:
    case, record = ((folder / name).read_bytes() for name in ("case.toml", "record.json"))
    assert command("solve", piped(case)) == command("solve", "case.toml")
    assert command("cases", "lint", piped(case)).status == 0
    assert command("verify", piped(record)) == command("verify", "record.json")
    assert command("compare", piped(record), piped(record)).status == 0
    command("solve", piped(b"")).refuses("/dev/fd/", "nothing came through", "name a file")
    command("verify", piped(record[:-9])).refuses("/dev/fd/", "is not a record")


@LINUX
def test_a_pipe_where_a_file_is_needed(command: Command, folder: Path, piped) -> None:
    said = command("check", piped((folder / "function.toml").read_bytes()))
    said.refuses("/dev/fd/", "save what it brings as a file, and name that")
    endless = folder / "endless"
    os.mkfifo(endless)  # and nobody writes to it
    command("solve", endless).refuses("nothing came through this pipe")


@LINUX
def test_a_pipe_that_never_ends(folder: Path) -> None:
    line = f"{sys.executable} -m refsolver solve <(yes)"
    found = subprocess.run(
        ["bash", "-c", line], cwd=folder, env={**os.environ, "PYTHONPATH": str(ROOT)},
        text=True, capture_output=True, timeout=120, check=False,
    )  # fmt: skip
    assert found.returncode == 2 and "check what writes to it" in found.stderr, found


def _as_anybody() -> tuple[str, ...]:
    """What takes from root the right to read and write everything; nothing for others."""
    if os.geteuid() != 0:
        return ()
    if shutil.which("setpriv") is None:
        pytest.skip("setpriv is not installed, and root may write everywhere")
    return ("setpriv", "--inh-caps=-all", "--bounding-set=-dac_override,-dac_read_search")


@LINUX
def test_a_folder_that_can_only_be_read(folder: Path) -> None:
    hidden = ("case.toml", "record.json", "bollard.xlsx")
    commands = {
        ("check", "function.toml"): "function-check",
        ("check", "function.toml", "--out", "out", "--resume"): "out/record.lock",
        ("check", "program.toml", "--exchange", "swap"): "swap",
        ("campaign", "function.toml", "--cases", "4"): "function-campaign",
        ("draft", "--command", "--family", FAMILY, "--out", "new.toml"): "new.toml",
    }
    unreadable = {
        ("solve", "case.toml"): "case.toml",
        ("verify", "record.json"): "record.json",
        ("draft", "bollard.xlsx"): "bollard.xlsx",
        ("check", "workbook.toml", "--trial", ONE): "bollard.xlsx",
    }
    before = tree(folder)
    shut = (folder, folder / "out")
    try:
        for name in hidden:
            (folder / name).chmod(0)
        for one in shut:
            one.chmod(0o555)
        found = several(folder, *commands, *unreadable, before=_as_anybody(), **os.environ)
    finally:
        for one in shut:
            one.chmod(0o755)
    for (status, said), arguments in zip(found, [*commands, *unreadable], strict=True):
        place = (commands | unreadable)[arguments]
        assert status == 2 and place in said and "permissions" in said, (arguments, said)
        assert said.count("\n") == 1 and ".written-" not in said
    assert tree(folder) == before


def test_what_is_written_is_for_those_for_whom_the_shell_says(folder: Path) -> None:
    for mask, mode in ((0o077, 0o600), (0o022, 0o644), (0o002, 0o664)):
        before = os.umask(mask)
        try:
            write_text(folder / "new.txt", "x")
        finally:
            os.umask(before)
        assert (folder / "new.txt").stat().st_mode & 0o777 == mode


NAMES = ("a\nb", "a'b\"c", "a b;$(id)", "-x", "%s{0}", "n" * 240, "Ünlü 港", "con", "a.b.c")


@pytest.mark.parametrize("name", NAMES, ids=range(len(NAMES)))
def test_names_that_few_people_give(command: Command, folder: Path, name: str) -> None:
    shutil.copy(folder / "case.toml", folder / f"{name}.toml")
    assert command("solve", f"./{name}.toml") == command("solve", "case.toml")
    shutil.copy(folder / "record.json", folder / name)
    assert command("verify", f"./{name}").status == 0
    write_text(folder / name, "again")
    assert (folder / name).read_text() == "again"


@LINUX
def test_a_name_that_is_no_text(command: Command, folder: Path) -> None:
    odd = folder / "odd\udcff"
    shutil.copytree(folder / "cases", odd)
    shutil.copy(folder / "case.toml", odd)
    command("solve", odd / "case.toml").refuses("odd<U+DCFF>", "no text in UTF-8; rename it")
    assert command("draft", "--command", "--family", FAMILY, "--out", odd / "new.toml").status == 0
    assert (odd / "new.toml").exists()


def test_names_that_some_disks_take_for_one(command: Command, folder: Path) -> None:
    shutil.copy(folder / "function.toml", folder / "Function.toml")
    said = command("check", "function.toml", "Function.toml", "--out", "new")
    said.refuses("would have one folder; rename one")
    assert not (folder / "new").exists()


@LINUX
@pytest.mark.browser
def test_no_font_for_a_pdf(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Chromium would not come to an end: it is told before."""
    if shutil.which("fc-list") is None or shutil.which("chromium") is None:
        pytest.skip("Chromium or fontconfig is not installed")
    (folder / "fonts.conf").write_text("<fontconfig></fontconfig>")
    (folder / "page.html").write_text("<html><head></head><body>x</body></html>")
    monkeypatch.setenv("FONTCONFIG_FILE", str(folder / "fonts.conf"))
    with pytest.raises(PdfError, match="apt install fonts-dejavu-core"):
        write_pdf(folder / "page.html", folder / "page.pdf")
    assert not (folder / "page.pdf").exists()


@pytest.mark.parametrize("year", [1970, 2100])
def test_a_clock_that_is_wrong(folder: Path, year: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """The content is that of the right day; the record holds."""

    class Clock(datetime):
        @classmethod
        def now(cls, tz=None):  # type: ignore[no-untyped-def,override]
            return datetime(year, 1, 1, 0, 0, 5, tzinfo=UTC)

    monkeypatch.setattr(check, "datetime", Clock)
    run = check.run_check(
        read_calculator_file(folder / "function.toml"), Catalogue(folder / "cases")
    )
    record = sealed(content_of(run), circumstances_of(run))
    write_record(record, folder / "again.json")
    assert str(year) in json.dumps(record["circumstances"])
    right = read_record(folder / "record.json")["content"]
    assert canonical(record["content"]) == canonical(right)
    assert verify(folder / "again.json").holds
