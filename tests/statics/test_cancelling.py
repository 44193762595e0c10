"""Nearly cancelled givens: an answer of known form, and how little of it is left."""

from __future__ import annotations

import pytest
from flint import ctx, fmpq

from refsolver.statics.chapters.force_systems.parallel_forces import OnLine, OnLineGivens
from refsolver.statics.chapters.virtual_work.cancelling import nearly_cancelled
from refsolver.statics.registry import family

LINE = family("force-systems/parallel-line")
DOWN = fmpq(10, 3)


def against(x):
    """7 down and x up: the resultant 10/3 - x/3 vanishes at x = 10."""
    return OnLineGivens((OnLine(DOWN, fmpq(1)), OnLine(-x / 3, fmpq(4))))


def left_of(given):
    return sum((item.force for item in given.forces), fmpq(0))


@pytest.mark.parametrize("spread", [4.0, 50.0, 12345.0, 3e9, 1e16])
def test_what_is_left_is_one_part_in_the_spread(spread):
    with ctx.workprec(24):
        given = nearly_cancelled(LINE, "resultant", against, spread)
        assert ctx.prec == 24
    left = -left_of(given) / DOWN
    assert abs(left * fmpq(round(spread * 100), 100) - 1) < fmpq(1, 100)
    up = -3 * given.forces[1].force
    assert (up * 10**20).q == 1  # a decimal that can be printed
    assert len(str(up.q)) <= len(str(int(spread))) + 6


def test_an_answer_that_does_not_depend_on_the_number_or_is_refused_is_told():
    def apart_only(x):
        return OnLineGivens((OnLine(DOWN, fmpq(1)), OnLine(DOWN, x)))

    def balanced(x):
        return OnLineGivens((OnLine(x, fmpq(1)), OnLine(-x, fmpq(4))))

    with pytest.raises(ValueError, match="resultant does not depend on the number"):
        nearly_cancelled(LINE, "resultant", apart_only, 100.0)
    with pytest.raises(ValueError, match=r"position: "):
        nearly_cancelled(LINE, "position", balanced, 100.0)
