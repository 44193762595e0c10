"""Double precision that knows what rounding can leave: zeros judged by their own scale.

What comes out is compared with plain double precision (the functions of Python's own ``math``),
with numpy and with exact fractions.
"""

from __future__ import annotations

import math

import numpy
import pytest
from flint import arb, fmpq, fmpq_mat
from hypothesis import example, given
from hypothesis import strategies as st

from refsolver.arithmetic.careful import (
    CarefulArithmetic,
    _below_half,
    _scales,
    at_double_precision,
    known,
)
from refsolver.arithmetic.contract import Singular, Undecided
from refsolver.arithmetic.double import DoubleArithmetic
from refsolver.arithmetic.exact import Radian, Slope, Turn, rational


@pytest.fixture
def ar():
    with at_double_precision():
        yield CarefulArithmetic()


POWERS = st.integers(-30, 30)


@given(POWERS, POWERS)
def test_what_rounding_leaves_is_zero_at_any_scale(p, q):
    """0.1 a + 0.2 b - 0.3 b with a = b, times a second quantity of another size."""
    with at_double_precision():
        ar = CarefulArithmetic()
        a, b = ar.bring(fmpq(10) ** p / 3), ar.bring(fmpq(10) ** q / 7)
        tenth, two, three = (ar.bring(fmpq(k, 10)) for k in (1, 2, 3))
        left = (tenth * a + two * a - three * a) * b
        assert ar.sign(left, "rest") == 0
        assert abs(float(left)) <= 1e-13 * float(a * b)


@given(POWERS, POWERS)
def test_what_is_small_beside_other_numbers_is_not_taken_for_zero(p, q):
    """1e-19 m^4 beside a force of 1e5: a product has the sign of its factors, however small."""
    with at_double_precision():
        ar = CarefulArithmetic()
        ar.bring(fmpq(10) ** 30)
        small = ar.bring(fmpq(10) ** p) * ar.bring(-(fmpq(10) ** q)) * ar.bring(fmpq(1, 3))
        assert ar.sign(small, "product") == -1


def test_a_difference_beyond_rounding_keeps_its_sign(ar):
    a, b = ar.bring(fmpq(1)), ar.bring(1 + fmpq(1, 10**12))
    assert ar.sign(a - b, "difference") == -1
    assert ar.sign(a - ar.bring(1 + fmpq(1, 10**15)), "rounding") == 0


@given(st.decimals(-720, 720, places=3))
def test_values_are_those_of_plain_double_precision(degrees):
    angle = Turn(rational(*degrees.as_integer_ratio()) / 360)
    plain = DoubleArithmetic()
    with at_double_precision():
        careful = CarefulArithmetic()
        for got, wanted in zip(careful.cos_sin(angle), plain.cos_sin(angle), strict=True):
            allowed = 1e-14 * max(1, abs(plain.radians(angle)))
            assert float(got) == pytest.approx(wanted, abs=allowed)


def test_the_cosine_of_a_right_angle_is_zero_within_rounding(ar):
    cosine, sine = ar.cos_sin(Turn(fmpq(1, 4)))
    assert ar.sign(cosine, "cosine") == 0 and ar.sign(sine, "sine") == 1
    assert not (sine / cosine).is_finite()
    assert float(ar.atan2(sine, cosine, "up")) == pytest.approx(math.pi / 2)


def test_directions_beside_the_cut_are_known(ar):
    x, y = ar.cos_sin(Turn(fmpq(1, 2)))
    angle = ar.atan2(y, x, "left")
    assert float(angle) == pytest.approx(math.pi) and angle.rad() < 1e-12
    assert float(ar.radians(Slope(fmpq(-1), fmpq(-1)))) == pytest.approx(-3 * math.pi / 4)


def test_a_given_is_known_to_a_unit_of_its_fifteenth_figure(ar):
    ball = known(0.3)
    assert ball.contains(arb(0.3) * (1 + 1e-14)) and ball.rad() < 0.3 * 1e-13


