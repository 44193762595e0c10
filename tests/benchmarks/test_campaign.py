"""What a generated case costs from seed to verdict, and that memory does not grow.

Every case has eight forces, as the hand-written kernel of the resultant benchmark; all are
proven to thirty digits. The calculator sums pulls in doubles, case by case or in arrays.
sympy does the work of the kernel and of the verdict for the same number of forces. The whole
campaigns have at most 10^5 cases; with REFSOLVER_LARGE_CAMPAIGNS=1 those of 10^6 run too
(minutes).
"""

from __future__ import annotations

import json
import os
import random
import subprocess
import sys
import time
from pathlib import Path

import pytest

from refsolver.runs.shards import Cell, Plan, run_shard
from tests.benchmarks.test_resultant import kernel
from tests.plane_pulls import inputs, output

FAMILY = "concurrent-forces/plane-resultant"

SUMS = """
import math

def total(case):
    x = sum(p["size"] * math.cos(math.radians(p["turn"])) for p in case["pulls"])
    y = sum(p["size"] * math.sin(math.radians(p["turn"])) for p in case["pulls"])
    return math.hypot(x, y)
"""

ARRAYS = """
import numpy as np

def total(case):
    size, turn = case["pulls"]["size"], np.radians(case["pulls"]["turn"])
    return np.hypot((size * np.cos(turn)).sum(axis=1), (size * np.sin(turn)).sum(axis=1))
"""

FILE = (
    """
[calculator]
name = "Sums of pulls (made up)"
version = "1"
owner = "nobody"

[python]
function = "sums:total"
arrays = ARRAYS

[[family]]
name = "concurrent-forces/plane-resultant"

[[family.scope]]
count = "forces"
at_least = 8
at_most = 8
reason = "the kernel that it is compared with has eight"

"""
    + inputs()
    + output('{ relative = "0.01 %", absolute = "1e-9 kN", reason = "doubles" }', place=".")
)

MEASURED = """
import json, resource, sys, time
from pathlib import Path
from refsolver.runs import campaign

def spent(who):
    used = resource.getrusage(who)
    return used.ru_utime + used.ru_stime

both = (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)
count, workers = int(sys.argv[2]), int(sys.argv[3])
begun, put = [], campaign.on_processes

def noted(*arguments):
    begun.extend(map(spent, both))
    return put(*arguments)

campaign.on_processes = noted
result = campaign.run_campaign(
    Path(sys.argv[1]), Path(sys.argv[4]), count=count, ranges=((1.0, 100.0),), workers=workers
)
mine, theirs = map(spent, both)
shared = theirs - begun[1] + (mine - begun[0] if workers == 1 else 0)
print(json.dumps({
    "passed": result.passed,
    "peak": max(resource.getrusage(who).ru_maxrss for who in both) / 1024,
    "path": mine + theirs - shared + shared / workers,
}))
"""
"""``path``: processor seconds of what only one process can do, and its part of what all do; the
seconds that it would take on cores that do nothing else."""

SHARD = 1000
"""As in a campaign of 10^5 cases or more."""

THOUSAND = "campaign, 1000 plane resultants of 8 forces from seed to verdict"

TWO_WORKERS = "campaign in arrays, two workers against one"


@pytest.fixture(params=[True, False], ids=["arrays", "case by case"])
def described(request, tmp_path: Path) -> Path:
    (tmp_path / "sums.py").write_text(ARRAYS if request.param else SUMS)
    (tmp_path / "sums.toml").write_text(FILE.replace("ARRAYS", str(request.param).lower()))
    return tmp_path / "sums.toml"


@pytest.mark.benchmark(group=THOUSAND)
def test_hand_written_kernel(benchmark):
    benchmark(lambda: [kernel() for _ in range(SHARD)])


@pytest.mark.benchmark(group=THOUSAND)
def test_a_shard(benchmark, described):
    plan = Plan(described, 1, 30, (Cell(FAMILY, 1.0, 100.0),), 3 * SHARD, SHARD)
    first, *_ = plan.shards()
    run_shard(plan, first)  # opens the calculator
    tally = benchmark.pedantic(lambda: run_shard(plan, first), rounds=5)
    assert tally.verdicts["pass"] == SHARD


@pytest.mark.benchmark(group=THOUSAND)
def test_sympy(benchmark):
    """Ten resultants to thirty digits, each with the verdict on a double; scaled.

    ``evalf`` of the components keeps its digits where they cancel; of the whole expression at
    once it takes some fifteen times as long.
    """
    import sympy

    draw = random.Random(2)

    def pulls() -> list[tuple[sympy.Expr, sympy.Expr]]:
        sizes = [sympy.Rational(draw.randint(100, 9999), 10) for _ in range(8)]
        return [(f, sympy.pi * sympy.Rational(draw.randint(0, 3599), 1800)) for f in sizes]

    def one() -> bool:
        forces = pulls()
        x = sum(f * sympy.cos(a) for f, a in forces).evalf(32)
        y = sum(f * sympy.sin(a) for f, a in forces).evalf(32)
        size = sympy.sqrt(x**2 + y**2)
        return bool(abs(sympy.Float(float(size), 32) - size) <= size / 10_000)

    assert all(benchmark.pedantic(lambda: [one() for _ in range(10)], rounds=5, warmup_rounds=1))
    benchmark.extra_info["scale"] = SHARD / 10


def _campaign(path: Path, count: int, workers: int) -> dict[str, float]:
    """What one campaign in a process of its own told, and the seconds from start to end."""
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)}
    out = path.parent / f"out-{count}-{workers}"
    begun = time.perf_counter()
    done = subprocess.run(
        [sys.executable, "-c", MEASURED, str(path), str(count), str(workers), str(out)],
        capture_output=True, text=True, check=True, env=environment,
    )  # fmt: skip
    found: dict[str, float] = json.loads(done.stdout)
    assert found["passed"]
    return {**found, "seconds": time.perf_counter() - begun}


LARGE = bool(os.environ.get("REFSOLVER_LARGE_CAMPAIGNS"))


@pytest.mark.parametrize("count", [1000, 10_000, *([100_000, 1_000_000] if LARGE else [])])
@pytest.mark.parametrize("described", [True], ids=["arrays"], indirect=True)
def test_a_whole_campaign(benchmark, described, count):
    benchmark.group = "campaign in arrays, whole processes"
    if not benchmark.enabled:
        count = 60
    found = benchmark.pedantic(lambda: _campaign(described, count, 1), rounds=1)
    benchmark.extra_info["peak memory, MiB"] = round(found["peak"])
    benchmark.extra_info["cases"] = count


@pytest.mark.parametrize("count", [10_000, 100_000, *([1_000_000] if LARGE else [])])
@pytest.mark.parametrize("described", [True], ids=["arrays"], indirect=True)
def test_two_workers(benchmark, described, count):
    """In turns with one worker; the fastest of each are compared."""
    benchmark.group = TWO_WORKERS
    if not benchmark.enabled:
        count = 60
    runs: dict[int, list[dict[str, float]]] = {1: [], 2: []}

    def run(workers: int) -> None:
        runs[workers].append(_campaign(described, count, workers))

    rounds = 3 if count <= 100_000 else 1
    benchmark.pedantic(lambda: run(2), setup=lambda: run(1), rounds=rounds)
    for name, what in (("times as fast", "seconds"), ("the same on idle cores", "path")):
        one, two = (min(run[what] for run in found) for found in runs.values())
        benchmark.extra_info[name] = round(one / two, 2)
    benchmark.extra_info["cases"] = count
