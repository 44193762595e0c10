"""The second opinion: its numbers against published digits, its watch over decisions."""

from __future__ import annotations

from fractions import Fraction

import mpmath
import pytest
from flint import fmpq
from hypothesis import given
from hypothesis import strategies as st

from refsolver.arithmetic.contract import Contradiction, Singular, Undecided
from refsolver.arithmetic.exact import Constant, Radian, Slope, Turn, rational, square_root
from refsolver.arithmetic.multiprecision import MultiprecisionArithmetic, exact_value

BITS = 200
ROOT_2 = square_root(rational(2))


@pytest.fixture
def ar():
    return MultiprecisionArithmetic(BITS)


def close(ar, x, text):
    """Whether x agrees with a decimal of 50 figures."""
    expected = ar.context.mpf(text)
    return abs(x - expected) <= abs(expected) * ar.context.mpf(10) ** -48


# --- contexts


def test_the_global_context_is_left_alone():
    before = mpmath.mp.prec
    ar = MultiprecisionArithmetic(1000)
    ar.solve_linear([[ar.bring(rational(1, 3))]], [ar.pi()], "a")
    ar.root(lambda x: x * x - 2, lambda x: 2 * x, (rational(0), rational(2)), "b")
    assert mpmath.mp.prec == before


def test_two_instances_keep_their_own_precision():
    coarse, fine = MultiprecisionArithmetic(60), MultiprecisionArithmetic(600)
    for ar, bits in ((coarse, 60), (fine, 600), (coarse, 60)):
        third = ar.bring(rational(1, 3))
        error = abs(exact_value(third) - fmpq(1, 3))
        assert fmpq(1, 2 ** (bits + 3)) < error < fmpq(1, 2 ** (bits + 1))
        assert abs(exact_value(ar.pi() - third * 3 + 1) - exact_value(fine.pi())) < fmpq(
            1, 2 ** (bits - 4)
        )


def test_a_root_or_a_system_restores_the_precision(ar):
    ar.solve_linear([[2, 1], [1, 3]], [1, 2], "a")
    ar.root(lambda x: x * x - 2, lambda x: 2 * x, (rational(0), rational(2)), "b")
    assert ar.context.prec == BITS


# --- values


@given(st.integers(-(10**30), 10**30), st.integers(-300, 300))
def test_exact_value_of_dyadics(mantissa, exponent):
    ar = MultiprecisionArithmetic(BITS)
    x = ar.context.ldexp(ar.context.mpf(mantissa), exponent)
    assert exact_value(x) == fmpq(mantissa) * fmpq(2) ** exponent


def test_exact_value_of_integers_and_of_nothing_finite(ar):
    assert exact_value(-3) == -3 and exact_value(ar.context.mpf(0)) == 0
    for endless in (ar.context.inf, -ar.context.inf, ar.context.nan):
        with pytest.raises(ValueError, match="finite"):
            exact_value(endless)


@pytest.mark.parametrize(
    ("degrees", "cosine", "sine"),
    [
        (0, 1, 0),
        (30, None, Fraction(1, 2)),
        (60, Fraction(1, 2), None),
        (90, 0, 1),
        (120, Fraction(-1, 2), None),
        (150, None, Fraction(1, 2)),
        (180, -1, 0),
        (210, None, Fraction(-1, 2)),
        (240, Fraction(-1, 2), None),
        (270, 0, -1),
        (300, Fraction(1, 2), None),
        (330, None, Fraction(-1, 2)),
        (360, 1, 0),
        (-30, None, Fraction(-1, 2)),
        (-90, 0, -1),
        (36000000000090, 0, 1),
    ],
)
def test_turns_are_exact_where_they_are_rational(ar, degrees, cosine, sine):
    for found, expected in zip(
        ar.cos_sin(Turn(rational(degrees, 360))), (cosine, sine), strict=True
    ):
        if expected is not None:
            assert exact_value(found) == rational(expected)


def test_cosine_and_sine_of_every_tenth_of_a_degree_against_mpmath(ar):
    mp = mpmath.mp.clone()
    mp.prec = BITS + 64
    for tenths in range(-1801, 3601, 7):
        c, s = ar.cos_sin(Turn(rational(tenths, 3600)))
        x = mp.mpf(tenths) / 1800
        assert abs(c - mp.cospi(x)) <= abs(c) * mp.mpf(2) ** (4 - BITS)
        assert abs(s - mp.sinpi(x)) <= abs(s) * mp.mpf(2) ** (4 - BITS)


