"""What proof costs on a truss: every member force at thirty digits, against a raw solve.

The raw solve is FLINT's exact ``fmpq_mat.solve`` of the same equations, the matrix already
written out: the least that gives the same numbers, without names, decisions or roots. Quote
ratios within one run: ``python -m pytest tests/benchmarks --benchmark-only``.
"""

import pytest
from flint import fmpq, fmpq_mat

from refsolver.quantities.leaves import ByRun, Components
from refsolver.quantities.views import View
from refsolver.statics.chapters.trusses.joints import PlaneJoint
from refsolver.statics.chapters.trusses.truss import (
    Member,
    PlaneTruss,
    PlaneTrussLoad,
    PlaneTrussSupport,
)
from refsolver.statics.prover import prove
from refsolver.statics.registry import family

FAMILY = family("trusses/plane-truss")
UP = ByRun((fmpq(0), fmpq(1)))
SIZES = (20, 40, 100, 200)


def bridge(unknowns):
    """A simple span with a bent top chord, loaded at every joint: as many equations asked."""
    panels = unknowns // 4
    low = [f"L{i}" for i in range(panels + 1)]
    high = [f"U{i}" for i in range(1, panels)]
    joints = [PlaneJoint(name, (fmpq(4 * i), fmpq(0))) for i, name in enumerate(low)]
    joints += [
        PlaneJoint(name, (fmpq(4 * i), 3 + fmpq(i * (panels - i), 10)))
        for i, name in enumerate(high, 1)
    ]
    bars = [*zip(low, low[1:], strict=False), *zip(high, high[1:], strict=False)]
    bars += [*zip(low[1:], high, strict=False), (low[0], high[0]), (low[-1], high[-1])]
    bars += [
        (high[i - 1], low[i + 1]) if 2 * i < panels else (low[i], high[i])
        for i in range(1, panels - 1)
    ]
    return PlaneTruss(
        tuple(joints),
        tuple(Member(a, b) for a, b in bars),
        (PlaneTrussSupport("pin", low[0]), PlaneTrussSupport("roller", low[-1], UP)),
        tuple(
            PlaneTrussLoad(Components((fmpq(n % 3), fmpq(-10 - 7 * n % 13))), joint.name)
            for n, joint in enumerate(joints)
        ),
    )


def raw_system(truss):
    """The equations of the joints written out by hand, as two FLINT matrices."""
    row = {joint.name: 2 * n for n, joint in enumerate(truss.joints)}
    place = {joint.name: joint.at for joint in truss.joints}
    n = 2 * len(truss.joints)
    matrix = [[fmpq(0)] * n for _ in range(n)]
    for j, bar in enumerate(truss.members):
        for axis in range(2):
            run = place[bar.end][axis] - place[bar.start][axis]
            matrix[row[bar.start] + axis][j] = run
            matrix[row[bar.end] + axis][j] = -run
    pin, roller = (row[support.joint] for support in truss.supports)
    matrix[pin][n - 3] = matrix[pin + 1][n - 2] = matrix[roller + 1][n - 1] = fmpq(1)
    right = [[fmpq(0)] for _ in range(n)]
    for load in truss.loads:
        for axis in range(2):
            right[row[load.joint] + axis][0] -= load.force.along[axis]
    return fmpq_mat(matrix), fmpq_mat(right)


def views(truss):
    return [View("forces", key=f"{bar.start}-{bar.end}") for bar in truss.members]


@pytest.mark.parametrize("unknowns", SIZES)
def test_raw_exact_solve(benchmark, unknowns):
    benchmark.group = f"plane truss, {unknowns} unknowns, 30 digits"
    matrix, right = raw_system(bridge(unknowns))
    assert benchmark(matrix.solve, right).nrows() == unknowns


@pytest.mark.parametrize("unknowns", SIZES)
def test_proven_solve(benchmark, unknowns):
    benchmark.group = f"plane truss, {unknowns} unknowns, 30 digits"
    truss = bridge(unknowns)
    asks = views(truss)
    reference = benchmark(lambda: prove(FAMILY, truss, asks, second_opinion=False, residuals=False))
    assert all(outcome.digits >= 30 for outcome in reference.outcomes.values())


@pytest.mark.parametrize("unknowns", SIZES[:3])
def test_proven_solve_with_residuals(benchmark, unknowns):
    benchmark.group = f"plane truss, {unknowns} unknowns, 30 digits"
    truss = bridge(unknowns)
    asks = views(truss)
    assert benchmark(lambda: prove(FAMILY, truss, asks, second_opinion=False)).residuals == "close"


@pytest.mark.parametrize("unknowns", SIZES[:2])
def test_proven_solve_with_residuals_and_second_opinion(benchmark, unknowns):
    benchmark.group = f"plane truss, {unknowns} unknowns, 30 digits"
    truss = bridge(unknowns)
    asks = views(truss)
    assert benchmark(lambda: prove(FAMILY, truss, asks)).second_opinion == "agrees"


def test_the_raw_solve_is_of_the_same_truss():
    truss = bridge(40)
    matrix, right = raw_system(truss)
    densities = matrix.solve(right)
    asks = views(truss)
    outcomes = prove(FAMILY, truss, asks).outcomes
    place = {joint.name: joint.at for joint in truss.joints}
    for j, (bar, ask) in enumerate(zip(truss.members, asks, strict=True)):
        dx, dy = (place[bar.end][axis] - place[bar.start][axis] for axis in range(2))
        square = densities[j, 0] ** 2 * (dx * dx + dy * dy)
        enclosure = outcomes[ask].enclosure
        low, high = sorted((enclosure.lower * enclosure.lower, enclosure.upper * enclosure.upper))
        assert low <= square <= high
        assert (enclosure.upper > 0) == (densities[j, 0] > 0)