@pytest.mark.parametrize(("run", "rise", "length"), [(3, 4, 5), (-12, 5, 13), (8, -15, 17)])
def test_slopes_of_right_triangles_in_whole_numbers(ar, run, rise, length):
    """The triples of Euclid, Elements, book X, lemma before proposition 29 (from memory)."""
    slope = Slope(fmpq(rise), fmpq(run))
    cosine, sine = ar.cos_sin(slope)
    for got, wanted in ((cosine, fmpq(run, length)), (sine, fmpq(rise, length))):
        assert got.contains(arb(wanted)) and got.rad() < 1e-12
    assert float(ar.radians(slope)) == pytest.approx(math.atan2(rise, run), rel=1e-15)
    assert set(ar.decisions.values()) == {1 if run > 0 else -1, 1 if rise > 0 else -1}


def test_an_angle_in_radians_is_itself(ar):
    assert float(ar.radians(Radian(fmpq(7, 5)))) == pytest.approx(1.4, rel=1e-15)
    cosine, sine = ar.cos_sin(Radian(fmpq(7, 5)))
    assert (float(cosine), float(sine)) == pytest.approx((math.cos(1.4), math.sin(1.4)), rel=1e-14)
    assert float(ar.pi()) == math.pi


@pytest.mark.parametrize("name", ["cos", "sin", "exp", "log", "cosh", "sinh", "asinh", "sqrt"])
@pytest.mark.parametrize("x", [0.25, 0.7, 2.5, 40.0])
def test_functions_are_those_of_the_standard_library(ar, name, x):
    """The middle is the double's value; both ends of what x may be lie inside."""
    function = getattr(math, name)
    found = getattr(ar, name)(arb(x))
    assert float(found) == pytest.approx(function(x), rel=1e-14)
    wide = getattr(ar, name)(arb(x, 0.001))
    assert all(wide.contains(arb(function(y))) for y in (x - 0.001, x, x + 0.001))
    assert float(wide.rad()) < 0.1 * abs(function(40.0)) + 0.01


@pytest.mark.parametrize("wrong", [1e-7, 1e-12, 0.0])
@pytest.mark.parametrize(("x", "y"), [
    (3, 4), (4, 3), (-3, 4), (-4, -3), (3, -4), (1000, 0), (-1000, 0), (-0.25, 0), (0.25, 0),
    (0, 1000), (0, -1000), (0, 0.25), (0, -0.25),
])  # fmt: skip
def test_directions_are_those_of_plain_double_precision_and_what_they_may_be(ar, x, y, wrong):
    """Near an axis the angle is as unsure as the short side over the long one, and no more."""
    angle = ar.atan2(arb(y + wrong, 2e-7), arb(x + wrong, 2e-7), "force")
    assert float(angle) == pytest.approx(math.atan2(y + wrong, x + wrong), abs=1e-12, rel=1e-12)
    length = math.hypot(x, y)
    assert 1.9e-7 / length < angle.rad() < 6e-7 / length
    assert ar.decisions == {
        "force: x": (x > 0) - (x < 0),
        "force: y": (y > 0) - (y < 0),
    }


def test_a_vector_lost_in_rounding_has_no_direction(ar):
    with pytest.raises(ValueError, match="force: the zero vector has no direction"):
        ar.atan2(arb(0, 1e-9), arb(1e-12, 1e-9), "force")


@pytest.mark.parametrize(("a", "b", "sign"), [(2, -3, 1), (-3, 2, -1), (-3, -2, -1), (2, 3, -1)])
def test_the_larger_is_decided_by_the_difference_and_logged(ar, a, b, sign):
    assert float(ar.larger(arb(a), arb(b), "governing")) == max(a, b)
    assert ar.decisions == {"governing": sign}
    assert float(ar.size(arb(a))) == abs(a)


