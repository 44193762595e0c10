"""Small programs that answer, hang, flood, crash and fork, and what still runs of them."""

from __future__ import annotations

import subprocess
import time
from collections.abc import Callable
from pathlib import Path

Script = Callable[[str], list[str]]

ECHO = """
    import json, sys
    for line in sys.stdin:
        print(json.dumps({"got": json.loads(line)}), flush=True)
"""

# Obeys one word a line, so that one worker can be taken through good and bad answers.
MOODY = """
    import json, os, signal, sys, time
    for line in sys.stdin:
        word = json.loads(line)
        if word == "hang":
            time.sleep(600)
        elif word == "segfault":
            os.kill(os.getpid(), signal.SIGSEGV)
        elif word == "exit":
            print("out of cheese", file=sys.stderr)
            sys.exit(3)
        elif word == "flood":
            while True:
                sys.stdout.write("x" * 65536)
        elif word == "garbage":
            print("Total = 12 kN", flush=True)
        elif word == "nan":
            print("NaN", flush=True)
        elif word == "twice":
            print("1\\n2", flush=True)
        elif word == "close":
            os.close(1)
            time.sleep(600)
        elif word == "chatter":
            sys.stderr.write("y" * 1_000_000)
            sys.stderr.flush()
            print('"chattered"', flush=True)
        elif word == "late":
            print("1", flush=True)
            print("stray", flush=True)
        else:
            print(json.dumps(os.getpid()), flush=True)
"""

FORKS_AND_HANGS = """
    import os, sys, time
    if os.fork() == 0:
        time.sleep(600)
    print(os.getpid(), flush=True)
    time.sleep(600)
"""


def running_members(group: int) -> list[int]:
    """The processes of a group that are not yet dead, from the system's own table."""
    table = subprocess.run(["ps", "-eo", "pid=,pgid=,stat="], capture_output=True, text=True)
    rows = [line.split() for line in table.stdout.splitlines()]
    return [int(pid) for pid, pgid, state in rows if int(pgid) == group and state[0] != "Z"]


def wait_until_none_runs(group: int) -> None:
    for _ in range(100):
        if not running_members(group):
            return
        time.sleep(0.02)
    raise AssertionError(f"still running: {running_members(group)}")


def wait_until_gone(pid: int) -> None:
    for _ in range(500):
        if not Path(f"/proc/{pid}/environ").exists() or not _environment(pid):
            return
        time.sleep(0.02)
    raise AssertionError(f"{pid} still runs")


def _environment(pid: int) -> bytes:
    """Empty for a process that is dead but was not asked for its exit status yet."""
    try:
        return Path(f"/proc/{pid}/environ").read_bytes()
    except OSError:
        return b""
