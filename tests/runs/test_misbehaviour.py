"""Calculators that hang, fork, flood, die, or answer otherwise than asked.

Each ends in a finding that says what happened; none takes the run down, none leaves a
process behind, and none makes this program hold more than a bounded amount of memory.
"""

from __future__ import annotations

import re
import sys
import time
import uuid
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from refsolver.calculators.file import read_calculator_file
from refsolver.catalogue.catalogue import Catalogue
from refsolver.checking.judging import Finding
from refsolver.records.building import circumstances_of, content_of
from refsolver.records.canonical import canonical, sealed
from refsolver.runs.check import run_check
from tests.plane_pulls import inputs, output

pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="looks into /proc")

HEAD = """
import json, math, os, signal, subprocess, sys, time
NOTE = os.path.join(os.path.dirname(os.path.abspath(__file__)), "note")

def right(asked):
    x = y = 0.0
    for pull in asked["pulls"]:
        size, turn = float(pull["size"]), math.radians(float(pull["turn"]))
        x, y = x + size * math.cos(turn), y + size * math.sin(turn)
    return math.hypot(x, y)
"""
PROGRAM = """
asked = json.load(sys.stdin)
r = right(asked)
answer = json.dumps({"r": repr(r)})
BODY
"""
FUNCTION = """
def total(asked):
    r = right(asked)
    BODY
"""
TOML = """
[calculator]
name = "Net lines (made up)"
version = "1"
owner = "a harbour that does not exist"
HOW
[[family]]
name = "concurrent-forces/plane-resultant"
"""
TOML += inputs("lbf") + output('{ relative = "1e-9", reason = "doubles" }', "lbf")
SETTLED = """
    for _ in range(500):
        if os.path.exists(NOTE): break
        time.sleep(0.01)
"""
"""Waits until a process that was started has got where it wanted to be."""

LEAVES = f"""
if os.fork() == 0:
    os.setsid()
    if os.fork() == 0:
        signal.signal(signal.SIGTERM, signal.SIG_IGN)
        open(NOTE, "w").close()
        time.sleep(600)
    os._exit(0)
if True:{SETTLED}
"""

PROGRAMS = {
    "hangs": ("time.sleep(600)", "error", "timeout (did not end within 1 s)"),
    "ignores a request to end": (
        "signal.signal(signal.SIGTERM, signal.SIG_IGN)\nsignal.pthread_sigmask("
        "signal.SIG_BLOCK, {signal.SIGTERM, signal.SIGINT})\ntime.sleep(600)",
        "error", "timeout",
    ),
    "stops in its tracks": ("os.kill(os.getpid(), signal.SIGSTOP)", "error", "timeout"),
    "leaves a process of its own": (LEAVES + "print(answer)", "pass", ""),
    "leaves a process of its own and hangs": (LEAVES + "time.sleep(600)", "error", "timeout"),
    "floods stdout": (
        "while True: sys.stdout.write('x' * 65536)", "error", "output limit (wrote more than",
    ),
    "floods stderr": (
        "while True: sys.stderr.write('x' * 65536)", "error", "output limit (wrote more than",
    ),
    "floods files": (
        "for n in range(100_000):\n    open(f'f{n}', 'wb').write(b'x' * 90_000)",
        "error", "output limit (its files took up more than",
    ),
    "floods the folder with names": (
        "for n in range(10_000_000):\n    open(f'f{n}', 'wb').close()",
        "error", "output limit (its files took up more than",
    ),
    "dies by a signal": ("os.kill(os.getpid(), signal.SIGSEGV)", "error", "signal 11 (SIGSEGV)"),
    "is killed": ("os.kill(os.getpid(), signal.SIGKILL)", "error", "signal 9 (SIGKILL)"),
    "answers late": ("time.sleep(5)\nprint(answer)", "error", "timeout"),
    "answers twice": ("print(answer)\nprint(answer)", "error", "not JSON: Extra data"),
    "wants a terminal": (
        "print(open('/dev/tty').readline())", "error", "ended with exit code 1",
    ),
    "wants to be typed to": ("sys.stdin = sys.__stdin__\nr = input('r? ')", "error", "exit code 1"),
    "answers with other keys": (
        "print(json.dumps({'total': r, 'angle': 1}))", "no answer",
        "the answer has no field 'r'; the fields there are: total, angle",
    ),
    "answers with a list": ("print([1, 2])", "no answer", "the answer has no field 'r'"),
    "answers nothing": ("", "error", "the output is not JSON"),
    "answers in bytes that are no text": (
        "sys.stdout.buffer.write(b'{\"r\": \"\\xff\"}')", "error", "no text in utf-8",
    ),
    "answers half a character": (r"""print('{"r": "\\ud800"}')""", "error", "cannot be read"),
    "answers out of all proportion": (
        "print(json.dumps({'r': '1e999999999'}))", "error", "exponent 999999999 is out of range",
    ),
    "nests without end": ("print('[' * 90_000)", "error", "not JSON"),
}  # fmt: skip

