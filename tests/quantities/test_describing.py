from __future__ import annotations

import pytest
from flint import arb, ctx, fmpq
from hypothesis import given
from hypothesis import strategies as st

from refsolver.arithmetic.enclosure import evaluate
from refsolver.arithmetic.exact import (
    Angle,
    Constant,
    Exact,
    Radian,
    Slope,
    Turn,
    product,
    quotient,
    square_root,
    total,
)
from refsolver.quantities.describing import describe, describe_angle
from refsolver.quantities.folding import PI
from refsolver.quantities.literals import read_literal


@pytest.mark.parametrize(
    "text",
    [
        "50*sqrt(2)",
        "-49*sqrt(3)/3",
        "3/(4*sqrt(2))",
        "50*sqrt(2)/(1 + sqrt(3))",
        "pi/8 - 8/(9*pi)",
        "-1*sqrt(2)^3",
        "-1*sqrt(2)^3*pi",
        "sqrt(2)*(sqrt(3)/pi)",
        "(1 + sqrt(2))^-2",
        "exp(1/3)*sin(40 deg)",
        "1 - 3*(2 + pi)",
        "sin(1:sqrt(3))",
        "cos(0.7 rad)/7",
        "62.5",
        "2/3",
    ],
)
def test_descriptions_are_what_one_would_write(text: str):
    assert describe(read_literal(text).value) == text


@pytest.mark.parametrize(
    ("angle", "text"),
    [
        (Turn(fmpq(1, 12)), "30 deg"),
        (Turn(fmpq(1, 7)), "360/7 deg"),
        (Radian(square_root(fmpq(2))), "sqrt(2) rad"),
        (Slope(fmpq(3), fmpq(-4)), "3:-4"),
    ],
)
def test_angles_are_described_with_their_unit(angle: Angle, text: str):
    assert describe_angle(angle) == text


small = st.builds(fmpq, st.integers(-20, 20), st.integers(1, 12))
positive = st.builds(fmpq, st.integers(1, 20), st.integers(1, 12))
angles = st.one_of(
    st.builds(Turn, small),
    st.builds(Radian, small),
    st.builds(Slope, small, positive),
)
atoms = st.one_of(
    small,
    st.just(PI),
    st.builds(square_root, positive),
    st.builds(lambda x: Constant("exp", (x,)), small),
    st.builds(lambda x: Constant("ln", (x,)), positive),
    st.builds(lambda f, x: Constant(f, (x,)), st.sampled_from(["sin", "cos"]), angles),
)


def _combined(inner: st.SearchStrategy[Exact]) -> st.SearchStrategy[Exact]:
    constants = inner.filter(lambda x: isinstance(x, Constant))
    return st.one_of(
        st.builds(total, inner, inner),
        st.builds(product, inner, inner),
        st.builds(quotient, inner, constants),
        st.builds(lambda x, n: Constant("power", (x, fmpq(n))), constants, st.integers(2, 4)),
    )


def _is_defined(x: Exact) -> bool:
    """No division by a zero and no logarithm of one, exact or not."""
    with ctx.workprec(400):
        return evaluate(x).is_finite()


expressions = st.recursive(atoms, _combined, max_leaves=10).filter(_is_defined)


@given(expressions)
def test_descriptions_read_back_to_the_same_value(x: Exact):
    again = read_literal(describe(x)).value
    with ctx.workprec(400):
        ours, theirs = evaluate(x), evaluate(again)
        assert ours.overlaps(theirs)
        assert abs(ours - theirs) <= arb(2) ** -300 * (1 + abs(ours))


@given(expressions)
def test_describing_what_was_read_changes_nothing(x: Exact):
    read_once = read_literal(describe(x)).value
    assert read_literal(describe(read_once)).value == read_once
