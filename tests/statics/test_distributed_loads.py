"""Spread loads: cutting, adding, mirroring and shifting; refusals; mistakes."""

from __future__ import annotations

import random

import attrs
import pytest
from flint import fmpq
from hypothesis import given, settings
from hypothesis import strategies as st

from refsolver.arithmetic.double import DoubleArithmetic
from refsolver.quantities.kinds import NoAnswer
from refsolver.quantities.views import View
from refsolver.statics.chapters.distributed_loads.area_loads import Patch, Patches
from refsolver.statics.chapters.distributed_loads.linear_loads import LinearLoads, LinearStretch
from refsolver.statics.chapters.distributed_loads.polynomial_loads import (
    PolynomialLoads,
    PolynomialStretch,
    Term,
)
from refsolver.statics.prover import asks_of, prove
from refsolver.statics.reference import Proven
from refsolver.statics.registry import family
from tests.shipped_cases import cases_of

LINEAR = family("distributed-loads/line-load")
POLYNOMIAL = family("distributed-loads/polynomial")
AREA = family("distributed-loads/area-load")
FAMILIES = pytest.mark.parametrize("owner", [LINEAR, POLYNOMIAL, AREA], ids=lambda f: f.name)

small = st.integers(-20, 20).map(fmpq)
spans = st.integers(1, 12).map(fmpq)
stretches = st.tuples(small, spans, small, small)
WHOLE = [View("resultant"), View("moment")]


def outcomes(owner, case, *views):
    found = prove(owner, case, list(views), strict=True).outcomes
    return [found[v] for v in views]


def values(owner, case, *views):
    found = outcomes(owner, case, *views)
    assert all(isinstance(x, Proven) for x in found), found
    return [x.enclosure.middle for x in found]


def linear(*rows, about=0):
    return LinearLoads(
        tuple(LinearStretch(a, a + span, first, last) for a, span, first, last in rows),
        fmpq(about),
    )


def close(found, expected):
    return all(abs(a - b) <= fmpq(1, 10**20) for a, b in zip(found, expected, strict=True))


@given(stretches, st.integers(1, 9))
@settings(max_examples=40, deadline=None)
def test_a_stretch_cut_in_two_is_the_same_load(row, tenths):
    start, span, first, last = row
    share = fmpq(tenths, 10)
    middle = first + (last - first) * share
    cut = linear(
        (start, span * share, first, middle),
        (start + span * share, span * (1 - share), middle, last),
    )
    assert close(values(LINEAR, cut, *WHOLE), values(LINEAR, linear(row), *WHOLE))


@given(st.lists(stretches, min_size=1, max_size=3), small)
@settings(max_examples=30, deadline=None)
def test_a_moment_moves_with_its_point_by_the_resultant(rows, about):
    force, moment = values(LINEAR, linear(*rows), *WHOLE)
    (there,) = values(LINEAR, linear(*rows, about=about), View("moment"))
    assert close([there], [moment - about * force])


@given(stretches)
@settings(max_examples=30, deadline=None)
def test_a_mirrored_load_has_the_opposite_moment(row):
    start, span, first, last = row
    mirrored = (-start - span, span, last, first)
    force, moment = values(LINEAR, linear(row), *WHOLE)
    assert close(values(LINEAR, linear(mirrored), *WHOLE), [force, -moment])


@given(stretches)
@settings(max_examples=30, deadline=None)
def test_a_linear_load_is_a_polynomial_of_degree_one(row):
    start, span, first, last = row
    terms = (Term(0, first), Term(1, last - first))
    case = PolynomialLoads((PolynomialStretch(start, start + span, terms, span, start),))
    assert close(values(POLYNOMIAL, case, *WHOLE), values(LINEAR, linear(row), *WHOLE))


@given(st.integers(0, 6), spans, small.filter(bool), small)
@settings(max_examples=30, deadline=None)
def test_a_power_acts_at_its_well_known_place(power, span, load, start):
    """w = q (s/L)^n: q L / (n + 1) at (n + 1)/(n + 2) L (handbook tables; from memory)."""
    stretch = PolynomialStretch(start, start + span, (Term(power, load),), span, start)
    force, position = values(
        POLYNOMIAL, PolynomialLoads((stretch,)), View("resultant"), View("position")
    )
    place = start + span * fmpq(power + 1, power + 2)
    assert close([force, position], [load * span / (power + 1), place])


