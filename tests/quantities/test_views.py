"""Views of each kind of answer, against the same quantities in doubles and worked by hand."""

from __future__ import annotations

import math

import attrs
import pytest
from flint import arb, ctx, fmpq
from hypothesis import given
from hypothesis import strategies as st

from refsolver.arithmetic.contract import Undecided
from refsolver.arithmetic.enclosure import EnclosureArithmetic
from refsolver.quantities.dimensions import ANGLE, FORCE, LENGTH, MOMENT, NUMBER
from refsolver.quantities.kinds import (
    AlternativesKind,
    Choice,
    ChoiceKind,
    DirectionKind,
    FunctionKind,
    LineKind,
    NoAnswer,
    Piece,
    PointKind,
    ScalarKind,
    TableKind,
    VectorKind,
)
from refsolver.quantities.views import (
    RANGES,
    View,
    ViewError,
    checked,
    dimension_of,
    evaluate,
    natural_views,
    takes,
)

PLANE, SPACE = VectorKind(FORCE, 2), VectorKind(FORCE, 3)
AXES = ("+x", "-x", "+y", "-y", "+z", "-z")


@pytest.fixture(autouse=True, scope="module")
def precision():
    with ctx.workprec(128):
        yield


def seen(kind, value, **keys):
    view = checked(View("it", **keys), kind)
    return evaluate(view, kind, value, EnclosureArithmetic())


def balls(*numbers):
    return tuple(arb(x) for x in numbers)


def near(found, expected):
    return isinstance(found, arb) and abs(float(found.mid()) - expected) <= 1e-12 * (
        1 + abs(expected)
    )


def unit(axis):
    index = "xyz".index(axis[1])
    return [(1 if axis[0] == "+" else -1) * (i == index) for i in range(3)]


def along(axis, vector):
    return sum(a * b for a, b in zip(unit(axis), vector, strict=False))


# --- vectors and directions


@pytest.mark.parametrize("axis", AXES)
def test_components_cosines_and_axis_angles_in_space(axis):
    vector = (3.0, -4.0, 12.0)
    value, component = balls(*vector), along(axis, vector)
    assert seen(SPACE, value, take="component", along=axis) == component
    assert near(seen(SPACE, value, take="cosine", along=axis), component / 13)
    assert near(seen(SPACE, value, take="axis angle", along=axis), math.acos(component / 13))
    assert near(seen(SPACE, value, take="elevation", along=axis), math.asin(component / 13))
    direction = DirectionKind(3)
    assert near(seen(direction, value, take="component", along=axis), component / 13)
    assert near(seen(direction, value, take="elevation", along=axis), math.asin(component / 13))
    assert near(seen(direction, value, along=axis), math.acos(component / 13))


@pytest.mark.parametrize("axis", AXES)
def test_a_vector_along_an_axis_and_against_it(axis):
    for sense in (1, -1):
        value = balls(*(5 * sense * x for x in unit(axis)))
        assert near(seen(SPACE, value, take="axis angle", along=axis), 0 if sense > 0 else math.pi)
        assert near(seen(SPACE, value, take="elevation", along=axis), sense * math.pi / 2)
        assert seen(SPACE, value, take="cosine", along=axis) == sense


def test_magnitudes():
    assert seen(PLANE, balls(3, -4)) == 5 and seen(SPACE, balls(3, -4, 12)) == 13
    assert seen(PLANE, balls(0, 0), take="magnitude") == 0
    assert seen(PLANE, balls(3, -4), take="component", along="-y") == 4


PERPENDICULAR = [(a, b) for a in AXES[:4] for b in AXES[:4] if a[1] != b[1]]


def folded(angle, span):
    """An angle of atan2 in the range asked, by whole half turns, in degrees."""
    degrees = math.degrees(angle)
    if span == "0..360":
        return degrees % 360
    if span == "0..180":
        return degrees % 180
    if span == "-90..90":
        rest = degrees % 180
        return rest if rest <= 90 else rest - 180
    if span == "0..90":
        rest = degrees % 180
        return min(rest, 180 - rest)
    return degrees


