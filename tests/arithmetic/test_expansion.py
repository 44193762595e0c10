"""Taylor polynomials with their rest: what they enclose, and where there is none.

Derivatives and values are compared with mpmath's (``taylor``), a general library.
"""

import mpmath
import pytest
from flint import arb, arb_series, ctx, fmpq
from hypothesis import given
from hypothesis import strategies as st

from refsolver.arithmetic.algebraic import AlgebraicArithmetic, _on_balls
from refsolver.arithmetic.contract import Undecided
from refsolver.arithmetic.enclosure import EnclosureArithmetic
from refsolver.arithmetic.expansion import Series, expanded
from refsolver.arithmetic.strict import StrictArithmetic, StrictNumber

FUNCTIONS = {
    "sum and difference": (lambda ar, x: 3 - (x + 2) + (x - 5) - (-x), lambda x: x - 4),
    "product": (lambda ar, x: x * x * 3 + 2 * x, lambda x: 3 * x * x + 2 * x),
    "quotient": (lambda ar, x: 1 / (x + 3) + x / 7 + x / (x + 4), lambda x: 1 / (x + 3) + x / 7
                 + x / (x + 4)),
    "quotient of a number": (lambda ar, x: 7 / (x + 3), lambda x: 7 / (x + 3)),
    "sqrt": (lambda ar, x: ar.sqrt(x + 2), lambda x: mpmath.sqrt(x + 2)),
    "cos": (lambda ar, x: ar.cos(3 * x), lambda x: mpmath.cos(3 * x)),
    "sin": (lambda ar, x: ar.sin(3 * x), lambda x: mpmath.sin(3 * x)),
    "exp": (lambda ar, x: ar.exp(x), mpmath.exp),
    "log": (lambda ar, x: ar.log(x + 2), lambda x: mpmath.log(x + 2)),
    "cosh": (lambda ar, x: ar.cosh(x), mpmath.cosh),
    "sinh": (lambda ar, x: ar.sinh(x), mpmath.sinh),
    "asinh": (lambda ar, x: ar.asinh(x), mpmath.asinh),
    "size": (lambda ar, x: ar.size(x - 3) + ar.size(x + 3) * x, lambda x: 3 - x + (x + 3) * x),
    "constant": (lambda ar, x: ar.pi(), lambda x: mpmath.pi + 0 * x),
}  # fmt: skip


@pytest.fixture(autouse=True)
def precision():
    with ctx.workprec(120):
        yield


def on_balls(name):
    function = FUNCTIONS[name][0]
    ar = EnclosureArithmetic()
    return lambda x: function(ar, x)


def tells(expansion, h):
    """What an expansion says of the value at the distance h from the middle."""
    *terms, last = expansion.parts
    value = arb(0)
    for c in [last, *reversed(terms)]:
        value = value * h + c
    return value


@pytest.mark.parametrize("name", FUNCTIONS)
@given(middle=st.integers(-100, 100), place=st.integers(-8, 8), terms=st.sampled_from([2, 5, 9]))
def test_values_and_derivatives_lie_within(name, middle, place, terms):
    exact = FUNCTIONS[name][1]
    m, r = arb(middle) / 128, arb(1) / 8
    with ctx.workprec(120):
        found = expanded(on_balls(name), arb(m, r), terms)
        h = found.reach * place / 8
        with mpmath.workprec(200):
            derivatives = mpmath.taylor(exact, mpmath.mpf(middle) / 128, terms - 1)
            value = exact(mpmath.mpf(str((m + h).mid().str(60, radius=False))))
        for seen, c in zip(found.parts[:-1], derivatives, strict=True):
            assert arb(seen, "1e-30").overlaps(arb(mpmath.nstr(c, 45)))
        assert arb(tells(found, h), "1e-30").overlaps(arb(mpmath.nstr(value, 45)))


@pytest.mark.parametrize("name", FUNCTIONS)
def test_every_arithmetic_of_balls_expands_alike(name):
    function = FUNCTIONS[name][0]
    box = arb("0.3", "0.1")
    strict = StrictArithmetic()
    if name != "constant":
        ways = (
            on_balls(name),
            lambda x: function(strict, StrictNumber(x)).ball,
            _on_balls(lambda x: function(AlgebraicArithmetic(), x)),
        )
        one, *others = (expanded(way, box, 6) for way in ways)
        for other in others:
            assert all(a.overlaps(b) for a, b in zip(one.parts, other.parts, strict=True))


