"""Many cases at once: the same balls as one by one, and nothing looked at as a whole."""

from __future__ import annotations

import operator

import pytest
from flint import arb, ctx, fmpq
from hypothesis import given
from hypothesis import strategies as st

from refsolver.arithmetic.columns import (
    Balls,
    ColumnArithmetic,
    Leaves,
    NotInColumns,
    Parted,
    at,
    holds_columns,
    subset,
)
from refsolver.arithmetic.detached import enclosure_of
from refsolver.arithmetic.enclosure import EnclosureArithmetic
from refsolver.arithmetic.exact import Constant, Radian, Slope, Turn

fractions = st.fractions(-1000, 1000, max_denominator=1000).map(
    lambda x: fmpq(x.numerator, x.denominator)
)
columns = st.lists(fractions, min_size=2, max_size=5).filter(lambda x: len(set(map(str, x))) > 1)


def holds(ball, number) -> bool:
    """Whether the ball contains the fraction, exactly."""
    enclosure = enclosure_of(ball)
    return bool(enclosure.lower <= number <= enclosure.upper)


@given(columns)
def test_leaves_hold_the_numbers_exactly(numbers):
    leaves = Leaves.of(numbers)
    assert [leaves.number(i) for i in range(len(numbers))] == numbers
    assert [(-leaves).number(i) for i in range(len(numbers))] == [-x for x in numbers]
    with ctx.workprec(120):
        assert all(holds(ball, x) for ball, x in zip(leaves.balls().items, numbers, strict=True))


@given(
    st.lists(st.floats(allow_nan=False, allow_infinity=False), min_size=1, max_size=4), fractions
)
def test_doubles_are_leaves_to_the_last_bit(values, factor):
    leaves = Leaves(values, factor)
    with ctx.workprec(120):
        for i, (value, ball) in enumerate(zip(values, leaves.balls().items, strict=True)):
            exact = fmpq(*value.as_integer_ratio()) * factor
            assert leaves.number(i) == exact and holds(ball, exact)


def test_what_is_the_same_for_all_stands_for_itself():
    assert Leaves.of([fmpq(1, 3)] * 3) == fmpq(1, 3)
    with pytest.raises(NotInColumns):
        Leaves.of([fmpq(1, 3**200), fmpq(1, 5**200)])


@pytest.mark.parametrize(
    "look",
    [
        bool, hash, abs, lambda x: x == 0, lambda x: x != x, lambda x: x < 1, lambda x: x >= 1,
        lambda x: fmpq(1) == x, lambda x: fmpq(1) < x, lambda x: x in (fmpq(1), fmpq(2)),
        lambda x: max([x, fmpq(1)]), lambda x: x + 1, lambda x: fmpq(1) * x, lambda x: 1 / x,
        lambda x: x**2, lambda x: Constant("sqrt", (x,)) == Constant("sqrt", (fmpq(2),)),
    ],
)  # fmt: skip
def test_no_leaf_is_looked_at_as_a_whole(look):
    with pytest.raises(NotInColumns):
        look(Leaves([1, 2], fmpq(1)))


@given(columns, columns, st.sampled_from([operator.add, operator.sub, operator.mul]))
def test_operations_are_those_of_each_case(a, b, operation):
    count = min(len(a), len(b))
    with ctx.workprec(100):
        x, y = (Balls([arb(v) for v in z[:count]]) for z in (a, b))
        for mixed in (operation(x, y), operation(x, 3), operation(3, x), operation(arb(2), x)):
            assert len(mixed.items) == count
        for i in range(count):
            assert holds(operation(x, y).items[i], operation(a[i], b[i]))
            assert holds(operation(x, 3).items[i], operation(a[i], 3))
            assert holds(operation(3, x).items[i], operation(fmpq(3), a[i]))
            assert holds(operation(arb(2), x).items[i], operation(fmpq(2), a[i]))


@given(columns, st.sampled_from(["turn", "radian", "rise", "run"]))
def test_angles_are_those_of_each_case(numbers, form):
    make = {
        "turn": Turn, "radian": Radian,
        "rise": lambda x: Slope(x, fmpq(3)), "run": lambda x: Slope(fmpq(2), x),
    }[form]  # fmt: skip
    with ctx.workprec(100):
        cosine, sine = ColumnArithmetic().cos_sin(make(Leaves.of(numbers)))
        radians = ColumnArithmetic().radians(make(Leaves.of(numbers)))
        for i, number in enumerate(numbers):
            own = EnclosureArithmetic()
            c, s = own.cos_sin(make(number))
            assert cosine.items[i].overlaps(c) and sine.items[i].overlaps(s)
            assert radians.items[i].overlaps(own.radians(make(number)))


def test_a_decision_falls_alike_or_says_who_belongs_together():
    ar = ColumnArithmetic()
    assert ar.sign(Balls([arb(1), arb(2)]), "both") == 1 and ar.decisions == {"both": 1}
    with pytest.raises(Parted) as parted:
        ar.sign(Balls([arb(1), arb(-2), arb(0), arb(0, 1), arb(3)]), "mixed")
    assert parted.value.parts == {1: [0, 4], -1: [1], 0: [2], None: [3]}
    with pytest.raises(NotInColumns):
        ar.sign(arb(0, 1), "open for all")


@given(st.lists(st.tuples(*[st.integers(-9, 9)] * 6), min_size=2, max_size=5))
def test_linear_systems_are_solved_case_by_case(systems):
    """Cramer's rule in whole fractions, written out for two unknowns."""
    a, b, c, d, e, f = (Balls([arb(x) for x in column]) for column in zip(*systems, strict=True))
    determinants = [a * d - b * c for a, b, c, d, _, _ in systems]
    with ctx.workprec(100):
        try:
            found = ColumnArithmetic().solve_linear([[a, b], [c, d]], [e, f], "two")
        except Parted as parted:
            assert [determinants[i] for i in parted.parts[None]].count(0)
            return
    for i, (a, b, c, d, e, f) in enumerate(systems):
        assert holds(found[0].items[i], fmpq(e * d - b * f, determinants[i]))
        assert holds(found[1].items[i], fmpq(a * f - e * c, determinants[i]))


def test_parts_of_whatever_holds_columns():
    held = {"a": (Leaves([1, 2, 3], fmpq(1, 2)), "word"), "b": [Balls([arb(4), arb(5), arb(6)])]}
    assert at(held, 1) == {"a": (fmpq(1), "word"), "b": [arb(5)]}
    some = subset(held, [2, 0])
    assert at(some, 0) == at(held, 2) and at(some, 1) == at(held, 0)
    assert holds_columns(held) and not holds_columns((1, "x"))
