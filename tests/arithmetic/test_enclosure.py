"""The enclosure arithmetic read with a hostile eye: every place where a ball can mislead."""

from __future__ import annotations

import pytest
from flint import arb, ctx, fmpq
from hypothesis import given
from hypothesis import strategies as st

from refsolver.arithmetic.contract import Contradiction, Singular, Undecided
from refsolver.arithmetic.enclosure import EnclosureArithmetic, evaluate, seen_sign
from refsolver.arithmetic.exact import (
    Constant,
    Radian,
    Slope,
    Turn,
    product,
    rational,
    square_root,
    total,
)
from refsolver.arithmetic.root_search import proven_root, proven_roots


@pytest.fixture(autouse=True, scope="module")
def precision():
    with ctx.workprec(128):
        yield


@pytest.fixture(scope="module")
def around_zero():
    return arb(0, fmpq(1, 2**60))


NOT_A_NUMBER = arb.nan()
PI = Constant("pi")
ROOT_2 = square_root(rational(2))


def holds(ball: arb, text: str) -> bool:
    """Whether the ball holds a 40-digit decimal widened by one unit in its last place."""
    return bool(ball.overlaps(arb(text, fmpq(1, 10**39)))) and ball.rad() < fmpq(1, 10**25)


# --- decisions


@pytest.mark.parametrize(("value", "sign"), [("1e-300", 1), ("-1e-300", -1), ("0", 0)])
def test_sign_is_proven_and_logged(value, sign):
    ar = EnclosureArithmetic()
    assert ar.sign(arb(value), "sign of it") == sign
    assert ar.decisions == {"sign of it": sign}


def test_sign_of_a_ball_around_zero_is_undecided(around_zero):
    ar = EnclosureArithmetic()
    with pytest.raises(Undecided) as undecided:
        ar.sign(around_zero, "sign of it")
    assert undecided.value.name == "sign of it"
    assert ar.decisions == {}


def test_sign_of_a_ball_that_touches_zero_is_undecided():
    with pytest.raises(Undecided):
        EnclosureArithmetic().sign(arb(1, 1), "sign of it")


@pytest.mark.parametrize("replay", [{}, {"sign of it": 1}, {"sign of it": 0}])
def test_sign_of_not_a_number_is_undecided_whatever_is_replayed(replay):
    with pytest.raises(Undecided):
        EnclosureArithmetic(replay).sign(NOT_A_NUMBER, "sign of it")


def test_division_by_a_ball_holding_zero_gives_no_sign(around_zero):
    quotient = 1 / around_zero
    assert not quotient.is_finite()
    with pytest.raises(Undecided):
        EnclosureArithmetic().sign(quotient, "sign of it")


@pytest.mark.parametrize("replayed", [-1, 0, 1])
def test_a_replayed_sign_is_believed_where_the_ball_is_open(around_zero, replayed):
    ar = EnclosureArithmetic({"sign of it": replayed})
    assert ar.sign(around_zero, "sign of it") == replayed
    assert ar.decisions == {"sign of it": replayed}


@pytest.mark.parametrize(
    ("value", "replayed"), [(1, -1), (1, 0), (-1, 1), (-1, 0), (0, 1), (0, -1)]
)
def test_a_replayed_sign_proven_wrong_is_a_contradiction(value, replayed):
    with pytest.raises(Contradiction):
        EnclosureArithmetic({"sign of it": replayed}).sign(arb(value), "sign of it")


def test_larger_returns_the_ball_of_the_larger(around_zero):
    ar = EnclosureArithmetic({"tie": 0})
    assert ar.larger(arb(2), arb(1), "a") == 2
    assert ar.larger(arb(1), arb(2), "b") == 2
    assert ar.larger(around_zero, arb(0), "tie") is around_zero
    assert ar.decisions == {"a": 1, "b": -1, "tie": 0}


# --- the domain of functions


def test_root_of_a_ball_that_dips_below_zero_starts_at_zero():
    root = EnclosureArithmetic().sqrt(arb(1, 2))
    assert root.contains(0) and root.contains(arb(3).sqrt().mid())


def test_root_of_a_ball_that_dips_slightly_below_zero_stays_small(around_zero):
    root = EnclosureArithmetic().sqrt(around_zero)
    assert root.contains(0) and abs(root) < fmpq(1, 2**29)


def test_root_of_a_number_proven_negative_is_refused_not_zero():
    with pytest.raises(ValueError, match="negative"):
        EnclosureArithmetic().sqrt(arb(-1, fmpq(1, 2)))


