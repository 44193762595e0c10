"""Reference cases in a user's own tests: the README's example by pytest, and each refusal."""

from __future__ import annotations

import math
import re
import subprocess
import sys
from fractions import Fraction
from pathlib import Path

import numpy
import pytest

from refsolver.catalogue.catalogue import Catalogue
from refsolver.catalogue.schema import CaseFileError
from refsolver.statics.registry import UnknownFamily
from refsolver.testing import NotApplicable, ReferenceCaseError, reference_cases

FAMILY = "concurrent-forces/plane-resultant"
README = Path(__file__).parents[1] / "README.md"
CASE = """
title = "Made up"
family = "concurrent-forces/plane-resultant"
statement = "Invented for these tests."
topics = [{topics}]
{units}
[source]
kind = "constructed"
by = "a right triangle or symmetry"
"""
PULL = "[[given.forces]]\nforce = {{ magnitude = {} }}\n"
CASES = {
    "square": ('"right angle"', '"30 lbf", angle = "0 deg"', '"40 lbf", angle = "90 deg"'),
    "thirds": (
        "",
        *(f'"75 lbf", angle = "{turn} deg"' for turn in (90, 210, 330)),
    ),
    "unitless": ("", '"3", angle = "0 deg"', '"4", angle = "90 deg"'),
}
EXACT = {"absolute": "1e-9 lbf", "reason": "double precision"}
TURN = {"absolute": "0.001 deg", "reason": "double precision"}


@pytest.fixture(scope="module")
def catalogue(tmp_path_factory):
    folder = tmp_path_factory.mktemp("catalogue")
    (folder / "sources.toml").write_text("")
    (folder / FAMILY).mkdir(parents=True)
    for name, (topics, *pulls) in CASES.items():
        units = 'units = "none"' if name == "unitless" else ""
        text = CASE.format(topics=topics, units=units) + "".join(map(PULL.format, pulls))
        (folder / FAMILY / f"{name}.toml").write_text(text)
    return Catalogue(folder)


@pytest.fixture
def cases(catalogue):
    return {str(case): case for case in reference_cases(FAMILY, catalogue=catalogue)}


def parts(case, unit="lbf", turn="deg"):
    """Sums across and up of the pulls, as a calculator in doubles adds them."""
    across = up = 0.0
    for row in case.rows("forces"):
        size = case.number(f"{row}.force", "magnitude", unit=unit)
        angle = case.number(f"{row}.force", "angle", unit=turn)
        angle = math.radians(angle) if turn == "deg" else angle
        across, up = across + size * math.cos(angle), up + size * math.sin(angle)
    return across, up


def run_example(folder, module):
    """The README's example as a user runs it, beside a module of the user's."""
    (block,) = [
        code
        for code in re.findall(r"```python\n(.*?)```", README.read_text(encoding="utf-8"), re.S)
        if "refsolver.testing" in code
    ]
    (folder / "test_pulls.py").write_text(block)
    (folder / "pulls.py").write_text(module)
    return subprocess.run(
        [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", "-k", "anchor or no-force",
         "test_pulls.py"],
        capture_output=True, text=True, timeout=120, check=False, cwd=folder,
    )  # fmt: skip


RIGHT = """
import math
def resultant(pulls):
    across = sum(size * math.sin(math.radians(turn)) for size, turn in pulls)
    up = sum(size * math.cos(math.radians(turn)) for size, turn in pulls)
    size = math.hypot(across, up)
    return size, math.degrees(math.atan2(across, up)) % 360 if size else None
"""


def test_the_example_of_the_readme_passes_with_a_right_function(tmp_path):
    done = run_example(tmp_path, RIGHT)
    assert done.returncode == 0, done.stdout
    assert int(re.search(r"(\d+) passed", done.stdout)[1]) >= 6


def test_the_example_of_the_readme_finds_sine_and_cosine_swapped(tmp_path):
    wrong = RIGHT.replace("sin(", "SIN(").replace("cos(", "sin(").replace("SIN(", "cos(")
    done = run_example(tmp_path, wrong)
    assert done.returncode == 1
    assert "test_resultant[anchor-three-four-five]" in done.stdout
    assert re.search(r"reported +reference +deviation +tolerance +unit", done.stdout)


