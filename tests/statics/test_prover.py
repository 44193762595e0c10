"""The prover: what it proves, what it refuses to call proven, and what it leaves behind."""

import pickle

import pytest
from flint import arb, ctx, fmpq

from refsolver.arithmetic.contract import Undecided
from refsolver.arithmetic.detached import Enclosure
from refsolver.arithmetic.exact import Constant, Radian, Turn
from refsolver.arithmetic.multiprecision import MultiprecisionArithmetic
from refsolver.arithmetic.strict import StrictArithmetic
from refsolver.quantities.dimensions import FORCE, LENGTH, MOMENT, NUMBER
from refsolver.quantities.kinds import NoAnswer
from refsolver.quantities.leaves import ByAngle, ByRun, Components, Polar
from refsolver.quantities.views import View, ViewError
from refsolver.statics.chapters.particle_equilibrium.cords import KnotAndCounterweights
from refsolver.statics.chapters.second_moments.parallel_axes import AxisChange
from refsolver.statics.contract import Column, Residual, Row, Sheet, Solution
from refsolver.statics.forces.concurrent import PlaneForce, PlaneForces
from refsolver.statics.forces.systems import PlaneCouple, PlaneForceAt
from refsolver.statics.prover import BALL_CAP, asks_of, keys_of_tables, prove
from refsolver.statics.question import bits_for, scale_of
from refsolver.statics.reference import NotProven, Proven
from refsolver.statics.registry import family
from tests.shipped_cases import cases_of

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
    assert reference.digits == 30
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
    assert (reference.digits, reference.stopped) == (15, reference.outcomes[ANGLE].why)
    assert reference.bits >= BALL_CAP
    for digits in (15, 40):
        outcome = prove(FAMILY, given, [Y], digits=digits).outcomes[Y]
        assert outcome.how == "below scale"
        assert outcome.enclosure.size() < fmpq(4, 10**digits), "of the sum of the forces"


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


@pytest.mark.parametrize("digits", [5, 15, 40])
def test_what_is_below_scale_is_narrowed_to_its_share_of_it_whatever_cancels(digits):
    """10^40 - 10^40 x 1 x 1 beside a scale of 5^4: the first bits leave it far too wide."""
    owner = family("second-moments/parallel-axis")
    large = fmpq(10) ** 40
    case = AxisChange(large, Constant("exp", (Constant("ln", (large,)),)), fmpq(1), fmpq(5))
    outcome = prove(owner, case, [View("centroidal")], digits=digits).outcomes[View("centroidal")]
    assert outcome.how == "below scale"
    assert outcome.enclosure.size() < fmpq(5**4) / fmpq(10) ** digits


def test_what_takes_many_bits_is_asked_for_all_the_same():
    """Three pulls whose triangle is flat but for 1e-100: no sign is decided at few bits."""
    owner = family("particle-equilibrium/two-counterweights")
    hair = fmpq(1, 10**100)
    case = KnotAndCounterweights(fmpq(30), fmpq(40), 70 - hair, fmpq(6))
    asks = asks_of(owner, case)
    assert {ask.answer for ask in asks} == set(owner.answers)
    assert all(isinstance(o, Proven) for o in prove(owner, case, asks).outcomes.values())


class Changed:
    """The family with something else in the place of its check or its solve."""

    def __init__(self, check=None, solve=None):
        self._own = {"check": check, "solve": solve}

    def __getattr__(self, name):
        return self._own.get(name) or getattr(FAMILY, name)


TWO = pulls((120, 35), (80, 140))


def residuals(*found, **how):
    def check(given, answers, ar):
        return [Residual("the sum", *(x(ar) for x in pair)) for pair in found]

    return prove(Changed(check=check), TWO, [SIZE], **how)


