"""Campaigns with real processes: the same result whoever works on it, and nothing lost."""

from __future__ import annotations

import json
import os
import random
import signal
import socket
import subprocess
import sys
import time
from importlib import resources
from pathlib import Path

import attrs
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from refsolver import demo
from refsolver.arithmetic.columns import at
from refsolver.runs import shards
from refsolver.runs.campaign import run_campaign
from refsolver.runs.campaign_log import CampaignLog
from refsolver.runs.quick_shards import Left
from refsolver.runs.solving import solve_case
from refsolver.runs.tally import CellTally, Worst, added, cell_data, cell_from
from tests.command import command
from tests.plane_pulls import inputs, output

DEMO = Path(demo.__file__).parent
FAMILY = "concurrent-forces/plane-resultant"
RANGES = ((1.0, 100.0), (1e9, 1e13))

BELT = """
[calculator]
name = "Rope round a post (made up)"
version = "1"
owner = "nobody"

[python]
function = "slide:hold"
arrays = true

[[family]]
name = "friction/belt"

[[family.input]]
given = "friction"
place = "grip"
says = "grip"

[[family.input]]
given = "lap"
unit = "deg"
place = "lap"
says = "lap"

[[family.input]]
given = "tension"
unit = "N"
place = "pull"
says = "pull"

[[family.input]]
given = "radius"
unit = "m"
place = "drum"
says = "radius"

[[family.input]]
given = "known"
place = "end"
says = "which end"

[[family.output]]
answer = "ratio"
place = "."
says = "gain"
criterion = { relative = "1e-9", reason = "doubles" }
"""

SUMS = """
import math

def total(case):
    pulls = case["pulls"]
    x = sum(p["size"] * math.cos(math.radians(p["turn"])) for p in pulls)
    y = sum(p["size"] * math.sin(math.radians(p["turn"])) for p in pulls)
    if len(pulls) == 5:
        x *= WRONG
    return math.hypot(x, y)
"""

FILE = (
    """
[calculator]
name = "Kite lines (made up)"
version = "1"
owner = "nobody"

[python]
function = "kite:total"

[[family]]
name = "concurrent-forces/plane-resultant"

[[family.scope]]
count = "forces"
at_most = 6
reason = "six lines"

[[family.scope]]
input = "forces[*].force magnitude"
at_least = "40 kN"
reason = "a slack line shows nothing"

"""
    + inputs()
    + output('{ relative = "0.01 %", absolute = "1e-9 kN", reason = "doubles" }', place=".")
)


def described(folder: Path, wrong: str = "1") -> Path:
    (folder / "kite.py").write_text(SUMS.replace("WRONG", wrong))
    (folder / "kite.toml").write_text(FILE)
    return folder / "kite.toml"


def campaign(path: Path, out: Path, **options):
    return run_campaign(path, out, **{"count": 250, "ranges": RANGES, **options})


def test_a_right_calculator_passes_and_the_counts_add_up(tmp_path):
    result = campaign(described(tmp_path), tmp_path / "out")
    assert result.passed
    content = result.content
    assert content["cases"]["asked"] + content["cases"]["outside the scope"] == 250
    assert 10 < content["cases"]["outside the scope"] < 60  # some pull is below 40 kN
    easy, hard = content["results"]
    assert sum(easy["digits"]) == easy["verdicts"]["pass"] == easy["cases"]
    # What a double has beyond the condition: 1e13 leaves it about three digits.
    assert easy["least_digits"] > 12 > 8 > hard["least_digits"] > 1
    assert not (tmp_path / "out" / "campaign.log").exists()


def test_a_wrong_calculator_is_found_and_its_worst_cases_can_be_run_again(tmp_path):
    result = campaign(described(tmp_path, "1.001"), tmp_path / "out")
    assert not result.passed
    assert result.content["verdicts"]["fail"] > 10
    worst = [path for path in result.written if path.suffix == ".toml"]
    assert len(worst) == 6
    for path in worst:
        solved = solve_case(str(path))
        assert not solved.not_proven
        assert len(solved.case.given.forces) == 5
    assert "fail" in (tmp_path / "out" / "campaign.md").read_text()


VECTOR = """
import math
import numpy as np

def total(case):
    # Not numpy's sine, whose last bit may depend on how many cases come together.
    found = []
    for size, turn in zip(case["pulls"]["size"], case["pulls"]["turn"]):
        x = sum(p * math.cos(math.radians(a)) for p, a in zip(size, turn))
        y = sum(p * math.sin(math.radians(a)) for p, a in zip(size, turn))
        found.append(math.hypot(x * WRONG if len(size) == 5 else x, y))
    return np.array(found)
"""