def test_a_difference_of_large_terms_is_told_by_its_own_size():
    ar = EnclosureArithmetic()
    tiny = arb(10) ** -25

    def function(x):
        return (1 + tiny) * ar.cos(x) - ar.cos(x)

    box = arb(0, "0.4")
    assert function(box).contains(0)
    assert not expanded(function, box, 8).excludes_zero()
    assert expanded(function, box, 8).excludes_zero(rest=False)
    assert expanded(function, box, 32).excludes_zero()
    assert expanded(function, arb("1.6", "0.4"), 32).is_monotone()
    assert not expanded(function, arb("1.6", "0.4"), 8).is_monotone()
    assert expanded(function, arb("1.6", "0.4"), 8).is_monotone(rest=False)
    assert not expanded(function, arb("1.6", "0.4"), 32).excludes_zero()
    assert not expanded(function, box, 32).is_monotone()


WHOLE = st.integers(-8, 8)


@given(
    at=WHOLE, others=st.lists(WHOLE, max_size=4), reach=st.integers(0, 3), terms=st.integers(2, 9)
)
def test_a_root_on_the_box_is_never_excluded_not_even_at_its_end(at, others, reach, terms):
    """A product of linear factors, one of which vanishes on the box."""

    def product(x):
        result = x - at
        for other in others:
            result = result * (x - other)
        return result

    for middle in {at - reach, at + reach}:
        found = expanded(product, arb(middle, reach), terms)
        assert not found.excludes_zero()
        if terms > len(others) + 1:
            assert not found.excludes_zero(rest=False)


@given(at=WHOLE, more=st.integers(1, 8), reach=st.integers(0, 3), terms=st.integers(3, 9))
def test_a_function_with_a_top_on_the_box_is_not_monotone_on_it(at, more, reach, terms):
    """The cubic whose slope is (x - a)(x - a - m), times 6."""

    def cubic(x):
        h = x - at
        return 2 * h * h * h - 3 * more * h * h

    for middle in {at - reach, at + reach}:
        assert not expanded(cubic, arb(middle, reach), terms).is_monotone()


@given(roots=st.lists(st.integers(4, 9), min_size=1, max_size=4), terms=st.integers(6, 9))
def test_a_box_far_from_all_roots_is_told(roots, terms):
    """Whose distances the half width is a seventh of at most: (8/7)^4 - 1 is less than one."""

    def product(x):
        result = x - roots[0]
        for other in roots[1:]:
            result = result * (x - other)
        return result

    assert expanded(product, arb(-3, 1), terms).excludes_zero()
    assert expanded(lambda x: -product(x), arb(-3, 1), terms).excludes_zero()


@pytest.mark.parametrize("middle", [1, -1])
@pytest.mark.parametrize(
    "function",
    [
        lambda ar, x: ar.size(x),
        lambda ar, x: x * ar.sign(x, "side"),
        lambda ar, x: ar.larger(x, 0 * x, "the larger"),
    ],
)
def test_what_breaks_at_the_end_of_the_box_has_no_expansion(function, middle):
    ar = EnclosureArithmetic()
    assert expanded(lambda x: function(ar, x), arb(middle, 1), 8) is None
    assert expanded(lambda x: function(ar, x), arb(middle, fmpq(7, 8)), 8) is not None


@pytest.mark.parametrize(("middle", "held"), [(0, True), (2, True), (3, False), (-3, False)])
def test_a_series_holds_the_values_of_the_whole_box(middle, held):
    assert Series(arb_series([arb(middle, 2), 1])).contains(0) == held


def test_a_difference_that_is_zero_throughout_is_decided():
    ar = EnclosureArithmetic()
    found = expanded(lambda x: x + 1 + ar.sign(0 * x, "apart"), arb(1, 1), 4)
    assert ar.decisions == {"apart": 0}
    assert found.parts[0].contains(2) and found.parts[1].contains(1)


def test_the_rest_is_at_most_the_last_term_over_the_box():
    found = expanded(lambda x: x * x * x, arb(2, "0.5"), 2)
    assert found.rest >= 3 * arb("2.5") / 4
    assert found.rest < arb("1.9")


@pytest.mark.parametrize(
    "function",
    [
        lambda ar, x: ar.size(x),
        lambda ar, x: ar.sqrt(x * x),
        lambda ar, x: 1 / x,
        lambda ar, x: x / (x * x),
        lambda ar, x: ar.log(x + arb("0.05")),
        lambda ar, x: x * ar.sign(x, "side"),
        lambda ar, x: ar.larger(x, 0 * x, "the larger"),
    ],
)
def test_what_bends_or_breaks_on_the_box_has_no_expansion(function):
    ar = EnclosureArithmetic()
    assert expanded(lambda x: function(ar, x), arb(0, "0.1"), 8) is None
    beside = expanded(lambda x: function(ar, x), arb(1, "0.1"), 8)
    assert beside is not None
    assert beside.parts[0].is_finite()


def test_what_is_undecided_or_not_a_number_has_no_expansion_and_the_length_is_restored():
    def undecided(x):
        raise Undecided("a branch")

    before = ctx.cap
    assert expanded(undecided, arb(0, 1), 8) is None
    assert expanded(lambda x: arb.nan(), arb(0, 1), 8) is None
    assert ctx.cap == before
