"""How much a search for roots may do, and that what it can tell it tells within that.

Evaluations are counted here, by the function that is searched, and not by the search.
"""

from contextlib import suppress

import pytest
from flint import arb, ctx, fmpq
from hypothesis import given, settings
from hypothesis import strategies as st

from refsolver.arithmetic.algebraic import AlgebraicArithmetic, algebraic_decisions
from refsolver.arithmetic.careful import CarefulArithmetic, at_double_precision
from refsolver.arithmetic.contract import MOST_EVALUATIONS, GivenUp, Undecided
from refsolver.arithmetic.derivative import DerivativeArithmetic
from refsolver.arithmetic.double import DoubleArithmetic
from refsolver.arithmetic.enclosure import EnclosureArithmetic
from refsolver.arithmetic.expansion import Series
from refsolver.arithmetic.multiprecision import MultiprecisionArithmetic
from refsolver.arithmetic.strict import StrictArithmetic
from refsolver.arithmetic.substituted import TangentArithmetic

BALLS = {
    "enclosure": EnclosureArithmetic,
    "strict": StrictArithmetic,
    "algebraic": AlgebraicArithmetic,
    "derivative": lambda: DerivativeArithmetic([]),
    "tangent": lambda: TangentArithmetic(EnclosureArithmetic(), fmpq(7), arb(7)),
}
SEEING = {
    "double": DoubleArithmetic,
    "multiprecision": lambda: MultiprecisionArithmetic(120),
    "careful": CarefulArithmetic,
}


@pytest.fixture(autouse=True)
def precision():
    with ctx.workprec(200):
        yield


class Counted:
    """A function that counts its evaluations, on numbers and on series alike.

    ``work`` counts a series by its terms: a polynomial takes two, one of them for its rest.
    """

    def __init__(self, function):
        self.function, self.count, self.work = function, 0, 0

    def __call__(self, x):
        self.count += 1
        self.work += (ctx.cap - 1) / 2 if isinstance(x, Series) else 1
        return self.function(x)


def searched(ar, value, slope, low, high):
    """The roots and how often the two functions were evaluated."""
    f, g = Counted(value), Counted(slope)
    found = ar.roots(f, g, (fmpq(low), fmpq(high)), "positions")
    return found, f.count + g.count


def nearly_cancelling(ar, excess):
    """(3 + excess) cos x - 3 cos x, with its derivative: no smaller than ``excess`` cos x."""
    c = ar.bring(3 + excess)

    def value(x):
        return c * ar.cos(x) - 3 * ar.cos(x)

    return value, lambda x: 3 * ar.sin(x) - c * ar.sin(x)


@pytest.mark.parametrize("make", BALLS.values(), ids=BALLS)
@pytest.mark.parametrize("bits", [20, 52, 100])
def test_terms_that_nearly_cancel_leave_their_roots_to_be_told(make, bits):
    """Zeros of the cosine in (-2, 12): pi/2 times -1, 1, 3, 5 and 7."""
    ar = make()
    found, count = searched(ar, *nearly_cancelling(ar, fmpq(1, 2**bits)), -2, 12)
    assert count < 2000
    assert len(found) == 5
    for root, odd in zip(found, (-1, 1, 3, 5, 7), strict=True):
        ball = getattr(root, "ball", getattr(root, "value", root))
        assert ball.overlaps(arb.pi() * odd / 2)
        assert ball.rad() < 1e-15


@settings(max_examples=10, deadline=None)
@given(st.lists(st.integers(-30, 30), min_size=1, max_size=5, unique=True), st.integers(40, 90))
def test_roots_under_much_larger_terms(places, bits):
    """A product of linear factors, times 2^-bits, beside terms of size one that cancel."""
    ar = EnclosureArithmetic()

    def product(x):
        result = 0 * x + fmpq(1, 2**bits)
        for p in places:
            result = result * (x - p)
        return result

    def value(x):
        s, c = ar.sin(x), ar.cos(x)
        return product(x) + s * s + c * c - 1

    def slope(x):
        total = 0 * x
        for skipped in places:
            part = 0 * x + fmpq(1, 2**bits)
            for p in places:
                part = part if p == skipped else part * (x - p)
            total = total + part
        return total

    with ctx.workprec(400):
        f = Counted(value)
        found = ar.roots(f, slope, (fmpq(-63, 2), fmpq(61, 2)), "places")
        assert [round(float(x)) for x in found] == sorted(places)
        assert all(x.overlaps(arb(p)) for x, p in zip(found, sorted(places), strict=True))
    assert f.count < MOST_EVALUATIONS


