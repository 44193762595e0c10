"""README.md and DEVELOPERS.md hold: their commands run, word for word, in a user's folder.

Left out, with the reason: making an environment and installing into it (needs the network;
`.ci/run` does it), the command that runs the tests, which would run this one again, and the
demonstration, which `tests/runs/test_demo.py` runs word for word.
"""

from __future__ import annotations

import os
import pkgutil
import re
import shlex
import subprocess
import sys
import tomllib
from pathlib import Path

import click
import junitparser
import openpyxl
import pytest
import yaml

from refsolver.calculators.file import read_calculator_file
from refsolver.calculators.granted import read_fixed
from refsolver.catalogue.toml import TomlReader
from refsolver.commands import commands
from refsolver.statics.registry import family
from tests.command import Said, command

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")

(FIVE_MINUTES,) = re.findall(r"(?ms)^## Your own calculator in five minutes\n.*?(?=^## )", README)

SETS_UP = ("python3 -m venv", "pip install")
RUNS_THE_TESTS = "-m pytest"

ACROSS = "SUMPRODUCT(B5:B12,SIN(RADIANS(C5:C12)))"
UPWARD = "SUMPRODUCT(B5:B12,COS(RADIANS(C5:C12)))"
PULLS = {
    "B4": "Pull (lb)", "C4": "Angle from vertical, clockwise",
    "B5": 120, "C5": 35, "B6": 85, "C6": 62.5, "B7": 140, "C7": 300,
    "A15": "Resultant", "B15": f"=SQRT({ACROSS}^2+{UPWARD}^2)",
    "A16": "Direction from vertical",
    "B16": f'=IF(B15<0.000001,"no direction",MOD(DEGREES(ATAN2({UPWARD},{ACROSS})),360))',
}  # fmt: skip
"""The workbook that the README speaks of."""


def blocks(text, kind):
    return re.findall(rf"```{kind}\n(.*?)```", text, re.S)


def lines_of(text):
    """The lines of all shell blocks, in order."""
    return [line for block in blocks(text, "sh") for line in block.splitlines() if line]


def part_to_run(line):
    """The line without what only sets up; "" where nothing is left."""
    parts = [part.strip() for part in line.split("&&")]
    kept = [p for p in parts if not any(word in p for word in (*SETS_UP, RUNS_THE_TESTS))]
    return " && ".join(part.removeprefix(".venv/bin/") for part in kept)


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """A user's folder with the README's workbook."""
    folder = tmp_path_factory.mktemp("user")
    book = openpyxl.Workbook()
    book.active.title = "Sheet1"
    for cell, value in PULLS.items():
        book.active[cell] = value
    book.save(folder / "pulls.xlsx")
    return folder


@pytest.fixture(scope="module")
def shell(folder):
    """Runs a line as it stands in the document."""

    def run(line):
        words = shlex.split(line)
        if words[0] == "refsolver":
            return command(*words[1:], cwd=folder)
        done = subprocess.run(
            ["sh", "-c", line],
            cwd=folder, capture_output=True, text=True, timeout=300, check=False,
        )  # fmt: skip
        return Said(done.returncode, done.stdout, done.stderr)

    return run


def settled(draft):
    """The draft as the README says to settle it: guesses kept, the rest written in."""
    _, answers = blocks(FIVE_MINUTES, "toml")
    lines = draft.replace('"decide: ', '"').splitlines()
    for answer in answers.splitlines():
        key = answer.split(" = ")[0]
        place = next(
            n for n, line in enumerate(lines) if line.startswith(f"{key} = ") and '"decide"' in line
        )
        lines[place] = answer
    assert not [line for line in lines if '"decide"' in line and not line.startswith("#")]
    return "\n".join(lines) + "\n"


@pytest.fixture(scope="module")
def walked(folder, shell):
    """The README's own shell lines, run from top to bottom; what each printed."""
    said = {}
    for line in lines_of(README):
        part = part_to_run(line)
        if not part or "--demo" in part:
            continue
        done = shell(part)
        assert done.status == 0, f"{part}\n{done.words}"
        said[part] = done.out
        if part == "refsolver draft pulls.xlsx":
            draft = (folder / "pulls.toml").read_text()
            said["draft"] = draft
            said["refused"] = shell("refsolver check pulls.toml")
            (folder / "pulls.toml").write_text(settled(draft))
    return said


@pytest.mark.slow
def test_the_draft_is_the_one_shown(walked):
    shown, _ = blocks(FIVE_MINUTES, "toml")
    assert shown in walked["draft"] + "\n"
    assert walked["refused"].status == 2 and "is not decided" in walked["refused"].err


@pytest.mark.slow
def test_the_five_minutes_end_in_met(walked, folder):
    (trial,) = [said for part, said in walked.items() if "--trial" in part]
    assert "Sheet1!B5" in trial and "Sheet1!B16" in trial
    (check,) = [s for command, s in walked.items() if command.endswith("--out pulls-check")]
    assert ": MET" in check
    names = {path.name for path in (folder / "pulls-check").iterdir()}
    assert {"report.html", "record.json", "report.md", "findings.csv", "junit.xml"} <= names


