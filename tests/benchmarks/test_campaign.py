"""What a generated case costs from seed to verdict, and that memory does not grow.

The calculator sums eight or fewer pulls in doubles; the kernel is the hand-written one of
the resultant benchmark, for as many cases.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from refsolver.calculators.file import read_calculator_file
from refsolver.runs.shards import Cell, Plan, run_shard
from tests.benchmarks.test_resultant import kernel
from tests.plane_pulls import INPUTS

FAMILY = "concurrent-forces/plane-resultant"

SUMS = """
import math

def total(case):
    x = sum(p["size"] * math.cos(math.radians(p["turn"])) for p in case["pulls"])
    y = sum(p["size"] * math.sin(math.radians(p["turn"])) for p in case["pulls"])
    return math.hypot(x, y)
"""

FILE = (
    """
[calculator]
name = "Sums of pulls (made up)"
version = "1"
owner = "nobody"

[python]
function = "sums:total"

[[family]]
name = "concurrent-forces/plane-resultant"

"""
    + INPUTS
    + """
[[family.output]]
answer = "resultant"
take = "magnitude"
unit = "kN"
place = "."
says = "r"
criterion = { relative = "0.01 %", absolute = "1e-9 kN", reason = "doubles" }
"""
)

MEASURED = """
import json, resource, sys
from pathlib import Path
from refsolver.runs.campaign import run_campaign
count, workers = int(sys.argv[2]), int(sys.argv[3])
result = run_campaign(
    Path(sys.argv[1]), Path(sys.argv[4]), count=count, ranges=((1.0, 100.0),), workers=workers
)
both = (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)
peak = max(resource.getrusage(who).ru_maxrss for who in both)
print(json.dumps({"passed": result.passed, "peak": peak / 1024}))
"""


@pytest.fixture
def described(tmp_path: Path) -> Path:
    (tmp_path / "sums.py").write_text(SUMS)
    (tmp_path / "sums.toml").write_text(FILE)
    return tmp_path / "sums.toml"


@pytest.mark.benchmark(group="campaign, 100 plane resultants from seed to verdict")
def test_hand_written_kernel(benchmark):
    benchmark(lambda: [kernel() for _ in range(100)])


@pytest.mark.benchmark(group="campaign, 100 plane resultants from seed to verdict")
def test_a_shard(benchmark, described):
    assert read_calculator_file(described).sections
    plan = Plan(described, 1, 30, (Cell(FAMILY, 1.0, 100.0),), 100, 100)
    (shard,) = plan.shards()
    run_shard(plan, shard)  # opens the calculator
    tally = benchmark.pedantic(lambda: run_shard(plan, shard), rounds=3)
    assert tally.verdicts["pass"] == 100


def _campaign(path: Path, count: int, workers: int) -> dict[str, float]:
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)}
    out = path.parent / f"out-{count}-{workers}"
    done = subprocess.run(
        [sys.executable, "-c", MEASURED, str(path), str(count), str(workers), str(out)],
        capture_output=True, text=True, check=True, env=environment,
    )  # fmt: skip
    found: dict[str, float] = json.loads(done.stdout)
    assert found["passed"]
    return found


@pytest.mark.parametrize(("count", "workers"), [(500, 1), (2000, 1), (2000, 2)])
def test_a_whole_campaign(benchmark, described, count, workers):
    benchmark.group = "campaign, whole processes"
    if not benchmark.enabled:
        count = 60
    found = benchmark.pedantic(lambda: _campaign(described, count, workers), rounds=1)
    benchmark.extra_info["peak memory, MiB"] = round(found["peak"])