@pytest.mark.parametrize("make", BALLS.values(), ids=BALLS)
def test_a_search_without_end_is_given_up(make):
    """A function that has a value at every point, and on no cell a decided branch."""
    ar = make()

    def value(x):
        inner = getattr(x, "ball", getattr(x, "value", x))
        if not (isinstance(inner, arb) and inner.is_exact()):
            raise Undecided("a branch")
        return ar.bring(fmpq(1)) + 0 * x

    f = Counted(value)
    with pytest.raises(GivenUp) as given_up:
        ar.roots(f, value, (fmpq(0), fmpq(1)), "positions")
    assert f.count <= MOST_EVALUATIONS
    assert given_up.value.name == "positions"
    assert "given up after" in given_up.value.why or "too close" in given_up.value.why


def test_what_is_spent_is_said_in_words():
    ar = EnclosureArithmetic()
    with ctx.workprec(900):
        wild = Counted(lambda x: ar.cos(100_000 * x))
        slope = Counted(lambda x: -100_000 * ar.sin(100_000 * x))
        with pytest.raises(
            GivenUp, match=f"given up after {MOST_EVALUATIONS} evaluations: two"
        ) as up:
            ar.roots(wild, slope, (fmpq(0), fmpq(1)), "waves")
    assert up.value.name == "waves"
    assert wild.count > MOST_EVALUATIONS / 10
    assert wild.work + slope.work <= MOST_EVALUATIONS


def test_terms_are_added_where_only_their_rest_leaves_a_cell_open():
    """Zeros of the cosine under terms 2^300 times as large, with work to spare."""
    ar = EnclosureArithmetic()
    with ctx.workprec(900):
        f, g = map(Counted, nearly_cancelling(ar, fmpq(1, 2**300)))
        found = ar.roots(f, g, (fmpq(-2), fmpq(12)), "positions")
    assert len(found) == 5
    assert f.work + g.work < 0.8 * MOST_EVALUATIONS


@pytest.mark.parametrize("size", [fmpq(1), fmpq(-1), fmpq(1, 1000), fmpq(-1, 1000)])
def test_a_plain_equation_is_searched_on_balls_alone(size):
    """x^2 - 2 rises or falls, steeply or not: its size says nothing of its roots."""

    def ball(x):
        assert isinstance(x, arb)
        return x

    ar = EnclosureArithmetic()
    bracket = (fmpq(-3), fmpq(4))
    f, g = Counted(lambda x: size * (ball(x) * x - 2)), Counted(lambda x: 2 * size * ball(x))
    low, high = ar.roots(f, g, bracket, "both")
    assert (-low).overlaps(arb(2).sqrt()) and high.overlaps(arb(2).sqrt())
    assert f.work + g.work < 100


@pytest.mark.parametrize("sign", [1, -1])
def test_a_root_at_an_end_lies_outside_whichever_way_the_function_goes(sign):
    """x (x - 2) from and to one of its roots, seen from either side."""
    ar = EnclosureArithmetic()

    def found(low, high, at):
        value = lambda x: sign * (x - at) * (x - at - 2)  # noqa: E731
        slope = lambda x: sign * (2 * x - 2 * at - 2)  # noqa: E731
        return ar.roots(value, slope, (fmpq(low), fmpq(high)), "inside")

    (inner,) = found(0, 3, 0)
    assert inner.contains(2)
    (inner,) = found(-1, 2, 0)
    assert inner.contains(0)
    assert found(0, 2, 0) == []
    assert found(0, fmpq(3, 2), 0) == [] == found(fmpq(1, 2), 2, 0)


