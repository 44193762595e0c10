"""The commands as a user runs them: exit status, no traceback; some as real processes."""

import json
import subprocess
import sys

import pytest

from tests.command import command

ANCHOR = "concurrent-forces/plane-resultant/anchor-three-four-five"


def run(*arguments, cwd=None):
    """A process of its own."""
    return subprocess.run(
        [sys.executable, "-m", "refsolver", *arguments],
        capture_output=True, text=True, timeout=120, check=False, cwd=cwd,
    )  # fmt: skip


def test_version_needs_no_libraries():
    code = (
        "import sys; sys.argv = ['refsolver', '--version']; "
        "from refsolver.cli import main; main(); "
        "heavy = {'flint', 'click', 'numpy', 'mpmath', 'tabulate'} & set(sys.modules); "
        "assert not heavy, heavy"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, timeout=60, check=False
    )
    assert done.returncode == 0, done.stderr
    assert done.stdout.startswith("refsolver ")


def test_solve_prints_a_proven_enclosure():
    done = run("solve", ANCHOR, "--format", "json", "--digits", "40")
    assert done.returncode == 0, done.stderr
    answer = json.loads(done.stdout)["answers"]["resultant angle from +y toward +x in -180..180"]
    # atan(3/4) to 40 digits: mpmath, checked in tests/outside by gmpy2 as well
    import mpmath

    with mpmath.workdps(60):
        true = mpmath.degrees(mpmath.atan(mpmath.mpf(3) / 4))
        assert mpmath.mpf(answer["lower"]) <= true <= mpmath.mpf(answer["upper"])
        assert abs(mpmath.mpf(answer["value"]) - true) < mpmath.mpf(10) ** -37
    assert answer["unit"] == "deg" and answer["digits"] >= 40


def test_solve_shows_the_working():
    done = command("solve", ANCHOR)
    assert done.status == 0
    assert "along x (lbf)" in done.out and "sum" in done.out


def test_cases_lists_the_catalogue_as_json():
    done = command("cases", "--format", "json")
    found = json.loads(done.out)
    entry = next(e for e in found if e["id"] == ANCHOR)
    assert {"id", "family", "title", "source", "published"} <= set(entry)
    assert set(entry["source"]) == {"kind", "work", "place", "read"}


def test_cases_lists_the_families_with_what_they_are_of():
    done = run("cases", "--families", "--family", "rigging", "--format", "json")
    found = {row["family"]: row for row in json.loads(done.stdout)}
    assert set(found) >= {"rigging/two-legs", "rigging/equal-legs"}
    assert all(name.startswith("rigging/") and row["cases"] > 0 for name, row in found.items())
    assert "Two legs of any length" in run("cases", "--families").stdout


def test_selfcheck_adds_up():
    done = command("selfcheck", "--family", "concurrent-forces/plane-resultant", "--format", "json")
    found = json.loads(done.out)
    assert done.status == 0, done.words
    parts = found["agree"] + found["explained"] + found["disagree"] + found["not_proven"]
    assert parts == found["values"] > 0
    assert found["disagree"] == found["not_proven"] == 0


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["solve", "no/such-case"], "there is no case"),
        (["solve", "missing.toml"], "cannot be read"),
        (["check", "missing.toml"], "cannot be read"),
        (["cases", "--family", "rigging/two-leg"], "did you mean rigging/two-legs"),
        (["cases", "--topic", "no-such-word"], "no case is of the topic"),
        (["check"], "give calculator files"),
        (["cases", "show", "concurrent-forces/plane-resultant/anchor-three-for-five"], "did you"),
        (["cases", "new", "no-family"], "there is no family"),
        (["selfcheck", "--family", "concurrent-force/plane"], "there is no family"),
    ],
)
def test_unusable_input_is_a_sentence(arguments, said, tmp_path):
    done = command(*arguments, cwd=tmp_path)
    done.refuses()
    assert said in done.err
    assert not list(tmp_path.iterdir())


def test_a_process_ends_with_the_status(tmp_path):
    done = run("check", "missing.toml", cwd=tmp_path)
    assert done.returncode == 2 and not done.stdout
    assert "cannot be read" in done.stderr and "Traceback" not in done.stderr


def test_a_broken_case_file_gets_every_complaint(tmp_path):
    path = tmp_path / "broken.toml"
    path.write_text(
        """
title = "x"
family = "concurrent-forces/plane-resultant"
statement = "A sentence."
colour = "red"
[source]
kind = "constructed"
by = "hand"
[[given.forces]]
force = { magnitude = "12 furlong", angle = "30" }
[[given.forces]]
force = { magnitude = "12 lbf" }
"""
    )
    done = command("cases", "lint", path)
    assert done.status == 2
    for key in ("colour", "given.forces[1].force.magnitude", "given.forces[1].force.angle",
                "given.forces[2].force"):  # fmt: skip
        assert key in done.out, done.out
    assert "Traceback" not in done.err


def test_a_blank_case_names_every_given():
    done = command("cases", "new", "concurrent-forces/plane-resultant")
    assert done.status == 0
    assert "[[given.forces]]" in done.out and "resultant" in done.out


def test_a_folder_without_cases_is_said(tmp_path):
    done = command("cases", "lint", tmp_path)
    assert done.status == 2 and "holds no case files" in done.out