@given(*[st.tuples(st.integers(-4, 4), st.sampled_from([0, 0.5, 1, 3])) for _ in "ab"])
def test_the_larger_of_two_holds_the_larger_of_what_either_may_be(a, b):
    """Whatever the two are within their balls; in the middle stands what a plain double has."""
    with at_double_precision():
        ar = CarefulArithmetic()
        found = ar.larger(arb(*a), arb(*b), "governing")
        for x in (a[0] - a[1], a[0], a[0] + a[1]):
            for y in (b[0] - b[1], b[0], b[0] + b[1]):
                assert found.contains(arb(max(x, y)))
        assert float(found.mid()) == pytest.approx(max(a[0], b[0]), rel=1e-9)
        # a radius is kept to thirty bits, rounded up
        assert float(found.rad()) <= max(a[1], b[1]) * (1 + 1e-8)
        apart = abs(a[0] - b[0]) > a[1] + b[1]
        assert ar.decisions == {"governing": ((a > b) - (a < b)) if apart else 0}


@pytest.mark.parametrize(
    ("x", "sign"), [(arb(0), 0), (arb(1, 1), 0), (arb(-1, 1), 0), (arb(1, 0.99), 1)]
)
def test_a_ball_that_holds_zero_even_at_its_end_has_the_sign_zero(ar, x, sign):
    assert ar.sign(x, "force") == sign
    assert ar.sign(-x, "reaction") == -sign


def test_decisions_apart_are_not_logged_here(ar):
    other = ar.apart()
    assert other.sign(arb(1), "trial") == 1
    assert other.decisions == {"trial": 1} and ar.decisions == {}


def test_a_root_of_what_rounding_left_is_small(ar):
    root = ar.sqrt(ar.bring(fmpq(1, 3)) * 3 - 1)
    assert abs(float(root)) < 1e-7 and ar.sign(root, "root") == 0
    assert ar.sqrt(arb(-4)) == 0  # a mistake may ask for it, and doubles say 0 too
    assert float(ar.sqrt(arb(4))) == 2
    around_zero = ar.sqrt(arb(0, 1e-6))
    assert around_zero.contains(arb(0)) and around_zero.contains(arb(1e-3))


@pytest.mark.parametrize(
    "x", [arb(1, 3), arb(1, 3).nonnegative_part(), arb(1, 0.5), arb(0.25, 0.1)]
)
def test_the_middle_of_a_root_is_the_root_of_the_middle(ar, x):
    """A calculator without care would report it, however unsure it is."""
    assert float(ar.sqrt(x)) == pytest.approx(math.sqrt(float(x)), rel=0.1)
    assert ar.sqrt(x).contains(x.upper().sqrt())


def test_overflow_is_infinite_and_not_a_number_is_undecided(ar):
    assert float(ar.exp(arb(10) ** 4)) == math.inf
    with pytest.raises(Undecided, match="not a number"):
        ar.sign(ar.bring(fmpq(1)) / arb(0), "quotient")


SIZES = st.integers(-6, 6)


@example([0, 0, 0], [0, 0, -20])
@example([20, -3, 5], [-20, 0, 0])
@example([0, 0, 0], [0, 20, 0])
@given(st.lists(SIZES, min_size=3, max_size=3), st.lists(SIZES, min_size=3, max_size=3))
def test_systems_are_solved_whatever_their_rows_and_columns_are_scaled_by(rows, columns):
    base, wanted = ((2, 1, 0), (1, 3, 1), (0, 1, 4)), (1, -2, 3)
    right = [sum(a * x for a, x in zip(row, wanted, strict=True)) for row in base]
    r, c = [fmpq(10) ** k for k in rows], [fmpq(10) ** k for k in columns]
    with at_double_precision():
        ar = CarefulArithmetic()
        matrix = [[ar.bring(a * r[i] * c[j]) for j, a in enumerate(row)]
                  for i, row in enumerate(base)]  # fmt: skip
        found = ar.solve_linear(matrix, [ar.bring(b * r[i]) for i, b in enumerate(right)], "system")
        for x, w, scale in zip(found, wanted, c, strict=True):
            assert arb(w / scale) in x
            assert float(x) == pytest.approx(float(w / scale), rel=1e-12)