@pytest.mark.parametrize("sign", [1, -1])
@pytest.mark.parametrize(
    "value",
    [
        lambda x: 2 - x,  # of one sign, less than one at the end
        lambda x: x - arb(1.5, 0.3),  # may be zero at the end
        lambda x: arb(0.5, 0.3) - x,  # and at the beginning
    ],
)
def test_without_a_proven_change_of_sign_no_root_is_claimed(sign, value):
    bracket = (fmpq(1, 4), fmpq(7, 4))
    with pytest.raises(Undecided, match="no change of sign"):
        EnclosureArithmetic().root(
            lambda x: sign * value(x), lambda x: arb(sign) * 1, bracket, "root"
        )


@pytest.mark.parametrize("sign", [1, -1])
@pytest.mark.parametrize("end", [0, 3])
def test_a_value_that_touches_zero_at_an_end_proves_no_sign(sign, end):
    """x - 1 within the bracket; at one end, what a root taken of nothing leaves, zero or more."""
    touching = arb(0, 1).nonnegative_part()
    assert touching >= 0 and not touching > 0

    def value(x):
        if x == end:
            return touching if (sign > 0) == (end > 0) else -touching
        return sign * (x - 1)

    ar, bracket = EnclosureArithmetic(), (fmpq(0), fmpq(3))
    with pytest.raises(Undecided, match="a root may lie at an end"):
        ar.roots(value, lambda x: arb(sign), bracket, "end")
    with pytest.raises(Undecided, match="no change of sign"):
        ar.root(value, lambda x: arb(sign), bracket, "end")


@pytest.mark.parametrize("sign", [1, -1])
@pytest.mark.parametrize("low", [fmpq(-1), fmpq(-3, 4), fmpq(-7, 8)])
def test_a_root_where_a_cell_would_be_divided_is_not_lost(sign, low):
    """x^2 - 1/4 between brackets whose middle, or three eighths, is 1/2 exactly."""
    for share in (fmpq(1, 2), fmpq(3, 8), fmpq(5, 8)):
        high = low + (fmpq(1, 2) - low) / share
        found = EnclosureArithmetic().roots(
            lambda x: sign * (x * x - fmpq(1, 4)), lambda x: 2 * sign * x, (low, high), "both"
        )
        assert [float(x.mid()) for x in found] == pytest.approx([-0.5, 0.5])


@pytest.mark.parametrize("sign", [1, -1])
@pytest.mark.parametrize(
    ("low", "high", "root"), [(fmpq(0), fmpq(127, 128), 0), (fmpq(129, 128), fmpq(2), 2)]
)
def test_a_root_exactly_at_an_end_needs_the_slope_inside_and_no_further(sign, low, high, root):
    """x (2 - x) from a root to nearly the top, beyond which its slope has the other sign."""

    def inside(x):
        assert float(low) - 1e-6 < float(x.lower()) <= float(x.upper()) < float(high) + 1e-6
        return x

    found = EnclosureArithmetic().root(
        lambda x: sign * inside(x) * (2 - x),
        lambda x: sign * (2 - 2 * inside(x)),
        (low, high),
        "end",
    )
    assert found == root


def test_a_bracket_is_divided_within_where_its_middle_tells_nothing():
    """A function undecided over a quarter of the bracket, about the middle: the root past it."""
    asked = []

    def beyond(x):
        asked.append(x)
        if x.overlaps(arb(fmpq(12, 25), fmpq(7, 60))):
            raise Undecided("a branch")
        return x - fmpq(4, 5)

    def slope(x):
        beyond(x)
        return arb(1)

    found = EnclosureArithmetic().root(beyond, slope, (fmpq(0), fmpq(1)), "place")
    assert found.contains(fmpq(4, 5))
    assert all(0 <= float(x.mid()) <= 1 for x in asked)


@pytest.mark.parametrize("middle", [fmpq(0), fmpq(1), fmpq(7)])
def test_a_root_in_the_very_middle_is_sought_within_the_bracket(middle):
    """pi - pi, where no precision shows the zero, and the sine bends back at both ends."""
    asked = []

    def value(x):
        asked.append(x)
        return (arb.pi() * x).sin()

    found = EnclosureArithmetic().root(
        value,
        lambda x: arb.pi() * (arb.pi() * x).cos(),
        (middle - fmpq(1, 2), middle + fmpq(1, 2)),
        "middle",
    )
    assert found.contains(middle) and found.rad() < 1e-50
    assert all(abs(float(x.mid()) - float(middle)) <= 0.5 for x in asked)


