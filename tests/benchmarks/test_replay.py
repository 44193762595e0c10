"""What replaying a known mistake costs beside solving the case in plain double precision.

All views are taken, as a diagnosis takes them; a proof at 30 digits is there for scale.
"""

from __future__ import annotations

import pytest

from refsolver.arithmetic.double import DoubleArithmetic
from refsolver.catalogue.catalogue import Catalogue
from refsolver.mistakes.known import GENERAL, replayed
from refsolver.runs.mistakes_table import views_of
from refsolver.statics.prover import prove
from refsolver.statics.registry import family

CASES = (
    "concurrent-forces/plane-resultant",
    "friction/screw",
    "rigid-bodies/space-reactions",
    "trusses/plane-truss",
)
MISTAKE = next(m for m in GENERAL if m.name == "pi = 3.14")


@pytest.fixture(params=CASES)
def case(request):
    return next(iter(Catalogue().cases((request.param,))))


@pytest.mark.parametrize("how", ["plain solve", "replay", "proof"])
def test_cost(benchmark, case, how):
    owner, views = family(case.family), views_of(family(case.family), case)
    benchmark.group = f"replay, {case.family}"
    if how == "plain solve":
        benchmark(lambda: owner.solve(case.given, DoubleArithmetic(), owner.rule_set()))
    elif how == "replay":
        assert benchmark(replayed, owner, case.given, views, MISTAKE)
    else:
        benchmark(prove, owner, case.given, views, digits=30)
