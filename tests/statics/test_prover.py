"""The prover: what it proves, what it refuses to call proven, and what it leaves behind."""

import pickle

import pytest
from flint import arb, ctx, fmpq

from refsolver.arithmetic.exact import Constant, Radian, Turn
from refsolver.quantities.kinds import NoAnswer
from refsolver.quantities.leaves import ByAngle, ByRun, Components, Polar
from refsolver.quantities.views import View, ViewError
from refsolver.statics.chapters.concurrent_forces import PlaneForce, PlaneForces
from refsolver.statics.chapters.cords import KnotAndCounterweights
from refsolver.statics.chapters.parallel_axes import AxisChange
from refsolver.statics.prover import NotProven, Proven, asks_of, prove
from refsolver.statics.registry import family

FAMILY = family("concurrent-forces/plane-resultant")
X = View("resultant", "component", along="+x")
Y = View("resultant", "component", along="+y")
SIZE = View("resultant", "magnitude")
ANGLE = View("resultant", "angle")


def pulls(*given):
    """Pulls as (magnitude, degrees) pairs of rationals."""
    return PlaneForces(
        tuple(
            PlaneForce(Polar(fmpq(size), ByAngle(Turn(fmpq(angle) / 360)))) for size, angle in given
        )
    )


def test_thirty_digits_enclose_and_are_tight():
    reference = prove(FAMILY, pulls((120, 35), (80, 140), (60, 251)), [X, Y, SIZE, ANGLE])
    for outcome in reference.outcomes.values():
        assert isinstance(outcome, Proven) and outcome.digits >= 30
        assert outcome.enclosure.lower < outcome.enclosure.upper
    assert reference.residuals == "close" and reference.second_opinion == "agrees"


def test_more_digits_lie_inside_fewer():
    given = pulls((120, 35), (80, 140), (60, 251))
    wide = prove(FAMILY, given, [SIZE], digits=20).outcomes[SIZE].enclosure
    tight = prove(FAMILY, given, [SIZE], digits=200).outcomes[SIZE].enclosure
    assert wide.lower <= tight.lower <= tight.upper <= wide.upper
    assert tight.upper - tight.lower < (wide.upper - wide.lower) / fmpq(10) ** 150


def test_a_balanced_system_is_proven_zero_and_has_no_direction():
    given = pulls((90, 17), (90, 137), (90, 257))
    reference = prove(FAMILY, given, [X, Y, SIZE, ANGLE])
    for view in (X, Y, SIZE):
        assert reference.outcomes[view].how == "zero"
        assert reference.outcomes[view].enclosure.is_zero
    assert isinstance(reference.outcomes[ANGLE], NoAnswer)
    assert reference.outcomes[ANGLE].reason == "no direction"
    assert reference.zeros


@pytest.mark.parametrize("power", [5, 20, 60, 150])
def test_a_system_that_misses_balance_by_very_little_is_not_zero(power):
    given = pulls((90, 17), (90, 137), (90 + fmpq(1, 10**power), 257))
    reference = prove(FAMILY, given, [SIZE, ANGLE])
    size = reference.outcomes[SIZE].enclosure
    assert size.lower > 0
    # the excess of the third pull is what is left, exactly
    assert size.lower <= fmpq(1, 10**power) <= size.upper
    angle = reference.outcomes[ANGLE].enclosure
    assert angle.lower <= fmpq(257, 360) - 1 <= angle.upper


def test_a_direction_on_the_branch_cut_is_exactly_half_a_turn():
    given = pulls((50, 120), (50, 240))
    angle = prove(FAMILY, given, [ANGLE]).outcomes[ANGLE].enclosure
    assert angle.lower <= fmpq(1, 2) <= angle.upper


def test_what_cannot_be_decided_is_called_not_proven():
    # exp(ln 2) is 2, but no arithmetic here can prove it
    two = Constant("exp", (Constant("ln", (fmpq(2),)),))
    given = PlaneForces(
        (
            PlaneForce(Polar(two, ByAngle(Turn(fmpq(1, 8))))),
            PlaneForce(Polar(fmpq(2), ByAngle(Turn(fmpq(5, 8))))),
        )
    )
    reference = prove(FAMILY, given, [ANGLE], digits=15)
    assert isinstance(reference.outcomes[ANGLE], NotProven)
    assert prove(FAMILY, given, [Y], digits=15).outcomes[Y].how == "below scale"


def test_opposite_pulls_at_a_rational_number_of_radians_cancel():
    # e^(i r) at distinct rationals are linearly independent over the algebraic numbers
    # (Lindemann and Weierstrass), so a sum of such pulls vanishes only term by term
    given = PlaneForces(
        tuple(PlaneForce(Polar(fmpq(5), ByAngle(Radian(fmpq(sign))))) for sign in (1, -1))
    )
    assert prove(FAMILY, given, [Y], digits=15).outcomes[Y].how in ("zero", "below scale")


