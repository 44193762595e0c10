"""How much evidence a hypothesis about a calculator takes, where few readings fail."""

from __future__ import annotations

import pytest

from refsolver.runs.reported import Reading
from refsolver.runs.weighing import Evidence


def reading(place, number, deviation, *, failed=False, half_step=0.0):
    return Reading((f"case {place}", 0), "R", "R", failed, float(number), half_step=half_step,
                   band=0.005 * abs(number), deviation=deviation)  # fmt: skip


def weighed(failing, passing):
    """Evidence of readings, each with the number that the hypothesis says."""
    evidence = Evidence({"R": len(failing)})
    for one, said in [*failing, *passing]:
        evidence.take([one], {"R": said})
    explained = evidence.of(evidence.explained)
    return evidence.enough(explained), len(explained)


FAILING = (reading(0, 108.0, 0.7, failed=True, half_step=0.5), 108.0)
ROUNDED = [(reading(n, 83.4 + n, 0.08, half_step=0.05), 83.4 + n) for n in range(1, 4)]


def test_one_failing_reading_is_enough_where_all_others_are_as_said_and_not_merely_rounded():
    assert weighed([FAILING], ROUNDED) == (True, 1)


@pytest.mark.parametrize(
    "passing",
    [
        ROUNDED[:2],
        [(reading(n, 83.4 + n, 0.04, half_step=0.05), 83.4 + n) for n in range(1, 9)],
        [*ROUNDED, (reading(9, 55.3, 0.08, half_step=0.05), 55.4)],
    ],
    ids=["too few", "rounding alone would do", "one is otherwise"],
)
def test_one_failing_reading_is_not_enough_otherwise(passing):
    assert weighed([FAILING], passing) == (False, 1)


TWO = [(reading(n, 108.0 + n, 3.0, failed=True), 108.0 + n) for n in range(2)]
AS_SAID = [(reading(n, 80.123456789 + n, 0.0), 80.123456789 + n) for n in range(10, 16)]
OTHERWISE = [(reading(n, 60.123456789 + n, 0.0), 60.12 + n) for n in range(20, 22)]


def test_two_failing_readings_are_enough_unless_many_passing_ones_are_otherwise_than_said():
    assert weighed(TWO, AS_SAID) == (True, 2)
    assert weighed(TWO, [*AS_SAID, *OTHERWISE]) == (True, 2)
    assert weighed(TWO, [*AS_SAID[:5], *OTHERWISE]) == (False, 2)
    assert weighed([*TWO, (reading(2, 9.5, 1.0, failed=True), 9.5)], OTHERWISE) == (True, 3)


def test_a_passing_reading_shown_with_few_figures_is_as_said_where_rounding_it_says_so():
    shown = [(reading(n, 60.1 + n, 0.02, half_step=0.05), 60.123 + n) for n in range(20, 24)]
    assert weighed(TWO, shown) == (True, 2)
    beside = [(reading(n, 60.1 + n, 0.02, half_step=0.05), 60.2 + n) for n in range(20, 24)]
    assert weighed(TWO, beside) == (False, 2)