def test_constants(ar):
    """Digits from the On-Line Encyclopedia of Integer Sequences, quoted from memory:
    A002193, A000796, A001113, A002162, A002194."""
    cases = {
        "1.4142135623730950488016887242096980785696718753769": ROOT_2,
        "3.1415926535897932384626433832795028841971693993751": Constant("pi"),
        "2.7182818284590452353602874713526624977572470937000": Constant("exp", (fmpq(1),)),
        "0.69314718055994530941723212145817656807550013436026": Constant("ln", (fmpq(2),)),
        "1.7320508075688772935274463415058723669428052538104": Constant("tan", (Turn(fmpq(1, 6)),)),
        "2.8284271247461900976033774484193961571393437507539": Constant("power", (ROOT_2, fmpq(3))),
        "0.70710678118654752440084436210484903928483593768847": Constant(
            "quotient", (ROOT_2, fmpq(2))
        ),
    }
    for text, constant in cases.items():
        assert close(ar, ar.bring(constant), text), text


def test_angles(ar):
    third = "1.0471975511965977461542144610931676280657231331250"
    assert close(ar, ar.radians(Turn(fmpq(1, 6))), third)
    assert close(ar, ar.radians(Radian(Constant("quotient", (Constant("pi"), fmpq(3))))), third)
    assert close(ar, ar.radians(Slope(square_root(fmpq(3)), fmpq(1))), third)
    assert close(ar, -ar.radians(Slope(square_root(fmpq(3)), fmpq(-1))) + ar.pi(), third)
    c, s = ar.cos_sin(Slope(fmpq(3), fmpq(-4)))
    assert close(ar, c, "-0.8") and close(ar, s, "0.6")
    c, s = ar.cos_sin(Radian(fmpq(1)))
    assert close(ar, c, "0.54030230586813971740093660744297660373231042061792")
    assert close(ar, s, "0.84147098480789650665250232163029899962256306079837")


def test_numbers_mix_with_integers_and_not_with_rationals(ar):
    x = ar.bring(fmpq(1, 4))
    assert 1 - 2 * x == x + x and ar.takes_rationals is False
    with pytest.raises(TypeError):
        x + fmpq(1, 2)


# --- decisions


def test_a_decision_not_replayed_goes_by_the_value(ar):
    x = ar.bring(fmpq(1, 3))
    assert (ar.sign(x, "a"), ar.sign(-x, "b"), ar.sign(x - x, "c")) == (1, -1, 0)
    assert ar.decisions == {"a": 1, "b": -1, "c": 0}


def test_a_replayed_zero_forgives_rounding_and_nothing_more():
    ar = MultiprecisionArithmetic(BITS, {"zero": 0, "not zero": 0})
    c, s = ar.cos_sin(Turn(fmpq(1, 7)))
    rest = 1000 * (c * c + s * s - 1) + ar.context.ldexp(1, -BITS)
    assert rest != 0 and ar.sign(rest, "zero") == 0
    with pytest.raises(Contradiction, match=r"'not zero' was \+0 but here it is 1\.0e-25"):
        ar.sign(rest + ar.context.mpf(10) ** -25, "not zero")


@pytest.mark.parametrize("replayed", [-1, 0, 1])
@pytest.mark.parametrize("value", [-1, 1])
def test_a_clear_value_contradicts_any_other_sign(replayed, value):
    ar = MultiprecisionArithmetic(BITS, {"sign": replayed})
    if value == replayed:
        assert ar.sign(ar.bring(fmpq(value)), "sign") == value
        return
    with pytest.raises(Contradiction):
        ar.sign(ar.bring(fmpq(value)), "sign")


def test_rounding_against_a_replayed_sign_is_forgiven():
    ar = MultiprecisionArithmetic(BITS, {"sign": 1})
    assert ar.sign(-ar.context.ldexp(1, -BITS), "sign") == 1


def test_what_rounding_explains_grows_with_the_numbers_brought():
    replay = {"small": 0, "large": 0}
    ar = MultiprecisionArithmetic(BITS, replay, tolerance_bits=100)
    rest = ar.context.ldexp(1, -95)
    with pytest.raises(Contradiction):
        ar.sign(rest, "small")
    ar.bring(fmpq(1000))
    assert ar.sign(rest, "large") == 0


def test_what_is_beyond_all_numbers_has_a_sign():
    ar = MultiprecisionArithmetic(BITS)
    assert (ar.sign(ar.context.inf, "above"), ar.sign(-ar.context.inf, "below")) == (1, -1)


