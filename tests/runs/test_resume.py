"""Runs that are stopped or killed, as real processes, and gone on with.

The bar: a run that was killed, at whatever moment, ends with the record of one that was not
disturbed, asks no case twice, and leaves no process behind. Moments and signals are drawn
from a seed. REFSOLVER_KILLS=10 makes ten of them for each kind of calculator.
"""

from __future__ import annotations

import json
import os
import random
import re
import shutil
import signal
import subprocess
import sys
import time
import uuid
from collections.abc import Sequence
from pathlib import Path

import pytest

import refsolver.demo
import refsolver.runs.checking as checking
from refsolver.calculators.workbook.engine import EngineAbsent
from refsolver.calculators.workbook.office import find_office
from refsolver.catalogue.catalogue import Catalogue
from refsolver.records.canonical import canonical, sealed, write_record
from tests.command import command
from tests.plane_pulls import inputs, output

ROOT = Path(refsolver.__file__).parent.parent
DEMO = Path(refsolver.demo.__file__).parent
FAMILY = "concurrent-forces/plane-resultant"
KILLS = int(os.environ.get("REFSOLVER_KILLS", "1"))
DRIVER = """
import sys
from refsolver.cli import main
folder = sys.argv.pop(1)
if folder:
    def shipped_folder():
        from pathlib import Path
        return Path(folder)
    import refsolver.catalogue.place as place
    place.shipped_folder = shipped_folder
main()
"""
"""The command itself, with a small catalogue in place of the one that comes along."""
SIGNALS = (signal.SIGKILL, signal.SIGINT, signal.SIGTERM)
LINUX = pytest.mark.skipif(sys.platform != "linux", reason="looks for processes in /proc")

COMPUTE = """
import json, math, os, sys, time

def total(asked):
    with open(os.path.join(os.path.dirname(os.path.abspath(__file__)), "asked.txt"), "a") as log:
        log.write(json.dumps(asked, sort_keys=True) + "\\n")
    time.sleep(0.1)
    x = y = 0.0
    for pull in asked["pulls"]:
        size, turn = float(pull["size"]), math.radians(float(pull["turn"]))
        x, y = x + size * math.sin(turn), y + size * math.cos(turn)
    return {"r": 1.002 * math.hypot(x, y) if x > 0 else math.hypot(x, y)}

if __name__ == "__main__":
    print(json.dumps(total(json.load(sys.stdin))))
"""
"""Wrong wherever the resultant points to the right, so that there is something to diagnose."""

TOML = (
    """
[calculator]
name = "Kite lines (made up)"
version = "1"
owner = "a club that does not exist"
HOW
[[family]]
name = "concurrent-forces/plane-resultant"
[[family.scope]]
count = "forces"
at_most = 3
reason = "three lines"
"""
    + inputs("lbf", from_up=True, more="DECIMALS")
    + output('{ relative = "0.1 %", absolute = "0.01 lbf", reason = "as agreed" }', "lbf")
)
HOW = {
    "function": ('[python]\nfunction = "kite:total"\nlimit = 5', ""),
    "program": (
        '[command]\nargv = ["{python}", "{calculator_folder}/kite.py"]\n'
        'program_files = ["kite.py"]\nlimit = 20',
        "decimals = 9",
    ),
}


