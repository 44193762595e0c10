"""Case files and calculator files with anything in them: complaints, never a traceback."""

from __future__ import annotations

import random
from importlib import resources
from pathlib import Path

import pytest

from refsolver.calculators.file import CalculatorFileError, read_calculator_file
from refsolver.catalogue.catalogue import Catalogue
from refsolver.catalogue.reading import read_case
from refsolver.catalogue.schema import CaseFileError
from refsolver.runs.solving import solve_case

_VALUES = Path(__file__).with_name("hostile-values.txt")
"""Values of keys, one a line."""

NASTY = [
    *_VALUES.read_text(encoding="utf-8").splitlines(),
    '"\\u0000"',
    '"\\uFEFF5 N"',
    '"' + "9" * 5000 + ' N"',
    '"1e' + "9" * 30 + '"',
]


HEAD = """
title = "Far out"
family = "{family}"
statement = "Made up for a test."
{units}
[source]
kind = "constructed"
by = "made up"
[given]
{given}
[[published]]
{asked}
"""


def mangled(text: str, rng: random.Random) -> str:
    """The text with one to three of its lines spoilt."""
    lines = text.splitlines()
    for _ in range(rng.randint(1, 3)):
        at = rng.randrange(len(lines))
        key, equals, _ = lines[at].partition(" = ")
        what = rng.randrange(8)
        if equals and what < 5:
            lines[at] = f"{key} = {rng.choice(NASTY)}"
        elif what == 5:
            del lines[at]
        elif what == 6:
            lines.insert(at, lines[rng.randrange(len(lines))])
        elif equals:
            lines[at] = f"{key}x = {rng.choice(NASTY)}"
        if not lines:
            return ""
    return "\n".join(lines) + "\n"


def tried(read, path: Path, text: str, errors: tuple[type[Exception], ...]) -> str:
    """What it is answered with, "" where it is read; everything else is a traceback."""
    path.write_text(text, encoding="utf-8")
    try:
        read(path)
    except errors as error:
        return str(error)
    return ""


@pytest.mark.parametrize("seed", range(4))
def test_mangled_case_files_get_complaints(tmp_path, seed):
    catalogue = Catalogue()
    rng = random.Random(seed)
    ids = list(catalogue.paths)
    refused = 0
    for _ in range(250):
        text = catalogue.paths[rng.choice(ids)].read_text(encoding="utf-8")
        spoilt = mangled(text, rng)
        said = tried(
            lambda path: read_case(path, "spoilt", catalogue.works),
            tmp_path / "spoilt.toml", spoilt, (CaseFileError,),
        )  # fmt: skip
        if said:
            refused += 1
            assert "spoilt.toml" in said
    assert refused > 100


@pytest.mark.parametrize(
    ("family", "given", "asked"),
    [
        ("centroids/between-curves", 'regions = [{ start = "0 m", end = "1 m", '
         'upper = [{ coefficient = "1 m", power = "1e20" }] }]\nreference = "1 m"',
         'answer = "area"\nvalue = "9 m^2"'),
        ("cables/catenary", 'span = "1e20 ft"\nload = "1 lbf/ft"\nparameter = "15 ft"',
         'answer = "length"\nvalue = "9 ft"'),
    ],
)  # fmt: skip
def test_givens_out_of_all_proportion_are_not_proven_and_no_fault(tmp_path, family, given, asked):
    text = HEAD.format(
        family=family, given=given, asked=asked,
        units='units = "none"' if "ft" not in given and " m" not in given else "",
    )  # fmt: skip
    path = tmp_path / "far.toml"
    path.write_text(text, encoding="utf-8")
    solved = solve_case(str(path), digits=10)
    assert solved.not_proven
    assert solved.text()


@pytest.mark.parametrize("seed", range(2))
def test_mangled_calculator_files_get_complaints(tmp_path, seed):
    rng = random.Random(seed)
    texts = [
        (resources.files("refsolver.demo") / f"hanger-{kind}.toml").read_text(encoding="utf-8")
        for kind in ("module", "program", "workbook")
    ]
    refused = 0
    for _ in range(250):
        spoilt = mangled(rng.choice(texts), rng)
        said = tried(
            read_calculator_file, tmp_path / "spoilt.toml", spoilt,
            (CaseFileError, CalculatorFileError),
        )  # fmt: skip
        refused += bool(said)
    assert refused > 80