def test_not_a_number_passes_through_functions_as_such():
    ar = EnclosureArithmetic()
    for function in (ar.sqrt, ar.sin, ar.exp, ar.log, ar.asinh, ar.size):
        assert not function(NOT_A_NUMBER).is_finite()


@pytest.mark.parametrize("x", [arb(0), arb(-1), arb(1, 2)])
def test_logarithm_off_its_domain_is_not_finite(x):
    assert not EnclosureArithmetic().log(x).is_finite()


# --- angles


@pytest.mark.parametrize(
    ("y", "x", "expected"),
    [
        (0, 1, "0"),
        (0, -1, "3.141592653589793238462643383279502884197"),
        (1, 0, "1.570796326794896619231321691639751442099"),
        (-1, 0, "-1.570796326794896619231321691639751442099"),
        (-1, -1, "-2.356194490192344928846982537459627163148"),
        (1, -1, "2.356194490192344928846982537459627163148"),
    ],
)
def test_atan2_on_and_off_the_axes(y, x, expected):
    assert holds(EnclosureArithmetic().atan2(arb(y), arb(x), "direction"), expected)


def test_atan2_across_the_cut_is_undecided_rather_than_wide(around_zero):
    with pytest.raises(Undecided) as undecided:
        EnclosureArithmetic().atan2(around_zero, arb(-1), "direction")
    assert undecided.value.name == "direction: y"


def test_atan2_on_the_cut_by_replay_is_pi(around_zero):
    ar = EnclosureArithmetic({"direction: y": 0})
    assert holds(
        ar.atan2(around_zero, arb(-1), "direction"), "3.141592653589793238462643383279502884197"
    )


@pytest.mark.parametrize("sign", [-1, 1])
def test_atan2_beside_the_cut_holds_the_true_angle_whatever_the_width(around_zero, sign):
    ar = EnclosureArithmetic({"direction: y": sign})
    assert ar.atan2(around_zero, arb(-1), "direction").contains((arb.pi() * sign).mid())


def test_atan2_of_the_zero_vector_is_refused():
    with pytest.raises(ValueError, match="zero vector"):
        EnclosureArithmetic().atan2(arb(0), arb(0), "direction")


@pytest.mark.parametrize(
    ("turns", "cosine", "sine"),
    [
        ((0, 1), 1, 0),
        ((1, 4), 0, 1),
        ((1, 2), -1, 0),
        ((-1, 4), 0, -1),
        ((1, 6), fmpq(1, 2), None),
        ((1, 12), None, fmpq(1, 2)),
        ((10**30 + 1, 1), 1, 0),
        ((4 * 10**30 + 1, 4), 0, 1),
    ],
)
def test_rational_cosines_and_sines_of_turns_are_exact(turns, cosine, sine):
    for found, expected in zip(
        EnclosureArithmetic().cos_sin(Turn(rational(*turns))), (cosine, sine), strict=True
    ):
        if expected is not None:
            assert found.is_exact() and found == expected


@given(st.fractions(max_denominator=1000).filter(bool), st.booleans())
def test_a_slope_along_an_axis_is_exact(length, upright):
    along, zero = rational(length), fmpq(0)
    slope = Slope(along, zero) if upright else Slope(zero, along)
    c, s = EnclosureArithmetic().cos_sin(slope)
    main, other = (s, c) if upright else (c, s)
    assert main.is_exact() and main == (1 if along > 0 else -1)
    assert other.is_zero()


@given(st.fractions(max_denominator=50), st.fractions(max_denominator=50))
def test_a_slope_has_the_cosine_and_sine_of_its_angle(rise, run):
    if rise == run == 0:
        return
    ar, slope = EnclosureArithmetic(), Slope(rational(rise), rational(run))
    c, s = ar.cos_sin(slope)
    angle = ar.radians(slope)
    assert angle.cos().overlaps(c) and angle.sin().overlaps(s)
    assert (c * c + s * s).contains(1)


def test_a_slope_of_constants_is_enclosed():
    c, s = EnclosureArithmetic().cos_sin(Slope(ROOT_2, ROOT_2))
    half = arb(fmpq(1, 2)).sqrt()
    assert c.overlaps(half) and s.overlaps(half) and c.rad() < fmpq(1, 2**120)