class Bench:
    """A calculator in a folder of its own, and the command run on it."""

    def __init__(self, folder: Path, kind: str, catalogue: Catalogue) -> None:
        self.folder = folder
        self.kind = kind
        self.mark = uuid.uuid4().hex
        self.cases = str(catalogue.folder)
        if kind == "workbook":
            for name in ("hanger-workbook.toml", "hanger-workbook.xlsx"):
                shutil.copy(DEMO / name, folder)
            self.file = folder / "hanger-workbook.toml"
        else:
            how, decimals = HOW[kind]
            self.file = folder / "kite.toml"
            self.file.write_text(TOML.replace("HOW", how).replace("DECIMALS", decimals))
            (folder / "kite.py").write_text(COMPUTE)

    def start(
        self, *options: str, out: str = "out", files: Sequence[str] = ()
    ) -> subprocess.Popen[str]:
        # the mark passes to every process that comes of this one
        env = {**os.environ, "PYTHONPATH": str(ROOT), "MARK": self.mark}
        arguments = ["check", *(files or [self.file.name]), "--out", out, *options]
        return subprocess.Popen(
            [sys.executable, "-c", DRIVER, self.cases, *arguments],
            cwd=self.folder, env=env, text=True, start_new_session=True,
            stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.PIPE,
        )  # fmt: skip

    def finish(self, *options: str, out: str = "out") -> tuple[int, str]:
        process = self.start(*options, out=out)
        _, said = process.communicate(timeout=120)
        assert "Traceback" not in said, said
        return process.returncode, said

    def disturb(
        self, number: int, cases: int | None, after: float, *options: str
    ) -> tuple[int, str]:
        """The run with a signal some seconds after that many cases, if it still runs then."""
        process = self.start(*options)
        if cases is not None:
            wait_for_cases(self, cases, process)
        try:
            _, said = process.communicate(timeout=after)
        except subprocess.TimeoutExpired:
            os.kill(process.pid, number)
            _, said = process.communicate(timeout=60)
        return process.returncode, said

    def record(self, out: str = "out") -> dict:
        return json.loads((self.folder / out / "record.json").read_bytes())

    def asked(self) -> list[str]:
        """Every question that the calculator was asked, in order; forgotten afterwards."""
        log = self.folder / "asked.txt"
        lines = log.read_text().splitlines() if log.exists() else []
        log.unlink(missing_ok=True)
        return lines

    def left_behind(self) -> list[str]:
        """The commands of processes that still run and came of one of these runs."""
        wanted = f"MARK={self.mark}".encode()
        found = []
        for folder in Path("/proc").glob("[0-9]*"):
            try:
                if wanted in (folder / "environ").read_bytes().split(b"\0"):
                    found.append((folder / "cmdline").read_bytes().replace(b"\0", b" ").decode())
            except OSError:
                continue
        return found

    def none_left_behind(self) -> None:
        for _ in range(100):
            if not self.left_behind():
                return
            time.sleep(0.1)
        raise AssertionError(self.left_behind())


@pytest.fixture(scope="module")
def forty(tmp_path_factory: pytest.TempPathFactory) -> Catalogue:
    """Every third shipped case of the family: a workbook is quick, and is to be caught at it."""
    shipped, folder = Catalogue(), tmp_path_factory.mktemp("forty")
    shutil.copy(shipped.folder / "sources.toml", folder)
    (folder / FAMILY).mkdir(parents=True)
    paths = [path for id, path in shipped.paths.items() if id.startswith(f"{FAMILY}/")]
    for path in paths[::3]:
        shutil.copy(path, folder / FAMILY)
    return Catalogue(folder)


@pytest.fixture(params=["function", "program", "workbook"])
def bench(
    request: pytest.FixtureRequest, tmp_path: Path, catalogue: Catalogue, forty: Catalogue
) -> Bench:
    return Bench(tmp_path, request.param, forty if request.param == "workbook" else catalogue)


@pytest.fixture
def function(tmp_path: Path, catalogue: Catalogue) -> Bench:
    return Bench(tmp_path, "function", catalogue)


@pytest.fixture
def small(monkeypatch: pytest.MonkeyPatch, catalogue: Catalogue) -> None:
    """Commands run within the test take the small catalogue too."""
    monkeypatch.setattr(checking, "Catalogue", lambda: catalogue)


def same_content(bench: Bench) -> None:
    """The record in "out" has the content of the one in "undisturbed", and no traces lie about."""
    found, wanted = bench.record()["content"], bench.record("undisturbed")["content"]
    assert canonical(found) == canonical(wanted)
    assert {p.name for p in (bench.folder / "out").iterdir()} == {
        p.name for p in (bench.folder / "undisturbed").iterdir()
    }


@LINUX
@pytest.mark.slow
def test_a_killed_run_ends_with_the_record_of_an_undisturbed_one(bench: Bench) -> None:
    begun = time.monotonic()
    code, _ = bench.finish(out="undisturbed")
    seconds = time.monotonic() - begun
    assert code == 1
    undisturbed = bench.asked()
    draw = random.Random(bench.kind)
    disturbed = asked = 0
    for n in range(KILLS):
        number = draw.choice(SIGNALS) if n else signal.SIGKILL
        cases = draw.randrange(8) if bench.kind != "workbook" and draw.random() < 0.75 else None
        after = draw.uniform(0.0, 0.3) if cases is not None else draw.uniform(0.1, 0.7) * seconds
        for sooner in range(4):
            code, said = bench.disturb(number, cases, after / 2**sooner, "--resume")
            caught = code == -number or "stopped" in said
            if caught or bench.kind != "workbook":
                break
            shutil.rmtree(bench.folder / "out")  # it was over: again from the start
        disturbed += caught
        if "stopped" in said:
            assert (code, said.count("\n")) == (1, 1) and said.endswith("--resume\n"), said
        bench.none_left_behind()
        if n % 5 == 4:  # let one in five come to its end, and begin again
            bench.finish("--resume")
            same_content(bench)
            shutil.rmtree(bench.folder / "out")
    bench.finish("--resume")
    bench.none_left_behind()
    same_content(bench)
    assert disturbed, "no signal came in time"
    if bench.kind != "workbook":  # which cannot tell what it was asked
        asked = bench.asked()
        assert set(asked) == set(undisturbed)
        # what was asked and not kept is at most one batch a kill, here of 4 cases
        runs = 1 + KILLS // 5
        assert len(asked) <= runs * len(undisturbed) + 4 * KILLS