def test_a_system_singular_within_rounding_is_singular(ar):
    third = ar.bring(fmpq(1, 3))
    matrix = [[third, ar.bring(fmpq(2, 3))], [third * 3, ar.bring(fmpq(2))]]
    with pytest.raises(Singular):
        ar.solve_linear(matrix, [third, third], "parallel")
    assert ar.decisions == {"parallel": 0}
    with pytest.raises(Singular):
        ar.solve_linear([[third, arb(0)], [third, arb(0)]], [third, third], "empty column")


def test_roots_come_with_what_is_known_of_them(ar):
    two = ar.bring(fmpq(2))
    root = ar.root(lambda x: x * x - two, lambda x: 2 * x, (fmpq(0), fmpq(2)), "root of two")
    assert float(root) == pytest.approx(math.sqrt(2), rel=1e-15)
    assert arb(math.sqrt(2)) in root and 0 < root.rad() < 1e-12
    both = ar.roots(lambda x: x * x - two, lambda x: 2 * x, (fmpq(-3), fmpq(3)), "both")
    assert [float(x) for x in both] == pytest.approx([-math.sqrt(2), math.sqrt(2)], rel=1e-15)
    assert ar.decisions == {
        "root of two": 1, "both: root 1": 1, "both: root 2": 1, "both: root 3": -1
    }  # fmt: skip


def test_a_root_is_as_unsure_as_its_equation(ar):
    two = arb(2, 1e-6)
    root = ar.root(lambda x: x * x - two, lambda x: 2 * x, (fmpq(0), fmpq(2)), "root of two")
    assert all(root.contains(arb(math.sqrt(2 + d))) for d in (-9e-7, 0, 9e-7))
    assert root.rad() < 1e-6


def test_a_value_lost_beside_that_at_the_other_end_is_a_root_there(ar):
    """x + e from 0 to 1 has no change of sign; a calculator sees a root at 0 all the same."""
    bracket = (fmpq(0), fmpq(1))
    lost, left = (arb(2) ** -bits for bits in (42, 38))
    found = ar.root(lambda x: x + lost, lambda x: arb(1), bracket, "end")
    assert float(found) == 0 and found.contains(-lost)
    with pytest.raises(Undecided, match="end"):
        ar.root(lambda x: x + left, lambda x: arb(1), bracket, "end")


@given(st.integers(1, 10**6), st.integers(1, 10**6))
def test_the_middle_of_every_quotient_is_a_double_within_its_last_place(p, q):
    with at_double_precision():
        middle = (arb(p) / q).mid()
        assert middle == arb(float(middle))
        assert abs(float(middle) - p / q) <= math.ulp(p / q)


def test_a_root_where_the_slope_may_vanish_is_a_number_all_the_same(ar):
    def function(x):
        return (x - 1) * (x - 1) * (x - 1)

    flat = ar.root(function, lambda _: arb(0, 1), (fmpq(0), fmpq(3)), "flat")
    assert flat.is_finite() and float(flat) == pytest.approx(1, abs=1e-4)


@pytest.mark.parametrize("ask", ["root", "roots"])
def test_a_function_that_is_no_number_leaves_its_root_undecided(ar, ask):
    with pytest.raises(Undecided) as lost:
        getattr(ar, ask)(lambda _: arb("nan"), lambda x: x, (fmpq(0), fmpq(1)), "lost")
    assert lost.value.name == "lost"


