"""Real child processes: small programs written here that answer, hang, flood, crash, fork."""

from __future__ import annotations

import gc
import json
import os
import signal
import subprocess
import sys
import textwrap
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from refsolver.calculators.one_run import run_once
from refsolver.calculators.worker import Worker, WorkerFailure

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


@pytest.fixture
def script(tmp_path: Path) -> Script:
    def write(source: str) -> list[str]:
        path = tmp_path / f"program{len(list(tmp_path.iterdir()))}.py"
        path.write_text(textwrap.dedent(source), encoding="utf-8")
        return [sys.executable, str(path)]

    return write


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


class TestWorker:
    def test_answers_and_stays_the_same_child(self, script: Script) -> None:
        with Worker(script(MOODY)) as worker:
            first = worker.ask("pid", 10)
            assert first == worker.ask("pid", 10)
            assert first != os.getpid()

    def test_any_json_goes_both_ways(self, script: Script) -> None:
        question = {"names": ["α", "line\nbreak", None], "deep": {"x": [1, 2.5, "1e-400"]}}
        with Worker(script(ECHO)) as worker:
            assert worker.ask(question, 10) == {"got": question}

    def test_questions_and_answers_larger_than_a_pipe(self, script: Script) -> None:
        text = "z" * 3_000_000
        with Worker(script(ECHO)) as worker:
            assert worker.ask(text, 20) == {"got": text}

    @pytest.mark.parametrize(
        ("word", "kind", "seen"),
        [
            ("hang", "timeout", "no answer within 0.3 s"),
            ("segfault", "crash", "SIGSEGV"),
            ("exit", "crash", "exit code 3; it wrote on stderr: out of cheese"),
            ("flood", "output limit", "more than 100000 bytes"),
            ("garbage", "garbage", "Total = 12 kN"),
            ("nan", "garbage", "NaN is not JSON"),
            ("twice", "garbage", "more than one line"),
            ("close", "crash", "closed its output without ending"),
        ],
    )
    def test_a_failure_is_named_and_the_next_question_answered(
        self, script: Script, word: str, kind: str, seen: str
    ) -> None:
        with Worker(script(MOODY), output_limit=100_000) as worker:
            before = worker.ask("pid", 10)
            with pytest.raises(WorkerFailure) as failure:
                worker.ask(word, 0.3 if word == "hang" else 10)
            assert failure.value.kind == kind
            assert seen in failure.value.detail
            wait_until_none_runs(before)
            assert worker.ask("pid", 10) != before

    def test_an_answer_too_many_is_never_taken_for_the_next(self, script: Script) -> None:
        with Worker(script(MOODY)) as worker:
            worker.ask("pid", 10)
            with pytest.raises(WorkerFailure) as failure:
                worker.ask("late", 10)
                worker.ask("pid", 10)
            assert failure.value.kind == "garbage"
            assert isinstance(worker.ask("pid", 10), int)

    def test_an_answer_before_the_question_is_read_is_refused(self, script: Script) -> None:
        eager = "import time\nprint('1', flush=True)\ntime.sleep(600)"
        with Worker(script(eager)) as worker, pytest.raises(WorkerFailure) as failure:
            worker.ask("q" * 1_000_000, 10)
        assert failure.value.kind == "garbage"
        assert "before the question was read" in failure.value.detail

    def test_much_on_stderr_blocks_nothing_and_is_kept_in_part(self, script: Script) -> None:
        with Worker(script(MOODY)) as worker:
            assert worker.ask("chatter", 10) == "chattered"
            with pytest.raises(WorkerFailure) as failure:
                worker.ask("exit", 10)
        assert failure.value.detail.endswith("out of cheese")
        assert len(failure.value.detail) < 10_000

    def test_what_is_not_json_is_refused_before_anything_is_sent(self, script: Script) -> None:
        with Worker(script(MOODY)) as worker:
            pid = worker.ask("pid", 10)
            with pytest.raises(TypeError):
                worker.ask({1, 2}, 10)
            with pytest.raises(ValueError):
                worker.ask(float("nan"), 10)
            assert worker.ask("pid", 10) == pid

    def test_the_grandchild_goes_too(self, script: Script) -> None:
        worker = Worker(script(FORKS_AND_HANGS))
        group = worker.ask(None, 10)
        assert len(running_members(group)) == 2
        with pytest.raises(WorkerFailure):
            worker.ask(None, 0.2)
        wait_until_none_runs(group)

    def test_closing_ends_a_child_that_does_not_heed_it(self, script: Script) -> None:
        worker = Worker(script(FORKS_AND_HANGS))
        group = worker.ask(None, 10)
        worker.close()
        wait_until_none_runs(group)

    def test_closing_lets_the_child_finish(self, script: Script, tmp_path: Path) -> None:
        left = tmp_path / "left.txt"
        with Worker([*script(ECHO + f"    open({str(left)!r}, 'w').write('done')\n")]) as worker:
            worker.ask(1, 10)
        assert left.read_text() == "done"

    def test_a_dropped_worker_ends_its_child(self, script: Script) -> None:
        worker = Worker(script(MOODY))
        group = worker.ask("pid", 10)
        del worker
        gc.collect()
        wait_until_none_runs(group)

    def test_the_end_of_the_program_ends_the_child(self, script: Script) -> None:
        inner = script(MOODY)
        outer = f"""
            from refsolver.calculators.worker import Worker
            worker = Worker({inner!r})
            print(worker.ask("pid", 10))
        """
        done = subprocess.run(script(outer), capture_output=True, text=True, timeout=30)
        assert done.stderr == ""
        wait_until_none_runs(int(done.stdout))

    def test_a_missing_program_is_not_started(self, tmp_path: Path) -> None:
        worker = Worker([str(tmp_path / "nowhere")])
        with pytest.raises(WorkerFailure) as failure:
            worker.ask(1, 1)
        assert failure.value.kind == "not started"
        assert "nowhere" in str(failure.value)

    def test_no_program_at_all(self) -> None:
        with pytest.raises(ValueError, match="empty"):
            Worker([])

    def test_a_slow_start_is_allowed_for(self, script: Script) -> None:
        slow = "import time\ntime.sleep(0.6)\n" + textwrap.dedent(ECHO)
        with Worker(script(slow), start_limit=10) as worker:
            assert worker.ask(1, 0.2) == {"got": 1}
        with Worker(script(slow), start_limit=0.1) as worker, pytest.raises(WorkerFailure):
            worker.ask(1, 0.1)

    def test_a_greeting_ends_the_start(self, script: Script) -> None:
        greets = "import time\ntime.sleep(0.3)\nprint('{\"ready\": 1}', flush=True)\n"
        program = script(greets + textwrap.dedent(ECHO))
        with Worker(program, greets=True, start_limit=10) as worker:
            assert worker.greeting == {"ready": 1}
            assert worker.ask(2, 10) == {"got": 2}

    def test_after_the_greeting_only_the_limit_counts(self, script: Script) -> None:
        hangs = "import time\nprint('1', flush=True)\ntime.sleep(600)"
        worker = Worker(script(hangs), greets=True, start_limit=600)
        with pytest.raises(WorkerFailure, match=r"no answer within 0\.2 s"):
            worker.ask(1, 0.2)

    def test_no_greeting_in_time(self, script: Script) -> None:
        worker = Worker(script("import time; time.sleep(600)"), greets=True, start_limit=0.2)
        with pytest.raises(WorkerFailure, match=r"timeout: not ready within 0\.2 s"):
            _ = worker.greeting

    def test_what_is_posted_is_worked_on_meanwhile(self, script: Script, tmp_path: Path) -> None:
        """An answer that lay ready counts, however late it is fetched."""
        done = tmp_path / "done"
        program = f"""
            import json, pathlib, sys
            for line in sys.stdin:
                print(json.dumps(json.loads(line) * 2), flush=True)
                pathlib.Path({str(done)!r}).touch()
        """
        with Worker(script(textwrap.dedent(program)), start_limit=30) as worker:
            assert worker.ask(1, 10) == 2
            done.unlink(missing_ok=True)
            worker.post(21, 0.2)
            deadline = time.monotonic() + 20
            while not done.exists() and time.monotonic() < deadline:
                time.sleep(0.01)
            time.sleep(0.3)
            assert worker.collect() == 42
            with pytest.raises(RuntimeError, match="nothing was posted"):
                worker.collect()
            assert worker.ask(2, 10) == 4

    def test_a_posted_question_that_no_pipe_holds_is_answered(self, script: Script) -> None:
        large = ["x" * 100] * 20_000
        with Worker(script(ECHO), start_limit=30) as worker:
            worker.ask(1, 20)
            worker.post(large, 5)
            time.sleep(0.1)
            assert worker.collect() == {"got": large}

    def test_nothing_else_is_asked_before_a_posted_question_is_answered(
        self, script: Script
    ) -> None:
        with Worker(script(ECHO)) as worker:
            worker.post(1, 20)
            with pytest.raises(RuntimeError, match="not collected yet"):
                worker.ask(2, 20)
            assert worker.collect() == {"got": 1}
            worker.post(3, 20)
            worker.close()
            assert worker.ask(4, 20) == {"got": 4}

    def test_a_posted_question_that_hangs_or_crashes(self, script: Script) -> None:
        hangs = "import sys, time\nsys.stdin.readline()\ntime.sleep(600)"
        worker = Worker(script(hangs), start_limit=0.1)
        worker.post(1, 0.1)
        with pytest.raises(WorkerFailure, match=r"timeout: no answer within 0\.1 s"):
            worker.collect()
        worker = Worker(script("import sys\nsys.stdin.readline()\nsys.exit(3)"))
        worker.post(1, 20)
        with pytest.raises(WorkerFailure, match="exit code 3"):
            worker.collect()

    def test_a_forked_process_leaves_the_child_to_its_owner(self, script: Script) -> None:
        inner = script(MOODY)
        outer = f"""
            import os
            from refsolver.calculators.worker import Worker
            worker = Worker({inner!r})
            mine = worker.ask("pid", 10)
            if os.fork() == 0:
                theirs = worker.ask("pid", 10)
                worker.close()
                os._exit(0 if theirs != mine else 1)
            assert os.waitstatus_to_exitcode(os.wait()[1]) == 0
            assert worker.ask("pid", 10) == mine
        """
        done = subprocess.run(script(outer), capture_output=True, text=True, timeout=30)
        assert (done.returncode, done.stderr) == (0, "")


