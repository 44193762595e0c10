"""A small catalogue for walks through a whole check, and how a check is run on it.

All cases are constructed here; their answers follow from right triangles and symmetry.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import attrs
import pytest

from refsolver.calculators.file import read_calculator_file
from refsolver.catalogue.catalogue import Catalogue
from refsolver.checking.judging import Finding
from refsolver.records.building import content_of
from refsolver.records.runs import CaseRun, CheckRun
from refsolver.runs.check import run_check

FAMILY = "concurrent-forces/plane-resultant"

CASES = {
    "anchor-right-triangle": (
        "Two pulls at right angles", '"anchor case"',
        ['"30 lbf", angle = "0 deg"', '"40 lbf", angle = "90 deg"'],
        '{ answer = "resultant", take = "magnitude", value = "50 lbf" }',
    ),
    "balanced": (
        "Three equal pulls a third of a turn apart", "",
        [f'"75 lbf", angle = "{turn} deg"' for turn in (90, 210, 330)],
        '{ answer = "resultant", take = "magnitude", value = "0 lbf" }',
    ),
    "downward-left": (
        "A 5-12-13 triangle in the third quadrant", "",
        ['"50 lbf", angle = "180 deg"', '"120 lbf", angle = "270 deg"'],
        '{ answer = "resultant", take = "magnitude", value = "130 lbf" }',
    ),
    "in-newtons": (
        "A 3-4-5 triangle in newtons, up to the left", "",
        ['"300 N", angle = "180 deg"', '"400 N", angle = "90 deg"'],
        '{ answer = "resultant", take = "magnitude", value = "500 N" }',
    ),
    "slopes": (
        "Two equal pulls on opposite slopes of 3 in 4", "",
        ['"100 lbf", run = ["4", "3"]', '"100 lbf", run = ["-4", "3"]'],
        '{ answer = "resultant", take = "magnitude", value = "120 lbf" }',
    ),
}  # fmt: skip


def case_text(title: str, topics: str, forces: list[str], published: str) -> str:
    rows = "".join(f"[[given.forces]]\nforce = {{ magnitude = {f} }}\n" for f in forces)
    return (
        f'title = "{title}"\nfamily = "{FAMILY}"\n'
        f'statement = "{title}; what one pull replaces them?"\ntopics = [{topics}]\n'
        f"published = [{published}]\n"
        f'[source]\nkind = "constructed"\nby = "a right triangle or symmetry"\n{rows}'
    )


@pytest.fixture(scope="session")
def catalogue(tmp_path_factory: pytest.TempPathFactory) -> Catalogue:
    folder = tmp_path_factory.mktemp("catalogue")
    (folder / "sources.toml").write_text("")
    (folder / FAMILY).mkdir(parents=True)
    for name, case in CASES.items():
        (folder / FAMILY / f"{name}.toml").write_text(case_text(*case))
    return Catalogue(folder)


@attrs.frozen
class Walk:
    """A finished check, with what tests ask of it."""

    run: CheckRun
    content: dict[str, Any]

    @property
    def result(self) -> str:
        return self.run.overall.result

    def case(self, name: str) -> CaseRun:
        return next(r for r in self.run.runs if r.case.id.endswith(f"/{name}"))

    def findings(self, name: str, word: str = "", judged: str = "stored") -> list[Finding]:
        return [f for f in self.case(name).findings if word in f.output and f.judged == judged]

    def verdict(self, name: str, word: str, judged: str = "stored") -> str:
        (finding,) = self.findings(name, word, judged)
        return finding.verdict

    @property
    def asked(self) -> list[str]:
        return [r.case.id.rpartition("/")[2] for r in self.run.runs if r.asked]


@pytest.fixture(scope="session")
def walk(catalogue: Catalogue) -> Callable[[Path], Walk]:
    """Runs the check of a calculator file on the small catalogue."""

    def walked(path: Path) -> Walk:
        run = run_check(read_calculator_file(path), catalogue)
        return Walk(run, content_of(run))

    return walked
