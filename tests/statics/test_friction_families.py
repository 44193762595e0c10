"""Friction: what must hold whatever the numbers, and givens that are refused.

Units: a law of friction knows no scale, so forces and lengths multiplied by any factors
multiply every answer by its own dimension. Action and reaction: an answer put back as a
given returns what it came from.
"""

from __future__ import annotations

import random
from fractions import Fraction

import attrs
import pytest
from flint import arb, fmpq
from hypothesis import given, settings
from hypothesis import strategies as st

from refsolver.arithmetic.enclosure import EnclosureArithmetic
from refsolver.arithmetic.exact import Slope, Turn
from refsolver.quantities.dimensions import NUMBER
from refsolver.quantities.kinds import NoAnswer, ScalarKind
from refsolver.quantities.views import View
from refsolver.statics.chapters.friction.band_brakes import BandBrake
from refsolver.statics.chapters.friction.bearings import RubbingSurface
from refsolver.statics.chapters.friction.face_size import FaceToSize
from refsolver.statics.chapters.friction.ladders import Ladder
from refsolver.statics.chapters.friction.pulleys import OverAPulley
from refsolver.statics.chapters.friction.sheaves import PinnedSheave
from refsolver.statics.chapters.friction.shoe_brakes import ShoeBrake
from refsolver.statics.chapters.friction.standing_block import StandingBlock
from refsolver.statics.chapters.friction.wedges import Wedge
from refsolver.statics.givens import fields, walk
from refsolver.statics.prover import prove
from refsolver.statics.reference import NotProven, Proven
from refsolver.statics.registry import families, family
from refsolver.statics.sensitivity import sensitivities

OWNERS = [owner for name, owner in families().items() if name.startswith("friction/")]
TINY = fmpq(1, 10**20)
seeds = st.integers(0, 10**6)
factors = st.fractions("1/1000", 1000).map(lambda x: fmpq(x.numerator, x.denominator))
hundredths = st.integers(1, 99).map(lambda n: fmpq(n, 100))
whole = st.integers(1, 999).map(fmpq)
slopes = st.tuples(st.integers(1, 20), st.integers(1, 20)).map(
    lambda pair: Slope(fmpq(pair[0]), fmpq(pair[1]))
)


def outcomes(owner, case, *asked):
    return prove(owner, case, [View(a) for a in asked], second_opinion=False).outcomes


def proven(name, case, *asked):
    """Middles of proven answers, or the outcome itself where it is no number."""
    return [
        found.enclosure.middle if isinstance(found, Proven) else found
        for found in outcomes(family(f"friction/{name}"), case, *asked).values()
    ]


def same(a, b):
    return abs(a - b) <= TINY * (abs(a) + abs(b) + 1)


def scaled(case, force, length):
    changes = {}
    for path, leaf, kind in walk(case):
        if kind.shape == "quantity" and isinstance(leaf, fmpq):
            changes[path] = leaf * force**kind.dimension.force * length**kind.dimension.length
    return attrs.evolve(case, **changes)


@pytest.mark.parametrize("owner", OWNERS, ids=lambda f: f.name)
@settings(max_examples=12, deadline=None)
@given(seeds, factors, factors)
def test_answers_scale_by_their_dimensions(owner, seed, force, length):
    case = owner.propose((1.2, 50), random.Random(seed))
    before = outcomes(owner, case, *owner.answers)
    after = outcomes(owner, scaled(case, force, length), *owner.answers)
    for view, found in before.items():
        other = after[view]
        assert type(found) is type(other), view
        if not isinstance(found, Proven):
            assert getattr(found, "word", "") == getattr(other, "word", "")
            continue
        kind = owner.answers[view.answer].kind
        dimension = kind.dimension if isinstance(kind, ScalarKind) else NUMBER
        factor = force**dimension.force * length**dimension.length
        middle = found.enclosure.middle * factor
        assert abs(middle - other.enclosure.middle) <= TINY * (abs(middle) + factor), view


NUMBERS = {
    "any": (0, 1, -1, fmpq(1, 2), fmpq(-1, 2), fmpq(7, 3), 100),
    "not negative": (0, 1, fmpq(1, 2), fmpq(1, 4), fmpq(7, 3), 100),
    "positive": (1, fmpq(1, 2), fmpq(1, 4), fmpq(7, 3), 3, 100),
}