def test_a_root_at_zero_is_narrowed_in_few_steps():
    """Newton's steps treble the digits of the zero of the sine, which has no end."""
    f = Counted(lambda x: x.sin())
    found = EnclosureArithmetic().root(f, lambda x: x.cos(), (fmpq(-1), fmpq(5, 4)), "zero")
    assert found.contains(0)
    assert f.count < 25


def test_one_root_is_given_up_too():
    """A change of sign where the slope vanishes: bisected towards zero without end."""
    ar = EnclosureArithmetic()
    f = Counted(lambda x: x * x * x)
    with pytest.raises(GivenUp):
        ar.root(f, lambda x: 3 * x * x, (fmpq(-1), fmpq(2)), "flat")
    assert f.count <= MOST_EVALUATIONS


def test_a_root_on_the_border_of_a_decision_is_given_up_soon():
    """2 (x - 1/3) on one side and x - 1/3 on the other: no slope on any box about the root."""
    ar = EnclosureArithmetic()

    def beyond(x):
        return x - ar.bring(fmpq(1, 3))

    def slope(x):
        return ar.bring(fmpq(2 if ar.apart().sign(beyond(x), "side") > 0 else 1))

    counts = []
    for bits in (500, 5000):
        f = Counted(lambda x: ar.apart().larger(2 * beyond(x), beyond(x), "the larger"))
        with ctx.workprec(bits), pytest.raises(GivenUp, match="where a decision falls otherwise"):
            ar.root(f, slope, (fmpq(0), fmpq(1)), "tension")
        counts.append(f.count)
    assert counts[0] == counts[1] < 400


def test_a_root_beside_the_border_of_a_decision_is_found():
    ar = EnclosureArithmetic()
    shift = fmpq(1, 2**60)

    def past_the_border(x):
        return ar.apart().sign(x - ar.bring(fmpq(1, 3) - shift), "side") > 0

    def value(x):
        apart = x - ar.bring(fmpq(1, 3))
        return apart if past_the_border(x) else 2 * apart + ar.bring(shift)

    def slope(x):
        return ar.bring(fmpq(1 if past_the_border(x) else 2))

    found = ar.root(value, slope, (fmpq(0), fmpq(1)), "tension")
    assert found.overlaps(arb(1) / 3)
    assert found.rad() < 1e-50


@pytest.mark.parametrize("bracket", [(fmpq(-1), fmpq(2)), (fmpq(-1), fmpq(1)), (fmpq(-2), fmpq(1))])
def test_roots_closer_than_are_told_apart_are_given_up_whatever_the_precision(bracket):
    ar = EnclosureArithmetic()
    third = fmpq(1, 3)

    def squared(x):
        return (x - third) * (x - third)

    with ctx.workprec(2000), pytest.raises(GivenUp, match="roots too close together"):
        ar.roots(squared, lambda x: 2 * (x - third), bracket, "flat")


def test_the_algebraic_arithmetic_does_not_try_again_what_was_given_up():
    runs = []

    def run(ar):
        runs.append(ctx.prec)
        raise GivenUp("positions", "of no use")

    with pytest.raises(GivenUp):
        algebraic_decisions(run, 100, 10_000)
    assert runs == [100]


@pytest.mark.parametrize("make", SEEING.values(), ids=SEEING)
def test_those_that_only_see_obey_the_same_bound(make):
    """Values of either sign at once, whatever the place: as many changes as places."""
    with at_double_precision():
        ar = make()
        one, signs = ar.bring(fmpq(1)), [1, -1]

        def value(x):
            signs.reverse()
            return one * signs[0]

        f = Counted(value)
        with suppress(Undecided):
            ar.roots(f, lambda x: one, (fmpq(0), fmpq(1)), "noise")
        assert 256 <= f.count <= MOST_EVALUATIONS + 1000