def in_arrays(folder: Path, wrong: str = "1") -> Path:
    path = described(folder, wrong)
    (folder / "kite.py").write_text(VECTOR.replace("WRONG", wrong))
    path.write_text(path.read_text().replace('"kite:total"', '"kite:total"\narrays = true'))
    return path


@pytest.mark.parametrize("wrong", ["1", "1.0001", "1.001"])
def test_cases_in_columns_are_judged_as_each_by_itself(tmp_path, monkeypatch, wrong):
    """1.0001 lies about at the limit of the criterion."""
    quick = campaign(in_arrays(tmp_path, wrong), tmp_path / "quick")
    asked = []

    def all_left(cases, *_, **__):
        asked.append(len(cases.numbers))
        return [Left(number, at(cases.given, i)) for i, number in enumerate(cases.numbers)]

    monkeypatch.setattr(shards, "counted_quickly", all_left)
    each = campaign(in_arrays(tmp_path, wrong), tmp_path / "each")
    assert sum(asked) == 250
    assert quick.content["verdicts"] == each.content["verdicts"]
    for a, b in zip(quick.content["results"], each.content["results"], strict=True):
        assert a["least_digits"] == pytest.approx(b["least_digits"], rel=1e-9)
        for name in ("cases", "outside", "digits", "verdicts"):
            assert a[name] == b[name]
        for one, other in zip(a["worst"], b["worst"], strict=True):
            assert (one["case"], one["verdict"]) == (other["case"], other["verdict"])
            assert one["share_of_tolerance"] == pytest.approx(other["share_of_tolerance"])


def test_workbook_cases_in_columns_are_judged_as_each_by_itself(tmp_path, monkeypatch):
    """Stored values and displayed texts; the form of the demonstration has its mistake."""
    for name in ("hanger-workbook.toml", "hanger-workbook.xlsx"):
        (tmp_path / name).write_bytes((resources.files("refsolver.demo") / name).read_bytes())
    path, passed = tmp_path / "hanger-workbook.toml", []
    add_passed = CellTally.add_passed

    def noted(tally, numbers, *others):
        passed.extend(numbers)
        add_passed(tally, numbers, *others)

    monkeypatch.setattr(CellTally, "add_passed", noted)
    quick = campaign(path, tmp_path / "quick", count=60)
    assert len(passed) > 10  # in columns, for that is where they are counted so

    def all_left(cases, *_, **__):
        return [Left(number, at(cases.given, i)) for i, number in enumerate(cases.numbers)]

    monkeypatch.setattr(shards, "counted_quickly", all_left)
    each = campaign(path, tmp_path / "each", count=60)
    assert quick.content["verdicts"] == each.content["verdicts"]
    assert min(quick.content["verdicts"][v] for v in ("pass", "fail")) > 20
    for a, b in zip(quick.content["results"], each.content["results"], strict=True):
        for name in ("cases", "outside", "digits", "verdicts"):
            assert a[name] == b[name]


def test_a_function_of_arrays_and_one_of_single_cases_give_the_same_verdicts(tmp_path):
    one = campaign(in_arrays(tmp_path, "1.001"), tmp_path / "arrays")
    other = campaign(described(tmp_path, "1.001"), tmp_path / "single")
    assert one.content["verdicts"] == other.content["verdicts"]


def test_a_family_that_makes_single_cases_is_put_in_columns_too(tmp_path):
    (tmp_path / "slide.py").write_text(
        "import numpy as np\n"
        "def hold(case):\n"
        "    assert (np.char.str_len(case['end']) > 3).all() and (case['pull'] > 0).all()\n"
        "    return np.exp(case['grip'] * np.radians(case['lap']))\n"
    )
    (tmp_path / "slide.toml").write_text(BELT)
    result = campaign(tmp_path / "slide.toml", tmp_path / "out", count=120, ranges=((1.0, 10.0),))
    counts = result.content["cases"]
    assert result.passed and counts["asked"] + counts["outside the scope"] == 120
    assert counts["asked"] > 30