def test_a_slope_partly_of_constants_is_enclosed():
    """1 along and the root of 2 up, on a hypotenuse of the root of 3; and the other way."""
    ar, one = EnclosureArithmetic(), rational(1)
    third = arb(fmpq(1, 3)).sqrt()
    for slope, at in ((Slope(ROOT_2, one), 0), (Slope(one, ROOT_2), 1)):
        found = ar.cos_sin(slope)
        assert found[at].overlaps(third) and found[at].rad() < fmpq(1, 2**120)
        assert found[1 - at].overlaps(third * arb(2).sqrt())


@given(st.integers(-9, 9), st.integers(-9, 9).filter(bool), st.integers(0, 400))
def test_a_slope_is_a_ratio_whatever_its_legs_have_in_common(rise, run, power):
    """In thousandths of a nanometre as in light years: the same enclosures, bit for bit."""
    ar, common = EnclosureArithmetic(), fmpq(3) ** power
    small = ar.cos_sin(Slope(fmpq(rise), fmpq(run)))
    for slope in (
        Slope(rise * common, run * common),
        Slope(rise / common, run / common),
    ):
        assert all(
            a.mid() == b.mid() and a.rad() == b.rad()
            for a, b in zip(ar.cos_sin(slope), small, strict=True)
        )


# --- constants


def test_constants_are_enclosed():
    third = Turn(rational(1, 6))
    cases = {
        "5.656854249492380195206754896838792314279": Constant("product", (rational(4), ROOT_2)),
        "3.414213562373095048801688724209698078570": total(rational(2), ROOT_2),
        "1.732050807568877293527446341505872366943": Constant("tan", (third,)),
        "0.5": Constant("cos", (third,)),
        "0.8660254037844386467637231707529361834714": Constant("sin", (third,)),
        "0.8414709848078965066525023216302989996226": Constant("sin", (Radian(rational(1)),)),
        "0.6931471805599453094172321214581765680755": Constant("ln", (rational(2),)),
        "7.389056098930650227230427460575007813180": Constant("exp", (rational(2),)),
        "1.570796326794896619231321691639751442099": Constant("quotient", (PI, rational(2))),
        "2.828427124746190097603377448419396157139": Constant("power", (ROOT_2, rational(3))),
        "0.5000000000000000000000000000000000000000": Constant("power", (ROOT_2, rational(-2))),
    }
    for text, constant in cases.items():
        assert holds(evaluate(constant), text), text


def test_power_of_a_constant_that_may_be_zero_stays_finite():
    zero = total(product(ROOT_2, ROOT_2), rational(-2))
    for exponent in (0, 1, 2, 3):
        power = evaluate(Constant("power", (zero, rational(exponent))))
        assert power.is_finite() and power.contains(int(exponent == 0))


def test_power_of_a_negative_constant_keeps_its_sign():
    base = product(rational(-1), ROOT_2)
    assert evaluate(Constant("power", (base, rational(3)))) < 0
    assert evaluate(Constant("power", (base, rational(4)))) > 0
    assert evaluate(Constant("power", (base, rational(-3)))) < 0


def test_a_broken_exponent_is_refused():
    with pytest.raises(ValueError, match="whole number"):
        evaluate(Constant("power", (ROOT_2, rational(1, 2))))


# --- linear systems


def test_a_regular_system_is_solved_and_logged():
    ar = EnclosureArithmetic()
    x, y = ar.solve_linear([[1, 2], [3, arb(4)]], [arb(5), 6], "joint A")
    assert x.contains(-4) and y.contains(fmpq(9, 2))
    assert ar.decisions == {"joint A": 1}


def test_an_empty_system_has_an_empty_solution():
    assert EnclosureArithmetic().solve_linear([], [], "nothing") == []


@pytest.mark.parametrize(
    "matrix", [[[1, 2], [2, 4]], [[0, 0], [0, 1]], [[arb(0, 1), 1], [1, 1]], [[NOT_A_NUMBER]]]
)
def test_a_system_not_proven_regular_is_undecided(matrix):
    with pytest.raises(Undecided, match="determinant") as undecided:
        EnclosureArithmetic().solve_linear(matrix, [1] * len(matrix), "joint A")
    assert undecided.value.name == "joint A"


def test_a_replayed_singular_system_is_singular_and_logged():
    ar = EnclosureArithmetic({"joint A": 0})
    with pytest.raises(Singular):
        ar.solve_linear([[1, 2], [2, 4]], [1, 1], "joint A")
    assert ar.decisions == {"joint A": 0}


def test_a_system_proven_regular_contradicts_a_replayed_singular_one():
    with pytest.raises(Contradiction, match=r"'joint A' was \+0 but here it is proven regular"):
        EnclosureArithmetic({"joint A": 0}).solve_linear([[1, 2], [3, 4]], [1, 1], "joint A")