def odd_value(kind, rng):
    """Zeros, right angles, turns the wrong way: what a careful user would not state."""
    if kind.shape == "quantity":
        return fmpq(rng.choice(NUMBERS[kind.sign]))
    if kind.shape == "angle":
        turn = Turn(fmpq(rng.randint(-24, 24), 24))
        return rng.choice((turn, Slope(fmpq(rng.randint(-4, 4)), fmpq(rng.choice((-3, 4))))))
    if kind.shape == "choice":
        return rng.choice(kind.choices)
    return max(kind.minimum, rng.randint(0, 3))


def odd_case(owner, rng):
    """Odd givens that the family accepts."""
    while True:
        stated = {
            name: odd_value(kind, rng)
            for name, kind in fields(owner.givens).items()
            if rng.random() < 0.7 or name in needed(owner)
        }
        try:
            return owner.givens(**stated)
        except ValueError:
            continue


def needed(owner):
    return {a.name for a in attrs.fields(owner.givens) if a.default is attrs.NOTHING}


@pytest.mark.parametrize("owner", OWNERS, ids=lambda f: f.name)
def test_odd_givens_are_answered_or_refused(owner):
    rng = random.Random(owner.name)
    for _ in range(40):
        case = odd_case(owner, rng)
        reference = prove(owner, case, [View(name) for name in owner.answers], strict=True)
        assert reference.residuals == "close", case
        assert reference.second_opinion == "agrees", case
        for view, outcome in reference.outcomes.items():
            assert not isinstance(outcome, NotProven), (case, view)
            if isinstance(outcome, NoAnswer):
                assert outcome.reason in owner.answers[view.answer].refusals, (case, view)


CANNOT = {
    "friction/belt": "beyond some 600 no double holds the tensions",
    "friction/journal-bearing": "products and the root of a sum",
}
HONOUR = [
    owner
    for name, owner in families().items()
    if name.startswith(("friction/", "lifting-machines/")) and name not in CANNOT
]


@pytest.mark.parametrize("owner", HONOUR, ids=lambda f: f.name)
@pytest.mark.parametrize("low", [1e3, 1e6])
def test_generated_cases_have_the_condition_number_asked_for(owner, low):
    """The worst answer of the middle one of nine cases lies in the decade asked for."""
    found = []
    for seed in range(9):
        case = owner.propose((low, 10 * low), random.Random(seed))
        asked = [View(n) for n, a in owner.answers.items() if isinstance(a.kind, ScalarKind)]
        reference = prove(owner, case, asked, second_opinion=False, residuals=False)
        numbers = [v for v in asked if isinstance(reference.outcomes[v], Proven)]
        moved = sensitivities(owner, case, numbers, reference.decisions).values()
        found.append(max(x.condition or 0.0 for x in moved))
    assert low / 2 <= sorted(found)[4] <= 20 * low


@settings(max_examples=25, deadline=None)
@given(whole, slopes, hundredths, slopes, hundredths)
def test_blocks_over_a_pulley_may_change_places(weight, first, mu, second, other):
    """What least holds the first is, put in its place, what the first just draws up."""
    case = OverAPulley(weight, first, mu, None, second, other)
    (least,) = proven("blocks-over-a-pulley", case, "least second weight")
    if not isinstance(least, fmpq):
        return
    turned = OverAPulley(least, second, other, None, first, mu)
    (greatest,) = proven("blocks-over-a-pulley", turned, "greatest second weight")
    assert same(greatest, weight)


@settings(max_examples=25, deadline=None)
@given(whole, hundredths, st.integers(0, 170))
def test_a_sheave_lowers_by_the_load_what_it_raised(load, friction, degrees):
    case = PinnedSheave(load, fmpq(5), fmpq(1), friction, Turn(fmpq(degrees, 360)))
    (raised,) = proven("sheave-on-pin", case, "pull to raise")
    (lowered,) = proven("sheave-on-pin", attrs.evolve(case, load=raised), "pull to lower")
    assert same(lowered, load)


@settings(max_examples=25, deadline=None)
@given(hundredths, st.integers(10, 700), whole, hundredths)
def test_a_band_brake_gives_the_torque_that_asked_for_its_effort(mu, degrees, torque, ease):
    case = BandBrake(mu, fmpq(2), fmpq(9), fmpq(1), ease, Turn(fmpq(degrees, 360)), torque=torque)
    for turning in ("pulled end slack", "pulled end tight"):
        (effort,) = proven("band-brake", case, f"effort, {turning}")
        if effort <= 0:
            continue
        worked = attrs.evolve(case, torque=None, effort=effort)
        (back,) = proven("band-brake", worked, f"torque, {turning}")
        assert same(back, torque)