@pytest.mark.parametrize("span", RANGES)
@pytest.mark.parametrize(("start", "toward"), PERPENDICULAR)
def test_a_plane_angle_from_any_axis_toward_any_other_in_every_range(start, toward, span):
    for x, y in [(3, 1), (1, 3), (-3, 1), (-1, 3), (-3, -1), (-1, -3), (3, -1), (1, -3),
                 (2, 0), (-2, 0), (0, 2), (0, -2)]:  # fmt: skip
        found = seen(PLANE, balls(x, y), take="angle", start=start, toward=toward, range=span)
        expected = folded(math.atan2(along(toward, (x, y)), along(start, (x, y))), span)
        assert near(found * 180 / arb.pi(), expected), (x, y, found)


@given(st.integers(-50, 50), st.integers(-50, 50), st.sampled_from(RANGES))
def test_angles_keep_to_their_range(x, y, span):
    if x == y == 0:
        return
    with ctx.workprec(128):
        degrees = float(seen(PLANE, balls(x, y), take="angle", range=span) * 180 / arb.pi())
    low, high = (float(end) for end in span.split(".."))
    assert low - 1e-12 <= degrees <= high + 1e-12
    assert abs(degrees - folded(math.atan2(y, x), span)) < 1e-9


def test_the_azimuth_is_measured_in_plan():
    for x, y in [(3, 4), (-3, 4), (-3, -4), (3, -4), (5, 0), (-5, 0), (0, 5), (0, -5)]:
        value = balls(x, y, 7)
        found = seen(SPACE, value, take="azimuth", start="+y", toward="+x", range="0..360")
        assert near(found * 180 / arb.pi(), math.degrees(math.atan2(x, y)) % 360)
        # without a range it is that of atan2
        assert near(seen(SPACE, value, take="azimuth"), math.atan2(y, x))


def test_slopes():
    assert near(seen(PLANE, balls(4, 3), take="slope"), 0.75)
    assert near(seen(PLANE, balls(4, 3), take="slope", start="+y", toward="-x"), -4 / 3)
    assert seen(PLANE, balls(0, 3), take="slope").reason == "not defined"
    assert seen(PLANE, balls(3, 0), take="slope") == 0


def test_what_has_no_direction():
    zero = balls(0, 0, 0)
    for keys in ({"take": "axis angle", "along": "+x"}, {"take": "cosine", "along": "+x"},
                 {"take": "azimuth"}, {"take": "elevation", "along": "+z"}):  # fmt: skip
        found = seen(SPACE, zero, **keys)
        assert found.reason == "no direction" and "it is proven zero" in found.evidence
    upright = seen(SPACE, balls(0, 0, 5), take="azimuth")
    assert upright.reason == "no direction" and "azimuth" in upright.evidence
    assert seen(PLANE, balls(0, 0), take="angle").reason == "no direction"
    assert seen(PLANE, balls(0, 0), take="component", along="+x") == 0


def test_a_vector_that_may_be_zero_is_undecided_and_names_itself():
    doubtful = (arb(0, fmpq(1, 2)), arb(0))
    table = TableKind(PLANE, "joint")
    with pytest.raises(Undecided) as undecided:
        seen(table, {"A": doubtful}, take="angle", key="A")
    assert undecided.value.name == "it [A]: x"


def test_decisions_about_other_angles_have_other_names():
    """One solve asks many views; a name must stand for one number."""
    ar, value = EnclosureArithmetic(), balls(3, 1, 2)
    for take, keys in [("azimuth", {"start": a, "toward": b}) for a, b in PERPENDICULAR] + [
        (take, {"along": a}) for take in ("axis angle", "elevation") for a in AXES
    ]:
        evaluate(checked(View("it", take=take, **keys), SPACE), SPACE, value, ar)
    # another sign under one name would have been a contradiction; replayed, all agree
    again = EnclosureArithmetic(ar.decisions)
    for a, b in PERPENDICULAR:
        view = checked(View("it", take="azimuth", start=a, toward=b), SPACE)
        evaluate(view, SPACE, value, again)


# --- scalars, points, lines


def test_scalars_and_points():
    assert seen(ScalarKind(MOMENT), arb(-7)) == -7
    assert seen(ScalarKind(MOMENT), arb(-7), take="size") == 7
    assert seen(PointKind(2), balls(3, -4), along="-y") == 4
    assert seen(PointKind(2), balls(3, -4), take="distance") == 5
    assert seen(PointKind(3), balls(3, -4, 12), take="distance") == 13


