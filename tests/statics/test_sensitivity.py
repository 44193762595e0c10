"""Sensitivities against sympy's derivatives, and what is said where there is none."""

from __future__ import annotations

import math
import random

import pytest
import sympy
from flint import arb, ctx, fmpq

from refsolver.arithmetic.detached import exact_double
from refsolver.arithmetic.double import DoubleArithmetic
from refsolver.arithmetic.enclosure import evaluate
from refsolver.arithmetic.exact import Radian, Turn, square_root
from refsolver.catalogue.catalogue import Catalogue
from refsolver.quantities.leaves import ByAngle, Polar
from refsolver.quantities.views import View
from refsolver.records.findings import half_units_of
from refsolver.statics.chapters.force_systems.parallel_forces import OnLine
from refsolver.statics.contract import Solution
from refsolver.statics.forces.concurrent import PlaneForce, PlaneForces
from refsolver.statics.prover import asks_of, prove
from refsolver.statics.registry import family
from refsolver.statics.sensitivity import (
    DOUBLE,
    Sensitivity,
    digits_lost,
    figures_justified,
    sensitivities,
)

PLANE = family("concurrent-forces/plane-resultant")
SIZE = View("resultant", "magnitude")
TURN = View("resultant", "angle")
ANCHOR = "concurrent-forces/plane-resultant/anchor-three-four-five"


def of(given, *views, owner=PLANE):
    reference = prove(owner, given, views)
    return sensitivities(owner, given, views, reference.decisions)


def of_case(id, *views):
    case = Catalogue().read(id)
    return of(case.given, *views, owner=family(case.family)), case


def test_a_resultant_against_sympy():
    found, _ = of_case(ANCHOR, SIZE, TURN)
    f, g, a, b = sympy.symbols("f g a b", positive=True)
    x = f * sympy.cos(a) + g * sympy.cos(b)
    y = f * sympy.sin(a) + g * sympy.sin(b)
    at = {f: 30, g: 40, a: 0, b: sympy.pi / 2}
    names = {
        "forces[1].force.magnitude": f,
        "forces[1].force.angle": a,
        "forces[2].force.magnitude": g,
        "forces[2].force.angle": b,
    }
    for view, formula in ((SIZE, sympy.sqrt(x**2 + y**2)), (TURN, sympy.atan2(y, x))):
        assert set(found[view].by_given) == set(names)
        for path, symbol in names.items():
            expected = sympy.diff(formula, symbol).subs(at)
            with ctx.workprec(200):
                apart = found[view].by_given[path] - arb(str(sympy.N(expected, 40)))
                assert abs(apart) < 1e-25
        assert found[view].view == view
    assert found[SIZE].value.overlaps(arb(50))
    # by hand: 30 * 0.6 / 50 + 40 * 0.8 / 50 for the sizes, pi/2 * 24 / 50 for the angle
    assert found[SIZE].condition == pytest.approx(1 + math.pi / 2 * 24 / 50, rel=1e-12)
    assert found[SIZE].effects["forces[1].force.magnitude"] == pytest.approx(0.36)
    assert found[TURN].condition is None  # an angle has no relative change


def test_effects_on_an_angle_are_in_degrees():
    """The pulls 30 along +x and 40 along +y: 1 % more of one, one degree more of the other."""
    found, _ = of_case(ANCHOR, TURN)
    effects = found[TURN].effects
    assert effects["forces[1].force.magnitude"] == pytest.approx(math.degrees(-0.8 / 50 * 0.3))
    assert effects["forces[2].force.angle"] == pytest.approx(40 * 0.8 / 50)


def test_irrational_givens_and_angles_in_radians_have_slopes():
    """F cos t, F the root of 2: relatively 1 of the size and t tan t of the angle."""
    root, t = square_root(fmpq(2)), fmpq(1, 2)
    given = PlaneForces((PlaneForce(Polar(root, ByAngle(Radian(t)))),))
    along = View("resultant", "component", along="+x")
    one = of(given, along)[along]
    slopes = {path: float(slope.mid()) for path, slope in one.by_given.items()}
    assert slopes == {
        "forces[1].force.magnitude": pytest.approx(math.cos(0.5)),
        "forces[1].force.angle": pytest.approx(-math.sqrt(2) * math.sin(0.5)),
    }
    assert one.condition == pytest.approx(1 + 0.5 * math.tan(0.5))
    # one degree more, of an answer that goes with the cosine
    assert one.effects["forces[1].force.angle"] == pytest.approx(
        -math.tan(0.5) * math.radians(1) * 100
    )


def test_effects_on_a_negative_answer_and_on_zero():
    """In per cent of the answer with its sign; of zero in units of force."""
    owner = family("force-systems/parallel-line")
    view = View("resultant", "value")
    for forces, effects, condition in (
        (((30, 1), (-70, 2)), (-0.75, 1.75), 2.5),
        (((30, 1), (-30, 2)), (0.3, -0.3), None),
    ):
        given = owner.givens(tuple(OnLine(fmpq(force), fmpq(at)) for force, at in forces))
        (one,) = of(given, view, owner=owner).values()
        seen = [one.effects[f"forces[{n}].force"] for n in (1, 2)]
        assert seen == pytest.approx(effects)
        assert one.condition == (condition and pytest.approx(condition))
        assert one.effects["forces[1].at"] == 0