@pytest.mark.parametrize("how", [{}, {"strict": True}])
@pytest.mark.parametrize(
    ("value", "said"),
    [
        (lambda ar: ar.bring(fmpq(0)), "close"),
        (lambda ar: 0, "close"),
        (lambda ar: ar.bring(fmpq(1, 10**40)), "the sum does not close"),
        (lambda ar: ar.sqrt(ar.bring(fmpq(2))) * ar.sqrt(ar.bring(fmpq(2))) - 2, "close"),
    ],
)
def test_a_residual_encloses_zero_or_nothing_is_proven(value, said, how):
    reference = residuals((value, lambda ar: ar.bring(fmpq(1))), **how)
    assert reference.residuals == said
    assert isinstance(reference.outcomes[SIZE], Proven if said == "close" else NotProven)


@pytest.mark.parametrize(
    ("width", "size", "said"),
    [
        (fmpq(1, 10**13), 1, "close"),
        (fmpq(1, 10**11), 1, "too wide to mean anything"),
        (fmpq(1, 10**11), -1000, "close"),  # against terms that are larger
        (fmpq(1, 10**9), -1000, "too wide to mean anything"),
    ],
)
def test_a_residual_that_could_hide_half_the_digits_means_nothing(width, size, said):
    """Thirty digits asked: a width of 2^-40 of the terms, nine parts in 10^13, is allowed."""
    reference = residuals((lambda ar: arb(0, width), lambda ar: ar.bring(fmpq(size))))
    assert said in reference.residuals


def test_every_residual_counts_and_an_undecided_one_is_none():
    good = (lambda ar: arb(0), lambda ar: arb(1))
    bad = (lambda ar: arb(1), lambda ar: arb(1))
    for order in ((good, bad), (bad, good)):
        assert "does not close" in residuals(*order).residuals
    doubtful = (lambda ar: arb(ar.sign(arb(0, 1), "a doubt")), lambda ar: arb(1))
    assert "a residual is not decided: undecided: a doubt" in residuals(doubtful).residuals


def second_opinion(change):
    """What mpmath says where its solve alone is changed."""

    def solve(given, ar, rules):
        solution = FAMILY.solve(given, ar, rules)
        if isinstance(ar, MultiprecisionArithmetic):
            solution = Solution({"resultant": change(solution.answers["resultant"], ar)})
        return solution

    return prove(Changed(solve=solve), TWO, [SIZE, ANGLE], residuals=False)


def test_a_second_opinion_may_not_decline_fail_or_differ():
    for change, said in (
        (lambda r, ar: r, "agrees"),
        (lambda r, ar: NoAnswer("no direction"), "not a number"),
        (lambda r, ar: tuple(x / (x - x) for x in r), "mpmath: "),
        (lambda r, ar: tuple(x * (1 + ar.bring(fmpq(1, 10**34))) for x in r), "outside the encl"),
        (lambda r, ar: tuple(x * (1 + ar.bring(fmpq(2, 10**35))) for x in r), "outside the encl"),
        (lambda r, ar: tuple(x * (1 + ar.bring(fmpq(8, 10**36))) for x in r), "agrees"),
    ):
        reference = second_opinion(change)
        assert said in reference.second_opinion, said
        kind = Proven if said == "agrees" else NotProven
        assert isinstance(reference.outcomes[SIZE], kind)


def test_a_second_opinion_is_taken_once_and_finer_than_the_proof():
    precisions = []

    def noted(resultant, ar):
        precisions.append(ar.context.prec)
        return resultant

    reference = second_opinion(noted)
    assert reference.second_opinion == "agrees"
    assert len(precisions) == 1 and precisions[0] > reference.bits


def test_what_the_strict_arithmetic_does_not_decide_is_not_proven():
    def solve(given, ar, rules):
        if isinstance(ar, StrictArithmetic):
            raise Undecided("a doubt")
        return FAMILY.solve(given, ar, rules)

    reference = prove(Changed(solve=solve), TWO, [SIZE], strict=True)
    assert reference.second_opinion.startswith("strictly solved it is undecided: a doubt")
    assert reference.outcomes[SIZE] == NotProven(reference.second_opinion)


