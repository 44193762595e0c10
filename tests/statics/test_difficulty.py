"""Every family makes cases by range of condition number, measured, and says what it cannot."""

import random

import pytest

from refsolver.statics.conditioning import condition_number
from refsolver.statics.contract import Unreachable
from refsolver.statics.registry import family

PLANE = family("concurrent-forces/plane-resultant")


@pytest.mark.parametrize("kappa", [(1, 1e2), (1e5, 1e9), (1e13, 1e17), (1e20, 1e21), (50, 60)])
def test_a_generated_case_lies_in_its_range_and_comes_again(kappa):
    one, again = (PLANE.generate(kappa, random.Random(4)) for _ in range(2))
    assert one == again
    assert kappa[0] <= condition_number(PLANE, one) <= kappa[1]
    assert PLANE.generate(kappa, random.Random(5)) != one


class _Bounded(type(PLANE)):
    reach = (1.0, 50.0)
    reach_because = "it is only a trial"


def test_a_range_that_no_case_reaches_is_said_to_be_so():
    with pytest.raises(Unreachable, match=r"from 100 to 1000; they lie from 1 to 50: it is only"):
        _Bounded().generate((1e2, 1e3), random.Random(1))


def test_a_range_that_nothing_was_found_in_is_said_to_be_so():
    class Stubborn(type(PLANE)):
        def propose(self, kappa, rng):
            return super().propose((1.0, 1.0), rng)

    with pytest.raises(Unreachable, match="of 60 cases drawn, none"):
        Stubborn().generate((1e19, 1e20), random.Random(1))