@pytest.mark.parametrize(
    ("tamper", "said"),
    [
        (
            lambda one: attrs.evolve(one, doubles={**one.doubles, "pulls[1].size": 1.0}),
            "handed over",
        ),
        (
            lambda one: attrs.evolve(one, balls={v: b + 1 for v, b in one.balls.items()}),
            "otherwise",
        ),
    ],
)
def test_columns_that_disagree_with_the_case_prove_nothing(tmp_path, monkeypatch, tamper, said):
    """Every so many cases are proven again by themselves; a disagreement is not passed over."""
    made = shards.counted_quickly
    monkeypatch.setattr(shards, "counted_quickly", lambda *a, **k: [*map(tamper, made(*a, **k))])
    result = campaign(in_arrays(tmp_path), tmp_path / "out")
    assert not result.passed
    assert result.content["verdicts"]["not proven"] == 2  # case 0 of each range
    worst = result.content["results"][0]["worst"][0]
    assert worst["case"] == 0 and worst["verdict"] == "not proven"


def test_two_workers_give_the_bytes_of_one(tmp_path):
    path = described(tmp_path, "1.001")
    one = campaign(path, tmp_path / "one")
    two = campaign(path, tmp_path / "two", workers=2)
    assert one.content == two.content
    names = [p.name for p in one.written]
    assert names == [p.name for p in two.written]
    for a, b in zip(one.written[2:], two.written[2:], strict=True):
        assert a.read_bytes() == b.read_bytes()


def test_a_calculator_that_was_changed_is_opened_anew(tmp_path):
    """A second campaign of one process, as in a notebook, is put to what lies there now."""
    assert campaign(described(tmp_path), tmp_path / "out", count=20).passed
    assert not campaign(described(tmp_path, "1.001"), tmp_path / "out").passed


EACH_TWICE = """
import sys, threading
from pathlib import Path
from refsolver.runs import crew
from refsolver.runs.campaign import run_campaign

out = Path(sys.argv[1])
for path in map(Path, sys.argv[2:]):
    assert crew._forking_is_safe() or sys.platform in ("win32", "darwin")
    one, two = (
        run_campaign(
            path, out / str(workers), count=12, ranges=((1.0, 100.0), (1e5, 1e9)), workers=workers
        )
        for workers in (1, 2)
    )
    assert one.content == two.content
    print(path.stem, sum(one.content["verdicts"].values()))
"""


def test_calculators_of_every_kind_work_in_each_worker(tmp_path):
    """From a script without a main guard, which workers may not run again."""
    script = tmp_path / "each_twice.py"
    script.write_text(EACH_TWICE)
    kinds = [DEMO / f"hanger-{kind}.toml" for kind in ("program", "workbook")]
    command = [sys.executable, str(script), str(tmp_path / "out"), str(described(tmp_path))]
    done = subprocess.run(
        command + [str(path) for path in kinds], capture_output=True, text=True,
        env={**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)},
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    counts = dict(line.split() for line in done.stdout.splitlines())
    assert list(counts) == ["kite", "hanger-program", "hanger-workbook"]
    assert all(int(readings) >= 12 for readings in list(counts.values())[1:])


@pytest.fixture(scope="module")
def undisturbed(tmp_path_factory):
    folder = tmp_path_factory.mktemp("calm")
    return campaign(described(folder, "1.001"), folder / "out", count=1500)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("number", "workers"), [(signal.SIGINT, 1), (signal.SIGINT, 2), (signal.SIGKILL, 2)]
)
def test_a_campaign_that_is_ended_goes_on_to_the_same_result(
    tmp_path, number, workers, undisturbed
):
    path = described(tmp_path, "1.001")
    out = tmp_path / "out"
    command = [
        sys.executable, "-c", "from refsolver.cli import main; main()", "campaign", str(path),
        "--cases", "1500", "--range", "1..100", "--range", "1e9..1e13", "--out", str(out),
        "--workers", str(workers),
    ]  # fmt: skip
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)}
    process = subprocess.Popen(
        command, env=environment, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
        start_new_session=True,
    )  # fmt: skip
    log = out / "campaign.log"
    wanted = random.Random(number).randint(2, 4)
    while process.poll() is None and _lines(log) < wanted:
        time.sleep(0.001)
    if number == signal.SIGKILL:
        process.kill()
    else:  # as a terminal does: to all that it started
        os.killpg(process.pid, number)
    said, complaint = process.communicate(timeout=60)
    assert complaint == ""
    if process.returncode != 0 and log.exists():
        if number != signal.SIGKILL:
            assert process.returncode == 1 and "--resume goes on" in said
            assert json.loads((out / "campaign.json").read_text())["content"]["complete"] is False
        log.write_bytes(log.read_bytes() + b'{"torn')
        result = campaign(path, out, count=1500, resume=True, workers=workers)
        assert result.content == undisturbed.content
    else:
        assert number != signal.SIGKILL, "the campaign was over before it was killed"


