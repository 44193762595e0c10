"""The self-check of the catalogue: a tenth of its cases, read and checked."""

from __future__ import annotations

import pytest

from refsolver.catalogue.catalogue import Catalogue
from refsolver.runs.selfcheck import check_case

pytestmark = pytest.mark.benchmark(group="a tenth of the catalogue", min_rounds=2)


@pytest.fixture
def ids(benchmark):
    return list(Catalogue().paths)[:: 10 if benchmark.enabled else 200]


def test_reading(benchmark, ids):
    catalogue = Catalogue()
    assert catalogue.paths and catalogue.works
    assert benchmark(lambda: [catalogue.read(id) for id in ids])


@pytest.mark.parametrize("digits", [30, 200])
def test_self_check(benchmark, ids, digits):
    catalogue = Catalogue()
    cases = [catalogue.read(id) for id in ids]
    answers = benchmark(lambda: [a for case in cases for a in check_case(case, digits)])
    assert {a.agreement for a in answers} <= {"agree", "explained"}