def test_two_nearly_cancelling_pulls_are_badly_conditioned():
    # R = F (1 + e) - F: the condition number is (F (1 + e) + F) / (F e) = 2 / e + 1
    found, _ = of_case("concurrent-forces/plane-resultant/off-balance-by-1e-20", SIZE)
    assert found[SIZE].condition > 1e20
    assert digits_lost(1.0, found[SIZE].condition) < 1e-3


def test_a_resultant_that_vanishes_has_no_slope():
    found, case = of_case("concurrent-forces/plane-resultant/five-equal-all-round", SIZE)
    assert not found[SIZE].by_given
    assert found[SIZE].condition is None
    assert len(found[SIZE].without) == 2 * len(case.given.forces)
    assert "kink" in found[SIZE].why


def test_a_load_at_the_section_makes_the_shear_jump_but_not_the_reaction():
    id = "beams/internal-forces/diagrams-01"
    beside = View("shear", at=fmpq(3, 2), side="left")
    found, _ = of_case(id, beside)
    assert found[beside].without == ("forces[1].at",)
    assert "forces[1].force.magnitude" in found[beside].by_given
    # what is left is the line load alone, w x; the jump has no slope to count
    assert found[beside].condition == pytest.approx(1)


class TwiceOrThrice(type(family("force-systems/parallel-line"))):
    """The larger of twice the first force and three times the second."""

    def solve(self, given, ar, rules):
        one, two = (ar.bring(item.force) for item in given.forces)
        first, second = 2 * one, 3 * two
        larger = first if ar.sign(first - second, "twice against thrice") >= 0 else second
        return Solution({"resultant": larger})


@pytest.mark.parametrize(
    ("forces", "slopes", "without", "condition"),
    [
        ((fmpq(5), fmpq(2)), [2, 0], (), 1),
        ((fmpq(1), fmpq(2)), [0, 3], (), 1),
        ((fmpq(3), fmpq(2)), [], ("forces[1].force", "forces[2].force"), 2),
        ((fmpq(0), fmpq(0)), [], ("forces[1].force", "forces[2].force"), None),
    ],
)
def test_at_a_kink_the_larger_of_two_slopes_counts(forces, slopes, without, condition):
    owner, view = TwiceOrThrice(), View("resultant", "value")
    given = owner.givens(tuple(OnLine(force, fmpq(1)) for force in forces))
    tie = {"twice against thrice": 0} if without else {}
    one = sensitivities(owner, given, [view], tie)[view]
    seen = [one.by_given[f"forces[{n}].force"] for n in (1, 2) if not without]
    assert all(slope.overlaps(arb(wanted)) for slope, wanted in zip(seen, slopes, strict=True))
    assert one.without == without
    assert one.condition == (condition and pytest.approx(condition))


def test_an_answer_that_no_given_moves_and_a_solve_that_fails():
    class Five(type(family("force-systems/parallel-line"))):
        def solve(self, given, ar, rules):
            return Solution({"resultant": 5})

    class Failing(Five):
        def solve(self, given, ar, rules):
            raise ArithmeticError("as stated")

    view = View("resultant", "value")
    given = Five().givens((OnLine(fmpq(3), fmpq(1)),))
    one = sensitivities(Five(), given, [view], {})[view]
    assert one.value == 5 and one.condition == 0 and not one.without
    assert all(slope == 0 for slope in one.by_given.values()) and len(one.by_given) == 2
    assert sensitivities(Failing(), given, [view], {}) == {}


def test_a_given_at_its_limit_moves_one_way_only():
    """An open belt on equal pulleys: pi + 2 asin((R - r) / c), and r cannot be larger than R."""
    owner = family("friction/belt-lap")
    given = owner.givens(larger=fmpq(2), smaller=fmpq(2), centres=fmpq(8), run="open")
    view = next(v for v in asks_of(owner, given) if "larger" in v.answer)
    (one,) = of(given, view, owner=owner).values()
    for path, slope in (("smaller", -0.25), ("larger", 0.25), ("centres", 0)):
        assert float(one.by_given[path].mid()) == pytest.approx(slope)
    assert not one.without


def test_a_number_worked_out_of_a_given_is_not_taken_for_insensitive(monkeypatch):
    """The family makes a new leaf, so that the derivative misses it: the move shows it."""
    honest = type(PLANE).solve

    def solve(self, given, ar, rules):
        solution = honest(self, given, ar, rules)
        x, y = solution.answers["resultant"]
        more = ar.bring(given.forces[0].force.magnitude * 2)
        return type(solution)({**solution.answers, "resultant": (x + more, y)}, solution.working)

    case = Catalogue().read(ANCHOR)
    along = View("resultant", "component", along="+x")
    assert not of(case.given, along)[along].without
    monkeypatch.setattr(type(PLANE), "solve", solve)
    assert of(case.given, along)[along].without == ("forces[1].force.magnitude",)


