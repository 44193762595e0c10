"""The bars of the diagnosis on some small families; a command measures the whole catalogue.

Families of several kinds: angles and rows, words and refusals, no vectors at all. The plain
calculator is put through the same steps as any other; one is also asked in its own process.
"""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from refsolver.calculators.file import read_calculator_file
from refsolver.catalogue.catalogue import Catalogue
from refsolver.mistakes.known import GENERAL
from refsolver.quantities.units import UnitSystem, read_unit
from refsolver.runs.bench import bench, can_be_asked
from refsolver.runs.check import run_check
from refsolver.runs.diagnosis import diagnose
from refsolver.runs.evidence import main, measured
from refsolver.runs.evidence_text import HEADS
from refsolver.runs.natural import NaturalCalculator
from refsolver.runs.natural_file import forms, natural_text
from refsolver.runs.unlisted import UNLISTED
from refsolver.statics.registry import families, family

SMALL = [
    "friction/screw",
    "distributed-loads/area-load",
]


@pytest.fixture(scope="module")
def whole():
    return Catalogue()


@pytest.fixture(scope="module", params=SMALL)
def found(request, whole):
    return measured(family(request.param), whole)


def test_every_known_mistake_that_shows_is_named_first(found):
    assert len(found.pairs) >= 4
    assert [p.mistake for p in found.pairs if not p.named] == []
    assert [(p.mistake, p.accused) for p in found.pairs if p.accused] == []


def test_no_right_calculator_is_failed(found):
    assert sum(run.readings for run in found.right) > 50
    assert [(run.what, run.bad) for run in found.right if run.bad] == []


def test_no_other_error_is_laid_to_a_known_mistake(found):
    assert len(found.unlisted) >= 5
    assert [(run.what, run.accused) for run in found.unlisted if run.accused] == []


def test_the_committed_report_says_what_is_measured(found):
    """These families stand for all; the whole is measured by ``refsolver.runs.evidence``."""
    report = Path(__file__).parents[2] / "reports" / "evidence.md"
    if not report.exists():
        pytest.skip("no evidence is committed")
    rows = [
        [cell.strip() for cell in line.strip("|").split("|")]
        for line in report.read_text(encoding="utf-8").splitlines()
        if line.startswith("|")
    ]
    assert rows[0] == HEADS
    (row,) = [row for row in rows if row[0] == found.family]
    assert row == [str(cell) for cell in found.row()], (
        "reports/evidence.md is stale: run python -m refsolver.runs.evidence"
    )


def test_there_are_fifteen_errors_beyond_the_list():
    known = {m.name for m in GENERAL} | {m.name for f in families().values() for m in f.mistakes}
    assert len(UNLISTED) >= 15
    assert not known & set(UNLISTED)


def test_what_was_measured_is_kept_and_not_measured_again(tmp_path, capsys):
    names = ["unit-conversion/speed", "unit-conversion/moment"]
    kept = tmp_path / "unit-conversion--moment.json"
    row = ["unit-conversion/moment", *range(1, len(HEADS))]
    kept.write_text(json.dumps({"row": row, "short": ["kept as it was"]}))
    assert main(["--keep", str(tmp_path), *names]) == 0
    said = capsys.readouterr().out
    assert "- kept as it was" in said and "family unit-conversion/speed" in said
    assert "family unit-conversion/moment" not in said
    assert main(["unit-conversion/spede"]) == 2


MODULE = """
from pathlib import Path
from refsolver.mistakes.known import GENERAL
from refsolver.runs.natural import natural_function

answer = natural_function(
    {name!r}, Path(__file__).with_name("natural.toml"),
    next(m for m in GENERAL if m.name == "sine and cosine swapped"),
)
"""


def test_in_a_process_of_its_own_it_is_judged_alike(tmp_path, whole):
    name = "friction/screw"
    made = bench(family(name), forms(family(name))[0], whole)
    path = tmp_path / "natural.toml"
    path.write_text(made.file.text)
    (tmp_path / "natural.py").write_text(MODULE.format(name=name))
    run = run_check(read_calculator_file(path), whole, digits=15)
    mistake = next(m for m in GENERAL if m.name == "sine and cosine swapped")
    here = made.runs(NaturalCalculator(made.file, made.owner, mistake))
    assert [[f.verdict for f in r.findings] for r in run.runs] == [
        [f.verdict for f in r.findings] for r in here
    ]
    explanations, _ = diagnose(run)
    assert mistake.name in (explanations[0].name, *explanations[0].also)


def test_its_file_maps_every_given_and_all_that_can_be_mapped(tmp_path):
    for name, owner in families().items():
        if not can_be_asked(owner):
            assert name == "beams/internal-forces"  # functions of position alone
            continue
        for form in forms(owner):
            path = tmp_path / "natural.toml"
            system = UnitSystem(read_unit("N"), read_unit("m"))
            path.write_text(natural_text(owner, system, form))
            (section,) = read_calculator_file(path).sections
            answers = {line.view.answer for line in section.outputs}
            assert answers == set(owner.answers), name