@pytest.mark.parametrize("a", [0.125, 0.5, 4.0, 16.0])
def test_an_unknown_is_as_unsure_as_its_equation(ar, a):
    """a x = b: the ends of b, and of a, are reached, and the bound is no more than twice theirs."""
    (load,) = ar.solve_linear([[arb(a)]], [arb(3, 1e-3)], "load unsure")
    assert all(load.contains(arb(b / a)) for b in (3 - 9.9e-4, 3, 3 + 9.9e-4))
    assert load.rad() < 2.01 * 1e-3 / a
    (stiffness,) = ar.solve_linear([[arb(a, 1e-3 * a)]], [arb(3)], "stiffness unsure")
    assert all(stiffness.contains(arb(3 / a / d)) for d in (0.9991, 1, 1.0009))
    assert stiffness.rad() < 2.01 * 3e-3 / a


def test_a_system_that_holds_a_singular_one_is_singular(ar):
    """A ball that reaches zero has no inverse, near as the others are to one."""
    with pytest.raises(Singular, match="loose"):
        ar.solve_linear([[arb(1, 1.2)]], [arb(1)], "loose")
    with pytest.raises(Singular, match="sum of two"):
        ar.solve_linear([[arb(1, 0.3), arb(1)], [arb(1), arb(1.5)]], [arb(1)] * 2, "sum of two")


def test_a_system_of_which_an_entry_is_not_known_at_all_is_singular(ar):
    entry = arb(1, math.inf)
    assert float(entry.mid()) == 1
    with pytest.raises(Singular, match="unknown"):
        ar.solve_linear([[arb(1), arb(0)], [arb(0), entry]], [arb(1)] * 2, "unknown")


@pytest.mark.parametrize("bits", range(20, 53, 4))
def test_entries_of_exact_doubles_are_no_better_known_than_doubles_are(ar, bits):
    """1 + e in a corner leaves the determinant e, of which rounding takes about 2^-51."""
    matrix = [[arb(1), arb(1)], [arb(1), arb(1 + 2.0**-bits)]]
    if bits == 52:
        with pytest.raises(Singular):
            ar.solve_linear(matrix, [arb(1), arb(2)], "near")
        return
    found = ar.solve_linear(matrix, [arb(1), arb(2)], "near")
    for x, wanted in zip(found, (1 - 2.0**bits, 2.0**bits), strict=True):
        assert x.contains(arb(wanted)) and 2.0 ** (bits - 52) < x.rad() / abs(wanted)


@given(
    st.lists(st.sampled_from([0, 0, 1, 2, 3, 7]), min_size=9, max_size=9),
    st.lists(st.integers(-3, 3), min_size=3, max_size=3),
    st.sampled_from([1e-3, 0.02, 0.1, 0.3]),
)
@example([0, 0, 0, 0, 0, 0, 0, 0, 0], [0, 0, 0], 1e-3)
@example([5, 0, 0, 0, 0, 0, 0, 0, 0], [0, 0, 0], 0.1)  # one half exactly
def test_a_spectral_radius_below_a_half_is_told_as_numpy_tells_it(entries, scaled, size):
    """Whatever rows are multiplied by and columns divided by, which leaves the radius alone."""
    factors = 10.0 ** numpy.array(scaled)
    matrix = size * numpy.array(entries, dtype=float).reshape(3, 3)
    radius = max(abs(numpy.linalg.eigvals(matrix)))
    told = _below_half(matrix * factors[:, None] / factors)
    assert told or radius > 0.499
    assert not told or radius < 0.511


def test_nothing_is_said_of_a_spectral_radius_out_of_range():
    assert not _below_half(numpy.array([[math.inf]]))
    assert not _below_half(numpy.array([[0.1, math.nan], [0.0, 0.1]]))


@pytest.mark.parametrize("place", ["matrix", "right"])
@pytest.mark.parametrize("what", ["nan", "inf"])
def test_a_system_with_what_is_no_number_is_refused(ar, place, what):
    given = {"matrix": arb(1), "right": arb(1)} | {place: arb(what)}
    with pytest.raises(ValueError, match="not a number"):
        ar.solve_linear([[given["matrix"]]], [given["right"]], "broken")