class TestRunOnce:
    def test_bytes_in_bytes_out(self, script: Script) -> None:
        program = """
            import sys
            sys.stdout.buffer.write(sys.stdin.buffer.read()[::-1])
            sys.stderr.write("noted")
            sys.exit(3)
        """
        outcome = run_once(script(program), stdin=b"\x00\xff abc", limit=10)
        assert (outcome.exit_code, outcome.signal, outcome.failure) == (3, None, None)
        assert (outcome.stdout, outcome.stderr) == (b"cba \xff\x00", b"noted")
        assert outcome.seconds > 0

    def test_no_shell_sees_the_arguments(self, script: Script) -> None:
        program = script("import json, sys; print(json.dumps(sys.argv[1:]))")
        odd = ["$HOME", "a b", ";ls", "*", "`id`", ""]
        assert json.loads(run_once([*program, *odd], limit=10).stdout) == odd

    def test_environment_and_folder(self, script: Script, tmp_path: Path) -> None:
        program = script("import os; print(os.environ.get('UNITS'), os.getcwd())")
        outcome = run_once(program, env={"UNITS": "kN"}, cwd=tmp_path, limit=10)
        assert outcome.stdout.decode().split() == ["kN", str(tmp_path)]

    def test_more_input_than_a_pipe_holds(self, script: Script) -> None:
        program = script("import sys; print(len(sys.stdin.read()))")
        assert run_once(program, stdin=b"x" * 3_000_000, limit=20).stdout == b"3000000\n"

    def test_input_that_is_not_read(self, script: Script) -> None:
        outcome = run_once(script("print('ok')"), stdin=b"x" * 3_000_000, limit=20)
        assert (outcome.exit_code, outcome.stdout) == (0, b"ok\n")

    def test_a_hang_and_its_grandchild_are_ended(self, script: Script) -> None:
        outcome = run_once(script(FORKS_AND_HANGS), limit=2.0)
        assert (outcome.failure, outcome.exit_code, outcome.signal) == ("timeout", None, None)
        assert outcome.detail == "did not end within 2 s"
        wait_until_none_runs(int(outcome.stdout))

    def test_a_grandchild_left_behind_is_not_waited_for(self, script: Script) -> None:
        program = """
            import os, time
            if os.fork() == 0:
                time.sleep(600)
            print(os.getpid(), flush=True)
            os._exit(0)
        """
        outcome = run_once(script(program), limit=60)
        assert (outcome.failure, outcome.exit_code) == (None, 0)
        wait_until_none_runs(int(outcome.stdout))

    def test_a_grandchild_that_left_the_group_is_ended_and_holds_nothing_up(
        self, script: Script, tmp_path: Path
    ) -> None:
        note = tmp_path / "pid"
        program = f"""
            import os, time
            if os.fork() == 0:
                os.setsid()
                print("ready", flush=True)
                open({str(note)!r} + "~", "w").write(str(os.getpid()))
                os.rename({str(note)!r} + "~", {str(note)!r})
                time.sleep(60)
            while not os.path.exists({str(note)!r}):
                time.sleep(0.01)
            os._exit(0)
        """
        outcome = run_once(script(program), limit=30)
        if sys.platform == "linux":
            wait_until_gone(int(note.read_text()))
        else:
            os.kill(int(note.read_text()), 9)
        assert (outcome.failure, outcome.exit_code, outcome.stdout) == (None, 0, b"ready\n")

    @pytest.mark.parametrize("stream", ["stdout", "stderr"])
    def test_a_flood_is_cut_at_the_limit(self, script: Script, stream: str) -> None:
        program = script(f"import sys\nwhile True: sys.{stream}.write('x' * 1000)")
        outcome = run_once(program, limit=60, output_limit=12_345)
        assert (outcome.failure, outcome.exit_code) == ("output limit", None)
        assert len(outcome.stdout) + len(outcome.stderr) == 12_345
        assert outcome.detail == "wrote more than 12345 bytes"

    @pytest.mark.parametrize(("size", "failure"), [(500, None), (501, "output limit")])
    def test_the_limit_is_exact_even_at_the_end(
        self, script: Script, size: int, failure: str | None
    ) -> None:
        program = script(f"import sys; sys.stdout.write('x' * 400); sys.stderr.write('y' * {size})")
        assert run_once(program, limit=20, output_limit=900).failure == failure

    @pytest.mark.skipif(sys.platform != "linux", reason="file limits are set on Linux only")
    def test_a_file_cannot_grow_beyond_its_limit(self, script: Script, tmp_path: Path) -> None:
        heeds = "import sys\nwith open('out', 'wb') as f:\n    f.write(b'x' * 10_000_000)"
        outcome = run_once(script(heeds), cwd=tmp_path, limit=20, file_limit=100_000)
        assert outcome.exit_code == 1
        assert (tmp_path / "out").stat().st_size <= 100_000
        dies = "import signal\nsignal.signal(signal.SIGXFSZ, signal.SIG_DFL)\n" + heeds
        outcome = run_once(script(dies), cwd=tmp_path, limit=20, file_limit=100_000)
        assert (outcome.failure, outcome.exit_code) == ("output limit", None)

    def test_a_segmentation_fault(self, script: Script) -> None:
        program = script("import os, signal; os.kill(os.getpid(), signal.SIGSEGV)")
        outcome = run_once(program, limit=20)
        assert (outcome.failure, outcome.exit_code, outcome.signal) == ("crash", None, 11)
        assert "SIGSEGV" in outcome.detail

    def test_closed_output_is_not_the_end(self, script: Script) -> None:
        program = "import os, time\nos.close(1)\nos.close(2)\ntime.sleep(0.3)\nos._exit(5)"
        assert run_once(script(program), limit=20).exit_code == 5

    def test_a_missing_program(self, tmp_path: Path) -> None:
        outcome = run_once([str(tmp_path / "nowhere")], limit=1)
        assert (outcome.failure, outcome.exit_code) == ("not started", None)
        assert "nowhere" in outcome.detail

    def test_a_file_that_may_not_be_run(self, tmp_path: Path) -> None:
        (tmp_path / "data.txt").write_text("1")
        outcome = run_once([str(tmp_path / "data.txt")], limit=1)
        assert outcome.failure == "not started"


