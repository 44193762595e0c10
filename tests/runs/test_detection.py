"""What a set of cases reveals, and the short set, on the small catalogue of ``conftest.py``.

Which case reveals what follows from the cases: a slope is given in one of them, three rows
in another; so it can be worked out by hand.
"""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from refsolver.calculators.file import read_calculator_file
from refsolver.catalogue.catalogue import Catalogue
from refsolver.quantities.units import UnitSystem, read_unit
from refsolver.runs.bench import Bench, bench
from refsolver.runs.check import run_check
from refsolver.runs.detection import detection, detection_data
from refsolver.runs.natural import NaturalCalculator
from refsolver.runs.natural_file import natural_text
from refsolver.runs.one_case import prepared_run
from refsolver.runs.questions import questions_for
from refsolver.runs.short_set import covering, short_set
from refsolver.statics.registry import family

FAMILY = "concurrent-forces/plane-resultant"
SYSTEM = UnitSystem(read_unit("lbf"), read_unit("ft"))


@pytest.fixture(scope="module")
def made(catalogue, tmp_path_factory):
    path = tmp_path_factory.mktemp("natural") / "natural.toml"
    path.write_text(natural_text(family(FAMILY), SYSTEM, "angles"))
    file = read_calculator_file(path)
    prepared = [prepared_run(q, True) for q in questions_for(file, catalogue, True)]
    return Bench(family(FAMILY), "angles", file, prepared)


@pytest.fixture(scope="module")
def found(made):
    return {each.name: each for each in detection(made.prepared, made.situations)}


def short(ids):
    return {id.removeprefix(f"{FAMILY}/") for id in ids}


def test_the_last_row_left_out_shows_in_every_case(found, made):
    asked = {run.case.id for run in made.prepared}
    assert set(found["last row left out"].revealed_by) == asked


def test_only_more_than_seven_rows_show_that_seven_are_read(found):
    assert short(found["rows after the first 7 left out"].revealed_by) == {
        "made/filled-1", "made/filled-2", "made/permuted",
    }  # fmt: skip
    assert found["rows after the first 8 left out"].hole.startswith("no case asked")


def test_what_is_too_small_for_the_criteria_is_a_hole_with_its_size(made):
    # 300 N are 67.4427 lbf; rounded to hundredths that is 0.0027 less, and 0.337 is allowed.
    newtons = [run for run in made.prepared if run.case.id.endswith("in-newtons")]
    name = "early rounding to hundredths of lbf"
    cut = next(x for x in detection(newtons, made.situations) if x.name == name)
    assert 0.007 < cut.most < 0.013
    assert cut.revealed_by == ()
    assert "of what the criteria allow" in cut.hole


def test_a_mistake_said_to_be_revealed_does_fail(found, made):
    for each in list(found.values())[::4]:
        mistake = next(m for m in made.situations.mistakes(FAMILY) if m.name == each.name)
        runs = made.runs(NaturalCalculator(made.file, made.owner, mistake))
        failed = {
            r.case.id
            for r in runs
            if any(f.verdict not in ("pass", "not applicable") for f in r.findings)
        }
        assert failed == set(each.revealed_by), each.name


def test_after_a_run_only_what_was_judged_counts(made):
    runs = made.runs(made.right())
    data = detection_data(detection(runs, made.situations))[FAMILY]
    assert data["known"] == len(data["revealed"]) + len(data["holes"]) + len(data["not_made"])
    blind = made.runs(NaturalCalculator(made.file, made.owner, shown=lambda x: float("nan")))
    none = detection_data(detection(blind, made.situations))[FAMILY]
    assert [m["name"] for m in none["revealed"] if "angle" in m["name"]] == []


def test_the_short_set_reveals_all_that_all_cases_reveal(found):
    chosen = short_set(list(found.values()))
    revealed = [each for each in found.values() if each.revealed_by]
    assert chosen.mistakes == len(revealed)
    assert all(set(each.revealed_by) & set(chosen.cases) for each in revealed)
    assert chosen.least <= len(chosen.cases)


def test_a_short_run_says_that_it_was_one(made, catalogue, tmp_path):
    (tmp_path / "natural.toml").write_text(made.file.text)
    (tmp_path / "natural.py").write_text(
        "from pathlib import Path\nfrom refsolver.runs.natural import natural_function\n"
        f"answer = natural_function({FAMILY!r}, Path(__file__).with_name('natural.toml'))\n"
    )
    run = run_check(read_calculator_file(tmp_path / "natural.toml"), catalogue, short=True)
    assert run.short is not None
    assert len(run.runs) == run.short["cases"] < run.short["of"]
    assert run.overall.result == "met", run.overall.because
    left = set(run.short["left_out"])
    assert left.isdisjoint(r.case.id for r in run.runs)
    assert len(left) == run.short["of"] - run.short["cases"]


@settings(deadline=None, max_examples=60)
@given(st.lists(st.integers(0, 255), max_size=6))
def test_a_cover_is_whole_and_within_what_is_promised(bits):
    shown = {str(n): {i for i in range(8) if b >> i & 1} for n, b in enumerate(bits)}
    chosen = covering(shown)
    wanted = set().union(*shown.values()) if shown else set()
    assert set().union(*(shown[key] for key in chosen)) == wanted if chosen else not wanted
    for key in chosen:
        assert set().union(*(shown[k] for k in chosen if k != key)) != wanted
    best = next(
        size
        for size in range(len(shown) + 1)
        if any(
            set().union(*(shown[k] for k in keys)) == wanted
            for keys in itertools.combinations(shown, size)
        )
    )
    harmonic = sum(1 / n for n in range(1, len(wanted) + 1))
    assert len(chosen) <= max(1.0, harmonic) * best


def test_rows_among_other_keys_are_read_where_they_were_put():
    """A cable's stations are answered below its two supports, in the order of the calculator."""
    cable = bench(family("cables/catenary"), "plain", Catalogue())
    cable.prepared = [r for r in cable.prepared if r.case.id.endswith("made/permuted")]
    (run,) = cable.runs(cable.right())
    stations = [f for f in run.findings if "[station" in f.output]
    assert run.placement and len(stations) > 10
    assert {f.verdict for f in run.findings} == {"pass"}