@given(small, spans, small.filter(bool))
@settings(max_examples=20, deadline=None)
def test_loads_without_sum_have_no_point(start, span, load):
    case = linear((start, span, load, -load))
    found = outcomes(LINEAR, case, View("position"), View("positions", key="stretch 1"))
    assert [x.reason for x in found] == ["no point", "no point"]
    (moment,) = values(LINEAR, case, View("moment"))
    assert close([moment], [-load * span * span / 6])


@pytest.mark.parametrize("end", [fmpq(1), fmpq(0)])
def test_a_stretch_must_end_beyond_its_start(end):
    with pytest.raises(ValueError, match="beyond its start"):
        LinearStretch(fmpq(1), end, fmpq(1), fmpq(1))
    with pytest.raises(ValueError, match="beyond its start"):
        PolynomialStretch(fmpq(1), end, (Term(0, fmpq(1)),), fmpq(1))


@pytest.mark.parametrize(
    "sides",
    [{}, {"length": fmpq(1)}, {"area": fmpq(1), "width": fmpq(1)},
     {"area": fmpq(1), "length": fmpq(1), "width": fmpq(1)}],
)  # fmt: skip
def test_a_patch_states_its_area_once(sides):
    with pytest.raises(ValueError, match="either the area, or the length and the width"):
        Patch((fmpq(1),), **sides)


@given(st.lists(st.tuples(small, small, spans, spans), min_size=1, max_size=4))
@settings(max_examples=20, deadline=None)
def test_sides_and_area_say_the_same(rows):
    sides = Patches(tuple(Patch((p, q), length=a, width=b) for p, q, a, b in rows))
    areas = Patches(tuple(Patch((p, q), area=a * b) for p, q, a, b in rows))
    expected = sum(((p + q) * a * b for p, q, a, b in rows), fmpq(0))
    for case in (sides, areas):
        assert values(AREA, case, View("total")) == [expected]


@FAMILIES
@pytest.mark.parametrize("kappa", [(1, 10), (1e4, 1e5), (1e9, 1e10)])
def test_generated_cases_are_proven_strictly_and_drawn(owner, kappa):
    for seed in range(6):
        case = owner.propose(kappa, random.Random(seed))
        reference = prove(owner, case, asks_of(owner, case), strict=True)
        assert all(isinstance(x, Proven | NoAnswer) for x in reference.outcomes.values())
        ar = DoubleArithmetic(reference.decisions)
        drawing = owner.figure(case, owner.solve(case, ar, owner.rule_set()).answers, ar)
        assert drawing.caption and drawing.parts


@FAMILIES
def test_every_filled_row_matters(owner):
    table = "patches" if owner is AREA else "stretches"
    case = owner.filled({table: 5}, random.Random(2))
    rows = getattr(case, table)
    view = View("total") if owner is AREA else View("resultant")
    assert len(rows) == 5
    for i in range(5):
        less = attrs.evolve(case, **{table: rows[:i] + rows[i + 1 :]})
        assert values(owner, less, view) != values(owner, case, view)


@FAMILIES
def test_each_mistake_is_revealed_and_caught(owner):
    """Some case of the catalogue shows it, and there the second method does not close."""
    cases = cases_of(owner.name)
    for mistake in owner.mistakes:
        assert any(shows(owner, case.given, mistake) for case in cases), mistake.name


def shows(owner, case, mistake):
    views = [v for v in asks_of(owner, case) if v.key is None]
    right = prove(owner, case, views).outcomes
    mistaken = prove(owner, case, views, rules=mistake.rules, residuals=False).outcomes
    both = [v for v in views if isinstance(right[v], Proven) and isinstance(mistaken[v], Proven)]
    if all(right[v].ball.overlaps(mistaken[v].ball) for v in both):
        return False
    assert "does not close" in prove(owner, case, views, rules=mistake.rules).residuals
    return True