def test_a_plane_line():
    """3 x + 4 y = 24: it meets the axes at 8 and 6, comes within 4.8 of the origin."""
    kind, line = LineKind(2), balls(3, 4, 24)
    assert near(seen(kind, line, along="+x"), 8) and near(seen(kind, line, along="-y"), -6)
    assert near(seen(kind, line, along="+x", at=fmpq(3)), 4)
    assert near(seen(kind, line, along="+y", at=fmpq(4)), 3)
    assert near(seen(kind, line, along="-x", at=fmpq(3)), -4)
    assert near(seen(kind, line, take="distance"), 4.8)
    assert near(seen(kind, balls(-3, -4, -24), take="distance"), 4.8)
    assert near(seen(kind, line, take="foot", along="+x"), 2.88)
    assert near(seen(kind, line, take="foot", along="-y"), -3.84)
    degrees = 180 / arb.pi()
    assert near(seen(kind, line, take="angle") * degrees, 180 - math.degrees(math.atan2(3, 4)))
    steep = seen(kind, line, take="angle", range="-90..90")
    assert near(steep * degrees, -math.degrees(math.atan2(3, 4)))


@pytest.mark.parametrize(
    ("line", "axis", "letter"), [((0, 2, 6), "+x", "x"), ((2, 0, 6), "-y", "y")]
)
def test_a_line_parallel_to_an_axis_has_no_intercept_there(line, axis, letter):
    found = seen(LineKind(2), balls(*line), along=axis)
    assert found.reason == "no intercept" and f"parallel to the {letter} axis" in found.evidence
    other = "+y" if axis[1] == "x" else "+x"
    assert near(seen(LineKind(2), balls(*line), along=other), 3)


def test_a_line_in_space():
    """Through (1, 2, 3) along (2, -1, 2)."""
    kind, line = LineKind(3), (balls(1, 2, 3), balls(2, -1, 2))
    assert near(seen(kind, line, along="+x", through="z"), -2)  # z = 0 at t = -3/2
    assert near(seen(kind, line, along="-y", through="z"), -3.5)
    assert near(seen(kind, line, along="+y", through="x", at=fmpq(7)), -1)
    # nearest the origin at t = -(1*2 - 2 + 6)/9 = -2/3
    foot = (-1 / 3, 8 / 3, 5 / 3)
    for axis, x in zip(("+x", "+y", "+z"), foot, strict=True):
        assert near(seen(kind, line, take="foot", along=axis), x)
    assert near(seen(kind, line, take="distance"), math.hypot(*foot))
    assert near(seen(kind, line, take="axis angle", along="+z"), math.acos(2 / 3))
    flat = (balls(1, 2, 3), balls(2, -1, 0))
    found = seen(kind, flat, along="+x", through="z")
    assert found.reason == "no intercept" and "z = const" in found.evidence


# --- functions of position


def shear():
    """A span of 4 with a jump from 5 - x to -3 at 1, and 2 (x - 3)^2 - 3 from 3 on."""
    return (
        Piece(arb(0), arb(1), balls(5, -1)),
        Piece(arb(1), arb(3), balls(-3)),
        Piece(arb(3), arb(4), balls(-3, 0, 2)),
    )


@pytest.mark.parametrize(
    ("at", "side", "expected"),
    [
        ("0", None, 5), ("1/2", None, 4.5), ("1", "left", 4), ("1", "right", -3), ("2", None, -3),
        ("3", None, -3), ("3", "left", -3), ("3", "right", -3), ("7/2", None, -2.5),
        ("4", None, -1), ("4", "left", -1), ("0", "right", 5),
    ],
)  # fmt: skip
def test_a_function_at_a_place_on_a_side(at, side, expected):
    numerator, _, denominator = at.partition("/")
    where = fmpq(int(numerator), int(denominator or 1))
    assert seen(FunctionKind(FORCE), shear(), at=where, side=side) == expected
    assert seen(FunctionKind(FORCE), shear(), take="size", at=where, side=side) == abs(expected)


@pytest.mark.parametrize(
    ("at", "side", "why"),
    [(1, None, "jumps there"), (-1, None, "no value there"), (5, None, "no value there"),
     (0, "left", "no value there"), (4, "right", "no value there")],
)  # fmt: skip
def test_where_a_function_has_no_single_value(at, side, why):
    found = seen(FunctionKind(FORCE), shear(), at=fmpq(at), side=side)
    assert found.reason == "not defined" and why in found.evidence


# --- tables, alternatives, words, refusals


