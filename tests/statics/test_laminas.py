"""Plates of varying mass per area: adding densities, mirroring; refusals; mistakes."""

from __future__ import annotations

import random

import attrs
import pytest
from flint import fmpq
from hypothesis import given, settings
from hypothesis import strategies as st

from refsolver.arithmetic.double import DoubleArithmetic
from refsolver.quantities.views import View
from refsolver.statics.areas.between_curves import CurveAreas
from refsolver.statics.areas.curves import CurveTerm, Region
from refsolver.statics.chapters.centroids.plates import DensityTerm, Lamina
from refsolver.statics.prover import asks_of, prove
from refsolver.statics.reference import Proven
from refsolver.statics.registry import family

FAMILY = family("centroids/lamina")
AREA = family("second-moments/between-curves")
TINY = fmpq(1, 10**18)
ONE = fmpq(1)
SUMS = [View(n) for n in ("mass", "M_x", "M_y", "I_x", "I_y")]

sizes = st.integers(1, 9).map(fmpq)
halves = st.integers(0, 5).map(lambda k: fmpq(k, 2))


def outcomes(owner, case, *views):
    reference = prove(owner, case, list(views), strict=True)
    assert reference.residuals == "close", reference.residuals
    return [reference.outcomes[v] for v in views]


def values(owner, case, *views):
    found = outcomes(owner, case, *views)
    assert all(isinstance(x, Proven) for x in found), found
    return [x.enclosure.middle for x in found]


def close(found, expected):
    return all(abs(a - b) <= TINY for a, b in zip(found, expected, strict=True))


def box(a, b, *density, reference=ONE):
    return Lamina((Region(fmpq(0), a, (CurveTerm(b),)),), tuple(density), reference)


@given(sizes, sizes, halves, st.integers(0, 2).map(fmpq))
@settings(max_examples=25, deadline=None)
def test_a_rectangle_by_its_closed_form(a, b, i, j):
    """Integral of x^i y^j: a^(i+1) b^(j+1)/((i+1)(j+1)); half powers at squares of sides."""
    case = box(a * a, b, DensityTerm(ONE, i, j))
    mass, along = values(FAMILY, case, View("mass"), View("centre", "coordinate", along="+x"))
    whole = a ** int(2 * i + 2) * b ** int(j + 1) / ((i + 1) * (j + 1))
    assert close([mass, along], [whole, a * a * (i + 1) / (i + 2)])


@given(st.integers(0, 10**6), sizes, sizes)
@settings(max_examples=8, deadline=None)
def test_densities_add(seed, first, second):
    plain = family("centroids/between-curves").propose((1, 10), random.Random(seed))
    terms = (DensityTerm(first, ONE, fmpq(0)), DensityTerm(second, fmpq(0), fmpq(2)))
    both = Lamina(plain.regions, terms, plain.reference)
    parts = [Lamina(plain.regions, (t,), plain.reference) for t in terms]
    one, two = (values(FAMILY, part, *SUMS) for part in parts)
    found = values(FAMILY, both, *SUMS)
    assert all(abs(x - a - b) <= abs(x) / 10**25 for x, a, b in zip(found, one, two, strict=True))


@given(st.integers(0, 10**6), sizes)
@settings(max_examples=8, deadline=None)
def test_a_uniform_plate_is_its_area(seed, density):
    plain = family("centroids/between-curves").propose((1, 10), random.Random(seed))
    plate = Lamina(plain.regions, (DensityTerm(density),), plain.reference)
    area = CurveAreas(plain.regions, plain.reference)
    names = [View(n) for n in ("area", "I_x", "I_y", "k_x", "polar k")]
    asked = [View("mass"), *names[1:]]
    factors = [density, density, density, 1, 1]
    expected = [x * f for x, f in zip(values(AREA, area, *names), factors, strict=True)]
    found = values(FAMILY, plate, *asked)
    assert all(abs(x - y) <= abs(y) / 10**25 for x, y in zip(found, expected, strict=True))


def test_half_powers_of_y_between_level_edges():
    case = box(fmpq(6), fmpq(4), DensityTerm(ONE, fmpq(0), fmpq(1, 2)))
    assert close(values(FAMILY, case, View("mass")), [6 * fmpq(2, 3) * 8])
    edges = ((CurveTerm(ONE, ONE),), (CurveTerm(fmpq(-1)),))
    for terms, why in zip(edges, ("level edges", "below y = 0"), strict=True):
        with pytest.raises(ValueError, match=why):
            Lamina(
                (Region(fmpq(0), ONE, (CurveTerm(ONE),), terms),),
                (DensityTerm(ONE, fmpq(0), fmpq(1, 2)),), ONE,
            )  # fmt: skip


def test_refusals():
    region = Region(fmpq(0), ONE, (CurveTerm(ONE, ONE),))
    hole = attrs.evolve(region, kind="hole")
    case = Lamina((region, hole), (DensityTerm(ONE),), ONE)
    found = outcomes(FAMILY, case, View("mass"), View("centre", "coordinate", along="+x"),
                     View("polar k"))  # fmt: skip
    assert found[0].how == "zero"
    assert [x.reason for x in found[1:]] == ["no point", "not defined"]
    crossing = Region(fmpq(0), fmpq(2), (CurveTerm(ONE, fmpq(2)),), (CurveTerm(ONE, ONE),))
    (found,) = outcomes(FAMILY, Lamina((crossing,), (DensityTerm(ONE),), ONE), View("mass"))
    assert found.reason == "not defined" and "cross between" in found.evidence


@pytest.mark.parametrize("kappa", [(1, 2), (1e3, 1e4), (1e9, 1e10)])
def test_generated_cases_are_proven_strictly_and_drawn(kappa):
    for seed in range(5):
        case = FAMILY.propose(kappa, random.Random(seed))
        reference = prove(FAMILY, case, asks_of(FAMILY, case), strict=True)
        assert all(isinstance(x, Proven) for x in reference.outcomes.values())
        assert reference.residuals == "close"
        ar = DoubleArithmetic(reference.decisions)
        drawing = FAMILY.figure(case, FAMILY.solve(case, ar, FAMILY.rule_set()).answers, ar)
        assert drawing.caption and drawing.parts


@pytest.mark.parametrize("table", ["regions", "density"])
def test_every_filled_row_matters(table):
    case = FAMILY.filled({"regions": 2, table: 3}, random.Random(3))
    rows = getattr(case, table)
    assert len(rows) == 3
    for i in range(3):
        less = attrs.evolve(case, **{table: rows[:i] + rows[i + 1 :]})
        assert values(FAMILY, less, View("mass")) != values(FAMILY, case, View("mass"))