FUNCTIONS = {
    "hangs": ("time.sleep(600)", "error", "timeout (no answer within 1 s"),
    "hangs where no signal reaches it": (
        "signal.pthread_sigmask(signal.SIG_BLOCK, range(1, 32)); time.sleep(600)",
        "error", "timeout",
    ),
    "forks and both halves answer": ("os.fork(); return {'r': r}", "pass", ""),
    "leaves a process of its own": (
        "subprocess.Popen([sys.executable, '-c', 'import time; time.sleep(600)'], "
        "start_new_session=True); return {'r': r}",
        "pass", "",
    ),
    "leaves a process of its own and dies": (
        "subprocess.Popen(['sleep', '600'], start_new_session=True); os._exit(3)",
        "error", "crash (ended with exit code 3",
    ),
    "prints without end": (
        "\n    while True: sys.stdout.write('x' * 65536)", "error", "timeout",
    ),
    "answers without end": (
        "return {'r': 'x' * 70_000_000}", "error", "output limit (an answer of more than",
    ),
    "answers at great length": (
        "return {'r': 'x' * 10_000_000}", "error", "a text of 10000000 characters",
    ),
    "answers with a very long number": (
        "from decimal import Decimal; return {'r': Decimal('1' * 5_000_000)}",
        "error", "a number of 5000000 characters",
    ),
    "answers out of all proportion": (
        "from decimal import Decimal; return {'r': Decimal('1e999999')}",
        "error", "out of all proportion",
    ),
    "complains at great length": (
        "raise ValueError('no ' * 3_000_000)", "error", "characters)",
    ),
    "asks for more memory than there is": (
        "return {'r': len(bytearray(1 << 60))}", "error", "MemoryError",
    ),
    "dies by a signal": ("os.kill(os.getpid(), signal.SIGSEGV)", "error", "SIGSEGV"),
    "ends itself": ("sys.exit('enough')", "error", "SystemExit: enough"),
    "closes everything": ("os.closerange(0, 1000)", "error", "crash"),
    "wants a terminal": ("open('/dev/tty')", "error", "OSError"),
    "wants to be typed to": ("input('r? ')", "error", "EOFError"),
    "answers with other keys": (
        "return {'total': r, 'angle': 1}", "no answer",
        "the answer has no field 'r'; the fields there are: total, angle",
    ),
    "answers with a bare number": ("return r", "no answer", "there are no fields"),
    "writes into the answers": (
        "\n    for fd in range(3, 10):\n        try: os.write(fd, b'7\\n')\n"
        "        except OSError: pass\n    return {'r': r}",
        "error", "garbage",  # on its own, or beside the right one
    ),
}  # fmt: skip


@pytest.fixture
def checked(
    tmp_path: Path, catalogue: Catalogue, monkeypatch: pytest.MonkeyPatch
) -> Callable[..., Finding]:
    """The finding of one case, after the whole record was shown to be fit to be written."""
    mark = uuid.uuid4().hex
    monkeypatch.setenv("MARK", mark)

    def found(how: str, source: str, body: str) -> Finding:
        (tmp_path / "net.py").write_text(HEAD + source.replace("BODY", body))
        (tmp_path / "net.toml").write_text(TOML.replace("HOW", how))
        file = read_calculator_file(tmp_path / "net.toml")
        Path("/proc/self/clear_refs").write_text("5")  # the high-water mark begins anew
        before = memory("VmRSS")
        run = run_check(file, catalogue, only=lambda case: "anchor-right" in case.id)
        record = sealed(content_of(run), circumstances_of(run))
        assert len(canonical(record)) < 1_000_000
        assert memory("VmHWM") - before < 400e6
        none_left_behind(mark)
        (finding,) = (f for r in run.runs for f in r.findings)
        return finding

    return found


def memory(name: str) -> float:
    """This process's memory in bytes: resident now, or at its highest."""
    kilobytes = re.search(rf"^{name}:\s+(\d+) kB", Path("/proc/self/status").read_text(), re.M)
    assert kilobytes is not None
    return 1024.0 * int(kilobytes[1])


def none_left_behind(mark: str) -> None:
    def running() -> list[str]:
        found = []
        for folder in Path("/proc").glob("[0-9]*"):
            try:
                if mark.encode() in (folder / "environ").read_bytes():
                    found.append((folder / "cmdline").read_bytes().replace(b"\0", b" ").decode())
            except OSError:
                continue
        return [command for command in found if "warden.py" not in command]

    for _ in range(50):
        if not running():
            return
        time.sleep(0.1)
    raise AssertionError(running())


@pytest.mark.parametrize("name", PROGRAMS)
def test_a_program_that(checked: Callable[..., Finding], name: str) -> None:
    body, verdict, said = PROGRAMS[name]
    how = (
        '[command]\nargv = ["{python}", "{calculator_folder}/net.py"]\n'
        f"limit = {1 if 'timeout' in said else 20}\noutput_limit = 100_000"
    )
    finding = checked(how, PROGRAM, body)
    assert finding.verdict == verdict, finding
    assert said in finding.why, finding


@pytest.mark.parametrize("name", FUNCTIONS)
def test_a_function_that(checked: Callable[..., Finding], name: str) -> None:
    body, verdict, said = FUNCTIONS[name]
    limit = 1 if "timeout" in said else 20
    finding = checked(f'[python]\nfunction = "net:total"\nlimit = {limit}', FUNCTION, body)
    assert finding.verdict == verdict, finding
    assert said in finding.why, finding


def test_the_next_case_is_not_blamed(
    tmp_path: Path, catalogue: Catalogue, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What a case leaves in the pipe after its answer is not held against the one after it."""
    body = """
    if len(asked["pulls"]) == 3 and os.fork() == 0:
        os.setsid()
        time.sleep(0.3)
        for fd in range(3, 10):
            try: os.write(fd, b'7\\n')
            except OSError: pass
        os._exit(0)
    time.sleep(0.2)
    return {'r': r}
"""
    (tmp_path / "net.py").write_text(HEAD + FUNCTION.replace("BODY", body))
    (tmp_path / "net.toml").write_text(
        TOML.replace("HOW", '[python]\nfunction = "net:total"\nlimit = 20')
    )
    run = run_check(read_calculator_file(tmp_path / "net.toml"), catalogue)
    verdicts: dict[str, Any] = {
        r.case.id.rpartition("/")[2]: [f.verdict for f in r.findings] for r in run.runs
    }
    wrong = {name for name, found in verdicts.items() if "error" in found}
    assert not wrong, verdicts