def test_a_system_replayed_as_regular_still_needs_its_proof():
    with pytest.raises(Undecided):
        EnclosureArithmetic({"joint A": 1}).solve_linear([[1, 2], [2, 4]], [1, 1], "joint A")


# --- roots


def root(function, slope, low, high):
    ar = EnclosureArithmetic()
    found = ar.root(function, slope, (_exact(low), _exact(high)), "root")
    assert ar.decisions == {"root": 1}
    return found


def _exact(x):
    return x if isinstance(x, fmpq | Constant) else rational(x)


def test_a_simple_root_is_enclosed_to_about_the_precision():
    found = root(lambda x: x * x - 2, lambda x: 2 * x, 0, 2)
    assert found.overlaps(arb(2).sqrt())
    assert found.rel_accuracy_bits() > 120


@given(st.integers(2, 10**9), st.integers(2, 7))
def test_whole_roots_of_whole_numbers(a, n):
    def power(x, k):
        result = arb(1)
        for _ in range(k):
            result = result * x
        return result

    found = root(lambda x: power(x, n) - a, lambda x: n * power(x, n - 1), 1, a)
    assert found.overlaps(arb(a).root(n))
    assert found.rel_accuracy_bits() > 110


def test_without_a_change_of_sign_nothing_is_claimed():
    with pytest.raises(Undecided, match="change of sign"):
        root(lambda x: x * x + 1, lambda x: 2 * x, -1, 1)


def test_a_double_root_is_undecided():
    with pytest.raises(Undecided):
        root(lambda x: (x - fmpq(1, 3)) * (x - fmpq(1, 3)), lambda x: 2 * (x - fmpq(1, 3)), 0, 1)


def test_a_triple_root_off_the_grid_is_undecided():
    def cube(x):
        t = x - fmpq(1, 3)
        return t * t * t

    with pytest.raises(Undecided):
        root(cube, lambda x: 3 * (x - fmpq(1, 3)) * (x - fmpq(1, 3)), 0, 1)


def test_a_root_in_the_very_middle_is_found_though_its_value_is_no_exact_zero():
    found = root(
        lambda x: (arb.pi() * x).sin(), lambda x: arb.pi() * (arb.pi() * x).cos(), fmpq(1, 2),
        fmpq(3, 2),
    )  # fmt: skip
    assert found.contains(1) and found.rad() < fmpq(1, 2**110)


@given(st.integers(1, 60), st.integers(40, 400))
def test_the_last_contraction_is_not_lost_to_rounding(offset, bits):
    """Near the rounding noise a step may leave the ball it came from; the proof stands."""
    with ctx.workprec(bits):
        a = arb(offset) / 7

        def function(x):
            return (x - a) * (x + 3) * 1000 / 999

        found = root(function, lambda x: (2 * x + 3 - a) * 1000 / 999, 0, 100)
        assert found.contains(fmpq(offset, 7)) or found.overlaps(a)
        assert found.rel_accuracy_bits() > bits - 12


def test_a_root_at_zero_is_narrowed_without_end_in_a_bounded_number_of_steps():
    found = root(lambda x: x.sin(), lambda x: x.cos(), -1, fmpq(5, 4))
    assert found.contains(0) and abs(found) < fmpq(1, 2**100)


def test_an_exact_root_at_an_end_is_returned_exactly():
    line = lambda x: 3 * (x - 2)  # noqa: E731
    for bracket in ((2, 5), (-1, 2)):
        found = root(line, lambda x: x * 0 + 3, *bracket)
        assert found.is_exact() and found == 2


@pytest.mark.parametrize("bracket", [(0, 2), (0, 1), (-2, 1), (0, fmpq(1, 2))])
def test_a_root_at_an_end_that_may_not_be_the_only_one_is_undecided(bracket):
    with pytest.raises(Undecided, match="only one"):
        root(lambda x: x * (x - 1), lambda x: 2 * x - 1, *bracket)


def test_a_bracket_with_its_ends_exchanged_gives_the_same_root():
    found = root(lambda x: x * x - 2, lambda x: 2 * x, 2, 0)
    assert found.overlaps(arb(2).sqrt())


def test_a_bracket_of_constants():
    found = root(lambda x: x.cos(), lambda x: -x.sin(), ROOT_2, PI)
    assert found.overlaps(arb.pi() / 2)