def test_a_system_without_unknowns_has_no_solution_to_tell(ar):
    assert ar.solve_linear([], [], "nothing") == []


@given(st.lists(POWERS, min_size=3, max_size=3), st.lists(POWERS, min_size=3, max_size=3))
@example([0, 0, 0], [0, 0, -12])
@example([0, 0, 0], [12, 0, 0])
@example([0, -12, 0], [0, 0, 0])
def test_scaled_rows_and_columns_have_largest_entries_near_one(rows, columns):
    base = numpy.array([[2.0, 1.0, 0.0], [1.0, 3.0, 1.0], [0.0, 1.0, 4.0]])
    sizes = base * numpy.outer([10.0**k for k in rows], [10.0**k for k in columns])
    down, across = _scales(sizes)
    scaled = sizes / numpy.outer(down, across)
    for axis in (0, 1):
        assert (scaled.max(axis=axis) <= 30).all() and (scaled.max(axis=axis) >= 1 / 30).all()


def test_a_row_and_a_column_of_zeros_keep_their_size():
    down, across = _scales(numpy.array([[0.0, 1e12, 0.0], [0.0, 0.0, 0.0], [0.0, 1.0, 1e-9]]))
    assert down[1] == 1 and across[0] == 1


@st.composite
def systems(draw):
    """Matrices whose every entry has a size of its own, a solution, and the right side."""
    count = draw(st.integers(2, 5))
    entry = st.builds(
        lambda digit, power: digit * fmpq(10) ** power,
        st.sampled_from([0, 0, 1, -1, 2, 3]),
        st.integers(-14, 14),
    )
    matrix = [[draw(entry) for _ in range(count)] for _ in range(count)]
    wanted = [fmpq(draw(st.integers(1, 9))) for _ in range(count)]
    right = [sum((a * x for a, x in zip(row, wanted, strict=True)), fmpq(0)) for row in matrix]
    return matrix, wanted, right


def _stays_regular(matrix, radius):
    """Whether |inverse| |what rounding moves| has a spectral radius below this, in fractions:
    the resolvent of such a matrix, and of no other, has no negative entries."""
    rows = range(len(matrix))
    exact = fmpq_mat(len(matrix), len(matrix), [x for row in matrix for x in row])
    if exact.det() == 0:
        return False
    inverse, known_to = exact.inv(), fmpq(1, 2**46)
    moved = [[sum(abs(inverse[i, k] * matrix[k][j]) for k in rows) * known_to for j in rows]
             for i in rows]  # fmt: skip
    resolvent = fmpq_mat(
        len(matrix), len(matrix), [(i == j) - moved[i][j] / radius for i in rows for j in rows]
    )
    return resolvent.det() != 0 and all(x >= 0 for x in resolvent.inv().entries())


@example(([[fmpq(1), fmpq(10) ** 8, fmpq(0)], [fmpq(0), fmpq(1), fmpq(10) ** 8],
           [fmpq(0), fmpq(0), fmpq(1)]], [fmpq(1)] * 3,
          [1 + fmpq(10) ** 8, 1 + fmpq(10) ** 8, fmpq(1)]))  # fmt: skip
@given(systems())
def test_a_system_is_solved_where_it_is_regular_whatever_its_entries_are(system):
    matrix, wanted, right = system
    with at_double_precision():
        ar = CarefulArithmetic()
        balls = [[ar.bring(x) for x in row] for row in matrix]
        try:
            found = ar.solve_linear(balls, [ar.bring(x) for x in right], "system")
        except Singular:
            found = None
    if found is None:
        assert not _stays_regular(matrix, fmpq(1, 4))
    else:
        assert _stays_regular(matrix, fmpq(1))
    if found is not None:
        assert all(arb(w) in x for x, w in zip(found, wanted, strict=True))