def test_tables_and_alternatives():
    table = TableKind(ScalarKind(FORCE), "member")
    assert seen(table, {"AB": arb(3), "BC": arb(4)}, key="BC") == 4
    with pytest.raises(ViewError, match="no member 'CD'; there are AB, BC"):
        seen(table, {"AB": arb(3), "BC": arb(4)}, key="CD")
    both = AlternativesKind({"angle": ScalarKind(NUMBER), "pull": PLANE})
    value = [{"angle": arb(1), "pull": balls(3, 4)}, {"angle": arb(2), "pull": balls(6, 8)}]
    assert seen(both, value, part="angle") == 1 and seen(both, value, part="angle", pick=2) == 2
    assert seen(both, value, part="pull", pick=2) == 10
    third = seen(both, value, part="angle", pick=3)
    assert third.reason == "no solution" and "2 solutions" in third.evidence


def test_words_and_refusals_are_passed_on():
    assert seen(ChoiceKind(("slips", "holds")), Choice("holds")) == "holds"
    missing = NoAnswer("no direction", "so")
    for kind, keys in [(PLANE, {}), (TableKind(PLANE, "joint"), {"key": "A"}),
                       (ChoiceKind(("a",)), {})]:  # fmt: skip
        assert seen(kind, missing, **keys) is missing
    assert seen(TableKind(PLANE, "joint"), {"A": missing}, key="A") is missing


# --- what fits


@pytest.mark.parametrize(
    ("kind", "keys", "why"),
    [
        (PLANE, {"take": "moment"}, "use one of magnitude, component, angle, slope"),
        (SPACE, {"take": "angle"}, "use one of magnitude, component, axis angle"),
        (PLANE, {"take": "component"}, "component needs 'along'"),
        (SPACE, {"take": "elevation"}, "elevation needs 'along'"),
        (SPACE, {"take": "axis angle"}, "axis angle needs 'along'"),
        (SPACE, {"take": "cosine"}, "cosine needs 'along'"),
        (PointKind(2), {}, "coordinate needs 'along'"),
        (LineKind(2), {}, "intercept needs 'along'"),
        (LineKind(2), {"take": "foot"}, "foot needs 'along'"),
        (LineKind(3), {"through": "z"}, "pierces needs 'along'"),
        (PLANE, {"take": "component", "along": "+z"}, r"signed axis such as \"\+y\", not '\+z'"),
        (SPACE, {"take": "component", "along": "z"}, r"signed axis such as \"\+z\", not 'z'"),
        (PLANE, {"take": "angle", "start": "up"}, "'from' is a signed axis"),
        (PLANE, {"take": "angle", "toward": "+z"}, "'toward' is a signed axis"),
        (PLANE, {"take": "angle", "start": "-y"}, "perpendicular"),
        (PLANE, {"take": "angle", "start": "+x", "toward": "-x"}, "perpendicular"),
        (PLANE, {"start": "+x"}, "belong to an angle, not to magnitude"),
        (PLANE, {"toward": "+x"}, "belong to an angle, not to magnitude"),
        (PLANE, {"take": "angle", "range": "0..270"}, "one of -180..180, 0..360"),
        (PLANE, {"range": "0..90"}, "'range' is of an angle"),
        (FunctionKind(FORCE), {}, "needs 'at'"),
        (LineKind(3), {"along": "+x"}, "pierces needs 'through'"),
        (LineKind(3), {"along": "+x", "through": "+z"}, "pierces needs 'through'"),
        (TableKind(PLANE, "joint"), {}, "say which joint with 'key'"),
        (AlternativesKind({"a": PLANE}), {}, "'part' is one of a"),
        (AlternativesKind({"a": PLANE}), {"part": "b"}, "'part' is one of a"),
    ],
)
def test_a_view_that_does_not_fit_says_what_does(kind, keys, why):
    with pytest.raises(ViewError, match=why) as problem:
        checked(View("pull", **keys), kind)
    assert str(problem.value).startswith("pull: ")


def test_defaults_are_filled_in():
    assert checked(View("it"), PLANE) == View("it", take="magnitude")
    angle = checked(View("it", take="angle"), PLANE)
    assert (angle.start, angle.toward, angle.range) == ("+x", "+y", "-180..180")
    assert checked(View("it", take="angle"), LineKind(2)).range == "0..180"
    assert checked(View("it", take="azimuth"), SPACE).range is None
    assert checked(View("it"), DirectionKind(2)).take == "angle"
    assert checked(View("it", take="slope"), DirectionKind(2)).start == "+x"
    assert takes(ChoiceKind(("a",))) == ("word",)