def test_figures_justified_by_hand():
    # 40.0 within 0.05 and nothing else: the answer 2 x may be off by 0.1, so 80 holds but
    # its tenths do not: half a unit of the last figure counted is 0.5
    value = Sensitivity(SIZE, arb(80), {"a": arb(2)})
    assert figures_justified(value, {"a": fmpq(1, 20)}) == 2
    assert figures_justified(value, {"a": fmpq(1, 2000)}) == 4
    assert figures_justified(value, {}) is None
    assert figures_justified(Sensitivity(SIZE, arb(0), {"a": arb(2)}), {"a": fmpq(1, 20)}) is None
    assert figures_justified(value, {"a": fmpq(1000)}) == 0


@pytest.mark.parametrize(
    ("value", "figures"),
    [(1, 1), (10, 2), (100, 3), (999, 3), (1000, 4), (1001, 4), (-1000, 4), (fmpq(1, 2), 0)],
)
def test_powers_of_ten_have_as_many_figures_as_their_neighbours(value, figures):
    """Right to half a unit: the last figure that counts is that of the ones."""
    known = Sensitivity(SIZE, arb(value), {"a": arb(1)})
    with ctx.workprec(77):
        assert figures_justified(known, {"a": fmpq(1, 2)}) == figures
        assert ctx.prec == 77
    assert figures_justified(known, {"a": fmpq(1, 2000)}) == figures + 3


def test_the_precision_of_the_process_is_restored_and_does_not_matter():
    given = Catalogue().read(ANCHOR).given
    reference = prove(PLANE, given, [SIZE])
    with ctx.workprec(8):
        (one,) = sensitivities(PLANE, given, [SIZE], reference.decisions).values()
        assert ctx.prec == 8
        known = Sensitivity(SIZE, arb(123456), {"a": arb(1)})
        for places in range(9):
            half = fmpq(1, 2 * 10**places)
            assert figures_justified(known, {"a": half}) == 6 + places
        assert ctx.prec == 8
    assert one.condition == pytest.approx(1 + math.pi / 2 * 24 / 50, rel=1e-12)


def test_half_units_are_in_coherent_units_and_radians():
    halves = half_units_of(Catalogue().read(ANCHOR))
    assert halves["forces[1].force.magnitude"] == fmpq(1, 2)
    ball = arb.pi() / 360
    assert evaluate(halves["forces[2].force.angle"]).overlaps(ball)


@pytest.mark.parametrize("share", [fmpq(1, 10**6), fmpq(1, 100), fmpq(10**6)])
def test_effects_in_per_cent_are_the_same_for_small_answers_and_large(share):
    def effects(scale):
        pulls = (
            PlaneForce(Polar(size * scale, ByAngle(Turn(fmpq(turn, 360)))))
            for size, turn in ((30, 10), (40, 100))
        )
        return of(PlaneForces(tuple(pulls)), SIZE)[SIZE].effects

    assert effects(share) == pytest.approx(effects(fmpq(1)), rel=1e-12)


def test_digits_lost_is_the_published_formula():
    """P = log10(1 + |deviation| / (kappa eta |reference|)): NPL Report CISE 25/99."""
    assert digits_lost(0.0, 7.0) == 0.0
    assert digits_lost(1e-13, 10.0) == pytest.approx(math.log10(1 + 1e-14 / DOUBLE))
    for at_most_one in (1.0, 0.25):  # a problem costs a result no less than one rounding
        assert digits_lost(DOUBLE, at_most_one) == pytest.approx(math.log10(2))
    assert digits_lost(1e-13, None) is None
    assert digits_lost(None, 10.0) is None


@pytest.mark.parametrize("seed", range(20))
def test_doubles_lose_no_digit_beyond_the_condition(seed):
    """Plain doubles stay within a few units of what the condition number costs."""
    given = PLANE.propose((1.0, 1e8), random.Random(seed))
    (one,) = of(given, SIZE).values()
    x, y = PLANE.solve(given, DoubleArithmetic(), PLANE.rule_set()).answers["resultant"]
    plain = exact_double(math.hypot(x, y))
    proven = prove(PLANE, given, [SIZE]).outcomes[SIZE].enclosure
    relative = float(abs(plain - proven.middle) / abs(proven.middle))
    assert digits_lost(relative, one.condition) < 1


def test_angles_are_seeds_of_their_own():
    given = PLANE.propose((1.0, 10.0), random.Random(3))
    paths = set(of(given, SIZE)[SIZE].by_given)
    angles = [f for f in given.forces if isinstance(f.force.direction.angle, Turn)]
    assert len([p for p in paths if p.endswith(".angle")]) == len(angles)


def test_digits_lost_of_the_largest_deviations_are_finite():
    assert digits_lost(1e300, 1.0) == pytest.approx(300 + 53 * math.log10(2))
    for relative in (0.5, 1.5, 3.0):  # where rounding alone may double the answer
        lost = digits_lost(relative, 1e16)
        assert lost == pytest.approx(math.log10(1 + relative / (1e16 * DOUBLE)), rel=1e-12)
    assert digits_lost(1.0 + 2**-52, 1.0) == pytest.approx(digits_lost(1.0, 1.0), abs=1e-14)