def cases_in(journal: Path) -> list[str]:
    return re.findall(r'^{"case":"([^"]+)"', journal.read_text(), flags=re.M)


def wait_for_cases(
    bench: Bench, count: int, process: subprocess.Popen[str], out: str = "out"
) -> None:
    journal = bench.folder / out / "record.journal"
    for _ in range(600):
        try:
            if len(cases_in(journal)) >= count:
                return
        except FileNotFoundError:
            if process.poll() is not None:
                return
        time.sleep(0.05)
    raise AssertionError("no case was answered")


@pytest.mark.slow
@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_a_stopped_run_leaves_a_record_marked_incomplete(function: Bench, number: int) -> None:
    process = function.start()
    wait_for_cases(function, 3, process)
    process.send_signal(number)
    _, said = process.communicate(timeout=60)
    assert process.returncode == 1
    (line,) = said.splitlines()
    judged, asked = map(int, re.search(r"stopped: (\d+) of (\d+) cases judged", line).groups())
    assert 3 <= judged < asked
    assert line.endswith("refsolver check kite.toml --out out --resume")

    content = function.record()["content"]
    assert content["overall"]["complete"] is False
    assert content["overall"]["result"] != "met"
    assert f"{judged} of {asked} cases judged" in " ".join(content["overall"]["because"])
    cases = content["counts"]["cases"]
    assert (cases["asked"], cases["not judged"]) == (judged, asked - judged)
    folder = function.folder / "out"
    for name in ("report.html", "report.md"):
        assert (
            f"{judged} of {asked} cases within the scope were judged" in (folder / name).read_text()
        )
    assert (folder / "junit.xml").read_text().count("the run was stopped before") == asked - judged
    assert (folder / "findings.csv").read_text().count(",not judged,") >= asked - judged

    intact = command("verify", "out/record.json", cwd=function.folder)
    assert intact.status == 0, intact
    assert f"holds; INCOMPLETE: the run was stopped with {judged} of {asked}" in intact.out
    assert f"{judged} readings reproduced" in intact.out
    altered = content | {"overall": content["overall"] | {"complete": True, "result": "met"}}
    record = json.loads((folder / "record.json").read_bytes()) | {"content": altered}
    (folder / "altered.json").write_bytes(canonical(record) + b"\n")
    altered = command("verify", "out/altered.json", cwd=function.folder)
    assert altered.status == 1 and "content.overall was altered" in altered.out
    (folder / "altered.json").unlink()

    before = function.asked()
    known = set(cases_in(folder / "record.journal"))
    code, _ = function.finish("--resume")
    assert code == 1 and function.record()["content"]["overall"]["complete"] is True
    assert len(function.asked()) == asked - len(known)
    assert len(before) >= len(known)
    (again,) = function.record()["circumstances"]["continued"]
    assert again["answered"] == len(known)
    # its own earlier part is no previous record
    assert function.record()["circumstances"]["changes"]["previous"] == ""


@pytest.fixture
def unfinished(function: Bench, small: None) -> Bench:
    """A run that was killed after some cases, with a torn last line."""
    process = function.start()
    wait_for_cases(function, 3, process)
    process.kill()
    process.communicate()
    with (function.folder / "out" / "record.journal").open("a") as journal:
        journal.write('{"case":"concurrent-forces/plane-res')
    return function


