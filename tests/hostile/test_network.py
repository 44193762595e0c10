"""Nothing is asked of a network while cases are solved and calculators are checked."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

import refsolver
from tests.hostile.bases import ONE

ROOT = Path(refsolver.__file__).parent.parent
COMMANDS = (
    ("solve", ONE),
    ("selfcheck", "--family", "friction/belt"),
    ("check", "function.toml", "--trial", ONE),
    ("check", "workbook.toml", "--trial", ONE),
    ("check", "program.toml", "--trial", ONE),
    ("verify", "record.json"),
)
WATCHED = """
import socket, sys

def watch(event, arguments):
    if event in ("socket.connect", "socket.bind", "socket.sendto"):
        if arguments[0].family != getattr(socket, "AF_UNIX", None):
            raise SystemExit(f"{event} {arguments[1]}")
    elif event in ("socket.getaddrinfo", "socket.gethostbyname", "urllib.Request"):
        raise SystemExit(f"{event} {arguments[0]}")

sys.addaudithook(watch)
from refsolver.cli import main
main()
"""


def run(folder: Path, *command: str) -> subprocess.CompletedProcess[str]:
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    return subprocess.run(
        command, cwd=folder, env=environment, text=True, capture_output=True, timeout=300,
        check=False,
    )  # fmt: skip


@pytest.mark.parametrize("arguments", COMMANDS, ids=lambda words: " ".join(words[:2]))
def test_no_socket_is_used(folder: Path, arguments: tuple[str, ...]) -> None:
    found = run(folder, sys.executable, "-c", WATCHED, *arguments)
    assert found.returncode == 0 and "socket." not in found.stderr, found


def test_the_watch_would_notice(folder: Path) -> None:
    text = "import urllib.request as u; u.urlopen('http://127.0.0.1:9/')"
    found = run(folder, sys.executable, "-c", WATCHED.split("from refsolver")[0] + text)
    assert found.returncode == 1 and "urllib.Request" in found.stderr


@pytest.mark.skipif(shutil.which("unshare") is None, reason="needs a network of its own")
def test_everything_works_where_there_is_no_network_at_all(folder: Path) -> None:
    """Calculators in processes of their own included."""
    alone = ["unshare", "--net", sys.executable, "-m", "refsolver"]
    if run(folder, "unshare", "--net", "true").returncode:
        pytest.skip("no network of its own is to be had here")
    for arguments in COMMANDS[3:5]:
        found = run(folder, *alone, *arguments)
        assert found.returncode == 0 and not found.stderr, found
