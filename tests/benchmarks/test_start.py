"""Start-up against a bare interpreter, each a whole process."""

import subprocess
import sys

import pytest

pytestmark = pytest.mark.benchmark(group="start of a process", min_rounds=5)


def run(*arguments):
    done = subprocess.run([sys.executable, *arguments], capture_output=True, check=True)
    return done.stdout


def test_bare_interpreter(benchmark):
    benchmark(run, "-c", "pass")


def test_version(benchmark):
    assert b"refsolver" in benchmark(run, "-m", "refsolver", "--version")


def test_cases(benchmark):
    assert b"cases" in benchmark(run, "-m", "refsolver", "cases")