def test_roots_of_numbers_below_and_above_one():
    ar = MultiprecisionArithmetic(BITS)
    for n in (fmpq(1, 7), fmpq(1), fmpq(7)):
        assert ar.sqrt(ar.bring(n * n)) == ar.bring(n)


def test_not_a_number_is_undecided():
    ar = MultiprecisionArithmetic(BITS, {"a": 0})
    for name in "ab":
        with pytest.raises(Undecided):
            ar.sign(ar.context.nan, name)


def test_the_side_of_the_cut_follows_the_decision():
    rest = MultiprecisionArithmetic(BITS).context.ldexp(1, -BITS)
    for sign in (-1, 1):
        for noise in (rest, -rest, rest * 0):
            ar = MultiprecisionArithmetic(BITS, {"d: y": sign})
            assert abs(ar.atan2(noise, ar.bring(fmpq(-1)), "d") - sign * ar.pi()) < 2 * rest
    for noise in (rest, -rest):
        ar = MultiprecisionArithmetic(BITS, {"d: y": 0, "e: x": 0})
        assert ar.atan2(noise, ar.bring(fmpq(-1)), "d") == ar.pi()
        assert ar.atan2(noise, ar.bring(fmpq(1)), "d") == 0
        assert ar.atan2(ar.bring(fmpq(-1)), noise, "e") == -ar.pi() / 2
    with pytest.raises(ValueError, match="zero vector"):
        ar.atan2(ar.context.mpf(0), ar.context.mpf(0), "f")


def test_larger_follows_the_decision():
    ar = MultiprecisionArithmetic(BITS, {"tie": 1})
    a, b = ar.bring(fmpq(1)), ar.bring(fmpq(1)) + ar.context.ldexp(1, -150)
    assert ar.larger(a, b, "tie") is a
    assert ar.larger(a, b, "own") is b


def test_roots_and_logarithms_off_their_domain(ar):
    assert ar.sqrt(-ar.context.ldexp(1, -BITS)) == 0
    with pytest.raises(Contradiction):
        ar.sqrt(ar.bring(fmpq(-1, 10**9)))
    for x in (0, -1):
        with pytest.raises(Contradiction):
            ar.log(ar.bring(fmpq(x)))


# --- systems


def hilbert(n):
    return [[fmpq(1, i + j + 1) for j in range(n)] for i in range(n)]


def test_an_ill_conditioned_system(ar):
    """The inverse of the Hilbert matrix has whole entries; its first row for n = 4 is
    16, -120, 240, -140 (D. E. Knuth, "The Art of Computer Programming" 1, section 1.2.3,
    exercise 45; reference from memory)."""
    matrix = [[ar.bring(x) for x in row] for row in hilbert(4)]
    solution = ar.solve_linear(matrix, [1, 0, 0, 0], "Hilbert")
    for found, expected in zip(solution, (16, -120, 240, -140), strict=True):
        assert abs(found - expected) < ar.context.ldexp(1, 30 - BITS)
    assert ar.decisions == {"Hilbert": 1}


def test_a_system_singular_but_for_rounding():
    third = fmpq(1, 3)
    rows = [[third, 2 * third], [third / 7, 2 * third / 7]]
    for replay in ({}, {"A": 0}):
        ar = MultiprecisionArithmetic(BITS, replay)
        root = ar.sqrt(ar.bring(fmpq(2)))
        matrix = [[ar.bring(x) * root / root for x in row] for row in rows]
        with pytest.raises(Singular):
            ar.solve_linear(matrix, [1, 1], "A")
        assert ar.decisions == {"A": 0}


@pytest.mark.parametrize("rows", [(0, 0, 0), (40, -40, 0), (-25, 13, 40)])
@pytest.mark.parametrize("columns", [(0, 40, -40), (-40, 0, 40), (17, -30, 0), (0, 0, 0)])
def test_a_system_is_regular_or_not_whatever_rows_and_columns_are_measured_in(rows, columns):
    down, across = ([fmpq(10) ** n for n in powers] for powers in (rows, columns))
    regular, singular = ((2, 1, 0), (1, 3, 1), (0, 1, 4)), ((2, 1, 0), (1, 3, 1), (3, 4, 1))
    ar = MultiprecisionArithmetic(BITS)
    root = ar.sqrt(ar.bring(fmpq(2)))

    def measured(matrix):
        return [
            [ar.bring(x * r * c) * root / root for x, c in zip(row, across, strict=True)]
            for row, r in zip(matrix, down, strict=True)
        ]

    right = [ar.bring(r * sum(row)) for row, r in zip(regular, down, strict=True)]
    found = ar.solve_linear(measured(regular), right, "regular")
    for x, c in zip(found, across, strict=True):
        assert abs(x * ar.bring(c) - 1) < ar.context.ldexp(1, 20 - BITS)
    with pytest.raises(Singular):
        ar.solve_linear(measured(singular), right, "singular")