def test_proven_values_are_equal_whether_or_not_their_ends_were_looked_at():
    one, same = Proven(arb(3), "digits"), Proven(arb(3), "digits")
    assert one.enclosure.lower == 3
    assert one == same != Proven(arb(3), "below scale")


def test_a_second_opinion_must_decline_what_has_no_answer():
    given = pulls((50, 0), (50, 180))

    def solve(given, ar, rules):
        solution = FAMILY.solve(given, ar, rules)
        if isinstance(ar, MultiprecisionArithmetic):
            return Solution({"resultant": (ar.bring(fmpq(1)), ar.bring(fmpq(1)))})
        return solution

    reference = prove(Changed(solve=solve), given, [ANGLE], residuals=False)
    assert "not no direction" in reference.second_opinion or "mpmath" in reference.second_opinion
    assert isinstance(reference.outcomes[ANGLE], NotProven)


@pytest.mark.parametrize(
    "problem", [ValueError("a root of less"), ZeroDivisionError(), MemoryError()]
)
def test_a_solve_that_cannot_be_carried_out_proves_nothing(problem):
    def solve(given, ar, rules):
        raise problem

    reference = prove(Changed(solve=solve), TWO, [SIZE, ANGLE])
    assert set(reference.outcomes) == {SIZE, ANGLE}
    for outcome in reference.outcomes.values():
        assert isinstance(outcome, NotProven) and type(problem).__name__ in outcome.why
    assert reference.decisions == {} and reference.residuals == "not asked"


def test_what_is_not_asked_is_not_checked():
    reference = prove(FAMILY, TWO, [SIZE], residuals=False, second_opinion=False)
    assert (reference.residuals, reference.second_opinion) == ("not asked", "not asked")
    assert isinstance(reference.outcomes[SIZE], Proven)
    assert prove(FAMILY, TWO, [SIZE], strict=True).residuals == "close"


@pytest.mark.parametrize("digits", [1, 5, 30, 100])
def test_as_many_digits_as_asked_are_proven(digits):
    outcome = prove(FAMILY, TWO, [SIZE], digits=digits).outcomes[SIZE]
    assert outcome.digits >= digits
    width = outcome.enclosure.upper - outcome.enclosure.lower
    assert width <= outcome.enclosure.lower / fmpq(10) ** digits
    # and not many times more, which would cost without being asked for
    assert outcome.digits <= digits + 30


def test_an_exact_answer_has_a_thousand_digits_and_zero_none():
    given = PlaneForces((PlaneForce(Components((fmpq(3), fmpq(4)))),))
    assert prove(FAMILY, given, [SIZE]).outcomes[SIZE].digits == 1000
    balanced = prove(FAMILY, pulls((50, 0), (50, 180)), [SIZE]).outcomes[SIZE]
    assert balanced.enclosure.is_zero and balanced.how == "zero"


def test_the_scale_of_a_case_is_its_largest_force_and_length():
    single = family("force-systems/single-force").givens
    given = single(
        forces=(
            PlaneForceAt(Polar(fmpq(-70), ByAngle(Turn(fmpq(1, 8)))), (fmpq(1), fmpq(-6))),
            PlaneForceAt(Components((fmpq(30), fmpq(-40))), (fmpq(2), fmpq(3))),
        ),
    )
    assert scale_of(given, FORCE) == 70 and scale_of(given, LENGTH) == 6
    assert scale_of(given, MOMENT) == 420 and scale_of(given, NUMBER) == 1
    couple = single(couples=(PlaneCouple(fmpq(-40)),))
    assert scale_of(couple, FORCE) == 40 and scale_of(couple, LENGTH) == 1
    both = single(
        forces=(PlaneForceAt(Polar(fmpq(2), ByAngle(Turn(fmpq(0)))), (fmpq(0), fmpq(8))),),
        couples=(PlaneCouple(fmpq(-40)),),
    )
    assert scale_of(both, MOMENT) == 40 and scale_of(both, FORCE) == 5, "five at eight away"
    zero = PlaneForces((PlaneForce(Components((fmpq(0), fmpq(0)))),))
    assert scale_of(zero, FORCE) == 1
    cords = KnotAndCounterweights(fmpq(30), fmpq(40), fmpq(60), fmpq(8))
    assert scale_of(cords, FORCE) == 60 and scale_of(cords, LENGTH) == 8
    small = KnotAndCounterweights(fmpq(1, 32), fmpq(1, 64), fmpq(1, 16), fmpq(1, 8))
    assert scale_of(small, FORCE) == fmpq(1, 16) and scale_of(small, LENGTH) == fmpq(1, 8)
    assert scale_of(small, MOMENT) == fmpq(1, 128)


