"""What is left of child processes when this program ends by force."""

from __future__ import annotations

import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from refsolver.calculators.one_run import run_once
from refsolver.calculators.worker import Worker, WorkerFailure
from tests.calculators.programs import (
    MOODY,
    Script,
    wait_until_gone,
)


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