@pytest.mark.slow
def test_other_parts_of_a_calculator_file_are_read_in_the_one_of_the_readme(walked, folder):
    others = [b for b in blocks(README, "toml") if b not in blocks(FIVE_MINUTES, "toml")]
    for block in others:
        if "[family.fixed]" in block:
            continue
        path = folder / "more.toml"
        path.write_text((folder / "pulls.toml").read_text() + block)
        assert read_calculator_file(path)


def test_what_a_beam_sheet_takes_for_granted_is_read_as_shown():
    (block,) = [b for b in blocks(README, "toml") if "[family.fixed]" in b]
    table = tomllib.loads(block)["family"]["fixed"]
    reader = TomlReader("README.md")
    assert len(read_fixed(reader, table, "fixed", family("beams/reactions").givens, ())) == 6
    assert not reader.complaints


@pytest.mark.slow
def test_blanks_for_other_kinds_are_written(walked, folder):
    assert {"function.toml", "belt.toml", "equal-legs.toml"} <= {p.name for p in folder.iterdir()}


@pytest.mark.slow
def test_the_signature_holds(walked):
    (said,) = [said for part, said in walked.items() if "--public" in part]
    assert "holds, signed" in said


@pytest.mark.slow
def test_the_record_is_read_by_python_as_shown(walked, folder):
    (code,) = [block for block in blocks(README, "python") if "read_record" in block]
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=folder, capture_output=True, text=True, check=False,
        timeout=120, env={**os.environ, "PYTHONPATH": str(ROOT)},
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert done.stdout.splitlines()[0] == "met"


@pytest.mark.slow
def test_the_job_keeps_what_its_commands_write(walked, folder):
    (job,) = yaml.safe_load(blocks(README, "yaml")[0]).values()
    install, check = job["script"]
    assert install.startswith("pip install")  # needs the network
    assert check in walked  # was run above, and wrote what is kept
    kept = job["artifacts"]
    assert kept["when"] == "always" and (folder / kept["paths"][0] / "report.html").exists()
    suites = junitparser.JUnitXml.fromfile(str(folder / kept["reports"]["junit"]))
    assert suites.tests > 0 and suites.failures == suites.errors == 0


def test_developers_has_no_shell_blocks_that_nobody_runs():
    assert lines_of(DEVELOPERS) == []


def said_commands():
    """Every command of ours that stands in running text, in both documents."""
    for name, text in (("README", README), ("DEVELOPERS", DEVELOPERS)):
        plain = re.sub(r"```.*?```", "", text, flags=re.S)
        for code in dict.fromkeys(re.findall(r"`(refsolver [^`]+)`", plain)):
            yield pytest.param(" ".join(code.split()), id=f"{name}: {code}")


@pytest.mark.parametrize("code", list(said_commands()))
def test_commands_in_the_text_exist_with_their_options(code):
    words = [word for word in code.split()[1:] if word != "..."]
    command, context = commands, click.Context(commands, info_name="refsolver")
    while isinstance(command, click.Group) and words and words[0] in command.commands:
        command = command.commands[words.pop(0)]
    assert command is not commands, f"{code}: no such command"
    known = {option for parameter in command.params for option in parameter.opts}
    assert {word for word in words if word.startswith("-")} <= known
    command.make_context(command.name, words, parent=context, resilient_parsing=True)


PACKAGE = ROOT / "refsolver"
PLAIN = re.sub(r"```.*?```", "", DEVELOPERS, flags=re.S)


def is_there(name, *folders):
    return any(list(folder.glob(n)) for folder in folders for n in (name, f"{name}.py"))


def test_the_rooms_have_what_the_table_says():
    rows = re.findall(r"^\| `(\w+)/` \| (.*) \|$", PLAIN, re.M)
    assert {room for room, _ in rows} == {
        path.parent.name for path in PACKAGE.glob("*/__init__.py")
    } - {"commands", "demo"}
    absent = [
        f"{room}: {name}"
        for room, row in rows
        for name in re.findall(r"`([^`]+)`", row)
        if not is_there(name, PACKAGE / room)
    ]
    assert not absent, absent


def test_the_files_and_folders_that_developers_names_are_there():
    text = re.sub(r"^\|.*$", "", PLAIN, flags=re.M)
    names = {code.split()[0] for code in re.findall(r"`([^`]+)`", text)}
    paths = {n for n in names if re.fullmatch(r"[\w./-]*/[\w./-]*", n) and "CHAPTER" not in n}
    absent = [n for n in paths - {"2/3"} if not is_there(n, ROOT, PACKAGE, PACKAGE / "statics")]
    assert len(paths) > 30 and not absent, absent


def test_the_functions_that_developers_names_are_there():
    rooms = "|".join(path.parent.name for path in PACKAGE.glob("*/__init__.py"))
    for name in re.findall(rf"`((?:{rooms})(?:\.\w+)+)", PLAIN):
        pkgutil.resolve_name(f"refsolver.{name}")