def test_a_right_answer_passes_and_a_wrong_one_shows_the_comparison(cases):
    case = cases["square"]
    assert parts(case) == pytest.approx((30, 40))
    # 3-4-5 triangle
    for value in (50.0, 50, Fraction(50), numpy.float64(50)):
        case.check(value, "resultant", "magnitude", unit="lbf", criterion=EXACT)
    with pytest.raises(AssertionError) as failing:
        case.check(50.25, "resultant", "magnitude", unit="lbf", criterion=EXACT)
    told = str(failing.value)
    assert f"{FAMILY}/square: resultant magnitude: fail" in told
    row = next(line.split() for line in told.splitlines() if line.startswith("50.25"))
    assert float(row[1]) == 50 and float(row[2]) == 0.25 and row[-1] == "lbf"
    assert re.search(r"forces\[2\]\.force +angle +90 +deg", told)


def test_numbers_come_in_the_unit_and_convention_asked(cases):
    case = cases["square"]
    # 1 lbf = 4.4482216152605 N exactly: NIST SP 811 (2008), appendix B.8
    assert case.number("forces[1].force", "magnitude", unit="N") == 30 * 4.4482216152605
    clockwise = {"unit": "deg", "start": "+y", "toward": "+x", "range": "0..360"}
    assert case.number("forces[1].force", "angle", **clockwise) == 90.0
    assert case.number("forces[2].force", "angle", **clockwise) == 0.0


def test_the_reference_is_that_of_the_doubles_handed_out(cases):
    """Radians as doubles unbalance three pulls: an answer exists for them, of 1e-14 lbf."""
    case = cases["thirds"]
    parts(case, turn="rad")
    assert not case.refused("resultant", "angle", start="+x", toward="+y")
    parts(case, turn="deg")
    case.check(0.0, "resultant", "magnitude", unit="lbf", criterion=EXACT)
    assert case.refused("resultant", "angle")


def test_declining_is_right_only_where_no_answer_exists(cases):
    parts(cases["thirds"])
    cases["thirds"].check(None, "resultant", "angle", unit="deg", criterion=TURN)
    parts(cases["square"])
    with pytest.raises(AssertionError, match="declines where an answer exists"):
        cases["square"].check(None, "resultant", "angle", unit="deg", criterion=TURN)
    with pytest.raises(AssertionError, match="resultant magnitude: error"):
        cases["square"].check(math.nan, "resultant", "magnitude", unit="lbf", criterion=EXACT)


def test_the_direction_of_noise_is_not_judged_but_its_size_is(cases):
    """Three balanced pulls have no direction; what rounding leaves of them points anywhere."""
    case = cases["thirds"]
    across, up = parts(case, turn="rad")
    noise = math.degrees(math.atan2(up, across)) + 90
    case.check(noise, "resultant", "angle", unit="deg", criterion=TURN)
    with pytest.raises(AssertionError, match="magnitude"):
        case.check(1.0, "resultant", "magnitude", unit="lbf", criterion=EXACT)
    case.check(math.hypot(across, up), "resultant", "magnitude", unit="lbf", criterion=EXACT)
    case.check(noise, "resultant", "angle", unit="deg", criterion=TURN)


def test_a_case_without_units_takes_those_of_the_test(cases):
    case = cases["unitless"]
    assert parts(case, unit="kN") == pytest.approx((3, 4))
    exact = {"absolute": "1e-9 N", "reason": "double precision"}
    case.check(5000.0, "resultant", "magnitude", unit="N", criterion=exact)


def belt_tensions(friction, lap, tension, known, groove):
    """Tight and slack by the belt equation, tight = slack exp(mu lap / sin(groove / 2)).

    The textbook relation of Euler and Eytelwein, from memory.
    """
    if lap < 0 or groove == 0:
        return None, None
    ratio = math.exp(friction * lap / math.sin(groove / 2))
    if known == "T2 - T1":
        return (
            (None, None) if ratio == 1 else (tension * ratio / (ratio - 1), tension / (ratio - 1))
        )
    return (tension, tension / ratio) if known == "T2" else (tension * ratio, tension)


