"""How the cost of a proven solve grows with the rows of a family's tables.

For each family with tables that can be filled, every table by itself is filled to growing
numbers of rows; the growth exponent is the slope of log time over log rows between the
smallest and the largest number, from the least of several processor times. Numbers are left
out whose proof went another way than that of the largest (a zero among more answers, which
only algebra proves; more bits): that step is no growth. The order is that of the family's
algorithm: 1 for sums over rows and for solves with a fixed number of unknowns, 2 for products
of polynomials with as many terms as rows, 3 for the elimination of as many unknowns as there
are rows (less where the equations are sparse). Small numbers of rows have a fixed share, so
that an exponent lies below its order.
"""

from __future__ import annotations

import math
import random
import time

import pytest

from refsolver.statics.givens import fields
from refsolver.statics.prover import asks_of, prove
from refsolver.statics.registry import families
from tests.benchmarks.test_truss import bridge

ROWS = (24, 48, 96, 192)
REPEATS = 5
ENOUGH = 0.4
"""Seconds a solve may take before no larger number of rows is tried."""

ALLOWED = 0.5
"""Beyond the order: what scatter and growing numbers explain."""

ELIMINATION = {
    ("beams/extremes", "hinges"),
    ("beams/internal-forces", "hinges"),
    ("beams/reactions", "hinges"),
    ("beams/section-forces", "hinges"),
    ("trusses/plane-truss", "joints"),
    ("trusses/space-truss", "joints"),
}
"""Tables whose rows bring unknowns of their own."""

PRODUCTS = {("hydrostatics/curved-sided-surface", "terms")}
"""Tables whose rows are the terms of a polynomial that is squared."""

BESIDE = {
    "particle-equilibrium/plane-tensions": {"supports": 2},
    "particle-equilibrium/space-tensions": {"supports": 3},
    "particle-equilibrium/plane-springs": {"springs": 2},
}
"""Rows that the other tables of a family need so that one of them can be filled."""

TOO_LONG = {("trusses/space-truss", "joints"): (12, 24), ("centroids/lamina", "regions"): (6, 12)}
"""Tables that take seconds to make or to solve, and the rows they are given."""


def filled(owner, table, rows):
    if (owner.name, table) == ("trusses/plane-truss", "joints"):
        return bridge(2 * rows // 4 * 4)
    try:
        return owner.filled({**BESIDE.get(owner.name, {}), table: rows}, random.Random(1))
    except (ArithmeticError, ValueError):
        return None


def tables_of(owner):
    for table, field in fields(owner.givens).items():
        if field.shape == "many" and filled(owner, table, 8) is not None:
            yield table


def order_of(name, table):
    return 3 if (name, table) in ELIMINATION else 2 if (name, table) in PRODUCTS else 1


def seconds(owner, given):
    """The least of several solves, and the way the proof went."""
    asks = asks_of(owner, given)
    least = math.inf
    for _ in range(REPEATS):
        begun = time.process_time()
        reference = prove(owner, given, asks, second_opinion=False, residuals=False)
        least = min(least, time.process_time() - begun)
    return least, (reference.bits, bool(reference.zeros))


def exponent(owner, table):
    """The growth exponent; None where too few numbers of rows can be filled."""
    found = []
    for rows in TOO_LONG.get((owner.name, table), ROWS):
        given = filled(owner, table, rows)
        if given is None:
            continue
        found.append((rows, *seconds(owner, given)))
        if found[-1][1] > ENOUGH:
            break
    alike = [(rows, least) for rows, least, way in found if way == found[-1][2]]
    if len(alike) < 2:
        return None
    (few, quick), (many, slow) = alike[0], alike[-1]
    return math.log(slow / quick) / math.log(many / few)


@pytest.mark.benchmark(group="growth of a proven solve with unknowns to eliminate, 12 rows")
@pytest.mark.parametrize(("name", "table"), sorted(ELIMINATION))
def test_growth_of_elimination(benchmark, measured, name, table):
    owner = families()[name]
    given = filled(owner, table, 12)
    asks = asks_of(owner, given)
    benchmark.extra_info |= {"table": table, "order": order_of(name, table)}
    if measured:
        found = exponent(owner, table)
        benchmark.extra_info["exponent"] = f"{found:.2f}"
        assert found <= order_of(name, table) + ALLOWED
    benchmark.pedantic(
        lambda: prove(owner, given, asks, second_opinion=False, residuals=False), rounds=3
    )


@pytest.fixture
def measured(request):
    """Only where benchmarks alone are asked for: no ordinary run of the tests takes times."""
    return request.config.getoption("benchmark_only")


SIZED = [name for name, owner in families().items() if any(tables_of(owner))]


@pytest.mark.benchmark(group="growth of a proven solve with the rows of a table, 12 rows")
@pytest.mark.parametrize("name", SIZED)
def test_growth(benchmark, measured, name):
    owner = families()[name]
    worst, orders = (-math.inf, ""), {}
    for table in tables_of(owner):
        orders[table] = order_of(name, table)
        found = exponent(owner, table) if measured else None
        if found is not None:
            worst = max(worst, (found - orders[table], table))
    table = worst[1] or next(iter(orders))
    given = filled(owner, table, 12)
    asks = asks_of(owner, given)
    benchmark.extra_info["table"] = table
    if measured:
        benchmark.extra_info["exponent"] = f"{worst[0] + orders[table]:.2f}"
        benchmark.extra_info["order"] = orders[table]
    benchmark.pedantic(
        lambda: prove(owner, given, asks, second_opinion=False, residuals=False), rounds=3
    )
    assert not measured or worst[0] <= ALLOWED, worst
