"""Names under which one arithmetic finds what another decided."""

from __future__ import annotations

import pytest
from flint import fmpq

from refsolver.arithmetic.exact import Slope
from refsolver.arithmetic.naming import root_count, root_decisions, slope_name


@pytest.mark.parametrize("count", range(5))
def test_the_number_of_roots_is_read_as_it_was_written(count):
    decisions = root_decisions("lengths", count)
    assert len(decisions) == count + 1 and list(decisions.values()) == [1] * count + [-1]
    assert decisions[f"lengths: root {count + 1}"] == -1
    assert root_count("lengths", decisions | {"other: root 1": 1}) == count


def test_without_the_decision_after_the_last_root_nothing_is_known():
    assert root_count("lengths", {}) is None
    assert root_count("lengths", {"lengths: root 1": 1, "lengths: root 2": 1}) is None


def test_equal_slopes_have_one_name():
    assert slope_name(Slope(fmpq(3), fmpq(-4))) == slope_name(Slope(fmpq(3), fmpq(-4)))
    assert slope_name(Slope(fmpq(3), fmpq(-4))) != slope_name(Slope(fmpq(-4), fmpq(3)))