@settings(max_examples=25, deadline=None)
@given(hundredths, whole, hundredths, st.integers(10, 170))
def test_a_shoe_brake_gives_the_torque_that_asked_for_its_effort(mu, torque, arm, degrees):
    case = ShoeBrake(mu, fmpq(2), fmpq(9), fmpq(1), arm, Turn(fmpq(degrees, 360)), torque=torque)
    for turning in ("drum helping", "drum opposing"):
        (effort,) = proven("shoe-brake", case, f"effort, {turning}")
        if effort <= 0:
            continue
        worked = attrs.evolve(case, torque=None, effort=effort)
        (back,) = proven("shoe-brake", worked, f"torque, {turning}")
        assert same(back, torque)


@settings(max_examples=25, deadline=None)
@given(hundredths, hundredths, whole, whole, st.integers(1, 8))
def test_load_pressure_torque_and_power_of_a_face_return_each_other(mu, inner, load, speed, faces):
    case = RubbingSurface(mu, fmpq(1), inner, surfaces=faces, speed=speed, load=load)
    for way in ("uniform pressure", "uniform wear"):
        asked = [f"{what}, {way}" for what in ("greatest pressure", "torque", "power")]
        found = proven("pivot-or-collar", case, *asked)
        for name, value in zip(("pressure", "torque", "power"), found, strict=True):
            turned = attrs.evolve(case, load=None, **{name: value})
            (back,) = proven("pivot-or-collar", turned, f"load, {way}")
            assert same(back, load)


@settings(max_examples=25, deadline=None)
@given(st.integers(101, 400), whole, hundredths, whole, st.sampled_from(("greatest", "mean")))
def test_a_face_sized_for_its_load_is_the_one_sized_for_its_torque(k, pressure, mu, load, which):
    case = FaceToSize(fmpq(k, 100), pressure, mu, which, load=load)
    for way in ("uniform pressure", "uniform wear"):
        inner, torque = proven("face-size", case, f"inner radius, {way}", f"torque, {way}")
        turned = attrs.evolve(case, load=None, torque=torque)
        back, carried = proven("face-size", turned, f"inner radius, {way}", f"load, {way}")
        assert same(back, inner)
        assert same(carried, load)


@settings(max_examples=25, deadline=None)
@given(whole, hundredths, hundredths, st.integers(0, 300), slopes)
def test_the_force_that_moves_a_block_leaves_it_on_the_point(weight, mu, low, height, slope):
    """Level and oblique forces of rational direction, so that the limit is met exactly."""
    case = StandingBlock(
        weight, fmpq(1), low, mu, fmpq(height, 100), force_angle=Slope(fmpq(5), fmpq(12))
    )
    first, move = proven("slip-or-tip", case, "first", "force to move")
    if not isinstance(move, fmpq):
        return
    exact = _simple(move)
    (state,) = proven("slip-or-tip", attrs.evolve(case, force=exact), "state")
    expected = {
        "slips": "on the point of slipping",
        "tips forward": "on the point of tipping",
        "tips back": "on the point of tipping",
        "slips and tips at once": "on the point of slipping and tipping",
    }
    assert state.word == expected[first.word]


def _simple(middle):
    """The fraction of small denominator that the proof's thirty digits single out."""
    near = Fraction(int(middle.p), int(middle.q)).limit_denominator(10**9)
    assert abs(near - Fraction(int(middle.p), int(middle.q))) < Fraction(1, 10**24)
    return fmpq(near.numerator, near.denominator)


@settings(max_examples=25, deadline=None)
@given(whole, whole, hundredths, hundredths, st.integers(20, 80))
def test_a_ladder_just_holds_where_its_climb_ends(weight, load, floor, wall, degrees):
    case = Ladder(
        fmpq(5), Turn(fmpq(degrees, 360)), weight, load=load, floor_friction=floor,
        wall_friction=wall,
    )  # fmt: skip
    (climb,) = proven("ladder", case, "greatest climb")
    if not isinstance(climb, fmpq):
        return
    held, needed = proven(
        "ladder", attrs.evolve(case, load_at=climb), "force at the foot", "floor coefficient needed"
    )
    assert abs(held) <= TINY * (weight + load)
    assert same(needed, floor)


@settings(max_examples=25, deadline=None)
@given(whole, slopes, hundredths, hundredths, hundredths, whole)
def test_a_wedge_presses_with_what_presses_on_it(load, slope, face, floor, wall, own):
    """Over a whole wedge, load and wedge together: only outer forces remain."""
    case = Wedge(load, slope, face, floor, wall, own)
    asked = [f"{what}, drawing out" for what in ("floor normal", "wall friction", "floor friction")]
    out, below, grip, drag = proven("wedge", case, "force to draw out", *asked)
    assert same(below, load + own - grip)
    assert same(drag, floor * below)
    side = out - drag
    (thrust,) = proven("wedge", case, "wall normal, drawing out")
    assert same(abs(side), thrust)