def test_bits_for_digits_are_enough_and_hardly_more():
    """In whole numbers: 2^bits and 10^digits."""
    for digits in [*range(1, 400), 1000, 5000]:
        assert 10**digits <= 2 ** bits_for(digits) <= 4 * 10**digits


def test_digits_said_of_a_proof_are_those_of_its_bits():
    for bits in range(1, 3320):
        proven = Proven(arb(1, arb(2) ** -bits), "digits")
        assert proven.digits == len(str(2 ** proven.ball.rel_accuracy_bits())) - 1
    assert Proven(arb(1, 2), "below scale").digits == 0, "not told from zero"


def test_natural_views_are_those_of_the_answers_there_are():
    assert {view.answer for view in asks_of(FAMILY, TWO)} == set(FAMILY.answers)
    assert keys_of_tables(FAMILY, TWO) == {"components": ["force 1", "force 2"]}


def test_tables_of_answers_have_the_keys_of_the_rows_given():
    owner = family("particle-equilibrium/plane-tensions")
    for case in cases_of(owner.name)[:4]:
        names = [support.name for support in case.given.supports]
        keys = keys_of_tables(owner, case.given)
        assert keys["forces"] == keys["vectors"] == names


def test_working_is_detached_from_the_precision():
    reference = prove(FAMILY, TWO, [SIZE])
    cells = [cell for sheet in reference.sheets() for row in sheet.rows for cell in row.cells]
    assert cells and not any(isinstance(cell, arb) for cell in cells)
    assert any(isinstance(cell, Enclosure) for cell in cells)


def test_working_made_when_it_is_read_is_as_fine_as_the_proof():
    class ThirdShown(type(FAMILY)):
        def solve(self, given, ar, rules):
            solution = super().solve(given, ar, rules)

            def working():
                share = solution.answers["resultant"][0] / 3
                return (Sheet("Third", (Column("x"),), (Row("share", (share,)),)),)

            return Solution(solution.answers, working)

    (sheet,) = prove(ThirdShown(), pulls((120, 35), (80, 140)), [SIZE], digits=50).sheets()
    cell = sheet.rows[0].cells[0]
    assert 0 < (cell.upper - cell.lower) * fmpq(10) ** 49 < cell.middle


def test_the_strict_arithmetic_makes_the_working_too():
    class FloatShown(type(FAMILY)):
        def solve(self, given, ar, rules):
            x = super().solve(given, ar, rules).answers["resultant"][0]
            return Solution({"resultant": (x, x)}, lambda: (x * 0.5,))

    reference = prove(FloatShown(), pulls((120, 35), (80, 140)), [X], strict=True)
    assert "not exact throughout" in reference.second_opinion


