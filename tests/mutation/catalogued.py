"""The printed answers of single cases, for trials of the chapters: some of each family.

The tests proper (``tests/catalogue/test_catalogue.py``) take all cases of a family at once,
at thirty digits; a trial wants the quickest case that notices.
"""

from __future__ import annotations

from collections import defaultdict

import pytest

from refsolver.catalogue.catalogue import Catalogue
from refsolver.runs.selfcheck import check_case

MOST = 8
"""Cases of one family, spread over its list."""

CATALOGUE = Catalogue()


def some() -> list[str]:
    """The cases tried, by name."""
    own = defaultdict(list)
    for name in sorted(CATALOGUE.paths):
        own[name.rpartition("/")[0]].append(name)
    return [case for cases in own.values() for case in cases[:: -(-len(cases) // MOST)]]


@pytest.mark.parametrize("case", some())
def test_printed_answers(case):
    for answer in check_case(CATALOGUE.read(case), 15):
        assert answer.agreement in ("agree", "explained"), answer
