"""The committed difficulty ladders are what their maker writes, and climb as they say."""

from importlib import resources

import pytest

from refsolver.calculators.file import read_calculator_file
from refsolver.catalogue.catalogue import Catalogue
from refsolver.catalogue.ladders import LADDER, LADDERS, ladder_files
from refsolver.catalogue.linting import lint_files
from refsolver.runs.questions import questions_for
from refsolver.statics.conditioning import condition_number
from refsolver.statics.difficulty import RANGES
from refsolver.statics.registry import family
from refsolver.testing import reference_cases

CATALOGUE = Catalogue()


@pytest.fixture(scope="module")
def made():
    return dict(ladder_files())


def test_the_committed_files_are_what_the_maker_writes(made):
    assert len(made) == len(LADDERS) * len(RANGES)
    for place, text in made.items():
        assert (CATALOGUE.folder / place).read_text(encoding="utf-8") == text, place
    assert not lint_files([CATALOGUE.folder / place for place in made])


@pytest.mark.parametrize("ladder", LADDERS, ids=lambda ladder: ladder.family)
def test_each_rung_has_the_condition_number_of_its_range(ladder):
    for rung, kappa in enumerate(RANGES, 1):
        case = CATALOGUE.read(f"{ladder.family}/ladder-rung-{rung}")
        assert case.topics == (LADDER,)
        found = condition_number(family(ladder.family), case.given)
        assert kappa[0] <= found <= kappa[1]
        assert f"the condition number {found:.1e}" in case.statement
        assert case.published


def test_the_ladder_is_put_only_where_it_is_asked_for(tmp_path):
    def put(switch):
        demo = (resources.files("refsolver.demo") / "hanger-module.toml").read_text("utf-8")
        first = f'name = "{LADDERS[0].family}"\n'
        assert first in demo
        path = tmp_path / "hanger.toml"
        path.write_text(demo.replace(first, first + switch), encoding="utf-8")
        return [q.case.id for q in questions_for(read_calculator_file(path), CATALOGUE, True)]

    without, along = put(""), put("ladder = true\n")
    assert sorted(set(along) - set(without)) == [
        f"concurrent-forces/plane-resultant/ladder-rung-{n}" for n in range(1, 6)
    ]
    assert not any("ladder" in id for id in without)


def test_a_test_of_ones_own_gets_the_ladder_by_its_topic():
    name = "concurrent-forces/plane-resultant"
    assert len(reference_cases(name, topic=LADDER)) == len(RANGES)
    assert not any(LADDER in case.case.topics for case in reference_cases(name))
