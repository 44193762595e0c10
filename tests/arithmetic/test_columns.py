"""Many cases at once: the same balls as one by one, and nothing looked at as a whole."""

from __future__ import annotations

import math
import operator

import pytest
from flint import arb, ctx, fmpq
from hypothesis import given, settings
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
            assert holds((-x).items[i], -a[i])


@settings(max_examples=30)
@given(columns, columns)
def test_quotients_are_those_of_each_case(a, b):
    a, b = zip(*[(p, q) for p, q in zip(a, b, strict=False) if p and q] or [(fmpq(1), fmpq(2))],
               strict=True)  # fmt: skip
    with ctx.workprec(100):
        x, y = (Balls([arb(v) for v in z]) for z in (a, b))
        for i, (p, q) in enumerate(zip(a, b, strict=True)):
            assert holds((x / y).items[i], p / q) and holds((x / 3).items[i], p / 3)
            assert holds((3 / x).items[i], 3 / p) and holds((arb(2) / x).items[i], 2 / p)


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
    with pytest.raises(Parted) as parted:
        ar.sign(Balls([arb(0, 1), arb(0, 1)]), "open for each")
    assert parted.value.parts == {None: [0, 1]}


@pytest.mark.parametrize(("number", "sign"), [(3, 1), (-3, -1), (0, 0)])
def test_a_sign_that_all_share_is_decided_once(number, sign):
    ar = ColumnArithmetic()
    assert ar.sign(arb(number), "shared") == sign
    assert ar.sign(Balls([arb(number)] * 2), "each") == sign
    assert ar.decisions == {"shared": sign, "each": sign}


def test_decisions_apart_are_not_logged_here():
    ar = ColumnArithmetic()
    other = ar.apart()
    assert other.sign(arb(1), "trial") == 1
    assert other.decisions == {"trial": 1} and ar.decisions == {}


def test_the_larger_is_the_same_one_in_every_case():
    ar = ColumnArithmetic()
    a, b = Balls([arb(2), arb(-3)]), Balls([arb(-3), arb(-4)])
    assert ar.larger(a, b, "first") is a and ar.larger(b, a, "second") is a
    assert ar.larger(arb(-5), b, "third") is b
    assert ar.decisions == {"first": 1, "second": -1, "third": -1}
    with pytest.raises(Parted) as parted:
        ar.larger(a, Balls([arb(1), arb(1)]), "changing")
    assert parted.value.parts == {1: [0], -1: [1]}


@pytest.mark.parametrize(
    "name", ["cos", "sin", "exp", "log", "cosh", "sinh", "asinh", "sqrt", "size"]
)
def test_functions_are_those_of_each_case(name):
    """Compared with Python's own ``math``; what all cases share stays one number."""
    plain = abs if name == "size" else getattr(math, name)
    function = getattr(ColumnArithmetic(), name)
    given = [0.25, 1.5, 7.0] if name in ("log", "sqrt") else [-0.75, 1.5, 7.0]
    found = function(Balls([arb(x) for x in given]))
    assert [float(x) for x in found.items] == pytest.approx([plain(x) for x in given], rel=1e-14)
    assert float(function(arb(1.5))) == pytest.approx(plain(1.5), rel=1e-14)


def test_a_root_is_of_what_is_not_negative_or_refused():
    ar = ColumnArithmetic()
    touching, four = ar.sqrt(Balls([arb(0, 1e-6), arb(4)])).items
    assert touching.is_finite() and touching.contains(arb(0)) and four == 2
    for negative in (arb(-4), Balls([arb(4), arb(-4)])):
        with pytest.raises(ValueError, match="proven negative"):
            ar.sqrt(negative)


def test_an_angle_that_all_share_is_one_number():
    """The cosine of a sixth of a turn is 1/2, its sine √3/2 (Euclid, IV.15, from memory)."""
    ar = ColumnArithmetic()
    for angle, radians in ((Turn(fmpq(1, 6)), math.pi / 3), (Radian(fmpq(7, 5)), 1.4)):
        cosine, sine = ar.cos_sin(angle)
        assert float(ar.radians(angle)) == pytest.approx(radians, rel=1e-15)
        assert float(cosine) == pytest.approx(math.cos(radians), rel=1e-14)
        assert float(sine) == pytest.approx(math.sin(radians), rel=1e-14)
    cosine, sine = ar.cos_sin(Turn(fmpq(1, 6)))
    assert cosine == arb(0.5) and (sine * sine * 4).contains(3)


def test_directions_are_those_of_each_case():
    ar = ColumnArithmetic()
    x, y = [3.0, -3.0, -3.0, 4.0], [4.0, 4.0, -4.0, -3.0]
    found = ar.atan2(Balls(list(map(arb, y))), Balls(list(map(arb, x))), "force")
    assert [float(a) for a in found.items] == pytest.approx(list(map(math.atan2, y, x)), rel=1e-14)
    mixed = ar.atan2(arb(1), Balls([arb(2), arb(-2)]), "force")
    assert [float(a) for a in mixed.items] == pytest.approx([math.atan2(1, z) for z in (2, -2)])
    assert float(ar.pi()) == math.pi


def test_roots_are_for_each_case_by_itself():
    for ask in (ColumnArithmetic().root, ColumnArithmetic().roots):
        with pytest.raises(NotInColumns, match="case by case"):
            ask(lambda x: x, lambda x: 1, (fmpq(0), fmpq(1)), "any")


def test_a_system_in_which_one_case_is_singular_says_which():
    ar = ColumnArithmetic()
    stiffness = Balls([arb(2), arb(0), arb(4), arb(0, 1)])
    with pytest.raises(Parted) as parted:
        ar.solve_linear([[stiffness]], [arb(8)], "spring")
    assert parted.value.parts == {1: [0, 2], None: [1, 3]} and ar.decisions == {}
    (unknown,) = ar.solve_linear([[subset(stiffness, [0, 2])]], [arb(8)], "spring")
    assert [float(x) for x in unknown.items] == [4, 2] and ar.decisions == {"spring": 1}
    with pytest.raises(NotInColumns, match="nothing differs"):
        ar.solve_linear([[arb(2)]], [arb(8)], "shared")


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


def test_parts_of_leaves_that_lie_in_records():
    """What holds no column is handed back itself, not a copy."""
    shared = Turn(fmpq(1, 6))
    given = (Slope(Leaves([1, 2, 3], fmpq(1, 2)), fmpq(3)), shared)
    assert at(given, 2) == (Slope(fmpq(3, 2), fmpq(3)), shared) and at(given, 2)[1] is shared
    assert subset(given, [2, 0])[0].rise.values == [3, 1]
    assert holds_columns(given) and holds_columns(given[0])
    assert not holds_columns(shared) and at(shared, 0) is shared
    assert subset((shared, [shared]), [0])[1][0] is shared


def test_leaves_of_a_factor_are_multiplied_by_it():
    leaves = Leaves([1, -2], fmpq(1, 3))
    assert leaves.scaled(fmpq(1)) is leaves and len(leaves) == 2
    assert [leaves.scaled(fmpq(6, 5)).number(i) for i in (0, 1)] == [fmpq(2, 5), fmpq(-4, 5)]