def test_a_very_steep_function():
    def function(x):
        return (200 * x).exp() - (arb(3)).exp()

    found = root(function, lambda x: 200 * (200 * x).exp(), -10, 10)
    assert found.overlaps(arb(fmpq(3, 200))) and found.rel_accuracy_bits() > 100


def test_a_very_flat_function():
    found = root(
        lambda x: (x - fmpq(1, 3)) / 10**60, lambda x: (x * 0 + 1) / 10**60, -(10**9), 10**9
    )
    assert found.contains(fmpq(1, 3)) and found.rel_accuracy_bits() > 90


def test_a_tiny_root_in_a_wide_bracket():
    small = fmpq(1, 10**60)
    found = root(lambda x: x * (1 + x * x) - small, lambda x: 1 + 3 * x * x, 0, 1)
    assert found.rel_accuracy_bits() > 100 and abs(found - small) < fmpq(1, 10**97)


def test_a_pole_is_not_taken_for_a_root():
    with pytest.raises(Undecided):
        root(lambda x: 1 / (x - fmpq(1, 3)), lambda x: -1 / ((x - fmpq(1, 3)) ** 2), 0, 1)


def test_a_function_that_is_no_number_at_an_end_is_undecided():
    with pytest.raises(Undecided):
        root(lambda x: x.log(), lambda x: 1 / x, 0, 2)


@pytest.mark.parametrize("factor", [fmpq(1, 10), fmpq(9, 10), fmpq(11, 10), 10, 10**6, 10**40, -1])
def test_a_wrong_slope_does_not_lead_to_a_wrong_root(factor):
    try:
        found = root(lambda x: x * x - 2, lambda x: 2 * x * factor, 0, 2)
    except (ValueError, Undecided):
        return
    assert found.overlaps(arb(2).sqrt())


def test_a_slope_much_too_large_is_noticed():
    with pytest.raises(ValueError, match="not the derivative"):
        root(lambda x: x * x - 2, lambda x: 20 * x, 0, 2)


def test_one_of_several_roots_is_isolated():
    found = root(lambda x: (x - 1) * (x - 2) * (x - 4), lambda x: 3 * x * x - 14 * x + 14, 0, 5)
    assert sum(bool(found.contains(whole)) for whole in (1, 2, 4)) == 1
    assert found.rel_accuracy_bits() > 100


def test_a_sign_is_seen_where_a_ball_shows_it():
    two = Constant("exp", (Constant("ln", (fmpq(2),)),))
    assert [seen_sign(fmpq(n, 3)) for n in (-1, 0, 1)] == [-1, 0, 1]
    assert seen_sign(Constant("sum", (fmpq(3), product(fmpq(-1), Constant("pi"))))) == -1
    assert seen_sign(Constant("sum", (fmpq(-2), two))) is None


# --- what touches zero is not decided


def touching(sign):
    """A ball from zero to one, or from minus one to zero; others reach a little beyond."""
    ball = arb(0, 1).nonnegative_part()
    assert ball >= 0 and not ball > 0
    return ball if sign > 0 else -ball


@pytest.mark.parametrize("sign", [-1, 1])
def test_a_value_that_touches_zero_at_an_end_may_be_a_root(sign):
    def function(x):
        return touching(sign) if x == 0 else x - 3

    with pytest.raises(Undecided, match="at an end") as undecided:
        proven_roots(function, lambda x: x * 0 + 1, (arb(0), arb(4)), "lengths")
    assert undecided.value.name == "lengths"
    with pytest.raises(Undecided, match="no change of sign"):
        proven_root(function, lambda x: x * 0 + 1, (arb(0), arb(4)), "lengths")


@pytest.mark.parametrize("sign", [-1, 1])
def test_a_slope_that_touches_zero_counts_no_roots(sign):
    """-x + 1 with a slope between 0 and -1: it might be flat, and have more than one root."""

    def function(x):
        if not isinstance(x, arb):
            raise Undecided("a branch")  # so that no Taylor polynomial shows the slope
        return (x - 1) * sign

    with pytest.raises(Undecided, match="slope vanishes"):
        proven_roots(function, lambda x: touching(sign), (arb(0), arb(3)), "x")


def test_a_function_that_is_nowhere_decided_names_its_question():
    def function(x):
        return x - 1 if x == 0 or x == 3 else arb(0, 1)

    for ask in (proven_root, proven_roots):
        with pytest.raises(Undecided) as undecided:
            ask(function, lambda x: arb(0, 1), (arb(0), arb(3)), "the angle")
        assert undecided.value.name == "the angle"
