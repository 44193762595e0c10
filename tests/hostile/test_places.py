"""Where there is no room, no right, no terminal, or a link in the way: said, nothing half done."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

import refsolver
from tests.hostile.bases import ONE
from tests.hostile.conftest import Command, tree

ROOT = Path(refsolver.__file__).parent.parent
LINUX = pytest.mark.skipif(sys.platform != "linux", reason="devices and links of Linux")
CHECK = ("check", "function.toml", "--out")


def test_a_file_in_place_of_the_folder(command: Command, folder: Path) -> None:
    (folder / "taken").write_text("mine")
    before = tree(folder)
    command(*CHECK, "taken").refuses("taken", "give another name")
    command(*CHECK, "taken/below").refuses("taken", "give another name")
    assert tree(folder) == before


@LINUX
@pytest.mark.parametrize(
    ("name", "says"), [("/proc/none", "check the name"), ("/sys/none", "give another place")]
)
def test_a_folder_that_cannot_be_written(command: Command, name: str, says: str) -> None:
    command(*CHECK, name).refuses(name, says)


@LINUX
def test_links_in_the_folder_are_not_followed(command: Command, folder: Path) -> None:
    """What a link leads to stays as it is, whether it is the lock, the journal or a report."""
    precious = folder / "precious.txt"
    precious.write_text("do not lose this")
    for name in ("record.lock", "record.journal"):
        out = folder / f"with-{name}"
        out.mkdir()
        (out / name).symlink_to(precious)
        said = command(*CHECK, out.name, "--resume")
        said.refuses(name)
        assert precious.read_text() == "do not lose this"
    (folder / "out" / "report.md").symlink_to(precious)
    assert command(*CHECK, "out", "--resume").status == 0
    assert precious.read_text() == "do not lose this"
    assert not (folder / "out" / "report.md").is_symlink()


@LINUX
def test_a_link_to_a_folder_is_a_folder(command: Command, folder: Path) -> None:
    (folder / "link").symlink_to("out")
    assert command(*CHECK, "link", "--resume").status == 0
    assert (folder / "out" / "record.json").exists()


@LINUX
@pytest.mark.parametrize("name", ["record.lock", "record.journal"])
def test_a_folder_or_a_pipe_in_place_of_a_file(command: Command, folder: Path, name: str) -> None:
    (folder / "a" / name).mkdir(parents=True)
    command(*CHECK, "a").refuses(name)
    (folder / "b").mkdir()
    os.mkfifo(folder / "b" / name)
    command(*CHECK, "b", "--resume").refuses(name)


@LINUX
@pytest.mark.parametrize("path", ["/dev/zero", "/dev/full", "."])
def test_devices_and_folders_for_files(command: Command, folder: Path, path: str) -> None:
    (folder / "link.toml").symlink_to(path)
    (folder / "link.json").symlink_to(path)
    command("solve", "link.toml").refuses("link.toml", "name")
    command("check", "link.toml").refuses("link.toml", "name")
    command("verify", "link.json").refuses("link.json", "name")
    command("draft", "link.json", "--out", "new.toml").refuses("link.json", "name")


@pytest.mark.parametrize("name", ["absent", "a" * 300, "\udcff"])
def test_names_that_no_file_has(command: Command, name: str) -> None:
    for arguments in (("solve", f"{name}.toml"), ("verify", name), ("check", f"{name}.toml")):
        command(*arguments).refuses()


@pytest.mark.parametrize("case", ["../../etc/passwd", "/etc/passwd", f"{ONE}/../balanced", ""])
def test_ids_that_lead_elsewhere(command: Command, case: str) -> None:
    command("cases", "show", case).refuses("no case")
    if case != "/etc/passwd":  # a trial takes the file of a case too
        command("check", "function.toml", "--trial", case).refuses("case" if case else "name")


def test_line_ends_of_other_systems_and_a_mark_before_the_text(
    command: Command, folder: Path
) -> None:
    path = folder / "case.toml"
    plain = command("solve", "case.toml")
    assert plain.status == 0
    text = path.read_bytes()
    for changed in (text.replace(b"\n", b"\r\n"), b"\xef\xbb\xbf" + text):
        path.write_bytes(changed)
        assert command("solve", "case.toml") == plain
    path.write_bytes(text.replace(b"\n", b"\r"))
    command("solve", "case.toml").refuses("case.toml")


def run(folder: Path, *arguments: str, **how: object) -> subprocess.CompletedProcess[str]:
    environment = {**os.environ, "PYTHONPATH": str(ROOT), **how.pop("env", {})}  # type: ignore[dict-item]
    return subprocess.run(
        [sys.executable, "-m", "refsolver", *arguments],
        cwd=folder, env=environment, text=True, timeout=120, check=False,
        **{"capture_output": True, **how},
    )  # type: ignore[call-overload]  # fmt: skip


@pytest.mark.parametrize(
    "env",
    [
        {"PYTHONIOENCODING": "ascii"},
        {"LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"},
        {"LC_ALL": "de_DE.UTF-8", "LANG": "tr_TR.UTF-8"},
    ],
    ids=lambda env: next(iter(env.values())),
)
def test_other_encodings_and_locales(folder: Path, env: dict[str, str]) -> None:
    path = folder / "case.toml"
    path.write_text(path.read_text().replace("bollard", "Pöller – ∑ 港"), encoding="utf-8")
    found = run(folder, "solve", "case.toml", env=env)
    assert found.returncode == 0 and not found.stderr, found
    assert "50.0000000000" in found.stdout or "50" in found.stdout


@LINUX
def test_a_full_disk_for_what_is_printed(folder: Path) -> None:
    with Path("/dev/full").open("w") as full:
        found = run(folder, "solve", "case.toml", capture_output=False, stdout=full,
                    stderr=subprocess.PIPE)  # fmt: skip
    assert found.returncode == 2
    assert "no room is left" in found.stderr and found.stderr.count("\n") == 1


@LINUX
def test_nobody_reads_what_is_printed(folder: Path) -> None:
    command = f"{sys.executable} -m refsolver cases"
    for line in (f"{command} | head -1", f"{command} >&-", f"{command} >&- 2>&- <&-"):
        found = subprocess.run(
            ["bash", "-c", line], cwd=folder, env={**os.environ, "PYTHONPATH": str(ROOT)},
            text=True, capture_output=True, timeout=120, check=False,
        )  # fmt: skip
        assert found.returncode == 0 and not found.stderr, found


@LINUX
def test_no_terminal_hears_what_a_case_says(command: Command, folder: Path) -> None:
    path = folder / "case.toml"
    text = path.read_text()
    path.write_text(text.replace("Two lines", "\\u001b[2J\\u202Eenil owT\\u0007"))
    said = command("solve", "case.toml")
    assert said.status == 0
    assert "<U+001B>[2J<U+202E>enil owT<U+0007>" in said.out
    assert not set("\x1b\x07\u202e") & set(said.out)
    path.write_text(text.replace('family = "', 'family = "\\u001b[2J'))
    said = command("solve", "case.toml")
    said.refuses("[2Jconcurrent-forces")
    assert "\x1b" not in said.err


@LINUX
@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() != 0, reason="mounts a small disk")
def test_a_full_disk_for_record_and_reports(command: Command, folder: Path) -> None:
    """A disk of 64 KiB: the run says so, and leaves no half of a record or report."""
    small = folder / "small"
    small.mkdir()
    mount = ["mount", "-t", "tmpfs", "-o", "size=64k", "tmpfs", str(small)]
    if subprocess.run(mount, capture_output=True, check=False).returncode:
        pytest.skip("no disk can be mounted here")
    try:
        said = command("check", "function.toml", "--out", "small/out")
        said.refuses("no room is left there")
        left = [path.name for path in (small / "out").iterdir()]
        assert left in ([], ["record.journal"])
    finally:
        subprocess.run(["umount", str(small)], check=True)
