"""The shipped catalogue: every file holds, every printed answer agrees or is explained."""

import pytest

from refsolver.catalogue.linting import lint_catalogue
from refsolver.catalogue.listing import index_is_current
from refsolver.runs.selfcheck import check_case
from tests.shipped_cases import CATALOGUE, cases_of

FAMILIES = sorted({id.rpartition("/")[0] for id in CATALOGUE.paths})


def test_every_file_holds_to_the_schema():
    assert not [str(complaint) for complaint in lint_catalogue(CATALOGUE)]


def test_the_index_is_current():
    assert index_is_current(CATALOGUE.folder), "run refsolver cases index"


@pytest.mark.parametrize("family", FAMILIES)
def test_printed_answers_agree_or_are_explained(family):
    """With residuals, second opinion and the strict arithmetic, at thirty digits."""
    for case in cases_of(family):
        for answer in check_case(case):
            assert answer.agreement in ("agree", "explained"), answer
            assert not answer.stale, f"explained, but it agrees: {answer}"
