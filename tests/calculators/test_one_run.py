"""Programs run once, as real child processes."""

from __future__ import annotations

import json
import os
import sys
from pathlib import Path

import pytest

from refsolver.calculators.one_run import run_once
from tests.calculators.programs import (
    FORKS_AND_HANGS,
    Script,
    wait_until_gone,
    wait_until_none_runs,
)


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