def test_rows_and_columns_of_zeros_and_of_one_size_are_left():
    ar = MultiprecisionArithmetic(BITS)
    with pytest.raises(Singular):
        ar.solve_linear([[10**40, 0], [1, 0]], [1, 1], "empty column")
    with pytest.raises(Singular):
        ar.solve_linear([[10**40, 1], [0, 0]], [1, 1], "empty row")


def test_a_regular_system_contradicts_a_replayed_singular_one_and_conversely():
    with pytest.raises(Contradiction):
        MultiprecisionArithmetic(BITS, {"A": 0}).solve_linear([[1, 1], [1, 2]], [1, 1], "A")
    with pytest.raises(Contradiction):
        MultiprecisionArithmetic(BITS, {"A": 1}).solve_linear([[1, 1], [1, 1]], [1, 1], "A")


def test_a_nearly_singular_system_replayed_as_regular_is_solved():
    ar = MultiprecisionArithmetic(BITS, {"A": 1})
    small = ar.context.ldexp(1, -120)
    x, y = ar.solve_linear([[1, 1], [1, 1 + small]], [1, 2], "A")
    assert abs(y * small - 1) < 1e-20 and abs(x + y - 1) < abs(y) * 1e-40


def test_a_system_of_none_and_of_one(ar):
    assert ar.solve_linear([], [], "none") == []
    assert ar.solve_linear([[4]], [2], "one") == [ar.bring(fmpq(1, 2))]


# --- roots


def test_a_root_to_full_precision(ar):
    found = ar.root(lambda x: ar.cos(x) - x, lambda x: -ar.sin(x) - 1, (fmpq(0), fmpq(2)), "root")
    assert close(ar, found, "0.73908513321516064165531208767387340401341175890076")
    assert ar.decisions == {"root": 1}


def test_the_slope_is_not_used(ar):
    def no_slope(x):
        raise AssertionError("the slope was asked")

    assert ar.root(lambda x: x - 1, no_slope, (fmpq(0), fmpq(3)), "root") == 1


def test_a_root_proven_elsewhere_must_be_there():
    bracket = (fmpq(0), fmpq(1))
    with pytest.raises(Undecided):
        MultiprecisionArithmetic(BITS).root(lambda x: x + 1, lambda x: 1, bracket, "root")
    with pytest.raises(Contradiction):
        MultiprecisionArithmetic(BITS, {"root": 1}).root(
            lambda x: x + 1, lambda x: 1, bracket, "root"
        )


def test_a_root_at_the_end_of_the_bracket_in_spite_of_rounding(ar):
    root = ar.root(
        lambda x: (x - 1) * 3 + ar.context.ldexp(1, -BITS), lambda x: 3, (fmpq(1), fmpq(2)), "root"
    )
    assert root == 1


def test_a_tie_keeps_the_first(ar):
    replayed = MultiprecisionArithmetic(BITS, {"tie": 0})
    a = replayed.bring(fmpq(1, 3))
    b = a + replayed.context.ldexp(1, -BITS)
    assert replayed.larger(a, b, "tie") is a and replayed.larger(b, a, "tie") is b


def test_a_system_of_none_is_logged_as_regular(ar):
    assert ar.solve_linear([], [], "none") == [] and ar.decisions == {"none": 1}


def test_every_root_that_was_proven_must_be_there():
    bracket = (rational(0), rational(4))

    def roots(replay, *zeros):
        ar = MultiprecisionArithmetic(BITS, replay)
        product = lambda x: mpmath.fprod([x - ar.bring(z) for z in zeros])  # noqa: E731
        with mpmath.workprec(BITS):
            return ar.roots(product, lambda x: x, bracket, "lengths"), ar.decisions

    two = {"lengths: root 1": 1, "lengths: root 2": 1, "lengths: root 3": -1}
    found, decisions = roots(two, fmpq(1, 3), fmpq(7, 3))
    assert [round(float(x), 12) for x in found] == [0.333333333333, 2.333333333333]
    assert decisions == two
    for replay, seen in ((two, [fmpq(1, 3)]), ({"lengths: root 1": -1}, [fmpq(1, 3)])):
        with pytest.raises(Contradiction, match="lengths: root 1") as against:
            roots(replay, *seen)
        assert f"was {replay['lengths: root 1']:+d}" in str(against.value)
