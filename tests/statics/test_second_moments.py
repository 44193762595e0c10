"""Second moments of composite areas: moving the origin, holes, halves and quarters."""

import random

import attrs
import pytest
from flint import fmpq

from refsolver.arithmetic.double import DoubleArithmetic
from refsolver.quantities.kinds import NoAnswer
from refsolver.statics.areas.shapes import (
    QUADRANTS,
    AreaGivens,
    Disc,
    HalfDisc,
    QuarterDisc,
    Rectangle,
)
from refsolver.statics.prover import asks_of, prove
from refsolver.statics.registry import family

FAMILY = family("second-moments/composite")
ORIGIN = (fmpq(1), fmpq(-2))


def answers_of(given):
    return FAMILY.solve(given, DoubleArithmetic(), FAMILY.rule_set()).answers


@pytest.mark.parametrize("seed", range(5))
def test_green_and_quadrants_confirm_the_parallel_axis_theorem(seed):
    given = FAMILY.propose((1.0, 1e3), random.Random(seed))
    assert prove(FAMILY, given, asks_of(FAMILY, given)).residuals == "close"


@pytest.mark.parametrize("bulges", ["+x", "-x", "+y", "-y"])
def test_a_half_disc_is_two_quarters(bulges):
    half = answers_of(AreaGivens(half_discs=(HalfDisc(ORIGIN, fmpq(3), bulges),)))
    keep = [
        q
        for q, s in QUADRANTS.items()
        if s["xy".index(bulges[1])] == (1 if bulges[0] == "+" else -1)
    ]
    quarters = tuple(QuarterDisc(ORIGIN, fmpq(3), q) for q in keep)
    both = answers_of(AreaGivens(quarter_discs=quarters))
    for name in ("area", "I_x", "I_y", "I_xy", "centroidal I_x", "centroidal I_y"):
        assert half[name] == pytest.approx(both[name], rel=1e-12, abs=1e-9)
    assert half["centroid"] == pytest.approx(both["centroid"], rel=1e-12)


def test_own_moments_do_not_depend_on_the_origin():
    row = Rectangle((fmpq(0), fmpq(0)), fmpq(2), fmpq(5))
    moved = attrs.evolve(row, corner=(fmpq(7), fmpq(-3)))
    disc = Disc((fmpq(1), fmpq(1)), fmpq(1, 2), "hole")
    disc_moved = attrs.evolve(disc, centre=(fmpq(8), fmpq(-2)))
    a = answers_of(AreaGivens(rectangles=(row,), discs=(disc,)))
    b = answers_of(AreaGivens(rectangles=(moved,), discs=(disc_moved,)))
    for name in ("centroidal I_x", "centroidal I_y", "centroidal I_xy", "centroidal polar"):
        assert a[name] == pytest.approx(b[name], rel=1e-9, abs=1e-9)


def test_no_centroid_where_nothing_is_left():
    row = Rectangle(ORIGIN, fmpq(2), fmpq(2))
    answers = answers_of(AreaGivens(rectangles=(row, attrs.evolve(row, kind="hole"))))
    assert answers["centroid"] == NoAnswer("no point", answers["centroid"].evidence)
    assert answers["centroidal I_x"].reason == "not defined"


def test_an_area_without_parts_is_refused():
    with pytest.raises(ValueError, match="at least one part"):
        AreaGivens()