def test_a_pickled_value_keeps_its_ball_and_how_it_was_proven():
    given = pulls((120, 35), (80, 140))
    reference = prove(FAMILY, given, [SIZE, X], digits=50)
    again = pickle.loads(pickle.dumps(reference))
    for view, outcome in reference.outcomes.items():
        copy = again.outcomes[view]
        assert copy.how == outcome.how == "digits" and copy.digits >= 50
        assert copy.ball.overlaps(outcome.ball)
        fresh = type(copy)(copy.ball, "digits").enclosure  # from the ball, not as it was kept
        assert fresh.lower <= outcome.enclosure.lower <= outcome.enclosure.upper <= fresh.upper
        assert fresh.upper - fresh.lower <= 2 * (outcome.enclosure.upper - outcome.enclosure.lower)


@pytest.mark.parametrize("x", [fmpq(3), fmpq(3) ** 60, fmpq(1, 2**90), fmpq(2**200 + 1, 2**7)])
def test_an_exact_value_is_exact_after_pickling(x):
    given = PlaneForces((PlaneForce(Components((x, fmpq(0)))),))
    with ctx.workprec(400):
        copy = pickle.loads(pickle.dumps(prove(FAMILY, given, [X], digits=100).outcomes[X]))
        assert copy.ball.is_exact() and copy.ball == arb(x)
        assert copy.digits == 1000


def test_without_forces_the_scale_of_a_force_is_one():
    case = AxisChange(fmpq(2), fmpq(7), fmpq(1), fmpq(5))
    assert scale_of(case, FORCE) == 1


def test_an_enclosure_that_stays_wide_is_not_proven_and_the_others_are():
    """One component known to a thousandth and no better, whatever the precision."""

    def solve(given, ar, rules):
        x, y = FAMILY.solve(given, ar, rules).answers["resultant"]
        return Solution({"resultant": (x, y + arb(0, 1e-3) if isinstance(y, arb) else y)})

    reference = prove(Changed(solve=solve), TWO, [SIZE, X], residuals=False, second_opinion=False)
    assert list(reference.outcomes) == [SIZE, X]
    assert reference.outcomes[SIZE] == NotProven("the enclosure does not become narrow enough")
    assert isinstance(reference.outcomes[X], Proven)


def test_a_residual_is_computed_more_finely_before_it_is_called_too_wide():
    """A quarter of the bits is left, as where large terms cancel: enough at twice the bits."""
    precise = lambda ar: arb(0, arb(2) ** -(ctx.prec // 4))  # noqa: E731
    assert residuals((precise, lambda ar: arb(1))).residuals == "close"
    hopeless = lambda ar: arb(0, arb(2) ** -(ctx.prec // 100))  # noqa: E731
    assert "too wide" in residuals((hopeless, lambda ar: arb(1))).residuals


def test_a_residual_that_no_finer_solve_can_be_had_for_stays_too_wide():
    """The solve is carried through at the bits of the proof, and ends in nothing at more."""
    carried: list[int] = []

    def solve(given, ar, rules):
        if carried and ctx.prec > 1.9 * carried[0]:
            raise ZeroDivisionError
        carried.append(ctx.prec)
        return FAMILY.solve(given, ar, rules)

    def check(given, answers, ar):
        return [Residual("the sum", arb(0, arb(2) ** -(ctx.prec // 8)), arb(1))]

    changed = Changed(check=check, solve=solve)
    reference = prove(changed, TWO, [SIZE], second_opinion=False)
    assert reference.residuals == "the sum is too wide to mean anything"
    assert isinstance(reference.outcomes[SIZE], NotProven)


def test_a_cell_of_the_working_without_a_number_says_so():
    def solve(given, ar, rules):
        solution = FAMILY.solve(given, ar, rules)
        cells = (arb("nan"), arb(2), None, "word")
        sheet = Sheet("t", tuple(Column(c) for c in "abcd"), (Row("r", cells),))
        return Solution(solution.answers, (sheet,))

    (sheet,) = prove(Changed(solve=solve), TWO, [SIZE]).sheets()
    none, two, empty, word = sheet.rows[0].cells
    assert (none, empty, word) == ("no number that can be written down", None, "word")
    assert two.lower == two.upper == 2