def test_one_that_is_stopped_before_anything_was_judged_does_not_promise_to_go_on(tmp_path):
    """While it waits for a scheduler that takes the call and says nothing."""
    pytest.importorskip("dask.distributed")
    with socket.create_server(("127.0.0.1", 0)) as silent:
        address = f"tcp://127.0.0.1:{silent.getsockname()[1]}"
        process = subprocess.Popen(
            [sys.executable, "-c", "from refsolver.cli import main; main()", "campaign",
             str(described(tmp_path)), "--cluster", address, "--out", str(tmp_path / "out")],
            env={**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)},
            stdout=subprocess.PIPE, text=True,
        )  # fmt: skip
        for _ in range(2):  # whether anybody is there, then the call itself
            silent.accept()
        process.send_signal(signal.SIGTERM)
        said, _ = process.communicate(timeout=60)
    assert process.returncode == 1 and "begins anew" in said and "--resume" not in said
    assert not (tmp_path / "out" / "campaign.log").exists()


def _lines(path: Path) -> int:
    return path.read_bytes().count(b"\n") if path.exists() else 0


def refused(*arguments) -> str:
    """What an impossible campaign is answered with."""
    done = command("campaign", *arguments)
    assert done.status == 2
    return done.err


def test_what_cannot_be_done_is_said(tmp_path):
    path, out = described(tmp_path), tmp_path / "out"
    assert "LOW..HIGH" in refused(path, "--range", "100..1", "--out", out)
    assert "LOW..HIGH" in refused(path, "--range", "few", "--out", out)
    assert "nothing to go on with" in refused(path, "--resume", "--out", out)
    assert "no [[family]] friction/belt" in refused(path, "--family", "friction/belt")
    campaign(path, out, count=2)
    log = out / "campaign.log"
    log.write_text("0123456789abcdef {}\n")
    assert "line 1 is damaged" in refused(path, "--resume", "--out", out)
    assert "cluster" in refused(path, "--cluster", "tcp://127.0.0.1:1", "--out", tmp_path / "none")
    assert not (tmp_path / "none").exists()


def test_a_campaign_that_was_begun_otherwise_is_not_mixed(tmp_path):
    path, out = described(tmp_path), tmp_path / "out"
    log = CampaignLog(out / "campaign.log", {"seed": 1}, resume=False)
    log.add(0, CellTally())
    log.close()
    assert "this is not the same: " in refused(path, "--resume", "--out", out)


worsts = st.builds(
    Worst,
    st.integers(0, 6),
    st.floats(0, 1e9),
    st.floats(0, 10),
    st.integers(-1000, 0),
    st.just("r"),
    st.just("pass"),
)


@st.composite
def tallies(draw):
    tally = CellTally(draw(st.integers(0, 99)), draw(st.integers(0, 9)))
    tally.digits = draw(st.lists(st.integers(0, 9), min_size=18, max_size=18))
    tally.least_digits = draw(st.none() | st.floats(0, 17))
    tally.worst = sorted(draw(st.lists(worsts, max_size=3)), reverse=True)
    return tally


@settings(suppress_health_check=[HealthCheck.too_slow])
@given(tallies(), tallies(), tallies())
def test_tallies_add_up_in_any_order(a, b, c):
    assert added(a, b) == added(b, a)
    assert added(added(a, b), c) == added(a, added(b, c))
    assert added(a, CellTally()) == a
    assert cell_from(json.loads(json.dumps(cell_data(a)))) == a


@pytest.mark.slow
def test_a_cluster_with_a_worker_killed_gives_the_same(tmp_path):
    """A real Dask cluster of two worker processes, one of which is killed on the way."""
    distributed = pytest.importorskip("dask.distributed")
    path = described(tmp_path, "1.001")
    calm = campaign(path, tmp_path / "calm", count=1200)
    with distributed.LocalCluster(
        n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None
    ) as cluster:
        victim = next(iter(cluster.workers.values())).pid
        log = tmp_path / "out" / "campaign.log"
        killed = []

        def progress(items, total):
            for number, item in enumerate(items):
                if number == 2:
                    os.kill(victim, signal.SIGKILL)
                    killed.append(victim)
                yield item

        result = campaign(
            path, tmp_path / "out", count=1200,
            cluster=cluster.scheduler_address, progress=progress,
        )  # fmt: skip
    assert killed and not log.exists()
    assert result.content == calm.content