@pytest.mark.skipif(sys.platform != "linux", reason="the warden works on Linux only")
class TestSuddenEnd:
    """This program is ended by force: what it started goes too."""

    @pytest.mark.parametrize("number", [signal.SIGKILL, signal.SIGTERM])
    def test_children_grandchildren_and_private_folders_go(
        self, script: Script, tmp_path: Path, number: int
    ) -> None:
        inner = script(f"""
            import os, signal, sys, time
            signal.signal(signal.SIGTERM, signal.SIG_IGN)
            if os.fork() == 0:
                os.setsid()  # out of its parent's group and session
                if os.fork() == 0:
                    open({str(tmp_path / "daemon~")!r}, "w").write(str(os.getpid()))
                    os.rename({str(tmp_path / "daemon~")!r}, {str(tmp_path / "daemon")!r})
                    time.sleep(600)
                os._exit(0)
            while not os.path.exists({str(tmp_path / "daemon")!r}):
                time.sleep(0.01)
            print(os.getpid(), flush=True)
            time.sleep(600)
        """)
        outer = f"""
            import os, tempfile
            from refsolver.calculators.worker import Worker
            from refsolver.calculators.warden import private_prefix
            folder = tempfile.mkdtemp(prefix=private_prefix("refsolver"))
            worker = Worker({inner!r})
            print(worker.ask("pid", 10), folder, flush=True)
            worker.ask("hang", 600)
        """
        process = subprocess.Popen(script(outer), stdout=subprocess.PIPE, text=True)
        assert process.stdout is not None
        child, folder = process.stdout.readline().split()
        process.send_signal(number)
        process.wait(timeout=10)
        process.stdout.close()
        for pid in (int(child), int((tmp_path / "daemon").read_text())):
            wait_until_gone(pid)
        for _ in range(100):
            if not Path(folder).exists():
                return
            time.sleep(0.05)
        raise AssertionError(f"{folder} was left behind")

    def test_another_program_is_left_alone(self, script: Script) -> None:
        other = subprocess.Popen([sys.executable, "-c", "import time; time.sleep(600)"])
        try:
            assert run_once(script("print(1)"), limit=30).stdout == b"1\n"
            with Worker(script(MOODY)) as worker, Worker(script(MOODY)) as beside:
                pid = beside.ask("pid", 10)
                with pytest.raises(WorkerFailure):
                    worker.ask("exit", 10)
                assert beside.ask("pid", 10) == pid
            assert other.poll() is None
        finally:
            other.kill()
            other.wait()
