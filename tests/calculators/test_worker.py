"""Workers with real child processes."""

from __future__ import annotations

import gc
import os
import subprocess
import textwrap
import time
from pathlib import Path

import pytest

from refsolver.calculators.worker import Worker, WorkerFailure
from tests.calculators.programs import (
    ECHO,
    FORKS_AND_HANGS,
    MOODY,
    Script,
    running_members,
    wait_until_none_runs,
)


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