@pytest.mark.parametrize(
    ("span", "take", "turns"),
    [("-180..180", "angle", 1), ("0..360", "angle", 1), ("0..180", "angle", fmpq(1, 2)),
     ("-90..90", "angle", None), ("0..90", "angle", None), (None, "azimuth", 1),
     (None, "elevation", None), (None, "magnitude", None)],
)  # fmt: skip
def test_after_how_many_turns_an_angle_repeats(span, take, turns):
    assert View("it", take=take, range=span).repeats_after == turns


@pytest.mark.parametrize(
    ("kind", "keys", "dimension"),
    [
        (PLANE, {}, FORCE), (PLANE, {"take": "component", "along": "+x"}, FORCE),
        (PLANE, {"take": "angle"}, ANGLE), (PLANE, {"take": "slope"}, NUMBER),
        (SPACE, {"take": "axis angle", "along": "+x"}, ANGLE), (SPACE, {"take": "azimuth"}, ANGLE),
        (SPACE, {"take": "elevation", "along": "+z"}, ANGLE),
        (SPACE, {"take": "cosine", "along": "+x"}, NUMBER),
        (DirectionKind(2), {"take": "component", "along": "+x"}, NUMBER),
        (DirectionKind(2), {}, ANGLE), (PointKind(2), {"along": "+x"}, LENGTH),
        (LineKind(2), {"along": "+x"}, LENGTH), (LineKind(2), {"take": "angle"}, ANGLE),
        (FunctionKind(MOMENT), {"at": fmpq(1)}, MOMENT), (ScalarKind(MOMENT), {}, MOMENT),
        (ChoiceKind(("a",)), {}, NUMBER), (TableKind(PLANE, "joint"), {"key": "A"}, FORCE),
        (AlternativesKind({"a": ScalarKind(MOMENT)}), {"part": "a"}, MOMENT),
    ],
)  # fmt: skip
def test_the_dimension_of_what_is_taken(kind, keys, dimension):
    assert dimension_of(View("it", **keys), kind) == dimension
    assert dimension_of(checked(View("it", **keys), kind), kind) == dimension


def test_a_view_is_described_in_words():
    assert View("pull").describe() == "pull"
    assert View("pull", take="value").describe() == View("pull", take="word").describe() == "pull"
    full = View("V", "size", key="AB", along="+x", at=fmpq(3, 2), side="left", pick=2, part="p")
    assert full.describe() == "V [AB] solution 2 p size along +x at 3/2 just left"
    assert View("R", "angle", start="+y").describe() == "R angle from +y toward +y"
    turned = View("R", "angle", toward="-x", range="0..90", through="z")
    assert turned.describe() == "R angle from +x toward -x in 0..90 through z"


def test_the_views_shown_when_none_is_asked():
    def described(kind, value=None):
        return [view.describe() for view in natural_views("it", kind, value)]

    assert described(PLANE) == [
        "it component along +x", "it component along +y", "it magnitude",
    ]  # fmt: skip
    assert described(SPACE)[2] == "it component along +z"
    assert described(DirectionKind(2)) == ["it angle from +x toward +y in -180..180"]
    assert described(DirectionKind(3))[0] == "it axis angle along +x"
    assert described(PointKind(3))[2] == "it coordinate along +z"
    assert described(LineKind(2)) == ["it intercept along +x", "it intercept along +y"]
    assert described(LineKind(3))[0] == "it foot along +x"
    assert described(ScalarKind(FORCE)) == described(ChoiceKind(("a",))) == ["it"]
    assert described(FunctionKind(FORCE)) == []
    table = TableKind(ScalarKind(FORCE), "member")
    assert described(table, {"AB": arb(1), "BC": arb(2)}) == ["it [AB]", "it [BC]"]
    assert described(table, NoAnswer("no direction")) == []
    both = AlternativesKind({"a": ScalarKind(FORCE), "b": ScalarKind(FORCE)})
    assert described(both, [{"a": 1, "b": 2}, {"a": 3, "b": 4}]) == [
        "it solution 1 a", "it solution 1 b", "it solution 2 a", "it solution 2 b",
    ]  # fmt: skip
    assert all(attrs.asdict(v)["answer"] == "it" for v in natural_views("it", PLANE, None))