@pytest.mark.parametrize(
    ("make", "word"),
    [
        (lambda: Wedge(fmpq(1), Turn(fmpq(1, 9)), fmpq(0), fmpq(0), wedges=3), "one or two"),
        (
            lambda: Wedge(fmpq(1), Turn(fmpq(1, 9)), fmpq(0), fmpq(0), fmpq(1, 2), wedges=2),
            "wall_friction",
        ),
        (lambda: Ladder(fmpq(5), Turn(fmpq(1, 6)), fmpq(0)), "needs a 'load'"),
        (lambda: Ladder(fmpq(5), Turn(fmpq(1, 6)), fmpq(1), centre=fmpq(6)), "beyond the end"),
        (lambda: BandBrake(fmpq(1), fmpq(1), fmpq(1), fmpq(1), lap=Turn(fmpq(1))), "'effort' or"),
        (lambda: BandBrake(fmpq(1), fmpq(1), fmpq(1), fmpq(1), effort=fmpq(1)), "'lap'"),
        (
            lambda: BandBrake(
                fmpq(1), fmpq(1), fmpq(1), fmpq(1), blocks=2, effort=fmpq(1)
            ),
            "'block_angle'",
        ),
        (lambda: ShoeBrake(fmpq(1), fmpq(1), fmpq(1), fmpq(1), fmpq(0)), "'effort' or"),
        (lambda: RubbingSurface(fmpq(1), fmpq(1)), "state one of"),
        (lambda: RubbingSurface(fmpq(1), fmpq(1), power=fmpq(1)), "needs 'speed'"),
        (lambda: RubbingSurface(fmpq(1), fmpq(1), fmpq(1), load=fmpq(1)), "smaller"),
        (lambda: FaceToSize(fmpq(1), fmpq(1), fmpq(1), load=fmpq(1)), "above 1"),
        (lambda: FaceToSize(fmpq(2), fmpq(1), fmpq(1)), "state one of"),
        (lambda: FaceToSize(fmpq(2), fmpq(1), fmpq(1), power=fmpq(1)), "needs 'speed'"),
        (lambda: PinnedSheave(fmpq(1), fmpq(1), fmpq(1), fmpq(0)), "smaller"),
    ],
)  # fmt: skip
def test_givens_that_do_not_fit_are_refused(make, word):
    with pytest.raises(ValueError, match=word):
        make()


@pytest.mark.parametrize(
    ("mistake", "force"),
    [
        (None, fmpq(540, 7)),  # W tan(a + phi) = 90 (1/2 + 1/4) / (1 - 1/8)
        ("friction left out", fmpq(45)),  # W tan a
        ("friction of the face turned round", fmpq(20)),  # W tan(a - phi) = 90 (1/4) / (9/8)
        ("normal taken as the load", fmpq(54)),  # W cos a (sin a + cos a / 4) = 90 (2 + 1) / 5
    ],
)
def test_mistakes_with_a_wedge_that_rubs_at_its_face_alone(mistake, force):
    """A rise of 1 in 2, a coefficient of 1/4 and a load of 90, on rollers below and beside."""
    owner = families()["friction/wedge"]
    case = Wedge(fmpq(90), Slope(fmpq(1), fmpq(2)), fmpq(1, 4), fmpq(0))
    rules = next((m.rules for m in owner.mistakes if m.name == mistake), None)
    ask = View("force to drive in")
    ball = prove(owner, case, [ask], rules=rules, residuals=False).outcomes[ask].ball
    assert ball.overlaps(arb(force))


@pytest.mark.parametrize("way", ["uniform pressure", "uniform wear"])
def test_a_wrong_power_is_noticed_where_the_load_is_stated(way):
    owner, ar = family("friction/pivot-or-collar"), EnclosureArithmetic()
    case = RubbingSurface(fmpq(1, 4), fmpq(3), fmpq(1), speed=fmpq(20), load=fmpq(9))
    answers = owner.solve(case, ar, owner.rule_set()).answers
    assert all(residual.value.contains(0) for residual in owner.check(case, answers, ar))
    name = f"power, {way}"
    wrong = {**answers, name: answers[name] * fmpq(1001, 1000)}
    assert not all(residual.value.contains(0) for residual in owner.check(case, wrong, ar))