def test_what_differs_is_said_and_nothing_is_touched(unfinished: Bench) -> None:
    folder = unfinished.folder
    journal = folder / "out" / "record.journal"
    before = journal.read_bytes()
    asks = ("check", "kite.toml", "--out", "out", "--resume")
    toml, module = unfinished.file.read_text(), (folder / "kite.py").read_text()
    for name, text, said in (
        ("kite.toml", toml.replace("0.1 %", "0.2 %"), "the calculator file (was "),
        ("kite.py", module + "\n", "the calculator itself"),
        ("kite.toml", toml.replace("at_most = 3", "at_most = 2"), "the calculator file (was "),
    ):
        (folder / name).write_text(text)
        command(*asks, cwd=folder).refuses(said)
        assert journal.read_bytes() == before
        unfinished.file.write_text(toml)
        (folder / "kite.py").write_text(module)
    asked = command(*asks, "--digits", "31", cwd=folder)
    asked.refuses("the digits asked (was 30, is 31)")

    raw = before.decode()
    for damaged in (
        raw.replace('"number":"', '"number":"1', 1),  # an altered answer
        "".join(line for n, line in enumerate(raw.splitlines(True)) if n != 1),  # a lost line
        raw.replace('{"format"', '{"formats"', 1),
    ):
        journal.write_text(damaged)
        command(*asks, cwd=folder).refuses("record.journal: ")
    journal.write_bytes(before)
    done = command(*asks, cwd=folder)
    assert done.status == 1 and "Traceback" not in done.err
    assert not journal.exists()


def test_a_finished_run_is_not_asked_again(function: Bench, small: None) -> None:
    bench, tmp_path = function, function.folder
    asks = ("check", "kite.toml", "--out", "out", "--resume")
    # nothing to go on with: a run from the start
    assert command(*asks, cwd=tmp_path).status == 1
    assert len(bench.asked()) == 8
    before = (tmp_path / "out" / "record.json").read_bytes()
    assert command(*asks, cwd=tmp_path).status == 1
    assert bench.asked() == []
    assert (tmp_path / "out" / "record.json").read_bytes() == before
    bench.file.write_text(bench.file.read_text().replace("0.1 %", "1 %"))
    command(*asks, cwd=tmp_path)
    assert len(bench.asked()) == 8
    assert bench.record()["circumstances"]["changes"]["items"]


def test_a_finished_run_that_was_altered_is_not_taken_for_finished(
    function: Bench, small: None
) -> None:
    """Sealed again or not: nobody is asked again what it says."""
    folder = function.folder
    asks = ("check", "kite.toml", "--out", "out", "--resume")
    assert command(*asks, cwd=folder).status == 1
    path = folder / "out" / "record.json"
    record = json.loads(path.read_text())
    assert record["content"]["overall"]["result"] != "met"
    record["content"]["overall"] |= {"result": "met", "because": []}
    write_record(record, path)
    function.asked()
    command(*asks, cwd=folder).refuses("record.json", "content.overall was altered")
    write_record(sealed(record["content"], record["circumstances"]), path)
    command(*asks, cwd=folder).refuses("record.json", "overall: does not follow")
    assert function.asked() == []
    assert command(*asks[:-1], cwd=folder).status == 1


@pytest.mark.slow
def test_a_complete_record_is_kept_until_there_is_a_new_one(function: Bench) -> None:
    function.finish()
    complete = (function.folder / "out" / "record.json").read_bytes()
    function.file.write_text(function.file.read_text().replace("0.1 %", "1 %"))
    process = function.start()
    wait_for_cases(function, 3, process)
    process.terminate()
    process.communicate(timeout=60)
    assert (function.folder / "out" / "record-before.json").read_bytes() == complete
    function.finish("--resume")
    record = function.record()
    assert (
        record["circumstances"]["changes"]["previous"]
        == (json.loads(complete)["identity"]["content"])
    )
    assert any("1 %" in item for item in record["circumstances"]["changes"]["items"])
    assert not (function.folder / "out" / "record-before.json").exists()


@pytest.mark.slow
def test_two_runs_into_one_folder(function: Bench) -> None:
    first = function.start()
    wait_for_cases(function, 1, first)
    first.send_signal(signal.SIGSTOP)
    code, said = function.finish()
    first.send_signal(signal.SIGCONT)
    assert code == 2
    (line,) = said.splitlines()
    assert f"another run is writing there (process {first.pid} on " in line
    first.communicate(timeout=60)
    assert first.returncode == 1
    content = function.record()["content"]
    assert content["overall"]["complete"] is True
    # a lock file that a killed process left is taken over
    (function.folder / "out" / "record.lock").write_text("process 1 on somewhere, since 1999")
    code, said = function.finish()
    assert (code, said) == (1, "")
    assert not (function.folder / "out" / "record.lock").exists()