@pytest.mark.parametrize("case", reference_cases("friction/belt"), ids=str)
def test_words_and_givens_left_to_choice(case):
    words = {"tight": "T2", "slack": "T1", "difference": "T2 - T1"}
    groove = case.number("groove", unit="rad") if case.states("groove") else math.pi
    if case.states("radius"):
        case.number("radius", unit="m")
    tight, slack = belt_tensions(
        case.number("friction"),
        case.number("lap", unit="rad"),
        case.number("tension", unit="N"),
        case.word("known", words),
        groove,
    )
    within = {"relative": "1e-9", "reason": "double precision"}
    assert case.refused("tight") == (tight is None)
    case.check(tight, "tight", unit="N", criterion=within)
    case.check(slack, "slack", unit="N", criterion=within)
    if slack is not None:
        with pytest.raises(AssertionError, match="slack: fail"):
            case.check(slack * 1.001, "slack", unit="N", criterion=within)


def test_words_and_numbers_are_told_apart():
    case = next(c for c in reference_cases("friction/belt") if str(c) == "smooth-drum-difference")
    assert case.word("known") == "difference" and not case.states("groove")
    with pytest.raises(ReferenceCaseError, match="is a word, 'difference'; ask for it by word"):
        case.number("known")
    with pytest.raises(ReferenceCaseError, match="does not state groove"):
        case.number("groove", unit="rad")


def test_what_was_not_handed_out_is_named(cases):
    case = cases["square"]
    case.number("forces[1].force", "magnitude", unit="lbf")
    case.number("forces[1].force", "angle", unit="deg")
    with pytest.raises(ReferenceCaseError, match=r"forces\[2\]\.force was never handed out"):
        case.check(50.0, "resultant", "magnitude", unit="lbf", criterion=EXACT)


def test_half_a_vector_and_nothing_at_all_are_named(catalogue):
    case, other = reference_cases(FAMILY, catalogue=catalogue)[:2]
    for row in case.rows("forces"):
        case.number(f"{row}.force", "angle", unit="deg")
    with pytest.raises(ReferenceCaseError, match="in part.*leaves the size open"):
        case.refused("resultant", "angle")
    with pytest.raises(ReferenceCaseError, match="never handed out"):
        other.refused("resultant", "angle")


def test_two_conventions_in_one_test_are_refused_and_a_new_test_begins_anew(cases):
    case = cases["square"]
    parts(case)
    with pytest.raises(ReferenceCaseError, match="another unit or convention"):
        case.number("forces[2].force", "magnitude", unit="N")
    case.check(50.0, "resultant", "magnitude", unit="lbf", criterion=EXACT)
    across = [case.number(f"{r}.force", "component", unit="N", along="+x")
              for r in case.rows("forces")]  # fmt: skip
    up = [case.number(f"{r}.force", "component", unit="N", along="+y")
          for r in case.rows("forces")]  # fmt: skip
    size = math.hypot(sum(across), sum(up))
    case.check(size, "resultant", "magnitude", unit="lbf", criterion={
        "absolute": "1000 lbf", "reason": "only that it is judged"})  # fmt: skip


def test_keys_that_do_not_fit_are_named(cases):
    case = cases["square"]
    with pytest.raises(CaseFileError, match=r"square: number\('forces\[1\]\.force'\)\.take"):
        case.number("forces[1].force", "weight", unit="lbf")
    with pytest.raises(CaseFileError, match="force"):
        case.number("forces[1].force", "magnitude", unit="deg")
    with pytest.raises(ReferenceCaseError, match="there are 2 forces"):
        case.number("forces[3].force", "magnitude", unit="lbf")
    with pytest.raises(NotApplicable, match="no slope triangle"):
        case.number("forces[1].force", "run", along="+x")
    parts(case)
    with pytest.raises(CaseFileError, match="acceptance criterion"):
        case.check(50.0, "resultant", "magnitude", unit="lbf")


def test_topics_and_empty_choices(catalogue):
    chosen = reference_cases(FAMILY, topic="right angle", catalogue=catalogue)
    assert [str(case) for case in chosen] == ["square"]
    with pytest.raises(ReferenceCaseError, match="no case with the topic 'none such'"):
        reference_cases(FAMILY, topic="none such", catalogue=catalogue)
    with pytest.raises(UnknownFamily):
        reference_cases("no/family")
