"""A program that takes many cases a run, as lines of JSON, to a judged record."""

from __future__ import annotations

import json

import pytest

from refsolver.runs.campaign import run_campaign
from tests.command import command
from tests.plane_pulls import inputs, output

PROGRAM = """
import json, math, os, sys, time
def answer(pulls):
    x = sum(p["size"] * math.cos(math.radians(p["turn"])) for p in pulls)
    y = sum(p["size"] * math.sin(math.radians(p["turn"])) for p in pulls)
    return {"r": math.hypot(x, y)}
with open(os.environ["RUNS"], "a") as runs:
    runs.write("run\\n")
done = []
print("a line that is no answer")
for line in sys.stdin:
    data = json.loads(line)
    pulls = data["case"]["pulls"]
    here = {"id": data["id"], "answer": answer(pulls)}
    if len(pulls) == 3:
        WHAT
    done.append(here)
for here in reversed(done):
    print(json.dumps(here))
"""

TOML = (
    """
[calculator]
name = "Sled pulls (made up)"
version = "1"
owner = "nobody"

[command]
argv = ["{python}", "sled.py"]
copied = ["sled.py"]
env = { RUNS = "RUNS_FILE" }
limit = 10
batch = 20

[refusals]
exit_codes = [9]

[[family]]
name = "concurrent-forces/plane-resultant"
"""
    + inputs("lbf")
    + output('{ absolute = "0.001 lbf", reason = "printed in full" }', "lbf")
)


def describe(folder, what="pass", replace=()):
    text = TOML.replace("RUNS_FILE", str(folder / "runs"))
    for old, new in replace:
        assert old in text
        text = text.replace(old, new)
    (folder / "sled.py").write_text(PROGRAM.replace("WHAT", what))
    (folder / "sled.toml").write_text(text)
    return folder / "sled.toml"


def runs(folder) -> int:
    return len((folder / "runs").read_text().split())


def test_answers_find_their_case(tmp_path, walk):
    """The program answers in reverse, and says more than it is asked."""
    found = walk(describe(tmp_path))
    assert found.result == "met", found.run.overall.because
    kept = found.case("slopes").received
    assert json.loads(kept.raw["sent"])["id"] == "1" and "r" in kept.raw["answer"]


@pytest.mark.parametrize(
    ("what", "verdict", "said"),
    [
        ("continue", "error", "no line"),
        ("done.append(here)", "error", "several lines"),
        ("here['id'] = '77'", "error", "no line"),
        ("here['id'] = int(here['id'])", "pass", ""),
        ("here = {'id': data['id']}", "error", "no line"),
        ("here['answer'] = {'size': 1}", "no answer", "no field"),
        ("raise RuntimeError('three')", "error", "exit code"),
        ("sys.exit(9)", "refused", ""),
    ],
)
def test_trouble_in_one_case_is_its_own(tmp_path, walk, what, verdict, said):
    found = walk(describe(tmp_path, what))
    (finding,) = found.findings("balanced", "magnitude")
    assert finding.verdict == verdict and said in finding.why, finding
    assert {f.verdict for f in found.case("slopes").findings} == {"pass"}


def test_a_hang_is_stopped(tmp_path, walk):
    path = describe(tmp_path, "time.sleep(60)", [("limit = 10", "limit = 1")])
    found = walk(path)
    (finding,) = found.findings("balanced", "magnitude")
    assert finding.verdict == "error" and "timeout" in finding.why


def test_a_campaign_in_batches(tmp_path):
    path = describe(tmp_path)
    result = run_campaign(path, tmp_path / "out", count=100, ranges=((1.0, 100.0),))
    assert result.passed and result.content["cases"]["asked"] == 100
    assert runs(tmp_path) <= 6


@pytest.mark.parametrize(
    ("replace", "said"),
    [
        (("batch = 20", "batch = 0"), "at least 1"),
        (("batch = 20", 'batch = 20\nstdin = { template = "{{ pulls }}" }'), "leave out"),
        (("batch = 20", 'batch = 20\noutput_files = ["o"]'), "leave out"),
        (("batch = 20", 'batch = 20\npatterns = { r = "(.*)" }'), "leave out"),
    ],
)
def test_what_does_not_go_with_lines_is_said(tmp_path, replace, said):
    path = describe(tmp_path, replace=[replace])
    command("check", path, "--out", tmp_path / "o").refuses(said)
    assert not (tmp_path / "o").exists()