@pytest.mark.skipif(sys.platform == "win32", reason="needs a pseudo-terminal")
def test_progress_shows_the_time_left(function: Bench) -> None:
    import pty
    import termios

    main_end, other = pty.openpty()
    termios.tcsetwinsize(main_end, (24, 100))
    env = {**os.environ, "PYTHONPATH": str(ROOT), "TERM": "xterm"}
    process = subprocess.Popen(
        [sys.executable, "-c", DRIVER, function.cases, "check", function.file.name],
        cwd=function.folder, env=env, stdout=subprocess.DEVNULL, stderr=other,
    )  # fmt: skip
    os.close(other)
    shown = b""
    while True:
        try:
            data = os.read(main_end, 4096)
        except OSError:  # the terminal's other end is closed
            break
        if not data:
            break
        shown += data
    os.close(main_end)
    assert process.wait(timeout=60) == 1
    # done/total [elapsed<left, rate]
    steps = re.findall(rb"(\d+)/(\d+) \[\d\d:\d\d<(\d\d:\d\d)", shown)
    assert len({done for done, _, _ in steps}) >= 2, shown
    assert len({total for _, total, _ in steps}) == 1


def test_a_sheet_is_not_resumed(tmp_path: Path, catalogue: Catalogue) -> None:
    bench = Bench(tmp_path, "program", catalogue)
    text = bench.file.read_text()
    how = text[text.index("[command]") : text.index("[[family]]")]
    bench.file.write_text(text.replace(how, '[sheet]\nfile = "filled.xlsx"\n'))
    assert command("sheet", "kite.toml", "--out", "filled.xlsx", cwd=tmp_path).status == 0
    done = command("check", "kite.toml", "--out", "out", "--resume", cwd=tmp_path)
    done.refuses("nothing to resume")
    assert not (tmp_path / "out").exists()


@pytest.mark.slow
def test_of_several_calculators_the_finished_ones_are_not_asked_again(function: Bench) -> None:
    folder = function.folder
    for name in ("first", "second"):
        text = function.file.read_text().replace("kite:total", f"{name}:total")
        (folder / f"{name}.toml").write_text(text)
        (folder / f"{name}.py").write_text(COMPUTE.replace("asked.txt", f"{name}.txt"))
    both = ["first.toml", "second.toml"]
    process = function.start(files=both)
    wait_for_cases(function, 1, process, "out/second")
    process.terminate()
    _, said = process.communicate(timeout=60)
    assert process.returncode == 1
    assert said.startswith("refsolver: stopped: 1 of the calculators checked; ")
    assert said.endswith("refsolver check first.toml second.toml --out out --resume\n")
    assert not (folder / "out" / "side-by-side.md").exists()
    asked = (folder / "first.txt").read_text()

    process = function.start("--resume", files=both)
    assert process.communicate(timeout=60)[1] == "" and process.returncode == 1
    assert (folder / "first.txt").read_text() == asked
    assert (folder / "out" / "side-by-side.md").exists()
    contents = [
        json.loads((folder / "out" / name / "record.json").read_bytes())["content"]
        for name in ("first", "second")
    ]
    assert [content["overall"]["complete"] for content in contents] == [True, True]
    assert contents[0]["counts"] == contents[1]["counts"]


def test_a_calculator_that_is_changed_while_it_is_checked(function: Bench) -> None:
    process = function.start()
    wait_for_cases(function, 1, process)
    with (function.folder / "kite.py").open("a") as module:
        module.write("# another version\n")
    _, said = process.communicate(timeout=60)
    assert process.returncode == 2
    assert "was changed while it was checked" in said and said.count("\n") == 1
    assert not (function.folder / "out" / "record.json").exists()


@LINUX
@pytest.mark.office
def test_a_killed_run_leaves_no_office_behind(tmp_path: Path, forty: Catalogue) -> None:
    try:
        find_office()
    except EngineAbsent as absent:
        pytest.skip(str(absent))
    bench = Bench(tmp_path, "workbook", forty)
    text = bench.file.read_text(encoding="utf-8")
    bench.file.write_text(text.replace("[workbook]\n", '[workbook]\nengine = "office"\n', 1))
    process = bench.start()
    for _ in range(600):
        if any("soffice.bin" in command for command in bench.left_behind()):
            break
        assert process.poll() is None, process.communicate()
        time.sleep(0.1)
    process.kill()
    process.communicate()
    bench.none_left_behind()