def test_the_precision_of_the_process_is_restored():
    with ctx.workprec(77):
        prove(FAMILY, pulls((1, 10)), [SIZE])
        assert ctx.prec == 77
        with pytest.raises(ViewError):
            prove(FAMILY, pulls((1, 10)), [View("no such answer")])
        assert ctx.prec == 77


def test_a_reference_pickles_to_the_same_enclosures():
    reference = prove(FAMILY, pulls((120, 35), (80, 140)), [SIZE, ANGLE])
    again = pickle.loads(pickle.dumps(reference))
    for view, outcome in reference.outcomes.items():
        assert again.outcomes[view].enclosure == outcome.enclosure
        assert again.outcomes[view].how == outcome.how
    assert again.sheets() == reference.sheets()


def test_a_wrong_formula_is_caught_by_the_residuals():
    def left_out_one(parts, ar):
        total = parts[0]
        for part in parts[1:-1]:
            total = total + part
        return total

    reference = prove(
        FAMILY,
        pulls((120, 35), (80, 140), (60, 251)),
        [SIZE],
        rules={"component_sum": left_out_one},
    )
    assert isinstance(reference.outcomes[SIZE], NotProven)
    assert "does not close" in reference.residuals


def test_a_float_in_a_formula_is_caught_by_the_strict_arithmetic():
    def halved_and_doubled(parts, ar):
        total = parts[0]
        for part in parts[1:]:
            total = total + part
        return total * 0.5 * 2

    reference = prove(
        FAMILY, pulls((120, 35), (80, 140)), [SIZE],
        rules={"component_sum": halved_and_doubled}, strict=True, second_opinion=False,
    )  # fmt: skip
    assert isinstance(reference.outcomes[SIZE], NotProven)
    assert "not exact throughout" in reference.second_opinion


def test_an_arithmetic_slip_is_caught_by_the_second_opinion():
    def nudged(parts, ar):
        total = parts[0]
        for part in parts[1:]:
            total = total + part
        return total + arb("1e-25") if isinstance(total, arb) else total

    reference = prove(
        FAMILY,
        pulls((120, 35), (80, 140)),
        [SIZE],
        rules={"component_sum": nudged},
        residuals=False,
    )
    assert isinstance(reference.outcomes[SIZE], NotProven)
    assert "mpmath finds" in reference.second_opinion


def test_forms_of_a_force_agree():
    by_angle = prove(FAMILY, pulls((50, 0), (50, 90)), [X, Y]).outcomes
    by_parts = prove(
        FAMILY,
        PlaneForces((
            PlaneForce(Components((fmpq(50), fmpq(0)))),
            PlaneForce(Polar(fmpq(50), ByRun((fmpq(0), fmpq(3))))),
        )),
        [X, Y],
    ).outcomes  # fmt: skip
    for view in (X, Y):
        a, b = by_angle[view].enclosure, by_parts[view].enclosure
        assert a.lower <= b.upper and b.lower <= a.upper


def test_zeros_decided_before_an_undecidable_one_are_kept():
    """X is a proven zero although Y (exp(ln 2) - 2) is beyond any proof here."""
    two = Constant("exp", (Constant("ln", (fmpq(2),)),))
    given = PlaneForces(
        (
            PlaneForce(Polar(fmpq(3), ByAngle(Turn(fmpq(0))))),
            PlaneForce(Polar(fmpq(3), ByAngle(Turn(fmpq(1, 3))))),
            PlaneForce(Polar(fmpq(3), ByAngle(Turn(fmpq(2, 3))))),
            PlaneForce(Polar(two, ByAngle(Turn(fmpq(1, 4))))),
            PlaneForce(Polar(fmpq(2), ByAngle(Turn(fmpq(3, 4))))),
        )
    )
    outcomes = prove(FAMILY, given, [X, Y], digits=15).outcomes
    assert outcomes[X].how == "zero"
    assert outcomes[Y].how == "below scale"


def test_below_scale_holds_for_views_with_their_defaults_left_out():
    """2 - 2 x 1 x 1, the first 2 written exp(ln 2), asked without saying that its value is."""
    two = Constant("exp", (Constant("ln", (fmpq(2),)),))
    owner = family("second-moments/parallel-axis")
    case = AxisChange(fmpq(2), two, fmpq(1), fmpq(5))
    for ask in (View("centroidal"), View("centroidal", "value")):
        assert prove(owner, case, [ask], digits=15).outcomes[ask].how == "below scale"


def test_what_takes_many_bits_is_asked_for_all_the_same():
    """Three pulls whose triangle is flat but for 1e-100: no sign is decided at few bits."""
    owner = family("particle-equilibrium/two-counterweights")
    hair = fmpq(1, 10**100)
    case = KnotAndCounterweights(fmpq(30), fmpq(40), 70 - hair, fmpq(6))
    asks = asks_of(owner, case)
    assert {ask.answer for ask in asks} == set(owner.answers)
    assert all(isinstance(o, Proven) for o in prove(owner, case, asks).outcomes.values())
